"""Roofs like this one: one set of everything not known, the same for every setup that is compared."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from .. import budget
from ..belief import Unknown
from ..site import read_only

WORLDS = 1024
"""How many roofs; a power of two, since the points are of a Sobol sequence."""
_SEED = 6
"""Its scrambling: proven in the tests, where each chance is held against its closed form."""


@dataclass(frozen=True, eq=False)
class Worlds:
    """Roofs like this one (world,), each with all that is not known drawn: the same for all setups.

    ``heading_share`` (world,) 0 to 1, how far round an antenna that nobody aims happens to lie;
    ``shared_db`` (world, station) what the path does beyond its middle in common with other stations,
    ``alone_db`` (world, station) what it does to one station only, with its standard deviation
    ``alone_sd_db`` (station,) where it is known in closed form, else 0 and all of it in the first;
    ``errors`` (world,) of mounts and antennas by Unknown, in standard deviations.
    """

    heading_share: np.ndarray
    shared_db: np.ndarray
    alone_db: np.ndarray
    alone_sd_db: np.ndarray
    errors: dict

    def __post_init__(self):
        read_only(self)

    def doubt_db(self, received):
        """What is not known of each station's level and common to several: (world, station).

        Path, mount and antenna; others on the air and the load of the line stay at their medians here.
        Parameters: ``received`` a Reception.
        """
        mount = self.errors[Unknown("mount", received.mount.name)][:, None]
        antenna = self.errors[Unknown("antenna", received.antenna.name)][:, None]
        gain_sd = budget.antenna_taught(received.site, received.antenna)[1]
        return self.shared_db + mount * received.link.mount_sd_db + antenna * gain_sd

    def locked(self, received):
        """Whether each station comes for 90 % of the time in every world: (world, station) bools.

        Parameters: ``received`` a Reception.
        """
        margins = received.margins_db - received.fade_db
        if received.aim == "never":
            above = margins[(self.heading_share * len(margins)).astype(int)]
        else:
            above = received.used(margins)
        own = np.hypot(self.alone_sd_db, received.link.floor_sd_db) / np.maximum(
            self.alone_sd_db, 1e-9
        )
        alone = self.alone_db * np.where(self.alone_sd_db > 0, own, 1.0)
        return above + self.doubt_db(received) + alone > 0

    def chance(self, received):
        """The mean over the worlds of each station's chance, its own part in closed form: (station,).

        Where nobody aims, every heading counts in every world. Parameters: ``received`` a Reception.
        """
        margins = received.margins_db - received.fade_db
        rows = margins if received.aim == "never" else received.used(margins)[None]
        doubt = self.doubt_db(received)
        if not self.alone_sd_db.any():
            doubt = doubt + self.alone_db
        sd = np.maximum(np.hypot(self.alone_sd_db, received.link.floor_sd_db), 1e-9)
        chances = [ndtr((row + doubt) / sd).mean(axis=0) for row in rows]
        return np.nan_to_num(np.mean(chances, axis=0))


def worlds(site, setups=()):
    """The worlds of a ``site``, for its own mounts and antennas and those of ``setups``: Worlds.

    1024 points of a scrambled Sobol sequence, the nearest stations first, so that no slider but one of
    places or the list itself reorders them. What readings taught is in.
    Parameters: ``site`` a Site; ``setups`` of Setup, where they hold what the site does not.

    >>> from signalshed import simulate
    >>> worlds(simulate.demo_site()).shared_db.shape
    (1024, 18)
    """
    parts = [budget.parts_of(site, setup) for setup in setups]
    mounts = {**site.mounts, **{mount.name: mount for _, mount, _ in parts}}
    antennas = {**site.antennas, **{antenna.name: antenna for antenna, _, _ in parts}}
    names = [Unknown("mount", name) for name in mounts]
    names += [Unknown("antenna", name) for name in antennas]
    first = next(iter(mounts.values()))
    key = ("worlds", first, tuple(names))
    return site.remembered(key, lambda: _worlds(site, first, names), _ON)


_ON = ("place", "stations", "tiles", "clutter_m", "land", "belief")
"""What the worlds hang on, beside the names of mounts and antennas."""


def _worlds(site, mount, names):
    from scipy.stats import qmc  # takes half a second to load, and only rankings need it

    belief = site.belief or budget.prior(site, mount)
    first = 2 + int(belief.place_index.max()) + 1
    read = 0 if belief.observations is None else 2 * belief.observations.station.size
    wide = first + len(names) + belief.path_sd_db.size + read
    share = qmc.Sobol(wide, seed=np.random.default_rng(_SEED)).random(WORLDS)
    share = np.clip(share, 2.0**-33, 1 - 2.0**-33)
    heading, path, known, alone = np.split(share, [1, first, first + len(names)], axis=1)
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
    far = site.stations["distance_km"].to_numpy(float)
    places = np.full(int(belief.place_index.max()) + 1, np.inf)
    np.minimum.at(places, belief.place_index, far)
    return [np.argsort(np.argsort(each, kind="stable")) for each in (places, far)]


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
