"""A ladder of pads becomes a meter's curve, or turns out too short for one."""

import numpy as np
import pandas as pd

from ... import meters
from ...plots import LadderPicture, SmallTV
from ...words import counted
from .. import Choice, Panel, Slider, Switch, Words
from .hidden import TUNERS, _words
from .pads import picture_left

CONTROLS = (
    Choice("tuner", "Tuner", tuple(TUNERS)),
    Slider("most_db", "All your pads together, dB", 3, 48, 18),
    Slider("step_db", "Step between the rungs, dB", 1, 10, 3),
    Slider("spare_db", "Spare dB of the station, no pad", 5, 45, 23),
    Switch("truth", "Show what was true", False),
)

_LIMITS_DB = (-10.5, 52.0)
_SEED = 3


def ladder_panel():
    """A ladder made on one invented tuner: its rungs, what broke, and what 82 % means on it.

    >>> ladder_panel().words.finding[:42]
    '7 rungs, 7 with a picture: it never broke,'
    """
    return Panel("Build a meter ladder", CONTROLS, _draw, (8.4, 4.3))


def ladder_of(tuner, spare_db, step_db, most_db):
    """A ladder as in meter.csv: a DataFrame of scale, rf_channel, pad_db, reading, locked."""
    model = meters.meter(TUNERS[tuner])
    pads = np.arange(0, most_db + 1e-9, step_db)
    rng = np.random.default_rng(_SEED)
    reading, locked = model.show(spare_db - pads, rng)
    rows = {"pad_db": pads, "reading": np.where(locked, reading, np.nan), "locked": locked}
    return pd.DataFrame(rows).assign(scale=model.scale, rf_channel="24")


def halfwidth_db(tuner, spare_db, step_db, most_db, reading=82.0):
    """How far a ladder leaves a ``reading`` open to either side, dB: half of its 9 of 10.

    Parameters: as of ``ladder_of``; inf where the picture never broke.

    >>> halfwidth_db("tuner A", 23, 10, 30) > halfwidth_db("tuner A", 23, 1, 30)
    True
    """
    curve = meters.MeterCurve.fit(ladder_of(tuner, spare_db, step_db, most_db))
    told = curve.to_margin_db(reading, True)
    return float(told.high_db - told.low_db) / 2 if curve.zero_known else np.inf


def _draw(figure):
    ax = figure.add_subplot()
    picture, tv = LadderPicture(ax, _LIMITS_DB), SmallTV(ax, (0.77, 0.68, 0.21, 0.27))

    def move(tuner, spare_db, step_db, most_db, truth):
        ladder = ladder_of(tuner, spare_db, step_db, most_db)
        curve = meters.MeterCurve.fit(ladder)
        model, ask = meters.meter(TUNERS[tuner]), _asked(tuner)
        rows = ladder.itertuples()
        rungs = [(r.pad_db, _words(model, r.reading) if r.locked else None) for r in rows]
        picture.update(rungs, _top_db(ladder, curve))
        grid, seen = _truth(tuner)
        true_db = np.interp(ask, seen, grid) if truth else None
        told = curve.to_margin_db(ask, True) if curve.zero_known else None
        picture.mark(_words(model, ask), told, true_db)
        left = tv.update(picture_left(spare_db - rungs[-1][0]))
        verdict = _said(tuner, ladder, curve, truth)
        return Words(verdict, f"A ladder, pads and readings: {_read_out(rungs)}. {left} {verdict}")

    return (*picture.artists, *tv.artists), move


def _read_out(rungs):
    """A few rungs that held, and the one that broke."""
    held = [f"{pad:g} dB {read}" for pad, read in rungs if read]
    broke = [f"{pad:g} dB no picture" for pad, read in rungs if not read]
    return ", ".join(held[:: 1 + len(held) // 9] + broke[:1])


def _asked(tuner):
    return 4.0 if meters.meter(TUNERS[tuner]).scale == "bars" else 82.0


def _top_db(ladder, curve):
    """Spare dB of the first rung: by the curve, else half way in the step that broke, else the least."""
    held = ladder.loc[ladder["locked"], "pad_db"].max()
    if ladder["locked"].all():
        return held
    lost = ladder.loc[~ladder["locked"], "pad_db"].min()
    seen = ladder[ladder["locked"]]
    margin = curve.to_margin_db(seen["reading"].to_numpy(), True)
    told = (margin.status == "measured") & (curve.source == "ladder")
    if not told.any():
        return (held + lost) / 2
    return float(np.clip(np.median((margin.value_db + seen["pad_db"])[told]), held, lost))


def _truth(tuner):
    model = meters.meter(TUNERS[tuner])
    grid = np.arange(0, _LIMITS_DB[1] + 0.1, 0.2)
    seen = model.smooth(grid)
    kept = seen < model.top - 1e-9
    return grid[kept], seen[kept]


def _said(tuner, ladder, curve, truth):
    model = meters.meter(TUNERS[tuner])
    ask = _asked(tuner)
    locked = int(ladder["locked"].sum())
    rungs = counted(len(ladder), "rung")
    lead = f"{rungs}, {locked} with a picture"
    if not curve.zero_known:
        return (
            f"{lead}: it never broke, so there is no zero, and only differences count. More pads!"
        )
    mean = "mean" if model.scale == "bars" else "means"
    text = f"{_words(model, ask)} {mean} {_meaning(curve.to_margin_db(ask, True))}. {lead}."
    if truth:
        grid, seen = _truth(tuner)
        text += f" True: {np.interp(ask, seen, grid):.1f} dB."
    if curve.source == "default":
        return f"{text} Too few rungs below a full meter: this is only a wide guess."
    return text


def _meaning(margin):
    if margin.status == "at least":
        return (
            f"at least {margin.value_db:.0f} dB: the meter is full, or the meter ladder ends below"
        )
    if not np.isfinite(margin.high_db):
        return f"more than {margin.low_db:.1f} dB"
    low, high = max(float(margin.low_db), 0.0), float(margin.high_db)
    return f"{margin.value_db:.1f} dB, 9 of 10 between {low:.1f} and {high:.1f}"
