"""What the forecast says of each reading: the spare dB of the very set-up that was read."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import pandas as pd

from .. import budget, facts
from ..budget import Setup
from ..site import Site, check_site
from ..tables import locks
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


_KINDS = (int, float, float, float, float, object, object)
"""What each array of a Predicted holds, but for ``row``."""
_SETUP = ("mount", "antenna", "heading_deg", "pad_db", "pad_sd_db", "pad_at", "amplifier", "leaves")
"""Columns that say what was read with."""
_NO_LOCK = "whether there was a picture is not known; write yes or no."


def predicted(site: Site, readings: pd.DataFrame) -> Predicted:
    """The forecast for each reading of a site.

    A reading of a channel with several stations belongs to the one that comes in strongest.

    Parameters
    ----------
    site
    readings
        In the columns of readings.csv.

    Returns
    -------
    Predicted
        One entry a reading; sentences about those that could not be used.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> len(predicted(site, site.readings).row)
    0
    """
    check_site(site)
    need(readings, "mount", "antenna", "rf_channel", "locked")
    skipped = {}
    numbers, channel = row_numbers(readings), readings["rf_channel"].astype(str).to_numpy(object)
    unknown = np.isnan(locks(readings["locked"]))
    if unknown.any():
        skipped[_NO_LOCK] = np.flatnonzero(unknown).tolist()
    leaves, notes = seasons(site, readings)
    found, on_channel = [], site.stations.groupby("rf_channel").indices
    setups = _by_setup(readings.assign(leaves=leaves), ~unknown)
    first = readings.iloc[[rows[0] for rows in setups]].itertuples(index=False)
    for rows, row in zip(setups, first, strict=True):
        try:
            here = _forecast(site, row, leaves[rows[0]])
        except ValueError as problem:
            skipped.setdefault(str(problem), []).extend(rows)
            continue
        for name in dict.fromkeys(channel[rows]):
            on_it = rows[channel[rows] == name]
            try:
                i = _strongest(site, here, on_channel.get(name, ()), name)
                found.append((on_it, i, here))
            except ValueError as problem:
                skipped.setdefault(str(problem), []).extend(on_it)
    said = (_left_out(why, [numbers[k] for k in sorted(rows)]) for why, rows in skipped.items())
    return replace(_joined(found, tuple(said)), notes=notes)


def _joined(found, skipped):
    """A Predicted of (rows, station, forecast of the set-up), in the order of the rows."""
    if not found:
        return Predicted(*(np.zeros(0, kind) for kind in (int, *_KINDS)), skipped)
    rows = np.concatenate([on_it for on_it, _, _ in found])
    order, each = np.argsort(rows), [on_it.size for on_it, _, _ in found]
    values = zip(*((i, *here.of(i)) for _, i, here in found), strict=True)
    columns = (np.array(v, kind) for v, kind in zip(values, _KINDS, strict=True))
    return Predicted(rows[order], *(np.repeat(c, each)[order] for c in columns), skipped)


def _by_setup(readings, which):
    """Positions of the readings of a mask, those of one set-up together."""
    names = [name for name in _SETUP if name in readings]
    told = pd.DataFrame({name: pd.factorize(readings[name])[0] for name in names})
    at = told.groupby(names, sort=False).indices.values()
    return [rows[which[rows]] for rows in at if which[rows].any()]


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


class _Forecast(NamedTuple):
    """Margins of one set-up, what adds to them, (stations,) each, and the things themselves."""

    margin_db: np.ndarray
    moment_sd_db: np.ndarray
    mount_sd_db: np.ndarray
    antenna_sd_db: np.ndarray
    mount: object
    antenna: object

    def of(self, i):
        return (*(array[i] for array in self[:4]), self.mount.name, self.antenna.name)


def _strongest(site, here, on_channel, name):
    """The station of a channel that comes in strongest; ValueError if there is no forecast of any."""
    if not len(on_channel):
        raise ValueError(f"no station of the list is on RF {name}.")
    i = int(on_channel[np.nan_to_num(here.margin_db[on_channel], nan=-np.inf).argmax()])
    if not np.isfinite(here.margin_db[i]):
        raise ValueError(_no_forecast(site, here.antenna.name, name, on_channel))
    return i


def _no_forecast(site, antenna, rf_channel, on_channel):
    standards = set(site.stations["standard"].iloc[on_channel])
    if not standards & set(site.tuner.standards):
        return (
            f"RF {rf_channel} sends {', '.join(sorted(standards))}, which this TV does not "
            "decode by site.toml; if it showed a picture, correct standards under [tuner]."
        )
    return f"there is no forecast for {antenna} on RF {rf_channel}."


def _forecast(site, row, leaves):
    """The _Forecast of the set-up of a reading, in the season of it; ValueError if there is none."""
    setup = _setup_of(site, row)
    then = site if leaves == site.leaves else replace(site, leaves=leaves)
    anyhow = setup.heading_deg is None
    headings = budget.HEADINGS_DEG if anyhow else [setup.heading_deg]
    there = budget.reception_at(then, setup, headings)
    round_it = budget.gain_toward_dbd(site, there.antenna, there.mount, budget.HEADINGS_DEG)
    off_aim_db = np.maximum(round_it.max(axis=0) - there.gain_dbd.mean(axis=0), 0.0)
    off_aim_sd = facts.value("judgement", "off_aim_share") * off_aim_db
    # Where nobody knows where it pointed, it may have been anywhere.
    turned_sd = there.margins_db.std(axis=0) if anyhow else 0.0
    wobble, fade = facts.value("judgement", "reading_wobble_db"), there.fade_db / SDS_TO_WORST_TENTH
    pad_sd = float(_given(row, "pad_sd_db", 0.0))
    link = there.link
    freq = site.stations["freq_mhz"].to_numpy(float)
    moved_db = link.vegetation_loss_db - budget.vegetation_loss_db(there.mount, freq, site.leaves)
    season_sd = facts.value("judgement", "leaves_sd_share") * moved_db
    each = (fade, wobble, off_aim_sd, turned_sd, pad_sd, link.floor_sd_db, season_sd)
    moment = np.sqrt(sum(sd**2 for sd in each))
    blocked = np.where(link.blocked_loss_db > 0, facts.value("judgement", "blocked_sd_db"), 0.0)
    return _Forecast(
        there.margins_db.mean(axis=0),
        moment,
        np.hypot(link.mount_sd_db, blocked),
        there.antenna.spread_at_db(site.stations["freq_mhz"]),
        there.mount,
        there.antenna,
    )


def _setup_of(site, row):
    """The Setup that was read, pads and amplifier as they were."""
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
    return Setup(antenna, mount, feed=feed, heading_deg=heading)


def _feed_as_read(feed, amplifier):
    if amplifier == "none":
        return feed.without_amplifiers()
    return feed.unpowered() if amplifier == "off" else feed


def _given(row, name, default):
    """What a reading says of ``name``, or ``default`` where it says nothing."""
    value = getattr(row, name, default)
    return default if value is None or value != value or value == "" else value
