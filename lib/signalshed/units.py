"""Decibel arithmetic, unit conversions, and the checks that every function gives its arguments."""

import reprlib
from collections.abc import Hashable
from fractions import Fraction

import numpy as np

from . import facts

DBI_OF_HALF_WAVE_DIPOLE = facts.value("constants", "half_wave_dipole_gain_dbi")
"""Gain of a half-wave dipole over an isotropic radiator, dB (closed form)."""

LIGHT_M_MHZ = facts.value("constants", "speed_of_light") / 1e6
"""Metres that light goes in a microsecond: a wavelength in m is this over the frequency in MHz."""

SDS_TO_90 = 1.6449
"""Half width of a 90 % interval in standard deviations (normal distribution)."""

SDS_TO_WORST_TENTH = 1.2816
"""From the median down to the level held 90 % of the time, in standard deviations of that level."""

KM_PER_MILE = 1.609344
MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048


def check(name, value, *, low=-np.inf, high=np.inf, above=None):
    """``value`` as a float array, or a ValueError that names it and says what is allowed.

    Parameters: ``name`` of the argument as its user knows it; ``value``, a number or anything
    array-like; ``low`` and ``high`` are included in the range; ``above`` is an excluded lower end.
    Returns an ndarray of any shape (0-d for a number).

    >>> check("distance_km", 5, above=0)
    array(5.)
    >>> check("distance_km", [5, -1], above=0)
    Traceback (most recent call last):
    ValueError: distance_km is -1; it must be a number above 0.
    """
    try:
        array = np.asarray(value, dtype=float)
    except _NO_NUMBER:
        raise _refusal(name, value, _allowed(low, high, above)) from None
    if array.size and not _within(array, low, high, above):
        lowest = low if above is None else np.nextafter(above, np.inf)
        bad = ~((array >= lowest) & (array <= high) & np.isfinite(array))
        first = array[bad].flat[0]
        raise ValueError(f"{name} is {first:.6g}; it must be {_allowed(low, high, above)}.")
    return array


def floats(name, value):
    """``value`` as a float array of any shape, NaN and infinity allowed, or a ValueError that names it.

    Parameters: ``name`` of the argument; ``value``, a number or anything array-like.

    >>> floats("low_db", "three")
    Traceback (most recent call last):
    ValueError: low_db is 'three'; it must be a number.
    """
    try:
        return np.asarray(value, dtype=float)
    except _NO_NUMBER:
        raise _refusal(name, value, "a number") from None


_NO_NUMBER = (TypeError, ValueError, OverflowError)


def _refusal(name, value, allowed):
    inch = " One inch is 25.4 (shed.units.mm_from_inches)." if name.endswith("_mm") else ""
    return ValueError(f"{name} is {reprlib.repr(value)}; it must be {allowed}.{inch}")


def number(name, value, *, low=-np.inf, high=np.inf, above=None):
    """One ``value`` as a float, or a ValueError that names it; see check.

    >>> number("hours", [])
    Traceback (most recent call last):
    ValueError: hours is of shape (0,); it must be a single number.
    """
    return one_float(name, check(name, value, low=low, high=high, above=above))


def one_float(name, value):
    """One ``value`` as a float, NaN and infinity allowed, or a ValueError that names it.

    >>> one_float("spare_db", np.array([-np.inf]))
    -inf
    """
    array = floats(name, value)
    if array.size != 1:
        raise ValueError(f"{name} is of shape {array.shape}; it must be a single number.")
    return array.item()


def one_of(name, value, known):
    """``value``, or a ValueError that names it and lists what is ``known``, a collection of names.

    >>> one_of("region", ["us"], ("us", "japan"))
    Traceback (most recent call last):
    ValueError: region is ['us']; it must be one of us, japan.
    """
    if not isinstance(value, Hashable) or value not in known:
        raise ValueError(
            f"{name} is {reprlib.repr(value)}; it must be one of {', '.join(map(str, known))}."
        )
    return value


def _within(array, low, high, above):
    """Whether every number lies where it may: nothing is laid aside for it, since all are asked so."""
    least, most = (array.item(),) * 2 if array.ndim == 0 else (array.min(), array.max())
    enough = least >= low if above is None else least > above
    return enough and most <= high and -np.inf < least and most < np.inf


def check_type(name, value, kind, how):
    """A ValueError that names the argument and says what it must be, unless ``value`` is a ``kind``.

    Parameters: ``name`` of the argument; ``value``; ``kind`` a class or several; ``how`` one is got.

    >>> check_type("pads_db", 3, list, "a list, as [3, 6]")
    Traceback (most recent call last):
    ValueError: pads_db is of type int; it must be a list, as [3, 6].
    """
    if not isinstance(value, kind):
        raise ValueError(f"{name} is of type {type(value).__name__}; it must be {how}.")


def range_words(low=-np.inf, high=np.inf, above=None):
    """A range in words that follow "a number"; ``low``, ``high`` and ``above`` as in check.

    >>> range_words(0, 5), range_words(above=0, high=5), range_words()
    (' from 0 to 5', ' above 0, at most 5', '')
    """
    if above is not None:
        return f" above {above:g}" + (f", at most {high:g}" if np.isfinite(high) else "")
    if np.isfinite(low):
        return f" from {low:g} to {high:g}" if np.isfinite(high) else f" of at least {low:g}"
    return f" of at most {high:g}" if np.isfinite(high) else ""


def _allowed(*ends):
    words = range_words(*ends)
    return f"a number{words}" if words else "a finite number"


def settle(thing, **fields):
    """Set fields of a frozen ``thing`` while it is being made; arrays as copies that nobody can change.

    Parameters: ``thing`` of a frozen dataclass, in its ``__post_init__``; ``fields`` by name.
    """
    for name, value in fields.items():
        if isinstance(value, np.ndarray):
            value = value.copy()
            value.flags.writeable = False
        object.__setattr__(thing, name, value)


def plain(array):
    """A float for a 0-d array, the array itself otherwise: how every function hands back numbers.

    >>> plain(np.array(2.5))
    2.5
    """
    array = np.asarray(array)
    return array.item() if array.ndim == 0 else array


def turn_deg(from_deg, to_deg):
    """How far one turns ``from_deg`` one bearing ``to_deg`` another, clockwise: -180 up to 180.

    >>> turn_deg(350, 10), turn_deg(10, 350)
    (20, -20)
    """
    return (to_deg - from_deg + 180) % 360 - 180


def to_db(ratio):
    """Power ``ratio`` (above 0, any shape) to dB.

    >>> to_db(2)
    3.010299956639812
    """
    return plain(10 * np.log10(check("ratio", ratio, above=0)))


def from_db(db):
    """``db`` (decibels, any shape) to power ratio.

    >>> from_db(10)
    10.0
    """
    return plain(10 ** (check("db", db) / 10))


def dbm_from_dbuv(level_dbuv, impedance_ohm=75.0):
    """``level_dbuv`` across ``impedance_ohm`` (above 0) to dBm: 108.75 dB apart in 75 ohm.

    >>> round(dbm_from_dbuv(60), 2)
    -48.75
    """
    r = check("impedance_ohm", impedance_ohm, above=0)
    return plain(check("level_dbuv", level_dbuv) - 90 - 10 * np.log10(r))


def dbm_from_dbuv_m(field_dbuv_m, freq_mhz, gain_dbd=0.0):
    """Field strength ``field_dbuv_m`` to the power in dBm that an antenna of ``gain_dbd`` delivers.

    Parameters: ``field_dbuv_m``, dBuV/m; ``freq_mhz``, above 0; ``gain_dbd``, over a half-wave
    dipole. P = E^2 / eta0 x gain x wavelength^2 / 4 pi. Shapes broadcast.
    Source: the dipole factor of ISED BPR-10 Appendix 8, -130.8 dB at 615 MHz.

    >>> round(dbm_from_dbuv_m(0, 615), 1)
    -130.8
    """
    f = check("freq_mhz", freq_mhz, above=0)
    gain_dbi = check("gain_dbd", gain_dbd) + DBI_OF_HALF_WAVE_DIPOLE
    aperture_m2_db = gain_dbi + 20 * np.log10(LIGHT_M_MHZ / f) - 10 * np.log10(4 * np.pi)
    eta0_db = 10 * np.log10(facts.value("constants", "free_space_impedance"))
    return plain(check("field_dbuv_m", field_dbuv_m) - 120 - eta0_db + aperture_m2_db + 30)


def dbd_from_dbi(gain_dbi):
    """Gain over an isotropic radiator, ``gain_dbi``, to gain over a half-wave dipole, dB.

    >>> round(dbd_from_dbi(2.15), 2)
    -0.0
    """
    return plain(check("gain_dbi", gain_dbi) - DBI_OF_HALF_WAVE_DIPOLE)


def miles_from_km(distance_km):
    """Kilometres, ``distance_km``, to miles.

    >>> round(miles_from_km(55), 1)
    34.2
    """
    return plain(check("distance_km", distance_km) / KM_PER_MILE)


def mm_from_inches(length_in):
    """Inches, ``length_in``, to millimetres.

    >>> round(mm_from_inches(10.25), 2)
    260.35
    """
    return plain(check("length_in", length_in) * MM_PER_INCH)


def mm_of_inches(typed, name="length_in"):
    """Inches as typed, a number, a text as "10 1/4", or a list of these, in millimetres.

    Parameters: ``typed``; ``name`` of what was typed, for the ValueError where it is no length.

    >>> mm_of_inches("10 1/4"), mm_of_inches([1, "1/2"])
    (260.35, [25.4, 12.7])
    """
    if isinstance(typed, list | tuple):
        return [mm_of_inches(one, name) for one in typed]
    try:
        parts = typed.removesuffix("in").split() if isinstance(typed, str) else [typed]
        return float(sum(Fraction(part) for part in parts) * Fraction("25.4"))
    except (ValueError, TypeError, ArithmeticError):
        raise ValueError(f'{name} is {typed!r}; it must be inches, as 10.25 or "10 1/4".') from None


def inches_text(length_mm):
    """``length_mm`` (at least 0) as inches to the nearest sixteenth, as a tape measure shows it.

    >>> inches_text(260)
    '10 1/4 in'
    """
    sixteenths = round(number("length_mm", length_mm, low=0) / MM_PER_INCH * 16)
    whole, part = divmod(Fraction(sixteenths, 16), 1)
    return f"{whole} {part} in" if whole and part else f"{whole or part} in"


__all__ = [
    "DBI_OF_HALF_WAVE_DIPOLE",
    "KM_PER_MILE",
    "LIGHT_M_MHZ",
    "MM_PER_INCH",
    "M_PER_FOOT",
    "SDS_TO_90",
    "SDS_TO_WORST_TENTH",
    "check",
    "check_type",
    "dbd_from_dbi",
    "dbm_from_dbuv",
    "dbm_from_dbuv_m",
    "from_db",
    "inches_text",
    "miles_from_km",
    "mm_from_inches",
    "mm_of_inches",
    "plain",
    "to_db",
    "turn_deg",
]


def __dir__():
    return __all__
