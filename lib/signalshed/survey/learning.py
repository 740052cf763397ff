"""Readings inform forecasts: what a few numbers off a meter teach about every other antenna."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import belief as learn
from .. import budget, meters
from ..budget import check_site, reception
from ..tables import locks
from ..units import SDS_TO_90, check_type
from ..words import spare_words
from .predicted import need, predicted

_UNKNOWN_ZERO_DB = 20.0
"""Prior sd of the zero of a meter whose ladder never lost lock, dB."""


def inform(site, readings=None):
    """The site wiser by its readings: a new Site with a belief about the path, and notes.

    A reading through a calibrated meter is a value, at the ceiling "at least", without lock "less
    than"; a pad that held or lost the picture is a bound without any curve. What a mount or an antenna
    is off by is shared by all readings made with it.
    Parameters: ``site`` a Site; ``readings`` a DataFrame in the columns of readings.csv, None for the
    site's own. Rows that cannot be used are named in the notes; all others are.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> inform(site, site.readings).belief is None
    True
    """
    check_site(site)
    readings = site.readings if readings is None else readings
    check_type("readings", readings, pd.DataFrame, "a DataFrame, as the readings of an open site")
    if len(readings) == 0:
        return replace(site, belief=None)
    need(readings, "meter", "scale", "reading")
    plain = site if site.belief is None else replace(site, belief=None)
    said = predicted(plain, readings)
    bounds, told = _bounds(plain, readings.iloc[said.row])
    prior = budget.prior(plain, next(iter(plain.mounts.values())))
    seen = observations(said, bounds)
    notes = (*site.notes, *told, *said.skipped, *said.notes)
    return replace(site, belief=prior.updated(seen) if seen.station.size else None, notes=notes)


def _bounds(site, readings):
    """What each reading says of the spare dB, by row, and notes.

    Columns: low_db, high_db, sd_db of the reading itself, and zero, the name of a meter whose zero is
    not known, or "".
    """
    locked = locks(readings["locked"]) == 1
    low, high = np.where(locked, 0.0, -np.inf), np.where(locked, np.inf, 0.0)
    sd, zero = np.zeros(low.size), np.full(low.size, "", dtype=object)
    notes = []
    shown = readings["reading"].notna().to_numpy() & locked
    for (meter, scale), rows in readings[shown].groupby(["meter", "scale"]).groups.items():
        at = readings.index.get_indexer(rows)
        curve = curve_of(site, meter, scale)
        notes += [f"{meter}, {scale}: {note}" for note in curve.notes]
        margin = curve.to_margin_db(readings.loc[rows, "reading"].to_numpy(float), locked[at])
        _enter(margin, at, low, high, sd)
        notes += _off_scale(readings.loc[rows], np.atleast_1d(margin.status), curve.scale)
        if not curve.zero_known:
            zero[at] = f"{meter}, {scale}"
    return pd.DataFrame({"low_db": low, "high_db": high, "sd_db": sd, "zero": zero}), notes


def _off_scale(rows, status, scale):
    """A sentence on readings that the scale does not hold, and that count only as pictures."""
    off = rows["reading"][status == "unusable"]
    if off.empty:
        return []
    shown = ", ".join(f"{value:g}" for value in off.unique()[:6])
    return [
        f"readings.csv: {shown}: off the scale {scale.label}, {scale.low:g} to {scale.high:g}; it "
        "counts only as a picture. Look at what was meant and correct it."
    ]


def _enter(margin, at, low, high, sd):
    """Put the margins of one meter's readings in their places."""
    value, lo, hi, status = (np.atleast_1d(x) for x in margin)
    measured = status == "measured"
    low[at[measured]] = high[at[measured]] = value[measured]
    sd[at[measured]] = (hi - lo)[measured] / (2 * SDS_TO_90)
    at_least = status == "at least"
    low[at[at_least]] = value[at_least]
    less = status == "less than"
    high[at[less]] = value[less]


def curve_of(site, meter, scale):
    """The meters.MeterCurve of one meter's scale at a site: through its ladder, else the wide default.

    Parameters: ``site`` a Site; ``meter`` its name; ``scale`` a name from meters.scales().

    >>> from signalshed import simulate
    >>> curve_of(simulate.demo_site(), "a set", "quality").source
    'default'
    """
    return site.remembered(
        ("curve", meter, scale), lambda: _curve(site.ladder, meter, scale), ("ladder",)
    )


def _curve(ladder, meter, scale):
    known = ladder is not None and len(ladder)
    rows = ladder[(ladder["meter"] == meter) & (ladder["scale"] == scale)] if known else ()
    return meters.MeterCurve.fit(rows) if len(rows) else meters.MeterCurve.default(scale)


def observations(said, bounds):
    """Readings as constraints on the path: belief.Observations.

    At most three unknowns are shared between readings; those that matter most are, the others widen
    their readings. Parameters: ``said`` from predicted; ``bounds`` what the readings say, by row.
    """
    groups = _shared(said, bounds)
    kept, rest = groups[: learn.MOST_GROUPS], groups[learn.MOST_GROUPS :]
    variance = bounds.sd_db**2 + said.moment_sd_db**2
    for unknown, member in rest:
        variance = variance + np.where(member, unknown.sd_db**2, 0.0)
    member = np.array([m for _, m in kept]).T.reshape(len(said.row), len(kept))
    return learn.Observations(
        said.station,
        bounds.low_db - said.margin_db,
        bounds.high_db - said.margin_db,
        np.maximum(np.sqrt(variance), 0.2),
        tuple(unknown for unknown, _ in kept),
        member,
    )


def _shared(said, bounds):
    """Unknowns that readings share, (Unknown, member), those that matter most first."""
    groups = []
    for name in sorted(set(bounds.zero) - {""}):
        groups.append((learn.Unknown("meter", name, _UNKNOWN_ZERO_DB), bounds.zero == name))
    for kind, names, sds in (
        ("mount", said.mount, said.mount_sd_db),
        ("antenna", said.antenna, said.antenna_sd_db),
    ):
        for name in sorted(set(names)):
            member = names == name
            sd = float(np.sqrt(np.mean(sds[member] ** 2)))
            if sd > 0:
                groups.append((learn.Unknown(kind, name, sd), member))
    return sorted(groups, key=lambda g: -(g[0].sd_db ** 2) * g[1].sum())


@dataclass(frozen=True)
class NextReading:
    """The reading worth taking next: ``station`` and ``rf_channel``, ``pad_db`` to put in (0: none),
    the forecast ``margin_db`` and ``spread_db``, and ``why`` in words.
    """

    station: str
    rf_channel: str
    pad_db: float
    margin_db: float
    spread_db: float
    why: str


def next_reading(site, setup, readings=None, pads_db=(0, 3, 6, 10, 16, 20)):
    """The unread station nearest to the edge of being received, in its own spread: NextReading or None.

    That is the one whose chance is nearest to a coin toss, so its reading decides most. The pad brings
    what is expected to the middle of the meter's scale: a full meter tells only "at least", a picture
    that breaks only "less than". Parameters: ``site`` a Site, informed or not; ``setup`` the
    survey.Setup that will read it; ``readings`` those already taken, None for the site's own;
    ``pads_db`` the pads at hand. None if every wanted station has been read or can't be.

    >>> from signalshed import simulate, survey
    >>> site = simulate.demo_site()
    >>> setup = survey.Setup(next(iter(site.antennas)), "roof mast", heading_deg=60)
    >>> next_reading(site, setup).pad_db in (0, 3, 6, 10, 16, 20)
    True
    """
    readings = site.readings if readings is None else readings
    read = set(readings["rf_channel"].astype(str)) if len(readings) else set()
    received = reception(site, setup)
    margin, spread, fade = received.margin_db, received.spread_db, received.fade_db
    s = site.stations
    left = s["wanted"].to_numpy(bool) & ~s["rf_channel"].isin(read).to_numpy() & np.isfinite(margin)
    if not left.any():
        return None
    off_edge = np.where(left, np.abs(np.nan_to_num(margin) - fade) / spread, np.inf)
    i = int(off_edge.argmin())
    pads = np.asarray(pads_db, float)
    over = max(margin[i] - _middle_of_meter_db(site), 0)
    pad = float(pads[np.abs(pads - over).argmin()])
    why = f"unread, and {spare_words(margin[i], spread[i])}"
    row = s.iloc[i]
    return NextReading(row["station"], row["rf_channel"], pad, margin[i], spread[i], why)


def _middle_of_meter_db(site):
    """Half of what the tuner's quality figure can tell before it is full, dB."""
    return curve_of(site, site.tuner.name, "quality").full_at_db() / 2
