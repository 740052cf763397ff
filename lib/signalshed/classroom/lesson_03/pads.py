"""Pads until the picture breaks, and what a pad really takes away."""

import functools

import numpy as np

from ... import chain, meters, simulate
from ...plots import SmallTV, style
from ...plots.picture import ordered
from .. import Choice, Panel, Slider, Switch, Words

STATIONS = {"station 1": 17.3, "station 2": 7.4, "station 3": 28.8}
"""What the invented stations have to spare without a pad, dB."""

WAYS = {
    "UHF, no amplifier": (615.0, (chain.pad(4),), 7.0),
    "high VHF, no amplifier": (194.0, (chain.pad(2),), 10.0),
    "low VHF, no amplifier": (69.0, (chain.pad(1),), 10.0),
    "UHF, behind a mast amplifier": (600.0, (chain.amplifier("amplifier", 16, 2), chain.pad(4)), 7.0),
}  # fmt: skip
"""Where a pad sits at the set: frequency in MHz, what is before it (a pad stands for the cable), and the
set's noise figure in dB; a residential place."""

CONTROLS = (
    Choice("station", "Station", tuple(STATIONS)),
    Choice("way", "What the pads sit behind", tuple(WAYS)),
    Slider("step_db", "Smallest step of your pads, dB", 1, 10, 3),
    Slider("pad_db", "Pads in so far, dB on their labels", 0, 40, 9),
    Switch("truth", "Show what was true", False),
)

_LABELS_DB = np.arange(0, 40.01, 0.5)


def pads_panel():
    """More and more pads at the set until the picture breaks: the bracket of the spare dB.

    >>> pads_panel().verdict[:51]
    'station 1: the picture still holds with 9 dB of pad'
    """
    return Panel("Pads until the picture breaks", CONTROLS, _draw, (8.4, 4.3))


@functools.cache
def cost_db(way):
    """What the labels of ``_LABELS_DB`` cost in C/N, dB, for one of ``WAYS``."""
    freq_mhz, parts, noise_figure_db = WAYS[way]
    feed, tuner = chain.Feed("line", parts), chain.Tuner("set", "ATSC1", noise_figure_db)
    return np.array([
        chain.pad_cost_db(label, feed, tuner, freq_mhz, environment="residential")
        for label in _LABELS_DB
    ])  # fmt: skip


def label_cost_db(way, pad_db):
    """What pads of ``pad_db`` on their labels, 0 to 40, cost in C/N, dB, for one of ``WAYS``.

    >>> round(label_cost_db("UHF, no amplifier", 10))
    10
    """
    return float(np.interp(pad_db, _LABELS_DB, cost_db(way)))


def tried(station, way, step_db, pad_db):
    """Labels tried, what each cost and whether the picture held; the first loss ends it."""
    labels = np.arange(0, pad_db + 1e-9, step_db)
    cost = np.interp(labels, _LABELS_DB, cost_db(way))
    held = cost <= STATIONS[station]
    upto = labels.size if held.all() else int(np.argmin(held)) + 1
    return labels[:upto], cost[:upto], held[:upto]


def bracket(labels, held):
    """meters.margin_from_pads of labels or costs: largest that held, smallest that lost."""
    lost = labels[-1] if not held[-1] else np.nan
    return meters.margin_from_pads(labels[held].max(), lost)


def picture_left(spare_db):
    """What a TV shows with so many dB left to spare: clean, blocks or black.

    >>> picture_left(0.3)
    'blocks'
    """
    if spare_db < 0:
        return "black"
    return "clean" if spare_db > simulate.paper_tv.CLEAN_DB else "blocks"


def _draw(figure):
    ax = figure.add_subplot(xlim=(-1, 41), ylim=(-2, 41))
    ax.set(xlabel="pads in, dB on their labels", ylabel="spare dB they have eaten")
    ax.plot([0, 40], [0, 40], color=style.MEANING["other"], ls=":")
    (line,) = ax.plot([], [], color=style.MEANING["other"])
    band = ax.axhspan(0, 1, color=style.MEANING["reading"], alpha=0.22, lw=0)
    (good,) = ax.plot([], [], "o", color=style.MEANING["reading"], ms=9)
    (bad,) = ax.plot([], [], "X", color=style.MEANING["limit"], ms=11)
    (true,) = ax.plot([], [], "--", color=style.MEANING["truth"])
    label = ax.text(0.02, 0.96, "", transform=ax.transAxes, va="top", bbox=style.PAPER)
    label.set_text("● picture   ✖ no picture   band: where the spare dB lie")

    tv = SmallTV(ax, (0.03, 0.6, 0.17, 0.22))

    def move(station, way, step_db, pad_db, truth):
        labels, cost, held = tried(station, way, step_db, pad_db)
        line.set_data(_LABELS_DB, cost_db(way))
        good.set_data(labels[held], cost[held])
        bad.set_data(labels[~held], cost[~held])
        low, high = bracket(cost, held)
        band.set_bounds(0, low, 1, min(high, 60.0) - low)
        true.set_data([-1, 41], [STATIONS[station]] * 2) if truth else true.set_data([], [])
        verdict = _said(station, (labels, cost, held), truth)
        left = tv.update(picture_left(STATIONS[station] - cost[-1]))
        return Words(verdict, f"What pads cost against their labels, {way}. {left} {verdict}")

    return (*ordered((line, band, good, bad, true, label)), *tv.artists), move


def _said(station, tries, truth):
    labels, cost, held = tries
    told = f" True: {STATIONS[station]:g} dB." if truth else ""
    low, high = bracket(cost, held)
    if held[-1]:
        lead = f"{station}: the picture still holds with {labels[-1]:g} dB of pad"
        return f"{lead}, so it has at least {low:.1f} dB to spare. More pads!{told}"
    label_low, label_high = bracket(labels, held)
    lead = f"{station}: held with {label_low:g} dB of pad, lost with {label_high:g}"
    apart = labels.size > 1 and cost[-1] < 0.97 * labels[-1]
    less = " Here a pad costs less than its label, so the labels do not count." if apart else ""
    return f"{lead}. It has {low:.1f} to {high:.1f} dB to spare.{less}{told}"
