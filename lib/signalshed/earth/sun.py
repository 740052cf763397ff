"""Where the sun rises and sets: a bearing that anybody can name who has seen it from a window."""

import datetime

import numpy as np

from ..units import check, check_type

_J2000 = datetime.date(2000, 1, 1)
_AT_THE_RIM_DEG = -0.833
"""Altitude of the sun's centre when its upper rim is on the horizon: refraction 34', radius 16'."""


def sun_declination_deg(date):
    """Declination of the sun at noon UTC of a ``date``, degrees, good to some 0.02 from 1950 to 2050.

    Parameters: ``date`` a datetime.date. Source: low-precision formulas of the Astronomical Almanac.

    >>> round(sun_declination_deg(datetime.date(2026, 6, 21)), 1)
    23.4
    """
    check_type("date", date, datetime.date, "a datetime.date, as datetime.date(2026, 6, 21)")
    days = (date - _J2000).days
    anomaly = np.radians(357.528 + 0.9856003 * days)
    longitude = 280.460 + 0.9856474 * days + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly)
    tilt = np.radians(23.439 - 4e-7 * days)
    return float(np.degrees(np.arcsin(np.sin(tilt) * np.sin(np.radians(longitude)))))


def sun_azimuth_deg(latitude_deg, declination_deg, altitude_deg, evening=True):
    """True bearing of the sun at an altitude, degrees (0 to 360): west of the meridian, or east of it.

    Parameters: ``latitude_deg`` -90 to 90; ``declination_deg`` and ``altitude_deg`` of the sun;
    ``evening`` False for the morning. ValueError where the sun is never so high or so low that day.
    Source: the triangle of pole, zenith and sun.

    >>> round(sun_azimuth_deg(38, -12, 14.92), 1)
    241.2
    """
    phi, delta, h = np.radians(
        [check("latitude_deg", latitude_deg, low=-90, high=90), declination_deg, altitude_deg]
    )
    below, above = np.cos(phi) * np.cos(h), np.sin(delta) - np.sin(phi) * np.sin(h)
    if abs(above) > below:
        raise ValueError(
            "the sun neither rises nor sets there that day; give the bearing in degrees."
        )
    east_deg = float(np.degrees(np.arccos(above / below)))
    return 360 - east_deg if evening else east_deg


def sun_bearing_deg(latitude_deg, date, evening=True):
    """True bearing at which the sun sets (rises where ``evening`` is False) over flat land, degrees.

    Parameters: ``latitude_deg``; ``date``; ``evening``.

    >>> round(sun_bearing_deg(40, datetime.date(2026, 6, 21)))
    302
    """
    return sun_azimuth_deg(latitude_deg, sun_declination_deg(date), _AT_THE_RIM_DEG, evening)
