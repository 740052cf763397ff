"""The update of a path belief by readings, against exact normal theory and plain importance sampling."""

import numpy as np
import pytest
from scipy.stats import norm

from signalshed.belief import Belief, Observations, Unknown, normals

Z90 = 1.6448536269514722  # 0.95 quantile of the standard normal distribution (any table)


def _site(n=24, places=8, seed=3):
    rng = np.random.default_rng(seed)
    sd = np.where(rng.random(n) < 0.3, 8.0, 10.0)
    own = np.where(rng.random(n) < 0.2, 6.0, 0.0)
    return Belief.prior(sd, rng.integers(0, places, n), own), rng


def _normal_answer(belief, obs):
    """Conditional mean and sd of a joint normal distribution (any statistics textbook)."""
    s = belief.scale
    same = belief.place_index[:, None] == belief.place_index
    cov = np.outer(s, s) * (4.0**2 + 8.0**2 * same)
    cov = cov + np.diag((4.0 * s) ** 2 + belief.own_sd_db**2)
    pick = np.eye(s.size)[obs.station]
    shared = obs.member * np.array([g.sd_db for g in obs.groups])
    total = pick @ cov @ pick.T + np.diag(obs.sd_db**2) + shared @ shared.T
    gain = cov @ pick.T @ np.linalg.inv(total)
    return gain @ obs.low_db, np.sqrt(np.diag(cov - gain @ pick @ cov))


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_equals_the_exact_normal_answer_when_nothing_is_censored(count):
    belief, rng = _site()
    station = rng.integers(0, 18, 80)
    sd = rng.uniform(0.7, 3, 80)
    value = belief.draws(count=1, rng=rng)[0][0][station] + sd * rng.standard_normal(80)
    groups = tuple(
        Unknown("other", f"unknown {i}", s) for i, s in enumerate([7.0, 10.0, 3.0][:count])
    )
    obs = Observations(station, value, value, sd, groups, rng.random((80, count)) < 0.5)
    after = belief.updated(obs)
    mean, spread = _normal_answer(belief, obs)
    assert np.abs(after.mean_db() - mean).max() < 0.05  # dB
    assert np.abs(after.sd_db() / spread - 1).max() < 0.01


def test_path_and_shared_unknowns_together_equal_the_exact_normal_answer():
    """What a reading saw, path plus antenna, stays surer than the two would be apart."""
    belief, rng = _site()
    station, sd = rng.integers(0, 18, 30), rng.uniform(1, 3, 30)
    groups = (Unknown("antenna", "loop", 3.0), Unknown("mount", "attic", 7.0))
    member = np.stack([np.ones(30, bool), rng.random(30) < 0.5], 1)
    value = rng.normal(0, 8, 30)
    after = belief.updated(Observations(station, value, value, sd, groups, member))
    left = {name: found[1] for name, found in after.groups().items()}
    exact = _normal_sum_sd(belief, after.observations)
    together = after.joint_sd_db(left)
    apart = np.sqrt(after.sd_db() ** 2 + sum(s**2 for s in left.values()))
    assert np.abs(together / exact - 1).max() < 0.02
    assert np.median(apart / exact) > 1.05
    offsets, unknowns = after.draws(count=20_000, rng=rng)
    drawn = (offsets + sum(unknowns.values())[:, None]).std(axis=0)
    assert np.abs(drawn / exact - 1).max() < 0.05
    alone = after.joint_sd_db({Unknown("antenna", "other"): 2.0})
    np.testing.assert_allclose(alone, np.hypot(after.sd_db(), 2.0))


def _normal_sum_sd(belief, obs):
    """Sd of offset plus all shared unknowns in a joint normal distribution (any textbook)."""
    s = belief.scale
    same = belief.place_index[:, None] == belief.place_index
    cov = np.outer(s, s) * (16 + 64 * same) + np.diag(belief.station_sd_db**2)
    sds = np.array([g.sd_db for g in obs.groups])
    seen = np.eye(s.size)[obs.station] @ cov @ np.eye(s.size)[obs.station].T
    shared = obs.member * sds
    total = seen + shared @ shared.T + np.diag(obs.sd_db**2)
    cross = cov[:, obs.station] + (shared @ np.diag(sds) @ np.ones(sds.size))
    variance = (
        np.diag(cov) + (sds**2).sum() - np.einsum("ij,ij->i", cross @ np.linalg.inv(total), cross)
    )
    return np.sqrt(variance)


def test_many_readings_at_one_place_stay_exact():
    belief = Belief.prior(np.full(40, 10.0), np.zeros(40, int))
    rng = np.random.default_rng(5)
    station = np.repeat(np.arange(40), 8)
    value = belief.draws(count=1, rng=rng)[0][0][station] + rng.standard_normal(320)
    obs = Observations(station, value, value, 1.0)
    mean, spread = _normal_answer(belief, obs)
    after = belief.updated(obs)
    assert np.abs(after.mean_db() - mean).max() < 0.02
    assert np.abs(after.sd_db() / spread - 1).max() < 0.01


def _censored(value, rng):
    """A reader's log: a third of brackets from pads, a third at the ceiling, the rest without lock."""
    low, high = np.floor(value / 3) * 3, np.floor(value / 3) * 3 + 3
    kind = rng.integers(0, 4, value.size)
    low = np.where(kind == 1, -np.inf, low)
    high = np.where(kind == 2, np.inf, high)
    low, high = np.where(kind == 3, value, low), np.where(kind == 3, value, high)
    return low, high


def test_censored_readings_agree_with_importance_sampling():
    """An independent route of our own: weighted draws from the prior, a million of them."""
    belief = Belief.prior([10.0, 10.0, 8.0, 10.0], [0, 0, 1, 2], [0.0, 0.0, 0.0, 5.0])
    low = np.array([4.0, 9.0, -np.inf, 2.0, -3.0])
    high = np.array([np.inf, 12.0, -5.0, 2.0, np.inf])
    obs = Observations(
        [0, 1, 2, 2, 2],
        low,
        high,
        2.0,
        (Unknown("mount", "attic", 5.0),),
        np.array([[0], [0], [0], [1], [1]]),
    )
    rng = np.random.default_rng(7)
    draws = belief.draws(count=1_000_000, rng=rng)[0]
    attic = 5.0 * rng.standard_normal(len(draws))
    seen = draws[:, obs.station] + attic[:, None] * obs.member[:, 0]
    inside = norm.cdf((high - seen) / 2.0) - norm.cdf((low - seen) / 2.0)
    inside[:, 3] = norm.pdf((2.0 - seen[:, 3]) / 2.0)
    weight = inside.prod(axis=1)
    weight /= weight.sum()
    mean = weight @ draws
    sd = np.sqrt(weight @ draws**2 - mean**2)
    after = belief.updated(obs)
    error = sd * np.sqrt(weight @ weight)  # standard error of the weighted draws, 0.03 to 0.14 dB
    assert np.all(np.abs(after.mean_db() - mean) < 4 * error)
    assert np.all(np.abs(after.sd_db() - sd) < 4 * error)
    attic_mean = weight @ attic
    attic_sd = np.sqrt(weight @ attic**2 - attic_mean**2)
    np.testing.assert_allclose(after.taught("mount", "attic"), (attic_mean, attic_sd), atol=0.25)


def test_joint_draws_have_the_moments_and_the_correlation():
    belief, rng = _site()
    station = rng.integers(0, 12, 30)
    value = belief.draws(count=1, rng=rng)[0][0][station] + 2 * rng.standard_normal(30)
    obs = Observations(
        station, *_censored(value, rng), 2.0, (Unknown("mount", "attic", 7.0),), [[1]] * 30
    )
    after = belief.updated(obs)
    draws = after.draws(count=20_000, rng=rng)[0]
    assert np.abs(draws.mean(0) - after.mean_db()).max() < 0.25
    assert np.abs(draws.std(0) / after.sd_db() - 1).max() < 0.03
    values = Observations(station, value, value, 2.0)
    draws = belief.updated(values).draws(count=20_000, rng=rng)[0]
    pick = np.eye(24)[station]
    s, same = belief.scale, belief.place_index[:, None] == belief.place_index
    cov = np.outer(s, s) * (16 + 64 * same) + np.diag(belief.station_sd_db**2)
    gain = cov @ pick.T @ np.linalg.inv(pick @ cov @ pick.T + 4 * np.eye(30))
    assert np.abs(np.cov(draws.T) - (cov - gain @ pick @ cov)).max() < 3.0  # of up to 136 dB^2


@pytest.mark.parametrize("shared", [False, True])
def test_intervals_hold_the_truth(shared):
    """90 % intervals: 87 to 93 % over 150 sites; fails if a bound is taken for a value."""
    held = []
    for seed in range(150):
        belief, rng = _site(seed=seed)
        station = rng.integers(0, 16, 20)
        truth = belief.draws(count=1, rng=rng)[0][0]
        member = rng.random((20, 1)) < 0.4
        loss = 7.0 * rng.standard_normal() * member[:, 0] * shared
        value = truth[station] + loss + 2 * rng.standard_normal(20)
        groups = {"groups": (Unknown("mount", "attic", 7.0),), "member": member} if shared else {}
        after = belief.updated(Observations(station, *_censored(value, rng), 2.0, **groups))
        held.append(np.abs(truth - after.mean_db()) < Z90 * after.sd_db())
    assert 0.87 < np.mean(held) < 0.93


def test_bounds_move_only_one_way():
    belief = Belief.prior([10.0, 10.0], [0, 1])
    least = belief.updated(Observations([0], [5.0], [np.inf], 1.0))
    assert least.mean_db()[0] > 5 and least.mean_db()[1] > 0
    less = belief.updated(Observations([0], [-np.inf], [-5.0], 1.0))
    np.testing.assert_allclose(less.mean_db(), -least.mean_db(), atol=1e-6)
    nothing = belief.updated(Observations([0], [-np.inf], [np.inf], 1.0))
    assert nothing.sd_db().tolist() == [10.0, 10.0]


def test_quantiles_over_a_bound_are_those_of_the_cut_normal():
    # Half of a standard normal is left above 0: its middle is the quartile, 0.6745, its 95 % end 1.96.
    found = normals.quantiles(np.zeros((2, 1)), np.ones((2, 1)), (0.5, 0.95), least=0.0, rounds=24)
    assert np.ravel(found) == pytest.approx([0.6745, 1.9600], abs=1e-4)


def test_order_and_portions_do_not_matter():
    belief, rng = _site()
    station, value = rng.integers(0, 20, 16), rng.normal(0, 6, 16)
    low, high = _censored(value, rng)
    once = belief.updated(Observations(station, low, high, 2.0))
    back = belief.updated(Observations(station[::-1], low[::-1], high[::-1], 2.0))
    twice = belief.updated(Observations(station[:7], low[:7], high[:7], 2.0)).updated(
        Observations(station[7:], low[7:], high[7:], 2.0)
    )
    for other in (back, twice):
        np.testing.assert_allclose(other.mean_db(), once.mean_db(), atol=1e-9)
        np.testing.assert_allclose(other.sd_db(), once.sd_db(), atol=1e-9)


def test_a_reading_through_another_mount_is_worth_less_and_never_harms():
    belief = Belief.prior([10.0] * 3, [0, 0, 1])
    direct = belief.updated(Observations([0], [6.0], [6.0], 2.0))
    attic = belief.updated(
        Observations([0], [6.0], [6.0], 2.0, (Unknown("mount", "attic", 7.0),), [[True]])
    )
    assert np.all(direct.sd_db() < attic.sd_db())
    assert np.all(attic.sd_db() < belief.sd_db() + 1e-9)


def test_the_prior_scales_to_each_path_sd():
    belief = Belief.prior([10.0, 8.0, 10.0], [4, 4, 9])
    draws = belief.draws(count=200_000, rng=np.random.default_rng(1))[0]
    np.testing.assert_allclose(draws.std(0), [10, 8, 10], rtol=0.01)
    shared = np.corrcoef(draws.T)
    assert abs(shared[0, 1] - 80 / 96) < 0.01 and abs(shared[0, 2] - 16 / 96) < 0.01


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Belief.prior([10.0, -1], [0, 0]), "path_sd_db is -1"),
        (lambda: Belief.prior([10.0], [0, 1]), "place_index has shape"),
        (lambda: Observations([0], [3.0], [1.0], 1.0), "above high_db"),
        (lambda: Observations([0], [np.nan], [1.0], 1.0), "low_db is nan"),
        (lambda: Observations([0], [1.0], [1.0], 0.0), "sd_db is 0"),
        (
            lambda: Observations([0], [1.0], [1.0], 1.0, (Unknown("other", "a", 1.0),) * 4),
            "at most 3",
        ),
        (
            lambda: Observations([0], [1.0], [1.0], 1.0, (Unknown("other", "a", 1.0),), [[1, 0]]),
            "member",
        ),
        (
            lambda: Belief.prior([10.0], [0]).updated(Observations([1], [1.0], [1.0], 1.0)),
            "position from 0 to 0",
        ),
    ],
)
def test_nonsense_is_refused_in_words(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_stations_that_share_a_transmission_share_what_is_learned():
    belief = Belief.prior(np.full(4, 10.0), [0, 0, 0, 1], signal_index=[0, 1, 1, 2])
    after = belief.updated(Observations([2], [-8.0], [-8.0], 1.0))
    mean, spread = _normal_answer(
        Belief.prior(np.full(4, 10.0), [0, 0, 0, 1]), Observations([1], [-8.0], [-8.0], 1.0)
    )
    assert after.mean_db()[[0, 1, 3]] == pytest.approx(mean[[0, 1, 3]], abs=0.05)
    assert after.mean_db()[2] == after.mean_db()[1]
    assert after.sd_db()[2] == after.sd_db()[1] == pytest.approx(spread[1], rel=0.01)
    for drawn in (belief.draws(count=50)[0], after.draws(count=50)[0]):
        assert (drawn[:, 1] == drawn[:, 2]).all()
        assert not (drawn[:, 0] == drawn[:, 1]).any()
