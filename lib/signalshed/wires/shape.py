"""Wires as their builder types them, checked, and cut into segments for the solver."""

import functools
from dataclasses import dataclass

import numpy as np

from .. import facts
from ..units import check, number, one_of, settle

JOIN_M = 1e-6
"""Points closer together than this are one joint, metres."""

SHORTEST_RADII = 2.5
PER_WAVELENGTH = 20
END_RADII = 2.0
"""Length of the segment at a bare end, in radii. There the thin-wire kernel gives the resonant length
that the kernel of the whole tube gives, to 0.0002 wavelengths for radii of 0.0003 to 0.008: found by
solving both; a coarser end makes a rod act up to 1 % too short, which moves a Yagi's front-to-back."""


@dataclass(frozen=True, eq=False)
class Wire:
    """One wire: a line through ``points_m``.

    ``points_m`` (P, 3) metres, at least two; end on the first point again to close a loop. Wires
    that share a point are joined there. ``radius_m`` above 0. ``segments`` for the whole wire, shared
    out by length, or None: pieces of at most a twentieth of the wavelength. ``metal`` from
    ``facts.table("metals")``; "ideal" has no loss.

    >>> Wire([(0, -0.125, 0), (0, 0.125, 0)], 0.001).length_m
    0.25
    """

    points_m: np.ndarray
    radius_m: float
    segments: int | None = None
    metal: str = "copper"

    def __post_init__(self):
        points = check("points_m", self.points_m)
        if points.ndim != 2 or points.shape[0] < 2 or points.shape[1] != 3:
            raise ValueError(
                f"points_m has shape {points.shape}; it must be at least two points of x, y, z."
            )
        steps = lengths(points[1:] - points[:-1])
        if steps.min() < JOIN_M:
            here = _text(points[int(np.argmin(steps))])
            raise ValueError(
                f"points_m has the same point twice running, {here}: no length between."
            )
        radius = number("radius_m", self.radius_m, above=0)
        pieces = len(points) - 1
        if self.segments is not None and not int(check("segments", self.segments)) >= pieces:
            raise ValueError(
                f"segments is {self.segments}; it must be at least {pieces}, one per straight piece."
            )
        one_of("metal", self.metal, metals())
        settle(self, points_m=points, radius_m=radius)

    @property
    def length_m(self):
        """Length of wire along all its points, metres."""
        return float(lengths(self.points_m[1:] - self.points_m[:-1]).sum())


def metals():
    """Names of the metals a wire may be made of, in the order of the facts table.

    >>> metals()[:2]
    ('ideal', 'copper')
    """
    return tuple(_metal_table())


def metal_facts(name):
    """Resistivity, permeability and density of one metal, as a dict; read only."""
    return _metal_table()[name]


@functools.cache
def _metal_table():
    return facts.table("metals").set_index("metal").to_dict("index")


@dataclass(frozen=True, eq=False)
class Structure:
    """Wires, where they are fed, and perhaps an infinite sheet behind them.

    ``wires`` a list of Wire. ``feed`` a point (x, y, z) on a wire in metres, or several, fed in phase
    from one line; plus points the way the wire was typed. ``sheet_m`` the x of an infinite sheet that
    all wires stand in front of or end on, joined to it, or None; a feed may lie at such an end.
    ``lines`` one Line for each feed, all joined at their other ends, or none: then the feeds themselves
    are joined. Raises ValueError when wires touch without sharing a point, and when a feed is missing,
    off the wire, at a bare end, or where three wires meet.

    >>> half = Wire([(0, -0.125, 0), (0, 0.125, 0)], 0.001)
    >>> Structure([half], feed=(0, 0, 0)).feed.shape
    (1, 3)
    """

    wires: tuple
    feed: np.ndarray | None = None
    sheet_m: float | None = None
    lines: tuple = ()

    def __post_init__(self):
        wires = tuple(self.wires)
        if not wires or not all(isinstance(wire, Wire) for wire in wires):
            raise ValueError("wires must be a list of at least one Wire.")
        if self.feed is None:
            raise ValueError(
                "feed is missing: give the point x, y, z in metres where the line joins."
            )
        feed = np.atleast_2d(check("feed", self.feed))
        if feed.ndim != 2 or feed.shape[1] != 3:
            raise ValueError(
                f"feed has shape {feed.shape}; it must be one point x, y, z or several."
            )
        settle(self, wires=wires, feed=feed, lines=tuple(self.lines))
        if self.lines and len(self.lines) != len(feed):
            raise ValueError(
                f"lines are {len(self.lines)}; there must be one for each of {len(feed)} feeds."
            )
        sheet_m = None if self.sheet_m is None else number("sheet_m", self.sheet_m)
        pieces = _Pieces.of(wires, sheet_m).split_at(feed)
        settle(self, pieces=pieces)
        pieces.refuse_short(pieces.length / np.maximum(pieces.asked, 1))
        pieces.refuse_touching()
        pieces.refuse_feeds(feed)
        if sheet_m is not None:
            self._refuse_behind(sheet_m)

    def _refuse_behind(self, sheet_m):
        pieces = self.pieces
        reach = np.stack([pieces.start[:, 0], pieces.end[:, 0]]) - pieces.radius
        reach = np.where(pieces.grounded & ~pieces.grounded.all(axis=0), np.inf, reach)
        if reach.min() <= sheet_m:
            raise ValueError(
                f"sheet_m is {sheet_m:g}; a wire reaches back to x = {reach.min():.4g} m, but "
                "all of it must stand in front of the sheet, or end on it."
            )

    @property
    def wire_m(self):
        """Length of all wire together, metres."""
        return float(sum(wire.length_m for wire in self.wires))

    def __add__(self, other):
        """Both structures' wires, this one's feed and sheet."""
        return Structure(self.wires + tuple(other), self.feed, self.sheet_m, self.lines)


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Straight pieces between typed points: what can touch, be fed, and be cut."""

    start: np.ndarray
    end: np.ndarray
    radius: np.ndarray
    wire: np.ndarray
    wires: tuple
    sheet_m: float | None = None

    @classmethod
    def of(cls, wires, sheet_m=None):
        count = [len(wire.points_m) - 1 for wire in wires]
        return cls(
            np.concatenate([wire.points_m[:-1] for wire in wires]),
            np.concatenate([wire.points_m[1:] for wire in wires]),
            np.repeat([wire.radius_m for wire in wires], count),
            np.repeat(np.arange(len(wires)), count),
            wires,
            sheet_m,
        )

    @property
    def grounded(self):
        """Which starts and ends lie on the sheet and are joined to it, (2, n)."""
        if self.sheet_m is None:
            return np.zeros((2, len(self.start)), bool)
        return np.abs(np.stack([self.start[:, 0], self.end[:, 0]]) - self.sheet_m) < JOIN_M

    @functools.cached_property
    def length(self):
        return lengths(self.end - self.start)

    @functools.cached_property
    def joints(self):
        """A joint's number for each piece's start (row 0) and end (row 1)."""
        count = len(self.start)
        points, number = np.stack([self.start, self.end]), np.arange(2 * count)
        i, j = self._beside
        ends = points[:, None, i] - points[None, :, j]
        a, b, pair = np.nonzero(np.einsum("abnx,abnx->abn", ends, ends) <= JOIN_M**2)
        one, other = a * count + i[pair], b * count + j[pair]
        np.minimum.at(number, np.maximum(one, other), np.minimum(one, other))
        return number.reshape(2, -1)

    @functools.cached_property
    def _beside(self):
        """Numbers i, j of pieces that may touch: the boxes around them overlap."""
        half = np.abs(self.end - self.start) / 2 + self.radius[:, None] + JOIN_M
        return _overlaps((self.start + self.end) / 2, half)

    def split_at(self, feed):
        """The same pieces with a point wherever a feed lies between two."""
        pieces = self
        for point in feed:
            pieces = pieces._split(point)
        return pieces

    def _split(self, point):
        along = self.end - self.start
        share = np.einsum("ij,ij->i", point - self.start, along) / self.length**2
        foot = self.start + np.clip(share, 0, 1)[:, None] * along
        off = lengths(point - foot)
        i = int(np.argmin(off - self.radius))
        if off[i] > self.radius[i] + JOIN_M:
            raise ValueError(
                f"feed {_text(point)} is on no wire: the nearest is {1000 * off[i]:.4g} mm away."
            )
        if min(lengths(foot[i] - self.start[i]), lengths(foot[i] - self.end[i])) < JOIN_M:
            return self
        return _Pieces(
            np.insert(self.start, i + 1, foot[i], axis=0),
            np.insert(self.end, i, foot[i], axis=0),
            np.insert(self.radius, i, self.radius[i]),
            np.insert(self.wire, i, self.wire[i]),
            self.wires,
            self.sheet_m,
        )

    def refuse_touching(self):
        """ValueError where two pieces come nearer than their radii without a common point."""
        i, j = self._beside
        joint = self.joints
        shared = (joint[:, None, i] == joint[None, :, j]).any(axis=(0, 1))
        self._refuse_folded(i[shared], j[shared])
        i, j = i[~shared], j[~shared]
        if not len(i):
            return
        gap, where = _gap(self.start[i], self.end[i], self.start[j], self.end[j])
        _refuse(gap < self.radius[i] + self.radius[j], where)

    def _refuse_folded(self, i, j):
        """ValueError where a piece runs back over the one it is joined to."""
        u, v = self.end[i] - self.start[i], self.end[j] - self.start[j]
        length = self.length
        cosine = np.abs(np.einsum("ij,ij->i", u, v)) / (length[i] * length[j])
        centre = (self.start + self.end) / 2
        apart = lengths(centre[i] - centre[j])
        _refuse((cosine > 1 - 1e-9) & (apart < (length[i] + length[j]) / 2 - JOIN_M), centre[i])

    def refuse_feeds(self, feed):
        """ValueError for a feed at a bare end or where more than two ends meet."""
        joint = self.joints
        points = np.concatenate([self.start, self.end])
        for point in feed:
            at = joint.ravel()[np.argmin(lengths(points - point))]
            ends = int(np.sum(joint == at))
            if ends == 1 and not self.grounded[joint == at].any():
                raise ValueError(
                    f"feed {_text(point)} is at the bare end of a wire: no current can flow there."
                )
            if ends > 2:
                raise ValueError(
                    f"feed {_text(point)} is where {ends} wire ends meet: move it a little "
                    "along the wire it belongs to."
                )

    def cuts(self, longest_m):
        """How each piece is cut: a Cuts; ValueError when a radius is too fat for a segment."""
        graded = self._graded(longest_m)
        grown = END_RADII * self.radius * (2.0**graded - 1)
        middle = self.length - grown.sum(axis=0)
        count = np.where(self._typed, self.asked, np.ceil(middle / longest_m - 1e-9))
        count = np.maximum(count, 1).astype(int)
        self.refuse_short(middle / count)
        return Cuts(graded, count, grown, middle / count, END_RADII * self.radius)

    @functools.cached_property
    def _typed(self):
        """Segments typed for the wire of each piece, 0 where they are left to us."""
        return np.array([wire.segments or 0 for wire in self.wires])[self.wire]

    @functools.cached_property
    def asked(self):
        """Segments typed for the wire of each piece, shared out by length; 0 where left to us."""
        total = np.bincount(self.wire, weights=self.length)[self.wire]
        return np.round(self._typed * self.length / total)

    def _graded(self, longest_m):
        """How many segments, each twice the one before, lead in from the bare start and end, (2, n)."""
        joint = self.joints
        bare = np.bincount(joint.ravel(), minlength=joint.max() + 1)[joint] == 1
        bare &= ~self.grounded
        first = END_RADII * self.radius
        room = np.log2(0.45 * self.length / first + 1)
        levels = np.floor(np.minimum(np.log2(np.maximum(longest_m / first, 1)) + 1, room))
        return np.where(bare & (self._typed == 0), levels, 0).astype(int)

    def refuse_short(self, segment):
        """ValueError where a radius is too fat for a ``segment`` (n,) of its piece."""
        short = segment < SHORTEST_RADII * self.radius
        if not short.any():
            return
        i = int(np.argmax(short))
        raise ValueError(
            f"A segment near {_text(self.start[i])} m is {1000 * segment[i]:.3g} mm long, "
            f"too short for a radius of {1000 * self.radius[i]:.3g} mm: it must be at least "
            f"{SHORTEST_RADII} radii. Use fewer segments or thinner wire."
        )


@dataclass(frozen=True, eq=False)
class Cuts:
    """How pieces are cut: segments that grow from a bare end, even ones between.

    ``graded`` (2, n) how many lead in from start and end, together ``grown`` (2, n) metres; ``even``
    (n,) how many of ``even_m`` lie between; ``first_m`` (n,) the length of the first at a bare end.
    """

    graded: np.ndarray
    even: np.ndarray
    grown: np.ndarray
    even_m: np.ndarray
    first_m: np.ndarray

    @property
    def count(self):
        """Segments of each piece, (n,)."""
        return self.graded.sum(axis=0) + self.even

    def places(self, piece, step):
        """Metres along ``piece`` (S,) at which its ``step``-th segment begins, (..., S)."""
        low, high = self.graded[:, piece]
        even, first = self.even[piece], self.first_m[piece]
        inner = self.grown[0, piece] + np.clip(step - low, 0, even) * self.even_m[piece]
        rising = first * (2.0 ** np.minimum(step, low) - 1)
        left = np.minimum(low + even + high - step, high)
        falling = first * (2.0**high - 2.0**left)
        return np.where(step < low, rising, inner + falling)


def lengths(steps):
    """Lengths of vectors (..., 3)."""
    return np.sqrt(np.einsum("...x,...x->...", steps, steps))


def _overlaps(centre, half):
    """Numbers i, j of the boxes, ``half`` (n, 3) wide either way of ``centre``, that overlap.

    Sorted along the axis on which they lie farthest apart, a box meets only those that begin before
    it ends.
    """
    low, high = (centre - half).T, (centre + half).T
    axis = int(np.argmax(np.ptp(centre, axis=0) / half.sum(axis=0)))
    order = np.argsort(low[axis])
    later = (
        np.searchsorted(low[axis, order], high[axis, order], "right") - np.arange(len(order)) - 1
    )
    i = np.repeat(np.arange(len(order)), later)
    j = np.arange(len(i)) - np.repeat(np.cumsum(later) - later, later) + i + 1
    i, j = order[i], order[j]
    met = ((low[:, i] <= high[:, j]) & (low[:, j] <= high[:, i])).all(axis=0)
    return i[met], j[met]


def _text(point):
    return "(" + ", ".join(f"{x:.4g}" for x in np.round(point, 6) + 0.0) + ")"


def _refuse(bad, where):
    if bad.any():
        raise ValueError(
            f"Two wires touch near {_text(where[np.argmax(bad)])} m without being joined there: give "
            "both that point, or move them apart."
        )


def _gap(p, p_end, q, q_end):
    """Shortest distance between straight pieces, and where on the first.

    Tried from the nearest points of the two endless lines and from each of the four ends.
    """
    u, v, w = p_end - p, q_end - q, p - q
    a, b, c = (np.einsum("ij,ij->i", x, y) for x, y in ((u, u), (u, v), (v, v)))
    d, e = (np.einsum("ij,ij->i", x, w) for x in (u, v))
    slant = np.maximum(a * c - b * b, 1e-12 * a * c)
    s = np.stack([(b * e - c * d) / slant, 0 * a, 1 + 0 * a, -d / a, (b - d) / a]).clip(0, 1)
    t = ((b * s + e) / c).clip(0, 1)
    gap = lengths(w + s[..., None] * u - t[..., None] * v)
    best = np.argmin(gap, axis=0), np.arange(len(p))
    return gap[best], p + s[best][:, None] * u
