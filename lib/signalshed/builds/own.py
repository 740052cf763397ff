"""An antenna of one's own invention, typed as points."""

import numpy as np

from ..units import check
from ..wires import Wire
from .build import Build, Piece, band
from .elements import gap_mm
from .screens import as_screen
from .stock import stock


def own(freq_mhz, lines_mm, feed_mm=(0, 0, 0), wire="10 AWG", balun="4:1", screen=None):
    """A build from lines of points; what it is called is up to ``renamed``.

    Parameters: ``freq_mhz`` one or (low, high); ``lines_mm`` a list of lines, each a list of points
    (x, y, z) or (y, z) in mm, x forward, y left, z up; lines that share a point are joined there;
    ``feed_mm`` the point of the terminals, or several fed in phase; ``wire`` text; ``balun`` "1:1" or
    "4:1"; ``screen`` or None. Polarization follows from the current at the feed.

    >>> own(539, [[(-130, 0), (130, 0)]], balun="1:1").polarization
    'horizontal'
    """
    kind, lines = stock(wire), [_points("lines_mm", line) for line in lines_mm]
    feed = _points("feed_mm", feed_mm)
    element = tuple(Wire(points / 1000, kind.radius_m, metal=kind.metal) for points in lines)
    pieces = tuple(
        Piece(f"line {n + 1}", 1, 1000 * drawn.length_m, kind, _bends(drawn))
        for n, drawn in enumerate(element)
    )
    made = Build(
        "own",
        "own antenna",
        band(freq_mhz),
        {
            "lines_mm": tuple(tuple(map(tuple, line.tolist())) for line in lines),
            "feed_mm": tuple(map(tuple, feed.tolist())),
            "wire": kind.text,
            "balun": balun,
        },
        pieces,
        element,
        feed / 1000,
        balun,
        _polarization(element, feed / 1000),
        gap_mm(),
    )
    return as_screen(made, screen)


def _points(name, points):
    array = np.atleast_2d(check(name, points))
    if array.ndim == 2 and array.shape[1] == 2:
        array = np.column_stack([np.zeros(len(array)), array])
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(
            f"{name} has shape {array.shape}; every point must be x, y, z or y, z in mm."
        )
    return array


def _bends(drawn):
    steps = np.linalg.norm(np.diff(drawn.points_m, axis=0), axis=1)
    return tuple(float(mark) for mark in 1000 * np.cumsum(steps)[:-1])


def _polarization(element, feed):
    """Horizontal unless the wire at the feed runs mainly upward."""
    from ..wires import Structure

    pieces = Structure(element, feed).pieces
    ends = np.concatenate([pieces.start, pieces.end])
    along = np.tile(pieces.end - pieces.start, (2, 1))
    at_feed = np.linalg.norm(ends - feed[0], axis=1) < 1e-3
    along = np.abs(along[at_feed] / np.linalg.norm(along[at_feed], axis=1)[:, None]).sum(axis=0)
    return "vertical" if along[2] > np.hypot(along[0], along[1]) else "horizontal"
