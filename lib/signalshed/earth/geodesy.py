"""Distance, bearing and destination on the WGS 84 ellipsoid."""

import functools

import numpy as np
from geographiclib.geodesic import Geodesic

from ..units import check, plain

_INVERSE = Geodesic.DISTANCE | Geodesic.AZIMUTH


def bearing_and_distance(latitude_deg, longitude_deg, latitudes_deg, longitudes_deg):
    """True bearing (0 to 360 degrees, clockwise from north) and distance (km) to each place.

    Parameters, which broadcast: ``latitude_deg`` -90 to 90 and ``longitude_deg`` -540 to 540 of
    the place one stands at; ``latitudes_deg`` and ``longitudes_deg`` of the places looked at.
    Returns (bearing_deg, distance_km). ValueError for a place that is none.
    Source: Karney's geodesics on WGS 84, as in GeographicLib.

    >>> bearing, distance = bearing_and_distance(-41.32, 174.81, 40.96, -5.50)
    >>> round(bearing, 5), round(distance, 6)
    (161.06767, 19959.679267)
    """
    points = np.broadcast_arrays(
        *_checked(latitude_deg, longitude_deg),
        *_checked(latitudes_deg, longitudes_deg, names=("latitudes_deg", "longitudes_deg")),
    )
    shape = points[0].shape
    found = [_inverse(*row) for row in zip(*(p.ravel().tolist() for p in points), strict=True)]
    both = np.array(found, dtype=float).reshape(*shape, 2)
    return plain(both[..., 0]), plain(both[..., 1])


def distance_km(latitude_deg, longitude_deg, latitudes_deg, longitudes_deg):
    """Distance in km; parameters as in ``bearing_and_distance``.

    Parameters: ``latitude_deg``, ``longitude_deg``, ``latitudes_deg``, ``longitudes_deg``.

    >>> round(distance_km(41.8789, -87.6359, 43.0896, -87.9147), 3)
    136.427
    """
    return bearing_and_distance(latitude_deg, longitude_deg, latitudes_deg, longitudes_deg)[1]


def bearing_deg(latitude_deg, longitude_deg, latitudes_deg, longitudes_deg):
    """True bearing in degrees, 0 to 360; parameters as in ``bearing_and_distance``.

    Parameters: ``latitude_deg``, ``longitude_deg``, ``latitudes_deg``, ``longitudes_deg``.

    >>> round(bearing_deg(41.8789, -87.6359, 43.0896, -87.9147), 3)
    350.421
    """
    return bearing_and_distance(latitude_deg, longitude_deg, latitudes_deg, longitudes_deg)[0]


def destination(latitude_deg, longitude_deg, bearing_deg, distance_km):
    """Where one gets by going ``distance_km`` along ``bearing_deg``: (latitude_deg, longitude_deg).

    Parameters, which broadcast: ``latitude_deg`` -90 to 90 and ``longitude_deg`` -540 to 540 of
    the start; ``bearing_deg`` true, any angle; ``distance_km`` from 0 to 20040.

    >>> [round(x, 6) for x in destination(-32.06, 115.74, 225, 20000)]
    [32.111955, -63.959253]
    """
    points = np.broadcast_arrays(
        *_checked(latitude_deg, longitude_deg),
        check("bearing_deg", bearing_deg),
        check("distance_km", distance_km, low=0, high=20040),
    )
    shape = points[0].shape
    found = [_direct(*row) for row in zip(*(p.ravel().tolist() for p in points), strict=True)]
    both = np.array(found, dtype=float).reshape(*shape, 2)
    return plain(both[..., 0]), plain(both[..., 1])


def _checked(latitude, longitude, names=("latitude_deg", "longitude_deg")):
    latitude = check(names[0], latitude, low=-90, high=90)
    return latitude, check(names[1], longitude, low=-540, high=540)


@functools.lru_cache(maxsize=16384)
def _inverse(lat_1, lon_1, lat_2, lon_2):
    """Towers carry many stations, and lists are opened again: what was measured once is kept."""
    line = Geodesic.WGS84.Inverse(lat_1, lon_1, lat_2, lon_2, _INVERSE)
    return line["azi1"] % 360, line["s12"] / 1000


def _direct(lat, lon, bearing, distance):
    end = Geodesic.WGS84.Direct(lat, lon, bearing, distance * 1000)
    return end["lat2"], end["lon2"]
