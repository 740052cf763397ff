"""The guesses of a lesson: kept for its end, and a teacher's switch that opens every answer."""

import weakref

from .. import markup
from .cards import table_card

_KEPT = {}
_ASKING = weakref.WeakSet()
_OPEN = [False]


def keep(panel):
    """Keep the placed guess of a ``panel`` and what the panel then said, for ``card``."""
    _KEPT[panel.title] = (panel.asks.question, panel.asks.said(panel.guess), panel.words.finding)


def card():
    """Every guess placed since the lesson began, and what came: a Card for the lesson's end.

    >>> _KEPT.clear()
    >>> card()
    You have not placed a guess yet.
    """
    if not _KEPT:
        nothing = "You have not placed a guess yet."
        return markup.Card(markup.paragraph(nothing), nothing)
    return table_card(["asked", "you guessed", "what came"], [("", list(_KEPT.values()))])


def open_all(on=True):
    """The teacher's switch: with ``on`` every panel that asks shows its answer from now on, those on
    the page too; without, they ask again.

    >>> open_all(), open_all(on=False)
    (None, None)
    """
    _OPEN[0] = bool(on)
    for panel in tuple(_ASKING):
        panel.reset()


def opened(panel):
    """Whether a ``panel`` that asks starts with its answer shown; open_all reaches it from now on.

    >>> from types import SimpleNamespace
    >>> opened(SimpleNamespace(asks=None))
    True
    """
    if panel.asks is None:
        return True
    _ASKING.add(panel)
    return _OPEN[0]
