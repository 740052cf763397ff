"""Do 90 % intervals hold the truth? Simulated trials by the thousand, and the table they leave.

    python tests/bench/calibrate.py                  1000 trials of each kind, three hours
    python tests/bench/calibrate.py --trials 100     twenty minutes
    python tests/bench/calibrate.py --trials 20      a quick look; the table is printed, not recorded

Each row of 25 trials or more is recorded in tests/bench/calibration.csv as soon as it is done, with
its number of trials, in place of the last one of its kind. Kinds under "left out" show what each
part of the estimate is for: the same trials judged without it. Kinds under "bad" are what a builder can
cause without noting it; ``told`` is the share of trials in which something was said to be wrong.
"the stopping rule" is evenings of two hours that end at the first planned look that is clear of zero;
its interval is the repeated one. Of equal antennas ``false_calls`` is the share of rows, and
``any_false_call`` of trials with a row, that are called better or worse all the same.
"""

import argparse
import sys
import time
from contextlib import contextmanager, nullcontext
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1]))

from bad_trials import BadWorld, bad_trial
from live_trial import LiveTrial, read_visit

from signalshed import meters, trials
from signalshed.meters import MeterCurve
from signalshed.trials import estimate, model, rows

RECORD = Path(__file__).with_name("calibration.csv")
PLANNED = BadWorld()
COARSE = PLANNED.but(ladder_stations=1, pad_step_db=6.0, antenna_sd_db=6.0)
CLEAN = PLANNED.but(drift_db_per_root_h=0.0, wild_share=0.0)

WORLDS = {
    "planned, with drift and wild readings": PLANNED,
    "no drift, no wild readings": CLEAN,
    "drift alone": PLANNED.but(wild_share=0.0),
    "wild readings alone": PLANNED.but(drift_db_per_root_h=0.0),
    "one antenna and the baseline": PLANNED.but(antennas=1),
    "one evening, two returns": PLANNED.but(sessions=1, returns=2),
    "mostly full meters": PLANNED.but(low_db=12.0, high_db=40.0),
    "level meter": PLANNED.but(meter="level strength"),
    "coarse ladder, antennas far apart": COARSE,
    "bent meter": PLANNED.but(meter="gain control strength"),
    "error meter, ladder in 1 dB steps": PLANNED.but(
        meter="error quality", high_db=10.0, pad_step_db=1.0
    ),
    "variances drawn anew": PLANNED,
    "misfit: remount error tripled": PLANNED.but(remount_sd_db=2.1),
    "misfit: channel interaction doubled": PLANNED.but(interaction_sd_db=2.4),
    "misfit: heavy tails": PLANNED.but(heavy=True),
    "misfit: five bars": PLANNED.but(meter="five bars"),
    "misfit: drift jumps": PLANNED.but(drift_shape="jump"),
    "misfit: drift in waves": PLANNED.but(drift_shape="wave"),
    "misfit: each channel drifts": PLANNED.but(own_drift_db_per_root_h=0.7),
    "misfit: stations share a mast": PLANNED.but(shared_mast=True),
    "misfit: no ladder": PLANNED.but(ladder_stations=0),
    "misfit: no ladder, level meter": PLANNED.but(ladder_stations=0, meter="level strength"),
    "misfit: no ladder, bent meter": PLANNED.but(ladder_stations=0, meter="gain control strength"),
    "misfit: error meter, ladder in 3 dB steps": PLANNED.but(meter="error quality", high_db=10.0),
}
EQUAL = PLANNED.but(antenna_sd_db=0.0, interaction_sd_db=0.0)
WORLDS |= {
    "equal antennas": EQUAL,
    "bad: the meter was not waited for": PLANNED.but(memory=0.35),
    "bad: noted in tens": PLANNED.but(noted_in=10.0),
    "bad: a pad forgotten in one reading of ten": PLANNED.but(forgotten_share=0.1),
    "bad: one channel disturbed": PLANNED.but(disturbed_db=3.0),
    "bad: another TV on the second day": PLANNED.but(other_meter="gain control strength"),
    "bad: all pads 12 % weak": PLANNED.but(weak_pads=0.12),
    "bad: headings 8 degrees off": PLANNED.but(heading_sd_deg=8.0),
    "bad: a meter with a plateau of 6 dB": PLANNED.but(plateau_db=6.0),
}
STOPPING = {
    "the stopping rule": PLANNED,
    "the stopping rule, equal antennas": EQUAL,
}
LEFT_OUT = {
    "left out: the curve's error": COARSE,
    "left out: the charge for stretching": PLANNED,
    "left out: drift": PLANNED.but(drift_db_per_root_h=1.5),
    "left out: drift and remount": PLANNED.but(drift_db_per_root_h=1.5),
    "left out: ceilings as bounds": PLANNED.but(low_db=12.0, high_db=40.0),
}


@contextmanager
def changed(owner, name, value):
    """``owner.name`` is ``value`` inside the block."""
    before = getattr(owner, name)
    setattr(owner, name, value)
    try:
        yield
    finally:
        setattr(owner, name, before)


@contextmanager
def prior_without(parts):
    """Sds of these parts held near zero."""
    usual = model.prior

    def prior(name):
        part = name.split("_")[0]
        if part in parts:
            return 1e-3
        return usual(name)

    with changed(model, "prior", prior), changed(estimate, "prior", prior):
        yield


@contextmanager
def ceilings_believed():
    """A full meter's bound taken for a value."""
    usual = meters.drawn.Drawn.brackets

    def brackets(curve, reading):
        low, _, *rest = usual(curve, reading)
        return low, low, *rest

    with changed(meters.drawn.Drawn, "brackets", brackets):
        yield


@contextmanager
def no_charge():
    """Errors of slope may stretch all differences without being charged for it."""
    usual = rows._grid

    def grid(*args):
        found = list(usual(*args))
        found[5] = np.zeros_like(found[5])
        return tuple(found)

    with changed(rows, "_grid", grid):
        yield


def without(name):
    """The context in which the trials of ``name`` are judged."""
    return {
        "left out: the curve's error": lambda: changed(rows, "SMALLEST_SHARED_DB", 1e6),
        "left out: the charge for stretching": no_charge,
        "left out: drift": lambda: prior_without({"drift"}),
        "left out: drift and remount": lambda: prior_without({"drift", "remount"}),
        "left out: ceilings as bounds": ceilings_believed,
    }[name]()


def drawn_anew(world, seed):
    """Sds of remount, interaction, residual and drift of their own for every trial."""
    rng = np.random.default_rng(10_000 + seed)
    return world.but(
        remount_sd_db=0.7 * np.exp(0.6 * rng.standard_normal()),
        interaction_sd_db=1.2 * np.exp(0.5 * rng.standard_normal()),
        residual_sd_db=0.7 * np.exp(0.5 * rng.standard_normal()),
        drift_db_per_root_h=0.8 * rng.uniform(0, 2.5),
    )


def one(seed, world):
    """A row of the truth against the estimate, averaged over the trial."""
    trial = bad_trial(seed, world)
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    truth = trial.truth_db.rename_axis("antenna").reset_index()
    truth = truth.melt("antenna", var_name="rf_channel", value_name="truth_db")
    cells = found.table.merge(truth, on=["antenna", "rf_channel"])
    mean = trial.truth_db.mean(axis=1).rename("truth_db").rename_axis("antenna").reset_index()
    bands = found.bands.merge(mean, on="antenna").merge(found.naive, on="antenna")
    claim = np.select([bands["verdict"] == "better", bands["verdict"] == "worse"], [1, -1], 0)
    return {
        "cells": (
            (cells["low_db"] <= cells["truth_db"]) & (cells["truth_db"] <= cells["high_db"])
        ).mean(),
        "bands": (
            (bands["low_db"] <= bands["truth_db"]) & (bands["truth_db"] <= bands["high_db"])
        ).mean(),
        "half": (cells["high_db"] - cells["low_db"]).median() / 2,
        "wrong": (claim * bands["truth_db"] < 0).mean(),
        "cannot": (claim == 0).mean(),
        "naive": (bands["percent_points"] * bands["truth_db"] < 0).mean(),
        "told": len(found.misfit) > 0,
        "false": (cells["verdict"] != "cannot tell").mean(),
        "any": (cells["verdict"] != "cannot tell").any(),
    }


def evening(seed, world):
    """An evening of two hours read until it may stop: the declared question against the truth."""
    stations = pd.DataFrame(
        {"rf_channel": ["14", "15", "16", "17"], "margin_db": [7.0, 10, 13, 15]}
    )
    laid = trials.plan(["loop"], stations, hours=2, swap_minutes=4)
    live = LiveTrial(laid, seed, world)
    curve, log, clock = MeterCurve.fit(live.ladder), None, iter(range(100_000))

    def now():
        return str(pd.Timestamp("2031-05-03T18:00+00:00") + pd.Timedelta(minutes=next(clock)))

    while len(rows := read_visit(
        laid, log, live.source_of, every_s=0, now=now, meter="m", scale=live.meter.scale
    )):  # fmt: skip
        log = rows if log is None else pd.concat([log, rows], ignore_index=True)
        done = (log["antenna"] == "loop").sum() / len(rows)
        if log["antenna"].iloc[-1] == "loop" and done in laid.looks:
            found = trials.study(log, laid.baseline, curve, plan=laid)
            if found.may_stop:
                break
    stop, truth = found.may_stop, float(live.truth_db.to_numpy().mean())
    held = stop.low_db <= truth <= stop.high_db
    called = stop.low_db > 0 or stop.high_db < 0
    return {
        "cells": held,
        "bands": held,
        "half": (stop.high_db - stop.low_db) / 2,
        "wrong": called and stop.difference_db * truth < 0,
        "cannot": not called,
        "naive": np.nan,
        "told": len(found.misfit) > 0,
        "false": called,
        "any": called,
    }


def calibrate(name, world, count):
    """One row of the table."""
    start = time.perf_counter()
    vary = name == "variances drawn anew"
    judge = evening if name in STOPPING else one
    found = pd.DataFrame([
        judge(seed, drawn_anew(world, seed) if vary else world)
        for seed in range(20_000, 20_000 + count)
    ])  # fmt: skip
    error = found["cells"].astype(float).std() / np.sqrt(count)
    mean = found.astype(float).mean()
    equal = world is EQUAL
    row = {
        "kind": name,
        "trials": count,
        "channels_held": round(mean["cells"], 3),
        "standard_error": round(error, 4),
        "bands_held": round(mean["bands"], 3),
        "half_width_db": round(found["half"].median(), 2),
        "cannot_tell": round(mean["cannot"], 3),
        "wrong_claims": round(mean["wrong"], 4),
        "percent_table_wrong": round(mean["naive"], 4),
        "told": round(mean["told"], 3),
        "false_calls": round(mean["false"], 3) if equal else "",
        "any_false_call": round(mean["any"], 3) if equal else "",
    }
    print(",".join(map(str, row.values())), f" ({time.perf_counter() - start:.0f} s)", flush=True)
    return row


def record(row):
    """The row in the recorded table, in place of the last one of its kind, in the order of kinds."""
    table = pd.read_csv(RECORD) if RECORD.exists() else pd.DataFrame(columns=list(row))
    kept = table[table["kind"] != row["kind"]].to_dict("records")
    order = [*WORLDS, *STOPPING, *LEFT_OUT]
    rows = sorted([*kept, row], key=lambda r: order.index(r["kind"]))
    pd.DataFrame(rows).to_csv(RECORD, index=False)


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--trials", type=int, default=1000)
    options.add_argument("--only", default="", help="kinds whose name holds this text")
    asked = options.parse_args()
    for name, world in {**WORLDS, **STOPPING, **LEFT_OUT}.items():
        if asked.only in name:
            with without(name) if name in LEFT_OUT else nullcontext():
                row = calibrate(name, world, asked.trials)
            if asked.trials >= 25:
                record(row)


if __name__ == "__main__":
    main()
