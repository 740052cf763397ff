"""Does the trial look as the estimate supposes? What a builder can have caused, looked for and told.

Robust least squares of the readings in dB on channel by session, antenna by channel and mounting;
then tests for what should not be there, within the mountings and across them: the reading before (a
meter that was not waited for), a bend (the curve), a slope of its own on one day (another TV), scatter
of one channel (disturbed). What is found widens the differences by what it may stretch them. A dB that
is stretched as a whole (weak pads) fits itself and is seen by none of them.
"""

import functools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from scipy import stats

from .model import prior

ROUNDS = 60
CLIP_SD = 2.5
MOST_SHARE = 0.6
FEW_ROWS = 4
UNSEEN = (
    "What no trial can see: pads that are stronger or weaker than they say stretch every dB alike. A "
    "second meter ladder with other pads, or one pad that is known, shows it."
)


class Asked(NamedTuple):
    """What columns add to a fit: chance ``p`` that it is nothing (F-test), ``slope`` (q,) of each."""

    p: float
    slope: np.ndarray


@dataclass(frozen=True, eq=False)
class Looks:
    """Measured looks in order of time, as least squares sees them.

    ``table`` their rows; ``weight`` (n,); ``groups`` codes (n,) of channel by session, antenna by
    channel and mounting; ``value`` (n,) dB, outliers drawn in; ``fitted`` by all groups, ``broad`` by
    the first two alone; ``off`` (n,) what was read beyond the fit, outliers as they are.
    """

    table: pd.DataFrame
    weight: np.ndarray
    groups: tuple
    value: np.ndarray
    fitted: np.ndarray
    broad: np.ndarray
    off: np.ndarray

    @classmethod
    def of(cls, table):
        """The Looks of a ``table`` with label, rf_channel, session, visit, value_db, noise_db, pad."""
        table = table[table["status"] == "measured"].reset_index(drop=True)
        weight = 1 / (prior("residual_median_db") ** 2 + table["noise_db"].to_numpy() ** 2)
        by = (["rf_channel", "session"], ["label", "rf_channel"], ["visit"])
        groups = tuple(table.groupby(names, sort=False).ngroup().to_numpy() for names in by)
        value = given = table["value_db"].to_numpy(float)
        for _ in range(4):
            fitted = value - _swept(value[:, None], groups, weight)[:, 0]
            off = given - fitted
            most = CLIP_SD * (1.4826 * np.median(np.abs(off)) + 1e-6)
            value = fitted + np.clip(off, -most, most)
        fitted, broad = (
            value - _swept(value[:, None], of, weight)[:, 0] for of in (groups, groups[:2])
        )
        return cls(table, weight, groups, value, fitted, broad, off)

    @functools.cached_property
    def residual(self):
        return self.value - self.fitted

    @functools.cached_property
    def free(self):
        """Degrees of freedom left within the mountings."""
        return len(self.table) - _rank(self.table)

    def asked(self, columns):
        """What columns (n, q) add to the fit, within the mountings: Asked."""
        root = np.sqrt(self.weight)
        columns = _swept(columns, self.groups, self.weight) * root[:, None]
        return _asked(columns, self.residual * root, self.free)

    def asked_across(self, columns):
        """What columns (n, q) add to the means of the mountings, left out by ``asked``: Asked."""
        visit, both = self.groups[2], np.column_stack([columns, self.value])
        both = _swept(both, self.groups[:2], self.weight)
        total = np.bincount(visit, self.weight)
        mean = np.array([np.bincount(visit, self.weight * c) for c in both.T]) / np.sqrt(total)
        names = self.table["label"].nunique() + self.table["session"].nunique()
        return _asked(mean[:-1].T, mean[-1], total.size - names + 1)

    def uneven(self, group):
        """p that the most and the least scattered ``group`` (n,) of codes scatter alike: an F-test."""
        count = np.bincount(group)
        if count.size < 2 or count.min() < 6:
            return 1.0
        each = np.maximum(np.bincount(group, self.weight * self.residual**2) / count, 1e-9)
        most, least = np.argmax(each), np.argmin(each)
        free = count * self.free / len(group)
        return float(min(1.0, 2 * stats.f.sf(each[most] / each[least], free[most], free[least])))

    @functools.cached_property
    def shown_db(self):
        """What the meter had to show (n,), dB: the fit without what the pads take away."""
        return self.fitted - self.table["pad"].to_numpy(float)

    @functools.cached_property
    def scaled(self):
        """``shown_db`` (n,) about its mean, and its sd."""
        size = max(self.shown_db.std(), 1.0)
        return (self.shown_db - self.shown_db.mean()) / size, size


def _asked(columns, seen, free):
    """Asked of columns (n, q) and what is to be explained (n,), groups and weights taken out of both."""
    some = np.linalg.norm(columns, axis=0) > 1e-3 * np.sqrt(len(seen))
    slope, left = np.zeros(some.size), free - some.sum()
    if not some.any() or left < 5:
        return Asked(1.0, slope)
    columns = columns[:, some]
    slope[some] = np.linalg.lstsq(columns, seen, rcond=None)[0]
    after = seen - columns @ slope[some]
    rest = max((after @ after) / left, 1e-9)
    gained = (seen @ seen - after @ after) / some.sum()
    return Asked(float(stats.f.sf(gained / rest, some.sum(), left)), slope)


def _one_sided(asked):
    """p that the only column does not raise what is explained."""
    return asked.p / 2 if asked.slope[0] > 0 else 1 - asked.p / 2


def _joint(*chances):
    """One p of independent tests (Fisher)."""
    return float(stats.combine_pvalues(np.clip(chances, 1e-12, 1.0))[1])


def _swept(columns, groups, weight):
    """Columns (n, q) without their means over every group, all groups at once."""
    out = np.array(columns, dtype=float)
    total = [np.bincount(group, weight) for group in groups]
    for _ in range(ROUNDS):
        before = out.copy()
        for group, whole in zip(groups, total, strict=True):
            for k in range(out.shape[1]):
                out[:, k] -= (np.bincount(group, weight * out[:, k]) / whole)[group]
        if np.abs(out - before).max(initial=0.0) < 1e-5:
            break
    return out


def _rank(table):
    """Independent unknowns of channel by session, antenna by channel and mounting together."""
    cells = sum(
        len(table.drop_duplicates(by))
        for by in (["rf_channel", "session"], ["label", "rf_channel"], ["visit"])
    )
    shared = sum(table[name].nunique() for name in ("rf_channel", "session", "label"))
    return cells - shared + 1


def misfits(rows, sds, wild):
    """What does not fit: a DataFrame with what, p, says and stretch, one row each, empty if all is well.

    Parameters: ``rows`` a Rows; ``sds`` a dict of the sds found; ``wild`` how many readings are wild,
    their chances added up. p is NaN where no test stands behind it; stretch is the share by which
    differences may be off for it.
    """
    count = int((rows.looks["status"] == "measured").sum())
    found = [_steps(rows.coarse), _scatter(sds), _many_wild(wild, count)]
    if count >= 12:
        found += _tests(Looks.of(rows.looks))
    rows = [row for row in found if row is not None]
    return pd.DataFrame(rows, columns=["what", "p", "says", "stretch"])


def _tests(looks):
    """The rows of tests that call, each by its own limit; together they call a clean trial of seven."""
    if looks.free < 6:
        return []
    rows = [test(looks) for test in (_memory, _shape, _another_set, _one_channel)]
    return [row for row in rows if row[1] < prior(f"misfit_p_{row[0].lower().replace(' ', '_')}")]


def _memory(looks):
    """The meter shows part of what it showed before: in the row before, or last on this channel.

    Within a mounting only what channels differ in tells it, across them what the antenna before gained.
    """
    pad, channel = looks.table["pad"].to_numpy(float), looks.table["rf_channel"]
    usual = pd.Series(
        looks.broad - pad
    )  # not what was read before, which drifts with what is read now
    rows, column = (
        _column(before - usual) for before in (usual.shift(), usual.groupby(channel).shift())
    )
    rows, within, across = looks.asked(rows), looks.asked(column), looks.asked_across(column)
    p = min(_one_sided(rows), _joint(_one_sided(within), _one_sided(across)))
    share = np.clip(max(one.slope[0] for one in (rows, within, across)), 0.0, MOST_SHARE)
    says = (
        "Readings lean toward what was shown before them: the meter was still moving. Wait until it "
        "stands before you write, and read again; the differences are too small as they are."
    )
    return "memory", min(1.0, 2 * p), says, share / (1 - share)


def _column(values):
    return np.nan_to_num(values.to_numpy(float))[:, None]


def _shape(looks):
    fit, size = looks.scaled
    bend = looks.asked(np.stack([fit**2, fit**3], axis=1))
    says = (
        "Strong and weak readings do not agree on what a dB is: the meter ladder's curve does not fit "
        "this trial. Make a second ladder, with rungs where the trial read."
    )
    local = np.stack([2 * fit, 3 * fit**2]).T @ bend.slope / size
    return "curve", bend.p, says, min(np.sqrt(np.mean(local**2)), MOST_SHARE)


def _another_set(looks):
    """On one day a slope, bend or scatter of its own, of channels, antennas or levels."""
    session = pd.factorize(looks.table["session"])[0]
    days = np.eye(session.max() + 1)[session][:, 1:]
    (fit, size), usual = looks.scaled, looks.broad - looks.broad.mean()
    within = looks.asked(np.concatenate([days * fit[:, None], days * fit[:, None] ** 2], axis=1))
    across = looks.asked_across(days * usual[:, None])
    p = _joint(within.p, across.p, _levels_alike(looks, session), looks.uneven(session))
    says = (
        "On one day the same differences read larger than on another: another TV, or another scale, "
        "under the same name? Name it, and give it a meter ladder of its own."
    )
    slope = np.abs(within.slope[: days.shape[1]]).max(initial=0.0) / size
    return "another TV", p, says, min(slope, MOST_SHARE)


def _levels_alike(looks, session):
    """p that the levels of the channels spread alike on the first two days (Pitman 1939)."""
    table = pd.DataFrame({"db": looks.shown_db, "on": looks.table["rf_channel"], "day": session})
    level = (
        table.pivot_table(index="on", columns="day", values="db").iloc[:, :2].dropna().to_numpy()
    )
    if level.shape[1] < 2 or len(level) < 4:
        return 1.0
    both, more = level.sum(axis=1), np.diff(level)[:, 0]
    if min(np.ptp(both), np.ptp(more)) < 1e-6:
        return 1.0  # Levels that do not spread, or the same on both days, spread alike.
    return float(stats.pearsonr(both, more)[1])


def _one_channel(looks):
    """The channel that scatters most, against all others by ranks; every channel had its chance."""
    far, channel = np.abs(looks.off), looks.table["rf_channel"].to_numpy()
    groups = [(name, channel == name) for name in pd.unique(channel)]
    tested = [(_farther(far, at), name) for name, at in groups if FEW_ROWS <= at.sum() < at.size]
    p, worst = min(tested, default=(1.0, ""))
    says = (
        f"RF {worst} scatters more than the other channels: something disturbs it, or two stations are "
        "on it. Leave it out (drop its rows) and see what stays."
    )
    return "one channel", min(1.0, p * len(tested)), says, 0.0


def _farther(far, at):
    return stats.mannwhitneyu(far[at], far[~at], alternative="greater").pvalue


def _steps(coarse):
    """Readings that are all tens or fives of the scale's step."""
    if not coarse:
        return None
    says = (
        f"Readings were noted on {', '.join(coarse)}: each counts as all that its step may hold. If the "
        "meter shows finer figures, note them to the last one."
    )
    return "steps", np.nan, says, 0.0


def _scatter(sds):
    most = prior("residual_median_db") * np.exp(2.0 * prior("residual_log_sd"))
    if sds["residual"] < most:
        return None
    says = (
        f"Readings scatter by {sds['residual']:.1f} dB beyond everything the trial explains, where "
        f"{prior('residual_median_db'):g} dB is usual: a pad or an amplifier that was not noted, two "
        "units in one column, or people in front of the antenna?"
    )
    return "scatter", np.nan, says, 0.0


def _many_wild(wild, count):
    """More readings that are simply wrong than slips of the pen explain; of those most are found."""
    expected = prior("wild_found_share") * prior("wild_share") * count
    p = float(stats.poisson.sf(round(wild) - 1, expected)) if expected else 1.0
    if p > prior("misfit_p_wild"):
        return None
    says = (
        f"About {wild:.0f} of {count} readings were taken for wild, more than slips explain: a pad left "
        "in, another unit, a wrong channel? Those of .wild are the surest."
    )
    return "wild", p, says, 0.0
