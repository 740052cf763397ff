"""How a CSV file is laid out: its delimiter, its header, its rows, its decimal mark."""

import csv
import io
import re
from dataclasses import dataclass

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke"}
_ONE_MARK = re.compile(r"[+\-\u2212]?[0-9]*[.,][0-9]+([eE][+-]?[0-9]+)?")
_THOUSANDS = re.compile(r"[+\-\u2212]?[1-9][0-9]{0,2}([.,][0-9]{3})+")
_MOST_COLUMNS = 500
DELIMITER_TOLD = re.compile(r'"?sep=.?"?[;,\s]*', re.IGNORECASE)
"""The line by which some spreadsheets tell each other the delimiter; the header's names tell us."""


@dataclass(frozen=True)
class Sheet:
    """A file cut into cells: ``header`` and ``rows`` of stripped text, ``numbers`` of those rows as a
    spreadsheet counts them; the ``delimiter`` between cells, "" where no text was cut; ``file`` its
    name in messages, and ``problems``, which gathers what is wrong.
    """

    header: list
    rows: list
    numbers: list
    delimiter: str
    file: str
    problems: object

    def wrong(self, expected, row, column="", value=None):
        """Note a problem. Parameters: as in ``Problems.add``."""
        self.problems.add(self.file, expected, row=row, column=column, value=value)


def normal(name):
    """A column's name as ours are written.

    >>> normal(" RF Channel ")
    'rf_channel'
    """
    return re.sub(r"[\s\-]+", "_", name.strip().lower())


def cut(text, known, file, problems):
    """A Sheet from the text of a CSV file, or None with the problem noted.

    Parameters: ``text`` of the file; ``known`` names a header may use, to find the delimiter by;
    ``file`` its name in messages; ``problems`` gathers what is wrong.
    """
    first, _, rest = text.partition("\n")
    told = DELIMITER_TOLD.fullmatch(first.strip())
    body, records = (rest, [[]]) if told else (text, [])
    if not body.strip():
        problems.add(file, "a header row and data, but the file is empty")
        return None
    delimiter = find_delimiter(body, known)
    try:
        for record in csv.reader(io.StringIO(body), delimiter=delimiter, strict=True):
            records.append([cell.strip() for cell in record])
    except csv.Error as error:
        quoted = "quotation marks in pairs round whole cells, and cells of at most 131072 letters"
        problems.add(file, f"{quoted}; the reader says: {error}", row=len(records) + 1)
        return None
    if not any(any(record) for record in records):
        problems.add(file, "a header row and data, but every cell is empty")
        return None
    return _split(records, delimiter, file, problems)


def find_delimiter(text, known):
    """The delimiter under which most of the header's names are ``known``; a comma if none is.

    >>> find_delimiter("station;rf_channel", {"station", "rf_channel"})
    ';'
    """
    line = next(line for line in text.split("\n") if line.strip())

    def score(delimiter):
        names = [name.strip('" ') for name in line.split(delimiter)]
        return sum(name in known or normal(name) in known for name in names), len(names)

    best = max(DELIMITERS, key=score)
    return best if score(best)[1] > 1 else ","


def _split(records, delimiter, file, problems):
    """Split header and rows; note every row that is longer or shorter than the header."""
    first = next(k for k, record in enumerate(records) if any(record))
    sheet = Sheet(records[first], [], [], delimiter, file, problems)
    width = len(sheet.header)
    if width > _MOST_COLUMNS:
        problems.add(file, f"at most {_MOST_COLUMNS} columns, but there are {width}")
        return None
    for number, record in enumerate(records[first + 1 :], start=first + 2):
        if any(record) and len(record) != width:
            sheet.wrong(length_hint(record, sheet.header, delimiter), number)
        elif any(record):
            sheet.rows.append(record)
            sheet.numbers.append(number)
    return sheet


def length_hint(record, header, delimiter):
    """What was expected of a row with more or fewer cells than the header, all text.

    >>> length_hint(["82", "5"], ["reading"], ",").split(";")[0]
    '1 cells as in the header, but there are 2'
    """
    mark = DELIMITERS[delimiter]
    hint = f"{len(header)} cells as in the header, but there are {len(record)}"
    if len(record) > len(header):
        return f"{hint}; put text that holds a {mark} in quotation marks, and write decimal points"
    return f"{hint}; write the {mark} of empty cells too"


def point_decimals(sheet, columns, is_log=False):
    """Number cells with decimal points, whatever mark the file uses; a note, or "".

    In a file cut by commas the decimal mark is a point. In any other it may be a comma; what could
    also be a thousands mark is only read where other cells settle it, else noted as a problem. Both
    marks in one file are a problem, but of a log only in cells that could be read in two ways.

    Parameters: ``sheet`` a Sheet, whose rows are changed in place; ``columns`` dict from position to
    (Column, Variant or None) of the number columns; ``is_log`` as in a Spec.
    """
    marked = decimals(sheet, columns)
    marks = {mark for k, p in marked for mark in ".," if mark in sheet.rows[k][p]}
    doubtful = {(k, p) for k, p in marked if not _is_decimal(sheet.rows[k][p], *columns[p])}
    if len(marks) == 2 and not is_log:
        both = "but some numbers hold a comma and some a point"
        sheet.wrong(f"one decimal mark all through the file, {both}", None)
    if len(marks) < 2 and len(doubtful) < len(marked):
        doubtful = set()
    way = "a number that can be read in one way only; write it without a thousands mark, or with"
    for k, p in sorted(doubtful):
        expected, name = f"{way} another decimal", columns[p][0].name
        sheet.wrong(expected, sheet.numbers[k], name, sheet.rows[k][p])
        sheet.rows[k][p] = ""
    if "," not in marks or (len(marks) == 2 and not is_log) or len(doubtful) == len(marked):
        return ""
    for k, p in marked:
        sheet.rows[k][p] = sheet.rows[k][p].replace(",", ".")
    return "decimal commas were read as decimal points"


def decimals(sheet, columns):
    """Places (row, position) of number cells with a mark that is, or may be, a decimal mark.

    None in a file cut by commas. Parameters: as in ``point_decimals``.
    """
    if sheet.delimiter in ("", ","):
        return []
    return [
        (k, position)
        for k, row in enumerate(sheet.rows)
        for position in columns
        if _ONE_MARK.fullmatch(row[position]) or _THOUSANDS.fullmatch(row[position])
    ]


def in_one_way(number):
    """The text of a ``number`` with a decimal point, so that no mark in it looks like one of thousands.

    >>> in_one_way("1.125"), in_one_way("82.5")
    ('1.1250', '82.5')
    """
    return number + "0" if _THOUSANDS.fullmatch(number) else number


def _is_decimal(cell, column, variant):
    """Whether the mark in ``cell`` can only be a decimal mark: by its digits, or as an angle."""
    if not _THOUSANDS.fullmatch(cell):
        return True
    if not column.unit.startswith("degrees"):
        return False
    value = float(re.sub("[.,]", "", cell).replace("\u2212", "-"))
    return not column.in_range(value if variant is None else variant.to_base(value))
