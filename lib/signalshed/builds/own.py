"""An antenna of one's own invention, typed as points."""

import itertools

import numpy as np

from .. import wires
from ..units import check
from ..wires import Wire
from .build import Build, Piece, band
from .elements import GAP_MM
from .screens import as_screen
from .stock import stock


def own(freq_mhz, lines_mm, feed_mm=(0, 0, 0), wire="10 AWG", balun="4:1", screen=None):
    """A build from lines of points; what it is called is up to ``renamed``.

    Parameters: ``freq_mhz`` one or (low, high); ``lines_mm`` a list of lines, each a list of points
    (x, y, z) or (y, z) in mm, x forward, y left, z up; lines that share a point are joined there;
    ``feed_mm`` the point of the terminals, or several fed in phase; ``wire`` text; ``balun`` "1:1" or
    "4:1"; ``screen`` or None. Polarization is that of the field straight ahead, computed from the wires
    at the middle of the band: the look of the thing and the way its feed lies do not decide. In the cut
    list lines are cut at the terminals and end half the gap before them; a line that only bridges the
    gap is left out.

    >>> own(539, [[(-130, 0), (130, 0)]], balun="1:1").polarization
    'horizontal'
    """
    kind, lines = stock(wire), [_line(points) for points in lines_mm]
    feed = _points("feed_mm", feed_mm)
    element = tuple(Wire(points / 1000, kind.radius_m, metal=kind.metal) for points in lines)
    cut = [_pieces(n, line, feed, kind) for n, line in enumerate(lines)]
    bridges = [w.length_m for w, parts in zip(element, cut, strict=True) if not parts]
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
        tuple(itertools.chain(*cut)),
        element,
        feed / 1000,
        balun,
        _polarization(element, feed / 1000, band(freq_mhz)),
        max([GAP_MM, *(1000 * length for length in bridges)]),
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


def _pieces(number, line, feed, kind):
    """What one line is cut into: parts between terminals, each half the gap short of them."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    cuts, half = _terminals(line, along, feed), GAP_MM / 2
    ends = [(at, at in cuts) for at in sorted({0.0, along[-1], *cuts})]
    parts = []
    for (start, cut_there), (end, cut_here) in itertools.pairwise(ends):
        first, last = start + half * cut_there, end - half * cut_here
        if last - first > (half if cut_there or cut_here else 0):
            bends = along[(along > first + 0.5) & (along < last - 0.5)] - first
            parts.append((last - first, tuple(map(float, bends))))
    names = [f"line {number + 1}" + f", part {k + 1}" * (len(parts) > 1) for k in range(len(parts))]
    return [
        Piece(name, 1, *part[:1], kind, part[1]) for name, part in zip(names, parts, strict=True)
    ]


def _terminals(line, along, feed):
    """Places along a line, mm from its start, that lie on a terminal."""
    found = set()
    for point in feed:
        for start, step, begins in zip(line, np.diff(line, axis=0), along, strict=False):
            length = np.linalg.norm(step)
            share = np.clip(np.dot(point - start, step) / length**2, 0.0, 1.0)
            if np.linalg.norm(start + share * step - point) < 0.5:
                found.add(float(begins + share * length))
    return found


def _polarization(element, feed, band_mhz):
    """Which way the field ahead swings, at the middle of the band; horizontal where nothing goes.

    Wires that run up and down alone make no other field ahead, nor do those that run across alone.
    """
    drawn = wires.Structure(element, feed)
    across, up = np.ptp(np.concatenate([w.points_m for w in element]), axis=0)[1:] > 0
    if not (across and up):
        return "vertical" if up else "horizontal"
    solution = wires.solve(drawn, float(np.sqrt(band_mhz[0] * band_mhz[1])))
    ahead = [float(solution.gain_dbi(0.0, 0.0, way)) for way in ("horizontal", "vertical")]
    return "vertical" if ahead[1] > ahead[0] else "horizontal"
