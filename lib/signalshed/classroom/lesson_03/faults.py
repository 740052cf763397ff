"""What a sign at the meter usually means; and cards with a hidden fault, to be found from two rounds."""

import functools
from dataclasses import replace

import numpy as np
import pandas as pd

from ... import budget, facts, simulate, survey
from ...plots import ChangePicture
from ...units import check
from ...words import signed
from .. import GuessChoice, Panel, Words
from ..asking import held_back
from ..cards import table_card

_PLUG = "a plug or a connection"
FAULTS = (
    ("vhf noise", "noise at VHF", 9.0),
    ("turned", "the antenna has turned", 45.0),
    ("one station", "one station itself", 12.0),
    ("sector", "leaves or a new house on one side", 10.0),
    ("none", "nothing has changed", 0.0),
    ("water", "water in the cable", 9.0),
)
"""Behind each card: the cause, how the guess calls it, and its dB (turned: degrees)."""

_CAUSES = tuple(sorted([_PLUG, *(words for _, words, _ in FAULTS)]))

_SETUP = budget.Setup("two-band Yagi", "roof mast", heading_deg=40.0)
_CHANNELS = ("9", "12", "17", "19", "21", "24", "26", "27", "29", "31", "33")
_SPARE_DB, _EACH_DB, _SEED = 18.0, 0.8, 13


def fault_card():
    """Signs, likely causes and what to do, as a Card; from the facts table ``faults``.

    >>> fault_card().text.splitlines()[0]
    'what you see | likely | then'
    """
    rows = facts.table("faults")[["sign", "likely", "then"]]
    groups = [("", [tuple(row) for row in rows.itertuples(index=False)])]
    return table_card(["what you see", "likely", "then"], groups)


def fault_panel(card=1):
    """Two rounds of eleven stations, and a fault between them to be guessed before it is shown.

    Parameters: ``card`` 1 to 6. One at a time: a guess on one would uncover the others.

    >>> fault_panel().verdict
    'Card 1: what do the losers share, the MHz, the bearing or nothing, and so what is the cause?'
    """
    number = int(check("card", card, low=1, high=len(FAULTS)))
    title = f"Card {number} of {len(FAULTS)}: what has changed?"
    asks = GuessChoice(
        "cause",
        "The cause",
        _CAUSES,
        question=f"Card {number}: what do the losers share, the MHz, the bearing or nothing, and so "
        "what is the cause?",
    )
    return Panel(title, (asks,), functools.partial(_draw, number, asks), (8.8, 4.0))


def two_rounds(cause, size):
    """A roof with a round of readings in March, and the round of June: (Site, DataFrame).

    Parameters: ``cause`` plug or one of FAULTS, ``size`` its dB (turned: degrees). Drawn as they
    are, not as ``survey.changed`` thinks of them.

    >>> march, june = two_rounds("plug", 6)
    >>> len(march.readings), len(june)
    (11, 11)
    """
    site = _roof()
    rows = [site.stations["rf_channel"].tolist().index(channel) for channel in _CHANNELS]
    rng = np.random.default_rng([_SEED, len(cause)])
    then, now = _EACH_DB * rng.standard_normal((2, len(rows)))
    march = replace(site, readings=_round(then, "2031-03-14"))
    return march, _round(now + _moved_db(site, cause, size)[rows], "2031-06-14")


@functools.cache
def _roof():
    return simulate.demo_site()


def _round(off_db, day):
    level = _SPARE_DB + off_db
    return pd.DataFrame({
        "time": f"{day}T20:00:00+00:00", "mount": "roof mast", "antenna": "two-band Yagi",
        "antenna_revision": "1", "meter": "living room", "scale": "cn_db", "rf_channel": _CHANNELS,
        "heading_deg": 40.0, "pad_db": 0.0, "reading": np.round(15.2 + level, 1), "locked": level > 0,
    })  # fmt: skip


def _moved_db(site, cause, size):
    """What the fault does to each station of the list, dB."""
    freq, bearing = (site.stations[c].to_numpy(float) for c in ("freq_mhz", "bearing_deg"))
    if cause == "turned":
        antenna, mount, _ = budget.parts_of(site, _SETUP)
        gain = budget.gain_toward_dbd(site, antenna, mount, np.array([40.0, 40.0 + size]))
        return np.nan_to_num(gain[1] - gain[0])
    south = np.abs((bearing - 162 + 180) % 360 - 180) < 30
    hit = {
        "none": 0.0, "plug": 1.0, "water": (freq / 580) ** 0.7, "vhf noise": freq < 300,
        "sector": south, "one station": site.stations["rf_channel"].to_numpy() == "24",
    }[cause]  # fmt: skip
    return -size * (np.zeros(freq.size) + hit)


@functools.cache
def _card(number):
    cause, _, size = FAULTS[number - 1]
    return survey.changed(*two_rounds(cause, size))


def _draw(card, asks, figure):
    picture = ChangePicture(figure.subplots(1, 2, sharey=True), (-22, 8))
    found, truth = _card(card), FAULTS[card - 1][1]

    def update(shown, guess):
        picture.update(found, cause=shown is not None)

    def say(found):
        verdict = f"Card {card}: it was {truth}. The shape says: {found.verdict} {found.reading}"
        return Words(verdict, f"{picture.alt} {verdict}", truth)

    bare = f"Card {card}. {_seen(found)}"
    return picture.artists, held_back(asks, update, lambda: found, say, bare)


def _seen(found):
    change = found.differences["change_db"]
    return (
        f"Two rounds apart: the most changed station by {signed(change.loc[change.abs().idxmax()])} dB, "
        f"the middle one by {signed(change.median())} dB; bars hold 9 of 10."
    )
