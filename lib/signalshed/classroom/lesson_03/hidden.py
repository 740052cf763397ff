"""Invented tuners whose scale is hidden: what they show, what it means, and what a scale keeps."""

import numpy as np
import pandas as pd
from scipy.special import ndtr

from ... import meters
from ...plots import style
from ...plots.picture import ordered
from ...units import check
from ...words import counted
from .. import Choice, Panel, Slider, Switch, Words

TUNERS = {
    "tuner A": "C/N quality",
    "tuner B": "gain control strength",
    "tuner C": "error quality",
    "tuner D": "level strength",
    "tuner E": "five bars",
}
"""Names on the panels, and the invented meters behind them."""

CONTROLS = (
    Choice("tuner", "Tuner", tuple(TUNERS)),
    Slider("spare_db", "Spare dB of the station", -5, 40, 12, step=0.5),
    Switch("curve", "Show what its maker hides", False),
)

_GRID_DB = np.arange(-8, 45.01, 0.25)


def hidden_meter_panel():
    """A tuner's reading while a station gets stronger: its curve is shown only when asked for.

    >>> hidden_meter_panel().verdict[:40]
    'tuner A, 12 dB to spare: it shows 75 %. '
    """
    return Panel("A meter with a hidden scale", CONTROLS, _draw, (8.4, 4.6))


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


def _draw(figure):
    ax = figure.add_subplot(xlim=(-8, 45), ylim=(0, 108))
    ax.set(xlabel="spare dB (0: the picture breaks)", ylabel="reading, % of full scale")
    ax.axvline(0, color=style.MEANING["limit"])
    (line,) = ax.plot([], [], color=style.MEANING["truth"], ls="--")
    (drop,) = ax.plot([], [], ":", color=style.MEANING["reading"])
    (dot,) = ax.plot([], [], "o", color=style.MEANING["reading"], ms=11)
    label = ax.text(0, 0, "", ha="left", va="top", bbox=style.PAPER)

    def move(tuner, spare_db, curve):
        words, share, locked = shown(tuner, spare_db)
        dot.set_data([spare_db], [share])
        dot.set_marker("o" if locked else "X")
        drop.set_data([spare_db, spare_db, -8], [0, share, share])
        label.set_text(f" {words}" if locked else f" {words}, no picture")
        label.set_position((spare_db + 0.8, max(share - 2, 9)))
        label.set_ha("left" if spare_db < 28 else "right")
        line.set_data(*(_curve(tuner) if curve else ([], [])))
        verdict = _said(tuner, spare_db, words, locked)
        return Words(verdict, f"Reading against spare dB. {verdict}")

    return ordered((line, drop, dot, label)), move


def _curve(tuner):
    model = meters.meter(TUNERS[tuner])
    seen = 100 * model.smooth(_GRID_DB) / meters.scale(model.scale).high
    kept = (_GRID_DB >= 0) | model.reads_without_lock
    return _GRID_DB[kept], seen[kept]


def _said(tuner, spare_db, words, locked):
    lead = f"{tuner}, {spare_db:g} dB to spare: it shows {words}"
    if not locked:
        return f"{tuner}, {-spare_db:g} dB short: it shows {words}, and there is no picture."
    around = [shown(tuner, spare_db + change) for change in (-3, 3)]
    less = around[0][0] if around[0][2] else f"{around[0][0]} and no picture"
    more = around[1][0]
    flat = " The meter is full: more cannot be seen." if more == words == around[0][0] else ""
    return f"{lead}. 3 dB less would show {less}, 3 dB more {more}.{flat}"


def what_it_means(reading=82):
    """Spare dB behind one reading, tuner by tuner: a DataFrame of tuner, follows, spare_db.

    Parameters: ``reading`` in percent of full scale, 0 to 100; NaN where a tuner never shows it.

    >>> what_it_means(82)["spare_db"].round(1).tolist()[:3]
    [14.5, 13.7, 4.3]
    """
    ask = float(check("reading", reading, low=0, high=100))
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
    top = float(check("most_db", most_db, above=0, high=100))
    flicker = float(check("flicker", model.flicker, above=0))
    value = np.arange(model.bottom, model.top + 0.5 * model.step, model.step)
    steps = value[:-1] + 0.5 * model.step
    mean = model.smooth(np.linspace(0, top, 501))
    below = ndtr((steps - mean[:, None]) / flicker)
    chance = np.diff(below, axis=1, prepend=0.0, append=1.0)
    return float(_entropy(chance.mean(axis=0)) - _entropy(chance).mean())


def _entropy(chance):
    return -(chance * np.log2(np.maximum(chance, 1e-300))).sum(axis=-1)
