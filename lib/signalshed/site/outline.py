"""What site.toml says: place, tuner, feeds and mounts, checked together."""

from dataclasses import dataclass

from .. import chain
from ..tables import MOUNT, SITE, check_keys
from . import line
from .compass import Compass
from .model import Mount, Place, Site

FILE = "site.toml"
_TABLES = ("tuner", "mounts", "feeds")


@dataclass(frozen=True)
class Outline:
    """A site without its tables: ``values`` of the keys at the top of site.toml, ``place``, ``compass``,
    ``tuner``, ``feeds`` and ``mounts`` (dicts by name), ``notes``. What was wrong is None or absent.
    """

    values: dict
    place: Place | None
    compass: Compass | None
    tuner: chain.Tuner | None
    feeds: dict
    mounts: dict
    notes: tuple

    def site(self, **rest):
        """The Site of this outline. Parameters: ``rest`` of its fields, by name."""
        keys = ("name", "region", "certainty", "noise", "clutter_m")
        said = {key: self.values[key] for key in keys}
        parts = {"mounts": self.mounts, "feeds": self.feeds, "tuner": self.tuner}
        return Site(place=self.place, **said, **parts, **rest)


def outline(data, problems):
    """The Outline of a site from the content of site.toml.

    Parameters: ``data`` the content, a dict; ``problems`` gathers what is wrong.

    >>> from ..tables import Problems
    >>> outline({"name": "roof", "region": "us"}, problems := Problems()).place is None
    True
    >>> problems.table()["column"].tolist()
    ['latitude', 'longitude', 'tuner: standards', 'mounts']
    """
    top = {key: value for key, value in data.items() if key not in _TABLES}
    values, notes = check_keys(top, SITE, problems, FILE)
    place = _place(values)
    compass = None if place is None else Compass(place, values["declination_deg"])
    tuner, more = line.tuner(_one_table(data, "tuner", problems), problems, FILE)
    feeds = line.feeds(tables_of(data, "feeds", problems, FILE), problems, FILE)
    notes += more
    if not data.get("feeds"):
        notes += (f"{FILE}: no [[feeds]], so there is no cable between antenna and tuner.",)
    rows = tables_of(data, "mounts", problems, FILE)
    if not data.get("mounts"):
        problems.add(FILE, "at least one table [[mounts]], a place for an antenna", column="mounts")
    mounts = _mounts(rows, feeds, compass, problems)
    notes += _construction_notes(rows, mounts)
    return Outline(values, place, compass, tuner, feeds, mounts, notes)


def tables_of(data, key, problems, file):
    """The tables [[key]] of a TOML file as a list of dicts; a problem is noted for anything else.

    Parameters: ``data`` the content; ``key`` the name of the tables; ``problems``; ``file`` its name.
    """
    rows = data.get(key, [])
    if isinstance(rows, list) and all(isinstance(row, dict) for row in rows):
        return rows
    problems.add(file, f"tables [[{key}]], each in double square brackets", column=key)
    return []


def _one_table(data, key, problems):
    table = data.get(key, {})
    if isinstance(table, dict):
        return table
    problems.add(FILE, f"one table [{key}], in single square brackets", column=key)
    return {}


def _place(values):
    if values["latitude"] is None or values["longitude"] is None:
        return None
    return Place(values["name"] or "site", values["latitude"], values["longitude"])


def _mounts(rows, feeds, compass, problems):
    found = {}
    for count, row in enumerate(rows, start=1):
        name = row.get("name")
        where = f'mount "{name}"' if isinstance(name, str) else f"mount {count}"
        before = len(problems)
        values, _ = check_keys(row, MOUNT, problems, FILE, where)
        if values["name"] in found:
            problems.add(FILE, "a name no other mount has", column=where)
        _check_feed(values, feeds, problems, f"{where}: feed")
        if len(problems) == before:
            values.pop("power")
            found[values["name"]] = Mount(**_true_sector(row, values, compass))
    return found


def _construction_notes(rows, mounts):
    """Sentences on indoor mounts of whose building nothing is said."""
    said = {str(row.get("name")).strip() for row in rows if "construction" in row}
    return tuple(
        f'{FILE}: mount "{m.name}" is taken to be in a traditional building, since nothing is said.'
        for m in mounts.values()
        if m.kind in ("attic", "window", "room") and m.name not in said
    )


def _check_feed(values, feeds, problems, column):
    """A mount must name one of the feeds where there are several, and have power for it."""
    name = values["feed"]
    names = ", ".join(repr(feed) for feed in feeds) or "none in [[feeds]]"
    if name is None and len(feeds) > 1:
        problems.add(FILE, f"which feed it has: {names}", column=column)
    if name is not None and name not in feeds:
        problems.add(FILE, f"the name of a feed; there are {names}", column=column, value=name)
    feed = next(iter(feeds.values()), None) if name is None else feeds.get(name)
    if feed is not None and not values["power"] and feed.amplifiers:
        problems.add(
            FILE,
            f"a feed without an amplifier, since power is false; {feed.name!r} has one",
            column=column,
        )


def _true_sector(row, values, compass):
    """The open sector of a mount in true bearings, where it was typed from a compass."""
    if compass is None:
        return values
    turned = {
        key: float(compass.true_deg(values[key]))
        for key in ("open_from_deg", "open_to_deg")
        if key.replace("_deg", "_compass_deg") in row
    }
    return values | turned
