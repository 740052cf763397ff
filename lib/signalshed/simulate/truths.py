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
from ..site import Site


@dataclass(frozen=True, eq=False)
class Truth:
    """A site and the dB by which everything at it differs from the forecast.

    ``site`` the Site as its owner knows it, before any readings; ``path_db`` (stations,) added to the
    forecast field; ``antenna_db`` and ``mount_db`` by name, added to the gain and to what the mount
    lets through; ``seed`` of the draws.
    """

    site: Site
    path_db: np.ndarray
    antenna_db: dict
    mount_db: dict
    seed: int

    def margin_db(self, setup):
        """True spare dB of every station for the median of time: (stations,); NaN as in the survey.

        Parameters: ``setup`` a survey.Setup with a heading.

        >>> from signalshed import survey
        >>> from signalshed.simulate import demo_site
        >>> truth = truth_of(demo_site(), seed=3)
        >>> truth.margin_db(survey.Setup("wire loop", "roof mast", heading_deg=38)).shape
        (18,)
        """
        antenna, mount, _ = survey.parts_of(self.site, setup)
        heading = 0.0 if setup.heading_deg is None else setup.heading_deg
        forecast = survey.grid(self.site, [setup], [heading]).margin_db[0, 0]
        return forecast + self.path_db + self.antenna_db[antenna.name] + self.mount_db[mount.name]

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


def truth_of(site, seed):
    """A truth for any ``site``, drawn from ``seed`` as widely as the forecast itself believes.

    Parameters: ``site`` a Site; what readings taught it plays no part; ``seed`` a whole number.

    >>> from signalshed.simulate import demo_site
    >>> bool(truth_of(demo_site(), seed=3).path_db.std() > 1)
    True
    """
    site = site if site.belief is None else site.with_belief(None)
    mounts = {name: mount_error_db(site, mount, seed) for name, mount in site.mounts.items()}
    antennas = {
        name: antenna.spread_db * normal(seed, "antenna", name)
        for name, antenna in site.antennas.items()
    }
    return Truth(site, _path_db(site, seed), antennas, mounts, seed)


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
    """Offsets of site, places and signals, (stations,), drawn as site.Belief believes them.

    Stations that share a channel and a place are one signal.
    """
    belief = budget.prior(site, next(iter(site.mounts.values())))
    site_sd, place_sd = (facts.value("judgement", f"{k}_sd_db") for k in ("site", "place"))
    names = site.stations["station"]
    first = names.groupby(belief.place_index).transform("first")
    places = np.array([normal(seed, "place", name) for name in first])
    signal = names.groupby([belief.place_index, site.stations["rf_channel"]]).transform("first")
    stations = np.array([normal(seed, "station", name) for name in signal])
    shared = site_sd * normal(seed, "site") + place_sd * places
    return belief.scale * shared + belief.station_sd_db * stations
