"""An invented evening that is read while it goes on: a source for every step of a plan."""

import numpy as np
import pandas as pd

from ..meters import meter as find_meter
from .trial import TrialWorld, gains, ladder


class LiveTrial:
    """An invented evening, its truth known, whose meter can be watched through a source.

    Parameters: ``laid`` a trials.Plan; ``seed`` a whole number; ``world`` a TrialWorld (None: the usual
    one; its antennas and channels are those of the plan); ``slow`` share of its last figure that the
    meter still shows, 0 for one that stands at once. ``truth_db`` as in Trial; ``ladder`` of its meter.

    >>> from signalshed import trials
    >>> stations = pd.DataFrame({"rf_channel": ["14", "15"], "margin_db": [8.0, 12.0]})
    >>> laid = trials.plan(["loop"], stations, hours=2)
    >>> live = LiveTrial(laid, seed=1)
    >>> reading, locked = live.source_of(laid.next_step())()
    >>> 0 <= reading <= 100, bool(locked)
    (True, True)
    """

    def __init__(self, laid, seed, world=None, slow=0.0):
        used = laid.channels[laid.channels["use"]]
        names = (laid.baseline, *laid.antennas)
        world = TrialWorld() if world is None else world
        world = world.but(antennas=len(names) - 1, channels=len(used))
        self.rng, self.world, self.slow = np.random.default_rng(seed), world, float(slow)
        self.meter, self._shown = find_meter(world.meter), 0.0
        table = pd.DataFrame(gains(world, self.rng), index=list(names), columns=used["rf_channel"])
        self.truth_db = table.iloc[1:] - table.iloc[0]
        self._level = table + used["margin_db"].to_numpy(float)
        self.ladder = ladder(world, self.meter, self.rng)
        self._visit, self._drift, self._mounted = None, 0.0, {}

    def source_of(self, step):
        """A source, a callable that gives (reading, locked), of one ``step`` of the plan."""
        world, rng = self.world, self.rng
        if step["visit"] != self._visit:
            self._visit = step["visit"]
            self._drift += 0.5 * world.drift_db_per_root_h * rng.standard_normal()
            self._mounted = {"all": world.remount_sd_db * rng.standard_normal()}
        own = self._mounted.setdefault(
            step["rf_channel"], world.residual_sd_db * rng.standard_normal()
        )
        level = self._level.loc[step["antenna"], step["rf_channel"]]
        margin = level + self._drift + self._mounted["all"] + own - step["pad_db"]

        def source():
            reading, locked = self.meter.show(np.array(margin), rng)
            self._shown = self.slow * self._shown + (1 - self.slow) * float(reading)
            return float(np.round(self._shown)) if locked else None, bool(locked)

        return source
