"""What readings teach about the path to each station: an exact update without a sampler.

The path forecast of station i is wrong by an offset on three levels,

    offset_i = scale_i (site + place_k + station_i) + own_i,   sds 4, 8, 4 dB (facts table judgement),

scaled so that the squares sum to the station's path sd; ``own_i`` is extra ignorance about one
station alone (missing power or height). A reading says that offset plus noise has a value or lies
in a bracket; whole groups of readings may share one more unknown (the loss of a mount, the zero of
a meter that never lost lock, the gain of the antenna they were made with).

Given site and shared unknowns, places are independent; given the place, stations are. So the
posterior is nested one-dimensional sums, taken on even lattices, where a sum of a smooth peak is
exact to many digits as long as the step stays below the peak's own sd. Every level is one matrix
product. The shared unknowns are summed on a lattice turned and sized by the posterior's mode and
curvature (every likelihood here is log-concave, so Newton finds it).
"""

import functools
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import log_ndtr

from .. import facts
from ..units import check

TINY = 1e-290
MOST_GROUPS = 3


@functools.cache
def _level_sds_db():
    """Prior sds of site, place and station, dB, before scaling."""
    return tuple(facts.value("judgement", f"{k}_sd_db") for k in ("site", "place", "station"))


@dataclass(frozen=True)
class Group:
    """One unknown shared by a group of readings: its ``name`` and prior ``sd_db`` (mean 0)."""

    name: str
    sd_db: float


@dataclass(frozen=True, eq=False)
class Observations:
    """Readings at a site, as constraints on the true margin minus the forecast margin, in dB.

    ``station`` (r,) positions in the station list; ``low_db``, ``high_db`` (r,) the bracket: equal for
    a measured value, ``high_db`` inf for "at least", ``low_db`` -inf for "less than"; ``sd_db`` (r,)
    or one number: one standard deviation of the reading's own error, 0.2 dB or more. ``groups`` are
    the shared unknowns (at most three) and ``member`` (r, groups) tells which readings hold them.

    >>> Observations([0, 2], [3.0, 6.0], [3.0, np.inf], 1.5).station.tolist()
    [0, 2]
    """

    station: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray
    sd_db: np.ndarray
    groups: tuple = ()
    member: np.ndarray | None = None

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
        for name, array in (
            ("station", station[known]),
            ("low_db", low[known]),
            ("high_db", high[known]),
            ("sd_db", sd[known]),
            ("member", member[known]),
        ):
            object.__setattr__(self, name, array)
        object.__setattr__(self, "groups", tuple(self.groups))

    def joined(self, other):
        """These readings and ``other`` (Observations) together; groups of one name are one group.

        >>> one = Observations([0], [3.0], [3.0], 1.5)
        >>> one.joined(one).station.tolist()
        [0, 0]
        """
        groups = tuple(dict.fromkeys(self.groups + other.groups))
        member = [_columns(o, groups) for o in (self, other)]
        names = ("station", "low_db", "high_db", "sd_db")
        arrays = [np.concatenate([getattr(self, k), getattr(other, k)]) for k in names]
        return Observations(*arrays, groups, np.concatenate(member))


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

    Made by ``Belief.prior``, sharpened by ``updated``. Stations are positions 0 to n-1; where a method
    takes ``stations``, None means all, otherwise positions or a DataFrame whose index holds them.
    """

    path_sd_db: np.ndarray
    place_index: np.ndarray
    own_sd_db: np.ndarray
    observations: Observations | None = None
    _posterior: object = field(default=None, repr=False)

    @classmethod
    def prior(cls, path_sd_db, place_index, own_sd_db=0.0):
        """The belief before any reading.

        Parameters: ``path_sd_db`` (n,) sd of each station's path forecast, above 0; ``place_index``
        (n,) equal for stations at one transmitter place; ``own_sd_db`` (n,) or one number: extra sd
        of a station alone (its power or height is missing), 0 or more.

        >>> Belief.prior([10, 10, 8], [0, 0, 1]).sd_db().tolist()
        [10.0, 10.0, 8.0]
        """
        sd = np.atleast_1d(check("path_sd_db", path_sd_db, above=0))
        place = np.atleast_1d(np.asarray(place_index))
        if place.shape != sd.shape:
            raise ValueError(f"place_index has shape {place.shape}; path_sd_db has {sd.shape}.")
        own = np.broadcast_to(check("own_sd_db", own_sd_db, low=0), sd.shape)
        return cls(sd, np.unique(place, return_inverse=True)[1], own)

    @property
    def scale(self):
        """Factor (n,) on the three levels that makes their squares sum to the path sd."""
        return self.path_sd_db / np.linalg.norm(_level_sds_db())

    @property
    def station_sd_db(self):
        """Sd (n,) of what belongs to one station alone, dB."""
        return np.hypot(self.scale * _level_sds_db()[2], self.own_sd_db)

    def updated(self, observations):
        """The belief after ``observations`` (Observations), earlier ones included.

        >>> before = Belief.prior([10, 10, 10], [0, 0, 1])
        >>> after = before.updated(Observations([0], [6.0], [6.0], 2.0))
        >>> after.mean_db().round(1).tolist()
        [5.8, 4.8, 1.0]
        """
        if observations.station.size and not (
            0 <= observations.station.min() and observations.station.max() < self.path_sd_db.size
        ):
            raise ValueError(f"station must be a position from 0 to {self.path_sd_db.size - 1}.")
        if self.observations is not None:
            observations = self.observations.joined(observations)
        if not observations.station.size:
            return replace(self, observations=None, _posterior=None)
        return replace(self, observations=observations, _posterior=_Posterior(self, observations))

    def mean_db(self, stations=None):
        """Expected path offset, dB, one per station: add it to the forecast margin.

        Parameters: ``stations`` None for all, positions, or a DataFrame indexed by position.

        >>> Belief.prior([10], [0]).mean_db().tolist()
        [0.0]
        """
        post = self._posterior
        mean = np.zeros(self.path_sd_db.size) if post is None else post.mean_db.copy()
        return mean[_positions(stations)]

    def sd_db(self, stations=None):
        """One standard deviation of the path offset, dB, one per station.

        Parameters: ``stations`` None for all, positions, or a DataFrame indexed by position.

        >>> Belief.prior([8], [0]).sd_db().tolist()
        [8.0]
        """
        post = self._posterior
        sd = np.hypot(self.path_sd_db, self.own_sd_db) if post is None else post.sd_db.copy()
        return sd[_positions(stations)]

    def offsets(self, stations=None, count=1000, rng=None):
        """Joint draws of the path offsets, (count, stations) in dB.

        Parameters: ``stations`` as in ``mean_db``; ``count`` draws, 1 or more; ``rng`` a
        numpy.random.Generator (None: one with seed 0, so that a picture stays the same).

        >>> Belief.prior([10, 10], [0, 0]).offsets(count=5).shape
        (5, 2)
        """
        count = int(check("count", count, low=1, high=10_000_000))
        rng = np.random.default_rng(0) if rng is None else rng
        if self._posterior is not None:
            return self._posterior.draws(count, rng)[:, _positions(stations)]
        site, place, _ = _level_sds_db()
        shared = site * rng.standard_normal((count, 1))
        places = place * rng.standard_normal((count, self.place_index.max() + 1))
        alone = self.station_sd_db * rng.standard_normal((count, self.path_sd_db.size))
        return (self.scale * (shared + places[:, self.place_index]) + alone)[
            :, _positions(stations)
        ]

    def groups(self):
        """What was learned of the shared unknowns: a dict of name to (mean_db, sd_db).

        >>> Belief.prior([10], [0]).groups()
        {}
        """
        if self._posterior is None:
            return {}
        names = [g.name for g in self.observations.groups]
        moments = zip(*self._posterior.group_moments(), strict=True)
        return {k: (float(m), float(s)) for k, (m, s) in zip(names, moments, strict=True)}


def _positions(stations):
    if stations is None:
        return slice(None)
    return np.asarray(getattr(stations, "index", stations))


def _log_likelihood(low_db, high_db, sd_db, x_db):
    """Log probability of each reading (r, 1) given the offset ``x_db`` (.., X): (r, X)."""
    value = low_db == high_db
    out = np.empty(np.broadcast_shapes(low_db.shape, x_db.shape))
    v = value[:, 0]
    x = np.broadcast_to(x_db, out.shape)
    out[v] = -0.5 * ((low_db[v] - x[v]) / sd_db[v]) ** 2
    low = (low_db[~v] - x[~v]) / sd_db[~v]
    high = (high_db[~v] - x[~v]) / sd_db[~v]
    # The bracket's probability, taken on the side where both ends are small.
    flip = low + high > 0
    low, high = np.where(flip, -high, low), np.where(flip, -low, high)
    log_high = log_ndtr(high)
    out[~v] = log_high + np.log1p(-np.exp(np.minimum(log_ndtr(low) - log_high, -1e-12)))
    return out


def _slopes(low_db, high_db, sd_db, x_db, step=1e-3):
    """First derivative and (positive) curvature of minus the log likelihood at ``x_db`` (r,)."""
    at = x_db[:, None] + step * np.array([-1.0, 0.0, 1.0])
    table = _log_likelihood(low_db[:, None], high_db[:, None], sd_db[:, None], at)
    first = (table[:, 2] - table[:, 0]) / (2 * step)
    second = (table[:, 2] - 2 * table[:, 1] + table[:, 0]) / step**2
    return first, np.clip(-second, 0.0, 1.0 / sd_db**2)


class _Mode:
    """Mode and curvature of the joint posterior of site, places, stations read and groups."""

    def __init__(self, belief, obs, read, row, places, place_of):
        site, place, _ = _level_sds_db()
        scale, n, k = belief.scale[read], read.size, places.size
        design = np.zeros((row.size, 1 + k + n + len(obs.groups)))
        design[:, 0] = site * scale[row]
        design[np.arange(row.size), 1 + place_of[row]] = place * scale[row]
        design[np.arange(row.size), 1 + k + row] = belief.station_sd_db[read][row]
        design[:, 1 + k + n :] = obs.member * [g.sd_db for g in obs.groups]
        z = np.zeros(design.shape[1])
        for _ in range(50):
            first, curvature = _slopes(obs.low_db, obs.high_db, obs.sd_db, design @ z)
            precision = np.eye(z.size) + design.T @ (curvature[:, None] * design)
            move = np.linalg.solve(precision, design.T @ first - z)
            z = z + move * min(1.0, 2.0 / (np.abs(move).max() + 1e-9))
            if np.abs(move).max() < 1e-3:
                break
        sds = np.array([g.sd_db for g in obs.groups])
        inside = np.linalg.inv(precision)[1 + k + n :, 1 + k + n :]
        self.group_db = z[1 + k + n :] * sds
        self.group_cov = inside * np.outer(sds, sds)
        sharp = np.bincount(row, curvature, minlength=n)
        self.narrowest_db = 1 / np.sqrt(max(sharp.max(), 1e-6))


class _Posterior:
    """The nested sums: nodes of the shared unknowns, then site, then places, then stations."""

    def __init__(self, belief, obs):
        self.belief, self.obs = belief, obs
        self.read, row = np.unique(obs.station, return_inverse=True)
        order = np.argsort(belief.place_index[self.read], kind="stable")
        self.read, row = self.read[order], np.argsort(order)[row]
        self.places, self.place_of = np.unique(belief.place_index[self.read], return_inverse=True)
        mode = _Mode(belief, obs, self.read, row, self.places, self.place_of)
        self._lattices(mode)
        self._nodes(mode)
        self._tables(row)
        self._forward()
        self._moments()

    def _lattices(self, mode):
        """Even lattices: ``site`` and ``level`` = site + place before scaling; ``x`` the offset."""
        site, place, station = _level_sds_db()
        crowd = np.bincount(self.place_of).max()
        step = min(1.0, station / np.sqrt(crowd))
        self.site = step * np.arange(-round(4.5 * site / step), round(4.5 * site / step) + 1)
        ends = round(4.5 * (site + place) / step)
        self.level = step * np.arange(-ends, ends + 1)
        self.log_site = -0.5 * (self.site / site) ** 2
        self.reach = np.exp(-0.5 * ((self.level[:, None] - self.site) / place) ** 2)
        spread = np.hypot(self.belief.path_sd_db, self.belief.own_sd_db)[self.read].max()
        self.step = float(np.clip(mode.narrowest_db, 0.02, 0.5))
        self.half = int(np.ceil(6 * spread / self.step))
        self.x = self.step * np.arange(-self.half, self.half + 1)
        sds = np.stack([self.belief.scale, self.belief.station_sd_db], 1)[self.read]
        kinds, self.kind = np.unique(sds.round(6), axis=0, return_inverse=True)
        self.kind = self.kind.ravel()
        self.kernel = [
            np.exp(-0.5 * ((self.x[:, None] - s * self.level) / sd) ** 2) for s, sd in kinds
        ]

    def _nodes(self, mode):
        """Lattice of the shared unknowns, (nodes, groups) in dB, turned along their covariance."""
        groups = self.obs.groups
        if not groups:
            self.node_db, self.log_node = np.zeros((1, 0)), np.zeros(1)
            return
        axis = 0.9 * np.arange(-6, 7)
        z = np.stack(np.meshgrid(*[axis] * len(groups), indexing="ij"), -1)
        z = z.reshape(-1, len(groups))
        z = z[np.linalg.norm(z, axis=1) <= 5.5]
        self.node_db = mode.group_db + z @ np.linalg.cholesky(mode.group_cov).T
        sds = np.array([g.sd_db for g in groups])
        self.log_node = -0.5 * ((self.node_db / sds) ** 2).sum(axis=1)

    def _tables(self, row):
        """Log likelihood of the offset, one line per station and set of shared unknowns."""
        obs, fine = self.obs, 1 if not self.obs.groups else 5
        code = row * 2 ** len(obs.groups) + obs.member @ (2 ** np.arange(len(obs.groups)))
        lines, line = np.unique(code, return_inverse=True)
        self.fine, self.line_member = fine, np.zeros((lines.size, len(obs.groups)))
        self.line_member[line] = obs.member
        self.line_start = np.searchsorted(lines, np.arange(self.read.size) * 2 ** len(obs.groups))
        far = np.abs(self.node_db @ self.line_member.T).max()
        self.margin = int(np.ceil(far / self.step)) + 1
        half = (self.half + self.margin) * fine
        at = self.step / fine * np.arange(-half, half + 1)
        each = _log_likelihood(obs.low_db[:, None], obs.high_db[:, None], obs.sd_db[:, None], at)
        self.table = np.zeros((lines.size, at.size))
        np.add.at(self.table, line, each)

    def _likelihood(self, node):
        """Likelihood of the offset (stations read, X) at one node, each scaled to a top of 1."""
        shift = np.rint(self.line_member @ self.node_db[node] * self.fine / self.step).astype(int)
        start = self.margin * self.fine + shift
        columns = start[:, None] + self.fine * np.arange(self.x.size)
        lines = np.take_along_axis(self.table, columns, axis=1)
        logs = np.add.reduceat(lines, self.line_start, axis=0)
        top = logs.max(axis=1)
        return np.exp(logs - top[:, None]), top

    def _by_kind(self, matrix, inward):
        """``matrix`` (stations read, X or levels) through each station's own kernel."""
        out = np.empty((self.read.size, self.level.size if inward else self.x.size))
        for number, kernel in enumerate(self.kernel):
            rows = self.kind == number
            out[rows] = matrix[rows] @ (kernel if inward else kernel.T)
        return out

    def _forward(self):
        """Sum out stations, then places; keep the nodes that weigh anything."""
        starts = np.searchsorted(self.place_of, np.arange(self.places.size))
        logs, kept = [], []
        for node in range(len(self.node_db)):
            like, top = self._likelihood(node)
            station = np.maximum(self._by_kind(like, inward=True), TINY)
            place = np.add.reduceat(np.log(station), starts, axis=0)
            best = place.max(axis=1)
            place = np.exp(place - best[:, None])
            summed = np.maximum(place @ self.reach, TINY)
            shared = np.log(summed).sum(axis=0) + best.sum() + top.sum()
            logs.append(self.log_node[node] + self.log_site + shared)
            kept.append((like, station, place, summed))
        logs = np.array(logs)
        weight = np.exp(logs - logs.max())
        weight /= weight.sum()
        keep = weight.sum(axis=1) > 1e-7
        self.node_db, self.weight = self.node_db[keep], weight[keep] / weight[keep].sum()
        self.kept = [parts for parts, yes in zip(kept, keep, strict=True) if yes]

    def _moments(self):
        """Marginal mean and sd of every station, by the same products taken backward."""
        site, place, _ = _level_sds_db()
        belief = self.belief
        first, second = np.zeros((2, self.read.size))
        level = np.zeros((self.places.size, self.level.size))
        for weight, (like, station, own, summed) in zip(self.weight, self.kept, strict=True):
            here = own * ((weight / summed) @ self.reach.T)
            level += here
            dense = like * self._by_kind(here[self.place_of] / station, inward=False)
            dense *= (weight.sum() / np.maximum(dense.sum(axis=1), TINY))[:, None]
            first += dense @ self.x
            second += dense @ self.x**2
        mean, square = self._site_moments()
        means = np.full(belief.place_index.max() + 1, mean)
        squares = np.full(means.size, square + place**2)
        means[self.places] = level @ self.level
        squares[self.places] = level @ self.level**2
        self.mean_db = belief.scale * means[belief.place_index]
        variance = belief.scale**2 * (squares - means**2)[belief.place_index]
        variance = variance + belief.station_sd_db**2
        self.mean_db[self.read] = first
        variance[self.read] = second - first**2
        self.sd_db = np.sqrt(np.maximum(variance, 0))

    def _site_moments(self):
        weight = self.weight.sum(axis=0)
        return weight @ self.site, weight @ self.site**2

    def group_moments(self):
        """Mean and sd of each shared unknown, dB."""
        weight = self.weight.sum(axis=1)
        mean = weight @ self.node_db
        return mean, np.sqrt(np.maximum(weight @ self.node_db**2 - mean**2, 0))

    def draws(self, count, rng):
        """Joint draws (count, n): shared unknowns and site, then places, then stations."""
        belief = self.belief
        _, place_sd, _ = _level_sds_db()
        cell = rng.choice(self.weight.size, count, p=self.weight.ravel())
        node, site = np.divmod(cell, self.site.size)
        levels = self.site[site][:, None] + place_sd * rng.standard_normal(
            (count, belief.place_index.max() + 1)
        )
        at = np.empty((count, self.places.size), int)
        for k, label in enumerate(self.places):
            rows = np.array([parts[2][k] for parts in self.kept])
            at[:, k] = _pick(lambda n, s, rows=rows: rows[n] * self.reach.T[s], node, site, rng)[0]
            levels[:, label] = self.level[at[:, k]]
        alone = belief.station_sd_db * rng.standard_normal((count, belief.path_sd_db.size))
        out = belief.scale * levels[:, belief.place_index] + alone
        for i, station in enumerate(self.read):
            rows = np.array([parts[0][i] for parts in self.kept])
            kernel = self.kernel[self.kind[i]].T
            index, share = _pick(
                lambda n, v, rows=rows, kernel=kernel: rows[n] * kernel[v],
                node, at[:, self.place_of[i]], rng,
            )  # fmt: skip
            out[:, station] = self.x[index] + (share - 0.5) * self.step
        return out


def _pick(density, first, second, rng):
    """One draw from ``density(first, second)`` (rows) per pair: index, and the share within it."""
    size = int(second.max()) + 1
    pairs, row = np.unique(first * size + second, return_inverse=True)
    table = density(*np.divmod(pairs, size))
    table = np.cumsum(table, axis=1)
    table /= table[:, -1:]
    target = rng.random(row.size)
    index = np.searchsorted((table + np.arange(len(table))[:, None]).ravel(), row + target)
    index = np.clip(index - row * table.shape[1], 0, table.shape[1] - 1)
    high = table[row, index]
    low = np.where(index > 0, table[row, index - 1], 0.0)
    return index, np.clip((target - low) / np.maximum(high - low, TINY), 0, 1)
