"""One evening with a dipole and a loop: the order they go up in, repeats, and a level that drifts."""

import numpy as np

from ... import trials
from ...plots import style
from ...plots.picture import ordered
from ...words import signed
from .. import Choice, Panel, Slider, Switch, Words

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
)

SLOT_H = 0.15
"""Time from one mounting to the next, hours."""

_MANY = 2000
_LEVEL_DB = 12.0
_SEED = 60


def order_panel():
    """Order, repeats and drift: what one evening says of two antennas, and how often it is wrong.

    >>> order_panel().verdict[:45]
    'This evening says: the loop is 0.3 dB worse, '
    """
    return Panel("One evening, two antennas", CONTROLS, _draw, (8.8, 4.0))


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


def _draw(figure):
    left, right = figure.subplots(1, 2, width_ratios=(3, 1))
    left.set(xlim=(-0.2, 3.7), ylim=(0, 24), xlabel="hours", ylabel="spare dB as read")
    right.set(xlim=(-1, 1), ylim=(-6, 6), ylabel="loop minus dipole, dB", xticks=[])
    right.axhline(0, color=style.MEANING["limit"])
    (drift,) = left.plot([], [], "--", color=style.MEANING["truth"])
    (dipole,) = left.plot([], [], "s", color=style.MEANING["other"], mfc="white", ms=8)
    (loop,) = left.plot([], [], "o", color=style.MEANING["antenna"], ms=9)
    left.set_title("white squares: dipole   dots: loop", fontsize=11)
    (bar,) = right.plot([], [], color=style.MEANING["reading"], lw=4)
    (mean,) = right.plot([], [], "o", color=style.MEANING["reading"], ms=10)
    (true,) = right.plot([], [], "--", color=style.MEANING["truth"])

    def move(truth, **values):
        world = {**values, "evening": int(values["evening"]), "pairs": int(values["pairs"])}
        up, level, drifted = _one(**world)
        hour = SLOT_H * np.arange(up.size)
        dipole.set_data(hour[up == 0], level[up == 0])
        loop.set_data(hour[up == 1], level[up == 1])
        drift.set_data(*((hour, _LEVEL_DB + drifted) if truth else ([], [])))
        middle, half = (float(x[0]) for x in judged(up, level[None]))
        bar.set_data([0, 0], np.clip([middle - half, middle + half], -6, 6))
        mean.set_data([0], np.clip([middle], -6, 6))
        true.set_data([-1, 1], [world["better_db"]] * 2) if truth else true.set_data([], [])
        verdict = _said(middle, half, world, truth)
        return Words(verdict, f"Readings of two antennas over an evening. {verdict}")

    return ordered((drift, dipole, loop, bar, mean, true)), move


def _one(evening, **world):
    """The evening of that number: (who, level, drift), each (n,)."""
    up, level, drift = globals()["evening"](**world, seed=_SEED + evening)
    return up, level[0], drift[0]


def _said(middle, half, world, truth):
    low, high = middle - half, middle + half
    word = "better" if middle > 0 else "worse"
    text = (
        f"This evening says: the loop is {abs(middle):.1f} dB {word}, and claims with 9 of 10 that "
    )
    text += f"it lies from {signed(low, 1)} to {signed(high, 1)} dB: {trials.verdict(low, high)}. "
    told = f"True: {signed(world['better_db'], 2)} dB. " if truth else ""
    return text + told + _often(world)


def _often(world):
    """Of many evenings in this order, how many call it wrongly."""
    rest = {k: v for k, v in world.items() if k != "evening"}
    up, level, _ = evening(**rest, count=_MANY)
    mean, half = judged(up, level)
    true = world["better_db"]
    if true == 0:
        wrong = np.abs(mean) > half
        what = "call one of them better though they are equal"
    else:
        wrong = np.sign(true) * mean < 0
        what = "put the worse one in front"
    inside = np.abs(mean - true) <= half
    return (
        f"Of {_MANY} such evenings {100 * wrong.mean():.0f} % {what}; the bar holds the truth on "
        f"{100 * inside.mean():.0f} %."
    )
