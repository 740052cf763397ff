"""One edge in the way, the zone that should be clear, and the ray from the ground."""

import numpy as np

from ..units import LIGHT_M_MHZ, check, plain


def knife_edge_db(v):
    """Loss behind a sharp edge, dB.

    Parameters: ``v`` dimensionless, 0 where the edge just touches the line of sight, positive
    where it blocks. No loss below -0.78. Source: Rec. ITU-R P.526 eq. 31.

    >>> round(knife_edge_db(0), 2)
    6.03
    """
    return plain(edge_loss_db(check("v", v)))


def edge_loss_db(v):
    """``knife_edge_db`` for an array already checked."""
    clear = v <= -0.78
    u = np.where(clear, 0.0, v) - 0.1
    return np.where(clear, 0.0, 6.9 + 20 * np.log10(np.hypot(u, 1) + u))


def fresnel_radius_m(freq_mhz, from_transmitter_km, from_receiver_km):
    """Radius of the first Fresnel zone round the line of sight, m.

    Parameters, which broadcast: ``freq_mhz`` above 0; ``from_transmitter_km`` and
    ``from_receiver_km`` distances from 0, not both 0.
    Source: sqrt(wavelength d1 d2 / (d1 + d2)), Rec. ITU-R P.526-8 eq. 3.

    >>> round(fresnel_radius_m(600, 25, 25))
    79
    """
    wavelength_m = LIGHT_M_MHZ / check("freq_mhz", freq_mhz, above=0)
    near = check("from_transmitter_km", from_transmitter_km, low=0)
    far = check("from_receiver_km", from_receiver_km, low=0)
    length = check("from_transmitter_km + from_receiver_km", near + far, above=0)
    return plain(np.sqrt(wavelength_m * 1000 * near * far / length))


def two_ray_gain_db(freq_mhz, distance_km, transmit_agl_m, receive_agl_m, *, reflection=-1.0):
    """Direct ray and ray from the ground together, dB over the direct ray alone.

    Parameters, which broadcast: ``freq_mhz`` above 0; ``distance_km`` above 0; ``transmit_agl_m``
    and ``receive_agl_m`` above flat ground, m, above 0; ``reflection`` of the ground, -1 to 1 (-1:
    smooth ground met at a grazing angle, either polarization). Up to 6 dB where the two add; -40 dB
    is the least returned, since no ground is that smooth. The Earth is taken as flat, so for paths
    well inside the horizon. Source: plane-Earth interference; the first maximum lies at a receiving
    height of wavelength x distance / (4 transmitting height).

    >>> round(two_ray_gain_db(545, 10, 300, 4.6), 1)
    6.0
    """
    wavelength_m = LIGHT_M_MHZ / check("freq_mhz", freq_mhz, above=0)
    distance = 1000 * check("distance_km", distance_km, above=0)
    high = check("transmit_agl_m", transmit_agl_m, above=0)
    low = check("receive_agl_m", receive_agl_m, above=0)
    ground = check("reflection", reflection, low=-1, high=1)
    direct, reflected = np.hypot(distance, high - low), np.hypot(distance, high + low)
    detour = 4 * high * low / (direct + reflected)
    total = 1 + ground * direct / reflected * np.exp(-2j * np.pi * detour / wavelength_m)
    return plain(20 * np.log10(np.maximum(np.abs(total), 0.01)))
