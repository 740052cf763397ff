"""Chances at many headings at once, for a search: few worlds, and closed form where nobody disturbs."""

import itertools

import numpy as np

from .judged import off_aim_db, reached, up_to_free_space_db
from .leaks import leaks
from .networks import networks, signals_of
from .single import PER_LOG, db, mw, normal, single
from .worlds import FEW

_AT_ONCE = 2**18
"""Numbers that stay in a processor's memory between one step of a sum and the next."""
_SURE = 1e-4
_ROOM_DB = 35.0
"""A line with so much room at the medians is overloaded on no roof worth counting."""


def searched(received, alone_chance):
    """Chance of every station at every heading: (headings, stations), for choosing a heading.

    Parameters: ``received`` a Reception of many headings; ``alone_chance`` (headings, stations) were
    nobody else on the air.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> many = budget.reception_at(site, budget.Setup("wire loop", "roof mast"), [0.0, 90.0])
    >>> alone = budget.chances(many.alone_db, many.own_spread_db, many.fade_db)
    >>> bool((searched(many, alone) <= alone + 0.2).all())
    True
    """
    reach = reached(received) & received.link.decoded
    for network in networks(received.site):
        reach[network.rows] = True
    strain = received.others.strain
    full = received.others.headroom_db.min() < _ROOM_DB
    rows = np.flatnonzero(reach | strain.makes)
    if not (rows.size or full):
        return alone_chance
    walk = _Walk(received, rows, full or strain.makes)
    holds = walk.holds.mean(axis=0)
    chance = alone_chance * np.where(holds > 1 - _SURE, 1.0, holds)[:, None]
    chance[:, rows] = walk.chance()
    return np.where(np.isnan(received.alone_db), 0.0, chance)


class _Walk:
    """Everything of a search that no heading changes, single precision, and the sums over the worlds."""

    def __init__(self, received, rows, full):
        self.received, self.rows = received, rows
        link, roofs = received.link, received.roofs.few
        doubt = roofs.level_doubt_db(received)
        alone = np.broadcast_to(roofs.alone_db, doubt.shape)
        sd = np.broadcast_to(roofs.alone_sd_db, doubt.shape[1])
        if not sd.any():
            doubt, alone, sd = doubt + alone, np.zeros_like(doubt), np.full(sd.shape, 1e-3)
        some = received.gain_dbd[:: max(1, len(received.gain_dbd) // 12)]
        off_aim = np.sqrt((off_aim_db(received, some) ** 2).mean(axis=0))
        self.wide = single(np.hypot(sd, off_aim))
        own, most = alone * (self.wide / np.maximum(sd, 1e-3)), up_to_free_space_db(link)
        sends = signals_of(received.site).is_sender
        self.error = mw(single(np.minimum(doubt + own, most))) * single(sends)
        self.shared = mw(single(np.minimum(doubt, most)))
        self.power = single(received.others.power_mw)
        floor = np.broadcast_to(link.needs_sd_db, sd.shape)[rows]
        self.sd = single(np.maximum(np.hypot(sd[rows], floor), 1.0))
        noise = roofs.of("noise", "street")[:, None] * link.noise_sd_db[rows]
        self.doubt = mw(single(noise - doubt[:, rows]))
        self.per_db = np.broadcast_to(-PER_LOG / self.sd, (len(self.power), rows.size)).copy()
        share = leaks(received.site, received.feed, link.line_gain_db).share.toarray()[rows].T
        self.heard = np.flatnonzero(share.any(axis=1) & sends)
        self.share = single(share[self.heard] / link.noise_mw[rows])
        self.above = single(np.nan_to_num(received.alone_db[:, rows], nan=-300.0))
        self.above = (self.above - self._held(link.field.rise_db, single(link.fade_db))) / self.sd
        self.better = roofs.of("tuner", "limit")
        self.totals = self._totals() if full else None
        self.holds = self._holds() if full else np.ones((FEW, len(self.power)), np.float32)

    def _held(self, rise_db, fade_db):
        """The fall and rise of time of each station and what disturbs it, at the medians, dB."""
        sent = self.power[:, self.heard]
        risen = (sent * mw(single(rise_db[self.heard]))) @ self.share
        fade = np.tile(fade_db[self.rows], (len(sent), 1))
        for network in networks(self.received.site):
            power = self.power[:, network.members]
            each = np.linalg.norm(power * fade_db[network.members], axis=1) / power.sum(axis=1)
            fade[:, np.isin(self.rows, network.rows)] = each[:, None]
        return np.hypot(fade, db(1 + risen) - db(1 + sent @ self.share))

    def _totals(self):
        """Total power at each limit, dBm: (limits, worlds, headings)."""
        gains = [mw(single(each.gain_db)) for each in self.received.others.strain.limits]
        return np.stack([db(self.error @ (self.power * gain).T) for gain in gains])

    def _holds(self):
        limits = self.received.others.strain.limits
        pairs = zip(limits, self.totals, strict=True)
        return np.prod([normal((e.limit_dbm - t) / np.float32(e.sd_db)) for e, t in pairs], axis=0)

    def chance(self):
        """Chances of the rows: (headings, rows)."""
        some = max(1, _AT_ONCE // max(1, self.above.size))
        parts = [self._some(slice(start, start + some)) for start in range(0, FEW, some)]
        return np.sum(parts, axis=0) / FEW

    def _some(self, worlds):
        """Sums of chances over some of the worlds: (headings, rows)."""
        doubt = self.doubt[worlds][:, None]
        heard = self.error[worlds][:, self.heard, None] * (self.share * doubt)
        noise = self.power[:, self.heard] @ heard
        noise += doubt
        if self.received.others.strain.makes:
            noise += self._made(worlds) * doubt
        joint = [self._joint(each, worlds, noise) for each in networks(self.received.site)]
        np.log(noise, out=noise)
        noise *= self.per_db
        noise += self.above
        for k, above in itertools.chain.from_iterable(joint):
            noise[..., k] = above
        chance = _normal(noise)
        if self.totals is None:
            return chance.sum(axis=0)
        return np.einsum("whr,wh->hr", chance, self.holds[worlds])

    def _made(self, worlds):
        """Products and a tuner turned down, over the noise: (worlds, headings, rows)."""
        strain = self.received.others.strain
        more = self.totals[-1][worlds] - single(strain.total_dbm)
        made = [
            strain.added_mw(m, better_sds=b) for m, b in zip(more, self.better[worlds], strict=True)
        ]
        if np.ndim(made[0]) == 0:
            return np.float32(0.0)
        made = np.stack(made)[..., self.rows]
        return single(made / self.received.link.noise_mw[self.rows])

    def _joint(self, network, worlds, noise):
        """How far a network's rows are above what they need, in sds of what is left: (row, array) each.

        Own parts are as drawn but that of the strongest member, which is in the sd by its share.
        """
        power = self.power[:, None, network.members]
        strongest = np.arange(network.members.size) == power.argmax(axis=-1, keepdims=True)
        error, shared = (e[worlds][:, network.members] for e in (self.error, self.shared))
        drawn = power * np.where(strongest, shared, error)
        share = (drawn * strongest).sum(axis=-1) / drawn.sum(axis=-1)
        sd = np.maximum(share * (self.wide[network.members] * strongest).sum(axis=-1), 1.0).T
        found = []
        for k in np.flatnonzero(np.isin(self.rows, network.rows)):
            quiet = self.received.link.noise_mw[self.rows[k]]
            loud = quiet * noise[..., k] / self.doubt[worlds, k, None]
            best = network.ratio(drawn.transpose(1, 0, 2), loud)
            lost = db(power.sum(axis=-1).T / quiet) - db(best)
            found.append((k, (self.above[:, k] * self.sd[k] - lost) / sd))
        return found


def _normal(x):
    """The normal distribution function of ``x``, which it uses up; single.normal without copies."""
    y = x * x
    y *= np.float32(-0.07135481)
    y -= np.float32(1.5957691)
    y *= x
    with np.errstate(over="ignore"):
        np.exp(y, out=y)
    y += 1
    return np.reciprocal(y, out=y)
