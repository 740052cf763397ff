"""Pictures of what was read: a meter's curve, and how forecasts fared against it."""

import numpy as np
from scipy.special import betaincinv

from ..words import signed
from . import style
from .picture import Drawing, drawn, ordered

SIZE_IN = (8.0, 4.8)


def meter_curve(curve, ax=None, limits_db=(-10.0, 50.0)):
    """What a meter's readings mean, with its 90 % band: a Picture, or a MeterPicture on ``ax``.

    Parameters: ``curve`` a shed.meters.MeterCurve; ``ax`` an Axes, or None for a figure of its own;
    ``limits_db`` (low, high) of the spare dB axis.

    >>> from ..meters import MeterCurve
    >>> meter_curve(MeterCurve.default("quality")).alt[:46]
    'Meter curve, quality, without a meter ladder. '
    """
    return drawn(ax, SIZE_IN, lambda axes: MeterPicture(axes, limits_db), curve)


class MeterPicture:
    """A meter's curve on an Axes; ``update`` moves it in place.

    Parameters: ``ax`` an Axes; ``limits_db`` (low, high) of the spare dB axis; ``readings`` (low, high)
    of the reading axis. ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> picture = MeterPicture(style.new_figure(*SIZE_IN).add_subplot())
    >>> len(picture.artists)
    4
    """

    def __init__(self, ax, limits_db=(-10.0, 50.0), readings=None):
        self.ax, self.alt, self.limits_db, self.readings = ax, "", limits_db, readings
        colour = style.MEANING["reading"]
        with style.house():
            ax.set(xlim=limits_db, ylim=readings or (0, 100))
            ax.set(xlabel="spare dB", ylabel="reading")
            ax.axvline(0, color=style.MEANING["limit"], lw=2)
            (self.band,) = ax.fill([0, 0], [0, 0], color=colour, alpha=0.22, lw=0)
            (self.line,) = ax.plot([], [], color=colour)
            (self.bound,) = ax.plot(
                [], [], ">", color=colour, markerfacecolor="white", ms=9, clip_on=False
            )
            look = {"transform": ax.transAxes, "ha": "right", "va": "bottom", "bbox": style.PAPER}
            self.words = ax.text(0.98, 0.04, "", **look)
        self.artists = ordered((self.band, self.line, self.bound, self.words))

    def update(self, curve):
        """Move to another ``curve``; returns the alternative text."""
        table = curve.table()
        measured = table[table["status"] == "measured"]
        low, high = (measured[c].clip(*self.limits_db) for c in ("low_db", "high_db"))
        y = measured["reading"].to_numpy(float)
        self.line.set_data(measured["margin_db"], y)
        self.band.set_xy(np.c_[np.r_[low, high[::-1]], np.r_[y, y[::-1]]])
        bound = table[table["status"] == "at least"].head(1)
        self.bound.set_data(bound["margin_db"], bound["reading"])
        self._fit_axis(curve.scale)
        self.words.set_text(_curve_words(curve, bound))
        self.alt = _curve_alt(curve, measured, bound)
        return self.alt

    def _fit_axis(self, scale):
        """Name and limits of the reading axis; touched only if they change, since that costs time."""
        label, limits = f"reading ({scale.name})", self.readings or (scale.low, scale.high)
        if self.ax.get_ylabel() != label:
            self.ax.set_ylabel(label)
        if self.ax.get_ylim() != limits:
            self.ax.set_ylim(limits)


def _curve_words(curve, bound):
    full = f"; at {bound['reading'].iloc[0]:g} only “at least”" if len(bound) else ""
    zero = "" if curve.zero_known else "; differences only, no zero"
    return f"line: best figure; band: 9 of 10{full}{zero}"


def _curve_alt(curve, measured, bound):
    made = {"ladder": "from a meter ladder", "default": "without a meter ladder"}
    made["exact"] = "a scale in dB"
    words = []
    for row in measured.iloc[:: max(len(measured) // 5, 1)].itertuples():
        ends = f"{signed(row.low_db)} to {signed(row.high_db)}"
        words.append(f"{row.reading:g} means {signed(row.margin_db)} dB ({ends})")
    for row in bound.itertuples():
        words.append(f"from {row.reading:g} on at least {signed(row.margin_db)} dB")
    zero = "" if curve.zero_known else " Differences only: it has no zero."
    return f"Meter curve, {curve.scale.name}, {made[curve.source]}. {'; '.join(words)}.{zero}"


def calibration(score, ax=None):
    """Forecasts against what then came: of the readings given a chance, how many locked.

    Bars hold 90 % of what the true share may be (Jeffreys interval). On the line a forecast says what
    comes; above it is too shy, below too bold.
    Parameters: ``score`` a shed.survey.Score; ``ax`` an Axes, or None for a figure of its own.

    >>> import pandas as pd
    >>> from .. import survey
    >>> table = pd.DataFrame({"said": [0.2, 0.8], "came": [0.25, 0.75], "count": [8, 12]})
    >>> calibration(survey.Score(None, 0.15, table)).alt[:21]
    'Forecast against what'
    """
    return drawn(ax, (5.6, 5.4), lambda axes: _draw_calibration(axes, score))


def _draw_calibration(ax, score):
    table = score.calibration
    said, came, count = (table[c].to_numpy(float) for c in ("said", "came", "count"))
    low, high = (betaincinv(came * count + 0.5, (1 - came) * count + 0.5, q) for q in (0.05, 0.95))
    ax.plot([0, 100], [0, 100], color=style.MEANING["limit"], ls="--")
    bars = ax.vlines(100 * said, 100 * low, 100 * high, color=style.MEANING["reading"], lw=3)
    (marks,) = ax.plot(100 * said, 100 * came, "o", color=style.MEANING["reading"], ms=9)
    for x, y, n in zip(100 * said, 100 * came, count, strict=True):
        at = {"xytext": (9, 0), "textcoords": "offset points", "va": "center"}
        ax.annotate(f"{n:.0f}", (x, y), bbox=style.PAPER, **at)
    ax.set(xlim=(-3, 108), ylim=(-3, 103), aspect="equal")
    ax.set(xlabel="chance that was forecast, %", ylabel="share that locked, % (numbers: readings)")
    words = [
        f"forecast {100 * a:.0f} %: {100 * b:.0f} % of {n:.0f} locked ({100 * lo:.0f} to {100 * hi:.0f})"
        for a, b, n, lo, hi in zip(said, came, count, low, high, strict=True)
    ]
    alt = (
        f"Forecast against what came, mean squared error {score.brier:.2f}. "
        + "; ".join(words)
        + "."
    )
    return Drawing((bars, marks), alt)
