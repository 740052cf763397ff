"""Do 90 % intervals of a trial hold the truth? Invented trials by the hundred, whose truth is known.

A file of its own, so that it runs beside the others. Forty trials of a kind here, a hundred behind the
slow mark; more of more kinds are behind tests/bench/calibrate.py, whose record keeps its promises here.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from bad_trials import BadWorld, bad_trial

from signalshed import meters, trials
from signalshed.meters import MeterCurve

USUAL = BadWorld(antennas=1, channels=6)
FEW_OR_MANY = pytest.mark.parametrize("count", [40, pytest.param(100, marks=pytest.mark.slow)])


def _least(count):
    """Least share held of so many bands, one a trial: 0.9 less two and a half of its own sds."""
    return 0.9 - 2.5 * 0.3 / np.sqrt(count)


def _covered(world, count, vary=None):
    """Shares of cells and bands whose 90 % interval holds the truth, and of wrong claims."""
    held, bands, wrong, naive = [], [], [], []
    for seed in range(5000, 5000 + count):
        here = world if vary is None else world.but(**vary(np.random.default_rng(seed)))
        trial = bad_trial(seed, here)
        found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
        truth = trial.truth_db.loc[
            found.table["antenna"].unique(), found.table["rf_channel"].unique()
        ]
        flat, table, band = truth.to_numpy().ravel(), found.table, found.bands
        held += ((table["low_db"] <= flat) & (flat <= table["high_db"])).tolist()
        mean = truth.mean(axis=1).to_numpy()
        bands += ((band["low_db"] <= mean) & (mean <= band["high_db"])).tolist()
        said = np.select([band["verdict"] == "better", band["verdict"] == "worse"], [1, -1], 0)
        wrong += (said * mean < 0).tolist()
        naive += (found.naive["percent_points"].to_numpy() * mean < 0).tolist()
    return np.mean(held), np.mean(bands), np.mean(wrong), np.mean(naive)


@FEW_OR_MANY
def test_intervals_hold_the_truth_with_drift_and_wild_readings(count):
    """One antenna, six channels, two evenings; and what a plain table of percents would claim."""
    held, bands, wrong, naive = _covered(USUAL, count)
    assert 0.84 < held < 0.96 and _least(count) < bands < 0.97
    assert wrong < 0.02 < naive  # the plain table of percents names the wrong one more often


def _anew(rng):
    return {
        "remount_sd_db": 0.7 * np.exp(0.5 * rng.standard_normal()),
        "interaction_sd_db": 1.2 * np.exp(0.5 * rng.standard_normal()),
        "residual_sd_db": 0.7 * np.exp(0.4 * rng.standard_normal()),
        "drift_db_per_root_h": 0.8 * rng.uniform(0, 2),
    }


@pytest.mark.slow
def test_intervals_hold_the_truth_with_variances_drawn_anew():
    held, bands, _, _ = _covered(USUAL, 100, _anew)
    assert 0.84 < held < 0.96 and _least(100) < bands < 0.97


FULL = USUAL.but(low_db=12, high_db=40)


@FEW_OR_MANY
def test_intervals_hold_the_truth_when_most_meters_are_full(count):
    held, bands, _, _ = _covered(FULL, count)
    assert 0.84 < held < 0.96 and _least(count) < bands < 0.97


@FEW_OR_MANY
def test_a_good_ladder_of_a_full_meter_does_not_harm(count):
    """It sees the ceiling often, and once let the flicker of full meters in as values: bands 0.71."""
    held, bands, _, _ = _covered(FULL.but(ladder_stations=6, pad_step_db=1.5), count)
    assert 0.84 < held < 0.96 and _least(count) < bands < 0.97


def test_ceilings_taken_as_values_do_not(monkeypatch):
    """The trap the bounds are there for: a full meter believed makes the intervals hold nothing."""
    bracket = meters.drawn.Drawn.brackets

    def believed(curve, reading):
        low, _, *rest = bracket(curve, reading)
        return low, low, *rest

    monkeypatch.setattr(meters.drawn.Drawn, "brackets", believed)
    held, _, _, _ = _covered(FULL, 15)
    assert held < 0.65


@pytest.mark.slow
def test_intervals_hold_the_truth_under_misfit():
    """Remount error tripled, heavy tails, a shared mast and a jump, all at once."""
    world = USUAL.but(remount_sd_db=2.1, heavy=True, shared_mast=True, drift_shape="jump")
    held, bands, _, _ = _covered(world, 100)
    assert 0.84 < held < 0.96 and _least(100) < bands < 0.97


NO_LADDER = ("level strength", "C/N quality", "gain control strength")


@pytest.mark.slow
def test_without_a_ladder_intervals_are_wide_enough_for_meters_of_any_span():
    """Spans of 22 to 45 dB behind one percent scale; fewer trials, each takes five guesses."""
    found = [_covered(USUAL.but(ladder_stations=0, meter=m), 12) for m in NO_LADDER]
    held, _, wrong, naive = np.mean(found, axis=0)
    assert held > 0.82 and wrong < 0.03 and naive >= wrong


RECORD = Path(__file__).parent / "bench" / "calibration.csv"


def _on_record():
    """The record, and by how much so few trials may stray: two and a half sds of a share near 0.9."""
    table = pd.read_csv(RECORD, index_col="kind")
    return table, 2.5 * 0.3 / np.sqrt(table["trials"])


def test_the_trials_on_record_keep_their_promises():
    """As many a kind as the record says; 87 to 93 % of planned ones, 85 % of full ones."""
    table, stray = _on_record()
    assert (table["trials"] >= 25).all()
    low = table[["channels_held", "bands_held"]].min(axis=1) + stray
    high = table[["channels_held", "bands_held"]].max(axis=1) - stray
    planned = list(
        table.loc["planned, with drift and wild readings":"one antenna and the baseline"].index
    )
    assert len(planned) == 5
    for kind in [*planned, "variances drawn anew", "the stopping rule"]:
        assert low[kind] > 0.87 and high[kind] < 0.93, kind
    assert low["mostly full meters"] >= 0.85
    misfit = table[table.index.str.startswith("misfit")]
    guessed = misfit.index.str.startswith("misfit: no ladder")
    assert guessed.sum() == 3
    cells = misfit["channels_held"] + stray[misfit.index]
    assert (cells[~guessed] > 0.86).all()  # remount error tripled: 0.873
    # Meters of spans of 22, 45 and 35 dB, the last strongly bent: five straight guesses stand for all.
    assert cells[guessed].mean() > 0.87 and (cells[guessed] > 0.80).all()
    kinds = table[table["percent_table_wrong"].notna() & ~table.index.str.startswith("left out")]
    kinds = kinds.drop(index="equal antennas")
    assert (kinds["percent_table_wrong"] + stray[kinds.index] > 5 * kinds["wrong_claims"]).all()


def test_on_record_bad_trials_are_told_or_held_and_clean_ones_left_in_peace():
    """Told in 80 % or held in 85 % of bad worlds, within what so few trials stray. Clean ones were to be
    told in at most 10 %: without drift and wild readings they are, with both it is near 15 % (of 300
    trials 44). Of equal antennas at most one row in ten is called better or worse."""
    table, stray = _on_record()
    bad = table[table.index.str.startswith("bad")]
    assert len(bad) == 8
    told, held = bad["told"] + stray[bad.index], bad["bands_held"] + stray[bad.index]
    kept = (told >= 0.8) | (held >= 0.85)
    # Known to fall short: another set of the same scale is told in two of three trials only.
    assert set(kept.index[~kept]) <= {"bad: another TV on the second day"}
    assert told["bad: another TV on the second day"] >= 0.65
    usual, calm = "planned, with drift and wild readings", "no drift, no wild readings"
    assert table.loc[usual, "trials"] >= 300 and table.loc[usual, "told"] <= 0.15 + stray[usual]
    for clean in (calm, "equal antennas"):
        assert table.loc[clean, "told"] <= 0.10 + stray[clean]
    for equal in ("equal antennas", "the stopping rule, equal antennas"):
        assert table.loc[equal, "false_calls"] <= 0.10 + stray[equal]
