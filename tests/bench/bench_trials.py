"""How fast meters, trials and beliefs are, as ratios within one run.

python tests/bench/bench_trials.py
"""

import time

import numpy as np
import pandas as pd

from signalshed import simulate, survey, trials
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld, invented_trial
from signalshed.site.belief import Belief, Group, Observations


def best_ms(run, count=3):
    """Shortest of ``count`` runs after a first one, ms."""
    run()
    times = []
    for _ in range(count):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def yardstick_ms(unknowns=300):
    """One numpy.linalg.solve of so many unknowns, ms."""
    rng = np.random.default_rng(0)
    matrix, right = rng.standard_normal((unknowns, unknowns)), rng.standard_normal(unknowns)
    return best_ms(lambda: np.linalg.solve(matrix, right), 20)


def trial_of(returns):
    """20 antennas (the baseline among them) x 40 channels, read in so many rounds of one evening."""
    world = TrialWorld(antennas=19, channels=40, sessions=1, returns=returns, region="jp")
    trial = invented_trial(1, world)
    return trial, MeterCurve.fit(trial.ladder)


def compare_ms(readings_wanted):
    """So many readings, drawn from the rounds it takes, of 20 antennas and 40 channels."""
    trial, curve = trial_of(int(np.ceil(readings_wanted / 800)))
    table = trial.readings.sample(readings_wanted, random_state=1)

    def run():
        return trials.compare(table, trial.baseline, curve, region="jp")

    return best_ms(run), len(table)


def belief_ms(readings, groups):
    """60 stations at 20 places; values, brackets and bounds; so many shared unknowns."""
    rng = np.random.default_rng(2)
    belief = Belief.prior(np.full(60, 10.0), rng.integers(0, 20, 60))
    station = rng.integers(0, 40, readings)
    value = belief.offsets(count=1, rng=rng)[0][station] + 2 * rng.standard_normal(readings)
    low, high = np.floor(value / 3) * 3, np.floor(value / 3) * 3 + 3
    high[::4], low[1::4] = np.inf, -np.inf
    low[2::4] = high[2::4] = value[2::4]
    names = tuple(Group(f"unknown {i}", 7.0) for i in range(groups))
    observations = Observations(
        station, low, high, 2.0, names, rng.random((readings, groups)) < 0.5
    )
    after = belief.updated(observations)
    update = best_ms(lambda: belief.updated(observations))
    return update, best_ms(lambda: after.offsets(count=1000))


def inform_ms():
    """survey.inform whole: 60 stations, 300 readings of two antennas in two places, a ladder."""
    truth = simulate.truth_of(simulate.invented_site(3, stations=60), 3)
    names = list(truth.site.antennas)[:2]
    setup = survey.Setup(names[0], "roof mast", heading_deg=40.0)
    rng, each = np.random.default_rng(4), np.arange(300)
    plan = pd.DataFrame(
        {
            "time": "2031-05-01T20:00:00+00:00",
            "mount": np.where(each % 4, "roof mast", "attic"),
            "antenna": np.where(each % 3, *names),
            "meter": truth.site.tuner.name,
            "scale": "quality",
            "rf_channel": rng.choice(truth.site.stations["rf_channel"], 300),
            "heading_deg": rng.choice([40.0, 100.0, 220.0], 300),
        }
    )
    site = simulate.with_ladder(truth, setup)
    taken = simulate.readings(truth, plan, simulate.METERS)
    return best_ms(lambda: survey.inform(site, taken))


def rows():
    """What was timed, its ms, and what a reader should look at: one by one, as each is done."""
    before = None
    for wanted in (500, 1000, 2000, 4000):
        took, count = compare_ms(wanted)
        grew = "" if before is None else f"{took / before:.2f} times as long for twice as many"
        yield f"compare 20 antennas x 40 channels, {count} readings", took, grew
        before = took
    trial, _ = trial_of(2)
    fitted = best_ms(lambda: MeterCurve.fit(trial.ladder))
    yield f"fit a ladder of {len(trial.ladder)} rungs", fitted, ""
    for groups in (0, 1, 2, 3):
        update, draws = belief_ms(300, groups)
        name = f"update a belief, 60 stations, 300 readings, {groups} shared unknowns"
        yield name, update, f"1000 draws of it {draws:.0f} ms"
    yield "survey.inform, 60 stations, 300 readings", inform_ms(), "from table to belief"


def main():
    yard = yardstick_ms()
    print(f"{'what':58} {'ms':>8} {'yardsticks':>11}   remarks")
    print(f"{'numpy.linalg.solve of 300 unknowns: the yardstick':58} {yard:8.2f} {1:11.1f}")
    for what, took, remark in rows():
        print(f"{what:58} {took:8.1f} {took / yard:11.1f}   {remark}".rstrip(), flush=True)


if __name__ == "__main__":
    main()
