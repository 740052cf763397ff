"""Every heading tried: how many stations each brings, the arc that is as good, and why (the strip)."""

import numpy as np

from ... import plots, simulate, survey
from ...plots import style
from ...plots.picture import ordered
from ...survey.heading import AS_GOOD
from ...words import compass_word, short
from .. import Choice, Panel, Slider, Words
from ..roof import roof_controls, roof_draw

HEADING_DEG = (0, 359, 210)
"""Lowest, highest and first heading of the slider, degrees true."""
START = "eight-element Yagi"
_ROUND_DEG = np.arange(0.0, 361.0, 1.0)
_ROWS = (1.05, 1.12, 1.19, 1.26, 1.33)
"""Heights at which the names of places stand, in turn, as shares of the highest count."""


def heading_panel(site=None, mount=None):
    """Heading and antenna: the number of stations that every heading brings.

    Parameters: ``site`` a Site, None for the invented house; ``mount`` a name, None for the first.

    >>> heading_panel().verdict[:25]
    'eight-element Yagi at 210'
    """
    site = simulate.demo_site() if site is None else site
    mount = next(iter(site.mounts)) if mount is None else mount
    controls = (
        Slider("heading_deg", "Heading, degrees true", *HEADING_DEG),
        Choice(
            "antenna", "Antenna", tuple(site.antennas), START if START in site.antennas else None
        ),
    )

    def draw(figure):
        picture = _Search(figure, site, mount)

        def move(heading_deg, antenna):
            setup = survey.Setup(antenna, mount)
            picture.update(heading_deg, _expected(site, setup), survey.best_heading(site, setup))
            return Words(picture.verdict(antenna), picture.alt(antenna))

        return picture.artists, move

    return Panel(f"Every heading tried: {site.name}", controls, draw, (8.8, 4.8))


def strip_panel(site=None, setup=None):
    """Heading, antenna and mount on the bearing strip: why one heading brings more than another.

    Parameters: ``site`` a Site, None for the invented house; ``setup`` a survey.Setup to begin with,
    its antenna and mount by name, None for the long Yagi toward 55 degrees.

    >>> strip_panel().verdict[:43]
    'long Yagi, roof mast, aimed at 55° true (no'
    """
    site = simulate.demo_site() if site is None else site
    setup = survey.Setup("long Yagi", "roof mast", heading_deg=55) if setup is None else setup
    controls = roof_controls(site, setup.antenna, setup.mount, setup.heading_deg)
    return Panel(f"Along the horizon: {site.name}", controls, roof_draw(site), (8.8, 5.4))


def _expected(site, setup):
    wanted = site.stations["wanted"].to_numpy(bool)
    chance = survey.grid(site, [setup], _ROUND_DEG[:-1]).chance[0][:, wanted]
    total = chance.sum(axis=1)
    return np.append(total, total[0])


class _Search:
    """Expected stations against heading, the transmitter places as marks along the top."""

    def __init__(self, figure, site, mount):
        self.places = plots.places_of(site)
        self.wanted = max(int(site.stations["wanted"].sum()), 1)
        setups = [survey.Setup(antenna, mount) for antenna in site.antennas]
        self.most = float(np.ceil(max(_expected(site, s).max() for s in setups))) + 1
        with style.house():
            self.ax = ax = figure.add_subplot()
            ax.set(
                xlim=(0, 360),
                ylim=(0, (_ROWS[-1] + 0.06) * self.most),
                xticks=np.arange(0, 361, 45),
            )
            ax.set(xlabel="heading, degrees true", ylabel="wanted stations, on average")
            self._places()
            colour = style.MEANING
            (self.arc,) = ax.fill([0, 0], [0, 0], color=style.GREY, alpha=0.2, lw=0)
            (self.arc_over,) = ax.fill([0, 0], [0, 0], color=style.GREY, alpha=0.2, lw=0)
            (self.curve,) = ax.plot([], [], color=colour["forecast"], lw=2.5)
            (self.aim,) = ax.plot([], [], color=colour["aim"], ls="--")
            (self.dot,) = ax.plot([], [], "o", color=colour["aim"], ms=9)
        self.artists = ordered((self.arc, self.arc_over, self.curve, self.aim, self.dot))

    def _places(self):
        for k, row in enumerate(self.places.sort_values("bearing_deg").itertuples()):
            at, level = row.bearing_deg % 360, _ROWS[k % len(_ROWS)] * self.most
            self.ax.plot([at], [level], "v", color="black", ms=7)
            # A name takes up to 100 degrees of a low picture: it goes where there is room.
            side, apart = ("right", -7) if at > 135 else ("left", 7)
            words = f"{short(row.name, 16)} ({row.stations})"
            self.ax.annotate(
                words, (at, level), (apart, 0), textcoords="offset points",
                ha=side, va="center",
            )  # fmt: skip

    def update(self, heading_deg, expected, aim):
        """Move to a heading of the curve ``expected`` (361,) whose best is ``aim``."""
        self.heading_deg, self.expected, self.aimed = heading_deg, expected, aim
        now = float(np.interp(heading_deg, _ROUND_DEG, expected))
        self.now = now
        self.curve.set_data(_ROUND_DEG, expected)
        self.aim.set_data([heading_deg] * 2, [0, self.most])
        self.dot.set_data([heading_deg], [now])
        good = expected >= expected.max() - AS_GOOD
        for patch, here in zip((self.arc, self.arc_over), _runs(good), strict=True):
            x = _ROUND_DEG[here] if here.size else np.zeros(2)
            y = expected[here] if here.size else np.zeros(2)
            patch.set_xy(np.c_[np.r_[x[0], x, x[-1]], np.r_[0, y, 0]])

    def verdict(self, antenna):
        """Heading now against the best one."""
        aim, said = self.aimed, compass_word(self.heading_deg)
        best = (
            f"Best is {aim.heading_deg:.0f}° with {aim.expected:.1f}; "
            f"as good (within a quarter of a station) over {aim.arc_deg:.0f}°"
        )
        return (
            f"{antenna} at {self.heading_deg:.0f}° ({said}): {self.now:.1f} of {self.wanted} wanted "
            f"stations on average. {best}, shaded."
        )

    def alt(self, antenna):
        """The curve in words."""
        worst = self.expected.min()
        places = ", ".join(f"{r.name} {r.bearing_deg % 360:.0f}°" for r in self.places.itertuples())
        return f"{self.verdict(antenna)} The worst heading brings {worst:.1f}. Places: {places}."


def _runs(good):
    """Indices of the two longest runs of True, the longer first."""
    ends = np.flatnonzero(np.diff(np.r_[0, good.astype(int), 0]))
    runs = [np.arange(a, b) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    runs = sorted(runs, key=len, reverse=True)[:2]
    return runs + [np.array([], int)] * (2 - len(runs))
