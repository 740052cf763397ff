"""Which rows of a list can neither be received nor hurt at a place, and which tiles its paths cross."""

from pathlib import Path

import numpy as np
import pandas as pd

from .. import earth, facts, registers
from ..tables import STATIONS, Problems, check_frame
from ..words import numbered
from .compass import Compass
from .ground import FOLDER
from .heard import above_noise_db
from .model import Place
from .stations import Around, resolve

_TIME_PCT = 10
_POINTS = 200


def distances(table: pd.DataFrame, place: Place) -> tuple:
    """Bearing and distance (n,) of every row from ``place``: degrees and km, NaN where not known.

    Parameters: ``table`` columns of stations.csv; ``place`` a Place.
    """
    bearing, distance = table[["bearing_deg", "distance_km"]].to_numpy(float).T.copy()
    spots = table[["latitude_deg", "longitude_deg"]].to_numpy(float).T
    there = np.isfinite(spots).all(axis=0)
    here = place.latitude_deg, place.longitude_deg
    bearing[there], distance[there] = earth.bearing_and_distance(*here, *spots[:, there])
    return bearing, distance


def out_of_reach(table: pd.DataFrame, place: Place, region: str) -> tuple:
    """Rows (n,) bools that can neither be received nor hurt at ``place``, and why others cannot stay.

    Whatever the list does not give is filled in as in a site. Parameters: ``table`` columns of
    stations.csv and row; ``place`` a Place; ``region``. Returns (bools, dict from position to a
    sentence).
    """
    _, away = distances(table, place)
    far = away > facts.value("station_defaults", "farthest_km")
    rows, problems = np.flatnonzero(~far), Problems()
    plain = table.iloc[rows].drop(columns="row").assign(pattern="")
    around = Around(place, region, Compass(place), Path())
    found, _ = resolve(check_frame(plain, STATIONS, problems), around)
    wrong = {
        int(rows[p.row - 2]): f"{p.column}: {p.expected}"
        for p in problems.table().dropna(subset="row").itertuples()
    }
    over = np.full(len(table), -np.inf)
    over[rows] = above_noise_db(found, _TIME_PCT)
    gone = over < -facts.value("judgement", "cut_under_noise_db")
    return gone & ~_partners(table, gone), wrong


def _partners(table, gone):
    """Rows of television to be cut that share channel and place with one that stays (n,) bools."""
    reach = facts.value("judgement", "same_place_km")
    spots = table[["latitude_deg", "longitude_deg"]].to_numpy(float)
    is_partner = np.zeros(len(table), bool)
    for rows in table[table["service"] == "tv"].groupby("rf_channel").indices.values():
        kept, cut = rows[~gone[rows]], rows[gone[rows]]
        apart_km = registers.away_km(*spots[cut].T[..., None], *spots[kept].T[:, None])
        is_partner[cut] = (apart_km <= reach).any(axis=1)
    return is_partner


# ---- terrain --------------------------------------------------------------------------------------


def tiles_needed(table: pd.DataFrame, place: Place) -> list:
    """Names of the terrain tiles that the paths to ``place`` cross, in order.

    Parameters: ``table`` rows with coordinates or bearing and distance; ``place``.

    >>> import pandas as pd
    >>> from .model import Place
    >>> spot = {"latitude_deg": 30.8, "longitude_deg": -40.4}
    >>> rows = pd.DataFrame([spot | {"bearing_deg": None, "distance_km": None}])
    >>> tiles_needed(rows, Place("home", 30.45, -41.2))
    ['N30W041', 'N30W042']
    """
    bearing, away = distances(table, place)
    known = np.isfinite(bearing + away)
    here = place.latitude_deg, place.longitude_deg
    ends = (np.atleast_1d(axis) for axis in earth.destination(*here, bearing[known], away[known]))
    starts = np.broadcast_to(np.array(here)[:, None], (2, int(known.sum())))
    spots = earth.points_between(*starts, *ends, np.linspace(0, 1, _POINTS))
    south, west = (np.floor(np.asarray(axis)).astype(int).ravel() for axis in spots)
    return sorted({earth.tile_name((int(s), int(w))) for s, w in zip(south, west, strict=True)})


def tiles_told(folder: Path, needed: list) -> list:
    """Sentences on the terrain tiles of a town: needed, there, missing, and files that are not used.

    Parameters: ``folder`` of the town; ``needed`` names from ``tiles_needed``.
    """
    there = folder / FOLDER
    files = sorted(there.iterdir()) if there.is_dir() else []
    tile_of = {path: earth.tile_of(path) for path in files if not path.name.startswith(".")}
    missing = [name for name in needed if name not in tile_of.values()]
    has = len(needed) - len(missing)
    notes = [f"its paths cross {len(needed)} tiles, {has} of them are in {FOLDER}"]
    if missing:
        notes[0] += f"; missing: {numbered(missing)}"
    unused = [path.name for path, name in tile_of.items() if name not in needed]
    if unused:
        notes.append(f"not used, no path crosses them or they are no tiles: {numbered(unused)}")
    return [f"terrain: {note}." for note in notes]
