"""Ropes by station: from each tower toward home as far as its stations come, and what arrives.

Twin of the bearing strip: the strip says where a station is, the ropes say how far it gets. Everything
is read in one column, at home.
"""

import numpy as np

from .. import survey
from ..words import short
from .picture import drawn
from .rope_frame import INK, QUIET, draw_ticks, scale_of
from .rope_lines import (
    GAP,
    NONE,
    THICK,
    line_words,
    lines_of,
    more_words,
    place_words,
    towers_of,
    worst_of,
)
from .rope_picture import RopePicture

SIZE_IN = (8.8, 5.4)
_HOME, _TOP, _FOOT = 262, 56, 42
_LEAST_PX, _MOST_PX, _BETWEEN_PX = 15, 30, 7
_LEVELS = ("comes on 9 of 10 roofs like yours", "on 5", "on 1")
_LOOK = {"title": 15, "title_y": 16, "key": 12, "key_y": 41, "rope": 6.5, "levels": _LEVELS}
_LOOK |= {"hand": 18, "hand_x": 1, "cross": 11, "stroke": 2, "foot_x": 18}
_SLANTED = "Slanted: a station you do not want."
OVERLOADED = "grey: too strong together for a part of yours; crossed: would arrive"


def ropes(site, setup, ax=None):
    """Ropes by station of one setup: a Picture, or StationRopes on your own ``ax``.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``ax`` an Axes that may fill its figure, 8.8
    by 5.4 inches or more, or None for a figure of its own.

    >>> from .. import simulate
    >>> site, setup = simulate.demo_site(), survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> ropes(site, setup).alt[:46]
    'Ropes from each tower toward home. wire loop, '
    """
    return drawn(ax, SIZE_IN, lambda axes: StationRopes(axes, site, setup), setup)


class StationRopes(RopePicture):
    """Ropes by station on an Axes; ``update`` moves them in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site; ``setup`` a
    survey.Setup: inside a tower stations are ordered by what they have to spare at their own best
    heading, once and for all. ``artists`` are what moves, back to front; ``alt`` says it in words.
    Which lines there is room for is chosen at the first update, and anew by ``choose``.
    """

    TOP, TAIL = _TOP, 18

    def __init__(self, ax, site, setup):
        super().__init__(ax, site)
        self.towers = towers_of(site, best_spare_db(site, setup)[self.rows])
        self._still()
        sheet, most = self.sheet, int((self.bottom - _TOP) / _LEAST_PX) + 1
        self.left = [sheet.text(18, 0, px=12) for _ in range(most)]
        self.where = [sheet.text(0, 0, px=11, color=QUIET) for _ in range(most)]
        self.bars = sheet.lines(2.5, INK)
        self._moving(most, _HOME - 26, _LOOK)

    def _still(self):
        sheet = self.sheet
        self.bottom = sheet.height - _FOOT
        self.labels = [(sheet.cut(t.name, 12, 150), place_words(t)) for t in self.towers]
        wide = [sheet.width_of(n, 12) + sheet.width_of(w, 11) + 8 + 22 for n, w in self.labels]
        self.scale = scale_of(self.towers, _HOME, sheet.width - 4, wide)
        draw_ticks(sheet, self.scale, _TOP - 4, self.bottom, miles=True)
        sheet.text(_HOME, 41, "home", 13, weight="bold", ha="center")
        self.room = _HOME - 26 - 18 - 6 - sheet.width_of("lacks 14 dB, overload", 11)
        self.shown = [sheet.cut(n, 12, self.room) for n in self.names]

    def _choose(self, said):
        room = self.bottom - _TOP
        self.lines, self.left_out = lines_of(self.towers, said, room, _LEAST_PX, _BETWEEN_PX)
        used = [line.tower for line in self.lines]
        new = np.r_[False, np.diff(used) > 0] if used else np.array([], bool)
        foot = 1 if self.left_out.size else 0
        free = room - _BETWEEN_PX * (new.sum() + foot)
        self.row_px = min(_MOST_PX, free / max(len(used) + foot, 1))
        self.y = _TOP + self.row_px * (np.arange(len(used)) + 0.5) + _BETWEEN_PX * np.cumsum(new)
        self._place()

    def _place(self):
        """Put names, towers, hairlines and the foot where the chosen lines want them."""
        self.drawn = sorted({line.tower for line in self.lines})
        of = np.array([line.tower for line in self.lines], int)
        spans = [self.y[of == k][[0, -1]] for k in self.drawn]
        self.middles = np.array([span.mean() for span in spans])
        self.x = [float(self.scale.x(self.towers[k].distance_km)) for k in self.drawn]
        half = self.row_px / 2
        tall = [(x, a, b) for x, (a, b) in zip(self.x, spans, strict=True) if b > a]
        self.bars.set_segments([[(x, a - half + 2), (x, b + half - 2)] for x, a, b in tall])
        edges = [b + half + _BETWEEN_PX / 2 for _, b in spans[: None if self.left_out.size else -1]]
        self.between.set_segments([[(4, y), (self.sheet.width - 4, y)] for y in edges])
        end = self.y[-1] + self.row_px + _BETWEEN_PX if len(self.y) else _TOP + 12
        last = end - self.row_px / 2 - 2 if self.left_out.size else self.bottom
        self.home.set_segments([[(_HOME, _TOP - 4), (_HOME, last)]])
        self.foot.set_y(end if self.left_out.size else self.bottom + 19)
        for name, where, spot in zip(self.named, self.where, self._spots(spans), strict=False):
            self._label(name, where, *spot)
        self._name_lines()

    def _name_lines(self):
        for k, name in enumerate(self.left):
            name.set_text("")
            if k < len(self.lines):
                members = self.lines[k].members
                slanted = not self.wanted[members].any()
                name.set(
                    text=self._called(members), y=self.y[k], fontsize=self.sheet.points(self._px())
                )
                name.set_style("italic" if slanted else "normal")

    def _called(self, members):
        if members.size == 1:
            return self.shown[members[0]]
        every = ", ".join(str(self.names[i]) for i in members)
        return self.sheet.cut(f"{members.size}: {every}", 12, self.room, end=0)

    def _px(self):
        return 12 if self.row_px >= 18 else 11

    def _spots(self, spans):
        for k, x, (a, b) in zip(self.drawn, self.x, spans, strict=True):
            yield self.labels[k], x + 14, (a + b) / 2, b > a
        for _ in range(len(self.named) - len(spans)):
            yield ("", ""), 0, 0, False

    def _label(self, name, where, words, x, y, tall):
        shift = 7.5 if tall else 0
        name.set(text=words[0], position=(x, y - shift), fontsize=self.sheet.points(12))
        along = 0 if tall else self.sheet.width_of(words[0], 12) + 8
        where.set(text=words[1], position=(x + along, y + shift))

    def _strands(self, said):
        lines = zip(self.lines, self.y, strict=True)
        return [(worst_of(line.members, said), y, 6.5) for line, y in lines]

    def _tell(self, verdict, y, words, code):
        none = code in (GAP, NONE)
        px = 11 if none else self._px() + (self.row_px >= 22)
        weight, ink = "bold" if code == THICK else "normal", QUIET if none else INK
        verdict.set(text=words, y=y, fontsize=self.sheet.points(px), weight=weight, color=ink)

    def _named(self, setup, way, aim):
        return f"  {short(setup.label, 38)}, {aim}"

    def _say(self, said):
        for verdict, line, y in zip(self.verdicts, self.lines, self.y, strict=False):
            code = said.code[worst_of(line.members, said)]
            self._tell(verdict, y, line_words(line.members, said), code)
        for verdict in self.verdicts[len(self.lines) :]:
            verdict.set_text("")
        self._tell_overload(said, OVERLOADED)
        foot = self._foot(said)
        self.foot.set_text(foot)
        return f" {foot[0].upper()}{foot[1:].rstrip('.')}." if foot else ""

    def _foot(self, said):
        """What is not drawn, and what slanted letters are, where there are any."""
        more = more_words(said, [np.array([i]) for i in self.left_out])
        slanted = any(not self.wanted[line.members].any() for line in self.lines)
        return f"{more}{'. ' if more and slanted else ''}{_SLANTED if slanted else ''}"


def best_spare_db(site, setup):
    """What each station has to spare for 5 of 10 roofs at its own best heading, (stations,) dB.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup, whose own heading plays no part.
    """
    g = survey.grid(site, [setup])
    spare = np.where(np.isnan(g.margin_db[0]), -np.inf, g.margin_db[0] - g.fade_db[0]).max(axis=0)
    return np.where(np.isinf(spare), np.nan, spare)
