"""What terrain tiles tell about the stations: heights that a list leaves out."""

import numpy as np
import pandas as pd

from .. import earth

FOLDER = "terrain"
_AT_ONCE = 400
"""Stations whose profiles are drawn at one time, so that a long list needs little memory."""


def town_tiles(folder, problems):
    """The terrain tiles of a town or site folder, None without any.

    Parameters: ``folder`` a Path; ``problems`` gathers what is wrong with a tile.

    >>> from pathlib import Path
    >>> from ..tables import Problems
    >>> town_tiles(Path("no such folder"), Problems()) is None
    True
    """
    if not (folder / FOLDER).is_dir():
        return None
    try:
        tiles = earth.open_tiles(folder / FOLDER)
    except ValueError as error:
        for line in str(error).split("\n"):
            name, _, what = line.partition(": ")
            problems.add(f"{FOLDER}/{name}", f"a terrain tile; {what.rstrip('.')}")
        return None
    return tiles if len(tiles) else None


def heights(frame, place, tiles):
    """Heights of transmitting antennas as far as a list and the tiles tell them together.

    A height above sea level gives those above average terrain and above the ground, and the other way
    round. Parameters: ``frame`` with antenna_height_m (above average terrain), antenna_amsl_m,
    antenna_agl_m, latitude_deg, longitude_deg, bearing_deg and distance_km; ``place`` of the site;
    ``tiles`` an earth.Tiles. Returns a DataFrame with the three heights and is_buried: whether the
    antenna would be inside the hill, where all but the first are unknown.
    """
    average, foot = _ground_m(frame, place, tiles)
    haat, agl = frame["antenna_height_m"], frame["antenna_agl_m"]
    amsl = frame["antenna_amsl_m"].fillna(foot + agl).fillna(haat + average)
    buried = (amsl <= foot).to_numpy()
    return pd.DataFrame(
        {
            "antenna_height_m": haat.fillna((amsl - average).mask(buried)),
            "antenna_amsl_m": amsl.mask(buried),
            "antenna_agl_m": agl.fillna((amsl - foot).mask(buried)),
            "is_buried": buried,
        }
    )


def _ground_m(frame, place, tiles):
    """Average ground toward the site and ground at the foot of each antenna, m; NaN off the tiles."""
    both = np.full((len(frame), 2), np.nan)
    placed = np.flatnonzero(frame[["bearing_deg", "distance_km"]].notna().all(axis=1))
    for start in range(0, placed.size, _AT_ONCE):
        rows = placed[start : start + _AT_ONCE]
        profile = earth.profiles(place, frame.iloc[rows], tiles)
        both[rows] = np.column_stack([earth.average_ground_m(profile), profile.ground_m[:, 0]])
    return (pd.Series(column, index=frame.index) for column in both.T)
