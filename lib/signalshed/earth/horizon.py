"""The land round a roof: its horizon toward each transmitter, and how rough it is."""

import numpy as np

from .. import facts
from ..units import check, plain
from .geodesy import destination
from .land import points_between

_FACTS = facts.numbers("terrain_tiles")


def land_ahead(place, bearing_deg, tiles, reach_km=None):
    """The ground outward from a place: away_km (points,), ground_m (bearings, points), NaN off tile.

    Parameters: ``place`` with latitude_deg and longitude_deg; ``bearing_deg`` (bearings,) true;
    ``tiles`` a Tiles; ``reach_km`` how far, None for the 16 km of the clearance angle. Every 100 m.

    >>> from signalshed.earth import Tiles
    >>> import types
    >>> home = types.SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5)
    >>> land_ahead(home, [0, 90], Tiles({}))[1].shape
    (2, 161)
    """
    reach = _FACTS.horizon_within_km if reach_km is None else check("reach_km", reach_km, above=0)
    bearing = np.atleast_1d(check("bearing_deg", bearing_deg))
    share = np.linspace(0, 1, int(np.ceil(reach / _FACTS.longest_step_km - 1e-9)) + 1)
    own = (place.latitude_deg, place.longitude_deg)
    ends = destination(*own, bearing, np.full(bearing.shape, reach))
    starts = (np.full(bearing.shape, degrees) for degrees in own)
    ground = tiles.heights_m(*points_between(*starts, *ends, share))
    for k in (1, 0):  # a void of one sample at the place itself
        ground[:, k] = np.where(np.isnan(ground[:, k]), ground[:, k + 1], ground[:, k])
    return reach * share, ground


def clearance_deg(away_km, ground_m, eye_m, antenna_amsl_m, distance_km):
    """How far the land near a receiver stands above the straight line to the transmitter, degrees.

    The terrain clearance angle of Rec. ITU-R P.1546-6 Annex 5 section 11: the steepest sight line over
    the bare ground of the first 16 km, less the angle at which the receiver would see the transmitter.
    Negative where nothing stands in the way. The Earth is taken as flat.
    Parameters: ``away_km`` from the receiver, ``ground_m`` there, (..., points), NaN where not known;
    ``eye_m`` of the receiving antenna and ``antenna_amsl_m`` of the transmitter above sea level and
    ``distance_km`` between them, (...).

    >>> round(clearance_deg([5, 10], [200, 100], 110, 110, 20), 2)
    1.03
    """
    away, ground, eye, top, distance = (
        np.asarray(x, float) for x in (away_km, ground_m, eye_m, antenna_amsl_m, distance_km)
    )
    seen = (away > 0) & (away <= _FACTS.horizon_within_km) & (away < distance[..., None])
    seen = seen & np.isfinite(ground)
    rise = np.where(seen, ground - eye[..., None], -np.inf) / np.where(seen, 1000 * away, 1)
    level = (top - eye) / (1000 * distance)
    return plain(np.degrees(np.arctan(rise.max(axis=-1)) - np.arctan(level)))


def roughness_m(place, tiles):
    """How rough the land round a place is: heights exceeded on a tenth of a way outward less those
    exceeded on nine tenths, m, in the middle of twelve ways of 30 km; NaN where no tile covers it.

    Of each way counts what the tiles cover, if that is 10 km or more.
    Parameters: ``place`` with latitude_deg and longitude_deg; ``tiles`` a Tiles.

    >>> from signalshed.earth import Tiles
    >>> import types
    >>> home = types.SimpleNamespace(latitude_deg=30.5, longitude_deg=-40.5)
    >>> roughness_m(home, Tiles({}))
    nan
    """
    away, ground = land_ahead(place, np.arange(0, 360, 30), tiles, _FACTS.roughness_within_km)
    enough = np.isfinite(ground).sum(axis=1) * away[1] >= 10
    if not np.isfinite(ground[0, 0]) or not enough.any():
        return np.nan
    low, high = np.nanpercentile(ground[enough], [10, 90], axis=1)
    return float(np.median(high - low))
