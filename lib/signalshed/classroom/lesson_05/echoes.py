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
from .. import Choice, Guess, Panel, Slider, Words

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


def log_panel(site=None, station="Fishwharf", mount=None):
    """One station turned on all round, where something throws it back: a guess, then the log.

    Parameters: ``site`` a Site with a ladder for its meter, None for the invented house; ``station`` a
    name of simulate.DEMO_ECHOES; ``mount`` a name, None for the first.

    >>> log_panel().verdict[-42:]
    'at which heading does the meter read most?'
    """
    turn = _Turn(_practice() if site is None else site, mount)
    (echo,) = (e for e in simulate.DEMO_ECHOES["hill_house"] if e.station == station)
    row = turn.row(station)
    asks = Guess(
        "most_deg", "Your guess, degrees true", *FROM_DEG[:2], 180, STEP_DEG,
        question=f"{station} lies at {row.bearing_deg:.0f}° true: at which heading does the meter "
        "read most?",
    )  # fmt: skip
    antennas = [n for n in SHARP if n in turn.site.antennas] or turn.antennas[-1:]
    controls = (
        Choice("antenna", "Antenna", tuple(antennas)),
        Slider("pad_db", "Pad in the line, dB", *PAD_DB),
        asks,
    )

    def draw(figure):
        picture = _Log(figure)

        def move(antenna, pad_db, guess, placed):
            picture.told.set_text(f"behind a pad of {pad_db:g} dB")
            picture.guess.set_data(*(([guess] * 2, [0, 100]) if guess is not None else ([], [])))
            if not placed:
                picture.update(None, row.bearing_deg, None)
                return Words(
                    "", f"{station} lies at {row.bearing_deg:.0f}°; its log is still empty."
                )
            truth = turn.truth(echo)
            log = simulate.readings(truth, turn.plan(row, antenna, float(pad_db)), _METERS, seed=3)
            picture.update(log, row.bearing_deg, echo.bearing_deg)
            words = _turned_words(log, (row, echo), guess)
            return Words(words, f"{words} {_log_words(log)}", _most_deg(log))

        return picture.artists, move

    return Panel(f"{station}, turned all round", controls, draw, (8.8, 4.8))


SHARP = ("eight-element Yagi", "long Yagi", "double loop with screen")
"""Antennas that tell two directions apart."""
PAD_DB = (0, 20, 5)


def _most_deg(log):
    """The heading that reads most; None where nothing locks."""
    read = log.loc[log["locked"].astype(bool), "reading"].astype(float)
    return None if read.empty else log.loc[read.idxmax(), "heading_deg"]


def _turned_words(log, ends, guess):
    row, echo = ends
    most = _most_deg(log)
    if most is None:
        return f"Behind this pad nothing locks at any of {len(log)} headings. Take some of it out."
    off = abs((most - row.bearing_deg + 180) % 360 - 180)
    told = "" if guess is None else f"You said {guess:g}°. "
    return (
        f"{told}The meter reads most at {most:.0f}°, {off:.0f}° from the station's bearing.".replace(
            ". The", "; the"
        )
        + f" Something throws it back from {echo.bearing_deg:.0f}°, {echo.over_direct_db:g} dB stronger "
        f"than it comes straight; the hill at {row.bearing_deg:.0f}° is the station itself."
    )


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
        truth, row = self.truth(simulate.Echo(station, from_deg, over_db)), self.row(station)
        tops = [self._spare(truth, antenna, h)[row.Index] for h in (row.bearing_deg, from_deg)]
        pad_db = float(np.clip(np.floor(max(tops) - KEPT_DB), 0, 60))
        log = simulate.readings(truth, self.plan(row, antenna, pad_db), _METERS, seed=3)
        return log, _verdict(self.site, log), (row.bearing_deg, pad_db)

    def truth(self, echo):
        """The forecast as the truth, but for one ``echo``: a simulate.Truth."""
        return simulate.Truth(self.site, *self._as_forecast(), 1, (echo,))

    def row(self, station):
        """The row of a ``station``, its Index the place in the table."""
        rows = self.site.stations.reset_index(drop=True).itertuples()
        return next(row for row in rows if row.station == station)

    def plan(self, row, antenna, pad_db):
        """One reading a heading of a station's ``row``, all round: a DataFrame."""
        times = [f"2031-05-01T20:{k:02d}:00+00:00" for k in range(len(self.headings))]
        return pd.DataFrame({"time": times, "heading_deg": self.headings}).assign(
            mount=self.mount, antenna=antenna, meter=self.site.tuner.name, scale="quality",
            rf_channel=row.rf_channel, pad_db=pad_db,
        )  # fmt: skip

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
            (self.guess,) = ax.plot([], [], color=colour["limit"], ls=":", lw=2.5)
            words = {"va": "bottom", "bbox": style.PAPER}
            self.names = [ax.text(0, 101, "", **words), ax.text(0, 1, "", **words)]
            self.told = ax.text(0, 95, "", va="top", bbox=style.PAPER)
        lines = (self.bearing, self.echo, self.guess, self.dots, self.lost)
        self.artists = ordered((*lines, *self.names, self.told))

    def update(self, log, bearing_deg, from_deg):
        """Move to another ``log`` of a station at ``bearing_deg`` with an echo from ``from_deg``; no log
        while it is asked for."""
        self.bearing.set_data([bearing_deg] * 2, [0, 100])
        self._name(0, bearing_deg, "station's bearing")
        self._name(1, from_deg or 0, "echo" if log is not None else "")
        if log is None:
            for line in (self.dots, self.lost, self.echo):
                line.set_data([], [])
            return
        locked = log["locked"].to_numpy(bool)
        heading, reading = (log[c].to_numpy(float) for c in ("heading_deg", "reading"))
        self.dots.set_data(heading[locked], reading[locked])
        self.lost.set_data(heading[~locked], np.full((~locked).sum(), 8.0))
        self.echo.set_data([from_deg] * 2, [0, 100])

    def _name(self, which, at, name):
        text = self.names[which]
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
