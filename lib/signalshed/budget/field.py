"""The field at one mount: the terrain profile where a map covers the path, else average terrain.

Average terrain is lowered by what the relief of the land takes off it (``facts/land.csv``), and by the
horizon at the roof where at least the roof's own tile is there. The correction for rough land that the
regulation itself has (47 CFR 73.684 (l), stayed since 1977) grows without bound and is not used.
"""

import functools
from dataclasses import dataclass, replace

import numpy as np

from .. import earth, facts, path
from ..site import read_only, remembering
from ..words import joined

SURE_TIME_PCT = 90
"""A station counts as received when it locks for at least this share of the time."""


@dataclass(frozen=True, eq=False)
class Field:
    """What the path brings to one mount: arrays over the site's stations.

    ``median_dbuv_m`` median field outdoors at the mount's height, ``free_space_dbuv_m`` its ceiling,
    ``fade_db`` the fall from the median to the level held 90 % of the time, ``rise_db`` the rise to the
    one reached 10 % of the time, for stations that disturb; ``sd_db`` one standard deviation of the path
    model, ``unknown_sd_db`` what missing facts about a station add, ``layer`` and ``note`` text: which
    model, and what it had to assume.
    """

    median_dbuv_m: np.ndarray
    free_space_dbuv_m: np.ndarray
    fade_db: np.ndarray
    rise_db: np.ndarray
    sd_db: np.ndarray
    unknown_sd_db: np.ndarray
    layer: np.ndarray
    note: np.ndarray

    def __post_init__(self):
        read_only(self)


PATH = ("place", "stations", "tiles", "clutter_m", "land")
"""What the path hangs on: nothing of antenna, mount but its height, feed or belief."""


def field_at(site, mount):
    """The field of every station of ``site`` outdoors at ``mount``: a Field.

    A station whose path the terrain tiles cover, and whose antenna's height above sea level is known,
    gets the median of ITU-R P.1812 on its profile and the fading of NBS Technical Note 101 by effective
    heights; every other gets average terrain by the charts of 47 CFR 73.699, less what the land takes.
    Below 9.1 m, or the roofs of a town, both go by the height correction of ITU-R P.1546. The rise of
    the best tenth of the time is the fade mirrored, or that of the charts where it is larger.
    Parameters: ``site`` a Site; ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> bool((field_at(site, site.mount("roof mast")).fade_db >= 0).all())
    True
    """

    def make():
        flat = _average_terrain(site, mount)
        if site.tiles is None:
            return _over_land(site, flat)
        return _with_profiles(site, mount, flat)

    return site.remembered(("field", mount.height_agl_m), make, PATH)


def _average_terrain(site, mount):
    s = site.stations
    freq, erp, distance = (s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "distance_km"))
    height = s["haat_m"].to_numpy(float)
    where = (freq, erp, distance, height, mount.height_agl_m)
    median, held = (
        path.average_terrain_dbuv_m(*where, time_pct=t, clutter_m=site.clutter_m)
        for t in (50, SURE_TIME_PCT)
    )
    clamped = path.average_terrain_note(distance, height, mount.height_agl_m)
    return Field(
        median_dbuv_m=median,
        free_space_dbuv_m=np.asarray(path.free_space_dbuv_m(erp, distance)),
        fade_db=median - held,
        rise_db=median - held,
        sd_db=np.full(len(s), facts.value("judgement", "path_sd_db")),
        unknown_sd_db=s["unknown_sd_db"].to_numpy(float),
        layer=np.full(len(s), "average terrain", dtype=object),
        note=joined(s["note"], clamped),
    )


def _over_land(site, flat, horizon_db=np.nan):
    """``flat`` less what the land takes off it; the same field where the land is not told.

    The charts are of rolling land and their spread is its: rougher land adds what it scatters more.
    ``horizon_db`` what the horizon at the roof takes off, (stations,), NaN where no tile shows it: where
    it is seen, the land counts by what then is left.
    """
    if site.land is None:
        return flat
    most = facts.value("judgement", "land_most_db")
    seen = np.isfinite(np.broadcast_to(horizon_db, flat.sd_db.shape))
    (mean, scatter), (_, usual) = (_relief_db(site, seen, land) for land in (site.land, _CHARTS))
    shift = np.clip(mean + np.where(seen, horizon_db, 0.0), -most, 0.0)
    more = scatter**2 + np.minimum(mean + most, 0.0) ** 2 - usual**2
    by = np.where(seen, "horizon at the roof by its tile, ", "")
    words = [f"{w}{site.land} land: {-d:.0f} dB off" for w, d in zip(by, shift, strict=True)]
    return replace(
        flat,
        median_dbuv_m=flat.median_dbuv_m + shift,
        sd_db=np.sqrt(flat.sd_db**2 + np.maximum(more, 0.0)),
        note=joined(flat.note, np.where(shift <= -0.5, words, "")),
    )


_CHARTS = "rolling"
"""The land that the charts of 47 CFR 73.699 are of: a roughness of some 50 m."""


def _relief_db(site, seen, land):
    """Mean and scatter of the profile against average terrain on a kind of land, after the horizon
    where it is ``seen``: two arrays over the stations."""
    freq = site.stations["freq_mhz"].to_numpy(float)
    band = np.searchsorted([130, 300], freq, side="right")
    mean, scatter, left, left_scatter = _bands_of(land)[band].T
    return np.where(seen, left, mean), np.where(seen, left_scatter, scatter)


@functools.cache
def _bands_of(land):
    """Mean and scatter, whole and after the horizon, of a kind of land by band: (3, 4) dB."""
    table = facts.table("land")
    rows = table[table["land"] == land].set_index("band").loc[["low_vhf", "high_vhf", "uhf"]]
    names = ["mean_db", "scatter_db", "left_db", "left_scatter_db"]
    return rows[names].to_numpy(float)


def _with_profiles(site, mount, flat):
    """``flat`` with the terrain profile in place of average terrain wherever there is one."""
    profile, agl = site_profiles(site)
    there = np.flatnonzero(profile.known & (agl > 0))
    note = joined(flat.note, np.where(np.isin(np.arange(agl.size), there), "", profile.note))
    flat = replace(flat, note=note)
    if there.size < agl.size:
        flat = _over_land(site, flat, _horizon_db(site, mount, there))
    if not there.size:
        return flat
    median, fade = np.array(flat.median_dbuv_m), np.array(flat.fade_db)
    for rows, ground in profile.of(there):
        s = site.stations.iloc[rows]
        median[rows], fade[rows] = _on_profiles(site, mount, s, ground, agl[rows])
    return replace(
        flat,
        median_dbuv_m=median,
        fade_db=fade,
        rise_db=np.maximum(fade, flat.rise_db),
        sd_db=_put(flat.sd_db, there, facts.value("judgement", "path_sd_profile_db")),
        layer=_put(flat.layer, there, "terrain profile"),
        note=_put(flat.note, there, joined(site.stations["note"].iloc[there])),
    )


def _on_profiles(site, mount, s, ground, agl):
    """Median and fade of the stations ``s`` on their profiles ``ground``, (n,) each.

    Below the roofs the profile is taken at their height and the height correction does the rest, as in
    average terrain; fading goes by the heights above the smooth land under both antennas.
    """
    freq, erp, distance = (s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "distance_km"))
    upright = np.where(s["polarization"] == "vertical", "vertical", "horizontal")
    height, roofs = mount.height_agl_m, float(path.reference_height_m(site.clutter_m))
    terms = path.profile_terms(freq, ground, agl, max(height, roofs), polarization=upright)
    median = path.dbuv_m_from_loss(freq, erp, terms.loss_db)
    if height < roofs:
        median = median + path.receive_height_db(freq, height, site.clutter_m)
    over = (
        ground.ground_m[:, 0] + agl - terms.smooth_transmit_m,
        ground.ground_m[:, -1] + height - terms.smooth_receive_m,
    )
    return median, path.fade_db(freq, distance, *over, time_pct=SURE_TIME_PCT)


def _horizon_db(site, mount, but):
    """What the horizon at the roof takes off, dB (stations,); NaN where no tile shows it, or ``but``."""
    s, taken = site.stations, np.full(len(site.stations), np.nan)
    ask = np.setdiff1d(np.arange(len(s)), but)
    bearing, distance, amsl, haat, freq = (
        s[c].to_numpy(float)[ask]
        for c in ("bearing_deg", "distance_km", "antenna_amsl_m", "haat_m", "freq_mhz")
    )
    away, ground = earth.land_ahead(site.place, bearing, site.tiles)
    home = ground[:, 0]
    top = np.where(np.isnan(amsl), home + haat, amsl)
    eye = home + max(mount.height_agl_m, float(path.reference_height_m(site.clutter_m)))
    angle = earth.clearance_deg(away, ground, eye, top, distance)
    known = np.isfinite(home)
    if known.any():
        taken[ask[known]] = path.clearance_db(freq[known], angle[known])
    return taken


@remembering(*PATH)
def site_profiles(site):
    """The ground to the site with what stands on it, and each antenna's height above its own ground.

    Parameters: ``site`` a Site with tiles. Returns (earth.Profiles, (stations,) m), the height 0 where
    it is not known.

    >>> from signalshed import simulate
    >>> profile, height_m = site_profiles(simulate.demo_site(terrain=True))
    >>> profile.known.size == height_m.size
    True
    """
    given = site.place, site.stations, site.tiles
    agl = np.nan_to_num(site.stations["transmit_agl_m"].to_numpy(float))
    return earth.own_profiles(*given, clutter_m=site.clutter_m), agl


def _put(array, rows, values):
    changed = np.array(array)
    changed[rows] = values
    return changed
