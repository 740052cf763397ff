"""Side-by-side differences in dB with honest ends, and what the plain percents would have claimed."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from ..meters import MeterCurve
from ..units import SDS_TO_90, check
from .estimate import Ends, estimate
from .misfit import UNSEEN, misfits
from .model import SDS
from .planning import Plan
from .rows import prepare
from .stopping import NO_PLAN, MayStop, judged

Curves = MeterCurve | dict | None
VERDICTS = ("better", "worse", "cannot tell")
CONFIDENCE = 0.9
"""Of every interval of a comparison."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """Everything a trial told.

    ``table`` antenna x channel and ``bands`` antenna x band: difference_db, low_db, high_db, confidence
    of that interval, verdict, says ("at least 0.3 dB better"); ``naive`` antenna: what the mean of
    percents would claim; ``sds`` a dict of the sds found (residual, remount, interaction, drift), dB;
    ``wild`` the readings taken for wild (antenna, rf_channel, value_db); ``baseline``, ``kind``;
    ``misfit`` what in the readings does not look as the estimate supposes (what, p, says, and stretch,
    the share by which differences may be off for it: the ends hold that), empty where nothing was
    found; ``notes`` sentences: first those of ``misfit``, then about rows left out;
    ``may_stop`` whether the trial may end now by its ``plan``, whose declared question then stands in
    ``bands`` with its repeated interval.
    """

    table: pd.DataFrame
    bands: pd.DataFrame
    naive: pd.DataFrame
    sds: dict
    wild: pd.DataFrame
    baseline: str
    kind: str
    misfit: pd.DataFrame
    notes: tuple
    may_stop: MayStop = NO_PLAN
    plan: Plan | None = field(default=None, repr=False)

    @property
    def unseen(self) -> tuple[str, str]:
        """Sentences: what this trial could not have told, whatever was read."""
        equal = (
            "Of equal antennas up to one row in ten is called better or worse by chance alone, and one "
            "trial in three of two such antennas holds such a row: ask one question, and say which."
        )
        return (UNSEEN, equal)


def compare(
    readings: pd.DataFrame,
    baseline: str,
    curves: Curves = None,
    *,
    kind: str = "gain",
    region: str = "us",
    antennas: Sequence[str] | None = None,
) -> pd.DataFrame:
    """Differences of every antenna to the baseline, channel by channel.

    Parameters
    ----------
    readings
        Columns of readings.csv: antenna, rf_channel, reading, locked, and if known time, meter, scale,
        pad_db, heading_deg, amplifier, antenna_revision; columns session and visit override what is
        worked out from the times. Rows that cannot be used are left out (``study`` says which).
    baseline
        Name of the antenna that came back again and again.
    curves
        One, or a dict by meter, by scale or by (meter, scale); None or missing: the wide default,
        which makes wide intervals.
    kind
        "gain" (each antenna aimed at each station) or "fixed aim" (each at its own one heading).
    region
        Of the channel plan.
    antennas
        Names that may occur; None for any.

    Returns
    -------
    DataFrame
        antenna, rf_channel, freq_mhz, band, difference_db, low_db, high_db (ends of an interval),
        confidence of that (0.9), verdict (better, worse, cannot tell), says ("at least 0.3 dB better"),
        readings (visits on which this antenna was measured there), percent_points (difference of plain
        means), kind.

    Raises
    ------
    ValueError
        When no comparison is possible.

    Examples
    --------
    >>> import pandas as pd
    >>> from signalshed.meters import MeterCurve
    >>> shown = [20.1, 23.0, 19.8, 23.3, 20.0, 22.9, 20.2, 23.2]
    >>> log = pd.DataFrame({"antenna": ["dipole", "loop"] * 4, "rf_channel": "20", "locked": True,
    ...                     "reading": shown, "scale": "cn_db"})
    >>> compare(log, "dipole", MeterCurve.exact("cn_db", 15.2)).verdict.tolist()
    ['better']
    """
    options = {"kind": kind, "region": region, "antennas": antennas}
    return study(readings, baseline, curves, **options).table


def study(
    readings: pd.DataFrame,
    baseline: str,
    curves: Curves = None,
    *,
    kind: str = "gain",
    region: str = "us",
    antennas: Sequence[str] | None = None,
    plan: Plan | None = None,
) -> Comparison:
    """The same estimate with everything beside it.

    Parameters
    ----------
    readings, baseline, curves, kind, region, antennas
        As in ``compare``.
    plan
        It was read by, for ``may_stop``; the kind is then the plan's.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError
        When no comparison is possible.

    Examples
    --------
    >>> import pandas as pd
    >>> from signalshed.meters import MeterCurve
    >>> log = pd.DataFrame({"antenna": ["dipole", "loop"] * 4, "rf_channel": "20", "locked": True,
    ...                     "reading": [20.1, 23, 19.8, 23.3, 20, 22.9, 20.2, 23.2], "scale": "cn_db"})
    >>> study(log, "dipole", MeterCurve.exact("cn_db", 15.2)).naive.says.tolist()
    ['better']
    """
    kind = kind if plan is None else plan.kind
    prepared = prepare(readings, baseline, curves, kind=kind, region=region, antennas=antennas)
    rows, found = prepared[0][1], estimate(prepared)
    sds = dict(zip(SDS, map(float, found.sds), strict=True))
    misfit = misfits(rows, sds, float(found.wild.sum()))
    found = _stretched(found, misfit["stretch"])
    points, wild = _points(rows), _wild(rows, found)
    bands = _bands(rows, found, kind)
    may_stop = NO_PLAN if plan is None else _may_stop(rows, bands, plan)
    return Comparison(
        table=_table(rows, found, points, kind),
        bands=_declared(bands, plan, may_stop),
        naive=_naive(rows, points),
        sds=sds,
        wild=wild,
        baseline=baseline,
        kind=kind,
        misfit=misfit,
        notes=(*misfit["says"], *rows.notes),
        may_stop=may_stop,
        plan=plan,
    )


def _stretched(found, shares):
    """The Estimate with its ends moved out by what a misfit may stretch each difference, sds (k,)."""
    off = SDS_TO_90 * float(np.sqrt((shares.to_numpy(float) ** 2).sum()))

    def wider(mean, low, high):
        below, above = (np.hypot(half, off * mean) for half in (mean - low, high - mean))
        return Ends(mean, mean - below, mean + above)

    return replace(found, cells=wider(*found.cells), bands=wider(*found.bands))


def verdict(low_db: ArrayLike, high_db: ArrayLike) -> np.ndarray:
    """better, worse or cannot tell: an interval clear of zero says which, any other says nothing.

    Parameters
    ----------
    low_db, high_db
        Ends of intervals, dB, any shape.

    Returns
    -------
    ndarray of str

    Examples
    --------
    >>> verdict([0.2, -1.0, -3.0], [1.0, 2.0, -0.5]).tolist()
    ['better', 'cannot tell', 'worse']
    """
    return _called(check("low_db", low_db), check("high_db", high_db))


def _called(low, high):
    return np.where(low > 0, VERDICTS[0], np.where(high < 0, VERDICTS[1], VERDICTS[2]))


def at_least(low_db: ArrayLike, high_db: ArrayLike) -> np.ndarray:
    """What an interval says in words, cut downward: "at least 0.3 dB better".

    Parameters
    ----------
    low_db, high_db
        Ends of intervals, dB, any shape.

    Returns
    -------
    ndarray of str

    Examples
    --------
    >>> at_least([0.38, -1.0, -3.0, 0.04], [1.0, 2.0, -0.5, 1.0]).tolist()
    ['at least 0.3 dB better', 'cannot tell', 'at least 0.5 dB worse', 'better by a hair']
    """
    low, high = np.broadcast_arrays(check("low_db", low_db), check("high_db", high_db))
    clear = np.floor(10 * np.maximum(low, -high) + 1e-9) / 10
    three = zip(_called(low, high).ravel().tolist(), clear.ravel(), strict=True)
    return np.array([_at_least(*one) for one in three], dtype=object).reshape(low.shape)


def _at_least(which, clear):
    if which == VERDICTS[2]:
        return which
    return f"at least {clear:.1f} dB {which}" if clear > 0 else f"{which} by a hair"


def _points(rows):
    """Difference of plain mean readings to the baseline (antennas, channels), NaN where missing."""
    table = rows.percent.reindex(index=list(rows.antennas), columns=list(rows.channels))
    return (table.iloc[1:] - table.iloc[0]).to_numpy(float)


def _table(rows, found, points, kind):
    """The table of a Comparison; ``points`` (antennas, channels) of the plain means."""
    seen = np.zeros((len(rows.antennas), len(rows.channels)), int)
    np.add.at(seen, rows.antenna, np.isfinite(rows.high_db - rows.low_db).T & (rows.kind > 0).T)
    where = {"rf_channel": rows.channels, "freq_mhz": rows.freq_mhz, "band": rows.band}
    table = _by_antenna(rows, where, found.cells)
    return table.assign(readings=seen[1:].ravel(), percent_points=points.ravel(), kind=kind)


def _bands(rows, found, kind):
    where = {"band": list(dict.fromkeys(rows.band))}
    return _by_antenna(rows, where, found.bands).assign(kind=kind)


def _by_antenna(rows, where, ends):
    """Rows antenna by antenna and, within each, by the columns of ``where``, with what Ends say."""
    antennas, places = ends.mean_db.shape
    return pd.DataFrame({
        "antenna": np.repeat(rows.antennas[1:], places),
        **{name: np.tile(column, antennas) for name, column in where.items()},
        "difference_db": ends.mean_db.ravel(),
        "low_db": ends.low_db.ravel(),
        "high_db": ends.high_db.ravel(),
        "confidence": CONFIDENCE,
        "verdict": _called(ends.low_db, ends.high_db).ravel(),
        "says": at_least(ends.low_db, ends.high_db).ravel(),
    })  # fmt: skip


def _question(bands, plan):
    """Which rows of ``bands`` (n,) hold the plan's declared question."""
    antenna, band = plan.question
    return (bands["antenna"] == antenna) & (bands["band"] == band)


def _may_stop(rows, bands, plan):
    """What the readings had by now say to the plan's declared question."""
    visits = np.bincount(rows.antenna, minlength=len(rows.antennas))
    by_name = dict(zip(rows.antennas, visits, strict=True))
    done = int(min(by_name.get(name, 0) for name in plan.antennas))
    asked = bands[_question(bands, plan)]
    if asked.empty:
        return judged(plan, done, 0, None)
    here = rows.kind[rows.band == plan.question[1]] > 0
    had = here.any(axis=0) & (rows.antenna == rows.antennas.index(plan.question[0]))
    return judged(plan, done, int(had.sum()), next(asked.itertuples()))


def _declared(bands, plan, may_stop):
    """``bands`` with the repeated interval where the declared question stands."""
    if plan is None or np.isnan(may_stop.low_db):
        return bands
    at = _question(bands, plan)
    low, high = ends = may_stop.low_db, may_stop.high_db
    changed = {"low_db": low, "high_db": high}
    changed |= {"verdict": str(verdict(*ends)), "says": str(at_least(*ends))}
    return bands.assign(**{k: bands[k].where(~at, v) for k, v in changed.items()})


def _naive(rows, points):
    """The claim of a plain table of percents: whoever has the higher mean is better."""
    known = np.isfinite(points)
    mean = np.where(known, points, 0).sum(axis=1) / np.maximum(known.sum(axis=1), 1)
    says = np.where(mean > 0, "better", np.where(mean < 0, "worse", "the same"))
    return pd.DataFrame({"antenna": rows.antennas[1:], "percent_points": mean, "says": says})


def _wild(rows, found):
    channel, visit = np.nonzero(found.wild > 0.5)
    return pd.DataFrame({
        "antenna": [rows.antennas[a] for a in rows.antenna[visit]],
        "rf_channel": [rows.channels[c] for c in channel],
        "value_db": rows.low_db[channel, visit],
    })  # fmt: skip
