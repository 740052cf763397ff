"""The field at one mount: average terrain, or the terrain profile where a map covers the path."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import earth, facts, path
from ..site import read_only

SURE_TIME_PCT = 90
"""A station counts as received when it locks for at least this share of the time."""


@dataclass(frozen=True, eq=False)
class Field:
    """What the path brings to one mount: arrays over the site's stations.

    ``median_dbuv_m`` median field outdoors at the mount's height, ``free_space_dbuv_m`` its ceiling,
    ``fade_db`` the fall from the median to the level held 90 % of the time, ``sd_db`` one standard
    deviation of the path model, ``unknown_sd_db`` what missing facts about a station add, ``layer``
    and ``note`` text: which model, and what it had to assume.
    """

    median_dbuv_m: np.ndarray
    free_space_dbuv_m: np.ndarray
    fade_db: np.ndarray
    sd_db: np.ndarray
    unknown_sd_db: np.ndarray
    layer: np.ndarray
    note: np.ndarray

    def __post_init__(self):
        read_only(self)


PATH = ("place", "stations", "tiles", "clutter_m")
"""What the path hangs on: nothing of antenna, mount but its height, feed or belief."""


def field_at(site, mount):
    """The field of every station of ``site`` outdoors at ``mount``: a Field.

    A station whose path the terrain tiles cover, and whose antenna's height above sea level is known,
    gets the median of ITU-R P.1812 on its profile and the fading of NBS Technical Note 101; every other
    gets average terrain by the charts of 47 CFR 73.699.
    Parameters: ``site`` a Site; ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> bool((field_at(site, site.mount("roof mast")).fade_db >= 0).all())
    True
    """

    def make():
        flat = _average_terrain(site, mount)
        return flat if site.tiles is None else _with_profiles(site, mount, flat)

    return site.remembered(("field", mount.height_agl_m), make, PATH)


def _average_terrain(site, mount):
    s = site.stations
    freq, erp, distance = (s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "distance_km"))
    height = s["haat_m"].to_numpy(float)
    median, held = (
        path.average_terrain_dbuv_m(freq, erp, distance, height, mount.height_agl_m, time_pct=t)
        for t in (50, SURE_TIME_PCT)
    )
    clamped = path.average_terrain_note(distance, height, mount.height_agl_m)
    return Field(
        median_dbuv_m=median,
        free_space_dbuv_m=np.asarray(path.free_space_dbuv_m(erp, distance)),
        fade_db=median - held,
        sd_db=np.full(len(s), facts.value("judgement", "path_sd_db")),
        unknown_sd_db=s["unknown_sd_db"].to_numpy(float),
        layer=np.full(len(s), "average terrain", dtype=object),
        note=joined(s["note"], clamped),
    )


def _with_profiles(site, mount, flat):
    """``flat`` with the terrain profile in place of average terrain wherever there is one."""
    profile, agl = site_profiles(site)
    there = np.flatnonzero(np.asarray(profile.known) & (agl > 0))
    note = joined(flat.note, np.where(np.isin(np.arange(agl.size), there), "", profile.note))
    if not there.size:
        return replace(flat, note=note)
    s = site.stations.iloc[there]
    freq, erp, distance = (s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "distance_km"))
    upright = np.where(s["polarization"] == "vertical", "vertical", "horizontal")
    heights = (agl[there], mount.height_agl_m)
    median = path.profile_dbuv_m(freq, erp, profile.path(there), *heights, polarization=upright)
    fade = path.fade_db(freq, distance, *heights, time_pct=SURE_TIME_PCT)
    return replace(
        flat,
        median_dbuv_m=_put(flat.median_dbuv_m, there, median),
        fade_db=_put(flat.fade_db, there, fade),
        sd_db=_put(flat.sd_db, there, facts.value("judgement", "path_sd_profile_db")),
        layer=_put(flat.layer, there, "terrain profile"),
        note=_put(note, there, joined(s["note"])),
    )


def site_profiles(site):
    """The ground to the site with what stands on it, and each antenna's height above its own ground.

    Parameters: ``site`` a Site with tiles. Returns (earth.Profile, (stations,) m); NaN where no map
    covers the path or the height is not known.

    >>> from signalshed import simulate
    >>> profile, height_m = site_profiles(simulate.demo_site(terrain=True))
    >>> profile.ground_m.shape[0] == height_m.size
    True
    """

    def make():
        agl = np.nan_to_num(site.stations["transmit_agl_m"].to_numpy(float))
        ground = earth.profiles(site.place, site.stations, site.tiles, clutter_m=site.clutter_m)
        return ground, agl

    return site.remembered(("profiles",), make, PATH)


def layers(site, mount):
    """Average terrain and terrain profile side by side: a DataFrame by station.

    Columns: station, average_dbuv_m and average_sd_db, profile_dbuv_m and profile_sd_db (NaN where no
    profile could be had), difference_db.
    Parameters: ``site`` a Site; ``mount`` a Mount or its name.

    >>> from signalshed import simulate
    >>> table = layers(simulate.demo_site(terrain=True), "roof mast")
    >>> bool((table["profile_sd_db"].dropna() < table["average_sd_db"].min()).all())
    True
    """
    mount = site.mount(mount)
    flat, best = _average_terrain(site, mount), field_at(site, mount)
    by_profile = best.layer == "terrain profile"
    table = pd.DataFrame(
        {
            "station": site.stations["station"],
            "average_dbuv_m": flat.median_dbuv_m,
            "average_sd_db": flat.sd_db,
            "profile_dbuv_m": np.where(by_profile, best.median_dbuv_m, np.nan),
            "profile_sd_db": np.where(by_profile, best.sd_db, np.nan),
        }
    )
    return table.assign(difference_db=table["profile_dbuv_m"] - table["average_dbuv_m"])


def _put(array, rows, values):
    changed = np.array(array)
    changed[rows] = values
    return changed


def joined(*notes):
    """Notes of each station joined with semicolons, empty ones left out: (stations,) text."""
    columns = [np.asarray(note, dtype=object) for note in notes]
    rows = zip(*np.broadcast_arrays(*columns), strict=True)
    return np.array(["; ".join(str(n) for n in row if n) for row in rows], dtype=object)
