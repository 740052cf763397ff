"""Ropes by station: from each tower toward home as far as its stations come, and what arrives.

Twin of the bearing strip: the strip says where a station is, the ropes say how far it gets. Everything
is read in one column, at home.
"""

import numpy as np

from .. import survey
from ..site import rest_words
from ..words import aimed_shortly, short
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
    THICK,
    hand_at,
    line_words,
    lines_of,
    more_words,
    towers_of,
    verdicts_of,
    worst_of,
)
from .strip import drawn_rows

SIZE_IN = (8.8, 5.4)
_HOME, _TOP, _FOOT = 262, 56, 42
_LEAST_PX, _MOST_PX, _BETWEEN_PX = 15, 30, 7
_KEY = ("comes on 9 of 10 roofs like yours", "on 5", "on 1")
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

    def draw(axes):
        axes.figure.set_layout_engine("none")
        picture = StationRopes(axes, site, setup)
        picture.update(setup)
        return picture

    return drawn(ax, SIZE_IN, draw)


class StationRopes:
    """Ropes by station on an Axes; ``update`` moves them in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site; ``setup`` a
    survey.Setup: inside a tower stations are ordered by what they have to spare at their own best
    heading, once and for all. ``artists`` are what moves, back to front; ``alt`` says it in words.
    Which lines there is room for is chosen at the first update, and anew by ``choose``.
    """

    def __init__(self, ax, site, setup):
        self.sheet, self.site, self.alt = Sheet(ax), site, ""
        self.rows = drawn_rows(site)
        shown = site.stations.iloc[self.rows]
        self.names = shown["station"].tolist()
        self.wanted = shown["wanted"].to_numpy(bool)
        self.towers = towers_of(site, best_spare_db(site, setup)[self.rows])
        self.lines = None
        self._still()
        self._moving()

    def _still(self):
        sheet = self.sheet
        self.bottom = sheet.height - _FOOT
        self.labels = [(t.name, place_words(t)) for t in self.towers]
        self.labels = [(sheet.cut(name, 12, 150), where) for name, where in self.labels]
        wide = [sheet.width_of(n, 12) + sheet.width_of(w, 11) + 8 + 22 for n, w in self.labels]
        self.scale = scale_of(self.towers, _HOME, sheet.width - 4, wide)
        draw_ticks(sheet, self.scale, _TOP - 4, self.bottom, miles=True)
        sheet.text(_HOME, 41, "home", 13, weight="bold", ha="center")
        self.room = _HOME - 26 - 18 - 6 - sheet.width_of("lacks 14 dB, overload", 11)
        self.shown = [sheet.cut(n, 12, self.room) for n in self.names]

    def _moving(self):
        sheet, ax = self.sheet, self.sheet.ax
        most = int((self.bottom - _TOP) / _LEAST_PX) + 1
        self.left = [sheet.text(18, 0, px=12) for _ in range(most)]
        self.named = [sheet.text(0, 0) for _ in range(most)]
        self.where = [sheet.text(0, 0, px=11, color=QUIET) for _ in range(most)]
        self.between = sheet.lines(1, RULE)
        self.bars = sheet.lines(2.5, INK)
        self.strands = Strands(sheet)
        self.home = sheet.lines(4, INK)
        mark = {"ls": "", "color": INK, "ms": points(11), "mew": 1.2}
        (self.full,) = ax.plot([], [], "^", **mark)
        (self.hollow,) = ax.plot([], [], "^", markerfacecolor="white", **mark)
        (self.crosses,) = ax.plot([], [], "x", color=INK, ms=points(11), mew=2)
        self.verdicts = [sheet.text(_HOME - 26, 0, ha="right") for _ in range(most)]
        self.hand = sheet.text(1, 0, px=18, color=AIM)
        self.title = sheet.text(8, 16, px=15, weight="bold")
        self.key = draw_key(sheet, sheet.width - 8, 41, 12, 6.5, _KEY)
        self.over = sheet.text(sheet.width - 8, 41, px=12, ha="right")
        self.foot = sheet.text(18, 0, px=11, color=QUIET)
        back = (*self.strands.artists, self.home, self.full, self.hollow, self.crosses)
        words = (*self.verdicts, self.hand, self.title, self.over, self.foot)
        self.artists = ordered((*back, *words))

    def choose(self, received):
        """Choose by a Reception ``received`` which lines there is room for, until chosen anew."""
        said = verdicts_of(received, self.rows)
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
                name.set(text=self._called(members), y=self.y[k], fontsize=points(self._px()))
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
        name.set(text=words[0], position=(x, y - shift), fontsize=points(12))
        along = 0 if tall else self.sheet.width_of(words[0], 12) + 8
        where.set(text=words[1], position=(x + along, y + shift))

    def update(self, setup):
        """Move everything to ``setup``, a survey.Setup; returns the alternative text."""
        return self.show(survey.reception(self.site, setup), setup)

    def show(self, received, setup):
        """Move everything to a Reception ``received`` of ``setup``; returns the alternative text."""
        if self.lines is None:
            self.choose(received)
        said = verdicts_of(received, self.rows)
        self._move_lines(said)
        self._move_marks(said)
        self._move_words(received.aim, setup, said)
        self.alt = self._alt(received.aim, setup, said)
        return self.alt

    def _move_lines(self, said):
        pieces, crosses = [], []
        for line, y, verdict in zip(self.lines, self.y, self.verdicts, strict=False):
            worst = worst_of(line.members, said)
            mine, cut = pieces_of(self.scale, said, worst, y, 6.5, 18)
            pieces += mine
            crosses += [(cut, y)] if cut else []
            self._say(verdict, y, line_words(line.members, said), said.code[worst])
        for verdict in self.verdicts[len(self.lines) :]:
            verdict.set_text("")
        self.strands.set(pieces)
        self.crosses.set_data(*np.array(crosses or np.empty((0, 2))).T)

    def _say(self, verdict, y, words, code):
        none = code in (GAP, NONE)
        px = 11 if none else self._px() + (self.row_px >= 22)
        weight, ink = "bold" if code == THICK else "normal", QUIET if none else INK
        verdict.set(text=words, y=y, fontsize=points(px), weight=weight, color=ink)

    def _move_marks(self, said):
        lost = np.array(
            [(said.code[self.towers[k].members] == NONE).all() for k in self.drawn], bool
        )
        at = np.c_[self.x, self.middles] if self.drawn else np.empty((0, 2))
        self.full.set_data(*at[~lost].T)
        self.hollow.set_data(*at[lost].T)

    def _move_words(self, way, setup, said):
        label = f"{short(setup.label, 38)}, {aimed_shortly(way, setup.heading_deg)}"
        self.title.set_text(f"Whose rope gets to this house?  {label}")
        at = [self.towers[k].bearing_deg for k in self.drawn]
        fixed = way == "fixed"
        self.hand.set_text(HAND if fixed else "")
        if fixed:
            self.hand.set_y(hand_at(setup.heading_deg, at, self.middles, _TOP, self.y[-1]))
        tell_overload(self, said, OVERLOADED)
        self.foot.set_text(self._foot(said))

    def _foot(self, said):
        """What is not drawn, and what slanted letters are, where there are any."""
        more = more_words(said, [np.array([i]) for i in self.left_out])
        slanted = any(not self.wanted[line.members].any() for line in self.lines)
        return f"{more}{'. ' if more and slanted else ''}{_SLANTED if slanted else ''}"

    def _alt(self, way, setup, said):
        aim = aimed_shortly(way, setup.heading_deg)
        head = f"Ropes from each tower toward home. {setup.label}, {aim}. "
        return head + station_words(self, said) + _full_stop(self.foot.get_text())


def _full_stop(words):
    return f" {words[0].upper()}{words[1:].rstrip('.')}." if words else ""


def station_words(picture, said, most=24):
    """What a picture of ropes says of each station, tower by tower from north, at most ``most``.

    Parameters: ``picture`` with towers and names; ``said`` the Verdicts of its stations.
    """
    parts, told = [], 0
    for tower in picture.towers:
        members = tower.members[: max(most - told, 0)]
        told += members.size
        if members.size:
            each = ", ".join(f"{short(picture.names[i], 24)} {said.words[i]}" for i in members)
            parts.append(f"{short(tower.name, 24)} ({place_words(tower)}): {each}")
    more = len(picture.names) - told
    parts += [f"and {more} more"] if more > 0 else []
    return "; ".join([*parts, *filter(None, [rest_words(picture.site)])]) + "."


def place_words(tower):
    """Bearing and distance of a Tower ``tower``, as they stand at its line.

    >>> from .rope_lines import Tower
    >>> place_words(Tower("", "A", 37.6, 48.2, None))
    '38°, 48 km'
    """
    near = f"{tower.distance_km:.0f}" if tower.distance_km >= 2 else f"{tower.distance_km:.1f}"
    return f"{round(tower.bearing_deg) % 360}°, {near} km"


def best_spare_db(site, setup):
    """What each station has to spare for 5 of 10 roofs at its own best heading, (stations,) dB.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup, whose own heading plays no part.
    """
    g = survey.grid(site, [setup])
    spare = np.where(np.isnan(g.margin_db[0]), -np.inf, g.margin_db[0] - g.fade_db[0]).max(axis=0)
    return np.where(np.isinf(spare), np.nan, spare)
