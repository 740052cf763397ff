"""An invented evening that is read while it goes on: a source for every step of a plan."""

from datetime import datetime

import numpy as np
import pandas as pd

from signalshed import trials
from signalshed.simulate.trial import TrialWorld, gains, ladder


class LiveTrial:
    """An invented evening, its truth known, whose meter can be watched through a source.

    Parameters: ``laid`` a trials.Plan; ``seed`` a whole number; ``world`` a TrialWorld (None: the usual
    one; its antennas and channels are those of the plan); ``slow`` share of its last figure that the
    meter still shows, 0 for one that stands at once. ``truth_db`` as in Trial; ``ladder`` of its meter.
    """

    def __init__(self, laid, seed, world=None, slow=0.0):
        used = laid.channels[laid.channels["use"]]
        names = (laid.baseline, *laid.antennas)
        world = TrialWorld() if world is None else world
        world = world.but(antennas=len(names) - 1, channels=len(used))
        self.rng, self.world, self.slow = np.random.default_rng(seed), world, float(slow)
        self.meter, self._shown = world.tuner, 0.0
        table = pd.DataFrame(gains(world, self.rng), index=list(names), columns=used["rf_channel"])
        self.truth_db = table.iloc[1:] - table.iloc[0]
        self._level = table + used["margin_db"].to_numpy(float)
        self.ladder = ladder(world, self.rng)
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


def read_visit(laid, readings, source_of, *, every_s=1.0, now=None, **columns):
    """Read all channels of the next mounting of a plan: rows in the columns of readings.csv.

    Parameters: ``laid`` a Plan; ``readings`` had so far (a DataFrame, or None); ``source_of`` a function
    of a step (a dict with antenna, rf_channel, pad_db ...) that tunes there and returns a source for
    ``settled``; ``every_s`` as there; ``now`` a function that gives the time as text (None: the
    computer's clock); ``columns`` what is the same in every row, as mount, meter, scale, heading_deg.
    Put the antenna up first: ``laid.next_step(readings)["antenna"]``. Empty when all is read.
    """
    now = _now if now is None else now
    visit, rows = None, []
    while (step := laid.next_step(_together(readings, rows))) is not None:
        if visit not in (None, step["visit"]):
            break
        visit = step["visit"]
        rows.append(_row(step, trials.settled(source_of(step), every_s=every_s), now(), columns))
    return pd.DataFrame(rows)


def _together(readings, rows):
    if readings is None or not len(readings):
        return pd.DataFrame(rows)
    had = readings[["antenna", "rf_channel"]]
    return pd.concat([had, pd.DataFrame(rows)[["antenna", "rf_channel"]]]) if rows else had


def _row(step, seen, time, columns):
    usual = {"antenna_revision": "1", "amplifier": "none", "heading_deg": np.nan, "pad_at": "set"}
    return {
        "time": time,
        **usual,
        **columns,
        "antenna": step["antenna"],
        "rf_channel": step["rf_channel"],
        "pad_db": step["pad_db"],
        "reading": seen.reading,
        "reading_low": seen.low,
        "reading_high": seen.high,
        "locked": seen.locked,
        "note": "" if seen.steady else f"did not settle in {seen.looks} looks",
    }


def _now():
    return datetime.now().astimezone().isoformat(timespec="seconds")
