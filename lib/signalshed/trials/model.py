"""The hierarchical model of a trial, solved channel by channel.

    value = level(channel, session) + antenna(band) + cell(antenna, channel)
            + visit (remount, and drift common to all channels) + curve errors + residual

Given the four unknown sds (residual, remount, cell, drift) everything is normal. Levels and cells
belong to one channel each, the baseline's cells included; they are eliminated block by block, and
what remains (antennas by band, visits, curve errors: the wide unknowns) is one small system. The
baseline is an antenna like the others, so that channels on which all meters are full favour nobody;
differences are asked last. Many sets of sds (F) are solved at once.
"""

import functools
from dataclasses import dataclass

import numpy as np

from .. import facts

SDS = ("residual", "remount", "interaction", "drift")


def prior(name):
    """One number of the facts table ``trial_priors``."""
    return facts.value("trial_priors", name)


@dataclass(frozen=True, eq=False)
class Design:
    """Who was up when, as matrices: ``who`` (V, A), ``when`` (V, S) and both at once (V, S A).

    ``band`` (C,) positions in ``bands``; ``same`` (V, V) True where two visits hold one antenna.
    """

    rows: object
    who: np.ndarray
    when: np.ndarray
    both: np.ndarray
    same: np.ndarray
    bands: tuple
    band: np.ndarray

    @classmethod
    def of(cls, rows):
        """The design of a Rows."""
        who = np.eye(len(rows.antennas))[rows.antenna]
        when = np.eye(rows.session.max() + 1)[rows.session]
        both = (when[:, :, None] * who[:, None, :]).reshape(len(who), -1)
        bands = tuple(dict.fromkeys(rows.band))
        band = np.array([bands.index(b) for b in rows.band])
        same = rows.antenna[:, None] == rows.antenna
        return cls(rows, who, when, both, same, bands, band)

    @functools.cached_property
    def wander(self):
        """Drift of unit size as independent parts: their variances (V,) and directions (V, V)."""
        hour, session = self.rows.hour, self.rows.session
        together = np.minimum(hour[:, None], hour) * (session[:, None] == session)
        sizes, turns = np.linalg.eigh(together)
        return np.maximum(sizes, 0), turns

    @functools.cached_property
    def bracket_variance(self):
        """Variance (C, V) of an even spread over each closed bracket, its noise added; 0 if open."""
        width = np.where(self.rows.kind == 2, self.rows.high_db - self.rows.low_db, np.inf)
        closed = np.isfinite(width)
        return np.where(closed, np.where(closed, width, 0) ** 2 / 12 + self.rows.noise_db**2, 0.0)

    @property
    def sizes(self):
        """Numbers of antenna unknowns (bands x antennas), visits and curve errors."""
        return len(self.bands) * self.who.shape[1], len(self.who), self.rows.shared_db.shape[2]

    def wide(self, channel):
        """What the wide unknowns do to the visits of one channel (V, P)."""
        out = np.zeros((len(self.who), sum(self.sizes)))
        start, antennas = self.band[channel] * self.who.shape[1], self.who.shape[1]
        main = self.sizes[0]
        out[:, start : start + antennas] = self.who
        out[:, main : main + len(self.who)] = np.eye(len(self.who))
        out[:, main + len(self.who) :] = self.rows.shared_db[channel]
        return out


class Blocks:
    """Levels and cells of every channel eliminated, for F sets of sds.

    ``precision`` (F, C, V) of the observations, 0 where there is none. ``cells`` (F, C, A) and
    ``schur`` (F, C, S, S) are the pivots of the cells and, after them, of the levels; ``share``
    (F, C, S, A) hands from one to the other; ``lean`` (F, C, S, V) is how visits press on levels.
    """

    def __init__(self, design, precision, cell_precision):
        sessions, antennas = design.when.shape[1], design.who.shape[1]
        self.design, self.precision = design, precision
        self.cells = precision @ design.who + cell_precision[:, None, None]
        crossed = (precision @ design.both).reshape(*precision.shape[:2], sessions, antennas)
        self.share = crossed / self.cells[:, :, None]
        level = precision @ design.when + prior("level_sd_db") ** -2
        self.schur = level[..., None] * np.eye(sessions) - self.share @ np.swapaxes(crossed, -1, -2)
        self.lean = precision[:, :, None] * (design.when.T - self.share[..., design.rows.antenna])
        self.pull = np.linalg.solve(self.schur, self.lean)
        cells = np.log(self.cells).sum(axis=(1, 2))
        self.log_determinant = cells + np.linalg.slogdet(self.schur)[1].sum(axis=1)

    def visits(self, chosen):
        """Precision of the visits (F, V, V) that the ``chosen`` channels leave after elimination."""
        p, lean, pull = (a[:, chosen] for a in (self.precision, self.lean, self.pull))
        pivot = self.cells[:, chosen][..., self.design.rows.antenna]
        root = p / np.sqrt(pivot)
        out = -(np.swapaxes(root, 1, 2) @ root) * self.design.same
        flat = (p.shape[0], -1, p.shape[-1])
        out -= np.swapaxes(lean.reshape(flat), 1, 2) @ pull.reshape(flat)
        at = np.arange(p.shape[-1])
        out[:, at, at] += p.sum(axis=1)
        return out

    def applied(self, columns):
        """The same precision, channel by channel, times ``columns`` (C, V, k) or (F, C, V, k)."""
        pressed = self.precision[..., None] * columns
        cells = self.design.who.T @ pressed / self.cells[..., None]
        direct = self.precision[..., None] * cells[..., self.design.rows.antenna, :]
        return pressed - direct - np.swapaxes(self.lean, -1, -2) @ (self.pull @ columns)

    def cell_response(self):
        """What each cell makes of the visits of its channel: (F, C, A, V)."""
        direct = self.design.who.T * self.precision[:, :, None] / self.cells[..., None]
        return direct - np.swapaxes(self.share, -1, -2) @ self.pull

    def cell_covariance(self):
        """Own variance of antenna cells and their covariance with the baseline's: two (F, C, A)."""
        down = np.linalg.solve(self.schur, self.share)
        variance = 1 / self.cells + (self.share * down).sum(axis=2)
        with_baseline = (self.share * down[..., :1]).sum(axis=2)
        with_baseline[..., 0] = variance[..., 0]
        return variance, with_baseline


@dataclass(frozen=True, eq=False)
class Solution:
    """The normal posterior for F sets of sds: ``log_probability`` (F,), and the wide unknowns."""

    design: Design
    target: np.ndarray
    log_probability: np.ndarray
    blocks: Blocks
    mean: np.ndarray
    system: np.ndarray

    @functools.cached_property
    def covariance(self):
        """Covariance (F, P, P) of the wide unknowns."""
        return np.linalg.inv(self.system)

    def _residual(self):
        """Target without the wide unknowns (F, C, V)."""
        d, (main, visits, _) = self.design, self.design.sizes
        antennas = self.mean[:, :main].reshape(len(self.mean), len(d.bands), -1)
        fitted = antennas[:, d.band][..., d.rows.antenna]
        fitted = fitted + self.mean[:, None, main : main + visits]
        curve = d.rows.shared_db @ self.mean[:, None, main + visits :, None]
        return self.target - fitted - curve[..., 0]

    def predictors(self):
        """Mean and variance of the level behind every observation: (C, V) each, of the first set."""
        d, b = self.design, self.blocks
        rest = self._residual()[0]
        weight = d.when.T - b.share[0][..., d.rows.antenna]
        weight = np.swapaxes(weight, -1, -2)
        own = d.same * b.precision[0][:, None] / b.cells[0][..., d.rows.antenna][..., None]
        response = own + weight @ b.pull[0]
        mean = self.target - rest + (response @ rest[..., None])[..., 0]
        variance = 1 / b.cells[0][..., d.rows.antenna]
        variance = variance + (weight * np.swapaxes(
            np.linalg.solve(b.schur[0], np.swapaxes(weight, -1, -2)), -1, -2)).sum(-1)  # fmt: skip
        root = np.linalg.cholesky(self.covariance[0])
        for channel in range(len(rest)):
            wide = d.wide(channel)
            left = (wide - response[channel] @ wide) @ root
            variance[channel] += (left**2).sum(axis=1)
        return mean, variance

    def differences(self):
        """Antenna minus baseline: mean and variance by channel (F, A, C), and by band (F, A, B)."""
        d, b = self.design, self.blocks
        rest = self._residual()
        answer = b.cell_response()
        cells = (answer @ rest[..., None])[..., 0]
        main = self.mean[:, : d.sizes[0]].reshape(len(self.mean), len(d.bands), -1)[:, d.band]
        mean = (main + cells)[..., 1:] - (main + cells)[..., :1]
        alone, with_baseline = b.cell_covariance()
        own = alone[..., 1:] + alone[..., :1] - 2 * with_baseline[..., 1:]
        left = self._left(answer[..., :1, :] - answer[..., 1:, :])
        variance = own + self._quadratic(left)
        share = np.array([(d.band == k) / (d.band == k).sum() for k in range(len(d.bands))])
        by_band = np.einsum("bc,fcap->fbap", share, left, optimize=True)
        band_variance = np.einsum("bc,fca->fba", share**2, own) + self._quadratic(by_band)
        turn = np.swapaxes
        cell = turn(mean, 1, 2), turn(variance, 1, 2)
        return cell, (turn(share @ mean, 1, 2), turn(band_variance, 1, 2))

    def _left(self, visits):
        """Weights (F, C, A, P) of the wide unknowns, from those of the visits (F, C, A, V)."""
        d, (main, _, _) = self.design, self.design.sizes
        antennas = d.who.shape[1]
        own = np.zeros((*visits.shape[:3], main))
        tested = np.arange(antennas - 1)
        for k in range(len(d.bands)):
            here = d.band == k
            part = visits[:, here] @ d.who
            part[..., tested, 1 + tested] += 1
            part[..., 0] -= 1
            own[:, here, :, k * antennas : (k + 1) * antennas] = part
        return np.concatenate([own, visits, visits @ d.rows.shared_db], axis=-1)

    def _quadratic(self, left):
        return ((left @ self.covariance[:, None]) * left).sum(axis=-1)


def solve(design, log_sds, target, weight, share):
    """The Solution for F sets of sds.

    ``log_sds`` (F, 4) logarithms of the sds in order ``SDS``. ``target`` and ``weight`` (C, V): a
    measured observation (``share`` 0 or more: its part in judging the residual sd) counts
    weight / (residual sd^2 + noise^2), a bound (``share`` negative) the weight itself, none 0.
    """
    sds = np.exp(log_sds)
    spread = sds[:, 0, None, None] ** 2 + design.rows.noise_db**2
    precision = np.where(share < 0, weight, weight / spread)
    blocks = Blocks(design, precision, sds[:, 2] ** -2.0)
    wide_prior, log_wide = _wide_prior(design, sds)
    system, right, square = _system(design, blocks, target)
    system = system + wide_prior
    errors = design.rows.tilt.shape[2]
    if errors:
        # Readings are what was seen, not dB: d(level)/d(value) = 1 - tilt . errors, to second order.
        charged = np.where(share < 0, np.minimum(weight * design.bracket_variance, 1.0), share)
        tilt = (design.rows.tilt * charged[..., None]).reshape(-1, errors)
        right[:, -errors:] -= tilt.sum(axis=0)
        system[:, -errors:, -errors:] += tilt.T @ tilt
    mean = np.linalg.solve(system, right[..., None])[..., 0]
    log_local = -2 * log_sds[:, 2] * blocks.cells[0].size
    log = 0.5 * (
        (mean * right).sum(axis=1)
        - square
        + log_local
        + log_wide
        - blocks.log_determinant
        - np.linalg.slogdet(system)[1]
        - (np.maximum(share, 0) * (weight > 0) * np.log(spread)).sum((1, 2))
    )
    return Solution(design, target, log + _log_prior(log_sds), blocks, mean, system)


def _system(design, blocks, target):
    """Precision (F, P, P) and right side (F, P) of the wide unknowns, and target's own square (F,)."""
    main, visits, errors = design.sizes
    antennas, curve = design.who.shape[1], slice(main + visits, None)
    count = len(blocks.precision)
    system, right = np.zeros((count, sum(design.sizes), sum(design.sizes))), []
    columns = np.concatenate([design.rows.shared_db, target[..., None]], axis=-1)
    pressed = blocks.applied(columns)
    mine = slice(main, main + visits)
    for k in range(len(design.bands)):
        here = design.band == k
        at = slice(k * antennas, (k + 1) * antennas)
        between = blocks.visits(here)
        towards = pressed[:, here].sum(axis=1)
        system[:, mine, mine] += between
        system[:, at, mine] = design.who.T @ between
        system[:, at, at] = system[:, at, mine] @ design.who
        system[:, at, curve] = design.who.T @ towards[..., :errors]
        system[:, mine, curve] += towards[..., :errors]
        right.append(design.who.T @ towards[..., errors:])
    flat = columns.reshape(-1, errors + 1)
    inner = flat.T @ pressed.reshape(count, -1, errors + 1)
    system[:, curve, curve] = inner[:, :errors, :errors]
    upper = np.triu(np.ones(system.shape[1:]))
    system = np.where(upper, system, np.swapaxes(system, 1, 2))
    right = np.concatenate(
        [*right, pressed.sum(axis=1)[..., errors:], inner[:, :errors, errors:]], axis=1
    )
    return system, right[..., 0], inner[:, -1, -1]


def _log_prior(log_sds):
    middle = np.log([prior(f"{k}_median_db") for k in SDS])
    width = np.array([prior(f"{k}_log_sd") for k in SDS])
    return -0.5 * (((log_sds - middle) / width) ** 2).sum(axis=1)


def _wide_prior(design, sds):
    """Precision (F, P, P) of antennas, visits (drift and remount together) and curve errors."""
    main, visits, _ = design.sizes
    sizes, turns = design.wander
    own = sds[:, 3, None] ** 2 * sizes + sds[:, 1, None] ** 2
    out = np.zeros((len(sds), sum(design.sizes), sum(design.sizes)))
    diagonal = np.arange(sum(design.sizes))
    out[:, diagonal, diagonal] = 1.0
    out[:, diagonal[:main], diagonal[:main]] = prior("antenna_sd_db") ** -2
    out[:, main : main + visits, main : main + visits] = (turns / own[:, None]) @ turns.T
    return out, -np.log(own).sum(axis=1)
