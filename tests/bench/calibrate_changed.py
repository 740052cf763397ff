"""How often is the cause of a change named first or second, and one named where there is none?

    python tests/bench/calibrate_changed.py            100 rounds a cause and size

Each round is twelve stations about an invented town, read once before and once after: every reading
1.5 dB off, every station 0.7 dB from its shape, each fifth difference only an end (a full meter). Shapes
are drawn here on their own, not taken from the library: a knee in place of a slope, a sharp sector.
Recorded in tests/bench/calibration_changed.csv: first, second, cannot tell, and false alarms: a cause
named likeliest where nothing has changed.
"""

import sys
from importlib import import_module
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.special import logsumexp

from signalshed import budget, facts, simulate

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
        "new mast": -1.0 * (freq > 580) * (freq - 560) / 60,
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


def rounds(cause, loss_db, count):
    """Chances (count, causes) of so many rounds, and how often a cause was there at all."""
    found = []
    for seed in range(count):
        rng = np.random.default_rng([seed, round(loss_db)])
        site = simulate.invented_site(1 + seed % 20, stations=12)
        moved = turned(site, rng) if cause == "turned" else loss_db * shape(site, cause, rng)
        found.append(judged(site, moved, rng))
    return pd.DataFrame(found)


def judged(site, moved, rng):
    count = len(site.stations)
    sd = np.full(count, np.hypot(1.5, 1.5))
    seen = moved + sd * rng.standard_normal(count) + 0.7 * rng.standard_normal(count) * (moved != 0)
    low, high = seen.copy(), seen.copy()
    full = rng.random(count) < 0.2
    low[full] -= 4.0
    high[full] = np.inf
    frame = pd.DataFrame({
        "mount": SETUP.mount, "antenna": SETUP.antenna, "heading_deg": "40.0",
        "rf_channel": site.stations["rf_channel"], "station": np.arange(count),
        "low_db": low, "high_db": high, "sd_db": sd,
    })  # fmt: skip
    causes = facts.table("causes")
    odds = {c.cause: changed._judged(site, frame, c)[0] for c in causes.itertuples()}
    odds = pd.Series(odds)
    return np.exp(odds - logsumexp(odds))


def main(count):
    rows = []
    for cause in facts.table("causes")["cause"]:
        for loss_db in (0,) if cause == "none" else (3, 5):
            chance = rounds(cause, loss_db, count)
            order = np.argsort(-chance.to_numpy(), axis=1)
            top = chance.to_numpy().max(axis=1)
            named = chance.columns.to_numpy()[order]
            sure = top >= changed.SURE
            rows.append({
                "cause": cause, "loss_db": loss_db, "rounds": count,
                "first": np.mean(named[:, 0] == cause),
                "second": np.mean(named[:, 1] == cause),
                "cannot_tell": np.mean(~sure),
                "wrong_and_sure": np.mean(sure & (named[:, 0] != cause)),
                "false_alarm": np.mean(sure & (named[:, 0] != "none")) if cause == "none" else np.nan,
            })  # fmt: skip
            print(rows[-1], flush=True)
    pd.DataFrame(rows).round(3).to_csv(RECORD, index=False, lineterminator="\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
