"""A ladder of pads: the same station read through more and more attenuation, made ready for a curve."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from .. import chain, channels, facts
from ..tables import locks
from ..units import check, check_type, floats, plain
from ..words import numbered
from .display import Scale
from .display import scale as find_scale

MOST_PAD_DB = 120.0
USUAL_SHARE = 0.8
NO_NUMBER = "not a number; write digits alone, with a point and without % or other signs"


class PadMargin(NamedTuple):
    """Ends ``low_db`` and ``high_db`` of the bracket that holds the margin, dB."""

    low_db: float | np.ndarray
    high_db: float | np.ndarray


def margin_from_pads(held_db: ArrayLike, lost_db: ArrayLike) -> PadMargin:
    """Pads until the picture breaks: the margin lies between the pad that held and the one that lost.

    Needs no curve and works on any tuner; pads in dB of C/N (see ``pads_to_cn`` at VHF or after an
    amplifier).

    Parameters
    ----------
    held_db
        The largest pad with a steady picture, dB, 0 or more, NaN if not even the bare set-up locked.
    lost_db
        The smallest pad without one, dB, NaN if no pad broke it; shapes broadcast.

    Returns
    -------
    PadMargin
        ``low_db`` -inf or ``high_db`` inf where a side is open.

    Raises
    ------
    ValueError
        Where a pad that held is not below the one that lost.

    Examples
    --------
    >>> margin_from_pads(13, 16)
    PadMargin(low_db=13.0, high_db=16.0)
    >>> margin_from_pads(20, float("nan")).high_db
    inf
    """
    held, lost = np.broadcast_arrays(_pad("held_db", held_db), _pad("lost_db", lost_db))
    if np.any(held >= lost):
        first = np.argmax((held >= lost).ravel())
        raise ValueError(
            f"held_db {held.flat[first]:g} is not below lost_db {lost.flat[first]:g}; give the "
            "largest pad that held and the smallest larger one that lost the picture."
        )
    low = np.where(np.isnan(held), -np.inf, held)
    high = np.where(np.isnan(lost), np.inf, lost)
    return PadMargin(plain(low), plain(high))


def _pad(name, value):
    value = floats(name, value)
    check(name, np.where(np.isnan(value), 0.0, value), low=0, high=MOST_PAD_DB)
    return value


def pads_to_cn(
    ladder: pd.DataFrame,
    feed: chain.Feed,
    tuner: chain.Tuner,
    *,
    region: str = "us",
    environment: str = "residential",
) -> pd.DataFrame:
    """The ladder with a column ``cn_cost_db``: what each pad really takes from C/N.

    A pad takes outside noise away too, so it costs less than its label at VHF and after an amplifier.

    Parameters
    ----------
    ladder
        Columns rf_channel, pad_db and, if known, pad_at (antenna or set; set if absent).
    feed
        What stood between antenna and tuner.
    tuner
    region, environment
        As in ``channels`` and ``chain``.

    Returns
    -------
    DataFrame
        ``ladder`` and the column ``cn_cost_db``, dB.

    Examples
    --------
    >>> rows = pd.DataFrame({"rf_channel": ["14", "4"], "pad_db": [10.0, 10.0]})
    >>> feed, tuner = chain.Feed("line", (chain.pad(1),)), chain.Tuner("set", "ATSC1", 10)
    >>> pads_to_cn(rows, feed, tuner).cn_cost_db.round(1).tolist()
    [10.0, 2.3]
    """
    freq = np.asarray(channels.centre_mhz(ladder["rf_channel"].to_numpy(), region), dtype=float)
    where = ladder["pad_at"].fillna("set") if "pad_at" in ladder else pd.Series("set", ladder.index)
    cost = np.zeros(len(ladder))
    keys = pd.DataFrame({"pad": ladder["pad_db"].to_numpy(float), "at": where.to_numpy()})
    for (pad_db, pad_at), rows in keys.groupby(["pad", "at"]).groups.items():
        at = rows.to_numpy()
        cost[at] = chain.pad_cost_db(
            pad_db, feed, tuner, freq[at], pad_at=pad_at, environment=environment
        )
    return ladder.assign(cn_cost_db=cost)


@dataclass(frozen=True, eq=False)
class Rungs:
    """A ladder table made ready: what can be used of it, and sentences about what cannot.

    ``reading``, ``cost_db``, ``channel`` (n,) of rows with lock on the scale, ``channel`` as
    positions in ``channels``; ``held_db``, ``lost_db`` (channels,) largest cost with and smallest
    without lock, NaN where there is none; ``ceiling`` the reading at which the meter is full (the
    top of the scale unless the ladder shows a lower one); ``full`` (n,) rows at it, or behind less pad
    than one at it; ``notes``; ``cost_sd_db`` (n,) and ``edge_sd_db`` (channels,) how surely the pads are
    known, of each row and where the picture broke. Pads that were switched in break it later, by what a
    tuner needs more to find a picture than to hold it.
    """

    scale: Scale
    reading: np.ndarray
    cost_db: np.ndarray
    channel: np.ndarray
    channels: tuple
    held_db: np.ndarray
    lost_db: np.ndarray
    ceiling: float
    full: np.ndarray
    notes: tuple
    cost_sd_db: np.ndarray
    edge_sd_db: np.ndarray

    @classmethod
    def read(cls, ladder: pd.DataFrame) -> "Rungs":
        """Check a ladder table row by row.

        Parameters
        ----------
        ladder
            Columns reading, locked and pad_db (or cn_cost_db), and if known meter, scale, rf_channel,
            amplifier; of one meter and one scale only.

        Returns
        -------
        Rungs

        Raises
        ------
        ValueError
            Without these columns, or where several meters or scales are mixed.

        Examples
        --------
        >>> table = pd.DataFrame({"pad_db": [0, 10, 20], "reading": [90, 60, 0], "locked": [1, 1, 0]})
        >>> rungs = Rungs.read(table)
        >>> rungs.held_db.tolist(), rungs.lost_db.tolist()
        ([10.0], [20.0])
        """
        check_type("ladder", ladder, pd.DataFrame, "a DataFrame, as the ladder of an open site")
        notes = []
        ladder, scale = _one_scale(ladder, notes)
        rows = _usable(ladder, scale, notes)
        names = tuple(dict.fromkeys(rows["channel"]))
        held, lost, edge_sd = _brackets(rows, names, notes)
        good = rows[rows["locked"] & rows["reading"].notna()]
        good = _without_overload(good, scale, notes)
        reading = good["reading"].to_numpy(float)
        ceiling = _ceiling(good, scale)
        full = good["reading"] > ceiling - 0.5 * scale.step
        # What shows full behind more pad is full behind less, though it may flicker below the top there.
        full |= good["cost"] <= good["cost"].where(full).groupby(good["channel"]).transform("max")
        return cls(
            scale,
            reading,
            good["cost"].to_numpy(float),
            np.array([names.index(c) for c in good["channel"]], dtype=int),
            names,
            held,
            lost,
            ceiling,
            full.to_numpy(bool),
            tuple(notes),
            good["cost_sd"].to_numpy(float),
            edge_sd,
        )

    @property
    def zero_known(self) -> bool:
        """True when some channel both held and lost lock: only that gives the scale its zero."""
        return bool(np.any(np.isfinite(self.held_db) & np.isfinite(self.lost_db)))


def _one_scale(ladder, notes):
    """The rows of the one meter and scale the ladder is of, numbered from 0, and that Scale."""
    for column in ("reading", "locked"):
        if column not in ladder:
            raise ValueError(f"The ladder has no column {column!r}; it has {list(ladder.columns)}.")
    if "pad_db" not in ladder and "cn_cost_db" not in ladder:
        raise ValueError("The ladder has no column 'pad_db': the dB of the pad of each row.")
    ladder = ladder.reset_index(drop=True)
    stray = pd.Series(False, ladder.index)
    for column in ("meter", "scale"):
        if column in ladder:
            stray |= _strays(ladder[column], column)
    _note(notes, stray, "another meter or scale than in the other rows")
    named = ladder.loc[~stray, "scale"].dropna() if "scale" in ladder else []
    return ladder[~stray], find_scale(named.iloc[0] if len(named) else "quality")


def _strays(names, column):
    """Rows whose name is not the usual one; a ValueError when there is no usual one."""
    words = names.fillna("").astype(str).str.strip()
    if len(set(words)) <= 1:
        return pd.Series(False, names.index)
    usual = words.mode().iloc[0]
    if (words == usual).mean() < USUAL_SHARE:
        found = ", ".join(repr(w) for w in words.unique()[:6])
        raise ValueError(f"The meter ladder mixes several in column {column!r}: {found}; pick one.")
    return words != usual


def _usable(ladder, scale, notes):
    """Rows with a known pad and a believable reading, with cost, channel and truth of lock."""
    cost = ladder["cn_cost_db"] if "cn_cost_db" in ladder else ladder["pad_db"]
    rows = pd.DataFrame({
        "cost": numbers(cost),
        "reading": numbers(ladder["reading"]),
        "locked": locks(ladder["locked"]),
        "cost_sd": ladder["pad_sd_db"].fillna(0.0) if "pad_sd_db" in ladder else 0.0,
        "switched": ladder["pad_how"].eq("switched") if "pad_how" in ladder else False,
        "channel": ladder["rf_channel"].fillna("?").astype(str) if "rf_channel" in ladder else "?",
    })  # fmt: skip
    bad = ~rows["cost"].between(0, MOST_PAD_DB) | rows["locked"].isna()
    _note(
        notes,
        bad,
        f"the pad is no number from 0 to {MOST_PAD_DB:g} dB, or the lock not known (write the pad "
        "without its unit, the lock as yes or no)",
    )
    odd = no_number(ladder["reading"]) & rows["locked"].eq(True) & ~bad
    _note(notes, odd, f"the reading is {NO_NUMBER}; it counts only as a picture", "")
    off = rows["locked"].eq(True) & rows["reading"].notna() & ~scale.holds(rows["reading"])
    _note(notes, off, f"the reading is not on the scale, {scale.low:g} to {scale.high:g}")
    empty = rows["locked"].eq(True) & rows["reading"].isna()
    missing = empty & ~bad & ~odd
    _note(notes, missing, "a picture but no reading; it counts only as a picture", "")
    amplified = _amplified(ladder)
    if amplified.any():
        _note(
            notes,
            amplified,
            "made through an amplifier, where a 10 dB pad may cost only 4 dB; repeat it without, or "
            "convert the ladder with pads_to_cn",
        )
    _note_vhf(ladder, notes)
    rows = rows[~(bad | off | amplified)]
    return rows.assign(locked=rows["locked"].astype(bool))


def numbers(column):
    """A column as floats, NaN for anything that is no number.

    Parameters: ``column`` a Series.

    >>> numbers(pd.Series(["60", "8O"])).tolist()
    [60.0, nan]
    """
    return pd.to_numeric(column, errors="coerce").astype(float)


def no_number(column):
    """Which cells of a column (n,) hold something that is not a number: a sign, a letter, a comma."""
    empty = column.isna() | column.astype(str).str.strip().eq("")
    return ~empty & numbers(column).isna()


def _note(notes, bad, why, ending="; it is left out"):
    if bad.any():
        notes.append(f"Ladder row {numbered(bad.index[bad] + 1)}: {why}{ending}.")


def _amplified(ladder):
    if "amplifier" not in ladder or "cn_cost_db" in ladder:
        return pd.Series(False, ladder.index)
    words = ladder["amplifier"].fillna("none").astype(str).str.strip().str.lower()
    return ~words.isin(["", "none", "off", "no", "nan"])


def _note_vhf(ladder, notes):
    """Pads at VHF are dearer on the label than in C/N; a US-plan guess at the band is enough here."""
    if "rf_channel" not in ladder or "cn_cost_db" in ladder:
        return
    low = ladder["rf_channel"].astype(str).str.fullmatch(r"[2-9][A-Za-z]?|1[0-3]")
    if low.any():
        notes.append(
            "The meter ladder holds VHF channels, where a pad takes outside noise away too and costs "
            "less than its label; make it on UHF stations, or convert it with pads_to_cn."
        )


def _brackets(rows, names, notes):
    """Largest cost with and smallest without lock, of pads screwed in, and how surely: (channels,)."""
    cost = rows["cost"] - facts.value("judgement", "acquire_db") * rows["switched"]
    parts = cost[rows["locked"]], cost[~rows["locked"]], rows["cost_sd"]
    each = (part.groupby(rows["channel"]) for part in parts)
    ends = (of.agg(end).reindex(names) for of, end in zip(each, ("max", "min", "max"), strict=True))
    held, lost, edge_sd = (np.array(end, dtype=float) for end in ends)
    for i in np.flatnonzero(lost <= held):
        notes.append(
            f"Channel {names[i]}: the picture held at {held[i]:g} dB and was lost at {lost[i]:g} dB; "
            "the edge is taken to lie between the two."
        )
        held[i], lost[i] = lost[i], max(held[i], lost[i] + 0.5)
    return held, lost, edge_sd


def _without_overload(rows, scale, notes):
    """Leave out the rungs before a reading that rises with more pad: the tuner was overdriven."""
    keep = pd.Series(True, rows.index)
    for name, part in rows.groupby("channel", sort=False):
        middle = part.groupby("cost")["reading"].median().sort_index()
        top = middle.iloc[::-1].idxmax() if len(middle) else None
        if top is None or middle.loc[top] - middle.iloc[0] <= _slack(scale):
            continue
        keep[part.index[part["cost"] < top]] = False
        notes.append(
            f"Channel {name}: the reading rises from {middle.iloc[0]:g} to {middle.loc[top]:g} when "
            f"{top:g} dB of pad go in: too strong a signal overdrives the tuner, or the pads were "
            f"swapped. Rungs below {top:g} dB are left out; check the pads, start from a larger one."
        )
    return rows[keep]


def _slack(scale):
    """A rise of the reading, in its units, that flicker and rounding do not explain."""
    if scale.db_per_unit:
        return 2.0 / scale.db_per_unit
    return max(1.5 * scale.step, 0.05 * (scale.high - scale.low))


def _ceiling(rows, scale):
    """The reading at which the meter is full: flat at its highest over 3 dB, or the scale's end."""
    if not len(rows):
        return scale.high
    top = rows["reading"].max()
    at_top = rows[rows["reading"] >= top - 0.5 * scale.step]
    flat = any(np.ptp(part["cost"]) >= 3 for _, part in at_top.groupby("channel"))
    return top if flat else scale.high
