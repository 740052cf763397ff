"""Unwanted reflections: what a turned antenna shows, and what two paths do inside one channel."""

import functools

import numpy as np
import pandas as pd

from ... import channels, simulate, survey
from ...plots import style
from ...units import LIGHT_M_MHZ, M_PER_FOOT, check, plain
from ...words import signed
from .. import Choice, Guess, Panel, Slider, Words
from ..canvas import Moving, blank, upright

FROM_DEG, STEP_DEG = (0, 355), 15
THROWN_BACK = "Fishwharf"
"""The station of the invented house that something throws back."""
KEPT_DB = 18.0
"""Spare dB that the pad leaves at the best heading: in the middle of most scales."""


def rotation_panel(site=None):
    """Station, and an echo of it: the readings all round, as a rotation log shows them.

    Parameters: ``site`` a Site with a ladder for its meter, None for the invented house; its first
    mount is used.

    >>> "most at" in rotation_panel().verdict
    True
    """
    turn = _Turn(site)
    controls = (
        Choice("station", "Station", tuple(turn.stations)),
        Choice("antenna", "Antenna", tuple(turn.antennas), turn.antennas[-1]),
        Slider("over_db", "Echo against the straight path, dB", -20, 12, -20),
        Slider("from_deg", "Echo comes from, degrees true", *FROM_DEG, 240, step=5),
    )
    return Panel("Turned all round", controls, _AnyEcho.of(turn), (8.8, 4.8))


def log_panel(site=None):
    """One station turned on all round, where something throws it back: a guess, then the log.

    Parameters: ``site`` a Site with a ladder for its meter, None for the invented house; its first
    mount is used.

    >>> log_panel().verdict[-42:]
    'at which heading does the meter read most?'
    """
    turn = _Turn(site)
    row = turn.row(THROWN_BACK)
    asks = Guess(
        "most_deg", "Your guess, degrees true", *FROM_DEG, 180, STEP_DEG,
        question=f"{THROWN_BACK} lies at {row.bearing_deg:.0f}° true: at which heading does the meter "
        "read most?",
    )  # fmt: skip
    antennas = [n for n in SHARP if n in turn.site.antennas] or turn.antennas[-1:]
    controls = (
        Choice("antenna", "Antenna", tuple(antennas)),
        Slider("pad_db", "Pad in the line, dB", 0, 20, 5),
        asks,
    )
    return Panel(f"{THROWN_BACK}, turned all round", controls, _OneEcho.of(turn, row), (8.8, 4.8))


SHARP = ("eight-element Yagi", "long Yagi", "double loop with screen")
"""Antennas that tell two directions apart."""


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
    return simulate.with_ladder(truth, setup)


class _Turn:
    """One turn of an antenna where the forecast is the truth but for one echo."""

    def __init__(self, site):
        self.site = (_practice() if site is None else site).with_belief(None)
        self.mount, antennas = next(iter(self.site.mounts)), self.site.antennas
        usual = [n for n in ("wire loop", "eight-element Yagi") if n in antennas]
        self.antennas = usual or [next(iter(antennas))]
        s, widest = self.site.stations, self.site.antenna(self.antennas[0])
        known = s["wanted"].to_numpy(bool) & np.asarray(widest.covers(s["freq_mhz"].to_numpy()))
        self.stations = list(dict.fromkeys(s.loc[known, "station"]))

    def row(self, station):
        """The row of a ``station``, its Index the place in the table."""
        rows = self.site.stations.reset_index(drop=True).itertuples()
        return next(row for row in rows if row.station == station)

    def log(self, row, echo, antenna, pad_db):
        """One reading a heading of a station's ``row``, all round, with its ``echo``: a DataFrame."""
        headings = np.arange(0.0, 360.0, STEP_DEG)
        times = [f"2031-05-01T20:{k:02d}:00+00:00" for k in range(len(headings))]
        plan = pd.DataFrame({"time": times, "heading_deg": headings}).assign(
            mount=self.mount, antenna=antenna, meter=self.site.tuner.name, scale="quality",
            rf_channel=row.rf_channel, pad_db=pad_db,
        )  # fmt: skip
        return simulate.readings(self._truth(echo), plan, simulate.METERS, seed=3)

    def pad_db(self, row, echo, antenna):
        """The pad that leaves 18 dB to spare at the better of both headings."""
        truth, ends = self._truth(echo), (row.bearing_deg, echo.bearing_deg)
        setups = (survey.Setup(antenna, self.mount, heading_deg=float(h % 360)) for h in ends)
        most = max(truth.margin_db(setup)[row.Index] for setup in setups)
        return float(np.clip(np.floor(most - KEPT_DB), 0, 60))

    def _truth(self, echo):
        none = np.zeros(len(self.site.stations))
        parts = (dict.fromkeys(names, 0.0) for names in (self.site.antennas, self.site.mounts))
        return simulate.Truth(self.site, none, *parts, 1, (echo,))


def _verdict(site, log):
    """What survey.turned says, or how few headings locked."""
    locked = int(log["locked"].sum())
    if locked < 4:
        return f"only {locked} of {len(log)} headings lock: too weak to learn a direction from"
    return survey.turned(site, log, log["rf_channel"].iloc[0]).verdict


_NO_LOCK_PCT = 20.0
"""Where a heading without lock is marked: above the names at the foot of the picture."""


class _Log(Moving):
    """Readings round the circle, the station's bearing and where the echo comes from."""

    def draw(self, figure, turn):
        self.turn, colour = turn, style.MEANING
        ax = figure.add_subplot(xlim=(-5, 365), ylim=(0, 108), xticks=np.arange(0, 361, 45))
        ax.set(xlabel="heading, degrees true (crosses: no lock)", ylabel="reading, %")
        self.bearing = self.line(ax, color=colour["limit"], lw=2)
        self.echo = self.line(ax, color=colour["truth"], ls=":", lw=2.5)
        self.guess = self.guess_line(ax)
        self.dots = self.line(ax, "o-", color=colour["reading"], ms=7, lw=1)
        self.lost = self.line(ax, "x", color=colour["other"], ms=9, mew=2)
        self.names = [self.text(ax, 0, y, va="bottom", bbox=style.PAPER) for y in (101, 1, 1)]
        self.told = self.text(ax, 0, 95, va="top", bbox=style.PAPER)

    def show(self, log, bearing_deg, from_deg):
        """Another ``log`` of a station at ``bearing_deg`` with an echo from ``from_deg``; no log and no
        echo while it is asked for."""
        upright(self.bearing, bearing_deg, 0, 100)
        upright(self.echo, from_deg, 0, 100)
        self._name(0, bearing_deg, "station's bearing")
        self._name(1, from_deg or 0, "echo" if log is not None else "")
        if log is None:
            blank(self.dots, self.lost)
            return
        locked = log["locked"].to_numpy(bool)
        heading, reading = (log[c].to_numpy(float) for c in ("heading_deg", "reading"))
        self.dots.set_data(heading[locked], reading[locked])
        self.lost.set_data(heading[~locked], np.full((~locked).sum(), _NO_LOCK_PCT))

    def _name(self, which, at, name, side=None):
        usual = "right" if at > 270 else "left" if at < 90 else "center"
        self.names[which].set(ha=side or usual, x=at, text=name)


class _AnyEcho(_Log):
    """The log of any station, thrown back from anywhere, as strongly as one likes."""

    def move(self, station, antenna, over_db, from_deg):
        turn, row = self.turn, self.turn.row(station)
        echo = simulate.Echo(station, from_deg, float(over_db))
        pad_db = turn.pad_db(row, echo, antenna)
        log = turn.log(row, echo, antenna, pad_db)
        self.show(log, row.bearing_deg, float(from_deg))
        said = f"{station}: {_verdict(turn.site, log)}"
        words = f"{said}. Through the {antenna}, behind a pad of {pad_db:.0f} dB."
        return Words(words, f"{words} {_log_words(log)}")


class _OneEcho(_Log):
    """The log of the one station that is thrown back, empty until the guess is placed."""

    @staticmethod
    def _sides(guess, echo_deg):
        """Where the names of guess and echo stand: away from each other where they are near."""
        if guess is None or abs(guess - echo_deg) > 60:
            return None, None
        return ("left", "right") if guess > echo_deg else ("right", "left")

    def draw(self, figure, turn, row):
        super().draw(figure, turn)
        echoes, self.row = simulate.DEMO_ECHOES["hill_house"], row
        (self.thrown,) = (echo for echo in echoes if echo.station == row.station)

    def move(self, antenna, pad_db, guess, placed):
        row, echo = self.row, self.thrown
        self.told.set_text(f"behind a pad of {pad_db:g} dB")
        upright(self.guess, guess, 0, 100)
        sides = self._sides(guess, echo.bearing_deg)
        self._name(2, guess or 0, "" if guess is None else "your guess", sides[0])
        if not placed:
            self.show(None, row.bearing_deg, None)
            return Words(
                "", f"{row.station} lies at {row.bearing_deg:.0f}°; its log is still empty."
            )
        log = self.turn.log(row, echo, antenna, float(pad_db))
        self.show(log, row.bearing_deg, echo.bearing_deg)
        self._name(1, echo.bearing_deg, "echo", sides[1])
        words = _turned_words(log, (row, echo), guess)
        return Words(words, f"{words} {_log_words(log)}", _most_deg(log))


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
        Slider("extra_m", "The other path is longer by, metres", 5, 600, 60, step=5),
        Slider("weaker_db", "It comes weaker by, dB", 0, 30, 3, step=0.5),
        Slider("channel", "RF channel looked at", 16, 34, 25),
    )
    return Panel("Two paths in one channel", controls, _Comb.of(), (8.8, 4.4))


class _Comb(Moving):
    """Level against frequency round one channel of 6 MHz."""

    def draw(self, figure):
        self.around = np.linspace(-15, 15, 601)
        ax = figure.add_subplot(xlim=(-15, 15), ylim=(-32, 8))
        ax.set(xlabel="MHz from the middle of the channel", ylabel="dB against the straight wave")
        ax.axvspan(-3, 3, color=style.GREY, alpha=0.18)
        ax.text(0, 7.4, "the channel", ha="center", va="top")
        self.curve = self.line(ax, color=style.MEANING["forecast"], lw=2.5)

    def move(self, extra_m, weaker_db, channel):
        freq_mhz = channels.centre_mhz(int(channel)) + self.around
        level = two_paths_db(freq_mhz, float(extra_m), float(weaker_db))
        self.curve.set_data(self.around, np.maximum(level, -40))
        inside = level[np.abs(self.around) <= 3]
        mean = 10 * np.log10(np.mean(10 ** (inside / 10)))
        far = f"{extra_m:g} m ({extra_m / M_PER_FOOT:.0f} ft)"
        words = (
            f"Inside RF {int(channel)} the level runs from {signed(inside.min())} to "
            f"{signed(inside.max())} dB; {_dips(inside, LIGHT_M_MHZ / extra_m)}. Another path {far} "
            f"longer and {weaker_db:g} dB weaker: on average {signed(mean, 1)} dB."
        )
        return Words(words, words)


def _dips(inside_db, every_mhz):
    """What levels inside a channel mean, where dips are ``every_mhz`` apart."""
    if np.abs(inside_db).max() < 1:
        return "that hardly matters"
    if every_mhz > 30:
        return "the whole channel rises or falls alike: move the antenna a little"
    return f"there is a dip every {every_mhz:.1f} MHz, whatever the strength meter says"
