"""How many pairs it takes to call a difference."""

import numpy as np

from ... import facts, trials
from ...plots import style
from .. import Panel, Slider, Words
from ..canvas import Moving

CONTROLS = (
    Slider("difference_db", "Difference worth finding, dB", 0.5, 6, 2, step=0.25),
    Slider("pair_sd_db", "One pair scatters by, dB (sd)", 0.5, 3, 1.4, step=0.1),
    Slider("power_pct", "Chance to find it, %", 50, 95, 80),
)

_PAIRS = np.arange(2, 41)


def power_panel():
    """The chance of calling a difference, by number of pairs, and the hours it takes.

    >>> power_panel().verdict[:34]
    'A true difference of 2 dB is found'
    """
    return Panel("How many pairs?", CONTROLS, _Power.of(), (8.4, 4.4))


def pair_hours(pairs, stations=5):
    """Hours for so many pairs on ``stations`` channels, antennas aimed at each."""
    minutes = {k: facts.value("trial_plan", f"{k}_minutes") for k in ("swap", "aim", "reading")}
    each = minutes["swap"] + stations * (minutes["aim"] + minutes["reading"])
    return 2 * pairs * each / 60


class _Power(Moving):
    """Chance against pairs, the chance that is wished for, and where they meet."""

    def draw(self, figure):
        ax = figure.add_subplot(xlim=(1, 41), ylim=(0, 103), ylabel="chance to find it, %")
        ax.set(xlabel="pairs (dipole and antenna, one after the other)")
        self.curve = self.line(ax, color=style.MEANING["forecast"])
        self.wish = self.line(ax, ":", color=style.MEANING["limit"])
        self.dot = self.line(ax, "o", color=style.MEANING["forecast"], ms=11)

    def move(self, difference_db, pair_sd_db, power_pct):
        needed = trials.repeats_needed(difference_db, pair_sd_db, power=power_pct / 100)
        chance = 100 * trials.chance_to_call(difference_db, pair_sd_db, _PAIRS)
        self.curve.set_data(_PAIRS, chance)
        self.wish.set_data([1, 41], [power_pct] * 2)
        at = needed == _PAIRS
        self.dot.set_data(_PAIRS[at], chance[at])
        verdict = _said(difference_db, pair_sd_db, needed, chance)
        return Words(verdict, f"Chance to find a difference, by pairs. {verdict}")


def _said(difference_db, pair_sd_db, needed, chance):
    beyond = "" if needed <= _PAIRS[-1] else ", beyond this picture"
    half = trials.half_width_db(max(needed, 2), pair_sd_db)
    return (
        f"A true difference of {difference_db:g} dB is found with {needed} pairs{beyond}: about "
        f"{pair_hours(needed):.1f} hours on five stations. The answer is then good to "
        f"{half:.1f} dB either way. With 3 pairs the chance is {np.floor(chance[1]):.0f} %."
    )
