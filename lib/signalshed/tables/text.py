"""From the bytes of a file to text: encodings, and files that are not text at all."""

import os
import stat
from pathlib import Path

_MOST_BYTES = {".toml": 1_000_000}
_MOST_BYTES_OF_A_TABLE = 100_000_000
_SAVE = "save it from your spreadsheet as CSV UTF-8"
_NOT_TEXT = {
    (b"PK\x03\x04",): f"a spreadsheet workbook or zip file; {_SAVE}",
    (b"\xd0\xcf\x11\xe0",): f"an old spreadsheet workbook; {_SAVE}",
    (b"%PDF",): "a PDF document; a table saved as CSV UTF-8 is needed",
    (b"\xff\xfe\0\0", b"\0\0\xfe\xff"): "text in UTF-32; save it as UTF-8",
    (b"\xff\xfe", b"\xfe\xff"): "text in UTF-16; save it as UTF-8 (in a spreadsheet: CSV UTF-8)",
}
"""What a file is that begins in one of these ways."""


def read_text(path, problems, name=None):
    """The text of a UTF-8 file, with or without byte-order mark, or None with a problem noted.

    Parameters: ``path`` of the file; ``problems`` a Problems that gathers what is wrong; ``name`` of
    the file in messages, None for its own. Every line ends with a line feed alone.

    >>> from .problems import Problems
    >>> read_text("no such file.csv", problems := Problems()) is None, len(problems)
    (True, 1)
    """
    data = read_bytes(path, problems, name)
    if data is None:
        return None
    name = Path(path).name if name is None else name
    if b"\x00" in data:
        problems.add(name, "a text file, but this holds binary data")
        return None
    return _decoded(data, name, problems)


def read_bytes(path, problems, name=None):
    """The bytes of a file that may be text, or None with a problem noted; all as in ``read_text``.

    >>> from .problems import Problems
    >>> read_bytes("no such file.csv", problems := Problems()) is None, len(problems)
    (True, 1)
    """
    path = Path(path)
    name = path.name if name is None else name
    data = _bytes(path, name, problems)
    for marks, what in _NOT_TEXT.items():
        if data is not None and data.startswith(marks):
            problems.add(name, f"a text file, but this is {what}")
            return None
    return data


def _bytes(path, name, problems):
    try:
        found, most = path.stat(), _MOST_BYTES.get(path.suffix, _MOST_BYTES_OF_A_TABLE)
        if stat.S_ISDIR(found.st_mode):
            problems.add(name, "a file, but this is a folder")
        elif not stat.S_ISREG(found.st_mode):
            problems.add(name, "a file, but this is a pipe or a device")
        elif found.st_size > most:
            problems.add(name, f"a file of at most {most / 1e6:.0f} MB")
        else:
            return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        problems.add(name, _missing(path))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        problems.add(name, f"a file that can be read; the system says: {reason}")
    return None


def _missing(path):
    """What a path should lead to that leads nowhere; a link is told as such."""
    if path.is_symlink():
        return f"a file, but this is a link to {os.readlink(path)}, and nothing is there"
    return f"a file here, but there is none in {path.parent}"


def _decoded(data, name, problems):
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        around = data[max(0, error.start - 10) : error.start + 10]
        problems.add(
            name,
            "text in UTF-8, but this file was saved in another encoding; save it again as UTF-8 "
            "(in a spreadsheet: CSV UTF-8)",
            row=row,
            value=around.decode("ascii", "replace"),
        )
        return None
