"""How fast the path models are, as ratios within one run: python tests/bench/bench_path.py"""

import sys
import tempfile
import time
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))
import one_path_at_a_time

from signalshed import earth, path

PATHS, POINTS = 100, 401


def best_ms(run, count):
    """Shortest of ``count`` runs, ms."""
    times = []
    for _ in range(count):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def some_paths(rng, clutter_m):
    length = rng.uniform(15, 120, PATHS)
    distance = length[:, None] * np.linspace(0, 1, POINTS)
    steps = rng.normal(0, 4, (PATHS, POINTS)).cumsum(axis=1)
    ground = 200 + steps - steps.min(axis=1, keepdims=True)
    clutter = np.where(rng.random((PATHS, POINTS)) < 0.5, clutter_m, 0.0)
    return distance, ground, clutter


def compare(clutter_m):
    rng = np.random.default_rng(7)
    d, h, clutter = some_paths(rng, clutter_m)
    freq, erp = rng.uniform(57, 605, PATHS), rng.uniform(1, 1000, PATHS)
    transmit, receive = rng.uniform(30, 400, PATHS), rng.uniform(4, 15, PATHS)

    def at_once():
        profile = earth.Profile(d, h, clutter)
        return path.profile_dbuv_m(freq, erp, profile, transmit, receive)

    def one_by_one():
        rows = zip(freq, erp, d, h, clutter, transmit, receive, strict=True)
        return [one_path_at_a_time.field_dbuv_m(*row, 45.0, 325.0) for row in rows]

    def library_one_by_one():
        rows = zip(freq, erp, singles, transmit, receive, strict=True)
        return [path.profile_dbuv_m(*row) for row in rows]

    profile = earth.Profile(d, h, clutter)
    singles = [profile.path(i) for i in range(PATHS)]
    error = np.abs(at_once() - np.array(one_by_one())).max()
    return {
        "frozen, one by one": best_ms(one_by_one, 7),
        "library, one by one": best_ms(library_one_by_one, 3),
        "library at once, from raw heights": best_ms(at_once, 50),
        "library at once, prepared profiles": best_ms(
            lambda: path.profile_dbuv_m(freq, erp, profile, transmit, receive), 50
        ),
    }, error


def four_tiles(folder):
    """Four fine tiles of rolling land round 31 north, 40 west, and 80 stations within 90 km."""
    rng = np.random.default_rng(3)
    for south, west in ((30, 41), (30, 40), (31, 41), (31, 40)):
        waves = sum(
            40
            * np.sin(np.linspace(0, k, 3601)[:, None] + rng.uniform(0, 6))
            * np.cos(np.linspace(0, k, 3601) + rng.uniform(0, 6))
            for k in (7, 19, 43)
        )
        (300 + waves).astype(">i2").tofile(Path(folder) / f"N{south}W{west:03d}.hgt")
    bearing, distance = rng.uniform(0, 360, 80), rng.uniform(5, 90, 80)
    return pd.DataFrame({"bearing_deg": bearing, "distance_km": distance})


def from_tiles():
    """Milliseconds to open the folder, to draw 80 profiles of 401 points, and one exp as many."""
    with tempfile.TemporaryDirectory() as folder:
        stations = four_tiles(folder)
        home = SimpleNamespace(latitude_deg=31.0, longitude_deg=-40.0)
        opened = best_ms(lambda: earth.open_tiles(folder), 5)
        tiles = earth.open_tiles(folder)
        drawn = best_ms(lambda: earth.profiles(home, stations, tiles), 7)
    numbers = np.random.default_rng(0).normal(size=(80, 401))
    return opened, drawn, best_ms(lambda: np.exp(numbers), 30)


def average_terrain():
    rng = np.random.default_rng(1)
    freq, erp = rng.uniform(57, 605, 80), rng.uniform(1, 1000, 80)
    distance, height = rng.uniform(2, 150, 80), rng.uniform(20, 600, 80)
    return best_ms(lambda: path.average_terrain_dbuv_m(freq, erp, distance, height), 100)


def main():
    opened, drawn, exp = from_tiles()
    print(f"average terrain, 80 stations              {average_terrain():8.2f} ms")
    print(f"open a folder of four fine tiles          {opened:8.2f} ms")
    print(
        f"80 profiles of 401 points from the tiles  {drawn:8.2f} ms, {drawn / exp:.0f} times an exp"
    )
    print(f"median on {PATHS} paths of {POINTS} points; times faster than the frozen loop")
    for clutter_m in (0.0, 10.0):
        times, error = compare(clutter_m)
        print(f"clutter {clutter_m:g} m, largest difference {error:.1e} dB")
        for name, ms in times.items():
            print(f"  {name:36s}{ms:8.2f} ms {times['frozen, one by one'] / ms:7.2f}")


if __name__ == "__main__":
    main()
