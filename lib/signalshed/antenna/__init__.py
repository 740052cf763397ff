"""One antenna: its gain by channel and direction, how surely it is known, and where it may live.

========  ======================================================================================
model     ``Antenna``, the table the survey sees; ``AZIMUTHS_DEG``, ``EVERYWHERE``, ``EDGE_MHZ``
making    ``from_numbers``, ``from_table``, ``from_build``; ``as_labelled``; ``plain_dipole``;
          ``lobe_db``, ``typical_beamwidth_deg``
hung      the other cut, of antennas on their side: ``across_deg``
gains     ``trial_gains`` of a comparison, and the antenna they make: ``from_trial`` at once,
          ``from_gains``, ``measured`` by the file of a site folder
card      what a notebook shows of an antenna
========  ======================================================================================
"""

from .. import handed_on as _handed_on
from ..markup import shown_as as _shown_as
from .gains import from_gains, from_trial, measured, trial_gains
from .hung import across_deg
from .making import (
    as_labelled,
    from_build,
    from_numbers,
    from_table,
    lobe_db,
    plain_dipole,
    typical_beamwidth_deg,
)
from .model import AZIMUTHS_DEG, EDGE_MHZ, EVERYWHERE, Antenna

__all__ = _handed_on(globals())


def _card(antenna):
    """The card, loaded when one is first shown: many a site never asks for the solver it needs."""
    from .card import card_html

    return card_html(antenna)


_shown_as(Antenna, _card)


def __dir__():
    return __all__
