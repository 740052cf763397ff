"""The ground and what stands on it, from the transmitter to the receiver."""

import functools
from dataclasses import dataclass, field

import numpy as np

from ..units import check, floats, plain


@dataclass(frozen=True, eq=False)
class Profile:
    """Heights along one path, or along as many as there are leading axes.

    The last axis runs from the transmitter (first point) to the receiver (last).
    ``distance_km`` from the transmitter: starts at 0 and increases, at least 3 points;
    ``ground_m`` height of the ground above sea level, same number of points, NaN all along a path
    that no map covers; ``clutter_m`` height of trees and houses on it, from 0 (the two ends carry
    none, whatever is given); ``note`` text, one for each path. Shapes broadcast.
    ValueError for anything else. Fields become read-only arrays; ``fraction`` is the share of the
    way at every point, (points,) where all paths have it in common.

    >>> Profile([0, 10, 20], [50, 120, 40]).length_km
    20.0
    """

    distance_km: np.ndarray
    ground_m: np.ndarray
    clutter_m: np.ndarray = 0.0
    note: np.ndarray | str = ""
    fraction: np.ndarray = field(init=False)

    def __post_init__(self):
        distance = np.array(floats("distance_km", self.distance_km))
        fraction = _checked_fraction(distance)
        ground = _checked_ground(self.ground_m, distance)
        clutter = np.array(check("clutter_m", self.clutter_m, low=0, high=1000))
        if clutter.ndim and clutter.shape[-1] not in (1, distance.shape[-1]):
            raise ValueError(_counts("clutter_m", clutter, distance))
        if clutter.ndim > ground.ndim:
            ground = np.array(np.broadcast_to(ground, (*clutter.shape[:-1], ground.shape[-1])))
        kept = {"distance_km": distance, "fraction": fraction, "ground_m": ground}
        for name, array in (kept | {"clutter_m": clutter}).items():
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @property
    def length_km(self):
        """Length of the path, km: a float, or an array over the leading axes."""
        return plain(self.distance_km[..., -1])

    @property
    def known(self):
        """Whether a map covers the path: a bool, or an array over the leading axes."""
        return plain(np.isfinite(self.ground_m).all(axis=-1))

    @functools.cached_property
    def bare(self):
        """Whether no path carries clutter."""
        return not self.clutter_m.any()

    @functools.cached_property
    def surface_m(self):
        """Ground with clutter on it, bare at both ends, m above sea level."""
        surface = self.ground_m + self.clutter_m
        if not self.bare:
            surface[..., 0] = self.ground_m[..., 0]
            surface[..., -1] = self.ground_m[..., -1]
        return surface

    def path(self, index):
        """One path out of many, as a Profile of its own. Parameters: ``index`` along the first axis.

        >>> Profile([0, 1, 2], [[5, 6, 7], [8, 9, 10]]).path(1).ground_m
        array([ 8.,  9., 10.])
        """
        shape = np.broadcast_shapes(self.distance_km.shape, self.ground_m.shape)
        arrays = (self.distance_km, self.ground_m, self.clutter_m)
        note = np.broadcast_to(np.asarray(self.note, dtype=object), shape[:-1])
        return Profile(*(np.broadcast_to(a, shape)[index] for a in arrays), note[index])


def _checked_fraction(distance_km):
    """Share of the way at every point: (points,) where all paths have it in common."""
    if distance_km.ndim == 0 or distance_km.shape[-1] < 3:
        count = distance_km.shape[-1] if distance_km.ndim else 1
        raise ValueError(
            f"distance_km has {count} point{'s' * (count != 1)}; a profile needs at least 3: both ends"
            " and something between."
        )
    if distance_km.size == 0:
        raise ValueError("distance_km holds no path at all; it must hold at least one.")
    common = _common_fraction(distance_km)
    if common is not None:
        _check_order(common * distance_km.flat[distance_km.shape[-1] - 1])
        check("distance_km", distance_km[..., -1], above=0, high=20040)
        return common
    _check_order(check("distance_km", distance_km, low=0, high=20040))
    return distance_km / distance_km[..., -1:]


def _common_fraction(distance_km):
    """The share of the way if it is the same on all paths, or None."""
    first, length = distance_km.reshape(-1, distance_km.shape[-1])[0], distance_km[..., -1:]
    if not first[-1] > 0:
        return None
    common = first / first[-1]
    off = length @ common[None]
    off -= distance_km
    return common if max(off.max(), -off.min()) < 1e-9 else None


def _check_order(distance_km):
    if np.any(distance_km[..., 0] != 0):
        first = distance_km[..., 0][distance_km[..., 0] != 0].flat[0]
        raise ValueError(
            f"distance_km starts at {first:g}; it must start at 0, at the transmitter."
        )
    step = np.diff(distance_km, axis=-1)
    if (step <= 0).any():
        at = np.argwhere(step <= 0)[0]
        before, after = distance_km[tuple(at)], distance_km[(*at[:-1], at[-1] + 1)]
        raise ValueError(
            f"distance_km goes from {before:g} to {after:g}; it must increase from point to point."
        )


def _checked_ground(ground_m, distance_km):
    ground = np.array(floats("ground_m", ground_m))
    if ground.ndim == 0 or ground.shape[-1] != distance_km.shape[-1]:
        raise ValueError(_counts("ground_m", ground, distance_km))
    if ground.min() >= -11000 and ground.max() <= 9000:
        return ground
    unknown = np.isnan(ground)
    partly = unknown.any(axis=-1) & ~unknown.all(axis=-1)
    if partly.any():
        gaps = int(unknown[partly].sum(axis=-1).flat[0])
        raise ValueError(
            f"ground_m has gaps at {gaps} of {ground.shape[-1]} points; fill them, or make the whole"
            " path NaN: no map."
        )
    check("ground_m", ground[~unknown], low=-11000, high=9000)
    return ground


def _counts(name, array, distance_km):
    count = array.shape[-1] if array.ndim else 1
    points = distance_km.shape[-1]
    return (
        f"{name} has {count} point{'s' * (count != 1)} and distance_km {points}; they must match."
    )
