"""The bulge of the Earth between two antennas, as radio waves see it."""

import numpy as np

from .. import facts
from ..units import check, plain


def effective_radius_km(refractivity_gradient=45.0):
    """Median effective radius of the Earth, km: how much air bends waves down.

    Parameters: ``refractivity_gradient`` average fall of refractivity in the lowest kilometre,
    N-units per km, -200 to 150. Source: Rec. ITU-R P.1812-6 eq. 6 and 7: 6371 x 157 / (157 - dN).

    >>> round(effective_radius_km(45), 4)
    8930.7768
    """
    gradient = check("refractivity_gradient", refractivity_gradient, low=-200, high=150)
    unity = facts.value("path_constants", "gradient_at_unity")
    return plain(facts.value("path_constants", "earth_radius") * unity / (unity - gradient))


def radio_horizon_km(transmit_agl_m, receive_agl_m=0.0, *, effective_radius_km=8494.67):
    """How far two antennas see each other over smooth Earth, km.

    Parameters, which broadcast: ``transmit_agl_m`` and ``receive_agl_m`` heights above ground, m,
    from 0; ``effective_radius_km`` above 0. ValueError otherwise.
    Source: sqrt(2 a h) for each, Rec. ITU-R P.526: 4.12 (sqrt h1 + sqrt h2) km with a = 4/3 of 6371 km.

    >>> round(radio_horizon_km(300, 10), 1)
    84.4
    """
    radius = check("effective_radius_km", effective_radius_km, above=0)
    high = check("transmit_agl_m", transmit_agl_m, low=0)
    low = check("receive_agl_m", receive_agl_m, low=0)
    return plain(np.sqrt(2 * radius / 1000) * (np.sqrt(high) + np.sqrt(low)))


def bulge_m(from_transmitter_km, from_receiver_km, *, effective_radius_km=8494.67):
    """Height of the Earth's bulge above the straight chord between two places, m.

    Parameters, which broadcast: ``from_transmitter_km`` and ``from_receiver_km`` distances from 0;
    ``effective_radius_km`` above 0. Source: d1 d2 / 2a, Rec. ITU-R P.526.

    >>> round(bulge_m(25, 25), 2)
    36.79
    """
    radius = check("effective_radius_km", effective_radius_km, above=0)
    near = check("from_transmitter_km", from_transmitter_km, low=0)
    far = check("from_receiver_km", from_receiver_km, low=0)
    return plain(500 * near * far / radius)
