"""The smooth rising curve through a ladder, and how well it is known.

The reading at margin m is f(m), a curve of straight pieces between knots whose bends (second
differences) are normal with one unknown size: stiff where the ladder is silent, free where it
speaks. Where each channel stood at zero pad is unknown within the bracket of its loss of lock and
is fitted along, so a shift of the whole curve is part of its covariance and cancels in differences.
Sizes of bends and flicker are averaged over a small grid by their probability; then the curve is
moved, by least squares in its own covariance, to the nearest one that never falls.
"""

import numpy as np
from scipy.optimize import nnls

BENDS = np.logspace(-1.2, 1.6, 8)
FLICKERS = np.logspace(-0.9, 1.1, 9)
EDGE_SD_DB = 0.3


def hats(knots_db, at_db, extend=False):
    """Weights (n, knots) that read a curve of straight pieces at ``at_db`` (n,).

    Beyond the knots the end value holds; with ``extend`` the first and last pieces run on.
    """
    x = np.asarray(at_db, dtype=float)
    if not extend:
        x = np.clip(x, knots_db[0], knots_db[-1])
    left = np.clip(np.searchsorted(knots_db, x) - 1, 0, knots_db.size - 2)
    share = (x - knots_db[left]) / (knots_db[left + 1] - knots_db[left])
    weights = np.zeros((x.size, knots_db.size))
    rows = np.arange(x.size)
    weights[rows, left] = 1 - share
    weights[rows, left + 1] = share
    return weights


def fit(rungs):
    """Knots, rising curve, covariance, flicker and the margin of the full meter, of ``rungs``."""
    centre, centre_sd = _starts(rungs)
    use = ~rungs.full
    reading, cost, channel = rungs.reading[use], rungs.cost_db[use], rungs.channel[use]
    knots = _knots(rungs, centre)
    shift = np.zeros(centre.size)
    slope = _local_slope(centre[channel] - cost, reading)
    for thin in (3, 3, 3, 3, 1):
        margin = (centre + shift)[channel] - cost
        starts = (slope, channel, shift, centre_sd)
        sizes = BENDS[::thin], FLICKERS[::thin]
        mean, covariance, moved, flicker = _averaged(
            knots, margin, reading, starts, rungs.scale.step, sizes
        )
        shift = np.clip(moved, -2 * centre_sd, 2 * centre_sd)
        slope = _slope_of(knots, mean, (centre + shift)[channel] - cost)
    rising = _rising(knots, mean, covariance)
    return knots, rising, covariance, flicker, _fills(rungs, centre + shift)


def margins(rungs):
    """Margin of every rung (n,) as the brackets of loss of lock place it, before any curve."""
    return _starts(rungs)[0][rungs.channel] - rungs.cost_db


def _starts(rungs):
    """Margin of each channel without pad, from its bracket, and the sd of that."""
    held, lost = rungs.held_db, rungs.lost_db
    both = np.isfinite(held) & np.isfinite(lost)
    deepest = np.nanmax(np.where(np.isfinite(held), held, np.nan), initial=0.0)
    centre = np.where(both, (held + lost) / 2, np.where(np.isfinite(held), held, 0.0))
    width = np.where(both, (lost - held) / np.sqrt(12), 6.0)
    sd = np.hypot(width, EDGE_SD_DB)
    if not both.any():
        # No zero: the first channel is held at its deepest rung, the others follow from overlap.
        centre, sd = np.full(held.shape, deepest), np.full(held.shape, 6.0)
        sd[:1] = EDGE_SD_DB
    elif not both.all():
        centre = np.where(both, centre, np.where(np.isfinite(held), held + 3, lost - 3))
    return centre, sd


def _knots(rungs, centre):
    margin = centre[rungs.channel] - rungs.cost_db
    low, high = min(0.0, margin.min()), margin[~rungs.full].max()
    if rungs.full.any():
        high = max(high, min(margin[rungs.full].min(), high + 6))
    count = int(np.clip(np.ceil((high - low) / 1.5), 6, 24))
    return np.linspace(low, high, count + 1)


def _slope_of(knots, mean, margin, half_db=0.75):
    """Units per dB of the curve near each rung; never negative."""
    rise = hats(knots, margin + half_db, True) - hats(knots, margin - half_db, True)
    return np.maximum(rise @ mean / (2 * half_db), 0.0)


def _local_slope(margin, reading):
    """A first guess of that: a straight line through each rung's neighbours."""
    near = np.exp(-0.5 * ((margin[:, None] - margin) / 4.0) ** 2)
    total = near.sum(axis=1)
    m, r = near @ margin / total, near @ reading / total
    run = near @ margin**2 / total - m**2
    rise = near @ (margin * reading) / total - m * r
    return np.clip(rise / np.maximum(run, 0.1), 0.0, None)


def _averaged(knots, margin, reading, starts, step, sizes):
    """Curve, covariance, channel shifts and flicker, averaged over the sizes of bend and flicker."""
    slope, channel, shift, centre_sd = starts
    k, c = knots.size, centre_sd.size
    tilt = np.zeros((margin.size, c))
    tilt[np.arange(margin.size), channel] = slope
    design = np.hstack([hats(knots, margin, extend=True), tilt])
    size = max(np.ptp(reading), step)
    bend = np.diff(np.eye(k), 2, axis=0)
    loose = np.vstack([np.eye(k)[0], np.diff(np.eye(k)[[0, -1]], axis=0)[0]]) / (10 * size)
    target = reading + tilt @ shift - reading.mean()
    parts = []
    for share in sizes[0]:
        sd = share * size / (k - 1) ** 2 * 2
        root = np.zeros((k + c, k + c))
        root[: k - 2, :k] = bend / sd
        root[k - 2 : k, :k] = loose
        root[k:, k:] = np.diag(1 / centre_sd)
        for flicker in sizes[1] * max(step, 0.01 * size):
            usual = -0.5 * (np.log(share) / 1.5) ** 2
            usual -= 0.5 * (np.log(flicker / (0.8 * max(step, 0.01 * size))) / 0.7) ** 2
            parts.append(_one(design, target, root, flicker, step, usual))
    logs = np.array([p[0] for p in parts])
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    means = np.array([p[1] for p in parts])
    mean = weight @ means
    apart = means - mean
    covariance = (
        np.tensordot(weight, [p[2] for p in parts], 1) + (weight[:, None] * apart).T @ apart
    )
    flicker = np.sqrt(weight @ np.array([p[3] for p in parts]) ** 2)
    return mean[:k] + reading.mean(), covariance[:k, :k], mean[k:], float(flicker)


def _one(design, target, root, flicker, step, log_prior):
    """Log probability, mean and covariance for one size of bend and flicker."""
    variance = flicker**2 + step**2 / 12
    precision = root.T @ root + design.T @ design / variance
    chol = np.linalg.cholesky(precision)
    half = np.linalg.solve(chol, design.T @ target / variance)
    covariance = np.linalg.inv(precision)
    _, log_root = np.linalg.slogdet(root)
    log = (
        0.5 * half @ half
        - 0.5 * target @ target / variance
        - 0.5 * target.size * np.log(variance)
        + log_root
        - np.log(np.diag(chol)).sum()
        + log_prior
    )
    return log, covariance @ (design.T @ target) / variance, covariance, flicker


def _rising(knots, mean, covariance):
    """The nearest curve that never falls, in the metric of the covariance."""
    if np.all(np.diff(mean) > 0):
        return mean
    size = knots.size
    ridge = 1e-6 * np.trace(covariance) / size * np.eye(size)
    root = np.linalg.inv(np.linalg.cholesky(covariance + ridge))
    climb = np.tril(np.ones((size, size)))
    climb[:, 0] = 1
    low = mean.min() - np.ptp(mean)
    steps, _ = nnls(root @ climb, root @ (mean - low))
    return low + climb @ steps


def _fills(rungs, centre):
    """The margin at which the meter was seen full, infinite if it never was.

    Flicker shows a full reading now and then below it, so not the very first one counts.
    """
    if not rungs.full.any():
        return np.inf
    margin = np.sort((centre[rungs.channel] - rungs.cost_db)[rungs.full])
    return float(np.median(margin[: max(1, margin.size // 3)]))
