"""A table of readings made ready for the estimate: who was up, when, on which channel, how many dB."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import channels, facts
from ..meters import MeterCurve

NEEDED = ("antenna", "rf_channel", "reading", "locked")


@dataclass(frozen=True, eq=False)
class Rows:
    """One observation per visit and channel (two where both sides are bounded).

    ``antenna``, ``channel``, ``session``, ``visit`` (n,) positions (antenna 0 is the baseline);
    ``value_db``, ``noise_db`` (n,) and ``status`` as in meters, pads added; ``shared_db`` (n, k) the
    curves' common errors; ``antennas``, ``channels`` names; ``freq_mhz``, ``band`` (channels,);
    ``hour`` (visits,) since the start of its session, ``visit_session`` (visits,); ``percent`` the
    naive table; ``notes`` sentences.
    """

    antenna: np.ndarray
    channel: np.ndarray
    session: np.ndarray
    visit: np.ndarray
    value_db: np.ndarray
    noise_db: np.ndarray
    status: np.ndarray
    shared_db: np.ndarray
    antennas: tuple
    channels: tuple
    freq_mhz: np.ndarray
    band: np.ndarray
    hour: np.ndarray
    visit_session: np.ndarray
    percent: pd.DataFrame
    notes: tuple


def prepare(readings, baseline, curves=None, *, kind="gain", region="us", antennas=None):
    """Readings as Rows. Arguments as in ``compare``; every bad row is named in the notes."""
    notes = []
    table = _checked(readings, baseline, antennas, notes)
    table = _one_amplifier(table, notes)
    table = _timed(table, notes)
    _check_headings(table, kind)
    names = tuple([baseline] + [a for a in dict.fromkeys(table["label"]) if a != baseline])
    if len(names) < 2:
        raise ValueError(f"Only {baseline!r} was read; a comparison needs at least two antennas.")
    table, shared = _in_db(table, curves or {}, notes)
    table, shared = _one_per_visit(table, shared)
    plan = tuple(dict.fromkeys(table["rf_channel"]))
    _note_single(table, names, notes)
    visits = table.groupby("visit", sort=True)
    return Rows(
        antenna=table["label"].map(names.index).to_numpy(),
        channel=table["rf_channel"].map(plan.index).to_numpy(),
        session=table["session"].to_numpy(),
        visit=table["visit"].to_numpy(),
        value_db=table["value_db"].to_numpy(),
        noise_db=table["noise_db"].to_numpy(),
        status=table["status"].to_numpy(),
        shared_db=shared,
        antennas=names,
        channels=plan,
        freq_mhz=np.atleast_1d(channels.centre_mhz(list(plan), region)),
        band=np.atleast_1d(channels.band_of(list(plan), region)),
        hour=visits["hour"].min().to_numpy(),
        visit_session=visits["session"].first().to_numpy(),
        percent=_percent(readings, baseline),
        notes=tuple(notes),
    )


def _checked(readings, baseline, antennas, notes):
    """Rows with an antenna and a channel, labelled by antenna and, where there are several, revision."""
    for column in NEEDED:
        if column not in readings:
            raise ValueError(f"The readings have no column {column!r}; {_has(readings)}.")
    table = readings.reset_index(drop=True)
    table = table.assign(row=np.arange(1, len(table) + 1), label=labels(table))
    table["rf_channel"] = [_channel(c) for c in table["rf_channel"]]
    bad = table["rf_channel"].isna() | (table["label"] == "")
    _note(notes, table[bad], "no antenna or no RF channel")
    table = table[~bad]
    if antennas is not None:
        known = table["label"].isin([*antennas, baseline])
        _note(notes, table[~known], f"an antenna that is not one of {', '.join(antennas)}")
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


def _has(table):
    return "it has " + (", ".join(map(str, table.columns)) or "no columns")


def _channel(text):
    try:
        return channels.name(text)
    except ValueError:
        return None


def _note(notes, rows, why):
    if len(rows):
        listed = ", ".join(map(str, rows["row"].iloc[:8]))
        more = f" and {len(rows) - 8} more" if len(rows) > 8 else ""
        notes.append(f"Reading row {listed}{more}: {why}; left out.")


def _one_amplifier(table, notes):
    if "amplifier" not in table:
        return table
    state = table["amplifier"].fillna("none").astype(str).str.strip().replace("", "none")
    usual = state.mode().iloc[0]
    _note(notes, table[state != usual], f"amplifier not {usual!r} as in the other readings")
    return table[state == usual]


def _timed(table, notes):
    """Rows in order of time, with session, visit (a mounting of one antenna) and hour."""
    time = pd.Series(pd.NaT, table.index, dtype="datetime64[ns, UTC]")
    if "time" in table:
        time = pd.to_datetime(table["time"], utc=True, errors="coerce", format="ISO8601")
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


def _check_headings(table, kind):
    """Gain and fixed aim are told apart by their headings, where those were noted."""
    if kind not in ("gain", "fixed aim"):
        raise ValueError(f"kind is {kind!r}; it must be 'gain' or 'fixed aim'.")
    if "heading_deg" not in table:
        return
    heading = pd.to_numeric(table["heading_deg"], errors="coerce")
    by = "rf_channel" if kind == "gain" else "label"
    for name, part in heading.dropna().groupby(table[by]):
        turn = np.deg2rad(part.to_numpy())
        middle = np.arctan2(np.sin(turn).mean(), np.cos(turn).mean())
        apart = np.abs((np.rad2deg(turn - middle) + 180) % 360 - 180).max()
        if apart > 15:
            raise ValueError(
                f"{'Channel' if kind == 'gain' else 'Antenna'} {name} was read at headings up to "
                f"{apart:.0f} degrees apart. In a gain trial every antenna is aimed at the station; "
                "in a fixed aim trial each antenna keeps its one heading. Never mix the two."
            )


def _in_db(table, curves, notes):
    """Readings through their meters' curves, pads added: value_db, noise_db, status, shared errors."""
    reading = pd.to_numeric(table["reading"], errors="coerce").to_numpy(float)
    cost = _pads(table)
    value, noise = np.full((2, len(table)), np.nan)
    status = np.full(len(table), "unusable", dtype=object)
    blocks, at = [], {}
    for key, rows in _meters(table).groupby("key").indices.items():
        curve = _curve_for(key, curves, notes)
        found = curve.linear(reading[rows], table["locked"].to_numpy()[rows])
        value[rows], noise[rows], status[rows] = found.value_db, found.noise_db, found.status
        if not curve.zero_known:
            status[rows[np.isnan(reading[rows]) | (found.status == "less than")]] = "unusable"
        block = np.zeros((len(table), found.shared_db.shape[1]))
        block[rows] = found.shared_db
        blocks.append(block)
        at[key] = curve
    table = table.assign(value_db=value + cost, noise_db=noise, status=status, pad=cost)
    bad = table["status"].eq("unusable") | table["value_db"].isna()
    _note(
        notes, table[bad], "the reading is missing, off its scale, or its lock or pad is not known"
    )
    if bad.all():
        raise ValueError("No reading could be used. " + " ".join(notes))
    return table[~bad], np.hstack(blocks)[~bad.to_numpy()]


def _pads(table):
    for column in ("cn_cost_db", "pad_db"):
        if column in table:
            given = pd.to_numeric(table[column], errors="coerce")
            empty = table[column].isna() | table[column].astype(str).str.strip().eq("")
            return given.where(~empty, 0.0).to_numpy(float)
    return np.zeros(len(table))


def _meters(table):
    columns = [table[c].fillna("").astype(str) if c in table else "" for c in ("meter", "scale")]
    frame = pd.DataFrame({"meter": columns[0], "scale": columns[1]}, index=np.arange(len(table)))
    return frame.assign(key=list(zip(frame["meter"], frame["scale"], strict=True)))


def _curve_for(key, curves, notes):
    """The curve of a meter and scale: by both, by either, or the only one there is."""
    if isinstance(curves, MeterCurve):
        return curves
    meter, scale = key
    for name in (key, meter, scale):
        if name in curves:
            return curves[name]
    curve = MeterCurve.default(scale or "quality")
    notes.append(
        f"Meter {meter or 'without a name'}, scale {scale or 'quality'}: {curve.notes[-1]}"
    )
    return curve


def _one_per_visit(table, shared):
    """Looks at one channel on one visit and pad become their median; measured pads beat bounds."""
    table = table.assign(at=np.arange(len(table)))
    table = table.sort_values("value_db", kind="stable")
    looks = table.groupby(["visit", "rf_channel", "pad"], sort=False)
    order = looks.cumcount().to_numpy()
    size = looks["at"].transform("size").to_numpy()
    middle = table[order == (size - 1) // 2].assign(looks=size[order == (size - 1) // 2])
    measured = middle["status"].eq("measured")
    here = middle.groupby(["visit", "rf_channel"], sort=False)
    some = measured.groupby([middle["visit"], middle["rf_channel"]]).transform("any")
    least = middle["value_db"].eq(here["value_db"].transform("max"))
    middle = middle.assign(noise_db=middle["noise_db"] / np.sqrt(middle["looks"]))
    most = middle["status"].eq("less than")
    kept = middle[measured | (~some & (most | least))].sort_values("at")
    return kept, shared[kept["at"].to_numpy()]


def _note_single(table, names, notes):
    visits = table.groupby("label")["visit"].nunique().reindex(names).fillna(0)
    for name, count in visits.items():
        if count < 2:
            notes.append(
                f"{name!r} was put up only {count:.0f} time; what putting it up again changes is "
                "guessed. Two or more visits each, the baseline in between, tell it."
            )


def _percent(readings, baseline):
    """What the plain table of percents says: mean reading by antenna and channel."""
    plain = pd.DataFrame({
        "antenna": labels(readings),
        "rf_channel": [_channel(c) for c in readings["rf_channel"]],
        "reading": pd.to_numeric(readings["reading"], errors="coerce").to_numpy(),
    })  # fmt: skip
    return plain.pivot_table(index="antenna", columns="rf_channel", values="reading")
