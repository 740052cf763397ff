"""Readings as they were logged, made sound: who was up and when, and which rows cannot be used."""

import numpy as np
import pandas as pd

from .. import channels, facts
from ..meters.ladder import MOST_PAD_DB, numbers
from ..tables import locks
from ..units import one_of
from ..words import numbered

KINDS = ("gain", "fixed aim")
NEEDED = ("antenna", "rf_channel", "reading", "locked")
APART_DEG = 15.0
MANY_ASTRAY = 0.2
NO_SCALE = "its scale is not known"
PICTURE_ONLY = "a picture but no reading, so it counts only as a picture; note the reading too"


def usable(readings, baseline, kind, region, antennas, notes):
    """The rows that can be judged, in order of time, with label, session, visit and hour.

    Parameters: ``readings``, ``baseline``, ``kind``, ``region``, ``antennas`` as in ``compare``;
    ``notes`` a list that gathers sentences on rows left out.

    >>> log = pd.DataFrame({"antenna": ["dipole", "loop"], "rf_channel": "20", "reading": [60, 70],
    ...                     "locked": True})
    >>> usable(log, "dipole", "gain", "us", None, [])[["label", "visit"]].to_numpy().tolist()
    [['dipole', 0], ['loop', 1]]
    """
    table = _checked(readings, baseline, antennas, region, notes)
    table = _one_amplifier(table, notes)
    table = _timed(table, notes)
    return _check_headings(table, kind, notes)


def _checked(readings, baseline, antennas, region, notes):
    """Rows with an antenna and a channel, labelled by antenna and, where there are several, revision."""
    for column in NEEDED:
        if column not in readings:
            raise ValueError(f"The readings have no column {column!r}; {_has(readings)}.")
    row = readings.index if readings.index.name == "row" else range(1, len(readings) + 1)
    table = readings.reset_index(drop=True)
    table = table.assign(row=np.array(row, dtype=int), label=labels(table))
    plan = set(channels.plan(region).index)
    table["rf_channel"] = [_channel(c, plan) for c in table["rf_channel"]]
    bad = table["rf_channel"].isna() | (table["label"] == "")
    note(notes, table[bad], f"no antenna, or no RF channel of region {region}")
    table = table[~bad]
    _note_revisions(table, notes)
    if antennas is not None:
        known = table["label"].isin([*antennas, baseline])
        note(notes, table[~known], f"an antenna that is not one of {', '.join(antennas)}")
        table = table[known]
    if baseline not in set(table["label"]):
        there = ", ".join(map(repr, dict.fromkeys(table["label"]))) or "none at all"
        raise ValueError(f"There is no reading of the baseline {baseline!r}; there is {there}.")
    return table


def labels(readings):
    """Names of the antennas of a table of readings; "loop (revision 2)" where one has several."""
    name = readings["antenna"].fillna("").astype(str).str.strip()
    if "antenna_revision" not in readings:
        return name
    revision = readings["antenna_revision"].fillna("").astype(str).str.removesuffix(".0")
    several = revision.groupby(name).transform(lambda r: len(set(r)) > 1).astype(bool)
    return name.where(~several, name + " (revision " + revision + ")")


def _note_revisions(table, notes):
    """Say which antennas count as several, because rows of them name several revisions."""
    for name, part in table.groupby("antenna", sort=False):
        count = part["label"].nunique()
        if count > 1:
            said = ", ".join(part["label"].unique())
            notes.append(
                f"{name!r} counts as {count} antennas, one for each revision: {said}. If it was not "
                "changed in between, correct antenna_revision."
            )


def _has(table):
    return "it has " + (", ".join(map(str, table.columns)) or "no columns")


def _channel(text, plan):
    try:
        name = channels.name(text)
    except ValueError:
        return None
    return name if name in plan else None


def note(notes, rows, why, ending="; left out"):
    """Add a sentence on some rows to ``notes``; nothing if there are none.

    Parameters: ``notes`` a list; ``rows`` a DataFrame with a column row; ``why`` and ``ending`` texts.

    >>> said = []
    >>> note(said, pd.DataFrame({"row": [3, 5]}), "no antenna")
    >>> said
    ['Reading row 3, 5: no antenna; left out.']
    """
    if len(rows):
        notes.append(f"Reading row {numbered(rows['row'])}: {why}{ending}.")


def _one_amplifier(table, notes):
    if "amplifier" not in table:
        return table
    state = table["amplifier"].fillna("none").astype(str).str.strip().replace("", "none")
    usual = state.mode().iloc[0]
    note(notes, table[state != usual], f"amplifier not {usual!r} as in the other readings")
    return table[state == usual]


def _timed(table, notes):
    """Rows in order of time, with session, visit (a mounting of one antenna) and hour."""
    time = pd.Series(pd.NaT, table.index, dtype="datetime64[ns, UTC]")
    if "time" in table:
        text = table["time"].astype(str)
        time = pd.to_datetime(text, utc=True, errors="coerce", format="ISO8601")
    hour = (time - time.min()).dt.total_seconds().to_numpy(float) / 3600
    if np.isnan(hour).any():
        notes.append(
            "Some readings have no time: the order of the rows is taken for it, 2 min each."
        )
        hour = _filled(hour)
    back = np.diff(hour) < 0
    if back.any() and back.mean() <= 0.05:
        row = int(table["row"].iloc[np.flatnonzero(back)[0] + 1])
        notes.append(
            f"Reading row {row} is earlier than the one before it: the clock ran backwards. The order "
            "of the rows is kept; set the clock before the next session."
        )
        hour = np.maximum.accumulate(hour)
    order = np.argsort(hour, kind="stable")
    table, hour = table.iloc[order], hour[order]
    new_session = np.diff(hour, prepend=hour[0]) > facts.value("trial_priors", "session_gap_h")
    session = np.cumsum(new_session)
    if "session" in table:
        session = pd.factorize(table["session"])[0]
    changed = table["label"].ne(table["label"].shift()).to_numpy() | (
        np.diff(session, prepend=-1) != 0
    )
    visit = np.cumsum(changed) - 1
    if "visit" in table:
        visit = pd.factorize(table["visit"].astype(str) + "/" + table["label"])[0]
    first = pd.Series(hour).groupby(session).transform("min").to_numpy()
    return table.assign(hour=hour - first, session=session, visit=visit)


def _filled(hour):
    """Missing hours: 2 minutes after the one before."""
    out = hour.copy()
    for i in np.flatnonzero(np.isnan(hour)):
        out[i] = out[i - 1] + 1 / 30 if i else 0.0
    return out


def _check_headings(table, kind, notes):
    """Gain and fixed aim are told apart by their headings, where those were noted.

    A few rows astray are left out; many mean that the trial is of the other kind.
    """
    one_of("kind", kind, KINDS)
    if "heading_deg" not in table:
        return table
    heading = numbers(table["heading_deg"]).replace([np.inf, -np.inf], np.nan)
    by = "rf_channel" if kind == "gain" else "label"
    astray = pd.Series(False, table.index)
    for name, part in heading.dropna().groupby(table[by]):
        away = np.abs((part - _middle_heading(part) + 180) % 360 - 180)
        astray[part.index[away > APART_DEG]] = True
        if (away > APART_DEG).mean() > MANY_ASTRAY:
            raise ValueError(
                f"{'Channel' if kind == 'gain' else 'Antenna'} {name} was read at headings up to "
                f"{away.max():.0f} degrees apart. In a gain trial every antenna is aimed at the "
                "station; in a fixed aim trial each antenna keeps its one heading. Never mix the two."
            )
    note(notes, table[astray], f"heading more than {APART_DEG:g} degrees from the others")
    return table[~astray]


def _middle_heading(heading_deg):
    """The heading from which the others lie least far, round the circle."""
    one = np.unique(heading_deg)
    away = np.abs((heading_deg.to_numpy()[:, None] - one + 180) % 360 - 180)
    return one[np.argmin(away.sum(axis=0))]


def reasons(reading, locked, pad_db, scale):
    """Why each reading cannot be used, as far as its own row shows: (n,) texts, "" where it can be.

    Parameters: ``reading`` (n,) floats, NaN where none was noted; ``locked`` (n,) as it was written;
    ``pad_db`` (n,) floats, NaN for nonsense; ``scale`` a meters.Scale.

    >>> from ..meters import scale
    >>> reasons([180.0, 80.0], ["yes", "?"], [0.0, 0.0], scale("quality"))[0][:47]
    'the reading is off its scale, 0 to 100; look at'
    """
    reading = np.asarray(reading, dtype=float)
    picture = locks(locked)
    off = (picture == 1) & ~np.isnan(reading) & ~scale.holds(reading)
    ends = f"{scale.low:g} to {scale.high:g}"
    checks = (
        (off, f"the reading is off its scale, {ends}; look at what was meant and correct it"),
        (np.isnan(picture), "whether there was a picture is not known; write yes or no"),
        (np.isnan(pad_db), f"its pad is no number from 0 to {MOST_PAD_DB:g} dB; correct it"),
    )
    said = np.full(reading.size, "", dtype=object)
    for bad, why in checks:
        said[bad] = why
    return said
