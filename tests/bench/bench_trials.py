"""How fast meters, trials and beliefs are, beside one numpy.linalg.solve of 300 unknowns.

Run: python tests/bench/bench_trials.py
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))
from yard import best_ms, line

from signalshed import simulate, survey, trials
from signalshed.belief import Belief, Observations, Unknown
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld, invented_trial

RUNS = 3


def yardstick_ms(unknowns=300):
    """One numpy.linalg.solve of so many unknowns, ms."""
    rng = np.random.default_rng(0)
    matrix, right = rng.standard_normal((unknowns, unknowns)), rng.standard_normal(unknowns)
    return best_ms(lambda: np.linalg.solve(matrix, right), 40)


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

    return best_ms(run, RUNS), len(table)


def belief_ms(readings, groups):
    """60 stations at 20 places; values, brackets and bounds; so many shared unknowns."""
    rng = np.random.default_rng(2)
    belief = Belief.prior(np.full(60, 10.0), rng.integers(0, 20, 60))
    station = rng.integers(0, 40, readings)
    value = belief.draws(count=1, rng=rng)[0][0][station] + 2 * rng.standard_normal(readings)
    low, high = np.floor(value / 3) * 3, np.floor(value / 3) * 3 + 3
    high[::4], low[1::4] = np.inf, -np.inf
    low[2::4] = high[2::4] = value[2::4]
    names = tuple(Unknown("other", f"unknown {i}", 7.0) for i in range(groups))
    observations = Observations(
        station, low, high, 2.0, names, rng.random((readings, groups)) < 0.5
    )
    after = belief.updated(observations)
    update = best_ms(lambda: belief.updated(observations), RUNS)
    return update, best_ms(lambda: after.draws(count=1000)[0], RUNS)


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
    return best_ms(lambda: survey.inform(site, taken), RUNS)


def timed():
    """What was timed and its ms, one by one."""
    for wanted in (500, 1000, 2000, 4000):
        took, count = compare_ms(wanted)
        yield f"compare 20 antennas x 40 channels, {count} readings", took
    trial, _ = trial_of(2)
    fitted = best_ms(lambda: MeterCurve.fit(trial.ladder), RUNS)
    yield f"fit a ladder of {len(trial.ladder)} rungs", fitted
    for groups in (0, 1, 2, 3):
        update, draws = belief_ms(300, groups)
        name = f"update a belief, 60 stations, 300 readings, {groups} shared unknowns"
        yield f"{name} (1000 draws of it {draws:.0f} ms)", update
    yield "survey.inform, 60 stations, 300 readings, from table to belief", inform_ms()


def ratios():
    """All lines of this bench."""
    yard = yardstick_ms()
    against = f"a plain solve of 300, {yard:.2g} ms"
    return [line("trials", what, took, against, yard) for what, took in timed()]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
