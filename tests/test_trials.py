"""Trials: Student's and Tobin's data, dense linear algebra, simulated trials whose truth is known."""

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import linalg, optimize, stats
from statsmodels.stats.power import TTestPower

from signalshed import antenna, meters, site, tables, trials
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld, invented_trial
from signalshed.trials import estimate, model, rows

DEMO = Path(__file__).resolve().parents[1] / "demo_data"

# Student (1908), hours of extra sleep under two drugs.
SLEEP_1 = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SLEEP_2 = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
EXACT = MeterCurve.exact("cn_db", 15.2)


# ---- what a hand can do -------------------------------------------------------------------------


def test_student_sleep_data():
    """t = -4.0621, df 9, p = 0.002833, mean -1.58, 95 % interval (-2.4598858, -0.7001142)."""
    found = trials.paired(SLEEP_1, SLEEP_2, confidence=0.95)
    assert abs(found.t + 4.0621) < 5e-5 and found.df == 9 and abs(found.p - 0.002833) < 5e-7
    np.testing.assert_allclose(
        [found.difference, found.low, found.high], [-1.58, -2.4598858, -0.7001142], atol=5e-8
    )
    other = stats.ttest_rel(SLEEP_1, SLEEP_2)  # scipy, an independent implementation
    assert abs(found.t - other.statistic) < 1e-12 and abs(found.p - other.pvalue) < 1e-12


def test_what_a_pair_scatters_by_is_added_up_by_hand():
    # Two mountings of 0.7 dB, their channels of 0.7 dB each: 2 (0.49 + 0.49) = 1.96 for one channel,
    # 2 (0.49 + 0.49 / 4) = 1.225 for four; the drift of four hours adds 4 times 0.49.
    for channels, hours, square in ((1, 0, 1.96), (4, 0, 1.225), (4, 4, 3.185)):
        assert trials.usual_pair_sd_db(channels, hours) ** 2 == pytest.approx(square)


def test_textbook_man_hours():
    """Miller and Freund: mean 5.2, 90 % interval 2.8 to 7.6 (t = 4.03 recomputed)."""
    before = [45, 73, 46, 124, 33, 57, 83, 34, 26, 17]
    after = [36, 60, 44, 119, 35, 51, 77, 29, 24, 11]
    found = trials.paired(before, after)
    assert round(found.difference, 1) == 5.2 and abs(found.t - 4.0333) < 5e-5
    assert (round(found.low, 1), round(found.high, 1)) == (2.8, 7.6)


def test_half_widths():
    """95 % half-widths in units of the pair's sd, from tables of Student's t."""
    pairs = [3, 4, 5, 6, 8, 10, 12, 16, 20]
    printed = [2.48, 1.59, 1.24, 1.05, 0.84, 0.72, 0.64, 0.53, 0.47]
    np.testing.assert_allclose(trials.half_width_db(pairs, confidence=0.95), printed, atol=0.005)
    quantile = trials.half_width_db(np.array([2, 3, 5, 6, 10, 11, 21, 31]), confidence=0.95)
    quantile = quantile * np.sqrt([2, 3, 5, 6, 10, 11, 21, 31])
    tabled = [12.706, 4.303, 2.776, 2.571, 2.262, 2.228, 2.086, 2.042]  # df 1 2 4 5 9 10 20 30
    np.testing.assert_allclose(quantile, tabled, atol=5e-4)


def test_repeats_needed_agrees_with_statsmodels():
    """TTestPower of statsmodels; for 1 dB with sd 1 dB at 95 % an interval of 6 to 7 pairs is 1 dB."""
    for difference, sd, confidence, power in [
        (1, 1, 0.95, 0.8),
        (0.5, 1.4, 0.9, 0.9),
        (3, 1, 0.9, 0.5),
    ]:
        other = TTestPower().solve_power(
            difference / sd, alpha=1 - confidence, power=power, alternative="two-sided"
        )
        mine = trials.repeats_needed(difference, sd, confidence=confidence, power=power)
        assert mine == max(2, int(np.ceil(other)))
    assert trials.half_width_db(6, confidence=0.95) > 1 > trials.half_width_db(7, confidence=0.95)


# ---- readings of one visit, worked by hand ------------------------------------------------------


def _looks(*rows):
    """Readings of an exact meter (lost at 15.2 dB), one visit each of two antennas on RF 20."""
    usual = {"antenna": "loop", "rf_channel": "20", "meter": "m", "scale": "cn_db", "pad_db": 0.0}
    table = pd.DataFrame([{**usual, "reading": np.nan, "locked": True, **row} for row in rows])
    base = pd.DataFrame([{**usual, "antenna": "dipole", "reading": 25.2, "locked": True}])
    return pd.concat([base, table], ignore_index=True)


def _of_the_loop(*looks):
    """Ends and noise of the loop's one observation."""
    ((_, found),) = rows.prepare(_looks(*looks), "dipole", EXACT)
    assert found.low_db.shape == (1, 2)
    return found.low_db[0, 1], found.high_db[0, 1], found.noise_db[0, 1]


def test_several_looks_are_one_by_the_root_of_their_number():
    # One look: 0.3 dB of flicker and a step of 0.1 dB, sqrt(0.3^2 + 0.1^2 / 12) = 0.3014; the middle one
    # of 25.2, 25.6 and 26.8 counts, 10.4 dB above the cliff.
    low, high, one = _of_the_loop({"reading": 25.6})
    assert (low, high) == pytest.approx((10.4, 10.4), abs=0.01)
    assert one == pytest.approx(0.3014, abs=0.005)
    for several in (3, 4, 9):
        readings = [25.6] * (several - 2) + [25.2, 26.8]
        low, high, noise = _of_the_loop(*({"reading": r} for r in readings))
        assert (low, high) == pytest.approx((10.4, 10.4), abs=0.01)
        assert noise == pytest.approx(one / np.sqrt(several), rel=1e-6)


def test_of_two_middle_looks_the_lower_counts():
    # 25.2 is 10 dB above the cliff.
    assert _of_the_loop({"reading": 25.8}, {"reading": 25.2})[0] == pytest.approx(10, abs=0.01)


def test_measured_pads_of_a_visit_are_averaged_with_what_they_cost_added():
    # 28.2 behind nothing is 13.0; 23.0 behind 6 dB is 7.8 + 6 = 13.8; together 13.4, less noisy by
    # sqrt 2. A picture held behind 10 dB says less than a figure and is left aside.
    _, _, one = _of_the_loop({"reading": 28.2})
    looks = ({"reading": 28.2}, {"reading": 23.0, "pad_db": 6.0}, {"pad_db": 10.0})
    low, high, noise = _of_the_loop(*looks)
    assert (low, high) == pytest.approx((13.4, 13.4), abs=0.01)
    assert noise == pytest.approx(one / np.sqrt(2), rel=1e-6)


def test_brackets_of_a_visit_are_cut_with_each_other():
    # Holds behind 6 and 13 dB, lost behind 16 and 20: from 13 to 16.
    looks = [{"pad_db": 6.0}, {"pad_db": 13.0}]
    looks += [{"pad_db": 16.0, "locked": False}, {"pad_db": 20.0, "locked": False}]
    assert _of_the_loop(*looks)[:2] == pytest.approx((13, 16), abs=1e-9)
    assert _of_the_loop(*looks[::-1])[:2] == pytest.approx((13, 16), abs=1e-9)
    low, high, _ = _of_the_loop(*looks[:2])
    assert low == pytest.approx(13) and high == np.inf


# ---- the pieces of the estimate -----------------------------------------------------------------

TOBIN = """0 57.7 236 .7 50.9 283 0 48.5 207 0 41.7 220 0 47.7 238 0 59.8 216 0 44.3 284 3.7 45.1 221
0 51.7 275 3 50 269 10.4 46.8 207 0 58 249 0 58.9 246 0 40 277 1.5 34.1 231 0 39.9 219 0 33.4 240
3.5 48.1 266 6.1 46.6 214 0 53.1 251"""


def _tobin_log(theta, data):
    """Log likelihood of Tobin's model by the function that judges bounds and values here."""
    y, age, quant = data
    mean, sd = theta[0] + theta[1] * age + theta[2] * quant, np.exp(theta[3])
    low = np.where(y > 0, y, -np.inf)
    return estimate._told(mean, np.zeros(20), (low, y), sd)[0].sum()


def test_tobin_1958():
    """R survival `tobin`: 15.14487, -0.129059, -0.0455417, scale 5.57254, log likelihood -28.94013.

    Thirteen of twenty are zeros; taking them as values gives 11.07, -0.026, -0.035.
    """
    data = np.array(TOBIN.split(), dtype=float).reshape(-1, 3).T
    printed = np.array([15.1448663607, -0.129059284097, -0.0455416629543, np.log(5.57253976309)])
    assert abs(_tobin_log(printed, data) + 28.9401331997) < 1e-9
    scale = np.array([10, 0.1, 0.03, 1])
    best = optimize.minimize(
        lambda t: -_tobin_log(t * scale, data), printed / scale * 0.8, tol=1e-12, method="Nelder-Mead",
        options={"maxiter": 20000, "maxfev": 20000, "xatol": 1e-9, "fatol": 1e-12},
    )  # fmt: skip
    np.testing.assert_allclose(best.x * scale, printed, rtol=1e-4)
    zeros_as_values = np.linalg.lstsq(np.c_[np.ones(20), data[1], data[2]], data[0], rcond=None)[0]
    np.testing.assert_allclose(zeros_as_values, [11.0743, -0.02607, -0.03457], atol=5e-5)


@pytest.mark.parametrize(
    ("low", "high"), [(1.0, np.inf), (-np.inf, -2.0), (4.0, 6.0), (-9.0, -7.5), (0.2, 0.3)]
)
def test_what_a_bound_teaches_is_the_truncated_normal(low, high):
    """scipy.stats: the level and its error together, cut to the bracket, by numerical integration."""
    mean, variance, sd = 0.5, 6.0, 1.2
    level = np.linspace(mean - 25, mean + 25, 20001)
    chance = stats.norm.cdf((high - level) / sd) - stats.norm.cdf((low - level) / sd)
    weight = stats.norm.pdf(level, mean, np.sqrt(variance)) * chance
    total = weight.sum() * (level[1] - level[0])
    weight /= weight.sum()
    log, new, spread = estimate._told(
        np.array(mean), np.array(variance), (np.array(low), np.array(high)), sd
    )
    assert abs(log - np.log(total)) < 1e-6
    assert abs(new - weight @ level) < 1e-5
    assert abs(spread - (weight @ level**2 - (weight @ level) ** 2)) < 1e-4


def _rows(seed=1, **changes):
    world = TrialWorld(antennas=3, channels=5, returns=2, **changes)
    trial = invented_trial(seed, world)
    table = trial.readings.copy()
    table["rf_channel"] = table["rf_channel"].replace({"14": "7", "15": "8"})
    ((_, found),) = rows.prepare(table, trial.baseline, MeterCurve.fit(trial.ladder))
    return found


def _dense(design, log_sds, target, precision):
    """The same model as one large normal distribution, unknown by unknown."""
    r = design.rows
    _, remount, cell, drift = np.exp(log_sds)
    channels, visits = target.shape
    sessions, antennas, bands = design.when.shape[1], len(r.antennas), len(design.bands)
    sizes = [
        channels * sessions,
        bands * antennas,
        channels * antennas,
        visits,
        r.shared_db.shape[2],
    ]
    start = np.concatenate([[0], np.cumsum(sizes)])
    x = np.zeros((channels, visits, start[-1]))
    for c in range(channels):
        for v in range(visits):
            x[c, v, c * sessions + r.session[v]] = 1
            x[c, v, start[1] + design.band[c] * antennas + r.antenna[v]] = 1
            x[c, v, start[2] + c * antennas + r.antenna[v]] = 1
            x[c, v, start[3] + v] = 1
            x[c, v, start[4] :] = r.shared_db[c, v]
    wander = drift**2 * np.minimum(r.hour[:, None], r.hour) * (r.session[:, None] == r.session)
    blocks = [
        np.eye(sizes[0]) * model.prior("level_sd_db") ** 2,
        np.eye(sizes[1]) * model.prior("antenna_sd_db") ** 2,
        np.eye(sizes[2]) * cell**2,
        wander + remount**2 * np.eye(visits),
        np.eye(sizes[4]),
    ]
    prior = linalg.block_diag(*blocks)
    seen = (precision > 0).ravel()
    x, y, noise = x.reshape(-1, start[-1])[seen], target.ravel()[seen], 1 / precision.ravel()[seen]
    total = x @ prior @ x.T + np.diag(noise)
    gain = prior @ x.T @ np.linalg.inv(total)
    log = stats.multivariate_normal(np.zeros(len(y)), total, allow_singular=True).logpdf(y)
    return start, gain @ y, prior - gain @ x @ prior, log


def test_elimination_by_blocks_equals_one_large_system():
    """Two independent routes of our own: channel by channel, and everything at once."""
    design = model.Design.of(_rows())
    r = design.rows
    object.__setattr__(r, "tilt", np.zeros_like(r.tilt))
    rng = np.random.default_rng(3)
    target = rng.normal(0, 5, r.kind.shape)
    weight = rng.uniform(0.3, 1, r.kind.shape) * (r.kind > 0)
    points = np.log([[0.7, 0.7, 1.2, 0.7], [0.4, 1.5, 0.8, 0.3]])
    found = model.solve(design, points, target, weight, np.ones(r.kind.shape))
    (cells, variances), (bands, band_variances) = found.differences()
    logs, antennas = [], len(r.antennas)
    for k, log_sds in enumerate(points):
        spread = np.exp(log_sds[0]) ** 2 + r.noise_db**2
        start, mean, covariance, log = _dense(design, log_sds, target, weight / spread)
        # log of a weighted observation: its own normaliser is spread, not spread / weight
        logs.append(log - 0.5 * np.log(weight[weight > 0]).sum())
        ask = np.zeros((antennas - 1, len(r.channels), len(mean)))
        for a in range(1, antennas):
            for c in range(len(r.channels)):
                for who, sign in ((a, 1), (0, -1)):
                    ask[a - 1, c, start[1] + design.band[c] * antennas + who] += sign
                    ask[a - 1, c, start[2] + c * antennas + who] += sign
        np.testing.assert_allclose(cells[k], ask @ mean, atol=1e-6)
        np.testing.assert_allclose(
            variances[k], np.einsum("acp,pq,acq->ac", ask, covariance, ask), rtol=1e-6
        )
        for b in range(len(design.bands)):
            one = ask[:, design.band == b].mean(axis=1)
            np.testing.assert_allclose(bands[k][:, b], one @ mean, atol=1e-6)
            np.testing.assert_allclose(
                band_variances[k][:, b], np.einsum("ap,pq,aq->a", one, covariance, one), rtol=1e-6
            )
        single = model.solve(design, log_sds[None], target, weight, np.ones(r.kind.shape))
        level, level_variance = single.predictors()
        seen = weight > 0
        x = _predictor_rows(design, start)
        np.testing.assert_allclose(level[seen], (x @ mean)[seen], atol=1e-6)
        whole = np.einsum("cvp,pq,cvq->cv", x, covariance, x)
        np.testing.assert_allclose(level_variance[seen], whole[seen], rtol=1e-6)
    prior = model._log_prior(points)
    mine = found.log_probability - prior
    assert abs((mine[0] - mine[1]) - (logs[0] - logs[1])) < 1e-6


def _predictor_rows(design, start):
    r, antennas = design.rows, len(design.rows.antennas)
    x = np.zeros((*r.kind.shape, start[-1]))
    c, v = np.indices(r.kind.shape)
    x[c, v, c * design.when.shape[1] + r.session[v]] = 1
    x[c, v, start[1] + design.band[c] * antennas + r.antenna[v]] = 1
    x[c, v, start[2] + c * antennas + r.antenna[v]] = 1
    x[c, v, start[3] + v] = 1
    x[..., start[4] :] = r.shared_db
    return x


# ---- the estimate -------------------------------------------------------------------------------


def _log(pairs, first="dipole", second="loop"):
    """Readings of pairs, one session each, on one channel, in dB of C/N."""
    lines = []
    for day, (a, b) in enumerate(pairs, start=1):
        for minute, (name, value) in enumerate(((first, a), (second, b))):
            lines.append(
                (f"2031-05-{day:02d}T18:0{minute}:00+00:00", name, "20", value, True, "cn_db")
            )
    columns = ["time", "antenna", "rf_channel", "reading", "locked", "scale"]
    return pd.DataFrame(lines, columns=columns)


def test_one_channel_in_pairs_gives_students_interval():
    """Sleep data as ten evenings: mean and 90 % half-width of the paired t within a tenth."""
    plain = trials.paired(SLEEP_2, SLEEP_1)
    table = _log(zip(np.add(SLEEP_1, 25), np.add(SLEEP_2, 25), strict=True))
    found = trials.compare(table, "dipole", EXACT).iloc[0]
    assert found.verdict == "better"
    assert abs(found.difference_db - plain.difference) < 0.1 * plain.difference
    half = (found.high_db - found.low_db) / 2
    assert abs(half / ((plain.high - plain.low) / 2) - 1) < 0.1


@pytest.mark.parametrize(
    "low, high, said",
    [
        (0.99, 3.0, "at least 0.9 dB better"),
        (-3.0, -0.39, "at least 0.3 dB worse"),
        (0.3, 1.0, "at least 0.3 dB better"),
        (0.09, 1.0, "better by a hair"),
        (-0.1, 0.2, "cannot tell"),
    ],
)
def test_at_least_is_cut_downward(low, high, said):
    assert trials.at_least(low, high).item() == said


def test_order_of_rows_and_of_names_does_not_matter():
    trial = invented_trial(5, TrialWorld(antennas=2, channels=4))
    curve = MeterCurve.fit(trial.ladder)
    found = trials.compare(trial.readings, trial.baseline, curve)
    mixed = trial.readings.sample(frac=1, random_state=1)
    again = trials.compare(mixed, trial.baseline, curve)
    keys = ["antenna", "rf_channel"]
    both = found.merge(again, on=keys, suffixes=("", "_again"))
    assert len(both) == len(found)
    np.testing.assert_allclose(both["difference_db"], both["difference_db_again"], atol=0.02)


def test_swapping_baseline_and_antenna_turns_the_sign():
    trial = invented_trial(6, TrialWorld(antennas=1, channels=5))
    curve = MeterCurve.fit(trial.ladder)
    one = trials.compare(trial.readings, "half-wave dipole", curve)
    other = trials.compare(trial.readings, "antenna 1", curve)
    np.testing.assert_allclose(one["difference_db"], -other["difference_db"], atol=0.1)
    np.testing.assert_allclose(one["low_db"], -other["high_db"], atol=0.15)


def test_equal_antennas_are_not_told_apart():
    world = TrialWorld(antennas=1, antenna_sd_db=0.0, interaction_sd_db=0.0)
    said = [
        trials.compare(t.readings, t.baseline, MeterCurve.fit(t.ladder)).verdict
        for t in (invented_trial(s, world) for s in range(12))
    ]
    assert np.mean(np.concatenate(said) == "cannot tell") > 0.8


def test_strong_stations_read_alike_on_every_antenna():
    """Common practice, no source: with all meters full nothing can be told."""
    trial = invented_trial(3, TrialWorld(low_db=45, high_db=60, antenna_sd_db=2.0, wild_share=0.0))
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    assert set(found.table["verdict"]) == {"cannot tell"}
    assert (found.table["readings"] == 0).all()
    assert (found.table["high_db"] - found.table["low_db"]).min() > 8


def test_pads_bring_a_strong_station_back_on_scale():
    world = TrialWorld(antennas=1, channels=4, low_db=34, high_db=38, wild_share=0.0)
    trial = invented_trial(8, world)
    curve = MeterCurve.fit(trial.ladder)
    padded = invented_trial(8, world.but(low_db=14, high_db=18)).readings.assign(pad_db=20.0)
    bare = trials.compare(trial.readings, trial.baseline, curve)
    found = trials.compare(padded, trial.baseline, curve)
    width = [(t["high_db"] - t["low_db"]).mean() for t in (bare, found)]
    assert width[1] < width[0] / 2
    inside = (found["low_db"] < trial.truth_db.loc["antenna 1"].to_numpy()) & (
        trial.truth_db.loc["antenna 1"].to_numpy() < found["high_db"]
    )
    assert inside.mean() >= 0.5


def test_held_and_lost_pads_alone_compare_antennas():
    """Pads until the picture breaks, no meter at all: brackets 3 dB wide, true difference 5 dB."""
    lines = []
    for visit in range(8):
        name = ("dipole", "loop")[visit % 2]
        for channel, margin in (("20", 10.0), ("25", 14.0), ("30", 7.0)):
            here = margin + 5.0 * (visit % 2)
            held = 3 * np.floor(here / 3)
            for pad, locked in ((held, True), (held + 3, False)):
                lines.append(
                    (f"2031-05-03T18:{visit:02d}:00+00:00", name, channel, pad, np.nan, locked)
                )
    columns = ["time", "antenna", "rf_channel", "pad_db", "reading", "locked"]
    found = trials.study(pd.DataFrame(lines, columns=columns), "dipole")
    band = found.bands.iloc[0]
    assert band.verdict == "better" and band.low_db < 5 < band.high_db
    assert band.high_db - band.low_db < 6


def test_a_wild_reading_is_named_and_does_not_rule():
    world = TrialWorld(antennas=1, channels=5, wild_share=0.0, drift_db_per_root_h=0.0)
    trial = invented_trial(11, world)
    curve = MeterCurve.fit(trial.ladder)
    spoiled = trial.readings.copy()
    row = spoiled.index[(spoiled["antenna"] == "antenna 1") & (spoiled["rf_channel"] == "16")][0]
    spoiled.loc[row, "reading"] = 38.0
    found = trials.study(spoiled, trial.baseline, curve)
    assert ("antenna 1", "16") in set(
        zip(found.wild["antenna"], found.wild["rf_channel"], strict=True)
    )
    clean = trials.study(trial.readings, trial.baseline, curve).table
    assert np.abs(found.table["difference_db"] - clean["difference_db"]).max() < 1.0


def test_bands_do_not_lean_on_each_other():
    """A UHF antenna good at UHF and useless at VHF: the bands' differences come out apart."""
    trial = invented_trial(
        12, TrialWorld(antennas=1, channels=8, low_db=10, high_db=12, wild_share=0)
    )
    table = trial.readings.copy()
    vhf = table["rf_channel"].isin(["14", "15", "16", "17"])
    table.loc[vhf, "rf_channel"] = table.loc[vhf, "rf_channel"].map(
        {"14": "7", "15": "9", "16": "11", "17": "13"}
    )
    curve = MeterCurve.fit(trial.ladder)
    up = (table["antenna"] == "antenna 1") & ~vhf
    table.loc[up, "pad_db"] = 12.0  # the same readings 12 dB further up
    found = trials.study(table, trial.baseline, curve).bands.set_index("band")["difference_db"]
    assert abs(found["UHF"] - found["high VHF"] - 12) < 4


def test_a_gain_trial_becomes_an_antenna():
    trial = invented_trial(9, TrialWorld(antennas=1, channels=8))
    found = trials.compare(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    made = antenna.from_trial("antenna 1", found, antenna.plain_dipole())
    read = found[found["readings"] > 0]
    assert 4 <= len(read) == made.freq_mhz.size
    for row in read.itertuples():
        assert abs(made.gain_dbd(row.freq_mhz) - row.difference_db) < 1e-9


def test_gains_of_a_trial_in_a_new_file_are_the_antennas_of_a_site(tmp_path):
    """From the demo's readings to gains in a site folder: what the file says, the opened site has."""
    yard = site.open_site(DEMO / "trial_yard")
    found = trials.compare(yard.readings, "half-wave dipole", MeterCurve.fit(yard.ladder))
    flat = antenna.plain_dipole()
    shutil.copytree(DEMO / "town", tmp_path / "town")
    folder = Path(shutil.copytree(DEMO / "trial_yard", tmp_path / "roof"))
    said, line = trials.write_gains(folder / "trial_gains.csv", found, flat).splitlines()
    toml = (folder / "antennas.toml").read_text(encoding="utf-8")
    for name in (tested := found["antenna"].unique()):
        assert name in said
        toml = toml.replace(f'name = "{name}"\n', f'name = "{name}"\n{line}\n')
    (folder / "antennas.toml").write_text(toml, encoding="utf-8")
    read = found[found["readings"] > 0].set_index("antenna")
    # On RF 21 and 33 the double loop showed 97 to 100 on every visit, which a full meter shows too.
    full = found[found["readings"] == 0]
    assert set(zip(full["antenna"], full["rf_channel"], strict=True)) == {
        ("double loop with screen", "21"),
        ("double loop with screen", "33"),
    }
    opened = site.open_site(folder)
    for name in tested:
        one, direct = opened.antenna(name), antenna.from_trial(name, found, flat)
        assert one.source == "trial"
        rows = read.loc[name]
        measured = rows["difference_db"] + flat.gain_dbd(rows["freq_mhz"].to_numpy())
        assert one.gain_dbd(rows["freq_mhz"].to_numpy()) == pytest.approx(measured, abs=0.01)
        assert one.spread_db == pytest.approx(direct.spread_db, abs=0.05)
        described = yard.antenna(name)
        assert (one.lives, one.effort) == (described.lives, described.effort)
        assert (one.build is None) == (described.build is None)
        off_aim = one.gain_dbd(539, 40) - one.gain_dbd(539)
        assert off_aim == pytest.approx(
            described.gain_dbd(539, 40) - described.gain_dbd(539), abs=0.1
        )
    yagi = opened.antenna("two-band Yagi")
    assert yagi.gain_dbd(177) == 3.0, "as described: no channel of that band was measured"
    rows, described = read.loc["two-band Yagi"], yard.antenna("two-band Yagi")
    moved = rows["difference_db"] - described.gain_dbd(rows["freq_mhz"].to_numpy())
    assert yagi.gain_dbd(608) == pytest.approx(6.5 + moved.mean(), abs=0.01), (
        "as far off as measured"
    )
    assert yagi.spread_at_db(177) == 3.0 and abs(yagi.spread_at_db(539) - yagi.spread_db) < 0.2
    assert yagi.spread_db < yagi.spread_at_db(600) < 3.0
    assert "3.0 dB elsewhere" in yagi._repr_html_()
    with pytest.raises(tables.CannotSave, match="there already"):
        trials.write_gains(folder / "trial_gains.csv", found, flat)


def test_gains_need_a_gain_trial_with_readings(tmp_path):
    trial = invented_trial(9, TrialWorld(antennas=1, channels=4))
    found = trials.compare(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    for table, words in (
        (found.assign(kind="fixed aim"), "becomes no gain"),
        (found.assign(readings=0), "put pads in"),
    ):
        with pytest.raises(ValueError, match=words):
            trials.write_gains(tmp_path / "gains.csv", table, antenna.plain_dipole())
    assert not (tmp_path / "gains.csv").exists()


def test_a_fixed_aim_trial_becomes_no_gain():
    trial = invented_trial(9, TrialWorld(antennas=1, channels=4))
    curve = MeterCurve.fit(trial.ladder)
    found = trials.compare(trial.readings, trial.baseline, curve, kind="fixed aim")
    with pytest.raises(ValueError, match="becomes no gain"):
        antenna.from_trial("antenna 1", found, antenna.plain_dipole())


# ---- bad input ----------------------------------------------------------------------------------


def _small():
    trial = invented_trial(2, TrialWorld(antennas=1, channels=3))
    return trial.readings, trial.baseline, MeterCurve.fit(trial.ladder)


def _as_text(table, cell):
    """The table with one reading typed as this cell."""
    return table.assign(reading=table["reading"].astype(object).where(table.index != 4, cell))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda t: t.assign(reading=t["reading"].where(t.index != 4, 180)), "row 5: .*off its scale"),
        (lambda t: t.assign(reading=t["reading"].where(t.index != 4, 180)), "look at what was meant"),
        (lambda t: t.assign(locked=t["locked"].astype(object).where(t.index != 4, "?")), "yes or no"),
        (lambda t: t.assign(reading=t["reading"].where(t.index != 4)), "row 5: a picture but"),
        (lambda t: _as_text(t, "7O"), "row 5: the reading is not a number; write digits alone"),
        (lambda t: _as_text(t, "70%"), "row 5: the reading is not a number; write digits alone"),
        (lambda t: _as_text(t, "70,5"), "row 5: the reading is not a number; write digits alone"),
        (lambda t: t.assign(antenna=t["antenna"].where(t.index != 4, "")), "row 5: no antenna"),
        (lambda t: t.assign(rf_channel=t["rf_channel"].where(t.index != 4, "5.1")), "row 5: no ant"),
        (lambda t: t.assign(rf_channel=t["rf_channel"].where(t.index != 4, "9A")), "of region us"),
        (lambda t: t.assign(pad_db=t["pad_db"].where(t.index != 4, 1e9)), "row 5: .*pad"),
        (lambda t: t.assign(scale=t["scale"].where(t.index != 4, "smiles")), "'smiles' is not known"),
        (lambda t: t.assign(scale=t["scale"].where(t.index != 4, "strength")), "a wide guess"),
        (lambda t: t.assign(heading_deg=np.where(t.index == 4, 250.0, 10.0)), "row 5: heading"),
        (lambda t: t.assign(amplifier=t["amplifier"].where(t.index != 4, "mast")), "row 5: amplifier"),
        (lambda t: t.assign(time=t["time"].where(t.index != 8, "2031-05-03T17:00+00:00")), "backwards"),
        (lambda t: t.assign(time=t["time"].where(t.index != 8, "late")), "no time"),
        (lambda t: t.assign(pad_db=t["pad_db"].astype(object).where(t.index != 4, "x")), "row 5"),
        (lambda t: pd.concat([t, t.iloc[[0]].assign(antenna="once")]), "put up only 1 time"),
    ],
)  # fmt: skip
def test_bad_rows_are_named_and_the_others_used(change, words):
    table, baseline, curve = _small()
    found = trials.study(change(table), baseline, curve)
    assert pd.Series(found.notes).str.contains(words).any(), found.notes
    clean = trials.study(table, baseline, curve).table
    both = clean.merge(found.table, on=["antenna", "rf_channel"])
    assert len(both) == 3
    assert np.abs(both["difference_db_x"] - both["difference_db_y"]).max() < 1.5


JUNK = [np.nan, None, "", "x", -5, 1e9, np.inf, "yes", "14", "9A", True, "2031-01-01", "<b>"]


@pytest.mark.parametrize("seed", range(25))
def test_strange_tables_give_a_sentence_or_finite_numbers(seed):
    """Junk in a dozen places of readings and ladder: never anything but a ValueError in words."""
    rng = np.random.default_rng(seed)
    name = meters.meters()[seed % 5]
    world = TrialWorld(antennas=2, channels=3, sessions=1, returns=2, meter=name, low_db=-8.0)
    trial = invented_trial(seed, world)
    spoiled = [trial.readings.astype(object), trial.ladder.astype(object)]
    for table in spoiled:
        for _ in range(8):
            at = int(rng.integers(len(table))), int(rng.integers(table.shape[1]))
            table.iloc[at] = JUNK[int(rng.integers(len(JUNK)))]
    try:
        found = trials.compare(spoiled[0], trial.baseline, MeterCurve.fit(spoiled[1]))
    except ValueError as error:
        assert str(error).strip().endswith(".")
    else:
        assert np.isfinite(found[["difference_db", "low_db", "high_db"]].to_numpy()).all()
        assert (found["low_db"] < found["high_db"]).all()


def test_a_site_says_which_readings_are_of_another_revision(tmp_path):
    shutil.copytree(DEMO / "town", tmp_path / "town")
    folder = Path(shutil.copytree(DEMO / "trial_yard", tmp_path / "yard"))
    text = (folder / "readings.csv").read_text(encoding="utf-8")
    text = text.replace("wire loop,1,", "wire loop,7,", 3)
    (folder / "readings.csv").write_text(text, encoding="utf-8")
    opened = site.open_site(folder)
    assert len(opened.readings) == 132
    assert any("3 readings are of revision '7' of 'wire loop'" in note for note in opened.notes)


def test_an_unknown_antenna_is_left_out_and_a_revision_is_another_antenna():
    table, baseline, curve = _small()
    stranger = pd.concat([table, table[table["antenna"] == "antenna 1"].assign(antenna="stranger")])
    found = trials.study(stranger, baseline, curve, antennas=["antenna 1"])
    assert found.table["antenna"].unique().tolist() == ["antenna 1"]
    assert "not one of antenna 1" in " ".join(found.notes)
    half = table.assign(
        antenna_revision=np.where(table["antenna"] == "antenna 1", table.index % 2 + 1, 1)
    )
    found = trials.study(half, baseline, curve)
    assert any("counts as 2 antennas" in n and "antenna_revision" in n for n in found.notes)
    names = set(found.table["antenna"])
    assert names == {"antenna 1 (revision 1)", "antenna 1 (revision 2)"}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda t, b, c: trials.compare(t, "nobody", c), "no reading of the baseline 'nobody'"),
        (lambda t, b, c: trials.compare(t[t["antenna"] == b], b, c), "needs the baseline"),
        (lambda t, b, c: trials.compare(t.iloc[:1], t["antenna"].iloc[0], c), "needs the baseline"),
        (lambda t, b, c: trials.compare(t.drop(columns="reading"), b, c), "no column 'reading'"),
        (lambda t, b, c: trials.compare(t.assign(reading=900), b, c), "No reading could be used"),
        (lambda t, b, c: trials.compare(t, b, c, kind="loud"), "kind is 'loud'"),
        (lambda t, b, c: trials.compare(t, b, c, region="moon"), "region is 'moon'"),
        (lambda t, b, c: trials.compare(t.assign(heading_deg=t.index % 7 * 30), b, c), "headings"),
        (
            lambda t, b, c: trials.compare(t.assign(heading_deg=t.index * 30), b, c, kind="fixed aim"),
            "Never mix",
        ),
        (lambda t, b, c: trials.paired([1], [2]), "at least two pairs"),
        (lambda t, b, c: trials.paired([1, 2], [2, 3]), "All differences are equal"),
        (lambda t, b, c: trials.repeats_needed(0), "difference_db is 0"),
        (lambda t, b, c: trials.repeats_needed(0.001, 3), "more than 10000 pairs"),
        (lambda t, b, c: TrialWorld(returns=0), "returns is 0"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call(*_small())


def test_a_meter_without_a_curve_is_said():
    table, baseline, _ = _small()
    found = trials.study(table, baseline)
    assert "a wide guess" in " ".join(found.notes)
    known = trials.study(table, baseline, {"quality": MeterCurve.default("quality")})
    assert "a wide guess" not in " ".join(known.notes)


# ---- the plan -----------------------------------------------------------------------------------


def _stations():
    return pd.DataFrame(
        {"rf_channel": [14, 20, 25, 30, "9"], "margin_db": [8, 42, 15, -12, np.nan]}
    )


def test_a_plan_is_fair():
    laid = trials.plan(
        ["loop", "biquad", "yagi"], _stations(), baseline="dipole", sessions=2, returns=4
    )
    visits = laid.steps.drop_duplicates("visit")
    for _, day in visits.groupby("session"):
        order = day["antenna"].tolist()
        assert order[0] == order[-1] == "dipole"
        apart = np.diff(np.flatnonzero(np.array(order) == "dipole"))
        assert apart.max() <= 3  # never more than two others in a row
        counts = day["antenna"].value_counts()
        assert set(counts[["loop", "biquad", "yagi"]]) == {4}
    orders = {tuple(d[d["antenna"] != "dipole"]["antenna"]) for _, d in visits.groupby("session")}
    assert len(orders) == 2  # drawn anew
    assert laid.pair_hours < laid.hours / 2
    text = laid.summary()
    assert f"{laid.hours:.1f} hours" in text and "Begin with 'loop' and 'dipole' alone" in text
    pad = laid.channels.set_index("rf_channel")["pad_db"]["20"]
    assert pad > 0 and f"14, 20 (with {pad:g} dB of pads), 25" in text


def test_a_plan_chooses_channels_and_pads():
    which = trials.plan("loop", _stations()).channels.set_index("rf_channel")
    assert which["use"].to_dict() == {"14": True, "20": True, "25": True, "30": False}
    assert 5 <= 42 - which["pad_db"]["20"] <= 15 and which["pad_db"]["14"] == 0
    assert "too weak" in which["why"]["30"]
    bare = trials.plan("loop", _stations(), pads_db=()).channels.set_index("rf_channel")
    assert not bare["use"]["20"] and "too strong" in bare["why"]["20"]
    with pytest.raises(ValueError, match="No channel would give"):
        trials.plan("loop", _stations().assign(margin_db=90.0), pads_db=())
    with pytest.raises(ValueError, match="no column 'margin_db'"):
        trials.plan("loop", _stations()[["rf_channel"]])
    with pytest.raises(ValueError, match="antennas is empty"):
        trials.plan([], _stations())


def test_the_next_step_follows_the_readings():
    laid = trials.plan("loop", _stations(), baseline="dipole", sessions=1, returns=1)
    done = pd.DataFrame(columns=["antenna", "rf_channel"])
    seen = []
    while (step := laid.next_step(done)) is not None:
        seen.append((step["antenna"], step["rf_channel"]))
        done = pd.DataFrame(seen, columns=["antenna", "rf_channel"])
    assert seen == list(zip(laid.steps["antenna"], laid.steps["rf_channel"], strict=True))


def test_what_a_plan_promises_it_keeps():
    """The difference a plan says it can tell is near what the widths of trials like it then allow."""
    world = TrialWorld(antennas=1, channels=6, sessions=2, returns=3, wild_share=0.0)
    stations = pd.DataFrame({"rf_channel": range(14, 20), "margin_db": 12.0})
    promised = trials.plan("x", stations, sessions=2, returns=3).tells_db
    half = []
    for seed in range(10):
        trial = invented_trial(seed, world)
        band = trials.study(
            trial.readings, trial.baseline, MeterCurve.fit(trial.ladder)
        ).bands.iloc[0]
        half.append((band.high_db - band.low_db) / 2)
    # Found with a chance of 80 %: some 1.4 half-widths (noncentral t, six pairs).
    assert 0.9 < promised / np.median(half) < 1.9


def test_no_meter_of_the_lesson_is_missing():
    assert TrialWorld().meter in meters.meters()
