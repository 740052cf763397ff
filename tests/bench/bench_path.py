"""How fast the path models are, as ratios within one run: python tests/bench/bench_path.py"""

import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))
import one_path_at_a_time
from yard import best_ms, line

from signalshed import earth, path

PATHS, POINTS = 100, 401
EARLIER = "plain numpy, a path at a time"


def some_paths(rng, paths, clutter_m):
    length = rng.uniform(15, 120, paths)
    distance = length[:, None] * np.linspace(0, 1, POINTS)
    steps = rng.normal(0, 4, (paths, POINTS)).cumsum(axis=1)
    ground = 200 + steps - steps.min(axis=1, keepdims=True)
    clutter = np.where(rng.random((paths, POINTS)) < 0.5, clutter_m, 0.0)
    return distance, ground, clutter


def case(rng, paths, clutter_m):
    """Frequency, power, distance, heights of ground and clutter, transmitter, receiver; by path."""
    d, h, clutter = some_paths(rng, paths, clutter_m)
    freq, erp = rng.uniform(57, 605, paths), rng.uniform(1, 1000, paths)
    return freq, erp, d, h, clutter, rng.uniform(30, 400, paths), rng.uniform(4, 15, paths)


def profiles(clutter_m):
    """Lines for the median on profiles, each against the same paths one by one in plain numpy."""
    inputs = freq, erp, d, h, clutter, transmit, receive = case(
        np.random.default_rng(7), PATHS, clutter_m
    )
    profile = earth.Profile(d, h, clutter)
    singles = [profile.path(i) for i in range(PATHS)]

    def one_by_one():
        rows = zip(*inputs, strict=True)
        return [one_path_at_a_time.field_dbuv_m(*row, 45.0, 325.0) for row in rows]

    def library_one_by_one():
        rows = zip(freq, erp, singles, transmit, receive, strict=True)
        return [path.profile_dbuv_m(*row) for row in rows]

    def at_once():
        return path.profile_dbuv_m(freq, erp, profile, transmit, receive)

    def from_heights():
        return path.profile_dbuv_m(freq, erp, earth.Profile(d, h, clutter), transmit, receive)

    assert np.abs(at_once() - np.array(one_by_one())).max() < 1e-6
    plain = best_ms(one_by_one, 7)
    took = {
        "each by itself": best_ms(library_one_by_one, 3),
        "at once, from heights": best_ms(from_heights, 50),
        "at once, profiles kept": best_ms(at_once, 50),
    }
    name = f"{PATHS} profiles x {POINTS}, clutter {clutter_m:g} m, "
    return [
        line("path", name + way, ms, f"{EARLIER}, {plain:.0f} ms", plain)
        for way, ms in took.items()
    ]


def growth():
    """Lines for more and more kept profiles, against the first of them."""
    lines, first = [], None
    for paths in (10, 100, 1000):
        freq, erp, d, h, clutter, *ends = case(np.random.default_rng(7), paths, 10.0)
        profile = earth.Profile(d, h, clutter)
        ms = best_ms(lambda: path.profile_dbuv_m(freq, erp, profile, *ends), 20)  # noqa: B023
        first = first or ms
        lines.append(line("path", f"{paths} profiles x {POINTS}", ms, "10 profiles", first))
    return lines


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
    """Lines for opening four tiles and drawing 80 profiles, against one exp of as many numbers."""
    exp = exp_ms(80 * 401)
    with tempfile.TemporaryDirectory() as folder:
        stations = four_tiles(folder)
        home = SimpleNamespace(latitude_deg=31.0, longitude_deg=-40.0)
        opened = best_ms(lambda: earth.open_tiles(folder), 5)
        tiles = earth.open_tiles(folder)
        drawn = best_ms(lambda: earth.profiles(home, stations, tiles), 7)
    against = "exp of as many numbers"
    return [
        line("land", "open a folder of four fine tiles", opened, against, exp),
        line("land", "80 profiles x 401 drawn from tiles", drawn, against, exp),
    ]


def average_terrain():
    """A line for 80 stations by average terrain, against an exp of as many numbers."""
    rng = np.random.default_rng(1)
    freq, erp = rng.uniform(57, 605, 80), rng.uniform(1, 1000, 80)
    distance, height = rng.uniform(2, 150, 80), rng.uniform(20, 600, 80)
    ms = best_ms(lambda: path.average_terrain_dbuv_m(freq, erp, distance, height), 100)
    return line("path", "average terrain, 80 stations", ms, "exp of 80 numbers", exp_ms(80))


def exp_ms(count):
    numbers = np.random.default_rng(0).normal(size=count)
    return best_ms(lambda: np.exp(numbers), 100)


def ratios():
    """All lines of this bench."""
    return [average_terrain(), *from_tiles(), *profiles(0.0), *profiles(10.0), *growth()]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
