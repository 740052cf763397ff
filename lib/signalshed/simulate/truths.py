"""What nobody at a site knows, drawn from one seed: the truth that readings are made from.

The path to every station is off by what a site, a transmitter place and a station add (sds 4, 8 and
4 dB, as the forecast itself believes), every antenna by its own spread, every mount by its own. Each
number has a random stream of its own, named after what it belongs to: adding a station or an antenna
leaves the others as they were.
"""

import zlib
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from .. import budget, facts, survey
from ..belief.posterior import level_sds_db
from ..site import Site

_NEPER_DB = 10 / np.log(10)
"""dB of a power ratio of e."""


@dataclass(frozen=True)
class Echo:
    """A reflection that the forecast knows nothing of: ``station`` by name also comes from
    ``bearing_deg`` (true), ``over_direct_db`` stronger than it comes straight.
    """

    station: str
    bearing_deg: float
    over_direct_db: float


@dataclass(frozen=True, eq=False)
class Truth:
    """A site and the dB by which everything at it differs from the forecast.

    ``site`` the Site as its owner knows it, before any readings; ``path_db`` (stations,) added to the
    forecast field; ``antenna_db`` and ``mount_db`` by name, added to the gain and to what the mount
    lets through; ``seed`` of the draws; ``echoes`` a tuple of Echo.
    """

    site: Site
    path_db: np.ndarray
    antenna_db: dict
    mount_db: dict
    seed: int
    echoes: tuple = ()

    def margin_db(self, setup):
        """True margin of every station for the median of time, dB: (stations,); NaN as in the survey.

        Parameters: ``setup`` a survey.Setup with a heading.

        >>> from signalshed import survey
        >>> from signalshed.simulate import demo_site
        >>> truth = truth_of(demo_site(), seed=3)
        >>> truth.margin_db(survey.Setup("wire loop", "roof mast", heading_deg=38)).shape
        (18,)
        """
        antenna, mount, _ = survey.parts_of(self.site, setup)
        heading = 0.0 if setup.heading_deg is None else setup.heading_deg
        straight = survey.grid(self.site, [setup], [heading]).margin_db[0, 0]
        forecast = self._with_echoes(setup, heading, straight)
        return forecast + self.path_db + self.antenna_db[antenna.name] + self.mount_db[mount.name]

    def _with_echoes(self, setup, heading_deg, straight_db):
        """Margins with echoes joined in power: an echo comes as the station would, were it there."""
        joined = straight_db.copy()
        for echo in self.echoes:
            i = budget.station_index(self.site, echo.station)
            turned = heading_deg + self.site.stations["bearing_deg"].iloc[i] - echo.bearing_deg
            there = survey.grid(self.site, [setup], [turned % 360]).margin_db[0, 0, i]
            if np.isnan(joined[i]):
                continue
            both = (joined[i] / _NEPER_DB, (there + echo.over_direct_db) / _NEPER_DB)
            joined[i] = _NEPER_DB * np.logaddexp(*both)
        return joined

    def locks(self, setup):
        """Whether each station locks for at least 90 % of the time: (stations,) bools.

        Parameters: ``setup`` a survey.Setup with a heading.

        >>> from signalshed import survey
        >>> from signalshed.simulate import demo_site
        >>> truth = truth_of(demo_site(), seed=3)
        >>> int(truth.locks(survey.Setup("wire loop", "roof mast", heading_deg=38)).sum()) > 2
        True
        """
        _, mount, _ = survey.parts_of(self.site, setup)
        fade = budget.field_at(self.site, mount).fade_db
        return np.nan_to_num(self.margin_db(setup), nan=-np.inf) > fade


def normal(seed, *names):
    """A standard normal number that belongs to ``names``, the same on every machine.

    Parameters: ``seed`` a whole number, 0 or more; ``names`` texts.

    >>> normal(1, "station", "Gazette") == normal(1, "station", "Gazette")
    True
    """
    stream = zlib.crc32("/".join(names).encode())
    return float(ndtri(np.random.default_rng([seed, stream]).random()))


def truth_of(site, seed, echoes=()):
    """A truth for any ``site``, drawn from ``seed`` as widely as the forecast itself believes.

    Parameters: ``site`` a Site; what readings taught it plays no part; ``seed`` a whole number;
    ``echoes`` a sequence of Echo.

    >>> from signalshed.simulate import demo_site
    >>> bool(truth_of(demo_site(), seed=3).path_db.std() > 1)
    True
    """
    site = site if site.belief is None else site.with_belief(None)
    mounts = {name: mount_error_db(site, mount, seed) for name, mount in site.mounts.items()}
    antennas = {
        name: antenna.label_lean_db + _claim_sd_db(antenna) * normal(seed, "antenna", name)
        for name, antenna in site.antennas.items()
    }
    return Truth(site, _path_db(site, seed), antennas, mounts, seed, tuple(echoes))


def _claim_sd_db(antenna):
    """How far what an antenna is said to gain is off; that its owner doubts a label changes nothing."""
    if antenna.label_lean_db:
        return facts.value("judgement", "antenna_typed_sd_db")
    return antenna.spread_db


def mount_error_db(site, mount, seed):
    """By how many dB ``mount`` of ``site`` lets more through than forecast; ``seed`` of the draw.

    >>> from signalshed.simulate import demo_site
    >>> site = demo_site()
    >>> mount_error_db(site, site.mount("roof mast"), 3)
    0.0
    """
    sd = budget.link(site, mount, site.feed(mount.feed)).mount_sd_db
    return float(np.mean(sd)) * normal(seed, "mount", mount.name)


def _path_db(site, seed):
    """Offsets of site, places and signals, (stations,), drawn as belief.Belief believes them.

    Stations that share a channel and a place are one signal.
    """
    belief = budget.prior(site, next(iter(site.mounts.values())))
    site_sd, place_sd, _ = level_sds_db()
    names = site.stations["station"]
    first = names.groupby(belief.place_index).transform("first")
    places = np.array([normal(seed, "place", name) for name in first])
    signal = names.groupby([belief.place_index, site.stations["rf_channel"]]).transform("first")
    stations = np.array([normal(seed, "station", name) for name in signal])
    shared = site_sd * normal(seed, "site") + place_sd * places
    return belief.scale * shared + belief.station_sd_db * stations
