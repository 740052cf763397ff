"""What a table holds, said once: columns, units, ranges, defaults and meanings."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

KINDS = ("text", "note", "number", "numbers", "choice", "list", "time", "bool")

_SHOWN = 12
"""How many allowed words a message spells out."""


@dataclass(frozen=True)
class Variant:
    """Another name for a column, in another unit: value = ``scale`` x cell + ``offset``.

    ``is_db`` reads the cell as dB over the column's unit; ``is_compass`` marks a bearing read off a
    compass, which only the site can turn into a true one. ``unit`` is that of the cell.

    >>> Variant("distance_mi", "mi", scale=1.609344).to_base(np.array([34.0])).round(1).tolist()
    [54.7]
    """

    name: str
    unit: str
    scale: float = 1.0
    offset: float = 0.0
    is_db: bool = False
    is_compass: bool = False

    def to_base(self, cells):
        """``cells`` (floats) in the unit of the column."""
        values = 10 ** (np.clip(cells, -3000, 3000) / 10) if self.is_db else cells
        return values * self.scale + self.offset


@dataclass(frozen=True)
class Column:
    """One column of a CSV file, or one key of a TOML table.

    Parameters
    ----------
    name : with its unit at the end.
    kind : text, note (text that may run over lines), number, choice, list, time or bool; in TOML also
        numbers (one, or a list of them).
    meaning : one plain sentence or two, for the data dictionary.
    unit : of a number, in words short enough for a sentence.
    low, high, above : range of a number; ``above`` is an excluded lower end.
    required : an empty cell is a problem.
    default : what stands in for an empty cell; None leaves it empty.
    choices : allowed words of a choice or list.
    aliases : pairs (another word, the allowed word) for a choice.
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
        words = {
            "text": "text",
            "note": "text",
            "number": f"a number{self._range()}",
            "numbers": f"a number{self._range()}, or a list of such numbers",
            "choice": f"one of {self._choices()}",
            "list": "words with spaces between them",
            "time": "a time with its offset, such as 2026-05-01T20:15:00-05:00",
            "bool": "yes or no",
        }[self.kind]
        if self.kind == "list" and self.choices:
            words = f"a list of some of {self._choices()}"
        return words + (f" ({self.unit})" if self.unit else "")

    def _choices(self):
        more = len(self.choices) - _SHOWN
        tail = f" or one of {more} more" if more > 0 else ""
        return ", ".join(self.choices[:_SHOWN]) + tail

    def _range(self):
        if self.above is not None:
            return f" above {self.above:g}" + (f", at most {self.high:g}" if self.high else "")
        if self.low is not None and self.high is not None:
            return f" from {self.low:g} to {self.high:g}"
        return "" if self.low is None else f" of at least {self.low:g}"

    def in_range(self, values):
        """Whether each of ``values`` (an array of floats) is finite and in the range: bools."""
        values = np.asarray(values, float)
        good = np.isfinite(values)
        with np.errstate(invalid="ignore"):
            if self.above is not None:
                good &= values > self.above
            if self.low is not None:
                good &= values >= self.low
            if self.high is not None:
                good &= values <= self.high
        return good

    def when_empty(self):
        """What an empty cell means, in words, for the data dictionary."""
        if self.required:
            return "must be filled"
        if self.default is None:
            return "unknown or not used"
        if isinstance(self.default, bool):
            return "yes" if self.default else "no"
        if isinstance(self.default, tuple):
            return " ".join(self.default)
        return f"{self.default:g}" if isinstance(self.default, float) else str(self.default)


@dataclass(frozen=True)
class Spec:
    """One kind of CSV file: ``file`` its usual name, ``about`` what it is for, and its ``columns``.

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

    def template(self):
        """Text of an empty file: the header alone."""
        return ",".join(self.header()) + "\n"

    def dictionary(self):
        """The data dictionary as a DataFrame: column, holds, when empty, example, meaning."""
        return dictionary(self.columns)


def dictionary(columns):
    """The data dictionary of ``columns`` as a DataFrame."""
    return pd.DataFrame(
        {
            "column": [_names(c) for c in columns],
            "holds": [c.expected() for c in columns],
            "when empty": [c.when_empty() for c in columns],
            "example": [c.example for c in columns],
            "meaning": [c.meaning for c in columns],
        }
    )


def _names(column):
    return " or ".join([column.name, *(variant.name for variant in column.variants)])
