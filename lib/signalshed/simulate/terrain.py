"""Invented land: hills from one seed, with ridges, valleys and sounds where the town needs them.

Heights are a sum of octaves. Each octave is a lattice of random numbers smoothed by cubic B-splines,
half as wide as the one before and lower. Named features are added along lines
that the same kind of noise bends, and a soft frame lets the land fall to the sea before the map ends.
Only uniform random numbers and products of matrices are used, and heights are rounded to whole
metres, so that every machine makes the same land.
"""

import functools
from pathlib import Path

import numpy as np
import pandas as pd

KM_PER_DEG = 111.2
"""Length of one degree of latitude: near enough for drawing hills."""

SOUTH_DEG, WEST_DEG = 30, -42
"""The corner of the land, in the open sea."""

KM_PER_DEG_EAST = KM_PER_DEG * np.cos(np.deg2rad(SOUTH_DEG + 0.5))

_PLAIN_M = 75.0
_FRAME_M = 320.0
_FRAME_KM = 6.0


@functools.lru_cache(maxsize=2)
def land(cells=1200, seed=20):
    """Heights in whole metres of invented land, sea 0: (rows, columns) int16, north and west first.

    Parameters: ``cells`` per degree, one degree high and two wide; ``seed``. Read only, since it is kept
    in memory.

    >>> heights = land(cells=60)
    >>> heights.shape, int(heights.min())
    ((61, 121), 0)
    """
    rng = np.random.default_rng(seed)
    north_km = np.arange(cells, -1, -1) / cells * KM_PER_DEG
    east_km = np.arange(2 * cells + 1) / cells * KM_PER_DEG_EAST
    height = _PLAIN_M + fractal(rng, north_km, east_km, 24.0, 150.0, fall=0.8)
    bent_east = east_km[None, :] + fractal(rng, north_km, east_km, 16.0, 5.0, octaves=4)
    bent_north = north_km[:, None] + fractal(rng, north_km, east_km, 16.0, 5.0, octaves=4)
    for row in _relief():
        height += _feature(row, bent_north, bent_east)
    height -= _frame(north_km, east_km, bent_north, bent_east)
    whole = np.rint(np.maximum(height, 0.0)).astype(np.int16)
    whole.flags.writeable = False
    return whole


@functools.cache
def _relief():
    """Named features of the demo town's land."""
    table = pd.read_csv(Path(__file__).parent / "demo" / "relief.csv")
    return list(table.itertuples(index=False))


def hgt_tiles(heights):
    """Heights cut into terrain tiles: a dict from file name to the bytes of the file.

    Parameters: ``heights`` (1201, 2401) as of ``land``: two tiles that share an edge.

    >>> list(hgt_tiles(np.zeros((1201, 2401), np.int16)))
    ['N30W042.hgt', 'N30W041.hgt']
    """
    halves = heights[:, :1201], heights[:, 1200:]
    names = (f"N{SOUTH_DEG}W{-WEST_DEG - column:03d}.hgt" for column in (0, 1))
    return {n: half.astype(">i2").tobytes() for n, half in zip(names, halves, strict=True)}


def fractal(rng, north_km, east_km, widest_km, highest, *, octaves=6, fall=0.6):
    """Smooth noise about 0 on a grid: an array (north, east), in the unit of ``highest``.

    Parameters: ``rng`` a numpy Generator; ``north_km`` and ``east_km`` the axes; ``widest_km`` the
    lattice of the first octave, each later one half of it; ``highest`` the reach of the first
    octave's random numbers, each later one ``fall`` of it; ``octaves`` how many.

    >>> noise = fractal(np.random.default_rng(1), np.arange(5.0), np.arange(8.0), 4.0, 100.0)
    >>> noise.shape
    (5, 8)
    """
    total = np.zeros((north_km.size, east_km.size))
    for k in range(octaves):
        rows, columns = (_spline(axis, widest_km / 2**k) for axis in (north_km, east_km))
        lattice = 2 * rng.random((rows.shape[1], columns.shape[1])) - 1
        total += highest * fall**k * (rows @ lattice @ columns.T)
    return total


def _spline(x_km, spacing_km):
    """Cubic B-spline weights (points, knots) on knots ``spacing_km`` apart."""
    at = (x_km - x_km.min()) / spacing_km
    knots = np.arange(-1, int(np.ceil(at.max())) + 2)
    away = np.abs(at[:, None] - knots)
    near = 2 / 3 - away**2 + away**3 / 2
    far = (2 - away) ** 3 / 6
    return np.where(away < 1, near, np.where(away < 2, far, 0.0))


def _feature(row, north_km, east_km):
    """A rise (ridge) or fall (valley, sea), bell-shaped across a line between two points."""
    y = (np.array([row.latitude_deg, row.to_latitude_deg]) - SOUTH_DEG) * KM_PER_DEG
    x = (np.array([row.longitude_deg, row.to_longitude_deg]) - WEST_DEG) * KM_PER_DEG_EAST
    run = np.array([x[1] - x[0], y[1] - y[0]])
    dx, dy = east_km - x[0], north_km - y[0]
    share = np.clip((dx * run[0] + dy * run[1]) / (run @ run), 0, 1)
    away_km2 = np.square(dx - share * run[0]) + np.square(dy - share * run[1])
    sign = 1.0 if row.kind == "ridge" else -1.0
    return sign * row.height_m * np.exp2(-away_km2 / row.half_width_km**2)


def _frame(north_km, east_km, bent_north, bent_east):
    """What to take off, in metres, so that the land ends before the map does."""
    edges = [
        np.minimum(bent - axis.min(), axis.max() - bent)
        for axis, bent in ((north_km, bent_north), (east_km, bent_east))
    ]
    return _FRAME_M * np.exp(-np.square(np.maximum(np.minimum(*edges), 0.0) / _FRAME_KM))
