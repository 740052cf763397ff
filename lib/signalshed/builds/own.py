"""An antenna of one's own invention, typed as points."""

import numpy as np

from .. import wires
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
    "4:1"; ``screen`` or None. Polarization is that of the field straight ahead, computed from the wires
    at the middle of the band: the look of the thing and the way its feed lies do not decide.

    >>> own(539, [[(-130, 0), (130, 0)]], balun="1:1").polarization
    'horizontal'
    """
    kind, lines = stock(wire), [_line(points) for points in lines_mm]
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
        _polarization(element, feed / 1000, band(freq_mhz)),
        gap_mm(),
    )
    return as_screen(made, screen)


def _line(points):
    """One line of own's, its points in mm."""
    if not np.iterable(points) or not any(map(np.iterable, points)):
        raise ValueError(
            f"lines_mm holds {points!r} where a line should be: it must be a list of lines, each a list "
            "of two points or more, as [[(-130, 0), (130, 0)]]."
        )
    return _points("lines_mm", points)


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


def _polarization(element, feed, band_mhz):
    """Which way the field ahead swings, at the middle of the band; horizontal where nothing goes."""
    drawn = wires.Structure(element, feed)
    solution = wires.solve(drawn, float(np.sqrt(band_mhz[0] * band_mhz[1])))
    ahead = [float(solution.gain_dbi(0.0, 0.0, way)) for way in ("horizontal", "vertical")]
    return "vertical" if ahead[1] > ahead[0] else "horizontal"
