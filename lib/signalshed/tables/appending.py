"""Append to a file that others may hold open: under a lock with a limit, whole or not at all."""

import contextlib
import errno
import os
import time
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows, or Python in a browser
    fcntl = None
try:
    import msvcrt
except ImportError:
    msvcrt = None

WAIT_S = 10.0
"""So long another program's lock is waited for."""
_PAUSE_S = 0.02
_TRIES = 20
_NO_LOCKS = {
    getattr(errno, name, -1) for name in ("ENOLCK", "ENOTSUP", "EOPNOTSUPP", "ENOSYS", "EINVAL")
}


class Busy(OSError):
    """Somebody else holds the file, or replaces it again and again."""


def append(path, make):
    """Append bytes to a file, made from what stands in it; no other writer comes in between.

    Parameters: ``path`` of the file, which is made where there is none; ``make`` a function of the
    bytes that stand there; it is called again where an editor has put another file in its place
    meanwhile. Returns sentences: that the folder knows no locks. Raises OSError when nothing could be
    written; the file is as it was then.

    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "log.txt"
    >>> append(file, lambda there: b"one\\n"), append(file, lambda there: there)
    ((), ())
    >>> file.read_text()
    'one\\none\\n'
    """
    path = Path(path)
    if path.is_symlink() and not path.exists():
        raise OSError(f"it is a link to {os.readlink(path)}, and nothing is there")
    if path.exists() and not path.is_file():
        raise OSError("it is a folder, a pipe or a device, no file")
    for _ in range(_TRIES):
        is_new = not path.exists()
        with open(path, "a+b", buffering=0) as file, _locked(file) as is_locked:
            if not _is_there(path, file):
                continue
            with _undone(path, is_new):
                file.seek(0)
                _write(file, make(file.readall()))
            if _is_there(path, file):
                return () if is_locked else (_unlocked(path),)
    raise Busy("another program puts a new file in its place again and again")


def _unlocked(path):
    return (
        f"The folder of {path.name} knows no locks: the row was added in one piece, but two programs "
        "at once could disturb each other. Save from one place at a time."
    )


def _is_there(path, file):
    """Whether the path still leads to the open file: editors put a new one in the place of the old."""
    try:
        return os.path.samestat(os.stat(path), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


@contextlib.contextmanager
def _undone(path, is_new):
    """A file made for nothing is taken away again."""
    try:
        yield
    except BaseException:
        if is_new and path.stat().st_size == 0:
            path.unlink()
        raise


def _write(file, data):
    start = file.seek(0, os.SEEK_END)
    try:
        done = file.write(data)
        if done != len(data):
            raise OSError(f"only {done} of {len(data)} bytes fitted")
        os.fsync(file.fileno())
    except OSError:
        file.truncate(start)
        raise


@contextlib.contextmanager
def _locked(file):
    """Sole right to the file for as long; False where the system knows no locks."""
    end = time.monotonic() + WAIT_S
    while not (held := _take(file)):
        if held is None or time.monotonic() > end:
            break
        time.sleep(_PAUSE_S)
    if held is False:
        raise Busy(f"another program has held it for {WAIT_S:g} seconds; close it there")
    try:
        yield bool(held)
    finally:
        if held:
            _give(file)


def _take(file):
    """True when the lock is ours, False while another holds it, None where there are no locks."""
    try:
        if fcntl is not None:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        elif msvcrt is not None:  # one byte at 0 stands for the file
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            return None
    except OSError as error:
        if error.errno in _NO_LOCKS:
            return None
        if error.errno in (errno.EAGAIN, errno.EACCES, errno.EDEADLK):
            return False
        raise
    return True


def _give(file):
    if fcntl is not None:
        fcntl.flock(file, fcntl.LOCK_UN)
    else:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)
