"""How far from its tower a station would come on 9, 5 and 1 of 10 roofs like this one."""

from dataclasses import dataclass

import numpy as np

from ..units import check
from .average_terrain import average_terrain_dbuv_m

NEAREST_KM, FARTHEST_KM = 1.0, 480.0
_STEPS = 240
_TILT_DB = 1e-6  # over a flat stretch, so that every level belongs to one distance


@dataclass(frozen=True, eq=False)
class Falloff:
    """How each station fades away along the way from its tower, with everything else as at home.

    ``km`` (stations, n) rising distances from the tower, home's own among them; ``above_home_db``
    (stations, n) the level held 90 % of the time there, dB above that at home: 0 at home, and falling.
    """

    km: np.ndarray
    above_home_db: np.ndarray


def falloff(freq_mhz, erp_kw, haat_m, distance_km, receive_agl_m, fade_db):
    """How each station's level falls along the way from its tower past home: a Falloff.

    The median moves as the average-terrain curve does and keeps at every distance what it has at home
    in excess of that curve; the fade is home's own, moved by as much as the curve's fade moves, and
    never below 0. One serves all antennas and aims on a mount.

    Parameters, (stations,): ``freq_mhz``, ``erp_kw``, ``haat_m`` and ``distance_km`` of home as in
    average_terrain_dbuv_m; ``fade_db`` at home, at least 0; ``receive_agl_m`` a number. Distances
    run from 1 to 480 km; where home itself lies outside, to half or twice as far as home.

    >>> there = falloff([615], [1000], [300], [96.8], 9.1, [6.0])
    >>> float(np.interp(96.8, there.km[0], there.above_home_db[0]).round(9))
    0.0
    """
    freq, erp, haat, home = (
        np.atleast_1d(np.asarray(x, float))[:, None]
        for x in (freq_mhz, erp_kw, haat_m, distance_km)
    )
    fade_home = np.atleast_1d(check("fade_db", fade_db, low=0))[:, None]
    km = _distances_km(home)
    median, held = (
        average_terrain_dbuv_m(freq, erp, km, haat, receive_agl_m, time_pct=share)
        for share in (50, 90)
    )
    at_home, fade = km == home, median - held
    moved = fade - _where(at_home, fade)
    level = median - np.maximum(fade_home + moved, 0.0)
    falling = _falling(level - _where(at_home, level), km >= home)
    return Falloff(km, falling - _TILT_DB * np.log(km / home))


def _distances_km(home_km):
    """Even steps of a logarithm for each station, and home's distance in its place."""
    nearest = np.where(home_km > NEAREST_KM, NEAREST_KM, home_km / 2)
    farthest = np.where(home_km < FARTHEST_KM, FARTHEST_KM, home_km * 2)
    even = np.geomspace(nearest[:, 0], farthest[:, 0], _STEPS, axis=1)
    return np.sort(np.hstack([even, home_km]), axis=1)


def _where(mask, values):
    """The value of each row at its home, (stations, 1)."""
    return np.take_along_axis(values, mask.argmax(axis=1)[:, None], axis=1)


def _falling(level_db, beyond):
    """``level_db`` without its rises, left as it is at home: less than 0 beyond home, more before."""
    outward = np.minimum.accumulate(np.where(beyond, level_db, np.inf), axis=1)
    inward = np.where(beyond, -np.inf, level_db)[:, ::-1]
    inward = np.maximum(np.maximum.accumulate(inward, axis=1)[:, ::-1], 0.0)
    return np.where(beyond, outward, inward)


def comes_km(there, spare_db):
    """How far from its tower each station comes if at home it could lose ``spare_db`` and still come.

    By construction a spare of 0 dB is home's own distance: where the chance at home is 0.9, the
    distance of 9 in 10 roofs is that of home. Ends stay within the distances of ``there``.

    Parameters: ``there`` a Falloff; ``spare_db`` (..., stations), how many dB the station's own signal
    could fall and still come with the chance in question (for a fixed aim: margin less fade, less the
    chance's normal quantile times the spread), NaN where nothing is known. Returns km of that shape.
    ValueError for another number of stations.

    >>> there = falloff([615], [1000], [300], [96.8], 9.1, [6.0])
    >>> comes_km(there, [[-10.0], [0.0], [10.0]])[:, 0].round(1).tolist()
    [79.4, 96.8, 120.2]
    """
    spare = np.asarray(spare_db, float)
    if spare.shape[-1:] != there.km.shape[:1]:
        raise ValueError(
            f"spare_db has shape {spare.shape}; its last axis must be {len(there.km)} stations."
        )
    columns = [
        np.interp(-spare[..., k], level[::-1], np.log(km[::-1]))
        for k, (km, level) in enumerate(zip(there.km, there.above_home_db, strict=True))
    ]
    return np.exp(np.stack(columns, axis=-1)) if columns else spare.copy()
