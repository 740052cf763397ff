"""Gains of a few builds kept in a table, so that a site that names them opens at once.

The facts table ``computed_gains`` holds what the solver said of the demo town's builds, found again by
what they are: wires and metal, terminals, balun and polarization. A build that is bent, cut or asked
otherwise is none of them, and is computed. ``tests/make_demo.py`` writes the table.
"""

import functools

import numpy as np
import pandas as pd

from .. import facts

TABLE = "computed_gains"
_DECIMALS = 4


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


def rows(build, freq_mhz, azimuth_deg, computed_dbd):
    """Rows of the table for one build: a DataFrame.

    Parameters: ``build``; ``freq_mhz`` (F,) and ``azimuth_deg`` (A,) rising; ``computed_dbd`` (F, A)
    gains, what a finer drawing gives along the aim at the last frequency, and own losses (F,), dB.

    >>> from . import loop
    >>> rows(loop(539), [539.0], [0.0, 180.0], ([[0.512, 0.508]], 0.51, [1.2])).columns.tolist()
    ['build', 'key', 'freq_mhz', 'finer_dbd', 'loss_db', '0', '180', 'source', 'status']
    """
    gain, finer, loss = computed_dbd
    frame = pd.DataFrame(np.round(gain, _DECIMALS) + 0.0, columns=[f"{a:g}" for a in azimuth_deg])
    frame.insert(0, "build", build.name)
    frame.insert(1, "key", build.kept_key)
    frame.insert(2, "freq_mhz", freq_mhz)
    frame.insert(3, "finer_dbd", [*[np.nan] * (len(frame) - 1), round(finer, _DECIMALS)])
    frame.insert(4, "loss_db", np.round(loss, _DECIMALS))
    return frame.assign(source="computed from the wires by signalshed.wires", status="derived")
