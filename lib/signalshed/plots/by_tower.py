"""Ropes by tower: one line a tower, one strand for each thing that its stations have at home.

Made to stand under a compact bearing strip, whose letters it carries, or alone where room is short.
"""

import numpy as np

from ..words import listed
from .picture import drawn
from .rope_frame import INK, QUIET, draw_ticks, scale_of
from .rope_lines import GAP, NONE, more_words, tower_words, towers_drawn, towers_of, worst_of
from .rope_picture import RopePicture

SIZE_IN = (8.8, 2.16)
FOOT, LEAST_PX = 20, 15
"""Pixels below the last line, and of the lowest one."""
_LEVELS = ("on 9 of 10 roofs like yours", "on 5", "on 1")
_LOOK = {"title": 13, "title_y": 11, "key": 11, "key_y": 11, "rope": 4.2, "levels": _LEVELS}
_LOOK |= {"hand": 16, "hand_x": 0, "cross": 9, "stroke": 1.8, "foot_x": 20}
_SLANTED = "Slanted: not wanted."
_OVER = "grey: too strong together; crossed: would arrive"


def tower_ropes(site, setup, ax=None):
    """Ropes by tower of one setup: a Picture, or TowerRopes on your own ``ax``.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``ax`` an Axes that may fill its figure, 8.8
    by 2.16 inches, or None for a figure of its own.

    >>> from .. import simulate, survey
    >>> site, setup = simulate.demo_site(), survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> tower_ropes(site, setup).alt[:46]
    'Ropes from each tower toward home. wire loop, '
    """
    return drawn(ax, SIZE_IN, lambda axes: TowerRopes(axes, site), setup)


class TowerRopes(RopePicture):
    """Ropes by tower on an Axes; ``update`` moves them in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site. ``artists`` are what
    moves, back to front; ``alt`` says it in words. Which towers there is room for is chosen at the first
    update, and anew by ``choose``. ``per_in`` as of rope_frame.Page.
    """

    TOP, TAIL, HOME, LOOK, OVER = 24, 13, 226, _LOOK, _OVER

    def __init__(self, ax, site, per_in=100):
        super().__init__(ax, site, per_in)
        self.towers = towers_of(site)
        self._still()
        self.letters = [self.sheet.text(0, 0, px=12, weight="bold") for _ in range(self.most)]
        self.slanted = self.sheet.text(8, self.bottom + 10, px=11, color=QUIET)
        self._moving(self.most, self.HOME - 20, self.LOOK)

    def _still(self):
        sheet = self.sheet
        self.bottom = sheet.height - FOOT
        self.shown = [sheet.cut(t.name, 12, 130) for t in self.towers]
        self.letter_px = [sheet.width_of(t.letter, 12, weight="bold") + 6 for t in self.towers]
        wide = [
            sheet.width_of(n, 12) + 18 + w for n, w in zip(self.shown, self.letter_px, strict=True)
        ]
        self.scale = scale_of(self.towers, self.HOME, sheet.width - 4, wide)
        draw_ticks(sheet, self.scale, self.TOP - 2, self.bottom, miles=False)
        sheet.text(self.HOME, self.bottom + 10, "home", 11, weight="bold", ha="center")
        self.most = int((self.bottom - self.TOP) / LEAST_PX)

    def _choose(self, said):
        chosen = towers_drawn(self.towers, said, self.most)
        if self.drawn is not None and chosen == (self.drawn, self.left_out):
            return
        self.drawn, self.left_out = chosen
        lines = len(self.drawn) + bool(self.left_out)
        self.row_px = min((self.bottom - self.TOP) / max(lines, 1), 30)
        self.y = self.middles = self.TOP + self.row_px * (np.arange(len(self.drawn)) + 0.5)
        self.x = [float(self.scale.x(self.towers[k].distance_km)) for k in self.drawn]
        end = self.TOP + self.row_px * len(self.drawn)
        edges = self.TOP + self.row_px * np.arange(1, len(self.drawn) + bool(self.left_out))
        self.between.set_segments([[(4, y), (self.sheet.width - 4, y)] for y in edges])
        self.home.set_segments([[(self.HOME, self.TOP - 2), (self.HOME, end)]])
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

    def _strands(self, said):
        """One strand for each code at a tower, by the worst that has it; the best on top."""
        for k, y in zip(self.drawn, self.y, strict=True):
            members = self.towers[k].members
            codes = [c for c in range(NONE) if (said.code[members] == c).any()]
            pitch = min(6.0, (self.row_px - 5) / max(len(codes), 1))
            thick = {1: 4.2, 2: 3.6}.get(len(codes), 3.0)
            for n, code in enumerate(codes):
                worst = worst_of(members[said.code[members] == code], said)
                yield worst, y + pitch * (n - (len(codes) - 1) / 2), thick

    def _say(self, said):
        for text, k, y in zip(self.verdicts, self.drawn, self.y, strict=False):
            words, bold = tower_words(said, self.towers[k].members)
            none = (said.code[self.towers[k].members] >= GAP).all()
            look = {"weight": "bold" if bold else "normal", "color": QUIET if none else INK}
            text.set(text=words, y=y, fontsize=self.sheet.points(11 if none else 12), **look)
        for text in self.verdicts[len(self.drawn) :]:
            text.set_text("")
        self._tell_overload(said, self.OVER)
        self.foot.set_text(more_words(said, [self.towers[k].members for k in self.left_out]))
        others = listed([n for n, w in zip(self.names, self.wanted, strict=True) if not w])
        return f" Not wanted: {others}." if others else ""

    def _named(self, setup, way, aim):
        return "" if way == "fixed" else f"  {aim}"
