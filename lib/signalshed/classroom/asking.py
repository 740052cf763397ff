"""What every panel that asks has in common: bare axes until a guess is placed, then words beside it."""

from dataclasses import replace

from .panel import FINDING_LETTERS, Words


def held_back(asks, update, find, say, bare):
    """The ``move`` of a panel that asks: nothing is found before the guess is placed.

    Parameters: ``asks`` the panel's Guess or GuessChoice; ``find`` takes the values of the controls
    and returns what there is to find; ``update`` moves the picture to ``(found, guess, **values)``, the
    first two None before; ``say`` takes ``(found, **values)`` and returns Words, to which the guess is
    added; ``bare`` the alternative text before, or a function of the values that gives it.

    >>> from types import SimpleNamespace
    >>> asks = SimpleNamespace(said=str)
    >>> say = lambda found: Words(f"The {found} does. It is higher.", "a line", found)
    >>> move = held_back(asks, lambda found, guess: None, lambda: "mast", say, "no line yet")
    >>> move(guess="attic", placed=True).verdict
    'The mast does; you said attic. It is higher.'
    """

    def move(guess, placed, **values):
        found = find(**values) if placed else None
        update(found, guess if placed else None, **values)
        if not placed:
            return Words("", bare(**values) if callable(bare) else bare)
        words = say(found, **values)
        return words if guess is None else replace(words, verdict=_with(words, asks.said(guess)))

    return move


def _with(words, said):
    """A verdict with what was ``said``: in the finding if it fits there, else right after it."""
    joined = f"{words.finding.rstrip('.')}; you said {said}."
    if len(joined) > FINDING_LETTERS:
        joined = f"{words.finding} You said {said}."
    return f"{joined} {words.account}".strip()
