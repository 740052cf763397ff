"""Readings inform forecasts: what a few numbers off a meter teach about every other antenna."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import belief as learn
from .. import budget, facts, meters
from ..site import Site, check_site, remembering
from ..tables import locks
from ..units import SDS_TO_90, check_type
from ..words import counted
from .predicted import need, predicted
from .unlogged import not_logged

_UNKNOWN_ZERO_DB = 20.0
"""Prior sd of the zero of a meter whose ladder never lost lock, dB."""


def inform(site: Site, readings: pd.DataFrame | None = None) -> Site:
    """The site wiser by its readings: a new Site with a belief about the path, and notes.

    A reading through a calibrated meter is a value, at the ceiling "at least", without lock "less
    than"; a pad that held or lost the picture is a bound without any curve. What a mount or an antenna
    is off by is shared by all readings made with it.

    Parameters
    ----------
    site
    readings
        In the columns of readings.csv; None for the site's own.

    Returns
    -------
    Site
        Rows that could not be used are named in its notes; all others were.

    Examples
    --------
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
    used = readings.iloc[said.row]
    bounds, told = _bounds(plain, used)
    said, revised = _revisions_apart(plain, used, said)
    prior = budget.prior(plain, next(iter(plain.mounts.values())))
    seen = observations(said, bounds)
    if seen.station.size:
        unsaid, missed = not_logged(plain, used, said)
        seen, revised = seen.joined(unsaid), [*revised, *missed]
    notes = (*site.notes, *told, *revised, *said.skipped, *said.notes)
    return replace(site, belief=prior.updated(seen) if seen.station.size else None, notes=notes)


def _revisions_apart(site, readings, said):
    """``said`` with readings of another revision under an antenna of their own, less surely known."""
    if "antenna_revision" not in readings:
        return said, []
    built = {name: antenna.revision for name, antenna in site.antennas.items()}
    revision = readings["antenna_revision"].fillna("").astype(str).str.removesuffix(".0")
    revision = revision.to_numpy(object)
    other = (revision != "") & (
        revision != np.array([built[name] for name in said.antenna], object)
    )
    names = np.array([f"{n} (revision {r})" for n, r in zip(said.antenna, revision, strict=True)])
    rebuilt = np.hypot(said.antenna_sd_db, facts.value("judgement", "other_revision_sd_db"))
    notes = [
        f"readings.csv: {counted(count, 'reading was', 'readings were')} made with {name}, which is "
        "not what antennas.toml describes: they teach the path, and little of the antenna."
        for name, count in pd.Series(names[other], dtype=object).value_counts().items()
    ]
    names = np.where(other, names, said.antenna).astype(object)
    return replace(
        said, antenna=names, antenna_sd_db=np.where(other, rebuilt, said.antenna_sd_db)
    ), notes


def _bounds(site, readings):
    """What each reading says of the spare dB, by row, and notes.

    Columns: low_db, high_db, sd_db of the reading itself; zero, the meter, or "" where it has nothing to
    do with what was read; zero_sd_db, how surely its zero is known, one error of all its readings;
    wild, the chance that a figure was of something else: a picture, or none, is seen without doubt.
    """
    locked = locks(readings["locked"]) == 1
    edge = -facts.value("judgement", "acquire_db") * _switched(
        readings
    )  # it was held, not found anew
    low, high = np.where(locked, edge, -np.inf), np.where(locked, np.inf, edge)
    sd, zero = np.zeros(low.size), np.full(low.size, "", dtype=object)
    zero_sd, wild = np.zeros((2, low.size))
    notes = []
    shown = readings["reading"].notna().to_numpy() & locked
    for (meter, scale), rows in readings[shown].groupby(["meter", "scale"]).groups.items():
        at = readings.index.get_indexer(rows)
        curve = curve_of(site, meter, scale)
        notes += [f"{meter}, {scale}: {note}" for note in curve.notes]
        margin = curve.to_margin_db(readings.loc[rows, "reading"].to_numpy(float), locked[at])
        _enter(margin, at, low, high, sd)
        notes += _off_scale(readings.loc[rows], np.atleast_1d(margin.status), curve.scale)
        told = at[np.atleast_1d(margin.status) != "unusable"]
        wild[told] = facts.value("judgement", "reading_wild_share")
        shared = curve.zero_sd_db if curve.zero_known else _UNKNOWN_ZERO_DB
        if shared > 0:
            zero[told], zero_sd[told] = f"{meter}, {scale}", shared
    sd = np.sqrt(np.maximum(sd**2 - np.where(zero_sd < _UNKNOWN_ZERO_DB, zero_sd, 0.0) ** 2, 0.0))
    ends = {"low_db": low, "high_db": high, "sd_db": sd, "wild": wild}
    return pd.DataFrame(ends | {"zero": zero, "zero_sd_db": zero_sd}), notes


def _switched(readings):
    """Where a pad was switched in (mask): the picture had to be held, not to be found anew."""
    if "pad_how" not in readings:
        return np.zeros(len(readings))
    pads = readings["pad_db"].fillna(0.0).to_numpy(float) > 0
    return readings["pad_how"].eq("switched").to_numpy() & pads


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


@remembering("ladder")
def curve_of(site: Site, meter: str, scale: str) -> meters.MeterCurve:
    """The curve of one meter's scale at a site: through its ladder, else the wide default.

    Parameters
    ----------
    site
    meter
        Its name, as in meter.csv.
    scale
        A name from meters.scales().

    Returns
    -------
    MeterCurve

    Examples
    --------
    >>> from signalshed import simulate
    >>> curve_of(simulate.demo_site(), "a set", "quality").source
    'default'
    """
    check_site(site)
    ladder = site.ladder
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
        bounds.wild,
    )


def _shared(said, bounds):
    """Unknowns that readings share, (Unknown, member), those that matter most first."""
    groups = []
    for name in sorted(set(bounds.zero) - {""}):
        member = (bounds.zero == name).to_numpy()
        groups.append((learn.Unknown("meter", name, bounds.zero_sd_db[member].max()), member))
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
