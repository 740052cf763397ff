"""The part of a bearing strip that stays: compass above, station names below, scales at the sides."""

import numpy as np
from matplotlib.patches import Rectangle
from matplotlib.transforms import blended_transform_factory, offset_copy

from . import style
from .labels import spread_out
from .picture import fill_figure

LEFT_IN, RIGHT_IN, TOP_IN, WORDS_IN, LEADER_IN = 0.80, 0.75, 0.68, 0.50, 0.17
FLAT_BELOW_IN = 4.4
"""A figure lower than this gets the flat form: no words above or below, one scale, names cut short."""
_FLAT_IN = {"left": 0.84, "right": 0.32, "top": 0.30, "words": 0.0}
_HIGH_IN = {"left": LEFT_IN, "right": RIGHT_IN, "top": TOP_IN, "words": WORDS_IN}
TITLE_IN = 0.37
LABEL_GAP_PT = 14.5
DEEPEST_DB = -30.0


def is_flat(ax):
    """Whether the figure of ``ax`` is too low for the whole strip."""
    return ax.figure.get_size_inches()[1] < FLAT_BELOW_IN


def labelled_rows(wanted, width_in):
    """Rows of the stations that get a label: all, or the wanted first where room is short.

    Parameters: ``wanted`` (n,) bool; ``width_in`` of the figure in inches.

    >>> labelled_rows(np.array([False, True]), 8.8).tolist()
    [0, 1]
    """
    room = int((width_in - LEFT_IN - RIGHT_IN) * 72 / LABEL_GAP_PT)
    return np.sort(np.argsort(~np.asarray(wanted, bool), kind="stable")[:room])


def place_axes(ax, names):
    """Move ``ax`` so that frame, station ``names`` below it and words fill its figure."""
    room = _FLAT_IN if is_flat(ax) else _HIGH_IN
    under = room["words"] + LEADER_IN + _longest_in(ax, names) + 0.06
    top = min(room["top"], ax.figure.get_size_inches()[1] - under - 0.5)
    fill_figure(ax, room["left"], under, room["right"], top)


def _longest_in(ax, names):
    sample = ax.text(0, 0, "\n".join(names) or " ", rotation=90)
    longest = sample.get_window_extent().height / ax.figure.dpi
    sample.remove()
    return longest


def draw_frame(ax, low_db, high_db):
    """Compass along the top, spare dB at the left, the pattern's own dB at the right, the zero line;
    in the flat form one scale, and none but its round numbers."""
    flat = is_flat(ax)
    ax.set(xlim=(0, 360), ylim=(low_db, high_db))
    words = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "N")
    ax.set_xticks(range(0, 361, 45), [f"{w} {45 * k}°" for k, w in enumerate(words)])
    ax.tick_params(axis="x", top=True, bottom=False, labeltop=True, labelbottom=False)
    every = np.arange(np.ceil(low_db / 10) * 10, high_db + 1, 10)
    ax.set_yticks(db_ticks(low_db, high_db) if flat else every)
    ax.set_ylabel("spare dB" if flat else "spare dB (bars hold 9 of 10 roofs)")
    ax.spines[["top", "right"]].set_visible(True)
    ax.axhline(0, color=style.MEANING["limit"], lw=2)
    if flat:
        return
    above = offset_copy(ax.transAxes, ax.figure, 0, TITLE_IN)
    ax.text(1, 1, "true bearing", transform=above, ha="right", va="bottom")
    _pattern_scale(ax, low_db, high_db)


def db_ticks(low_db, high_db, steps=6):
    """Round numbers of an axis from ``low_db`` to ``high_db``, 0 among them, with room for ``steps``
    steps between them along the whole of it.

    >>> db_ticks(-40, 60).tolist()
    [-40.0, -20.0, 0.0, 20.0, 40.0, 60.0]
    >>> db_ticks(-50, 60, steps=2.8).tolist()
    [-40.0, 0.0, 40.0]
    """
    step = next((s for s in (20, 30, 40, 50) if s * steps >= high_db - low_db), 100)
    return np.arange(np.ceil(low_db / step) * step, high_db + 1, step, dtype=float)


def _pattern_scale(ax, low_db, high_db):
    side = ax.twinx()
    side.set_ylim(low_db - high_db, 0)
    side.set_yticks(np.arange(DEEPEST_DB, 1, 10))
    side.set_ylabel("antenna's pattern, dB", color=style.ORANGE_TEXT, loc="top")
    side.tick_params(axis="y", colors=style.ORANGE_TEXT)
    side.grid(False)
    side.set_zorder(ax.get_zorder() - 1)
    ax.patch.set_visible(False)


def draw_names(ax, x_deg, names):
    """Station names under the axes, each led to its bar at ``x_deg`` (n,); none covers another."""
    width_pt = ax.get_position().width * ax.figure.get_size_inches()[0] * 72
    per_pt = 360 / width_pt
    at = spread_out(x_deg, LABEL_GAP_PT * per_pt, -6 * per_pt, 360 + 6 * per_pt)
    height_in = ax.get_position().height * ax.figure.get_size_inches()[1]
    drop = -LEADER_IN / height_in
    fixed = blended_transform_factory(ax.transData, ax.transAxes)
    leader = {"color": "#BFBFBF", "lw": 1, "clip_on": False, "zorder": 0.9}
    for name, x, text_x in zip(names, x_deg, at, strict=True):
        ax.plot([x, x, text_x], [1, 0, drop], transform=fixed, **leader)
        ax.text(text_x, drop, name, transform=fixed, rotation=90, ha="center", va="top")


def add_band(ax):
    """A hatched band from bottom to top for what the mount does not see; its width is 0 at first."""
    band = Rectangle((0, 0), 0, 1, transform=ax.get_xaxis_transform(), lw=0)
    band.set(facecolor="none", edgecolor="#C8C8C8", hatch="/")
    return ax.add_patch(band)


def name_the_zero_line(ax, x_deg):
    """Say what the zero line is where the stations at ``x_deg`` (n,) leave most room, if any is left."""
    if is_flat(ax):
        return
    taken = np.r_[-4.0, np.sort(x_deg), 364.0]
    widest = int(np.argmax(np.diff(taken)))
    middle = np.clip(taken[widest : widest + 2].mean(), 30, 330)
    ax.annotate(
        "below: fewer than\n5 of 10 roofs",
        (middle, 0),
        xytext=(0, -4),
        textcoords="offset points",
        ha="center",
        va="top",
        bbox=style.PAPER,
    )
