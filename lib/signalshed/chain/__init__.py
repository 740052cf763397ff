"""Between the antenna and the picture: cable, amplifier, filter, splitter, tuner, noise, overload.

Every part is a gain, a noise figure and, where it can be overdriven, limits. Parts in order from
the antenna make a line; ``cascade`` adds them up. Everything is referred to the antenna's output,
the place where ``budget`` compares signal and noise.

======================================  ==========================================================
parts         ``Part``, ``Line``, ``cascade``; ``coax``, ``pad``, ``splitter``, ``stop_filter``,
              ``amplifier``, ``ip3_from_output``; ``Feed``, ``Tuner``; ``family`` of a standard
noise         ``ENVIRONMENTS``; ``thermal_noise_dbm``, ``outside_noise_db``; ``system_noise``, a
              ``Noise`` with what time and place do to it, ``system_noise_figure_db``, ``noise_dbm``,
              ``pad_cost_db``
overload      ``load``, ``Load``; ``soft_limits``, ``SoftLimit``;
              ``turned_down_db``
second_order  ``Mixing``: where sums and differences fall
======================================  ==========================================================
"""

from .. import handed_on as _handed_on
from .noise import (
    ENVIRONMENTS,
    Noise,
    noise_dbm,
    outside_noise_db,
    pad_cost_db,
    system_noise,
    system_noise_figure_db,
    thermal_noise_dbm,
)
from .overload import Load, SoftLimit, load, soft_limits, turned_down_db
from .parts import (
    Feed,
    Line,
    Part,
    Tuner,
    amplifier,
    cascade,
    coax,
    family,
    ip3_from_output,
    pad,
    splitter,
    stop_filter,
)
from .second_order import Mixing

__all__ = _handed_on(globals())


def __dir__():
    return __all__
