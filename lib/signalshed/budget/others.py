"""Other signals: what lands in a channel, a network's own, and everything that overdrives a part."""

from dataclasses import dataclass, replace

import numpy as np

from .. import chain, facts
from ..site import read_only, remembering
from .leaks import leaks
from .networks import networks, signals_of
from .stations import freq_mhz


@dataclass(frozen=True, eq=False)
class Others:
    """What other signals do, by heading: ``rise_db`` (heading, station) of the noise in each channel;
    ``joint_db`` (heading, station) what the others of a network add to a station's own power, 0 for all
    else; ``headroom_db`` (heading,) least distance of the total power from a limit, negative when
    overloaded; ``tightest`` (heading,) the part it belongs to; ``strain`` what the parts make of it;
    ``power_mw`` (heading, station) of all that is on the air, at the antenna's output.
    """

    rise_db: np.ndarray
    joint_db: np.ndarray
    headroom_db: np.ndarray
    tightest: np.ndarray
    strain: object = None
    power_mw: np.ndarray | None = None

    def __post_init__(self):
        read_only(self)

    def applied_to(self, margin_db):
        """``margin_db`` (heading, station) with the others in: noise risen, and an overload in full."""
        risen = margin_db - self.rise_db
        over = self.headroom_db[:, None]
        return np.where(over < 0, np.minimum(risen, over), risen)


@dataclass(frozen=True, eq=False)
class Strain:
    """A line under the power of everything: ``limits`` of its parts; at the power of the medians, by
    heading, ``total_dbm`` (heading,) at the tuner, and third-order products of ``amplified_mw`` and
    ``tuned_mw`` (heading, station), at full gain and referred to the antenna's output, None for none;
    ``mixed_mw`` the same of second order, of amplifiers and of the tuner (2, heading, station);
    ``tuner_ip3_dbm`` or None; ``tuner_noise_mw`` (station,) its own part of the noise, referred alike.
    """

    limits: tuple
    total_dbm: np.ndarray
    amplified_mw: np.ndarray | None
    tuned_mw: np.ndarray | None
    mixed_mw: np.ndarray | None
    tuner_ip3_dbm: float | None
    tuner_noise_mw: np.ndarray

    @property
    def makes(self):
        """Whether the parts add anything to the noise: products, or a gain turned down."""
        made = self.tuner_ip3_dbm, self.amplified_mw, self.mixed_mw
        return any(each is not None for each in made)

    def added_mw(self, more_db=0.0, heading=slice(None), better_sds=0.0):
        """Products, and what the noise gains where the tuner turns its gain down: (..., station).

        Parameters: ``more_db`` by which the total power differs from that of the medians, by heading or
        world; ``heading`` the rows it belongs to; ``better_sds`` by how many sds the parts stand
        second order better than usual, by world.
        """
        more = np.atleast_1d(np.asarray(more_db, float))[..., None]
        added = self.second_order_mw(more, heading, np.atleast_1d(better_sds)[..., None])
        if self.amplified_mw is not None:
            added = added + self.amplified_mw[heading] * 10 ** (3 * more / 10)
        if self.tuner_ip3_dbm is not None:
            down = chain.turned_down_db(
                self.total_dbm[heading][..., None] + more, self.tuner_ip3_dbm
            )
            added = added + self.tuned_mw[heading] * 10 ** ((3 * more - 2 * down) / 10)
            added = added + self.tuner_noise_mw * (10 ** (np.asarray(down) / 10) - 1)
        return added

    def second_order_mw(self, more=0.0, heading=slice(None), better_sds=0.0):
        """The same of second order alone; a tuner of unknown make turns down from below its limit."""
        if self.mixed_mw is None:
            return 0.0
        least = self.limits[-1].limit_dbm if self.tuner_ip3_dbm is None else self.tuner_ip3_dbm
        down = chain.turned_down_db(self.total_dbm[heading][..., None] + more, least)
        amplified, tuned = (each[heading] for each in self.mixed_mw)
        rise = 2 * more - facts.value("receiver", "ip2_sd_db") * better_sds
        return (amplified + tuned * 10 ** (-np.asarray(down) / 10)) * 10 ** (rise / 10)


def others(site, feed, link, gain_dbd):
    """What all other signals do to each station: Others.

    A station on the same channel or beside it counts with the level it exceeds 10 % of the time (the
    field's rise); it acts like noise. The others of a network help as far as its guard interval
    reaches. Products of second and third order come from every signal in the list, FM and mobile
    neighbours included. Outside its known frequencies the antenna is taken to pick up -10 dBd.

    Parameters: ``site`` a Site; ``feed`` a chain.Feed; ``link`` the Link of mount and feed;
    ``gain_dbd`` (heading, station) from gain_toward_dbd.

    >>> from signalshed import antenna, budget, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> feed = site.feed(mount.feed)
    >>> gain = budget.gain_toward_dbd(site, antenna.plain_dipole(), mount, [0, 90])
    >>> bool((others(site, feed, budget.link(site, mount, feed), gain).rise_db >= 0).all())
    True
    """
    level = link.heard_dbm(gain_dbd)
    power_mw = np.exp(level * _PER_DB) * signals_of(site).is_sender
    noise_mw = link.noise_mw
    strain, headroom, tightest = _strained(site, feed, link, power_mw)
    share = leaks(site, feed, link.line_gain_db).share
    added_mw = (share @ (power_mw * 10 ** (link.field.rise_db / 10)).T).T + strain.added_mw()
    rise, joint = 10 * np.log10(1 + added_mw / noise_mw), np.zeros_like(level)
    rise[rise < _HARDLY_DB] = 0.0
    for network in networks(site):
        rows = network.rows
        power, noise = 10 ** (level[:, network.members] / 10), (noise_mw + added_mw)[:, rows]
        best = network.ratio(power[:, None], noise)
        joint[:, rows] = 10 * np.log10(power.sum(axis=1, keepdims=True)) - level[:, rows]
        rise[:, rows] = joint[:, rows] + level[:, rows] - 10 * np.log10(best * noise_mw[rows])
    return Others(rise, joint, headroom, tightest, strain, power_mw)


def _strained(site, feed, link, power_mw):
    """The Strain of a line, and by heading its headroom and the part that has least."""
    s, tuner = site.stations, site.tuner.part
    limits, own = _limits(site, feed)
    with np.errstate(divide="ignore"):
        totals = [10 * np.log10(power_mw @ 10 ** (each.gain_db / 10)) for each in limits]
    room = np.stack([each.limit_dbm - t for each, t in zip(limits, totals, strict=True)])
    names = np.array([each.name for each in limits], object)
    made = [
        _products_mw(s, some, power_mw) for some in (_overdriven(feed), _tuner_alone(feed, tuner))
    ]
    noise_mw = 10 ** ((own - link.line_gain_db) / 10)
    made.append(_mixed_mw(site, link, limits, power_mw))
    strain = Strain(limits, totals[-1], *made, tuner.input_ip3_dbm, noise_mw)
    return strain, room.min(axis=0), names[room.argmin(axis=0)]


@remembering("stations", "tuner")
def _limits(site, feed):
    """The soft limits of a line, and the tuner's own noise in each channel, dBm."""
    limits = chain.soft_limits((*feed.parts, site.tuner.part), freq_mhz(site))
    thermal = chain.thermal_noise_dbm(site.stations["bandwidth_mhz"].to_numpy(float))
    return limits, thermal + site.tuner.noise_figure_db


_PER_DB = np.log(10) / 10
_NEVER_FELT = 1e-3
"""Second-order products so small beside the noise are left out, as are disturbers (``judged``)."""
_HARDLY_DB = 0.01
"""Noise that rises by less has not risen."""


def _overdriven(feed):
    """The parts of a feed up to its last with an intercept point; empty if none has."""
    last = [k for k, part in enumerate(feed.parts) if part.input_ip3_dbm is not None]
    return feed.parts[: last[-1] + 1] if last else ()


def _tuner_alone(feed, tuner):
    """The line with no intercept point but the tuner's; empty if that has none."""
    if tuner.input_ip3_dbm is None:
        return ()
    return (*(replace(part, input_ip3_dbm=None) for part in feed.parts), tuner)


def _products_mw(s, parts, power_mw):
    if not parts:
        return None
    with np.errstate(divide="ignore"):
        level = 10 * np.log10(power_mw)
    freq, width = s["freq_mhz"].to_numpy(float), s["bandwidth_mhz"].to_numpy(float)
    return 10 ** (np.atleast_2d(chain.load(parts, freq, level, width).product_dbm) / 10)


def _mixed_mw(site, link, limits, power_mw):
    """Second-order products of amplifiers and of the tuner (2, heading, station), or None."""
    mixing = _mixing(site)

    def made(power):
        found = np.zeros((2, *power.shape))
        for tuner, gain, intercept in _mixers(limits):
            found[int(tuner)] += mixing.mw(power * gain, tuner) / (intercept * gain)
        return found

    felt = made(power_mw.max(axis=0)).sum(axis=0) > link.noise_mw * _NEVER_FELT
    return made(power_mw) * felt if felt.any() else None


@remembering("stations")
def _mixing(site):
    freq, width = site.stations[["freq_mhz", "bandwidth_mhz"]].to_numpy(float).T
    return chain.Mixing(freq, width, (site.stations["service"] == "tv").to_numpy())


def _mixers(limits):
    """Of parts with a second-order intercept: whether the tuner, gains before it, the intercept."""
    for part in (each for each in limits if each.input_ip2_dbm is not None):
        yield part is limits[-1], 10 ** (part.gain_db / 10), 10 ** (part.input_ip2_dbm / 10)


def mixed_by(site, strain, power_mw, i):
    """The two signals whose sum or difference falls into the channel of station ``i`` most: two rows.

    Parameters: ``site`` a Site; ``strain`` of its line; ``power_mw`` (station,) of all signals; ``i`` of
    television, into whose channel something falls.
    """
    found = [
        (mw / (intercept * gain[i]), rows)
        for tuner, gain, intercept in _mixers(strain.limits)
        for mw, rows in (_mixing(site).loudest(power_mw * gain, i, tuner),)
    ]
    return max(found)[1]


def loudest_interferer(site, feed, link, gain_dbd, i):
    """The station that puts most power into the channel of station ``i``: its row or None, and the mW.

    Parameters: ``site`` a Site; ``feed`` a chain.Feed; ``link`` a Link; ``gain_dbd`` (station,) at the
    heading.

    >>> from signalshed import antenna, budget, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> gain = budget.gain_toward_dbd(site, antenna.plain_dipole(), mount, [0])[0]
    >>> feed = site.feed(mount.feed)
    >>> loudest_interferer(site, feed, budget.link(site, mount, feed), gain, 12)[0] is None
    False
    """
    share = leaks(site, feed, link.line_gain_db).share[[i]].toarray().ravel()
    power = 10 ** ((link.heard_dbm(gain_dbd) + link.field.rise_db) / 10) * share
    return (int(power.argmax()), float(power.max())) if power.any() else (None, 0.0)
