"""The bearing strip: every station at its compass bearing, its spare dB upward, and the antenna's
pattern hanging from the top, slid to where the antenna is aimed.

A station under a deep part of the pattern loses that many dB. One picture shows the aim, how wide the
arc of good aims is, and why an antenna with a broad pattern seems to hear all round.
"""

import textwrap

import numpy as np
from matplotlib.transforms import offset_copy

from .. import survey
from ..site import check_site, rest_words, shown
from ..units import SDS_TO_90
from ..words import aimed_shortly, aimed_words, listed, roofs_words, short, spare_words
from . import strip_frame, style
from .labels import fanned
from .picture import drawn, ordered

SIZE_IN = (8.8, 5.4)
_AROUND_DEG = np.arange(0.0, 361.0, 1.0)
_MARKER_GAP_DEG = 4.5
_FLAT_LETTERS = 9
_FLAG_DEG, _FLAG_SHARE = 40, 0.15
"""Of the words at the aim: how wide, and how much of the height from the foot."""
FAN_DEG = 12.0
"""Bars of stations that lie close together are drawn at most so far from their bearing."""


def bearing_strip(site, setup, ax=None, limits_db=None, bearing_deg=None):
    """The bearing strip of one setup: a Picture, or a BearingStrip on your own ``ax``.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``ax`` an Axes that may fill its figure, or
    None for a figure of its own; ``limits_db`` (low, high) of the spare dB axis, None to fit the site;
    ``bearing_deg`` (n,) true, where the site's stations are drawn, None for where they are.

    >>> from .. import simulate
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> bearing_strip(simulate.demo_site(), setup).alt[:60]
    'Bearing strip. wire loop, roof mast, aimed at 38° true (nort'
    """
    return drawn(ax, SIZE_IN, lambda axes: BearingStrip(axes, site, limits_db, bearing_deg), setup)


def strip_limits_db(site):
    """Spare dB axis that holds every antenna on every mount of ``site``: (low, high), tens of dB.

    Never below -50 nor above 80; stations beyond are drawn at the edge as an arrow.

    >>> from .. import simulate
    >>> low, high = strip_limits_db(simulate.demo_site())
    >>> low < 0 < high
    True
    """
    check_site(site)
    setups = [survey.Setup(a, m) for a in site.antennas for m in site.mounts]
    if not setups or site.stations.empty:
        return -40.0, 60.0
    g = survey.grid(site, setups, np.arange(0.0, 360.0, 15.0))
    return limits_of(g.margin_db - g.fade_db, g.spread_db)


def limits_of(spare_db, spread_db):
    """Spare dB axis for what is ``spare_db`` with ``spread_db``, two arrays: (low, high), tens of dB.

    >>> limits_of(np.array([-12.0, 31.0]), np.array([8.0, 8.0]))
    (-20.0, 50.0)
    """
    known = np.isfinite(spare_db)
    if not known.any():
        return -40.0, 60.0
    low = np.percentile(spare_db[known], 5) - 10
    high = (spare_db + SDS_TO_90 * spread_db)[known].max() + 5
    low, high = 10 * np.floor(low / 10), 10 * np.ceil(high / 10)
    return float(np.clip(low, -50, -20)), float(np.clip(high, 30, 80))


class BearingStrip:
    """A bearing strip on an Axes; ``update`` moves it in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``site`` a Site; ``limits_db`` and
    ``bearing_deg`` as in ``bearing_strip``. ``artists`` are what moves, back to front; ``alt`` says
    it all in words, ``left_out`` who is not drawn. A figure lower than 4.4 inches gets the flat form.

    >>> from .. import simulate
    >>> strip = BearingStrip(style.new_figure(*SIZE_IN).add_subplot(), simulate.demo_site())
    >>> strip.update(survey.Setup("wire loop", "roof mast", heading_deg=38)) == strip.alt
    True
    """

    def __init__(self, ax, site, limits_db=None, bearing_deg=None):
        self.ax, self.site, self.alt, self.left_out = ax, site, "", ""
        self.low_db, self.high_db = limits_db or strip_limits_db(site)
        self.rows = drawn_rows(site)
        shown = site.stations.iloc[self.rows]
        self.names = shown["station"].tolist()
        where = site.stations["bearing_deg"] if bearing_deg is None else bearing_deg
        self.bearing_deg = np.asarray(where, float)[self.rows] % 360
        self.wanted = shown["wanted"].to_numpy(bool)
        self.words_fit = not strip_frame.is_flat(ax)
        self.x_deg = fanned(self.bearing_deg, _MARKER_GAP_DEG, FAN_DEG, 2.0, 358.0)
        with style.house():
            self._still()
            self._moving()

    def _still(self):
        rows = strip_frame.labelled_rows(self.wanted, self.ax.figure.get_size_inches()[0])
        letters = _FLAT_LETTERS if strip_frame.is_flat(self.ax) else 16
        names = [short(self.names[i], letters) for i in rows]
        strip_frame.place_axes(self.ax, names)
        strip_frame.draw_frame(self.ax, self.low_db, self.high_db)
        strip_frame.draw_names(self.ax, self.x_deg[rows], names)
        strip_frame.name_the_zero_line(self.ax, self.x_deg)

    def _moving(self):
        ax, colour = self.ax, style.MEANING
        self.blocked = [strip_frame.add_band(ax) for _ in range(2)]
        (self.fill,) = ax.fill([0, 0, 0], [0, 0, 0], color=colour["antenna"], alpha=0.22, lw=0)
        (self.pattern,) = ax.plot([], [], color=colour["antenna"])
        (self.aim,) = ax.plot([], [], color=colour["aim"], ls="--")
        colours = [colour["forecast"] if w else colour["other"] for w in self.wanted]
        self.bars = ax.vlines(self.x_deg, 0, 0, lw=2.5, colors=colours)
        blue, grey = (dict(ls="", clip_on=False, color=colour[k]) for k in ("forecast", "other"))
        self.marks = [ax.plot([], [], m, markerfacecolor="white", **grey)[0] for m in "sv^"]
        self.marks += [ax.plot([], [], m, **blue)[0] for m in "ov^"]
        self.unseen = ax.text(0, self.high_db - 18, "", ha="center", va="top")
        self.flag = ax.text(0, 0, "", color=style.AIM_TEXT, va="bottom", bbox=style.PAPER)
        self._words()
        drawn_first = (*self.blocked, self.fill, self.pattern, self.aim, self.bars)
        words = (self.unseen, self.flag, self.title, self.missing)
        self.artists = ordered((*drawn_first, *self.marks, *words))

    def _words(self):
        figure = self.ax.figure
        above = offset_copy(self.ax.transAxes, figure, 0, strip_frame.TITLE_IN)
        self.title = self.ax.text(0, 1, "", transform=above, weight="bold", va="bottom")
        foot = offset_copy(figure.transFigure, figure, 0.1, strip_frame.WORDS_IN)
        self.missing = self.ax.text(0, 0, "", transform=foot, va="top")

    def update(self, setup):
        """Move everything to ``setup``, a survey.Setup; returns the alternative text."""
        received = survey.reception(self.site, setup)
        way, antenna = received.aim, received.antenna
        freq_mhz = pattern_freq_mhz(self.site, antenna)
        aimed = aimed_words(way, setup.heading_deg)
        self.left_out = missing = self._missing_words(received)
        self._move_stations(received)
        self._move_pattern(pattern_db(antenna, freq_mhz, way, setup.heading_deg))
        self._move_aim(way, setup.heading_deg)
        self._move_blocked(received.mount)
        head = f"{short(setup.label, 42)}, {aimed_shortly(way, setup.heading_deg)}"
        foot = f"{missing} {self._grey_words(received)}".strip()
        if not self.words_fit:
            head = foot = ""
        self.title.set_text(head)
        self.missing.set_text("\n".join(textwrap.wrap(foot, 108)[:2]))
        head = f"Bearing strip. {setup.label}, {aimed}. Pattern drawn for {freq_mhz:.0f} MHz. "
        self.alt = head + self._station_words(received) + missing
        return self.alt

    def _move_stations(self, received):
        spare_db, low, high = (
            a[self.rows] for a in (received.spare_db, received.low_db, received.high_db)
        )
        ends = np.clip([low, high], self.low_db, self.high_db)
        self._feet_db = ends[0]
        self.bars.set_segments(
            [[(x, a), (x, b)] for x, a, b in zip(self.x_deg, *ends, strict=True)]
        )
        below, above = spare_db < self.low_db, spare_db > self.high_db
        inside = ~(below | above | np.isnan(spare_db))
        which = [
            who & place for who in (~self.wanted, self.wanted) for place in (inside, below, above)
        ]
        edge = 0.02 * (self.high_db - self.low_db)
        shown = np.clip(spare_db, self.low_db + edge, self.high_db - edge)
        for line, these in zip(self.marks, which, strict=True):
            line.set_data(self.x_deg[these], shown[these])

    def _move_pattern(self, below_best_db):
        hanging = self.high_db + below_best_db
        self.pattern.set_data(_AROUND_DEG, hanging)
        outline = np.r_[hanging, self.high_db, self.high_db]
        self.fill.set_xy(np.c_[np.r_[_AROUND_DEG, 360.0, 0.0], outline])

    def _move_aim(self, way, heading_deg):
        fixed = way == "fixed"
        self.aim.set_data(
            *(([heading_deg] * 2, [self.low_db, self.high_db]) if fixed else ([], []))
        )
        self.flag.set_text(f"aim {heading_deg:.0f}°" if fixed else "")
        if fixed:
            side = self._free_side(heading_deg)
            self.flag.set_ha("left" if side > 0 else "right")
            # At the foot: at the top it would cover the lobe, and on the aim few stations lie that low.
            self.flag.set_position((heading_deg + 4 * side, self.low_db + 3))

    def _free_side(self, heading_deg):
        """1 or -1: right or left of the aim, where fewer stations lie as low as the flag."""
        if not _FLAG_DEG <= heading_deg <= 360 - _FLAG_DEG:
            return 1 if heading_deg < _FLAG_DEG else -1
        low = self._feet_db < self.low_db + _FLAG_SHARE * (self.high_db - self.low_db)
        away = (self.x_deg - heading_deg)[low]
        right, left = (((s * away > 0) & (s * away < _FLAG_DEG)).sum() for s in (1, -1))
        return 1 if right <= left else -1

    def _move_blocked(self, mount):
        start = mount.open_to_deg % 360
        stop = start + 360 - ((mount.open_to_deg - mount.open_from_deg) % 360 or 360)
        pieces = ((start, min(stop, 360)), (0, max(stop - 360, 0)))
        for patch, (left, right) in zip(self.blocked, pieces, strict=True):
            patch.set_x(left)
            patch.set_width(right - left)
        widest = max(pieces, key=lambda p: p[1] - p[0])
        self.unseen.set_text("side not seen" if widest[1] - widest[0] > 60 else "")
        self.unseen.set_x(sum(widest) / 2)

    def _grey_words(self, received):
        """What the grey marks are, where there are any; the alternative text needs no colours."""
        grey = ~self.wanted & ~np.isnan(received.spare_db[self.rows])
        return "Grey: a station you do not want." if grey.any() else ""

    def _missing_words(self, received):
        """The stations that cannot be drawn, by what stands against them."""
        absent = np.flatnonzero(np.isnan(received.spare_db[self.rows]))
        reasons, rest = {}, rest_words(received.site)
        for i in absent:
            reasons.setdefault(received.limits[self.rows[i]].words, []).append(self.names[i])
        parts = [f"{listed(names)} ({reason})" for reason, names in reasons.items()]
        told = "; ".join([*parts, *filter(None, [rest])])
        return f"Not drawn: {told}." if told else ""

    def _station_words(self, received, most=24):
        """The drawn stations from north clockwise, each with its numbers."""
        order = np.argsort(self.bearing_deg, kind="stable")
        spare_db, spread_db, chance = (
            a[self.rows] for a in (received.spare_db, received.spread_db, received.chance)
        )
        order = order[~np.isnan(spare_db[order])]
        words = [
            f"{short(self.names[i], 24)} at {self.bearing_deg[i]:.0f}°: {spare_words(spare_db[i])}, "
            + ("" if np.isinf(spare_db[i]) else f"give or take {spread_db[i]:.0f}, ")
            + f"{roofs_words(chance[i])} roofs"
            for i in order[:most]
        ]
        more = f"; and {order.size - most} more" if order.size > most else ""
        return "Spare dB by station: " + "; ".join(words) + more + ". " if words else ""


def drawn_rows(site):
    """Rows of the stations that figures and tables speak of, as ``site.shown`` has them.

    Parameters: ``site`` a Site.

    >>> from .. import simulate
    >>> site = simulate.demo_site()
    >>> set(site.stations["service"].iloc[drawn_rows(site)])
    {'tv'}
    """
    return np.flatnonzero(shown(site))


def pattern_freq_mhz(site, antenna):
    """The frequency a pattern is drawn for: the middle one of the wanted stations the antenna covers.

    Parameters: ``site`` a Site; ``antenna`` an Antenna.

    >>> from .. import simulate
    >>> site = simulate.demo_site()
    >>> bool(site.antenna("wire loop").covers(pattern_freq_mhz(site, site.antenna("wire loop"))))
    True
    """
    freq = site.stations["freq_mhz"].to_numpy(float)
    covered = np.asarray(antenna.covers(freq), bool).reshape(freq.shape)
    for these in (covered & site.stations["wanted"].to_numpy(bool), covered):
        if these.any():
            return float(np.sort(freq[these])[these.sum() // 2])
    return float(np.median(antenna.freq_mhz))


def pattern_db(antenna, freq_mhz, way, heading_deg):
    """What the antenna takes away at every whole degree 0 to 360, dB below its best direction.

    Parameters: ``antenna`` an Antenna; ``freq_mhz`` one frequency; ``way`` fixed, rotator or never
    (of survey.reception); ``heading_deg`` true, for a fixed aim.

    >>> from ..antenna import plain_dipole
    >>> float(pattern_db(plain_dipole(), 500, "fixed", 90)[90])
    0.0
    """
    gain = antenna.gain_dbd(freq_mhz, _AROUND_DEG - (heading_deg or 0.0))
    below = np.maximum(gain - gain.max(), strip_frame.DEEPEST_DB)
    if way == "fixed":
        return below
    return np.full(_AROUND_DEG.size, 0.0 if way == "rotator" else below[:-1].mean())
