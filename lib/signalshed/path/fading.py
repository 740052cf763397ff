"""How far the field falls below its median, and for how much of the time."""

import numpy as np
from scipy.special import ndtri

from .. import facts
from ..units import LIGHT_M_MHZ, check, plain
from .free_space import check_distance

_K = facts.numbers("time_variability")


def fade_db(freq_mhz, distance_km, transmit_agl_m, receive_agl_m, *, time_pct=90):
    """Fall from the median field to the one exceeded for ``time_pct`` of the time, dB.

    Parameters, which broadcast: ``freq_mhz`` 20 to 20000; ``distance_km`` above 0;
    ``transmit_agl_m`` and ``receive_agl_m`` heights above ground, above 0; ``time_pct`` 50 to 99.
    Continental temperate climate, slow fading over a year. ValueError otherwise.
    Source: curves of NBS Technical Note 101 and the published formulas that follow them.

    >>> round(fade_db(600, 80, 300, 10), 1)
    4.4
    """
    freq = check("freq_mhz", freq_mhz, low=20, high=20000)
    distance = check_distance(distance_km)
    heights = [
        check("transmit_agl_m", transmit_agl_m, above=0),
        check("receive_agl_m", receive_agl_m, above=0),
    ]
    quantile = ndtri(check("time_pct", time_pct, low=50, high=99) / 100)
    wave_number = 2 * np.pi * freq / LIGHT_M_MHZ
    sd_db = _below_median_db(_effective_km(distance, heights, wave_number), wave_number)
    return plain(quantile * sd_db)


def _effective_km(distance_km, heights_m, wave_number):
    """Effective distance: 130 km where scatter begins to rule, linear on both sides of it."""
    horizons = sum(np.sqrt(2 * _K.effective_radius_km * h / 1000) for h in heights_m)
    border = horizons + (_K.scatter_constant / wave_number) ** (1 / 3) / 1000
    near = _K.effective_distance_km * distance_km / border
    return np.where(distance_km < border, near, _K.effective_distance_km + distance_km - border)


def _below_median_db(effective_km, wave_number):
    """One standard deviation of the fading below the median, dB."""
    away = (effective_km - _K.below_x2_km) / _K.below_x3_km
    rise = (effective_km / _K.below_x1_km) ** 2
    curve = (_K.below_c1 + _K.below_c2 / (1 + away**2)) * rise / (1 + rise)
    q = np.log(_K.frequency_unit_per_m * wave_number)
    return curve * (_K.frequency_c1 + _K.frequency_c2 / (1 + (_K.frequency_c3 * q) ** 2))
