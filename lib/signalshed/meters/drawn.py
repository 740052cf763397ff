"""Curves drawn through a ladder, read: from what stands on the screen to dB, by all of them at once."""

import functools
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from ..belief.normals import quantiles
from ..units import SDS_TO_90
from . import full
from .likelihood import hats, slopes

LOCK_SD_DB = 0.3
COARSE_DB = 1.5
CLEAR = 3.0
"""So many flickers below the full meter a reading counts as a value, where few looks saw it full."""
FEW_LOOKS = 3
SMALLEST_POWER = 1e-4


@dataclass(frozen=True, eq=False)
class Drawn:
    """Curves as good by what is known, each the margin at which a reading comes to be shown.

    ``reading`` (k,) knots; ``margin_db`` (D, k) there; ``noise_db`` and ``flicker`` (D,) sds before
    the curve and, in units, after it; ``step`` of the display; ``size`` of the scale; ``ceiling`` the
    reading of the full meter, seen so often in ``looks``; ``zero_known`` as in MeterCurve;
    ``values_below`` from where readings are bounds, as many at the ceiling tell it; None: too few.
    """

    reading: np.ndarray
    margin_db: np.ndarray
    noise_db: np.ndarray
    flicker: np.ndarray
    step: float
    size: float
    ceiling: float
    looks: int
    zero_known: bool
    values_below: float | None = None

    def at(self, reading):
        """Margins (D, n) at which ``reading`` (n,) comes to be shown; below the lowest, near 0."""
        reading = np.asarray(reading, dtype=float)
        inside = self.margin_db @ hats(self.reading, reading).T
        lowest = np.maximum(self.margin_db[:, :1], 0.05)
        first = np.diff(self.margin_db[:, :2], axis=1) / (self.reading[1] - self.reading[0])
        under = np.maximum(self.reading[0] - reading, 0.0)
        return inside - lowest + lowest * np.exp(-under * first / lowest)

    def looks_at(self, reading):
        """Margin, sd of a look without rounding, and dB of the display's step, (D, n) each."""
        low, high = self.at(reading - self.step / 2), self.at(reading + self.step / 2)
        slope = self.margin_db @ slopes(self.reading, reading, self.step).T
        own = np.sqrt(self.noise_db[:, None] ** 2 + (self.flicker[:, None] * slope) ** 2)
        return (low + high) / 2, own, high - low

    def as_noted_in(self, reading):
        """These curves as a log of readings (n,) is to be read: its coarser step, its full meter."""
        below = reading[reading < self.ceiling - self.step / 2]
        here = replace(self, step=max(self.step, step_of(below, self.step)))
        here = replace(here, ceiling=full.ceiling(here, reading))
        told = full.values_below(here, reading)
        return here if told is None else replace(here, values_below=told)

    @functools.cached_property
    def bound_from(self):
        """Readings from here on are bounds: they come from a full meter too often to be values."""
        if self.values_below is not None:
            return self.values_below
        last = self.ceiling - self.step / 2
        most = last - CLEAR * self._most_flicker() if self.looks < FEW_LOOKS else last
        count = min(int((self.ceiling - self.reading[0]) / self.step), 60)
        reading = self.ceiling - self.step * np.arange(count, -1, -1.0)
        at_top, at_best = self._chances(reading)
        likely = at_top.mean(axis=0) > 0.05 * at_best.mean(axis=0)
        first = reading[np.argmax(likely)] - self.step / 2
        return float(min(most, first))

    @functools.cached_property
    def zero_sd_db(self):
        """Sd of what all margins of a curve have in common: the bracket of the ladder's zero."""
        low, high = np.quantile(self.margin_db.mean(axis=1), [0.16, 0.84])
        return float((high - low) / 2)

    def _most_flicker(self):
        """Flicker in units if all noise were flicker, up to a hundredth of the scale.

        Without looks at a full meter it cannot be told from noise in dB.
        """
        slope = (self.margin_db[:, -1] - self.margin_db[:, 0]) / np.ptp(self.reading)
        return min(np.median(np.hypot(self.flicker, self.noise_db / slope)), 0.01 * self.size)

    def _chances(self, reading):
        """Chance (D, n) of each reading from a full meter, and at the margin that shows it most."""
        _, own, width = self.looks_at(reading)
        edge, u = self.ceiling - reading, self.flicker[:, None]
        low = ndtr((edge + self.step / 2) / u)
        high = np.where(edge < self.step / 2, 0.0, ndtr((edge - self.step / 2) / u))
        half = width / 2 / own
        return low - high, low * ndtr(half) - high * ndtr(-half)

    @property
    def full_at_db(self):
        """The margin from which readings are only bounds, dB."""
        return float(np.median(self.at(np.array([self.bound_from]))))

    def inverted(self, reading):
        """Middle, 90 % ends and "is it a bound" for readings (n,): the even mixture of all curves."""
        middle, own, width = self.looks_at(reading)
        sd = np.sqrt(own**2 + width**2 / 12)
        least = -SDS_TO_90 * LOCK_SD_DB if self.zero_known else -np.inf
        low, value, high = quantiles(middle, sd, (0.05, 0.5, 0.95), least=least)
        bound = reading >= self.bound_from
        if bound.any():
            edge, sd, _ = self.looks_at(np.array([self.bound_from]))
            edge_low, edge = quantiles(edge, sd, (0.05, 0.5), least=least)
            value, low = np.where(bound, edge, value), np.where(bound, edge_low, low)
        return value, (low, np.where(bound, np.inf, high)), bound

    def brackets(self, reading):
        """Low and high end (equal for a figure), noise, shared errors and their tilt by reading."""
        bound = reading >= self.bound_from
        asked = np.where(bound, self.bound_from, reading)
        middle, own, width = self.looks_at(asked)
        own, width = np.median(own, axis=0), np.median(width, axis=0)
        value = np.median(middle, axis=0)
        edges = np.median([self.at(asked + s * self.step / 2) for s in (-1, 1)], axis=1)
        coarse = ~bound & (width > COARSE_DB) & (width > 2 * own)
        if self.zero_known:
            edges = np.maximum(edges, 0.0)
            edges[0, asked < self.reading[0] + self.step] = 0.0
        value = np.where(coarse, edges.mean(axis=0), value)
        noise = np.where(coarse | bound, own, np.hypot(own, width / np.sqrt(12)))
        low = np.where(coarse, edges[0], value)
        high = np.where(bound, np.inf, np.where(coarse, edges[1], value))
        shared, tilt = self._shared(asked, value)
        tilt[bound] = 0.0
        return low, high, np.maximum(noise, 0.05), shared, tilt

    def _shared(self, reading, value):
        """What one sd of each independent error does to each reading (n, k), and its tilt."""
        slope = np.median(self.margin_db @ slopes(self.reading, reading, self.step).T, axis=0)
        half = np.maximum(self.step, 1.0 / np.maximum(slope, 1e-3 / self.step))
        up = np.minimum(reading + half, self.reading[-1])
        down = np.maximum(np.minimum(reading - half, up - half / 2), self.reading[0])
        here, above, below = (self._apart(r) for r in (reading, up, down))
        left, size, _ = np.linalg.svd(here, full_matrices=False)
        kept = left[:, size**2 > SMALLEST_POWER * size[0] ** 2]
        run = np.median(self.at(up) - self.at(down), axis=0)
        shared, tilt = here.T @ kept, (above - below).T @ kept
        return shared, tilt / np.maximum(run, 0.5)[:, None]

    def _apart(self, reading):
        """Draws about their mean at ``reading`` (D, n), over the root of their number.

        The tails are cut: one long one would rule all squares.
        """
        margin = self.at(reading)
        margin = np.clip(margin, *np.quantile(margin, [0.025, 0.975], axis=0))
        return (margin - margin.mean(axis=0)) / np.sqrt(len(margin))


def step_of(reading, scale_step):
    """The step in which a display moves, by what it showed (n,): tens, fives, the scale's, or finer.

    Tens and fives need three different readings, and so many that chance makes it in one of a thousand.
    """
    reading = np.asarray(reading, dtype=float)
    if np.unique(reading).size < 3:
        return scale_step
    for times in (10, 5):
        if times**-reading.size < 0.001 and _multiples(reading, times * scale_step):
            return times * scale_step
    for finer in (1.0, 0.5, 0.1, 0.01):
        if _multiples(reading, finer * scale_step):
            return finer * scale_step
    return scale_step


def _multiples(reading, step):
    return bool(np.all(np.abs(reading / step - np.round(reading / step)) < 1e-6))
