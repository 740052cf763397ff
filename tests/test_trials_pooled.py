"""A club's trials joined: the published example, statsmodels, and many clubs whose truth is known."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.meta_analysis import combine_effects, effectsize_2proportions

from signalshed import plots, simulate, trials
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld
from signalshed.trials import pooling

# Thirteen trials of BCG vaccine, (ill, well) of the vaccinated and of the others; the example most
# textbooks of meta-analysis print. The log risk ratios are in neither dB nor metres, and need not be.
BCG = np.array([
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619),
    (33, 5036, 47, 5761), (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892),
    (29, 7470, 45, 7232), (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
])  # fmt: skip


def _bcg():
    ill, well, others_ill, others_well = BCG.T
    value = np.log(ill / (ill + well)) - np.log(others_ill / (others_ill + others_well))
    variance = 1 / ill - 1 / (ill + well) + 1 / others_ill - 1 / (others_ill + others_well)
    return value, np.sqrt(variance)


def test_the_published_example():
    """Q 152.23 with 12 df, fixed effect -0.4303; by Paule and Mandel tau^2 0.3181, mean -0.7150, Hartung
    and Knapp's 95 % interval -1.1091 to -0.3208 (derived; its REML row agrees with the published)."""
    value, sd = _bcg()
    weight = sd**-2.0
    fixed = (weight * value).sum() / weight.sum()
    assert fixed == pytest.approx(-0.4303, abs=5e-5)
    assert (weight * (value - fixed) ** 2).sum() == pytest.approx(152.23, abs=5e-3)
    assert pooling.tau_squared(value, sd) == pytest.approx(0.3181, abs=5e-5)
    assert pooling.mean_of(value, sd, 0.95) == pytest.approx((-0.7150, -1.1091, -0.3208), abs=6e-5)


def test_statsmodels_joins_alike():
    """statsmodels' combine_effects, an independent implementation: Paule and Mandel, Student's t."""
    value, sd = _bcg()
    told, variance = effectsize_2proportions(
        BCG[:, 0], BCG[:, :2].sum(axis=1), BCG[:, 2], BCG[:, 2:].sum(axis=1), statistic="risk-ratio"
    )
    np.testing.assert_allclose([told, variance], [value, sd**2], rtol=1e-12)
    rng = np.random.default_rng(1)
    for v, s in [(value, sd), *((rng.normal(2, 1.2, n), rng.uniform(0.3, 0.9, n)) for n in (4, 7))]:
        other = combine_effects(v, s**2, method_re="iterated")
        tau2 = max(float(other.tau2), 0.0)
        assert pooling.tau_squared(v, s) == pytest.approx(tau2, abs=1e-4)
        if tau2 > 1e-3:  # with none between makers the interval here is not narrowed below theirs
            mean, low, high = pooling.mean_of(v, s, 0.9)
            half = stats.t.ppf(0.95, len(v) - 1) * other.sd_eff_w_re_hksj
            expected = other.mean_effect_re + np.array([0.0, -half, half])
            assert (mean, low, high) == pytest.approx(expected, abs=2e-4)


def _log(values, sds, **columns):
    makers = [f"maker {k}" for k in range(len(values))]
    usual = {"maker": makers, "antenna": "loop", "band": "UHF", "reference": "dipole"}
    return pd.DataFrame({**usual, "difference_db": values, "sd_db": sds, **columns})


def test_the_next_copy_lies_between_the_two_rules_of_the_books():
    """BCG: 90 % by the normal's quantile and by t of 11 df (tau^2 0.3181, SE 0.1809 as published)."""
    value, sd = _bcg()
    row = trials.pooled(_log(value, sd)).table.iloc[0]
    spread = np.hypot(np.sqrt(0.3181), 0.1809)
    normal, student = 1.645 * spread, 1.796 * spread
    half = (row["next_high_db"] - row["next_low_db"]) / 2
    assert 0.95 * normal < half < 1.05 * student


def test_evenings_of_one_maker_are_joined_first():
    """Two evenings of 1 and 3 dB, sd 1 each: mean 2, sd 1/sqrt 2, times sqrt 2 as they disagree."""
    table = _log([1.0, 3.0, 5.0, 4.0], [1.0, 1.0, 0.5, 0.5])
    table["maker"] = ["Ines", "Ines", "Olu", "Mia"]
    found = trials.pooled(table)
    ines = found.makers.set_index("maker").loc["Ines"]
    assert (ines["difference_db"], ines["evenings"]) == (2.0, 2)
    assert ines["sd_db"] == pytest.approx(1.0)
    assert found.table.iloc[0]["makers"] == 3


def test_fewer_than_three_makers_promise_no_next_copy():
    found = trials.pooled(_log([1.0, 2.0], [0.5, 0.5]))
    row = found.table.iloc[0]
    assert np.isnan(row["next_low_db"]) and "from three on" in row["says"]
    assert "half a normal bell" in found.notes[-1]


def test_other_revisions_references_and_bands_are_not_joined():
    table = _log([1.0, 2.0, 3.0, 9.0], [0.5] * 4, revision=[1, 1, 1, 2])
    found = trials.pooled(table)
    assert found.table["makers"].tolist() == [3, 1]
    assert any("not joined" in note for note in found.notes)


def test_what_copies_differ_by_is_listed_kind_by_kind():
    table = _log(
        [1.0, 1.2, 3.0], [0.5] * 3, balun=["none", "none", "ferrite"], lead_mm=[20, 20, 20]
    )
    found = trials.pooled(table).differ.set_index("kind")
    assert found.loc["none", "difference_db"] == pytest.approx(1.1)
    assert found.loc["ferrite", "makers"] == "maker 2" and set(found["column"]) == {"balun"}


def test_bad_rows_of_a_club_are_named_and_the_others_joined():
    table = _log(["1,5", "\N{MINUS SIGN}0.5", "much", 2.0, 2.5], [0.5, 0.5, 0.5, -1, 0.6]).astype(
        object
    )
    table.loc[4, "maker"] = " "
    typed = pd.DataFrame({"Maker": ["Ines", "Olu", "Mia"], " Antenna": ["loop", "Loop", "loop "],
                          "Band": ["UHF", "uhf", "UHF"], "Difference dB": ["+2.1 dB", "3.4", "1,0"],
                          "sd_db": 0.5})  # fmt: skip
    found = trials.pooled(table)
    assert found.makers["difference_db"].tolist() == [1.5, -0.5]
    assert trials.pooled(typed).table[["antenna", "band", "makers"]].values.tolist() == [
        ["loop", "UHF", 3]
    ]
    said = " ".join(found.notes)
    assert "row 3, 4: difference_db or sd_db is no number" in said and "row 5: no maker" in said
    for bad, words in (
        (table.drop(columns="sd_db"), "no column sd_db"),
        ([1, 2], "must be a DataFrame"),
        (table.assign(maker=""), "No row could be used"),
    ):
        with pytest.raises(ValueError, match=words):
            trials.pooled(bad)


@pytest.mark.parametrize("makers", [3, 6])
def test_intervals_of_many_clubs_hold_the_truth(makers):
    """300 clubs whose copies differ by 0.3 to 2 dB: how often 90 % ends hold mean and next copy."""
    rng = np.random.default_rng(makers)
    held, next_held = [], []
    for _ in range(300):
        tau = rng.uniform(0.3, 2.0)
        sd = rng.uniform(0.4, 0.9, makers)
        value = 3 + tau * rng.standard_normal(makers) + sd * rng.standard_normal(makers)
        chance, means, variances = pooling._by_tau(value, sd)
        low, high = pooling.mean_of(value, sd)[1:]
        held.append(low <= 3 <= high)
        ends = pooling._next_copy(chance, means, variances)
        next_held.append(ends[0] <= 3 + tau * rng.standard_normal() <= ends[1])
    assert 0.85 < np.mean(held) < 0.97 and 0.82 < np.mean(next_held) < 0.95


def test_a_trial_hands_its_rows_to_the_club_and_the_forest_shows_them():
    rows = []
    for seed, maker in ((1, "Ines"), (2, "Olu"), (3, "Mia")):
        trial = simulate.invented_trial(seed, TrialWorld(antennas=1, channels=3))
        found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
        rows.append(trials.club_rows(found, maker, house="shed", balun="ferrite"))
        band = found.bands.iloc[0]
        half = (band["high_db"] - band["low_db"]) / 2
        assert rows[-1]["sd_db"].iloc[0] == pytest.approx(half / 1.645, abs=0.006)
    club = pd.concat(rows)
    assert list(club.columns) == [c for c in pooling.COLUMNS if c in club]
    found = trials.pooled(club)
    picture = plots.forest(found)
    assert "3 makers together" in picture.alt and "the next copy" in picture.alt
    assert picture.png(40)[1:4] == b"PNG"
    with pytest.raises(ValueError, match="is none of them"):
        trials.club_rows(trials.study(trial.readings, trial.baseline), "Ines", colour="red")
