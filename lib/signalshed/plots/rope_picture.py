"""What both pictures of ropes have in common: what moves, and how it is moved to another setup."""

import numpy as np

from .. import survey
from ..words import aimed_shortly
from .picture import ordered
from .rope_frame import AIM, HAND, INK, QUIET, RULE, Sheet, Strands, draw_key, pieces_of
from .rope_lines import NONE, hand_at, rope_words, verdicts_of
from .strip import drawn_rows


class RopePicture:
    """Ropes on an Axes, which is moved to fill its figure; ``update`` moves them in place.

    Parameters: ``ax`` an Axes; ``site`` a Site; ``per_in`` as of rope_frame.Page. ``artists`` are what
    moves, back to front; ``alt`` says it in words; ``said`` the Verdicts shown; ``drawn`` which of the
    ``towers`` there is room for. Each kind chooses its lines (``_choose``: ``y``, ``middles`` of the
    towers and ``x``, their distance), says which strands lie on them (``_strands``: whose, y, thickness)
    and what stands beside them (``_say``).
    """

    TOP, TAIL = 0, 0
    """Pixels: where lines begin, and how far a rope hangs over behind home."""

    def __init__(self, ax, site, per_in=100):
        self.sheet, self.site, self.alt, self.drawn = Sheet(ax, per_in), site, "", None
        self.rows = drawn_rows(site)
        listed = site.stations.iloc[self.rows]
        self.names = listed["station"].tolist()
        self.wanted = listed["wanted"].to_numpy(bool)

    def _moving(self, most, home, look):
        """What moves, for at most so many lines; ``look`` of a kind: places and sizes in pixels."""
        sheet, ax = self.sheet, self.sheet.ax
        right = look.get("key_x", sheet.width - 8)
        self.between = sheet.lines(1, RULE)
        self.strands = Strands(sheet)
        self.home = sheet.lines(4, INK)
        mark = {"ls": "", "color": INK, "ms": sheet.points(11), "mew": 1.2}
        (self.full,) = ax.plot([], [], "^", **mark)
        (self.hollow,) = ax.plot([], [], "^", markerfacecolor="white", **mark)
        cross = {"ls": "", "color": INK, "ms": sheet.points(look["cross"]), "mew": look["stroke"]}
        (self.crosses,) = ax.plot([], [], "x", **cross)
        self.verdicts = [sheet.text(home, 0, px=12, ha="right") for _ in range(most)]
        self.named = [sheet.text(0, 0, px=12) for _ in range(most)]
        self.hand = sheet.text(look["hand_x"], 0, px=look["hand"], color=AIM)
        self.title = sheet.text(8, look["title_y"], px=look["title"], weight="bold")
        self.key = draw_key(sheet, right, look["key_y"], look["key"], look["rope"], look["levels"])
        self.over = sheet.text(right, look["key_y"], px=look["key"], ha="right")
        self.foot = sheet.text(look["foot_x"], 0, px=11, color=QUIET)
        back = (*self.strands.artists, self.home, self.full, self.hollow, self.crosses)
        self.artists = ordered((*back, *self.verdicts, self.hand, self.title, self.over, self.foot))

    def update(self, setup):
        """Move everything to ``setup``, a survey.Setup; returns the alternative text."""
        return self.show(survey.reception(self.site, setup), setup)

    def show(self, received, setup):
        """Move everything to a Reception ``received`` of ``setup``; returns the alternative text."""
        if self.drawn is None:
            self.choose(received)
        self.said = said = verdicts_of(received, self.rows)
        self._move_ropes(said)
        self._move_marks(said)
        self._move_hand(received.aim, setup.heading_deg)
        aim = aimed_shortly(received.aim, setup.heading_deg)
        self.title.set_text(self._headline(setup, received.aim, aim))
        more = self._say(said)
        head = f"Ropes from each tower toward home. {setup.label}, {aim}. "
        self.alt = head + rope_words(self, said) + more
        return self.alt

    def _headline(self, setup, way, aim):
        return f"Whose rope gets to this house?{self._named(setup, way, aim)}"

    def choose(self, received):
        """Choose by a Reception ``received`` which lines there is room for, until chosen anew."""
        self._choose(verdicts_of(received, self.rows))

    def _move_ropes(self, said):
        pieces, crosses = [], []
        for whose, y, thick_px in self._strands(said):
            mine, cut = pieces_of(self.scale, said, whose, y, thick_px, self.TAIL)
            pieces += mine
            crosses += [(cut, y)] if cut else []
        self.strands.set(pieces)
        self.crosses.set_data(*np.array(crosses or np.empty((0, 2))).T)

    def _move_marks(self, said):
        lost = np.array(
            [(said.code[self.towers[k].members] == NONE).all() for k in self.drawn], bool
        )
        at = np.c_[self.x, self.middles] if self.drawn else np.empty((0, 2))
        self.full.set_data(*at[~lost].T)
        self.hollow.set_data(*at[lost].T)

    def _move_hand(self, way, heading_deg):
        fixed = way == "fixed"
        self.hand.set_text(HAND if fixed else "")
        if fixed and self.drawn:
            at = [self.towers[k].bearing_deg for k in self.drawn]
            self.hand.set_y(hand_at(heading_deg, at, self.middles, self.TOP, self.y[-1]))

    def _tell_overload(self, said, words):
        """Say once, in the place of the key, what grey ropes are; the key again where none is grey."""
        over = bool(said.overloaded.any())
        self.over.set_text(words if over else "")
        for artist in self.key:
            if artist.get_visible() == over:
                artist.set_visible(not over)
