"""Two tables get the same two equal antennas, in opposite order, while the level falls."""

import numpy as np

from ...plots import style
from ...words import signed
from .. import GuessChoice, Panel, Slider, Words
from ..canvas import Moving
from .order import ORDERS, SLOT_H, judged, who

FALL_DB_H = (0, 4, 2)
"""Slowest, fastest and first fall of the level, dB per hour."""
EACH = (2, 8, 4)
"""Fewest, most and first number of mountings of each antenna."""

_LEVEL_DB = 14.0
_MOUNTING_DB = 0.3
_LIMIT_DB = 5.0
_SEED = 33

ASKS = GuessChoice(
    "says",
    "Your guess",
    (
        "both: cannot tell",
        "both name the same one",
        "each names its first",
        "each names its second",
    ),
    question="Equal antennas, and a level that falls unseen: what do the two tables report?",
)


def tables_panel():
    """Two tables, two equal antennas, opposite order: a guess, then what each table reports.

    >>> tables_panel().verdict[-30:]
    'what do the two tables report?'
    """
    controls = (
        Slider("fall_db_h", "Level falls, dB per hour", *FALL_DB_H, step=0.25),
        Slider("each", "Mountings of each antenna", *EACH),
        ASKS,
    )
    return Panel("Two tables, two equal antennas", controls, _Tables.of(), (8.8, 4.4))


def reports(fall_db_h, each):
    """What both tables find: (mean, half-width) of first minus second antenna, dB, table by table.

    Parameters: ``fall_db_h`` how fast the level falls, dB per hour; ``each`` mountings of each antenna,
    one after the other, 2 or more. The antennas are equal; a mounting is off by some 0.3 dB.

    >>> [mean > half for mean, half in reports(2, 4)]
    [True, True]
    """
    _, levels = _levels(fall_db_h, each)
    first = np.repeat([1, 0], each)
    return [tuple(float(x[0]) for x in judged(first, level[None])) for level in levels]


def _levels(fall_db_h, each):
    """Hours of all mountings (n,), and the level of each at both tables (2, n)."""
    hour = SLOT_H * np.arange(2 * each)
    off = np.random.default_rng(_SEED).standard_normal((2, 2 * EACH[1]))[:, : 2 * each]
    return hour, _LEVEL_DB - fall_db_h * hour + _MOUNTING_DB * off


def _plan(each):
    return (
        f"Two tables: A puts up antenna 1 {each} times, then antenna 2; B the other way round, at the "
        "same hours."
    )


class _Tables(Moving):
    """A row a table: what it puts up and reads over the evening; right, what it reports."""

    def draw(self, figure):
        grid = figure.subplots(2, 2, width_ratios=(5, 3), sharex="col")
        self.rows = [self._row(*axes, name) for axes, name in zip(grid, "AB", strict=True)]
        self.told = self.text(grid[0, 0], 2.35, 15, ha="right", va="top", bbox=style.PAPER)
        grid[0, 0].set_title("white squares: antenna 1   dots: antenna 2", fontsize=11)
        grid[0, 1].set_title("what the table reports", fontsize=11)
        grid[1, 0].set_xlabel("hours")
        grid[1, 1].set_xlabel("antenna 1 minus antenna 2, dB")

    def _row(self, left, right, name):
        left.set(xlim=(-0.1, 2.4), ylim=(3, 16), ylabel=f"table {name}\nread, dB")
        right.set(xlim=(-_LIMIT_DB, _LIMIT_DB), ylim=(-1, 1), yticks=[])
        right.axvline(0, color=style.MEANING["limit"])
        return (
            self.line(left, "s", color=style.MEANING["other"], mfc="white", ms=8),
            self.line(left, "o", color=style.MEANING["antenna"], ms=9),
            self.line(right, color=style.MEANING["reading"], lw=4),
            self.line(right, "o", color=style.MEANING["reading"], ms=10),
        )

    def move(self, fall_db_h, each, guess, placed):
        each = int(each)
        found = reports(fall_db_h, each) if placed else None
        self._show(fall_db_h, each, found)
        if not placed:
            return Words("", f"{_plan(each)} Nothing is read yet.")
        verdict = _said(fall_db_h, each, found, guess)
        answer = (ASKS.options[0], None, ASKS.options[2])[_proved(found)]
        return Words(verdict, f"{_plan(each)} {verdict}", answer)

    def _show(self, fall_db_h, each, found):
        """Another evening; ``found`` as of ``reports``, None while it is asked."""
        hour, levels = _levels(fall_db_h, each)
        self.told.set_text(f"falls {fall_db_h:g} dB an hour")
        for table, (one, two, bar, mean) in enumerate(self.rows):
            up = who(ORDERS[0], each) ^ table
            level = levels[table] if found else np.full(hour.size, 4.0)
            one.set_data(hour[up == 0], level[up == 0])
            two.set_data(hour[up == 1], level[up == 1])
            middle, half = found[table] if found else (np.nan, np.nan)
            middle = -middle if table else middle
            ends = np.clip([middle - half, middle + half], -_LIMIT_DB, _LIMIT_DB)
            bar.set_data(ends, [0, 0])
            mean.set_data(np.clip([middle], -_LIMIT_DB, _LIMIT_DB), [0])


def _proved(found):
    """How many of the two tables name a better one."""
    return sum(mean > half for mean, half in found)


def _said(fall_db_h, each, found, guess):
    says = (
        "neither table can tell",
        "one table names the one it put up first, the other cannot tell",
        "each table names the one it put up first",
    )[_proved(found)]
    means = " and ".join(signed(mean, 1) for mean, _ in found)
    ends = "; ".join(
        f"table {name} {signed(mean - half, 1)} to {signed(mean + half, 1)} dB"
        for name, (mean, half) in zip("AB", found, strict=True)
    )
    told = f" You said: {guess}." if guess else ""
    return (
        f"Equal antennas, and {says}: {means} dB for its first.{told} The ends, first minus second: "
        f"{ends}. Between an antenna's turn and the other's the level fell by "
        f"{fall_db_h * SLOT_H * each:.1f} dB; more mountings make it worse."
    )
