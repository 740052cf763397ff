"""What readings teach about the path to each station: an exact update without a sampler.

The path forecast of station i is wrong by an offset on three levels,

    offset_i = scale_i (site + place_k + station_i) + own_i,   sds 4, 8, 4 dB (facts table judgement),

scaled so that the squares sum to the station's path sd; ``own_i`` is extra ignorance about one
station alone (missing power or height). A reading says that offset plus noise has a value or lies
in a bracket; whole groups of readings may share one more unknown (the loss of a mount, the zero of
a meter that never lost lock, the gain of the antenna they were made with).
"""

from dataclasses import dataclass, field, replace

import numpy as np

from ..units import check, settle
from .posterior import Posterior, level_sds_db

MOST_GROUPS = 3
_EACH = ("station", "low_db", "high_db", "sd_db", "wild", "times")


@dataclass(frozen=True)
class Unknown:
    """One thing not known that many levels share: ``kind`` (mount, antenna, meter), ``name``, ``sd_db``.

    Two of one kind and name are the same thing, however surely each is known.

    >>> Unknown("mount", "attic", 7.0) == Unknown("mount", "attic")
    True
    """

    kind: str
    name: str
    sd_db: float = field(default=0.0, compare=False)


@dataclass(frozen=True, eq=False)
class Observations:
    """Readings at a site, as constraints on the true margin minus the forecast margin, in dB.

    ``station`` (r,) positions in the station list; ``low_db``, ``high_db`` (r,) the bracket: equal for
    a measured value, ``high_db`` inf for "at least", ``low_db`` -inf for "less than"; ``sd_db`` (r,)
    or one number: one standard deviation of the reading's own error, 0.2 dB or more. ``groups`` are
    the Unknowns that readings share (at most three) and ``member`` (r, groups) tells which readings
    hold them. ``wild`` (r,) or one number: the chance that the reading is of something else, 0 to
    below 1; ``times`` (r,) how many readings say the very same.

    >>> Observations([0, 2], [3.0, 6.0], [3.0, np.inf], 1.5).station.tolist()
    [0, 2]
    """

    station: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray
    sd_db: np.ndarray
    groups: tuple = ()
    member: np.ndarray | None = None
    wild: np.ndarray = 0.0
    times: np.ndarray = 1.0

    def __post_init__(self):
        station = np.atleast_1d(np.asarray(self.station)).astype(int)
        shape = station.shape
        low = _ends("low_db", self.low_db, shape)
        high = _ends("high_db", self.high_db, shape)
        sd = np.broadcast_to(check("sd_db", self.sd_db, low=0.2), shape)
        if np.any(low > high):
            first = int(np.argmax(low > high))
            raise ValueError(f"low_db {low[first]:g} is above high_db {high[first]:g}.")
        if len(self.groups) > MOST_GROUPS:
            raise ValueError(f"groups are {len(self.groups)}; at most {MOST_GROUPS} can be shared.")
        member = np.zeros((*shape, len(self.groups)), bool) if self.member is None else self.member
        member = np.asarray(member, bool)
        if member.shape != (*shape, len(self.groups)):
            raise ValueError(f"member has shape {member.shape}; it must be readings by groups.")
        known = np.isfinite(low) | np.isfinite(high)
        wild = np.broadcast_to(check("wild", self.wild, low=0, high=0.999), shape)
        times = np.broadcast_to(check("times", self.times, low=1), shape)
        told = {"station": station, "low_db": low, "high_db": high, "sd_db": sd, "member": member}
        told |= {"wild": wild, "times": times}
        kept = {name: array[known] for name, array in told.items()}
        settle(self, groups=tuple(self.groups), **kept)

    def joined(self, other):
        """These readings and ``other`` (Observations) together; unknowns of one name are one.

        >>> one = Observations([0], [3.0], [3.0], 1.5)
        >>> one.joined(one).station.tolist()
        [0, 0]
        """
        groups = tuple(dict.fromkeys(self.groups + other.groups))
        member = [_columns(o, groups) for o in (self, other)]
        joined = {k: np.concatenate([getattr(self, k), getattr(other, k)]) for k in _EACH}
        return Observations(**joined, groups=groups, member=np.concatenate(member))

    def of(self, which):
        """The readings at the positions ``which``, (k,)."""
        kept = {k: getattr(self, k)[which] for k in (*_EACH, "member")}
        return Observations(**kept, groups=self.groups)

    def condensed(self):
        """These readings with those that say the very same as one, which counts so many ``times``.

        >>> Observations([0, 0, 1], 3.0, 3.0, 1.5).condensed().times.tolist()
        [2.0, 1.0]
        """
        rows = np.column_stack([getattr(self, k) for k in _EACH[:-1]] + [self.member])
        _, first, which = np.unique(rows, axis=0, return_index=True, return_inverse=True)
        if first.size == self.times.size:
            return self
        times = np.bincount(which.ravel(), self.times)
        return replace(self.of(first), times=times)


def _ends(name, value, shape):
    array = np.asarray(value, dtype=float)
    if np.isnan(array).any():
        raise ValueError(f"{name} is nan; use -inf or inf for an open end.")
    return np.broadcast_to(array, shape)


def _columns(observations, groups):
    member = np.zeros((observations.station.size, len(groups)), bool)
    for column, group in enumerate(observations.groups):
        member[:, groups.index(group)] = observations.member[:, column]
    return member


@dataclass(frozen=True, eq=False)
class Belief:
    """What is believed of every station's path offset, before or after readings.

    Made by ``Belief.prior``, sharpened by ``updated``. Stations are positions 0 to n-1.
    Fields, one per station: ``path_sd_db`` and ``own_sd_db`` as in ``prior``; ``place_index`` numbers
    the transmitter places; ``same_as`` is the first station on the same transmission; ``observations``
    all that was taken in, or None.
    """

    path_sd_db: np.ndarray
    place_index: np.ndarray
    own_sd_db: np.ndarray
    same_as: np.ndarray
    observations: Observations | None = None
    _posterior: object = field(default=None, repr=False)

    @classmethod
    def prior(cls, path_sd_db, place_index, own_sd_db=0.0, signal_index=None):
        """The belief before any reading.

        Parameters: ``path_sd_db`` (n,) sd of each station's path forecast, above 0; ``place_index``
        (n,) equal for stations at one transmitter place; ``own_sd_db`` (n,) or one number: extra sd
        of a station alone (its power or height is missing), 0 or more; ``signal_index`` (n,) equal for
        stations that share one transmission, None where each has its own.

        >>> Belief.prior([10, 10, 8], [0, 0, 1]).sd_db().tolist()
        [10.0, 10.0, 8.0]
        """
        sd = np.atleast_1d(check("path_sd_db", path_sd_db, above=0))
        place = np.atleast_1d(np.asarray(place_index))
        if place.shape != sd.shape:
            raise ValueError(f"place_index has shape {place.shape}; path_sd_db has {sd.shape}.")
        own = np.broadcast_to(check("own_sd_db", own_sd_db, low=0), sd.shape)
        signal = np.arange(sd.size) if signal_index is None else np.asarray(signal_index)
        _, first, group = np.unique(signal, return_index=True, return_inverse=True)
        return cls(sd, np.unique(place, return_inverse=True)[1], own, first[group])

    @property
    def scale(self):
        """Factor (n,) on the three levels that makes their squares sum to the path sd."""
        return self.path_sd_db / np.linalg.norm(level_sds_db())

    @property
    def station_sd_db(self):
        """Sd (n,) of what belongs to one station alone, dB."""
        return np.hypot(self.scale * level_sds_db()[2], self.own_sd_db)

    def updated(self, observations):
        """The belief after ``observations`` (Observations), earlier ones included.

        >>> before = Belief.prior([10, 10, 10], [0, 0, 1])
        >>> after = before.updated(Observations([0], [6.0], [6.0], 2.0))
        >>> after.mean_db().round(1).tolist()
        [5.8, 4.8, 1.0]
        """
        n = self.path_sd_db.size
        if np.any((observations.station < 0) | (observations.station >= n)):
            raise ValueError(f"station must be a position from 0 to {n - 1}.")
        observations = replace(observations, station=self.same_as[observations.station])
        if self.observations is not None:
            observations = self.observations.joined(observations)
        if not observations.station.size:
            return replace(self, observations=None, _posterior=None)
        return replace(self, observations=observations, _posterior=Posterior(self, observations))

    def mean_db(self):
        """Expected path offset, dB, one per station: add it to the forecast margin.

        >>> Belief.prior([10], [0]).mean_db().tolist()
        [0.0]
        """
        post = self._posterior
        mean = np.zeros(self.path_sd_db.size) if post is None else post.mean_db
        return mean[self.same_as]

    def sd_db(self):
        """One standard deviation of the path offset, dB, one per station.

        >>> Belief.prior([8], [0]).sd_db().tolist()
        [8.0]
        """
        post = self._posterior
        sd = np.hypot(self.path_sd_db, self.own_sd_db) if post is None else post.sd_db
        return sd[self.same_as]

    def joint_sd_db(self, unknowns):
        """One standard deviation of the path offset and shared unknowns added up, dB, per station.

        Readings made with one antenna tell its gain and the path together better than either: what
        the path is thought to bring too much, the antenna brings too little, and the sum is surer than
        two independent doubts would leave it.
        Parameters: ``unknowns`` a dict from Unknown to the sd that is left, dB, a number or (n,); those
        without readings are independent of the path.

        >>> loop = Unknown("antenna", "loop", 3.0)
        >>> taught = Belief.prior([10], [0]).updated(Observations([0], 6.0, 6.0, 1.0, (loop,), [[1]]))
        >>> left = {loop: taught.groups()[loop][1]}
        >>> taught.joint_sd_db(left).round(1).tolist(), taught.sd_db().round(1).tolist()
        ([1.0], [3.0])
        """
        own = self.sd_db()
        sds = np.array([np.broadcast_to(sd, own.shape) for sd in (own, *unknowns.values())])
        variance = np.einsum("in,nij,jn->n", sds, self._correlation(list(unknowns)), sds)
        return np.sqrt(np.maximum(variance, 0))

    def _correlation(self, unknowns):
        """Correlations (n, 1 + unknowns, 1 + unknowns) of each station's offset and the unknowns."""
        learned = list(self.observations.groups) if self._posterior else []
        out = np.tile(np.eye(1 + len(unknowns)), (self.path_sd_db.size, 1, 1))
        at = [0, *(1 + k for k, each in enumerate(unknowns) if each in learned)]
        of = [0, *(1 + learned.index(each) for each in unknowns if each in learned)]
        if self._posterior:
            known = self._posterior.correlation[self.same_as]
            out[:, np.array(at)[:, None], at] = known[:, np.array(of)[:, None], of]
        return out

    def draws(self, count=1000, rng=None):
        """Joint draws of path offsets and shared unknowns: (count, n) in dB, and a dict of (count,).

        Parameters: ``count`` draws, 1 or more; ``rng`` a numpy.random.Generator (None: one with seed 0,
        so that a picture stays the same). The dict holds draws by Unknown; those that no reading taught
        anything of are left out.

        >>> offsets, unknowns = Belief.prior([10, 10], [0, 0]).draws(count=5)
        >>> offsets.shape, unknowns
        ((5, 2), {})
        """
        count = int(check("count", count, low=1, high=10_000_000))
        rng = np.random.default_rng(0) if rng is None else rng
        if self._posterior is not None:
            offsets, unknowns = self._posterior.draws(count, rng)
            named = zip(self.observations.groups, unknowns.T, strict=True)
            return offsets[:, self.same_as], dict(named)
        shared, alone = self.apart(count, rng)
        return shared + alone, {}

    def apart(self, count, rng):
        """Draws of what stations share, and of what is each one's own, before readings: (count, n) dB.

        Parameters: ``count`` draws; ``rng`` a numpy.random.Generator.
        """
        site, place, _ = level_sds_db()
        shared = site * rng.standard_normal((count, 1))
        places = place * rng.standard_normal((count, self.place_index.max(initial=-1) + 1))
        alone = self.station_sd_db * rng.standard_normal((count, self.path_sd_db.size))
        shared = self.scale * (shared + places[:, self.place_index])
        return shared[:, self.same_as], alone[:, self.same_as]

    def groups(self):
        """What was learned of the shared unknowns: a dict of Unknown to (mean_db, sd_db).

        >>> Belief.prior([10], [0]).groups()
        {}
        """
        if self._posterior is None:
            return {}
        moments = zip(*self._posterior.group_moments(), strict=True)
        pairs = zip(self.observations.groups, moments, strict=True)
        return {group: (float(m), float(s)) for group, (m, s) in pairs}

    def taught(self, kind, name):
        """What was learned of one shared unknown: its mean_db, and the sd_db that is left (else inf).

        Parameters: ``kind`` as mount or antenna; ``name`` of it.

        >>> Belief.prior([10], [0]).taught("mount", "attic")
        (0.0, inf)
        """
        return self.groups().get(Unknown(kind, name), (0.0, np.inf))
