"""Profiles from terrain tiles, for all stations of a site at once."""

from dataclasses import dataclass

import numpy as np

from .. import facts
from ..units import check, plain
from .geodesy import bearing_and_distance, destination
from .profile import Profile
from .tiles import Tiles, open_tiles

_FACTS = facts.numbers("terrain_tiles")
_OPEN_KM = 0.1


def profiles(place, stations, tiles, points=None, *, clutter_m=0.0):
    """The ground from every station to a place: a Profile of shape (stations, points).

    Parameters: ``place`` with latitude_deg and longitude_deg (a site.Place); ``stations`` a table with
    columns latitude_deg and longitude_deg, or bearing_deg and distance_km from the place where those
    are missing; ``tiles`` a Tiles or the folder that holds them; ``points`` along each path, 3 to
    20001, evenly spaced, None for 401, doubled until no more than 100 m lie between two on the longest
    path; ``clutter_m`` height of trees and houses along the paths, from 0, a number or (stations,
    points), taken away on the last 100 m before the receiving antenna, and on ground at sea level, which
    tiles give as exactly 0.
    A path that leaves the tiles or crosses a void too wide to bridge is NaN, and ``note`` of the Profile
    says why, naming the tile. ValueError for a place or table that cannot be used.

    >>> import tempfile, types, pathlib
    >>> import pandas as pd
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     np.full((1201, 1201), 250, ">i2").tofile(pathlib.Path(folder) / "N30W041.hgt")
    ...     home = types.SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5)
    ...     list_ = pd.DataFrame({"bearing_deg": [90.0], "distance_km": [30.0]})
    ...     float(profiles(home, list_, folder).ground_m[0, 200])
    250.0
    """
    tiles = tiles if isinstance(tiles, Tiles) else open_tiles(tiles)
    latitudes, longitudes, length = senders(place, stations)
    ends = (latitudes, longitudes, place.latitude_deg, place.longitude_deg)
    note = off_the_tiles(tiles, *ends)
    there = np.flatnonzero(note == "")
    share = np.linspace(0, 1, _points(points, length))
    distance = length[:, None] * share
    ground = np.full(distance.shape, np.nan)
    if there.size:
        ways = points_between(*(end[there] for end in ends[:2]), *ends[2:], share)
        looked = tiles.look_up(*ways)
        ground[there], note[there] = _bridged(tiles, *looked, distance[there])
    bare = (length[:, None] * (1 - share) <= _OPEN_KM) | (ground == 0)
    clutter = np.where(bare, 0, check("clutter_m", clutter_m, low=0))
    return Profile(distance, ground, clutter if clutter.any() else 0.0, note)


@dataclass(frozen=True, eq=False)
class Profiles:
    """Profiles of many stations, each as fine as its own length asks: none hangs on the others.

    ``groups`` of (rows, Profile), stations of about one length; ``note`` and ``known`` (stations,).
    """

    groups: tuple
    note: np.ndarray
    known: np.ndarray

    def path(self, index):
        """The Profile of one station. Parameters: ``index`` its row."""
        for rows, profile in self.groups:
            if index in rows:
                return profile.path(int(np.flatnonzero(rows == index)[0]))
        raise ValueError(f"index is {index!r}; there are {len(self.note)} paths.")

    def of(self, rows):
        """Those of some stations, by groups: pairs of (rows, Profile). Parameters: ``rows`` an array."""
        for mine, profile in self.groups:
            here = np.flatnonzero(np.isin(mine, rows))
            if here.size:
                yield mine[here], profile.path(here)


def own_profiles(place, stations, tiles, *, clutter_m=0.0):
    """The ground from every station to a place, steps of 100 m at most on each path: Profiles.

    Parameters: as in ``profiles``: ``place``, ``stations``, ``tiles``, ``clutter_m`` a number.

    >>> import types
    >>> import pandas as pd
    >>> home = types.SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5)
    >>> list_ = pd.DataFrame({"bearing_deg": [90.0, 0.0], "distance_km": [30.0, 100.0]})
    >>> land = own_profiles(home, list_, Tiles({}))
    >>> [profile.distance_km.size for _, profile in land.groups], land.note[0]
    ([401, 1601], 'path leaves the terrain tiles: no N30W041.hgt')
    """
    length = _column(stations, "distance_km")
    if np.isnan(length).any():
        length = senders(place, stations)[2]
    counts = np.array([_points(None, one) for one in length], int)
    groups = []
    for count in np.unique(counts):
        rows = np.flatnonzero(counts == count)
        table = stations.iloc[rows]
        groups.append((rows, profiles(place, table, tiles, int(count), clutter_m=clutter_m)))
    note, known = np.full(counts.size, "", dtype=object), np.zeros(counts.size, bool)
    for rows, profile in groups:
        note[rows], known[rows] = profile.note, profile.known
    return Profiles(tuple(groups), note, known)


def _points(points, length_km):
    """How many points a path gets."""
    if points is not None:
        return int(check("points", points, low=3, high=20001))
    steps, longest = 400, np.max(length_km) / _FACTS.longest_step_km
    while steps < longest - 1e-9 and steps < 10000:
        steps *= 2
    return steps + 1


def off_the_tiles(tiles, latitude_deg, longitude_deg, to_latitude_deg, to_longitude_deg):
    """Which ways leave the tiles, in words that name the first missing one: (ways,) text, else "".

    Looked at every 64th part of the way; opens the tiles that are crossed.
    Parameters: ``tiles`` a Tiles; ends of the ways as in points_between.
    """
    share = np.linspace(0, 1, 65)
    ways = points_between(latitude_deg, longitude_deg, to_latitude_deg, to_longitude_deg, share)
    _, south, west = tiles.look_up(*ways)
    there = np.isin(1000 * south + west, [1000 * s + w for s, w in tiles.files])
    note = np.full(len(there), "", dtype=object)
    for row in np.flatnonzero(~there.all(axis=1)):
        first = there[row].argmin()
        note[row] = _left(tiles, (int(south[row, first]), int(west[row, first])))
    return note


def _left(tiles, corner):
    return f"path leaves the terrain tiles: no {tiles.name(corner)}"


def near_transmitters(place, stations, tiles):
    """The ground toward a place near each transmitter: (average_m, foot_m), (stations,) each.

    ``average_m`` of the ground 3 to 16 km from the transmitter, or of the whole path where that is
    shorter than 3 km, every 100 m; ``foot_m`` at the transmitter itself. NaN where no tile says it.
    Parameters: ``place`` and ``stations`` as in ``profiles``; ``tiles`` a Tiles. Source: 47 CFR 73.684,
    the 3 and 16 km unchecked.

    >>> import types
    >>> import pandas as pd
    >>> home = types.SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5)
    >>> list_ = pd.DataFrame({"bearing_deg": [90.0], "distance_km": [30.0]})
    >>> [ground.tolist() for ground in near_transmitters(home, list_, Tiles({}))]
    [[nan], [nan]]
    """
    latitudes, longitudes, length = senders(place, stations)
    low, high = _FACTS.average_from_km, _FACTS.average_to_km
    first = np.where(length > low, low, 0.0) / length
    last = np.minimum(high / length, 1.0)
    steps = np.linspace(0, 1, round((high - low) / _FACTS.longest_step_km) + 1)
    share = first[:, None] + (last - first)[:, None] * steps
    share = np.hstack([np.zeros((len(share), 1)), share])
    ends = (latitudes, longitudes, place.latitude_deg, place.longitude_deg)
    ground = tiles.heights_m(*points_between(*ends, share))
    return ground[:, 1:].mean(axis=1), ground[:, 0]


def points_between(latitude_deg, longitude_deg, to_latitude_deg, to_longitude_deg, share):
    """Places along straight ways: (latitude_deg, longitude_deg), each (ways, points).

    Parameters: ``latitude_deg`` and ``longitude_deg`` (ways,) of the starts, ``to_latitude_deg`` and
    ``to_longitude_deg`` of the ends; ``share`` (points,) of the way, 0 to 1, or (ways, points).
    Great circles of the ellipsoid's upright directions: within 10 m of the geodesic on 200 km.

    >>> latitude, longitude = points_between([30.0], [-40.0], 30.0, -40.0, [0, 1])
    >>> latitude.round(6).tolist()
    [[30.0, 30.0]]
    """
    start, end = _upright(latitude_deg, longitude_deg), _upright(to_latitude_deg, to_longitude_deg)
    share = check("share", share, low=0, high=1)
    angle = np.arctan2(np.linalg.norm(np.cross(start, end), axis=-1), (start * end).sum(axis=-1))
    angle = np.maximum(angle, 1e-12)[..., None]
    first, last = np.sin((1 - share) * angle), np.sin(share * angle)
    x, y, z = (first * start[..., i, None] + last * end[..., i, None] for i in range(3))
    return np.rad2deg(np.arctan2(z, np.hypot(x, y))), np.rad2deg(np.arctan2(y, x))


def average_ground_m(profile):
    """Average of the ground from 3 to 16 km from the transmitter, m above sea level.

    With it, a height above average terrain on this radial becomes one above sea level. Parameters:
    ``profile`` an earth.Profile. Float or array over its paths; the whole path where it ends nearer
    than 3 km; NaN where no map covers it. Source: 47 CFR 73.684, unchecked.

    >>> average_ground_m(Profile([0, 5, 10, 20, 40], [900, 100, 200, 700, 800]))
    150.0
    """
    low, high = _FACTS.average_from_km, _FACTS.average_to_km
    inside = (profile.distance_km >= low) & (profile.distance_km <= high)
    inside = np.where(inside.any(axis=-1)[..., None], inside, True)
    ground, inside = np.broadcast_arrays(profile.ground_m, inside)
    return plain(np.where(inside, ground, 0).sum(axis=-1) / inside.sum(axis=-1))


def transmit_agl_m(profile, antenna_amsl_m):
    """Height of the transmitting antenna above its ground, m.

    Parameters: ``profile`` an earth.Profile; ``antenna_amsl_m`` above sea level, a number or an array
    over the paths, NaN where unknown. NaN where no map covers the path. ValueError where the antenna
    would be inside the hill.

    >>> transmit_agl_m(Profile([0, 10, 20], [400, 100, 50]), 550)
    150.0
    """
    ground, antenna = profile.ground_m[..., 0], np.asarray(antenna_amsl_m, dtype=float)
    height = antenna - ground
    buried = height <= 0
    if np.any(buried):
        at = np.flatnonzero(buried)[0]
        top, floor = (np.broadcast_to(a, height.shape).ravel()[at] for a in (antenna, ground))
        which = f" of path {at}" if height.ndim else ""
        raise ValueError(
            f"antenna_amsl_m{which} is {top:.6g}: {floor - top:.4g} m inside the hill, whose ground is"
            f" {floor:.6g} m above sea level; it must be above that."
        )
    return plain(height)


def senders(place, stations):
    """Latitudes, longitudes and distances in km of all stations from the place."""
    own = (place.latitude_deg, place.longitude_deg)
    latitude, longitude, bearing, distance = (
        _column(stations, name)
        for name in ("latitude_deg", "longitude_deg", "bearing_deg", "distance_km")
    )
    polar = np.isnan(latitude) | np.isnan(longitude)
    if polar.any():
        where = destination(*own, bearing[polar], distance[polar])
        latitude[polar], longitude[polar] = where
    length = bearing_and_distance(*own, latitude, longitude)[1]
    check("distance_km", length, above=0)
    return latitude, longitude, length


def _column(stations, name):
    if name not in stations:
        return np.full(len(stations), np.nan)
    return np.array(stations[name], dtype=float)


def _upright(latitude_deg, longitude_deg):
    """Unit vectors of the vertical at each place."""
    latitude, longitude = np.deg2rad(latitude_deg), np.deg2rad(longitude_deg)
    flat = np.cos(latitude)
    parts = (flat * np.cos(longitude), flat * np.sin(longitude), np.sin(latitude))
    return np.stack(np.broadcast_arrays(*parts), axis=-1)


def _bridged(tiles, ground, south, west, distance):
    """Ground with short voids bridged and other paths with gaps wholly NaN, and a note for each."""
    ground, note = ground.copy(), np.full(len(ground), "", dtype=object)
    for row in np.flatnonzero(np.isnan(ground).any(axis=1)):
        at = np.flatnonzero(np.isnan(ground[row]))
        corners = zip(south[row][at].tolist(), west[row][at].tolist(), strict=True)
        corners = list(dict.fromkeys(corners))
        missing = [corner for corner in corners if corner not in tiles.files]
        if missing:
            note[row] = _left(tiles, missing[0])
            ground[row] = np.nan
        else:
            name = tiles.name(corners[0])
            ground[row], note[row] = _across_void(ground[row], distance[row], name)
    return ground, note


def _across_void(ground, distance_km, name):
    """A void up to 1 km wide bridged by a straight line, and one of 200 m at an end by its neighbour."""
    known = ~np.isnan(ground)
    at = np.flatnonzero(known)
    step, longest = distance_km[1], _FACTS.longest_bridge_km
    widest = np.diff(distance_km[at]).max() if at.size > 1 else np.inf
    ends = max(distance_km[at[0]], distance_km[-1] - distance_km[at[-1]]) if at.size else np.inf
    if ends > longest / 5 + step or widest > longest + 2 * step:
        count = int((~known).sum())
        words = f"void in terrain tile {name} at {count} points of the path"
        return np.full_like(ground, np.nan), words
    bridged = np.interp(distance_km, distance_km[known], ground[known])
    return bridged, f"a narrow void in terrain tile {name} bridged by a straight line"
