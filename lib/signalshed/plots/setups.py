"""What could be put on this roof, side by side: stations expected, and between which numbers."""

import numpy as np

from ..words import short
from . import style
from .picture import Drawing, drawn


def ranking(table, ax=None, most=12, total=None):
    """The ranking as a picture: one line per setup, a mark at the stations expected, a 90 % bar.

    Parameters: ``table`` the DataFrame of shed.advice.rank; ``ax`` an Axes, or None for a figure of
    its own; ``most`` rows drawn, the best first; ``total`` wanted stations there are, the end of the
    axis (None: the highest number any setup reaches).

    >>> from .. import advice, simulate
    >>> table = advice.rank(simulate.demo_site())
    >>> ranking(table, most=2).alt.startswith("Ranking of setups by wanted stations")
    True
    """
    rows = table.head(int(most)).reset_index(drop=True)
    height_in = 1.3 + 0.52 * max(len(rows), 1)
    return drawn(ax, (8.8, height_in), lambda axes: _draw(axes, rows, len(table), total))


def _draw(ax, rows, of, total):
    y = np.arange(len(rows))
    colour = style.MEANING["forecast"]
    bars = ax.hlines(y, rows["low"], rows["high"], color=colour, lw=3)
    (marks,) = ax.plot(rows["expected"], y, "o", color=colour, ms=9)
    for k, row in rows.iterrows():
        near = {"textcoords": "offset points", "color": "black"}
        at = (row["expected"], k)
        ax.annotate(f"{row['expected']:.1f}", at, xytext=(0, 7), ha="center", **near)
        at = (row["high"], k)
        ax.annotate(
            row["pick"], at, xytext=(8, 0), va="center", weight="bold", bbox=style.PAPER, **near
        )
    end = float(rows["high"].max()) if total is None else float(total)
    ax.set(xlim=(-0.2, max(end, 1.0) + 0.3), ylim=(len(rows) - 0.4, -0.7))
    ax.set_yticks(y, [setup_words(row) for _, row in rows.iterrows()])
    ax.set_xticks(np.arange(0, end + 1, 1 if end <= 16 else np.ceil(end / 12)))
    ax.set_xlabel("wanted stations received (mark: on average; bar: 9 of 10 roofs like yours)")
    return Drawing((bars, marks), _alt(rows, of))


def setup_words(row):
    """A row of the ranking in two lines: the antenna; where, and aimed whither.

    Parameters: ``row`` of shed.advice.rank.

    >>> setup_words({"antenna": "loop", "mount": "roof mast", "heading_deg": 38.0})
    'loop\\nroof mast, aimed at 38°'
    """
    heading = row["heading_deg"]
    aim = "" if np.isnan(heading) else f", aimed at {heading:.0f}°"
    return f"{short(row['antenna'], 30)}\n{short(row['mount'], 22)}{aim}"


def _alt(rows, of):
    words = [
        f"{i + 1}. {setup_words(row).replace(chr(10), ', ')}: {row['expected']:.1f} "
        f"({row['low']:.0f} to {row['high']:.0f}){', ' + row['pick'] if row['pick'] else ''}"
        for i, row in rows.iterrows()
    ]
    shown = f"the first {len(rows)} of {of}" if of > len(rows) else f"all {of}"
    return (
        "Ranking of setups by wanted stations received on average, with the numbers between which "
        f"9 of 10 roofs lie; {shown}. " + "; ".join(words) + "."
    )
