"""Does the trial look as the estimate supposes? What a builder can have caused, looked for and told.

Robust least squares of the readings in dB on channel by session, antenna by channel and mounting;
then one F-test each for what should not be there: the reading before (a meter that was not waited
for), a bend (the curve), a slope of its own on one day (another TV), scatter of one channel
(disturbed). A dB that is stretched as a whole (weak pads) fits itself and is seen by none of them.
"""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from .model import prior

ROUNDS = 60
CLIP_SD = 2.5
UNSEEN = (
    "What no trial can see: pads that are stronger or weaker than they say stretch every dB alike. A "
    "second meter ladder with other pads, or one pad that is known, shows it."
)


@dataclass(frozen=True, eq=False)
class Looks:
    """Measured looks in order of time, as least squares sees them.

    ``table`` their rows; ``weight`` (n,); ``groups`` codes (n,) of channel by session, antenna by
    channel and mounting; ``value``, ``fitted``, ``residual`` (n,) dB, outliers drawn in; ``free``
    degrees of freedom left.
    """

    table: pd.DataFrame
    weight: np.ndarray
    groups: tuple
    value: np.ndarray
    fitted: np.ndarray
    residual: np.ndarray
    far: np.ndarray
    free: int

    @classmethod
    def of(cls, table):
        """The Looks of a ``table`` with label, rf_channel, session, visit, value_db, noise_db, pad."""
        table = table[table["status"] == "measured"].reset_index(drop=True)
        weight = 1 / (prior("residual_median_db") ** 2 + table["noise_db"].to_numpy() ** 2)
        by = (["rf_channel", "session"], ["label", "rf_channel"], ["visit"])
        groups = tuple(table.groupby(names, sort=False).ngroup().to_numpy() for names in by)
        value = given = table["value_db"].to_numpy(float)
        for _ in range(4):
            residual = _swept(value[:, None], groups, weight)[:, 0]
            fitted, off = value - residual, given - (value - residual)
            scale = 1.4826 * np.median(np.abs(off)) + 1e-6
            value = fitted + np.clip(off, -CLIP_SD * scale, CLIP_SD * scale)
        residual, far = _swept(value[:, None], groups, weight)[:, 0], np.abs(off) > 2 * scale
        free = len(table) - _rank(table)
        return cls(table, weight, groups, value, value - residual, residual, far, free)

    def chance(self, columns):
        """p of the F-test that these columns (n, q) add nothing; 1 where nothing can be said."""
        if not columns.shape[1]:
            return 1.0
        columns = _swept(columns, self.groups, self.weight)
        root = np.sqrt(self.weight)[:, None]
        size = np.linalg.norm(columns * root, axis=0)
        columns = columns[:, size > 1e-3 * np.sqrt(self.weight.sum())]
        left = self.free - columns.shape[1]
        if not columns.shape[1] or left < 5:
            return 1.0
        seen = self.residual * root[:, 0]
        after = seen - columns * root @ np.linalg.lstsq(columns * root, seen, rcond=None)[0]
        rest = (after @ after) / left
        gained = (seen @ seen - after @ after) / columns.shape[1]
        return float(stats.f.sf(gained / max(rest, 1e-9), columns.shape[1], left))

    def drawn_to(self, column):
        """p that readings are not drawn toward ``column`` (n,): one-sided, for they cannot flee it."""
        swept = _swept(column[:, None], self.groups, self.weight)[:, 0]
        toward = float((self.weight * swept) @ self.residual) > 0
        return self.chance(column[:, None]) / 2 if toward else 1.0

    def uneven(self, group):
        """p that the most and the least scattered ``group`` (n,) of codes scatter alike: an F-test."""
        count = np.bincount(group)
        if count.size < 2 or count.min() < 6:
            return 1.0
        each = np.bincount(group, self.weight * self.residual**2) / count
        most, least = np.argmax(each), np.argmin(each)
        free = count * self.free / len(group)
        return float(min(1.0, 2 * stats.f.sf(each[most] / each[least], free[most], free[least])))

    @functools.cached_property
    def shown_db(self):
        """What the meter had to show (n,), dB: the fit without what the pads take away."""
        return self.fitted - self.table["pad"].to_numpy(float)


def _swept(columns, groups, weight):
    """Columns (n, q) without their means over every group, all groups at once."""
    out = np.array(columns, dtype=float)
    total = [np.bincount(group, weight) for group in groups]
    for _ in range(ROUNDS):
        before = out.copy()
        for group, whole in zip(groups, total, strict=True):
            for k in range(out.shape[1]):
                out[:, k] -= (np.bincount(group, weight * out[:, k]) / whole)[group]
        if np.abs(out - before).max() < 1e-5:
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


def look_for(rows, sds, wild):
    """What does not fit: a DataFrame with what, p and says, one row each, empty where all is well.

    Parameters: ``rows`` a Rows; ``sds`` a dict of the sds found; ``wild`` how many readings are wild,
    their chances added up. p is NaN where no test stands behind it.
    """
    count = int((rows.looks["status"] == "measured").sum())
    found = [_steps(rows.coarse), _scatter(sds), _many_wild(wild, count)]
    if count >= 12:
        found += _tests(Looks.of(rows.looks))
    rows = [row for row in found if row is not None]
    return pd.DataFrame(rows, columns=["what", "p", "says"])


def _tests(looks):
    """The rows of tests that call, each by its own limit; together they call one clean trial of ten."""
    if looks.free < 6:
        return []
    rows = [test(looks) for test in (_memory, _shape, _another_set, _one_channel)]
    return [row for row in rows if row[1] < prior(f"misfit_p_{row[0].lower().replace(' ', '_')}")]


def _memory(looks):
    """The meter shows part of what it showed before: in the row before, or last on this channel."""
    seen = pd.Series(looks.value - looks.table["pad"].to_numpy(float))
    before = (seen.shift(), seen.groupby(looks.table["rf_channel"]).shift())
    p = [looks.drawn_to(np.nan_to_num(b.to_numpy() - looks.shown_db)) for b in before]
    says = (
        "Readings lean toward what was shown before them: the meter was still moving. Wait until it "
        "stands before you write, and read again; the differences are too small as they are."
    )
    return "memory", min(1.0, 2 * min(p)), says


def _shape(looks):
    fit = (looks.shown_db - looks.shown_db.mean()) / max(looks.shown_db.std(), 1.0)
    says = (
        "Strong and weak readings do not agree on what a dB is: the meter ladder's curve does not fit "
        "this trial. Make a second ladder, with rungs where the trial read."
    )
    return "curve", looks.chance(np.stack([fit**2, fit**3], axis=1)), says


def _another_set(looks):
    """A slope or bend of its own on one day, or a scatter of its own."""
    session = pd.factorize(looks.table["session"])[0]
    days = np.eye(session.max() + 1)[session][:, 1:]
    fit = ((looks.shown_db - looks.shown_db.mean()) / max(looks.shown_db.std(), 1.0))[:, None]
    p = looks.chance(np.concatenate([days * fit, days * fit**2], axis=1)), looks.uneven(session)
    says = (
        "On one day the same differences read larger than on another: another TV, or another scale, "
        "under the same name? Name it, and give it a meter ladder of its own."
    )
    return "another TV", min(1.0, 2 * min(p)), says


def _one_channel(looks):
    """The channel that scatters most, against all others, every channel having had its chance."""
    far = pd.Series(looks.far).groupby(looks.table["rf_channel"].to_numpy())
    each = far.agg(["sum", "size"])
    usual = (each["sum"].sum() - each["sum"] + 2) / (each["size"].sum() - each["size"] + 20)
    p = stats.binom.sf(each["sum"] - 1, each["size"], usual) * len(each)
    worst = int(np.argmin(p)) if len(each) > 1 else None
    says = (
        "RF {} scatters more than the other channels: something disturbs it, or two stations are on "
        "it. Leave it out (drop its rows) and see what stays."
    )
    if worst is None:
        return "one channel", 1.0, says
    return "one channel", float(min(p[worst], 1.0)), says.format(each.index[worst])


def _steps(coarse):
    """Readings that are all tens or fives of the scale's step."""
    if not coarse:
        return None
    says = (
        f"Readings were noted on {', '.join(coarse)}: each counts as all that its step may hold. If the "
        "meter shows finer figures, note them to the last one."
    )
    return "steps", np.nan, says


def _scatter(sds):
    most = prior("residual_median_db") * np.exp(2.0 * prior("residual_log_sd"))
    if sds["residual"] < most:
        return None
    says = (
        f"Readings scatter by {sds['residual']:.1f} dB beyond everything the trial explains, where "
        f"{prior('residual_median_db'):g} dB is usual: a pad or an amplifier that was not noted, two "
        "units in one column, or people in front of the antenna?"
    )
    return "scatter", np.nan, says


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
    return "wild", p, says
