"""A test that fits into an evening: which antennas, which channels, how many returns, when to stop."""

import itertools
from dataclasses import dataclass

import numpy as np

from .. import facts
from ..units import check, number
from ..words import counted, listed
from .power import found_db, usual_pair_sd_db
from .stopping import once_as_wide, planned_looks

BASELINE_EVERY = 2
FEWEST_RETURNS, MOST_RETURNS, FEWEST_CHANNELS = 3, 12, 3
LOW_STAND = (
    "Swap antennas on a low stand that you reach from the ground; never hurry on a ladder or a roof, "
    "and stop while there is light: levels drift after dusk, and hands are on ladders. Local code and "
    "licensed practice decide."
)

USUAL = facts.numbers("trial_plan")


@dataclass(frozen=True)
class Times:
    """What takes how long: ``hours`` at hand or None, ``swap_minutes``, ``aim_minutes`` once a mounting
    and ``each_minutes`` a channel, ``start_h`` and ``dusk_h`` of the clock, NaN where not told."""

    hours: float | None
    swap_minutes: float
    aim_minutes: float
    each_minutes: float
    start_h: float = np.nan
    dusk_h: float = np.nan

    @classmethod
    def of(cls, kind, hours=None, swap_minutes=None, start=None, dusk=None):
        """The Times of a kind of trial; what is None is as usual."""
        swap = USUAL.swap_minutes if swap_minutes is None else swap_minutes
        swap = number("swap_minutes", swap, low=0.5, high=120)
        aim = USUAL.aim_minutes if kind == "gain" else 0.0
        start_h, dusk_h = _clock("start", start), _clock("dusk", dusk)
        if hours is None:
            return cls(None, swap, 0.0, USUAL.reading_minutes + aim, start_h, dusk_h)
        left = number("hours", hours, low=0.25, high=24)
        light = (dusk_h - start_h) % 24 - USUAL.before_dusk_minutes / 60
        left = min(left, light) if light == light else left
        if left <= 0:
            raise ValueError(f"start is {start!r} and dusk {dusk!r}; begin earlier in the day.")
        return cls(left, swap, aim, USUAL.reading_minutes, start_h, dusk_h)

    def visit_h(self, channels):
        """Hours of one mounting with so many ``channels`` read."""
        return (self.swap_minutes + self.aim_minutes + channels * self.each_minutes) / 60

    def stop_by(self, hours):
        """The clock time by which to stop, "" without a start; ``hours`` the plan takes."""
        end = self.start_h + (hours if self.hours is None else self.hours)
        if end != end:
            return ""
        minutes = round(60 * end) % 1440
        return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _clock(name, text):
    """A clock time as hours, NaN for None."""
    if text is None:
        return np.nan
    parts = str(text).strip().split(":")
    if len(parts) != 2 or not all(p.isdigit() for p in parts):
        raise ValueError(f"{name} is {text!r}; write a clock time such as 18:30.")
    hour, minute = map(int, parts)
    check(name, hour, low=0, high=23)
    return hour + check(name, minute, low=0, high=59) / 60


def evening(names, which, times):
    """What fits: names of the antennas, the channels used, whole returns, and what was left out.

    Parameters: ``names`` of the antennas, the most wanted first; ``which`` the table of channels with
    on_scale, use, place; ``times`` a Times with hours.
    """
    place, which = _one_place(which)
    best = None
    for count in range(len(names), 0, -1):
        best = _best(count, int(which["use"].sum()), times)
        if best is not None and best[0] <= USUAL.evening_tells_db:
            break
    if best is None:
        raise ValueError(
            f"hours is {times.hours:g}, too few for {FEWEST_RETURNS} returns of one antenna and the "
            f"baseline with {times.swap_minutes:g} minutes a swap; take more time, or swap faster."
        )
    _, channels, returns = best
    ranked = which["on_scale"].where(which["use"], -1.0).rank(ascending=False, method="first")
    kept = which.assign(use=which["use"] & (ranked <= channels))
    late = which["use"] & ~kept["use"]
    kept["why"] = kept["why"].where(~late, "no time for it")
    return names[:count], kept, returns, _left_out(names[count:], place, late.sum())


def _one_place(which):
    """The band of a place that promises most readings, and the table with its channels in use alone."""
    where = which["band"] + (" from " + which["place"]).where(which["place"] != "", "")
    place = which["on_scale"].where(which["use"], 0.0).groupby(where).sum().idxmax()
    there = where == place
    why = which["why"].where(there | ~which["use"], "from another place or band")
    return place, which.assign(use=which["use"] & there, why=why)


def _best(antennas, channels, times):
    """(difference told, channels, returns) of the best layout for so many antennas, or None."""
    found = []
    fewest = min(FEWEST_CHANNELS, channels)
    for count, returns in itertools.product(
        range(fewest, channels + 1), range(FEWEST_RETURNS, MOST_RETURNS + 1)
    ):
        mountings = returns * (antennas + int(np.ceil(antennas / BASELINE_EVERY))) + 1
        if mountings * times.visit_h(count) <= times.hours + 1e-9:
            found.append((tells_db(returns, count, times), count, returns))
    return min(found, default=None)


def tells_db(returns, channels, times):
    """The difference that so many ``returns`` on so many ``channels`` find, all looks allowed for.

    Parameters: ``returns`` and ``channels`` whole numbers; ``times`` a Times.
    """
    sd = usual_pair_sd_db(channels, times.visit_h(channels))
    return found_db(returns, sd, confidence=once_as_wide(planned_looks(returns)))


def _left_out(names, place, late):
    notes = []
    if names:
        notes.append(
            f"Left for another evening: {listed(names)}; with them it would tell too little."
        )
    notes.append(f"Only {place}: nothing is turned between readings.")
    if late:
        notes.append(f"{counted(late, 'channel')} left out for want of time.")
    return tuple(notes)


def sheet(laid):
    """The sheet of a Plan ``laid`` as text: what is asked, when to look and stop, blanks to fill."""
    used = laid.channels[laid.channels["use"]]
    heads = [
        f"RF {r.rf_channel}{f' -{r.pad_db:g}dB' if r.pad_db else ''}" for r in used.itertuples()
    ]
    wide = max(len(n) for n in (*laid.antennas, laid.baseline))
    lines = [
        *laid.summary().split("\n"),
        "",
        " no.  " + "up".ljust(wide) + "  clock  " + "  ".join(heads),
    ]
    blanks = "  ".join("_" * len(head) for head in heads)
    done, first = 0, dict.fromkeys(laid.antennas, 0)
    for row in laid.steps.drop_duplicates("visit").itertuples():
        lines.append(f"{row.visit:3d}.  {row.antenna.ljust(wide)}  __:__  {blanks}")
        if row.antenna in first:
            first[row.antenna] += 1
        if min(first.values()) > done:
            done = min(first.values())
            look = "   LOOK (study(...).may_stop)" if done in laid.looks else ""
            lines.append(f"      whole return {done}{look}")
    return "\n".join(lines)
