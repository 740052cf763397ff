"""Roofs like this one: one set of everything not known, the same for every setup that is compared."""

import functools
import zlib
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from ..belief import Unknown
from ..site import Mount, Site, check_site, read_only
from .gain import antenna_taught
from .link import prior

WORLDS = 1024
"""How many roofs; a power of two, since the points are of a Sobol sequence."""
FEW = 64
"""How many of them a search among headings looks at."""
_SEED = 6
"""Its scrambling: proven in the tests, where each chance is held against its closed form."""


@dataclass(frozen=True, eq=False)
class Worlds:
    """Roofs like this one (world,), each with all that is not known drawn: the same for all setups.

    ``heading_share`` (world,) 0 to 1, how far round an antenna that nobody aims happens to lie;
    ``shared_db`` (world, station) what the path does beyond its middle in common with other stations,
    ``alone_db`` (world, station) what it does to one station only, with its standard deviation
    ``alone_sd_db`` (station,) where it is known in closed form, else 0 and all of it in the first;
    ``errors`` (world,) of mounts, antennas, tuner and the noise of the street by Unknown, in standard
    deviations.
    """

    heading_share: np.ndarray
    shared_db: np.ndarray
    alone_db: np.ndarray
    alone_sd_db: np.ndarray
    errors: dict

    def __post_init__(self):
        read_only(self)

    @functools.cached_property
    def few(self):
        """The first of these worlds, for a search: a Sobol set of their own, Worlds."""
        errors = {unknown: drawn[:FEW] for unknown, drawn in self.errors.items()}
        own = (self.alone_db[:FEW], self.alone_sd_db)
        return Worlds(self.heading_share[:FEW], self.shared_db[:FEW], *own, errors)

    def of(self, kind, name):
        """The error of one shared unknown in every world, in standard deviations: (world,).

        Parameters: ``kind`` and ``name`` as of an Unknown.
        """
        unknown = Unknown(kind, name)
        if unknown not in self.errors:
            unknown = Unknown(kind, _OTHER.format(zlib.crc32(name.encode()) % _OTHERS))
        return self.errors[unknown]

    def doubt_db(self, received):
        """What is not known of each station's level over noise and common to several: (world, station).

        Path, mount, antenna and the noise of the street. Parameters: ``received`` a Reception.
        """
        noise = self.of("noise", "street")[:, None] * received.link.noise_sd_db
        return self.level_doubt_db(received) - noise

    def level_doubt_db(self, received):
        """The same of its level alone: (world, station). Parameters: ``received`` a Reception."""
        mount = self.of("mount", received.mount.name)[:, None]
        antenna = self.of("antenna", received.antenna.name)[:, None]
        gain_sd = antenna_taught(received.site, received.antenna)[1]
        return self.shared_db + mount * received.link.mount_sd_db + antenna * gain_sd

    def headings(self, received):
        """Row of the heading in every world of an antenna that nobody aims: (world,).

        Parameters: ``received`` a Reception.
        """
        return (self.heading_share * len(received.headings_deg)).astype(int)


def worlds(site: Site, mount: Mount | None = None) -> Worlds:
    """The worlds of a site: all that is not known, drawn.

    1024 points of a scrambled Sobol sequence, the nearest stations first, so that no slider but one of
    places or the list itself reorders them. What readings taught is in. Mounts and antennas that the
    site does not hold are drawn as well, eight of each apart.

    Parameters
    ----------
    site
    mount
        Where the site holds none.

    Returns
    -------
    Worlds

    Examples
    --------
    >>> from signalshed import simulate
    >>> worlds(simulate.demo_site()).shared_db.shape
    (1024, 18)
    """
    check_site(site)
    known = {"mount": tuple(site.mounts), "antenna": tuple(site.antennas)}
    first = next(iter(site.mounts.values()), mount)
    key = ("worlds", first, *known.values())
    return site.remembered(key, lambda: _worlds(site, first, known), _ON)


_OTHER, _OTHERS = "other {}", 8
"""What stands in for the name of a thing that the site does not hold, and how many there are."""
_ON = ("place", "stations", "tiles", "clutter_m", "land", "belief")
"""What the worlds hang on, beside the names of mounts and antennas."""


def _worlds(site, mount, known):
    from scipy.stats import qmc  # takes half a second to load

    names = [Unknown("noise", "street"), Unknown("tuner", "selectivity"), Unknown("tuner", "limit")]
    for kind, held in known.items():
        names += [Unknown(kind, name) for name in (*held, *map(_OTHER.format, range(_OTHERS)))]
    belief = site.belief or prior(site, mount)
    first = 2 + int(belief.place_index.max(initial=-1)) + 1
    read = 0 if belief.observations is None else 2 * belief.observations.station.size
    alike = belief.path_sd_db.size + read
    wide = first + len(names) + alike
    share = qmc.Sobol(wide, seed=np.random.default_rng(_SEED)).random(WORLDS)
    share = np.clip(share, 2.0**-33, 1 - 2.0**-33)
    heading, path, alone, known = np.split(share, [1, first, first + alike], axis=1)
    errors = dict(zip(names, ndtri(known).T, strict=True))
    columns = _Columns(np.hstack([path, alone]), _near_first(site, belief))
    shared, alone, sd, taught = _path(belief, columns)
    for unknown in errors.keys() & taught.keys():
        drawn = taught[unknown]
        errors[unknown] = (drawn - drawn.mean()) / drawn.std()
    return Worlds(heading.ravel(), shared, alone, sd, errors)


def _path(belief, columns):
    """What the path does beyond its middle: shared, alone, sd of the second, and Unknowns with it."""
    if belief.observations is not None:
        offsets, known = belief.draws(WORLDS, columns)
        return offsets - belief.mean_db(), np.zeros((1, 1)), np.zeros(1), known
    return *belief.apart(WORLDS, columns), belief.station_sd_db[belief.same_as], {}


def _near_first(site, belief):
    """Rank by distance of each place and of each station."""
    far, freq = (site.stations[name].to_numpy(float) for name in ("distance_km", "freq_mhz"))
    places = np.full(int(belief.place_index.max(initial=-1)) + 1, np.inf)
    np.minimum.at(places, belief.place_index, far)
    orders = np.argsort(places, kind="stable"), np.lexsort((freq, far))
    return [np.argsort(order) for order in orders]


class _Columns:
    """Stands in for a numpy.random.Generator and hands out the columns of a Sobol set in order."""

    def __init__(self, share, orders):
        self._share, self._orders, self._next = share, orders, 0

    def _take(self, count):
        self._next += count
        return self._share[:, self._next - count : self._next]

    def standard_normal(self, size):
        """Normal numbers (world, size[1]); of places, then of stations, the nearest first."""
        drawn = ndtri(self._take(size[1]))
        fitting = [k for k, order in enumerate(self._orders) if order.size == size[1] > 1]
        return drawn[:, self._orders.pop(fitting[0])] if fitting else drawn

    def random(self, size):
        """Numbers from 0 to 1, (size,)."""
        return self._take(1).ravel()

    def choice(self, many, size, p):
        """Which of ``many`` cells, by its probability ``p``: (size,)."""
        at = np.searchsorted(np.cumsum(p), self._take(1).ravel() * p.sum())
        return np.minimum(at, many - 1)
