"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``grid`` is the one vectorised computation; everything else here is a slice of it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr, ndtri

from . import budget
from .units import check

HEADINGS_DEG = np.arange(0.0, 360.0, 5.0)
_NINETY = 1.6449
"""Half width of a 90 % interval in standard deviations."""


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

    ``margin_db`` is NaN where the antenna is not known on the channel or the tuner cannot decode it;
    the chance is 0 there.
    """

    setups: tuple
    headings_deg: np.ndarray
    margin_db: np.ndarray
    spread_db: np.ndarray
    chance: np.ndarray
    fade_db: np.ndarray


@dataclass(frozen=True)
class Aim:
    """Where to point: ``heading_deg`` true, the ``expected`` number of wanted stations there,
    ``worst_margin_db`` of the stations it is likely to bring, and ``arc_deg``, how wide the arc of
    headings is that brings as good as the same (within a quarter of a station).
    """

    heading_deg: float
    expected: float
    worst_margin_db: float
    arc_deg: float


def grid(site, setups, headings_deg=None):
    """Spare dB, spread and chance of every station for every setup at every heading: a Grid.

    Parameters: ``site`` a Site; ``setups`` a sequence of Setup, whose own headings play no part here;
    ``headings_deg`` (H,) true, None for every 5 degrees.

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> g = grid(site, [Setup(name, "roof mast") for name in site.antennas])
    >>> g.margin_db.shape == (len(site.antennas), 72, len(site.stations))
    True
    """
    headings = HEADINGS_DEG if headings_deg is None else headings_deg
    headings = np.atleast_1d(check("headings_deg", headings, low=0, high=360))
    shape = (len(setups), headings.size, len(site.stations))
    margin = np.empty(shape)
    spread, fade = np.empty((shape[0], 1, shape[2])), np.empty((shape[0], 1, shape[2]))
    toward = _Gains(site, headings)
    for k, setup in enumerate(setups):
        antenna, mount, feed = parts_of(site, setup)
        this = budget.link(site, mount, feed)
        np.add(this.margin_db, toward(antenna, mount), out=margin[k])
        spread[k, 0] = np.sqrt(
            this.path_sd_db**2 + np.square(this.mount_sd_db) + antenna.spread_db**2
        )
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


def parts_of(site, setup):
    """Antenna, mount and feed of ``setup`` as things, looked up by name in ``site``.

    Raises ValueError that lists the names there are.

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> parts_of(site, Setup(next(iter(site.antennas)), "roof mast"))[1].kind
    'mast'
    """
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


def outlook(site, setup):
    """What to expect of every station through one setup: a DataFrame, stations in the site's order.

    Columns: station, rf_channel, wanted, margin_db, spread_db, low_db and high_db (the ends of a 90 %
    interval), fade_db, chance (that this roof locks it at least 90 % of the time), roofs (the chance as
    roofs out of ten), layer, limit (what
    is in the way), note, why.

    A heading of None averages over all headings, and adds their scatter to the spread; a mount with a
    rotator takes each station at its best heading.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> table = outlook(site, Setup(next(iter(site.antennas)), "roof mast", heading_deg=200))
    >>> bool(table["chance"].between(0, 1).all())
    True
    """
    _, mount, feed = parts_of(site, setup)
    margin, spread, chance, fade = at_heading(site, setup)
    s = site.stations
    this = budget.link(site, mount, feed)
    limits = limits_of(site, setup)
    return pd.DataFrame(
        {
            "station": s["station"],
            "rf_channel": s["rf_channel"],
            "wanted": s["wanted"],
            "margin_db": margin,
            "spread_db": spread,
            "low_db": margin - _NINETY * spread,
            "high_db": margin + _NINETY * spread,
            "fade_db": fade,
            "chance": chance,
            "roofs": [roofs_words(c) for c in chance],
            "layer": this.field.layer,
            "limit": limits,
            "note": this.field.note,
            "why": [_why(*row) for row in zip(margin, spread, limits, strict=True)],
        }
    )


def at_heading(site, setup):
    """Margin, spread, chance and fade, each an array over stations, as the setup is really used.

    Fixed aim: at its heading. Rotator: each station at its own best heading. Never aimed (heading
    None, or a mount that is never aimed): mean over headings, their scatter joined to the spread.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from . import simulate
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

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> aim_of(site, Setup(next(iter(site.antennas)), "roof mast"))
    'never'
    """
    mount = site.mount(setup.mount)
    if mount.aim == "rotator" or mount.aim == "never":
        return mount.aim
    return "never" if setup.heading_deg is None else "fixed"


def limits_of(site, setup):
    """What stands between each station and being sure of it, in a few words: a list over stations.

    The largest cost that could be won back, if it is worth winning; "distance and hills" if none is;
    "nothing" if the station is already as sure as the site asks.

    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> len(limits_of(site, Setup(next(iter(site.antennas)), "roof mast"))) == len(site.stations)
    True
    """
    antenna, mount, feed = parts_of(site, setup)
    this = budget.link(site, mount, feed)
    margin, spread, _, fade = at_heading(site, setup)
    costs = _fixable_costs_db(site, setup, this)
    missing = fade + ndtri(site.certainty) * spread - margin
    largest = costs.max(axis=1).to_numpy()
    worth_it = (largest >= 3.0) & (largest >= 0.4 * missing)
    words = np.where(worth_it, costs.idxmax(axis=1), "distance and hills").astype(object)
    words[missing <= 0] = "nothing"
    covered = np.asarray(antenna.covers(site.stations["freq_mhz"].to_numpy(float)))
    words[~covered] = "channel outside the antenna's"
    words[np.isnan(this.needs_cn_db)] = "C/N it needs is unknown"
    words[~this.decoded] = "tuner cannot decode it"
    return words.tolist()


def _fixable_costs_db(site, setup, this):
    """What the builder could win back, dB: a DataFrame (station, cause)."""
    antenna, mount, _ = parts_of(site, setup)
    return pd.DataFrame(
        {
            "off the aim": _aim_loss_db(site, setup, antenna, mount),
            "walls": this.entry_loss_db,
            "blocked side": this.blocked_loss_db,
            "trees": this.trees_loss_db,
            "cable and splitter": np.maximum(this.line_cost_db, 0.0),
            "crossed polarization": budget.polarization_loss_db(site, antenna, mount),
        }
    )


def _aim_loss_db(site, setup, antenna, mount):
    freq = site.stations["freq_mhz"].to_numpy(float)
    if aim_of(site, setup) == "rotator":
        return np.zeros(freq.size)
    headings = HEADINGS_DEG if setup.heading_deg is None else [setup.heading_deg]
    toward = budget.gain_toward_dbd(site, antenna, mount, headings)
    best = budget.gain_toward_dbd(site, antenna, mount, HEADINGS_DEG).max(axis=0)
    return np.nan_to_num(best - toward.mean(axis=0))


def _why(margin, spread, limit):
    if np.isnan(margin):
        return limit
    return f"{margin:+.0f} dB to spare, give or take {spread:.0f}; in the way: {limit}"


def roofs_words(chance):
    """A ``chance`` (0 to 1) as roofs out of ten.

    >>> [roofs_words(c) for c in (0.004, 0.62, 0.97)]
    ['fewer than 1 of 10', '6 of 10', 'more than 9 of 10']
    """
    tenths = 10 * float(check("chance", chance, low=0, high=1))
    if tenths < 0.5:
        return "fewer than 1 of 10"
    return "more than 9 of 10" if tenths > 9.5 else f"{tenths:.0f} of 10"


def chance_words(chance):
    """A ``chance`` (0 to 1) in words.

    >>> [chance_words(c) for c in (0.02, 0.5, 0.97)]
    ['hardly', 'a coin toss', 'almost surely']
    """
    c = float(check("chance", chance, low=0, high=1))
    steps = ((0.95, "almost surely"), (0.8, "probably"), (0.6, "more likely than not"))
    steps += ((0.4, "a coin toss"), (0.2, "less likely than not"), (0.05, "probably not"))
    return next((word for least, word in steps if c >= least), "hardly")


def best_heading(site, setup):
    """The heading that brings the most wanted stations on average: an Aim.

    Of headings that bring the same the middle of their arc is taken.
    Parameters: ``site`` a Site; ``setup`` a Setup, whose own heading plays no part.

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> 0 <= best_heading(site, Setup(next(iter(site.antennas)), "roof mast")).heading_deg < 360
    True
    """
    headings = np.arange(0.0, 360.0, 1.0)
    g = grid(site, [setup], headings)
    wanted = site.stations["wanted"].to_numpy(bool)
    expected = g.chance[0][:, wanted].sum(axis=1)
    as_good = _arc(expected >= expected.max() - 0.02, int(expected.argmax()))
    heading = int(headings[as_good[len(as_good) // 2]])
    usable = _arc(expected >= expected.max() - 0.25, heading)
    likely = wanted & (g.chance[0, heading] >= 0.5)
    worst = g.margin_db[0, heading][likely].min() if likely.any() else np.nan
    return Aim(float(heading), float(expected[heading]), float(worst), float(len(usable)))


def _arc(good, start):
    """Indices of the run of ``good`` round the circle that holds ``start``, in order."""
    if good.all():
        return np.arange(good.size)
    turned = np.roll(good, -start)
    right = int(np.argmin(turned))
    left = int(np.argmin(turned[::-1]))
    return (start + np.arange(-left, max(right, 1))) % good.size


def aimed(site, setup):
    """``setup`` at its best heading where it can be aimed; as it is where it never is.

    Parameters: ``site`` a Site; ``setup`` a Setup. Returns (setup, Aim or None).

    >>> from . import simulate
    >>> site = simulate.demo_site()
    >>> setup, aim = aimed(site, Setup(next(iter(site.antennas)), "roof mast"))
    >>> setup.heading_deg == aim.heading_deg
    True
    """
    if site.mount(setup.mount).aim != "fixed":
        return setup, None
    aim = best_heading(site, setup)
    return Setup(setup.antenna, setup.mount, setup.feed, aim.heading_deg), aim
