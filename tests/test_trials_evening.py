"""A trial of one evening: what fits, when to stop, and readings from a source."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from live_trial import LiveTrial, read_visit
from scipy import stats

from signalshed import simulate, trials
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld
from signalshed.trials import comparison, stopping

STATIONS = pd.DataFrame({
    "rf_channel": ["14", "20", "25", "30", "33", "9"],
    "margin_db": [8.0, 11.0, 15.0, 12.0, 13.0, 10.0],
    "place": ["hill", "hill", "hill", "mast", "mast", "hill"],
})  # fmt: skip


# ---- constants of the looks ---------------------------------------------------------------------

# Two-sided 0.05 and 0.10, equal steps of information. The 0.05 column derived by recursive numerical
# integration elsewhere; both as in Jennison and Turnbull, table 2.1 (print not compared).
POCOCK = {0.95: [2.178, 2.289, 2.361, 2.413], 0.9: [1.875, 1.992, 2.067, 2.122]}


@pytest.mark.parametrize("confidence", [0.95, 0.9])
def test_constants_of_looks_are_the_published_ones(confidence):
    for k, same in enumerate(POCOCK[confidence]):
        found = trials.stopping_constant(np.arange(1, k + 3), confidence)
        assert found == pytest.approx(same, abs=6e-4)


def test_limits_that_fall_hold_as_published():
    """Boundaries of O'Brien and Fleming at four looks, 0.05: 4.049, 2.863, 2.337, 2.024."""
    limits = 2.0244 * np.sqrt(4 / np.arange(1, 5))
    assert limits == pytest.approx([4.049, 2.863, 2.337, 2.024], abs=1e-3)
    assert stopping._stays(limits, np.arange(1, 5) / 4) == pytest.approx(0.95, abs=3e-4)


def test_one_look_is_the_normal_and_two_a_bivariate_normal():
    """scipy's bivariate normal is another route to the chance of two looks, at uneven information."""
    assert trials.stopping_constant([5], 0.9) == pytest.approx(1.645, abs=1e-3)
    c = trials.stopping_constant([3, 8], 0.9)
    r = np.sqrt(3 / 8)
    box = stats.multivariate_normal([0, 0], [[1, r], [r, 1]])
    inside = box.cdf([c, c]) - 2 * box.cdf([c, -c]) + box.cdf([-c, -c])
    assert inside == pytest.approx(0.9, abs=1e-4)


def test_naive_looks_are_wrong_more_often():
    """1.96 at each of four looks: true error 0.126 (published)."""
    share = np.arange(1, 5) / 4
    assert 1 - stopping._stays(np.full(4, 1.96), share) == pytest.approx(0.126, abs=5e-4)


def test_looks_are_few_and_after_whole_returns():
    assert trials.planned_looks(3) == (3,) and trials.planned_looks(4) == (3, 4)
    for returns in range(1, 13):
        looks = trials.planned_looks(returns)
        assert len(looks) <= 4 and looks[-1] == returns and list(looks) == sorted(set(looks))


def test_the_repeated_interval_takes_students_t_for_its_pairs():
    """Ten pairs, c = 1.992: t of 9 df at the normal's level, 2.310, over 1.833: 1.260 as wide."""
    level = stats.norm.cdf(1.992)
    ratio = stats.t.ppf(level, 9) / 1.8331
    low, high = stopping.widened(1.0, 0.0, 3.0, 1.992, 10)
    assert ratio == pytest.approx(1.26, abs=0.01)
    assert (low, high) == pytest.approx((1 - ratio, 1 + 2 * ratio), abs=1e-3)


# ---- what fits into an evening ------------------------------------------------------------------


def test_two_hours_are_kept_and_said():
    laid = trials.plan(["loop", "biquad", "yagi"], STATIONS, hours=2, swap_minutes=4, start="18:30")
    assert laid.hours <= 2 and laid.stop_by == "20:30"
    # By hand: a mounting is 4 min to swap, 1.5 to aim, 0.75 a channel.
    used = laid.channels[laid.channels["use"]]
    visits = laid.steps["visit"].nunique()
    assert laid.hours == pytest.approx(visits * (4 + 1.5 + 0.75 * len(used)) / 60)
    assert set(used["place"]) == {"hill"} and set(used["band"]) == {"UHF"}
    why = laid.channels.set_index("rf_channel")["why"]
    assert why["30"] == why["9"] == "from another place or band"
    assert laid.antennas[0] == "loop" == laid.question[0]
    assert laid.steps.iloc[0]["antenna"] == laid.steps.iloc[-1]["antenna"] == laid.baseline


def test_a_station_list_as_it_is_has_channels_twice_and_a_misspelt_wish_is_named():
    twice = pd.concat([STATIONS, STATIONS.iloc[[1]].assign(margin_db=2.0)], ignore_index=True)
    laid = trials.plan(["loop"], twice, hours=2, swap_minutes=4)
    assert laid.channels["rf_channel"].is_unique
    assert laid.channels.set_index("rf_channel").loc["20", "margin_db"] == 11.0
    with pytest.raises(ValueError, match="'hour' is nothing a plan knows"):
        trials.plan("loop", STATIONS, hour=2)


def test_an_evening_too_short_for_all_takes_the_first_named_and_says_so():
    laid = trials.plan(["loop", "biquad", "yagi", "mesh"], STATIONS, hours=1.5)
    assert laid.antennas == ("loop",)
    assert any("biquad, yagi and mesh" in n and "another evening" in n for n in laid.notes)
    with pytest.raises(ValueError, match="too few for 3 returns"):
        trials.plan("loop", STATIONS, hours=0.5)


def test_dusk_cuts_the_hours():
    late = trials.plan("loop", STATIONS, hours=4, start="18:30", dusk="21:00", swap_minutes=4)
    assert late.stop_by == "20:30" and late.hours <= 2.0  # half an hour before dusk
    with pytest.raises(ValueError, match="begin earlier"):
        trials.plan("loop", STATIONS, hours=4, start="20:45", dusk="21:00")
    with pytest.raises(ValueError, match="clock time such as 18:30"):
        trials.plan("loop", STATIONS, hours=4, start="half past six")


def test_the_sheet_has_a_line_a_mounting_and_says_when_to_look_and_to_stop():
    laid = trials.plan(["loop"], STATIONS, hours=2, swap_minutes=4, start="18:30", dusk="21:30")
    text = laid.sheet()
    assert text.count("__:__") == laid.steps["visit"].nunique()
    assert text.count("LOOK") == len(laid.looks)
    assert "Stop by 20:30" in text and "low stand" in text and "never hurry" in text
    assert "licensed practice" in text


@pytest.mark.parametrize("options", [{}, {"hours": 2.5, "swap_minutes": 4}, {"returns": 5}])
def test_plan_and_repeats_needed_promise_one_power(options):
    laid = trials.plan(["loop"], STATIONS, **options)
    again = trials.repeats_needed(laid.tells_db, laid.pair_sd_db, confidence=laid.confidence)
    assert again == laid.pairs
    chance = trials.chance_to_call(
        laid.tells_db, laid.pair_sd_db, laid.pairs, confidence=laid.confidence
    )
    assert chance == pytest.approx(trials.power.POWER, abs=1e-3)
    assert f"{laid.tells_db:.1f} dB apart" in laid.summary()


# ---- a source -----------------------------------------------------------------------------------


def test_a_source_is_watched_until_it_settles():
    rising = iter([(r, True) for r in (10, 30, 50, 60, 66, 70, 71, 71, 71, 71, 71, 71)])
    seen = trials.settled(lambda: next(rising), every_s=0)
    assert seen == (71, 71, 71, True, 12, True)
    flickers = iter([(r, True) for r in (80, 80, 80, 80, 81, 90)])
    assert trials.settled(lambda: next(flickers), every_s=0) == (80, 80, 90, True, 6, True)
    gone = iter([(50, True), (20, True), *[(None, False)] * 6])
    seen = trials.settled(lambda: next(gone), every_s=0)
    assert not seen.locked and np.isnan(seen.reading) and seen.steady and seen.looks == 8


def test_a_source_that_never_settles_is_said():
    ramp = iter(range(1000))
    seen = trials.settled(lambda: (next(ramp), True), most=20, every_s=0)
    assert not seen.steady and seen.looks == 20
    laid = trials.plan("loop", STATIONS, baseline="dipole")
    rows = read_visit(laid, None, lambda s: lambda: (next(ramp) % 97, True), every_s=0)
    assert (rows["antenna"] == "dipole").all() and rows["note"].str.contains("did not settle").any()


@pytest.mark.parametrize("given", [82, (82,), ("many", True), (82, "perhaps"), None])
def test_a_source_that_gives_anything_else_is_refused_in_words(given):
    with pytest.raises(ValueError, match="must give a pair"):
        trials.settled(lambda: given, every_s=0)


# ---- may it stop --------------------------------------------------------------------------------


def _evening(seed, hours=2.0, **world):
    laid = trials.plan(["loop"], STATIONS, hours=hours, swap_minutes=4)
    live = LiveTrial(laid, seed, TrialWorld(wild_share=0.0, **world))
    minute = iter(range(10_000))

    def now():
        at = next(minute)
        return f"2031-05-03T{18 + at // 60:02d}:{at % 60:02d}:00+00:00"

    return laid, live, now


def _read(laid, live, now, log=None):
    rows = read_visit(laid, log, live.source_of, every_s=0, now=now, meter="TV", scale="quality")
    return rows if log is None else pd.concat([log, rows], ignore_index=True)


def test_it_may_stop_only_at_planned_looks_and_shows_the_repeated_interval():
    laid, live, now = _evening(3, antenna_sd_db=6.0)
    curve, log, said, done = MeterCurve.fit(live.ladder), None, {}, 0
    while done < laid.looks[0]:
        log = _read(laid, live, now, log)
        if log["antenna"].iloc[-1] == "loop":
            done += 1
            if done >= 2:
                said[done] = trials.study(log, laid.baseline, curve, plan=laid)
    assert not said[2].may_stop and "no look is planned here" in said[2].may_stop.says
    at = said[laid.looks[0]]
    row = at.bands.iloc[0]
    assert (row["low_db"], row["high_db"]) == (at.may_stop.low_db, at.may_stop.high_db)
    once = trials.study(log, laid.baseline, curve).bands.iloc[0]
    assert row["high_db"] - row["low_db"] > 1.15 * (once["high_db"] - once["low_db"])
    assert bool(at.may_stop) == (row["low_db"] > 0 or row["high_db"] < 0)


def test_a_return_is_whole_when_every_antenna_had_its_turn():
    # Loop and baseline went up three times, the biquad twice.
    laid = trials.plan(["loop", "biquad"], STATIONS, baseline="dipole", hours=6)
    rows = SimpleNamespace(
        antennas=("dipole", "loop", "biquad"),
        antenna=np.array([0, 1, 2, 0, 1, 2, 0, 1]),
        kind=np.ones((1, 8), int),
        band=np.array([laid.question[1]]),
    )
    band = dict(zip(("antenna", "band"), laid.question, strict=True))
    bands = pd.DataFrame([band | {"difference_db": 1.0, "low_db": 0.5, "high_db": 1.5}])
    assert "after 2 whole returns" in comparison._may_stop(rows, bands, laid).says


def test_without_a_declared_plan_nothing_says_stop():
    trial = simulate.invented_trial(2, TrialWorld(antennas=1, channels=3))
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    assert not found.may_stop and "No plan with a declared question" in found.may_stop.says


def test_the_last_look_ends_it_whatever_it_says():
    looks = trials.planned_looks(5)
    laid = trials.plan(["loop"], STATIONS, hours=2, swap_minutes=4)
    object.__setattr__(laid, "looks", looks)
    band = pd.Series({"difference_db": 0.1, "low_db": -1.0, "high_db": 1.2})
    end = stopping.judged(laid, 5, 5, band)
    assert end and end.look == len(looks) and "the trial is over" in end.says
    early = stopping.judged(laid, 3, 3, band)
    assert not early and "next look is after 4" in early.says
    object.__setattr__(laid, "looks", (3, 6))  # two looks, the second with twice the information
    two = stopping.judged(laid, 3, 3, band)
    assert two.constant == pytest.approx(POCOCK[0.9][0], abs=6e-4)
    object.__setattr__(laid, "looks", looks)
    lost = stopping.judged(laid, 4, 3, band + 5)  # one mounting of it gave no reading
    assert lost and lost.pairs == 3
