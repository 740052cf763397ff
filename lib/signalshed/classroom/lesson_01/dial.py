"""The dial: of five regions as one picture, and of one station with what lies beside it."""

import numpy as np

from ... import channels, simulate
from ...plots import style
from ...plots.picture import ordered, show
from ...words import listed
from .. import Choice, Panel, Words
from .numbers import REGIONS, by_channel, region_key, same_place

DIAL_MHZ = (40, 760)
NEAR_MHZ = 30
"""How far the lower picture of the planner looks to both sides."""
_MARKS_AT = 2.2
"""The line of the stations, low enough for a name above it."""


def dials():
    """The dials of all regions, one below the other: a Picture.

    >>> dials().alt[:62]
    'Five dials, MHz. United States and Canada: low VHF RF 2 to 6, '
    """
    with style.house():
        figure = style.new_figure(8.8, 4.0)
        figure.set_layout_engine("constrained")
        ax = figure.add_subplot(xlim=DIAL_MHZ, ylim=(len(REGIONS) - 0.4, -0.7), xlabel="MHz")
        ax.set_yticks(range(len(REGIONS)), [_lines(words) for words in REGIONS.values()])
        ax.grid(axis="y", visible=False)
        told = [_dial(ax, y, region) for y, region in enumerate(REGIONS)]
    alt = "; ".join(
        f"{words}: {bands}" for words, bands in zip(REGIONS.values(), told, strict=True)
    )
    return show(figure, f"Five dials, MHz. {alt}. Hatched: FM radio and telephones.")


def _lines(words):
    return words.replace(" and ", "\nand ").replace(", parts", ",\nparts")


def _dial(ax, y, region):
    """The blocks of one region in a row at ``y``; returns its bands in words."""
    plan, other = channels.plan(region), channels.neighbours(region)
    air, grey = style.MEANING["air"], style.GREY
    for row in plan.itertuples():
        ax.broken_barh(
            [(row.low_mhz, row.high_mhz - row.low_mhz)], (y - 0.1, 0.4), fc=air, ec="white", lw=0.6
        )
    for low, high in other[["low_mhz", "high_mhz"]].to_numpy():
        ax.broken_barh([(low, high - low)], (y - 0.1, 0.4), fc="white", ec=grey, hatch="////")
    told = []
    for band, rows in plan.groupby("band", sort=False):
        low, high = rows["low_mhz"].min(), rows["high_mhz"].max()
        ends = f"{rows.index[0]} to {rows.index[-1]}"
        ax.text((low + high) / 2, y - 0.13, ends, ha="center", va="bottom")
        told.append(f"{band} RF {ends}, {low:.0f} to {high:.0f}")
    return ", ".join(told)


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
            picture.update(row, region_key(region))
            words = _dial_words(site, row, region_key(region))
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
            self._whole(figure.add_axes((0.17, 0.61, 0.81, 0.30)))
            self._near(figure.add_axes((0.17, 0.10, 0.81, 0.30)))
        whole = (self.blocks, self.others, self.marks, self.here, self.name)
        near = (self.near_blocks, self.near_others, *self.numbers, *self.names)
        self.artists = ordered((*whole, *near))

    def _whole(self, ax):
        ax.set(xlim=DIAL_MHZ, ylim=(0, 3), yticks=[0.5, 1.5, _MARKS_AT])
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
        self.marks.set_data(freq, np.full(freq.size, _MARKS_AT))
        here = float(row["freq_mhz"])
        self.here.set_data([here], [_MARKS_AT])
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
