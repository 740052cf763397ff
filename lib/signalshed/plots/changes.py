"""Two rounds of readings apart: the change of every station over frequency and over bearing."""

import numpy as np

from ..words import listed, short, signed
from . import style
from .picture import Picture, ordered

SIZE_IN = (8.8, 4.2)


def changes(found):
    """What shed.survey.changed found, over MHz and over bearing: a Picture.

    Dots are changes with their 90 % bars, triangles ends only: at least (up) or at most (down). The
    broad strokes are what the likeliest cause would make of each station. Parameters: ``found`` a
    survey.Changed.

    >>> from dataclasses import replace
    >>> from .. import simulate, survey
    >>> site = simulate.demo_site()
    >>> rows = site.stations[["rf_channel"]].head(6).assign(mount="roof mast", antenna="wire loop",
    ...     heading_deg=40.0, meter="TV", scale="cn_db", pad_db=0.0, locked=True, reading=25.0)
    >>> found = survey.changed(replace(site, readings=rows), rows.assign(reading=19.0))
    >>> changes(found).alt[:26]
    'Change between two rounds.'
    """
    with style.house():
        figure = style.new_figure(*SIZE_IN)
        figure.set_layout_engine("constrained")
        picture = ChangePicture(figure.subplots(1, 2, sharey=True))
        return Picture(figure, picture.update(found))


class ChangePicture:
    """Changes on two Axes; ``update`` moves them in place.

    Parameters: ``axes`` two Axes, over MHz and over bearing; ``limits_db`` (low, high) of the change,
    None to fit. ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> picture = ChangePicture(style.new_figure(*SIZE_IN).subplots(1, 2))
    >>> len(picture.artists)
    10
    """

    def __init__(self, axes, limits_db=None):
        self.axes, self.limits_db, self.alt = tuple(axes), limits_db, ""
        with style.house():
            mhz, bearing = self.axes
            mhz.set(xlabel="MHz", ylabel="second round less first, dB", xlim=(40, 720))
            bearing.set(xlabel="bearing, degrees from north", xlim=(-10, 370))
            mhz.set_title("dots: stations; triangles: at least, at most", fontsize=11)
            bearing.set_title("broad strokes: the likeliest cause", fontsize=11)
            bearing.set_xticks([0, 90, 180, 270, 360])
            for ax in self.axes:
                ax.set_ylim(limits_db or (-20, 10))
                ax.axhline(0, color=style.MEANING["limit"], lw=1.5)
            self._panes = [_Pane(ax) for ax in self.axes]
        self.artists = ordered([a for pane in self._panes for a in pane.artists])

    def update(self, found, cause=True):
        """Move to another ``found``, a survey.Changed, with the likeliest ``cause`` or without it.

        Returns the alternative text.
        """
        table = found.differences
        if self.limits_db is None:
            ends = table[["change_db", "low_db", "high_db", "likeliest_db"]].to_numpy(float)
            ends = ends[np.isfinite(ends)]
            self.axes[0].set_ylim(min(ends.min(), -4) - 1, max(ends.max(), 4) + 1)
        for pane, column in zip(self._panes, ("freq_mhz", "bearing_deg"), strict=True):
            pane.update(table, table[column].to_numpy(float), cause)
        self.alt = _alt(found, cause)
        return self.alt


class _Pane:
    """One Axes of the two: what moves there."""

    def __init__(self, ax):
        dot = {"color": style.MEANING["reading"], "ls": "none", "ms": 7}
        broad = {"marker": "_", "ms": 20, "mew": 5, "alpha": 0.55, "ls": "none"}
        (self.shape,) = ax.plot([], [], color=style.MEANING["forecast"], **broad)
        (self.bars,) = ax.plot([], [], color=style.MEANING["reading"], lw=1.5)
        (self.dots,) = ax.plot([], [], marker="o", **dot)
        (self.least,) = ax.plot([], [], marker="^", mfc="white", **dot | {"ms": 9})
        (self.most,) = ax.plot([], [], marker="v", mfc="white", **dot | {"ms": 9})
        self.artists = (self.shape, self.bars, self.dots, self.least, self.most)

    def update(self, table, across, cause):
        change, low, high = (table[c].to_numpy(float) for c in ("change_db", "low_db", "high_db"))
        least, most = np.isposinf(high), np.isneginf(low)
        value, gap = ~least & ~most, np.full(across.size, np.nan)
        self.dots.set_data(across[value], change[value])
        self.least.set_data(across[least], change[least])
        self.most.set_data(across[most], change[most])
        ends = np.column_stack([low, high, gap])[value]
        self.bars.set_data(np.repeat(across[value], 3), ends.ravel())
        self.shape.set_data(*((across, table["likeliest_db"]) if cause else ([], [])))


def _alt(found, cause):
    table = found.differences.sort_values("change_db", key=np.abs, ascending=False, kind="stable")
    said = [f"{short(r.station)} {_end(r)}{signed(r.change_db)} dB" for r in table.itertuples()]
    tail = f" {found.verdict}" if cause else ""
    return f"Change between two rounds. {listed(said)}.{tail}"


def _end(row):
    return (
        "at least " if np.isposinf(row.high_db) else "at most " if np.isneginf(row.low_db) else ""
    )
