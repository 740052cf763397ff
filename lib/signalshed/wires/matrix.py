"""The impedance matrix: integrals over pairs of segments, gathered into triangles."""

import numpy as np

from .. import facts
from .mirror import half
from .segmented import C_M_S, GAUSS, MIRROR, OUTWARD, SIDES, Segments

ETA_OHM = facts.value("constants", "free_space_impedance")
BLOCK = 32
"""Segments whose rows are worked on together: small enough to stay in the processor's cache."""

NEAR_LENGTHS = 2.1
"""Pairs nearer than this many lengths are integrated exactly; off the steps of regular segments."""

# From values at Gauss points [p, q] to the double integral with triangles at ends [a, b], and back.
_SHAPE = np.stack([1 - GAUSS, GAUSS]) / 2
_TO_ENDS = np.kron(_SHAPE, _SHAPE)
_TO_POINTS = np.linalg.inv(_TO_ENDS)
_SIGNED_TO_ENDS = np.kron(OUTWARD, OUTWARD)[:, None] * _TO_ENDS
# Eight steps along a segment, and what each counts for the triangle at either end.
_GAUSS8 = np.polynomial.legendre.leggauss(8)
_STEPS = (1 + _GAUSS8[0]) / 2
_POWERS = np.stack([1 + 0 * _STEPS, _STEPS, _STEPS, _STEPS**2])
_COUNTS = np.stack([1 - _STEPS, _STEPS], axis=1) * _GAUSS8[1][:, None] / 2

_SKIN_SHARES = np.array([[2, -1], [-1, 2]])[:, :, None] / 12


class Matrix:
    """What all frequencies share, and from it the matrix of one frequency.

    Only pairs of segments i <= j are worked on, those on the diagonal counted half: the sum with its
    transpose is the whole matrix. An image carries the current and charge of its wire turned round.
    Where left and right are alike, and ``push`` (unknowns, n) with them, the equations are those of one
    half.
    """

    def __init__(self, segmented, push=None):
        self.push = segmented.ports if push is None else push
        self.half = half(segmented, self.push)
        segments = segmented.segments[self.half.segments]
        sources = [(1, segments), (-1, segments.mirrored(SIDES))][: self.half.times]
        if segmented.sheet_m is not None:
            sources += [
                (-sign, source.mirrored(MIRROR, segmented.sheet_m)) for sign, source in sources
            ]
        near = _near(segments, [source for _, source in sources])
        count = len(segments.radius)
        self.strips = [_Strip(segments, sources, near, low) for low in range(0, count, BLOCK)]

    def times_k(self, k):
        """Impedance matrix times k, ohm per metre: smooth in k."""
        of = self.half
        segments, count = len(of.loss), len(of.rising)
        ends = np.zeros((2, 2, segments, 2, segments))  # cos or sin; end, segment twice
        for strip in self.strips:
            strip.add_to(ends, k)
        skin = k * np.sqrt(k * C_M_S / (2e6 * np.pi)) * of.loss * 4 * np.pi / ETA_OHM
        np.einsum("caibi->iabc", ends)[:] += _SKIN_SHARES * skin[:, None, None, None]
        z = np.empty((count, count), complex)
        for part, into in zip(ends, (z.imag, z.real), strict=True):  # j (cos - j sin)
            half = self._felt(self._felt(part.reshape(2 * segments, -1), 0), 1)
            np.add(half, half.T, out=into)
        return np.multiply(z, ETA_OHM / (4 * np.pi), out=z)

    def _felt(self, ends, axis):
        """What each triangle feels: at its rising end, less at its falling one."""
        felt = np.take(ends, self.half.rising, axis)
        paired = (slice(None),) * axis + (slice(len(self.half.falling)),)
        felt[paired] -= np.take(ends, self.half.falling, axis)
        return felt

    def currents(self, times_k, k):
        """Currents at the triangles, (unknowns, n), for what pushes: one volt at each port by itself."""
        return k * self.half.spread(np.linalg.solve(times_k, self.half.felt(self.push)))

    def between(self, times_k, currents):
        """What ``currents`` (unknowns, n) do to each other: their products with the whole matrix."""
        worked = self.half.of(currents)
        return self.half.times * (worked.T @ (times_k @ worked))


class _Strip:
    """Pairs of the segments from ``low`` on with themselves, all later ones and their images: what k
    leaves alone. Arrays run over Gauss points [p, q], rows, sources, columns."""

    def __init__(self, segments, sources, near, low):
        here, there = segments[low : low + BLOCK], [source[low:] for _, source in sources]
        self.sign = np.array([sign for sign, _ in sources], float)
        rows, columns = len(here.radius), len(there[0].radius)
        self.shape = rows, len(sources), columns
        along = [sign * source.along for sign, source in zip(self.sign, there, strict=True)]
        self.direction = (here.along @ np.concatenate(along).T).reshape(self.shape)
        points = np.concatenate([source.points for source in there], axis=1)
        half2 = here.radius**2 / 2, np.tile(there[0].radius ** 2 / 2, len(sources))
        self.distance = _apart2(here.points, points, *half2).reshape(4, *self.shape)
        np.sqrt(self.distance, out=self.distance)
        self.inverse = 1 / self.distance
        self._correct(near, low, rows)
        self.at = np.s_[:, :, low : low + rows, :, low:]
        step = np.arange(rows)
        self.once = (np.sign(step - step[:, None]) + 1) / 2

    def _correct(self, near, low, rows):
        """Where pairs are near, and what their inverse distance lacks there."""
        number, i, j, exact = near
        mine = (i >= low) & (i < low + rows)
        self.near = np.ravel_multi_index((i[mine] - low, number[mine], j[mine] - low), self.shape)
        self.excess = exact[:, mine] - self.inverse.reshape(4, -1)[:, self.near]

    def add_to(self, ends, k):
        """Add k^2 x current part - charge part to ``ends``, in units of j eta / 4 pi."""
        kernel = cos_sin(k * self.distance)
        kernel *= self.inverse
        kernel[0].reshape(4, -1)[:, self.near] += self.excess
        charge = self.sign / 4 @ kernel.sum(axis=1)
        current = np.einsum("cpisj,isj->cpij", kernel, self.direction)
        rows, _, columns = self.shape
        both = (k * k * _SIGNED_TO_ENDS) @ current.reshape(2, 4, -1)
        both = both.reshape(2, 2, 2, rows, columns)
        both -= charge[:, None, None]
        both[..., :rows] *= self.once
        ends[self.at] += both.swapaxes(2, 3)


def cos_sin(phase):
    """Cosine and sine, (2, ...), from the tangent of half the angle: one slow function, not two."""
    found = np.empty((2, *phase.shape))
    cosine, sine = found
    np.tan(np.multiply(phase, 0.5, out=sine), out=sine)
    np.multiply(sine, sine, out=cosine)
    cosine += 1
    np.divide(2, cosine, out=cosine)
    sine *= cosine
    cosine -= 1
    return found


def _apart2(points, others, more=0.0, still=0.0):
    """Square distances of points (p, n, 3) from others (q, m, 3), and ``more`` (n,) and ``still`` (m,),
    as (p q, n, m): one product of five numbers a point, not below ``more`` by rounding."""
    own, their = np.empty((*points.shape[:2], 5)), np.empty((*others.shape[:2], 5))
    own[..., :3], their[..., :3] = -2 * points, others
    own[..., 3] = their[..., 4] = 1
    np.add(np.einsum("pix,pix->pi", points, points), more, out=own[..., 4])
    np.add(np.einsum("qjx,qjx->qj", others, others), still, out=their[..., 3])
    r2 = own.reshape(-1, 5) @ their.reshape(-1, 5).T
    r2 = r2.reshape(len(points), points.shape[1], len(others), -1).swapaxes(1, 2)
    return np.maximum(r2, np.asarray(more)[..., None]).reshape(-1, points.shape[1], others.shape[1])


def _near(here, sources):
    """Near pairs i <= j of segments ``here`` and each source: the source's number, i, j, and what 1/R at
    their Gauss points must be for exact integrals, (4, pairs).

    Found both ways round; for images the second way as their mirror shows it.
    """
    count, there = len(here.radius), Segments.joined(sources)
    apart2 = _apart2(here.middle[None], there.middle[None])[0]
    longer = np.maximum(here.length[:, None], there.length)
    i, at = np.nonzero(apart2 < (NEAR_LENGTHS * longer) ** 2)
    number, j = np.divmod(at, count)
    once = i <= j
    number, i, j = number[once], i[once], j[once]
    rows, columns = np.concatenate([i, j]), np.concatenate([j, i]) + np.tile(number * count, 2)
    found = _static(here[rows], there[columns])
    both_ways = found[: len(i)].swapaxes(1, 2) + found[len(i) :]
    return number, i, j, _TO_POINTS @ both_ways.reshape(-1, 4).T / 2


def _static(outer, inner):
    """Mean of triangle x triangle / R over pairs, (pairs, inner's end, outer's end).

    Exact along ``inner``, in steps along ``outer``.
    """
    pair = np.stack([outer.start - inner.start, outer.along]) / inner.length[:, None]
    along = inner.along / inner.length[:, None]
    foot = np.einsum("anx,nx->an", pair, along)  # as a share of the inner length
    aside = pair - foot[:, :, None] * along
    at = foot[0, :, None] + foot[1, :, None] * _STEPS
    squares = np.einsum("anx,bnx->nab", aside, aside).reshape(-1, 4)
    squares[:, 0] += (outer.radius**2 + inner.radius**2) / 2 / inner.length**2
    off2 = squares @ _POWERS
    left, far, near = 1 - at, np.sqrt((1 - at) ** 2 + off2), np.sqrt(at**2 + off2)
    off = np.sqrt(off2)  # asinh(x / off) by the logarithm, four times as fast
    whole = np.copysign(np.log((np.abs(left) + far) / off), left)
    whole += np.copysign(np.log((np.abs(at) + near) / off), at)
    rising = far - near + at * whole
    inside = np.stack([whole - rising, rising], axis=1) / inner.length[:, None, None]
    return (inside.reshape(-1, len(_STEPS)) @ _COUNTS).reshape(-1, 2, 2)
