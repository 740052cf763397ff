"""Time and memory of the survey grid, beside one numpy exp over as many numbers.

Run: python tests/bench/bench_survey.py
"""

import time
import tracemalloc
from dataclasses import replace

import numpy as np
import pandas as pd

from signalshed import antenna, simulate, survey


def best_of(function, runs=7):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def big_site(stations, antennas, mounts):
    site = simulate.demo_site()
    rows = pd.concat([site.stations] * (stations // len(site.stations) + 1)).head(stations)
    mast = site.mount("roof mast")
    many = {f"m{i}": replace(mast, name=f"m{i}", height_agl_m=5.0 + i) for i in range(mounts)}
    kept = {}
    for i in range(antennas):
        kept[f"a{i}"] = antenna.from_numbers(f"a{i}", [54, 608], i, 40 + i)
    site = replace(site.with_stations(rows), antennas=kept, mounts=many)
    return site, [survey.Setup(a, m) for a in kept for m in many]


def row(stations, antennas, headings, mounts):
    site, setups = big_site(stations, antennas, mounts)
    angles = np.linspace(0, 359, headings)
    start = time.perf_counter()
    survey.grid(site, setups, angles)
    first = time.perf_counter() - start
    again = best_of(lambda: survey.grid(site, setups, angles))
    tracemalloc.start()
    survey.grid(site, setups, angles)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    numbers = np.random.default_rng(0).normal(size=stations * antennas * headings * mounts)
    yardstick = best_of(lambda: np.exp(numbers))
    return {
        "stations": stations,
        "antennas": antennas,
        "headings": headings,
        "mounts": mounts,
        "first_ms": 1e3 * first,
        "again_ms": 1e3 * again,
        "exp_ms": 1e3 * yardstick,
        "ratio_to_exp": again / yardstick,
        "peak_mb": peak / 1e6,
    }


if __name__ == "__main__":
    cases = [(20, 8, 72, 1), (80, 8, 72, 1), (80, 8, 72, 4), (1000, 20, 360, 1)]
    print(pd.DataFrame([row(*c) for c in cases]).round(2).to_string(index=False))
