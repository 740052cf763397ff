"""How far an antenna reaches: for each kind of station the distances of three chances."""

import numpy as np

from ..units import KM_PER_MILE
from ..words import distance_words
from . import style
from .picture import drawn, ordered

SIZE_IN = (8.8, 4.8)
FARTHEST_KM = 200.0
_PERCENT = (90, 50, 10)
_SIDE = {"textcoords": "offset points", "va": "center", "bbox": style.PAPER}


def reach(table, ax=None, title=""):
    """Reach as a picture: a bar from the distance of a 9 in 10 chance to that of a 1 in 10 chance.

    Parameters: ``table`` the DataFrame of shed.advice.reach; ``ax`` an Axes,
    or None for a figure of its own; ``title`` text above.

    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> table = advice.reach(site.antenna("wire loop"), site.mount("roof mast"))
    >>> reach(table).alt.startswith("Reach by kind of station, antenna aimed at it. strong, UHF")
    True
    """
    needed = [f"km_at_{p}_pct" for p in _PERCENT]
    missing = [c for c in ("known", *needed) if c not in table.columns]
    if missing:
        raise ValueError(f"table lacks {', '.join(missing)}; give what shed.advice.reach returns.")
    farthest = np.nanmax([*table[needed[-1]], 0.0])
    end_km = min(max(1.08 * farthest, 20.0), 1.04 * FARTHEST_KM)
    return drawn(ax, SIZE_IN, lambda axes: Reach(axes, table, end_km, title), table)


class Reach:
    """A line per kind of station, from the distance of 9 in 10 roofs to that of 1 in 10; it moves.

    Parameters: ``ax`` an Axes; ``table`` the DataFrame of shed.advice.reach, whose kinds stay;
    ``end_km`` where the axis ends; ``title`` above. ``artists`` are what moves, ``alt`` says it in
    words.
    """

    def __init__(self, ax, table, end_km, title=""):
        ax.set_title(title, weight="bold")
        self.alt, self.end_km, self.y = "", float(end_km), np.arange(len(table))
        _frame(ax, table, self.end_km)
        colour = style.MEANING["forecast"]
        self.bars = ax.hlines(self.y, 0, 0, color=colour, lw=3)
        self.marks = [
            ax.plot([], [], marker, color=colour, ms=size, mew=2, ls="", clip_on=False)[0]
            for marker, size in zip("|o|", (12, 9, 12), strict=True)
        ]
        self.none = [ax.annotate("", (0, k), xytext=(12, 0), **_SIDE) for k in self.y]
        self.even = [ax.annotate("", (0, k), xytext=(0, 15), ha="center", **_SIDE) for k in self.y]
        self.artists = ordered((self.bars, *self.marks, *self.none, *self.even))

    def update(self, table):
        """Move to another ``table`` of shed.advice.reach; the alternative text."""
        km = np.stack([table[f"km_at_{p}_pct"].to_numpy(float) for p in _PERCENT])
        ends = np.clip(np.nan_to_num(km), 0, self.end_km)
        self.bars.set_segments(
            [[(a, y), (b, y)] for a, b, y in zip(ends[0], ends[2], self.y, strict=True)]
        )
        for mark, x in zip(self.marks, km, strict=True):
            mark.set_data(np.minimum(x, self.end_km), self.y)
        for none, even, row in zip(self.none, self.even, table.itertuples(), strict=True):
            none.set_text(nowhere(row))
            even.xy = (np.clip(np.nan_to_num(row.km_at_50_pct), 0, self.end_km), even.xy[1])
            even.set_text("" if np.isnan(row.km_at_50_pct) else both_km(row.km_at_50_pct))
        self.alt = _alt(table)
        return self.alt


def _frame(ax, table, end_km):
    # Two lines a kind would touch those of its neighbours where the picture is low.
    between = "\n" if ax.figure.get_size_inches()[1] > 4 else ", "
    sizes = (f"{r.erp_kw:g} kW, {r.haat_m:g} m up" for r in table.itertuples())
    names = map(between.join, zip(map(kind, table.itertuples()), sizes, strict=True))
    ax.set_yticks(np.arange(len(table)), list(names))
    ax.set(xlim=(0, end_km), ylim=(len(table) - 0.4, -1))
    ax.set_xlabel("km: left end 9 of 10 roofs, dot 5 of 10, right end 1 of 10")
    miles = (lambda km: km / KM_PER_MILE, lambda mi: mi * KM_PER_MILE)
    ax.secondary_xaxis("top", functions=miles).set_xlabel("miles")


def kind(row):
    """A kind of station in words: what it is, and its band.

    Parameters: ``row`` one of shed.advice.reach, from itertuples.
    """
    return f"{row.station}, {row.band.replace('uhf', 'UHF').replace('vhf', 'VHF')}"


def nowhere(row):
    """Why a kind of station has no line; "" if it has one.

    Parameters: ``row`` one of shed.advice.reach, from itertuples.
    """
    if not row.known:
        return "this antenna is not known on these channels"
    return "not even 2 km (1 mi) away" if np.isnan(row.km_at_10_pct) else ""


def both_km(km):
    """A distance of a reach in both units; what is not reached and what is beyond the charts, too.

    Parameters: ``km`` from shed.advice.reach, NaN for not even 2 km.

    >>> both_km(87.2), both_km(200)
    ('87 km (54 mi)', 'beyond 200 km (124 mi)')
    """
    if np.isnan(km):
        return "not even 2 km (1 mi)"
    beyond = "beyond " if km >= FARTHEST_KM else ""
    return beyond + distance_words(km)


def _alt(table):
    parts = [
        f"{kind(row)}: "
        + (
            nowhere(row)
            or f"9 of 10 roofs to {both_km(row.km_at_90_pct)}, 5 of 10 to "
            f"{both_km(row.km_at_50_pct)}, 1 of 10 to {both_km(row.km_at_10_pct)}"
        )
        for row in table.itertuples()
    ]
    return "Reach by kind of station, antenna aimed at it. " + "; ".join(parts) + "."
