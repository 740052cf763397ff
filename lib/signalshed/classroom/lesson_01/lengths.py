"""How long a wave is: beside two arms and a shoe, and as wire beside a door."""

import numpy as np
from matplotlib.patches import Circle, Rectangle

from ... import channels, simulate
from ...plots import style
from ...plots.picture import ordered
from ...units import inches_text
from .. import Choice, Guess, Panel, Slider, Words
from ..asking import held_back
from .numbers import REGIONS, nearest_channel, region_key, sizes

CHANNEL = (2, 52, 26)
"""Lowest, highest and first channel of the slider."""

ARMS_RF = "5"
"""The channel whose half wave is a grown person's stretched arms."""
HAND_M, SHOE_M = 0.19, 0.28
"""A hand and a shoe, about: our own, to compare with."""


def arms_panel(site=None):
    """Half a wave of channel 5 as long as two arms, and that of a station that calls itself 5.1.

    Parameters: ``site`` a Site, None for the invented house.

    >>> arms_panel().verdict[-46:]
    'how long is half a wave of the station chosen?'
    """
    site = simulate.demo_site() if site is None else site
    tv = site.stations[site.stations["service"] == "tv"].drop_duplicates("station")
    names = [_called(row) for row in tv.itertuples()]
    asks = Guess(
        "half_m",
        "Your guess, metres",
        *(0, 2, 1.9, 0.05),
        question="Your arms, 1.9 m, are half a wave of RF 5: how long is half a wave of the station "
        "chosen?",
    )
    controls = (Choice("station", "The screen says", tuple(names)), asks)
    freq = dict(zip(names, tv["freq_mhz"], strict=True))
    number = dict(zip(names, tv["rf_channel"], strict=True))

    def draw(figure):
        picture = _Arms(figure)

        def find(station):
            return sizes(freq[station])["half_wave"] / 1000

        def say(half_m, station):
            return _arms_words(station, number[station], half_m)

        return picture.artists, held_back(asks, picture.update, find, say, _ARMS)

    return Panel("How long is its half wave?", controls, draw, (8.8, 3.2))


def _called(row):
    shown = str(row.shown_channels).split()
    return f"{shown[0]}, {row.station}" if shown else row.station


_ARMS = "Half a wave of RF 5, as long as two stretched arms; below it a line that is still empty."


def _arms_words(station, rf_channel, half_m):
    like = min((("two arms", 1.9), ("a hand", HAND_M), ("a shoe", SHOE_M), ("an arm", 0.75)),
               key=lambda thing: abs(np.log(thing[1] / half_m)))[0]  # fmt: skip
    length = f"{1000 * half_m:.0f} mm, about {like}"
    finding = f"{station}: sent on RF {rf_channel}, so half a wave is {length}."
    return Words(finding, f"Two arms, 1.9 m, and below them {finding}", half_m)


class _Arms:
    """A line as long as two arms, and under it another, to scale."""

    def __init__(self, figure):
        with style.house():
            ax = figure.add_subplot(xlim=(-0.05, 2.05), ylim=(2.6, -0.5), yticks=[])
            ax.set_xlabel("metres")
            metal = style.MEANING["antenna"]
            arms_m = sizes(channels.centre_mhz(ARMS_RF))["half_wave"]
            ax.plot([0, arms_m / 1000], [0.3] * 2, color=style.GREY, lw=4, solid_capstyle="butt")
            ax.text(0, 0.1, f"half a wave of RF {ARMS_RF}: your arms, stretched", va="bottom")
            (self.line,) = ax.plot([], [], color=metal, lw=4, solid_capstyle="butt")
            (self.guessed,) = ax.plot([], [], "^", color=style.MEANING["aim"], ms=11)
            self.name = ax.text(0, 1.1, "", va="bottom")
            self.mark = ax.text(0, 2.05, "", va="center", color=style.AIM_TEXT)
        self.artists = ordered((self.line, self.guessed, self.name, self.mark))

    def update(self, half_m, guess, station):
        """Move to half a wave of ``half_m`` (None: not shown) beside a ``guess`` in metres."""
        self.line.set_data(*(([0, half_m], [1.3] * 2) if half_m else ([], [])))
        self.name.set_text(f"half a wave of “{station}”" if half_m else "")
        here = [] if guess is None else [guess]
        self.guessed.set_data(here, [1.7] * len(here))
        self.mark.set_text("your guess" if here else "")
        self.mark.set_position((min(guess or 0, 1.8), 2.05))


# ---- channel to sizes ----------------------------------------------------------------------------


def sizes_panel():
    """Region and channel: wave, half-wave dipole and loop, to scale beside a door.

    >>> sizes_panel().verdict[:46]
    'RF 26, United States and Canada: 542 to 548 MH'
    """
    controls = (
        Choice("region", "Region", tuple(REGIONS.values())),
        Slider("channel", "RF channel", *CHANNEL),
    )
    return Panel("From channel to sizes", controls, _draw_sizes, (8.8, 4.6))


def _draw_sizes(figure):
    picture = _Sizes(figure)

    def move(region, channel):
        key = region_key(region)
        name = nearest_channel(channel, key)
        row = channels.plan(key).loc[name]
        mm = sizes(row["centre_mhz"])
        picture.update(mm)
        lead = f"RF {name}, {region}"
        if int(name) != channel:
            lead = f"There is no RF {channel} in this plan; the nearest is RF {name}"
        words = (
            f"{lead}: {row['low_mhz']:g} to {row['high_mhz']:g} MHz, {row['band']}. Wave "
            f"{_both(mm['wave'])}. A half-wave dipole of 10 AWG wire starts at {_both(mm['dipole'])} "
            f"from tip to tip, a loop at {_both(mm['loop'])} round, {_both(mm['loop'] / np.pi)} across."
        )
        return Words(words, f"To scale beside a door 2 m high. {words}")

    return picture.artists, move


def _both(length_mm):
    return f"{length_mm:.0f} mm ({inches_text(length_mm)})"


class _Sizes:
    """A door for scale, and wave, dipole and loop beside it."""

    def __init__(self, figure):
        with style.house():
            ax = figure.add_subplot(xlim=(0, 7.4), ylim=(0, 3.1))
            ax.set_aspect("equal")
            ax.set(xlabel="metres", ylabel="metres")
            ax.add_patch(Rectangle((0.15, 0), 0.8, 2.0, fill=False, ec=style.GREY, lw=2))
            ax.plot([0.85], [1.0], "o", color=style.GREY, ms=4)
            ax.text(0.15, 2.06, "door, 2 m", color=style.GREY)
            hand = ([1.3, 1.3 + HAND_M], [0.35, 0.35])
            ax.plot(*hand, color=style.GREY, lw=4, solid_capstyle="butt")
            ax.text(1.3, 0.42, "a hand", color=style.GREY, va="bottom")
            air, metal = style.MEANING["air"], style.MEANING["antenna"]
            (self.wave,) = ax.plot([], [], color=air, lw=2, ls="--")
            (self.dipole,) = ax.plot([], [], color=metal, lw=4, solid_capstyle="butt")
            self.loop = ax.add_patch(Circle((5.9, 1.0), 0.1, fill=False, ec=metal, lw=4))
            self.wave_name = ax.text(1.3, 0, "", va="bottom")
            self.dipole_name = ax.text(1.3, 0, "", va="bottom")
            self.loop_name = ax.text(5.9, 2.15, "", ha="center", va="bottom")
        texts = (self.wave_name, self.dipole_name, self.loop_name)
        self.artists = ordered((self.wave, self.dipole, self.loop, *texts))

    def update(self, mm):
        """Move to the sizes ``mm`` of another frequency."""
        wave_m, dipole_m, loop_m = (mm[k] / 1000 for k in ("wave", "dipole", "loop"))
        left = 1.3
        x = np.linspace(0, min(wave_m, 5.8), 200)
        self.wave.set_data(left + x, 2.55 + 0.18 * np.sin(2 * np.pi * x / wave_m))
        self.dipole.set_data([left, left + dipole_m], [0.9, 0.9])
        self.loop.set_center((5.9, 1.05))
        self.loop.set_radius(loop_m / (2 * np.pi))
        self.wave_name.set_position((left, 2.76))
        self.wave_name.set_text(f"one wave, {mm['wave']:.0f} mm")
        self.dipole_name.set_position((left, 0.98))
        self.dipole_name.set_text(f"dipole, {_both(mm['dipole'])}")
        self.loop_name.set_position((5.9, 1.12 + loop_m / (2 * np.pi)))
        self.loop_name.set_text(f"loop, {_both(mm['loop'])} round")
