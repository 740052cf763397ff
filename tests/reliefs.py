"""Terrain profile less average terrain on four reliefs: what facts/land.csv is made from.

    python tests/reliefs.py     prints the table as of today's code

Flat, rolling and hilly land is invented by ``simulate``; the mountains are the sample relief that comes
with matplotlib, 344 by 403 heights of a real range, 90 m apart. On each, 300 roofs at random, each with
a tower of 150 m on the highest of six hills at random: that is where towers stand.
"""

import numpy as np
import pandas as pd
from matplotlib import cbook
from scipy.ndimage import map_coordinates

from signalshed import earth, path
from signalshed.simulate.terrain import fractal

ROOFS, MAST_M, ROOF_M, CLUTTER_M = 300, 150.0, 9.1, 10.0
BANDS = {"low_vhf": 69.0, "high_vhf": 195.0, "uhf": 600.0}
KINDS = {"flat": 8.0, "rolling": 45.0, "hilly": 220.0}
"""Reach of the first octave of the invented land, m."""


def reliefs():
    """Heights above sea level, m, and the step between samples, km, by kind of land."""
    rng = np.random.default_rng(11)
    axis = np.arange(0, 70.01, 0.1)
    made = {
        kind: (300 + fractal(rng, axis, axis, 24.0, reach, fall=0.8), (0.1, 0.1))
        for kind, reach in KINDS.items()
    }
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        real = np.asarray(sample["elevation"], float)
        degrees = float(sample["dy"]), float(sample["dx"])
    north = 111.2 * degrees[0]
    return made | {"mountains": (real, (north, north * np.cos(np.deg2rad(36.6))))}


def paths(heights, step_km, rng):
    """Profiles of all roofs (roofs, points) with their ends, and the towers' heights above sea level."""
    size = np.array(heights.shape)
    extent = (size - 1) * step_km
    tops = rng.random((ROOFS, 6, 2)) * extent
    best = _at(heights, step_km, tops).argmax(axis=1)
    tower = tops[np.arange(ROOFS), best]
    roof = rng.random((ROOFS, 2)) * extent
    while (near := np.hypot(*(roof - tower).T) < 8).any():
        roof[near] = rng.random((near.sum(), 2)) * extent
    length = np.hypot(*(roof - tower).T)
    share = np.linspace(0, 1, int(np.ceil(length.max() / 0.1)) + 1)
    way = tower[:, None] + share[:, None] * (roof - tower)[:, None]
    return earth.Profile(length[:, None] * share, _at(heights, step_km, way), CLUTTER_M)


def _at(heights, step_km, spots):
    return map_coordinates(heights, np.moveaxis(spots / step_km, -1, 0), order=1)


def compared(heights, step_km, seed=5):
    """Field by the profile less field by average terrain, dB, and what is left after the horizon at the
    roof has been counted: two DataFrames (roofs, bands)."""
    profile = paths(heights, np.array(step_km), np.random.default_rng(seed))
    top = profile.ground_m[:, 0] + MAST_M
    haat = np.maximum(top - earth.average_ground_m(profile), -9000)
    length = profile.length_km
    eye = profile.ground_m[:, -1] + ROOF_M
    away = (length[:, None] - profile.distance_km)[:, ::-1]
    angle = earth.clearance_deg(away, profile.ground_m[:, ::-1], eye, top, length)
    found, left = {}, {}
    for band, freq in BANDS.items():
        by_profile = path.profile_dbuv_m(freq, 1, profile, MAST_M, ROOF_M)
        average = path.average_terrain_dbuv_m(freq, 1, length, haat, ROOF_M)
        found[band] = by_profile - average
        left[band] = found[band] - path.clearance_db(freq, angle)
    return pd.DataFrame(found), pd.DataFrame(left)


def roughness_m(profile):
    """Heights exceeded on a tenth less those exceeded on nine tenths of each path."""
    low, high = np.percentile(profile.ground_m, [10, 90], axis=-1)
    return high - low


def table():
    """Mean and scatter by land and band, whole and after the horizon, and the usual roughness."""
    rows = []
    for land, (heights, step_km) in reliefs().items():
        profile = paths(heights, np.array(step_km), np.random.default_rng(5))
        rough = float(np.median(roughness_m(profile)))
        for band, (whole, left) in _columns(*compared(heights, step_km)).items():
            row = dict(land=land, band=band, roughness_m=rough)
            row |= dict(mean_db=whole.mean(), scatter_db=whole.std())
            rows.append(row | dict(left_db=left.mean(), left_scatter_db=left.std()))
    return pd.DataFrame(rows)


def _columns(whole, left):
    return {band: (whole[band].to_numpy(), left[band].to_numpy()) for band in whole}


if __name__ == "__main__":
    print(table().round(2).to_string(index=False))
