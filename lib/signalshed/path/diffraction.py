"""Loss over terrain by the delta-Bullington method of Rec. ITU-R P.526 as P.1812-6 section 4.3 has it.

Symbols are those of P.1812: distances d in km, heights h in m above sea level, frequency f in GHz,
effective Earth radius ap in km. Arrays over paths, except where points are named.
"""

from dataclasses import dataclass, replace

import numpy as np

from .. import facts
from .edges import edge_loss_db
from .terrain import combine

_LAND = facts.numbers("path_constants")


@dataclass(frozen=True, eq=False)
class Diffraction:
    """Losses in dB and smooth-Earth heights in m above sea level, arrays over paths."""

    lbulla: np.ndarray
    lbulls: np.ndarray
    ldsph: np.ndarray
    hstd: np.ndarray
    hsrd: np.ndarray

    @property
    def ld(self):
        """Delta-Bullington loss, eq. 41."""
        return self.lbulla + np.maximum(self.ldsph - self.lbulls, 0)


def delta_bullington(terrain, sight, horizons, f, ap, vertical):
    """The Diffraction of each path.

    ``horizons`` steepest slopes from both antennas to the bare ground, bulge included.
    """
    slopes = horizons if terrain.g is terrain.h else surface_slopes(terrain, sight)
    v_actual = bullington_v(terrain, terrain.g, slopes, sight)
    hstd, hsrd = smooth_earth_ends(terrain, sight)
    over_smooth = replace(sight, hts=sight.hts - hstd, hrs=sight.hrs - hsrd)
    slopes = (
        terrain.transmit.steepest_over_bulge(over_smooth.hts, sight.bulge),
        terrain.receive.steepest_over_bulge(over_smooth.hrs, sight.bulge),
    )
    v_smooth = bullington_v(terrain, None, slopes, over_smooth)
    scale = np.sqrt(0.002 * f / (0.2998 * sight.d))
    lbulla, lbulls = bullington_db(np.stack([v_actual * scale, v_smooth * scale]), sight.d)
    ldsph = spherical_earth_db(sight.d, over_smooth.hts, over_smooth.hrs, f, ap, vertical)
    return Diffraction(lbulla, lbulls, ldsph, hstd, hsrd)


def ground_slopes(terrain, sight, bulge):
    """Steepest slopes from both antennas to bare ground, m per path length."""
    transmit, receive = terrain.transmit, terrain.receive
    return (
        transmit.steepest(transmit.ground, sight.hts, bulge),
        receive.steepest(receive.ground, sight.hrs, bulge),
    )


def surface_slopes(terrain, sight):
    """The same to ground with clutter on it, the Earth's bulge included."""
    transmit, receive = terrain.transmit, terrain.receive
    return (
        transmit.steepest(transmit.surface, sight.hts, sight.bulge),
        receive.steepest(receive.surface, sight.hrs, sight.bulge),
    )


def bullington_v(terrain, height, slopes, sight):
    """Bullington's v without its factor of d and wavelength, eq. 13 to 20.

    ``height`` of the inner points above sea level, or None for bare smooth Earth at 0 m;
    ``slopes`` the steepest from both antennas, m per path length.
    """
    stim, srim = slopes
    sees = stim <= sight.level
    u = np.where(sees, 0.5, (sight.level + srim) / np.where(sees, 1, stim + srim))
    v = np.array((stim - sight.level) * u / np.sqrt(u * (1 - u)))
    if sees.any():
        v[sees] = _nearest_to_the_line(terrain, height, sight, sees)
    return v


def bullington_db(v, d):
    """Bullington loss from its v, eq. 17 and 21."""
    luc = edge_loss_db(v)
    return luc - np.expm1(-luc / 6) * (10 + 0.02 * d)


def _nearest_to_the_line(terrain, height, sight, sees):
    """Largest v of points below a line of sight, without its factor of d and wavelength (eq. 16)."""

    def chosen(array):
        return np.broadcast_to(array, (*sees.shape, array.shape[-1]))[sees]

    bases, closeness = terrain.bases, terrain.closeness
    if closeness.ndim > 1:
        bases, closeness = np.stack([chosen(base) for base in bases]), chosen(closeness)
    over = combine((-sight.hts[sees], -sight.level[sees], sight.bulge[sees]), bases)
    if height is not None:
        over += chosen(height)
    over *= closeness
    return over.max(axis=-1)


def smooth_earth_ends(terrain, sight):
    """Heights of the smooth surface below both antennas (hstd, hsrd), eq. 89 to 94."""
    obt, obr = ground_slopes(terrain, sight, np.zeros_like(sight.bulge))
    obt, obr = obt - sight.level, obr + sight.level
    over = combine((-sight.hts, -sight.level), terrain.bases[:2])
    over += terrain.h
    hobs = np.maximum(over.max(axis=-1), 0)
    share = np.where(hobs > 0, obt, 0.5) / np.where(hobs > 0, obt + obr, 1)
    hstd = np.minimum(terrain.hst - hobs * share, terrain.h1)
    return hstd, np.minimum(terrain.hsr - hobs * (1 - share), terrain.hn)


def spherical_earth_db(d, hte, hre, f, ap, vertical):
    """Loss over a smooth spherical Earth (Ldsph), section 4.3.2."""
    dlos = np.sqrt(2 * ap) * (np.sqrt(0.001 * hte) + np.sqrt(0.001 * hre))
    hse, hreq = _clearance(np.minimum(d, dlos), hte, hre, f, ap)
    aem = 500 * (d / (np.sqrt(hte) + np.sqrt(hre))) ** 2
    beyond = d >= dlos
    ldft = first_term_db(d, hte, hre, f, np.where(beyond, ap, aem), vertical)
    inside = np.where(hse > hreq, 0, (1 - hse / hreq) * np.maximum(ldft, 0))
    return np.where(beyond, ldft, inside)


def _clearance(d, hte, hre, f, ap):
    """Smallest height of the line of sight over smooth Earth, and the one without loss (eq. 23, 24)."""
    c = (hte - hre) / (hte + hre)
    m = 250 * d**2 / (ap * (hte + hre))
    cosine = 1.5 * c * np.sqrt(3 * m / (m + 1) ** 3)
    cosine = np.minimum(np.maximum(cosine, -1), 1)
    b = 2 * np.sqrt((m + 1) / (3 * m)) * np.cos(np.pi / 3 + np.arccos(cosine) / 3)
    d1 = d / 2 * (1 + b)
    d2 = d - d1
    hse = ((hte - 500 * d1**2 / ap) * d2 + (hre - 500 * d2**2 / ap) * d1) / d
    return hse, 17.456 * np.sqrt(d1 * d2 * (0.2998 / f) / d)


def first_term_db(d, hte, hre, f, adft, vertical):
    """First term of the residue series over land (Ldft), section 4.3.3; never capped below."""
    k = _surface_admittance(f, adft, vertical)
    k2 = k**2
    beta = (1 + 1.6 * k2 + 0.67 * k2**2) / (1 + 4.5 * k2 + 1.53 * k2**2)
    x = 21.88 * beta * (f / adft**2) ** (1 / 3) * d
    y = 0.9575 * beta * (f**2 / adft) ** (1 / 3)
    far = 11 + 10 * np.log10(x) - 17.6 * x
    fx = np.where(x >= 1.6, far, -20 * np.log10(x) - 5.6488 * x**1.425)
    return -fx - _height_gain_db(np.stack([y * hte, y * hre]), beta, k).sum(axis=0)


def _surface_admittance(f, adft, vertical):
    loss = 18 * _LAND.conductivity / f
    horizontal = 0.036 * (adft * f) ** (-1 / 3) * ((_LAND.permittivity - 1) ** 2 + loss**2) ** -0.25
    return np.where(vertical, horizontal * np.sqrt(_LAND.permittivity**2 + loss**2), horizontal)


def _height_gain_db(y, beta, k):
    """G(Y), eq. 36 and 37."""
    b = beta * y
    high = np.maximum(b, 2) - 1.1
    gain = np.where(
        b > 2, 17.6 * np.sqrt(high) - 5 * np.log10(high) - 8, 20 * np.log10(b + 0.1 * b**3)
    )
    return np.maximum(gain, 2 + 20 * np.log10(k))
