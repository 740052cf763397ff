"""Reception on many roofs at once, for stations that others disturb or a full line endangers.

Everything not known is drawn, disturbers and limits included, once a site and the same for every setup
(``worlds``). In each world the station's own part of the doubt stays in closed form, and so do the soft
limits of the line; so chances are smooth. A station's own part loads the line too: the load is taken
on the roofs where it is received.
"""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from .. import facts
from ..site import ALL_THAT_COUNTS, read_only
from .gain import top_gain_dbd
from .leaks import leaks
from .networks import networks, signals_of
from .single import db, mw, normal, single
from .together import Joint

_FAR_DB, _HARDLY_DB = 18.0, 12.0
"""About two sds of a level; how far below the noise a disturber has to stay then to be left out."""
_SURE, _QUIET = 1e-5, 1e-3
"""A chance of overload, and a share of a limit, too small to count."""
_NODES, _FALLS = 64, 48


@dataclass(frozen=True, eq=False)
class Judged:
    """Stations of ``rows`` (r,) in every world: ``lack_db`` (r, world) what the own part of the doubt
    has to bring, ``lack_alone_db`` the same with nobody else on the air; ``own_db`` (r,) its sd, and
    ``drawn`` (r, world) it; ``holds`` (r, world) the chance that no part of the line is overloaded.
    """

    rows: np.ndarray
    lack_db: np.ndarray
    lack_alone_db: np.ndarray
    own_db: np.ndarray
    drawn: np.ndarray
    holds: np.ndarray

    def __post_init__(self):
        read_only(self)

    @property
    def passes(self):
        """Whether each station comes in each world, but for the line: (r, world)."""
        return self.own_db[:, None] * self.drawn > self.lack_db

    @functools.cached_property
    def chance(self):
        """Share of all roofs on which each station comes, and with nobody else on the air: (2, r)."""
        own = self.own_db[:, None]
        found = (normal(-self.lack_db / own) * self.holds).mean(axis=1, dtype=float)
        return np.stack([found, normal(-self.lack_alone_db / own).mean(axis=1, dtype=float)])

    @functools.cached_property
    def falls_db(self):
        """By how many dB weaker the stations are looked at, from surely to never here: (r, falls)."""
        room = 4 * self.own_db
        ends = -self.lack_db.max(axis=1) - room, -self.lack_db.min(axis=1) + room
        return np.linspace(*ends, _FALLS, axis=1)

    @functools.cached_property
    def ratios(self):
        """Share with the others over that without, at each of ``falls_db``; and were no part overloaded.

        Two arrays (r, falls).
        """
        own = self.own_db[:, None, None]
        with_others, without = (
            normal(-(db[:, None] + self.falls_db[..., None]) / own)
            for db in (_gathered(self.lack_db), _gathered(self.lack_alone_db))
        )
        holds = _gathered(self.holds, np.argsort(self.lack_db, axis=1))[:, None]
        alone = np.maximum(without.mean(axis=2), 1e-30)
        return (with_others * holds).mean(axis=2) / alone, with_others.mean(axis=2) / alone


def _gathered(array, order=None):
    """(r, world) as (r, nodes): means of worlds next to one another, by size or in an ``order``."""
    by_size = np.sort(array, axis=1) if order is None else np.take_along_axis(array, order, 1)
    return by_size.reshape(len(array), min(_NODES, array.shape[1]), -1).mean(axis=2)


def judged(received):
    """All that others disturb or a full line endangers: a list of Judged and of Joint.

    Parameters: ``received`` a Reception.

    >>> from signalshed import budget, simulate
    >>> setup = budget.Setup("wire loop", "roof mast", heading_deg=38)
    >>> [type(each).__name__ for each in judged(budget.reception(simulate.demo_site(), setup))]
    ['Judged']
    """
    aims = [(0, None)]
    if received.aim == "never":
        aims = [(received.roofs.headings(received), None)]
    if received.aim == "rotator":
        aims = [(int(h), received.best == h) for h in np.unique(received.best)]
    found, doubt = [], doubt_of(received)
    for heading, asked in aims:
        air = Air(received, heading, doubt)
        found += air.joints(asked)
        if (rows := air.touched(asked)).size:
            found.append(air.judge(rows))
    return found


def doubt_of(received):
    """What is not known of each level and common to several, whatever the heading: (n, world)."""
    return single(received.roofs.level_doubt_db(received).T)


class Air:
    """All signals in every world, through an antenna at one heading, or at one a world.

    Parameters: ``received`` a Reception; ``heading`` a row, or one a world; ``doubt`` from ``doubt_of``.
    """

    def __init__(self, received, heading, doubt):
        self.received, self.link, roofs = received, received.link, received.roofs
        self.strain, self.heading = received.others.strain, heading
        gain = np.atleast_2d(received.gain_dbd[heading])
        self.margin = single((self.link.margin_db + gain).T)
        self.doubt = doubt
        sd = np.broadcast_to(roofs.alone_sd_db, len(self.doubt))
        alone = single(np.broadcast_to(roofs.alone_db.T, self.doubt.shape))
        if not sd.any():
            self.doubt, alone = self.doubt + alone, np.zeros_like(self.doubt)
        self.own = single(np.maximum(sd, 1e-3))
        self.drawn = alone / self.own[:, None]
        self.noise_db = single(self.link.noise_sd_db[:, None] * roofs.of("noise", "street"))
        self.selectivity = 10 ** (
            facts.value("receiver", "selectivity_sd_db") * roofs.of("tuner", "selectivity") / 10
        )
        self.level = single(self.link.heard_dbm(gain).T) + self.doubt
        self.wide = np.hypot(self.own[:, None], single(off_aim_db(received, gain).T))
        self.most = single((self.link.heard_dbm(gain) + up_to_free_space_db(self.link)).T)
        self.power = self._bounded(self.wide * self.drawn)
        self.sender = signals_of(received.site).sender
        self.sent = self.power * (self.sender == np.arange(self.sender.size))[:, None]
        self.louder = self.sent * mw(single(self.link.field.rise_db[:, None]))
        self.gains = single(np.stack([10 ** (each.gain_db / 10) for each in self.strain.limits]))
        self.totals = self.gains @ self.sent

    def _bounded(self, own_db, rows=slice(None)):
        """Power of the signals of ``rows`` with ``own_db`` beyond their level: no more than can be."""
        return mw(np.minimum(self.level[rows] + own_db, self.most[rows]))

    def hold(self, totals):
        """The chance that every part holds its total power; ``totals`` one array a limit."""
        chance = 1.0
        for each, total in zip(self.strain.limits, totals, strict=True):
            chance = chance * normal((each.limit_dbm - db(total)) / each.sd_db)
        return chance

    @functools.cached_property
    def full(self):
        """Whether the line is in danger on any roof worth counting."""
        return bool((1 - self.hold(self.totals)).mean() > _SURE)

    @functools.cached_property
    def leaks(self):
        """What of each signal lands in each channel: a Leaks."""
        return leaks(self.received.site, self.received.feed, self.link.line_gain_db)

    @functools.cached_property
    def added(self):
        """Products and a tuner turned down, mW: (n, world), or 0.0."""
        more = db(self.totals[-1]) - self.strain.total_dbm[self.heading]
        added = self.strain.added_mw(more, self.heading, self.received.roofs.of("tuner", "limit"))
        return 0.0 if np.ndim(added) == 0 else np.broadcast_to(added.T, self.doubt.shape)

    def touched(self, asked=None):
        """Rows that come into question, alone on their signal, and that others disturb: (r,)."""
        known = self.received.link.decoded & ~np.isnan(self.margin).any(axis=1)
        for network in networks(self.received.site):
            known[network.rows] = False
        if asked is not None:
            known &= asked
        if self.full:
            return np.flatnonzero(known)
        more = np.ndim(self.added) and (self.added > 0).any(axis=1)
        return np.flatnonzero(known & (reached(self.received) | more))

    def noise(self, rows):
        """Noise and interference in channels of ``rows`` over the median noise, and by how many dB they
        are more together with each at what it exceeds for a tenth of the time."""
        quiet = self.link.noise_mw[rows, None]
        noise, up = mw(self.noise_db[rows]), mw(single(self.link.noise_up_db[rows, None]))
        each = self.leaks.over(rows, quiet)
        added = self.added if np.ndim(self.added) == 0 else single(self.added[rows] / quiet)
        whole, risen = (
            n * noise + added + each.sent @ power + (each.let_in @ power) * self.selectivity
            for n, power in ((1, self.sent), (up, self.louder))
        )
        return whole, db(risen / whole)

    def judge(self, rows):
        """The stations of ``rows`` in every world: Judged."""
        whole, risen = self.noise(rows)
        margin = self.margin[rows] + self.doubt[rows]
        lack = db(whole) - margin + np.hypot(single(self.link.field.fade_db[rows, None]), risen)
        alone = self.noise_db[rows] - margin + single(self.link.fade_db[rows, None])
        own = np.hypot(self.own, single(np.broadcast_to(self.link.needs_sd_db, self.own.shape)))
        holds = np.ones_like(lack)
        if self.full:
            holds[:] = self.hold(self.totals)
            loud = np.flatnonzero(self._loud(rows))
            holds[loud] = self.loaded(rows[loud], lack[loud] / own[rows[loud], None])
        return Judged(rows, lack, alone, own[rows], self.drawn[rows], holds)

    def _loud(self, rows):
        """Whose own part may be felt at a limit: by a fixed reach above its median."""
        sender = self.sender[rows]
        most = mw(np.median(self.level[sender], axis=1) + 35.0)
        limits = np.array([10 ** (each.limit_dbm / 10) for each in self.strain.limits])[:, None]
        return (self.gains[:, sender] * most > _QUIET * limits).any(axis=0)

    def loaded(self, rows, least):
        """The chance that the line holds where an own part is above ``least`` sds: (r, world)."""
        sender, below = self.sender[rows], ndtr(least)
        share = below + (1 - below) * ndtr(self.drawn[sender])
        power = self._bounded(self.wide[sender] * ndtri(np.clip(share, 1e-6, 1 - 1e-6)), sender)
        more = power - self.sent[sender]
        return self.hold(
            [t + g[sender, None] * more for t, g in zip(self.totals, self.gains, strict=True)]
        )

    def joints(self, asked=None):
        """The networks, each row of another need on its own: a list of Joint."""
        found = []
        for network in networks(self.received.site):
            rows = [i for i in network.rows if asked is None or asked[i]]
            rows = [i for i in rows if self.link.decoded[i] and not np.isnan(self.margin[i]).any()]
            found += [self._joint(network, i) for i in rows]
        return found

    def _joint(self, network, i):
        members = network.members
        whole, risen = self.noise(np.array([i]))
        whole = whole * self.link.noise_mw[i]
        power = self.power[members]
        fade = np.sqrt(((power * self.link.field.fade_db[members, None]) ** 2).sum(axis=0))
        needs = self.link.needs_cn_db[i] + np.hypot(fade / power.sum(axis=0), risen[0])
        level, wide = self.level[members], np.broadcast_to(self.wide[members], power.shape)
        weight = 10 ** (np.median(level, axis=1) / 10)
        holds = self.hold(self.totals) if self.full else np.ones(power.shape[1])
        drawn = power, level, wide, np.broadcast_to(self.most[members], power.shape), weight
        return Joint(int(i), network.useful, *drawn, 10 ** (needs / 10), whole[0], holds)


def off_aim_db(received, gain_dbd):
    """How surely a pattern is known toward each signal: a share of what it falls below its top, dB."""
    site, share = received.site, facts.value("judgement", "off_aim_share")
    top = top_gain_dbd(site, received.antenna, received.mount)
    return share * np.nan_to_num(np.maximum(top - gain_dbd, 0.0))


def up_to_free_space_db(link):
    """How far above its middle each signal may come at the most, dB: free space, and a reflection.

    Parameters: ``link`` a Link. Returns (stations,).

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> this = budget.link(site, site.mount("roof mast"), site.feed("mast line"))
    >>> bool((up_to_free_space_db(this) >= 3).all())
    True
    """
    above = link.field.free_space_dbuv_m - link.field.median_dbuv_m - link.learned_db
    return np.maximum(above, 0.0) + facts.value("judgement", "above_free_space_db")


def reached(received):
    """Stations into whose channel some signal may come above what can be neglected: (n,) bools.

    Parameters: ``received`` a Reception.

    >>> from signalshed import budget, simulate
    >>> setup = budget.Setup("wire loop", "roof mast", heading_deg=38)
    >>> reached(budget.reception(simulate.demo_site(), setup)).size
    18
    """
    parts = (received.antenna, received.mount, received.feed)
    return received.site.remembered(
        ("reached", *parts), lambda: _reached(received), ALL_THAT_COUNTS
    )


def _reached(received):
    link, site = received.link, received.site
    top = top_gain_dbd(site, received.antenna, received.mount)
    most = 10 ** ((link.heard_dbm(top) + _FAR_DB) / 10)
    share = leaks(site, received.feed, link.line_gain_db).share
    worst = share.multiply(most[None, :]).max(axis=1).toarray().ravel() if share.nnz else 0.0
    return worst > link.noise_mw * 10 ** (-_HARDLY_DB / 10)
