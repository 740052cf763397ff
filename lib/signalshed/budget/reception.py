"""Everything there is to say of one setup as it is really used, made once."""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr, ndtri

from .. import path
from ..site import ALL_THAT_COUNTS, Site, read_only
from ..words import counted, roofs_words, spare_words
from .field import PATH, joined
from .limits import limits_of
from .link import HEADINGS_DEG, Link, gain_toward_dbd, link, spread_db
from .networks import networks
from .others import Others, others
from .setups import parts_of

CHANCES = (0.9, 0.5, 0.1)
"""The chances whose distances are told, the surest first."""
_IN_TABLE = ("margin_db", "spread_db", "spare_db", "low_db", "high_db", "fade_db", "chance")


def chance_of(margin_db, spread_db, fade_db):
    """Chance that the margin exceeds the fade of the worst tenth of the time; 0 for a NaN margin.

    Parameters broadcast: ``margin_db`` for the median of time, ``spread_db`` one standard deviation,
    ``fade_db`` from the median to the level held 90 % of the time.

    >>> round(float(chance_of(13, 10, 3)), 3)
    0.841
    """
    z = (np.asarray(margin_db, float) - fade_db) / spread_db
    return ndtr(np.where(np.isnan(z), -np.inf, z))


@dataclass(frozen=True, eq=False)
class Reception:
    """A setup as it is really used at a ``site``: it alone knows how the antenna is aimed.

    ``antenna``, ``mount`` and ``feed`` the things themselves. ``aim``: fixed, at ``headings_deg`` (one);
    rotator, each station at its own best of them; or never, where every one of them is as likely.
    ``link``, ``gain_dbd`` (heading, station) and ``others`` are what it is made of: ``alone_db`` the
    margins (heading, station) before the others, ``margins_db`` after them; ``own_spread_db``
    (station,) one standard deviation of what is not known at any one heading. All read only.
    """

    site: Site
    antenna: object
    mount: object
    feed: object
    aim: str
    headings_deg: np.ndarray
    link: Link
    gain_dbd: np.ndarray
    others: Others
    alone_db: np.ndarray
    margins_db: np.ndarray
    own_spread_db: np.ndarray

    def __post_init__(self):
        read_only(self)

    @property
    def fade_db(self):
        """From the median of time to what is held over noise for 90 % of it, dB: (stations,)."""
        return self.link.fade_db

    @functools.cached_property
    def best(self):
        """Row of the best heading of each station: (stations,)."""
        return np.nan_to_num(self.margins_db, nan=-np.inf).argmax(axis=0)

    def rows_of(self, i):
        """Rows of the headings that count for station ``i``: its best one, or all."""
        return [int(self.best[i])] if self.aim == "rotator" else slice(None)

    def used(self, array):
        """An ``array`` (heading, station) as it is used: at each station's best heading, or the mean."""
        if self.aim == "never":
            return array.mean(axis=0)
        return array[self.best, np.arange(array.shape[1])]

    @functools.cached_property
    def margin_db(self):
        """Spare dB for the median of time with all unknowns at their middle: (stations,)."""
        return _closed(self.used(self.margins_db))

    @functools.cached_property
    def spread_db(self):
        """One standard deviation of all that is not known, the heading included: (stations,)."""
        scatter = self.margins_db.std(axis=0) if self.aim == "never" else 0.0
        return _closed(np.hypot(self.own_spread_db, scatter))

    @functools.cached_property
    def chances(self):
        """Chance at each heading that a roof like this one locks each station: (heading, station)."""
        return chance_of(self.margins_db, self.own_spread_db, self.fade_db)

    @functools.cached_property
    def chance(self):
        """Chance that a roof like this one locks each station at least 90 % of the time: (stations,)."""
        return _closed(self.used(self.chances))

    @functools.cached_property
    def risen_db(self):
        """The margins (heading, station) with the noise that others add, and without any overload."""
        return self.alone_db - self.others.rise_db

    @functools.cached_property
    def overloaded(self):
        """Where an overload decides, (heading, station): no dB more of its own helps there."""
        return self.margins_db < self.risen_db

    @functools.cached_property
    def spare_db(self):
        """By how many dB each station could fall and still come on 5 of 10 roofs: (stations,).

        For 90 % of the time; negative: so many dB are missing. -inf where an overload decides, so that
        no dB of its own helps; NaN where there is no margin. Above 0 just where the chance is above 0.5.
        """
        return _closed(self.spare_at(0.5))

    def spare_at(self, share, overload=True):
        """By how many dB each station could fall and still come on a ``share`` of roofs: (stations,).

        -inf where an overload leaves no such share. Parameters: ``share`` 0 to 1; ``overload`` False for
        as it would be without any.
        """
        risen, decided = self.risen_db, self.overloaded & overload
        can = np.where(decided, self.chances, 1.0)
        if self.aim != "never":
            able = np.where((can > share) | np.isnan(risen), risen, -np.inf)
            return able.max(axis=0) - self.fade_db - ndtri(share) * self.own_spread_db

        def too_far(fall_db):
            left = np.where(decided, np.minimum(risen - fall_db, self.margins_db), risen - fall_db)
            return chance_of(left, self.own_spread_db, self.fade_db).mean(axis=0) < share

        reach = 10 * self.own_spread_db + self.fade_db
        found = _halved(too_far, risen.min(axis=0) - reach, risen.max(axis=0) + reach)
        found = np.where(can.mean(axis=0) > share, found, -np.inf)
        return np.where(np.isnan(self.margin_db), np.nan, found)

    @functools.cached_property
    def low_db(self):
        """The spare dB that 95 % of roofs like this one have, or more: (stations,); -inf as spare_db."""
        return _closed(self.spare_at(0.95))

    @functools.cached_property
    def high_db(self):
        """The spare dB that 5 % of roofs like this one have, or more: (stations,); -inf as spare_db."""
        return _closed(self.spare_at(0.05))

    @functools.cached_property
    def comes_km(self):
        """Distance from its tower at which each station comes on 9, 5 and 1 of 10 roofs: (3, stations).

        On the average-terrain curve, all else as at home. Under an overload it is as it would be without
        any: the chance at home may be less than its kilometres say, and ropes draw it grey and crossed.
        """
        spare = np.stack([self.spare_at(share, overload=False) for share in CHANCES])
        return _closed(path.comes_km(self._falloff(), spare))

    def _falloff(self):
        s, height_m, fade = self.site.stations, self.mount.height_agl_m, self.link.field.fade_db
        columns = (s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "haat_m", "distance_km"))
        return self.site.remembered(
            ("falloff", height_m), lambda: path.falloff(*columns, height_m, fade), PATH
        )

    @functools.cached_property
    def limits(self):
        """What stands between each station and being sure of it: a tuple of Limit."""
        return limits_of(self)

    @functools.cached_property
    def together_words(self):
        """Of a network's stations with how many others they arrive, in words, else "": (stations,)."""
        words = np.full(len(self.site.stations), "", dtype=object)
        for network in networks(self.site):
            words[network.rows] = f"with {counted(network.members.size - 1, 'other')}"
        return words

    @functools.cached_property
    def _table(self):
        s, words = self.site.stations, [limit.words for limit in self.limits]
        said = zip(self.spare_db, self.spread_db, words, self.together_words, strict=True)
        return pd.DataFrame(
            {
                **{name: s[name] for name in ("station", "rf_channel", "wanted")},
                **{name: getattr(self, name) for name in _IN_TABLE},
                "roofs": [roofs_words(chance) for chance in self.chance],
                "layer": self.link.field.layer,
                "limit": words,
                "remedy": [limit.remedy for limit in self.limits],
                "bearing_deg": s["bearing_deg"],
                "distance_km": s["distance_km"],
                **dict(zip(("comes_km_9", "comes_km_5", "comes_km_1"), self.comes_km, strict=True)),
                "note": joined(self.link.note, self.together_words),
                "why": [_why(*row) for row in said],
            }
        )

    @property
    def table(self):
        """One row per station, a table of your own: what ``survey.outlook`` gives."""
        return self._table.copy()


def _closed(array):
    array.setflags(write=False)
    return array


def _halved(too_much, low, high, steps=48):
    """Where ``too_much`` of an array (stations,) begins, between ``low`` and ``high``."""
    for _ in range(steps):
        middle = (low + high) / 2
        over = too_much(middle)
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return (low + high) / 2


def _why(spare_db, sd_db, limit, together):
    if np.isnan(spare_db):
        return limit
    words = spare_words(spare_db, sd_db) + (f", {together}" if together else "")
    return words if limit == "nothing" else f"{words}; in the way: {limit}"


def reception(site, setup):
    """Everything there is to say of one ``setup`` at a ``site``: a Reception, made once and remembered.

    Fixed at the setup's heading; on a rotator each station at its own best heading; never aimed where
    the mount cannot be, or the setup has no heading. Raises ValueError for a heading where nothing can
    be aimed.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> received = reception(site, budget.Setup("wire loop", "roof mast", heading_deg=38))
    >>> received.aim, round(float(received.spare_db[0]), 1)
    ('fixed', 23.3)
    """
    antenna, mount, feed = parts_of(site, setup)
    heading = setup.heading_deg
    if mount.aim == "never" and heading is not None:
        raise ValueError(
            f"heading_deg is {heading:g}, but on {mount.name!r} nothing can be aimed; leave the heading "
            'out (None), or give the mount aim = "fixed".'
        )
    aim = "rotator" if mount.aim == "rotator" else "never" if heading is None else "fixed"
    headings = [heading] if aim == "fixed" else HEADINGS_DEG
    key = ("reception", antenna, mount, feed, aim, *headings[:1])
    return site.remembered(key, lambda: reception_at(site, setup, headings, aim), ALL_THAT_COUNTS)


def reception_at(site, setup, headings_deg, aim="fixed"):
    """The Reception of a ``setup`` at headings of your own, whatever its own heading and mount say.

    Parameters: ``site`` a Site; ``setup`` a Setup; ``headings_deg`` (H,) true; ``aim`` how they are
    used: fixed (the first of them), rotator or never.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> turned = reception_at(site, budget.Setup("wire loop", "roof mast"), [38, 128])
    >>> turned.margins_db[:, 0].round(1).tolist()
    [26.1, 10.1]
    """
    antenna, mount, feed = parts_of(site, setup)
    headings = np.asarray(headings_deg, float)
    this, gain = link(site, mount, feed, antenna), gain_toward_dbd(site, antenna, mount, headings)
    around = others(site, feed, this, gain)
    alone = this.margin_db + gain + around.joint_db
    spread = spread_db(site, antenna, mount, this)
    return Reception(
        *(site, antenna, mount, feed, aim, headings),
        *(this, gain, around, alone, around.applied_to(alone), spread),
    )


def outlook(site, setup):
    """What to expect of every station through one setup: a DataFrame, stations in the site's order.

    Columns: station, rf_channel, wanted, margin_db (for the median of time, unknowns at their middle),
    spread_db, spare_db (by how much the station could fall and still come on 5 of 10 roofs like this
    for 90 % of the time; negative: what is missing; -inf: overload, no dB of its own helps), low_db and
    high_db (the spare dB of 9 of 10 roofs lie between: its 5 and 95 % points, headings included where
    nobody aims; -inf likewise), fade_db, chance (that this roof locks it at least 90 % of the time),
    roofs (the chance as roofs out of ten), layer, limit (what is in the way), remedy (what would help),
    bearing_deg, distance_km, comes_km_9, comes_km_5 and comes_km_1 (how far from its tower it comes on
    so many of 10 roofs, on the average-terrain curve, and under an overload as it would be without
    any), note, why. It is the table of ``reception``.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> table = outlook(site, budget.Setup(next(iter(site.antennas)), "roof mast", heading_deg=200))
    >>> bool(table["chance"].between(0, 1).all())
    True
    """
    return reception(site, setup).table
