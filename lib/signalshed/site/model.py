"""What a site is once its folder has been opened: a place, its mounts, and everything round it."""

import functools
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd

from .. import chain
from ..antenna import Antenna
from ..tables import MOUNT, SITE
from ..units import check_type
from ..words import counted
from .sealed import mark, sealed

MOUNT_KINDS, CONSTRUCTIONS = (MOUNT.column(name).choices for name in ("kind", "construction"))
_USUAL = {column.name: column.default for column in MOUNT.columns}
STRAIGHT = chain.Feed("no cable", ())
"""The feed of a mount whose site describes none: the tuner sits at the antenna."""
ALL_THAT_COUNTS = (
    *("place", "stations", "tiles", "clutter_m", "land", "tuner", "noise", "belief"),
    *("certainty", "antennas", "leaves"),
)
"""The parts of a site that a result may hang on; mounts and feeds are named by whoever asks."""
_MOST_KEPT = 256


@dataclass(frozen=True)
class Place:
    """A point on the map.

    Parameters
    ----------
    name : text.
    latitude_deg : -90 to 90, north positive.
    longitude_deg : -180 to 180, east positive.

    Examples
    --------
    >>> Place("home", 40.0, -40.0).latitude_deg
    40.0
    """

    name: str
    latitude_deg: float
    longitude_deg: float

    def __post_init__(self):
        SITE.column("latitude").check(self.latitude_deg, "latitude_deg")
        SITE.column("longitude").check(self.longitude_deg, "longitude_deg")


@dataclass(frozen=True)
class Mount:
    """A place at the site where an antenna can be put.

    Parameters
    ----------
    name : text.
    kind : mast, roof, attic, window, room, balcony, vehicle or boat.
    height_agl_m : metres above the ground, above 0 to 500.
    open_from_deg, open_to_deg : what the mount sees, clockwise from one true bearing to the other;
        0 and 360: all round. 350 to 20 runs through north.
    blocked_loss_db : loss of a station outside that sector, dB.
    trees_m : metres of trees the signals pass through.
    construction : traditional, thermally_efficient or metal; matters indoors only.
    polarization : how antennas lie on it; vertical: turned on their side.
    feed : name of its feed, or None for the only one the site has.
    aim : fixed, rotator or never; None: never on a vehicle or boat, else fixed.
    extra_loss_db, extra_sd_db : what this mount costs beyond all that, and how surely, dB.

    Examples
    --------
    >>> Mount("cabin top", "boat", 3).aim
    'never'
    """

    name: str
    kind: str
    height_agl_m: float
    open_from_deg: float = _USUAL["open_from_deg"]
    open_to_deg: float = _USUAL["open_to_deg"]
    blocked_loss_db: float = _USUAL["blocked_loss_db"]
    trees_m: float = _USUAL["trees_m"]
    construction: str = _USUAL["construction"]
    polarization: str = _USUAL["polarization"]
    feed: str | None = None
    aim: str | None = None
    extra_loss_db: float = _USUAL["extra_loss_db"]
    extra_sd_db: float = _USUAL["extra_sd_db"]

    def __post_init__(self):
        if self.aim is None:
            moves = self.kind in ("vehicle", "boat")
            object.__setattr__(self, "aim", "never" if moves else "fixed")
        MOUNT.check(self, f" of mount {self.name!r}")

    def sees(self, bearing_deg: float | np.ndarray) -> bool | np.ndarray:
        """Whether ``bearing_deg``, true, any shape, lies in the open sector, which runs clockwise."""
        width = (self.open_to_deg - self.open_from_deg) % 360 or 360
        return (bearing_deg - self.open_from_deg) % 360 <= width


@dataclass(frozen=True, eq=False)
class Site:
    """One roof and everything known about it. Never changed: ``with_...`` gives a new one.

    Its tables are read only; a column put in place of another is seen at the next call.

    Parameters
    ----------
    name, region : text; region is that of the channel plan (us, ge06, au, jp, br).
    place : a Place.
    mounts, feeds, antennas : dicts by name of Mount, chain.Feed and Antenna.
    tuner : a chain.Tuner.
    stations : DataFrame, one row per station: the columns of stations.csv in km, kW and m, with what
        was worked out: freq_mhz, bearing_deg, distance_km, haat_m (antenna_height_m there),
        transmit_agl_m, unknown_sd_db (what a missing power or height adds to the spread),
        pattern_loss_db (by how much less than its greatest power goes toward the site, 0 if not known).
    readings : DataFrame of meter readings, empty if there are none; its index the row in
        readings.csv as a spreadsheet counts.
    belief : what readings taught about the path; None before any were used.
    certainty : chance at which a station counts as sure, above 0 and below 1.
    leaves : which season forecasts are for where trees are in the way: none (that lose their leaves),
        bare or full; None for full, the worse one.
    noise : neighbourhood for man-made noise, one of chain.ENVIRONMENTS.
    clutter_m : height of houses and trees along terrain profiles, metres, 0 to 60.
    show_within_km : how far away stations are that tables and figures speak of; None: all.
    land : its relief, flat, rolling, hilly or mountains, for paths no tile covers; None: not told.
    ground_amsl_m : the ground at the roof above sea level, where nobody's tile says it; None: not told.
    notes : sentences about defaults that were used.
    folder : where it was read from, or None.
    tiles : terrain tiles of the town, or None.
    ladder : DataFrame of meter.csv, the pads-and-meter table, or None.
    """

    name: str
    region: str
    place: Place
    mounts: dict
    feeds: dict
    tuner: chain.Tuner
    stations: pd.DataFrame
    antennas: dict
    readings: pd.DataFrame
    belief: object = None
    certainty: float = SITE.column("certainty").default
    noise: str = SITE.column("noise").default
    clutter_m: float = SITE.column("clutter_m").default
    leaves: str | None = None
    notes: tuple = ()
    folder: Path | None = None
    tiles: object = None
    ladder: pd.DataFrame | None = None
    land: str | None = None
    ground_amsl_m: float | None = None
    show_within_km: float | None = None
    _kept: dict = field(default_factory=dict, repr=False)

    def __post_init__(self):
        for name in ("stations", "readings", "ladder"):
            object.__setattr__(self, name, sealed(getattr(self, name), name))
        SITE.check(self)
        object.__setattr__(self, "notes", tuple(self.notes))

    def __repr__(self):
        """What a cell shows of a site: what is in it, and where to look."""
        wanted = int(self.stations["wanted"].sum())
        learned = "readings used" if self.belief is not None else "no readings used yet"
        return (
            f"Site {self.name!r} ({self.region}): {counted(len(self.stations), 'station')}, {wanted} "
            f"wanted (.stations); {counted(len(self.antennas), 'antenna')} (.antennas); mounts "
            f"{', '.join(self.mounts)}; {counted(len(self.readings), 'reading')}, {learned} "
            f"(.readings); {counted(len(self.notes), 'note')} on what was taken for granted (.notes)"
        )

    def remembered(self, key: tuple, make: Callable, of: tuple = ALL_THAT_COUNTS) -> object:
        """What ``make()`` gives, made once for a ``key`` and the parts of the site it is computed from.

        Sites made from one another remember together: what readings teach leaves the terrain alone.

        Parameters
        ----------
        key
            Hashable, begins with the name of what is remembered.
        make
            Takes nothing.
        of
            Names of the site's fields.

        Examples
        --------
        >>> from signalshed import simulate
        >>> simulate.demo_site().remembered(("two",), lambda: 1 + 1)
        2
        """
        marks, kept = zip(*(mark(getattr(self, name)) for name in of), strict=True)
        place = (key, of, marks)
        found = self._kept.pop(place, None) or (make(), kept)
        self._kept[place] = found
        while len(self._kept) > _MOST_KEPT:
            del self._kept[next(iter(self._kept))]
        return found[0]

    def mount(self, mount: str | Mount) -> Mount:
        """The Mount called ``mount``; a Mount is handed back as it is. ValueError if unknown."""
        return _look_up("mount", mount, self.mounts, Mount)

    def antenna(self, antenna: str | Antenna) -> Antenna:
        """The Antenna called ``antenna``; an Antenna is handed back as it is. ValueError if unknown."""
        return _look_up("antenna", antenna, self.antennas, Antenna)

    def feed(self, feed: str | chain.Feed | None = None) -> chain.Feed:
        """The chain.Feed called ``feed``; a Feed is handed back as it is. ValueError if unknown.

        ``feed`` None is the only feed of the site, or no cable at all where the site has no feed.
        """
        if feed is None and len(self.feeds) <= 1:
            return next(iter(self.feeds.values()), STRAIGHT)
        return _look_up("feed", feed, self.feeds, chain.Feed)

    def with_antenna(self, antenna: Antenna) -> "Site":
        """A new Site that also holds ``antenna``, in place of one of the same name."""
        check_type("antenna", antenna, Antenna, "an Antenna; of a build, antenna.from_build(build)")
        return replace(self, antennas={**self.antennas, antenna.name: antenna})

    def with_belief(self, belief: object) -> "Site":
        """A new Site with ``belief`` about its path."""
        return replace(self, belief=belief)


def remembering(*of: str) -> Callable:
    """A decorator: what a function of a Site, and of hashable things, gives is remembered on the site.

    Parameters
    ----------
    of
        Names of the site's fields that it is computed from.

    Returns
    -------
    Callable
        What decorates the function.

    Examples
    --------
    >>> count = remembering("stations")(lambda site: len(site.stations))
    >>> from signalshed import simulate
    >>> count(simulate.demo_site())
    18
    """

    def decorated(function):
        name = f"{function.__module__}.{function.__qualname__}"

        @functools.wraps(function)
        def told(site, *things, **named):
            key = (name, *things, *named.items())
            return site.remembered(key, lambda: function(site, *things, **named), of)

        return told

    return decorated


def _look_up(what, asked, known, kind):
    """The thing called ``asked`` in ``known``, or ``asked`` itself if it is such a thing."""
    if isinstance(asked, kind):
        return asked
    if isinstance(asked, str) and asked in known:
        return known[asked]
    names = ", ".join(repr(name) for name in known) or "none at all"
    raise ValueError(f"There is no {what} {asked!r} at this site; there is {names}.")


def check_site(site: object) -> None:
    """Refuse what is no Site, and say how one is got.

    Parameters
    ----------
    site
        Anything.

    Raises
    ------
    ValueError
        Unless ``site`` is a Site.

    Examples
    --------
    >>> check_site("my_roof")
    Traceback (most recent call last):
    ValueError: site is of type str; it must be an open site, as shed.site.open_site('my_roof').
    """
    check_type("site", site, Site, "an open site, as shed.site.open_site('my_roof')")
