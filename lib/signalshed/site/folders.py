"""Which files a site folder may point at."""

import re
from pathlib import Path, PurePosixPath


def inside(folder, name):
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
