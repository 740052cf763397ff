"""Numbers as records write them: thousands marks, decimal commas, units behind them."""

import functools
import re
from dataclasses import dataclass

import numpy as np

from ..units import DBI_OF_HALF_WAVE_DIPOLE, KM_PER_MILE, M_PER_FOOT
from .vocabulary import plain, unit_of, words

_BLANKS = "\u00a0\u202f\u2009'\u2019 "
_NUMBER = re.compile(rf"[+-]?\d[\d.,{_BLANKS}]*\d|[+-]?\d|[+-]?[.,]\d+")
_SPAN = re.compile(r"(\d[\d.,]*)\s*[-\u2013]\s*(\d[\d.,]*)\s*(.*)")
"""Both ends of a channel, in place of its centre."""
_THREE = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_SCALE = {
    **{"w": 1e-3, "kw": 1.0, "mw": 1e3, "milliw": 1e-6},
    **{"in": M_PER_FOOT / 12, "cm": 0.01, "mm": 0.001},
    **{"m": 1.0, "ft": M_PER_FOOT, "km": 1.0, "mi": KM_PER_MILE},
    **{"mhz": 1.0, "khz": 1e-3, "hz": 1e-6, "ghz": 1e3, "deg": 1.0, "percent": 0.01, "db": 1.0},
}
"""What one of a unit is in kW, m, km or MHz."""
_OVER_1_KW_DB = {"dbk": 0.0, "dbw": -30.0, "dbm": -60.0}


def mark_of(cell):
    """The decimal mark that a number in ``cell`` can only have: "." or ",", or "" where it says nothing.

    >>> mark_of("35.000,0"), mark_of("1,000,000"), mark_of("12,5 kW"), mark_of("1,000")
    (',', '.', ',', '')
    """
    found = _NUMBER.search(cell.replace("\u2212", "-"))
    text = found[0] if found else ""
    marks = [c for c in text if c in ".,"]
    if not marks:
        return ""
    if len(set(marks)) == 2:
        return marks[-1]
    if len(marks) > 1:
        return "." if marks[0] == "," else ","
    return "" if _THREE.fullmatch(text) else marks[0]


def in_doubt(cell):
    """Whether the one mark in ``cell`` may be a decimal mark or a thousands mark.

    >>> in_doubt("1,000"), in_doubt("0,125"), in_doubt("12.5")
    (True, False, False)
    """
    found = _NUMBER.search(cell.replace("\u2212", "-"))
    return bool(found and _THREE.fullmatch(found[0]))


@functools.lru_cache(maxsize=65536)
def number(text, mark="."):
    """The number in ``text`` and the words beside it: (float, list of words).

    Parameters: ``text`` of a cell; ``mark`` the decimal mark where the number leaves it open. Raises
    ValueError where there is no number, or more than one.

    >>> number("35.000,0 W"), number("1,000,000"), number("1.000", ",")
    ((35000.0, ['W']), (1000000.0, []), (1000.0, []))
    """
    text = text.strip().replace("\u2212", "-")
    found = _NUMBER.findall(text)
    if len(found) != 1:
        raise ValueError("one number")
    rest = text.replace(found[0], " ", 1)
    decimal = mark_of(found[0]) or mark
    bare = re.sub(f"[{_BLANKS}]", "", found[0])
    whole = bare.replace("," if decimal == "." else ".", "").replace(decimal, ".")
    if whole.count(".") > 1:
        raise ValueError("one number")
    return float(whole), re.findall(r"[^\W\d_]+|[°']", rest)


@dataclass(frozen=True)
class Amount:
    """A number with its unit and, of a power, whether it is over an isotropic antenna."""

    value: float
    unit: str | None
    is_isotropic: bool | None


_POINTS = {"n": 1, "e": 1j, "s": -1, "w": -1j}


def _points(word, bearing_deg):
    """Whether letters of the compass, as in "271 (W)", point where the number does, to a sector."""
    toward = sum(_POINTS.get(letter, np.nan) for letter in word)
    return bool((toward / np.exp(1j * np.deg2rad(bearing_deg))).real > 0.8 * abs(toward))


@functools.lru_cache(maxsize=65536)
def amount(text, quantity, mark="."):
    """The Amount in a cell: number, unit behind it if any, and "EIRP" or "ERP" beside it.

    Parameters: ``text``; ``quantity`` of vocabulary.units; ``mark`` as in ``number``. Raises ValueError
    for other words beside the number.

    >>> amount("35 kW EIRP", "power")
    Amount(value=35.0, unit='kw', is_isotropic=True)
    """
    span = _SPAN.fullmatch(text.strip()) if quantity == "frequency" else None
    if span:
        low, high = (number(end, mark)[0] for end in span.groups()[:2])
        value, beside = (low + high) / 2, re.findall(r"[^\W\d_]+", span[3])
    else:
        value, beside = number(text, mark)
    unit = is_isotropic = None
    for word in beside:
        bare = plain(word)
        if (found := unit_of(word, quantity)) and unit is None:
            unit = found
        elif bare in ("erp", "eirp", "pire", "par", "pra"):
            is_isotropic = bare in ("eirp", "pire")
        elif not (bare in words("filler") or (quantity == "bearing" and _points(bare, value))):
            raise ValueError(f"a number and its unit; {word!r} is no unit of {quantity}")
    return Amount(value, unit, is_isotropic)


def in_base(value, unit):
    """A ``value`` of a ``unit`` in kW, m, km, MHz or degrees.

    >>> in_base(500, "w"), round(in_base(17, "dbk"), 2), in_base(30, "dbw"), in_base(60, "dbm")
    (0.5, 50.12, 1.0, 1.0)
    """
    if unit in _OVER_1_KW_DB:
        return 10 ** ((min(max(value, -300.0), 300.0) + _OVER_1_KW_DB[unit]) / 10)
    return value * _SCALE[unit]


def erp_kw(value, unit, is_isotropic):
    """Power over a half-wave dipole, kW, of a ``value`` in ``unit``, over isotropic or not.

    Source: EIRP = ERP + 2.15 dB.

    >>> round(erp_kw(1.64, "kw", True), 2), round(erp_kw(20, "dbw", False), 2)
    (1.0, 0.1)
    """
    kw = in_base(value, unit)
    return kw * 10 ** (-DBI_OF_HALF_WAVE_DIPOLE / 10) if is_isotropic else kw
