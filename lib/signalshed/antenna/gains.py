"""Antennas by the gains a fair trial measured: alone, or on top of what was known of them."""

import numpy as np
import pandas as pd

from .. import channels
from ..units import SDS_TO_90
from .making import from_numbers
from .model import EDGE_MHZ, band_number

NO_GAIN = (
    "This comparison is of a fixed aim trial: it says which antenna to mount and becomes no gain. Aim "
    "every antenna at each station and compare again with kind='gain'."
)


def trial_gains(comparison, baseline):
    """What a gain trial says of each antenna's own gain, in the columns of trial_gains.csv.

    Parameters: ``comparison`` the table of shed.trials.compare of a gain trial; ``baseline`` the Antenna
    it was compared with, whose gain is added and whose own spread widens the ends. Returns a
    DataFrame: antenna, freq_mhz, gain_dbd, low_dbd, high_dbd (ends of a 90 % interval). Channels on
    which an antenna gave no reading are left out. ValueError for a fixed aim trial.

    >>> from .making import plain_dipole
    >>> rows = pd.DataFrame({"antenna": ["mine"], "freq_mhz": [539.0], "difference_db": [6.0],
    ...     "low_db": [5.0], "high_db": [7.0], "readings": [4], "kind": ["gain"]})
    >>> trial_gains(rows, plain_dipole())[["gain_dbd", "low_dbd", "high_dbd"]].round(1).values.tolist()
    [[6.0, 4.1, 7.9]]
    """
    if "kind" in comparison and (comparison["kind"] != "gain").any():
        raise ValueError(NO_GAIN)
    rows = comparison.dropna(subset=["difference_db"])
    if "readings" in rows:
        rows = rows[rows["readings"] > 0]
    freq, difference, low, high = (
        rows[name].to_numpy(float) for name in ("freq_mhz", "difference_db", "low_db", "high_db")
    )
    gain = np.asarray(baseline.gain_dbd(freq), float) + difference
    own = SDS_TO_90 * baseline.spread_db
    return pd.DataFrame({
        "antenna": rows["antenna"].to_numpy(),
        "freq_mhz": freq,
        "gain_dbd": gain,
        "low_dbd": gain - np.hypot(difference - low, own),
        "high_dbd": gain + np.hypot(high - difference, own),
    })  # fmt: skip


def from_trial(name, comparison, baseline, pattern=None, **details):
    """An antenna from a gain trial: the baseline's gain plus the difference measured on each channel.

    The same antenna as by way of the file that shed.trials.write_gains writes. Parameters: ``name`` as
    in the table's column antenna; ``comparison`` from shed.trials.compare of a gain trial, with
    freq_mhz, difference_db, low_db, high_db; ``baseline`` the Antenna it was compared with;
    ``pattern`` the Antenna it was described as: the trial measures only along the aim and on its
    channels, all else is taken from there as in ``measured`` (None: nothing beyond the channels, and
    the pattern usual for such a gain); ``details`` as in from_numbers. Raises ValueError if nothing
    was measured or the trial was of the fixed aim kind. Channels without a reading are left out.

    >>> rows = pd.DataFrame({"antenna": ["mine"] * 2, "freq_mhz": [500.0, 600.0],
    ...     "difference_db": [4.0, 6.0], "low_db": [3.0, 5.0], "high_db": [5.0, 7.0]})
    >>> from .making import plain_dipole
    >>> from_trial("mine", rows, plain_dipole()).gain_dbd(550)
    5.0
    """
    frame = trial_gains(comparison, baseline)
    if name not in set(frame["antenna"]):
        raise ValueError(f"The comparison measured nothing of {name!r}; compare it on one channel.")
    if pattern is None:
        return from_gains(name, frame, **details)
    return measured(pattern.renamed(name, **details), frame)


def from_gains(name, frame, **details):
    """An Antenna from the table of gains a trial wrote, with the pattern usual for such a gain.

    Parameters: ``name``; ``frame`` with freq_mhz, gain_dbd, low_dbd and high_dbd, whose column antenna
    names ``name`` in at least one row; ``details`` as in from_numbers.

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

    From the lowest channel of the trial in a band to the highest the measured gain holds, with the
    trial's spread. Beyond them, in the same band, the described gain is moved by what the trial's
    channels differ from it on average, and its spread grows with the distance; a band without a
    channel of the trial stays as described.
    Parameters: ``described`` an Antenna; ``frame`` as in ``from_gains``, naming it.

    >>> rows = pd.DataFrame({"antenna": ["wire"] * 2, "freq_mhz": [500.0, 540.0],
    ...     "gain_dbd": [-2.0, -3.0], "low_dbd": [-3.0, -4.0], "high_dbd": [-1.0, -2.0]})
    >>> from .making import plain_dipole
    >>> known = measured(plain_dipole().renamed("wire"), rows)
    >>> known.gain_dbd([470, 494, 520, 546, 608]).tolist()
    [-2.5, -2.5, -2.5, -2.5, -2.5]
    """
    freq, gain, sd = _gains_of(described.name, frame)
    knots = _knots(described.freq_mhz, freq)
    shape = _shape(described, knots)
    on_aim = _on_aim(described, knots)
    for band in np.unique(band_number(freq)):
        here, mine = band_number(knots) == band, band_number(freq) == band
        on_aim[here] = _moved(described, knots[here], freq[mine], gain[mine])
    return described.renamed(
        described.name,
        freq_mhz=knots,
        gain_dbd_table=shape + (on_aim - _on_aim(described, knots))[:, None],
        spread_db=float(np.mean(sd)),
        source="trial",
        measured_mhz=tuple(map(float, freq)),
        measured_sd_db=tuple(map(float, sd)),
        described_sd_db=described.spread_db,
    )


def _knots(own, freq):
    """Frequencies of the new table: both lists, and where the trial and its bands end."""
    edges = [np.array(channels.borders_mhz())]
    for band in np.unique(band_number(freq)):
        mine = freq[band_number(freq) == band]
        edges.append(np.array([mine[0] - EDGE_MHZ, mine[-1] + EDGE_MHZ]))
    edges = np.concatenate(edges)
    # A step lies between two knots: on either side of an end another rule holds.
    edges = np.concatenate([edges - 1e-3, edges + 1e-3])
    inside = edges[(edges > own[0]) & (edges < own[-1])]
    return np.unique(np.concatenate([own, freq, inside]))


def _moved(described, knots, freq, gain):
    """Gain toward the aim (k,) at ``knots`` of one band, of which the trial read ``freq``."""
    offset = float(np.mean(gain - _on_aim(described, freq)))
    beyond = (knots < freq[0] - EDGE_MHZ) | (knots > freq[-1] + EDGE_MHZ)
    return np.where(beyond, _on_aim(described, knots) + offset, np.interp(knots, freq, gain))


def _shape(described, freq_mhz):
    """Gain (freq, azimuth) of a described antenna; beyond its table that of the nearest end."""
    known = np.clip(freq_mhz, *described.freq_mhz[[0, -1]])
    return described.gain_dbd(known[:, None], described.azimuth_deg)


def _on_aim(described, freq_mhz):
    """Its gain (freq,) toward the aim; beyond its table that of the nearest end."""
    return np.atleast_1d(described.gain_dbd(np.clip(freq_mhz, *described.freq_mhz[[0, -1]]))).copy()


def _gains_of(name, frame):
    """Frequencies and gains (n,) a trial measured of one antenna, and one sd of each, dB."""
    rows = frame[frame["antenna"] == name].sort_values("freq_mhz")
    if rows.empty:
        names = ", ".join(repr(n) for n in frame["antenna"].unique())
        raise ValueError(f"the trial measured no antenna {name!r}; it measured {names}.")
    half = (rows["high_dbd"] - rows["low_dbd"]).to_numpy() / 2
    freq, gain = rows["freq_mhz"].to_numpy(float), rows["gain_dbd"].to_numpy(float)
    return freq, gain, half / SDS_TO_90
