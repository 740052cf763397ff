"""The old file kept beside the new one, wherever a file of the user's is replaced."""

import filecmp
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from ..tables import CannotSave
from .blanks import blank


@dataclass(frozen=True)
class Kept:
    """A file about to be replaced: ``path`` of it, ``beside`` its copy, None where there was none."""

    path: Path
    beside: Path | None

    def settled(self) -> str:
        """After the new file is written: a sentence on the old one; a copy that is equal goes."""
        if self.beside is None:
            return ""
        if filecmp.cmp(self.path, self.beside, shallow=False):
            self.beside.unlink()
            return ""
        return f"{self.path.name}: the old file is kept beside it as {self.beside.name}."


def is_blank(path: Path) -> bool:
    """Whether a file is still as its template, but for the town it names. Parameters: ``path``.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = (Path(folder) / "stations.csv").write_text("station,rf_channel\\n")
    ...     is_blank(Path(folder) / "stations.csv")
    False
    """
    template = {**blank("town"), **blank("site")}.get(path.name, "")
    text = path.read_bytes().decode("utf-8", errors="replace").replace("\r\n", "\n")
    return _without_town(text) == _without_town(template)


def _without_town(text):
    return [line for line in text.split("\n") if not line.startswith(("town =", "# town ="))]


def keep_old(path: str | Path) -> Kept:
    """Copy a file that will be replaced to a name of its own beside it, with today's date: a Kept.

    A blank template is not kept. Parameters: ``path``. Raises CannotSave.

    >>> keep_old(Path("no such file.csv")).beside is None
    True
    """
    path = Path(path)
    if not path.exists() or is_blank(path):
        return Kept(path, None)
    beside, count = path.with_name(f"{path.stem}_before_{date.today()}{path.suffix}"), 2
    while beside.exists():
        beside = path.with_name(f"{path.stem}_before_{date.today()}_{count}{path.suffix}")
        count += 1
    try:
        shutil.copy2(path, beside)
    except OSError as error:
        raise CannotSave(
            f"{path.name} could not be kept beside the new one: {error.strerror or error}. "
            "Nothing was changed."
        ) from error
    return Kept(path, beside)
