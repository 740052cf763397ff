"""Write files so that whatever happens either the old one or the new one is there."""

import contextlib
import errno
import os
import secrets
from pathlib import Path

import pandas as pd

from .cells import did_you_mean, guarded, one
from .spec import NUMBERS


class CannotSave(OSError):
    """A file could not be written; the old one, if there was one, is untouched."""

    def _render_traceback_(self):
        return [f"{type(self).__name__}: {self}"]


def write_atomic(path, data, overwrite=True):
    """Write a whole file at once: after a crash at any moment the old file is there, or the new.

    Parameters: ``path`` of the file; ``data`` text (saved as UTF-8) or bytes; ``overwrite`` False
    refuses to replace a file. Raises CannotSave with what to do (disk full, folder read-only, file
    open elsewhere).

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_atomic(Path(folder) / "note.txt", "kept")
    ...     (Path(folder) / "note.txt").read_text()
    'kept'
    """
    path = Path(os.path.realpath(path))
    data = data.encode() if isinstance(data, str) else bytes(data)
    if not overwrite and path.exists():
        raise CannotSave(f"{path.name} is there already in {path.parent}; it was left as it is.")
    beside = path.with_name(f".{path.name[:40]}.{secrets.token_hex(6)}.tmp")
    try:
        _write_beside(beside, data, path)
        os.replace(beside, path)
        _settle(path.parent)
    except OSError as error:
        raise CannotSave(_sentence(error, path)) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def _write_beside(beside, data, path):
    """Write ``data`` to a new file in the same folder, on the disk before this returns."""
    handle = os.open(
        beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666
    )
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if path.exists():
        os.chmod(beside, path.stat().st_mode & 0o7777)


def _settle(folder):
    """Have the folder itself written to disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sentence(error, path):
    """What went wrong in plain words, and what to do about it."""
    start = f"{path.name} could not be saved in {path.parent}"
    kept = "the file is as it was before" if path.exists() else "no file was made"
    reasons = {
        errno.ENOSPC: "the disk is full; free some space and save again",
        getattr(errno, "EDQUOT", errno.ENOSPC): "your disk quota is used up; free some space and "
        "save again",
        errno.EACCES: "you may not write there, or the file is open in another program; close it, "
        "or choose a folder of your own",
        errno.EPERM: "you may not write there; choose a folder of your own",
        errno.EROFS: "the disk is read-only; choose another folder",
        errno.ENOENT: "there is no such folder; make it first",
        errno.ENOTDIR: "there is no such folder; make it first",
        errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
    }
    reason = reasons.get(error.errno, f"the system says: {error.strerror or error}")
    return f"{start}: {reason}. {kept[0].upper()}{kept[1:]}."


def write_csv(path, frame, spec, overwrite=False):
    """Write a DataFrame as a CSV file that ``read`` reads back, and a spreadsheet does not compute.

    Text that begins with = + - @ gets one apostrophe in front, which ``read`` takes away again.
    Empty stands for NaN, NaT, None and "". Written at once, UTF-8, cut by commas, decimal points.

    Parameters: ``path`` of the file; ``frame`` whose columns are among those of ``spec``; ``spec`` a
    Spec; ``overwrite`` True replaces a file that is there. Raises CannotSave, and ValueError for a
    column the Spec does not have or a cell it would not take.

    >>> import tempfile
    >>> from . import TRIAL_GAINS
    >>> gains = {"antenna": ["=mesh"], "freq_mhz": [539.0], "gain_dbd": [7.0]}
    >>> frame = pd.DataFrame(gains | {"low_dbd": [5.5], "high_dbd": [8.5]})
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_csv(Path(folder) / "trial_gains.csv", frame, TRIAL_GAINS)
    ...     (Path(folder) / "trial_gains.csv").read_text().split()[1]
    "'=mesh,539,7,5.5,8.5"
    """
    strange = [name for name in frame.columns if name not in spec.header()]
    if strange:
        raise ValueError(
            f"{spec.file} has no column {strange[0]!r}{did_you_mean(strange[0], spec.header())}."
        )
    cells = {
        column.name: [cell_text(column, value, spec.file) for value in frame[column.name]]
        for column in spec.columns
        if column.name in frame.columns
    }
    write_atomic(path, pd.DataFrame(cells).to_csv(index=False, lineterminator="\n"), overwrite)


def cell_text(column, value, file):
    """One value as the text of a cell; ValueError for one that could not be read back.

    Parameters: ``column`` a Column; ``value`` of it, or None; ``file`` its name in messages.

    >>> from . import METER
    >>> cell_text(METER.column("locked"), True, "meter.csv")
    'yes'
    """
    if isinstance(value, str):
        value = value.replace("\r\n", "\n").replace("\r", "\n")
    try:
        meant = one(column, value)
    except ValueError as expected:
        raise ValueError(f"{column.name} for {file} is {value!r}; it must be {expected}.") from None
    if meant is None:
        return ""
    if isinstance(value, (list, tuple)):
        return guarded(" ".join(map(str, value)))
    if column.kind == "pad" and isinstance(value, str):
        return " ".join(value.split())
    if column.kind in NUMBERS:
        return f"{meant:.12g}"
    if column.kind in ("flag", "lock"):
        return "yes" if meant else "no"
    if column.kind == "time":
        return value if isinstance(value, str) else pd.Timestamp(value).isoformat()
    return guarded(str(value).strip())
