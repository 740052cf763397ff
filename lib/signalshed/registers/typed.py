"""Quantities as a person types them in a form: by the parser of records, and a few words more."""

import re
from datetime import date

from .. import earth, facts
from .degrees import angle
from .numbers import amount, erp_kw, in_base
from .vocabulary import plain

_POINTS = re.findall(r"\w+", "n nne ne ene e ese se sse s ssw sw wsw w wnw nw nnw")
_LETTERS = {"north": "n", "east": "e", "south": "s", "west": "w"}
_FEET = re.compile(r"(\d+)\s*(?:'|ft|feet|foot)\s*(\d+[\d./ ]*?)\s*(?:''|\"|in|inch|inches)", re.I)
_FRACTION = re.compile(r"(?:(\d+)[\s-]+)?(\d+)/(\d+)")
_FLOOR = re.compile(
    r"(?:(\d+)(?:st|nd|rd|th|\.)?|(ground|first|second|third|fourth|fifth))\s+(?:floor|storey|story)"
)
_ORDINALS = ("ground", "first", "second", "third", "fourth", "fifth")
_GROUND_IS_FIRST = ("us", "jp")
"""Plans of countries that call the ground floor the first one (common practice, no source)."""


def quantity(text, kind, usual):
    """A number with its unit, in kW, m, km or MHz, from what was typed.

    Parameters: ``text``; ``kind`` power, height, distance or frequency; ``usual`` the unit of a bare
    number. Raises ValueError in plain words.

    >>> quantity("10 1/4 in", "height", "m"), quantity("34,5 mi", "distance", "km")
    (0.26035, 55.522368)
    """
    whole = _FEET.sub(lambda f: f"{float(f[1]) * 12 + _fraction(f[2])} in", text.strip())
    whole = _FRACTION.sub(lambda f: str(_fraction(f[0])), whole).replace('"', " in ")
    try:
        if "%" in whole:
            raise ValueError
        found = amount(whole, kind)
    except ValueError:
        wrong = f"{text.strip()!r} is not a number, or not one with a unit of {kind}."
        raise ValueError(wrong) from None
    if kind == "power":
        return erp_kw(found.value, found.unit or usual, bool(found.is_isotropic))
    return round(in_base(found.value, found.unit or usual), 9)


def _fraction(text):
    """A whole number and a fraction as a float."""
    found = _FRACTION.fullmatch(text.strip())
    return int(found[1] or 0) + int(found[2]) / int(found[3]) if found else float(text)


def height_m(text, region="us", usual="m"):
    """Height above the ground in m: a length, or a floor ("3rd floor" is its window).

    Parameters: ``text``; ``region``, whose floors are counted; ``usual`` unit of a bare number.

    >>> height_m("30 ft"), height_m("3rd floor"), height_m("3rd floor", "ge06")
    (9.144, 7.5, 10.5)
    """
    floor = _FLOOR.fullmatch(plain(text.strip()))
    if not floor:
        return quantity(text, "height", usual)
    number = int(floor[1]) if floor[1] else _ORDINALS.index(floor[2])
    above = max(number - 1, 0) if region in _GROUND_IS_FIRST else number
    return above * facts.value("judgement", "storey_m") + facts.value("judgement", "sill_m")


def bearing_deg(text, latitude_deg=None, day=None):
    """A true bearing, degrees from 0 to 360: a number, a compass word, or where the sun was seen.

    Parameters: ``text`` as "225", "SW", "south-west", "evening sun", "morning sun"; ``latitude_deg`` of
    the place and ``day`` (None: today), for the sun. Raises ValueError in plain words.

    >>> bearing_deg("SW"), bearing_deg("north-north-east"), bearing_deg("47,5°")
    (225.0, 22.5, 47.5)
    >>> round(bearing_deg("evening sun", 40, date(2026, 6, 21)))
    302
    """
    words = plain(text.strip()).replace("°", "").strip()
    letters = re.sub("|".join(_LETTERS), lambda f: _LETTERS[f[0]], words)
    letters = re.sub(r"[^a-z]", "", letters)
    if letters in _POINTS and not re.search(r"\d", words):
        return _POINTS.index(letters) * 22.5
    sun = re.fullmatch(r"(?:the )?(evening|morning|setting|rising) ?sun|sun(set|rise)", words)
    if sun and latitude_deg is None:
        raise ValueError("fill in the latitude first, or give the bearing in degrees.")
    if sun:
        evening = (sun[1] or sun[2]) in ("evening", "setting", "set")
        return round(earth.sun_bearing_deg(latitude_deg, day or date.today(), evening), 1)
    try:
        found = amount(text, "bearing")
    except ValueError:
        wrong = f"{text.strip()!r} is not a number of degrees, a word such as SW, or evening sun."
        raise ValueError(wrong) from None
    if not 0 <= found.value <= 360:
        raise ValueError(f"{found.value:g} is not between 0 and 360.")
    return found.value


def degrees(text, axis):
    """Latitude or longitude in degrees, south and west negative, in any usual spelling.

    Parameters: ``text``; ``axis`` latitude or longitude. Raises ValueError in plain words.

    >>> degrees("40 42 0 W", "longitude"), degrees("30,45", "latitude")
    (-40.7, 30.45)
    """
    try:
        value, letter = angle(text, "W")
    except ValueError as expected:
        wrong = f"{text.strip()!r} is not a number of degrees; expected {expected}."
        raise ValueError(wrong) from None
    most, others = (90, "EW") if axis == "latitude" else (180, "NS")
    if not -most <= value <= most:
        raise ValueError(f"{value:g} is not between {-most} and {most}.")
    if letter and letter in others:
        raise ValueError(f"{text.strip()!r} is no {axis}: are latitude and longitude swapped?")
    return round(value, 6)
