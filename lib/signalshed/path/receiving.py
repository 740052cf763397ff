"""What the receiving antenna's own height and the houses round it do to the field."""

import numpy as np

from .. import facts
from ..units import check, plain
from .edges import edge_loss_db

_LIMITS, _RULE = facts.numbers("average_terrain_limits"), facts.numbers("receive_height")


def receive_height_db(freq_mhz, receive_agl_m, clutter_m=0.0):
    """What the field gains over the one at ``reference_height_m``, dB.

    Parameters, which broadcast: ``freq_mhz`` 30 to 3000; ``receive_agl_m`` above ground, above 0
    (taken as 2 to 30); ``clutter_m`` height of the houses and trees round the antenna, 0 to 60: up to
    10 m open land and suburbs, where the field goes with the logarithm of the height; above that a
    town, where below the roofs the nearest house, 27 m away, is an edge. ValueError otherwise.
    Source: Rec. ITU-R P.1546-6 Annex 5 section 9, on flat ground (R' = R); on open land and in suburbs
    from the 9.1 m of the 47 CFR 73.699 charts, which were measured among houses, in place of 10 m.

    >>> receive_height_db(600, [3, 9.1]).round(1).tolist()
    [-9.8, 0.0]
    >>> round(receive_height_db(600, 10, 15), 2)
    -12.67
    """
    freq = check("freq_mhz", freq_mhz, low=30, high=3000)
    height = check("receive_agl_m", receive_agl_m, above=0, high=9000)
    height = np.clip(height, _LIMITS.lowest_receive_m, _LIMITS.highest_receive_m)
    clutter = check("clutter_m", clutter_m, low=0, high=60)
    up = per_decade_db(freq) * np.log10(height / reference_height_m(clutter))
    shaded = (clutter > _RULE.open_m) & (height < clutter)
    if not shaded.any():
        return plain(up)
    return plain(np.where(shaded, below_roofs_db(freq, height, clutter), up))


def reference_height_m(clutter_m):
    """Receiving height that the charts and profiles are taken at, m: 9.1, or the roofs of a town.

    Parameters: ``clutter_m`` as in ``receive_height_db``.

    >>> float(reference_height_m(10)), float(reference_height_m(15))
    (9.1, 15.0)
    """
    clutter = np.asarray(clutter_m, float)
    return np.where(clutter > _RULE.open_m, clutter, _LIMITS.chart_receive_m)


def per_decade_db(freq_mhz):
    """What ten times the height above clutter brings, dB.

    Parameters: ``freq_mhz``. Source: Rec. ITU-R P.1546-6 Annex 5 section 9.

    >>> round(float(per_decade_db(600)), 2)
    20.42
    """
    return _RULE.height_offset_db + _RULE.height_slope_db * np.log10(freq_mhz)


def below_roofs_db(freq_mhz, receive_agl_m, roofs_m):
    """What an antenna below the roofs of a town lacks of the field at their height, dB, at most 0.

    Parameters: ``freq_mhz``; ``receive_agl_m`` of the antenna; ``roofs_m`` the height R' of the houses.
    Source: Rec. ITU-R P.1546-6 eq. 27 to 29.

    >>> round(float(below_roofs_db(2600, 1, 15.0012)), 3)
    -27.488
    """
    under = np.maximum(roofs_m - receive_agl_m, 0)
    angle = np.degrees(np.arctan(under / _RULE.street_m))
    v = _RULE.clutter_v * np.sqrt(freq_mhz * under * angle)
    return 6.03 - edge_loss_db(v)
