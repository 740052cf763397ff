"""Noise: what a warm resistor makes, what comes in through the antenna at VHF, what the parts add."""

import functools
from dataclasses import dataclass

import numpy as np

from .. import facts, units
from ..tables import SITE
from ..units import one_of
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


# ---- from outside -------------------------------------------------------------------------------


@functools.cache
def _formulas():
    """Of each source outside: c, d, what the upper decile of time lies above, sd from place to place."""
    rows = facts.table("man_made_noise").set_index("environment")
    columns = ["c_db", "d_db_per_decade", "upper_decile_db", "place_sd_db"]
    return rows[columns].T.to_dict("list") | {"none": [-np.inf, 0.0, 0.0, 0.0]}


def outside_noise_db(freq_mhz, source="residential"):
    """Median noise of one source outside as a noise figure, c - d log10(f) dB: below 0 in quiet places.

    Parameters: ``freq_mhz``, 0.3 to 250 MHz, any shape; ``source``, one of ``ENVIRONMENTS`` for what
    people make there, or galactic. Above 250 MHz, where the formulas end, and for none, -inf.
    Source: ITU-R P.372-17, Table 1, and 52 - 23 log10(f) for the galaxy.

    >>> round(outside_noise_db(69, "residential"), 2), round(outside_noise_db(69, "galactic"), 2)
    (21.56, 9.71)
    """
    f = units.check("freq_mhz", freq_mhz, low=0.3)
    c, d, *_ = _formulas()[one_of("source", source, (*ENVIRONMENTS, "galactic"))]
    top = facts.value("receiver", "man_made_noise_top_mhz")
    return units.plain(np.where(f <= top, c - d * np.log10(f), -np.inf))


# ---- all of it at the antenna's output ----------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Noise:
    """Noise of a whole system as figures at the antenna's output, arrays of one shape.

    ``figure_db`` the median; ``upper_db`` by how much it is exceeded for 10 % of the time;
    ``place_sd_db`` one standard deviation of what one street has over another of the same kind.
    """

    figure_db: np.ndarray
    upper_db: np.ndarray
    place_sd_db: np.ndarray


def system_noise(parts, freq_mhz, environment="none", antenna_loss_db=0.0):
    """Noise of the whole system at the antenna's output, with its upper decile of time: a Noise.

    What comes from outside counts at least as 290 K, since a roof antenna sees the warm ground.
    What the antenna itself loses, mismatch, balun and wire, keeps as much of the outside noise away
    and puts that of 290 K in its place. The upper deciles of the sources join in squares.
    Parameters: ``parts``, a sequence of ``Part`` from the antenna on, the tuner's last; ``freq_mhz``,
    MHz, any shape; ``environment``, one of ``ENVIRONMENTS``; ``antenna_loss_db`` at least 0.
    Source: ITU-R P.372-17: f = 1 + (f_outside - 1) / l_antenna + f_parts - 1, and its Table 2.

    >>> from signalshed.chain import Tuner
    >>> there = system_noise([Tuner("set", "ATSC1", 10).part], 69.0, "residential")
    >>> round(float(there.figure_db), 1), round(float(there.upper_db), 1)
    (22.1, 10.1)
    """
    own = np.asarray(units.from_db(cascade(parts, freq_mhz).noise_figure_db))
    heard = 10 ** (-units.check("antenna_loss_db", antenna_loss_db, low=0) / 10)
    one_of("environment", environment, ENVIRONMENTS)
    sources = environment, "none" if environment == "none" else "galactic"
    medians = [10 ** (np.asarray(outside_noise_db(freq_mhz, s)) / 10) for s in sources]

    def figure_db(*raised_db):
        outside = sum(s * 10 ** (r / 10) for s, r in zip(medians, raised_db, strict=True))
        return 10 * np.log10(heard * (np.maximum(outside, 1) - 1) + own)

    (*_, upper, place), (*_, galactic, _) = (_formulas()[s] for s in sources)
    median = figure_db(0, 0)
    rises = figure_db(upper, 0) - median, figure_db(0, galactic) - median
    per_db = figure_db(0.5, 0) - figure_db(-0.5, 0)
    return Noise(median, np.hypot(*rises), place * per_db)


def system_noise_figure_db(parts, freq_mhz, environment="none", antenna_loss_db=0.0):
    """Median noise figure of the whole system at the antenna's output, dB.

    Parameters: ``parts``, ``freq_mhz``, ``environment`` and ``antenna_loss_db`` as in ``system_noise``.

    >>> from signalshed.chain import Tuner
    >>> round(system_noise_figure_db([Tuner("set", "ATSC1", 10).part], 69, "residential"), 1)
    22.1
    """
    return units.plain(system_noise(parts, freq_mhz, environment, antenna_loss_db).figure_db)


def noise_dbm(parts, freq_mhz, bandwidth_mhz=6.0, environment="none"):
    """Noise power at the antenna's output, dBm, against which a signal there has to stand.

    Parameters: ``parts``, ``freq_mhz`` and ``environment`` as in ``system_noise``;
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
