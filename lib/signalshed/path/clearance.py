"""The horizon at the roof: what a field over average terrain loses behind the last hill."""

import numpy as np

from .. import facts
from ..units import check, plain
from .edges import edge_loss_db

_RULE = facts.numbers("receive_height")


def clearance_db(freq_mhz, clearance_deg):
    """What the land near the receiver takes off a field over average terrain, dB, at most 0.

    Parameters, which broadcast: ``freq_mhz`` 30 to 3000; ``clearance_deg`` the terrain clearance
    angle, as ``earth.clearance_deg`` finds it: how far the land on the first 16 km toward the
    transmitter stands above the straight line to it; 0.55 to 40 count, and less takes nothing off.
    Source: Rec. ITU-R P.1546-6 Annex 5 section 11, eq. 32.

    >>> clearance_db(600, [0, 1, 40]).round(2).tolist()
    [0.0, -4.1, -35.85]
    """
    freq = check("freq_mhz", freq_mhz, low=30, high=3000)
    return plain(
        np.minimum(clearance_correction_db(freq, check("clearance_deg", clearance_deg)), 0)
    )


def clearance_correction_db(freq_mhz, clearance_deg):
    """The published correction as it stands, a few hundredths of a dB above 0 at its low end.

    Parameters: ``freq_mhz``, ``clearance_deg`` as in ``clearance_db``.

    >>> round(float(clearance_correction_db(98.2, -0.196)), 7)
    0.0208486
    """
    angle = np.clip(clearance_deg, _RULE.clearance_from_deg, _RULE.clearance_to_deg)
    root = np.sqrt(freq_mhz)
    return edge_loss_db(_RULE.clearance_v0 * root) - edge_loss_db(_RULE.clearance_v * angle * root)
