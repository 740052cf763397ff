"""A fair test laid out: who goes up when, which channels tell anything, how many hours it takes."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr

from .. import channels
from ..units import check, check_type, one_of
from ..words import listed
from .evening import BASELINE_EVERY, LOW_STAND, USUAL, Times, evening, sheet
from .logged import KINDS
from .power import found_db, usual_pair_sd_db
from .stopping import once_as_wide, planned_looks

PADS_DB = (3.0, 6.0, 10.0, 20.0)


@dataclass(frozen=True, eq=False)
class Plan:
    """A test laid out.

    ``steps`` one row per reading, in order: session, visit, antenna, rf_channel, pad_db, aim;
    ``channels`` one row per channel: margin_db, pad_db, on_scale (chance that the reading tells
    something), use, why; ``hours`` it takes, ``pair_hours`` for the first antenna and the baseline
    alone; ``tells_db`` the difference that is found with a chance of 80 %, from ``pairs`` that scatter
    by ``pair_sd_db`` each and an interval of ``confidence`` (0.9; more where several looks share it);
    ``kind``, ``baseline``; ``first`` the antenna to begin with; ``looks`` after
    which whole returns to look; ``question`` (antenna, band) that may end the trial at a look;
    ``stop_by`` a clock time or ""; ``notes`` what was left out to fit into an evening.
    """

    steps: pd.DataFrame
    channels: pd.DataFrame
    hours: float
    pair_hours: float
    tells_db: float
    kind: str
    baseline: str
    first: str
    pairs: int = 0
    pair_sd_db: float = np.nan
    confidence: float = 0.9
    looks: tuple = ()
    question: tuple = ()
    stop_by: str = ""
    notes: tuple = ()

    @property
    def antennas(self) -> tuple[str, ...]:
        """Names of the antennas beside the baseline, the first of the question before the others."""
        names = dict.fromkeys(self.steps["antenna"])
        return (self.first, *(n for n in names if n not in (self.first, self.baseline)))

    def summary(self) -> str:
        """The plan in a few sentences.

        Returns
        -------
        str

        Examples
        --------
        >>> stations = pd.DataFrame({"rf_channel": ["14", "20"], "margin_db": [8.0, 40.0]})
        >>> print(plan(["loop"], stations, returns=2, sessions=1).summary().split(".")[0])
        Gain trial: every antenna is aimed at each station in turn
        """
        sessions, visits = self.steps["session"].nunique(), self.steps["visit"].nunique()
        aim = {
            "gain": "every antenna is aimed at each station in turn",
            "fixed aim": "every antenna keeps its own best single heading",
        }[self.kind]
        used, left = self.channels[self.channels["use"]], self.channels[~self.channels["use"]]
        lines = [
            f"{self.kind.capitalize()} trial: {aim}.",
            f"{sessions} session{'s on different days' * (sessions > 1)}, antennas put up {visits} "
            f"times, {len(self.steps)} readings: about {self.hours:.1f} hours.",
            f"Begin with {self.first!r} and {self.baseline!r} alone: {self.pair_hours:.1f} hours.",
            f"Antennas {self.tells_db:.1f} dB apart are then told apart on 8 of 10 such trials.",
            f"Channels that tell something: {', '.join(map(_with_pad, used.itertuples()))}.",
        ]
        if len(left):
            lines.append(f"Left out: {'; '.join(left['rf_channel'] + ' (' + left['why'] + ')')}.")
        lines.append(
            "Same mount point each time, other antennas well away, stand clear, wait until the meter "
            "settles, note lowest and highest. Do not rescan in between."
        )
        lines += [*self.notes, self._ends()]
        return "\n".join(line for line in lines if line)

    def _ends(self):
        """When to look and when to stop."""
        antenna, band = self.question
        looks = f"after {listed(self.looks)} whole returns" if len(self.looks) > 1 else "at the end"
        asked = f"Question: is {antenna!r} better than {self.baseline!r} at {band}? Look {looks}."
        stop = f" Stop by {self.stop_by}." if self.stop_by else ""
        return f"{asked}{stop} {LOW_STAND}"

    def sheet(self) -> str:
        """The plan as a sheet to print: one line a mounting, a blank for every reading.

        Returns
        -------
        str

        Examples
        --------
        >>> stations = pd.DataFrame({"rf_channel": ["14", "20"], "margin_db": [8.0, 12.0]})
        >>> laid = plan(["loop"], stations, hours=2, start="18:30")
        >>> laid.stop_by, len(laid.sheet().splitlines()) > 12
        ('20:30', True)
        """
        return sheet(self)

    def next_step(self, readings: pd.DataFrame | None = None) -> dict | None:
        """The first step that was not read yet.

        Parameters
        ----------
        readings
            Had so far, with antenna and rf_channel.

        Returns
        -------
        dict or None
            A row of ``steps``, None when all is read.

        Examples
        --------
        >>> stations = pd.DataFrame({"rf_channel": ["14"], "margin_db": [8.0]})
        >>> first = plan(["loop"], stations, baseline="dipole").next_step()
        >>> first["antenna"], first["rf_channel"]
        ('dipole', '14')
        """
        steps = self.steps
        if readings is None or not len(readings):
            return steps.iloc[0].to_dict()
        pairs = zip(readings["antenna"], map(str, readings["rf_channel"]), strict=True)
        done = pd.Series(list(pairs), dtype=object).value_counts()
        key = pd.Series(list(zip(steps["antenna"], steps["rf_channel"], strict=True)), dtype=object)
        turn = key.groupby(key).cumcount().to_numpy()
        open_steps = turn >= key.map(done).fillna(0).to_numpy()
        return steps[open_steps].iloc[0].to_dict() if open_steps.any() else None


def plan(
    antennas: str | Sequence[str],
    stations: pd.DataFrame,
    *,
    baseline: str = "half-wave dipole",
    kind: str = "gain",
    sessions: int = 2,
    returns: int = 3,
    **details: object,
) -> Plan:
    """A fair side-by-side test.

    The baseline opens every round, closes the session and returns after every two others; the order of
    the others is drawn anew each round. With ``hours`` the channels are those of one band of one
    transmitter place (column place or bearing_deg of ``stations``), so that nothing is turned between
    readings, and the antennas as many, from the first on, as an evening tells apart. The question that
    may end it is the first antenna against the baseline.

    Parameters
    ----------
    antennas
        Names of the antennas to test, one or more.
    stations
        Columns rf_channel and margin_db, the margin expected through the baseline (spread_db if known:
        its sd, else 10): an outlook of the survey will do.
    baseline
        Name of the antenna that comes back again and again.
    kind
        "gain" or "fixed aim".
    sessions, returns
        Days, and how often each antenna goes up per day; 1 or more.
    details
        ``hours`` at hand: one evening is laid out that fits, and ``sessions`` and ``returns`` are
        chosen; ``swap_minutes`` it takes to put up another antenna; ``start`` and ``dusk`` clock times
        such as "18:30", for "stop by"; ``full_db`` margin at which the meter is full (a curve's own
        ``full_at_db()``), ``pads_db`` sizes of the pads at hand, ``seed`` of the random order.

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        When no channel can tell anything, when the hours are too few, or for nonsense.

    Examples
    --------
    >>> stations = pd.DataFrame({"rf_channel": ["14", "20"], "margin_db": [8.0, 40.0]})
    >>> laid = plan(["loop", "biquad"], stations)
    >>> laid.channels.pad_db.tolist(), round(laid.hours, 1)
    ([0.0, 30.0], 4.2)
    """
    names = _names(antennas, baseline, kind)
    times = Times.of(
        kind, **{k: details.pop(k, None) for k in ("hours", "swap_minutes", "start", "dusk")}
    )
    rng = np.random.default_rng(details.pop("seed", 0))
    if strange := set(details) - {"full_db", "pads_db"}:
        raise ValueError(
            f"{min(strange)!r} is nothing a plan knows; it knows hours, swap_minutes, start, dusk, "
            "full_db, pads_db and seed."
        )
    which = _usable(_channels(stations, **details))
    days = int(check("sessions", sessions, low=1, high=100))
    rounds, notes = int(check("returns", returns, low=1, high=100)), ()
    if times.hours is not None:
        days, (names, which, rounds, notes) = 1, evening(names, which, times)
    used = which[which["use"]]
    visits = _visits(names, baseline, days, rounds, rng)
    pair = visits[visits["antenna"].isin([names[0], baseline])]
    pair = pair[pair["antenna"].ne(pair["antenna"].shift()) | pair["session"].diff().ne(0)]
    hours = [len(v) * times.visit_h(len(used)) for v in (visits, pair)]
    pairs, sd = max(days * rounds, 2), usual_pair_sd_db(len(used), times.visit_h(len(used)))
    looks = (days * rounds,) if times.hours is None else planned_looks(rounds)
    level = once_as_wide(looks)
    return Plan(
        _steps(visits, used, kind), which, *hours, found_db(pairs, sd, confidence=level), kind,
        baseline, names[0], pairs, sd, level, looks, (names[0], str(used["band"].mode().iloc[0])),
        times.stop_by(hours[0]), notes,
    )  # fmt: skip


def _usable(which):
    if which["use"].any():
        return which
    raise ValueError(
        "No channel would give a reading between loss of lock and the ceiling: "
        + "; ".join(which["rf_channel"] + " " + which["why"])
        + ". Use pads, a better place or other stations."
    )


def _names(antennas, baseline, kind):
    one_of("kind", kind, KINDS)
    names = [antennas] if isinstance(antennas, str) else antennas
    check_type("antennas", names, (list, tuple), "a list of names")
    names = [a for a in dict.fromkeys(map(str, names)) if a != baseline]
    if not names:
        raise ValueError("antennas is empty; name at least one antenna beside the baseline.")
    return names


def _channels(stations, full_db=None, pads_db=PADS_DB):
    """Which channels tell anything, with which pad."""
    check_type("stations", stations, pd.DataFrame, "a DataFrame, as survey.outlook gives")
    for column in ("rf_channel", "margin_db"):
        if column not in stations:
            raise ValueError(
                f"stations has no column {column!r}; it has {', '.join(map(str, stations.columns))}."
            )
    known = _one_a_channel(stations.dropna(subset=["margin_db"]))
    full = USUAL.usual_full_db if full_db is None else check("full_db", full_db, above=0)
    margin = check("margin_db", known["margin_db"].to_numpy(float))
    spread = (
        known["spread_db"].to_numpy(float) if "spread_db" in known else np.full(len(known), 10.0)
    )
    spread = np.hypot(np.nan_to_num(spread, nan=10.0), USUAL.antenna_swing_db)
    pad = _best_pad(margin, float(full), pads_db)
    edge = USUAL.keep_off_ends_db
    ends = [(end - (margin - pad)) / spread for end in (edge, full - edge)]
    on_scale = ndtr(ends[1]) - ndtr(ends[0])
    best = 2 * ndtr((full - 2 * edge) / 2 / spread) - 1
    use = on_scale >= USUAL.chance_to_use * best
    return pd.DataFrame({
        "rf_channel": [channels.name(c) for c in known["rf_channel"]],
        "margin_db": margin,
        "pad_db": pad,
        "on_scale": on_scale,
        "use": use,
        "why": [_why(*row, full) for row in zip(margin, pad, use, strict=True)],
        "place": _places(known),
        "band": _bands(known),
    })  # fmt: skip


def _one_a_channel(stations):
    """Of several rows on one RF channel the strongest: a tuner shows no other."""
    strongest = stations.sort_values("margin_db", kind="stable").drop_duplicates(
        "rf_channel", keep="last"
    )
    return stations.loc[stations.index.isin(strongest.index)]


def _places(stations):
    """Where each channel comes from: its place, its bearing to 5 degrees, or one place for all."""
    if "place" in stations:
        return stations["place"].fillna("").astype(str).to_numpy()
    if "bearing_deg" in stations:
        bearing = stations["bearing_deg"].to_numpy(float)
        return [f"{b:.0f}°" if b == b else "" for b in 5 * np.round(bearing / 5) % 360]
    return ""


def _bands(stations):
    """The band of each channel; "all channels" where the plan of the region is not told."""
    region = stations["region"].iloc[0] if "region" in stations else "us"
    try:
        return np.atleast_1d(channels.band_of(stations["rf_channel"].tolist(), region))
    except ValueError:
        return "all channels"


def _best_pad(margin, full, pads_db):
    """The sum of pads that brings each margin (n,) nearest to the middle of the scale."""
    sizes = check("pads_db", list(pads_db), low=0, high=60) if len(pads_db) else np.array([])
    sums = {0.0}
    for count in range(1, len(sizes) + 1):
        sums |= {round(sum(some), 3) for some in itertools.combinations(sizes, count)}
    sums = np.array(sorted(sums))
    off = np.abs(margin[:, None] - sums - 0.5 * full)
    # A pad is trouble; it goes in only where the bare reading would be near the ceiling.
    bare_is_fine = margin < 0.75 * full
    return np.where(bare_is_fine, 0.0, sums[np.argmin(off, axis=1)])


def _with_pad(row):
    """A channel of the plan, with the pad it needs."""
    return f"{row.rf_channel} (with {row.pad_db:g} dB of pads)" if row.pad_db else row.rf_channel


def _why(margin, pad, use, full):
    if not use:
        return "too weak for a picture" if margin < full / 2 else "too strong for these pads"
    if pad:
        return f"strong: a {pad:g} dB pad brings it on scale"
    return "on scale as it is"


def _visits(names, baseline, sessions, returns, rng):
    """Antennas in order of going up: session, visit, antenna."""
    rows = []
    for session in range(1, sessions + 1):
        for _ in range(returns):
            for place, name in enumerate(rng.permutation(names)):
                if place % BASELINE_EVERY == 0:
                    rows.append((session, baseline))
                rows.append((session, str(name)))
        rows.append((session, baseline))
    table = pd.DataFrame(rows, columns=["session", "antenna"])
    return table.assign(visit=np.arange(1, len(table) + 1))


def _steps(visits, used, kind):
    aim = "at the station" if kind == "gain" else "its own one heading"
    steps = visits.merge(used[["rf_channel", "pad_db"]], how="cross")
    return steps.assign(aim=aim)[["session", "visit", "antenna", "rf_channel", "pad_db", "aim"]]
