"""Field strength with nothing in the way: the ceiling of every other model."""

import numpy as np

from .. import facts
from ..units import check, plain

_ONE_KW_AT_1_KM = facts.value("path_constants", "free_space_1kw_1km")


def free_space_dbuv_m(erp_kw, distance_km):
    """Field strength in free space, dBuV/m.

    Parameters: ``erp_kw`` effective radiated power over a half-wave dipole, kW, above 0;
    ``distance_km`` above 0. Shapes broadcast. ValueError for anything else.
    Source: 106.9 - 20 log10 d for 1 kW, Rec. ITU-R P.1546-6 eq. 2 (P.525 gives 106.92).

    >>> round(free_space_dbuv_m(1000, 50), 2)
    102.92
    """
    return plain(ceiling_dbuv_m(check("erp_kw", erp_kw, above=0), check_distance(distance_km)))


def ceiling_dbuv_m(erp_kw, distance_km):
    """Free space for numbers already checked: arrays in, array out."""
    return _ONE_KW_AT_1_KM + 10 * np.log10(erp_kw) - 20 * np.log10(distance_km)


def check_distance(distance_km):
    """``distance_km`` as an array; longer than half way round the Earth is no distance."""
    return check("distance_km", distance_km, above=0, high=20040)
