"""Everything of the budget that neither the antenna nor its heading changes, and what they add."""

import functools
from dataclasses import dataclass, replace

import numpy as np

from .. import chain, facts, path
from ..belief import Belief, Unknown
from ..site import read_only, remembering
from ..units import dbm_from_dbuv_m
from ..words import joined
from .field import PATH, Field, field_at
from .gain import antenna_taught, taught
from .mounts import entry_loss_db, has_walls, mount_sd_db, vegetation_loss_db
from .needs import needs_cn_db, needs_sd_db
from .networks import signals_of
from .stations import freq_mhz, place_index


@dataclass(frozen=True, eq=False)
class Link:
    """All of the budget that antenna and heading leave alone: arrays over the site's stations.

    ``field`` what the path brings; ``entry_loss_db`` walls and roof, ``blocked_loss_db`` a side the
    mount does not see, ``vegetation_loss_db``: losses are positive dB. ``line_gain_db`` cable and parts,
    ``needs_cn_db`` the C/N the tuner needs, ``needs_sd_db``
    how surely that is known. ``dipole_dbm`` turns dBuV/m into dBm of a half-wave dipole;
    ``learned_db`` is what readings taught about the path; ``mount_sd_db`` what the mount alone is off
    by. ``line_cost_db`` is how much C/N cable and parts cost against the tuner alone at the antenna
    (negative: an amplifier betters it). ``noise_dbm`` is at the tuner, median of time and places;
    ``noise_up_db`` by how much it is exceeded for a tenth of the time, ``noise_sd_db`` one standard
    deviation of what one street has over another.
    ``decoded`` is False where the tuner cannot show the station at all. ``note`` text: what field and
    walls had to assume.
    """

    field: Field
    learned_db: np.ndarray
    dipole_dbm: np.ndarray
    entry_loss_db: np.ndarray
    blocked_loss_db: np.ndarray
    vegetation_loss_db: np.ndarray
    line_gain_db: np.ndarray
    line_cost_db: np.ndarray
    noise_dbm: np.ndarray
    noise_up_db: np.ndarray
    noise_sd_db: np.ndarray
    needs_cn_db: np.ndarray
    needs_sd_db: np.ndarray
    decoded: np.ndarray
    mount_sd_db: float | np.ndarray
    note: np.ndarray

    def __post_init__(self):
        read_only(self)

    @property
    def mount_loss_db(self):
        """Loss of the mount, dB: walls, blocked side and trees."""
        return self.entry_loss_db + self.blocked_loss_db + self.vegetation_loss_db

    @property
    def fade_db(self):
        """From the median to the level over noise held 90 % of the time, dB: (stations,).

        The signal's fall and the noise's rise come at times of their own: they join in squares.
        """
        return np.hypot(self.field.fade_db, self.noise_up_db)

    @property
    def floor_sd_db(self):
        """One sd of what the signal has to stand above: noise of the street, need of the tuner."""
        return np.hypot(self.noise_sd_db, self.needs_sd_db)

    @property
    def level_dbm(self):
        """Level at the tuner in dBm through an antenna of 0 dBd."""
        field_dbuv_m = self.field.median_dbuv_m + self.learned_db - self.mount_loss_db
        return field_dbuv_m + self.dipole_dbm + self.line_gain_db

    @property
    def noise_mw(self):
        """Noise in each channel at the antenna's output, mW: (stations,)."""
        return 10 ** ((self.noise_dbm - self.line_gain_db) / 10)

    def heard_dbm(self, gain_dbd):
        """Level at the antenna's output, dBm, outside its known frequencies too.

        Parameters: ``gain_dbd`` (..., station).
        """
        outside = facts.value("judgement", "out_of_band_dbd")
        gain = np.where(np.isnan(gain_dbd), outside, gain_dbd)
        return self.level_dbm - self.line_gain_db + gain

    @property
    def margin_db(self):
        """Spare dB through an antenna of 0 dBd; NaN where the tuner cannot decode the station."""
        margin = self.level_dbm - self.noise_dbm - self.needs_cn_db
        return np.where(self.decoded, margin, np.nan)


def prior(site, mount):
    """What is believed of the path before anything is read: a belief.Belief.

    Parameters: ``site`` a Site; ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> bool((prior(site, site.mount("roof mast")).mean_db() == 0).all())
    True
    """
    there = field_at(site, mount)
    return Belief.prior(
        there.sd_db, place_index(site), there.unknown_sd_db, signals_of(site).sender
    )


def link(site, mount, feed, antenna=None):
    """Everything of the budget but the antenna's gain, for every station of ``site``: a Link.

    Parameters: ``site`` a Site; ``mount`` a Mount; ``feed`` a chain.Feed; ``antenna`` the Antenna whose
    own losses lower the noise from outside, None for one without any.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> link(site, mount, site.feed(mount.feed)).margin_db.shape == (len(site.stations),)
    True
    """
    this = _link(site, mount, feed)
    return this if antenna is None else _heard_through(site, antenna, feed, this)


_NO_LINE = chain.Feed("none", ())


@remembering(*PATH, "tuner", "noise", "leaves", "belief")
def _link(site, mount, feed):
    s = site.stations
    freq = freq_mhz(site)
    there = field_at(site, mount)
    entry, entry_sd = entry_loss_db(mount, freq)
    more_db, left_sd = taught(site, "mount", mount.name)
    line = chain.cascade(feed.parts, freq)
    noise = _noise(site, feed, 0.0)
    return Link(
        field=there,
        learned_db=np.zeros(freq.size) if site.belief is None else site.belief.mean_db(),
        dipole_dbm=np.asarray(dbm_from_dbuv_m(np.zeros(freq.size), freq)),
        entry_loss_db=entry + mount.extra_loss_db - more_db,
        blocked_loss_db=np.where(mount.sees(s["bearing_deg"]), 0.0, mount.blocked_loss_db),
        vegetation_loss_db=vegetation_loss_db(mount, freq, site.leaves),
        line_gain_db=np.broadcast_to(line.gain_db, freq.shape),
        line_cost_db=noise["noise_dbm"] - _noise(site, _NO_LINE, 0.0)["noise_dbm"],
        noise_dbm=noise.pop("noise_dbm") + line.gain_db,
        **noise,
        needs_cn_db=needs_cn_db(site, mount),
        needs_sd_db=needs_sd_db(site, mount),
        decoded=_decoded(site),
        mount_sd_db=np.minimum(mount_sd_db(mount, entry_sd), left_sd),
        note=joined(there.note, path.entry_loss_note(freq) if has_walls(mount) else ""),
    )


def _decoded(site):
    """Television that this tuner knows; FM and mobile neighbours only disturb."""
    standard, tv = site.stations["standard"], site.stations["service"] == "tv"
    known = [name for name in standard[tv].unique() if site.tuner.decodes(name)]
    return (tv & standard.isin(known)).to_numpy()


def spread_db(site, antenna, mount, link):
    """One standard deviation of everything not known of a steady level over noise.

    Path, mount, antenna, the noise of the street and the tuner's need. What readings taught of the first
    three counts as one: they hang together.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount; ``link`` the Link
    of the mount and a feed. Returns (stations,) dB.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> there = link(site, mount, site.feed(mount.feed))
    >>> round(float(spread_db(site, antenna.plain_dipole(), mount, there)[0]), 2)
    10.05
    """
    antenna_sd = antenna_taught(site, antenna)[1]
    if site.belief is None:
        path_var = link.field.sd_db**2 + link.field.unknown_sd_db**2
        return np.sqrt(path_var + link.mount_sd_db**2 + antenna_sd**2 + link.floor_sd_db**2)
    left = {
        Unknown("mount", mount.name): link.mount_sd_db,
        Unknown("antenna", antenna.name): antenna_sd,
    }
    return np.hypot(site.belief.joint_sd_db(left), link.floor_sd_db)


def _noise(site, feed, antenna_loss_db):
    """The fields of a Link about noise; noise_dbm here at the antenna's output."""
    parts = (*feed.parts, site.tuner.part)
    there = chain.system_noise(parts, freq_mhz(site), site.noise, antenna_loss_db)
    return {
        "noise_dbm": _thermal_dbm(site) + there.figure_db,
        "noise_up_db": there.upper_db,
        "noise_sd_db": there.place_sd_db,
    }


@remembering("stations")
def _thermal_dbm(site):
    s = site.stations
    share = s["standard"].map(_noise_bandwidth_share()).fillna(1.0)
    return chain.thermal_noise_dbm((s["bandwidth_mhz"] * share).to_numpy(float))


def _heard_through(site, antenna, feed, this):
    """``this`` Link with the noise from outside less by what ``antenna`` itself loses."""
    freq = freq_mhz(site)
    asked = (this.noise_up_db > 0) & antenna.covers(freq)
    loss_db = np.where(asked, antenna.loss_db(freq), 0.0) if asked.any() else np.zeros(1)
    if not loss_db.any():
        return this
    noise = _noise(site, feed, loss_db)
    return replace(this, **noise | {"noise_dbm": noise["noise_dbm"] + this.line_gain_db})


@functools.cache
def _noise_bandwidth_share():
    return facts.table("standards").set_index("standard")["noise_bandwidth_share"]
