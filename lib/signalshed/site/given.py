"""A site from tables in memory, in the words of the files and by the same checks."""

from dataclasses import asdict, replace
from pathlib import Path

import pandas as pd

from .. import antenna, chain, channels, facts
from ..tables import METER, READINGS, STATIONS, Problems, check_frame
from ..tables.cells import is_empty
from ..units import check_type
from .antennas import read_antennas
from .compass import Compass
from .model import Mount, Place
from .outline import outline
from .stations import Around, joined, resolve


def from_tables(place, stations, antennas=None, mounts=None, region="us", *, tuner=None):
    """A Site from tables in memory: what open_site makes of a folder, without a folder.

    Names, units, other names and ranges are those of the files, and so are the sentences.
    Parameters: ``place`` a Place, or (latitude, longitude); ``stations`` rows as in stations.csv, a
    DataFrame, a list of dicts or a dict of columns, each with coordinates or with a bearing and a
    distance; ``antennas`` Antennas or rows as in antennas.toml, None for a half-wave dipole;
    ``mounts`` Mounts or rows as under [[mounts]] of site.toml, None for a mast 9 m above the ground;
    ``region`` of the channel plan; ``tuner`` a chain.Tuner, None for one that shows every standard of
    the list. No cable: give one by ``dataclasses.replace(site, feeds=...)``. What was taken for granted
    is in ``site.notes``. Pattern and trial files that rows name are looked for where Python runs.
    Raises BadTable with everything that is wrong, ValueError for what are no tables.

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
    place = _place(place)
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
        notes=(*said, *more, *notes),
    )


def listed_stations(rows, place, region, problems):
    """A station list in memory as the table a Site holds, and sentences on defaults.

    Parameters: ``rows`` as in ``from_tables``; ``place`` a Place; ``region``; ``problems`` gathers what
    is wrong.
    """
    table = check_frame(rows, STATIONS, problems)
    compass = Compass(place)
    around = Around(place, region, compass, Path("patterns"))
    found, notes = resolve(table, around)
    return joined([found], problems), (*table.notes, *notes, *compass.note())


def _place(place):
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
        given = pd.DataFrame(given).to_dict("records")
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
