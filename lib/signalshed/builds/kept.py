"""Gains of a few builds kept in a table, so that a site that names them opens at once.

The facts table ``computed_gains`` holds what the solver said of the demo town's builds, found again by
what they are: wires and metal, terminals, balun and polarization. A build that is bent, cut or asked
otherwise is none of them, and is computed. ``tests/make_demo.py`` writes the table.
"""

import functools
import hashlib

import numpy as np
import pandas as pd

from .. import facts

TABLE = "computed_gains"
_DECIMALS = 4


def key(build):
    """A build's identity as one short word, its wires to the ten-thousandth of a millimetre.

    Parameters: ``build``.

    >>> from . import loop
    >>> key(loop(539)) == key(loop(539)), key(loop(539)) == key(loop(540))
    (True, False)
    """
    drawn = build.structure
    wires = [(_shown(w.points_m), _shown(w.radius_m), w.segments, w.metal) for w in drawn.wires]
    ends = [drawn.sheet_m, drawn.lines, build.line_ohm, build.balun, build.polarization]
    text = repr([wires, _shown(drawn.feed), ends])
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def _shown(lengths_m):
    return np.rint(np.asarray(lengths_m, float) * 1e7).astype(int).tolist()


@functools.cache
def _tables():
    """Each kept build by its key: its frequencies, azimuths, gains, and gains of a finer drawing."""
    kept = {}
    for word, rows in facts.table(TABLE).groupby("key", sort=False):
        wide = rows.drop(columns=["build", "key", "source", "status"]).set_index("freq_mhz")
        finer = wide.pop("finer_dbd").to_numpy(float)
        axes = wide.index.to_numpy(float), wide.columns.to_numpy(float)
        kept[word] = (*axes, wide.to_numpy(float), finer)
    return kept


def gain_dbd(build, freq_mhz, azimuth_deg):
    """Gain in dBd (F, A) out of the table, or None where it holds no such build or direction.

    Parameters: ``build``; ``freq_mhz`` (F,); ``azimuth_deg`` (A,) clockwise from the aim.

    >>> from . import loop
    >>> gain_dbd(loop(539, circumference_mm=600), [539], [0]) is None
    True
    """
    freq, azimuth, gain, _ = _tables().get(key(build), ([], [], [], []))
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
    freq, _, _, finer = _tables().get(key(build), ([], [], [], []))
    found = [gain for at, gain in zip(freq, finer, strict=True) if at == freq_mhz]
    return float(found[0]) if found and not np.isnan(found[0]) else None


def rows(build, freq_mhz, azimuth_deg, computed_dbd):
    """Rows of the table for one build: a DataFrame.

    Parameters: ``build``; ``freq_mhz`` (F,) and ``azimuth_deg`` (A,) rising; ``computed_dbd`` (F, A)
    gains, and what a finer drawing gives along the aim at the last frequency, a pair.

    >>> from . import loop
    >>> rows(loop(539), [539.0], [0.0, 180.0], ([[0.512, 0.508]], 0.51)).columns.tolist()
    ['build', 'key', 'freq_mhz', 'finer_dbd', '0', '180', 'source', 'status']
    """
    gain, finer = computed_dbd
    frame = pd.DataFrame(np.round(gain, _DECIMALS) + 0.0, columns=[f"{a:g}" for a in azimuth_deg])
    frame.insert(0, "build", build.name)
    frame.insert(1, "key", key(build))
    frame.insert(2, "freq_mhz", freq_mhz)
    frame.insert(3, "finer_dbd", [*[np.nan] * (len(frame) - 1), round(finer, _DECIMALS)])
    return frame.assign(source="computed from the wires by signalshed.wires", status="derived")
