"""How far an antenna reaches: for each kind of station the distances of three chances."""

import numpy as np

from ..units import KM_PER_MILE
from . import style
from .labels import signed
from .picture import Drawing, drawn

SIZE_IN = (8.8, 4.8)
_FARTHEST_KM = 200.0


def reach(table, ax=None, title=""):
    """Reach as a picture: a bar from the distance of a 9 in 10 chance to that of a 1 in 10 chance.

    Parameters: ``table`` the DataFrame of shed.advice.reach with its usual chances; ``ax`` an Axes,
    or None for a figure of its own; ``title`` text above.

    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> table = advice.reach(site.antenna("wire loop"), site.mount("roof mast"))
    >>> reach(table).alt.startswith("Reach by kind of station. strong, uhf")
    True
    """
    needed = ("km_at_90_pct", "km_at_50_pct", "km_at_10_pct")
    missing = [c for c in needed if c not in table.columns]
    if missing:
        raise ValueError(f"table lacks {', '.join(missing)}; give what shed.advice.reach returns.")
    return drawn(ax, SIZE_IN, lambda axes: _draw(axes, table.reset_index(drop=True), title))


def _draw(ax, table, title):
    km = [table[f"km_at_{p}_pct"].to_numpy(float) for p in (90, 50, 10)]
    rare = np.nan_to_num(km[2])
    end = min(max(rare.max(initial=0.0) * 1.08, 20.0), 1.04 * _FARTHEST_KM)
    _frame(ax, table, end)
    y, colour = np.arange(len(table)), style.MEANING["forecast"]
    bars = ax.hlines(y, np.nan_to_num(km[0]), rare, color=colour, lw=3)
    marks = [
        ax.plot(x, y, marker, color=colour, ms=size, mew=2, ls="", clip_on=False)[0]
        for x, marker, size in zip(km, "|o|", (12, 9, 12), strict=True)
    ]
    for k in y:
        _say(ax, k, km[1][k], rare[k])
    if title:
        ax.set_title(title, weight="bold")
    return Drawing((bars, *marks), _alt(table))


def _frame(ax, table, end_km):
    names = [
        f"{r.station}, {_band(r.band)}\n{r.erp_kw:g} kW, {r.haat_m:g} m up"
        for r in table.itertuples()
    ]
    ax.set_yticks(np.arange(len(table)), names)
    ax.set(xlim=(0, end_km), ylim=(len(table) - 0.4, -0.8))
    ax.set_xlabel("distance, km (left end: 9 of 10 roofs; mark: 5 of 10; right end: 1 of 10)")
    above = ax.secondary_xaxis("top", functions=(_miles, _kilometres))
    above.set_xlabel("miles")


def _say(ax, k, even_km, rare_km):
    """Name the middle distance of row ``k``, or that there is none."""
    near = {"textcoords": "offset points", "bbox": style.PAPER, "va": "center"}
    if rare_km == 0:
        ax.annotate("not even 2 km away, or not its channels", (0, k), xytext=(12, 0), **near)
    elif np.isfinite(even_km):
        ax.annotate(_both(even_km), (even_km, k), xytext=(0, 15), ha="center", **near)
    if rare_km >= _FARTHEST_KM:
        ax.annotate("and farther", (rare_km, k), xytext=(-8, -14), ha="right", **near)


def _miles(km):
    return np.asarray(km) / KM_PER_MILE


def _kilometres(miles):
    return np.asarray(miles) * KM_PER_MILE


def _band(name):
    return str(name).replace("uhf", "UHF").replace("vhf", "VHF")


def _both(km):
    return f"{signed(km).lstrip('+')} km ({signed(km / KM_PER_MILE).lstrip('+')} mi)"


def _alt(table):
    words = []
    for row in table.itertuples():
        ends = [
            "not even 2 km" if np.isnan(km) else f"{km:.0f} km"
            for km in (row.km_at_90_pct, row.km_at_50_pct, row.km_at_10_pct)
        ]
        words.append(
            f"{row.station}, {row.band}: 9 of 10 roofs to {ends[0]}, 5 of 10 to {ends[1]}, "
            f"1 of 10 to {ends[2]}"
        )
    return "Reach by kind of station. " + "; ".join(words) + "."
