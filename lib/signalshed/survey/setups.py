"""Setups, and the one vectorised computation: setups x headings x stations."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from .. import budget
from ..site import Site
from ..units import check, check_type


@dataclass(frozen=True, eq=False)
class Setup:
    """An antenna on a mount through a feed, aimed at a heading.

    Each of ``antenna``, ``mount`` and ``feed`` is a name in the site or the thing itself; ``feed``
    None takes the mount's own. ``heading_deg`` true, 0 to 360; None is never aimed.
    """

    antenna: object
    mount: object
    feed: object = None
    heading_deg: float | None = None

    def __post_init__(self):
        if self.heading_deg is not None:
            check("heading_deg", self.heading_deg, low=0, high=360)

    @property
    def label(self):
        """Short name: antenna, on which mount."""
        names = [getattr(x, "name", x) for x in (self.antenna, self.mount)]
        return ", ".join(names)


@dataclass(frozen=True, eq=False)
class Grid:
    """Arrays (setup, heading, station): ``margin_db``, ``spread_db``, ``chance``, ``fade_db``.

    ``setups`` and ``headings_deg`` are what the first two axes stand for.
    ``margin_db`` is NaN where the antenna is not known on the channel or the tuner cannot decode it;
    the chance is 0 there.
    """

    setups: tuple
    headings_deg: np.ndarray
    margin_db: np.ndarray
    spread_db: np.ndarray
    chance: np.ndarray
    fade_db: np.ndarray


def grid(site, setups, headings_deg=None):
    """Spare dB, spread and chance of every station for every setup at every heading: a Grid.

    Parameters: ``site`` a Site; ``setups`` a sequence of Setup, whose own headings play no part here;
    ``headings_deg`` (H,) true, None for every 5 degrees.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> g = grid(site, [Setup(name, "roof mast") for name in site.antennas])
    >>> g.margin_db.shape == (len(site.antennas), 72, len(site.stations))
    True
    """
    headings = budget.HEADINGS_DEG if headings_deg is None else headings_deg
    headings = np.atleast_1d(check("headings_deg", headings, low=0, high=360))
    shape = (len(setups), headings.size, len(site.stations))
    margin = np.empty(shape)
    spread, fade = np.empty((shape[0], 1, shape[2])), np.empty((shape[0], 1, shape[2]))
    toward = _Gains(site, headings)
    for k, setup in enumerate(setups):
        antenna, mount, feed = parts_of(site, setup)
        this = budget.link(site, mount, feed)
        gain = toward(antenna, mount)
        alone = this.margin_db + gain
        margin[k] = budget.others(site, feed, this, gain).applied_to(alone)
        spread[k, 0] = budget.spread_db(site, antenna, mount, this)
        fade[k, 0] = this.field.fade_db
    chance = chance_of(margin, spread, fade)
    wide = (np.broadcast_to(spread, shape), chance, np.broadcast_to(fade, shape))
    return Grid(tuple(setups), headings, margin, *wide)


class _Gains:
    """Gain of each antenna toward every station, computed once for all mounts that hold it alike."""

    def __init__(self, site, headings_deg):
        self.site, self.headings_deg, self.known = site, headings_deg, {}

    def __call__(self, antenna, mount):
        key = (id(antenna), mount.polarization)
        if key not in self.known:
            self.known[key] = budget.gain_toward_dbd(self.site, antenna, mount, self.headings_deg)
        return self.known[key]


def check_site(site):
    """A ValueError that says how a Site is got, unless ``site`` is one.

    >>> check_site("my_roof")
    Traceback (most recent call last):
    ValueError: site is of type str; it must be an open site, as shed.site.open_site('my_roof').
    """
    check_type("site", site, Site, "an open site, as shed.site.open_site('my_roof')")


def parts_of(site, setup):
    """Antenna, mount and feed of ``setup`` as things, looked up by name in ``site``.

    Raises ValueError that lists the names there are.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> parts_of(site, Setup(next(iter(site.antennas)), "roof mast"))[1].kind
    'mast'
    """
    check_site(site)
    check_type("setup", setup, Setup, "a survey.Setup, as survey.Setup('antenna', 'mount')")
    mount = site.mount(setup.mount)
    feed = setup.feed if setup.feed is not None else mount.feed
    return site.antenna(setup.antenna), mount, site.feed(feed)


def chance_of(margin_db, spread_db, fade_db):
    """Chance that the margin exceeds the fade of the worst tenth of the time; 0 for a NaN margin.

    Parameters broadcast: ``margin_db`` for the median of time, ``spread_db`` one standard deviation,
    ``fade_db`` from the median to the level held 90 % of the time.

    >>> round(float(chance_of(13, 10, 3)), 3)
    0.841
    """
    z = (np.asarray(margin_db, float) - fade_db) / spread_db
    return ndtr(np.where(np.isnan(z), -np.inf, z))


def at_heading(site, setup):
    """Margin, spread, chance and fade, each an array over stations, as the setup is really used.

    Fixed aim: at its heading. Rotator: each station at its own best heading. Never aimed (heading
    None, or a mount that is never aimed): mean over headings, their scatter joined to the spread.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> len(at_heading(site, Setup(next(iter(site.antennas)), "roof mast")))
    4
    """
    way = aim_of(site, setup)
    headings = [setup.heading_deg] if way == "fixed" else None
    g = grid(site, [setup], headings)
    margin, spread, chance, fade = (a[0] for a in (g.margin_db, g.spread_db, g.chance, g.fade_db))
    if way == "never":
        joined = np.hypot(spread[0], margin.std(axis=0))
        return margin.mean(axis=0), joined, chance.mean(axis=0), fade[0]
    best = chance.argmax(axis=0), np.arange(margin.shape[1])
    return margin[best], spread[0], chance[best], fade[0]


def aim_of(site, setup):
    """How the setup is aimed: fixed, rotator or never.

    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> aim_of(site, Setup(next(iter(site.antennas)), "roof mast"))
    'never'
    """
    mount = site.mount(setup.mount)
    if mount.aim in ("rotator", "never"):
        return mount.aim
    return "never" if setup.heading_deg is None else "fixed"
