"""Whether a committed notebook still says what a fresh run says.

Source, text, tables and alternative texts have to be the same; of pictures only that they are there
and as large.
"""

import base64
import re
import struct
from itertools import zip_longest

from clean import PICTURE


def differences(committed, fresh):
    """What differs between two notebooks, in words; empty if the committed one is not stale."""
    if len(committed.cells) != len(fresh.cells):
        return [f"{len(committed.cells)} cells committed, {len(fresh.cells)} when run"]
    told = []
    for number, (old, new) in enumerate(zip(committed.cells, fresh.cells, strict=True), 1):
        told += [f"cell {number}: {what}" for what in _differences_of(old, new)]
    if committed.metadata != fresh.metadata:
        told.append("metadata of the notebook")
    return told


def _differences_of(old, new):
    for what in ("cell_type", "source", "id", "metadata"):
        if old.get(what) != new.get(what):
            return [f"its {what} differs"]
    if old.cell_type != "code":
        return []
    if old.execution_count != new.execution_count:
        return ["its execution count differs"]
    pairs = zip_longest(map(_shown, old.outputs), map(_shown, new.outputs))
    return [_first_difference(a, b) for a, b in pairs if a != b][:1]


def _shown(output):
    """An output with every picture replaced by its size."""
    if output.output_type == "stream":
        return f"{output.name}\n{output.text}"
    if output.output_type == "error":
        return f"error\n{output.ename}: {output.evalue}"
    data = (f"{kind}\n{_without_pictures(text)}" for kind, text in sorted(output.data.items()))
    return output.output_type + "\n" + "\n".join(data)


def _without_pictures(text):
    return PICTURE.sub(lambda found: f"picture of {_size(found.group(1))}", str(text))


def _size(data):
    width, height = struct.unpack(">II", base64.b64decode(data)[16:24])
    return f"{width} by {height}"


def _first_difference(old, new):
    if old is None or new is None:
        return "an output is missing" if new is None else "an output is new"
    words = zip_longest(re.split(r"(\s+)", old), re.split(r"(\s+)", new), fillvalue="")
    a, b = next(pair for pair in words if pair[0] != pair[1])
    return f"{a[:60]!r} committed, {b[:60]!r} when run"
