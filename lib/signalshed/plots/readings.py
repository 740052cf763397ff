"""How forecasts fared against what was read."""

from scipy.special import betaincinv

from . import style
from .picture import Drawing, drawn


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
