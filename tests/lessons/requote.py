"""Move the numbers of the prose that no longer hold, after a change of physics; then read what moved.

    python tests/lessons/requote.py                     all lessons that quote
    python tests/lessons/requote.py notebooks/02_*.ipynb

Runs each notebook, writes its fresh outputs, and where a quoted number has drifted puts the new one
into the text and into ``quoted.csv``, in the form it had (sign, thousands, digits). Every move is
printed: a claim that changes side with its number is for a person, and so is what cannot be moved.
"""

import csv
import re
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import nbformat
import quotes
import refresh


def as_was(old, value, digits):
    """``value`` written as ``old`` was: its sign, its thousands, its digits after the point."""
    sign = "−" if "−" in old else "-"
    text = f"{round(value, digits):{',' if ',' in old else ''}.{max(digits, 0)}f}"
    return "+" + text if old.startswith("+") and value >= 0 else text.replace("-", sign)


def moved(row, text, value):
    """The new phrase of a quoted number that drifted, None where it holds, and why not if by hand."""
    fault = quotes.fault_of_row(row, text, value)
    if not fault:
        return None, ""
    if isinstance(value, str) or not quotes.spans_of(row["phrase"], text):
        return None, fault
    old = re.search(r"\{(.*?)\}", row["phrase"]).group(1)
    new = as_was(old, value, int(row["digits"]))
    return row["phrase"].replace("{" + old + "}", "{" + new + "}"), ""


def requote(name, path, rows):
    """Refresh one notebook and move its numbers, changing ``rows``; returns what to read."""
    fresh, values = refresh.run(path, [row["expression"] for row in rows])
    text, told = quotes.prose(fresh), []
    for row, value in zip(rows, values, strict=True):
        phrase, by_hand = moved(row, text, value)
        if by_hand:
            told.append(f"{name}: BY HAND {by_hand}")
        if phrase:
            told.append(f"{name}: {row['phrase']} -> {re.search('{.*?}', phrase).group()}")
            for cell in fresh.cells:
                if cell.cell_type == "markdown":
                    old, new = quotes.plain(row["phrase"]), quotes.plain(phrase)
                    cell.source = cell.source.replace(old, new)
            row["phrase"] = phrase
    Path(path).write_text(refresh.as_text(nbformat.from_dict(fresh)), encoding="utf-8")
    gone = [r["phrase"] for r in rows if not quotes.spans_of(r["phrase"], quotes.prose(fresh))]
    return told + [f"{name}: BY HAND {phrase!r} is not in the text any more" for phrase in gone]


def main(arguments):
    """The command line."""
    rows = quotes.rows("quoted.csv")
    pages = {str(p.relative_to(refresh.NOTEBOOKS).with_suffix("")): p for p in refresh.found()}
    wanted = [p.resolve() for p in map(Path, arguments)]
    asked = {
        name: (path, [row for row in rows if row["lesson"] == name])
        for name, path in pages.items()
        if (not wanted or path in wanted) and any(row["lesson"] == name for row in rows)
    }
    with ThreadPoolExecutor(2) as pool:
        for told in pool.map(lambda name: requote(name, *asked[name]), asked):
            print(*told, sep="\n", end="\n" if told else "")
    with open(quotes.HERE / "quoted.csv", "w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        table.writeheader()
        table.writerows(rows)


if __name__ == "__main__":
    main(sys.argv[1:])
