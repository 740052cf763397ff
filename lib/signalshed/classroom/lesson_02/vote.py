"""The same amplifier in three places, and height instead: a vote before it is shown."""

from ... import facts
from ...plots import style
from ...plots.picture import ordered
from ...site import Mount
from ...words import signed
from .. import Choice, GuessChoice, Panel, Slider, Words
from ..asking import held_back
from .account import AMPLIFIERS, CABLE_M, CHANNELS, HEIGHT_M, account_of, feed_with, rf_of

HIGHER_M = 6
"""How much higher the antenna may stand instead of an amplifier, in the vote."""


_ASKS = GuessChoice(
    "where",
    "It brings more",
    ("at the mast", "at the TV", "the same at both"),
    question="One weak station, one amplifier of 16 dB: does it bring more at the mast, at the TV, "
    "or as much at both?",
)


def vote_panel():
    """The same amplifier at the mast, at the TV, without supply, and height instead: a guess first.

    >>> vote_panel().verdict[-30:]
    'at the TV, or as much at both?'
    """
    controls = (
        Choice("channel", "Channel", CHANNELS, CHANNELS[2]),
        Slider("cable_m", "Cable, m", *CABLE_M),
        _ASKS,
    )
    return Panel("The same box, three places", controls, _draw_vote, (8.8, 3.8))


def voted(rf_channel, cable_m):
    """Spare dB by what is done: nothing, the amplifier in three places, six metres more of height.

    Parameters: ``rf_channel`` of the us plan; ``cable_m`` of cable, from 0; higher up, 6 m more.

    >>> [round(db) for db in voted("26", 18).values()]
    [15, 23, 20, -5, 19]
    """
    feeds = {name: feed_with(name, cable_m) for name in AMPLIFIERS}
    spare = {n: account_of(rf_channel, feed=f)[1]["spare_db"] for n, f in feeds.items()}
    higher = Mount("here", "mast", float(HEIGHT_M[2] + HIGHER_M))
    feed = feed_with("none", cable_m + HIGHER_M)
    spare["none, and 6 m higher"] = account_of(rf_channel, mount=higher, feed=feed)[1]["spare_db"]
    return spare


def _draw_vote(figure):
    names = ("no amplifier", "at the mast", "at the TV", "its plug out", "none, 6 m higher")
    with style.house():
        ax = figure.add_subplot(xlim=(-25, 50), ylim=(len(names) - 0.4, -0.6))
        ax.set_yticks(range(len(names)), names)
        ax.set_xlabel("spare dB")
        ax.axvline(0, color=style.MEANING["limit"], lw=1)
        colour = style.MEANING["forecast"]
        lines = ax.hlines(range(len(names)), 0, 0, color=colour, lw=4)
        (dots,) = ax.plot([], [], "o", color=colour, ms=11)
        (guessed,) = ax.plot([], [], "<", color=style.MEANING["aim"], ms=11)
        said = [ax.text(0, 0, "", va="bottom", ha="center") for _ in names]
        mark = ax.text(0, 0, " your guess", va="center", color=style.AIM_TEXT)

    def find(channel, cable_m):
        return voted(rf_of(channel), cable_m)

    def update(spare, guess, channel, cable_m):
        bare = account_of(rf_of(channel), feed=feed_with("none", cable_m))[1]["spare_db"]
        shown = list(spare.values()) if spare else [bare]
        at = range(len(shown))
        lines.set_segments([[(0, y), (x, y)] for x, y in zip(shown, at, strict=True)])
        dots.set_data(shown, at)
        for text, x, y in zip(said, [*shown, *[None] * 4], range(len(names)), strict=False):
            text.set_text("" if x is None else signed(x, 1))
            text.set_position((x or 0, y - 0.16))
        rows = {"at the mast": [1], "at the TV": [2], "the same at both": [1, 2]}.get(guess, [])
        guessed.set_data([38] * len(rows), rows)
        mark.set_text(" your guess" if rows else "")
        mark.set_position((39, sum(rows) / max(len(rows), 1)))

    return ordered((lines, dots, guessed, *said, mark)), held_back(
        _ASKS, update, find, _vote_words, _VOTE
    )


_VOTE = "Spare dB without an amplifier, and four lines that are still empty."


def _vote_words(spare, **_):
    none, *rest = spare.values()
    mast, tv, dead, higher = (signed(db - none) for db in rest)
    finding = (
        f"At the mast the box brings {mast} dB, at the TV {tv}, its plug out {dead}; six metres of "
        f"height bring {higher}."
    )
    each = ", ".join(f"{name}: {signed(db, 1)}" for name, db in spare.items())
    asks = facts.table("changes").set_index("change")["price"]
    money = (
        f"The box asks for {asks['mast_amplifier']}, the height for {asks['higher']} and no supply."
    )
    return Words(f"{finding} {money}", f"Spare dB. {each}. {money}", _ASKS.more(*rest[:2]))
