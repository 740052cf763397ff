"""How often is the cause of a change named first or second, and one named where there is none?

    python tests/bench/calibrate_changed.py            100 rounds a cause and size

Each round is twelve stations about an invented town, read once before and once after: every reading
1.5 dB off, every station 0.7 dB from its shape, each fifth difference only an end (a full meter). Shapes
are drawn here on their own, not taken from the library: a knee in place of a slope, a sharp sector.
A new mast has its dB at the highest channel of the list, weather at the farthest stations.
Recorded in tests/bench/calibration_changed.csv: first, second, cannot tell; wrong and sure: another
cause named (where nothing has changed that is the false alarm); missed: "nothing" named where
something was; where it sits told, and told wrongly.
"""

import sys
from functools import cache
from importlib import import_module
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.special import logsumexp

from signalshed import budget, facts, simulate

causes = import_module("signalshed.survey.causes")
changed = import_module("signalshed.survey.changed")

RECORD = Path(__file__).with_name("calibration_changed.csv")
SETUP = budget.Setup("two-band Yagi", "roof mast", heading_deg=40.0)


def shape(site, cause, rng):
    """What one dB of a fault does to each station, (stations,); as its author here would draw it."""
    s = site.stations
    freq, bearing = s["freq_mhz"].to_numpy(float), s["bearing_deg"].to_numpy(float)
    strong = np.nan_to_num(budget.reception(site, SETUP).margin_db, nan=-40)
    off = np.abs((bearing - rng.choice(bearing) + 180) % 360 - 180)
    return {
        "none": 0 * freq,
        "plug": -np.ones(freq.size),
        "water": -np.sqrt(freq / 550),
        "sector": -1.0 * (off < 35),
        "vhf noise": -1.0 * (freq < 250),
        "new mast": -np.clip((freq - 545) / (freq.max() - 545), 0, 1),
        "weather": rng.choice([-1, 1])
        * np.clip((s["distance_km"].to_numpy(float) - 20) / 60, 0, 1.3),
        "overload": -1.0 * (strong < np.median(strong)),
        "half balun": -np.clip(500 / freq, 0, 2),
        "one station": -2.0 * (np.arange(freq.size) == rng.integers(freq.size)),
        "other": rng.standard_normal(freq.size),
    }[cause]


def turned(site, rng):
    antenna, mount, _ = budget.parts_of(site, SETUP)
    off = rng.choice([-1, 1]) * rng.uniform(20, 50)
    gain = budget.gain_toward_dbd(site, antenna, mount, np.array([40.0, (40 + off) % 360]))
    return np.nan_to_num(gain[1] - gain[0])


@cache
def town(number):
    """An invented town, and what shapes are made of there."""
    site = simulate.invented_site(number, stations=12)
    return site, causes.there(site, SETUP, np.arange(12))


def rounds(cause, loss_db, count):
    """Of so many rounds (chance by cause, likeliest first; whether it is named)."""
    found = []
    for seed in range(count):
        rng = np.random.default_rng([seed, round(loss_db)])
        site, at = town(1 + seed % 20)
        moved = turned(site, rng) if cause == "turned" else loss_db * shape(site, cause, rng)
        found.append(judged(at, moved, rng))
    return found


def judged(at, moved, rng):
    count = moved.size
    sd = np.full(count, np.hypot(1.5, 1.5))
    seen = moved + sd * rng.standard_normal(count) + 0.7 * rng.standard_normal(count) * (moved != 0)
    low, high = seen.copy(), seen.copy()
    full = rng.random(count) < 0.2
    low[full] -= 4.0
    high[full] = np.inf
    frame = pd.DataFrame({
        "station": np.arange(count), "low_db": low, "high_db": high, "sd_db": sd,
        "common_sd_db": changed.COMMON_DB,
    })  # fmt: skip
    told = {c.cause: causes.judge(c, at, frame) for c in facts.table("causes").itertuples()}
    odds = pd.Series({name: one.log_odds for name, one in told.items()})
    chance = np.exp(odds - logsumexp(odds)).sort_values(ascending=False)
    return chance, changed.surely(chance, told[chance.index[0]].change_db)


def main(count):
    rows, where = [], facts.table("causes").set_index("cause")["where"]
    for cause in where.index:
        for loss_db in (0,) if cause == "none" else (3, 5):
            found = rounds(cause, loss_db, count)
            first, second = (np.array([c.index[k] for c, _ in found]) for k in (0, 1))
            sure = np.array([named for _, named in found])
            some = [c.drop(["none", "other"]) for c, _ in found]
            shares = [c.groupby(where[c.index].to_numpy()).sum() for c in some]
            wrong = sure & (first != cause)
            there = np.array([each.max() >= changed.SURE for each in shares])
            off = np.array([each.idxmax() != where[cause] for each in shares])
            rows.append({
                "cause": cause, "loss_db": loss_db, "rounds": count,
                "first": np.mean(first == cause), "second": np.mean(second == cause),
                "cannot_tell": np.mean(~sure), "wrong_and_sure": np.mean(wrong & (first != "none")),
                "missed": np.mean(wrong & (first == "none")),
                "where_told": np.mean(there), "where_wrong": np.mean(there & off),
            })  # fmt: skip
            print(rows[-1], flush=True)
    pd.DataFrame(rows).round(3).to_csv(RECORD, index=False, lineterminator="\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
