"""Fair side-by-side tests: plan them, and get differences in dB with honest ends.

Two kinds, never mixed. *Gain*: every antenna is aimed at each station in turn; the result may become
an antenna's gain. *Fixed aim*: every antenna keeps its own best single heading; the result says
which to mount, and becomes no gain.

======================================  ==========================================================
planning, evening                       ``plan``, ``Plan``: order, channels, pads, hours; what fits
                                        into an evening, and its sheet
source                                  ``settled``: readings from any callable
gains                                   ``gains``, ``write_gains``: a gain trial for a site folder
comparison                              ``compare`` (a table), ``study`` (all of it), ``Comparison``,
                                        ``verdict``, ``at_least``
misfit                                  what in the readings does not look as it should
stopping                                ``MayStop``, ``planned_looks``, ``stopping_constant``: when an
                                        evening may end
pooling                                 ``pooled``, ``Pooled``, ``club_rows``: what copies do
power                                   ``repeats_needed``, ``found_db``, ``chance_to_call``,
                                        ``half_width_db``, ``usual_pair_sd_db``, ``paired``
======================================  ==========================================================
"""

from .. import handed_on as _handed_on
from .comparison import Comparison, at_least, compare, study, verdict
from .gains import gains, write_gains
from .planning import Plan, plan
from .pooling import Pooled, club_rows, pooled
from .power import (
    Paired,
    chance_to_call,
    found_db,
    half_width_db,
    paired,
    repeats_needed,
    usual_pair_sd_db,
)
from .source import Settled, settled
from .stopping import MayStop, planned_looks, stopping_constant

__all__ = _handed_on(globals())


def __dir__():
    return __all__
