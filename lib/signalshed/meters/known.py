"""A curve on knots, known but for normal errors, read backward: of a scale in dB, or a guessed one."""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from ..units import SDS_TO_90
from .display import Scale
from .drawn import COARSE_DB, LOCK_SD_DB
from .likelihood import hats

GRID_STEP_DB = 0.1
BEYOND_DB = 15.0
CLEAR = 2.5
"""So many flickers below the full meter a reading counts as a value."""


@dataclass(frozen=True, eq=False)
class Known:
    """A rising curve on knots: ``reading`` (k,) at the margins ``knots_db`` (k,).

    ``covariance`` (k, k) of its errors; ``flicker`` sd of one look, in units of the ``scale``;
    ``ceiling`` the reading at which the meter is full; ``full_by_db`` margin at which it is, if it was
    seen full (inf: never).
    """

    scale: Scale
    knots_db: np.ndarray
    reading: np.ndarray
    covariance: np.ndarray
    flicker: float
    ceiling: float
    full_by_db: float = np.inf
    zero_known = True

    def as_noted_in(self, reading):
        """This curve: a log of readings (n,) changes nothing in how it is read."""
        return self

    @functools.cached_property
    def errors(self):
        """Square root (k, m) of the covariance, tiny directions dropped."""
        values, vectors = np.linalg.eigh(self.covariance)
        keep = values > 1e-4 * values.max()
        return vectors[:, keep] * np.sqrt(values[keep])

    @property
    def zero_sd_db(self):
        """Sd of what all margins have in common: the zero of a scale in dB; 0 where it is a guess."""
        per_unit = self.scale.db_per_unit
        return float(np.sqrt(self.covariance[0, 0]) * per_unit) if per_unit else 0.0

    @property
    def bound_from(self):
        """Readings from here on are bounds: they may well be those of a full meter."""
        return min(self.ceiling, self.reading[-1]) - 0.5 * self.scale.step - CLEAR * self.flicker

    @property
    def full_at_db(self):
        """The margin from which readings are only bounds, dB."""
        edge = np.interp(self.bound_from, *self._strictly_rising)
        return float(min(edge, self.full_by_db))

    def inverted(self, reading, with_curve=True):
        """Middle, 90 % ends and "is it a bound" for distinct readings (n,) on the scale.

        Every margin on a grid is weighted by the probability of showing this reading, flat before
        that. All readings from ``bound_from`` on are one bound: at its middle the meter would show as
        much in every second case, at its low end in one of twenty.
        """
        grid, mean, sd = self._on_grid(with_curve)
        step = self.scale.step
        above = (reading[:, None] - 0.5 * step - mean) / sd
        below = (reading[:, None] + 0.5 * step - mean) / sd
        weight = ndtr(below) - ndtr(above)
        far = np.exp(-0.5 * ((reading[:, None] - mean) / sd) ** 2) + 1e-300
        weight = np.where(weight.sum(axis=1, keepdims=True) > 1e-9, weight, far)
        if with_curve and np.isfinite(self.full_by_db):
            # Where the ladder saw the meter full, and above, it cannot show less.
            weight = weight * (grid <= self.full_by_db + 1.0)
        share = np.cumsum(weight, axis=1)
        share /= share[:, -1:]
        low, middle, high = (_crossing(grid, share, q) for q in (0.05, 0.5, 0.95))
        reach = np.maximum.accumulate(ndtr((mean - self.bound_from) / sd))[None, :]
        edge, edge_low = (_crossing(grid, reach, q)[0] for q in (0.5, 0.05))
        edge = min(edge, self.full_by_db)
        edge_low = min(edge_low, edge - SDS_TO_90 * LOCK_SD_DB)
        bound = reading >= self.bound_from
        ends = np.where(bound, edge_low, low), np.where(bound, np.inf, high)
        return np.where(bound, edge, middle), ends, bound

    def _on_grid(self, with_curve):
        """Margins, the curve there, and the sd of a reading there (its own, or with the curve's)."""
        # A picture means a margin above 0, up to the steadiness of the lock, whatever the curve.
        start = -SDS_TO_90 * LOCK_SD_DB if with_curve else self.knots_db[0] - 2
        start = GRID_STEP_DB * np.floor(start / GRID_STEP_DB)
        grid = np.arange(start, self.knots_db[-1] + BEYOND_DB, GRID_STEP_DB)
        basis = hats(self.knots_db, grid, extend=True)
        # A curve that is itself uncertain may be full early or late, so its uncapped height counts:
        # capped, all the uncertain margins beyond the last rung would pass for any reading below.
        top = np.inf if with_curve else self.ceiling
        mean = np.minimum(np.maximum.accumulate(basis @ self.reading), top)
        variance = self.flicker**2 + 1e-6 * (self.reading[-1] - self.reading[0]) ** 2
        if with_curve:
            variance = variance + np.maximum(((basis @ self.covariance) * basis).sum(axis=1), 0)
        return grid, mean, np.sqrt(variance) + np.zeros(grid.size)

    def brackets(self, reading):
        """Low and high end (equal for a figure), noise, shared errors and their tilt by reading."""
        middle, (low, high), full = self.inverted(reading, with_curve=False)
        spread = np.where(full, middle - low, (high - low) / 2) / SDS_TO_90
        half = 0.5 * self.scale.step
        edges = np.interp(np.stack([reading - half, reading + half]), *self._strictly_rising)
        edges[0] = np.where(reading <= self.reading[0] + half, edges[0] - 2, edges[0])
        edges = np.maximum(edges, 0.0)
        ends = np.maximum(self.flicker / self._slope_at(middle, spread), 0.3)
        width = edges[1] - edges[0]
        coarse = ~full & (width > COARSE_DB) & (width > 3 * ends)
        noise = np.where(coarse, ends, np.maximum(spread, 0.05))
        low = np.where(coarse, edges[0], middle)
        high = np.where(full, np.inf, np.where(coarse, edges[1], middle))
        centre = np.where(coarse, edges.mean(axis=0), middle)
        around = np.where(coarse, np.maximum(width / 2, 1.0), spread)
        down, up = (np.clip(centre + side, *self.knots_db[[0, -1]]) for side in (-1, 1))
        tilt = self._moved(up, around) - self._moved(down, around)
        tilt = tilt / np.maximum(up - down, 0.5)[:, None]
        tilt[full] = 0.0
        return low, high, noise, self._moved(centre, around), tilt

    def _moved(self, margin_db, spread_db):
        """What one sd of each of the curve's errors does to a reading at these margins (n, k)."""
        slope = self._slope_at(margin_db, spread_db)
        return -hats(self.knots_db, margin_db) @ self.errors / slope[:, None]

    def _slope_at(self, margin_db, spread_db):
        """Units per dB over the width of the reading's own noise, at least 1 dB; above 0."""
        half = np.clip(spread_db, 1.0, 6.0)
        low, high = (np.clip(margin_db + s * half, *self.knots_db[[0, -1]]) for s in (-1, 1))
        rise = np.interp(high, self.knots_db, self.reading) - np.interp(
            low, self.knots_db, self.reading
        )
        floor = (self.reading[-1] - self.reading[0]) / np.ptp(self.knots_db) / 20
        return np.maximum(rise / np.maximum(high - low, 0.1), floor)

    @property
    def _strictly_rising(self):
        """Reading and margin of the knots, flat pieces tilted by a hair so that both can be read off."""
        tilt = 1e-6 * (self.reading[-1] - self.reading[0]) * np.arange(self.knots_db.size)
        return self.reading + tilt, self.knots_db


def _crossing(grid, rising, level):
    """The margin at which each row of ``rising`` reaches ``level``."""
    return grid[np.argmax(rising >= level, axis=1)]
