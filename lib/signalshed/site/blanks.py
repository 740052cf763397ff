"""Blank folders and their data dictionaries: the frames in ``templates``, filled from the column table.

``{stations}`` in a frame stands for the table of that name in ``columns.csv``: in a CSV file for its
header, in a TOML file for a remark on each key, in a data dictionary for a section. ``{sources}`` is
the text ``sources.md``, which several dictionaries hold.
"""

import functools
import re
from importlib import resources

from ..tables import TABLES
from ..tables.tomled import toml_text

_FRAMES = resources.files("signalshed") / "templates"


@functools.cache
def blank(kind: str) -> dict:
    """Texts of a blank folder by file name. Parameters: ``kind`` site or town.

    >>> sorted(blank("town"))
    ['data_dictionary.md', 'stations.csv']
    """
    frames = (file for file in (_FRAMES / kind).iterdir() if file.is_file())
    return {file.name: _filled(file) for file in frames}


def _filled(file):
    """The text of a frame with every table it names filled in."""
    ways = {"csv": _header, "toml": _remarks, "md": _section}
    write = ways[file.name.rpartition(".")[2]]

    def put_in(found):
        if found[1] == "sources":
            return (_FRAMES / "sources.md").read_text(encoding="utf-8").rstrip()
        return write(TABLES[found[1]])

    return re.sub(r"{([a-z_ ]+)}", put_in, file.read_text(encoding="utf-8"))


def _header(spec):
    return ",".join(spec.header())


def _section(spec):
    """One section of a data dictionary."""
    table = spec.dictionary()
    heads = table.columns.tolist()
    rows = [heads, ["---"] * len(heads), *table.astype(str).to_numpy().tolist()]
    lines = ["| " + " | ".join(cell.replace("|", "/") for cell in row) + " |" for row in rows]
    return "\n\n".join(text for text in (spec.file, spec.about, "\n".join(lines)) if text)


def _remarks(spec):
    """Keys as remarks to be filled in, others than required ones with their default; a part as it is."""
    if spec.file.startswith("a part"):
        needed = (f"{c.name} = {c.example}" for c in spec.columns if c.required)
        return f"{{ {', '.join(needed)} }}"

    def key(column):
        empty = f"{column.name} ="
        return empty if column.default is None else toml_text({column.name: column.default}).strip()

    return "\n".join(f"{'# ' + key(c):<34} # {c.meaning}{_must(c)}" for c in spec.columns)


def _must(column):
    """That a key must be filled, and with what."""
    if column.kind == "choice" and len(column.choices) <= 8:
        words = f" One of {', '.join(column.choices)}."
    else:
        words = f" As {column.example}." if column.required else ""
    return words + (" Must be filled." if column.required else "")
