"""Everything there is to say of one setup as it is really used, made once."""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr, ndtri

from .. import path
from ..site import ALL_THAT_COUNTS, Site, read_only
from ..words import counted, joined, roofs_words, spare_words
from .chances import chances
from .field import PATH
from .gain import HEADINGS_DEG, gain_toward_dbd
from .judged import judged
from .limits import limits_of
from .link import Link, link, spread_db
from .networks import networks
from .others import Others, others
from .search import searched
from .setups import Setup, parts_of
from .single import normal
from .together import Joint
from .worlds import worlds

CHANCES = (0.9, 0.5, 0.1)
"""The chances whose distances are told, the surest first."""
_IN_TABLE = ("margin_db", "spread_db", "spare_db", "low_db", "high_db", "fade_db", "chance")


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

    @property
    def roofs(self):
        """All that is not known, drawn: the worlds of its site, a Worlds."""
        return worlds(self.site, self.mount)

    @functools.cached_property
    def best(self):
        """Row of each station's best heading, by its chance where others disturb it: (stations,)."""
        level = np.nan_to_num(self.margins_db, nan=-1e9)
        if self.aim == "rotator":
            alone = chances(self.alone_db, self.own_spread_db, self.fade_db)
            chance = searched(self, alone)
            level = np.where((chance != alone).any(axis=0), chance + 1e-7 * level, level)
        return level.argmax(axis=0)

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

    def alone_chance(self, fall_db=0.0):
        """Chance of each station, ``fall_db`` (stations,) weaker, were nobody else on the air."""
        return self.used(chances(self.alone_db - fall_db, self.own_spread_db, self.fade_db))

    @functools.cached_property
    def judged(self):
        """What others disturb or a full line endangers, on all roofs: a list of Judged and of Joint."""
        return judged(self)

    @functools.cached_property
    def holds(self):
        """Share of roofs on which no part of the line is overloaded: (stations,)."""
        holds = np.ones(self.own_spread_db.size)
        for each in self.judged:
            holds[_rows(each)] = each.holds.mean(axis=-1)
        return _closed(holds)

    @functools.cached_property
    def chance(self):
        """Chance that a roof like this one locks each station at least 90 % of the time: (stations,).

        A station that nobody disturbs has it in closed form; any other has its part of that which is
        left in the worlds.
        """
        chance = self.alone_chance()
        for each in self.judged:
            if isinstance(each, Joint):
                chance[each.row] = each.chance
            else:
                found, alone = each.chance
                chance[each.rows] *= np.where(alone > 1e-12, found / np.maximum(alone, 1e-12), 1.0)
        return _closed(np.clip(chance, 0.0, 1.0))

    def locked_in(self, roofs):
        """Whether each station comes in every one of ``roofs``, Worlds: (world, station) bools."""
        margins = self.alone_db - self.fade_db
        never = self.aim == "never"
        above = margins[roofs.headings(self)] if never else self.used(margins)
        sd = np.maximum(roofs.alone_sd_db, 1e-9)
        more = np.where(sd > 1e-9, np.hypot(sd, self.link.needs_sd_db) / sd, 1.0)
        locked = above + roofs.doubt_db(self) + roofs.alone_db * more > 0
        holds = ndtr(roofs.of("tuner", "limit"))
        for each in self.judged:
            passes = each.passes & (each.holds > holds)
            locked[:, _rows(each)] = passes.T if passes.ndim > 1 else passes
        return locked

    @functools.cached_property
    def risen_db(self):
        """The margins (heading, station) with the noise that others add, and without any overload."""
        return self.alone_db - self.others.rise_db

    @functools.cached_property
    def spare_db(self):
        """By how many dB each station could fall and still come on 5 of 10 roofs: (stations,).

        For 90 % of the time; negative: so many dB are missing. -inf where the line is overloaded on half
        of them, so that no dB of its own helps; NaN where there is no margin. Above 0 just where the
        chance is above 0.5.
        """
        return _closed(self.spare_at(0.5))

    def spare_at(self, share, overload=True):
        """By how many dB each station could fall and still come on a ``share`` of roofs: (stations,).

        -inf where an overload leaves no such share. Parameters: ``share`` 0 to 1; ``overload`` False for
        as it would be without any.
        """
        spare = self.alone_spare_at(share)
        for each in self.judged:
            rows = np.atleast_1d(_rows(each))
            found = self._halved_in(each, rows, share, spare[rows], overload)
            if overload:
                # One count of roofs, one sign: the search walks fewer worlds than the chance.
                more = self.chance[rows] > share
                found = np.where(more, np.maximum(found, 1e-9), np.minimum(found, 0.0))
                found[self.holds[rows] <= share] = -np.inf
            spare[rows] = found
        return np.where(np.isnan(self.margin_db), np.nan, spare)

    @functools.cached_property
    def spare_alone_db(self):
        """The spare dB were nobody else on the air: (stations,)."""
        return _closed(self.alone_spare_at(0.5))

    def alone_spare_at(self, share):
        """``spare_at`` a ``share`` of roofs were nobody else on the air, and no part ever full: (n,)."""
        if self.aim != "never":
            return self.used(self.alone_db) - self.fade_db - ndtri(share) * self.own_spread_db
        reach = 10 * self.own_spread_db + self.fade_db
        ends = self.alone_db.min(axis=0) - reach, self.alone_db.max(axis=0) + reach
        return _halved(lambda fall_db: self.alone_chance(fall_db) < share, *ends)

    def _halved_in(self, each, rows, share, most, overload):
        """Where the chance of ``rows`` of a Judged or Joint falls to a ``share``, near ``most`` dB."""
        most = np.where(np.isfinite(most), most, 0.0)
        if isinstance(each, Joint):
            return _halved(lambda x: each.share(x[0], overload) < share, most - 150, most + 30, 14)

        falls, chances = each.falls_db, self._falling[id(each), overload]
        z = ndtri(np.clip(chances, 1e-9, 1 - 1e-9))
        past = np.clip((chances > share).sum(axis=1), 1, falls.shape[1] - 1)
        at = np.arange(rows.size)
        drop = np.maximum(z[at, past - 1] - z[at, past], 1e-9)
        step = np.clip((z[at, past - 1] - ndtri(share)) / drop, 0.0, 1.0)
        return falls[at, past - 1] + step * (falls[at, past] - falls[at, past - 1])

    @functools.cached_property
    def _falling(self):
        """Chances of the stations of a Judged at each of its falls, never rising: (r, falls) each."""
        found = {}
        for each in (each for each in self.judged if not isinstance(each, Joint)):
            rows = each.rows
            heading = slice(None) if self.aim == "never" else self.best[rows]
            above = np.atleast_2d(self.alone_db[heading, rows])[..., None] - each.falls_db
            spread, fade = (x[rows, None] for x in (self.own_spread_db, self.fade_db))
            alone = normal((above - fade) / spread).mean(axis=0)
            for overload, ratio in zip((True, False), each.ratios, strict=True):
                found[id(each), overload] = np.minimum.accumulate(alone * ratio, axis=1)
        return found

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
        named = [f"{x.words} ({x.by})" if x.by else x.words for x in self.limits]
        said = zip(self.spare_db, self.spread_db, named, self.together_words, strict=True)
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


def _rows(each):
    """Rows of a Judged; the one of a Joint."""
    return each.row if isinstance(each, Joint) else each.rows


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


def reception(site: Site, setup: Setup) -> Reception:
    """Everything there is to say of one setup at a site, made once and remembered.

    Fixed at the setup's heading; on a rotator each station at its own best heading; never aimed where
    the mount cannot be, or the setup has no heading.

    Parameters
    ----------
    site
    setup

    Returns
    -------
    Reception

    Raises
    ------
    ValueError
        For a heading where nothing can be aimed.

    Examples
    --------
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


def outlook(site: Site, setup: Setup) -> pd.DataFrame:
    """What to expect of every station through one setup: the table of ``reception``.

    Columns: station, rf_channel, wanted, margin_db (for the median of time, unknowns at their middle),
    spread_db, spare_db (by how much the station could fall and still come on 5 of 10 roofs like this
    for 90 % of the time; negative: what is missing; -inf: overload, no dB of its own helps), low_db and
    high_db (the spare dB of 9 of 10 roofs lie between: its 5 and 95 % points, headings included where
    nobody aims; -inf likewise), fade_db, chance (that this roof locks it at least 90 % of the time),
    roofs (the chance as roofs out of ten), layer, limit (what is in the way), remedy (what would help),
    bearing_deg, distance_km, comes_km_9, comes_km_5 and comes_km_1 (how far from its tower it comes on
    so many of 10 roofs, on the average-terrain curve, and under an overload as it would be without
    any), note, why.

    Parameters
    ----------
    site
    setup

    Returns
    -------
    DataFrame

    Examples
    --------
    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> table = outlook(site, budget.Setup(next(iter(site.antennas)), "roof mast", heading_deg=200))
    >>> bool(table["chance"].between(0, 1).all())
    True
    """
    return reception(site, setup).table
