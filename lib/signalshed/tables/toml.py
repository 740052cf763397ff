"""Read and check TOML files: every table against a list of Columns, all that is wrong at once."""

import math
import re
import tomllib
from pathlib import Path

import numpy as np

from .cells import MOST_LETTERS, did_you_mean
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


def check_keys(data, columns, problems, file, where=""):
    """Check one TOML table against Columns: a dict with every key, defaults filled in, and notes.

    Parameters: ``data`` the table; ``columns`` its Columns; ``problems`` a Problems; ``file`` its name;
    ``where`` the table in words, as 'mount "attic"', "" for the top of the file. Keys that are bad
    come back as if they were absent. Returns (values, notes).

    >>> from .problems import Problems
    >>> from .spec import Column
    >>> height = Column("height_m", "number", "height", unit="m", above=0, high=500, required=True)
    >>> check_keys({"height_m": 9}, (height,), Problems(), "site.toml")
    ({'height_m': 9.0}, ())
    """
    known = {column.name: (column, None) for column in columns}
    for column in columns:
        known |= {variant.name: (column, variant) for variant in column.variants}
    values, notes, given = {}, [], set()
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
        values[column.name] = _value(column, variant, value, problems, file, label)
    for column in columns:
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
    if column.default is None or column.default == "":
        return ""
    return f"{file}: {label} is taken as {column.when_empty()}, since nothing is said."


def _value(column, variant, value, problems, file, label):
    """The value of one key, or None with a problem noted."""
    taken = {
        "text": _text,
        "note": _text,
        "number": _number,
        "numbers": _numbers,
        "choice": _choice,
        "list": _list,
        "bool": lambda _column, value: value if isinstance(value, bool) else None,
    }[column.kind](column, value)
    if taken is None:
        problems.add(file, column.expected() + _why(column, value), column=label, value=value)
        return None
    if column.kind not in ("number", "numbers"):
        return taken
    base = np.asarray(taken) if variant is None else variant.to_base(np.asarray(taken))
    if not column.in_range(base).all():
        problems.add(file, column.expected(), column=label, value=value)
        return None
    return float(base) if column.kind == "number" else tuple(base.tolist())


def _why(column, value):
    if column.kind in ("number", "numbers") and isinstance(value, str):
        return "; write it without quotation marks"
    if column.kind == "choice" and isinstance(value, str):
        return did_you_mean(value, column.choices)
    if column.kind == "list" and isinstance(value, list) and column.choices:
        strange = next((w for w in value if w not in column.choices), "")
        return did_you_mean(strange, column.choices)
    if column.kind == "list":
        return ', in square brackets, as ["mast", "attic"]'
    return ""


def _text(column, value):
    if not isinstance(value, str) or len(value) > MOST_LETTERS[column.kind] or not value.strip():
        return None
    hidden = any(not c.isprintable() and not (column.kind == "note" and c in "\n\t") for c in value)
    return None if hidden else value.strip()


def _number(column, value):
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not is_number or abs(value) > 1e300 or not math.isfinite(value):
        return None
    return float(value)


def _numbers(column, value):
    found = [_number(column, v) for v in (value if isinstance(value, list) else [value])]
    return None if None in found or not found else tuple(found)


def _choice(column, value):
    if not isinstance(value, str):
        return None
    allowed = {word.lower(): word for word in column.choices}
    allowed |= {other.lower(): word for other, word in column.aliases}
    return allowed.get(value.strip().lower())


def _list(column, value):
    if not isinstance(value, list) or not value:
        return None
    if not all(isinstance(word, str) and word.isprintable() and word.strip() for word in value):
        return None
    if column.choices and not set(value) <= set(column.choices):
        return None
    return tuple(value)
