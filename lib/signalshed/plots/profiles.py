"""What stands between transmitter and roof: the ground, the line of sight, the zone that should be
clear, and the one place that decides."""

import numpy as np

from .. import budget, earth, path
from ..site import check_site
from . import style
from .picture import drawn, ordered

SIZE_IN = (8.8, 4.6)
_LABEL_SHARE = 0.4
"""How much of the width the label beside the mark takes."""
PALE_GROUND = "#F7F1A0"
"""The colour of the ground, half way to white: there is much of it."""


def terrain_profile(profile, freq_mhz, transmit_agl_m, receive_agl_m=9.1, ax=None, air=None):
    """The ground under one path: a Picture, or a ProfilePicture on your own ``ax``.

    The ground is lifted by the Earth's curve, as the air bends it, so that the line of sight is
    straight. Parameters: ``profile`` an earth.Profile of one path; ``freq_mhz`` above 0, for the first
    Fresnel zone; ``transmit_agl_m`` and ``receive_agl_m`` above ground, above 0; ``ax`` an Axes, or None
    for a figure of its own; ``air`` a path.Air, None for the usual.

    >>> hill = earth.Profile([0, 10, 20, 30, 40], [50, 60, 320, 70, 40])
    >>> terrain_profile(hill, 600, 150, 10).alt[:53]
    'Terrain profile, 40 km, 600 MHz. The view is blocked '
    """
    return profile_picture(Sight(profile, freq_mhz, transmit_agl_m, receive_agl_m, air), ax)


def profile_picture(sight, ax=None):
    """A Sight as a picture: a Picture, or a ProfilePicture on your own ``ax``.

    Parameters: ``sight`` a Sight; ``ax`` an Axes, or None for a figure of its own.

    >>> from .. import simulate
    >>> sight, _ = sight_of(simulate.demo_site(terrain=True), "Gazette", "roof mast")
    >>> profile_picture(sight).alt[:24]
    'Terrain profile, 48 km, '
    """
    ends = sight.distance_km[-1], sight.limits_m()
    return drawn(ax, SIZE_IN, lambda axes: ProfilePicture(axes, *ends), sight)


def sight_of(site, station, mount):
    """The ground under the path from one station to one mount of a site: a Sight, and "".

    Where there is none: None, and why, or None and "" for a site without terrain tiles.
    Parameters: ``site`` a Site; ``station`` its name or row number; ``mount`` a Mount or its name.

    >>> from .. import simulate
    >>> sight_of(simulate.demo_site(), "Gazette", "roof mast")
    (None, '')
    """
    check_site(site)
    if site.tiles is None:
        return None, ""
    index = budget.station_index(site, station)
    row = site.stations.iloc[[index]]
    ground = budget.site_profiles(site)[0].path(index)
    if not ground.known:
        return None, f"What stands in the way is not known: {ground.note}."
    freq_mhz, transmit_agl_m = row[["freq_mhz", "transmit_agl_m"]].to_numpy(float)[0]
    if not transmit_agl_m > 0:
        return None, "What stands in the way is not known: how high its antenna stands is not."
    return Sight(ground, freq_mhz, transmit_agl_m, site.mount(mount).height_agl_m), ""


class Sight:
    """The geometry of one path, as it is drawn: arrays over the profile's points.

    ``ground_m`` and ``surface_m`` (with what stands on it) are lifted by the Earth's curve, ``line_m``
    is the line of sight, ``zone_m`` the first Fresnel radius; ``obstacle`` the path.Obstacle that
    decides. Parameters: ``profile``, ``freq_mhz``, ``transmit_agl_m``, ``receive_agl_m`` and ``air`` as
    in ``terrain_profile``. ValueError for several paths at once, or one without a map.

    >>> flat = earth.Profile([0, 10, 20], [0, 0, 0])
    >>> Sight(flat, 600, 300, 300).line_m.tolist()
    [300.0, 300.0, 300.0]
    """

    def __init__(self, profile, freq_mhz, transmit_agl_m, receive_agl_m=9.1, air=None):
        if np.ndim(profile.known) > 0:
            raise ValueError("profile holds several paths; give one, profile.path(index).")
        if not profile.known:
            raise ValueError("profile has no heights: no map covers this path.")
        air = air or path.Air()
        heights = (transmit_agl_m, receive_agl_m)
        self.obstacle = path.obstacle(freq_mhz, profile, *heights, air=air)
        self.freq_mhz, self.distance_km = float(freq_mhz), profile.distance_km
        x, left = profile.distance_km, profile.length_km - profile.distance_km
        lift = earth.bulge_m(x, left, effective_radius_km=air.effective_radius_km)
        self.ground_m, self.surface_m = profile.ground_m + lift, profile.surface_m + lift
        ends = self.ground_m[[0, -1]] + heights
        self.line_m = ends[0] + (ends[1] - ends[0]) * x / x[-1]
        self.zone_m = path.fresnel_radius_m(self.freq_mhz, x, left)

    def limits_m(self):
        """Heights (low, high) that hold everything, m, in round numbers."""
        low = min(self.ground_m.min(), 0.0)
        high = max(self.surface_m.max(), (self.line_m + self.zone_m).max())
        step = 10 ** np.floor(np.log10(max(high - low, 10.0))) / 2
        return float(step * np.floor(low / step)), float(step * np.ceil(1.12 * high / step))


class ProfilePicture:
    """A terrain profile on an Axes; ``update`` moves it in place.

    Parameters: ``ax`` an Axes; ``length_km`` of the longest path; ``limits_m`` (low, high) of the
    height axis. ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> picture = ProfilePicture(style.new_figure(*SIZE_IN).add_subplot(), 40, (0, 500))
    >>> len(picture.artists)
    9
    """

    def __init__(self, ax, length_km, limits_m):
        self.ax, self.alt, self.low_m = ax, "", limits_m[0]
        air = style.MEANING["air"]
        with style.house():
            ax.set(xlim=(0, length_km), ylim=limits_m)
            ax.set(xlabel="distance from the transmitter, km")
            ax.set_ylabel("height above sea level, m\n(lifted by the Earth's curve)")
            (self.zone,) = ax.fill([0, 0], [0, 0], facecolor=air, alpha=0.25, lw=0)
            (self.line,) = ax.plot([], [], color=air, lw=2.5)
            (self.cover,) = ax.fill(
                [0, 0], [0, 0], facecolor="white", edgecolor=style.GREY, hatch="...."
            )
            (self.ground,) = ax.fill([0, 0], [0, 0], facecolor=PALE_GROUND, edgecolor="black", lw=1)
            masts = {"color": "black", "lw": 3, "solid_capstyle": "butt"}
            self.masts = [ax.plot([], [], clip_on=False, **masts)[0] for _ in range(2)]
            (self.mark,) = ax.plot([], [], "v", color="black", ms=10, clip_on=False)
            self.label = ax.text(0, 0, "", va="bottom", bbox=style.PAPER)
            self.title = ax.set_title("", weight="bold")
        below = (self.zone, self.cover, self.ground, self.line, *self.masts)
        self.artists = ordered((*below, self.mark, self.label, self.title))

    def update(self, sight):
        """Move to another Sight, ``sight``; returns the alternative text."""
        x = sight.distance_km
        around = np.r_[x, x[::-1]]
        zone = np.r_[sight.line_m + sight.zone_m, (sight.line_m - sight.zone_m)[::-1]]
        self.zone.set_xy(np.c_[around, zone])
        self.line.set_data(x, sight.line_m)
        self.ground.set_xy(np.c_[np.r_[x, x[-1], 0], np.r_[sight.ground_m, self.low_m, self.low_m]])
        self.cover.set_xy(np.c_[around, np.r_[sight.surface_m, sight.ground_m[::-1]]])
        for mast, end in zip(self.masts, (0, -1), strict=True):
            mast.set_data([x[end]] * 2, [sight.ground_m[end], sight.line_m[end]])
        self._point_at(sight)
        self.title.set_text(f"{x[-1]:.0f} km, {sight.freq_mhz:.0f} MHz")
        self.alt = (
            f"Terrain profile, {x[-1]:.0f} km, {sight.freq_mhz:.0f} MHz. {sight.obstacle.words}"
        )
        return self.alt

    def _point_at(self, sight):
        here, above = sight.obstacle.from_transmitter_km, sight.obstacle.above_line_m
        top = np.interp(here, sight.distance_km, sight.surface_m)
        rise = np.ptp(self.ax.get_ylim()) * 0.02
        self.mark.set_data([here], [top + rise])
        words = "decides" if sight.obstacle.knife_edge_db > 0 else "clear, nearest here"
        side = "above" if above > 0 else "below"
        self.label.set_text(f"{words}: {abs(above):.0f} m {side} the line")
        length = self.ax.get_xlim()[1]
        ends = (here - _LABEL_SHARE * length, here) if here > 0.6 * length else (here, length)
        self.label.set_ha("right" if here > 0.6 * length else "left")
        under = (sight.distance_km >= ends[0]) & (sight.distance_km <= ends[1])
        clear = max(top + 2.5 * rise, sight.line_m[under].max() + rise)
        self.label.set_position((here, clear))
