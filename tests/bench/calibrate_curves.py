"""Do 90 % intervals of readings through a ladder's curve hold the truth? Ladders of fourteen kinds.

No meter here has the form that the estimator draws: those of the facts table bend as an exponential,
others have a plateau or an S. Run: python tests/bench/calibrate_curves.py [--ladders 60] [--only text];
with 60 ladders or more the table tests/bench/calibration_curves.csv is written anew.
"""

import argparse
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from signalshed import meters
from signalshed.meters import MeterCurve

RECORD = Path(__file__).with_name("calibration_curves.csv")
NAMES = ("level strength", "gain control strength", "C/N quality", "error quality")


@dataclass(frozen=True)
class Shaped:
    """A meter whose curve is given by points: reading at shares of its span."""

    span_db: float
    shares: tuple
    readings: tuple
    flicker: float = 1.0
    step: float = 1.0
    scale: str = "quality"

    @property
    def top(self):
        return self.readings[-1]

    def show(self, margin_db, rng):
        margin = np.asarray(margin_db, dtype=float)
        seen = np.interp(margin / self.span_db, self.shares, self.readings)
        seen = seen + self.flicker * rng.standard_normal(margin.shape)
        seen = self.step * np.round(np.clip(seen, 0, self.top) / self.step)
        return np.where(margin >= 0, seen, 0.0), margin >= 0


def plateau(rng):
    """Six dB over which the reading moves by two percent, somewhere in the middle."""
    span, start = rng.uniform(20, 30), rng.uniform(0.25, 0.5)
    height = 30 + 70 * start
    return Shaped(span, (0, start, start + 6 / span, 1), (30.0, height, height + 2, 100.0))


def s_shaped(rng):
    """Slow at both ends, fast in the middle: a logistic curve."""
    share, steep = np.linspace(0, 1, 30), rng.uniform(5, 8)
    rise = 1 / (1 + np.exp(-steep * (share - 0.5)))
    rise = (rise - rise[0]) / (rise[-1] - rise[0])
    return Shaped(rng.uniform(18, 30), tuple(share), tuple(25 + 75 * rise))


def usual(rng, **changes):
    return replace(meters.meter(NAMES[rng.integers(len(NAMES))]), **changes)


@dataclass(frozen=True)
class Kind:
    """How ladders of one kind are made: on so many stations, pads up to ``most_db``, ``times`` each."""

    make: object = usual
    stations: int = 1
    times: int = 1
    pads_db: tuple = tuple(range(0, 61, 3))
    strong: int = 0
    strength: tuple = (0.5, 1.1)


SHORT = (0, 3, 6, 10, 13, 16, 20)
KINDS = {
    "lesson, one station in steps of 3 dB": Kind(),
    "the same twice": Kind(times=2),
    "three stations": Kind(stations=3),
    "rounded to tens": Kind(lambda rng: usual(rng, step=10.0)),
    "rounded to fives": Kind(lambda rng: usual(rng, step=5.0)),
    "full 6 to 10 dB up": Kind(
        lambda rng: replace(meters.meter("error quality"), span_db=rng.uniform(6, 10))
    ),
    "three stations twice, pads 0 to 20": Kind(stations=3, times=2, pads_db=SHORT),
    "one station, pads 0 to 20": Kind(pads_db=SHORT, strength=(0.3, 0.8)),
    "one of three 30 to 50 dB strong, pads 0 to 20": Kind(stations=3, pads_db=SHORT, strong=1),
    "one of two 30 to 50 dB strong, pads 0 to 60": Kind(stations=2, strong=1),
    "a plateau of 6 dB": Kind(plateau),
    "a plateau of 6 dB, three stations": Kind(plateau, stations=3),
    "S-shaped": Kind(s_shaped),
    "five bars, three stations": Kind(lambda rng: meters.meter("five bars"), stations=3),
}


def ladder_of(kind, meter, rng):
    rows, most = [], max(kind.pads_db)
    for station in range(kind.stations):
        margin = rng.uniform(*kind.strength) * min(meter.span_db, most - 3) + 2
        if station < kind.strong:
            margin = rng.uniform(30, 50)
        for _ in range(kind.times):
            rows += rungs_of(kind, meter, margin, str(20 + station), rng)
    columns = ["scale", "rf_channel", "pad_db", "reading", "locked"]
    return pd.DataFrame(rows, columns=columns)


def rungs_of(kind, meter, margin, channel, rng):
    rows = []
    for pad in kind.pads_db:
        reading, locked = meter.show(margin - pad, rng)
        rows.append((meter.scale, channel, float(pad), float(reading), bool(locked)))
        if not locked:
            break
    return rows


def one(kind, seed):
    """Held, held in the upper half, error, width of readings of one ladder; and on-scale ones thrown."""
    rng = np.random.default_rng(seed)
    meter = kind.make(rng)
    curve = MeterCurve.fit(ladder_of(kind, meter, rng))
    if curve.source != "ladder" or not curve.zero_known:
        return None
    margin = rng.uniform(0, 0.95 * meter.span_db, 60)
    reading, locked = meter.show(margin, rng)
    out = curve.to_margin_db(reading, locked)
    read = out.status == "measured"
    inside = (out.low_db <= margin) & (margin <= out.high_db)
    upper = read & (margin > 0.5 * meter.span_db)
    below = reading < meter.top - 0.06 * (meter.top - 25)
    middle = lambda x: x.mean() if x.size else np.nan  # noqa: E731
    return {
        "held": middle(inside[read]),
        "held_upper": middle(inside[upper]),
        "bias_db": middle((out.value_db - margin)[read]),
        "width_db": middle((out.high_db - out.low_db)[read]),
        "thrown": middle((out.status == "at least")[below]),
        "bounds_held": middle(inside[out.status == "at least"]),
    }


def calibrate(name, kind, count):
    start, found, seed = time.process_time(), [], 0
    while len(found) < count and seed < 4 * count:
        row = one(kind, [seed, sum(map(ord, name))])
        found += [row] if row else []
        seed += 1
    table = pd.DataFrame(found)
    error = table["held"].std() / np.sqrt(len(table))
    row = {
        "kind": name,
        "ladders": len(table),
        **table.mean().round(3),
        "held_error": round(error, 4),
    }
    took = (time.process_time() - start) / len(table)
    print(*row.values(), f"({1000 * took:.0f} ms)", sep=",", flush=True)
    return row


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--ladders", type=int, default=60)
    options.add_argument("--only", default="", help="kinds whose name holds this text")
    asked = options.parse_args()
    rows = [calibrate(n, k, asked.ladders) for n, k in KINDS.items() if asked.only in n]
    if asked.ladders >= 60 and not asked.only:
        pd.DataFrame(rows).to_csv(RECORD, index=False)


if __name__ == "__main__":
    main()
