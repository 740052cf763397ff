"""Where a compass points, and how far that is from true north."""

import datetime
import functools
from dataclasses import dataclass

import numpy as np
from pygeomag import GeoMag

from .. import facts
from ..units import check, number, plain, turn_deg
from ..words import joined

_FACTS = facts.numbers("compass")


@dataclass(frozen=True)
class Declination:
    """How far east of true north a compass points: ``east_deg``, with ``sd_deg`` one standard deviation.

    ``year`` it is for; ``note`` what had to be assumed, "" if nothing; ``source`` "model" or "typed".
    """

    east_deg: float
    sd_deg: float
    year: float
    note: str = ""
    source: str = "model"

    def compass_from_true(self, bearing_deg):
        """A true bearing as the compass shows it, 0 to 360. Parameters: ``bearing_deg``, any shape.

        >>> Declination(-12.0, 0.4, 2026.0).compass_from_true(353)
        5.0
        """
        return plain((check("bearing_deg", bearing_deg) - self.east_deg) % 360)


def declination(latitude_deg, longitude_deg, date=None, *, typed_deg=None, height_km=0.0):
    """Declination of the compass at a place: a Declination.

    Parameters: ``latitude_deg`` -90 to 90; ``longitude_deg`` -540 to 540; ``date`` a date, its ISO
    text ("2026-05-01") or a year with its fraction (2026.33), None for today: outside 2025.0 to
    2030.0 the nearer end is used and the note says so; ``typed_deg`` a value of your own, east
    positive, -180 to 180, taken in place of the model; ``height_km`` above the ellipsoid, -1 to 850.
    ValueError otherwise. One place at a time. Iron nearby can be worse than all of this.
    Source: World Magnetic Model 2025 (NOAA NCEI), through pygeomag.

    >>> round(declination(47.6205, -122.3493, 2025.25).east_deg, 3)
    15.066
    """
    latitude = number("latitude_deg", latitude_deg, low=-90, high=90)
    longitude = number("longitude_deg", longitude_deg, low=-540, high=540)
    height = number("height_km", height_km, low=-1, high=850)
    year, note = _clamped(_year(date))
    if typed_deg is not None:
        typed = number("typed_deg", typed_deg, low=-180, high=180)
        return Declination(typed, 0.0, _year(date), "declination as typed", "typed")
    field = _model().calculate(latitude, turn_deg(0, longitude), height, year)
    base, horizontal = _FACTS.sd_base_deg, _FACTS.sd_horizontal_nt
    sd = float(np.hypot(base, horizontal / max(field.h, 1.0)))
    return Declination(float(field.d), min(sd, 180.0), year, joined(note, _weak(field.h)))


def _year(date):
    """A date in whatever form as a year with its fraction."""
    if date is None:
        date = datetime.date.today()
    if isinstance(date, str):
        try:
            date = datetime.date.fromisoformat(date[:10])
        except ValueError:
            raise ValueError(f"date is {date!r}; it must be like 2026-05-01.") from None
    if isinstance(date, datetime.date):
        first = datetime.date(date.year, 1, 1).toordinal()
        days = datetime.date(date.year, 12, 31).toordinal() + 1 - first
        return date.year + (date.toordinal() - first) / days
    return number("date", date, low=1900, high=2200)


def _clamped(year):
    """The year the model is asked for, and a note if it is another one."""
    first, last = _FACTS.first_year, _FACTS.last_year
    used = min(max(year, first), last)
    if used == year:
        return year, ""
    return used, (
        f"the magnetic model covers {first:.0f} to {last:.0f}; the declination is that of {used:.0f},"
        f" not of {int(year)}: type a newer value"
    )


def _weak(horizontal_nt):
    if horizontal_nt >= _FACTS.weak_nt:
        return ""
    return "a compass is not to be trusted here: the field is nearly vertical"


@functools.cache
def _model():
    return GeoMag(coefficients_file="wmm/WMM_2025.COF")
