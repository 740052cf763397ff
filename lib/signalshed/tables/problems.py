"""Everything that is wrong with a folder, gathered first and said at once."""

import numbers

import numpy as np
import pandas as pd

_SHOWN = 20
"""How many problems the message spells out; the table holds them all."""


class BadTable(ValueError):
    """A file of the user's cannot be used as it is; nothing in it was changed.

    ``problems`` is a DataFrame, one row per problem: file, row (as a spreadsheet counts, header = 1;
    missing where the whole file is meant), column, value, expected.

    >>> bad = Problems()
    >>> bad.add("stations.csv", "a number above 0", row=3, column="erp_kw", value="-5")
    >>> print(BadTable(bad.table()))
    1 problem; nothing was changed.
    stations.csv, row 3, erp_kw: '-5' is there; expected a number above 0.
    """

    def __init__(self, problems):
        self.problems = problems
        super().__init__(_message(problems))

    def _render_traceback_(self):
        """What a notebook shows: the sentences, without the way through our code."""
        return [f"{type(self).__name__}: {self}"]


class Problems:
    """A growing list of problems; ``table`` makes it a DataFrame, ``stop`` raises if there are any.

    At the end of a ``with`` it stops by itself.
    """

    columns = ("file", "row", "column", "value", "expected")

    def __init__(self):
        self._rows = []

    def __len__(self):
        return len(self._rows)

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        if kind is None:
            self.stop()

    def add(self, file, expected, *, row=None, column="", value=None):
        """Note one problem.

        Parameters: ``file`` its name; ``expected`` what was expected, or what to do, without a full
        stop; ``row`` as a spreadsheet counts; ``column`` name of the column or key; ``value`` what
        stands there, None where nothing does.
        """
        self._rows.append((file, row, column, _shown(value), expected))

    def of_rows(self):
        """Take out what is wrong with single rows below a header: a Problems of its own."""
        rows = Problems()
        rows._rows = [problem for problem in self._rows if (problem[1] or 0) > 1]
        self._rows = [problem for problem in self._rows if (problem[1] or 0) <= 1]
        return rows

    def extend(self, others):
        """Note all that is in ``others``, another Problems, as well."""
        self._rows += others._rows

    def sentences(self):
        """Every problem as a sentence, in the order of files and rows."""
        return [_sentence(problem) for problem in self.table().itertuples()]

    def table(self):
        """All problems as a DataFrame, in the order of files and rows; each once, though a file that
        several antennas name was read as often.
        """
        frame = pd.DataFrame(self._rows, columns=list(self.columns)).drop_duplicates()
        files = {name: k for k, name in enumerate(frame["file"].unique())}
        order = frame["file"].map(files) * 1e9 + frame["row"].astype(float).fillna(0)
        frame = frame.iloc[np.argsort(order.to_numpy(), kind="stable")].reset_index(drop=True)
        return frame.astype({"row": "Int64"})

    def stop(self):
        """Raise BadTable if anything was noted."""
        if self._rows:
            raise BadTable(self.table())


def _shown(value):
    """A value as it is shown: text with quotes and without hidden characters, cut when long."""
    if value is None:
        return ""
    is_plain = isinstance(value, numbers.Number) and not isinstance(value, bool)
    try:
        text = f"{value:.10g}" if is_plain else repr(value)
    except (OverflowError, ValueError):
        text = "a number of hundreds of digits"
    return text if len(text) <= 80 else text[:77] + "..."


def _message(problems):
    count = len(problems)
    lines = [f"{count} problem{'s' if count > 1 else ''}; nothing was changed."]
    lines += [_sentence(row) for row in problems.head(_SHOWN).itertuples()]
    if count > _SHOWN:
        lines.append(
            f"... and {count - _SHOWN} more: the error's .problems table holds every one of them."
        )
    return "\n".join(lines)


def _sentence(problem):
    where = [problem.file]
    if not pd.isna(problem.row):
        where.append(f"row {problem.row}")
    if problem.column:
        where.append(problem.column)
    found = f"{problem.value} is there; expected " if problem.value else "expected "
    ends = "" if problem.expected.endswith("?") else "."
    return f"{', '.join(where)}: {found}{problem.expected}{ends}"
