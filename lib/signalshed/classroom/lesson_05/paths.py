"""The ground under each path, and what it throws back: profile and height as sliders."""

import functools

import numpy as np

from ... import path, plots, simulate
from ...plots import style
from ...site import Mount
from ...units import LIGHT_M_MHZ, M_PER_FOOT, miles_from_km
from ...words import signed
from .. import Choice, Panel, Slider, Words
from ..canvas import Moving, seen

HEIGHT_M = (3, 30, 9)
"""Lowest, highest and first height of the antenna above the ground, metres."""


def profile_panel(site=None):
    """Station and height of the antenna: the ground between, and the place that decides.

    Parameters: ``site`` a Site with terrain tiles, None for the invented house.

    >>> "line of sight" in profile_panel().verdict
    True
    """
    site = simulate.demo_site(terrain=True) if site is None else site
    names = [n for n in dict.fromkeys(site.stations["station"]) if _sight(site, n, 9.0) is not None]
    if not names:
        raise ValueError("This site has no terrain tiles under any path: there is nothing to draw.")
    controls = (
        Choice("station", "Station", tuple(names)),
        Slider("height_m", "Height above ground, metres", *HEIGHT_M, step=0.5),
    )
    return Panel(
        f"What stands in the way: {site.name}", controls, _Ground.of(site, names), (8.8, 5.0)
    )


@functools.lru_cache(maxsize=256)
def _sight(site, station, height_m):
    mount = Mount("here", "mast", height_m)
    return plots.sight_of(site, station, mount)[0]


class _Ground(Moving):
    """A profile for every station on one figure, one of them seen at a time."""

    def draw(self, figure, site, names):
        self.site, self.pictures = site, {}
        for name in names:
            sight = _sight(site, name, HEIGHT_M[1])
            ax = figure.add_subplot(label=name)
            self.pictures[name] = plots.ProfilePicture(ax, sight.distance_km[-1], sight.limits_m())
            self.moving += self.pictures[name].artists

    def move(self, station, height_m):
        for name, picture in self.pictures.items():
            seen((picture.ax, *picture.artists), name == station)
        sight = _sight(self.site, station, float(height_m))
        alt = self.pictures[station].update(sight)
        lowest = _sight(self.site, station, float(HEIGHT_M[0])).obstacle.knife_edge_db
        more = f" From {HEIGHT_M[0]} m it would be about {lowest:.0f} dB."
        more = more if height_m > HEIGHT_M[0] else ""
        most_db = sight.obstacle.knife_edge_db
        lead = f"{station}, antenna {height_m:g} m up: what stands most in the way takes"
        words = f"{lead} {most_db:.0f} dB. {sight.obstacle.words}{more}"
        return Words(words, f"{station}: {alt}")


def height_panel():
    """Distance, height of the tower, channel: level against height over ground that reflects.

    >>> height_panel().verdict[:13]
    'At 9 m (30 ft'
    """
    controls = (
        Slider("height_m", "Height of the antenna, metres", 1, 30, 9, step=0.1),
        Slider("distance_km", "Distance to the tower, km", 0.5, 40, 2, step=0.5),
        Slider("tower_m", "Height of the tower, metres", 30, 400, 150, step=10),
        Slider("freq_mhz", "Frequency, MHz", 60, 690, 539, step=1),
    )
    title = "Higher, over flat ground that reflects"
    return Panel(title, controls, _Height.of(), (8.8, 4.8))


class _Height(Moving):
    """Level against height: the bare path is 0 dB."""

    def draw(self, figure):
        self.heights = np.linspace(1, 30, 2901)  # a centimetre apart: dips are narrow
        ax = figure.add_subplot(xlim=(1, 30), ylim=(-30, 10))
        ax.set(xlabel="height of the antenna above ground, m")
        ax.set_ylabel("dB against the straight wave alone")
        ax.axhline(0, color=style.MEANING["limit"])
        ax.set_title("0 dB: the straight wave alone", fontsize=11)
        self.curve = self.line(ax, color=style.MEANING["forecast"], lw=2.5)
        self.here = self.line(ax, "o", color=style.MEANING["aim"], ms=10)

    def move(self, height_m, distance_km, tower_m, freq_mhz):
        link = tuple(float(x) for x in (freq_mhz, distance_km, tower_m))
        now = float(path.two_ray_gain_db(*link, float(height_m)))
        self.curve.set_data(self.heights, path.two_ray_gain_db(*link, self.heights).clip(-40))
        self.here.set_data([height_m], [max(now, -29.5)])
        step_m = LIGHT_M_MHZ / freq_mhz * 1000 * distance_km / (2 * tower_m)
        far = f"{distance_km:g} km ({miles_from_km(distance_km):.1f} mi)"
        words = (
            f"At {height_m:g} m ({height_m / M_PER_FOOT:.0f} ft): {signed(now, 1)} dB. Over flat "
            f"ground, {far} from a tower of {tower_m:g} m, {_dips(step_m)}. Trees, roofs and rough "
            "ground fill the dips and shave the tops."
        )
        return Words(words, words)


def _dips(step_m):
    """How the level goes with height, where dips are ``step_m`` apart, the first at that height."""
    if step_m < 29:
        return f"from one dip to the next are {step_m:.1f} m ({step_m / M_PER_FOOT:.0f} ft)"
    if step_m / 2 < 30:
        return f"the level is highest {step_m / 2:.0f} m up and falls above that"
    return "within reach there is no dip: higher is better"
