"""Readings made ready for the estimate: in dB, on a grid of channels by visits."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import channels
from ..meters import MeterCurve, scales
from ..meters import scale as find_scale
from ..meters.drawn import step_of
from ..meters.ladder import MOST_PAD_DB, NO_NUMBER, no_number, numbers
from ..tables import locks
from ..units import check_type
from .logged import NO_SCALE, PICTURE_ONLY, note, reasons, usable
from .model import prior

KINDS = ("", "measured", "bracket")
SMALLEST_SHARED_DB = 0.03
NO_ZERO = (
    "its meter ladder never lost lock, so a picture alone, or none, says nothing; add pads to it"
)


@dataclass(frozen=True, eq=False)
class Rows:
    """A trial as a grid of channels by visits (C, V), at most one observation in each place.

    ``low_db``, ``high_db``, ``noise_db`` (C, V) dB with pads added; ``kind`` (C, V) 0 nothing, 1
    measured (both ends are the figure), 2 a bracket, open on one side or not; ``shared_db``
    (C, V, k) the curves' common errors, ``tilt`` (C, V, k) their change per dB; ``antenna``,
    ``session``, ``hour`` (V,) who was up (0 is the baseline), when, hours since the session began;
    ``antennas``, ``channels`` names; ``freq_mhz``, ``band`` (C,); ``percent`` the naive table;
    ``notes`` sentences; ``looks`` the readings in dB one by one, in order of time; ``coarse`` a
    sentence for each meter whose readings move in steps coarser than its scale; ``stretch_sd`` the
    share by which all dB may be off together, since pads made them.
    """

    low_db: np.ndarray
    high_db: np.ndarray
    noise_db: np.ndarray
    kind: np.ndarray
    shared_db: np.ndarray
    tilt: np.ndarray
    antenna: np.ndarray
    session: np.ndarray
    hour: np.ndarray
    antennas: tuple
    channels: tuple
    freq_mhz: np.ndarray
    band: np.ndarray
    percent: pd.DataFrame
    notes: tuple
    looks: pd.DataFrame = None
    coarse: tuple = ()
    stretch_sd: float = 0.0


def prepare(readings, baseline, curves=None, *, kind="gain", region="us", antennas=None):
    """Readings as (share, Rows) pairs, one for each set of curves that may be true, likeliest first.

    Arguments as in ``compare``; every bad row is named in the notes. With ladders there is one pair.
    """
    how = "a DataFrame, as the readings of an open site: shed.site.open_site(folder).readings"
    check_type("readings", readings, pd.DataFrame, how)
    curves = {} if curves is None else curves
    how = "a MeterCurve or a dict of them. shed.meters.MeterCurve.fit(ladder) makes one of a ladder"
    check_type("curves", curves, (MeterCurve, dict), how)
    notes, found = [], []
    table = usable(readings, baseline, kind, region, antennas, notes)
    of_all = {"percent": _percent(table), "coarse": _coarse(table)}
    for share, known in _curve_sets(table, curves, notes):
        said = notes if not found else []
        made = _rows(*_in_db(table, known, said), baseline, region, said)
        found.append((share, replace(made, **of_all, stretch_sd=_stretch_sd(known))))
    return found


def _stretch_sd(curves):
    """How far all dB may be off together: a ladder's are those of its pads."""
    by_pads = any(curve is not None and curve.source == "ladder" for curve in curves.values())
    return prior("pad_scale_sd") if by_pads else 0.0


def _coarse(table):
    """Meters whose readings are all tens or fives of their scale's step, each with that step."""
    out = []
    meters = _meters(table)
    for (name, kind), rows in meters.groupby(["meter", "scale"]).indices.items():
        kind = kind or "quality"
        if kind not in scales():
            continue
        step, reading = find_scale(kind).step, numbers(table["reading"]).to_numpy()[rows]
        shown = reading[
            (reading > find_scale(kind).low) & (reading < np.nanmax(reading, initial=0))
        ]
        found = step_of(shown, step)
        if found > step:
            out.append(f"{name or 'the meter'} ({kind}) in steps of {found:g}")
    return tuple(out)


def _rows(table, shared, baseline, region, notes):
    """Readings in dB as Rows, without the naive table."""
    names = tuple([baseline] + [a for a in dict.fromkeys(table["label"]) if a != baseline])
    if len(names) < 2 or baseline not in set(table["label"]):
        only = ", ".join(map(repr, dict.fromkeys(table["label"])))
        raise ValueError(
            f"Usable readings: only of {only}; a comparison needs the baseline {baseline!r} and "
            "another antenna. " + " ".join(notes)
        )
    looks = table
    table, shared = _one_per_visit(table, shared)
    _note_single(table, names, notes)
    plan = tuple(dict.fromkeys(table["rf_channel"]))
    grid = _grid(table, shared, plan, names)
    freq = np.atleast_1d(channels.centre_mhz(list(plan), region))
    band = np.atleast_1d(channels.band_of(list(plan), region))
    return Rows(*grid, names, plan, freq, band, None, tuple(notes), looks)


def _grid(table, shared, plan, names):
    """Ends, noise, kind, shared errors and tilt on the grid; antenna, session, hour of each visit."""
    visits = table.groupby("visit", sort=True)
    column = pd.Series(np.arange(visits.ngroups), index=list(visits.groups))
    at = (table["rf_channel"].map(plan.index).to_numpy(), table["visit"].map(column).to_numpy())
    shape = (len(plan), visits.ngroups)
    low, high, noise = np.zeros(shape), np.zeros(shape), np.ones(shape)
    low[at], high[at], noise[at] = table["low_db"], table["high_db"], table["noise_db"]
    kind = np.zeros(shape, int)
    kind[at] = table["status"].map(KINDS.index)
    spread = np.zeros((*shape, shared.shape[2]))
    tilt = spread.copy()
    spread[at], tilt[at] = shared
    antenna = visits["label"].first().map(names.index).to_numpy()
    session = pd.factorize(visits["session"].first())[0]
    return low, high, noise, kind, spread, tilt, antenna, session, visits["hour"].min().to_numpy()


def _in_db(table, curves, notes):
    """Readings through their meters' curves, pads added; shared errors and their tilt (2, n, k)."""
    reading = numbers(table["reading"]).to_numpy()
    cost = _pads(table)
    value, low, high, noise = np.full((4, len(table)), np.nan)
    status = np.full(len(table), "unusable", dtype=object)
    why = np.full(len(table), NO_SCALE, dtype=object)
    locked = table["locked"].to_numpy()
    blocks = [np.zeros((2, len(table), 0))]
    for key, rows in _meters(table).groupby("key").indices.items():
        curve = curves[key]
        if curve is None:
            continue
        found = curve.linear(reading[rows], locked[rows])
        why[rows] = reasons(reading[rows], locked[rows], cost[rows], curve.scale)
        value[rows], noise[rows], status[rows] = found.value_db, found.noise_db, found.status
        low[rows], high[rows] = found.low_db, found.high_db
        if not curve.zero_known:
            # Without a zero, a picture or none says nothing on this meter's scale.
            status[rows[np.isnan(reading[rows]) | np.isinf(found.low_db)]] = "unusable"
        block = np.zeros((2, len(table), found.shared_db.shape[1]))
        block[:, rows] = found.shared_db, found.tilt
        blocks.append(block)
    ends = {"value_db": value + cost, "low_db": low + cost, "high_db": high + cost}
    table = table.assign(**ends, noise_db=noise, status=status, pad=cost)
    bad = table["status"].eq("unusable") | table["value_db"].isna()
    for said in dict.fromkeys(why[bad]):
        note(notes, table[bad & (why == said)], said or NO_ZERO)
    only = (np.isnan(reading) & (locks(locked) == 1)) & ~bad
    odd = no_number(table["reading"])
    note(notes, table[only & ~odd], PICTURE_ONLY, "")
    note(notes, table[only & odd], f"the reading is {NO_NUMBER}; it counts only as a picture", "")
    if bad.all():
        raise ValueError("No reading could be used. " + " ".join(notes))
    return table[~bad], np.concatenate(blocks, axis=2)[:, ~bad.to_numpy()]


def _pads(table):
    """Cost of each row's pad, 0 where none is noted, NaN where it is no number from 0 to 120 dB."""
    for column in ("cn_cost_db", "pad_db"):
        if column in table:
            given = numbers(table[column])
            empty = table[column].isna() | table[column].astype(str).str.strip().eq("")
            return given.where(given.between(0, MOST_PAD_DB)).where(~empty, 0.0).to_numpy(float)
    return np.zeros(len(table))


def _meters(table):
    """Meter and scale of every row, numbered from 0, and both as ``key``."""
    words = {}
    for column in ("meter", "scale"):
        given = table[column].fillna("") if column in table else pd.Series("", table.index)
        words[column] = given.astype(str).str.strip().to_numpy()
    frame = pd.DataFrame(words)
    return frame.assign(key=list(zip(frame["meter"], frame["scale"], strict=True)))


def _curve_sets(table, curves, notes):
    """(share, dict from (meter, scale) to curve) pairs, likeliest first; five where any is guessed."""
    known = {key: _curve_for(key, curves, notes) for key in _meters(table)["key"].unique()}
    guesses = {key: ((1.0, None),) if c is None else c.guesses() for key, c in known.items()}
    most = max(guesses.values(), key=len, default=((1.0, None),))
    sets = [
        (share, {key: of[min(k, len(of) - 1)][1] for key, of in guesses.items()})
        for k, (share, _) in enumerate(most)
    ]
    return sorted(sets, key=lambda one: -one[0])


def _curve_for(key, curves, notes):
    """The curve of a meter and scale: by both, by either, or the only one there is; None if unknown."""
    meter, scale = key
    if isinstance(curves, MeterCurve):
        curves = {curves.scale.name: curves, "": curves}
    for name in (key, meter, scale):
        if name in curves:
            return curves[name]
    if scale and scale not in scales():
        notes.append(f"Scale {scale!r} is not known; it must be one of {', '.join(scales())}.")
        return None
    curve = MeterCurve.default(scale or "quality")
    notes.append(
        f"Meter {meter or 'without a name'}, scale {scale or 'quality'}: {curve.notes[-1]}"
    )
    return curve


def _one_per_visit(table, shared):
    """One observation per visit and channel: the median look of each pad, measured before bounded.

    Several measured pads are averaged over; brackets of several pads are cut with each other ("holds
    at 13 dB, lost at 16").
    """
    table = table.assign(at=np.arange(len(table))).sort_values("value_db", kind="stable")
    looks = table.groupby(["visit", "rf_channel", "pad"], sort=False)
    size = looks["at"].transform("size")
    middle = table[looks.cumcount() == (size - 1) // 2]
    middle = middle.assign(noise_db=middle["noise_db"] / np.sqrt(size[middle.index]))
    lone = ~middle.duplicated(["visit", "rf_channel"], keep=False)
    several = middle[~lone].groupby(["visit", "rf_channel"], sort=False)
    joined = pd.DataFrame([_joined(part) for _, part in several], columns=middle.columns)
    kept = middle[lone] if joined.empty else pd.concat([middle[lone], joined])
    kept = kept.sort_values("at")
    return kept, _fewer(shared[:, kept["at"].to_numpy()])


def _joined(part):
    """One row for the several pads of one visit and channel, given in order of dB."""
    measured = part[part["status"] == "measured"]
    if len(measured):
        noise = np.sqrt((measured["noise_db"] ** 2).mean() / len(measured))
        row = measured.iloc[(len(measured) - 1) // 2].copy()
        row["low_db"] = row["high_db"] = measured["value_db"].mean()
        row["noise_db"] = noise
        return row
    row = part.iloc[(len(part) - 1) // 2].copy()
    low, high = part["low_db"].max(), part["high_db"].min()
    if low < high:
        row["low_db"], row["high_db"] = low, high
    return row


def _fewer(shared):
    """The curves' errors as few independent columns, those too small to matter left out."""
    effect, tilt = shared
    if not effect.size:
        return shared
    power, turn = np.linalg.eigh(effect.T @ effect)
    turn = turn[:, power > SMALLEST_SHARED_DB**2 * len(effect)]
    return np.stack([effect @ turn, tilt @ turn])


def _note_single(table, names, notes):
    visits = table.groupby("label")["visit"].nunique().reindex(names).fillna(0)
    for name, count in visits.items():
        if count < 2:
            notes.append(
                f"{name!r} was put up only {count:.0f} time; what putting it up again changes is "
                "guessed. Two or more visits each, the baseline in between, tell it."
            )


def _percent(table):
    """What the plain table of percents says: mean reading by antenna and channel."""
    reading = numbers(table["reading"])
    plain = table[["label", "rf_channel"]].assign(reading=reading)
    return plain.pivot_table(index="label", columns="rf_channel", values="reading")
