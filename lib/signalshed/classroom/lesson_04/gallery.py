"""A gallery of builds for the UHF band: what each gains, how wide it hears, what it weighs."""

import functools
import json

import numpy as np

from ... import builds, facts
from ...markup import Number
from ...plots import style
from ...words import signed
from .. import Choice, Panel, Words
from ..canvas import Moving
from ..cards import table_card

BAND_MHZ = (470.0, 608.0)
_AROUND_DEG = np.arange(-180.0, 180.0, 2.0)  # as builds.by_channel asks: one sweep serves both
_DRAWN_MM, _HELD_MM, _GAIN_DBD = 520, 1300, (-12.0, 12.0)
_CHANNELS = np.arange(14, 37)


@functools.cache
def gallery_builds():
    """The builds of the gallery by name, for 470 to 608 MHz, in sizes that shed.builds.tune found.

    >>> "wire loop" in gallery_builds()
    True
    """
    made = {}
    for row in facts.table("gallery").itertuples():
        sizes, screen = json.loads(row.sizes), json.loads(row.screen)
        legs = {"leg_mm": sizes.pop("leg_mm")} if "leg_mm" in sizes else {}
        build = builds.remade(builds.FORMS[row.form](BAND_MHZ, **sizes), **legs)
        if screen:
            behind_mm, form = screen.pop("behind_mm"), screen.pop("form")
            build = build.with_screen(builds.SCREENS[form](**screen), behind_mm)
        made[row.name] = build.renamed(row.name)
    return made


@functools.cache
def _by_channel(name):
    return builds.by_channel(gallery_builds()[name])


def gallery():
    """Every build in one table: gain on worst and best channel, width, wire, weight, wind: a Card.

    >>> gallery().text.splitlines()[0][:20]
    'build | worst channe'
    """
    rows = [(name, *_row(name, build)) for name, build in gallery_builds().items()]
    heads = ["worst channel, dBd", "best, dBd", "width", "wire, m", "weight, kg", "wind, N"]
    return table_card(["build", *map(Number, heads)], [("", rows)])


def _row(name, build):
    gain, width = (_by_channel(name)[c] for c in ("gain_dbd", "beamwidth_deg"))
    return (
        signed(gain.min(), 1),
        signed(gain.max(), 1),
        f"{width.iloc[len(width) // 2]:.0f}°",
        f"{build.wire_m:.1f}",
        f"{build.weight_kg:.2f}",
        f"{build.wind_load_n():.0f}",
    )


def gallery_panel():
    """One build at a time: its wires as seen from in front and before a door, bars by channel, pattern.

    >>> "wire" in gallery_panel().verdict
    True
    """
    controls = (Choice("name", "Build", tuple(gallery_builds()), "wire loop"),)
    return Panel("A gallery of builds", controls, _Build.of(), (8.8, 5.6))


class _Build(Moving):
    """Left: the wires, near by and before a door. Right: a bar a channel, and the pattern."""

    def draw(self, figure):
        wide = figure.add_gridspec(2, 3, width_ratios=(3, 6, 8))
        self.room = figure.add_subplot(wide[:, 0])
        self.front = figure.add_subplot(wide[:, 1])
        self.gain = figure.add_subplot(wide[0, 2])
        self.around = figure.add_subplot(wide[1, 2])
        self._still()
        orange = style.MEANING["antenna"]
        self.screens, self.wires = (
            [self.keep(ax.vlines([], [], [], color=c, lw=w)) for ax in (self.front, self.room)]
            for c, w in ((style.GREY, 1), (style.BLACK, 2))
        )
        self.feed = self.line(self.front, "o", color=style.MEANING["aim"], ms=8)
        freq = builds.channel_freq_mhz(next(iter(gallery_builds().values())))
        self.bars = self.gain.bar(_CHANNELS[: len(freq)], 0.0 * freq, color=orange, ec="black")
        self.moving += self.bars
        self.lobe = self.line(self.around, color=orange, lw=2.5)
        self.look = self.keep(self.front.set_title("", fontsize=11))

    def _still(self):
        half = _DRAWN_MM
        self.front.set(xlim=(-half, half), ylim=(-half, half), aspect="equal")
        self.front.set(xlabel="across, mm", ylabel="mm", xticks=[-400, 0, 400])
        wide, high = (facts.value("builds", f"door_{side}_mm") for side in ("width", "height"))
        self.room.set(xlim=(-_DRAWN_MM, _DRAWN_MM), ylim=(-30, high + 60), aspect="equal")
        self.room.set(xticks=[], yticks=[])
        self.room.grid(False)
        self.room.spines["left"].set_visible(False)
        door = [-wide / 2, -wide / 2, wide / 2, wide / 2], [0, high, high, 0]
        self.room.plot(*door, color=style.BLACK, lw=2)
        self.room.plot([wide / 2 - 70], [high / 2], "o", color=style.BLACK, ms=4)
        self.room.set_title(f"a door, {high / 1000:.0f} m", fontsize=11)
        self.gain.set(
            xlim=(13.2, 36.8), ylim=_GAIN_DBD, xlabel="RF channel", ylabel="on the aim, dBd"
        )
        self.gain.set_xticks([14, 18, 22, 26, 30, 36])
        self.gain.axhline(0, color=style.BLACK, lw=1)
        self.around.set(xlim=(-180, 180), ylim=(-25, 12), xticks=np.arange(-180, 181, 90))
        self.around.set(xlabel="azimuth from the aim, degrees", ylabel="dBd at 539 MHz")

    def move(self, name):
        build, rows = gallery_builds()[name], _by_channel(name)
        gain_dbd = builds.realised_gain_dbd(build, None, _AROUND_DEG)
        drawn = build.structure.wires
        own = len(build.element)
        plane, seen = _look(build)
        for lines, part in ((self.wires, drawn[:own]), (self.screens, drawn[own:])):
            lines[0].set_segments([1000 * w.points_m[:, plane] for w in part])
            lines[1].set_segments([[0, _HELD_MM] + 1000 * w.points_m[:, 1:] for w in part])
        self.feed.set_data(*1000 * build.terminals_m[:, plane].T)
        self.look.set_text(f"{seen}; dot: feed")
        for bar, gain in zip(self.bars, rows["gain_dbd"].clip(_GAIN_DBD[0] - 5), strict=True):
            bar.set_height(gain)
        middle = gain_dbd[len(gain_dbd) // 2].clip(-40)
        self.lobe.set_data(np.append(_AROUND_DEG, 180), np.append(middle, middle[0]))
        words = _said(name, build)
        return Words(words, f"{words} {builds.drawing_words(build)} A bar a channel.")


def _look(build):
    """Which two axes show a build best, and the look in words: rods on a boom hide each other from in
    front. Seen from there, what is left of the aim is to the right."""
    deep, across, high = np.ptp(np.concatenate([w.points_m for w in build.element]), axis=0)
    return ([1, 0], "above, aim up") if deep > high < across / 3 else ([1, 2], "from in front")


def _said(name, build):
    worst, best, width, wire, weight, wind = _row(name, build)
    screen = build.screen
    behind = "" if screen is None else f" {builds.both_units(screen.behind_mm)} before its screen."
    return (
        f"{name}: {worst} dBd on its worst channel, {best} on its best.{behind} {width} wide at "
        f"539 MHz; {wire} m of wire and rod, {weight} kg of metal, {wind} N in a wind of 40 m/s "
        f"(90 mph), balun {build.balun}."
    )
