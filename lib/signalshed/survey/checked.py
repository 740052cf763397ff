"""Checking the forecast against the air: how often it was right, and what a turned antenna tells."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import ndtr

from .. import budget, facts
from ..site import Site, check_site
from ..tables import locks
from ..units import check_type, turn_deg
from .learning import curve_of
from .predicted import need, predicted


@dataclass(frozen=True, eq=False)
class Score:
    """Forecasts against what was received: ``table`` (station, rf_channel, chance, locked, margin_db),
    ``brier`` the mean squared error of the chances (0 is perfect, 0.25 a coin), and ``calibration``
    (said, came, count): of readings given about this chance, how many locked.
    """

    table: pd.DataFrame
    brier: float
    calibration: pd.DataFrame


def score(site: Site, readings: pd.DataFrame | None = None) -> Score:
    """How well the forecasts fit what the tuner then showed.

    Each reading is one trial: the chance that the set-up as read, pads included, would lock at that
    moment, against whether it did. Score a forecast with readings it has not learned from.

    Parameters
    ----------
    site
    readings
        In the columns of readings.csv; None for the site's own.

    Returns
    -------
    Score

    Raises
    ------
    ValueError
        If no reading can be forecast.

    Examples
    --------
    >>> from signalshed import simulate
    >>> score(simulate.demo_site())
    Traceback (most recent call last):
    ValueError: No reading of this site can be compared with a forecast; take some first.
    """
    check_site(site)
    readings = site.readings if readings is None else readings
    said = predicted(site, readings) if len(readings) else None
    if said is None or not said.row.size:
        raise ValueError(
            "No reading of this site can be compared with a forecast; take some first."
        )
    chance = ndtr(said.margin_db / np.hypot(_spread_db(site, said), said.moment_sd_db))
    locked = locks(readings["locked"].iloc[said.row]) == 1
    table = site.stations[["station", "rf_channel"]].iloc[said.station].reset_index(drop=True)
    table = table.assign(chance=chance, locked=locked, margin_db=said.margin_db)
    return Score(table, float(np.mean((chance - locked) ** 2)), _calibration(chance, locked))


def _spread_db(site, said):
    """One sd of path, mount and antenna together, per reading; what was read counts as one."""
    spread = np.empty(said.row.size)
    for name, antenna in set(zip(said.mount, said.antenna, strict=True)):
        rows = (said.mount == name) & (said.antenna == antenna)
        at, mount_sd = said.station[rows], np.zeros(len(site.stations))
        mount_sd[at] = said.mount_sd_db[rows]
        mount = site.mount(name)
        there = budget.link(site, mount, site.feed(mount.feed))
        # Noise of the street and need of the tuner are in the sd of each reading's moment.
        known = np.zeros(mount_sd.size)
        link = replace(there, mount_sd_db=mount_sd, noise_sd_db=known, needs_sd_db=known)
        spread[rows] = budget.spread_db(site, site.antenna(antenna), mount, link)[at]
    return spread


def _calibration(chance, locked):
    edges = np.array([0, 0.2, 0.4, 0.6, 0.8, 1.0 + 1e-9])
    bin_of = np.digitize(chance, edges) - 1
    frame = pd.DataFrame({"bin": bin_of, "said": chance, "came": locked.astype(float)})
    grouped = frame.groupby("bin").agg(
        said=("said", "mean"), came=("came", "mean"), count=("came", "size")
    )
    return grouped.reset_index(drop=True)


@dataclass(frozen=True)
class Turned:
    """What turning an antenna told about one channel: ``peak_deg`` heading of the most, ``arc_deg``
    width of the arc within 3 dB of it, ``bearing_deg`` of the station, ``swing_db`` between most and
    least, and a ``verdict`` in words.
    """

    peak_deg: float
    arc_deg: float
    bearing_deg: float
    swing_db: float
    verdict: str


def turned(site: Site, log: pd.DataFrame, rf_channel: str) -> Turned:
    """Read a rotation log: readings of one channel at many headings.

    Parameters
    ----------
    site
    log
        In the columns of readings.csv: one antenna and mount, behind one pad.
    rf_channel
        Its name, as in stations.csv.

    Returns
    -------
    Turned

    Raises
    ------
    ValueError
        For several antennas, mounts or pads, fewer than four headings that locked, or a channel that no
        station of the list has.

    Examples
    --------
    >>> from signalshed import simulate
    >>> log = pd.DataFrame({"rf_channel": ["24"], "heading_deg": [0.0], "locked": [True]})
    >>> turned(simulate.demo_site(), log, "24")
    Traceback (most recent call last):
    ValueError: A rotation log needs readings at four headings or more on RF 24; it has 1.
    """
    check_type("log", log, pd.DataFrame, "a DataFrame, as the readings of an open site")
    check_site(site)
    need(log, "rf_channel", "heading_deg", "locked")
    rows = log[(log["rf_channel"].astype(str) == str(rf_channel)) & log["heading_deg"].notna()]
    rows = rows[locks(rows["locked"]) == 1].sort_values("heading_deg")
    if rows["heading_deg"].nunique() < 4:
        raise ValueError(
            f"A rotation log needs readings at four headings or more on RF {rf_channel}; "
            f"it has {rows['heading_deg'].nunique()}."
        )
    _one_turn(rows)
    station = _strongest(site, rows, rf_channel)
    level = _levels_db(site, rows)
    headings = rows["heading_deg"].to_numpy(float)
    top = level >= level.max() - 0.5
    peak = _mean_heading(headings[top])
    arc = _width(headings, level >= level.max() - 3)
    swing = float(level.max() - level.min())
    bearing = float(site.stations["bearing_deg"].iloc[station])
    return Turned(peak, arc, bearing, swing, _verdict(peak, arc, bearing, swing, top.mean()))


def _one_turn(rows):
    """ValueError if the readings are of several turns: their levels would not compare."""
    for name in ("mount", "antenna", "pad_db"):
        seen = list(dict.fromkeys(rows[name])) if name in rows else []
        if len(seen) > 1:
            raise ValueError(
                f"A rotation log is one turn of one antenna; {name} is {seen[0]} in some rows and "
                f"{seen[1]} in others. Take the rows of one."
            )


def _strongest(site, rows, rf_channel):
    said = predicted(site, rows)
    if not said.row.size:
        raise ValueError(
            said.skipped[0] if said.skipped else f"Nothing is known of RF {rf_channel}."
        )
    return int(said.station[said.margin_db.argmax()])


def _levels_db(site, rows):
    first = rows.iloc[0]
    margin = curve_of(site, first["meter"], first["scale"]).to_margin_db(
        rows["reading"].to_numpy(float), np.ones(len(rows), bool)
    )
    return np.atleast_1d(margin.value_db)


def _mean_heading(headings_deg):
    turn = np.exp(1j * np.deg2rad(headings_deg)).mean()
    return float(np.rad2deg(np.angle(turn)) % 360)


def _width(headings_deg, good):
    """Degrees of the circle that the good headings stand for, each up to half way to the next."""
    gaps = np.diff(np.concatenate([headings_deg, headings_deg[:1] + 360]))
    own = (gaps + np.roll(gaps, 1)) / 2
    return float(own[good].sum())


def _verdict(peak, arc, bearing, swing, share_at_top):
    off = abs(turn_deg(bearing, peak))
    if share_at_top > 0.5 or swing < facts.value("judgement", "flat_log_db"):
        return (
            f"flat: the reading moves only {swing:.0f} dB, so nothing was learned of the direction; "
            "put a pad in and turn again"
        )
    if off > max(arc / 2, 20):
        return (
            f"most at {peak:.0f} degrees, {off:.0f} away from the station's bearing {bearing:.0f}: "
            "a reflection may be what comes in. Try it on another evening before you trust it"
        )
    return f"most at {peak:.0f} degrees, as the bearing {bearing:.0f} says; good over {arc:.0f} degrees"
