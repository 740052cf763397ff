"""A network on many roofs: the best window in each, and the own part of its members in closed form."""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

_PIVOTS = 3
"""Of so many members the own part is taken in closed form by turns, each by its share of the power."""


@dataclass(frozen=True, eq=False)
class Joint:
    """A network as station ``row`` shows it, in every world: ``useful`` (windows, m) of its members;
    ``power_mw`` (m, world) drawn; ``level_dbm`` (m, world) without the own parts of the doubt, whose sds
    are ``own_db`` (m, world); none is louder than ``most_dbm`` (m, world); ``weight`` (m,) of the
    members; ``needs`` (world,) C/N a ratio;
    ``noise_mw`` (world,); ``holds`` (world,) the chance that no part of the line is overloaded.
    """

    row: int
    useful: np.ndarray
    power_mw: np.ndarray
    level_dbm: np.ndarray
    own_db: np.ndarray
    most_dbm: np.ndarray
    weight: np.ndarray
    needs: np.ndarray
    noise_mw: np.ndarray
    holds: np.ndarray

    @property
    def passes(self):
        """Whether it comes in each world, but for the line: (world,) bools."""
        helps, hurts = self._sums()
        return (helps > self.needs * (self.noise_mw + hurts)).any(axis=0)

    def _sums(self):
        return self.useful @ self.power_mw, (1 - self.useful) @ self.power_mw

    def share(self, fall_db=0.0, overload=True):
        """Share of roofs on which it comes though all of it is ``fall_db`` weaker: a number.

        Parameters: ``fall_db``; ``overload`` False as if no part could be overloaded.
        """
        weight = np.sort(self.weight)[::-1][:_PIVOTS]
        pivots = np.argsort(-self.weight, kind="stable")[:_PIVOTS]
        chances = sum(w * self._given(int(q), fall_db) for w, q in zip(weight, pivots, strict=True))
        chance = chances / weight.sum()
        return float((chance * self.holds).mean() if overload else chance.mean())

    def _given(self, pivot, fall_db):
        """Chance in each world over the own part of one member, all else as drawn: (world,)."""
        helps, hurts = self._sums()
        good, bad = self.useful[:, [pivot]], 1 - self.useful[:, [pivot]]
        own = self.power_mw[pivot]
        per_mw = good - self.needs * bad
        rest = helps - good * own - self.needs * (hurts - bad * own)
        asked = self.needs * self.noise_mw * 10 ** (fall_db / 10) - rest
        with np.errstate(divide="ignore", invalid="ignore"):
            end = asked / per_mw
        least = np.where(per_mw > 0, np.maximum(end, 0.0), np.inf).min(axis=0)
        most = np.where((per_mw <= 0) & (asked < 0), end, 0.0).max(axis=0)
        chance = ndtr(-self._sds(least, pivot)) + ndtr(self._sds(most, pivot))
        return np.where(most >= least, 1.0, np.minimum(chance, 1.0))

    def _sds(self, power_mw, pivot):
        with np.errstate(divide="ignore"):
            level = 10 * np.log10(power_mw)
        sds = (level - self.level_dbm[pivot]) / self.own_db[pivot]
        return np.where(level >= self.most_dbm[pivot], np.inf, sds)

    @functools.cached_property
    def chance(self):
        """Share of all roofs on which it comes."""
        return self.share()
