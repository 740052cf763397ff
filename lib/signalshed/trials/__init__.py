"""Fair side-by-side tests: plan them, and get differences in dB with honest ends.

Two kinds, never mixed. *Gain*: every antenna is aimed at each station in turn; the result may become
an antenna's gain. *Fixed aim*: every antenna keeps its own best single heading; the result says
which to mount, and becomes no gain.

======================================  ==========================================================
planning                                ``plan``, ``Plan``: order, channels, pads, hours
gains                                   ``gains``, ``write_gains``: a gain trial for a site folder
comparison                              ``compare`` (a table), ``study`` (all of it), ``Comparison``,
                                        ``verdict``
power                                   ``repeats_needed``, ``chance_to_call``, ``half_width_db``,
                                        ``paired``
======================================  ==========================================================
"""

from .comparison import Comparison, compare, study, verdict
from .gains import gains, write_gains
from .planning import Plan, plan
from .power import Paired, chance_to_call, half_width_db, paired, repeats_needed

__all__ = [
    "Comparison",
    "Paired",
    "Plan",
    "chance_to_call",
    "compare",
    "gains",
    "half_width_db",
    "paired",
    "plan",
    "repeats_needed",
    "study",
    "verdict",
    "write_gains",
]
