"""Other signals: the same channel, a network's own, and everything that together overdrives a part."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from .. import chain, facts
from ..site import read_only
from .networks import networks, signals_of


@dataclass(frozen=True, eq=False)
class Others:
    """What other signals do, by heading: ``rise_db`` (heading, station) of the noise in each channel;
    ``joint_db`` (heading, station) what the others of a network add to a station's own power, 0 for all
    else; ``headroom_db`` (heading,) least distance of the total power from a limit, negative when
    overloaded; ``tightest`` (heading,) the part it belongs to.
    """

    rise_db: np.ndarray
    joint_db: np.ndarray
    headroom_db: np.ndarray
    tightest: np.ndarray

    def __post_init__(self):
        read_only(self)

    def applied_to(self, margin_db):
        """``margin_db`` (heading, station) with the others in: noise risen, and an overload in full."""
        risen = margin_db - self.rise_db
        over = self.headroom_db[:, None]
        return np.where(over < 0, np.minimum(risen, over), risen)


def others(site, feed, this, gain_dbd):
    """What all other signals do to each station: Others.

    A station on the same channel counts with the level it exceeds 10 % of the time (the field's rise);
    it acts like noise. Third-order products come from
    every signal in the list, FM and mobile neighbours included. Outside its known frequencies the
    antenna is taken to pick up -10 dBd.

    Parameters: ``site`` a Site; ``feed`` a chain.Feed; ``this`` the Link of mount and feed;
    ``gain_dbd`` (heading, station) from gain_toward_dbd.

    >>> from signalshed import antenna, budget, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> feed = site.feed(mount.feed)
    >>> gain = budget.gain_toward_dbd(site, antenna.plain_dipole(), mount, [0, 90])
    >>> bool((others(site, feed, budget.link(site, mount, feed), gain).rise_db >= 0).all())
    True
    """
    level = _heard_dbm(this, gain_dbd)
    s = site.stations
    freq, width = s["freq_mhz"].to_numpy(float), s["bandwidth_mhz"].to_numpy(float)
    sent = np.where(signals_of(site).is_sender, level, -np.inf)
    total = chain.load((*feed.parts, site.tuner.part), freq, sent, width)
    noise_mw = 10 ** ((this.noise_dbm - this.line_gain_db) / 10)
    culprits, share = _overlap(site)
    added_mw = 10 ** ((level[:, culprits] + this.field.rise_db[culprits]) / 10) @ share
    if np.isfinite(total.product_dbm).any():
        added_mw = added_mw + 10 ** (np.asarray(total.product_dbm) / 10)
    rise, joint = 10 * np.log10(1 + added_mw / noise_mw), np.zeros_like(level)
    for network in networks(site):
        rows = network.rows
        power, noise = 10 ** (level[:, network.members] / 10), (noise_mw + added_mw)[:, rows]
        best = network.ratio(power[:, None], noise)
        joint[:, rows] = 10 * np.log10(power.sum(axis=1, keepdims=True)) - level[:, rows]
        rise[:, rows] = joint[:, rows] + level[:, rows] - 10 * np.log10(best * noise_mw[rows])
    return Others(rise, joint, np.atleast_1d(total.headroom_db), np.atleast_1d(total.tightest))


def _heard_dbm(this, gain_dbd):
    """Level at the antenna's output, dBm, outside its known frequencies too."""
    outside = facts.value("judgement", "out_of_band_dbd")
    return this.level_dbm - this.line_gain_db + np.where(np.isnan(gain_dbd), outside, gain_dbd)


def jammer(site, this, gain_dbd, i):
    """The station that puts most power into the channel of station ``i``: its row, or None.

    Parameters: ``site`` a Site; ``this`` a Link; ``gain_dbd`` (station,) at the heading.

    >>> from signalshed import antenna, budget, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> gain = budget.gain_toward_dbd(site, antenna.plain_dipole(), mount, [0])[0]
    >>> jammer(site, budget.link(site, mount, site.feed(mount.feed)), gain, 0) is None
    True
    """
    culprits, share = _overlap(site)
    power = 10 ** ((_heard_dbm(this, gain_dbd) + this.field.rise_db)[culprits] / 10)
    power = power * share[:, [i]].toarray().ravel()
    return int(culprits[power.argmax()]) if power.any() else None


def _overlap(site):
    """Senders that share a channel with a signal not theirs, and which part of their power (rows,
    sparse) falls into each station's channel (columns)."""

    def make():
        return _overlap_of(site.stations, signals_of(site))

    return site.remembered(("overlap",), make, ("stations",))


def _overlap_of(s, found):
    freq, width = s["freq_mhz"].to_numpy(float), s["bandwidth_mhz"].to_numpy(float)
    low, high = freq - width / 2, freq + width / 2
    common = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    share = np.clip(common, 0, None) / width[:, None]
    one_signal = found.sender[:, None] == found.sender
    one_signal |= (found.network[:, None] == found.network) & (found.network >= 0)
    share[one_signal | (share < 0.02)] = 0.0
    share[~found.is_sender] = 0.0
    culprits = np.flatnonzero(share.any(axis=1))
    return culprits, csr_array(share[culprits])
