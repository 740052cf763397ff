"""What site.toml says: place, tuner, feeds and mounts, checked together."""

from dataclasses import dataclass, fields

from .. import chain, facts
from ..tables import MOUNT, SITE, TUNER, Problems, Spot
from .compass import Compass
from .line import feed_line
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
    notes: list

    def mount(self, row: dict, spot: Spot) -> Mount | None:
        """The Mount of one of [[mounts]]. Parameters: ``row`` the table; ``spot`` its Spot."""
        values = spot.keys(row, MOUNT)
        _check_feed(values, self.feeds, spot)
        del values["power"]
        for end in ("open_from", "open_to"):
            if f"{end}_compass_deg" in row and self.compass is not None:
                values[f"{end}_deg"] = float(self.compass.true_deg(values[f"{end}_deg"]))
        mount = spot.made(lambda: Mount(**values))
        if mount and mount.kind in ("attic", "window", "room") and "construction" not in row:
            self.notes.append(
                f'{FILE}: mount "{mount.name}" is taken to be in a traditional building, since '
                "nothing is said."
            )
        return mount

    def site(self, **rest: object) -> Site:
        """The Site of this outline. Parameters: ``rest`` of its fields, by name."""
        own = {field.name for field in fields(Site)}
        said = {key: value for key, value in self.values.items() if key in own} | rest
        parts = {"mounts": self.mounts, "feeds": self.feeds, "tuner": self.tuner}
        return Site(place=self.place, **parts, **said)


def outline(data: dict, problems: Problems) -> Outline:
    """The Outline of a site from the content of site.toml.

    Parameters: ``data`` the content, a dict; ``problems`` gathers what is wrong.

    >>> from ..tables import Problems
    >>> outline({"name": "roof", "region": "us"}, problems := Problems()).place is None
    True
    >>> problems.table()["column"].tolist()
    ['latitude', 'longitude', 'tuner: standards', 'mounts']
    """
    notes = []
    spot = Spot(FILE, problems, notes=notes)
    values = spot.keys({key: value for key, value in data.items() if key not in _TABLES}, SITE)
    place = _place(values)
    compass = None if place is None else Compass(place, values["declination_deg"])
    tuner = _tuner(data.get("tuner", {}), spot)
    feeds = spot.things(data, "feeds", feed_line)
    if not data.get("feeds"):
        notes.append(f"{FILE}: no [[feeds]], so there is no cable between antenna and tuner.")
    plan = Outline(values, place, compass, tuner, feeds, {}, notes)
    plan.mounts.update(spot.things(data, "mounts", plan.mount))
    if not data.get("mounts"):
        spot.wrong("at least one table [[mounts]], a place for an antenna", "mounts")
    return plan


def usual_families(region: str) -> list:
    """Families of standards that a TV of a ``region`` shows as a rule: a list.

    >>> usual_families("us"), usual_families("ge06")
    (['ATSC1'], ['DVB-T', 'DVB-T2'])
    """
    usual = facts.table("usual_standards").set_index("region")["standard"]
    return usual.get(region, "DVB-T DVB-T2").split()


def _tuner(table, spot):
    if not isinstance(table, dict):
        spot.wrong("one table [tuner], in single square brackets", "tuner")
        table = {}
    below = spot.below("tuner")
    values = below.keys(table, TUNER)
    return below.made(lambda: chain.Tuner(**values))


def _place(values):
    if values["latitude"] is None or values["longitude"] is None:
        return None
    return Place(values["name"] or "site", values["latitude"], values["longitude"])


def _check_feed(values, feeds, spot):
    """A mount must name one of the feeds where there are several, and have power for it."""
    name = values["feed"]
    names = ", ".join(repr(feed) for feed in feeds) or "none in [[feeds]]"
    if name is None and len(feeds) > 1:
        spot.wrong(f"which feed it has: {names}", "feed")
    if name is not None and name not in feeds:
        spot.wrong(f"the name of a feed; there are {names}", "feed", name)
    feed = next(iter(feeds.values()), None) if name is None else feeds.get(name)
    if feed is not None and not values["power"] and feed.amplifiers:
        why = f"since power is false; {feed.name!r} has one"
        spot.wrong(f"a feed without an amplifier, {why}", "feed")
