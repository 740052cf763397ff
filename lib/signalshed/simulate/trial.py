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
    drift_db_per_root_h : wandering common to all channels, after one hour; ``drift_shape`` wander,
        jump (a step in the middle) or wave (a slow sine).
    own_drift_db_per_root_h : wandering of each channel alone.
    evening_sd_db : how much each station differs from one evening to the next.
    wild_share, wild_sd_db : readings that are simply wrong, and how wrong.
    meter : name of an invented meter.
    low_db, high_db : range of the stations' margins through the baseline.
    looks : readings noted per mounting and channel.
    heavy : True draws the residual from Student's t with 3 degrees of freedom.
    shared_mast : True lets half of the stations share one mast, and so part of their residual.
    pad_step_db : step of the ladder's pads.
    ladder_stations : stations the ladder is made on; 0 for no ladder.
    memory : share of what it last showed on the channel that the meter still shows; 0 if waited for.
    noted_in : what readings were rounded to when noted, the ladder's too; 0 for as shown.
    forgotten_share : share of readings behind a pad of 10 dB that was not noted.
    disturbed_db : sd of what disturbs the first channel alone.
    other_meter : name of the meter read on the second evening under the same name; "" for none.
    weak_pads : by what share all pads of the ladder are weaker than they say.
    heading_sd_deg : how far off the aim antennas 40 degrees wide (the dipole 78) were put up.
    plateau_db : so many dB above 10 the meter does not move, in the ladder too.
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
    drift_shape: str = "wander"
    own_drift_db_per_root_h: float = 0.0
    evening_sd_db: float = 2.0
    wild_share: float = 0.03
    wild_sd_db: float = 10.0
    meter: str = "C/N quality"
    low_db: float = 3.0
    high_db: float = 22.0
    looks: int = 1
    heavy: bool = False
    shared_mast: bool = False
    pad_step_db: float = 3.0
    ladder_stations: int = 3
    region: str = "us"
    memory: float = 0.0
    noted_in: float = 0.0
    forgotten_share: float = 0.0
    disturbed_db: float = 0.0
    other_meter: str = ""
    weak_pads: float = 0.0
    heading_sd_deg: float = 0.0
    plateau_db: float = 0.0

    def __post_init__(self):
        check("antennas", self.antennas, low=1, high=1000)
        check("channels", self.channels, low=1, high=len(_uhf(self.region)))
        for name in ("sessions", "returns", "looks"):
            check(name, getattr(self, name), low=1, high=1000)
        if self.drift_shape not in ("wander", "jump", "wave"):
            raise ValueError(
                f"drift_shape is {self.drift_shape!r}; it must be wander, jump or wave."
            )

    def but(self, **changes):
        """The same world with ``changes``.

        >>> TrialWorld().but(antennas=1).antennas
        1
        """
        return replace(self, **changes)


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
    meter = find_meter(world.meter)
    gain = gains(world, rng)
    visits = _visits(world, rng)
    level = _levels(world, rng)[visits["session"].to_numpy()]
    level = level + gain[visits["antenna"].to_numpy()] + _drift(world, visits, rng)[:, None]
    level = level + _own_drift(world, visits, rng)
    level = level + world.remount_sd_db * rng.standard_normal((len(visits), 1))
    level = level + _residual(world, len(visits), rng)
    level = level - _off_aim(world, visits, rng)
    readings = _log(world, meter, visits, level, rng)
    names = [f"antenna {i + 1}" for i in range(world.antennas)]
    truth = pd.DataFrame(gain[1:] - gain[0], index=names, columns=_channel_names(world))
    return Trial(readings, ladder(world, meter, rng), truth)


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
    """Change of all levels together (visits,)."""
    out = np.zeros(len(visits))
    for _, part in visits.groupby("session"):
        hour = part["hour"].to_numpy()
        size = world.drift_db_per_root_h * np.sqrt(max(np.ptp(hour), 0.25))
        if world.drift_shape == "jump":
            moved = size * rng.standard_normal() * 2 * (hour > rng.uniform(0, hour.max()))
        elif world.drift_shape == "wave":
            moved = size * 1.4 * np.sin(2 * np.pi * (hour / rng.uniform(0.7, 2) + rng.random()))
        else:
            moved = _wander(hour, world.drift_db_per_root_h, rng)
        out[part.index] = moved
    return out


def _wander(hour, sd_db, rng):
    steps = np.sqrt(np.diff(hour, prepend=hour[0])) * rng.standard_normal(hour.size)
    return sd_db * np.cumsum(steps)


def _own_drift(world, visits, rng):
    out = np.zeros((len(visits), world.channels))
    for _, part in visits.groupby("session"):
        hour = part["hour"].to_numpy()
        for channel in range(world.channels):
            out[part.index, channel] = _wander(hour, world.own_drift_db_per_root_h, rng)
    return out


def _residual(world, visits, rng):
    shape = (visits, world.channels)
    own = rng.standard_t(3, shape) if world.heavy else rng.standard_normal(shape)
    if world.shared_mast:
        together = np.arange(world.channels) < (world.channels + 1) // 2
        common = rng.standard_normal((visits, 1))
        own = np.where(together, np.sqrt(0.6) * common + np.sqrt(0.4) * own, own)
    return world.residual_sd_db * own


def _log(world, meter, visits, level, rng):
    """The readings as noted: each channel of each visit, in order of time."""
    start = np.datetime64("2031-05-03T18:00:00")
    names = np.array(["half-wave dipole"] + [f"antenna {i + 1}" for i in range(world.antennas)])
    shape = (len(visits), world.channels, world.looks)
    wild = rng.random(shape) < world.wild_share
    shown = level[:, :, None] + wild * world.wild_sd_db * rng.standard_normal(shape)
    shown = _spoiled(world, shown, rng)
    reading, locked = meter.show(_seen(world, shown), rng)
    if world.other_meter:
        other = find_meter(world.other_meter).show(_seen(world, shown), rng)
        second = (visits["session"].to_numpy() > 0)[:, None, None]
        reading, locked = np.where(second, other[0], reading), np.where(second, other[1], locked)
    reading = _noted(world, reading)
    since_s = 86400 * visits["session"].to_numpy() + 3600 * visits["hour"].to_numpy()
    second = since_s[:, None] + 10 * np.arange(world.channels * world.looks)
    times = start + np.round(second.ravel()).astype("timedelta64[s]")
    each = world.channels * world.looks
    return pd.DataFrame({
        "time": [f"{t}+00:00" for t in times],
        "mount": "roof",
        "antenna": np.repeat(names[visits["antenna"]], each),
        "antenna_revision": "1",
        "meter": world.meter,
        "scale": meter.scale,
        "rf_channel": np.tile(np.repeat(_channel_names(world), world.looks), len(visits)),
        "heading_deg": np.nan,
        "pad_db": 0.0,
        "pad_at": "set",
        "amplifier": "none",
        "reading": np.where(locked, reading, np.nan).ravel(),
        "locked": locked.ravel(),
        "note": "",
    })  # fmt: skip


def _off_aim(world, visits, rng):
    """What a heading off the station costs each mounting (visits, 1), dB: 3 dB at half the width."""
    if not world.heading_sd_deg:
        return 0.0
    off = world.heading_sd_deg * rng.standard_normal((len(visits), 1))
    width = np.where(visits["antenna"].to_numpy() > 0, 40.0, 78.0)[:, None]
    return 12 * (off / width) ** 2


def _spoiled(world, margin, rng):
    """Margins (visits, channels, looks) with what a builder did or did not note."""
    margin = margin.copy()
    if world.forgotten_share:
        margin -= 10.0 * (rng.random(margin.shape) < world.forgotten_share)
    if world.disturbed_db:
        margin[:, 0] += world.disturbed_db * rng.standard_normal(margin[:, 0].shape)
    if world.memory:
        for k in range(1, len(margin)):
            margin[k] = (1 - world.memory) * margin[k] + world.memory * margin[k - 1]
    return margin


def _seen(world, margin):
    """The margin as the meter follows it, where it rests on a plateau."""
    return margin - np.clip(np.asarray(margin) - 10.0, 0.0, world.plateau_db)


def _noted(world, reading):
    """A reading as it was noted down."""
    if not world.noted_in:
        return reading
    return world.noted_in * np.round(np.asarray(reading) / world.noted_in)


def ladder(world, meter, rng):
    """Pads in even steps on a few stations of middling strength, until the picture breaks.

    Parameters: ``world`` a TrialWorld; ``meter`` its Meter; ``rng`` a numpy.random.Generator.
    """
    rows = []
    for station in range(world.ladder_stations):
        margin = rng.uniform(0.5, 1.0) * min(meter.span_db, 28.0) + 4
        for pad in np.arange(0.0, margin + 2 * world.pad_step_db, world.pad_step_db):
            left = margin - pad * (1 - world.weak_pads)
            reading, locked = meter.show(_seen(world, left), rng)
            reading = _noted(world, reading)
            rows.append((world.meter, meter.scale, str(30 + station), pad, "set", reading, locked))
            if left < 0:
                break
    columns = ["meter", "scale", "rf_channel", "pad_db", "pad_at", "reading", "locked"]
    return pd.DataFrame(rows, columns=columns)
