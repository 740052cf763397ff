"""The sums behind a belief: shared unknowns, then site, then places, then stations.

Given site and shared unknowns, places are independent; given the place, stations are. So the
posterior is nested one-dimensional sums, taken on even lattices, where a sum over a smooth peak is
exact to many digits as long as the step stays below about the peak's own sd. Every level is one
matrix product. The shared unknowns are summed on a lattice turned and sized by the posterior's mode
and curvature (but for what a few wild readings may be, every likelihood here is log-concave, so
Newton's method finds it).
"""

import functools

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.special import log_ndtr

from .. import facts
from .normals import log_between

TINY = 1e-290
HANDFUL = 400_000
"""About so many numbers of a likelihood are taken through a product at once."""


@functools.cache
def level_sds_db():
    """Prior sds of site, place and station, dB, before scaling.

    >>> level_sds_db()
    (4.0, 8.0, 4.0)
    """
    return tuple(facts.value("judgement", f"{k}_sd_db") for k in ("site", "place", "station"))


def _log_likelihood(obs, x_db):
    """Log probability (r, X) of each reading of Observations given the offset ``x_db`` (r or 1, X).

    A reading may be wild, of something else: a value then lies anywhere about, and a bound tells
    nothing. What tells nothing for sure is a constant and left out.
    """
    sound, stray = _sound_and_stray(obs, x_db)
    wild = obs.wild[:, None]
    some = wild[:, 0] > 0
    sound[some] = np.logaddexp(
        np.log1p(-wild[some]) + sound[some], np.log(wild[some]) + stray[some]
    )
    return sound


def _sound_and_stray(obs, x_db):
    """Log probabilities (r, X) of each reading if it is what it says, and if it is wild."""
    low, high, sd = (a[:, None] for a in (obs.low_db, obs.high_db, obs.sd_db))
    broad = np.hypot(sd, facts.value("judgement", "reading_wild_sd_db"))
    sound = np.empty(np.broadcast_shapes(low.shape, x_db.shape))
    stray = np.zeros(sound.shape)
    x = np.broadcast_to(x_db, sound.shape)
    is_low, is_high = np.isinf(obs.low_db), np.isinf(obs.high_db)
    value = obs.low_db == obs.high_db
    square = -0.5 * (low[value] - x[value]) ** 2
    sound[value] = square / sd[value] ** 2
    stray[value] = square / broad[value] ** 2 - np.log(broad[value] / sd[value])
    sound[is_low] = log_ndtr((high[is_low] - x[is_low]) / sd[is_low])
    sound[is_high] = log_ndtr((x[is_high] - low[is_high]) / sd[is_high])
    closed = ~(value | is_low | is_high)
    for out, width in ((sound, sd), (stray, broad)):
        ends = ((end[closed] - x[closed]) / width[closed] for end in (low, high))
        out[closed] = log_between(*ends)
    return sound, stray


def _slopes(obs, x_db, step=1e-3):
    """First derivative and (positive) curvature of minus the log likelihood at ``x_db`` (r,).

    A reading counts by the chance that it is not wild, which makes Newton's steps safe.
    """
    at = x_db[:, None] + step * np.array([-1.0, 0.0, 1.0])
    sound, stray = _sound_and_stray(obs, at)
    wilder = obs.wild / (1 - obs.wild) * np.exp(np.minimum(stray - sound, 300.0)[:, 1])
    counts = obs.times / (1 + wilder)
    first = (sound[:, 2] - sound[:, 0]) / (2 * step)
    second = (sound[:, 2] - 2 * sound[:, 1] + sound[:, 0]) / step**2
    return first * counts, np.clip(-second, 0.0, 1.0 / obs.sd_db**2) * counts


class _Mode:
    """Mode and curvature of the joint posterior of site, places, stations read and groups."""

    def __init__(self, belief, obs, read, row, places, place_of):
        site, place, _ = level_sds_db()
        scale, n, k = belief.scale[read], read.size, places.size
        design = np.zeros((row.size, 1 + k + n + len(obs.groups)))
        design[:, 0] = site * scale[row]
        design[np.arange(row.size), 1 + place_of[row]] = place * scale[row]
        design[np.arange(row.size), 1 + k + row] = belief.station_sd_db[read][row]
        design[:, 1 + k + n :] = obs.member * [g.sd_db for g in obs.groups]
        z = np.zeros(design.shape[1])
        for _ in range(50):
            first, curvature = _slopes(obs, design @ z)
            precision = np.eye(z.size) + design.T @ (curvature[:, None] * design)
            move = np.linalg.solve(precision, design.T @ first - z)
            z = z + move * min(1.0, 2.0 / (np.abs(move).max() + 1e-9))
            if np.abs(move).max() < 1e-2:
                break
        sds = np.array([g.sd_db for g in obs.groups])
        inside = np.linalg.inv(precision)[1 + k + n :, 1 + k + n :]
        self.group_db = z[1 + k + n :] * sds
        self.group_cov = inside * np.outer(sds, sds)
        sharp = np.bincount(row, curvature, minlength=n)
        self.narrowest_db = 1 / np.sqrt(max(sharp.max(), 1e-6))


class Posterior:
    """The nested sums: nodes of the shared unknowns, then site, then places, then stations."""

    def __init__(self, belief, obs):
        obs = obs.condensed()
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
        site, place, station = level_sds_db()
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
        """Even lattice of the shared unknowns, (nodes, groups) in dB, turned along their covariance.

        Its corners lie on whole multiples of a ``fine`` part of the offset's step, so that a shared
        unknown moves a table of likelihoods by whole places and nothing is rounded.
        """
        groups = self.obs.groups
        self.fine = 1
        if not groups:
            self.node_db, self.log_node = np.zeros((1, 0)), np.zeros(1)
            return
        # On even steps of h sds a sum over a normal peak errs by 2 exp(-2 pi^2 / h^2): 9e-4 at 1.6.
        pace, reach = 1.6, 4.5
        edges = pace * np.linalg.cholesky(mode.group_cov)
        self.fine = int(np.clip(4 * self.step / np.diag(edges).min(), 4, 64))
        unit = self.step / self.fine
        edges, middle = np.rint(edges / unit) * unit, np.rint(mode.group_db / unit) * unit
        edges += np.diag(unit * (np.diag(edges) == 0))
        axis = np.arange(-int(reach / pace), int(reach / pace) + 1)
        z = np.stack(np.meshgrid(*[axis] * len(groups), indexing="ij"), -1).reshape(-1, len(groups))
        z = z[np.linalg.norm(pace * z, axis=1) <= reach]
        self.node_db = middle + z @ edges.T
        sds = np.array([g.sd_db for g in groups])
        self.log_node = -0.5 * ((self.node_db / sds) ** 2).sum(axis=1)

    def _tables(self, row):
        """Log likelihood of the offset, one line per station and set of shared unknowns."""
        obs, fine = self.obs, self.fine
        code = row * 2 ** len(obs.groups) + obs.member @ (2 ** np.arange(len(obs.groups)))
        lines, line = np.unique(code, return_inverse=True)
        self.line_member = np.zeros((lines.size, len(obs.groups)))
        self.line_member[line] = obs.member
        self.line_start = np.searchsorted(lines, np.arange(self.read.size) * 2 ** len(obs.groups))
        far = np.abs(self.node_db @ self.line_member.T).max()
        self.margin = int(np.ceil(far / self.step)) + 1
        half = self.half + self.margin
        at = self.step / fine * np.arange(-half * fine, (half + 1) * fine)
        table = np.zeros((lines.size, at.size))
        order, size = np.argsort(line, kind="stable"), max(1, HANDFUL // at.size)
        for some in (order[k : k + size] for k in range(0, order.size, size)):
            each = _log_likelihood(obs.of(some), at) * obs.times[some, None]
            first = np.flatnonzero(np.diff(line[some], prepend=-1))
            table[line[some][first]] += np.add.reduceat(each, first)
        # What one node reads lies side by side: phases first, then every offset that may begin it.
        phases = np.swapaxes(table.reshape(lines.size, -1, fine), 1, 2).copy()
        self.windows = sliding_window_view(phases, self.x.size, axis=2)

    def _likelihood(self, nodes):
        """Likelihood of the offset (nodes, stations read, X), each with a top of 1, and its log top."""
        moved = self.node_db[nodes] @ self.line_member.T * self.fine / self.step
        shift = np.rint(moved).astype(int)
        start, phase = np.divmod(self.margin * self.fine + shift, self.fine)
        lines = self.windows[np.arange(len(self.windows)), phase, start]
        logs = np.add.reduceat(lines, self.line_start, axis=1)
        top = logs.max(axis=2)
        logs -= top[..., None]
        return np.exp(logs, out=logs), top

    def _by_kind(self, matrix, inward):
        """``matrix`` (nodes, stations read, X or levels) through each station's own kernel."""
        nodes, count = matrix.shape[:2]
        out = np.empty((nodes, count, self.level.size if inward else self.x.size))
        for number, kernel in enumerate(self.kernel):
            rows = np.flatnonzero(self.kind == number)
            flat = matrix[:, rows].reshape(-1, matrix.shape[2]) @ (kernel if inward else kernel.T)
            out[:, rows] = flat.reshape(nodes, rows.size, -1)
        return out

    def _some(self, count):
        """Slices that cut ``count`` nodes into handfuls, so that a product stays within the cache."""
        size = max(1, HANDFUL // (self.read.size * self.x.size))
        return [slice(start, start + size) for start in range(0, count, size)]

    def _forward(self):
        """Sum out stations, then places; keep the nodes that weigh anything."""
        starts = np.searchsorted(self.place_of, np.arange(self.places.size))
        logs, parts = [], []
        for nodes in self._some(len(self.node_db)):
            like, top = self._likelihood(nodes)
            station = np.maximum(self._by_kind(like, inward=True), TINY)
            place = np.add.reduceat(np.log(station), starts, axis=1)
            best = place.max(axis=2)
            own = np.exp(place - best[..., None])
            summed = np.maximum(own @ self.reach, TINY)
            shared = np.log(summed).sum(axis=1) + (best.sum(axis=1) + top.sum(axis=1))[:, None]
            logs.append(self.log_node[nodes, None] + self.log_site + shared)
            parts.append((like, station, own, summed))
        logs = np.concatenate(logs)
        weight = np.exp(logs - logs.max())
        weight /= weight.sum()
        keep = weight.sum(axis=1) > 1e-7
        self.node_db, self.weight = self.node_db[keep], weight[keep] / weight[keep].sum()
        parts = (np.concatenate(part)[keep] for part in zip(*parts, strict=True))
        self.like, self.station, self.own, self.summed = parts

    def _moments(self):
        """Marginal mean and sd of every station, by the same products taken backward."""
        _, place, _ = level_sds_db()
        belief = self.belief
        total = self.weight.sum(axis=1)
        here = self.own * ((self.weight[:, None] / self.summed) @ self.reach.T)
        level = here.sum(axis=0)
        offsets, second = [], np.zeros(self.read.size)
        for nodes in self._some(total.size):
            back = here[nodes][:, self.place_of] / self.station[nodes]
            dense = self.like[nodes] * self._by_kind(back, inward=False)
            share = total[nodes, None] / np.maximum(dense.sum(axis=2), TINY)
            offsets.append(dense @ self.x * share)
            second += (dense @ self.x**2 * share).sum(axis=0)
        offsets = np.concatenate(offsets)
        first = offsets.sum(axis=0)
        site = self.weight.sum(axis=0)
        mean, square = site @ self.site, site @ self.site**2
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
        self._correlations(offsets, here @ self.level)

    def _correlations(self, offsets, levels):
        """``correlation`` (n, 1 + groups, 1 + groups) of each offset with the shared unknowns.

        ``offsets`` and ``levels`` are sums by node: of the stations read, and of their places.
        """
        weight = self.weight.sum(axis=1)
        about = self.node_db - weight @ self.node_db
        own = np.tile(about.T @ (self.weight @ self.site), (self.belief.place_index.max() + 1, 1))
        own[self.places] = levels.T @ about
        joint = self.belief.scale[:, None] * own[self.belief.place_index]
        joint[self.read] = offsets.T @ about
        among = about.T @ (weight[:, None] * about)
        sds = np.sqrt(np.maximum(np.diag(among), TINY))
        n, groups = joint.shape
        self.correlation = np.tile(np.eye(1 + groups), (n, 1, 1))
        self.correlation[:, 1:, 1:] = among / np.outer(sds, sds)
        share = np.clip(joint / (np.maximum(self.sd_db, TINY)[:, None] * sds), -1, 1)
        self.correlation[:, 0, 1:] = self.correlation[:, 1:, 0] = share

    def group_moments(self):
        """Mean and sd of each shared unknown, dB."""
        weight = self.weight.sum(axis=1)
        mean = weight @ self.node_db
        return mean, np.sqrt(np.maximum(weight @ self.node_db**2 - mean**2, 0))

    def draws(self, count, rng):
        """Joint draws: offsets (count, n) and shared unknowns (count, groups), outermost first."""
        belief = self.belief
        _, place_sd, _ = level_sds_db()
        cell = rng.choice(self.weight.size, count, p=self.weight.ravel())
        node, site = np.divmod(cell, self.site.size)
        levels = self.site[site][:, None] + place_sd * rng.standard_normal(
            (count, belief.place_index.max() + 1)
        )
        at = np.empty((count, self.places.size), int)
        for k, label in enumerate(self.places):
            own = self.own[:, k]
            at[:, k] = _pick(lambda n, s, own=own: own[n] * self.reach.T[s], node, site, rng)[0]
            levels[:, label] = self.level[at[:, k]]
        alone = belief.station_sd_db * rng.standard_normal((count, belief.path_sd_db.size))
        out = belief.scale * levels[:, belief.place_index] + alone
        for i, station in enumerate(self.read):
            like, kernel = self.like[:, i], self.kernel[self.kind[i]].T
            index, share = _pick(
                lambda n, v, like=like, kernel=kernel: like[n] * kernel[v],
                node, at[:, self.place_of[i]], rng,
            )  # fmt: skip
            out[:, station] = self.x[index] + (share - 0.5) * self.step
        return out, self.node_db[node]


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
