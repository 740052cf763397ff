"""Between the antenna and the picture: cable, amplifier, filter, splitter, tuner, noise, overload.

Every part is a gain, a noise figure and, where it can be overdriven, limits. Parts in order from
the antenna make a line; ``cascade`` adds them up. Everything is referred to the antenna's output,
the place where ``budget`` compares signal and noise.

======================================  ==========================================================
parts         ``Part``, ``Line``, ``cascade``; ``coax``, ``pad``, ``splitter``, ``stop_filter``,
              ``amplifier``, ``ip3_from_output``; ``Feed``, ``Tuner``; ``family`` of a standard
noise         ``ENVIRONMENTS``; ``thermal_noise_dbm``, ``man_made_noise_db``, ``galactic_noise_db``,
              ``external_noise_db``; ``system_noise``, a ``Noise`` with what time and place do to it,
              ``system_noise_figure_db``, ``noise_dbm``, ``pad_cost_db``
overload      ``third_order_dbm``; ``load``, ``Load``; ``soft_limits``, ``SoftLimit``;
              ``turned_down_db``
second_order  ``second_order_dbm``; ``Mixing``: where sums and differences fall
======================================  ==========================================================
"""

from .noise import (
    ENVIRONMENTS,
    Noise,
    external_noise_db,
    galactic_noise_db,
    man_made_noise_db,
    noise_dbm,
    pad_cost_db,
    system_noise,
    system_noise_figure_db,
    thermal_noise_dbm,
)
from .overload import Load, SoftLimit, load, soft_limits, third_order_dbm, turned_down_db
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
from .second_order import Mixing, second_order_dbm

__all__ = [
    "ENVIRONMENTS",
    "Feed",
    "Line",
    "Load",
    "Mixing",
    "Noise",
    "Part",
    "SoftLimit",
    "Tuner",
    "amplifier",
    "cascade",
    "coax",
    "external_noise_db",
    "family",
    "galactic_noise_db",
    "ip3_from_output",
    "load",
    "man_made_noise_db",
    "noise_dbm",
    "pad",
    "pad_cost_db",
    "second_order_dbm",
    "soft_limits",
    "splitter",
    "stop_filter",
    "system_noise",
    "system_noise_figure_db",
    "thermal_noise_dbm",
    "third_order_dbm",
    "turned_down_db",
]


def __dir__():
    return __all__
