"""Everything of the budget that neither the antenna nor its heading changes, and what they add."""

import functools
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse.csgraph import connected_components

from .. import chain, facts, path
from ..belief import Belief, Unknown
from ..site import read_only
from ..units import dbm_from_dbuv_m
from .field import Field, field_at, joined
from .needs import needs_cn_db, needs_sd_db
from .networks import signals_of

HEADINGS_DEG = np.arange(0.0, 360.0, 5.0)
HEADINGS_DEG.setflags(write=False)
"""Headings that stand for all, wherever an antenna is never aimed or is turned to each station."""


@dataclass(frozen=True, eq=False)
class Link:
    """All of the budget that antenna and heading leave alone: arrays over the site's stations.

    ``field`` what the path brings; ``entry_loss_db`` walls and roof, ``blocked_loss_db`` a side the
    mount does not see, ``trees_loss_db``: losses are positive dB. ``line_gain_db`` cable and parts,
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
    trees_loss_db: np.ndarray
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
        return self.entry_loss_db + self.blocked_loss_db + self.trees_loss_db

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
    def margin_db(self):
        """Spare dB through an antenna of 0 dBd; NaN where the tuner cannot decode the station."""
        margin = self.level_dbm - self.noise_dbm - self.needs_cn_db
        return np.where(self.decoded, margin, np.nan)


def freq_mhz(site):
    """The stations' frequencies as an array, (stations,). Parameters: ``site`` a Site.

    >>> from signalshed import simulate
    >>> freq_mhz(simulate.demo_site()).size
    18
    """
    make = lambda: site.stations["freq_mhz"].to_numpy(float)  # noqa: E731
    return site.remembered(("frequencies",), make, ("stations",))


def place_index(site):
    """Which stations share a transmitter place: an integer per station, equal where they do.

    Stations nearer than 2 km to each other share one, whatever their place is called.
    Parameters: ``site`` a Site.

    >>> from signalshed import simulate
    >>> len(place_index(simulate.demo_site())) == len(simulate.demo_site().stations)
    True
    """
    s = site.stations
    angle = np.deg2rad(s["bearing_deg"].to_numpy(float))
    place = s["distance_km"].to_numpy(float) * np.exp(1j * angle)
    near = np.abs(place[:, None] - place) < facts.value("judgement", "same_place_km")
    return connected_components(near)[1]


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
    this = site.remembered(("link", mount, feed), lambda: _link(site, mount, feed), _ALONG)
    return this if antenna is None else _heard_through(site, antenna, feed, this)


_ALONG = (
    *("place", "stations", "tiles", "clutter_m", "land", "tuner", "noise", "leaves"),
    "belief",
)
"""What a link hangs on, beside its mount and feed."""


_NO_LINE = chain.Feed("none", ())


def _link(site, mount, feed):
    s = site.stations
    freq = s["freq_mhz"].to_numpy(float)
    there = field_at(site, mount)
    entry, entry_sd = _entry_loss_db(mount, freq)
    taught, left_sd = _taught(site, "mount", mount.name)
    line = chain.cascade(feed.parts, freq)
    noise = _noise(site, feed, 0.0)
    return Link(
        field=there,
        learned_db=np.zeros(freq.size) if site.belief is None else site.belief.mean_db(),
        dipole_dbm=np.asarray(dbm_from_dbuv_m(np.zeros(freq.size), freq)),
        entry_loss_db=entry + mount.extra_loss_db - taught,
        blocked_loss_db=np.where(mount.sees(s["bearing_deg"]), 0.0, mount.blocked_loss_db),
        trees_loss_db=trees_loss_db(mount, freq, site.leaves),
        line_gain_db=np.broadcast_to(line.gain_db, freq.shape),
        line_cost_db=noise["noise_dbm"] - _noise(site, _NO_LINE, 0.0)["noise_dbm"],
        noise_dbm=noise.pop("noise_dbm") + line.gain_db,
        **noise,
        needs_cn_db=needs_cn_db(site, mount),
        needs_sd_db=needs_sd_db(site, mount),
        decoded=_decoded(site),
        mount_sd_db=np.minimum(_mount_sd_db(mount, entry_sd), left_sd),
        note=joined(there.note, path.entry_loss_note(freq) if _entry_share()[mount.kind] else ""),
    )


def _mount_sd_db(mount, entry_sd_db):
    """One sd of what the mount does: walls, place in the room, and what was typed of it."""
    in_room = _rooms().get(mount.kind, (0.0, 0.0))[1]
    return np.sqrt(np.square(entry_sd_db) + in_room**2 + mount.extra_sd_db**2)


def _decoded(site):
    """Television that this tuner knows; FM and mobile neighbours only disturb."""
    standard, tv = site.stations["standard"], site.stations["service"] == "tv"
    known = [name for name in standard[tv].unique() if site.tuner.decodes(name)]
    return (tv & standard.isin(known)).to_numpy()


def _taught(site, kind, name):
    """What readings taught of one thing, dB, and the sd that is left: inf where they taught nothing."""
    return (0.0, np.inf) if site.belief is None else site.belief.taught(kind, name)


def antenna_taught(site, antenna):
    """What readings taught of an antenna's gain, dB more than thought, and the sd that is left.

    Parameters: ``site`` a Site; ``antenna`` an Antenna. Returns mean_db, a number, and sd_db
    (stations,).

    >>> from signalshed import antenna, simulate
    >>> mean, sd = antenna_taught(simulate.demo_site(), antenna.plain_dipole())
    >>> mean, float(sd[0])
    (0.0, 1.0)
    """
    mean, sd = _taught(site, "antenna", antenna.name)
    return mean, np.minimum(antenna.spread_at_db(freq_mhz(site)), sd)


def spread_db(site, antenna, mount, this):
    """One standard deviation of everything not known of a steady level over noise.

    Path, mount, antenna, the noise of the street and the tuner's need. What readings taught of the first
    three counts as one: they hang together.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount; ``this`` the Link
    of the mount and a feed. Returns (stations,) dB.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> mount = site.mount("roof mast")
    >>> this = link(site, mount, site.feed(mount.feed))
    >>> round(float(spread_db(site, antenna.plain_dipole(), mount, this)[0]), 2)
    10.05
    """
    antenna_sd = antenna_taught(site, antenna)[1]
    if site.belief is None:
        path_var = this.field.sd_db**2 + this.field.unknown_sd_db**2
        return np.sqrt(path_var + this.mount_sd_db**2 + antenna_sd**2 + this.floor_sd_db**2)
    left = {
        Unknown("mount", mount.name): this.mount_sd_db,
        Unknown("antenna", antenna.name): antenna_sd,
    }
    return np.hypot(site.belief.joint_sd_db(left), this.floor_sd_db)


def _entry_loss_db(mount, freq_mhz):
    """Median entry loss of the building and its standard deviation, dB."""
    share = _entry_share()[mount.kind]
    if share == 0:
        return np.zeros(freq_mhz.size), 0.0
    metal = mount.construction == "metal"
    construction = "thermally_efficient" if metal else mount.construction
    share = 1.0 if metal else share
    loss = path.entry_loss_db(freq_mhz, construction=construction)
    return share * loss, share * path.entry_loss_sd_db(freq_mhz, construction=construction)


@functools.cache
def _entry_share():
    """Share of a room's entry loss, in dB, that each kind of mount has."""
    return facts.table("mount_kinds").set_index("kind")["entry_share"].astype(float).to_dict()


def trees_loss_db(mount, freq_mhz, leaves=None):
    """What the trees before a mount cost, dB: an array of the shape of ``freq_mhz``.

    Parameters: ``mount`` a Mount; ``freq_mhz`` (n,); ``leaves`` none, bare or full, None for full.

    >>> from signalshed.site import Mount
    >>> trees_loss_db(Mount("behind the oak", "mast", 6, trees_m=0), np.array([539.0])).tolist()
    [0.0]
    """
    if mount.trees_m == 0:
        return np.zeros(freq_mhz.size)
    return np.asarray(path.leaves_loss_db(freq_mhz, mount.trees_m, leaves or "full"))


def _noise(site, feed, antenna_loss_db):
    """The fields of a Link about noise; noise_dbm here at the antenna's output."""
    s = site.stations
    thermal = site.remembered(("thermal noise",), lambda: _thermal_dbm(s), ("stations",))
    parts, freq = (*feed.parts, site.tuner.part), s["freq_mhz"].to_numpy(float)
    there = chain.system_noise(parts, freq, site.noise, antenna_loss_db)
    return {
        "noise_dbm": thermal + there.figure_db,
        "noise_up_db": there.upper_db,
        "noise_sd_db": there.place_sd_db,
    }


def _thermal_dbm(s):
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


def gain_toward_dbd(site, antenna, mount, headings_deg):
    """Gain of ``antenna`` toward every station at every heading: (headings, stations), dBd.

    As it is hung: on a mount with vertical polarization by its other cut. Indoors, where a share of the
    wave comes from everywhere (facts table ``rooms``), between the gain toward the station and the mean
    over all directions. Polarization is inside, and what readings taught of this antenna. NaN where the
    channel lies outside the antenna's frequencies.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount; ``headings_deg`` (H,) true.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> gain_toward_dbd(site, antenna.plain_dipole(), site.mount("roof mast"), [0, 90]).shape[0]
    2
    """
    headings = np.atleast_1d(np.asarray(headings_deg, float))
    key = ("gain", antenna, mount.polarization, mount.kind, headings.tobytes())
    make = functools.partial(_gain_dbd, site, antenna, mount, headings)
    return site.remembered(key, make, ("stations", "belief"))


def top_gain_dbd(site, antenna, mount):
    """Gain toward each station with the antenna turned to it: (stations,), dBd; NaN where not known.

    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> top_gain_dbd(site, antenna.plain_dipole(), site.mount("roof mast")).size
    18
    """

    def make():
        return gain_toward_dbd(site, antenna, mount, HEADINGS_DEG).max(axis=0)

    key = ("top gain", antenna, mount.polarization, mount.kind)
    return site.remembered(key, make, ("stations", "belief"))


def _gain_dbd(site, antenna, mount, headings):
    freq = freq_mhz(site)
    bearing = site.stations["bearing_deg"].to_numpy(float)
    gain = np.full((headings.size, freq.size), np.nan)
    known = np.asarray(antenna.covers(freq))
    if known.any():
        hung = _as_hung(antenna, mount)
        toward = hung.gain_dbd(freq[known], bearing[known] - headings[:, None])
        gain[:, known] = _filled_in(toward, hung.mean_dbd(freq[known]), scattered_share(mount))
    taught, _ = antenna_taught(site, antenna)
    gain += taught - polarization_loss_db(site, antenna, mount)
    gain.setflags(write=False)
    return gain


def _as_hung(antenna, mount):
    return antenna.on_its_side if mount.polarization == "vertical" else antenna


def _filled_in(direct_db, mean_db, share):
    """A ``share`` of power at the second level and the rest at the first, dB."""
    if share == 0:
        return direct_db
    return 10 * np.log10((1 - share) * 10 ** (direct_db / 10) + share * 10 ** (mean_db / 10))


def scattered_share(mount):
    """Share of a wave's power that reaches an antenna there from everywhere alike: 0 outdoors.

    Where it is not 0 no aim is sure: it is where a search begins. Parameters: ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> scattered_share(simulate.demo_site().mount("roof mast"))
    0.0
    """
    return _rooms().get(mount.kind, (0.0, 0.0))[0]


@functools.cache
def _rooms():
    """Scattered share, and one sd of what the place in the room does, by kind of mount."""
    rows = facts.table("rooms").set_index("kind")[["scattered_share", "spread_db"]]
    return {
        kind: tuple(map(float, row)) for kind, row in zip(rows.index, rows.to_numpy(), strict=True)
    }


def polarization_loss_db(site, antenna, mount):
    """What crossed polarization costs, dB: an array over the site's stations.

    A mount with vertical polarization holds its antennas turned on their side. A station that
    radiates both is heard by either. What comes from everywhere indoors comes half in either.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> set(polarization_loss_db(site, antenna.plain_dipole(), site.mount("roof mast"))) <= {0.0, 16.0}
    True
    """
    turned = mount.polarization == "vertical"
    lies_flat = (antenna.polarization == "horizontal") != turned
    mine = "horizontal" if lies_flat else "vertical"
    theirs = site.stations["polarization"].to_numpy(object)
    crossed = np.isin(theirs, ["horizontal", "vertical"]) & (theirs != mine)
    outdoors = facts.value("judgement", "cross_polarization_db")
    return np.where(
        crossed, -_filled_in(-outdoors, 10 * np.log10(0.5), scattered_share(mount)), 0.0
    )
