"""The estimate: bounds and wild readings as normal sites, unknown sds averaged, intervals as mixtures.

Bounds (ceiling, no lock) and the small wide component for wild readings are not normal. Each such
observation is replaced by the normal one that gives the same mean and variance in the company of all
others (expectation propagation). The four sds are not fixed at their best values: differences are
averaged over sixty-four sets of them, weighted by probability, which gives intervals as wide as
Student's t where there are few visits.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr
from scipy.stats import norm, qmc

from .model import SDS, Design, prior, solve

STEP = 0.15
POINTS = 64
WIDER = 1.4


@dataclass(frozen=True, eq=False)
class Estimate:
    """Differences to the baseline with everything unknown averaged.

    ``mean_db``, ``low_db``, ``high_db`` (antennas, channels), 90 % intervals; ``band_...`` the same
    (antennas, bands); ``sds`` (4,) most probable sds in order residual, remount, interaction, drift;
    ``wild`` (n,) probability that an observation is wild.
    """

    mean_db: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray
    band_mean_db: np.ndarray
    band_low_db: np.ndarray
    band_high_db: np.ndarray
    sds: np.ndarray
    wild: np.ndarray


def estimate(rows):
    """The Estimate of a Rows."""
    design = Design.of(rows)
    sites = _Sites(design)
    centre = np.log([prior(f"{k}_median_db") for k in SDS])
    for _ in range(4):
        sites = sites.settled(centre)
        moved, curvature = _mode(sites, centre)
        done = np.abs(moved - centre).max() < 0.05
        centre = moved
        if done:
            break
    sites = sites.settled(centre)
    points, weight = _spread_out(sites, centre, curvature)
    return _averaged(sites, points, weight, np.exp(centre))


@dataclass(frozen=True, eq=False)
class _Sites:
    """Normal stand-ins of the observations, (C, R) each; ``share``: chance of being sound."""

    design: Design
    target: np.ndarray = None
    weight: np.ndarray = None
    share: np.ndarray = None

    def __post_init__(self):
        if self.target is not None:
            return
        d, rows = self.design, self.design.rows
        measured = d.padded(rows.status == "measured").astype(bool)
        object.__setattr__(self, "target", d.padded(rows.value_db - prior("level_centre_db")))
        object.__setattr__(self, "weight", np.where(measured, 1.0, 1e-4))
        object.__setattr__(self, "share", np.where(measured, 1.0, -1.0))

    def solve(self, log_sds):
        noise = self.design.padded(self.design.rows.noise_db)
        log_sds = np.atleast_2d(log_sds)
        return solve(self.design, log_sds, self.target, self.weight, noise, self.share)

    def settled(self, log_sds, rounds=12):
        """Sites brought into agreement with the posterior at one set of sds."""
        here = self
        for _ in range(rounds):
            mean, variance = (a[0] for a in here.solve(log_sds).predictors())
            fresh, change = here._renewed(mean, variance, np.exp(log_sds[0]))
            here = fresh
            if change < 0.02:
                break
        return here

    def _renewed(self, mean, variance, residual_sd):
        d, rows = self.design, self.design.rows
        noise = np.hypot(residual_sd, d.padded(rows.noise_db, 1.0))
        bound = self.share < 0
        own = np.where(bound, self.weight, self.weight / noise**2) * d.real
        rest = np.maximum(1 - own * variance, 0.02)
        cavity_variance = variance / rest
        cavity = (mean - variance * own * self.target) / rest
        value = d.padded(rows.value_db - prior("level_centre_db"))
        sign = d.padded(np.where(rows.status == "less than", -1.0, 1.0), 1.0)
        new_mean, new_variance, share = _tilted(
            cavity, cavity_variance, value, noise, np.where(bound, sign, 0.0)
        )
        precision = np.clip(1 / new_variance - 1 / cavity_variance, 1e-6, 1 / noise**2)
        target = (new_mean / new_variance - cavity / cavity_variance) / precision
        target = np.where(precision > 2e-6, target, mean)
        target = np.where(bound, np.clip(target, value - 60, value + 60), value)
        wild = noise**2 / (noise**2 + prior("wild_sd_db") ** 2)
        weight = np.where(bound, precision, share + (1 - share) * wild)
        # Half a step at a time: parallel updates of correlated sites overshoot.
        weight = 0.3 * self.weight + 0.7 * weight
        target = 0.3 * self.target + 0.7 * target
        change = np.abs((weight - self.weight) / (self.weight + 0.05))[d.real].max()
        share = np.where(bound, -1.0, share)
        return _Sites(d, target, weight, share), change


def _tilted(mean, variance, value, noise, sign):
    """Mean and variance of a normal belief after one observation, and its chance of being sound.

    ``sign`` 0: a measured value; 1: at least ``value``; -1: less than ``value``. An observation is
    sound with sd ``noise`` or, with a small share, wild with a large sd.
    """
    share = prior("wild_share")
    parts = []
    for sd, log_share in (
        (noise, np.log1p(-share)),
        (np.hypot(noise, prior("wild_sd_db")), np.log(share)),
    ):
        total = variance + sd**2
        away = (value - mean) / np.sqrt(total)
        t = -sign * away
        log_bound = log_ndtr(t)
        ratio = np.exp(-0.5 * t**2 - 0.5 * np.log(2 * np.pi) - log_bound)
        pulled = np.where(sign == 0, away, sign * ratio) * variance / np.sqrt(total)
        shrunk = np.where(sign == 0, 1.0, ratio * (ratio + t)) * variance**2 / total
        log = np.where(sign == 0, -0.5 * away**2 - 0.5 * np.log(total), log_bound) + log_share
        parts.append((log, mean + pulled, variance - shrunk))
    chance = 1 / (1 + np.exp(np.clip(parts[1][0] - parts[0][0], -700, 700)))
    new = chance * parts[0][1] + (1 - chance) * parts[1][1]
    apart = chance * (1 - chance) * (parts[0][1] - parts[1][1]) ** 2
    return new, chance * parts[0][2] + (1 - chance) * parts[1][2] + apart, chance


def _mode(sites, centre, rounds=8):
    """Most probable log sds and the curvature (4, 4) there, by Newton's method on a stencil."""
    size = centre.size
    unit = STEP * np.eye(size)
    pairs = [(i, j) for i in range(size) for j in range(i)]
    moves = np.vstack([np.zeros((1, size)), unit, -unit, [unit[i] + unit[j] for i, j in pairs]])
    for _ in range(rounds):
        log = sites.solve(centre + moves).log_probability
        plus, minus = log[1 : size + 1], log[size + 1 : 2 * size + 1]
        slope = (plus - minus) / (2 * STEP)
        bend = np.diag((plus + minus - 2 * log[0]) / STEP**2)
        for k, (i, j) in enumerate(pairs):
            both = log[2 * size + 1 + k] - plus[i] - plus[j] + log[0]
            bend[i, j] = bend[j, i] = both / STEP**2
        curvature = _positive(-bend)
        move = np.clip(np.linalg.solve(curvature, slope), -0.7, 0.7)
        centre = centre + move
        if np.abs(move).max() < 0.05:
            break
    return centre, curvature


def _positive(matrix):
    """The matrix with eigenvalues raised to at least 0.5: no sd is vaguer than a factor of four."""
    values, vectors = np.linalg.eigh((matrix + matrix.T) / 2)
    return (vectors * np.maximum(values, 0.5)) @ vectors.T


def _spread_out(sites, centre, curvature):
    """Sets of log sds round the mode and their weights, an even net stretched to the posterior."""
    net = norm.ppf(qmc.Sobol(centre.size, scramble=True, seed=1).random(POINTS))
    root = np.linalg.cholesky(np.linalg.inv(curvature)) * WIDER
    points = centre + net @ root.T
    log = np.concatenate([
        sites.solve(part).log_probability for part in np.array_split(points, 4)
    ])  # fmt: skip
    log = log + 0.5 * (net**2).sum(axis=1)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    keep = weight > 1e-4
    return points[keep], weight[keep] / weight[keep].sum()


def _averaged(sites, points, weight, sds):
    cells, bands = [], []
    for part in np.array_split(points, max(1, len(points) // 16)):
        solution = sites.solve(part)
        cells.append(solution.differences())
        bands.append(solution.band_differences())
    ends = []
    for found in (cells, bands):
        mean, variance = (np.concatenate(parts) for parts in zip(*found, strict=True))
        spread = np.sqrt(np.maximum(variance, 1e-12))
        average = np.tensordot(weight, mean, 1)
        ends += [average, *(_quantile(mean, spread, weight, q) for q in (0.05, 0.95))]
    rows = sites.design.rows
    wild = 1 - np.abs(sites.share[sites.design.where])
    return Estimate(*ends, sds, np.where(rows.status == "measured", wild, 0.0))


def _quantile(mean, spread, weight, level):
    """Quantile of a mixture of normals along the first axis, by bisection."""
    low = (mean - 6 * spread).min(axis=0)
    high = (mean + 6 * spread).max(axis=0)
    for _ in range(40):
        middle = (low + high) / 2
        below = np.tensordot(weight, ndtr((middle - mean) / spread), 1) < level
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return (low + high) / 2
