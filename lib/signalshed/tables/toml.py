"""Read and check TOML files: every table against its Spec, all that is wrong at once."""

import re
import tomllib
from pathlib import Path

from .cells import did_you_mean, one
from .problems import Problems
from .spec import NUMBERS
from .text import read_text


def read_toml(path, problems):
    """The content of a TOML file as a dict, or None with the problem noted.

    Parameters: ``path`` of the file; ``problems`` a Problems that gathers what is wrong.

    >>> from .problems import Problems
    >>> read_toml("no such file.toml", problems := Problems()) is None, len(problems)
    (True, 1)
    """
    file = Path(path).name
    text = read_text(path, problems)
    if text is None:
        return None
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        row, value = _where(str(error), text)
        problems.add(file, _hint(value, error), row=row, value=value or None)
        return None


def good_toml(path):
    """The content of a TOML file as a dict; BadTable with what is wrong in it. Parameters: ``path``."""
    with Problems() as problems:
        data = read_toml(path, problems)
    return data


def _where(message, text):
    """Line number and line a parser's message points at."""
    found = re.search(r"line (\d+)", message)
    lines = text.split("\n")
    row = int(found[1]) if found else len(lines)
    return row, lines[row - 1].strip() if row <= len(lines) else ""


def _hint(line, error):
    if re.search(r"=\s*[+-]?\d+,\d", line):
        return "a decimal point; a comma stands between numbers only"
    if re.search(r"=\s*(#|$)", line):
        return "a value after the = sign"
    if re.search(r"=\s*[A-Za-z]", line) and not re.search(r"=\s*(true|false)\b", line):
        return 'text in quotation marks, as name = "attic"; or true, false, a number'
    if re.search(r'="?[^"]*\\', line.replace(" ", "")):
        return "/ in folder names; a \\ has another meaning here"
    return f"key = value, text in quotation marks, each key once; the reader says: {error}"


class Spot:
    """A table of a TOML file on its way to what it stands for: keys checked, all that is wrong noted.

    Parameters: ``file`` its name; ``problems`` a Problems; ``where`` the table in words, as
    'mount "attic"', "" for the top of the file; ``notes`` a list for sentences on defaults.

    >>> from . import TABLES, Problems
    >>> Spot("site.toml", Problems()).keys({"name": "mast line"}, TABLES["feed"])
    {'name': 'mast line'}
    """

    def __init__(self, file, problems, where="", notes=None):
        self.file, self.problems, self.where = file, problems, where
        self.notes = [] if notes is None else notes
        self._before = len(problems)

    @property
    def is_good(self):
        """Whether nothing was noted since this began."""
        return len(self.problems) == self._before

    def wrong(self, expected, key="", value=None):
        """Note a problem. Parameters: ``expected``, ``value`` as in Problems.add; ``key``, if of one."""
        self.problems.add(self.file, expected, column=self._label(key), value=value)

    def _label(self, key):
        return ": ".join(text for text in (self.where, key) if text)

    def below(self, where):
        """The Spot of a table within this one, called ``where`` after this one's name."""
        return Spot(self.file, self.problems, self.where + where, self.notes)

    def made(self, make):
        """What ``make``, a function of nothing, makes of good keys; None with what is wrong noted."""
        if not self.is_good:
            return None
        try:
            return make()
        except (ValueError, TypeError) as error:
            self.wrong(f"other values; {str(error).rstrip('.')}")
            return None

    def keys(self, data, spec):
        """The values of all keys, defaults filled in; bad keys as if they were absent.

        Parameters: ``data`` the table; ``spec`` its Spec.
        """
        known, values, given = spec.known(), {}, set()
        for key, value in data.items():
            column, variant = known.get(key, (None, None))
            if column is None:
                hint = did_you_mean(key, known)
                self.wrong(f"one of the keys {', '.join(known)}{hint}", key, key)
            elif column.name in given:
                self.wrong(f"{column.name} once, in one unit only", key)
            else:
                given.add(column.name)
                values[column.name] = self._value(key, column, variant, value)
        absent = {c.name: c.default for c in spec.columns if values.get(c.name) is None}
        for column in spec.columns:
            if column.name in absent.keys() - given:
                self._tell_absent(column)
        return values | absent

    def _value(self, key, column, variant, value):
        """The value of one key, None with a problem noted: also for what only a spreadsheet may hold."""
        try:
            if column.kind in NUMBERS and isinstance(value, str):
                raise ValueError(f"{column.expected()}; write it without quotation marks")
            if column.kind == "list" and not isinstance(value, list):
                raise ValueError(f'{column.expected()}, in square brackets, as ["mast", "attic"]')
            taken = one(column, value, variant)
            if taken is None:
                raise ValueError(column.expected())
            return taken
        except ValueError as wrong:
            self.wrong(str(wrong), key, value)
            return None

    def _tell_absent(self, column):
        """A problem, or a note on the default, for a key that is not there."""
        if column.required:
            self.wrong(f"{column.expected()}; the key is missing", column.name)
        elif column.default is not None:
            label = self._label(column.name)
            said = f"is taken as {column.when_empty()}, since nothing is said."
            self.notes.append(f"{self.file}: {label} {said}")

    def things(self, data, key, make):
        """What the tables [[key]] stand for: a dict by name.

        Parameters: ``data`` the content of the file; ``key`` the name of the tables; ``make`` a
        function of one of them and its Spot that gives the thing, None with problems noted.
        """
        rows, found, kind = data.get(key, []), {}, key.removesuffix("s")
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.wrong(f"tables [[{key}]], each in double square brackets", key)
            return found
        for count, row in enumerate(rows, start=1):
            name = row.get("name")
            shown = f'"{name}"' if isinstance(name, str) else count
            spot = Spot(self.file, self.problems, f"{kind} {shown}")
            thing = make(row, spot)
            if thing is not None and thing.name in found:
                spot.wrong(f"a name no other {kind} has")
            if thing is not None:
                found[thing.name] = thing
        return found
