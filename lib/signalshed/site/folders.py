"""Which files a site folder may point at, and the tables in them."""

import re
from pathlib import Path, PurePosixPath

import pandas as pd

from ..tables import Problems, check_csv
from ..tables.spec import Spec
from ..units import check_type


def folder_path(folder: object) -> Path:
    """``folder`` as a Path, or a ValueError where it is no name of one.

    >>> folder_path(7)
    Traceback (most recent call last):
    ValueError: folder is of type int; it must be a folder's name, as 'my_roof'.
    """
    check_type("folder", folder, (str, Path), "a folder's name, as 'my_roof'")
    return Path(folder)


def inside(folder: str | Path, name: str) -> Path:
    """The path of a file the user names within ``folder``, such as patterns/loop.csv.

    Parameters: ``folder`` a Path; ``name`` with / between folders. Raises ValueError for a name that
    leads out of the folder: absolute, with .. or a drive letter.

    >>> inside(Path("roof"), "patterns/loop.csv").as_posix()
    'roof/patterns/loop.csv'
    """
    parts = PurePosixPath(name).parts
    strange = re.search(r"[\\\x00-\x1f:*?<>|\"]", name)
    if not parts or strange or name.startswith("/") or ".." in parts:
        raise ValueError(
            f"{name!r} is no file within the folder: give its name, as patterns/loop.csv, with / "
            "between folders and without .. in it."
        )
    path = Path(folder).joinpath(*parts)
    if not path.resolve().is_relative_to(Path(folder).resolve()):
        raise ValueError(f"{name!r} leads out of the folder; copy the file into it.")
    return path


def named_table(
    folder: Path, name: str, spec: Spec, problems: Problems, shown: str
) -> pd.DataFrame | None:
    """The DataFrame of a CSV file the user names within ``folder``, or None with problems noted.

    Parameters: ``folder``, ``name`` as in ``inside``; ``spec`` what it must hold; ``problems`` gathers
    what is wrong; ``shown`` its name in messages.
    """
    before = len(problems)
    found = check_csv(inside(folder, name), spec, problems, name=shown)
    return None if len(problems) > before else found.frame
