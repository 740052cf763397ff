"""What is on the air: rows of a station list joined to transmissions, and these to networks.

A transmission is what one transmitter sends on one channel. Its rows stay stations of their own; as a
signal it counts once. Transmissions that carry one ``same_signal`` send the same at the same time, and
help each other as far as the guard interval reaches. ``place`` is a name for people: nothing here
reads it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import chain, facts
from ..words import counted, listed, numbered
from .sealed import read_only

LICENCES = ("licensed", "permit", "other")
"""Of rows of one transmission the power of the first of these stands for it."""
_ROUNDED_DEG, _ROUNDED_KM = 1.0, 1.0
"""By how much two roundings of one bearing and distance may lie apart."""


@dataclass(frozen=True, eq=False)
class Signals:
    """Which signal the rows of a list belong to: arrays (n,) over its rows.

    Parameters
    ----------
    sender : the row whose power stands for the transmission of each row.
    network : the number of its network, -1 for none.
    guard_us, useful_us : of networks, the times of guard interval and symbol, NaN elsewhere.
    delay_us : by which a transmitter is held back.
    remarks : pairs (rows, sentence): what was joined, assumed or is asked.
    """

    sender: np.ndarray
    network: np.ndarray
    guard_us: np.ndarray
    useful_us: np.ndarray
    delay_us: np.ndarray
    remarks: tuple = ()

    def __post_init__(self):
        read_only(self)

    @property
    def is_sender(self) -> np.ndarray:
        """Rows whose power counts: (n,) bools."""
        return self.sender == np.arange(self.sender.size)


def signals(stations: pd.DataFrame) -> Signals:
    """The transmissions and networks of a station list.

    Parameters
    ----------
    stations
        The table of a Site.

    Returns
    -------
    Signals
        Arrays over the rows.

    Examples
    --------
    >>> from signalshed import simulate
    >>> found = signals(simulate.demo_site().stations)
    >>> found.sender.size, int(found.is_sender.sum()), int(found.network.max())
    (18, 17, -1)
    """
    remarks = []
    sender = _senders(stations, remarks)
    delay = stations["delay_us"].astype(float).fillna(0.0).to_numpy()
    networks = _networks(stations, sender, delay, remarks)
    return Signals(sender, *networks, delay, tuple(remarks))


def families(stations: pd.DataFrame) -> np.ndarray:
    """The family of each row's standard, "" where it has none: (n,) text."""
    known = {name: chain.family(name) if name else "" for name in stations["standard"].unique()}
    return stations["standard"].map(known).to_numpy(object)


# ---- transmissions ------------------------------------------------------------------------------


def _senders(s, remarks):
    """The row whose power stands for each row: within 2 km of the strongest, on one channel."""
    rank = s["licence"].map({name: k for k, name in enumerate(LICENCES)}).fillna(2).to_numpy()
    order = np.lexsort((-s["haat_m"].to_numpy(float), -_strength(s)))
    sender, family = np.arange(len(s)), families(s)
    channel = s["rf_channel"].to_numpy(object)
    joinable = (s["service"] == "tv").to_numpy() & (channel != "")
    stand = _Stand(s)
    for rows in _alike(channel, order[joinable[order]]):
        while rows.size:
            near = stand.near(rows[0], rows)
            here, rows = rows[near], rows[~near]
            sender[here] = here[rank[here].argmin()]
            _ask_which(here, family, remarks)
    shared = np.flatnonzero(np.bincount(sender, minlength=len(s))[sender] > 1)
    if shared.size:
        remarks.append((shared, _SHARE))
    return sender


def _strength(s):
    """Power by the square of the distance (n,): enough to tell which is the strongest."""
    return s["erp_kw"].to_numpy(float) / s["distance_km"].to_numpy(float) ** 2


_SHARE = (
    "on one channel and within 2 km of the strongest there: each stays a station, and rows of one "
    "transmitter count once as a signal"
)


def _alike(keys, order):
    """Rows of ``order`` with one key, several at least, as arrays that keep the order."""
    groups = pd.Series(order).groupby(keys[order], sort=False)
    return [rows.to_numpy() for _, rows in groups if len(rows) > 1]


class _Stand:
    """Where the transmitters of a list stand, looked up many times."""

    def __init__(self, s):
        far, bearing = (s[name].to_numpy(float) for name in ("distance_km", "bearing_deg"))
        self.km = far * np.exp(1j * np.deg2rad(bearing))
        self.typed = s["latitude_deg"].isna().to_numpy()

    def near(self, first, rows):
        """Which ``rows`` stand where ``first`` does: within 2 km, or the rounding of what was typed."""
        same_km = facts.value("judgement", "same_place_km")
        rounded = np.hypot(np.deg2rad(_ROUNDED_DEG) * abs(self.km[first]), _ROUNDED_KM)
        typed = self.typed[rows] | self.typed[first]
        reach = np.where(typed, max(same_km, rounded), same_km)
        return np.abs(self.km[rows] - self.km[first]) <= reach


def _ask_which(rows, family, remarks):
    standards = list(dict.fromkeys(family[rows]))
    if len(standards) > 1:
        ask = "which is on the air? Each is judged as if it were, and none disturbs the other"
        remarks.append((rows, f"{listed(standards)} on one channel and place: {ask}"))


# ---- networks -----------------------------------------------------------------------------------


def _networks(s, sender, delay_us, remarks):
    """Number of its network, guard interval and useful time of every row."""
    network, guard, useful = np.full(len(s), -1), *np.full((2, len(s)), np.nan)
    ids = _ids(s, sender, remarks)
    if not (ids != "").any():
        return network, guard, useful
    key = pd.Series(zip(ids, s["rf_channel"], families(s), strict=True))
    for (name, channel, family), rows in key[ids != ""].groupby(key):
        rows = rows.index.to_numpy()
        times = _times(s, rows, name, family, remarks)
        if len(np.unique(sender[rows])) < 2:
            remarks.append((rows, f"no other transmitter of RF {channel} has same_signal {name!r}"))
        elif times is not None:
            network[rows], guard[rows], useful[rows] = network.max() + 1, *times
            when = arrival_us(s, delay_us)[rows]
            late = rows[when > when.min() + times[0]]
            remarks += [(late, _LATE)] if late.size else []
    return network, guard, useful


def _ids(s, sender, remarks):
    """The id of every row: that of its transmission, text, "" for none."""
    given = s["same_signal"].fillna("").astype(str).str.strip().to_numpy(object)
    ids = given.copy()
    for first in np.unique(sender[given != ""]):
        rows = np.flatnonzero(sender == first)
        found = list(dict.fromkeys(name for name in given[[first, *rows]] if name))
        ids[rows] = found[0]
        if len(found) > 1:
            two = f"same_signal {listed(found)} on one channel and place"
            remarks.append((rows, f"{two}: {found[0]} is taken"))
    return ids


def _times(s, rows, name, family, remarks):
    """Guard interval and useful time of a network, us; None where its standard has no guard."""
    table = facts.table("guard_times")
    table = table[table["family"] == family]
    if table.empty:
        said = f"{family or 'its standard'} has no guard interval known here"
        remarks.append((rows, f"{said}, so same_signal {name!r} joins nothing"))
        return None
    off = (table["bandwidth_mhz"] - s["bandwidth_mhz"].iloc[rows[0]]).abs()
    table = table[off == off.min()]
    typed = s["guard_us"].astype(float).iloc[rows].dropna()
    usual = table[table["usual_us"].notna()].iloc[0]
    if typed.empty:
        said = f"{usual['usual_us']:g} µs taken, usual for {family}; type guard_us"
        remarks.append((rows, f"guard interval of a network not given: {said}"))
        return float(usual["usual_us"]), float(usual["useful_us"])
    if typed.min() < typed.max():
        said = f"{typed.min():g} µs is taken"
        remarks.append((rows, f"same_signal {name!r} has several guard intervals: {said}"))
    return float(typed.min()), _useful_us(table, typed.min(), float(usual["useful_us"]))


def _useful_us(table, guard_us, usual_us):
    """Useful time of the mode that has this guard interval, the usual one where several or none do."""
    able = [
        row.useful_us
        for row in table.itertuples()
        if any(abs(float(g) - guard_us) <= 0.01 * guard_us for g in row.guards_us.split())
    ]
    return usual_us if usual_us in able or not able else float(max(able))


def arrival_us(stations: pd.DataFrame, delay_us: float | np.ndarray) -> np.ndarray:
    """When each signal arrives.

    Parameters
    ----------
    stations
        The table of a Site.
    delay_us
        By which the transmitters are held back, microseconds, one for all or (n,).

    Returns
    -------
    ndarray (n,)
        Microseconds after the signal left the studio. Source: the speed of light.

    Examples
    --------
    >>> round(float(arrival_us(pd.DataFrame({"distance_km": [30.0]}), 0.0)[0]), 1)
    100.1
    """
    speed = facts.value("constants", "speed_of_light") * 1e-9
    return stations["distance_km"].to_numpy(float) / speed + delay_us


_LATE = "later than the guard interval after the first of their network: in part they disturb it"


# ---- what a list becomes ------------------------------------------------------------------------


def on_the_air(stations: pd.DataFrame) -> tuple:
    """A resolved list without permits of licensed stations, a network once in the tally; and notes.

    Parameters: ``stations`` with the columns row and file beside a Site's. Returns (DataFrame, notes).
    """
    notes = []
    stations = _without_permits(stations, notes)
    found = signals(stations)
    stations = stations.assign(wanted=_tally(stations, found, notes))
    by_sentence = {}
    for rows, sentence in found.remarks:
        by_sentence.setdefault(sentence, []).extend(rows)
    notes += [_where(stations.iloc[np.unique(k)], said) for said, k in by_sentence.items()]
    return stations, tuple(notes)


def _where(rows, sentence):
    """A sentence with the file and rows it is about, and how many they are."""
    numbers = f"row {numbered(rows['row'])}" if len(rows) < 9 else counted(len(rows), "row")
    return f"{rows['file'].iloc[0]}, {numbers}: {sentence}."


def _without_permits(s, notes):
    """The list without permits whose licensed row stands in it; permits alone are noted."""
    licence = s["licence"].to_numpy(object)
    permits = np.flatnonzero(licence == "permit")
    if not permits.size:
        return s
    key = s["rf_channel"].to_numpy(object)
    named = s["station"].str.casefold().to_numpy(object)
    licensed = np.flatnonzero((licence == "licensed") & (s["service"] == "tv").to_numpy())
    drop, stand = np.zeros(len(s), bool), _Stand(s)
    for k in permits:
        same = licensed[key[licensed] == key[k]]
        drop[k] = same.size and (stand.near(k, same) | (named[same] == named[k])).any()
    alone = permits[~drop[permits]]
    if drop.any():
        said = f"{counted(drop.sum(), 'permit')} of stations that are licensed, left out"
        notes.append(_where(s[drop], said))
    if alone.size:
        notes.append(_where(s.iloc[alone], "a permit and no licence: judged as if on the air"))
    return s[~drop].reset_index(drop=True)


def _tally(s, found, notes):
    """Which rows are wanted: of a network those of the strongest transmitter that has any."""
    wanted, power = s["wanted"].to_numpy(bool).copy(), _strength(s)
    joined = np.zeros(len(s), bool)
    for number in range(found.network.max() + 1):
        rows = np.flatnonzero((found.network == number) & wanted)
        senders = found.sender[rows]
        if np.unique(senders).size > 1:
            best = senders[power[senders].argmax()]
            wanted[rows[senders != best]] = False
            joined |= found.network == number
    if joined.any():
        count = counted(np.unique(found.network[joined]).size, "network")
        said = f"{count} by same_signal: one row of each is in the tally, all show what it brings"
        notes.append(_where(s[joined], said))
    return wanted
