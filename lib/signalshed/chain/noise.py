"""Noise: what a warm resistor makes, what the neighbourhood adds at VHF, what the parts add."""

import functools

import numpy as np

from .. import facts, units
from ..tables import SITE
from .parts import cascade

ENVIRONMENTS = SITE.column("noise").choices
"""Neighbourhoods of the facts table ``man_made_noise``, quietest first, and none at all."""


def thermal_noise_dbm(bandwidth_mhz=6.0):
    """Power of thermal noise at 290 K, k T0 B, in dBm: the floor under every signal.

    Parameters: ``bandwidth_mhz``, above 0, any shape. Source: ISED BPR-10 Appendix 8 prints
    -106.2 dBm for 6 MHz.

    >>> round(thermal_noise_dbm(6), 1)
    -106.2
    """
    hz = units.check("bandwidth_mhz", bandwidth_mhz, above=0) * 1e6
    return units.plain(10 * np.log10(_thermal_w_per_hz() * hz) + 30)


@functools.cache
def _thermal_w_per_hz():
    constant = functools.partial(facts.value, "constants")
    return constant("boltzmann") * constant("reference_temperature")


@functools.cache
def _man_made():
    rows = facts.table("man_made_noise").set_index("environment")
    top = facts.value("receiver", "man_made_noise_top_mhz")
    return rows[["c_db", "d_db_per_decade"]].T.to_dict("list"), top


def external_noise_db(freq_mhz, environment="residential"):
    """Noise that comes in through the antenna, as a noise figure in dB: 0 is a quiet 290 K.

    Parameters: ``freq_mhz``, 0.3 MHz and up, any shape; ``environment``, one of ``ENVIRONMENTS``.
    Median of time and places; never below 0, since a roof antenna sees the warm ground; 0 above
    250 MHz, where the formula ends. Source: ITU-R P.372-17, Fam = c - d log10(f).

    >>> round(external_noise_db(69, "residential"), 2)
    21.56
    """
    f = units.check("freq_mhz", freq_mhz, low=0.3)
    rows, top_mhz = _man_made()
    if environment != "none" and environment not in rows:
        allowed = ", ".join(ENVIRONMENTS)
        raise ValueError(f"environment is {environment!r}; it must be one of {allowed}.")
    if environment == "none":
        return units.plain(np.zeros_like(f))
    c, d = rows[environment]
    figure = np.maximum(c - d * np.log10(f), 0)
    return units.plain(np.where(f <= top_mhz, figure, 0.0))


def system_noise_figure_db(parts, freq_mhz, environment="none"):
    """Noise figure of the whole system at the antenna's output, dB.

    Parameters: ``parts``, a sequence of ``Part`` from the antenna on, the tuner's last;
    ``freq_mhz``, MHz, any shape; ``environment``, one of ``ENVIRONMENTS``.
    Source: ITU-R P.372, f = f_external + f_parts - 1.

    >>> from signalshed.chain import Tuner
    >>> round(system_noise_figure_db([Tuner("set", "ATSC1", 10).part], 69, "residential"), 1)
    21.8
    """
    own = units.from_db(cascade(parts, freq_mhz).noise_figure_db)
    outside = units.from_db(external_noise_db(freq_mhz, environment))
    return units.to_db(outside + own - 1)


def noise_dbm(parts, freq_mhz, bandwidth_mhz=6.0, environment="none"):
    """Noise power at the antenna's output, dBm, against which a signal there has to stand.

    Parameters: ``parts``, ``freq_mhz`` and ``environment`` as in ``system_noise_figure_db``;
    ``bandwidth_mhz``, above 0. Shapes broadcast.

    >>> from signalshed.chain import Tuner
    >>> round(noise_dbm([Tuner("set", "ATSC1", 7).part], 600), 1)
    -99.2
    """
    figure = system_noise_figure_db(parts, freq_mhz, environment)
    return units.plain(np.asarray(thermal_noise_dbm(bandwidth_mhz)) + figure)


def pad_cost_db(pad_db, feed, tuner, freq_mhz, *, pad_at="set", environment="none"):
    """How many dB of C/N a pad really takes: less than its label where noise from outside rules.

    Parameters: ``pad_db``, 0 to 100; ``feed``, a ``Feed``; ``tuner``, a ``Tuner``; ``freq_mhz``,
    MHz, any shape; ``pad_at``, antenna or set; ``environment``, one of ``ENVIRONMENTS``.

    >>> from signalshed.chain import Feed, Tuner, amplifier, pad
    >>> mast = Feed("mast", (amplifier("amplifier", 16, 2), pad(4)))
    >>> round(pad_cost_db(10, mast, Tuner("set", "ATSC1", 7), 600), 1)
    4.0
    """

    def figure(line):
        return np.asarray(system_noise_figure_db((*line.parts, tuner.part), freq_mhz, environment))

    return units.plain(figure(feed.with_pad(pad_db, pad_at)) - figure(feed))
