"""Many invented trials: how often percents are wrong."""

import functools

import numpy as np
import pandas as pd

from ... import meters, trials
from ...simulate.trial import TrialWorld, invented_trial
from ...units import check

WORLD = TrialWorld(channels=6, antennas=1, antenna_sd_db=1.5)


@functools.cache
def wrong_names(count=40):
    """Antenna or dipole, which is better? How often each way of judging names the wrong one.

    Parameters: ``count`` of invented antennas, each some 1.5 dB from the dipole, 1 to 1000. Returns a
    DataFrame by way of judging: named (antennas for which it named one better), wrong (of those).

    >>> int(wrong_names(2).loc["percents, each put up once", "named"])
    2
    """
    size = int(check("count", count, low=1, high=1000))
    rows = np.array([_one(seed) for seed in range(size)])
    calls = rows[:, 1:].T
    return pd.DataFrame(
        {
            "named": [int((call != 0).sum()) for call in calls],
            "wrong": [int((call == -rows[:, 0]).sum()) for call in calls],
        },
        index=["percents, each put up once", "percents, two days", "fair trial, two days"],
    )


def _one(seed):
    """Signs of the truth and of what each way of judging says, 0 for cannot tell."""
    quick = invented_trial(seed, WORLD.but(sessions=1, returns=1)).readings
    trial = invented_trial(seed, WORLD)
    found = trials.study(trial.readings, trial.baseline, meters.MeterCurve.fit(trial.ladder))
    call = {"better": 1, "worse": -1}.get(found.bands["verdict"].iloc[0], 0)
    truth = np.sign(trial.truth_db.to_numpy().mean())
    return truth, _by_percents(quick), _by_percents(trial.readings), call


def _by_percents(readings):
    """Sign of the antenna's mean percents over the dipole's, channel by channel where both have one."""
    mean = readings.pivot_table(index="rf_channel", columns="antenna", values="reading")
    return np.sign((mean["antenna 1"] - mean["half-wave dipole"]).mean())
