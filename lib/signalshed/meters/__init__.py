"""Meters: from percent, bars and pads to decibels above the level where this tuner loses lock.

Loss of lock is the only zero a percent meter has. A ladder of attenuator pads on one's own tuner
turns its readings into dB (``MeterCurve.fit``); pads until the picture breaks need no curve at all
(``margin_from_pads``). At the ends of the scale a reading is a bound, never a value.

======================================  ==========================================================
display       ``Scale``, ``scale``, ``scales``; an exact one: ``db_from_thousandths``
models        ``Meter``, ``meter``: what tuners show, to play with
ladder        ``margin_from_pads``, ``pads_to_cn``, ``Rungs``: a ladder table made ready, with notes
curve         ``MeterCurve``, ``Margin``
log           ``log_reading``, ``undo_last``, ``read_log``: the file of readings
======================================  ==========================================================
"""

from .. import handed_on as _handed_on
from .curve import Margin, MeterCurve
from .display import Scale, db_from_thousandths, scale, scales
from .ladder import PadMargin, Rungs, margin_from_pads, pads_to_cn
from .log import COLUMNS, log_reading, read_log, undo_last
from .models import Meter, meter, meters

__all__ = _handed_on(globals())


def __dir__():
    return __all__
