"""The estimate: bounds and wild readings as normal sites, unknown sds averaged, intervals as mixtures.

Bounds (ceiling, no lock) and the small wide component for wild readings are not normal. Each such
observation is replaced by the normal one that gives the same mean and variance in the company of all
others (expectation propagation). The four sds are not fixed at their best values: differences are
averaged over sixty-four sets of them, weighted by probability, which gives intervals as wide as
Student's t where there are few visits.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..belief.normals import cloud, log_between, quantiles
from .model import SDS, Design, prior, solve

STEP = 0.15
POINTS = 64
WIDER = 1.4


class Ends(NamedTuple):
    """Differences to the baseline (antennas, channels or bands), dB: mean, ends of a 90 % interval."""

    mean_db: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray


@dataclass(frozen=True, eq=False)
class Estimate:
    """Differences to the baseline with everything unknown averaged.

    ``cells`` Ends by channel, ``bands`` by band; ``sds`` (4,) most probable sds in order residual,
    remount, interaction, drift; ``wild`` (channels, visits) probability that an observation is wild.
    """

    cells: Ends
    bands: Ends
    sds: np.ndarray
    wild: np.ndarray


def estimate(prepared):
    """The Estimate of (share, Rows) pairs, each as good by what is known; one pair is usual."""
    found = [(share, _mixture(rows)) for share, rows in prepared]
    weight = np.concatenate([share * one.weight for share, one in found])
    parts = zip(*((one.cells, one.bands) for _, one in found), strict=True)
    cells, bands = (_ends(*_joined(several), weight) for several in parts)
    return Estimate(cells, bands, found[0][1].sds, found[0][1].wild)


def _joined(several):
    """Pairs of mean and variance, one after another along their first axis."""
    return map(np.concatenate, zip(*several, strict=True))


class _Mixture(NamedTuple):
    """Normal differences for F sets of sds: mean and variance (F, antennas, channels) of ``cells``, of
    ``bands`` the same; ``weight`` (F,); most probable ``sds``; ``wild`` as in Estimate."""

    cells: tuple
    bands: tuple
    weight: np.ndarray
    sds: np.ndarray
    wild: np.ndarray


def _mixture(rows):
    design = Design.of(rows)
    sites = _Sites.first(design)
    centre = np.log([prior(f"{k}_median_db") for k in SDS])
    for _ in range(4):
        sites = sites.settled(centre)
        moved, curvature = _mode(sites, centre)
        done = np.abs(moved - centre).max() < 0.05
        centre = moved
        if done:
            break
    return _averaged(sites.settled(centre), centre, curvature)


@dataclass(frozen=True, eq=False)
class _Sites:
    """Normal stand-ins of the observations, (C, V) each; ``share``: chance of being sound."""

    design: Design
    target: np.ndarray
    weight: np.ndarray
    share: np.ndarray

    @property
    def wild_share(self):
        """How many measured values are wild, as far as is known by now: usual readings and these."""
        told, usual = self.share >= 0, prior("wild_usual_readings")
        found = (1 - self.share[told]).sum() + usual * prior("wild_share")
        return found / (told.sum() + usual)

    @classmethod
    def first(cls, design):
        """Every measured value sound, every bound nearly silent."""
        rows = design.rows
        low, high = (end - prior("level_centre_db") for end in (rows.low_db, rows.high_db))
        middle = np.where(np.isinf(low), high, np.where(np.isinf(high), low, (low + high) / 2))
        closed = np.isfinite(low) & np.isfinite(high)
        gentle = np.where(closed, 12 / (np.where(closed, high - low, 1.0) + 3) ** 2, 1e-4)
        weight = np.where(rows.kind == 1, 1.0, np.where(rows.kind == 2, gentle, 0.0))
        target = np.where(rows.kind > 0, middle, 0.0)
        return cls(design, target, weight, np.where(rows.kind == 1, 1.0, -1.0))

    def solve(self, log_sds):
        """The Solution for sets of log sds (F, 4) or one (4,), with these sites."""
        return solve(self.design, np.atleast_2d(log_sds), self.target, self.weight, self.share)

    def settled(self, log_sds, rounds=12):
        """Sites brought into agreement with the posterior at one set of sds."""
        here = self
        for _ in range(rounds):
            here, change = here._renewed(*here.solve(log_sds).predictors(), np.exp(log_sds[0]))
            if change < 0.02:
                break
        return here

    def _renewed(self, mean, variance, residual_sd):
        rows = self.design.rows
        noise = np.hypot(residual_sd, rows.noise_db)
        bound = rows.kind > 1
        own = np.where(bound, self.weight, self.weight / noise**2)
        rest = np.maximum(1 - own * variance, 0.02)
        cavity_variance = variance / rest
        cavity = (mean - variance * own * self.target) / rest
        ends = rows.low_db - prior("level_centre_db"), rows.high_db - prior("level_centre_db")
        new_mean, new_variance, share = _tilted(
            cavity, cavity_variance, ends, noise, self.wild_share
        )
        precision = np.clip(1 / new_variance - 1 / cavity_variance, 1e-6, 1 / noise**2)
        target = (new_mean / new_variance - cavity / cavity_variance) / precision
        target = np.where(precision > 2e-6, target, mean)
        target = np.where(bound, np.clip(target, -100, 100), self.target)
        wild = noise**2 / (noise**2 + prior("wild_sd_db") ** 2)
        weight = np.where(bound, precision, share + (1 - share) * wild)
        # Not all the way at once: parallel updates of correlated sites overshoot.
        weight = (0.3 * self.weight + 0.7 * weight) * (rows.kind > 0)
        target = 0.3 * self.target + 0.7 * target
        change = np.abs((weight - self.weight) / (self.weight + 0.05)).max()
        return _Sites(self.design, target, weight, np.where(rows.kind == 1, share, -1.0)), change


def _tilted(mean, variance, ends, noise, wild_share):
    """Mean and variance of a normal belief after one observation, and its chance of being sound.

    ``ends`` low and high, equal for a measured value. An observation is sound with sd ``noise`` or,
    with a small chance, ``wild_share``, wild with a large sd.
    """
    wide = np.hypot(noise, prior("wild_sd_db"))
    parts = [_told(mean, variance, ends, sd) for sd in (noise, wide)]
    odds = parts[1][0] + np.log(wild_share) - parts[0][0] - np.log1p(-wild_share)
    chance = 1 / (1 + np.exp(np.clip(odds, -700, 700)))
    new = chance * parts[0][1] + (1 - chance) * parts[1][1]
    apart = chance * (1 - chance) * (parts[0][1] - parts[1][1]) ** 2
    return new, chance * parts[0][2] + (1 - chance) * parts[1][2] + apart, chance


def _told(mean, variance, ends, sd):
    """Log probability of one observation with normal error, mean and variance after it."""
    total = variance + sd**2
    low, high = ((end - mean) / np.sqrt(total) for end in ends)
    point = low == high
    # The bracket is turned so that its nearer end is the low one; the far tail then cancels nothing.
    turned = low + high < 0
    near, far = np.where(turned, -high, low), np.where(turned, -low, high)
    near, far = np.where(point, 0.0, near), np.where(point, np.inf, far)
    log_inside = log_between(near, far)
    at_near, at_far = (np.exp(_log_density(x) - log_inside) for x in (near, far))
    far = np.where(np.isinf(far), 0.0, far)
    moved = at_near - at_far
    shrunk = moved**2 - (near * at_near - far * at_far)
    moved = np.where(turned, -moved, moved)
    log = np.where(point, _log_density(low) - 0.5 * np.log(total), log_inside)
    pulled = np.where(point, low, moved) * variance / np.sqrt(total)
    return log, mean + pulled, variance - np.where(point, 1.0, shrunk) * variance**2 / total


def _log_density(x):
    return -0.5 * x**2 - 0.5 * np.log(2 * np.pi)


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


def _averaged(sites, centre, curvature):
    """Differences over an even net of log sds stretched to the posterior, weighted by probability."""
    net = cloud(POINTS, centre.size, seed=1)
    root = np.linalg.cholesky(np.linalg.inv(curvature)) * WIDER
    log, found = [], []
    for part in np.array_split(net, POINTS // 8):
        solution = sites.solve(centre + part @ root.T)
        log.append(solution.log_probability + 0.5 * (part**2).sum(axis=1))
        found.append(solution.differences())
    log = np.concatenate(log)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    wild = np.where(sites.design.rows.kind == 1, 1 - sites.share, 0.0)
    # No trial learns whether its pads are weak: what they stretch is added at the end.
    off = sites.design.rows.stretch_sd**2
    joined = (_joined(several) for several in zip(*found, strict=True))
    cells, bands = ((mean, variance + off * mean**2) for mean, variance in joined)
    return _Mixture(cells, bands, weight, np.exp(centre), wild)


def _ends(mean, variance, weight):
    """Ends of the mixture along the first axis."""
    spread = np.sqrt(np.maximum(variance, 1e-12))
    ends = quantiles(mean, spread, (0.05, 0.95), weight=weight, rounds=24)
    return Ends(np.tensordot(weight, mean, 1), *ends)
