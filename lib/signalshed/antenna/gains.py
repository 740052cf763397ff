"""Antennas by the gains a fair trial measured: alone, or on top of what was known of them."""

import numpy as np

from ..units import SDS_TO_90
from .making import from_numbers
from .model import EDGE_MHZ


def from_gains(name, frame, **details):
    """An Antenna from the table of gains a trial wrote, with the pattern usual for such a gain.

    Parameters: ``name``; ``frame`` with freq_mhz, gain_dbd, low_dbd and high_dbd, whose column antenna
    names ``name`` in at least one row; ``details`` as in from_numbers.

    >>> import pandas as pd
    >>> rows = pd.DataFrame({"antenna": ["mesh"], "freq_mhz": [539.0], "gain_dbd": [7.0],
    ...     "low_dbd": [5.0], "high_dbd": [9.0]})
    >>> round(from_gains("mesh", rows).spread_db, 2)
    1.22
    """
    freq, gain, sd = _gains_of(name, frame)
    details.setdefault("spread_db", float(np.mean(sd)))
    return from_numbers(name, freq, gain, **details).renamed(name, source="trial")


def measured(described, frame):
    """A described antenna with the gains of a trial where there are any, its pattern kept.

    From the lowest channel of the trial to the highest the measured gain holds, with the trial's
    spread; beyond them the described one, with its own.
    Parameters: ``described`` an Antenna; ``frame`` as in ``from_gains``, naming it.

    >>> import pandas as pd
    >>> rows = pd.DataFrame({"antenna": ["wire"] * 2, "freq_mhz": [500.0, 540.0],
    ...     "gain_dbd": [2.0, 3.0], "low_dbd": [1.0, 2.0], "high_dbd": [3.0, 4.0]})
    >>> from .making import plain_dipole
    >>> known = measured(plain_dipole().renamed("wire"), rows)
    >>> known.gain_dbd([470, 494, 520, 546, 608]).tolist()
    [0.0, 0.0, 2.5, 0.0, 0.0]
    """
    freq, gain, sd = _gains_of(described.name, frame)
    own, edge = described.freq_mhz, EDGE_MHZ
    low, high = freq[0] - edge, freq[-1] + edge
    inside = np.union1d(freq, own[(own > low) & (own < high)])
    # Just beyond the edges the description begins anew; between, two of its points would join wrongly.
    outer = np.array([low - 1e-3, high + 1e-3])
    outer = outer[(outer > own[0]) & (outer < own[-1])]
    beyond = np.union1d(outer, own[(own <= low) | (own >= high)])
    inside = np.union1d(inside, [f for f in (low, high) if own[0] < f < own[-1]])
    rows = [_shape(described, beyond)]
    rows.append(_shape(described, inside, on_aim=np.interp(inside, freq, gain)))
    order = np.argsort(np.concatenate([beyond, inside]), kind="stable")
    return described.renamed(
        described.name,
        freq_mhz=np.concatenate([beyond, inside])[order],
        gain_dbd_table=np.concatenate(rows)[order],
        spread_db=float(np.mean(sd)),
        source="trial",
        measured_mhz=tuple(map(float, freq)),
        measured_sd_db=tuple(map(float, sd)),
        described_sd_db=described.spread_db,
    )


def _shape(described, freq_mhz, on_aim=None):
    """Gain (freq, azimuth) of a described antenna, moved as a whole to ``on_aim`` (freq,) if given."""
    known = np.clip(freq_mhz, *described.freq_mhz[[0, -1]])
    gain = described.gain_dbd(known[:, None], described.azimuth_deg)
    if on_aim is None:
        return gain
    return gain + (on_aim - np.atleast_1d(described.gain_dbd(known)))[:, None]


def _gains_of(name, frame):
    """Frequencies and gains (n,) a trial measured of one antenna, and one sd of each, dB."""
    rows = frame[frame["antenna"] == name].sort_values("freq_mhz")
    if rows.empty:
        names = ", ".join(repr(n) for n in frame["antenna"].unique())
        raise ValueError(f"the trial measured no antenna {name!r}; it measured {names}.")
    half = (rows["high_dbd"] - rows["low_dbd"]).to_numpy() / 2
    freq, gain = rows["freq_mhz"].to_numpy(float), rows["gain_dbd"].to_numpy(float)
    return freq, gain, half / SDS_TO_90
