"""Metal at television frequencies: skin depth, and what a surface of it swallows."""

import numpy as np

from .. import facts
from ..units import check, one_of, plain
from ..wires.shape import metal_facts, metals

_MU0 = 4e-7 * np.pi


def skin_depth_um(metal, freq_mhz):
    """Depth in micrometres at which current in ``metal`` has fallen to 37 %.

    Parameters: ``metal`` of the facts table ``metals`` (not "ideal"); ``freq_mhz`` above 0, any shape.
    sqrt(rho / (pi f mu)).

    >>> round(skin_depth_um("copper", 600), 2)
    2.7
    """
    known = _real(metal)
    mu = _MU0 * known["relative_permeability"]
    f = check("freq_mhz", freq_mhz, above=0) * 1e6
    return plain(1e6 * np.sqrt(known["resistivity_ohm_m"] / (np.pi * f * mu)))


def surface_loss_db(metal, freq_mhz):
    """Power a thick sheet of ``metal`` keeps of a wave that meets it square on, in dB.

    Parameters: ``metal`` as for skin_depth_um; ``freq_mhz`` above 0. 1 - |r|^2 = 4 R / eta.

    >>> round(surface_loss_db("copper", 600), 4)
    0.0003
    """
    depth_m = np.asarray(skin_depth_um(metal, freq_mhz)) * 1e-6
    surface_ohm = _real(metal)["resistivity_ohm_m"] / depth_m
    eta = facts.value("constants", "free_space_impedance")
    return plain(-10 * np.log10(1 - 4 * surface_ohm / eta))


def foil_skin_depths(metal, freq_mhz, thickness_um):
    """How many skin depths a foil of ``thickness_um`` is thick; from about 3 on it acts like a plate.

    Parameters: ``metal``, ``freq_mhz`` as for skin_depth_um; ``thickness_um`` above 0.

    >>> round(foil_skin_depths("aluminium", 600, 16), 1)
    4.6
    """
    thick = check("thickness_um", thickness_um, above=0)
    return plain(thick / np.asarray(skin_depth_um(metal, freq_mhz)))


def _real(metal):
    return metal_facts(one_of("metal", metal, [name for name in metals() if name != "ideal"]))
