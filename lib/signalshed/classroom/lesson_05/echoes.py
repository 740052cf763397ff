"""Unwanted reflections: what a turned antenna shows, and what two paths do inside one channel."""

import functools
from dataclasses import replace

import numpy as np
import pandas as pd

from ... import channels, meters, simulate, survey
from ...plots import style
from ...plots.picture import ordered
from ...units import LIGHT_M_MHZ, M_PER_FOOT, check, plain
from ...words import signed
from .. import Choice, Panel, Slider, Words

OVER_DB = (-20, 12, -20)
"""Weakest, strongest and first echo against the straight path, dB."""
FROM_DEG = (0, 355, 240)
STEP_DEG = 15
EXTRA_M = (5, 600, 60)
WEAKER_DB = (0, 30, 3)
KEPT_DB = 18.0
"""Spare dB that the pad leaves at the best heading: in the middle of most scales."""
_METERS = {"quality": meters.meter("C/N quality")}


def rotation_panel(site=None, mount=None):
    """Station, and an echo of it: the readings all round, as a rotation log shows them.

    Parameters: ``site`` a Site with a ladder for its meter, None for the invented house; ``mount`` a
    name, None for the first.

    >>> "most at" in rotation_panel().verdict
    True
    """
    turn = _Turn(_practice() if site is None else site, mount)
    controls = (
        Choice("station", "Station", tuple(turn.stations)),
        Choice("antenna", "Antenna", tuple(turn.antennas), turn.antennas[-1]),
        Slider("over_db", "Echo against the straight path, dB", *OVER_DB),
        Slider("from_deg", "Echo comes from, degrees true", *FROM_DEG, step=5),
    )
    return Panel("Turned all round", controls, turn.draw, (8.8, 4.8))


@functools.cache
def _practice():
    """The invented house with the ladder of its tuner."""
    truth = simulate.truth_of(simulate.demo_site(), simulate.DEMO_SEED)
    setup = survey.Setup("double loop with screen", "roof mast", heading_deg=38.0)
    rows = simulate.ladder(truth, setup, "24", (0, 3, 6, 9, 10, 13, 16, 19, 20, 23, 26), _METERS)
    return replace(truth.site, ladder=rows)


class _Turn:
    """One turn of an antenna where the forecast is the truth but for one echo."""

    def __init__(self, site, mount):
        self.site = site if site.belief is None else site.with_belief(None)
        self.mount = next(iter(site.mounts)) if mount is None else mount
        s = site.stations
        self.antennas = [n for n in ("wire loop", "eight-element Yagi") if n in site.antennas]
        self.antennas = self.antennas or [next(iter(site.antennas))]
        widest = site.antenna(self.antennas[0])
        known = s["wanted"].to_numpy(bool) & np.asarray(widest.covers(s["freq_mhz"].to_numpy()))
        self.stations = list(dict.fromkeys(s.loc[known, "station"]))
        self.headings = np.arange(0.0, 360.0, STEP_DEG)

    def draw(self, figure):
        """The drawing of the panel."""
        picture = _Log(figure)

        def move(station, antenna, over_db, from_deg):
            log, said, (bearing, pad) = self._turned(station, antenna, float(over_db), from_deg)
            picture.update(log, bearing, float(from_deg))
            words = f"{station}: {said}. Through the {antenna}, behind a pad of {pad:.0f} dB."
            return Words(words, f"{words} {_log_words(log)}")

        return picture.artists, move

    def _turned(self, station, antenna, over_db, from_deg):
        """The rotation log, what survey.turned says of it, and the pad that was in."""
        echo = simulate.Echo(station, from_deg, over_db)
        truth = simulate.Truth(self.site, *self._as_forecast(), 1, (echo,))
        i = self.site.stations["station"].tolist().index(station)
        bearing_deg = float(self.site.stations["bearing_deg"].iloc[i])
        tops = [self._spare(truth, antenna, h)[i] for h in (bearing_deg, from_deg)]
        pad_db = float(np.clip(np.floor(max(tops) - KEPT_DB), 0, 60))
        plan = pd.DataFrame(
            {
                "time": [f"2031-05-01T20:{k:02d}:00+00:00" for k in range(len(self.headings))],
                "mount": self.mount,
                "antenna": antenna,
                "meter": self.site.tuner.name,
                "scale": "quality",
                "rf_channel": self.site.stations["rf_channel"].iloc[i],
                "heading_deg": self.headings,
                "pad_db": pad_db,
            }
        )
        log = simulate.readings(truth, plan, _METERS, seed=3)
        return log, _verdict(self.site, log), (bearing_deg, pad_db)

    def _spare(self, truth, antenna, heading_deg):
        setup = survey.Setup(antenna, self.mount, heading_deg=float(heading_deg % 360))
        return truth.margin_db(setup)

    def _as_forecast(self):
        none = np.zeros(len(self.site.stations))
        return none, dict.fromkeys(self.site.antennas, 0.0), dict.fromkeys(self.site.mounts, 0.0)


def _verdict(site, log):
    """What survey.turned says, or how few headings locked."""
    locked = int(log["locked"].sum())
    if locked < 4:
        return f"only {locked} of {len(log)} headings lock: too weak to learn a direction from"
    return survey.turned(site, log, log["rf_channel"].iloc[0]).verdict


class _Log:
    """Readings round the circle, the station's bearing and where the echo comes from."""

    def __init__(self, figure):
        with style.house():
            ax = figure.add_subplot()
            ax.set(xlim=(-5, 365), ylim=(0, 108), xticks=np.arange(0, 361, 45))
            ax.set(xlabel="heading, degrees true", ylabel="reading, %")
            colour = style.MEANING
            (self.bearing,) = ax.plot([], [], color=colour["limit"], lw=2)
            (self.echo,) = ax.plot([], [], color=colour["truth"], ls=":", lw=2.5)
            (self.dots,) = ax.plot([], [], "o-", color=colour["reading"], ms=7, lw=1)
            (self.lost,) = ax.plot([], [], "x", color=colour["other"], ms=9, mew=2)
            words = {"va": "bottom", "bbox": style.PAPER}
            self.names = [ax.text(0, 101, "", **words), ax.text(0, 1, "", **words)]
        self.artists = ordered((self.bearing, self.echo, self.dots, self.lost, *self.names))

    def update(self, log, bearing_deg, from_deg):
        """Move to another ``log`` of a station at ``bearing_deg`` with an echo from ``from_deg``."""
        locked = log["locked"].to_numpy(bool)
        heading, reading = (log[c].to_numpy(float) for c in ("heading_deg", "reading"))
        self.dots.set_data(heading[locked], reading[locked])
        self.lost.set_data(heading[~locked], np.full((~locked).sum(), 8.0))
        self.bearing.set_data([bearing_deg] * 2, [0, 100])
        self.echo.set_data([from_deg] * 2, [0, 100])
        pairs = ((bearing_deg, "station's bearing"), (from_deg, "echo"))
        for text, (at, name) in zip(self.names, pairs, strict=True):
            text.set_ha("right" if at > 270 else "left" if at < 90 else "center")
            text.set_x(at)
            text.set_text(name)


def _log_words(log):
    """Every reading, from north clockwise."""
    said = [
        f"{row.heading_deg:.0f}° " + (f"{row.reading:.0f} %" if row.locked else "no lock")
        for row in log.itertuples()
    ]
    return "Readings by heading: " + ", ".join(said) + "."


# ---- two paths, one channel ----------------------------------------------------------------------


def two_paths_db(freq_mhz, extra_m, weaker_db):
    """Level of a straight wave joined by one that went a longer way, against the straight one, dB.

    Parameters: ``freq_mhz`` any shape; ``extra_m`` how much longer the other way is, 0 or more;
    ``weaker_db`` how much weaker it comes, 0 or more. The other is taken as turned over on its way.

    >>> round(two_paths_db(500, 0.2998, 6.0206), 1)
    3.5
    """
    share = 10 ** (-check("weaker_db", weaker_db, low=0) / 20)
    turns = check("freq_mhz", freq_mhz, above=0) * check("extra_m", extra_m, low=0) / LIGHT_M_MHZ
    total = np.abs(1 - share * np.exp(-2j * np.pi * turns))
    return plain(20 * np.log10(np.maximum(total, 10 ** (-60 / 20))))


def two_paths_panel():
    """How much longer and how much weaker the other path is: the level over five channels.

    >>> "MHz" in two_paths_panel().verdict
    True
    """
    controls = (
        Slider("extra_m", "The other path is longer by, metres", *EXTRA_M, step=5),
        Slider("weaker_db", "It comes weaker by, dB", *WEAKER_DB, step=0.5),
        Slider("channel", "RF channel looked at", 16, 34, 25),
    )

    def draw(figure):
        picture = _Comb(figure)

        def move(extra_m, weaker_db, channel):
            words = picture.update(float(extra_m), float(weaker_db), int(channel))
            return Words(words, words)

        return picture.artists, move

    return Panel("Two paths in one channel", controls, draw, (8.8, 4.4))


class _Comb:
    """Level against frequency round one channel of 6 MHz."""

    def __init__(self, figure):
        self.around = np.linspace(-15, 15, 601)
        with style.house():
            ax = figure.add_subplot()
            ax.set(xlim=(-15, 15), ylim=(-32, 8), xlabel="MHz from the middle of the channel")
            ax.set_ylabel("dB against the straight wave")
            ax.axvspan(-3, 3, color=style.GREY, alpha=0.18)
            ax.text(0, 7.4, "the channel", ha="center", va="top")
            (self.curve,) = ax.plot([], [], color=style.MEANING["forecast"], lw=2.5)
        self.artists = ordered((self.curve,))

    def update(self, extra_m, weaker_db, channel):
        """Move to other paths; returns the words."""
        middle = channels.centre_mhz(channel)
        level = two_paths_db(middle + self.around, extra_m, weaker_db)
        self.curve.set_data(self.around, np.maximum(level, -40))
        inside = level[np.abs(self.around) <= 3]
        mean = 10 * np.log10(np.mean(10 ** (inside / 10)))
        every = LIGHT_M_MHZ / extra_m
        far = f"{extra_m:g} m ({extra_m / M_PER_FOOT:.0f} ft)"
        if np.abs(inside).max() < 1:
            kind = "that hardly matters"
        elif every > 30:
            kind = "the whole channel rises or falls alike: move the antenna a little"
        else:
            kind = f"there is a dip every {every:.1f} MHz, whatever the strength meter says"
        return (
            f"Inside RF {channel} the level runs from {signed(inside.min())} to "
            f"{signed(inside.max())} dB; {kind}. Another path {far} longer and {weaker_db:g} dB "
            f"weaker: on average "
            f"{signed(mean, 1)} dB."
        )
