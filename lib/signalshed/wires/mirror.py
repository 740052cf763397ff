"""The half of a drawing that says what the whole does: left and right alike, and driven alike.

Where a drawing is its own mirror image in y = 0, and its feeds push along y there, the current that
flows toward a point on the left flows away from its image on the right. Half of the triangles
are then unknown, and a source counts together with its image: the sums are the same, a quarter of the
pairs is worked on. Drawings that are not alike are solved whole.
"""

import numpy as np

from .segmented import SIDES
from .shape import JOIN_M, lengths

FEWEST = 50
"""Unknowns below which looking for a mirror takes longer than it saves."""


class Half:
    """What is worked on of a Segmented, and how all of it follows: here still the whole.

    ``segments`` those that are worked on, ``loss`` theirs; ``rising``, ``falling`` as of a Segmented,
    ends numbered among these; ``times`` how often the sums over them go into those over all.
    """

    times = 1
    segments = keep = source = slice(None)
    way = share = weight = 1

    def __init__(self, segmented):
        self.rising, self.falling, self.loss = segmented.rising, segmented.falling, segmented.loss

    def of(self, whole):
        """What is worked on of ``whole`` (unknowns, n)."""
        return self.way * whole[self.keep]

    def felt(self, push):
        """The worked part of a push (unknowns, n), as its equations take it."""
        return self.share * self.of(push)

    def spread(self, worked):
        """All currents (unknowns, n) from those worked on."""
        return self.weight * worked[self.source]

    def cut(self, segmented, twin, sign):
        """Keep segments left of y = 0, and of those across it the left end, which loses half as much
        again, its current being steady. A triangle over the plane rises only."""
        count, y = len(segmented.loss), segmented.ends[:, 1]
        middle, across = y[:count] + y[count:], np.abs(y[:count] - y[count:]) > JOIN_M
        kept = (middle > 2 * JOIN_M) | ((middle >= -2 * JOIN_M) & across)
        self.times, self.segments = 2, np.flatnonzero(kept)
        self.loss = segmented.loss[kept] * np.where(middle[kept] > 2 * JOIN_M, 1, 1.5)
        number = np.tile(np.cumsum(kept) - 1, 2) + np.repeat([0, len(self.segments)], count)
        number[~np.tile(kept, 2) | (y < -JOIN_M)] = -1
        rising, falling = number[segmented.rising], np.full(segmented.count, -1)
        falling[: len(segmented.falling)] = number[segmented.falling]
        paired = np.flatnonzero((rising >= 0) & (falling >= 0))
        single = np.flatnonzero((rising >= 0) ^ (falling >= 0))
        self.falling = falling[paired]
        self.rising = np.append(rising[paired], np.maximum(rising, falling)[single])
        self.keep = np.append(paired, single)
        self.way = np.where(rising[self.keep] < 0, -1, 1)[:, None]
        self._weigh(segmented.count, twin[self.keep], sign[self.keep, None])
        return self

    def _weigh(self, count, twin, sign):
        """How all ``count`` triangles follow from those kept, mirrored by ``twin``."""
        self.share = np.where(twin == self.keep, 0.5, 1)[:, None]
        self.source, self.weight = np.zeros(count, int), np.zeros((count, 1))
        for into, weight in ((twin, sign * self.way), (self.keep, self.way)):
            self.source[into], self.weight[into] = np.arange(len(twin)), weight


def half(segmented, push):
    """A Half, cut where the drawing and ``push`` (unknowns, n) are their own mirror image."""
    whole, found = Half(segmented), _twins(segmented) if segmented.count >= FEWEST else None
    if found is None or not (segmented.ends[:, 1] > JOIN_M).any():
        return whole
    cut = Half(segmented).cut(segmented, *found)
    same = np.abs(cut.spread(cut.of(push)) - push).max() < 1e-6 * np.abs(push).max()
    return cut if same else whole


def _twins(segmented):
    """The triangle that mirrors each, and whether it runs the same way (1) or not (-1); None without."""
    other = _images(segmented)
    if other is None:
        return None
    rising, falling = (
        segmented.rising,
        np.append(segmented.falling, segmented.rising[len(segmented.falling) :]),
    )
    ends = len(other)
    key = np.minimum(rising, falling) * ends + np.maximum(rising, falling)
    a, b = other[rising], other[falling]
    wanted = np.minimum(a, b) * ends + np.maximum(a, b)
    order = np.argsort(key)
    twin = order[np.minimum(np.searchsorted(key[order], wanted), len(key) - 1)]
    if (key[twin] != wanted).any():
        return None
    return twin, np.where((rising[twin] == b) & (a != b), 1, -1)


def _images(segmented):
    """The end that mirrors each segment end, (2 S,), or None where one has no image."""
    start, stop = segmented.ends.reshape(2, -1, 3)
    middle = (start + stop) / 2
    slant = np.array([0.5477, 0.7321, 0.4142])  # in general no two segments share this coordinate
    here, there = np.argsort(middle @ slant), np.argsort(middle @ (slant * SIDES))
    twin = np.empty_like(here)
    twin[there] = here
    thick = segmented.segments.radius
    straight, turned = (lengths(end[twin] - start * SIDES) < JOIN_M for end in (start, stop))
    alike = np.abs(thick[twin] - thick) < 1e-9
    alike &= np.abs(segmented.loss[twin] - segmented.loss) <= 1e-5 * segmented.loss
    if not ((straight | turned) & alike).all():
        return None
    count = len(thick)
    return np.concatenate([twin + count * turned, twin + count * ~turned])
