"""Side-by-side differences in dB with honest ends, and what the plain percents would have claimed."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .estimate import estimate
from .model import SDS
from .rows import prepare

VERDICTS = ("better", "worse", "cannot tell")


@dataclass(frozen=True, eq=False)
class Comparison:
    """Everything a trial told.

    ``table`` antenna x channel and ``bands`` antenna x band: difference_db, low_db, high_db, verdict;
    ``naive`` antenna: what the mean of percents would claim; ``sds`` a dict of the sds found
    (residual, remount, interaction, drift), dB; ``wild`` the readings taken for wild (antenna,
    rf_channel, value_db); ``baseline``, ``kind``; ``notes`` sentences about rows left out.
    """

    table: pd.DataFrame
    bands: pd.DataFrame
    naive: pd.DataFrame
    sds: dict
    wild: pd.DataFrame
    baseline: str
    kind: str
    notes: tuple


def compare(readings, baseline, curves=None, *, kind="gain", region="us", antennas=None):
    """Differences of every antenna to the baseline, channel by channel.

    Parameters
    ----------
    readings : DataFrame with the columns of readings.csv: antenna, rf_channel, reading, locked, and
        if known time, meter, scale, pad_db, heading_deg, amplifier, antenna_revision; columns session
        and visit override what is worked out from the times.
    baseline : name of the antenna that came back again and again.
    curves : a meters.MeterCurve, or a dict of them by meter, by scale or by (meter, scale); None or
        missing: the wide default, which makes wide intervals.
    kind : "gain" (each antenna aimed at each station) or "fixed aim" (each at its own one heading).
    region : of the channel plan.
    antennas : names that may occur; None: any.

    Returns a DataFrame: antenna, rf_channel, freq_mhz, band, difference_db, low_db, high_db (ends of
    a 90 % interval), verdict (better, worse, cannot tell), readings (visits on which this antenna
    was measured there), percent_points (difference of plain means), kind. ValueError when no
    comparison is possible; rows that cannot be used are left out (``study`` says which).

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


def study(readings, baseline, curves=None, *, kind="gain", region="us", antennas=None):
    """The same estimate with everything beside it: a Comparison.

    Parameters: ``readings``, ``baseline``, ``curves``, ``kind``, ``region``, ``antennas`` as in
    ``compare``.

    >>> import pandas as pd
    >>> from signalshed.meters import MeterCurve
    >>> log = pd.DataFrame({"antenna": ["dipole", "loop"] * 4, "rf_channel": "20", "locked": True,
    ...                     "reading": [20.1, 23, 19.8, 23.3, 20, 22.9, 20.2, 23.2], "scale": "cn_db"})
    >>> study(log, "dipole", MeterCurve.exact("cn_db", 15.2)).naive.says.tolist()
    ['better']
    """
    prepared = prepare(readings, baseline, curves, kind=kind, region=region, antennas=antennas)
    rows, found = prepared[0][1], estimate(prepared)
    points = _points(rows)
    return Comparison(
        table=_table(rows, found, points, kind),
        bands=_bands(rows, found, kind),
        naive=_naive(rows, points),
        sds=dict(zip(SDS, map(float, found.sds), strict=True)),
        wild=_wild(rows, found),
        baseline=baseline,
        kind=kind,
        notes=rows.notes,
    )


def verdict(low_db, high_db):
    """better, worse or cannot tell: an interval clear of zero says which, any other says nothing.

    Parameters: ``low_db`` and ``high_db``, ends of intervals, any shape.

    >>> verdict([0.2, -1.0, -3.0], [1.0, 2.0, -0.5]).tolist()
    ['better', 'cannot tell', 'worse']
    """
    low, high = np.asarray(low_db, dtype=float), np.asarray(high_db, dtype=float)
    return np.where(low > 0, VERDICTS[0], np.where(high < 0, VERDICTS[1], VERDICTS[2]))


def _points(rows):
    """Difference of plain mean readings to the baseline (antennas, channels), NaN where missing."""
    table = rows.percent.reindex(index=list(rows.antennas), columns=list(rows.channels))
    return (table.iloc[1:] - table.iloc[0]).to_numpy(float)


def _table(rows, found, points, kind):
    antennas, channels = len(rows.antennas) - 1, len(rows.channels)
    seen = np.zeros((antennas + 1, channels), int)
    np.add.at(seen, rows.antenna, np.isfinite(rows.high_db - rows.low_db).T & (rows.kind > 0).T)
    return pd.DataFrame({
        "antenna": np.repeat(rows.antennas[1:], channels),
        "rf_channel": np.tile(rows.channels, antennas),
        "freq_mhz": np.tile(rows.freq_mhz, antennas),
        "band": np.tile(rows.band, antennas),
        "difference_db": found.mean_db.ravel(),
        "low_db": found.low_db.ravel(),
        "high_db": found.high_db.ravel(),
        "verdict": verdict(found.low_db, found.high_db).ravel(),
        "readings": seen[1:].ravel(),
        "percent_points": points.ravel(),
        "kind": kind,
    })  # fmt: skip


def _bands(rows, found, kind):
    bands = list(dict.fromkeys(rows.band))
    antennas = len(rows.antennas) - 1
    return pd.DataFrame({
        "antenna": np.repeat(rows.antennas[1:], len(bands)),
        "band": np.tile(bands, antennas),
        "difference_db": found.band_mean_db.ravel(),
        "low_db": found.band_low_db.ravel(),
        "high_db": found.band_high_db.ravel(),
        "verdict": verdict(found.band_low_db, found.band_high_db).ravel(),
        "kind": kind,
    })  # fmt: skip


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
