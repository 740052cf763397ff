"""Lesson 01: what is on the air, where on the dial, and how long is its wave."""

import numpy as np
import pandas as pd
from matplotlib.patches import Circle, Rectangle

from .. import builds, channels, simulate, wires
from ..plots import style
from ..plots.picture import ordered
from ..units import LIGHT_M_MHZ, inches_text
from ..words import listed
from . import Choice, Panel, Slider, Words, quiz

REGIONS = {
    "us": "United States and Canada",
    "ge06": "Europe, Africa, parts of Asia",
    "au": "Australia",
    "jp": "Japan",
    "br": "Brazil",
}
"""The regions of shed.channels in words."""

CHANNEL = (2, 52, 26)
"""Lowest, highest and first channel of the slider."""
DIAL_MHZ = (40, 760)
NEAR_MHZ = 30
"""How far the lower picture of the planner looks to both sides."""
_LOWEST_SHARE = 0.85
"""A resonance is looked for from this share of the wanted frequency on."""


# ---- numbers -------------------------------------------------------------------------------------


def sizes(freq_mhz):
    """Wave and elements of one frequency: a dict of millimetres.

    Parameters: ``freq_mhz`` above 0. ``wave`` and ``half_wave`` in air; ``dipole`` tip to tip and
    ``loop`` round as the library starts them, from 10 AWG wire.

    >>> {name: round(mm) for name, mm in sizes(539).items()}
    {'wave': 556, 'half_wave': 278, 'dipole': 261, 'loop': 601}
    """
    wave_mm = 1000 * LIGHT_M_MHZ / float(freq_mhz)
    return {
        "wave": wave_mm,
        "half_wave": wave_mm / 2,
        "dipole": builds.half_wave_dipole(freq_mhz).sizes["length_mm"],
        "loop": builds.loop(freq_mhz).sizes["circumference_mm"],
    }


def resonant_share(freq_mhz, wire="10 AWG"):
    """How long a straight dipole is at its resonance, as a share of half a wave, by the wire solver.

    A dipole of exactly half a wave at ``freq_mhz`` resonates somewhat lower; there its length is this
    share of half a wave. Parameters: ``freq_mhz`` above 0; ``wire`` as text.

    >>> 0.93 < resonant_share(539) < 0.96
    True
    """
    half_mm = sizes(freq_mhz)["half_wave"]
    dipole = builds.half_wave_dipole(freq_mhz, length_mm=half_mm, wire=wire)
    tried = freq_mhz * np.linspace(_LOWEST_SHARE, 1.03, 61)
    reactance = wires.sweep(dipole.structure, tried, [0.0]).impedance_ohm.imag
    return float(np.interp(0.0, reactance, tried)) / float(freq_mhz)


def nearest_channel(number, region):
    """The television channel of a plan whose number is nearest to ``number``, as text.

    Parameters: ``number`` of a channel; ``region`` one of shed.channels.REGIONS.

    >>> nearest_channel(40, "us"), nearest_channel(9, "jp")
    ('36', '13')
    """
    names = [name for name in channels.plan(region).index if name.isdigit()]
    return min(names, key=lambda name: abs(int(name) - number))


def same_place(freq_mhz, region):
    """What lies at a frequency in a region: its channel as text, or what else is there.

    Parameters: ``freq_mhz``; ``region`` one of shed.channels.REGIONS.

    >>> same_place(533, "us"), same_place(620, "us"), same_place(60, "jp")
    ('RF 24', '600 MHz mobile from the mast', 'no television')
    """
    plan = channels.plan(region)
    inside = plan.index[(plan["low_mhz"] <= freq_mhz) & (freq_mhz < plan["high_mhz"])]
    if len(inside):
        return f"RF {inside[0]}"
    other = channels.neighbours(region)
    other = other[(other["low_mhz"] <= freq_mhz) & (freq_mhz < other["high_mhz"])]
    return other["label"].iloc[0] if len(other) else "no television"


def by_channel(stations):
    """A station list by RF channel: who is on it, what the screen calls them, how they are coded.

    Parameters: ``stations`` of a Site. Returns a DataFrame in order of frequency: rf_channel,
    freq_mhz, on_it, shown, standard.

    >>> by_channel(simulate.demo_site().stations).query("rf_channel == '33'").on_it.tolist()
    ['Washboard, Almanac']
    """
    tv = stations[stations["service"] == "tv"]
    rows = [
        {
            "rf_channel": channel,
            "freq_mhz": group["freq_mhz"].iloc[0],
            "on_it": ", ".join(group["station"]),
            "shown": ", ".join(group["shown_channels"]),
            "standard": ", ".join(dict.fromkeys(group["standard"])),
        }
        for channel, group in tv.groupby("rf_channel")
    ]
    return pd.DataFrame(rows).sort_values("freq_mhz", ignore_index=True)


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
        key = _key_of(region)
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


def _key_of(words):
    return next(key for key, said in REGIONS.items() if said == words)


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


# ---- the dial ------------------------------------------------------------------------------------


def dial_panel(site=None):
    """Station and region: the whole dial, and what lies beside the station's channel.

    Parameters: ``site`` a Site, None for the invented house.

    >>> "5.1" in dial_panel().verdict
    True
    """
    site = simulate.demo_site() if site is None else site
    table = site.stations[site.stations["service"] == "tv"].drop_duplicates("station")
    controls = (
        Choice("station", "Station", tuple(table["station"])),
        Choice("region", "Dial of", tuple(REGIONS.values()), REGIONS[site.region]),
    )

    def draw(figure):
        picture = _Dial(figure, site)

        def move(station, region):
            row = table[table["station"] == station].iloc[0]
            picture.update(row, _key_of(region))
            words = _dial_words(site, row, _key_of(region))
            return Words(words, f"The dial from {DIAL_MHZ[0]} to {DIAL_MHZ[1]} MHz. {words}")

        return picture.artists, move

    return Panel(f"The dial of {site.name}", controls, draw, (8.8, 5.0))


def _dial_words(site, row, region):
    freq = row["freq_mhz"]
    shown = row["shown_channels"]
    screen = f"the screen shows {shown}" if shown else "what the screen shows is not in the list"
    words = [
        f"{row['station']}: {screen}; it is sent on RF {row['rf_channel']}, "
        f"{freq - row['bandwidth_mhz'] / 2:g} to {freq + row['bandwidth_mhz'] / 2:g} MHz."
    ]
    if not site.tuner.decodes(row["standard"]):
        words.append(f"This tuner does not decode {row['standard']}: heard, but never seen.")
    tv = site.stations[site.stations["service"] == "tv"]
    others = tv[tv["station"] != row["station"]]
    same = others[others["rf_channel"] == row["rf_channel"]]
    shares = same[same["place"] == row["place"]]["station"].tolist()
    far = same[same["place"] != row["place"]]["station"].tolist()
    words += [f"{listed(shares)} shares this signal."] if shares else []
    words += [f"{listed(far)}, elsewhere, is on the same channel and can spoil it."] if far else []
    beside = channels.adjacent(row["rf_channel"], site.region)
    near = others[others["rf_channel"].isin(beside)]["station"].tolist()
    words.append(f"On the channels beside it: {listed(near) or 'nobody'}.")
    words.append(_nearest_neighbour(freq, site.region))
    if region != site.region:
        words.append(f"In {REGIONS[region]} this frequency is {same_place(freq, region)}.")
    return " ".join(words)


def _nearest_neighbour(freq_mhz, region):
    table = channels.neighbours(region)
    away = np.maximum(table["low_mhz"] - freq_mhz, freq_mhz - table["high_mhz"]).clip(lower=0)
    at = int(np.argmin(away))
    return f"Nearest other service: {table['label'].iloc[at]}, {away.iloc[at]:.0f} MHz away."


class _Dial:
    """Above the whole dial, below the surroundings of one station."""

    def __init__(self, figure, site):
        figure.set_layout_engine("none")
        self.site = site
        self.tv = site.stations[site.stations["service"] == "tv"]
        with style.house():
            self._whole(figure.add_axes((0.16, 0.61, 0.82, 0.30)))
            self._near(figure.add_axes((0.16, 0.10, 0.82, 0.30)))
        self.artists = ordered(
            (
                self.blocks,
                self.others,
                self.marks,
                self.here,
                self.name,
                self.near_blocks,
                self.near_others,
                *self.numbers,
                *self.names,
            )
        )

    def _whole(self, ax):
        ax.set(xlim=DIAL_MHZ, ylim=(0, 3), yticks=[0.5, 1.5, 2.5])
        ax.set_yticklabels(["other services", "television", "stations"])
        ax.set_title("The whole dial, MHz")
        self.blocks, self.others = _rows_of(ax)
        (self.marks,) = ax.plot([], [], "|", color="black", ms=16, mew=2)
        (self.here,) = ax.plot([], [], "v", color=style.MEANING["aim"], ms=11)
        self.name = ax.text(0, 2.72, "", color="black", va="center", bbox=style.PAPER)

    def _near(self, ax):
        ax.set(xlim=(-NEAR_MHZ, NEAR_MHZ), ylim=(0, 2), yticks=[0.5, 1.5])
        ax.set_yticklabels(["channel", "who"])
        ax.set_title("Beside it, MHz from the middle of its channel")
        self.near_blocks, self.near_others = _rows_of(ax)
        centre = {"ha": "center", "va": "center", "clip_on": True}
        self.numbers = [ax.text(0, 0.5, "", **centre) for _ in range(14)]
        self.names = [ax.text(0, 1.5, "", rotation=14, **centre) for _ in range(10)]

    def update(self, row, region):
        """Move to another station ``row``, on the dial of a ``region``."""
        plan, other = channels.plan(region), channels.neighbours(region)
        spans = plan[["low_mhz", "high_mhz"]].to_numpy()
        beside = other[["low_mhz", "high_mhz"]].to_numpy()
        self.blocks.set_verts([_box(a, b, 1.15, 1.85) for a, b in spans])
        self.others.set_verts([_box(a, b, 0.15, 0.85) for a, b in beside])
        freq = self.tv["freq_mhz"].to_numpy(float)
        self.marks.set_data(freq, np.full(freq.size, 2.2))
        here = float(row["freq_mhz"])
        self.here.set_data([here], [2.2])
        right = here > 600
        self.name.set_text(f"{row['station']}, RF {row['rf_channel']}")
        self.name.set_position((here - 4 if right else here + 4, 2.72))
        self.name.set_ha("right" if right else "left")
        self._update_near(here, plan, beside)

    def _update_near(self, here, plan, beside):
        near = plan[(plan["high_mhz"] > here - NEAR_MHZ) & (plan["low_mhz"] < here + NEAR_MHZ)]
        spans = near[["low_mhz", "high_mhz"]].to_numpy() - here
        self.near_blocks.set_verts([_box(a, b, 0.1, 0.9) for a, b in spans])
        self.near_others.set_verts([_box(a - here, b - here, 0.1, 0.9) for a, b in beside])
        middles = near["centre_mhz"].to_numpy() - here
        inside = np.abs(middles) < NEAR_MHZ - 2
        _say(self.numbers, zip(middles[inside], near.index[inside], strict=True))
        on_it = by_channel(self.site.stations)
        on_it = on_it[(on_it["freq_mhz"] - here).abs() < NEAR_MHZ - 2]
        names = [f"{w.split(', ')[0]}{' +' if ',' in w else ''}" for w in on_it["on_it"]]
        _say(self.names, zip(on_it["freq_mhz"] - here, names, strict=True))


def _rows_of(ax):
    """Boxes for television and, hatched, for other services, still without any."""
    look = {"edgecolor": "white", "facecolor": style.MEANING["air"], "lw": 0.6}
    grey = {"edgecolor": style.GREY, "facecolor": "white", "hatch": "////", "lw": 1}
    return tuple(ax.fill_between([0, 1e-6], 0, 1e-6, **how) for how in (look, grey))


def _box(low, high, bottom, top):
    return [(low, bottom), (high, bottom), (high, top), (low, top)]


def _say(texts, placed):
    """Put (x, words) on ``texts`` as far as they go; the rest say nothing."""
    placed = list(placed)[: len(texts)]
    for text, (x, words) in zip(texts, [*placed, *[(0, "")] * len(texts)], strict=False):
        text.set_x(x)
        text.set_text(words)


# ---- questions -----------------------------------------------------------------------------------


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("29.5 in").right
    True
    """
    return (
        quiz.number(
            "A station is sent at 200 MHz. How long is half a wave in air?",
            *(750, "mm", 8),
            hint="300 divided by MHz is the whole wave in metres; take half.",
        ),
    )
