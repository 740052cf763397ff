"""What terrain tiles tell: heights that a list leaves out, and what kind of land the roof stands in."""

from pathlib import Path

import numpy as np
import pandas as pd

from .. import earth, facts
from .model import Place

FOLDER = "terrain"
LAND_NOT_TOLD = (
    "land (flat, rolling, hilly, mountains) is not told; average terrain is taken, which in mountains "
    "is some 20 dB too rosy"
)


def town_tiles(folder: Path, notes: list) -> earth.Tiles | None:
    """The terrain tiles of a town or site folder, None without any.

    Parameters: ``folder`` a Path; ``notes`` a list that gathers sentences on files that are none.

    >>> from pathlib import Path
    >>> town_tiles(Path("no such folder"), []) is None
    True
    """
    if not (folder / FOLDER).is_dir():
        return None
    tiles = earth.open_tiles(folder / FOLDER)
    if len(tiles):
        return tiles
    notes += tiles.notes
    return None


def heights(frame: pd.DataFrame, place: Place, tiles: earth.Tiles) -> pd.DataFrame:
    """Heights of transmitting antennas as far as a list and the tiles tell them together.

    A height above sea level gives those above average terrain and above the ground, and the other way
    round. Parameters: ``frame`` with antenna_height_m (above average terrain), antenna_amsl_m,
    antenna_agl_m, latitude_deg, longitude_deg, bearing_deg and distance_km; ``place`` of the site;
    ``tiles`` an earth.Tiles. Returns a DataFrame with the three heights, is_buried: whether the
    antenna would be inside the hill, where all but the first are unknown, and apart_m: by how much
    typed heights above sea level and above ground differ on the tile's ground.
    """
    average, foot = _ground_m(frame, place, tiles)
    haat, agl = frame["antenna_height_m"], frame["antenna_agl_m"]
    apart = (frame["antenna_amsl_m"] - foot - agl).abs()
    amsl = frame["antenna_amsl_m"].fillna(foot + agl).fillna(haat + average)
    buried = (amsl <= foot).to_numpy()
    return pd.DataFrame(
        {
            "antenna_height_m": haat.fillna((amsl - average).mask(buried)),
            "antenna_amsl_m": amsl.mask(buried),
            "antenna_agl_m": agl.fillna((amsl - foot).mask(buried)),
            "is_buried": buried,
            "apart_m": apart.fillna(0.0),
        }
    )


def _ground_m(frame, place, tiles):
    """Average ground toward the site and ground at the foot of each antenna, m; NaN off the tiles."""
    both = np.full((len(frame), 2), np.nan)
    placed = np.flatnonzero(frame[["bearing_deg", "distance_km"]].notna().all(axis=1))
    if placed.size:
        both[placed] = np.column_stack(earth.near_transmitters(place, frame.iloc[placed], tiles))
    return (pd.Series(column, index=frame.index) for column in both.T)


def roof_m(place: Place, tiles: earth.Tiles | None) -> float | None:
    """The ground at the roof above sea level, m, None where no tile says it.

    >>> from types import SimpleNamespace
    >>> roof_m(SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5), None) is None
    True
    """
    if tiles is None:
        return None
    ground = float(earth.land_ahead(place, [0.0], tiles, reach_km=0.3)[1][0, 0])
    return None if np.isnan(ground) else ground


def land_round(place: Place, tiles: earth.Tiles | None) -> str | None:
    """What kind of land lies round the roof by its tile: a word of facts/land.csv, None without a tile.

    The kind whose roughness is nearest, as a ratio. Parameters: ``place``; ``tiles`` or None.

    >>> from types import SimpleNamespace
    >>> land_round(SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5), None) is None
    True
    """
    rough = np.nan if tiles is None else earth.roughness_m(place, tiles)
    if np.isnan(rough):
        return None
    usual = facts.table("land").drop_duplicates("land").set_index("land")["roughness_m"]
    return np.abs(np.log(usual.astype(float) / max(rough, 1.0))).idxmin()
