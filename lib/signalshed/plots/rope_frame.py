"""What ropes are drawn with: a sheet measured in pixels, a root scale of distance, and the rope."""

import functools
from dataclasses import dataclass

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from ..units import KM_PER_MILE
from . import style
from .picture import fill_figure
from .rope_lines import DOTS, NONE, THICK, THIN

KM_TICKS = (1, 5, 10, 20, 30, 50, 75, 100, 150)
MILE_TICKS = (1, 5, 10, 20, 30, 40, 60, 90)
FARTHEST_KM = 200.0
"""Towers beyond are drawn at the end of the scale; their own line says how far they are."""

INK, QUIET, RULE = style.MEANING["limit"], style.GREY, "#D9D9D9"
ROPE, AIM = style.MEANING["forecast"], style.AIM_TEXT
_CUT_PX, _KEY_PX = 22, 20
_HINTED = 1.08  # letters of a picture saved with fewer pixels are wider by up to so much
HAND = "\u261b"
_MEASURE = TextToPath()


@functools.lru_cache(maxsize=4096)
def _width_px(words, px, weight):
    font = FontProperties(family=style.RC["font.family"], weight=weight, size=px)
    return _MEASURE.get_text_width_height_descent(words, font, ismath=False)[0]


class Page:
    """A figure measured in pixels, right and down.

    Parameters: ``figure``; ``per_in`` pixels to the inch: of 72, letters of 11 are the 11 points of a
    panel. ``width`` and ``height`` in these pixels.
    """

    def __init__(self, figure, per_in=style.RC["figure.dpi"]):
        self.per_in = per_in
        self.width, self.height = (round(x * per_in) for x in figure.get_size_inches())

    def points(self, px):
        """Pixels of the page, ``px``, as the points that letters and lines have."""
        return px * 72 / self.per_in


class Sheet(Page):
    """An Axes that fills its figure and is measured as a Page.

    Parameters: ``ax`` an Axes; ``per_in`` as of Page.
    """

    def __init__(self, ax, per_in=style.RC["figure.dpi"]):
        super().__init__(ax.figure, per_in)
        self.ax = ax
        fill_figure(ax)
        ax.set(xlim=(0, self.width), ylim=(self.height, 0))
        ax.set_axis_off()

    def text(self, x, y, words="", px=12, **how):
        """Words at (``x``, ``y``), ``px`` tall, the middle of the line at y; ``how`` as of Axes.text."""
        how = {"va": "center_baseline", "color": INK, "parse_math": False} | how
        return self.ax.text(x, y, words, fontsize=self.points(px), **how)

    def lines(self, width_px=1, color=INK, **how):
        """An empty LineCollection with butt ends, ``width_px`` wide; ``how`` as of LineCollection."""
        how = {"capstyle": "butt"} | how
        made = LineCollection([], linewidths=self.points(width_px), colors=color, **how)
        return self.ax.add_collection(made, autolim=False)

    def width_of(self, words, px, weight="normal"):
        """Width of ``words`` in pixels, letters ``px`` tall, with room for a file of other pixels."""
        return _HINTED * _width_px(str(words), px, weight)

    def cut(self, words, px, room, end=1 / 3):
        """``words`` with an ellipsis where they are wider than ``room`` pixels.

        Parameters: ``end`` which share of the letters kept are the last: names often differ there.
        """
        shown = whole = " ".join(str(words).split())
        kept = len(whole)
        while kept > 1 and self.width_of(shown, px) > room:
            kept -= 1
            last = int(kept * end)
            shown = whole[: kept - last].rstrip() + "…" + whole[len(whole) - last :].lstrip()
        return shown


@dataclass(frozen=True)
class Scale:
    """Where a distance lies: ``home`` and ``length`` in pixels, ``far_km`` at the end of the root."""

    home: float
    length: float
    far_km: float

    def x(self, km):
        """Pixels from the left for ``km`` from home, an array."""
        return self.home + self.length * np.sqrt(np.clip(km, 0, self.far_km) / self.far_km)


def scale_of(towers, home, end, label_px):
    """The scale on which every tower of ``towers`` and its words fit between ``home`` and ``end``.

    Parameters: ``home`` and ``end`` in pixels; ``label_px`` (t,) the width of each tower's words.
    """
    km = np.array([min(t.distance_km, FARTHEST_KM) for t in towers])
    if not km.size:
        return Scale(home, end - home - 60, 100.0)
    far = max(km.max(), 5.0)
    room = (end - home - np.asarray(label_px, float)) / np.sqrt(km / far)
    return Scale(home, float(max(min(room.min(), end - home - 20), 60)), float(far))


def draw_ticks(sheet, scale, top, bottom, miles):
    """Thin upright rules at whole kilometres with their numbers below, and ``miles`` under them."""
    rules = sheet.lines(1, RULE, zorder=0.5)
    at = _numbers(sheet, scale, bottom + 10, KM_TICKS, "km")
    rules.set_segments([[(x, top), (x, bottom)] for x in at])
    if miles:
        at = _numbers(sheet, scale, bottom + 27, MILE_TICKS, "mi", KM_PER_MILE)
        marks = sheet.lines(1, QUIET, zorder=0.5)
        marks.set_segments([[(x, bottom + 17), (x, bottom + 20)] for x in at])


def _numbers(sheet, scale, y, values, unit, km_per_unit=1.0, least_px=24):
    """Write those ``values`` that are on the scale and not nearer than 24 px to the one before, nor to
    home; the unit hangs over at the right of the last. Returns where they stand."""
    kept, last = [], scale.home
    for value in values:
        x = float(scale.x(value * km_per_unit))
        if value * km_per_unit <= scale.far_km * 1.01 and x - last >= least_px:
            kept.append((value, x))
            last = x
    for value, x in kept:
        words = f"{value} {unit}" if value == kept[-1][0] else f"{value}"
        sheet.text(x - sheet.width_of(value, 11) / 2, y, words, 11, color=QUIET)
    return [x for _, x in kept]


def draw_key(sheet, right, y, px, thick_px, words):
    """What thick, thin and dots mean, ending at ``right``, and the artists of it.

    Parameters: ``y`` the middle of its line; ``px`` of its letters; ``thick_px`` of a thick rope;
    ``words`` three.
    """
    strands, made = Strands(sheet), []
    ends = []
    for code, text in reversed(list(enumerate(words))):
        made.append(sheet.text(right, y, text, px, ha="right", color=QUIET))
        right -= sheet.width_of(text, px) + 9
        ends.append((code, right - _KEY_PX, right, y, thick_px))
        right -= _KEY_PX + 13
    strands.set([(*end, False) for end in ends])
    return [*made, *strands.artists]


class Strands:
    """Pieces of rope on a Sheet: thick, thin and dotted, and each of them in grey.

    Parameters: ``sheet`` a Sheet. ``artists`` are what moves.
    """

    def __init__(self, sheet):
        self.points, ends = sheet.points, {THICK: "butt", THIN: "butt", DOTS: "round"}
        self.pieces = {
            (code, overloaded): sheet.lines(1, colour, capstyle=end)
            for overloaded, colour in ((False, ROPE), (True, "#9A9A9A"))
            for code, end in ends.items()
        }
        self.artists = tuple(self.pieces.values())

    def set(self, pieces):
        """Draw ``pieces``, each (code, left, right, y, thick_px, overloaded), the right end first."""
        for key, collection in self.pieces.items():
            mine = [p for p in pieces if (p[0], p[5]) == key]
            collection.set_segments([[(p[2], p[3]), (p[1], p[3])] for p in mine])
            thick = np.array([p[4] for p in mine] or [6.5])
            _dress(collection, key[0], thick, self.points)


def _dress(collection, code, thick_px, points):
    thin = np.where(thick_px > 5, 1.8, 1.4)
    if code == THICK:
        collection.set_linewidths(points(thick_px))
    elif code == THIN:
        collection.set_linewidths(points(thin))
    else:
        dot, step = np.where(thick_px > 5, 3.2, 2.4), np.where(thick_px > 5, 7.0, 5.0)
        collection.set_linewidths(points(dot))
        collection.set_linestyles([(0, (0.01, s / d)) for d, s in zip(dot, step, strict=True)])


def pieces_of(scale, verdicts, i, y, thick_px, tail_px):
    """The pieces of one rope and where it is cut: [(code, left, right, y, thick_px, overloaded)], x or
    None.

    Parameters: ``scale`` a Scale; ``verdicts`` the Verdicts; ``i`` which station; ``y`` its line;
    ``thick_px`` of a thick rope; ``tail_px`` how far it hangs over behind home.
    """
    if verdicts.code[i] == NONE or np.isnan(verdicts.to_km[:, i]).any():
        return [], None
    over, cut = bool(verdicts.overloaded[i]), bool(verdicts.cut[i])
    behind = verdicts.to_km[:, i] <= 0
    x = np.where(behind, scale.home - tail_px, scale.x(verdicts.to_km[:, i]))
    x = np.where(cut & ~behind, np.maximum(x, scale.home + _CUT_PX), x)
    right, pieces = float(scale.x(verdicts.from_km[i])), []
    for code in (THICK, THIN, DOTS):
        left = float(x[code])
        if left < right - 0.5:
            pieces.append((code, left, right, y, thick_px, over))
            right = left
    return pieces, (scale.home + _CUT_PX if cut else None)
