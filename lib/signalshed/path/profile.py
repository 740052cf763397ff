"""Median field strength on a terrain profile by Rec. ITU-R P.1812-6."""

from dataclasses import dataclass

import numpy as np

from ..units import check, plain
from .air import STANDARD_AIR
from .diffraction import delta_bullington, ground_slopes
from .terrain import Sight, terrain_of


@dataclass(frozen=True, eq=False)
class ProfileTerms:
    """What the field on a profile is made of, dB, each a float or an array over the paths.

    ``free_space_loss_db`` between isotropic antennas along the slant path; ``edges_db`` the Bullington
    loss of the terrain and ``smooth_edges_db`` that of smooth Earth in its place; ``smooth_earth_db``
    the loss round smooth Earth; ``diffraction_db`` what follows from the three; ``scatter_loss_db``
    the loss by the troposphere alone; ``loss_db`` all together. ``smooth_transmit_m`` and
    ``smooth_receive_m``: the smooth Earth's height at both ends, m above sea level.
    """

    free_space_loss_db: float | np.ndarray
    edges_db: float | np.ndarray
    smooth_edges_db: float | np.ndarray
    smooth_earth_db: float | np.ndarray
    diffraction_db: float | np.ndarray
    scatter_loss_db: float | np.ndarray
    loss_db: float | np.ndarray
    smooth_transmit_m: float | np.ndarray
    smooth_receive_m: float | np.ndarray


def profile_dbuv_m(
    freq_mhz,
    erp_kw,
    profile,
    transmit_agl_m,
    receive_agl_m=9.1,
    *,
    polarization="horizontal",
    air=STANDARD_AIR,
):
    """Median field strength at the end of a terrain profile, dBuV/m.

    Parameters: ``freq_mhz`` 30 to 6000, ``erp_kw`` above 0, ``transmit_agl_m`` and ``receive_agl_m``
    above ground, above 0, each a number or an array over the profile's leading axes; ``profile`` an
    ``earth.Profile``, taken as given; ``polarization`` "horizontal" or "vertical", one or an array;
    ``air`` a ``path.Air``, by default ``Air()``. NaN where no map covers the path. Never above free
    space. ValueError for nonsense. Half of the time and of the places, land only.
    Source: Rec. ITU-R P.1812-6: free space, delta-Bullington diffraction, troposcatter.

    >>> from signalshed import earth
    >>> hill = earth.Profile([0, 10, 20, 30, 40], [50, 60, 220, 70, 40])
    >>> round(profile_dbuv_m(600, 100, hill, 150, 10), 2)
    60.69
    """
    power = check("erp_kw", erp_kw, above=0)
    terms = profile_terms(
        freq_mhz, profile, transmit_agl_m, receive_agl_m, polarization=polarization, air=air
    )
    return plain(dbuv_m_from_loss(freq_mhz, power, terms.loss_db))


def dbuv_m_from_loss(freq_mhz, erp_kw, loss_db):
    """Field strength behind a loss between isotropic antennas, dBuV/m.

    Parameters, which broadcast: ``freq_mhz``; ``erp_kw``; ``loss_db`` as in ProfileTerms.
    Source: Rec. ITU-R P.1812-6 eq. 70.

    >>> round(float(dbuv_m_from_loss(600, 1, 120.0)), 2)
    74.92
    """
    freq_ghz = np.asarray(freq_mhz, dtype=float) / 1000
    return 199.36 + 20 * np.log10(freq_ghz) + 10 * np.log10(erp_kw) - loss_db


def profile_terms(
    freq_mhz,
    profile,
    transmit_agl_m,
    receive_agl_m=9.1,
    *,
    polarization="horizontal",
    air=STANDARD_AIR,
):
    """The losses behind ``profile_dbuv_m``: a ProfileTerms. Parameters as there.

    Parameters: ``freq_mhz``, ``profile``, ``transmit_agl_m``, ``receive_agl_m``, ``polarization``,
    ``air``. Source: Rec. ITU-R P.1812-6 eq. 8, 13 to 44, 69 and 70.

    >>> from signalshed import earth
    >>> hill = earth.Profile([0, 10, 20, 30, 40], [50, 60, 220, 70, 40])
    >>> round(profile_terms(600, hill, 150, 10).diffraction_db, 2)
    34.23
    """
    f = check("freq_mhz", freq_mhz, low=30, high=6000) / 1000
    terrain, ae = terrain_of(profile), air.effective_radius_km
    sight = _sight(terrain, transmit_agl_m, receive_agl_m, ae)
    horizons = ground_slopes(terrain, sight, sight.bulge)
    bent = delta_bullington(terrain, sight, horizons, f, ae, _is_vertical(polarization))
    slant_km = np.hypot(sight.d, sight.level / 1000)
    lbfs = 92.4 + 20 * np.log10(f) + 20 * np.log10(slant_km)
    lbs = scatter_loss_db(f, sight.d, _scatter_angle_mrad(sight, horizons, ae), air)
    together = -5 * np.log10(10 ** (-0.2 * lbs) + 10 ** (-0.2 * (lbfs + bent.ld)))
    loss = np.maximum(together, lbfs)
    terms = (lbfs, bent.lbulla, bent.lbulls, bent.ldsph, bent.ld, lbs, loss, bent.hstd, bent.hsrd)
    return ProfileTerms(*map(plain, terms))


def _sight(terrain, transmit_agl_m, receive_agl_m, ae):
    hts = terrain.h1 + check_height("transmit_agl_m", transmit_agl_m)
    hrs = terrain.hn + check_height("receive_agl_m", receive_agl_m)
    return Sight(*np.broadcast_arrays(hts, hrs, terrain.d, 500 * terrain.d**2 / ae))


def scatter_loss_db(f, d, theta, air):
    """Median loss by scatter from the troposphere, eq. 44 at 50 % of the time; theta in mrad."""
    lf = 25 * np.log10(f) - 2.5 * np.log10(f / 2) ** 2
    return 190.1 + lf + 20 * np.log10(d) + 0.573 * theta - 0.15 * air.surface_refractivity


def _scatter_angle_mrad(sight, horizons, ae):
    """Angle between the two horizon rays over bare ground (eq. 78 to 83), mrad."""
    rise, fall = np.maximum(horizons[0], sight.level), np.maximum(horizons[1], -sight.level)
    angles = [np.arctan((slope - sight.bulge) / (1000 * sight.d)) for slope in (rise, fall)]
    return 1000 * (sight.d / ae + angles[0] + angles[1])


def check_height(name, height_agl_m):
    height = np.asarray(height_agl_m, dtype=float)
    if (height <= 0).any():
        lowest = height[height <= 0].flat[0]
        raise ValueError(
            f"{name} is {lowest:g}: the antenna would be under the ground; it must be above 0."
        )
    return check(name, height_agl_m, above=0, high=20000)


def _is_vertical(polarization):
    names = np.asarray(polarization)
    vertical = names == "vertical"
    if not np.all(vertical | (names == "horizontal")):
        raise ValueError(f"polarization is {polarization!r}; it must be horizontal or vertical.")
    return vertical
