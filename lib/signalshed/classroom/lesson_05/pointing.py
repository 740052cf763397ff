"""Every heading tried: how many stations each brings, and the arc that is as good; guessed first."""

import numpy as np

from ... import plots, simulate, survey
from ...plots import style
from ...survey.heading import AS_GOOD
from ...words import compass_word, short
from .. import Guess, Panel, Slider, Words
from ..canvas import Moving, blank, upright
from ..roof import antenna_choice

_ROUND_DEG = np.arange(0.0, 361.0, 1.0)
_ROWS = 5
"""In how many rows, in turn, the names of places stand above the highest count."""


def heading_panel(site=None):
    """Heading and antenna: the number of stations that every heading brings.

    Parameters: ``site`` a Site, None for the invented house; its first mount is used.

    >>> heading_panel().verdict
    'Which heading brings most of the wanted stations, on average?'
    """
    site = simulate.demo_site() if site is None else site
    controls = (
        Slider("heading_deg", "Heading, degrees true", 0, 359, 210),
        antenna_choice(site, "eight-element Yagi"),
        Guess(
            "best_deg",
            "Your guess, degrees true",
            *(0, 359, 180),
            question="Which heading brings most of the wanted stations, on average?",
        ),
    )
    title = f"Every heading tried: {site.name}"
    return Panel(title, controls, _Search.of(site), (8.8, 4.8))


def _expected(site, setup):
    wanted = site.stations["wanted"].to_numpy(bool)
    chance = survey.grid(site, [setup], _ROUND_DEG[:-1]).chance[0][:, wanted]
    total = chance.sum(axis=1)
    return np.append(total, total[0])


class _Search(Moving):
    """Expected stations against heading, the transmitter places as marks along the top."""

    def draw(self, figure, site):
        self.site, self.mount = site, next(iter(site.mounts))
        self.places = plots.places_of(site)
        self.wanted = max(int(site.stations["wanted"].sum()), 1)
        setups = [survey.Setup(antenna, self.mount) for antenna in site.antennas]
        self.most = float(np.ceil(max(_expected(site, s).max() for s in setups))) + 1
        low = figure.get_size_inches()[1] < 3
        self.apart = (0.2 if low else 0.07) * self.most
        top = 1.11 * self.most + (_ROWS - 1) * self.apart
        self.ax = ax = figure.add_subplot()
        ax.set(xlim=(0, 360), ylim=(0, top), xticks=np.arange(0, 361, 45))
        ax.set(xlabel="heading, degrees true")
        # Above the most that any heading brings stand the places: no number of stations there.
        ax.set_yticks(np.arange(0, self.most, 4 if low else 2))
        ax.set_ylabel("stations" if low else "wanted stations, on average")
        self._places()
        colour = style.MEANING
        self.arcs = [self.fill(ax, color=style.GREY, alpha=0.2, lw=0) for _ in range(2)]
        self.curve = self.line(ax, color=colour["forecast"], lw=2.5)
        self.aim = self.line(ax, color=colour["aim"], ls="--")
        self.dot = self.line(ax, "o", color=colour["aim"], ms=9)
        self.guess = self.guess_line(ax)
        self.yours = self.text(ax, 0, 0.6, bbox=style.PAPER)

    def _places(self):
        for k, row in enumerate(self.places.sort_values("bearing_deg").itertuples()):
            at, level = row.bearing_deg % 360, 1.05 * self.most + k % _ROWS * self.apart
            self.ax.plot([at], [level], "v", color="black", ms=7)
            # A name takes up to 100 degrees of a low picture: it goes where there is room.
            side, apart = ("right", -7) if at > 135 else ("left", 7)
            words = f"{short(row.name, 16)} ({row.stations})"
            self.ax.annotate(
                words, (at, level), (apart, 0), textcoords="offset points",
                ha=side, va="center",
            )  # fmt: skip

    def move(self, heading_deg, antenna, guess, placed):
        upright(self.aim, heading_deg, 0, self.most)
        upright(self.guess, guess, 0, self.most)
        self.yours.set_text("" if guess is None else "your guess")
        at = 0 if guess is None else guess
        self.yours.set(x=at + (-4 if at > 180 else 4), ha="right" if at > 180 else "left")
        if not placed:
            blank(self.curve, self.dot, *self.arcs)
            return Words("", f"{antenna}, every heading still to be tried. {self.where()}")
        setup = survey.Setup(antenna, self.mount)
        self.aimed = survey.best_heading(self.site, setup)
        self._search(heading_deg, _expected(self.site, setup))
        verdict = self.verdict(antenna, guess)
        worst = f"The worst heading brings {self.expected.min():.1f}."
        return Words(verdict, f"{verdict} {worst} {self.where()}", self.aimed.heading_deg)

    def _search(self, heading_deg, expected):
        """Another heading of the curve ``expected`` (361,); the arcs that are as good as its best."""
        self.heading_deg, self.expected = heading_deg, expected
        self.now = float(np.interp(heading_deg, _ROUND_DEG, expected))
        self.curve.set_data(_ROUND_DEG, expected)
        self.dot.set_data([heading_deg], [self.now])
        for patch, here in zip(self.arcs, _runs(expected >= expected.max() - AS_GOOD), strict=True):
            x, y = (of[here] if here.size else np.zeros(2) for of in (_ROUND_DEG, expected))
            patch.set_xy(np.c_[np.r_[x[0], x, x[-1]], np.r_[0, y, 0]])

    def verdict(self, antenna, guess):
        """The guess against the best heading, and what the slider's brings."""
        aim, said = self.aimed, compass_word(self.heading_deg)
        off = (self.places["bearing_deg"] - aim.heading_deg + 180) % 360 - 180
        lead = f"Best is {aim.heading_deg:.0f}° with {aim.expected:.1f} stations"
        if guess is not None:
            yours = float(np.interp(guess, _ROUND_DEG, self.expected))
            lead = f"You said {guess:g}°: {yours:.1f} stations. {lead}".replace(". Best", "; best")
        return (
            f"{lead}; the nearest place lies {off.abs().min():.0f}° beside it. As good (within a "
            f"quarter of a station) over {aim.arc_deg:.0f}°, shaded. {antenna} at "
            f"{self.heading_deg:.0f}° ({said}): {self.now:.1f} of {self.wanted} wanted "
            "stations on average."
        )

    def where(self):
        """The places in words."""
        each = ", ".join(f"{r.name} {r.bearing_deg % 360:.0f}°" for r in self.places.itertuples())
        return f"Places: {each}."


def _runs(good):
    """Indices of the two longest runs of True, the longer first."""
    ends = np.flatnonzero(np.diff(np.r_[0, good.astype(int), 0]))
    runs = [np.arange(a, b) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    runs = sorted(runs, key=len, reverse=True)[:2]
    return runs + [np.array([], int)] * (2 - len(runs))
