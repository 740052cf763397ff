"""The side-by-side trial in the builders' yard that the demo folder holds: two Saturdays, four antennas.

It was laid out by ``trials.plan`` from a first round of pads, read on an invented set, and holds
what trials suffer from: a level that wanders, mountings that never come out alike, channels that
like one antenna better than another, and three rows written down wrong.
"""

import functools

import numpy as np
import pandas as pd

from .. import facts, survey, trials
from ..meters import Meter
from .demo import DEMO_SEED, TRIAL_SITE, demo_site, truth
from .logbook import ladder, readings
from .truths import normal, truth_of

BASELINE = "half-wave dipole"
TESTED = ("wire loop", "two-band Yagi", "double loop with screen")
CHANNELS = ("17", "19", "21", "24", "29", "33")
MOUNT = "low mast"

METERS = {"quality": Meter("carry-about TV", "quality", 30, 100, 22, bend=0.8)}
"""What that set does, and nobody there knows."""

INTERACTION_SD_DB, REMOUNT_SD_DB, RESIDUAL_SD_DB, DRIFT_SD_DB_ROOT_H = 0.8, 0.7, 0.5, 0.8
"""What antennas do from channel to channel, a mounting on all channels and on each; the wandering."""

SLIPS = (29, 68, 107)
"""Rows, counted from 0, that were written one line too low: they hold the figures of the row above."""

_DAYS = ("2026-06-06", "2026-06-13")
_START_MIN = 10 * 60
_OFFSET = "-03:00"
_SEED = 7
_DRAW = "yard 3"
_LADDER_PADS_DB = {
    "24": (13, 16, 19, 20, 23, 26, 29, 30, 33, 36, 39),
    "21": (0, 3, 6, 9, 10, 13, 16, 19, 20, 23),
}
"""Rungs by RF channel, dB: what pads of 3, 6, 10 and 20 dB can add up to, each at most once."""

_DOUBLE = TESTED[2]


def yard_plan():
    """The trial as it was laid out: a trials.Plan.

    >>> yard_plan().kind
    'gain'
    """
    scouted = pd.DataFrame({"rf_channel": CHANNELS, "margin_db": _scouted_db(), "spread_db": 1.0})
    return trials.plan(TESTED, scouted, baseline=BASELINE, returns=2, full_db=20.0, seed=_SEED)


def yard_readings():
    """The readings of the trial, as readings.csv holds them: a DataFrame.

    >>> sorted(yard_readings()["antenna"].unique())[2:]
    ['two-band Yagi', 'wire loop']
    """
    steps = _timed(yard_plan().steps)
    rows = readings(truth(TRIAL_SITE), _as_noted(steps), METERS, seed=6, wander_db=RESIDUAL_SD_DB)
    return _with_slips(rows)


def yard_ladder():
    """The ladder of the set that was read in the yard, as meter.csv holds it: a DataFrame.

    >>> yard_ladder()["rf_channel"].unique().tolist()
    ['24', '21']
    """
    parts = [
        ladder(truth(TRIAL_SITE), _setup(_DOUBLE, channel), channel, pads, METERS)
        for channel, pads in _LADDER_PADS_DB.items()
    ]
    return pd.concat(parts, ignore_index=True)


@functools.cache
def yard_truth_db():
    """True differences to the dipole in the yard, dB: a DataFrame, antennas by rf_channel.

    >>> yard_truth_db().shape
    (3, 6)
    """
    here = truth_of(demo_site(TRIAL_SITE), DEMO_SEED)
    names = (BASELINE, *TESTED)
    true = [[_aimed_db(here, name, channel) for channel in CHANNELS] for name in names]
    table = pd.DataFrame(true, index=names, columns=CHANNELS)
    return table.loc[list(TESTED)] - table.loc[BASELINE]


def _aimed_db(here, antenna, channel):
    """Spare dB of the strongest station on a channel, the antenna aimed at it, its own liking in."""
    margin = here.margin_db(_setup(antenna, channel))
    on = (here.site.stations["rf_channel"] == channel).to_numpy()
    return float(np.nanmax(margin[on])) + _liking_db(antenna, channel)


def _liking_db(antenna, channel):
    """How much more an antenna hears on one channel than its gain says, dB."""
    return INTERACTION_SD_DB * normal(DEMO_SEED, _DRAW, antenna, channel)


def _setup(antenna, channel):
    return survey.Setup(antenna, MOUNT, heading_deg=_bearing_deg(channel))


def _bearing_deg(channel):
    """The whole degree nearest to the bearing of the station that holds the channel."""
    stations = demo_site(TRIAL_SITE).stations
    return float(round(stations.loc[stations["rf_channel"] == channel, "bearing_deg"].iloc[0]))


def _scouted_db():
    """What a first round of pads through the dipole said: the middle of brackets 3 dB wide."""
    here = truth(TRIAL_SITE)
    margin = np.array([_aimed_db(here, BASELINE, channel) for channel in CHANNELS])
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
        "heading_deg": steps["rf_channel"].map(_bearing_deg),
        "pad_db": steps["pad_db"],
        "aside_db": _aside_db(steps),
    })  # fmt: skip


def _aside_db(steps):
    """Mounting, wandering and the antenna's liking of the channel, dB: (n,)."""
    first = steps.drop_duplicates("visit").set_index("visit")
    hours = first.groupby("session")["minute"].diff().fillna(0.0) / 60
    stride = [DRIFT_SD_DB_ROOT_H * normal(DEMO_SEED, _DRAW, "stride", str(v)) for v in first.index]
    drift = (np.sqrt(hours) * stride).groupby(first["session"]).cumsum()
    mounting = [REMOUNT_SD_DB * normal(DEMO_SEED, _DRAW, "mounting", str(v)) for v in first.index]
    liking = [_liking_db(*p) for p in zip(steps["antenna"], steps["rf_channel"], strict=True)]
    return steps["visit"].map(drift + mounting).to_numpy() + np.array(liking)


def _with_slips(rows):
    """The readings with ``SLIPS`` in them."""
    columns = ["reading", "reading_low", "reading_high", "locked"]
    table = rows.copy()
    for row in SLIPS:
        table.loc[row, columns] = rows.loc[row - 1, columns]
    return table
