"""Ropes by tower: one line a tower, one strand for each thing that its stations have at home.

Made to stand under a compact bearing strip, whose letters it carries, or alone where room is short.
"""

import numpy as np

from .. import survey
from ..words import aimed_shortly, listed, short
from .by_station import station_words
from .picture import drawn, ordered
from .rope_frame import (
    AIM,
    HAND,
    INK,
    QUIET,
    RULE,
    Sheet,
    Strands,
    draw_key,
    draw_ticks,
    pieces_of,
    points,
    scale_of,
    tell_overload,
)
from .rope_lines import (
    GAP,
    NONE,
    hand_at,
    more_words,
    tower_words,
    towers_drawn,
    towers_of,
    verdicts_of,
    worst_of,
)
from .strip import drawn_rows

SIZE_IN = (8.8, 2.16)
SMALL_IN = (5.6, 1.9)
_TOP, _FOOT, _LEAST_PX, _SMALL_PX = 24, 20, 15, 700
_KEYS = (("on 9 of 10 roofs like yours", "on 5", "on 1"), ("9 of 10", "5", "1 of 10 roofs"))
_SLANTED = "Slanted: not wanted."
_OVER = "grey: too strong together; crossed: would arrive"


def tower_ropes(site, setup, ax=None, titled=False):
    """Ropes by tower of one setup: a Picture, or TowerRopes on your own ``ax``.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``ax`` an Axes that may fill its figure, 8.8
    by 2.16 or 5.6 by 1.9 inches, or None for a figure of its own; ``titled`` whether the setup is named,
    where no strip stands above.

    >>> from .. import simulate
    >>> site, setup = simulate.demo_site(), survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> tower_ropes(site, setup).alt[:46]
    'Ropes from each tower toward home. wire loop, '
    """

    def draw(axes):
        axes.figure.set_layout_engine("none")
        picture = TowerRopes(axes, site, titled)
        picture.update(setup)
        return picture

    return drawn(ax, SIZE_IN, draw)


class TowerRopes:
    """Ropes by tower on an Axes; ``update`` moves them in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site; ``titled`` as in
    ``tower_ropes``. ``artists`` are what moves, back to front; ``alt`` says it in words. Which towers
    there is room for is chosen at the first update, and anew by ``choose``.
    """

    def __init__(self, ax, site, titled=False):
        self.sheet, self.site, self.titled, self.alt = Sheet(ax), site, titled, ""
        self.small = self.sheet.width < _SMALL_PX
        self.rows = drawn_rows(site)
        shown = site.stations.iloc[self.rows]
        self.names = shown["station"].tolist()
        self.wanted = shown["wanted"].to_numpy(bool)
        self.towers = towers_of(site)
        self.drawn = None
        self._still()
        self._moving()

    def _still(self):
        sheet = self.sheet
        self.bottom = sheet.height - _FOOT
        self.home_px = 192 if self.small else 226
        self.shown = [sheet.cut(t.name, 12, 130) for t in self.towers]
        self.letter_px = [sheet.width_of(t.letter, 12, weight="bold") + 6 for t in self.towers]
        wide = [
            sheet.width_of(n, 12) + 18 + w for n, w in zip(self.shown, self.letter_px, strict=True)
        ]
        self.scale = scale_of(self.towers, self.home_px, sheet.width - 4, wide)
        draw_ticks(sheet, self.scale, _TOP - 2, self.bottom, miles=False)
        sheet.text(self.home_px, self.bottom + 10, "home", 11, weight="bold", ha="center")
        self.most = int((self.bottom - _TOP) / _LEAST_PX)

    def _moving(self):
        sheet, ax = self.sheet, self.sheet.ax
        many = range(self.most)
        self.between = sheet.lines(1, RULE)
        self.strands = Strands(sheet)
        self.home = sheet.lines(4, INK)
        mark = {"ls": "", "color": INK, "ms": points(11), "mew": 1.2}
        (self.full,) = ax.plot([], [], "^", **mark)
        (self.hollow,) = ax.plot([], [], "^", markerfacecolor="white", **mark)
        (self.crosses,) = ax.plot([], [], "x", color=INK, ms=points(9), mew=1.8)
        self.counts = [sheet.text(self.home_px - 20, 0, px=12, ha="right") for _ in many]
        self.letters = [sheet.text(0, 0, px=12, weight="bold") for _ in many]
        self.named = [sheet.text(0, 0, px=12) for _ in many]
        self.hand = sheet.text(0, 0, px=16, color=AIM)
        self.title = sheet.text(8, 11, px=13, weight="bold")
        self.key = draw_key(sheet, sheet.width - 8, 11, 11, 4.2, _KEYS[self.small])
        self.over = sheet.text(sheet.width - 8, 11, px=11, ha="right")
        self.foot = sheet.text(20, 0, px=11, color=QUIET)
        self.slanted = sheet.text(8, self.bottom + 10, px=11, color=QUIET)
        back = (*self.strands.artists, self.home, self.full, self.hollow, self.crosses)
        words = (*self.counts, self.hand, self.title, self.over, self.foot)
        self.artists = ordered((*back, *words))

    def choose(self, received):
        """Choose by a Reception ``received`` which towers there is room for, until chosen anew."""
        said = verdicts_of(received, self.rows)
        self.drawn, self.left_out = towers_drawn(self.towers, said, self.most)
        lines = len(self.drawn) + bool(self.left_out)
        self.row_px = min((self.bottom - _TOP) / max(lines, 1), 30)
        self.y = _TOP + self.row_px * (np.arange(len(self.drawn)) + 0.5)
        self.x = [float(self.scale.x(self.towers[k].distance_km)) for k in self.drawn]
        end = _TOP + self.row_px * len(self.drawn)
        edges = _TOP + self.row_px * np.arange(1, len(self.drawn) + bool(self.left_out))
        self.between.set_segments([[(4, y), (self.sheet.width - 4, y)] for y in edges])
        self.home.set_segments([[(self.home_px, _TOP - 2), (self.home_px, end)]])
        self.foot.set_y(end + self.row_px / 2)
        self._label()

    def _label(self):
        unwanted = {k for k in self.drawn if not self.wanted[self.towers[k].members].any()}
        self.slanted.set_text(_SLANTED if unwanted else "")
        blank = [(None, 0, 0)] * (self.most - len(self.drawn))
        spots = [*zip(self.drawn, self.x, self.y, strict=True), *blank]
        for letter, name, (k, x, y) in zip(self.letters, self.named, spots, strict=True):
            mark = "" if k is None else self.towers[k].letter
            letter.set(text=mark, position=(x + 11, y))
            after = x + 11 + (0 if k is None else self.letter_px[k])
            name.set(text="" if k is None else self.shown[k], position=(after, y))
            name.set_style("italic" if k in unwanted else "normal")

    def update(self, setup):
        """Move everything to ``setup``, a survey.Setup; returns the alternative text."""
        return self.show(survey.reception(self.site, setup), setup)

    def show(self, received, setup):
        """Move everything to a Reception ``received`` of ``setup``; returns the alternative text."""
        if self.drawn is None:
            self.choose(received)
        said = verdicts_of(received, self.rows)
        pieces, crosses = [], []
        for k, y in zip(self.drawn, self.y, strict=True):
            mine, cut = self._strands(said, self.towers[k].members, y)
            pieces += mine
            crosses += cut
        self.strands.set(pieces)
        self.crosses.set_data(*np.array(crosses or np.empty((0, 2))).T)
        self._move_marks(said)
        self._move_words(received.aim, setup, said)
        return self.alt

    def _strands(self, said, members, y):
        """One strand for each code among ``members``, by the worst that has it; the best on top."""
        codes = [c for c in range(NONE) if (said.code[members] == c).any()]
        pitch = min(6.0, (self.row_px - 5) / max(len(codes), 1))
        thick = {0: 4.2, 1: 4.2, 2: 3.6}.get(len(codes), 3.0)
        pieces, crosses = [], []
        for n, code in enumerate(codes):
            there = members[said.code[members] == code]
            worst = worst_of(there, said)
            at = y + pitch * (n - (len(codes) - 1) / 2)
            mine, cut = pieces_of(self.scale, said, worst, at, thick, 13)
            pieces += mine
            crosses += [(cut, at)] if cut else []
        return pieces, crosses

    def _move_marks(self, said):
        lost = np.array(
            [(said.code[self.towers[k].members] == NONE).all() for k in self.drawn], bool
        )
        at = np.c_[self.x, self.y] if self.drawn else np.empty((0, 2))
        self.full.set_data(*at[~lost].T)
        self.hollow.set_data(*at[lost].T)

    def _move_words(self, way, setup, said):
        aim, fixed = aimed_shortly(way, setup.heading_deg), way == "fixed"
        for text, k, y in zip(self.counts, self.drawn, self.y, strict=False):
            words, bold = tower_words(said, self.towers[k].members)
            none = (said.code[self.towers[k].members] >= GAP).all()
            look = {"weight": "bold" if bold else "normal", "color": QUIET if none else INK}
            text.set(text=words, y=y, fontsize=points(11 if self.small or none else 12), **look)
        for text in self.counts[len(self.drawn) :]:
            text.set_text("")
        self.title.set_text(self._title(setup, aim, fixed))
        self.hand.set_text(HAND if fixed else "")
        if fixed and self.drawn:
            at = [self.towers[k].bearing_deg for k in self.drawn]
            self.hand.set_y(hand_at(setup.heading_deg, at, self.y, _TOP, self.y[-1]))
        self._move_foot(said)
        head = f"Ropes from each tower toward home. {setup.label}, {aim}. "
        others = listed([n for n, w in zip(self.names, self.wanted, strict=True) if not w])
        self.alt = head + station_words(self, said) + (f" Not wanted: {others}." if others else "")

    def _title(self, setup, aim, fixed):
        if self.small:
            return (
                "Whose rope gets home?"
                if fixed
                else f"Who gets home? {aim.removesuffix(' station').capitalize()}"
            )
        named = f"  {short(setup.label, 30)}, {aim}" if self.titled else "" if fixed else f"  {aim}"
        return "Whose rope gets to this house?" + named

    def _move_foot(self, said):
        tell_overload(self, said, _OVER)
        left = [self.towers[k].members for k in self.left_out]
        self.foot.set_text(more_words(said, left))
