"""The impedance matrix: integrals over pairs of segments, gathered into triangles."""

import numpy as np

from .. import facts
from .mesh import C_M_S, GAUSS, OUTWARD

ETA_OHM = facts.value("constants", "free_space_impedance")
BLOCK = 32
"""Segments whose rows are worked on together: small enough to stay in the processor's cache."""

NEAR_LENGTHS = 2.1
"""Pairs nearer than this many lengths are integrated exactly; off the steps of a regular mesh."""

# From values at Gauss points [p, q] to the double integral with triangles at ends [a, b], and back.
_SHAPE = np.stack([1 - GAUSS, GAUSS]) / 2
_TO_ENDS = np.kron(_SHAPE, _SHAPE)
_TO_POINTS = np.linalg.inv(_TO_ENDS)
_SIGNED_TO_ENDS = np.kron(OUTWARD, OUTWARD)[:, None] * _TO_ENDS
# Eight steps along a segment, and what each counts for the triangle at either end.
_GAUSS8 = np.polynomial.legendre.leggauss(8)
_STEPS = (1 + _GAUSS8[0]) / 2
_COUNTS = np.stack([1 - _STEPS, _STEPS], axis=1) * _GAUSS8[1][:, None] / 2


class Matrix:
    """What all frequencies share, and from it the matrix of one frequency.

    Only pairs of segments i <= j are worked on, those on the diagonal counted half: the sum with its
    transpose is the whole matrix. An image carries the current and charge of its wire turned round.
    """

    def __init__(self, mesh):
        self.mesh = mesh
        sources = [(1, mesh.segments)]
        if mesh.sheet_m is not None:
            sources.append((-1, mesh.segments.mirrored(mesh.sheet_m)))
        self.strips = []
        for sign, source in sources:
            near = _near(mesh.segments, source)
            for low in range(0, len(mesh.loss), BLOCK):
                self.strips.append(_Strip(mesh.segments, sign, source, near, low))

    def times_k(self, k):
        """Impedance matrix times k, ohm per metre: smooth in k."""
        segments = np.arange(len(self.mesh.loss))
        ends = np.zeros((2, 2, len(segments), 2, len(segments)))  # cos or sin; end, segment twice
        for strip in self.strips:
            strip.add_to(ends, k)
        skin = k * np.sqrt(k * C_M_S / (2e6 * np.pi)) * self.mesh.loss * 4 * np.pi / ETA_OHM
        for a, b, share in ((0, 0, 2), (0, 1, -1), (1, 0, -1), (1, 1, 2)):
            ends[:, a, segments, b, segments] += share / 12 * skin
        z = np.empty((self.mesh.count, self.mesh.count), complex)
        for part, into in zip(ends, (z.imag, z.real), strict=True):  # j (cos - j sin)
            half = self._felt(self._felt(part.reshape(2 * len(segments), -1), 0), 1)
            np.add(half, half.T, out=into)
        return np.multiply(z, ETA_OHM / (4 * np.pi), out=z)

    def _felt(self, ends, axis):
        """What each triangle feels: at its rising end, less at its falling one."""
        felt = np.take(ends, self.mesh.rising, axis)
        paired = (slice(None),) * axis + (slice(len(self.mesh.falling)),)
        felt[paired] -= np.take(ends, self.mesh.falling, axis)
        return felt

    def currents(self, times_k, k):
        """Currents at the triangles, (unknowns, P), for one volt at each port by itself."""
        return k * np.linalg.solve(times_k, self.mesh.ports)


class _Strip:
    """Pairs of the segments from ``low`` on with themselves and all later ones: what k leaves alone."""

    def __init__(self, segments, sign, source, near, low):
        self.low, self.sign = low, sign
        here, there = segments[low : low + BLOCK], source[low:]
        self.direction = sign * here.along @ there.along.T
        rows, columns = self.direction.shape
        radius2 = np.add.outer(here.radius**2, there.radius**2) / 2
        distance = np.sqrt(_apart2(here.points, there.points) + radius2)
        self.inverse = (1 / distance).reshape(4, -1)
        i, j, exact = near
        mine = slice(*np.searchsorted(i, (low, low + rows)))
        self.near = np.ravel_multi_index((i[mine] - low, j[mine] - low), (rows, columns))
        self.excess = exact[:, mine] - self.inverse[:, self.near]
        self.once = np.tri(rows).T - np.eye(rows) / 2

    def add_to(self, ends, k):
        """Add k^2 x current part - charge part to ``ends``, in units of j eta / 4 pi."""
        kernel = cos_sin(k / self.inverse)
        kernel *= self.inverse
        kernel[0][:, self.near] += self.excess
        charge = self.sign / 4 * kernel.sum(axis=1)
        rows, columns = self.direction.shape
        both = ((k * k * _SIGNED_TO_ENDS) @ kernel).reshape(2, 2, 2, rows, columns)
        both *= self.direction
        both -= charge.reshape(2, 1, 1, rows, columns)
        both[..., :rows] *= self.once
        ends[:, :, self.low : self.low + rows, :, self.low :] += both.swapaxes(2, 3)


def cos_sin(phase):
    """Cosine and sine, (2, ...), from the tangent of half the angle: one slow function, not two."""
    half = phase / 2
    np.tan(half, out=half)
    twice = half * half
    twice += 1
    np.divide(2, twice, out=twice)
    return np.stack([twice - 1, np.multiply(twice, half, out=half)])


def _apart2(points, others):
    """Square distances of points (p, n, 3) from others (q, m, 3), as (p q, n, m)."""
    r2 = points[:, None] @ others.swapaxes(1, 2) * -2
    r2 += np.einsum("pix,pix->pi", points, points)[:, None, :, None]
    r2 += np.einsum("qjx,qjx->qj", others, others)[:, None, :]
    return np.maximum(r2, 0, out=r2).reshape(-1, *r2.shape[2:])


def _near(here, source):
    """Near pairs i <= j, and what 1/R at their Gauss points must be for exact integrals, (4, pairs).

    Found both ways round; for images the second way as the sheet shows it.
    """
    apart2 = _apart2(here.points.mean(axis=0)[None], source.points.mean(axis=0)[None])[0]
    longer = np.maximum.outer(here.length, source.length)
    i, j = np.nonzero(np.triu(apart2 < (NEAR_LENGTHS * longer) ** 2))
    found = _static(here[np.concatenate([i, j])], source[np.concatenate([j, i])])
    both_ways = found[: len(i)].swapaxes(1, 2) + found[len(i) :]
    return i, j, _TO_POINTS @ both_ways.reshape(-1, 4).T / 2


def _static(outer, inner):
    """Mean of triangle x triangle / R over pairs, (pairs, inner's end, outer's end).

    Exact along ``inner``, in steps along ``outer``.
    """
    away = (outer.start - inner.start)[:, None] + _STEPS[:, None] * outer.along[:, None]
    length2 = inner.length[:, None] ** 2
    at = (
        np.einsum("nmx,nx->nm", away, inner.along) / length2
    )  # foot, as a share of the inner length
    aside = away - at[:, :, None] * inner.along[:, None]
    off2 = np.einsum("nmx,nmx->nm", aside, aside) / length2
    off2 += (outer.radius**2 + inner.radius**2)[:, None] / 2 / length2
    off = np.sqrt(off2)
    whole = np.arcsinh((1 - at) / off) + np.arcsinh(at / off)
    rising = np.sqrt((1 - at) ** 2 + off2) - np.sqrt(at**2 + off2) + at * whole
    inside = np.stack([whole - rising, rising], axis=1) / inner.length[:, None, None]
    return (inside.reshape(-1, len(_STEPS)) @ _COUNTS).reshape(-1, 2, 2)
