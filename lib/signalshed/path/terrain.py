"""What terrain profiles alone decide, worked out once per profile for all antennas and channels.

Along a path everything is told by ``u``, the share of the way: 0 at the transmitter, 1 at the
receiver. The Earth's bulge is then ``k u (1 - u)`` metres high, k = 500 d^2 / effective radius.
"""

import functools
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class View:
    """Inner points as one antenna sees them: heights over the share of the way to each point.

    ``ground`` and ``surface`` are h / near and g / near, m, with ``near`` the share of the way from
    this antenna, ``ascending`` the same in rising order; ``bases`` the rows 1 / near and 1 - near.
    """

    near: np.ndarray
    ascending: np.ndarray
    ground: np.ndarray
    surface: np.ndarray
    bases: np.ndarray

    @classmethod
    def of(cls, near, h, g):
        """The view from the end where ``near`` is 0 to ground ``h`` and surface ``g``."""
        inverse = 1 / near
        ground = h * inverse
        surface = ground if g is h else g * inverse
        return cls(near, np.sort(near), ground, surface, np.stack([inverse, 1 - near]))

    def steepest(self, seen, antenna, bulge):
        """Steepest slope from the antenna, m per path length, to ``seen``: ground or surface."""
        slopes = combine((-antenna, bulge), self.bases)
        slopes += seen
        return slopes.max(axis=-1)

    def steepest_over_bulge(self, antenna, bulge):
        """The same to the bare bulge. It is concave: one of the points beside its top decides."""
        if self.near.ndim > 1:
            return combine((-antenna, bulge), self.bases).max(axis=-1)
        near = self.ascending
        after = np.searchsorted(near, np.sqrt(antenna / bulge))
        beside = (near[np.maximum(after - 1, 0)], near[np.minimum(after, near.size - 1)])
        return np.maximum(*(bulge * (1 - n) - antenna / n for n in beside))


@dataclass(frozen=True, eq=False)
class Terrain:
    """Profiles prepared: arrays over paths (...) and over their inner points (..., n - 2).

    ``d`` length, km; ``bases`` the rows 1, u and u (1 - u) with u the share of the way, (3, n - 2)
    where all paths have it in common; ``closeness`` 1 / sqrt(u (1 - u)); ``h`` ground and ``g`` ground
    with clutter, m above sea level (the same array on bare ground);
    ``transmit`` and ``receive`` the views from both ends; ``h1``, ``hn`` the ground at both ends;
    ``hst``, ``hsr`` ends of the straight line that fits the ground best (P.1812 eq. 85 to 88).
    """

    d: np.ndarray
    bases: np.ndarray
    closeness: np.ndarray
    h: np.ndarray
    g: np.ndarray
    transmit: View
    receive: View
    h1: np.ndarray
    hn: np.ndarray
    hst: np.ndarray
    hsr: np.ndarray


@functools.lru_cache(maxsize=4)
def terrain_of(profile):
    """The Terrain of an ``earth.Profile``, kept for the last few profiles."""
    u, h = profile.fraction, profile.ground_m
    inner, ground = u[..., 1:-1], h[..., 1:-1]
    surface = ground if profile.bare else profile.surface_m[..., 1:-1]
    product = inner * (1 - inner)
    hst, hsr = (_weighted(h, weights) for weights in _line_weights(u))
    return Terrain(
        d=profile.distance_km[..., -1],
        bases=np.stack([np.ones_like(inner), inner, product]),
        closeness=1 / np.sqrt(product),
        h=ground,
        g=surface,
        transmit=View.of(inner, ground, surface),
        receive=View.of(1 - inner, ground, surface),
        h1=h[..., 0],
        hn=h[..., -1],
        hst=hst,
        hsr=hsr,
    )


def _weighted(heights, weights):
    """Weighted sum over points, for weights common to all paths or each path's own."""
    if weights.ndim == 1:
        return heights @ weights
    return np.einsum("...i,...i->...", heights, weights)


def _line_weights(u):
    """Weights of each height in the ends of the best straight line: v1 and v2 of P.1812, d = 1."""
    v1, v2, step = np.zeros_like(u), np.zeros_like(u), np.diff(u, axis=-1)
    before, after = u[..., :-1], u[..., 1:]
    v1[..., 1:] += step
    v1[..., :-1] += step
    v2[..., 1:] += step * (2 * after + before)
    v2[..., :-1] += step * (after + 2 * before)
    return 2 * v1 - v2, v2 - v1


def combine(coefficients, bases):
    """Sum of coefficient times base over points: (..., n).

    ``coefficients``: k arrays of one shape (...); ``bases``: (k, n), or (k, ..., n) when each path
    has its own.
    """
    if bases.ndim == 2:
        return np.stack(coefficients, axis=-1) @ bases
    return sum(c[..., None] * base for c, base in zip(coefficients, bases, strict=True))


@dataclass(frozen=True, eq=False)
class Sight:
    """Two antennas over a path, arrays of one shape: ``hts`` and ``hrs`` their heights, m above sea
    level (or above smooth Earth), ``d`` km apart, ``bulge`` 500 d^2 / effective radius, m."""

    hts: np.ndarray
    hrs: np.ndarray
    d: np.ndarray
    bulge: np.ndarray

    @property
    def level(self):
        """Slope of the straight line between the antennas, m per path length."""
        return self.hrs - self.hts
