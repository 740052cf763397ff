"""A list cut into cells: which mark parts them, where the headings are, where another table begins."""

import csv
import io
import itertools
import re
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from ..tables import Problems
from .headings import (
    are_turns,
    guess,
    heads_patterns,
    is_continued,
    is_phrase,
    is_unit_row,
    recognized,
)

MARKS = {"\t": "tabs", ";": "semicolons", "|": "upright strokes", ",": "commas"}
_SEP = re.compile(r"\s*\"?sep=(.)\"?[;,\s]*$", re.IGNORECASE)
_RULE = re.compile(r"[\s|+:;,=_-]*[-=_]{3,}[\s|+:;,=_-]*")
_LOOK_FOR_HEADINGS = 60
_MOST_LINES_IN_A_CELL = 8
_NEARLY_ALL = 0.8
_LEAST_WIDTH = 5
"""Cells in a row of a list without headings: name, channel, latitude, longitude, power."""
_MOST_ACROSS = 0.03
"""Share of lines, titles and notes among them, that may write across the gutter of two columns."""


@dataclass(frozen=True)
class Sheet:
    """A list cut into cells: ``header`` and ``rows`` of text, ``numbers`` of the rows as an editor has
    them; ``mark`` what parts the cells; ``before`` the lines above the headings; ``others`` further
    tables below, lists of rows with their headings first; ``short`` rows that could not be cut like the
    header, (number, text); ``is_headless`` where the list has no headings.
    """

    header: list
    rows: list
    numbers: list
    mark: str
    before: list
    others: list = field(default_factory=list)
    short: list = field(default_factory=list)
    is_headless: bool = False


def cut(source):
    """The Sheet of a Source; without headings columns are called by number. BadTable for none.

    Parameters: ``source`` a source.Source.

    >>> from .source import opened
    >>> sheet = cut(opened("Call;Channel;Latitude\\nGazette;24;30,79"))
    >>> sheet.header, sheet.rows, sheet.mark
    (['Call', 'Channel', 'Latitude'], [['Gazette', '24', '30,79']], 'semicolons')
    """
    lines = source.text.removesuffix("\n").split("\n")
    told = _SEP.match(lines[0])
    if told:
        lines[0] = ""
    cuts = list(_cuts(lines, told[1] if told else None))
    best = max(cuts, key=lambda found: found[:2], default=None)
    has_headings = best is not None and best[0] >= 2
    sheet = _sheet(best[3], best[4], best[2]) if has_headings else _headless(cuts)
    if sheet is None:
        with Problems() as problems:
            problems.add(source.name, _no_headings(lines))
    sheet = _without_remarks(sheet)
    sheet.short[:] = [(n, lines[n - 1].strip()) for n, _ in sheet.short]
    return sheet


def _headless(cuts):
    """The Sheet of a list without headings, cut so that most rows have one width; None for prose."""
    best, most = None, (0, 0)
    for *_, mark, records, _ in cuts:
        rows = [(n, _trimmed(row)) for n, row in records if any(row)]
        widths = Counter(len(row) for _, row in rows)
        width, alike = widths.most_common(1)[0] if rows else (0, 0)
        if width >= _LEAST_WIDTH and 2 * alike > len(rows) and (alike, width) > most:
            header = [f"column {k}" for k in range(1, max(widths) + 1)]
            best, most = _sheet([(0, header), *rows], 0, mark), (alike, width)
    return replace(best, is_headless=True) if best else None


def _no_headings(lines):
    first = next((line.strip() for line in lines if line.strip()), "")
    return (
        "a list of transmitters: one row of headings such as call sign, channel, latitude, longitude, "
        "ERP, then one row each, parted by commas, semicolons, tabs, strokes or blanks; no such row was "
        f"found. It begins {first[:60]!r}"
    )


def _cuts(lines, told):
    """Every way to cut: (headings known, cells in rows of one width, mark in words, records, header)."""
    for mark in [told] if told else MARKS:
        if not told and not any(mark in line for line in lines):
            continue
        yield from _scored(_records(lines, mark), MARKS.get(mark, f"{mark!r}"))
    if not told:
        for spans in _columns(lines):
            records = [(k, _sliced(line, spans)) for k, line in enumerate(lines, 1)]
            yield from _scored(records, "columns of blanks")


def _scored(records, mark):
    """The records with the row that looks most like headings; nothing where no two are known."""
    found = [(recognized(row), -k) for k, (_, row) in enumerate(records[:_LOOK_FOR_HEADINGS])]
    if not found:
        return
    count, at = max(found)
    widths = Counter(len(_trimmed(row)) for _, row in records[-at:])
    alike = sum(n for width, n in widths.items() if width > 1)
    yield count, alike, mark, records, -at


def _records(lines, mark):
    """Cells of each line, with the number of the line; quotation marks hold cells together."""
    if '"' in "".join(lines):
        rows = list(_quoted(lines, mark))
        if all(cell.count("\n") <= _MOST_LINES_IN_A_CELL for _, row in rows for cell in row):
            return [(n, _bare(row, mark)) for n, row in rows]
    plain = [(k, line.replace('""', '"').split(mark)) for k, line in enumerate(lines, 1)]
    return [(n, _bare([_unquoted(cell) for cell in row], mark)) for n, row in plain]


def _quoted(lines, mark):
    reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True)
    start = 1
    for row in reader:
        yield start, row
        start = reader.line_num + 1


def _unquoted(cell):
    cell = cell.strip()
    return cell[1:-1] if len(cell) > 1 and cell[0] == cell[-1] == '"' else cell


def _bare(row, mark):
    """Cells without blanks around them; strokes at both ends of a line part nothing."""
    row = [" ".join(cell.split()) for cell in row]
    if mark == "|" and len(row) > 2 and not row[0] and not row[-1]:
        row = row[1:-1]
    return row


def _trimmed(row):
    """A row without empty cells at its end."""
    last = max((k for k, cell in enumerate(row) if cell), default=-1)
    return row[: last + 1]


def _columns(lines):
    """Spans of aligned columns: by a rule of dashes under the headings, or by blanks all down."""
    lines = [line.expandtabs() for line in lines]
    for line in lines[:_LOOK_FOR_HEADINGS]:
        if re.fullmatch(r"\s*[-=]{2,}(\s+[-=]{2,})+\s*", line):
            starts = [found.start() for found in re.finditer(r"[-=]+", line)]
            yield list(zip([0, *starts[1:]], [*starts[1:], None], strict=True))
            return
    full = [line for line in lines if len(_fields(line)) > 2]
    if len(full) < 2:
        return
    spans = _between(full)
    if len(spans) > 2:
        yield spans


def _between(lines):
    """Spans between gutters of blanks that run through all lines; one blank alone parts two columns only
    where the words of the heading on both sides are headings of their own.
    """
    width = max(map(len, lines))
    padded = [line.ljust(width) for line in lines]
    head = max(range(min(len(lines), _LOOK_FOR_HEADINGS)), key=lambda k: _known(lines[k]))
    most = _MOST_ACROSS * len(lines)
    crossed = (sum(line[k] != " " for line in padded) for k in range(width))
    below = padded[head + 1] if head + 1 < len(padded) else ""
    head = padded[head]
    turns = [f.end() for f in re.finditer(r"\b\d+\b", below)] if are_turns(below.split()) else []
    crossed = (count > most or head[k] != " " for k, count in enumerate(crossed))
    filled = "".join("x" if here else " " for here in crossed)
    gutters = [found.span() for found in re.finditer(" +", filled)]
    ends = []
    for (a, b), (to, _) in itertools.pairwise([*gutters, (width, width)]):
        heads = head[(ends or [0])[-1] : a], head[b:to]
        if a > 0 and b < width and (b - a > 1 or _parts(*heads) or _is_code_at(padded, a, b)):
            ends.append(b)
    if turns:  # Levels end below their azimuths; a word for all round may cross them.
        ends = [*(end for end in ends if end < turns[0]), *turns[:-1]]
    return list(zip([0, *ends], [*ends, None], strict=True))


def _is_code_at(lines, a, b):
    """Whether numbers end before a gutter and one letter stands alone behind it, nearly everywhere."""
    there = [line for line in lines if line[a - 1].isdigit()]
    alone = sum(line[b].isalpha() and line[b + 1 : b + 2].isspace() for line in there)
    return 2 * len(there) > len(lines) and alone > _NEARLY_ALL * len(there)


def _fields(line):
    """What blanks, two at least, part in a line."""
    return re.split(r"\s{2,}", line.strip())


def _known(line):
    return recognized(_fields(line))


def _parts(left, right):
    """Whether the words of a heading line on both sides of a blank head two columns, not one."""
    left, right = left.strip(), right.strip()
    first, second = guess(left), guess(right)
    if first is None or second is None or first.name == second.name:
        return False
    return not is_phrase(f"{left} {right}") or first.name == "latitude"


def _sliced(line, spans):
    """The cells of one line; a word on the border of two columns goes where most of it stands."""
    line = line.expandtabs()
    ends = [_off_a_word(line, b) for _, b in spans[:-1]]
    return [" ".join(line[a:b].split()) for a, b in zip([0, *ends], [*ends, None], strict=True)]


def _off_a_word(line, at):
    """The border of two columns, moved to an end of the word it would cut."""
    if at >= len(line) or " " in line[at - 1 : at + 1]:
        return at
    start = line.rfind(" ", 0, at) + 1
    end = line.find(" ", at) if " " in line[at:] else len(line)
    return start if end - at >= at - start else end


def _sheet(records, at, mark):
    """The Sheet whose headings stand in record ``at``, and perhaps in the rows before and after it."""
    header, rest = _trimmed(records[at][1]), records[at + 1 :]
    before = [" ".join(filter(None, row)) for _, row in records[:at]]
    rows = [(n, row) for n, row in rest if any(row) and not _RULE.fullmatch(" ".join(row))]
    raw = [header]
    if rows and is_continued(header, _trimmed(rows[0][1])):
        raw.append(_trimmed(rows.pop(0)[1]))
        header = [_joined(*pair) for pair in itertools.zip_longest(*raw, fillvalue="")]
    groups = _trimmed(records[at - 1][1]) if at and records[at - 1][0] else []
    rows = [(n, row) for n, row in rows if _trimmed(row) not in raw]
    main, others = _parted(rows)
    sheet = Sheet(_named(_told_apart(header, groups)), [], [], mark, before, others)
    for number, row in main:
        _take(sheet, number, _trimmed(row))
    return sheet


def _without_remarks(sheet):
    """Rows that lack the numbers that nearly every row has are remarks: page feet, notes, totals."""
    has_number = np.array([[bool(re.search(r"\d", cell)) for cell in row] for row in sheet.rows])
    usual = has_number.mean(axis=0) > _NEARLY_ALL if len(has_number) else np.zeros(0, bool)
    if usual.sum() < 2:
        return sheet
    good = has_number[:, usual].mean(axis=1) > 0.5
    sheet.short.extend((n, "") for n in itertools.compress(sheet.numbers, ~good))
    sheet.rows[:] = itertools.compress(sheet.rows, good)
    sheet.numbers[:] = itertools.compress(sheet.numbers, good)
    return sheet


def _joined(above, below):
    """A heading of two lines; a unit below it goes in brackets."""
    if re.fullmatch(r"\d{1,3}", below):
        return below
    below = f"({below.strip('()[] ')})" if is_unit_row([below, "m"]) else below
    return f"{above} {below}".strip()


def _told_apart(header, groups):
    """Headings that stand several times, with the heading of their group in the line above."""
    twice = {name for name, count in Counter(header).items() if count > 1 and name}
    if not twice or not (1 < sum(map(bool, groups)) < len(header)):
        return header
    padded = groups[: len(header)] + [""] * (len(header) - len(groups))
    filled = itertools.accumulate(padded, lambda left, here: here or left)
    pairs = zip(filled, header, strict=True)
    return [f"{above} {name}".strip() if name in twice else name for above, name in pairs]


def _parted(rows):
    """Rows of the list itself, and tables of patterns below it, with headings of their own."""
    starts = [k for k, (_, row) in enumerate(rows) if heads_patterns(_trimmed(row))]
    ends = [*starts[1:], len(rows)] if starts else []
    others = [[row for _, row in rows[a:b]] for a, b in zip(starts, ends, strict=True)]
    return rows[: starts[0]] if starts else rows, others


def _take(sheet, number, row):
    """Add one row; a shorter one gets empty cells, a line of remarks and a longer one are set aside."""
    width = len(sheet.header)
    if len(row) > width or len(row) < min(3, width):
        sheet.short.append((number, " ".join(filter(None, row))))
        return
    sheet.rows.append(row + [""] * (width - len(row)))
    sheet.numbers.append(number)


def _named(header):
    """Headings, each once: the second of two alike gets a number."""
    seen, named = Counter(), []
    for k, name in enumerate(header, 1):
        name = name or f"column {k}"
        seen[name] += 1
        named.append(name if seen[name] == 1 else f"{name} [{seen[name]}]")
    return named
