"""What the forecast says of each reading: the spare dB of the very set-up that was read."""

from dataclasses import dataclass, replace

import numpy as np

from .. import budget, facts
from ..budget import Setup, parts_of
from ..tables import lock
from ..units import SDS_TO_WORST_TENTH
from ..words import numbered
from .season import seasons


@dataclass(frozen=True, eq=False)
class Predicted:
    """One entry per reading (r,): ``row`` its position in the table, ``station`` row of the station,
    ``margin_db`` forecast with pads and amplifier as they were, ``moment_sd_db`` what the moment, the
    noise of the street, the tuner's need and a pattern off its aim add, ``mount_sd_db`` and
    ``antenna_sd_db`` what is not known of mount and antenna, ``mount`` and ``antenna`` names;
    ``skipped`` sentences about rows that could not be used, ``notes`` on what was guessed.
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
    notes: tuple = ()


_KINDS = (int, int, float, float, float, float, object, object)
"""What each array of a Predicted holds."""


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
    found, skipped = [], {}
    cache, numbers = {}, row_numbers(readings)
    leaves, notes = seasons(site, readings)
    for k, row in enumerate(readings.itertuples(index=False)):
        try:
            found.append((k, *_forecast(site, row, leaves[k], cache)))
        except ValueError as problem:
            skipped.setdefault(str(problem), []).append(numbers[k])
    columns = zip(*found, strict=True) if found else [()] * len(_KINDS)
    arrays = [np.array(c, kind) for c, kind in zip(columns, _KINDS, strict=True)]
    return Predicted(*arrays, tuple(_left_out(why, rows) for why, rows in skipped.items()), notes)


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


def _forecast(site, row, leaves, cache):
    """Station, margin, spreads and names for one reading; ValueError if there is no forecast."""
    if lock(getattr(row, "locked", None)) is None:
        raise ValueError("whether there was a picture is not known; write yes or no.")
    setup, key = _setup_of(site, row)
    key = (*key, leaves)
    if key not in cache:
        cache[key] = _computed(site, setup, leaves)
    margin, fade, mount_sd, other_sd = cache[key]
    on_channel = site.stations["rf_channel"].to_numpy(object) == str(row.rf_channel)
    if not on_channel.any():
        raise ValueError(f"no station of the list is on RF {row.rf_channel}.")
    here = np.where(on_channel, np.nan_to_num(margin, nan=-np.inf), -np.inf)
    i = int(here.argmax())
    if np.isinf(here[i]):
        raise ValueError(_no_forecast(site, row, on_channel))
    wobble = facts.value("judgement", "reading_wobble_db")
    moment = np.sqrt((fade[i] / SDS_TO_WORST_TENTH) ** 2 + wobble**2 + other_sd[i] ** 2)
    antenna, mount, _ = parts_of(site, setup)
    antenna_sd = antenna.spread_at_db(site.stations["freq_mhz"].iloc[i])
    return i, margin[i], moment, mount_sd[i], antenna_sd, mount.name, antenna.name


def _no_forecast(site, row, on_channel):
    standards = set(site.stations.loc[on_channel, "standard"])
    if not standards & set(site.tuner.standards):
        return (
            f"RF {row.rf_channel} sends {', '.join(sorted(standards))}, which this TV does not "
            "decode by site.toml; if it showed a picture, correct standards under [tuner]."
        )
    return f"there is no forecast for {row.antenna} on RF {row.rf_channel}."


def _computed(site, setup, leaves):
    """Margin, fade and spreads of a setup as it was read, in the season of the reading."""
    then = site if leaves == site.leaves else replace(site, leaves=leaves)
    there = budget.reception_at(then, setup, [setup.heading_deg])
    round_it = budget.gain_toward_dbd(site, there.antenna, there.mount, budget.HEADINGS_DEG)
    off_aim_db = np.maximum(round_it.max(axis=0) - there.gain_dbd[0], 0.0)
    off_aim_sd = facts.value("judgement", "off_aim_share") * off_aim_db
    this = there.link
    blocked = np.where(this.blocked_loss_db > 0, facts.value("judgement", "blocked_sd_db"), 0.0)
    mount_sd = np.hypot(this.mount_sd_db, blocked)
    freq = site.stations["freq_mhz"].to_numpy(float)
    moved_db = this.trees_loss_db - budget.trees_loss_db(there.mount, freq, site.leaves)
    season_sd = facts.value("judgement", "leaves_sd_share") * moved_db
    other_sd = np.sqrt(off_aim_sd**2 + this.floor_sd_db**2 + season_sd**2)
    return there.margin_db, there.fade_db, mount_sd, other_sd


def _setup_of(site, row):
    """The Setup that was read, pads and amplifier as they were, and a key that names it."""
    mount = site.mount(row.mount)
    antenna = site.antenna(row.antenna)
    pad_db = float(_given(row, "pad_db", 0.0))
    pad_at = str(_given(row, "pad_at", "set"))
    amplifier = str(_given(row, "amplifier", ""))
    heading = _given(row, "heading_deg", None)
    if heading is None:
        raise ValueError("it has no heading_deg.")
    heading = float(heading)
    feed = _feed_as_read(site.feed(mount.feed), amplifier)
    feed = feed.with_pad(pad_db, pad_at) if pad_db else feed
    key = (antenna.name, mount.name, amplifier, pad_db, pad_at, heading)
    return Setup(antenna, mount, feed, heading % 360), key


def _feed_as_read(feed, amplifier):
    if amplifier == "none":
        return feed.without_amplifiers()
    return feed.unpowered() if amplifier == "off" else feed


def _given(row, name, default):
    """What a reading says of ``name``, or ``default`` where it says nothing."""
    value = getattr(row, name, default)
    return default if value is None or value != value or value == "" else value
