"""The reading worth taking next: which station, behind which pad, and from where without climbing."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import budget
from ..budget import Setup, parts_of, reception
from ..site import Site, check_site
from ..tables import locks
from ..words import compass_word, spare_words
from .learning import curve_of

HOPELESS = 0.02
"""A station less likely than this to come in is not worth a reading: its "no picture" is known."""
AGAIN = 1.0
"""So many spreads farther from the edge a station counts that was asked before: new ones go first."""
_UP = ("mast", "roof")
BY_HAND = ("window", "room", "balcony", "vehicle", "boat")
_COLUMNS = ("rf_channel", "pad_db", "reading", "locked", "meter", "scale")


@dataclass(frozen=True)
class NextReading:
    """The reading worth taking next: ``station`` and ``rf_channel``, ``pad_db`` to put in (0: none),
    the forecast ``margin_db`` and ``spread_db``, and ``why`` in words; ``without_climbing`` a sentence
    on where else it can be read, or "".
    """

    station: str
    rf_channel: str
    pad_db: float
    margin_db: float
    spread_db: float
    why: str
    without_climbing: str = ""


def next_reading(
    site: Site,
    setup: Setup,
    readings: pd.DataFrame | None = None,
    pads_db: Sequence[float] = (0, 3, 6, 10, 16, 20),
) -> NextReading | None:
    """The station nearest to the edge of being received, in its own spread.

    That is the one whose chance is nearest to a coin toss, so its reading decides most. The pad brings
    what is expected to the middle of the meter's scale: a full meter tells only "at least", a picture
    that breaks only "less than". A station of which only such an end is known is asked again, where
    another pad can tell more.

    Parameters
    ----------
    site
        Informed or not.
    setup
        The one that will read it.
    readings
        Those already taken; None for the site's own.
    pads_db
        The pads at hand, dB.

    Returns
    -------
    NextReading or None
        None if nothing is worth it: every wanted station has been read, or hardly comes in anyway.

    Examples
    --------
    >>> from signalshed import simulate, survey
    >>> site = simulate.demo_site()
    >>> setup = survey.Setup(next(iter(site.antennas)), "roof mast", heading_deg=60)
    >>> next_reading(site, setup).pad_db in (0, 3, 6, 10, 16, 20)
    True
    """
    check_site(site)
    readings = site.readings if readings is None else readings
    received = reception(site, setup)
    margin, spread, fade = received.margin_db, received.spread_db, received.fade_db
    over = np.maximum(np.nan_to_num(margin) - _middle_of_meter_db(site), 0)
    pads = _pads(site, readings, over, np.sort(np.asarray(pads_db, float)))
    left = site.stations["wanted"].to_numpy(bool) & np.isfinite(margin) & np.isfinite(pads)
    left &= received.chance > HOPELESS
    if not left.any():
        return None
    read = set(readings["rf_channel"].astype(str)) if len(readings) else set()
    begun = site.stations["rf_channel"].isin(read).to_numpy()
    off_edge = np.abs(np.nan_to_num(margin) - fade) / spread + AGAIN * begun
    i = int(np.where(left, off_edge, np.inf).argmin())
    row = site.stations.iloc[i]
    known = "only one end of it is known" if begun[i] else "unread"
    why = f"{known}, and {spare_words(margin[i], spread[i])}"
    elsewhere = _without_climbing(site, setup, i)
    found = (row["station"], row["rf_channel"], float(pads[i]), margin[i], spread[i])
    return NextReading(*found, why, elsewhere)


def _pads(site, readings, over_db, pads_db):
    """The pad (n,) that tells most of each station, NaN where none at hand tells more than is known."""
    nearest = pads_db[np.abs(pads_db - over_db[:, None]).argmin(axis=1)]
    ends = _ends(site, readings)
    for i, channel in enumerate(site.stations["rf_channel"]):
        if channel in ends:
            held, lost = ends[channel]
            between = pads_db[(pads_db > held) & (pads_db < lost)]
            best = np.abs(between - over_db[i]).argmin() if between.size else None
            nearest[i] = np.nan if best is None else between[best]
    return nearest


def _ends(site, readings):
    """By channel read: the largest pad known to tell too little, the smallest to tell too much.

    A channel with a reading on the scale needs no more: nothing lies between its ends.
    """
    missing = [name for name in _COLUMNS if name not in readings]
    rows = readings.assign(**dict.fromkeys(missing)) if len(readings) else readings
    ends = {}
    for channel, part in rows.groupby(rows["rf_channel"].astype(str)) if len(rows) else ():
        pad = pd.to_numeric(part["pad_db"], errors="coerce").fillna(0.0).to_numpy(float)
        locked, known = locks(part["locked"]), _on_scale(site, part)
        held, lost = pad[locked == 1], pad[locked == 0]
        if known.any() or np.isnan(locked).all():
            ends[channel] = (np.inf, -np.inf)
        else:
            ends[channel] = held.max(initial=-np.inf), lost.min(initial=np.inf)
    return ends


def _on_scale(site, rows):
    """Which rows (of one channel) hold a reading that is a value."""
    shown = pd.to_numeric(rows["reading"], errors="coerce").to_numpy(float)
    told = (locks(rows["locked"]) == 1) & np.isfinite(shown)
    for k in np.flatnonzero(told):
        curve = curve_of(site, rows["meter"].iloc[k], rows["scale"].iloc[k])
        told[k] = curve.scale.holds(shown[k]) and shown[k] < curve.bound_from
    return told


def _middle_of_meter_db(site):
    """Half of what the tuner's quality figure can tell before it is full, dB."""
    return curve_of(site, site.tuner.name, "quality").full_at_db() / 2


def _without_climbing(site, setup, i):
    """A sentence on the place down below where the station comes in likeliest, or ""."""
    antenna, mount, _ = parts_of(site, setup)
    places = [m for m in site.mounts.values() if m.kind in BY_HAND]
    if mount.kind not in _UP or not places:
        return ""
    bearing = float(site.stations["bearing_deg"].iloc[i])
    there = [budget.reception_at(site, Setup(antenna, place), [bearing]) for place in places]
    best = max(range(len(there)), key=lambda k: there[k].chance[i])
    if not there[best].chance[i] > 0.5:
        return ""
    aim = "" if places[best].aim == "never" else f", aimed {compass_word(bearing)} ({bearing:.0f})"
    return f"It can be read without climbing: from the {places[best].name}{aim}."
