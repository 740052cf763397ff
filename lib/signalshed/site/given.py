"""A site from tables in memory, in the words of the files and by the same checks."""

from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
import pandas as pd

from .. import antenna, chain, channels, earth, facts
from ..tables import METER, READINGS, STATIONS, Problems, check_frame
from ..tables.cells import is_empty
from ..tables.reading import frame_of
from ..units import check, check_type
from .antennas import read_antennas
from .compass import Compass
from .ground import LAND_NOT_TOLD
from .model import Mount, Place, Site
from .outline import outline
from .stations import Around, joined, resolve

_OURS = {"erp_kw": "erp_toward_kw", "haat_m": "antenna_height_m", "transmit_agl_m": "antenna_agl_m"}
"""What stations.csv calls columns of Site.stations, where it has another name for them."""
_WORKED_OUT = ("unknown_sd_db", "pattern_loss_db")
"""Columns of Site.stations that stations.csv does not have."""


def from_tables(
    place: Place | tuple,
    stations: pd.DataFrame | list | dict,
    antennas: antenna.Antenna | list | dict | pd.DataFrame | None = None,
    mounts: Mount | list | dict | pd.DataFrame | None = None,
    region: str = "us",
    *,
    tuner: chain.Tuner | None = None,
) -> Site:
    """A Site from tables in memory: what open_site makes of a folder, without a folder.

    Names, units, other names and ranges are those of the files, and so are the sentences. No cable:
    give one by ``dataclasses.replace(site, feeds=...)``. Pattern and trial files that rows name are
    looked for where Python runs.

    Parameters
    ----------
    place
        A Place, or (latitude, longitude) in degrees.
    stations
        Rows as in stations.csv, a DataFrame, a list of dicts or a dict of columns, each with
        coordinates or with a bearing and a distance.
    antennas
        Antennas or rows as in antennas.toml, None for a half-wave dipole.
    mounts
        Mounts or rows as under [[mounts]] of site.toml, None for a mast 9 m above the ground.
    region
        Of the channel plan.
    tuner
        A chain.Tuner, None for one that shows every standard of the list.

    Returns
    -------
    Site
        What was taken for granted is in its ``notes``.

    Raises
    ------
    BadTable
        With everything that is wrong.
    ValueError
        For what are no tables.

    Examples
    --------
    >>> from signalshed import site, survey
    >>> stations = [
    ...     {"station": "Gazette", "rf_channel": 24, "standard": "8-VSB", "bearing_deg": 38,
    ...      "distance_km": 34, "erp_toward_kw": 400, "antenna_height_ft": 900},
    ...     {"station": "Bugle", "rf_channel": 33, "bearing_deg": 80, "distance_km": 61,
    ...      "erp_toward_kw": 90, "antenna_height_ft": 700},
    ... ]
    >>> roof = site.from_tables((30.45, -40.7), stations)
    >>> table = survey.outlook(roof, survey.Setup("half-wave dipole", "mast", heading_deg=50))
    >>> table["station"].tolist(), table["margin_db"].round().tolist()
    (['Gazette', 'Bugle'], [37.0, 7.0])
    """
    problems = Problems()
    place = place_of(place)
    check_type("tuner", tuner, (chain.Tuner, type(None)), "a chain.Tuner, or None")
    plan_of = region if region in channels.REGIONS else "us"
    table, notes = listed_stations(stations, place, plan_of, problems)
    given, more = _antennas(antennas, plan_of, problems)
    rows, said = _mounts(mounts)
    shows = _families(table)
    top = {"name": place.name, "latitude": place.latitude_deg, "longitude": place.longitude_deg}
    data = top | {"region": region, "tuner": {"standards": shows}, "mounts": rows}
    plan = outline(data, problems)
    problems.stop()
    if tuner is None:
        said += (f"The tuner is taken to show {', '.join(shows)}, as the list has it.", *plan.notes)
    else:
        said += tuple(note for note in plan.notes if "tuner: " not in note)
        plan = replace(plan, tuner=tuner)
    return plan.site(
        stations=table,
        antennas=given,
        readings=pd.DataFrame(columns=READINGS.header()),
        ladder=pd.DataFrame(columns=METER.header()),
        notes=(*said, *more, *notes, f"{LAND_NOT_TOLD}."),
    )


def listed_stations(
    rows: pd.DataFrame | list | dict, place: Place, region: str, problems: Problems
) -> tuple:
    """A station list in memory as the table a Site holds, and sentences on defaults.

    Parameters: ``rows`` as in ``from_tables``; ``place`` a Place; ``region``; ``problems`` gathers what
    is wrong.
    """
    shapes = getattr(rows, "attrs", {}).get("patterns", {})
    around = Around(place, region, Compass(place), Path("patterns"), shapes=shapes)
    return _listed(check_frame(rows, STATIONS, problems), around)


def with_stations(self: Site, stations: pd.DataFrame | list | dict) -> Site:
    """A new Site with another station list, checked as by ``from_tables``: how a list is changed.

    What follows from a cell is worked out anew: the frequency from rf_channel; of bearing and distance
    and of coordinates, the pair that still is as this site has it for the station from the pair that
    was changed. Changed both, they must agree. Heights stay as they stand in the table.

    Parameters
    ----------
    stations
        The site's own table changed, in rows or in cells, or a list as in ``from_tables``.

    Returns
    -------
    Site
        Its rows of stations are numbered from 0.

    Raises
    ------
    BadTable
        With everything that is wrong.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> turned = site.with_stations(site.stations.assign(bearing_deg=90.0))
    >>> turned.stations["latitude_deg"].round(1).dropna().unique().tolist()
    [30.4]
    """
    problems, rows = Problems(), frame_of(stations, STATIONS.file)
    is_ours = "unknown_sd_db" in rows
    names = dict.fromkeys(_WORKED_OUT) | {k: _OURS[k] for k in _OURS.keys() & set(rows)}
    table = check_frame(rows, STATIONS, problems, names if is_ours else None)
    patterns = Path(self.folder or "") / "patterns"
    here = self.place, self.region, Compass(self.place), patterns
    around = Around(*here, None if is_ours else self.tiles, self.ground_amsl_m)
    if is_ours:
        _follow(table.frame, self)
    found, notes = _listed(table, around)
    problems.stop()
    if is_ours:
        known = check("unknown_sd_db", rows["unknown_sd_db"], low=0)
        found["unknown_sd_db"] = np.hypot(found["unknown_sd_db"], known)
        lost = rows.get("pattern_loss_db", found["pattern_loss_db"])
        found["pattern_loss_db"] = check("pattern_loss_db", lost, low=0)
    return replace(self, stations=found, notes=dict.fromkeys((*self.notes, *notes)))


def _listed(table, around):
    """A checked station list as the table a Site holds, and sentences on defaults."""
    found, notes = resolve(table, around)
    found, more = joined([found], table.problems)
    return found, (*table.notes, *notes, *around.compass.note(), *more)


def _follow(frame, site):
    """Change in a ``frame``, columns of stations.csv, what no longer follows from what was changed."""
    is_tv = frame["service"] != "fm"
    is_tv &= frame["service"] != "mobile"
    frame.loc[is_tv & _is_as(site, frame, "freq_mhz"), "freq_mhz"] = np.nan
    spot, polar = ["latitude_deg", "longitude_deg"], ["bearing_deg", "distance_km"]
    here, there = _is_as(site, frame, *polar), _is_as(site, frame, *spot)
    frame.loc[here & ~there & frame[spot].notna().all(axis=1), polar] = np.nan
    turned = there & ~here & frame[polar].notna().all(axis=1)
    home = site.place.latitude_deg, site.place.longitude_deg
    if turned.any():
        moved = earth.destination(*home, *frame.loc[turned, polar].to_numpy().T)
        frame.loc[turned, spot] = np.column_stack(moved)


def _is_as(site, frame, *columns):
    """Which rows say what the site says of that station; of a new name, what it says of any."""
    rows, ours = (
        list(table[["station", *columns]].itertuples(index=False, name=None))
        for table in (frame, site.stations)
    )
    names, cells, whole = {row[0] for row in ours}, {row[1:] for row in ours}, set(ours)
    return np.array([r in whole if r[0] in names else r[1:] in cells for r in rows], bool)


def place_of(place: Place | tuple) -> Place:
    """A Place, from one or from a pair of degrees."""
    if isinstance(place, Place):
        return place
    check_type("place", place, (tuple, list), "a Place, or a pair (latitude, longitude)")
    if len(place) != 2:
        raise ValueError(f"place holds {len(place)} numbers; it must be (latitude, longitude).")
    return Place("site", *place)


def _things(given, kind, what):
    """What was given as a list of things of ``kind`` and of rows, empty cells left out."""
    if isinstance(given, kind):
        return [given]
    if isinstance(given, dict) and all(isinstance(thing, kind) for thing in given.values()):
        return list(given.values())
    if isinstance(given, (dict, pd.DataFrame)):
        given = frame_of(given, what).to_dict("records")
    check_type(what, given, (list, tuple), f"a list of {kind.__name__}s, or a table of rows")
    for row in given:
        check_type(f"a row of {what}", row, (kind, dict), f"of type {kind.__name__} or a dict")
    return [r if isinstance(r, kind) else _filled(r) for r in given]


def _filled(row):
    return {key: value for key, value in row.items() if not is_empty(value)}


def _antennas(given, region, problems):
    """Antennas by name, and notes."""
    if given is None:
        dipole = antenna.plain_dipole()
        return {dipole.name: dipole}, ("No antennas were given: a half-wave dipole is taken.",)
    things = _things(given, antenna.Antenna, "antennas")
    rows = [thing for thing in things if isinstance(thing, dict)]
    made = {thing.name: thing for thing in things if not isinstance(thing, dict)}
    read, notes = read_antennas(Path(), region, problems, {"antennas": rows}) if rows else ({}, ())
    if len(made) + len(rows) < len(things) or made.keys() & read.keys():
        problems.add("antennas.toml", "a name no other antenna has", column="antennas")
    return made | read, notes


def _mounts(given):
    """Mounts as rows of site.toml, and notes."""
    if given is None:
        height = facts.value("judgement", "usual_mast_m")
        row = {"name": "mast", "kind": "mast", "height_agl_m": height}
        return [row], (f"No mounts were given: a mast {height:g} m above the ground is taken.",)
    things = _things(given, Mount, "mounts")
    return [_filled(t if isinstance(t, dict) else asdict(t)) for t in things], ()


def _families(stations):
    """The families of the standards of a list: what a tuner has to show."""
    standards = stations.loc[stations["service"] == "tv", "standard"]
    known = [chain.family(name) for name in standards.unique() if name]
    return list(dict.fromkeys(known)) or ["ATSC1"]
