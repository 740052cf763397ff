"""What a copy will do: a club's invented log; and how often two equal antennas are called unequal."""

from importlib import resources

import numpy as np
import pandas as pd

from ... import trials
from ...units import check


def club_log():
    """What five makers of one build wrote down: a DataFrame in the columns trials.pooled takes.

    >>> len(club_log())
    6
    """
    return pd.read_csv(resources.files(__package__) / "club_log.csv")


def false_better(pairs=4, rows=6, count=4000, remount_db=0.7):
    """How often antennas that equal the dipole are called better or worse all the same, in percent.

    Parameters: ``pairs`` of mountings a channel, 2 to 40; ``rows`` channels read, 1 to 40; ``count`` of
    invented trials; ``remount_db`` what each mounting is off by. Returns a Series: one antenna on one
    channel; either of two antennas that share the dipole; any of ``rows`` channels of one antenna.

    >>> bool(8 < false_better()["one row"] < 12)
    True
    """
    pairs = int(check("pairs", pairs, low=2, high=40))
    rng = np.random.default_rng(6)
    level = remount_db * rng.standard_normal((3, int(rows), int(count), pairs))
    apart = level[1:] - level[0]
    half = trials.half_width_db(pairs, apart.std(axis=-1, ddof=1))
    called = np.abs(apart.mean(axis=-1)) > half
    shares = (called[0, 0], called[:, 0].any(axis=0), called[0].any(axis=0))
    names = ("one row", "one of two antennas", f"one of {int(rows)} rows")
    return pd.Series([100 * share.mean() for share in shares], index=names)
