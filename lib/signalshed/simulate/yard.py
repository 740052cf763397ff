"""The side-by-side trial in the builders' yard that the demo folder holds: what is true there.

Channels like one antenna better than another, beyond what its gain says. How the trial was planned, read
and written down belongs to whoever makes the folder.
"""

import functools

import numpy as np
import pandas as pd

from .. import survey
from .demo import DEMO_SEED, TRIAL_SITE, demo_site
from .truths import normal, truth_of

BASELINE = "half-wave dipole"
TESTED = ("wire loop", "two-band Yagi", "double loop with screen")
CHANNELS = ("17", "19", "21", "24", "29", "33")
MOUNT = "low mast"

INTERACTION_SD_DB = 0.8
"""What an antenna does from channel to channel, one standard deviation."""

DRAW = "yard 3"
"""Name of the stream that all draws of the trial come from."""


@functools.cache
def yard_truth_db():
    """True differences to the dipole in the yard, dB: a DataFrame, antennas by rf_channel.

    >>> yard_truth_db().shape
    (3, 6)
    """
    here = truth_of(demo_site(TRIAL_SITE), DEMO_SEED)
    names = (BASELINE, *TESTED)
    true = [[aimed_db(here, name, channel) for channel in CHANNELS] for name in names]
    table = pd.DataFrame(true, index=names, columns=CHANNELS)
    return table.loc[list(TESTED)] - table.loc[BASELINE]


def aimed_db(here, antenna, channel):
    """Spare dB of the strongest station on a channel, the antenna aimed at it, its own liking in.

    Parameters: ``here`` the Truth of the yard; ``antenna`` and ``channel`` by name.

    >>> round(aimed_db(truth_of(demo_site(TRIAL_SITE), DEMO_SEED), "wire loop", "24"))
    23
    """
    margin = here.margin_db(aimed_at(antenna, channel))
    on = (here.site.stations["rf_channel"] == channel).to_numpy()
    return float(np.nanmax(margin[on])) + liking_db(antenna, channel)


def liking_db(antenna, channel):
    """How much more an antenna hears on one channel than its gain says, dB.

    Parameters: ``antenna`` and ``channel`` by name.

    >>> round(liking_db("wire loop", "24"), 1)
    -0.6
    """
    return INTERACTION_SD_DB * normal(DEMO_SEED, DRAW, antenna, channel)


def aimed_at(antenna, channel):
    """The Setup of an antenna in the yard, aimed at the station on a channel.

    Parameters: ``antenna`` and ``channel`` by name.

    >>> aimed_at("wire loop", "24").mount
    'low mast'
    """
    return survey.Setup(antenna, MOUNT, heading_deg=bearing_deg(channel))


def bearing_deg(channel):
    """The whole degree nearest to the bearing of the station that holds the channel.

    Parameters: ``channel`` by name.

    >>> bearing_deg("24")
    27.0
    """
    stations = demo_site(TRIAL_SITE).stations
    return float(round(stations.loc[stations["rf_channel"] == channel, "bearing_deg"].iloc[0]))
