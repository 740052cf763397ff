"""Read and check TOML files: every table against its Spec, all that is wrong at once."""

import re
import tomllib
from pathlib import Path

from .cells import did_you_mean, one
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
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        row, value = _where(str(error), text)
        problems.add(file, _hint(value, error), row=row, value=value or None)
        return None


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


def check_keys(data, spec, problems, file, where=""):
    """Check one TOML table against its Spec: a dict with every key, defaults filled in, and notes.

    Parameters: ``data`` the table; ``spec`` its Spec; ``problems`` a Problems; ``file`` its name;
    ``where`` the table in words, as 'mount "attic"', "" for the top of the file. Keys that are bad
    come back as if they were absent. Returns (values, notes).

    >>> from . import FEED, Problems
    >>> check_keys({"name": "mast line"}, FEED, Problems(), "site.toml")
    ({'name': 'mast line'}, ())
    """
    known, values, notes, given = spec.known(), {}, [], set()
    for key, value in data.items():
        label = f"{where}: {key}" if where else key
        if key not in known:
            expected = f"one of the keys {', '.join(known)}{did_you_mean(key, known)}"
            problems.add(file, expected, column=label, value=key)
            continue
        column, variant = known[key]
        if column.name in given:
            problems.add(file, f"{column.name} once, in one unit only", column=label)
            continue
        given.add(column.name)
        try:
            values[column.name] = _value(column, variant, value)
        except ValueError as wrong:
            problems.add(file, str(wrong), column=label, value=value)
    for column in spec.columns:
        if values.get(column.name) is None:
            note = _absent(column, column.name in given, values, problems, file, where)
            notes += [note] if note else []
    return values, tuple(notes)


def _absent(column, is_given, values, problems, file, where):
    """Fill in the default of a key that is not there; a note that says so."""
    label = f"{where}: {column.name}" if where else column.name
    values[column.name] = column.default
    if is_given:
        return ""
    if column.required:
        problems.add(file, f"{column.expected()}; the key is missing", column=label)
        return ""
    if column.default is None:
        return ""
    return f"{file}: {label} is taken as {column.when_empty()}, since nothing is said."


def _value(column, variant, given):
    """The value of one key; ValueError for what no table of a spreadsheet could hold either."""
    if column.kind in NUMBERS and isinstance(given, str):
        raise ValueError(f"{column.expected()}; write it without quotation marks")
    if column.kind == "list" and not isinstance(given, list):
        raise ValueError(f'{column.expected()}, in square brackets, as ["mast", "attic"]')
    taken = one(column, given, variant)
    if taken is None:
        raise ValueError(column.expected())
    return taken
