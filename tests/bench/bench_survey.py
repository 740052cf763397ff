"""Time and memory of the survey grid, beside one numpy exp over as many numbers.

Run: python tests/bench/bench_survey.py
"""

import sys
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))
from yard import best_ms, line

from signalshed import antenna, simulate, survey

CASES = [(20, 8, 72, 1), (80, 8, 72, 1), (80, 8, 72, 4), (1000, 20, 360, 1)]
"""Stations, antennas, headings, mounts."""


def big_site(stations, antennas, mounts):
    site = simulate.demo_site()
    rows = pd.concat([site.stations] * (stations // len(site.stations) + 1)).head(stations)
    rows["station"] = [f"s{i}" for i in range(stations)]
    mast = site.mount("roof mast")
    many = {f"m{i}": replace(mast, name=f"m{i}", height_agl_m=5.0 + i) for i in range(mounts)}
    kept = {}
    for i in range(antennas):
        kept[f"a{i}"] = antenna.from_numbers(f"a{i}", [54, 608], i, 40 + i)
    site = replace(site.with_stations(rows), antennas=kept, mounts=many)
    return site, [survey.Setup(a, m) for a in kept for m in many]


def peak_mb(run):
    """Most memory that ``run`` holds at a time, MB."""
    tracemalloc.start()
    run()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def row(stations, antennas, headings, mounts):
    site, setups = big_site(stations, antennas, mounts)
    angles = np.linspace(0, 359, headings)

    def run():
        return survey.grid(site, setups, angles)

    first = best_ms(run, 1)
    again = best_ms(run, 7)
    numbers = np.random.default_rng(0).normal(size=stations * antennas * headings * mounts)
    work = f"{stations} stations x {antennas} antennas x {headings} headings x {mounts} mounts"
    work += f" (first time {first:.0f} ms, peak {peak_mb(run):.1f} MB)"
    return line("survey", work, again, "exp of as many", best_ms(lambda: np.exp(numbers), 7))


def ratios():
    """All lines of this bench."""
    return [row(*case) for case in CASES]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
