"""What a table holds, said once: columns, units, ranges, defaults and meanings."""

import functools
import math
import re
from dataclasses import dataclass

import pandas as pd

from ..units import check, range_words

NUMBERS = ("number", "whole", "numbers", "bearing", "pad")
"""Kinds of a column that hold numbers, one or several."""

_SHOWN = 12
"""How many allowed words a message spells out."""


@dataclass(frozen=True)
class Variant:
    """Another name for a column, in another unit: value = ``scale`` x cell + ``offset``.

    ``is_db`` reads the cell as dB over the column's unit; ``is_compass`` marks a bearing read off a
    compass, which only the site can turn into a true one. ``unit`` is that of the cell.

    >>> round(Variant("distance_mi", "mi", scale=1.609344).to_base(34.0), 1)
    54.7
    """

    name: str
    unit: str
    scale: float = 1.0
    offset: float = 0.0
    is_db: bool = False
    is_compass: bool = False

    def to_base(self, number):
        """A ``number`` of a cell in the unit of the column."""
        value = 10 ** (min(max(number, -3000), 3000) / 10) if self.is_db else number
        return value * self.scale + self.offset


@dataclass(frozen=True)
class Column:
    """One column of a CSV file, or one key of a TOML table.

    Parameters
    ----------
    name : with its unit at the end.
    kind : text, note (text that may run over lines), number, whole, bearing, pad, choice, list, time,
        flag, lock (yes, no or not known); in TOML also numbers (one, or a list of them).
    meaning : one plain sentence or two, for the data dictionary.
    unit : of a number, in words short enough for a sentence.
    low, high, above : range of a number; ``above`` is an excluded lower end.
    required : an empty cell is a problem, and a lock that is not known.
    default : what stands in for an empty cell; None leaves it empty.
    choices : allowed words of a choice or list.
    aliases : pairs (another word, the allowed word) for a choice or list.
    variants : other columns that carry the same in another unit.
    example : a cell as a user would type it.

    >>> Column("erp_kw", "number", "power", unit="kW", above=0, high=5000).expected()
    'a number above 0, at most 5000 (kW)'
    """

    name: str
    kind: str
    meaning: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    above: float | None = None
    required: bool = False
    default: object = None
    choices: tuple = ()
    aliases: tuple = ()
    variants: tuple = ()
    example: str = ""

    def expected(self):
        """What a cell must hold, in words."""
        ends = range_words(**self._ends)
        words = {
            "text": "text",
            "note": "text",
            "whole": f"a whole number{ends}",
            "numbers": f"a number{ends}, or a list of such numbers",
            "choice": f"one of {self._choices()}",
            "list": "words with spaces between them",
            "time": "a time with its offset, such as 2026-05-01T20:15:00-05:00",
            "flag": "yes or no",
            "lock": "yes or no",
            "pad": f"a number{ends}, or what it is made of: 10+3, 8-way, 20 m series6",
        }.get(self.kind, f"a number{ends}")
        if self.kind == "list" and self.choices:
            words = f"a list of some of {self._choices()}"
        return words + (f" ({self.unit})" if self.unit else "")

    def _choices(self):
        more = len(self.choices) - _SHOWN
        tail = f" or one of {more} more" if more > 0 else ""
        return ", ".join(self.choices[:_SHOWN]) + tail

    @functools.cached_property
    def _ends(self):
        """The ends of its range that it has, by name."""
        ends = {"low": self.low, "high": self.high, "above": self.above}
        return {name: end for name, end in ends.items() if end is not None}

    def in_range(self, number):
        """Whether a ``number`` is finite and in the range."""
        low, high = self._ends.get("low", -math.inf), self._ends.get("high", math.inf)
        above = self._ends.get("above", -math.inf)
        return math.isfinite(number) and low <= number <= high and number > above

    def check(self, value, label=None):
        """A ValueError unless the column would take ``value``, a number, an array of them or a word.

        Parameters: ``value``; ``label`` what the message calls it, None for the name of the column.
        Returns a number as ``units.check`` does, else the value.
        """
        label = self.name if label is None else label
        if self.kind in NUMBERS:
            return check(label, value, **self._ends)
        if self.kind == "choice" and value not in self.choices:
            raise ValueError(f"{label} is {value!r}; it must be {self.expected()}.")
        return value

    @functools.cached_property
    def words(self):
        """The allowed word by each way to write it, without capitals, blanks and underscores."""
        pairs = [*self.aliases, *((word, word) for word in self.choices)]
        return {squeezed(written): word for written, word in pairs}

    def when_empty(self):
        """What an empty cell means, in words, for the data dictionary."""
        if self.kind == "lock":
            return "not known"
        if self.required:
            return "must be filled"
        if self.default is None:
            return "unknown or not used"
        if isinstance(self.default, bool):
            return "yes" if self.default else "no"
        if isinstance(self.default, tuple):
            return " ".join(self.default)
        return f"{self.default:g}" if isinstance(self.default, float) else str(self.default)


def squeezed(word):
    """A word as it is compared: without capitals, blanks and underscores.

    >>> squeezed("Quiet rural")
    'quietrural'
    """
    return re.sub(r"[\s_]+", "", word.lower())


@dataclass(frozen=True)
class Spec:
    """One kind of CSV file, or of table in a TOML file: ``file`` its usual name, ``about`` what it is
    for, and its ``columns``.

    ``is_log`` marks a file of measurements, one row each: a row that is wrong, or was cut short by a
    power failure, is left out with a note, where any other file has it reported as a problem.

    >>> spec = Spec("pads.csv", "a ladder", (Column("pad_db", "number", "pad", unit="dB"),))
    >>> spec.header()
    ['pad_db']
    """

    file: str
    about: str
    columns: tuple
    is_log: bool = False

    def header(self):
        """Names of the columns in their usual order."""
        return [column.name for column in self.columns]

    def column(self, name):
        """The Column called ``name``. Raises ValueError with the names there are."""
        for column in self.columns:
            if column.name == name:
                return column
        raise ValueError(f"{self.file} has no column {name!r}; it has {', '.join(self.header())}.")

    def known(self):
        """Every name a header may use: a dict from name to (Column, Variant or None)."""
        names = {column.name: (column, None) for column in self.columns}
        for column in self.columns:
            names |= {variant.name: (column, variant) for variant in column.variants}
        return names

    def check(self, thing, of=""):
        """A ValueError for a field of ``thing`` that the column of its name would not take.

        Parameters: ``thing`` with fields named as columns; ``of`` follows the field's name in messages.
        """
        for column in self.columns:
            value = getattr(thing, column.name, None)
            if value is not None or (column.required and hasattr(thing, column.name)):
                column.check(value, column.name + of)

    def dictionary(self):
        """The data dictionary as a DataFrame: column, holds, when empty, example, meaning."""
        names = [(c.name, *(variant.name for variant in c.variants)) for c in self.columns]
        return pd.DataFrame({
            "column": [" or ".join(all_names) for all_names in names],
            "holds": [c.expected() for c in self.columns],
            "when empty": [c.when_empty() for c in self.columns],
            "example": [c.example for c in self.columns],
            "meaning": [c.meaning for c in self.columns],
        })  # fmt: skip
