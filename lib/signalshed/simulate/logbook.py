"""Readings as an invented tuner would show them at a site whose truth is known.

A quality meter follows the spare dB of the station. A strength meter, one that reads without lock
too, follows the level at the tuner, whatever the noise: it counts from the level at which a UHF
station without outside noise would lose lock, so at VHF the two part.
"""

import numpy as np
import pandas as pd

from .. import budget, chain, survey
from ..units import SDS_TO_WORST_TENTH
from .truths import normal

WANDER_DB = 0.7
"""One standard deviation of the signal itself from one reading to the next, dB."""

HALF_SWING_DB = 0.8
"""How far the needle swings either way while it is watched, dB of signal."""

_DEFAULTS = {
    "pad_db": 0.0,
    "pad_at": "set",
    "amplifier": "none",
    "antenna_revision": "1",
    "note": "",
}


def readings(truth, plan, tuner_meters, seed=1, wander_db=WANDER_DB):
    """What the meter says, row by row of a plan, in the columns of readings.csv.

    Parameters: ``truth`` a Truth; ``plan`` a DataFrame with time, mount, antenna, meter, scale,
    rf_channel and heading_deg, and pad_db, pad_at, amplifier, note where there is any, and aside_db,
    dB by which the station came in otherwise at that reading;
    ``tuner_meters`` a dict from scale to meters.Meter; ``seed`` of what wanders from row to row, by
    ``wander_db`` (one standard deviation); beyond the horizon every day brings its own level too. On a
    channel with several stations the strongest is seen.

    >>> from signalshed import meters
    >>> from signalshed.simulate import demo_site, truth_of
    >>> plan = pd.DataFrame({"time": ["2031-05-01T20:00:00+00:00"], "mount": ["roof mast"],
    ...     "antenna": ["wire loop"], "meter": ["set"], "scale": ["quality"], "rf_channel": ["24"],
    ...     "heading_deg": [38.0]})
    >>> seen = readings(truth_of(demo_site(), 3), plan, {"quality": meters.meter("C/N quality")})
    >>> bool(seen["locked"].iloc[0])
    True
    """
    missing = {k: v for k, v in _DEFAULTS.items() if k not in plan.columns}
    rows = plan.reset_index(drop=True).assign(**missing)
    wander = [wander_db * normal(seed, "reading", str(k)) for k in rows.index]
    there = {}
    pairs = zip(rows.itertuples(index=False), wander, strict=True)
    seen = [_look(truth, row, tuner_meters[row.scale], db, seed, there) for row, db in pairs]
    return rows.assign(**pd.DataFrame(seen, index=rows.index))


def ladder(truth, setup, rf_channel, pads_db, tuner_meters):
    """The pads-and-meter ladder of one tuner, in the columns of meter.csv; pads at the set.

    Parameters: ``truth`` a Truth; ``setup`` a survey.Setup with a heading; ``rf_channel`` text;
    ``pads_db`` a sequence of dB; ``tuner_meters`` a dict from scale to meters.Meter.

    >>> from signalshed import meters
    >>> from signalshed.simulate import demo_site, truth_of
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> tuner = {"quality": meters.meter("C/N quality")}
    >>> ladder(truth_of(demo_site(), 3), setup, "24", (0, 40), tuner)["locked"].tolist()
    [True, False]
    """
    antenna, mount, _ = survey.parts_of(truth.site, setup)
    steps = [(name, float(pad)) for name in tuner_meters for pad in pads_db]
    plan = pd.DataFrame(steps, columns=["scale", "pad_db"]).assign(
        mount=mount.name,
        antenna=antenna.name,
        meter=truth.site.tuner.name,
        rf_channel=rf_channel,
        heading_deg=setup.heading_deg,
    )
    rows = readings(truth, plan, tuner_meters, seed=2, wander_db=WANDER_DB / 2)
    return rows[["meter", "scale", "rf_channel", "pad_db", "pad_at", "reading", "locked"]]


def _look(truth, row, meter, wander_db, seed, there):
    """Reading, its lowest and highest, and lock, for one row of a plan."""
    key = (row.mount, row.antenna, row.pad_db, row.pad_at, row.heading_deg, row.rf_channel)
    if key not in there:
        there[key] = _at_the_set(truth, row)
    over, margin, fade_db = there[key]
    day = str(getattr(row, "time", ""))[:10]
    wander_db += fade_db / SDS_TO_WORST_TENTH * normal(seed, "day", day, str(row.rf_channel))
    now = wander_db + getattr(row, "aside_db", 0.0)
    follows = over if meter.reads_without_lock else margin
    low, middle, high = meter.show(follows + now + HALF_SWING_DB * np.array([-1.0, 0.0, 1.0]))[0]
    locked = bool(margin + now >= 0)
    if not (locked or meter.reads_without_lock):
        low, middle, high = np.nan, np.nan, np.nan
    return {"reading": middle, "reading_low": low, "reading_high": high, "locked": locked}


def _at_the_set(truth, row):
    """The strongest station on the row's channel: level over a quiet UHF edge, spare dB, fade."""
    site = truth.site
    _, mount, feed = survey.parts_of(site, survey.Setup(row.antenna, row.mount))
    feed = feed.with_pad(row.pad_db, row.pad_at) if row.pad_db else feed
    spare_db = truth.margin_db(
        survey.Setup(row.antenna, mount, feed=feed, heading_deg=float(row.heading_deg))
    )
    spare_db = np.where(site.stations["rf_channel"] == str(row.rf_channel), spare_db, np.nan)
    if np.isnan(spare_db).all():
        return -60.0, -60.0, 0.0
    i = int(np.nanargmax(spare_db))
    this = budget.link(site, mount, feed)
    level_dbm = spare_db[i] + this.needs_cn_db[i] + this.noise_dbm[i]
    edge_dbm = chain.thermal_noise_dbm(6.0) + site.tuner.noise_figure_db + this.needs_cn_db[i]
    return level_dbm - edge_dbm, spare_db[i], this.field.fade_db[i]
