"""The trial in the builders' yard as it was planned and written down: two Saturdays, four antennas.

It was laid out by ``trials.plan`` from a first round of pads, read on an invented set, and holds
what trials suffer from: a level that wanders, mountings that never come out alike, channels that
like one antenna better than another, and three rows written down wrong.
"""

import numpy as np
import pandas as pd

from signalshed import facts, trials
from signalshed.meters import Meter
from signalshed.simulate import DEMO_SEED, TRIAL_SITE, ladder, readings, truth
from signalshed.simulate.truths import normal
from signalshed.simulate.yard import (
    BASELINE,
    CHANNELS,
    DRAW,
    MOUNT,
    TESTED,
    aimed_at,
    aimed_db,
    bearing_deg,
    liking_db,
)

METERS = {"quality": Meter("carry-about TV", "quality", 30, 100, 22, bend=0.8)}
"""What that set does, and nobody there knows."""

REMOUNT_SD_DB, RESIDUAL_SD_DB, DRIFT_SD_DB_ROOT_H = 0.7, 0.5, 0.8
"""What a mounting does on all channels and on each; the wandering."""

SLIPS = (29, 68, 107)
"""Rows, counted from 0, that were written one line too low: they hold the figures of the row above."""

_DAYS = ("2026-06-06", "2026-06-13")
_START_MIN = 10 * 60
_OFFSET = "-03:00"
_SEED = 7
_LADDER_PADS_DB = {
    "24": (13, 16, 19, 20, 23, 26, 29, 30, 33, 36, 39),
    "21": (0, 3, 6, 9, 10, 13, 16, 19, 20, 23),
}
"""Rungs by RF channel, dB: what pads of 3, 6, 10 and 20 dB can add up to, each at most once."""


def plan():
    """The trial as it was laid out: a trials.Plan."""
    scouted = pd.DataFrame({"rf_channel": CHANNELS, "margin_db": _scouted_db(), "spread_db": 1.0})
    return trials.plan(TESTED, scouted, baseline=BASELINE, returns=2, full_db=20.0, seed=_SEED)


def reading_rows():
    """The readings of the trial, as readings.csv holds them: a DataFrame."""
    steps = _timed(plan().steps)
    rows = readings(truth(TRIAL_SITE), _as_noted(steps), METERS, seed=6, wander_db=RESIDUAL_SD_DB)
    return _with_slips(rows)


def ladder_rows():
    """The ladder of the set that was read in the yard, as meter.csv holds it: a DataFrame."""
    parts = [
        ladder(truth(TRIAL_SITE), aimed_at(TESTED[2], channel), channel, pads, METERS)
        for channel, pads in _LADDER_PADS_DB.items()
    ]
    return pd.concat(parts, ignore_index=True)


def _scouted_db():
    """What a first round of pads through the dipole said: the middle of brackets 3 dB wide."""
    here = truth(TRIAL_SITE)
    margin = np.array([aimed_db(here, BASELINE, channel) for channel in CHANNELS])
    return 3 * np.floor(margin / 3) + 1.5


def _timed(steps):
    """Steps of a plan with day and minute, by the minutes that the plan reckons with."""
    take = {
        name: facts.value("trial_plan", f"{name}_minutes") for name in ("swap", "aim", "reading")
    }
    new = steps["visit"].diff().ne(0)
    minutes = take["swap"] * new + take["aim"] + take["reading"]
    return steps.assign(minute=minutes.groupby(steps["session"]).cumsum())


def _as_noted(steps):
    """Steps in the columns of a log, and what was not true of the antenna alone as ``aside_db``."""
    clock = (_START_MIN + steps["minute"]).round().astype(int)
    day = [_DAYS[session - 1] for session in steps["session"]]
    return pd.DataFrame({
        "time": [f"{d}T{m // 60:02d}:{m % 60:02d}:00{_OFFSET}" for d, m in zip(day, clock, strict=True)],
        "mount": MOUNT,
        "antenna": steps["antenna"],
        "meter": METERS["quality"].name,
        "scale": "quality",
        "rf_channel": steps["rf_channel"],
        "heading_deg": steps["rf_channel"].map(bearing_deg),
        "pad_db": steps["pad_db"],
        "aside_db": _aside_db(steps),
    })  # fmt: skip


def _aside_db(steps):
    """Mounting, wandering and the antenna's liking of the channel, dB: (n,)."""
    first = steps.drop_duplicates("visit").set_index("visit")
    hours = first.groupby("session")["minute"].diff().fillna(0.0) / 60
    stride = [DRIFT_SD_DB_ROOT_H * normal(DEMO_SEED, DRAW, "stride", str(v)) for v in first.index]
    drift = (np.sqrt(hours) * stride).groupby(first["session"]).cumsum()
    mounting = [REMOUNT_SD_DB * normal(DEMO_SEED, DRAW, "mounting", str(v)) for v in first.index]
    liking = [liking_db(*p) for p in zip(steps["antenna"], steps["rf_channel"], strict=True)]
    return steps["visit"].map(drift + mounting).to_numpy() + np.array(liking)


def _with_slips(rows):
    """The readings with ``SLIPS`` in them."""
    columns = ["reading", "reading_low", "reading_high", "locked"]
    table = rows.copy()
    for row in SLIPS:
        table.loc[row, columns] = rows.loc[row - 1, columns]
    return table
