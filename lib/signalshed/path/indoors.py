"""What the walls of a building cost."""

import functools

import numpy as np
from scipy.special import ndtri

from .. import facts
from ..units import check, one_of, plain

_LIMITS = facts.numbers("building_entry_limits")


def entry_loss_db(freq_mhz, *, probability=0.5, construction="traditional", elevation_deg=0.0):
    """Loss into a building, dB: not exceeded in a share of buildings and rooms.

    Parameters, the numbers broadcast: ``freq_mhz`` 30 to 100000 (below 80 the model is evaluated at
    80, and ``entry_loss_note`` says so); ``probability`` between 0 and 1; ``construction``
    "traditional" or "thermally_efficient" (metallised glass, foil-backed boards); ``elevation_deg``
    of the arriving wave above the horizon, -90 to 90. ValueError otherwise.
    Source: Rec. ITU-R P.2109-2, eq. 1 to 12 and Table 1.

    >>> round(entry_loss_db(539), 1)
    14.0
    """
    freq = check("freq_mhz", freq_mhz, low=30, high=_LIMITS.highest_mhz)
    p = check("probability", probability, above=0, high=1 - 1e-12)
    angle = check("elevation_deg", elevation_deg, low=-90, high=90)
    k = _coefficients(construction)
    f = np.log10(np.maximum(freq, _LIMITS.lowest_mhz) / 1000)
    normal = ndtri(p)
    horizontal = k["r"] + k["s"] * f + k["t"] * f**2
    mu_1 = horizontal + _LIMITS.elevation_slope_db * np.abs(angle)
    a = normal * (k["u"] + k["v"] * f) + mu_1
    b = normal * (k["y"] + k["z"] * f) + k["w"] + k["x"] * f
    c = _LIMITS.floor_db
    return plain(10 * np.log10(10 ** (a / 10) + 10 ** (b / 10) + 10 ** (c / 10)))


def entry_loss_sd_db(freq_mhz, *, construction="traditional"):
    """Spread of the entry loss, dB: half the distance between its 16 % and 84 % points.

    That is one standard deviation were the distribution normal. Parameters: ``freq_mhz`` 30 to
    100000, ``construction`` "traditional" or "thermally_efficient". Source: Rec. ITU-R P.2109-2.

    >>> round(entry_loss_sd_db(539), 1)
    7.2
    """
    points = [
        entry_loss_db(freq_mhz, probability=p, construction=construction) for p in (0.1587, 0.8413)
    ]
    return plain((points[1] - points[0]) / 2)


def entry_loss_note(freq_mhz):
    """What ``entry_loss_db`` had to assume, as words; "" where nothing.

    Parameters: ``freq_mhz`` above 0. Returns a str, or an array of str (dtype object).

    >>> entry_loss_note(69)
    'wall loss as at 80 MHz, the lowest the model knows'
    """
    lowest = _LIMITS.lowest_mhz
    words = f"wall loss as at {lowest:g} MHz, the lowest the model knows"
    below = check("freq_mhz", freq_mhz, above=0) < lowest
    return plain(np.where(below, words, "").astype(object))


@functools.cache
def _coefficients(construction):
    table = facts.table("building_entry").set_index("construction")
    return (
        table.loc[one_of("construction", construction, table.index), list("rstuvwxyz")]
        .astype(float)
        .to_dict()
    )
