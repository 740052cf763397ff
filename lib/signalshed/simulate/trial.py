"""An invented side-by-side test: antennas, a meter, its ladder, drift, remounts, wild readings.

One seed, one truth. Nothing here knows how the readings are later judged.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import channels
from ..meters import meter as find_meter
from ..units import check


@dataclass(frozen=True)
class TrialWorld:
    """What an invented trial is made of; every sd in dB.

    Parameters
    ----------
    antennas : number of antennas beside the baseline, 1 or more.
    channels : number of UHF stations, 1 to as many as the region's plan has (us 23, jp 40).
    region : of the channel plan.
    sessions, returns : evenings, and how often each antenna is put up per evening.
    antenna_sd_db, interaction_sd_db : spread of the antennas, and of each from channel to channel.
    remount_sd_db, residual_sd_db : per mounting on all channels, and per mounting and channel.
    drift_db_per_root_h : wandering common to all channels, after one hour.
    own_drift_db_per_root_h : wandering of each channel alone.
    evening_sd_db : how much each station differs from one evening to the next.
    wild_share, wild_sd_db : readings that are simply wrong, and how wrong.
    meter : name of an invented meter.
    low_db, high_db : range of the stations' margins through the baseline.
    pad_step_db : step of the ladder's pads.
    ladder_stations : stations the ladder is made on; 0 for no ladder.
    """

    antennas: int = 2
    channels: int = 8
    sessions: int = 2
    returns: int = 3
    antenna_sd_db: float = 3.0
    interaction_sd_db: float = 1.2
    remount_sd_db: float = 0.7
    residual_sd_db: float = 0.7
    drift_db_per_root_h: float = 0.8
    own_drift_db_per_root_h: float = 0.0
    evening_sd_db: float = 2.0
    wild_share: float = 0.03
    wild_sd_db: float = 10.0
    meter: str = "C/N quality"
    low_db: float = 3.0
    high_db: float = 22.0
    pad_step_db: float = 3.0
    ladder_stations: int = 3
    region: str = "us"

    def __post_init__(self):
        check("antennas", self.antennas, low=1, high=1000)
        check("channels", self.channels, low=1, high=len(_uhf(self.region)))
        for name in ("sessions", "returns"):
            check(name, getattr(self, name), low=1, high=1000)

    def but(self, **changes):
        """The same world with ``changes``.

        >>> TrialWorld().but(antennas=1).antennas
        1
        """
        return replace(self, **changes)

    @property
    def tuner(self):
        """The Meter that is read."""
        return find_meter(self.meter)

    def drift_db(self, hour, rng):
        """How all levels of one evening wander together, at each ``hour`` (n,), dB; ``rng`` draws it."""
        return wander_db(hour, self.drift_db_per_root_h, rng)

    def residual_db(self, visits, rng):
        """What each of the ``visits`` changes on each channel, dB (visits, channels); ``rng`` draws."""
        return self.residual_sd_db * rng.standard_normal((len(visits), self.channels))

    def read_db(self, level, rng):
        """Margins read of the true ``level`` (visits, channels), dB: by ``rng`` some are wild."""
        wild = rng.random(level.shape) < self.wild_share
        return level + wild * self.wild_sd_db * rng.standard_normal(level.shape)


@dataclass(frozen=True, eq=False)
class Trial:
    """An invented trial and its truth.

    ``readings`` and ``ladder`` as in readings.csv and meter.csv; ``truth_db`` a DataFrame of true
    differences, antennas by rf_channel; ``baseline`` its name.
    """

    readings: pd.DataFrame
    ladder: pd.DataFrame
    truth_db: pd.DataFrame
    baseline: str = "half-wave dipole"


def invented_trial(seed, world=None):
    """One invented trial.

    Parameters: ``seed`` a whole number; ``world`` a TrialWorld (None: the usual one).

    >>> trial = invented_trial(1, TrialWorld(antennas=1, channels=4))
    >>> trial.truth_db.shape, trial.readings.antenna.nunique()
    ((1, 4), 2)
    """
    world = TrialWorld() if world is None else world
    rng = np.random.default_rng(seed)
    gain = gains(world, rng)
    visits = _visits(world, rng)
    level = _levels(world, rng)[visits["session"].to_numpy()]
    level = level + gain[visits["antenna"].to_numpy()] + _drift(world, visits, rng)
    level = level + _own_drift(world, visits, rng)
    level = level + world.remount_sd_db * rng.standard_normal((len(visits), 1))
    level = level + world.residual_db(visits, rng)
    readings = _log(world, visits, level, rng)
    names = [f"antenna {i + 1}" for i in range(world.antennas)]
    truth = pd.DataFrame(gain[1:] - gain[0], index=names, columns=_channel_names(world))
    return Trial(readings, ladder(world, rng), truth)


def _channel_names(world):
    return _uhf(world.region)[: world.channels]


def _uhf(region):
    plan = channels.plan(region)
    return plan.index[plan["band"] == "UHF"].tolist()


def gains(world, rng):
    """Gain (antennas + 1, channels) in dB; row 0 is the baseline, with bumps of its own.

    Parameters: ``world`` a TrialWorld; ``rng`` a numpy.random.Generator.
    """
    main = world.antenna_sd_db * rng.standard_normal((world.antennas + 1, 1))
    main[0] = 0
    shape = (world.antennas + 1, world.channels)
    return main + world.interaction_sd_db * rng.standard_normal(shape)


def _visits(world, rng):
    """Who is up when: all antennas in random order, the baseline among them, again and again."""
    rows, hours = [], 0.25
    for session in range(world.sessions):
        order = np.concatenate([
            rng.permutation(world.antennas + 1) for _ in range(world.returns)
        ])  # fmt: skip
        for place, antenna in enumerate(order):
            rows.append((session, antenna, place * hours))
    return pd.DataFrame(rows, columns=["session", "antenna", "hour"])


def _levels(world, rng):
    """Margin of every station through a 0 dB antenna, by evening (sessions, channels)."""
    usual = rng.uniform(world.low_db, world.high_db, world.channels)
    evening = world.evening_sd_db * rng.standard_normal((world.sessions, world.channels))
    return usual + evening


def _drift(world, visits, rng):
    """Change of all levels together (visits, 1)."""
    out = np.zeros((len(visits), 1))
    for _, part in visits.groupby("session"):
        out[part.index, 0] = world.drift_db(part["hour"].to_numpy(), rng)
    return out


def wander_db(hour, sd_db, rng):
    """A random walk at each ``hour`` (n,), of ``sd_db`` after one hour.

    Parameters: ``hour`` rising; ``sd_db``; ``rng`` a numpy.random.Generator.

    >>> wander_db(np.array([0.0, 1.0]), 0.0, np.random.default_rng(1)).tolist()
    [0.0, 0.0]
    """
    steps = np.sqrt(np.diff(hour, prepend=hour[0])) * rng.standard_normal(hour.size)
    return sd_db * np.cumsum(steps)


def _own_drift(world, visits, rng):
    out = np.zeros((len(visits), world.channels))
    for _, part in visits.groupby("session"):
        hour = part["hour"].to_numpy()
        for channel in range(world.channels):
            out[part.index, channel] = wander_db(hour, world.own_drift_db_per_root_h, rng)
    return out


def _log(world, visits, level, rng):
    """The readings as noted: each channel of each visit, in order of time."""
    start = np.datetime64("2031-05-03T18:00:00")
    names = np.array(["half-wave dipole"] + [f"antenna {i + 1}" for i in range(world.antennas)])
    reading, locked = world.tuner.show(world.read_db(level, rng), rng)
    since_s = 86400 * visits["session"].to_numpy() + 3600 * visits["hour"].to_numpy()
    second = since_s[:, None] + 10 * np.arange(world.channels)
    times = start + np.round(second.ravel()).astype("timedelta64[s]")
    return pd.DataFrame({
        "time": [f"{t}+00:00" for t in times],
        "mount": "roof",
        "antenna": np.repeat(names[visits["antenna"]], world.channels),
        "antenna_revision": "1",
        "meter": world.meter,
        "scale": world.tuner.scale,
        "rf_channel": np.tile(_channel_names(world), len(visits)),
        "heading_deg": np.nan,
        "pad_db": 0.0,
        "pad_at": "set",
        "amplifier": "none",
        "reading": np.where(locked, reading, np.nan).ravel(),
        "locked": locked.ravel(),
        "note": "",
    })  # fmt: skip


def ladder(world, rng):
    """Pads in even steps on a few stations of middling strength, until the picture breaks.

    Parameters: ``world`` a TrialWorld; ``rng`` a numpy.random.Generator.
    """
    rows, meter = [], world.tuner
    for station in range(world.ladder_stations):
        margin = rng.uniform(0.5, 1.0) * min(meter.span_db, 28.0) + 4
        for pad in np.arange(0.0, margin + 2 * world.pad_step_db, world.pad_step_db):
            reading, locked = meter.show(margin - pad, rng)
            rows.append((world.meter, meter.scale, str(30 + station), pad, "set", reading, locked))
            if margin < pad:
                break
    columns = ["meter", "scale", "rf_channel", "pad_db", "pad_at", "reading", "locked"]
    return pd.DataFrame(rows, columns=columns)
