"""Gains of a few builds kept in a table, so that a site that names them opens at once.

The facts table ``computed_gains`` holds what the solver said of the demo town's builds, found again by
what they are: wires and metal, terminals, balun and polarization. A build that is bent, cut or asked
otherwise is none of them, and is computed. ``tests/make_demo.py`` writes the table.
"""

import functools

import numpy as np

from .. import facts

TABLE = "computed_gains"


@functools.cache
def _tables():
    """Each kept build by its key: frequencies, azimuths, gains, gains of a finer drawing, own losses."""
    kept = {}
    for word, rows in facts.table(TABLE).groupby("key", sort=False):
        wide = rows.drop(columns=["build", "key", "source", "status"]).set_index("freq_mhz")
        finer, loss = (wide.pop(name).to_numpy(float) for name in ("finer_dbd", "loss_db"))
        axes = wide.index.to_numpy(float), wide.columns.to_numpy(float)
        kept[word] = (*axes, wide.to_numpy(float), finer, loss)
    return kept


_NOT_KEPT = ([],) * 5


def gain_dbd(build, freq_mhz, azimuth_deg):
    """Gain in dBd (F, A) out of the table, or None where it holds no such build or direction.

    Parameters: ``build``; ``freq_mhz`` (F,); ``azimuth_deg`` (A,) clockwise from the aim.

    >>> from . import loop
    >>> gain_dbd(loop(539, circumference_mm=600), [539], [0]) is None
    True
    """
    freq, azimuth, gain, *_ = _tables().get(build.kept_key, _NOT_KEPT)
    if not (np.isin(freq_mhz, freq).all() and np.isin(azimuth_deg, azimuth).all()):
        return None
    return gain[np.ix_(np.searchsorted(freq, freq_mhz), np.searchsorted(azimuth, azimuth_deg))]


def finer_dbd(build, freq_mhz):
    """What a finer drawing gives along the aim, dBd, or None where the table does not hold it.

    Parameters: ``build``; ``freq_mhz`` one frequency.

    >>> from . import loop
    >>> finer_dbd(loop(539, circumference_mm=600), 539) is None
    True
    """
    freq, _, _, finer, _ = _tables().get(build.kept_key, _NOT_KEPT)
    found = [gain for at, gain in zip(freq, finer, strict=True) if at == freq_mhz]
    return float(found[0]) if found and not np.isnan(found[0]) else None


def loss_db(build, freq_mhz):
    """What of a signal the build itself keeps, dB (F,), or None where the table does not hold it.

    Parameters: ``build``; ``freq_mhz`` (F,).

    >>> from . import loop
    >>> loss_db(loop(539, circumference_mm=600), [539]) is None
    True
    """
    freq, *_, loss = _tables().get(build.kept_key, _NOT_KEPT)
    return loss[np.searchsorted(freq, freq_mhz)] if np.isin(freq_mhz, freq).all() else None
