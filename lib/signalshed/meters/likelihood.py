"""How likely a ladder is under a curve: the model of a meter, its unknowns, and its slopes for Newton.

The curve is turned round: h(r), the margin at which the meter comes to show r, rises in straight pieces
between knots that run from the lowest reading with a picture to the ceiling. A rung tells that the
margin lay between h of the lower and h of the upper edge of its display step, give or take noise in dB
before the curve and flicker after it; a full rung tells only that it lay above. Every channel's level
is unknown too, also of one that never broke.

Unknowns are rows (P,): logarithms of the dB of each piece, the lowest margin (through softplus), and
the channels' levels; their three sizes (3,): logarithms of noise, of flicker, and of the curve's bends.
"""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, log_ndtr, ndtr

EDGE_SD_DB = 0.3
WILD_SHARE, FULL_WILD_SHARE = 0.002, 1e-4
"""How often a rung shows just anything, and a full one not full; more would call good rungs wild."""
LEVEL_DB, LEVEL_SD_DB = 15.0, 20.0
LOWEST_SD_DB, NO_ZERO_SD_DB = 4.0, 0.3
SPAN_DB, SPAN_LOG_SD = 25.0, 0.8
LEAN, LEAN_SD = 0.4, 2.0
"""By how much, in logarithms, the last dB moves a meter less than the first."""
BEND = 5.0
NOISE_DB, FLICKER_STEPS = 0.6, 0.5
SIZES_LOG_SD = np.array([0.75, 0.8, 0.6])


def hats(knots, at, extend=False):
    """Weights (n, knots) that read a curve of straight pieces at ``at`` (n,).

    Beyond the knots the end value holds; with ``extend`` the first and last pieces run on.
    """
    x = np.asarray(at, dtype=float)
    if not extend:
        x = np.clip(x, knots[0], knots[-1])
    left = np.clip(np.searchsorted(knots, x) - 1, 0, knots.size - 2)
    share = (x - knots[left]) / (knots[left + 1] - knots[left])
    weights = np.zeros((x.size, knots.size))
    rows = np.arange(x.size)
    weights[rows, left] = 1 - share
    weights[rows, left + 1] = share
    return weights


def slopes(knots, at, half):
    """Weights (n, knots) that give the rise per unit about ``at`` (n,), over ``half`` to both sides."""
    low, high = (np.clip(at + side, knots[0], knots[-1]) for side in (-half, half))
    low, high = np.minimum(low, knots[-1] - half), np.maximum(high, knots[0] + half)
    return (hats(knots, high) - hats(knots, low)) / (high - low)[:, None]


@dataclass(frozen=True, eq=False)
class Ladder:
    """``rungs`` of a display that moves in ``step``, to be explained by a curve on ``knots`` (k,)."""

    rungs: object
    knots: np.ndarray
    step: float

    @property
    def pieces(self):
        return self.knots.size - 1

    @functools.cached_property
    def size(self):
        return self.rungs.scale.high - self.rungs.scale.low

    @functools.cached_property
    def edges(self):
        """Weights (2, n, k) that read the curve at the lower and upper edge of each rung's step."""
        sides = (-self.step / 2, self.step / 2)
        return np.array([hats(self.knots, self.rungs.reading + side) for side in sides])

    @functools.cached_property
    def rise(self):
        return slopes(self.knots, self.rungs.reading, self.step)

    @functools.cached_property
    def floor(self):
        wild = WILD_SHARE * self.step / self.size
        return np.where(self.rungs.full, FULL_WILD_SHARE, wild)

    @functools.cached_property
    def bends(self):
        """Second differences of the pieces' logarithms (K - 2, K), and those of a straight meter."""
        second = np.diff(np.eye(self.pieces), 2, axis=0)
        return second, second @ np.log(np.diff(self.knots))

    @functools.cached_property
    def tilt(self):
        """Last minus first of the pieces' logarithms (K,), and what it usually is."""
        ends = np.eye(self.pieces)[-1] - np.eye(self.pieces)[0]
        return ends, LEAN + ends @ np.log(np.diff(self.knots))

    @functools.cached_property
    def span(self):
        return np.log(SPAN_DB * np.ptp(self.knots) / self.size)

    @functools.cached_property
    def lowest_sd_db(self):
        return LOWEST_SD_DB if self.rungs.zero_known else NO_ZERO_SD_DB

    @functools.cached_property
    def sizes(self):
        """The usual three sizes (3,), in logarithms."""
        flicker = FLICKER_STEPS * max(self.step, 0.01 * self.size)
        return np.log([NOISE_DB, flicker, 1.0])

    def split(self, x):
        """Unknowns (..., P) as pieces (..., K), lowest (...) and levels (..., C)."""
        return x[..., : self.pieces], x[..., self.pieces], x[..., self.pieces + 1 :]

    def heights(self, x):
        """Margins (..., k) at the knots. The lowest may lie below 0 by as much as a lock is unsteady."""
        pieces, lowest, _ = self.split(x)
        start = (np.logaddexp(0.0, lowest) - EDGE_SD_DB)[..., None]
        return np.concatenate([start, start + np.cumsum(np.exp(pieces), axis=-1)], axis=-1)

    def log_posterior(self, x, sizes):
        """Log probability (...) of unknowns (..., P) with ``sizes`` (..., 3)."""
        seen = np.log(self._seen(x, sizes)[0]).sum(axis=-1)
        return seen + self._locks(x, sizes).sum(axis=-1) + self._log_prior(x, sizes)

    def _seen(self, x, sizes):
        """Chance of each rung (..., n), both edges in sds (2, ..., n), what is cut off there by the
        ceiling, the sd in dB, and how its logarithm grows with the slope."""
        rungs, h, level = self.rungs, self.heights(x), self.split(x)[2]
        s, u = np.exp(sizes[..., :1]), np.exp(sizes[..., 1:2])
        s = np.hypot(s, rungs.cost_sd_db)
        slope = h @ self.rise.T
        sd = np.hypot(s, u * slope)
        margin = level[..., rungs.channel] - rungs.cost_db
        ends = np.array([(margin - h @ edge.T) / sd for edge in self.edges])
        left = rungs.ceiling - rungs.reading
        cut = [ndtr((left + side) / u) for side in (self.step / 2, -self.step / 2)]
        cut = np.array([cut[0], np.where(rungs.full, 0.0, cut[1])])
        chance = cut * ndtr(ends)
        chance = np.maximum(chance[0] - chance[1], 0.0) + self.floor
        return chance, ends, cut, sd, u**2 * slope / sd**2

    def _locks(self, x, sizes):
        """Log probability (..., C) of where each channel broke: once, however often it was looked at."""
        rungs, level, width = self.rungs, self.split(x)[2], self._lock_sd(sizes)
        held, lost = np.isfinite(rungs.held_db), np.isfinite(rungs.lost_db)
        above = log_ndtr((level - np.where(held, rungs.held_db, 0.0)) / width)
        below = log_ndtr((np.where(lost, rungs.lost_db, 0.0) - level) / width)
        return np.where(held, above, 0.0) + np.where(lost, below, 0.0)

    def _lock_sd(self, sizes):
        alone = np.hypot(EDGE_SD_DB, 0.4 * np.exp(sizes[..., :1]))
        return np.hypot(alone, self.rungs.edge_sd_db)

    def _log_prior(self, x, sizes):
        pieces, lowest, level = self.split(x)
        (second, straight), (ends, usual) = self.bends, self.tilt
        sd = self._bend_sd(sizes)
        start = np.logaddexp(0.0, lowest)
        parts = (
            (((pieces @ second.T - straight) / sd[..., None]) ** 2).sum(axis=-1),
            2 * len(second) * np.log(sd),
            ((np.log(np.exp(pieces).sum(axis=-1)) - self.span) / SPAN_LOG_SD) ** 2,
            ((pieces @ ends - usual) / LEAN_SD) ** 2,
            (start / self.lowest_sd_db) ** 2 - 2 * (lowest - start),
            (((level - LEVEL_DB) / LEVEL_SD_DB) ** 2).sum(axis=-1),
            (((sizes - self.sizes) / SIZES_LOG_SD) ** 2).sum(axis=-1),
        )
        return -0.5 * sum(parts)

    def _bend_sd(self, sizes):
        return BEND * self.pieces**-1.5 * np.exp(sizes[..., 2])

    def newton(self, x, sizes, whole=False):
        """Slope (F, P) of the log posterior by the unknowns (F, P), and a curvature (F, P, P).

        The curvature leaves out how heights bend with the unknowns, so it is positive and safe to climb
        by; ``whole`` puts that in, for the spread about the top.
        """
        slope, curved = self._of_rungs(x, sizes)
        k, lowest = self.pieces, self.split(x)[1]
        if whole:
            each = np.arange(k + 1)
            bent = slope[:, : k + 1].copy()
            bent[:, k] *= 1 - expit(lowest)
            curved[:, each, each] -= bent
        self._add_prior(x, sizes, slope, curved)
        self._add_levels(x, sizes, slope, curved)
        return slope, curved

    def _of_rungs(self, x, sizes):
        """What the rungs add to slope and curvature."""
        chance, ends, cut, sd, widens = self._seen(x, sizes)
        turn = self._turn(x)
        moved = -(turn @ np.swapaxes(self.edges, 1, 2)[:, None])
        at = np.arange(self.rungs.reading.size)
        moved[:, :, self.pieces + 1 + self.rungs.channel, at] += 1.0
        wide = (turn @ self.rise.T) * widens[:, None]
        moved = moved / sd[:, None] - ends[:, :, None] * wide
        density = (
            cut * np.exp(-0.5 * ends**2) / np.sqrt(2 * np.pi) * np.array([1.0, -1.0])[:, None, None]
        )
        sound = (chance - self.floor) / chance
        pull = density / np.maximum(chance - self.floor, 1e-9)
        own = np.clip(pull * (pull + ends), 0, 1e4) * sound
        most = 0.999 * np.sqrt(own[0] * own[1])
        both = np.clip(pull[0] * pull[1] * sound, -most, most)
        slope = (moved @ (density / chance)[..., None])[..., 0].sum(axis=0)
        pressed = moved * own[:, :, None] + moved[::-1] * both[:, None]
        return slope, (pressed @ np.swapaxes(moved, 2, 3)).sum(axis=0)

    def _turn(self, x):
        """How heights move with each unknown (F, P, k)."""
        pieces, lowest, _ = self.split(x)
        k = self.pieces
        turn = np.zeros((*x.shape, k + 1))
        turn[:, :k] = np.exp(pieces)[:, :, None] * np.triu(np.ones((k, k + 1)), 1)
        turn[:, k] = expit(lowest)[:, None]
        return turn

    def _add_prior(self, x, sizes, slope, curved):
        pieces, lowest, _ = self.split(x)
        k, (second, straight), (ends, usual) = self.pieces, self.bends, self.tilt
        variance = self._bend_sd(sizes)[:, None] ** 2
        grown = np.exp(pieces)
        share, off = grown / grown.sum(axis=1)[:, None], np.log(grown.sum(axis=1)) - self.span
        slope[:, :k] -= (pieces @ second.T - straight) @ second / variance
        slope[:, :k] -= share * off[:, None] / SPAN_LOG_SD**2
        slope[:, :k] -= ends * (pieces @ ends - usual)[:, None] / LEAN_SD**2
        curved[:, :k, :k] += second.T @ second / variance[..., None]
        curved[:, :k, :k] += share[:, :, None] * share[:, None] / SPAN_LOG_SD**2
        curved[:, :k, :k] += np.outer(ends, ends) / LEAN_SD**2
        rising, start = expit(lowest), np.logaddexp(0.0, lowest)
        slope[:, k] += 1 - rising - start * rising / self.lowest_sd_db**2
        curved[:, k, k] += rising**2 / self.lowest_sd_db**2 + rising * (1 - rising)

    def _add_levels(self, x, sizes, slope, curved):
        """Locks and prior of the levels; between two pads as of an even spread, which has no top."""
        rungs, level, width = self.rungs, self.split(x)[2], self._lock_sd(sizes)
        held, lost = np.isfinite(rungs.held_db), np.isfinite(rungs.lost_db)
        sign = np.where(held, 1.0, -1.0)
        at = sign * (level - np.where(held, rungs.held_db, rungs.lost_db)) / width
        mills = np.exp(-0.5 * at**2 - log_ndtr(at)) / np.sqrt(2 * np.pi)
        variance = (rungs.lost_db - rungs.held_db) ** 2 / 12 + width**2
        middle = (rungs.held_db + rungs.lost_db) / 2 - level
        k, each = self.pieces + 1, np.arange(self.pieces + 1, x.shape[1])
        slope[:, k:] += np.where(held & lost, middle / variance, sign * mills / width)
        slope[:, k:] -= (level - LEVEL_DB) / LEVEL_SD_DB**2
        bend = np.where(held & lost, 1 / variance, mills * (at + mills) / width**2)
        curved[:, each, each] += bend + LEVEL_SD_DB**-2
