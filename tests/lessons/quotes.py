"""Numbers in prose: which there are, which are quoted in quoted.csv, and whether they still hold.

``quoted.csv`` has one row per number: ``lesson`` (00_start_here), ``phrase`` (the exact text with the
number in braces: ``out to about {57} km``), ``expression`` (Python, in the names that the lesson's own
cells leave, and ``shed`` and ``np``), ``digits`` after the point as printed (-1: tens), ``tolerance``
in the number's unit beyond rounding. ``exemptions.csv`` has ``lesson``, ``phrase`` and a ``reason``.
"""

import csv
import re
from fractions import Fraction
from pathlib import Path

HERE = Path(__file__).parent

UNITS = """
dBuV/m dBµV/m dBμV/m dBuV dBµV dBμV dBm dBd dBi dB GHz MHz kHz Hz km miles mile mi metres metre meters
meter m centimetres centimetre cm millimetres millimetre mm feet foot ft inches inch degrees degree °
per\\ cent percent % kilowatts kilowatt kW MW mW watts watt W ohms ohm Ω pF nH volts V kg lb K
"""
NUMBER = (
    r"(?<![\w.,/{])[-+−±]?(?:\d+[  ]\d+/\d+|\d+/\d+|\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)"
)
_UNIT = "|".join(re.escape(u.replace("\\ ", " ")) for u in re.split(r"(?<!\\)\s+", UNITS.strip()))
_IN = r"in(?=\s*[(.,;:)]|\s*$|\s+(?:long|wide|apart|across|deep|high|of)\b)"
_WITH_UNIT = re.compile(rf"({NUMBER})[  ‑-]?(?:(?:{_UNIT})(?!\w)|{_IN})", re.MULTILINE)
_JOINED = re.compile(rf"({NUMBER}) ?(?:to|and|or|by|x|×|–|-|±|against) ?(?={NUMBER})")


def rows(name):
    """The rows of a table beside this file, as dictionaries of text."""
    with open(HERE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def prose(notebook):
    """All markdown of a notebook, with code, formulas, addresses and tags blanked out."""
    text = "\n\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")
    blank = r"```.*?```|`[^`\n]*`|\$\$.*?\$\$|(?<=\])\([^)]*\)|</?[a-zA-Z!][^>]*>"
    return re.sub(blank, lambda found: " " * len(found.group()), text, flags=re.DOTALL)


def numbers_with_unit(text):
    """Spans of every number that has a unit, those that share one (3 to 5 dB) included."""
    spans = {found.span(1) for found in _WITH_UNIT.finditer(text)}
    joined = [found.span(1) for found in _JOINED.finditer(text)]
    follows = {start: _JOINED.match(text, start).end() for start, _ in joined}
    for span in sorted(joined, reverse=True):
        if any(follows[span[0]] == start for start, _ in spans):
            spans.add(span)
    return sorted(spans)


def plain(phrase):
    """A phrase without its braces."""
    return phrase.replace("{", "").replace("}", "")


def spans_of(phrase, text):
    """Where the number in braces of ``phrase`` stands in ``text``, once per occurrence."""
    before, number = re.match(r"(.*?)\{(.*?)\}", phrase, re.DOTALL).groups()
    starts = (found.start() for found in re.finditer(re.escape(plain(phrase)), text))
    return [(s + len(before), s + len(before) + len(number)) for s in starts]


def quoted_value(phrase):
    """The number in braces of ``phrase``."""
    return value_of(re.search(r"\{(.*?)\}", phrase).group(1))


def value_of(number):
    """A number as printed: 1,000 and 10 1/4 and a true minus included."""
    parts = number.replace(",", "").replace("−", "-").replace("±", "").replace(" ", " ").split()
    return float(sum(Fraction(part) for part in parts))


def uncovered(text, phrases):
    """Numbers with a unit in ``text`` that no phrase covers, each with the words around it."""
    covered = {span for phrase in phrases for span in spans_of(phrase, text)}
    missing = [span for span in numbers_with_unit(text) if not _inside(span, covered)]
    return [" ".join(text[max(a - 30, 0) : b + 20].split()) for a, b in missing]


def _inside(span, covered):
    return any(a <= span[0] + 1 and span[1] <= b for a, b in covered)


def fault_of_row(row, text, value):
    """What is wrong with one quoted number, in words; empty if it holds."""
    phrase = row["phrase"]
    if len(re.findall(r"\{[^{}]+\}", phrase)) != 1:
        return f"{phrase!r} has not one number in braces"
    if not spans_of(phrase, text):
        return f"{plain(phrase)!r} is not in the lesson"
    if isinstance(value, str):
        return f"{phrase!r}: {row['expression']} ends in {value}"
    said, slack = quoted_value(phrase), 0.5 * 10.0 ** -int(row["digits"]) + float(row["tolerance"])
    if not abs(value - said) <= slack * (1 + 1e-9):
        return f"{phrase!r}: {row['expression']} is {value:.6g}"
    return ""
