"""The account of one station as a waterfall: every row moves the sum, the last leaves the spare dB."""

import functools

import numpy as np
from matplotlib.patches import Rectangle

from ..units import SDS_TO_90
from ..words import short, signed, spare_words
from . import style
from .picture import drawn, fill_figure, ordered

SIZE_IN = (8.8, 5.0)
_LEFT_IN, _RIGHT_IN, _TOP_IN, _FOOT_IN = 3.05, 2.25, 0.35, 0.60
_RIGHT_ONE_IN = 1.75
ROWS = 16
"""Most rows an account has: room for so many is kept when a waterfall is to move."""


def waterfall(account, spread_db=None, ax=None, title=""):
    """The account of one station, row by row: a Picture, or a Waterfall on your own ``ax``.

    Parameters: ``account`` the DataFrame of shed.budget.account; ``spread_db`` one standard deviation
    of its last row, drawn as a 90 % bar (None: none drawn); ``ax`` an Axes that may fill its figure,
    or None for a figure of its own; ``title`` text above. Without units all rows are dB to spare.

    >>> from .. import budget, simulate, survey
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> rows = budget.account("Gazette", setup, simulate.demo_site())
    >>> waterfall(rows, 10).alt.startswith("Account, row by row: field in empty space")
    True
    """
    one_unit = not account["unit"].any()
    make = functools.partial(Waterfall, rows=len(account), one_unit=one_unit)
    return drawn(ax, SIZE_IN, make, account, spread_db, title)


class Waterfall:
    """A waterfall on an Axes with room for ``rows`` rows; ``update`` moves it in place.

    Parameters: ``ax`` an Axes, which is moved to fill its figure; ``rows`` 1 or more; ``limits_db``
    (low, high) of the running sum; with ``one_unit`` all rows are dB to spare, and no column of sums
    stands beside them. ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> picture = Waterfall(style.new_figure(*SIZE_IN).add_subplot())
    >>> len(picture.artists) > 30
    True
    """

    def __init__(self, ax, rows=ROWS, limits_db=(-140.0, 140.0), one_unit=False):
        self.ax, self.rows, self.alt = ax, max(int(rows), 1), ""
        self.right_in, self.one_unit = (_RIGHT_ONE_IN if one_unit else _RIGHT_IN), one_unit
        self.low_db, self.high_db = limits_db
        with style.house():
            self._still()
            self._moving()

    def _still(self):
        ax = self.ax
        self.inner_in = fill_figure(ax, _LEFT_IN, _FOOT_IN, self.right_in, _TOP_IN)
        ax.set(xlim=(self.low_db, self.high_db), ylim=(self.rows + 0.6, -0.7), yticks=[])
        ax.set_xlabel(
            "dB to spare" if self.one_unit else "running sum, dB in the unit at the right"
        )
        ax.grid(axis="y", visible=False)
        ax.spines["left"].set_visible(False)
        ax.axvline(0, color=style.MEANING["limit"], lw=1)

    def _moving(self):
        ax, side = self.ax, self.ax.get_yaxis_transform()
        many = range(self.rows)
        self.bars = [ax.add_patch(Rectangle((0, i), 0, 0.6, lw=1)) for i in many]
        self.links = ax.vlines([0], [0], [0], color=style.GREY, lw=1)
        self.terms = [ax.text(-0.02, i, "", transform=side, ha="right", va="center") for i in many]
        right = {"transform": side, "ha": "right", "va": "center"}
        self.values = [ax.text(1.185, i, "", **right) for i in many]
        self.sums = [ax.text(1.20, i, "", transform=side, va="center") for i in many]
        (self.spare_bar,) = ax.plot([], [], color=style.MEANING["forecast"], lw=3)
        (self.spare,) = ax.plot([], [], "o", color=style.MEANING["forecast"], ms=9)
        bold = {"transform": side, "weight": "bold", "va": "center"}
        self.spare_name = ax.text(-0.02, self.rows, "", ha="right", **bold)
        self.spare_words = ax.text(1.02, self.rows, "", **bold)
        self.title = ax.text(-0.02, 1.02, "", transform=ax.transAxes, weight="bold", va="bottom")
        self.title.set_ha("left")
        self.title.set_x(-(_LEFT_IN - 0.1) / self.inner_in[0])
        words = (
            *self.terms,
            *self.values,
            *self.sums,
            self.spare_name,
            self.spare_words,
            self.title,
        )
        self.artists = ordered((*self.bars, self.links, self.spare_bar, self.spare, *words))

    def update(self, account, spread_db=None, title=""):
        """Move to another ``account``, ``spread_db`` and ``title``; returns the alternative text.

        Raises ValueError if the account has more rows than there is room for.
        """
        if len(account) > self.rows:
            raise ValueError(
                f"account has {len(account)} rows; this waterfall has room for {self.rows}."
            )
        known = _known_part(account)
        at = np.arange(len(known)) * self.rows / max(len(known), 1)
        self._move_bars(known, at)
        self._move_words(known, at)
        self._move_spare(known, spread_db)
        self.title.set_text(short(title, 90))
        self.alt = _alt(known, spread_db, title)
        return self.alt

    def _move_bars(self, account, at):
        ends, rows = account["running_db"].to_numpy(float), list(account.itertuples())
        starts = np.r_[0.0, ends[:-1]]
        inside = np.clip(np.nan_to_num([starts, ends]), self.low_db, self.high_db)
        for i, bar in enumerate(self.bars):
            bar.set_visible(i < len(account) and not np.isnan(ends[i]))
            if bar.get_visible():
                bar.set_bounds(inside[:, i].min(), at[i] - 0.3, np.ptp(inside[:, i]), 0.6)
                bar.set(**_bar_style(rows[i]))
        stops = np.r_[at[1:], self.rows]
        pairs = zip(inside[1], at, stops, ends, strict=True)
        self.links.set_segments([[(x, a), (x, b)] for x, a, b, end in pairs if not np.isnan(end)])

    def _move_words(self, account, at):
        lines, said = (
            (self.terms, self.values, self.sums),
            list(map(_row_words, account.itertuples())),
        )
        for i, texts in enumerate(zip(*lines, strict=True)):
            words = said[i] if i < len(said) else ("", "", "")
            for text, word in zip(texts, words, strict=True):
                text.set_text(word)
                text.set_y(at[i] if i < len(account) else 0.0)

    def _move_spare(self, account, spread_db):
        spare = float(account["running_db"].iloc[-1])
        known = not np.isnan(spare)
        shown = np.clip(spare, self.low_db, self.high_db)
        self.spare.set_data(*(([shown], [self.rows]) if known else ([], [])))
        bar = known and spread_db is not None
        bar = bar and np.isfinite(spare)
        half = SDS_TO_90 * spread_db if bar else 0.0
        ends = np.clip([spare - half, spare + half], self.low_db, self.high_db)
        self.spare_bar.set_data(*((ends, [self.rows] * 2) if bar else ([], [])))
        self.spare_name.set_text("spare dB" if known else short(account["why"].iloc[-1], 60))
        low, high = signed(spare - half), signed(spare + half)
        with_bar = f"{signed(spare)} ({low} to {high})"
        alone = signed(spare, 1) if np.isfinite(spare) else spare_words(spare)
        self.spare_words.set_text((with_bar if bar else alone) if known else "")


def _bar_style(row):
    """Colour by what the row is about; hatched where it takes away."""
    about = "air" if row.unit == "dBµV/m" else "other"
    about = "antenna" if row.term.startswith("antenna") else about
    takes = row.value_db < 0
    return {
        "facecolor": style.MEANING[about],
        "edgecolor": "white" if takes else style.MEANING[about],
        "hatch": "///" if takes else "",
    }


def _known_part(account):
    """The rows down to the first whose value nobody can give: what follows hangs on it."""
    unknown = np.flatnonzero(account["running_db"].isna().to_numpy())
    return account.iloc[: unknown[0] + 1] if unknown.size else account


def _row_words(row):
    if np.isnan(row.value_db):
        return short(row.term, 38), "", ""
    running = f"→ {signed(row.running_db, 1).lstrip('+')} {row.unit}" if row.unit else ""
    return short(row.term, 38), signed(row.value_db, 1), running


def _alt(account, spread_db, title):
    head = f"{title}. " if title else ""
    last = account.iloc[-1]
    if np.isnan(last["running_db"]):
        return f"{head}Account: {last['term']}; {last['why']}."
    rows = "; ".join(f"{r.term} {signed(r.value_db, 1)} dB" for r in account.itertuples())
    if np.isneginf(last["running_db"]):
        return f"{head}Account, row by row: {rows}; overload: no dB of its own helps."
    spare = f"leaves {signed(last['running_db'], 1)} dB to spare"
    if spread_db is not None:
        half = SDS_TO_90 * spread_db
        ends = (signed(last["running_db"] - half), signed(last["running_db"] + half))
        spare += f", on 9 of 10 roofs between {ends[0]} and {ends[1]}"
    return f"{head}Account, row by row: {rows}; {spare}."
