"""The hierarchical model of a trial, solved channel by channel.

    value = level(channel, session) + antenna(band) + cell(antenna, channel)
            + visit (remount, and drift common to all channels) + curve errors + residual

Given the four unknown sds (residual, remount, cell, drift) everything is normal. Levels and cells
belong to one channel each, the baseline's cells included; they are eliminated block by block, and
what remains (antennas, visits, curve errors) is one small system. The baseline is an antenna like
the others, so that channels on which all meters are full favour nobody; differences are asked last. All functions take many sets of
sds at once on a leading axis.
"""

from dataclasses import dataclass

import numpy as np

from .. import facts

SDS = ("residual", "remount", "interaction", "drift")


def prior(name):
    """One number of the facts table ``trial_priors``."""
    return facts.value("trial_priors", name)


@dataclass(frozen=True, eq=False)
class Design:
    """Observations padded to (channels, rows): who, when, where, ready for products.

    ``local`` (C, R, b) sessions then antennas; ``wide`` (C, R, P) antennas by band, visits, curve
    errors; ``real`` (C, R) False for padding; ``where`` (n, 2) place of each observation; ``ask``
    (C, A, b) and ``ask_wide`` (C, A, P) pick the difference of each antenna to the baseline.
    """

    rows: object
    local: np.ndarray
    wide: np.ndarray
    real: np.ndarray
    where: tuple
    ask: np.ndarray
    ask_wide: np.ndarray
    sessions: int
    bands: tuple

    @classmethod
    def of(cls, rows):
        """The design of a Rows."""
        channels, antennas, sessions = (
            len(rows.channels),
            len(rows.antennas),
            rows.session.max() + 1,
        )
        order = np.argsort(rows.channel, kind="stable")
        counts = np.bincount(rows.channel, minlength=channels)
        place = np.empty(order.size, int)
        place[order] = np.concatenate([np.arange(c) for c in counts])
        shape = (channels, counts.max())
        where = (rows.channel, place)
        bands = tuple(dict.fromkeys(rows.band))
        band = np.array([bands.index(b) for b in rows.band])
        local = np.zeros((*shape, sessions + antennas))
        local[(*where, rows.session)] = 1
        local[(*where, sessions + rows.antenna)] = 1
        main, visits = len(bands) * antennas, rows.visit.max() + 1
        wide = np.zeros((*shape, main + visits + rows.shared_db.shape[1]))
        wide[(*where, band[rows.channel] * antennas + rows.antenna)] = 1
        wide[(*where, main + rows.visit)] = 1
        wide[(*where, slice(main + visits, None))] = rows.shared_db
        real = np.zeros(shape, bool)
        real[where] = True
        ask, ask_wide = _questions(band, antennas, sessions, wide.shape[2])
        return cls(rows, local, wide, real, where, ask, ask_wide, sessions, bands)

    def padded(self, values, fill=0.0):
        """Values (n,) of the observations as (channels, rows)."""
        out = np.full(self.real.shape, fill)
        out[self.where] = values
        return out

    @property
    def band_share(self):
        """Weights (bands, channels) of the plain mean over a band's channels."""
        share = np.array([self.rows.band == b for b in self.bands], dtype=float)
        return share / share.sum(axis=1, keepdims=True)


def _questions(band, antennas, sessions, width):
    tested = np.arange(antennas - 1)
    ask = np.zeros((band.size, antennas - 1, sessions + antennas))
    ask[:, tested, sessions + 1 + tested] = 1
    ask[:, :, sessions] = -1
    ask_wide = np.zeros((band.size, antennas - 1, width))
    each = np.arange(band.size)[:, None]
    ask_wide[each, tested, band[:, None] * antennas + 1 + tested] = 1
    ask_wide[each, tested, band[:, None] * antennas] = -1
    return ask, ask_wide


@dataclass(frozen=True, eq=False)
class Solution:
    """The normal posterior for F sets of sds: means, factors, and the log of their probability."""

    design: Design
    log_probability: np.ndarray
    local_mean: np.ndarray
    wide_mean: np.ndarray
    local_inverse: np.ndarray
    carried: np.ndarray
    wide_covariance: np.ndarray

    def predictors(self):
        """Mean and variance (F, C, R) of every observation's own level."""
        d = self.design
        mean = (d.local @ self.local_mean[..., None])[..., 0]
        mean = mean + (d.wide @ self.wide_mean[:, None, :, None])[..., 0]
        return mean, self._variance(d.local, d.wide)

    def differences(self):
        """Mean and variance of antenna minus baseline by channel: (F, A, C) each."""
        d = self.design
        mean = (d.ask @ self.local_mean[..., None])[..., 0]
        mean = mean + (d.ask_wide @ self.wide_mean[:, None, :, None])[..., 0]
        return np.swapaxes(mean, 1, 2), np.swapaxes(self._variance(d.ask, d.ask_wide), 1, 2)

    def band_differences(self):
        """Mean and variance of antenna minus baseline, averaged over each band: (F, A, bands)."""
        d = self.design
        mean = self.differences()[0] @ d.band_share.T
        own = ((d.ask @ self.local_inverse) * d.ask).sum(axis=-1)
        rest = d.ask_wide - d.ask @ self.carried
        joined = np.einsum("bc,fcap->fbap", d.band_share, rest, optimize=True)
        common = ((joined @ self.wide_covariance[:, None]) * joined).sum(axis=-1)
        total = np.einsum("bc,fca->fba", d.band_share**2, own, optimize=True) + common
        return mean, np.swapaxes(total, 1, 2)

    def _variance(self, local, wide):
        own = ((local @ self.local_inverse) * local).sum(axis=-1)
        rest = wide - local @ self.carried
        return own + ((rest @ self.wide_covariance[:, None]) * rest).sum(axis=-1)


def solve(design, log_sds, target, weight, noise_db, share):
    """Posterior and log probability for F sets of sds.

    ``log_sds`` (F, 4) logarithms of the sds in order ``SDS``; ``target``, ``weight`` and ``noise_db``
    (C, R): an observation counts weight / (residual sd^2 + noise^2) toward its target, or weight
    itself where ``share`` (C, R), its part in judging the residual sd, is negative (bounds).
    """
    sds = np.exp(log_sds)
    spread = sds[:, 0, None, None] ** 2 + noise_db**2
    bound = share < 0
    precision = np.where(bound, weight, weight / spread) * design.real
    local_prior, log_local = _local_prior(design, sds)
    wide_prior, log_wide = _wide_prior(design, sds)
    leaned = precision[..., None] * design.local
    block = np.swapaxes(leaned, -1, -2) @ design.local + local_prior[:, None]
    cross = np.swapaxes(leaned, -1, -2) @ design.wide
    inverse = np.linalg.inv(block)
    carried = inverse @ cross
    heavy = precision[..., None] * design.wide
    flat = (len(sds), -1, design.wide.shape[-1])
    total = np.swapaxes(heavy.reshape(flat), -1, -2) @ design.wide.reshape(flat[1:]) + wide_prior
    small = total - (np.swapaxes(cross, -1, -2) @ carried).sum(axis=1)
    covariance = np.linalg.inv(small)
    right = (leaned * target[..., None]).sum(axis=2)
    right_wide = (heavy * target[..., None]).sum(axis=(1, 2))
    reduced = right_wide - (np.swapaxes(carried, -1, -2) @ right[..., None])[..., 0].sum(axis=1)
    wide_mean = (covariance @ reduced[..., None])[..., 0]
    local_mean = (inverse @ right[..., None])[..., 0] - (carried @ wide_mean[:, None, :, None])[
        ..., 0
    ]
    quadratic = (local_mean * right).sum((1, 2)) + (wide_mean * right_wide).sum(1)
    quadratic = quadratic - (precision * target**2).sum((1, 2))
    log = 0.5 * (
        quadratic
        + log_local
        + log_wide
        - np.linalg.slogdet(block)[1].sum(axis=1)
        - np.linalg.slogdet(small)[1]
        - (np.maximum(share, 0) * design.real * np.log(spread)).sum((1, 2))
    )
    log = log + _log_prior(log_sds)
    return Solution(design, log, local_mean, wide_mean, inverse, carried, covariance)


def _log_prior(log_sds):
    middle = np.log([prior(f"{k}_median_db") for k in SDS])
    width = np.array([prior(f"{k}_log_sd") for k in SDS])
    return -0.5 * (((log_sds - middle) / width) ** 2).sum(axis=1)


def _local_prior(design, sds):
    """Diagonal precision (F, b, b) of levels and cells, and its log determinant over channels."""
    antennas = len(design.rows.antennas)
    level = np.full((len(sds), design.sessions), prior("level_sd_db") ** -2)
    cell = np.repeat(sds[:, 2, None] ** -2.0, antennas, axis=1)
    diagonal = np.concatenate([level, cell], axis=1)
    log = np.log(diagonal).sum(axis=1) * len(design.rows.channels)
    return diagonal[:, :, None] * np.eye(diagonal.shape[1]), log


def _wide_prior(design, sds):
    """Precision (F, P, P) of antennas, visits (drift and remount together) and curve errors."""
    rows, width = design.rows, design.wide.shape[2]
    visits, main = rows.hour.size, len(design.bands) * len(rows.antennas)
    together = np.minimum(rows.hour[:, None], rows.hour) + 1e-3
    together = together * (rows.visit_session[:, None] == rows.visit_session)
    covariance = sds[:, 3, None, None] ** 2 * together + sds[:, 1, None, None] ** 2 * np.eye(visits)
    out = np.zeros((len(sds), width, width))
    diagonal = np.arange(width)
    out[:, diagonal, diagonal] = 1.0
    out[:, diagonal[:main], diagonal[:main]] = prior("antenna_sd_db") ** -2
    out[:, main : main + visits, main : main + visits] = np.linalg.inv(covariance)
    return out, -np.linalg.slogdet(covariance)[1]
