"""A meter ladder drawn as a ladder, and a small TV that shows what the last pad left of the picture."""

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import Rectangle

from . import style
from .picture import ordered

_RAILS = (0.12, 0.28)
_MARK = 0.61
_SAYS = {"clean": "a whole picture", "blocks": "blocks", "black": "no picture"}
_HEADS = ("pads in", "it shows")
_MOST = 64
_LABEL_PT, _COLUMN = 10.0, 0.088


class LadderPicture:
    """A meter ladder on an Axes: 0 spare dB is the ground, each pad a rung, the break a snapped rung.

    Parameters: ``ax`` an Axes; ``limits_db`` (low, high) of the spare dB. ``artists`` are what moves,
    back to front.

    >>> len(LadderPicture(style.new_figure(8, 4).add_subplot()).artists) > 64
    True
    """

    def __init__(self, ax, limits_db=(-10.5, 52.0)):
        self.limits_db = limits_db
        height_pt = 72 * (ax.figure.get_size_inches()[1] - 0.25)
        self._clear = _MARK
        self._apart_db = _LABEL_PT * (limits_db[1] - limits_db[0]) / height_pt
        ink, told = style.MEANING["limit"], style.MEANING["reading"]
        with style.house():
            ax.set(
                xlim=(0, 1), ylim=limits_db, ylabel="spare dB", xticks=[], yticks=range(0, 51, 10)
            )
            ax.spines["bottom"].set_visible(False)
            self.band = ax.add_patch(Rectangle((0, 0), 0, 0, color=told, alpha=0.22, lw=0))
            (self.ground,) = ax.plot([], [], color=ink, lw=4, solid_capstyle="butt")
            (self.rails,) = ax.plot([], [], color=style.GREY, lw=2.5)
            (self.held,) = ax.plot([], [], color=style.COPPER, lw=4, solid_capstyle="butt")
            (self.snapped,) = ax.plot([], [], color=ink, lw=3)
            (self.best,) = ax.plot([], [], color=told, lw=2)
            (self.bound,) = ax.plot([], [], "^", color=told, mfc="white", ms=9)
            (self.true,) = ax.plot([], [], "--", color=style.MEANING["truth"])
            beside = {"va": "center_baseline", "bbox": None}
            self.pads = [ax.text(0, 0, "", ha="right", **beside) for _ in range(_MOST)]
            self.read = [ax.text(0, 0, "", ha="left", **beside) for _ in range(_MOST)]
            self.words = [ax.text(0, 0, "", **beside, zorder=9) for _ in range(5)]
        lines = (self.ground, self.rails, self.held, self.snapped, self.best, self.bound, self.true)
        self.artists = ordered((self.band, *lines, *self.pads, *self.read, *self.words))

    def update(self, rungs, top_db):
        """Move to other ``rungs``: (pad dB, what was read there, None where the picture was gone), in
        order of their pads; ``top_db`` the spare dB that the first of them stands at."""
        spare = np.array([top_db - pad for pad, _ in rungs])
        step = abs(spare[0] - spare[1]) if len(rungs) > 1 else self._apart_db
        columns = max(int(np.ceil(self._apart_db / step)), 1)
        held = np.array([read is not None for _, read in rungs])
        first = int(held.argmin()) if not held.all() else None
        kept = spare[: len(rungs) if first is None else first]
        self.held.set_data(_across(kept, *_RAILS))
        self.held.set_linewidth(min(4.0, 0.55 * _LABEL_PT * step / self._apart_db))
        low = (kept if first is None else spare[: first + 1])[-1] - 1.2
        sides = [[x, x, np.nan] for x in _RAILS]
        rail = [max(low, self.limits_db[0]), spare[0] + 1.5, np.nan]
        self.rails.set_data(np.ravel(sides), rail * 2)
        self._label(rungs[: len(kept) + (first is not None)], spare, columns)
        self._break(None if first is None else spare[first])

    def _break(self, at_db):
        found = at_db is not None
        (left, right), drop = _RAILS, np.array([0, -1.6, np.nan, -1.6, 0])
        middle = 0.5 * (left + right)
        x = [left, middle - 0.02, np.nan, middle + 0.02, right]
        self.snapped.set_data(*(x, at_db + drop) if found else ([], []))
        feet = [0, 0.03, np.nan, left, right, np.nan, self._clear, _MARK]  # not over the labels
        self.ground.set_data(*(feet, [0] * len(feet)) if found else ([], []))
        words = (
            "ground: here the picture breaks" if found else "no ground yet: all may stand higher"
        )
        self._put(self.words[0], _RAILS[1] + 0.14, self.limits_db[0] + 3, words)

    def _label(self, rungs, spare, columns):
        count = len(rungs)
        self._clear = _RAILS[1] + 0.012 + _COLUMN * columns
        for text, x, words in zip(self.words[3:], (0.03, _RAILS[1] + 0.012), _HEADS, strict=True):
            self._put(text, x, spare[0] + 1.25 * self._apart_db, words)
        for k in range(_MOST):
            here = k < count
            pad, read = rungs[k] if here else (0, "")
            last = k == count - 1
            rare = here and (last or (k % columns == 0 and count - 1 - k >= columns))
            y = spare[k] if here else 0
            self._put(self.pads[k], _RAILS[0] - 0.012, y, f"{pad:g} dB" if rare else "")
            x = _RAILS[1] + 0.012 + _COLUMN * (k % columns)
            self._put(self.read[k], x, y, "breaks" if read is None else read)

    def mark(self, name, margin, true_db=None):
        """Show what the reading ``name`` means: ``margin`` a meters.Margin or None; ``true_db`` what is
        true, or None."""
        low, high, best, bound = 0.0, 0.0, [], []
        if margin is not None:
            value, bounded = float(margin.value_db), margin.status == "at least"
            low, high = np.clip([margin.low_db, margin.high_db], *self.limits_db)
            low, high = (value, self.limits_db[1]) if bounded else (max(low, 0.0), high)
            best, bound = ([], [value]) if bounded else ([value] * 2, [])
        self.band.set_bounds(self._clear, low, _MARK - self._clear if margin else 0, high - low)
        self.best.set_data([self._clear, _MARK][: len(best)], best)
        self.bound.set_data([_MARK] * len(bound), bound)
        at = (best or bound or [0])[0]
        self._put(self.words[1], _MARK + 0.015, at, name if margin else "")
        told = true_db is not None
        self.true.set_data(*([self._clear, _MARK], [true_db] * 2) if told else ([], []))
        said = "true" if margin is not None else f"{name}, true"
        self._put(self.words[2], _MARK + 0.1, true_db or 0, said if told else "")

    def _put(self, text, x, y, words):
        text.set_position((x, y))
        text.set_text(words)


def _across(heights, left, right):
    """Level lines from ``left`` to ``right``, one a height, as the points of one broken line."""
    x = np.tile([left, right, np.nan], len(heights))
    return x, np.repeat(heights, 3)


class SmallTV:
    """A small TV in the corner of an Axes: a whole picture, blocks in it, or none.

    Parameters: ``ax`` an Axes; ``box`` (left, low, width, height) of its screen in shares of the Axes.

    >>> tv = SmallTV(style.new_figure(8, 4).add_subplot(), (0.7, 0.6, 0.2, 0.3))
    >>> tv.update("blocks")
    'The TV: blocks.'
    """

    def __init__(self, ax, box):
        left, low, width, height = box
        on = {"transform": ax.transAxes, "clip_on": False}

        def points(*corners):
            return [(left + x * width, low + y * height) for x, y in corners]

        def patches(shapes, shade):
            return ax.add_collection(
                PolyCollection([points(*s) for s in shapes], facecolors=shade, lw=0, **on)
            )

        ink = style.MEANING["limit"]
        case = (left - 0.012, low - 0.03), width + 0.024, height + 0.06
        self.case = ax.add_patch(Rectangle(*case, fc=style.GREY, **on))
        screen = Rectangle((left, low), width, height, fc="white", ec=ink, lw=1, **on)
        self.screen = ax.add_patch(screen)
        self.view = patches([_HILL, _SUN], [style.GREY, style.COPPER])
        self.blocks = patches([_block(*b) for b in _BLOCKS], ["#BDBDBD", ink, style.COPPER])
        with style.house():
            middle = (left + width / 2, low - 0.05)
            self.words = ax.text(*middle, "", ha="center", va="top", transform=ax.transAxes)
        self.artists = ordered((self.case, self.screen, self.view, self.blocks, self.words))

    def update(self, picture):
        """Show a ``picture``: clean, blocks or black; returns it in words."""
        self.screen.set_facecolor("black" if picture == "black" else "white")
        self.view.set_visible(picture != "black")
        self.blocks.set_visible(picture == "blocks")
        self.words.set_text(_SAYS[picture])
        return f"The TV: {_SAYS[picture]}."


_HILL = (
    (0.02, 0.04),
    (0.02, 0.3),
    (0.3, 0.62),
    (0.52, 0.34),
    (0.74, 0.5),
    (0.98, 0.2),
    (0.98, 0.04),
)
_SUN = tuple(
    (0.72 + 0.07 * np.cos(a), 0.76 + 0.12 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 24)
)
_BLOCKS = (
    (0.08, 0.7, 0.2),
    (0.4, 0.5, 0.28),
    (0.66, 0.74, 0.2),
    (0.14, 0.2, 0.14),
    (0.55, 0.1, 0.3),
)


def _block(x, y, wide):
    return (x, y), (x + wide, y), (x + wide, y + 0.2), (x, y + 0.2)
