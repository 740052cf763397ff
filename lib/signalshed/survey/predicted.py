"""What the forecast says of each reading: the spare dB of the very set-up that was read."""

from dataclasses import dataclass

import numpy as np

from .. import budget, facts
from ..budget import Setup
from ..tables import lock, locks
from ..units import SDS_TO_WORST_TENTH
from ..words import numbered


@dataclass(frozen=True, eq=False)
class Predicted:
    """One entry per reading (r,): ``row`` its position in the table, ``station`` row of the station,
    ``margin_db`` forecast with pads and amplifier as they were, ``moment_sd_db`` what the moment and a
    pattern off its aim add, ``mount_sd_db`` and ``antenna_sd_db`` what is not known of mount and
    antenna, ``mount`` and ``antenna`` names; ``skipped`` sentences about rows that could not be used.
    """

    row: np.ndarray
    station: np.ndarray
    margin_db: np.ndarray
    moment_sd_db: np.ndarray
    mount_sd_db: np.ndarray
    antenna_sd_db: np.ndarray
    mount: np.ndarray
    antenna: np.ndarray
    skipped: tuple


_KINDS = (int, float, float, float, float, object, object)
"""What each array of a Predicted holds, but for ``row``."""
_FORECAST_BY = (
    *(
        "mount",
        "antenna",
        "rf_channel",
        "heading_deg",
        "pad_db",
        "pad_sd_db",
        "pad_at",
        "amplifier",
    ),
)
"""Columns that a forecast of a reading hangs on."""


def predicted(site, readings):
    """The forecast for each of the ``readings`` of a ``site``: Predicted.

    Parameters: ``site`` a Site; ``readings`` a DataFrame in the columns of readings.csv. A reading of
    a channel with several stations belongs to the one that comes in strongest.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> len(predicted(site, site.readings).row)
    0
    """
    need(readings, "mount", "antenna", "rf_channel", "locked")
    kinds = _kinds(readings)
    found, skipped, cache = {}, {}, {}
    numbers = np.array(row_numbers(readings), dtype=object)
    first = np.unique(kinds, return_index=True)[1]
    on_channel = site.stations.groupby("rf_channel").indices
    for kind, row in enumerate(readings.iloc[first].itertuples(index=False)):
        try:
            at = on_channel.get(str(row.rf_channel), ())
            found[kind] = _forecast(site, row, at, cache)
        except ValueError as problem:
            skipped.setdefault(str(problem), []).extend(np.flatnonzero(kinds == kind))
    at = np.flatnonzero(np.isin(kinds, list(found)))
    columns = zip(*(found[kind] for kind in kinds[at]), strict=True) if at.size else [()] * 7
    arrays = [np.array(c, kind) for c, kind in zip(columns, _KINDS, strict=True)]
    said = (_left_out(why, numbers[sorted(rows)]) for why, rows in skipped.items())
    return Predicted(at, *arrays, tuple(said))


def _kinds(readings):
    """A number (r,) for each reading, the same for those that one forecast is of."""
    names = [name for name in _FORECAST_BY if name in readings]
    told = readings[names].assign(locked=np.isnan(locks(readings["locked"])))
    return (
        told.astype(object).fillna("").astype(str).groupby([*told], sort=False).ngroup().to_numpy()
    )


def need(readings, *columns):
    """A ValueError that names the first of ``columns`` that the DataFrame ``readings`` lacks.

    >>> import pandas as pd
    >>> need(pd.DataFrame({"reading": [60]}), "reading", "locked")
    Traceback (most recent call last):
    ValueError: The readings have no column locked; they are a table in the columns of readings.csv.
    """
    for name in columns:
        if name not in readings:
            raise ValueError(
                f"The readings have no column {name}; they are a table in the columns of readings.csv."
            )


def row_numbers(readings):
    """What to call each reading: its row in readings.csv as a spreadsheet counts, or its place from 1.

    Parameters: ``readings`` a DataFrame; those of an open site know their rows. Returns a list.

    >>> import pandas as pd
    >>> row_numbers(pd.DataFrame({"reading": [60, 70]}))
    [1, 2]
    """
    if readings.index.name == "row":
        return readings.index.tolist()
    return list(range(1, len(readings) + 1))


def _left_out(why, numbers):
    """One sentence for all readings that are left out for one reason."""
    s, are = ("", "is") if len(numbers) == 1 else ("s", "are")
    return f"Reading{s} {numbered(numbers)} {are} left out: {why}"


def _forecast(site, row, on_channel, cache):
    """Station, margin, spreads and names for one reading; ValueError if there is no forecast.

    ``on_channel`` are the positions of the stations on its channel.
    """
    if lock(getattr(row, "locked", None)) is None:
        raise ValueError("whether there was a picture is not known; write yes or no.")
    setup, key = _setup_of(site, row)
    if key not in cache:
        cache[key] = _computed(site, setup)
    margin, fade, mount_sd, off_aim_sd, antenna_sd = cache[key]
    if not len(on_channel):
        raise ValueError(f"no station of the list is on RF {row.rf_channel}.")
    i = int(on_channel[np.nan_to_num(margin[on_channel], nan=-np.inf).argmax()])
    if not np.isfinite(margin[i]):
        raise ValueError(_no_forecast(site, row, on_channel))
    wobble = facts.value("judgement", "reading_wobble_db")
    pad_sd = float(_given(row, "pad_sd_db", 0.0))
    moment = np.sqrt(
        (fade[i] / SDS_TO_WORST_TENTH) ** 2 + wobble**2 + off_aim_sd[i] ** 2 + pad_sd**2
    )
    antenna, mount = setup.antenna, setup.mount
    return i, margin[i], moment, mount_sd[i], antenna_sd[i], mount.name, antenna.name


def _no_forecast(site, row, on_channel):
    standards = set(site.stations["standard"].iloc[on_channel])
    if not standards & set(site.tuner.standards):
        return (
            f"RF {row.rf_channel} sends {', '.join(sorted(standards))}, which this TV does not "
            "decode by site.toml; if it showed a picture, correct standards under [tuner]."
        )
    return f"there is no forecast for {row.antenna} on RF {row.rf_channel}."


def _computed(site, setup):
    anyhow = setup.heading_deg is None
    headings = budget.HEADINGS_DEG if anyhow else [setup.heading_deg]
    there = budget.reception_at(site, setup, headings)
    round_it = budget.gain_toward_dbd(site, there.antenna, there.mount, budget.HEADINGS_DEG)
    off_aim_db = np.maximum(round_it.max(axis=0) - there.gain_dbd.mean(axis=0), 0.0)
    off_aim_sd = facts.value("judgement", "off_aim_share") * off_aim_db
    margin_db = there.margins_db.mean(axis=0)
    if anyhow:  # nobody knows where it pointed: anywhere
        off_aim_sd = np.hypot(off_aim_sd, there.margins_db.std(axis=0))
    this = there.link
    blocked = np.where(this.blocked_loss_db > 0, facts.value("judgement", "blocked_sd_db"), 0.0)
    antenna_sd = there.antenna.spread_at_db(site.stations["freq_mhz"])
    return margin_db, there.fade_db, np.hypot(this.mount_sd_db, blocked), off_aim_sd, antenna_sd


def _setup_of(site, row):
    """The Setup that was read, pads and amplifier as they were, and a key that names it."""
    mount = site.mount(row.mount)
    antenna = site.antenna(row.antenna)
    pad_db = float(_given(row, "pad_db", 0.0))
    pad_at = str(_given(row, "pad_at", "set"))
    amplifier = str(_given(row, "amplifier", ""))
    heading = _given(row, "heading_deg", None)
    if heading is None and mount.aim != "never":
        raise ValueError("it has no heading_deg.")
    heading = None if heading is None else float(heading) % 360
    feed = _feed_as_read(site.feed(mount.feed), amplifier)
    feed = feed.with_pad(pad_db, pad_at) if pad_db else feed
    key = (antenna.name, mount.name, amplifier, pad_db, pad_at, heading)
    return Setup(antenna, mount, feed, heading), key


def _feed_as_read(feed, amplifier):
    if amplifier == "none":
        return feed.without_amplifiers()
    return feed.unpowered() if amplifier == "off" else feed


def _given(row, name, default):
    """What a reading says of ``name``, or ``default`` where it says nothing."""
    value = getattr(row, name, default)
    return default if value is None or value != value or value == "" else value
