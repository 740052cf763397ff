"""One evening with a dipole and a loop: the order they go up in, repeats, and a level that drifts."""

from typing import NamedTuple

import numpy as np

from ... import trials
from ...plots import style
from ...words import signed
from .. import Choice, Guess, Panel, Slider, Switch, Words
from ..canvas import Moving, upright

ORDERS = ("one, then the other", "by turns", "by turns, every second pair turned")
"""Who goes up when: DDDLLL, DLDLDL, or DLLDDL."""

CONTROLS = (
    Choice("order", "Order", ORDERS),
    Slider("pairs", "Pairs of mountings", 2, 12, 4),
    Slider("better_db", "How much better the loop is, dB", -3, 3, 1, step=0.25),
    Slider("drift_db_h", "Level drifts, usual dB per hour", 0, 4, 2, step=0.25),
    Slider("remount_db", "Each mounting is off by, usual dB", 0.1, 2, 0.7, step=0.1),
    Slider("evening", "Evening", 1, 30, 2),
    Switch("truth", "Show what was true", False),
    Guess(
        "wrong_pct",
        "Your guess, % of evenings",
        0,
        100,
        50,
        question="Of 100 evenings like this one, how many put the worse antenna in front?",
    ),
)

SLOT_H = 0.15
"""Time from one mounting to the next, hours."""

_MANY = 2000
_LEVEL_DB = 12.0
_BINS = np.linspace(-6, 6, 49)
_SEED = 60


def order_panel():
    """Order, repeats and drift: what one evening says of two antennas, and how often it is wrong.

    >>> order_panel().verdict[-31:]
    'put the worse antenna in front?'
    """
    return Panel("One evening, two antennas", CONTROLS, _Evenings.of(), (8.8, 4.0))


def who(order, pairs):
    """0 (dipole) or 1 (loop) for each mounting, in the order of going up: (2 x pairs,)."""
    if order == ORDERS[0]:
        return np.repeat([0, 1], pairs)
    turn = np.arange(pairs) % 2 if order == ORDERS[2] else np.zeros(pairs, int)
    return np.column_stack([turn, 1 - turn]).ravel()


def evening(order, pairs, better_db, drift_db_h, remount_db, count=1, seed=_SEED):
    """Levels of every mounting on ``count`` evenings, dB: (who, level, drift), the last two (count, n).

    Parameters: ``order`` one of ``ORDERS``; ``pairs`` 2 or more; ``better_db`` the truth;
    ``drift_db_h`` usual drift per hour, a new one each evening; ``remount_db`` sd of a mounting;
    ``seed`` of all draws.
    """
    rng = np.random.default_rng(seed)
    up = who(order, pairs)
    hour = SLOT_H * np.arange(up.size)
    drift = drift_db_h * rng.standard_normal((count, 1)) * hour
    noise = remount_db * rng.standard_normal((count, 24))[:, : up.size]
    return up, _LEVEL_DB + better_db * up + drift + noise, drift


def judged(up, level_db):
    """Mean and 90 % half-width of loop minus dipole, pair by pair: (count,) each."""
    apart = level_db[:, up == 1] - level_db[:, up == 0]
    half = trials.half_width_db(apart.shape[1], np.maximum(apart.std(axis=1, ddof=1), 1e-6))
    return apart.mean(axis=1), half


class _Evenings(Moving):
    """Left one evening's readings; right what it says, over what two thousand evenings say."""

    def draw(self, figure):
        left, right = figure.subplots(1, 2, width_ratios=(5, 4))
        self._evening(left)
        self._all(right)

    def _evening(self, ax):
        ax.set(xlim=(-0.2, 3.7), ylim=(0, 24), xlabel="hours", ylabel="spare dB as read")
        ax.set_title("squares: dipole   dots: loop", fontsize=11)
        self.drift = self.line(ax, "--", color=style.MEANING["truth"])
        self.dipole = self.line(ax, "s", color=style.MEANING["other"], mfc="white", ms=8)
        self.loop = self.line(ax, "o", color=style.MEANING["antenna"], ms=9)

    def _all(self, ax):
        ax.set(xlim=(_BINS[0], _BINS[-1]), ylim=(0, 1.3), yticks=[])
        ax.set(xlabel="loop minus dipole, dB", ylabel=f"{_MANY} evenings")
        # What lies beyond an end is counted in its last bin.
        ax.set_xticks(range(-6, 7, 3), ["≤−6", "−3", "0", "3", "≥6"])
        ax.set_title("bar: this evening", fontsize=11)
        none, colours = np.zeros(_BINS.size - 1), (style.SKY_BLUE, style.MEANING["aim"])
        self.right, self.wrong = (
            self.keep(ax.stairs(none, _BINS, fill=True, ec=style.BLACK, lw=0.6, fc=c, hatch=hatch))
            for c, hatch in zip(colours, (None, "//"), strict=True)
        )
        ax.axvline(0, color=style.MEANING["limit"])
        self.bar = self.line(ax, color=style.MEANING["reading"], lw=4)
        self.mean = self.line(ax, "o", color=style.MEANING["reading"], ms=10)
        self.true = self.line(ax, "--", color=style.MEANING["truth"])
        self.told = self.text(ax, _BINS[0] + 0.2, 1.0, va="top", bbox=style.PAPER)

    def move(self, truth, guess, placed, evening, **values):
        world = {**values, "pairs": int(values["pairs"])}
        middle, half = self._show_one(world, int(evening), truth)
        many = _many(**world) if placed else None
        self._show_many(many, guess)
        if not placed:
            return Words("", f"{_one_words(middle, half)} The many evenings are still to come.")
        verdict = _said(middle, half, world, many, (guess, truth))
        alt = f"Readings of two antennas over an evening. {verdict}"
        return Words(verdict, alt, 100 * float(many.wrong.mean()))

    def _show_one(self, world, number, truth):
        """The evening of that ``number``; ``truth`` whether to show it. Its mean and half-width, dB."""
        up, levels, drifts = evening(**world, seed=_SEED + number)
        hour, low, high = SLOT_H * np.arange(up.size), *_BINS[[0, -1]]
        self.dipole.set_data(hour[up == 0], levels[0, up == 0])
        self.loop.set_data(hour[up == 1], levels[0, up == 1])
        self.drift.set_data(*((hour, _LEVEL_DB + drifts[0]) if truth else ([], [])))
        middle, half = (float(x[0]) for x in judged(up, levels))
        self.bar.set_data(np.clip([middle - half, middle + half], low, high), [1.15, 1.15])
        self.mean.set_data(np.clip([middle], low, high), [1.15])
        upright(self.true, world["better_db"] if truth else None, 0, 1.3)
        return middle, half

    def _show_many(self, many, guess):
        """What ``many`` evenings say, their wrong side shaded; None while the learner guesses."""
        counts, told = np.zeros((2, _BINS.size - 1)), []
        if guess is not None:
            told.append(f"you: {guess:g} %")
        if many:
            inside = np.clip(many.mean, _BINS[0] + 0.01, _BINS[-1] - 0.01)
            sides = (many.wrong, ~many.wrong)
            counts = np.array([np.histogram(inside[side], _BINS)[0] for side in sides])
            counts = counts / counts.sum(axis=0).max()
            told.append(f"shaded: {100 * many.wrong.mean():.0f} %")
        self.wrong.set_data(counts[0])
        self.right.set_data(counts.sum(axis=0), baseline=counts[0])
        self.told.set_text("\n".join(told))


class _Many(NamedTuple):
    """What many evenings say: ``mean`` dB; whether it is ``wrong``, whether the bar ``holds``."""

    mean: np.ndarray
    wrong: np.ndarray
    holds: np.ndarray


def _many(**world):
    """Many evenings of a ``world``. Wrong is whoever puts the worse one in front; of two equals, whoever
    calls one of them better."""
    up, level, _ = evening(**world, count=_MANY)
    mean, half = judged(up, level)
    true = world["better_db"]
    wrong = np.sign(true) * mean < 0 if true else np.abs(mean) > half
    return _Many(mean, wrong, np.abs(mean - true) <= half)


def _one_words(middle, half):
    word = "better" if middle > 0 else "worse"
    low, high = middle - half, middle + half
    return (
        f"This evening says: the loop is {abs(middle):.1f} dB {word}, and claims with 9 of 10 that it "
        f"lies from {signed(low, 1)} to {signed(high, 1)} dB: {trials.verdict(low, high)}."
    )


def _said(middle, half, world, many, shown):
    guess, truth = shown
    what = "put the worse one in front" if world["better_db"] else "call one of two equals better"
    told = "" if guess is None else f"; you said {guess:g} %"
    true = f" True: {signed(world['better_db'], 2)} dB." if truth else ""
    return (
        f"Of {_MANY} such evenings {100 * many.wrong.mean():.0f} % {what}{told}. The bar holds the "
        f"truth on {100 * many.holds.mean():.0f} %. {_one_words(middle, half)}{true}"
    )
