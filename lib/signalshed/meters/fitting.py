"""Curves through a ladder: a hundred and more that may be true, drawn by their probability.

The three sizes that are not known (noise in dB, flicker, bend) are laid out as a net of points, twice:
first as wide as their prior, then where the ladder lets them be. At each point the curve's unknowns are
brought to their likeliest values by Newton's steps and drawn about them; the draws are weighted by what
they are really worth (importance sampling, no weight above a few even shares) and thinned by weight.
The points of the net and the draws are fixed, so a ladder has one curve.
"""

import functools
from dataclasses import replace

import numpy as np

from ..belief.normals import cloud
from . import full
from .drawn import Drawn, step_of
from .guessing import USUAL
from .likelihood import SIZES_LOG_SD, Ladder

KNOTS = 9
CROWD = 0.5
"""Share of the knots that stand where rungs crowd; the others are even along the scale."""
NET, SEED = 32, 7
DRAWS = 32
KEPT = 160
MOST_SHARES = 4.0
TAIL = 6
WIDER = (4.0, 2.5, 1.5, 1.0, 1.0, 1.0, 1.0)
"""Noise at first taken so many times wider: from far off, a rung's own width shows no way."""


def fit(rungs):
    """The Drawn curves of ``rungs``."""
    ladder = _ladder(rungs)
    x, noise = _thinned(*_drawn(ladder))
    looks = int((rungs.reading >= rungs.ceiling - ladder.step / 2).sum())
    drawn = Drawn(
        ladder.knots, ladder.heights(x), np.exp(noise[:, 0]), np.exp(noise[:, 1]),
        ladder.step, ladder.size, rungs.ceiling, looks, rungs.zero_known,
    )  # fmt: skip
    # What full rungs flicker to says nothing of the curve, but where its values end.
    return replace(drawn, values_below=full.values_below(drawn, rungs.reading))


def _ladder(rungs):
    """The rungs with knots on edges of the display's steps, from the lowest reading to the ceiling."""
    step = step_of(rungs.reading[~rungs.full], rungs.scale.step)
    low, top = rungs.reading.min() - step / 2, rungs.ceiling - step / 2
    count = int(np.clip(np.round((top - low) / step), 3, KNOTS))
    seen = np.sort(rungs.reading[~rungs.full])
    at = np.linspace(low, top, 8 * count + 1)
    passed = np.searchsorted(seen, at) / max(seen.size, 1)
    along = (1 - CROWD) * np.linspace(0.0, 1.0, at.size) + CROWD * passed
    knots = np.interp(np.linspace(along[0], along[-1], count + 1), along, at)
    if (top - low) / step > count:
        knots = np.unique(np.round((knots - low) / step)) * step + low
    knots[-1] = top
    return Ladder(rungs, knots, step)


@functools.lru_cache(maxsize=32)
def _tails(width):
    """Points (NET, DRAWS, width) of Student's t about 0, the first of each net point at 0."""
    rng = np.random.default_rng(5)
    normal = rng.standard_normal((NET, DRAWS, width))
    points = normal / np.sqrt(rng.chisquare(TAIL, (NET, DRAWS, 1)) / TAIL)
    points[:, 0] = 0.0
    return points


def margins(rungs):
    """Margin of every rung (n,) as the brackets of loss of lock place it, before any curve."""
    return _levels(rungs)[rungs.channel] - rungs.cost_db


def add_pads(rungs):
    """Sentences on what larger pads would tell: rungs at the ceiling, channels that never broke."""
    full, every = int(rungs.full.sum()), rungs.full.size
    never = np.isfinite(rungs.held_db) & ~np.isfinite(rungs.lost_db)
    notes = []
    if 2 * full > every:
        notes.append(
            f"{full} of {every} readings at the ceiling, each only “at least”: add pads, or take "
            "a weaker station."
        )
    if rungs.zero_known and never.any():
        names = ", ".join(c for c, n in zip(rungs.channels, never, strict=True) if n)
        notes.append(
            f"Channel {names}: the picture held behind all pads, so where it stands is not known "
            "and its rungs tell differences only: add pads until it breaks."
        )
    return notes


def too_short(rungs):
    """A sentence when a ladder cannot carry a curve, or an empty text."""
    margin = margins(rungs)[~rungs.full]
    if rungs.reading.size and not margin.size:
        return (
            "Every reading is at the ceiling, so the meter ladder shows no slope: add larger pads, "
            "until the reading falls and the picture breaks, or use a weaker station."
        )
    few, span = USUAL.fewest_rungs, USUAL.shortest_ladder_db
    below = np.column_stack([rungs.channel, rungs.cost_db])[~rungs.full]
    count = len(np.unique(below, axis=0))
    reach = float(np.ptp(margin)) if margin.size else 0.0
    if count >= few and reach >= span and np.ptp(rungs.reading[~rungs.full]) > 0:
        return ""
    return (
        f"The meter ladder is too short: rungs with a reading below the ceiling: {count}, over "
        f"{reach:.3g} dB. A curve needs at least {few:g} over {span:g} dB, down to loss of lock; take "
        "smaller steps or more stations. A wide guess is used."
    )


def _levels(rungs):
    """Margin of each channel without pad (C,), in the middle of what the pads say."""
    held, lost = rungs.held_db, rungs.lost_db
    above = np.where(np.isfinite(held), held, lost - 6)
    return np.where(np.isfinite(lost), (above + lost) / 2, above + 3)


def _start(ladder):
    """Unknowns (P,) of a straight meter through the rungs."""
    rungs = ladder.rungs
    seen = np.polyfit(rungs.reading[~rungs.full], margins(rungs)[~rungs.full], 1)[0]
    slope = np.clip(seen * ladder.size, 4.0, 100.0) / ladder.size
    return np.concatenate([np.log(slope * np.diff(ladder.knots)), [2.0], _levels(rungs)])


def _climbed(ladder, x, noise, wider):
    """Unknowns (F, P) brought to their likeliest values, and the curvature (F, P, P) there."""
    most = np.full(x.shape[1], 5.0)
    most[: ladder.pieces] = 1.0
    for times in wider:
        slope, curved = ladder.newton(x, noise + np.array([np.log(times), 0.0, 0.0]))
        move = np.linalg.solve(curved, slope[..., None])[..., 0]
        x = x + move / np.maximum(np.abs(move / most).max(axis=1), 1.0)[:, None]
    return x, ladder.newton(x, noise, whole=True)[1]


def _net(ladder):
    """Points (F, 3) where the three sizes may be, and the likeliest unknowns (F, P) near them.

    From as wide as the prior they are drawn in twice: a ladder of many steady rungs lies far out.
    """
    points = cloud(NET, 3, SEED)
    net, x = ladder.sizes + 1.2 * SIZES_LOG_SD * points, np.tile(_start(ladder), (NET, 1))
    for wider in (WIDER, (1.0, 1.0, 1.0)):
        x, curved = _climbed(ladder, x, net, wider)
        log = ladder.log_posterior(x, net) - 0.5 * np.linalg.slogdet(curved)[1]
        log += 0.5 * (points**2).sum(axis=1)
        log -= log.max()
        weight = np.exp(0.7 * log) / np.exp(0.7 * log).sum()
        centre = weight @ net
        spread = (weight[:, None] * (net - centre)).T @ (net - centre)
        root = np.linalg.cholesky(1.3 * spread + np.diag(0.15 * SIZES_LOG_SD) ** 2)
        before, net = net, centre + points @ root.T
        apart = (((net[:, None] - before) / SIZES_LOG_SD) ** 2).sum(axis=-1)
        x = x[np.argmin(apart - 0.2 * np.maximum(log, -20), axis=1)]
    return net, x


def _drawn(ladder):
    """Draws (N, P) of the unknowns, of the sizes (N, 3), and their log weights (N,)."""
    net, x = _net(ladder)
    x, curved = _climbed(ladder, x, net, (1.0, 1.0, 1.0))
    values, vectors = np.linalg.eigh(curved)
    values = np.maximum(values, 0.02)
    width = x.shape[1]
    points = _tails(width)
    turned = vectors / np.sqrt(values)[:, None]
    x = (x[:, None] + points @ np.swapaxes(turned, 1, 2)).reshape(-1, width)
    noise = np.repeat(net, DRAWS, axis=0)
    log = -0.5 * (TAIL + width) * np.log1p((points**2).sum(axis=-1) / TAIL)
    log = log + 0.5 * (np.log(values).sum(axis=1) - (cloud(NET, 3, SEED) ** 2).sum(axis=1))[:, None]
    return x, noise, ladder.log_posterior(x, noise) - log.ravel()


def _thinned(x, noise, log_weight):
    """Draws kept in proportion to their weights; none stands for more than a few even shares."""
    weight = np.exp(log_weight - log_weight.max())
    for _ in range(3):
        weight = np.minimum(weight, MOST_SHARES / KEPT * weight.sum())
    share = np.cumsum(weight) / weight.sum()
    at = np.searchsorted(share, (np.arange(KEPT) + 0.5) / KEPT)
    return x[at], noise[at]
