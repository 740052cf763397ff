"""A build as a drawing to scale with its dimensions, from in front and from the side or above.

Plain SVG text: a card needs no figure.
"""

import base64
from dataclasses import dataclass

import numpy as np

from ..markup import safe
from ..units import inches_text
from .build import check_build

WIDE_PX, HIGH_PX = 560.0, 260.0
"""Most that the two views together take, pixels."""

_ICON_PX, _ICON_EDGE_PX = 56.0, 6.0
_EDGE_PX, _LEFT_PX, _BETWEEN_PX, _TITLE_PX, _UNDER_PX = 14.0, 24.0, 104.0, 195.0, 66.0
_WIRE, _SCREEN, _TERMINALS = "#000000", "#8a8a8a", "#D55E00"
_BARS_MM = (10, 20, 50, 100, 200, 500, 1000, 2000)
_SURFACES = ("mesh_screen", "solid_screen")
_FRONT, _SIDE = "from in front", "from its side, the aim to the right"
_ABOVE = "from above, the aim to the right"
_MEASURE = "#444444"


@dataclass(frozen=True, eq=False)
class _View:
    """What one look at a build shows: ``element`` and ``screen`` as lists of points (n, 2), mm to the
    right and up, the ``feed`` points (m, 2), and ``marks``: (low, high) to measure across and up, or
    None."""

    title: str
    element: list
    screen: list
    feed: np.ndarray
    marks: tuple = ()

    @property
    def box(self):
        """Its lower left and upper right corner, mm."""
        points = np.concatenate([*self.element, *self.screen])
        return points.min(axis=0), points.max(axis=0)

    @property
    def size(self):
        """Width and height, mm."""
        low, high = self.box
        return high - low


def _views(build):
    """The two views of a build. Seen from in front, what is left of the aim is to the right."""
    check_build(build)
    own = len(build.element)
    drawn = [1000 * w.points_m for w in build.structure.wires]
    element, screen, feed = drawn[:own], drawn[own:], 1000 * build.terminals_m
    in_front = [_outline(screen)] if screen and build.screen.kind in _SURFACES else screen
    title, plane = (_ABOVE, [0, 1]) if _lies_flat(element) else (_SIDE, [0, 2])
    return (
        _seen(_FRONT, (element, in_front, feed), [1, 2]),
        _seen(title, (element, screen, feed), plane, _depth(build, element)),
    )


def _lies_flat(element):
    """Whether rods lie one before another, so that they are told apart from above only."""
    deep, across, high = np.ptp(np.concatenate(element), axis=0)
    return bool(deep > 0 and high < across / 3)


def _depth(build, element):
    """What is measured along the aim: from the screen to the element, else from first rod to last."""
    points = np.concatenate(element)[:, 0]
    if build.screen is None or build.ideal:
        return points.min(), points.max()
    return -build.screen.behind_mm, 0.0


def _seen(title, parts, plane, depth=None):
    element, screen, feed = ([p[:, plane] for p in part] for part in (*parts[:2], [parts[2]]))
    points = np.concatenate(element)
    low, high = points.min(axis=0), points.max(axis=0)
    marks = ((low[0], high[0]) if depth is None else depth, (low[1], high[1]))
    return _View(title, element, screen, feed[0], marks)


def _outline(lines):
    """The rectangle round a flat screen, since a mesh is cut as one piece."""
    points = np.concatenate(lines)
    (x, left, low), (_, right, high) = points.min(axis=0), points.max(axis=0)
    return np.array(
        [(x, left, low), (x, right, low), (x, right, high), (x, left, high), (x, left, low)]
    )


def drawing_svg(build):
    """The build as SVG text: element black, screen grey, terminals a dot, both views to one scale.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> drawing_svg(half_wave_dipole(539)).count("<polyline")
    3
    """
    views = _views(build)
    sizes = np.array([view.size for view in views])
    room = WIDE_PX - 2 * _EDGE_PX - _LEFT_PX - _BETWEEN_PX
    across, up = sizes.T
    beside_title = (room - _TITLE_PX) / max(across[0], 1.0)
    scale = min(room / max(across.sum(), 1.0), beside_title, HIGH_PX / max(up.max(), 1.0))
    high = scale * up.max() + 2 * _EDGE_PX
    first = _EDGE_PX + _LEFT_PX
    lefts = (first, first + max(scale * across[0], _TITLE_PX - 60) + _BETWEEN_PX)
    body = "".join(
        _shapes(view, left, high / 2, scale)
        + _measures(view, left, high / 2, scale)
        + _text(left - _LEFT_PX, high + 34, view.title)
        for view, left in zip(views, lefts, strict=True)
    )
    body += _bar(scale, high + 56)
    return _svg(WIDE_PX, high + _UNDER_PX, body)


def _svg(width, height, body):
    size = f'width="{width:.0f}" height="{height:.0f}"'
    paper = f'<rect {size} fill="#ffffff"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{paper}{body}</svg>'


def _shapes(view, left, middle, scale):
    """One view as SVG, its left edge and its middle in pixels."""
    low, high = view.box
    centre = (low[1] + high[1]) / 2

    def px(points):
        return left + scale * (points[:, 0] - low[0]), middle - scale * (points[:, 1] - centre)

    lines = [(points, _SCREEN, 1.2) for points in view.screen]
    lines += [(points, _WIRE, 2.5) for points in view.element]
    shapes = "".join(_line(*px(points), colour, width) for points, colour, width in lines)
    dots = zip(*px(view.feed), strict=True)
    return shapes + "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{_TERMINALS}"/>' for x, y in dots
    )


def _measures(view, left, middle, scale):
    """The dimensions of one view: across under it, up at its left, where they are more than nothing."""
    (low_x, high_x), (low_y, high_y) = view.marks
    corner, top = view.box
    centre = (corner[1] + top[1]) / 2
    drawn = ""
    if high_x - low_x >= 1:
        a, b = (left + scale * (x - corner[0]) for x in (low_x, high_x))
        y = middle + scale * (top[1] - corner[1]) / 2 + 9
        drawn += _mark(
            f"M{a:.1f} {y - 4:.1f}v8m0-4H{b:.1f}m0-4v8", (a + b) / 2, y + 13, high_x - low_x
        )
    if high_y - low_y >= 1:
        a, b = (middle - scale * (y - centre) for y in (low_y, high_y))
        x = left - 10
        drawn += _mark(
            f"M{x - 4:.1f} {a:.1f}h8m-4 0V{b:.1f}m-4 0h8", x - 5, (a + b) / 2, high_y - low_y, True
        )
    return drawn


def _mark(path, x, y, length_mm, upright=False):
    """A measured line with its length in both units."""
    words = safe(f"{length_mm:.0f} mm ({inches_text(length_mm)})")
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if upright else ""
    style = f'font-family="sans-serif" font-size="11" text-anchor="middle" fill="{_MEASURE}"'
    return (
        f'<path d="{path}" fill="none" stroke="{_MEASURE}" stroke-width="1"/>'
        f'<text x="{x:.1f}" y="{y:.1f}" {style}{turn}>{words}</text>'
    )


def _line(x, y, colour, width):
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
    return (
        f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width}" '
        'stroke-linecap="round"/>'
    )


def _text(x, y, words):
    style = 'font-family="sans-serif" font-size="13" fill="#000000"'
    return f'<text x="{x:.1f}" y="{y:.1f}" {style}>{safe(words)}</text>'


def _bar(scale, y):
    """A bar of a round length, with the length beside it."""
    fitting = [mm for mm in _BARS_MM if scale * mm <= WIDE_PX / 3]
    length = fitting[-1] if fitting else _BARS_MM[0]
    end = _EDGE_PX + scale * length
    bar = _line((_EDGE_PX, end), (y, y), _WIRE, 2.5)
    return bar + _text(end + 8, y + 4, f"{length} mm ({inches_text(length)})")


def drawing_words(build):
    """What the drawing shows, in one or two sentences with its sizes: its alternative text.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> drawing_words(half_wave_dipole(539))
    'Drawing of half-wave dipole: its wires are 261 mm across, 0 mm high and 0 mm deep, fed at the dot.'
    """
    check_build(build)
    points = 1000 * np.concatenate([w.points_m for w in build.element])
    deep, across, high = np.ptp(points, axis=0)
    words = (
        f"Drawing of {build.name}: its wires are {across:.0f} mm across, {high:.0f} mm high and "
        f"{deep:.0f} mm deep, fed at the dot"
    )
    dots = len(build.terminals_m)
    words += "." if dots == 1 else f"s, {dots} in phase."
    if build.screen is None or build.ideal:
        return words
    return f"{words} Behind them, {build.screen.behind_mm:.0f} mm away, is the screen, in grey."


def drawing_img(build):
    """The drawing as one HTML ``<img>`` with its alternative text, nothing fetched from outside.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> drawing_img(half_wave_dipole(539).renamed("<b>"))[:27]
    '<img alt="Drawing of &lt;b&'
    """
    return _img(drawing_svg(build), drawing_words(build), WIDE_PX)


def icon_img(build):
    """The shape alone, small, as one HTML ``<img>``: from in front, or from above where rods lie one
    before another.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> icon_img(half_wave_dipole(539))[:27]
    '<img alt="Drawing of half-w'
    """
    front, other = _views(build)
    view = other if other.title == _ABOVE else front
    wide, high = view.size * _ICON_PX / view.size.max() + 2 * _ICON_EDGE_PX
    shape = _shapes(view, _ICON_EDGE_PX, high / 2, _ICON_PX / view.size.max())
    return _img(_svg(wide, high, shape), drawing_words(build), wide)


def _img(svg, words, width):
    data = base64.b64encode(svg.encode()).decode("ascii")
    return (
        f'<img alt="{safe(words)}" width="{width:.0f}" style="max-width:100%;height:auto" '
        f'src="data:image/svg+xml;base64,{data}">'
    )
