"""The bearing strip in half its height: few numbers, no names, and a letter for each tower.

It stands above the ropes by tower, which carry the same letters.
"""

from ..words import counted
from . import style
from .labels import roomy
from .picture import drawn, fill_figure
from .rope_frame import Page
from .rope_lines import towers_of
from .strip import FAN_DEG, BearingStrip
from .strip_frame import db_ticks

SIZE_IN = (8.8, 2.16)
_LEFT, _RIGHT, _TOP, _FOOT, _TITLE = 44, 14, 16, 22, 26
_TICK_PX, _FEW_PX, _FLAG_PX = 16, 400, 60
"""Of a number of the axis; a narrower strip names four headings, a lower one has no flag at the aim."""
_LETTER_GAP_PX = (14, 24)
"""From one letter to the next, and from a pair of letters to the next."""


def compact_strip(site, setup, ax=None, limits_db=None):
    """The compact bearing strip of one setup: a Picture, or a CompactStrip on your own ``ax``.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``ax`` an Axes that may fill its figure, or
    None for a figure of its own; ``limits_db`` (low, high) of the spare dB axis, None to fit the site.

    >>> from .. import simulate, survey
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> compact_strip(simulate.demo_site(), setup).alt[:25]
    'Bearing strip. wire loop,'
    """
    return drawn(ax, SIZE_IN, lambda axes: CompactStrip(axes, site, limits_db), setup)


class CompactStrip(BearingStrip):
    """A compact bearing strip on an Axes; ``update`` moves it in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site; ``limits_db`` as in
    ``compact_strip``; ``box`` (left, top, bottom) pixels of the figure that it fills instead, without a
    title; ``per_in`` as of rope_frame.Page. ``artists`` are what moves, back to front; ``alt`` says it
    all in words.
    """

    def __init__(self, ax, site, limits_db=None, box=None, per_in=100):
        self.page = Page(ax.figure, per_in)
        self.box = box or (0, _TITLE, self.page.height)
        super().__init__(ax, site, limits_db)
        self.words_fit = box is None

    def _still(self):
        ax, page, (left, top, bottom) = self.ax, self.page, self.box
        margins = left + _LEFT, page.height - bottom + _FOOT, _RIGHT, top + _TOP
        inner = fill_figure(ax, *(px / page.per_in for px in margins))
        wide, self.high = (page.per_in * size for size in inner)
        ax.set(xlim=(0, 360), ylim=(self.low_db, self.high_db))
        words = ("N", "NE", "E 90°", "SE", "S 180°", "SW", "W 270°", "NW", "N")
        each = 1 if wide > _FEW_PX else 2
        ax.set_xticks(range(0, 361, 45 * each), words[::each])
        above = {"top": False, "labeltop": True, "bottom": False, "labelbottom": False}
        ax.tick_params(axis="x", labelsize=page.points(11), pad=2, length=0, **above)
        ticks = db_ticks(self.low_db, self.high_db, self.high / _TICK_PX)
        ax.set_yticks(ticks, ["0 dB" if t == 0 else f"{t:+.0f}".replace("-", "−") for t in ticks])
        ax.tick_params(axis="y", labelsize=page.points(11), pad=2, length=0)
        ax.axhline(0, color=style.MEANING["limit"], lw=2)
        self._letter(wide, self.high)

    def _letter(self, width_px, height_px):
        """The letter of each tower under its bearing; none covers another, so some find no room."""
        towers = towers_of(self.site)
        gap = _LETTER_GAP_PX[len(towers) > 26] * 360 / width_px
        kept, at = roomy([t.bearing_deg for t in towers], gap, FAN_DEG, 0, 360)
        how = {"ha": "center", "va": "center", "weight": "bold", "fontsize": self.page.points(12)}
        side, drop = self.ax.get_xaxis_transform(), -11 / height_px
        self.letters = [
            self.ax.text(x, drop, towers[k].letter, transform=side, **how)
            for x, k in zip(at, kept, strict=True)
        ]
        more = len(towers) - len(kept)
        words = f"and {counted(more, 'tower')} more" if more else ""
        how = {"ha": "right", "va": "top", "fontsize": self.page.points(11), "color": style.GREY}
        self.more = self.ax.text(1, 0.97, words, transform=self.ax.transAxes, **how)

    def _words(self):
        corner = self.ax.figure.transFigure
        how = {"transform": corner, "va": "top", "weight": "bold", "fontsize": self.page.points(13)}
        self.title = self.ax.text(0.009, 0.975, "", **how)
        self.missing = self.ax.text(0, 0, "", visible=False)
        for text in (self.flag, self.unseen):
            text.set_fontsize(self.page.points(11))
        self.flag.set_visible(self.high >= _FLAG_PX)
