"""Files of a site folder changed where something changed; the old file stays beside the new one."""

import inspect
from pathlib import Path
from typing import TYPE_CHECKING

from ..tables import TABLES, CannotSave, Problems, read_text, read_toml, write_atomic
from ..tables.toml import good_toml
from ..tables.tomled import edited, toml_text
from ..words import listed
from . import outline
from .antennas import FILE as ANTENNAS_FILE
from .antennas import make_build, read_antennas
from .folders import folder_path
from .keeping import keep_old
from .new import as_toml

if TYPE_CHECKING:
    from ..builds import Build

_LISTS = ("mounts", "feeds")


def change(folder: str | Path, **keys: object) -> str:
    """Change site.toml: the keys given, and nothing else; remarks stay where they are.

    The old file is kept beside the new one, with today's date in its name.

    Parameters
    ----------
    folder
        Of the site.
    keys
        As site.toml holds them, None takes one away: values (latitude=30.5), ``tuner`` a dict of
        its keys, ``mounts`` and ``feeds`` dicts from a name to a dict of keys, None to take that
        one away.

    Returns
    -------
    str
        What was done, in one sentence.

    Raises
    ------
    BadTable
        With everything that will not do, before anything is written.
    CannotSave
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from .new import write_site
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     roof = {"name": "roof", "latitude": 30.45, "longitude": -40.7, "region": "us",
    ...             "tuner": {"standards": ["ATSC1"]},
    ...             "mounts": [{"name": "mast", "kind": "mast", "height_agl_m": 9}]}
    ...     path = write_site(Path(folder) / "roof", roof)
    ...     change(path.parent, mounts={"mast": {"height_agl_ft": 40}})[:34]
    'site.toml: changed mounts; the old'
    """
    path = folder_path(folder) / outline.FILE
    old = good_toml(path)
    data = as_toml(old | {k: _changed(k, old.get(k), value) for k, value in keys.items()})
    with Problems() as problems:
        outline.outline(data, problems)
    return saved(path, data, [k for k in keys if data.get(k) != old.get(k)])


def add_antenna(folder: str | Path, antenna: "dict | Build") -> str:
    """Add an antenna to antennas.toml, or put it in place of the one of that name; the others stay.

    The old file is kept beside the new one.

    Parameters
    ----------
    folder
        Of the site.
    antenna
        A dict as a table [[antennas]] holds it, or a build of shed.builds, which is written with
        its sizes.

    Returns
    -------
    str
        What was done, in one sentence.

    Raises
    ------
    BadTable
        With everything that will not do, before anything is written.
    CannotSave
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from .new import new_site
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     roof = new_site(Path(folder) / "roof")
    ...     add_antenna(roof, {"name": "loop", "build": "loop", "sizes": {"freq_mhz": 539}})
    'antennas.toml: added loop.'
    """
    row = as_toml(antenna if isinstance(antenna, dict) else _of_build(antenna))
    path, name = folder_path(folder) / ANTENNAS_FILE, row.get("name")
    there = good_toml(path).get("antennas", [])
    if name in [one.get("name") for one in there]:
        rows, what = [row if one.get("name") == name else one for one in there], "changed"
    else:
        rows, what = [*there, row], "added"
    return _antennas(path, rows, f"{what} {name}")


def remove_antenna(folder: str | Path, name: str) -> str:
    """Take an antenna out of antennas.toml; the old file is kept beside the new one.

    Parameters
    ----------
    folder
        Of the site.
    name
        Of the antenna.

    Returns
    -------
    str
        What was done, in one sentence.

    Raises
    ------
    ValueError
        For an antenna that is not there.
    CannotSave
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from .new import new_site
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     remove_antenna(new_site(Path(folder) / "roof"), "mesh")
    Traceback (most recent call last):
    ValueError: antennas.toml has no antenna 'mesh'; it has half-wave dipole.
    """
    path = folder_path(folder) / ANTENNAS_FILE
    rows = good_toml(path).get("antennas", [])
    names = [row.get("name") for row in rows]
    if name not in names:
        raise ValueError(f"{path.name} has no antenna {name!r}; it has {listed(names) or 'none'}.")
    return _antennas(path, [row for row in rows if row.get("name") != name], f"took {name} out")


def _antennas(path, rows, what):
    site, known = path.with_name(outline.FILE), TABLES["site"].column("region").choices
    region = (read_toml(site, Problems()) or {}).get("region") if site.is_file() else None
    region = region if region in known else known[0]
    with Problems() as problems:
        read_antennas(path.parent, region, problems, {"antennas": rows})
    return saved(path, {"antennas": rows}, what)


def _changed(key, old, new):
    """The new value of a key at the top of site.toml."""
    if new is None or key not in (*_LISTS, "tuner"):
        return new
    if not isinstance(new, dict):
        raise ValueError(
            f"{key} must be a dict{' by name' if key in _LISTS else ''}, of what is to change."
        )
    if key == "tuner":
        return _merged(old or {}, new, "tuner")
    rows = {row.get("name"): row for row in old or []}
    for name, row in new.items():
        if row is not None:
            row = _merged(rows.get(name) or {"name": name}, row, key[:-1])
        rows[name] = row
    return [row for row in rows.values() if row is not None]


def _merged(old, new, table):
    """A table with keys changed; a key in another unit goes when the quantity is given anew."""
    column_of = {key: column.name for key, (column, _) in TABLES[table].known().items()}
    given = {column_of[key] for key in new if key in column_of}
    kept = {k: v for k, v in old.items() if k in new or column_of.get(k) not in given}
    return as_toml({**kept, **new})


def _of_build(build):
    """A build as a table of antennas.toml; ValueError for what is none, or cannot be made again."""
    form, sizes = getattr(build, "form", None), dict(getattr(build, "sizes", {}))
    if form is None:
        raise ValueError(
            "antenna must be a dict as antennas.toml holds it, or a build of shed.builds."
        )
    from .. import builds

    takes = inspect.signature(builds.FORMS[form]).parameters
    band = [float(f) for f in build.band_mhz]
    if "freq_mhz" in takes:
        sizes = {"freq_mhz": band[0] if band[0] == band[1] else band, **sizes}
    if (screen := build.screen) is not None:
        whole = {"form": screen.kind, **screen.sizes, "behind_mm": screen.behind_mm}
        sizes |= {"screen": whole}
    sizes = as_toml(sizes)
    make_build(form, sizes)
    return {"name": build.name, "build": form, "sizes": sizes}


def saved(path: Path, data: dict, what: str | list) -> str:
    """Write ``data`` as the TOML file ``path``, changed line by line; a sentence on what was done.

    Parameters: ``path``; ``data`` a dict; ``what`` was changed, a sentence or a list of keys, none where
    nothing was.
    """
    if not what:
        return f"{path.name}: nothing has changed, nothing was written."
    text = read_text(path, Problems())
    if text is None:
        raise CannotSave(f"{path} cannot be read; nothing was changed.")
    new = edited(text, data)
    told = what if isinstance(what, str) else f"changed {listed(what)}"
    lost = "" if new is not None or "#" not in text else "; its remarks could not be kept"
    kept = keep_old(path)
    write_atomic(path, toml_text(data) if new is None else new)
    beside = kept.settled().partition(": ")[2].rstrip(".")
    return f"{path.name}: {told}{lost}" + (f"; {beside}." if beside else ".")
