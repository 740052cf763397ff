"""A structure cut into segments, and the triangles of current on them: all but the integrals."""

import functools
from dataclasses import dataclass

import numpy as np

from .. import facts
from .shape import JOIN_M, PER_WAVELENGTH, lengths, metal_facts

C_M_S = facts.value("constants", "speed_of_light")
MAX_UNKNOWNS = 2000
MIRROR = np.array([-1.0, 1.0, 1.0])
"""What a sheet does to a place, measured from it."""
SIDES = np.array([1.0, -1.0, 1.0])
"""What the mirror between left and right does."""
GAUSS = (1 + np.array([-1, 1]) / np.sqrt(3)) / 2
"""Where the two points of a segment lie, as a share of its length."""

OUTWARD = np.array([-1.0, 1.0])
"""Which way a current that flows into the joint runs along its segment: at the start, at the end."""


@dataclass(frozen=True, eq=False)
class Segments:
    """Short straight pieces, a row of ``packed`` (S, 8) each: ``start``, ``along`` from there to the
    stop, (S, 3); ``radius`` and ``length`` (S,), m."""

    packed: np.ndarray
    start = property(lambda self: self.packed[:, :3])
    along = property(lambda self: self.packed[:, 3:6])
    radius = property(lambda self: self.packed[:, 6])
    length = property(lambda self: self.packed[:, 7])

    @functools.cached_property
    def points(self):
        """The two Gauss points of each, (2, S, 3)."""
        return self.start + GAUSS[:, None, None] * self.along

    @property
    def middle(self):
        """Half way along each, (S, 3)."""
        return self.start + self.along / 2

    def __getitem__(self, which):
        return Segments(self.packed[which])

    @classmethod
    def joined(cls, several):
        """Several of these as one."""
        return cls(np.concatenate([part.packed for part in several]))

    def mirrored(self, flip, sheet_m=0.0):
        """Their images: places times ``flip`` (3,), measured from a sheet at x = ``sheet_m``."""
        moved = self.packed * np.concatenate([flip, flip, (1, 1)])
        moved[:, 0] += (1 - flip[0]) * sheet_m
        return Segments(moved)


class Segmented:
    """A structure as segments, and triangles of current on them.

    The current that flows into a joint at ``rising`` leaves at ``falling``.
    Segment ends are numbered start of every segment first, then stop of every segment; rising and
    falling (unknowns,) hold such numbers. ``loss`` is each segment's resistance at 1 MHz, ohm.
    """

    def __init__(self, structure, longest_m, max_unknowns=MAX_UNKNOWNS):
        pieces = structure.pieces
        how = pieces.cuts(longest_m)
        cuts = how.count
        _refuse_large(int(cuts.sum()), max_unknowns)
        piece = np.repeat(np.arange(len(cuts)), cuts)
        step = np.arange(len(piece)) - (np.cumsum(cuts) - cuts)[piece]
        unit = ((pieces.end - pieces.start) / pieces.length[:, None])[piece]
        begins, ends = how.places(piece, np.stack([step, step + 1]))
        length, radius = (ends - begins)[:, None], pieces.radius[piece, None]
        start = pieces.start[piece] + begins[:, None] * unit
        self.segments = Segments(np.concatenate([start, length * unit, radius, length], axis=1))
        self.sheet_m, self.lines = structure.sheet_m, structure.lines
        self.loss = _loss_per_m(structure.wires, pieces)[piece] * self.segments.length
        self._pair_ends(_segment_joints(pieces.joints, cuts, piece, step))
        self._feed(structure.feed)

    @functools.cached_property
    def ends(self):
        """Where the segment ends lie, in their order, (2 S, 3)."""
        start, along = self.segments.start, self.segments.along
        return np.concatenate([start, start + along])

    def _pair_ends(self, joint):
        """One triangle from each joint's first segment end to every other end there.

        First is the end whose segment runs least sideways, so that images of joints are paired alike.
        """
        x, y, z = (self.segments.along / self.segments.length[:, None]).T.round(6)
        key = np.concatenate([x + np.sqrt(2) * z, -x - np.sqrt(2) * z])
        order = np.lexsort((key + np.tile(100 * np.abs(y), 2), joint))
        new = np.append(True, np.diff(joint[order]) > 0)
        first = order[np.maximum.accumulate(np.where(new, np.arange(len(order)), 0))]
        self.rising = np.concatenate([first[~new], self._grounded(order[new])])
        self.falling = order[~new]
        self.count = len(self.rising)

    def _grounded(self, ends):
        """Those of the segment ``ends``, one a joint, from which current flows on into the sheet.

        Its triangle rises only: the image is the other half.
        """
        if self.sheet_m is None:
            return ends[:0]
        return ends[np.abs(self.ends[ends, 0] - self.sheet_m) < JOIN_M]

    def _feed(self, feed):
        """One volt at the triangle over each feed point, plus the way its wire was typed: ``ports``
        (unknowns, P), a column for each feed, or one for all where no lines part them."""
        at = self.ends[self.rising]
        self.fed = np.argmin(lengths(at - feed[:, None]), axis=1)
        self.way = OUTWARD[self.rising // len(self.loss)][self.fed]
        self.ports = np.zeros((self.count, len(feed)))
        self.ports[self.fed, np.arange(len(feed))] = self.way
        if not self.lines:
            self.ports = self.ports.sum(axis=1, keepdims=True)

    def end_currents(self, currents):
        """Along each segment at its start and stop, (2, segments, n), from those of the triangles."""
        ends = np.zeros((2 * len(self.loss), currents.shape[1]), currents.dtype)
        np.add.at(ends, self.rising, currents)
        ends[self.falling] -= currents[: len(self.falling)]  # an end falls once, but rises often
        return OUTWARD[:, None, None] * ends.reshape(2, -1, currents.shape[1])

    def moments(self, currents):
        """Current times wire at the Gauss points, A m, (2, segments, 3, n)."""
        start, stop = self.end_currents(currents)
        at_points = np.stack([(1 - g) * start + g * stop for g in GAUSS])
        return at_points[:, :, None, :] * (self.segments.along / 2)[:, :, None]


def segmented_for(structure, freq_mhz, max_unknowns, per_wavelength=PER_WAVELENGTH):
    """A structure cut for frequencies up to ``freq_mhz``: a Segmented."""
    return Segmented(structure, C_M_S / (per_wavelength * 1e6 * freq_mhz), max_unknowns)


def _refuse_large(unknowns, max_unknowns):
    if unknowns <= max_unknowns:
        return
    gigabytes = 170 * unknowns**2 / 1e9
    seconds = 2e-7 * unknowns**2 + 1e-10 * unknowns**3
    raise ValueError(
        f"This drawing needs about {unknowns} unknowns, {gigabytes:.1f} GB of memory and roughly "
        f"{seconds:.0f} s for each frequency; the limit is {max_unknowns}. Use fewer segments, or "
        "raise max_unknowns."
    )


def _segment_joints(piece_joint, cuts, piece, step):
    """A joint's number for each segment end."""
    inner = 2 * len(cuts) + np.arange(len(piece))
    start = np.where(step == 0, piece_joint[0, piece], inner - 1)
    stop = np.where(step == cuts[piece] - 1, piece_joint[1, piece], inner)
    return np.concatenate([start, stop])


def _loss_per_m(wires, pieces):
    """Skin-effect resistance of each piece in ohm per metre at 1 MHz; it grows as sqrt(f)."""
    known = [metal_facts(wire.metal) for wire in wires]
    rho_mu = np.array([m["resistivity_ohm_m"] * m["relative_permeability"] for m in known])
    surface_ohm = np.sqrt(np.pi * 1e6 * 4e-7 * np.pi * rho_mu)
    return surface_ohm[pieces.wire] / (2 * np.pi * pieces.radius)
