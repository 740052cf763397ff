"""Invented tuners whose scale is hidden: what they show, when they go black, what a scale keeps."""

import numpy as np
import pandas as pd
from scipy.special import ndtr

from ... import meters
from ...plots import style
from ...plots.picture import ordered
from ...units import number
from ...words import counted, listed
from .. import Guess, GuessChoice, Panel, Slider, Words
from ..asking import held_back

TUNERS = {
    "tuner A": "C/N quality",
    "tuner B": "gain control strength",
    "tuner C": "error quality",
    "tuner D": "level strength",
    "tuner E": "five bars",
}
"""Names on the panels, and the invented meters behind them."""

_NAMES = tuple(TUNERS)
_GRID_DB = np.arange(0, 40.01, 0.1)
_STRENGTH_DB = 29
"""What the one station of the five TVs has to spare without a pad."""
_TRIED_DB = 20
"""So many dB of pad are shown before the guess."""
_LINES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))


def shown(tuner, margin_db):
    """(reading in words, share of full scale in percent, locked) of a tuner of ``TUNERS``."""
    model = meters.meter(TUNERS[tuner])
    reading, locked = model.show(float(margin_db))
    full = meters.scale(model.scale).high
    words = _words(model, reading) if locked or reading else "no reading"
    return words, 100 * reading / full, bool(locked)


def _words(model, reading):
    if model.scale != "bars":
        return f"{reading:.0f} %"
    return counted(reading, "bar")


def _curve(tuner, margin_db):
    """Percent of full scale that a tuner shows while locked; bars in their steps."""
    model = meters.meter(TUNERS[tuner])
    seen = model.smooth(margin_db)
    seen = np.round(seen) if model.scale == "bars" else seen
    return np.where(margin_db >= 0, 100 * seen / meters.scale(model.scale).high, np.nan)


def _five(ax):
    """A line and a letter for each tuner, still without data."""
    look = {"color": style.MEANING["truth"]}
    lines = [ax.plot([], [], ls=dashes, **look)[0] for dashes in _LINES]
    letters = [ax.text(0, 0, "", va="center", ha="center", bbox=style.PAPER) for _ in _NAMES]
    return lines, letters


def _put(line, letter, name, x, y, at):
    line.set_data(x, y)
    letter.set_text(name[-1] if len(x) else "")
    letter.set_position((x[at], y[at]) if len(x) else (0, 0))


# ---- one reading, five tuners --------------------------------------------------------------------


def five_panel():
    """One reading of five tuners: what it means in spare dB, to be guessed before their curves show.

    >>> five_panel().verdict
    'A TV shows 82 %: how many dB could its station fall before the picture breaks?'
    """
    asks = Guess(
        "guess_db",
        "Your guess, spare dB",
        *(0, 40, 20),
        question="A TV shows 82 %: how many dB could its station fall before the picture breaks?",
    )
    controls = (Slider("reading", "Reading, % of full scale", 40, 100, 82), asks)
    return Panel("One reading, five TVs", controls, lambda f: _draw_five(f, asks), (8.4, 4.4))


def _draw_five(figure, asks):
    with style.house():
        ax = figure.add_subplot(xlim=(-1, 41), ylim=(0, 108))
        ax.set(xlabel="spare dB (0: the picture breaks)", ylabel="reading, % of full scale")
        lines, letters = _five(ax)
        (level,) = ax.plot([], [], color=style.MEANING["reading"])
        (dots,) = ax.plot([], [], "o", color=style.MEANING["reading"], ms=9)
        (guessed,) = ax.plot([], [], "v", color=style.MEANING["aim"], ms=11)
        mark = ax.text(0, 0, "", ha="center", va="bottom", color=style.AIM_TEXT, bbox=style.PAPER)

    def find(reading):
        return what_it_means(reading).dropna()

    def update(means, guess, reading):
        level.set_data([-1, 41], [reading] * 2)
        x = [] if means is None else _GRID_DB
        for name, line, letter in zip(_NAMES, lines, letters, strict=True):
            _put(line, letter, name, x, _curve(name, x) if len(x) else [], 60)
        spare = [] if means is None else means["spare_db"].to_numpy()
        dots.set_data(spare, [reading] * len(spare))
        here = [] if guess is None else [guess]
        guessed.set_data(here, [reading + 2.5] * len(here))
        mark.set_text("your guess" if here else "")
        mark.set_position((guess or 0, reading + 5))

    artists = ordered((*lines, *letters, level, dots, guessed, mark))
    return artists, held_back(asks, update, find, _means_words, _line_words)


def _line_words(reading):
    return f"Reading against spare dB: a line at {reading:g} %, and no curve yet."


def _means_words(means, reading):
    low, high = means.loc[means["spare_db"].idxmin()], means.loc[means["spare_db"].idxmax()]
    finding = (
        f"{reading:g} % is {low['spare_db']:.0f} spare dB on {low['tuner']} and "
        f"{high['spare_db']:.0f} on {high['tuner']}"
    )
    each = listed([f"{row.tuner} {row.spare_db:.1f} dB" for row in means.itertuples()])
    rest = f"At {reading:g} %: {each}. Five bars know no such reading."
    alt = f"Reading against spare dB, five curves. {rest}"
    return Words(f"{finding}. {rest}", alt, tuple(means["spare_db"]))


# ---- one pad, five tuners ------------------------------------------------------------------------


_AT_ONCE = "none: all at once"


def black_panel():
    """Five TVs at one signal while pads go in: which goes black first is guessed before it shows.

    >>> black_panel().verdict
    'Five TVs, five percents, one signal: more and more pads go in, and which TV goes black first?'
    """
    asks = GuessChoice(
        "first",
        "First black is",
        ("the one that shows least", "the one that shows most", _AT_ONCE),
        question="Five TVs, five percents, one signal: more and more pads go in, and which TV goes "
        "black first?",
    )
    controls = (Slider("pad_db", "Pads in, dB", 0, 40, _TRIED_DB), asks)
    return Panel("Five TVs and one pad", controls, lambda f: _draw_black(f, asks), (8.4, 4.2))


def _draw_black(figure, asks):
    with style.house():
        ax = figure.add_subplot(xlim=(-1, 41), ylim=(0, 108))
        ax.set(xlabel="pads in, dB", ylabel="reading, % of full scale")
        lines, letters = _five(ax)
        (level,) = ax.plot([], [], color=style.MEANING["reading"])
        (lost,) = ax.plot([], [], "X", color=style.MEANING["limit"], ms=11)
        said = ax.text(0, 104, "", va="center", bbox=style.PAPER)

    def update(ends, _, pad_db):
        x = np.arange(0, (_STRENGTH_DB if ends else _TRIED_DB) + 0.01, 0.1)
        for name, line, letter in zip(_NAMES, lines, letters, strict=True):
            _put(line, letter, name, x, _curve(name, _STRENGTH_DB - x), 190)
        level.set_data([pad_db, pad_db], [0, 100])
        lost.set_data([_STRENGTH_DB] * len(ends or ()), ends or ())
        said.set_text("all five: no picture" if ends else "")
        said.set_position((_STRENGTH_DB + 0.6, 104))

    artists = ordered((*lines, *letters, level, lost, said))
    return artists, held_back(asks, update, _ends, _black_words, _tried_words)


def _ends(pad_db):
    """Where each curve ends, in percent: where the picture breaks."""
    return [_curve(name, np.zeros(1))[0] for name in _NAMES]


def _tried_words(pad_db):
    each = [f"{name} {shown(name, _STRENGTH_DB - _TRIED_DB)[0]}" for name in _NAMES]
    return f"Readings of five TVs with 0 to {_TRIED_DB} dB of pad; with {_TRIED_DB} dB: {listed(each)}."


def _black_words(_, pad_db):
    left_db = _STRENGTH_DB - pad_db
    gone = f"{100 * (1 - 10 ** (-pad_db / 10)):.3g} % of the power"
    finding = f"With {pad_db:g} dB of pad all five are black: each broke at {_STRENGTH_DB} dB."
    if left_db >= 0:
        finding = (
            f"{pad_db:g} dB of pad throw {gone} away and tuner C shows {shown('tuner C', left_db)[0]}; "
            f"all five go black at {_STRENGTH_DB} dB."
        )
    each = listed([f"{name} {shown(name, left_db)[0]}" for name in _NAMES])
    alt = f"Readings of five TVs against pads. {finding}"
    return Words(f"{finding} Shown: {each}.", alt, _AT_ONCE)


# ---- what a reading means, and keeps -------------------------------------------------------------


def what_it_means(reading=82):
    """Spare dB behind one reading, tuner by tuner: a DataFrame of tuner, follows, spare_db.

    Parameters: ``reading`` in percent of full scale, 0 to 100; NaN where a tuner never shows it.

    >>> what_it_means(82)["spare_db"].round(1).tolist()[:3]
    [14.5, 13.7, 4.3]
    """
    ask = number("reading", reading, low=0, high=100)
    rows = []
    for tuner, name in TUNERS.items():
        model = meters.meter(name)
        if model.scale == "bars":
            continue
        grid = np.arange(0, model.span_db + 0.01, 0.01)
        spare = np.interp(ask, model.smooth(grid), grid, left=np.nan, right=np.nan)
        rows.append((tuner, name, float(spare)))
    return pd.DataFrame(rows, columns=["tuner", "follows", "spare_db"])


def bits(model, most_db=25.0):
    """How much one look at a meter tells about the spare dB, in yes-or-no answers (bits).

    Parameters: ``model`` a meters.Meter with some flicker; ``most_db``: stations have 0 to so many dB
    to spare, all equally likely. Source: C. E. Shannon (1948), mutual information.

    >>> round(bits(meters.meter("five bars")), 1)
    1.9
    """
    top = number("most_db", most_db, above=0, high=100)
    flicker = number("flicker", model.flicker, above=0)
    value = np.arange(model.bottom, model.top + 0.5 * model.step, model.step)
    steps = value[:-1] + 0.5 * model.step
    mean = model.smooth(np.linspace(0, top, 501))
    below = ndtr((steps - mean[:, None]) / flicker)
    chance = np.diff(below, axis=1, prepend=0.0, append=1.0)
    return float(_entropy(chance.mean(axis=0)) - _entropy(chance).mean())


def _entropy(chance):
    return -(chance * np.log2(np.maximum(chance, 1e-300))).sum(axis=-1)
