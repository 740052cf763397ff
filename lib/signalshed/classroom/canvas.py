"""A picture that is moved, not drawn anew: one figure, its still part kept, its moving part blitted."""

import struct
import zlib

import numpy as np

from ..plots import style
from ..plots.picture import ordered
from .stamps import Stamps

PX_PER_IN = (72.0, 100.0)
"""Fewest and most pixels of the page an inch: 11 points are then 11 to 15.3 pixels."""
_USUAL_WIDTH_IN = 8.8


class Canvas:
    """One persistent figure of a panel.

    Parameters: ``draw`` a function of the empty Figure that draws everything once and hands back
    ``(artists, move)``: the artists that move, back to front, and a function that takes the panel's
    values by name, moves them and returns Words; ``size_in`` (width, height) in inches of ``dpi``.

    Axes that ``draw`` puts nowhere in particular get the room their labels need, once. Only the moving
    artists are drawn again. Should a move change anything else (an axis limit, a tick), matplotlib
    marks the figure stale, and the whole of it is drawn: slower, never wrong.
    """

    def __init__(self, draw, size_in, dpi=100.0):
        self.figure = style.new_figure(*size_in)
        self.figure.set_dpi(dpi)
        self._stamps = Stamps(self.figure.canvas.get_renderer())
        self.figure.set_layout_engine("constrained")
        with style.house():
            artists, self.move = draw(self.figure)
        self.artists = tuple(artists)
        for artist in self.artists:
            artist.set_animated(True)
        self.full_draws = 0
        self._still_part = None

    def png(self):
        """The figure as it now is, as PNG bytes."""
        if self._still_part is None or self.figure.stale:
            self._draw_all()
        self.figure.canvas.restore_region(self._still_part)
        for artist in self.artists:
            self._stamps.draw(artist)
        return png_bytes(np.asarray(self.figure.canvas.buffer_rgba()))

    def span(self, low, high):
        """Where ``low`` and ``high`` lie on the axis of the first axes, as shares of the picture's
        width from its left; 0 and 1 where that axis does not hold them."""
        axes = self.figure.axes[0] if self.figure.axes else None
        if axes is None or not axes.get_xlim()[0] <= low < high <= axes.get_xlim()[1]:
            return 0.0, 1.0
        ends = axes.transData.transform([(low, axes.get_ylim()[0]), (high, axes.get_ylim()[0])])
        return tuple(float(x) for x in ends[:, 0] / self.figure.bbox.width)

    def _draw_all(self):
        with style.house():
            self.figure.canvas.draw()
        self.figure.set_layout_engine("none")
        self.figure.stale = False
        self._still_part = self.figure.canvas.copy_from_bbox(self.figure.bbox)
        self.full_draws += 1


class Moving:
    """The picture of a panel: base of those that lessons draw.

    A lesson's own says in ``draw(figure, *given)`` what stays and, by ``line``, ``text`` and ``keep``,
    what moves, back to front; and in ``move(**values)`` how that moves, returning Words. The house style
    is in force while it draws. ``of`` hands it to a Panel.

    >>> class Dot(Moving):
    ...     def draw(self, figure, at):
    ...         self.dot = self.line(figure.add_subplot(), "o")
    ...         self.dot.set_data([at], [at])
    >>> len(Dot(style.new_figure(4, 3), 2).moving)
    1
    """

    def __init__(self, figure, *given):
        self.moving = []
        self.draw(figure, *given)

    @classmethod
    def of(cls, *given):
        """The drawing of a panel; ``given`` goes to ``draw`` after the figure."""

        def draw(figure):
            picture = cls(figure, *given)
            return ordered(picture.moving), picture.move

        return draw

    def keep(self, artist):
        """Have an ``artist`` move, before those kept already."""
        self.moving.append(artist)
        return artist

    def line(self, ax, *look, **more):
        """A line or marks on ``ax`` that move, nothing yet; ``look`` and ``more`` as of Axes.plot."""
        return self.keep(*ax.plot([], [], *look, **more))

    def fill(self, ax, **more):
        """An area on ``ax`` that moves, nothing yet; ``more`` as of Axes.fill."""
        return self.keep(*ax.fill([0, 0], [0, 0], **more))

    def text(self, ax, x, y, **more):
        """A text at ``x``, ``y`` of ``ax`` that changes, nothing yet; ``more`` as of Axes.text."""
        return self.keep(ax.text(x, y, "", **more))

    def guess_line(self, ax):
        """The dotted line of a guess on ``ax``, not placed yet."""
        return self.line(ax, color=style.MEANING["limit"], ls=":", lw=2.5)


def upright(line, x, low, high):
    """Put a ``line`` upright at ``x`` from ``low`` to ``high``; away with it where ``x`` is None."""
    line.set_data(*(([], []) if x is None else ([x, x], [low, high])))


def blank(*artists):
    """Nothing to be seen of lines, areas and texts, ``artists``, while they are asked for."""
    for artist in artists:
        if hasattr(artist, "set_data"):
            artist.set_data([], [])
        elif hasattr(artist, "set_xy"):
            artist.set_xy(np.zeros((2, 2)))
        else:
            artist.set_text("")


def seen(artists, is_seen):
    """Show ``artists`` or hide them: one of several pictures on one figure; what stays is left alone."""
    for artist in artists:
        if artist.get_visible() != is_seen:
            artist.set_visible(is_seen)


def bars(lines, at, low, high, across=False):
    """Bars, the LineCollection ``lines``, at each of ``at`` from ``low`` to ``high``: upright, or lying
    with ``across``."""
    ends = ([(x, a), (x, b)] for x, a, b in zip(at, low, high, strict=True))
    lines.set_segments([[end[::-1] for end in bar] if across else bar for bar in ends])


def on_page(width_px, height_px, scale):
    """Size in inches and dots an inch of a figure that fills a box on the page without blur.

    Parameters: ``width_px`` and ``height_px`` of the box in pixels of the page; ``scale`` dots of the
    screen a pixel. Returns ((width, height), dpi).

    >>> on_page(660, 400, 1.5)
    ((8.8, 5.333333333333333), 112.5)
    """
    per_in = min(max(width_px / _USUAL_WIDTH_IN, PX_PER_IN[0]), PX_PER_IN[1])
    return (width_px / per_in, height_px / per_in), per_in * scale


def png_bytes(rgba):
    """An image as PNG at compression level 1, rows unfiltered; the same bytes for the same image.

    Parameters: ``rgba`` (height, width, 4) uint8; the fourth, opacity, is left out. For flat colours
    this takes about half the time of a general encoder. Source: ISO/IEC 15948 (PNG).

    >>> png_bytes(np.zeros((2, 3, 4), np.uint8))[:4]
    b'\\x89PNG'
    """
    height, width = rgba.shape[:2]
    rows = np.zeros((height, 1 + 3 * width), np.uint8)
    inside = np.ndarray((height, width, 3), np.uint8, rows, 1, (rows.shape[1], 3, 1))
    for colour in range(3):  # one at a time is six times as fast as all three
        inside[..., colour] = rgba[..., colour]
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 1)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*part) for part in parts)


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
