"""Make a site or town folder: from blank templates, or from typed answers."""

import os
import tomllib
from pathlib import Path

from ..tables import CannotSave, Problems, write_atomic
from ..tables.tomled import toml_text
from ..units import check_type
from . import outline
from .antennas import FILE as ANTENNAS_FILE
from .antennas import read_antennas
from .blanks import blank
from .folders import folder_path
from .keeping import is_blank

SITE_FILE = outline.FILE
_HEAD = "# What the keys mean stands in data_dictionary.md.\n\n"
_USUAL = "# What the TV shows is taken as usual in region {}, since nothing was said.\n\n"


def new_site(folder: str | Path, town: str | Path | None = None) -> Path:
    """Make a blank site folder, or finish one that was broken off; refuses one that holds anything else.

    Parameters
    ----------
    folder
        To make.
    town
        A town folder the site points to, None for a site with a stations.csv of its own.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    ValueError
        If the folder is taken.
    CannotSave
        If it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     sorted(file.name for file in new_site(Path(parent) / "roof").glob("*.toml"))
    ['antennas.toml', 'site.toml']
    """
    folder = folder_path(folder)
    texts = dict(blank("site"))
    if town is not None:
        texts.pop("stations.csv")
        line_of_town = toml_text({"town": way_to(town, folder)}).strip()
        texts[SITE_FILE] = texts[SITE_FILE].replace("# town =", line_of_town)
    return _made(folder, texts, ("patterns",))


def new_town(folder: str | Path) -> Path:
    """Make a blank town folder, or finish one that was broken off; refuses one that holds anything else.

    Parameters
    ----------
    folder
        To make.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    ValueError
        If the folder is taken.
    CannotSave
        If it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     sorted(file.name for file in new_town(Path(parent) / "town").iterdir())
    ['data_dictionary.md', 'patterns', 'stations.csv', 'terrain']
    """
    return _made(folder_path(folder), blank("town"), ("patterns", "terrain"))


def _refuse_if_taken(folder, texts, folders):
    """ValueError for a folder that is there, unless it is empty or a blank one half made."""
    if not os.path.lexists(folder):
        return
    found = set()
    if folder.is_dir():
        found = {f.name for f in folder.iterdir() if not (f.name[0] == "." and f.suffix == ".tmp")}
    half_made = found < {*texts, *folders} and all(_is_as(folder / n, texts.get(n)) for n in found)
    if not folder.is_dir() or not half_made:
        raise ValueError(
            f"{folder} is there already and holds something; nothing was changed. Choose another name."
        )


def _is_as(path, text):
    """Whether a file still holds ``text``, or for None whether there is an empty folder."""
    if text is None:
        return path.is_dir() and not any(path.iterdir())
    return path.is_file() and path.read_bytes() == text.encode()


def _made(folder, texts, folders):
    _refuse_if_taken(folder, texts, folders)
    try:
        for name in ("", *folders):
            (folder / name).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotSave(
            f"{folder} could not be made: {error.strerror or error}. Choose a folder of your own."
        ) from error
    for name, text in texts.items():
        if not (folder / name).exists():
            write_atomic(folder / name, text, overwrite=False)
    return folder


def way_to(town: str | Path, folder: str | Path) -> str:
    """How site.toml names the town folder: seen from the site, with / between folders."""
    try:
        way = os.path.relpath(town, folder)
    except ValueError:
        way = os.path.abspath(town)
    return Path(way).as_posix()


def write_site(folder: str | Path, answers: dict) -> Path:
    """Write site.toml from typed answers; refuses to replace one that was already filled in.

    Answers of None are left out; a TV of which nothing is said shows what is usual in the region, and
    the file says so.

    Parameters
    ----------
    folder
        Of the site, made from blank templates if it is not there.
    answers
        As site.toml holds it: name, latitude, longitude, region, town, certainty, noise, and the
        tables tuner, mounts and feeds (lists of dicts).

    Returns
    -------
    Path
        The file.

    Raises
    ------
    BadTable
        With every answer that will not do, before anything is written.
    ValueError
        If site.toml was filled in already.
    CannotSave
        If it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     path = write_site(Path(parent) / "roof", {
    ...         "name": "roof", "latitude": 30.45, "longitude": -40.7, "region": "us",
    ...         "mounts": [{"name": "mast", "kind": "mast", "height_agl_m": 9}]})
    ...     print(path.read_text().split("\\n")[2])
    # What the TV shows is taken as usual in region us, since nothing was said.
    """
    folder = folder_path(folder)
    check_type("answers", answers, dict, "a dict of the keys of site.toml")
    answers, head = as_toml(answers), _HEAD
    tuner, region = answers.get("tuner", {}), answers.get("region")
    if isinstance(tuner, dict) and "standards" not in tuner:
        answers["tuner"] = {**tuner, "standards": outline.usual_families(region)}
        head += _USUAL.format(region)
    kept = _town_of_blank(folder)
    if kept:
        answers = {"town": kept, **answers}
    with Problems() as problems:
        outline.outline(answers, problems)
    return _filled(folder, SITE_FILE, answers, head)


def write_antennas(folder: str | Path, antennas: list, region: str = "us") -> Path:
    """Write antennas.toml from typed answers; refuses to replace one that was already filled in.

    Parameters
    ----------
    folder
        Of the site, made from blank templates if it is not there.
    antennas
        A list of dicts, each as a table [[antennas]] holds it.
    region
        Whose channels they name.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    BadTable
        With every answer that will not do, before anything is written.
    ValueError
        If antennas.toml was filled in already.
    CannotSave
        If it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     path = write_antennas(Path(parent) / "roof", [
    ...         {"name": "loop", "gain_dbd": 1.5, "low_mhz": 470, "high_mhz": 608}])
    ...     'name = "loop"' in path.read_text()
    True
    """
    folder = folder_path(folder)
    check_type("antennas", antennas, (list, tuple), "a list of dicts, one an antenna")
    answers = as_toml({"antennas": list(antennas)})
    with Problems() as problems:
        read_antennas(folder, region, problems, answers)
    return _filled(folder, ANTENNAS_FILE, answers)


def as_toml(answers: object) -> object:
    """``answers`` as TOML holds them: without what is None, at every depth, and numbers as Python's.

    >>> as_toml({"name": "loop", "note": None, "sizes": {"freq_mhz": (470, 608), "wire_mm": None}})
    {'name': 'loop', 'sizes': {'freq_mhz': [470, 608]}}
    """
    if isinstance(answers, dict):
        return {key: as_toml(value) for key, value in answers.items() if value is not None}
    if isinstance(answers, (list, tuple)):
        return [as_toml(value) for value in answers]
    return answers.item() if hasattr(answers, "item") else answers


def _filled(folder, name, answers, head=_HEAD):
    """Write ``answers`` in place of a blank file; ValueError if that was filled in already."""
    if not folder.exists() or not any(folder.iterdir()):
        new_site(folder)
    path = folder / name
    if path.exists() and not is_blank(path):
        raise ValueError(
            f"{path} was filled in already and is left as it is. Change it by shed.site.change, by its "
            "form or in a text editor, or move it away first."
        )
    write_atomic(path, f"{head}{toml_text(answers)}")
    return path


def _town_of_blank(folder):
    """The town a site folder names that was not filled in yet, or None."""
    path = folder / SITE_FILE
    if not path.is_file() or not is_blank(path):
        return None
    return tomllib.loads(path.read_text(encoding="utf-8")).get("town")
