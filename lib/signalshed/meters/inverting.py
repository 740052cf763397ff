"""Reading a meter's curve backward: from what stands on the screen to dB."""

import numpy as np
from scipy.special import ndtr

from ..units import SDS_TO_90
from .drawn import COARSE_DB, LOCK_SD_DB
from .likelihood import hats

GRID_STEP_DB = 0.1
BEYOND_DB = 15.0


def inverted(curve, reading, *, with_curve):
    """Middle, 90 % ends and "is it a bound" for distinct readings (n,) on the scale.

    Every margin on a grid is weighted by the probability of showing this reading, flat before
    that. All readings from ``bound_from`` on are one bound: at its middle the meter would show as
    much in every second case, at its low end in one of twenty.
    """
    if curve.drawn is not None:
        return curve.drawn.inverted(reading)
    grid, mean, sd = _on_grid(curve, with_curve)
    step = curve.scale.step
    above = (reading[:, None] - 0.5 * step - mean) / sd
    below = (reading[:, None] + 0.5 * step - mean) / sd
    weight = ndtr(below) - ndtr(above)
    far = np.exp(-0.5 * ((reading[:, None] - mean) / sd) ** 2) + 1e-300
    weight = np.where(weight.sum(axis=1, keepdims=True) > 1e-9, weight, far)
    if with_curve and np.isfinite(curve.full_by_db):
        # Where the ladder saw the meter full, and above, it cannot show less.
        weight = weight * (grid <= curve.full_by_db + 1.0)
    share = np.cumsum(weight, axis=1)
    share /= share[:, -1:]
    low, middle, high = (_crossing(grid, share, q) for q in (0.05, 0.5, 0.95))
    reach = np.maximum.accumulate(ndtr((mean - curve.bound_from) / sd))[None, :]
    edge, edge_low = (_crossing(grid, reach, q)[0] for q in (0.5, 0.05))
    edge = min(edge, curve.full_by_db)
    edge_low = min(edge_low, edge - SDS_TO_90 * LOCK_SD_DB)
    bound = reading >= curve.bound_from
    return (
        np.where(bound, edge, middle),
        (np.where(bound, edge_low, low), np.where(bound, np.inf, high)),
        bound,
    )


def _on_grid(curve, with_curve):
    """Margins, the curve there, and the sd of a reading there (its own, or with the curve's)."""
    # A picture means a margin above 0, up to the steadiness of the lock, whatever the curve.
    start = -SDS_TO_90 * LOCK_SD_DB if with_curve and curve.zero_known else curve.knots_db[0] - 2
    start = GRID_STEP_DB * np.floor(start / GRID_STEP_DB)
    grid = np.arange(start, curve.knots_db[-1] + BEYOND_DB, GRID_STEP_DB)
    basis = hats(curve.knots_db, grid, extend=True)
    # A curve that is itself uncertain may be full early or late, so its uncapped height counts: capped,
    # all the uncertain margins beyond the last rung would pass for any reading below.
    top = np.inf if with_curve else curve.ceiling
    mean = np.minimum(np.maximum.accumulate(basis @ curve.reading), top)
    variance = curve.flicker**2 + 1e-6 * (curve.reading[-1] - curve.reading[0]) ** 2
    if with_curve:
        variance = variance + np.maximum(((basis @ curve.covariance) * basis).sum(axis=1), 0)
    return grid, mean, np.sqrt(variance) + np.zeros(grid.size)


def brackets(curve, reading):
    """Low and high end (equal for a figure), noise, shared errors and their tilt by reading."""
    if curve.drawn is not None:
        return curve.drawn.brackets(reading)
    middle, (low, high), full = inverted(curve, reading, with_curve=False)
    spread = np.where(full, middle - low, (high - low) / 2) / SDS_TO_90
    steps = np.stack([reading - 0.5 * curve.scale.step, reading + 0.5 * curve.scale.step])
    edges = np.interp(steps, *strictly_rising(curve))
    edges[0] = np.where(
        reading <= curve.reading[0] + 0.5 * curve.scale.step, edges[0] - 2, edges[0]
    )
    if curve.zero_known:
        edges = np.maximum(edges, 0.0)
    slope = slope_at(curve, middle, spread)
    ends = np.maximum(curve.flicker / slope, 0.3)
    width = edges[1] - edges[0]
    coarse = ~full & (width > COARSE_DB) & (width > 3 * ends)
    noise = np.where(coarse, ends, np.maximum(spread, 0.05))
    low = np.where(coarse, edges[0], middle)
    high = np.where(full, np.inf, np.where(coarse, edges[1], middle))
    centre = np.where(coarse, edges.mean(axis=0), middle)
    around = np.where(coarse, np.maximum(width / 2, 1.0), spread)
    down, up = (np.clip(centre + side, *curve.knots_db[[0, -1]]) for side in (-1, 1))
    tilt = moved(curve, up, around) - moved(curve, down, around)
    tilt = tilt / np.maximum(up - down, 0.5)[:, None]
    tilt[full] = 0.0
    return low, high, noise, moved(curve, centre, around), tilt


def moved(curve, margin_db, spread_db):
    """What one sd of each of the curve's errors does to a reading at these margins (n, k)."""
    slope = slope_at(curve, margin_db, spread_db)
    return -hats(curve.knots_db, margin_db) @ curve.errors / slope[:, None]


def slope_at(curve, margin_db, spread_db):
    """Units per dB over the width of the reading's own noise, at least 1 dB; above 0."""
    half = np.clip(spread_db, 1.0, 6.0)
    ends = [np.interp(margin_db + s * half, curve.knots_db, curve.reading) for s in (-1, 1)]
    reach = [np.clip(margin_db + s * half, *curve.knots_db[[0, -1]]) for s in (-1, 1)]
    floor = (curve.reading[-1] - curve.reading[0]) / np.ptp(curve.knots_db) / 20
    run = np.maximum(reach[1] - reach[0], 0.1)
    return np.maximum((ends[1] - ends[0]) / run, floor)


def strictly_rising(curve):
    """Reading and margin of the knots, flat pieces tilted by a hair so that both can be read off."""
    tilt = 1e-6 * (curve.reading[-1] - curve.reading[0]) * np.arange(curve.knots_db.size)
    return curve.reading + tilt, curve.knots_db


def _crossing(grid, rising, level):
    """The margin at which each row of ``rising`` reaches ``level``."""
    return grid[np.argmax(rising >= level, axis=1)]
