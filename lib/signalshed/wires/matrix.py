"""The impedance matrix: integrals over pairs of segments, gathered into triangles."""

import numpy as np

from .. import facts
from .mesh import C_M_S, GAUSS, OUTWARD

ETA_OHM = facts.value("constants", "free_space_impedance")
BLOCK = 48
"""Segments whose rows are worked on together: small enough to stay in the processor's cache."""

NEAR_LENGTHS, CLOSE_LENGTHS = 2.1, 1.05  # off the steps of a regular mesh: no pair sits on them

# From values at Gauss points [p, q] to the double integral with triangles at ends [a, b], and back.
_SHAPE = np.stack([1 - GAUSS, GAUSS]) / 2
_TO_ENDS = np.kron(_SHAPE, _SHAPE)
_TO_POINTS = np.linalg.inv(_TO_ENDS)
_SIGNED_TO_ENDS = np.kron(OUTWARD, OUTWARD)[:, None] * _TO_ENDS


def _steps(count):
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (1 + nodes) / 2, weights / 2


_FINE, _COARSE = _steps(8), _steps(4)


class Matrix:
    """What all frequencies share, and from it the matrix of one frequency.

    Only pairs i <= j are computed: a strip of rows with all columns from its own first on, the square
    on the diagonal counted half; the sum with its transpose is the whole matrix.
    """

    def __init__(self, mesh):
        self.mesh = mesh
        here = _Line(mesh)
        sides = [_Side(here, here, 1.0)]
        if mesh.sheet_m is not None:
            sides.append(_Side(here, _Line(mesh, image=True), -1.0))
        lows = range(0, len(mesh.length), BLOCK)
        self.strips = [(low, [side.strip(low) for side in sides]) for low in lows]

    def times_k(self, k):
        """Impedance matrix times k, ohm per metre: smooth in k."""
        segments = len(self.mesh.length)
        ends = np.zeros((2, 2, segments, 2, segments))  # cosine or sine, end, segment, end, segment
        for low, parts in self.strips:
            for part in parts:
                part.add(ends[:, :, low : low + BLOCK, :, low:], k)
        self._add_skin_effect(ends, k)
        ends = ends.reshape(2, 2 * segments, 2 * segments)
        z = np.empty((self.mesh.count, self.mesh.count), complex)
        self._gather(ends[1], z.real)  # j eta / 4 pi (cosine part - j sine part)
        self._gather(ends[0], z.imag)
        return np.multiply(z, ETA_OHM / (4 * np.pi), out=z)

    def _add_skin_effect(self, ends, k):
        ohm = k * np.sqrt(k * C_M_S / (2e6 * np.pi)) * self.mesh.loss * 4 * np.pi / ETA_OHM
        segment = np.arange(len(ohm))
        for a in range(2):
            for b in range(2):
                ends[:, a, segment, b, segment] += (1 if a == b else -0.5) / 6 * ohm

    def _gather(self, ends, into):
        """What each triangle's two ends feel from each other triangle's, both halves of the pairs."""
        rising, falling = self.mesh.rising, self.mesh.falling
        rows = np.take(ends, rising, axis=0)
        rows -= np.take(ends, falling, axis=0)
        half = np.take(rows, rising, axis=1)
        half -= np.take(rows, falling, axis=1)
        np.add(half, half.T, out=into)

    def currents(self, times_k, k):
        """Currents at the triangles for one volt at each feed."""
        return k * np.linalg.solve(times_k, self.mesh.voltage)


class _Line:
    """Segments as they are, or as their images behind the sheet."""

    def __init__(self, mesh, image=False):
        self.length, self.radius = mesh.length, mesh.radius
        self.start, self.tangent, self.points = mesh.start, mesh.tangent, mesh.points
        if image:
            self.start = mesh.mirrored(mesh.start, 2 * mesh.sheet_m)
            self.points = mesh.mirrored(mesh.points, 2 * mesh.sheet_m)
            self.tangent = mesh.mirrored(mesh.tangent)
        self.centre = self.points.mean(axis=0)


class _Side:
    """Fields at the wires from the wires themselves, or from their images.

    An image carries the mirrored wire's current and charge turned round: ``sign`` -1.
    """

    def __init__(self, here, source, sign):
        self.here, self.source, self.sign = here, source, sign
        self.near = _near_values(here, source)

    def strip(self, low):
        """The part of these fields on BLOCK segments from ``low`` on."""
        rows, columns = slice(low, low + BLOCK), slice(low, None)
        i, j, values = self.near
        mine = (i >= low) & (i < low + BLOCK) & (j >= low)
        near = i[mine] - low, j[mine] - low, values[mine].T
        along = [line.length[:, None] * line.tangent for line in (self.here, self.source)]
        direction = self.sign * (along[0][rows] @ along[1][columns].T)
        return _Strip(
            *_distances(self.here, self.source, rows, columns), direction, near, self.sign
        )


class _Strip:
    """Rows of one side's kernel: everything about them that does not depend on k."""

    def __init__(self, distance, centre, direction, near, sign):
        self.centre, self.direction, self.sign = centre, direction, sign
        self.inverse = 1 / distance
        self.beyond = np.subtract(distance, centre, out=distance)
        self.where = np.ravel_multi_index(near[:2], direction.shape)
        self.extra = near[2] - self.inverse.reshape(4, -1)[:, self.where]

    def add(self, ends, k):
        """Add k^2 x current part - charge part to ``ends``, in units of j eta / 4 pi."""
        kernel = cos_sin(k * self.centre, k * self.beyond)
        kernel *= self.inverse
        kernel = kernel.reshape(2, 4, -1)
        kernel[0][:, self.where] += self.extra
        charge = kernel.sum(axis=1)
        charge *= self.sign / 4
        both = (k * k * _SIGNED_TO_ENDS) @ kernel
        rows, columns = self.direction.shape
        both = both.reshape(2, 2, 2, rows, columns)
        both *= self.direction
        both -= charge.reshape(2, 1, 1, rows, columns)
        both[..., :rows] *= 0.5
        ends += both.swapaxes(2, 3)


def cos_sin(centre, beyond):
    """Cosine and sine of centre + beyond, (2, *beyond.shape), by series in the small ``beyond``."""
    square = beyond * beyond
    cosine = _series(square, (-1 / 720, 1 / 24, -1 / 2, 1))
    sine = _series(square, (1 / 120, -1 / 6, 1))
    sine *= beyond
    c, s = np.cos(centre), np.sin(centre)
    out = np.empty((2, *beyond.shape))
    np.multiply(cosine, c, out=out[0])
    np.multiply(cosine, s, out=out[1])
    out[0] -= np.multiply(sine, s, out=square)
    out[1] += np.multiply(sine, c, out=square)
    return out


def _series(x, coefficients):
    """Polynomial, highest power first, without scratch arrays."""
    total = coefficients[0] * x
    for coefficient in coefficients[1:-1]:
        total += coefficient
        total *= x
    total += coefficients[-1]
    return total


def _distances(here, source, rows, columns):
    """R between Gauss points, (4, rows, columns), and between centres, (rows, columns).

    From axis to surface: the mean square of both radii is inside.
    """
    radius2 = np.add.outer(here.radius[rows] ** 2, source.radius[columns] ** 2) / 2
    points, others = here.points[:, rows], source.points[:, columns]
    r2 = (points[:, None] @ others.swapaxes(1, 2)) * -2
    r2 += np.einsum("pix,pix->pi", points, points)[:, None, :, None]
    r2 += np.einsum("qjx,qjx->qj", others, others)[:, None, :]
    r2 += radius2
    np.maximum(r2, radius2, out=r2)
    distance = np.sqrt(r2, out=r2).reshape(4, *radius2.shape)
    return distance, distance.mean(axis=0)


def _near_values(here, source):
    """Pairs (i, j) near each other, both ways round, and what stands for their 1/R at Gauss points.

    The double integral of triangle x triangle / R is found exactly for near pairs and turned into the
    four values at Gauss points that would give it; their excess over 1/R does not depend on k.
    """
    i, j, close = _near_pairs(here, source)
    twice = i != j
    rows, columns = np.concatenate([i, j[twice]]), np.concatenate([j, i[twice]])
    close = np.concatenate([close, close[twice]])
    exact = np.empty((len(rows), 2, 2))
    for which, steps in ((close, _FINE), (~close, _COARSE)):
        exact[which] = _static(here, rows[which], source, columns[which], *steps)
    other = exact[: len(i)].copy()  # the same pairs with outer and inner changed over
    other[twice] = exact[len(i) :]
    both_ways = (exact[: len(i)] + other.swapaxes(1, 2)) / 2
    at_points = both_ways.reshape(-1, 4) @ _TO_POINTS.T
    return rows, columns, np.concatenate([at_points, at_points[twice][:, [0, 2, 1, 3]]])


def _near_pairs(here, source):
    """Pairs i <= j nearer than two lengths of the longer, and which of them are nearer than one."""
    square = [np.einsum("ix,ix->i", line.centre, line.centre) for line in (here, source)]
    apart2 = np.add.outer(*square) - 2 * here.centre @ source.centre.T
    longer = np.maximum.outer(here.length, source.length)
    i, j = np.nonzero(np.triu(apart2 < (NEAR_LENGTHS * longer) ** 2))
    close = apart2[i, j] < (CLOSE_LENGTHS * (here.length[i] + source.length[j]) / 2) ** 2
    return i, j, close


def _static(outer, i, inner, j, nodes, weights):
    """Mean of triangle x triangle / R over pairs: exact along ``inner``, steps along ``outer``."""
    at = outer.start[i, None] + (outer.length[i, None] * nodes)[..., None] * outer.tangent[i, None]
    length = inner.length[j, None]
    away = at - inner.start[j, None]
    z = np.einsum("nmx,nx->nm", away, inner.tangent[j])
    off2 = np.maximum(np.einsum("nmx,nmx->nm", away, away) - z**2, 0)
    off2 += ((outer.radius[i] ** 2 + inner.radius[j] ** 2) / 2)[:, None]
    near, far = np.sqrt(z**2 + off2), np.sqrt((length - z) ** 2 + off2)
    beside = np.maximum(np.maximum(-z, z - length), 0)
    detour = off2 / (near + np.abs(z)) + off2 / (far + np.abs(length - z)) + 2 * beside
    whole = np.log((near + far + length) / detour) / length
    rising = (far - near) / length**2 + z / length * whole
    inside = np.stack([whole - rising, rising], axis=1)
    return np.stack([1 - nodes, nodes]) * weights @ inside.swapaxes(1, 2)
