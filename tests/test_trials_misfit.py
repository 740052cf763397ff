"""Trials that do not look as the estimate supposes: what a builder may have caused is told."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from bad_trials import BadWorld, bad_trial
from scipy import stats

from signalshed import meters, trials
from signalshed.meters import MeterCurve
from signalshed.trials import estimate, misfit, rows

WORLD = BadWorld(antennas=2, channels=6)


def _told(seed, world):
    trial = bad_trial(seed, world)
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    return found, set(found.misfit["what"])


@pytest.mark.parametrize(
    ("spoiled", "what", "words"),
    [
        ({"memory": 0.5}, "memory", "Wait until it stands"),
        ({"noted_in": 10.0}, "steps", "in steps of 10"),
        ({"forgotten_share": 0.15}, "wild", "a pad left in"),
        ({"disturbed_db": 4.0, "channels": 8}, "one channel", "RF 14 scatters more"),
    ],
)
def test_what_a_builder_caused_is_told_and_stands_first(spoiled, what, words):
    """Two of two trials each; tests/bench/calibrate.py counts them by the hundred."""
    for seed in (1, 2):
        found, told = _told(seed, WORLD.but(**spoiled))
        assert what in told, told
        assert any(words in says for says in found.notes[: len(found.misfit)]), found.notes


def test_a_clean_trial_is_left_in_peace():
    told = [_told(seed, WORLD)[1] for seed in range(40, 48)]
    assert sum(map(bool, told)) <= 2, told


def test_what_no_trial_can_see_is_said():
    """A stretched dB fits itself: pads 12 % weak change no residual, only every difference."""
    found, _ = _told(3, WORLD)
    assert any("second meter ladder" in said and "stretch" in said for said in found.unseen)


def _looks(seed=4):
    trial = bad_trial(seed, WORLD)
    ((_, found),) = rows.prepare(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    return misfit.Looks.of(found.looks)


def test_sweeping_group_means_is_least_squares():
    """numpy.linalg.lstsq on all dummies at once, an independent route: residuals, rank, and F."""
    looks = _looks()
    dummies = np.concatenate([np.eye(g.max() + 1)[g] for g in looks.groups], axis=1)
    root = np.sqrt(looks.weight)[:, None]
    best, _, rank, _ = np.linalg.lstsq(dummies * root, looks.value * root[:, 0], rcond=None)
    np.testing.assert_allclose(looks.residual, looks.value - dummies @ best, atol=2e-4)
    assert looks.free == len(looks.value) - rank
    column = (
        np.random.default_rng(1).standard_normal((len(looks.value), 1)) + looks.residual[:, None]
    )
    wide = np.concatenate([dummies, column], axis=1) * root
    seen = looks.value * root[:, 0]
    after = seen - wide @ np.linalg.lstsq(wide, seen, rcond=None)[0]
    before = looks.residual * root[:, 0]
    f = (before @ before - after @ after) / (after @ after / (looks.free - 1))
    asked = looks.asked(column)
    assert asked.p == pytest.approx(stats.f.sf(f, 1, looks.free - 1), rel=0.01)
    assert asked.slope == pytest.approx(np.linalg.lstsq(wide, seen, rcond=None)[0][-1:], rel=0.01)


def test_what_mountings_have_in_common_is_asked_by_itself():
    """The other part of the same sum of squares, by numpy.linalg.lstsq: without and with mountings."""
    looks = _looks()
    root = np.sqrt(looks.weight)[:, None]

    def left(groups, values):
        dummies = np.concatenate([np.eye(g.max() + 1)[g] for g in groups], axis=1) * root
        return values - dummies @ np.linalg.lstsq(dummies, values, rcond=None)[0]

    column = np.random.default_rng(2).standard_normal(looks.groups[2].max() + 1)[looks.groups[2]]
    both = np.column_stack([column, looks.value + 0.3 * column]) * root
    x, y = (left(looks.groups[:2], both) - left(looks.groups, both)).T
    found = replace(looks, value=looks.value + 0.3 * column).asked_across(column[:, None])
    assert found.slope[0] == pytest.approx((x @ y) / (x @ x), rel=0.02)
    names = looks.table["label"].nunique() + looks.table["session"].nunique()
    free = looks.groups[2].max() + 1 - names + 1 - 1
    rest = y - x * (x @ y) / (x @ x)
    f = (y @ y - rest @ rest) / (rest @ rest / free)
    assert found.p == pytest.approx(stats.f.sf(f, 1, free), rel=0.05)


def test_what_is_found_moves_the_ends_out_and_leaves_the_figure():
    """A meter that keeps half shows half of every difference: the ends reach as far again."""
    found, _ = _told(1, WORLD.but(memory=0.5))
    stretch = found.misfit.set_index("what").loc["memory", "stretch"]
    assert 0.3 <= stretch <= 1.5, stretch
    half = (found.bands["high_db"] - found.bands["low_db"]) / 2
    least = (
        1.6449 * np.sqrt((found.misfit["stretch"] ** 2).sum()) * found.bands["difference_db"].abs()
    )
    assert (half >= least - 0.01).all()


def test_channels_that_wander_are_not_taken_for_a_meter_that_lags():
    """Where levels wander what was read before is like what is read now; the antenna before is not."""
    told = [_told(seed, WORLD.but(own_drift_db_per_root_h=2.0))[1] for seed in range(4)]
    assert sum("memory" in what for what in told) <= 1, told


def test_wild_readings_are_counted_by_the_trial_itself():
    """Of readings behind a pad forgotten in one of seven more are wild than slips explain."""
    shares = []
    for forgotten in (0.0, 0.15):
        trial = bad_trial(1, WORLD.but(forgotten_share=forgotten))
        ((_, found),) = rows.prepare(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
        shares.append(estimate.estimate([(1.0, found)]).wild.sum() / (found.kind == 1).sum())
    assert shares[0] < 0.06 < 0.08 < shares[1], shares


def test_pads_that_are_off_together_widen_by_what_they_stretch():
    """5 % of 8 dB are 0.4 dB (one sd) beside whatever else, of 0 dB nothing; the figure stays."""
    trial = bad_trial(7, WORLD)
    curve = MeterCurve.fit(trial.ladder)
    ((share, found),) = rows.prepare(trial.readings, trial.baseline, curve)
    assert found.stretch_sd == 0.05
    sure = estimate.estimate([(share, replace(found, stretch_sd=0.0))])
    wide = estimate.estimate([(share, found)])
    np.testing.assert_array_equal(wide.cells.mean_db, sure.cells.mean_db)
    half, before = ((e.bands.high_db - e.bands.low_db) / 2 for e in (wide, sure))
    expected = np.sqrt(before**2 + (1.645 * 0.05 * sure.bands.mean_db) ** 2)
    np.testing.assert_allclose(half, expected, rtol=0.02)
    ((_, exact),) = rows.prepare(
        trial.readings.assign(scale="cn_db"), trial.baseline, MeterCurve.exact("cn_db", 15.2)
    )
    assert exact.stretch_sd == 0.0


def test_the_table_names_its_confidence_and_says_at_least():
    curve = MeterCurve.exact("cn_db", 15.2)
    log = pd.DataFrame({"antenna": ["dipole", "loop"] * 4, "rf_channel": "20", "locked": True,
                        "reading": [20.1, 23.0, 19.8, 23.3, 20.0, 22.9, 20.2, 23.2],
                        "scale": "cn_db"})  # fmt: skip
    for table in (
        trials.compare(log, "dipole", curve),
        trials.study(log, "dipole", curve).bands,
    ):
        row = table.iloc[0]
        assert row["confidence"] == 0.9
        least = np.floor(10 * row["low_db"]) / 10
        assert row["low_db"] > 0 and row["says"] == f"at least {least:.1f} dB better"


def test_meters_whose_scale_is_coarse_are_not_accused():
    trial = bad_trial(5, WORLD.but(meter="five bars", antennas=1))
    assert "five bars" in meters.meters()
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    assert "steps" not in set(found.misfit["what"])


def test_another_set_under_the_same_name_is_told():
    """Its percents run over 35 dB where the ladder's ran over 22: in three of four trials at least."""
    world = BadWorld(other_meter="gain control strength")
    told = ["another TV" in _told(seed, world)[1] for seed in range(60, 64)]
    assert sum(told) >= 3, told


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize(
    "level",
    [
        lambda antenna, channel, day, turn: 20.0,
        lambda antenna, channel, day, turn: 20.0 + 3 * antenna + channel + day,
        lambda antenna, channel, day, turn: (
            20.0 + channel + (day > 1) * (turn == 1) * (-1) ** channel
        ),
    ],
    ids=["all alike", "a sum of parts", "scatter on the second day alone"],
)
def test_readings_that_do_not_scatter_are_asked_without_a_division_by_nothing(level):
    """A meter that shows the same again and again calls nothing; scatter on one day alone is called."""
    log = pd.DataFrame([
        {"antenna": name, "rf_channel": str(14 + channel), "locked": True, "scale": "cn_db",
         "reading": level(antenna, channel, day, turn), "session": str(day),
         "time": f"2031-05-0{day}T{18 + turn}:{10 * antenna + channel:02d}:00+00:00"}
        for day in (1, 2) for turn in range(3) for antenna, name in enumerate(("dipole", "loop"))
        for channel in range(6)
    ])  # fmt: skip
    found = trials.study(log, "dipole", MeterCurve.exact("cn_db", 15.2))
    assert np.isfinite(found.bands["difference_db"]).all()
    ((_, given),) = rows.prepare(log, "dipole", MeterCurve.exact("cn_db", 15.2))
    looks = misfit.Looks.of(given.looks)
    day = pd.factorize(looks.table["session"])[0]
    quiet = level(1, 1, 2, 1) == level(1, 1, 2, 2)
    assert looks.uneven(day) == 1.0 if quiet else looks.uneven(day) < 0.01
    assert (
        misfit._levels_alike(looks, day) == 1.0 if quiet else misfit._levels_alike(looks, day) > 0.1
    )
    assert ("another TV" in set(found.misfit["what"])) != quiet
