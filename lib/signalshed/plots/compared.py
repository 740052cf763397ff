"""Pictures of trials: differences by channel, one finding as a still, and a club's forest."""

import textwrap

import numpy as np

from ..units import SDS_TO_90
from ..words import counted, listed, short, signed
from . import style
from .picture import Drawing, drawn, ordered

MOST_DB = 25.0


def differences(comparison, ax=None):
    """Differences to the baseline with their 90 % ends, channel by channel: a Picture, or a Drawing.

    A filled mark is clear of zero, an open one cannot tell; no mark, only a pale bar, where the antenna
    was never measured. Parameters: ``comparison`` from shed.trials.study; ``ax`` an Axes, or None.

    >>> from .. import simulate, trials
    >>> from ..meters import MeterCurve
    >>> trial = simulate.invented_trial(3, simulate.TrialWorld(antennas=1, channels=3))
    >>> found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    >>> differences(found).alt[:40]
    'Differences to half-wave dipole, dB. ant'
    """
    table = comparison.table
    names = list(dict.fromkeys(table["antenna"]))
    height = 1.6 + 0.34 * len(table) + 0.3 * len(names)
    return drawn(ax, (8.4, min(height, 14.0)), lambda axes: _draw_differences(axes, comparison))


def _draw_differences(ax, comparison):
    artists, labels, y = [], [], 0.0
    for name, rows in comparison.table.groupby("antenna", sort=False):
        for row in rows.sort_values("freq_mhz").itertuples():
            artists += _bar(ax, y, row, measured=row.readings > 0)
            labels.append((y, f"{name}, RF {row.rf_channel}"))
            y += 1.0
        y += 0.7
    _frame(ax, labels, y, comparison.baseline)
    ax.set_xlim(*_limits(comparison.table))
    return Drawing(ordered(artists), _differences_alt(comparison))


def _frame(ax, labels, end, against):
    """The zero line, and ``labels`` (y, words) down to ``end``."""
    ax.axvline(0, color=style.MEANING["limit"], lw=1.5)
    ax.set_yticks(*zip(*labels, strict=True))
    ax.set(ylim=(end - 0.2, -0.8), xlabel=f"dB against {against} (bars: 9 of 10)")


def _bar(ax, y, row, measured=True):
    colour = style.MEANING["reading"]
    low, high = np.clip([row.low_db, row.high_db], -MOST_DB, MOST_DB)
    (bar,) = ax.plot([low, high], [y, y], color=colour, lw=3, alpha=1.0 if measured else 0.35)
    if not measured:
        return [bar]
    clear = row.low_db > 0 or row.high_db < 0
    face = colour if clear else "white"
    (mark,) = ax.plot(row.difference_db, y, "o", color=colour, markerfacecolor=face, ms=9)
    return [bar, mark]


def _limits(table):
    ends = np.clip([table["low_db"].min(), table["high_db"].max(), 0.0], -MOST_DB, MOST_DB)
    room = 0.06 * (ends.max() - ends.min()) + 0.2
    return ends.min() - room, ends.max() + room


def _differences_alt(comparison):
    words = [
        f"{row.antenna} at {row.band} {signed(row.difference_db, 1)} "
        f"({signed(row.low_db, 1)} to {signed(row.high_db, 1)}): {row.says}"
        for row in comparison.bands.itertuples()
    ]
    return f"Differences to {comparison.baseline}, dB. {'; '.join(words)}."


def finding_words(comparison):
    """The one finding of a trial in at most 120 letters: its declared question, or its clearest band.

    Parameters: ``comparison`` from shed.trials.study.

    >>> from .. import simulate, trials
    >>> from ..meters import MeterCurve
    >>> trial = simulate.invented_trial(3, simulate.TrialWorld(antennas=1, channels=3))
    >>> found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    >>> finding_words(found)[:9]
    'antenna 1'
    """
    row, other = finding_row(comparison), comparison.baseline
    words = f"{row.antenna}: {row.says} than {other} at {row.band}"
    if row.verdict == "cannot tell":
        words = (
            f"Whether {row.antenna} is better than {other} at {row.band}, this trial cannot tell"
        )
    return short(words, 120)


def finding_row(comparison):
    """The row of ``bands`` the finding is about.

    Parameters: ``comparison`` from shed.trials.study.
    """
    bands = comparison.bands
    if comparison.plan is not None:
        antenna, band = comparison.plan.question
        asked = bands[(bands["antenna"] == antenna) & (bands["band"] == band)]
        if len(asked):
            return next(asked.itertuples())
    clear = np.maximum(bands["low_db"], -bands["high_db"])
    return next(bands.loc[[clear.idxmax()]].itertuples())


def finding(comparison):
    """One finding as a still of 16 to 9, to be shown on a screen: a Picture of 1920 by 1080 as saved.

    Parameters: ``comparison`` from shed.trials.study. ``Picture.save(path, (1920, 1080))`` writes it.

    >>> from .. import simulate, trials
    >>> from ..meters import MeterCurve
    >>> trial = simulate.invented_trial(3, simulate.TrialWorld(antennas=1, channels=3))
    >>> found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    >>> finding(found).figure.get_size_inches().round(2).tolist()
    [12.8, 7.2]
    """
    return drawn(None, (12.8, 7.2), lambda axes: _draw_finding(axes, comparison))


def _draw_finding(ax, comparison):
    bands = comparison.bands
    shown = finding_row(comparison)
    artists = [part for k, row in enumerate(bands.itertuples()) for part in _bar(ax, k, row)]
    for artist in artists:
        artist.set_linewidth(6)
        artist.set_markersize(16)
    ax.axvline(0, color=style.MEANING["limit"], lw=2)
    names = [f"{row.antenna}\n{row.band}" for row in bands.itertuples()]
    ax.set_yticks(range(len(bands)), names, fontsize=20)
    ax.tick_params(axis="x", labelsize=20)
    ax.set(ylim=(len(bands) - 0.4, -0.6), xlim=_limits(bands))
    ax.set_xlabel(f"dB against {comparison.baseline} (bars: 9 of 10)", fontsize=20)
    words = finding_words(comparison)
    title = {"x": 0.01, "ha": "left", "fontsize": 28, "weight": "bold"}
    ax.figure.suptitle("\n".join(textwrap.wrap(words, 48)), **title)
    ends = f"{signed(shown.low_db, 1)} to {signed(shown.high_db, 1)} dB"
    return Drawing(artists, f"{words}. {signed(shown.difference_db, 1)} dB, {ends} on 9 of 10.")


def forest(pooled, ax=None):
    """A club's trials of one build: makers, the mean, the next copy; a Picture, or a Drawing.

    One antenna, revision, reference and band after the other. Squares are makers, larger the surer;
    the diamond is the mean with its 90 % interval, the open bar the next copy.
    Parameters: ``pooled`` from shed.trials.pooled; ``ax`` an Axes, or None for a figure of its own.

    >>> import pandas as pd
    >>> from .. import trials
    >>> log = pd.DataFrame({"maker": ["Ines", "Olu", "Mia"], "antenna": "loop", "band": "UHF",
    ...                     "difference_db": [2.0, 3.5, 1.2], "sd_db": [0.6, 0.5, 0.6]})
    >>> forest(trials.pooled(log)).alt[:33]
    'loop, UHF: 3 makers together +2.3'
    """
    lines = len(pooled.makers) + 3 * len(pooled.table)
    size = (8.4, min(1.4 + 0.36 * lines, 14.0))
    return drawn(ax, size, lambda axes: _draw_forest(axes, pooled))


def _draw_forest(ax, pooled):
    from ..trials.pooling import SAME

    artists, labels, words, y = [], [], [], 0.0
    surest = pooled.makers["sd_db"].min()
    for row in pooled.table.itertuples():
        same = (pooled.makers[list(SAME)] == [getattr(row, k) for k in SAME]).all(axis=1)
        for maker in pooled.makers[same].itertuples():
            artists += _maker(ax, y, maker, surest)
            labels.append((y, f"{maker.maker} ({counted(maker.evenings, 'trial')})"))
            y += 1.0
        artists += _together(ax, y, row)
        labels.append((y, f"{row.antenna}{_revision(row)}, {row.band}: all"))
        y += 1.0
        if np.isfinite(row.next_low_db):
            ends, look = [row.next_low_db, row.next_high_db], {"lw": 7, "alpha": 0.4}
            artists += ax.plot(ends, [y, y], color=style.MEANING["forecast"], **look)
            labels.append((y, "the next copy"))
            y += 1.0
        words.append(_forest_words(row))
        y += 0.6
    reference = listed(dict.fromkeys(r or "the reference" for r in pooled.table["reference"]))
    _frame(ax, labels, y, reference)
    return Drawing(ordered(artists), " ".join(words))


def _revision(row):
    return f" (revision {row.revision})" if row.revision else ""


def _maker(ax, y, maker, surest):
    middle, half, colour = maker.difference_db, SDS_TO_90 * maker.sd_db, style.MEANING["reading"]
    bar = ax.plot([middle - half, middle + half], [y, y], color=colour, lw=2)
    return bar + ax.plot(middle, y, "s", color=colour, ms=5 + 7 * surest / maker.sd_db)


def _together(ax, y, row):
    x = [row.low_db, row.difference_db, row.high_db, row.difference_db]
    return ax.fill(x, [y, y - 0.3, y, y + 0.3], color=style.MEANING["forecast"])


def _forest_words(row):
    ends = f"{signed(row.low_db, 1)} to {signed(row.high_db, 1)}"
    together = f"{counted(row.makers, 'maker')} together {signed(row.difference_db, 1)} dB ({ends})"
    return f"{row.antenna}{_revision(row)}, {row.band}: {together}; {row.says}."
