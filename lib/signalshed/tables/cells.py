"""From a cell of a table, or a value of a TOML file, to what it says: one converter for all."""

import difflib
import functools
import math
import numbers
import re
import unicodedata
from datetime import datetime

import numpy as np
import pandas as pd

from .pads import pad
from .spec import NUMBERS, squeezed

_MINUS = "\u2212"
"""The minus sign proper, which some spreadsheets write."""
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
SHOWN = "meter units"
"""Unit of what a meter shows, whatever its scale; per cent may be typed with its sign."""
_FORMULA = re.compile(r"(^|[;\t|])('*)(?=[=+\-@\t\r＝＋－＠])")
"""Where a spreadsheet may see a formula begin: in front, and behind marks that it may cut cells at."""
_CONTROL = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f\x80-\x9f\u200b\u202a-\u202e\u2060\u2066-\u2069\ufeff]"
)
_TRUTH = {
    **dict.fromkeys(("yes", "y", "true", "1", "1.0"), True),
    **dict.fromkeys(("no", "n", "false", "0", "0.0"), False),
}
_NOT_KNOWN = ("?", "nan", "none", "nat", "<na>", "unknown", "not known")
_MOST_LETTERS = {"text": 200, "list": 200, "note": 5000}
"""How long a text may be, by kind, in a cell as in a TOML file."""


def convert(column, cells, variant=None):
    """Values of one column and what is wrong with them.

    Parameters: ``column`` a Column; ``cells`` a sequence of text, or of values such as a DataFrame
    holds; ``variant`` the Variant they are in, None for the column's own unit. Returns an array of
    values (what stands for an empty cell: NaN, NaT, "" or None) and a dict from position to what was
    expected there.
    """

    def read(cell):
        try:
            return one(column, cell, variant), ""
        except ValueError as wrong:
            return None, str(wrong)

    # Cells repeat down a column; other values of a DataFrame may not be hashable, and 1 equals True.
    once = functools.cache(read)
    found = [once(c) if type(c) in (str, float, type(None)) else read(c) for c in cells]
    bad = {k: why for k, (_, why) in enumerate(found) if why}
    return _array(column.kind, [value for value, _ in found]), bad


def _array(kind, values):
    if kind == "time":
        return pd.DatetimeIndex(pd.to_datetime(pd.Series(values, dtype=object), utc=True))
    if kind in NUMBERS:
        return np.array([math.nan if v is None else v for v in values], dtype=float)
    if kind not in ("flag", "lock"):
        values = ["" if v is None else " ".join(v) if kind == "list" else v for v in values]
    return np.array([*values, None], dtype=object)[:-1]


def one(column, given, variant=None):
    """What one cell or value says, in the column's own unit; None where it is empty.

    Parameters: ``column`` a Column; ``given`` text, or a value of a TOML file or DataFrame; ``variant``
    as in ``convert``. Raises ValueError that says what was expected.

    >>> from . import STATIONS
    >>> one(STATIONS.column("standard"), "8-VSB"), one(STATIONS.column("erp_kw"), "400")
    ('ATSC1', 400.0)
    """
    given = given.strip() if isinstance(given, str) else given
    if is_empty(given):
        return None
    value = _READ[column.kind](column, given)
    if column.kind not in NUMBERS:
        return value
    several = value if column.kind == "numbers" else (value,)
    base = tuple(v if variant is None else variant.to_base(v) for v in several)
    if not all(map(column.in_range, base)):
        raise ValueError(column.expected() + _in_unit(column, variant, given, base[0]))
    return base if column.kind == "numbers" else (int if column.kind == "whole" else float)(base[0])


def is_empty(given):
    """Whether a cell or value says nothing: empty text, None, NaN, NaT or an empty list.

    >>> is_empty(float("nan")), is_empty("0")
    (True, False)
    """
    if isinstance(given, (str, list, tuple)):
        return not len(given)
    return given is None or given is pd.NaT or given is pd.NA or given != given


def lock(given):
    """The one truth of a lock, however it was written: True, False, or None where it is not known.

    Parameters: ``given`` text, a number, a bool, NaN or None.

    >>> [lock(written) for written in ("yes", 0, "?", "", float("nan"))]
    [True, False, None, None, None]
    """
    return _TRUTH.get(str(given).strip().lower())


def locks(column):
    """A column of locks as floats (n,): 1 a picture, 0 none, NaN not known.

    Parameters: ``column`` a sequence of what ``lock`` takes.

    >>> locks(["yes", False, "?"])
    array([ 1.,  0., nan])
    """
    return np.array([lock(given) for given in column], dtype=float)


def unguarded(text):
    """A text cell without the apostrophes that keep a spreadsheet from computing it."""
    return _FORMULA.sub(lambda found: found[1] + found[2][1:], text)


def guarded(text):
    """A text cell that no spreadsheet takes for a formula: one apostrophe more where one may begin.

    >>> guarded("=1+1"), unguarded(guarded("=1+1")), guarded("plain")
    ("'=1+1", '=1+1', 'plain')
    """
    return _FORMULA.sub(lambda found: found[1] + "'" + found[2], text)


def did_you_mean(word, known):
    """A short question with the nearest of ``known``, or nothing.

    >>> did_you_mean("statoin", ["station", "place"])
    '; did you mean station?'
    """
    lower = {name.lower(): name for name in known}
    near = difflib.get_close_matches(str(word).lower(), lower, n=1, cutoff=0.7)
    return f"; did you mean {lower[near[0]]}?" if near else ""


# ---- by kind --------------------------------------------------------------------------------------


def _is_number(given):
    return isinstance(given, numbers.Real) and not isinstance(given, bool)


def _text(column, given):
    """Text, one spelling of letters with marks; a number of a DataFrame as 9 where it is 9.0."""
    text = f"{given:.12g}" if _is_number(given) else given
    if not isinstance(text, str):
        raise ValueError(column.expected())
    limit = _MOST_LETTERS[column.kind]
    if len(text) > limit:
        raise ValueError(f"text of at most {limit} letters")
    if _CONTROL.search(text) or (column.kind != "note" and ("\n" in text or "\t" in text)):
        raise ValueError("text without line breaks or hidden characters")
    return unicodedata.normalize("NFC", text)


def _number(column, given):
    if isinstance(given, str):
        sign = "%" if column.unit == SHOWN else ""
        plain = given.replace(_MINUS, "-", 1).removesuffix(sign).rstrip()
        if not _NUMBER.fullmatch(plain):
            raise ValueError(column.expected() + _number_hint(given))
        return float(plain)
    if not _is_number(given) or abs(given) > 1e300:
        raise ValueError(column.expected())
    return float(given)


def _number_hint(cell):
    """What probably happened to a cell that is no number."""
    if cell.lower() in ("nan", "n/a", "na", "none", "null", "-", "?", "unknown"):
        return "; leave the cell empty if it is unknown"
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", cell):
        return "; write it without the thousands comma"
    if re.fullmatch(r"[+-]?\d+,\d+", cell):
        return "; write a decimal point, not a comma"
    if _NUMBER.match(cell):
        return "; the number alone, its unit stands in the column's name"
    return ""


def _in_unit(column, variant, given, base):
    """What a number out of range is in the column's own unit."""
    if variant is None or variant.unit == column.unit or isinstance(given, list):
        return ""
    return f"; {given} {variant.unit} is {base:.6g} {column.unit}"


def _pad(column, given):
    """Loss of what stands for a pad; its own doubt is told apart, by ``pads.pad``."""
    if not isinstance(given, str) or _NUMBER.fullmatch(given.replace(_MINUS, "-", 1)):
        return _number(column, given)
    try:
        return pad(given)[0]
    except ValueError:
        raise ValueError(column.expected() + _number_hint(given)) from None


def _whole(column, given):
    value = _number(column, given)
    if value != round(value):
        raise ValueError(column.expected())
    return value


def _numbers(column, given):
    return tuple(_number(column, v) for v in (given if isinstance(given, list) else [given]))


def _choice(column, given):
    word = column.words.get(squeezed(given)) if isinstance(given, str) else None
    if word is None:
        raise ValueError(column.expected() + did_you_mean(given, column.choices))
    return word


def _list(column, given):
    if isinstance(given, str):
        given = re.split(r"[\s,;|]+", given)
    words = given if isinstance(given, (list, tuple)) else [given]
    texts = [_text(column, word) for word in words if word != ""]
    return (
        tuple(dict.fromkeys(_choice(column, t) for t in texts)) if column.choices else tuple(texts)
    )


def _time(column, given):
    try:
        moment = given if isinstance(given, datetime) else datetime.fromisoformat(given)
    except (TypeError, ValueError):
        raise ValueError("a time as 2026-05-01T20:15:00-05:00 (ISO 8601)") from None
    if moment.tzinfo is None:
        raise ValueError(f"a time with its offset, as {moment.isoformat()}-05:00")
    if not 1950 <= moment.year <= 2200:
        raise ValueError("a time in this century or the last")
    return moment


def _flag(column, given):
    value = lock(given)
    is_open = column.kind == "lock" and str(given).lower() in _NOT_KNOWN
    if value is None and not is_open:
        raise ValueError(column.expected())
    return value


_READ = {
    "text": _text,
    "note": _text,
    "number": _number,
    "bearing": _number,
    "pad": _pad,
    "whole": _whole,
    "numbers": _numbers,
    "choice": _choice,
    "list": _list,
    "time": _time,
    "flag": _flag,
    "lock": _flag,
}
