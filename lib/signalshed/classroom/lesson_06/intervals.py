"""The ends that a trial claims, with the truth to reveal; and how often percents name the wrong one."""

import functools

import numpy as np
import pandas as pd

from ... import meters, trials
from ...plots import style
from ...simulate.trial import TrialWorld, invented_trial
from ...units import check
from ...words import counted, short, signed
from .. import Choice, Panel, Switch, Words
from ..canvas import Moving, bars, blank

WHOLE = "the whole band"


def claims(found):
    """Antenna by antenna what the percents claim and what the trial says: a DataFrame.

    Parameters: ``found`` a trials.Comparison.
    """
    naive = found.naive.rename(columns={"says": "percents_say"})
    kept = ["percent_points", "percents_say", "difference_db", "low_db", "high_db", "verdict"]
    return naive.merge(found.bands, on="antenna").set_index("antenna")[kept]


def intervals_panel(found=None, true_db=None):
    """What a trial claims as bars, over the whole band or channel by channel; a switch shows the truth.

    Parameters: ``found`` a trials.Comparison, None for an invented trial; ``true_db`` what is true, a
    DataFrame of antennas by channels, where it is known.

    >>> intervals_panel().verdict[:14]
    'The whole band'
    """
    if found is None:
        found, true_db = _practice()
    controls = [Choice("seen", "Seen", (WHOLE, *found.bands["antenna"]))]
    if true_db is not None:
        controls.append(Switch("truth", "Show what was true"))
    return Panel("What the trial claims", controls, _Bars.of(found, true_db), (8.8, 3.8))


@functools.cache
def _practice():
    trial = invented_trial(3, TrialWorld(channels=6, antennas=2, antenna_sd_db=3))
    return _study(trial), trial.truth_db


def _study(trial):
    """What the library makes of an invented ``trial``: a trials.Comparison."""
    return trials.study(trial.readings, trial.baseline, meters.MeterCurve.fit(trial.ladder))


def _rows(found, true_db, seen):
    """(name, low, middle, high, true) of each bar, dB; true is nan where nobody knows it."""
    whole = seen == WHOLE
    table = found.bands if whole else found.table[found.table["antenna"] == seen]
    for row in table.itertuples():
        name = row.antenna if whole else f"RF {row.rf_channel}"
        true = np.nan
        if true_db is not None:
            of = true_db.loc[row.antenna]
            true = float(of.mean() if whole else of[row.rf_channel])
        yield name, row.low_db, row.difference_db, row.high_db, true


class _Bars(Moving):
    """A row a bar: its ends, its middle, zero as a line; a diamond for what was true."""

    def draw(self, figure, found, true_db):
        self.found, self.true_db = found, true_db
        most = max(len(found.bands), found.table.groupby("antenna").size().max())
        low, high = found.table["low_db"].min(), found.table["high_db"].max()
        span = high - min(low, 0)
        left = min(low, 0) - 0.42 * span
        ax = figure.add_subplot(xlim=(left, high + 0.05 * span), ylim=(most - 0.4, -0.6))
        ax.set(yticks=[], xlabel="dB over the dipole (bars: 9 of 10)")
        ax.spines["left"].set_visible(False)  # it would run through the first letter of the names
        ax.axvline(0, color=style.MEANING["limit"])
        self.bars = self.keep(ax.hlines([], 0, 0, color=style.MEANING["reading"], lw=4))
        self.dots = self.line(ax, "o", color=style.MEANING["reading"], ms=9)
        self.true = self.line(ax, "D", color=style.MEANING["truth"], mec="black", ms=9)
        self.names = [self.text(ax, left, k, va="center") for k in range(most)]

    def move(self, seen, truth=False):
        rows = list(_rows(self.found, self.true_db, seen))
        names, low, middle, high, true = zip(*rows, strict=True)
        places = range(len(rows))
        bars(self.bars, places, low, high, across=True)
        self.dots.set_data(middle, places)
        self.true.set_data((true, places) if truth else ([], []))
        blank(*self.names)
        for text, name in zip(self.names, names, strict=False):
            text.set_text(short(name, 24))
        verdict = _said(seen, rows, truth)
        return Words(verdict, f"Ends of differences to the dipole. {verdict}")


def _said(seen, rows, truth):
    clear = sum(trials.verdict(low, high) != "cannot tell" for _, low, _, high, _ in rows)
    head = WHOLE if seen == WHOLE else short(seen, 24)
    text = f"{head[0].upper()}{head[1:]}: {counted(len(rows), 'bar')}, {clear} clear of zero"
    if truth:
        inside = sum(low <= true <= high for _, low, _, high, true in rows)
        text += f"; what was true lies inside {inside}"
    ends = [f"{name} {signed(low, 1)} to {signed(high, 1)} dB" for name, low, _, high, _ in rows]
    true = [f"{name} {signed(true, 1)}" for name, *_, true in rows]
    return f"{text}. Ends: {'; '.join(ends)}." + (f" True: {'; '.join(true)}." if truth else "")


# ---- many invented trials ---------------------------------------------------------------------------

WORLD = TrialWorld(channels=6, antennas=1, antenna_sd_db=1.5)


@functools.cache
def wrong_names(count=40):
    """Antenna or dipole, which is better? How often each way of judging names the wrong one.

    Parameters: ``count`` of invented antennas, each some 1.5 dB from the dipole, 1 to 1000. Returns a
    DataFrame by way of judging: named (antennas for which it named one better), wrong (of those).

    >>> int(wrong_names(2).loc["percents, each put up once", "named"])
    2
    """
    size = int(check("count", count, low=1, high=1000))
    rows = np.array([_one(seed) for seed in range(size)])
    calls = rows[:, 1:].T
    return pd.DataFrame(
        {
            "named": [int((call != 0).sum()) for call in calls],
            "wrong": [int((call == -rows[:, 0]).sum()) for call in calls],
        },
        index=["percents, each put up once", "percents, two days", "fair trial, two days"],
    )


def _one(seed):
    """Signs of the truth and of what each way of judging says, 0 for cannot tell."""
    quick = invented_trial(seed, WORLD.but(sessions=1, returns=1)).readings
    trial = invented_trial(seed, WORLD)
    call = {"better": 1, "worse": -1}.get(_study(trial).bands["verdict"].iloc[0], 0)
    truth = np.sign(trial.truth_db.to_numpy().mean())
    return truth, _by_percents(quick), _by_percents(trial.readings), call


def _by_percents(readings):
    """Sign of the antenna's mean percents over the dipole's, channel by channel where both have one."""
    mean = readings.pivot_table(index="rf_channel", columns="antenna", values="reading")
    return np.sign((mean["antenna 1"] - mean["half-wave dipole"]).mean())
