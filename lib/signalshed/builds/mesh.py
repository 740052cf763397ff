"""Mesh and sheet as a reflector: what leaks through, what that costs, what the wind makes of it."""

import functools

import numpy as np

from .. import facts
from ..units import LIGHT_M_MHZ, check, plain


def mesh_leak_db(freq_mhz, opening_mm, wire_mm):
    """Power through a square mesh over power arriving, in dB: 0 is no mesh at all.

    Parameters: ``freq_mhz`` above 0, ``opening_mm`` from wire to wire, above ``wire_mm``, the wire's
    diameter, and below half a wavelength; shapes broadcast. Square on, field along one set of wires,
    crossings bonded. X = eta (d / wavelength) (ln(d / 2 pi a) + F), |t|^2 = q^2 / (1 + q^2) with
    q = 2 X / eta: G. G. Macfarlane, J. IEE 93 IIIA (1946), the formula by an
    abstract, author and year unchecked.

    >>> round(mesh_leak_db(600, 12.7, 1.0), 1)
    -23.0
    """
    q2 = _openness(freq_mhz, opening_mm, wire_mm) ** 2
    return plain(10 * np.log10(q2 / (1 + q2)))


def _openness(freq_mhz, opening_mm, wire_mm):
    d = check("opening_mm", opening_mm, above=0)
    a = check("wire_mm", wire_mm, above=0) / 2
    ratio = d * check("freq_mhz", freq_mhz, above=0) / (1000 * LIGHT_M_MHZ)
    if np.any(2 * a >= d):
        raise ValueError(
            f"wire_mm is {np.max(2 * a):g}; it must be below opening_mm, {np.min(d):g}."
        )
    if np.any(ratio >= 0.5):
        raise ValueError(f"opening_mm is {np.max(d):g}; it must be below half a wavelength.")
    m = np.arange(1, 201)
    f = np.sum(1 / np.sqrt(m**2 - ratio[..., None] ** 2) - 1 / m, axis=-1)
    return 2 * ratio * (np.log(d / (2 * np.pi * a)) + f)


def stand_in_radius_mm(pitch_mm, opening_mm=None, wire_mm=None):
    """Radius of rods at a coarser ``pitch_mm`` that leak as a mesh does, or as a sheet.

    The two have the same grid reactance d ln(d / 2 pi a). Without a mesh the reactance is nought:
    a = pitch / 2 pi, the rule of equal surface.
    Parameters: ``pitch_mm`` above 0 and not below ``opening_mm``; ``opening_mm`` and ``wire_mm`` of the
    mesh, None for a sheet.

    >>> round(stand_in_radius_mm(60), 2), round(stand_in_radius_mm(60, 12.7, 1.0), 2)
    (9.55, 7.1)
    """
    pitch = check("pitch_mm", pitch_mm, above=0)
    if opening_mm is None:
        return plain(pitch / (2 * np.pi))
    d, a = check("opening_mm", opening_mm, above=0), check("wire_mm", wire_mm, above=0) / 2
    return plain(pitch / (2 * np.pi) * np.exp(-d / pitch * np.log(d / (2 * np.pi * a))))


def solidity(opening_mm, wire_mm):
    """Share of a square mesh's outline that is wire, 0 to 1.

    Parameters: ``opening_mm`` from wire to wire, ``wire_mm`` diameter, below the opening.

    >>> round(solidity(12.7, 1.0), 3)
    0.151
    """
    d = check("opening_mm", opening_mm, above=0)
    return plain(1 - (1 - check("wire_mm", wire_mm, above=0, high=d.max()) / d) ** 2)


def wind_pressure_pa(speed_m_s):
    """Pressure of wind at ``speed_m_s`` (0 or more), N/m2: half the air's density times speed squared.

    >>> round(wind_pressure_pa(40))
    980
    """
    rho = facts.value("builds", "air_density_kg_m3")
    return plain(rho / 2 * check("speed_m_s", speed_m_s, low=0, high=120) ** 2)


def drag_area_m2(shape, area_m2, solid_share=1.0):
    """Force per pressure, m2: solid area times its force coefficient.

    Parameters: ``shape`` "rod", "mesh" or "plate"; ``area_m2`` of the outline (of a rod: diameter times
    length), 0 or more; ``solid_share`` of it that is solid, 0 to 1. Coefficients: facts table ``wind``.

    >>> round(drag_area_m2("plate", 0.6) * wind_pressure_pa(40))
    753
    """
    above, coefficients = _force_coefficients(shape)
    share = check("solid_share", solid_share, low=0, high=1)
    step = np.searchsorted(above, share, side="right") - 1
    coefficient = coefficients[np.maximum(step, 0)]
    return plain(check("area_m2", area_m2, low=0) * share * coefficient)


@functools.cache
def _force_coefficients(shape):
    """Rising solidities from which a coefficient holds, and the coefficients."""
    rows = facts.table("wind")
    rows = rows[rows["shape"] == shape].sort_values("solidity_above")
    if rows.empty:
        raise ValueError(f"shape is {shape!r}; it must be rod, mesh or plate.")
    return rows["solidity_above"].to_numpy(), rows["coefficient"].to_numpy()
