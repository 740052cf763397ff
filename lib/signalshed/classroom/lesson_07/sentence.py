"""One sentence of a stranger, beside another antenna: what moves the answer more."""

import functools
import tempfile

from ... import advice, simulate
from ...plots import style
from ...words import signed
from .. import Choice, GuessChoice, Panel, Words
from ..canvas import Moving, bars
from .asking import STRANGERS, write_asker

SENTENCES = {
    "I get 5.1, not 9.1, not 3.1": {"gets": ["5.1"], "gets_not": ["9.1", "3.1"]},
    "I get 5.1 and 9.1, not 3.1": {"gets": ["5.1", "9.1"], "gets_not": ["3.1"]},
    "I get 5.1, 9.1 and 3.1": {"gets": ["5.1", "9.1", "3.1"]},
}
"""What somebody with a flat antenna at the window may tell, each with what it means."""


def sentence_panel(town=None):
    """What a stranger wrote: a guess, then what that sentence moves and what another antenna does.

    Parameters: ``town`` folder of the stranger's stations, None for the invented town.

    >>> sentence_panel().verdict[-39:]
    'gets there, or a better antenna for it?'
    """
    town = str(simulate.demo.FOLDER / "town" if town is None else town)
    asks = GuessChoice(
        "more", "Your guess: more moves", ("the sentence", "the antenna", "both alike"),
        question="What moves the answer more: a sentence on what one gets there, or a better "
        "antenna for it?",
    )  # fmt: skip
    controls = (Choice("wrote", "They wrote", tuple(SENTENCES)), asks)
    return Panel("One sentence", controls, _Moves.of(town, asks), (8.8, 3.0))


def answers(wrote, town):
    """Stations for who told nothing and for who ``wrote`` one of SENTENCES: two pairs of numbers.

    Each pair is what a flat antenna at the window brings, and the best antenna there. Parameters:
    ``wrote`` a key of SENTENCES; ``town`` folder of the stations.
    """
    return _brought("", town), _brought(wrote, town)


@functools.lru_cache(maxsize=16)
def _brought(wrote, town):
    with tempfile.TemporaryDirectory() as room:
        told = {**STRANGERS["from the street"], **SENTENCES.get(wrote, {})}
        row = advice.many_roofs([write_asker(room, "who", told, town)]).iloc[0]
    return float(row["with_mine"]), float(row["expected"])


class _Moves(Moving):
    """A line for who told nothing, a line for who wrote: hollow the flat antenna, full the best."""

    def draw(self, figure, town, asks):
        self.town, self.asks, colour = town, asks, style.MEANING["forecast"]
        ax = figure.add_subplot(xlim=(0, 14), ylim=(1.6, -0.6))
        ax.set_yticks([0, 1], ["told nothing", "and wrote"])
        ax.set_xlabel("stations on average, at this window, of 14")
        ax.set_title("ring: the flat antenna   dot: the best one there", fontsize=11)
        self.way = self.line(ax, color=style.GREY, ls=":", lw=2)
        self.lines = self.keep(ax.hlines([0, 1], 0, 0, color=colour, lw=4))
        self.flat = self.line(ax, "o", color=colour, mfc="white", ms=11, mew=2)
        self.best = self.line(ax, "o", color=colour, ms=8)

    def move(self, wrote, guess, placed):
        found = answers(wrote, self.town) if placed else ()
        rows, flat, best = range(len(found)), [f for f, _ in found], [b for _, b in found]
        bars(self.lines, rows, flat, best, across=True)
        self.flat.set_data(flat, rows)
        self.best.set_data(best, rows)
        self.way.set_data(best, rows)
        if not placed:
            return Words("", f"Two lines, still empty: nothing told, and {wrote!r}.")
        verdict = _said(wrote, found, guess)
        moved, gained = abs(best[1] - best[0]), best[1] - flat[1]
        return Words(verdict, verdict, self.asks.more(moved, gained))


def _said(wrote, found, guess):
    (_, before), (mine, best) = found
    told = f"You said {guess}. " if guess else ""
    sentence, antenna = signed(best - before, 1), signed(best - mine, 1)
    head = f"The sentence moves the answer by {sentence} stations, the best antenna by {antenna}."
    if told:
        who = "it" if guess == "the sentence" else "the sentence"
        head = f"{told[:-2]}; {who}{head[len('The sentence') :]}"
    return (
        f"{head} They wrote: {wrote}. Told nothing, the best antenna there brings {before:.1f}; told "
        f"this, {best:.1f}, and the flat one that hangs there {mine:.1f}."
    )
