"""A plain map: kilometres east and north of home, north up, for places and nothing else."""

import numpy as np
from matplotlib.colors import LightSource
from matplotlib.transforms import ScaledTranslation

from .. import budget, facts
from ..units import KM_PER_MILE
from ..words import counted, distance_words, short
from . import style
from .picture import Drawing, drawn, fill_figure
from .strip import drawn_rows

SIZE_IN = (8.0, 6.4)
_MARGINS_IN = (0.85, 0.60, 0.15, 0.15)
_NEAR = [(9, 0), (-9, 0), (0, 12), (0, -12), (9, 13), (-9, 13), (9, -13), (-9, -13)]
_FAR = [(r * np.cos(t), r * np.sin(t)) for r in (30, 48, 70, 100) for t in np.arange(0, 6.28, 0.52)]
_SPOTS = np.array([*_NEAR, *_FAR])
"""Where a label may stand beside its place, points right and up."""
_ANCHORS = 0.5 - 0.5 * np.sign(_SPOTS) * (np.abs(_SPOTS) >= [5, 11])
"""Which part of a label stands there: 0 its left or lower end, 1 the other, of its size."""


def plain_map(site, ax=None):
    """Where home and the transmitter places lie: a Picture, or a Drawing on your own ``ax``.

    Stations nearer than 2 km to each other are one place. Land is shaded, lit from the north-west, where
    the site has terrain tiles. Parameters: ``site`` a Site; ``ax`` an Axes
    that may fill its figure, or None for a figure of its own.

    >>> from .. import simulate
    >>> plain_map(simulate.demo_site()).alt[:29]
    'Plain map, north up, home and'
    """
    return drawn(ax, SIZE_IN, lambda axes: _draw(axes, site))


def places_of(site):
    """The transmitter places a map shows: name, stations (how many), their rf_channels (text), east_km,
    north_km, bearing_deg and distance_km, a DataFrame from the nearest to the farthest.

    Parameters: ``site`` a Site.

    >>> from .. import simulate
    >>> places_of(simulate.demo_site())["name"].iloc[0]
    'Netherquay'
    """
    rows = drawn_rows(site)
    s = site.stations.iloc[rows].assign(where=budget.place_index(site)[rows])
    angle = np.deg2rad(s["bearing_deg"].to_numpy(float))
    distance = s["distance_km"].to_numpy(float)
    s = s.assign(east_km=distance * np.sin(angle), north_km=distance * np.cos(angle))
    s["name"] = s["place"].where(s["place"].astype(str).str.strip() != "", s["station"])
    grouped = s.groupby("where")
    columns = ["name", "east_km", "north_km", "bearing_deg", "distance_km"]
    on_air = grouped["rf_channel"].agg(lambda names: ", ".join(dict.fromkeys(names)))
    table = grouped[columns].first().assign(stations=grouped.size(), rf_channels=on_air)
    return table.sort_values("distance_km", ignore_index=True)


def _draw(ax, site):
    places = places_of(site)
    _frame(ax, places)
    shaded = site.tiles is not None and _shade(ax, site)
    marks = ax.plot(places["east_km"], places["north_km"], "s", color="black", ms=8)
    home = ax.plot([0], [0], "p", color="black", markerfacecolor="white", ms=13, mew=2)
    taken = _Taken(ax, [(0.0, 0.0), *places[["east_km", "north_km"]].to_numpy()])
    _scale_bar(ax, taken)
    taken.label("home", 0.0, 0.0, weight="bold")
    for row in places.itertuples():
        count = f"\n{row.stations} stations" if row.stations > 1 else ""
        taken.label(short(row.name, 22) + count, row.east_km, row.north_km)
    return Drawing((*marks, *home), _alt(places) + (" Land is shaded." if shaded else ""))


def _shade(ax, site, across=220):
    """Shade the land under the frame; returns whether any of it is on the tiles."""
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    step = (right - left) / across
    east, north = np.meshgrid(np.arange(left, right, step), np.arange(low, high, step))
    heights = site.tiles.heights_m(*_where(site.place, east, north))
    known = np.isfinite(heights)
    if not known.any():
        return False
    light = LightSource(315, 45).hillshade(
        np.where(known, heights, 0.0), 8.0, 1000 * step, 1000 * step
    )
    grey = np.ma.masked_array(light, ~known)
    box = (left, right, low, high)
    ax.imshow(
        grey, "gray", extent=box, origin="lower", vmin=-1.6, vmax=1, aspect="auto", zorder=0.2
    )
    return True


def _where(home, east_km, north_km):
    """Latitude and longitude of points seen from home, on a sphere: good to a pixel."""
    reach = np.hypot(east_km, north_km) / facts.value("path_constants", "earth_radius")
    bearing, start = np.arctan2(east_km, north_km), np.deg2rad(home.latitude_deg)
    sine = np.sin(start) * np.cos(reach) + np.cos(start) * np.sin(reach) * np.cos(bearing)
    along = np.cos(reach) - np.sin(start) * sine
    turn = np.arctan2(np.sin(bearing) * np.sin(reach) * np.cos(start), along)
    return np.rad2deg(np.arcsin(np.clip(sine, -1, 1))), home.longitude_deg + np.rad2deg(turn)


def _frame(ax, places):
    """Axes in kilometres that hold everything, the same scale both ways, filling the figure."""
    inner = np.array(fill_figure(ax, *_MARGINS_IN))
    points = np.vstack([[0.0, 0.0], places[["east_km", "north_km"]].to_numpy(float)])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    reach = np.ptp(points, axis=0) * 1.35 + 4.0
    half = inner * max(reach / inner) / 2
    ax.set(xlim=middle[0] + half[0] * np.r_[-1, 1], ylim=middle[1] + half[1] * np.r_[-1, 1])
    ax.set(xlabel="kilometres east of home", ylabel="kilometres north of home")
    ax.annotate(
        "N",
        (0.035, 0.975),
        xytext=(0.035, 0.86),
        xycoords="axes fraction",
        ha="center",
        arrowprops={"arrowstyle": "-|>", "lw": 2, "color": "black"},
    )


class _Taken:
    """Boxes on the map, in pixels, that are taken; finds room for one more label."""

    def __init__(self, ax, points):
        self.ax = ax
        pixels = ax.transData.transform(np.asarray(points, float))
        self.boxes = [np.r_[p - 9, p + 9] for p in pixels]
        frame = ax.get_window_extent()
        self.frame = np.r_[frame.x0, frame.y0, frame.x1, frame.y1]
        corner = np.r_[frame.x0, frame.y1 - 90, frame.x0 + 45, frame.y1]
        self.boxes.append(corner)

    def cost(self, boxes):
        """Pixels by which each of ``boxes`` (n, 4: left, bottom, right, top) covers what is taken or
        leaves the frame."""
        outside = np.maximum(
            np.c_[self.frame[:2] - boxes[:, :2], boxes[:, 2:] - self.frame[2:]], 0
        ).sum(axis=1)
        others, boxes = np.array(self.boxes), boxes[:, None]
        overlap = np.minimum(others[:, 2:], boxes[..., 2:]) - np.maximum(
            others[:, :2], boxes[..., :2]
        )
        return 50 * outside + np.prod(np.maximum(overlap, 0), axis=2).sum(axis=1)

    def label(self, words, x, y, **how):
        """Put ``words`` near (x, y) where least is covered, with a leader line where it is far."""
        text = self.ax.annotate(words, (x, y), xytext=(0, 0), textcoords="offset points", **how)
        size = text.get_window_extent()
        boxes = self._boxes(self.ax.transData.transform((x, y)), size.width, size.height)
        best = np.lexsort((np.hypot(*_SPOTS.T), self.cost(boxes).round()))[0]
        self.boxes.append(boxes[best])
        spot, (across, up) = _SPOTS[best], _ANCHORS[best]
        place = {"ha": ("left", "center", "right")[int(2 * across)]}
        place["va"] = ("bottom", "center", "top")[int(2 * up)]
        text.set(position=tuple(spot), **place)
        if np.hypot(*spot) > 25:
            off = ScaledTranslation(*spot / 72, self.ax.figure.dpi_scale_trans)
            end = (self.ax.transData + off - self.ax.transData).transform((x, y))
            self.ax.plot(*np.c_[(x, y), end], color=style.GREY, lw=1, zorder=1.5)

    def _boxes(self, at, wide, tall):
        """Where words ``wide`` by ``tall`` pixels would lie at each spot round the pixel ``at``."""
        size = np.array([wide, tall])
        corner = at + _SPOTS * self.ax.figure.dpi / 72 - _ANCHORS * size
        return np.c_[corner - [2, 1], corner + size + [2, 1]]


def _scale_bar(ax, taken):
    """A bar in kilometres and one in miles, in the corner where they cover least."""
    width_km = np.ptp(ax.get_xlim())
    frame = taken.frame
    across = (frame[2] - frame[0]) / width_km
    bars = [
        (_round_length(width_km / 5), 1.0, "km"),
        (_round_length(width_km / 8), KM_PER_MILE, "mi"),
    ]
    longest = max(n * km for n, km, _ in bars) * across + 60
    corners = [(frame[0] + 12, frame[1] + 12), (frame[2] - longest - 12, frame[1] + 12)]
    corners += [(frame[2] - longest - 12, frame[3] - 60)]
    boxes = np.array([[*c, c[0] + longest, c[1] + 48] for c in corners])
    x, y = corners[int(taken.cost(boxes).argmin())]
    taken.boxes.append(np.r_[x, y, x + longest, y + 48])
    for k, (count, km, unit) in enumerate(bars):
        ends = ax.transData.inverted().transform([(x, y + 34 - 24 * k), (x + 1, y + 34 - 24 * k)])
        start, level = ends[0]
        ax.plot([start, start + count * km], [level, level], color="black", lw=3, marker="|", ms=9)
        ax.annotate(
            f"{count:g} {unit}",
            (start + count * km, level),
            xytext=(6, 0),
            textcoords="offset points",
            va="center",
        )


def _round_length(length):
    steps = np.outer(10.0 ** np.arange(-2, 4), [1, 2, 5]).ravel()
    return float(steps[max(np.searchsorted(steps, length, side="right") - 1, 0)])


def _alt(places):
    words = []
    for row in places.itertuples():
        many = counted(row.stations, "station")
        far = distance_words(row.distance_km)
        words.append(f"{short(row.name, 24)}, {many}, {far} at {row.bearing_deg % 360:.0f}°")
    count = counted(len(places), "place")
    return f"Plain map, north up, home and {count}. " + "; ".join(words) + "."
