"""Invented trials that go wrong: what a builder may cause without noting it, and other worlds."""

from dataclasses import dataclass, replace

import numpy as np

from signalshed.meters import Meter
from signalshed.simulate.trial import TrialWorld, invented_trial


class Resting(Meter):
    """A meter that does not move for ``plateau_db`` above 10 dB."""

    plateau_db = 0.0

    def show(self, margin_db, rng=None):
        margin = np.asarray(margin_db, dtype=float)
        return super().show(margin - np.clip(margin - 10.0, 0.0, self.plateau_db), rng)


@dataclass(frozen=True)
class BadWorld(TrialWorld):
    """A TrialWorld in which more goes wrong; every sd in dB.

    ``drift_shape`` wander, jump (a step in the middle) or wave (a slow sine); ``heavy`` residuals of
    Student's t with 3 degrees of freedom; ``shared_mast`` half of the stations share a mast, and so part
    of their residual; ``memory`` share of what it last showed on the channel that the meter still shows;
    ``noted_in`` what readings were rounded to when noted, the ladder's too; ``forgotten_share`` of
    readings behind a pad of 10 dB that was not noted; ``disturbed_db`` sd of what disturbs the first
    channel; ``other_meter`` read on the second evening under the same name; ``weak_pads`` by what share
    all pads of the ladder are weaker than they say; ``heading_sd_deg`` how far off the aim antennas 40
    degrees wide (the dipole 78) were put up; ``plateau_db`` so many dB above 10 the meter does not move.
    """

    drift_shape: str = "wander"
    heavy: bool = False
    shared_mast: bool = False
    memory: float = 0.0
    noted_in: float = 0.0
    forgotten_share: float = 0.0
    disturbed_db: float = 0.0
    other_meter: str = ""
    weak_pads: float = 0.0
    heading_sd_deg: float = 0.0
    plateau_db: float = 0.0

    @property
    def tuner(self):
        if not self.plateau_db:
            return super().tuner
        meter = Resting(**vars(super().tuner))
        object.__setattr__(meter, "plateau_db", self.plateau_db)
        return meter

    def drift_db(self, hour, rng):
        size = self.drift_db_per_root_h * np.sqrt(max(np.ptp(hour), 0.25))
        if self.drift_shape == "jump":
            return size * rng.standard_normal() * 2 * (hour > rng.uniform(0, hour.max()))
        if self.drift_shape == "wave":
            return size * 1.4 * np.sin(2 * np.pi * (hour / rng.uniform(0.7, 2) + rng.random()))
        return super().drift_db(hour, rng)

    def residual_db(self, visits, rng):
        shape = len(visits), self.channels
        own = rng.standard_t(3, shape) if self.heavy else rng.standard_normal(shape)
        if self.shared_mast:
            together = np.arange(self.channels) < (self.channels + 1) // 2
            common = rng.standard_normal((shape[0], 1))
            own = np.where(together, np.sqrt(0.6) * common + np.sqrt(0.4) * own, own)
        if not self.heading_sd_deg:
            return self.residual_sd_db * own
        off = self.heading_sd_deg * rng.standard_normal((shape[0], 1))
        width = np.where(visits["antenna"].to_numpy() > 0, 40.0, 78.0)[:, None]
        return self.residual_sd_db * own - 12 * (off / width) ** 2  # 3 dB down at half the width

    def read_db(self, level, rng):
        margin = super().read_db(level, rng)
        if self.forgotten_share:
            margin -= 10.0 * (rng.random(margin.shape) < self.forgotten_share)
        if self.disturbed_db:
            margin[:, 0] += self.disturbed_db * rng.standard_normal(len(margin))
        if self.memory:
            for k in range(1, len(margin)):
                margin[k] = (1 - self.memory) * margin[k] + self.memory * margin[k - 1]
        return margin


def bad_trial(seed, world):
    """An invented Trial of a ``world`` (a BadWorld), as it was noted down."""
    true_step = world.pad_step_db * (1 - world.weak_pads)
    trial = invented_trial(seed, world.but(pad_step_db=true_step))
    readings, ladder = trial.readings, trial.ladder
    if world.other_meter:
        other = invented_trial(seed, world.but(meter=world.other_meter)).readings
        second = readings["time"] >= "2031-05-04"
        shown = {name: other[name].where(second, readings[name]) for name in ("reading", "locked")}
        readings = readings.assign(**shown)
    if world.noted_in:
        readings, ladder = (
            table.assign(reading=world.noted_in * np.round(table["reading"] / world.noted_in))
            for table in (readings, ladder)
        )
    ladder = ladder.assign(pad_db=ladder["pad_db"] / (1 - world.weak_pads))
    return replace(trial, readings=readings, ladder=ladder)
