"""Too much signal: total power against limits, and the third-order products of everything on the air."""

from dataclasses import dataclass

import numpy as np

from .. import facts, units
from .second_order import is_fm

_RECEIVER = facts.numbers("receiver")
_STEP_MHZ = 1.0
_FLOOR_MW = 1e-30


@dataclass(frozen=True, eq=False)
class Load:
    """What all signals together do to the parts of a line.

    ``headroom_db``: the least distance of total power from a part's limit, negative when over it,
    infinite when no part has a limit; ``tightest``: the name of that part (text, or an array);
    ``product_dbm``: third-order products inside each signal's own channel, referred to the
    antenna's output, so they add to the noise there; -inf when no part makes any.
    """

    headroom_db: float
    tightest: str
    product_dbm: np.ndarray


def load(parts, freq_mhz, level_dbm, bandwidth_mhz=6.0):
    """Total power and third-order products of many signals through a line.

    Parameters
    ----------
    parts : sequence of ``Part`` from the antenna on, the tuner's last.
    freq_mhz : (n,) centres of everything the antenna hands over: stations, FM, mobile.
    level_dbm : (..., n) their levels at the antenna's output, dBm; -inf for none.
    bandwidth_mhz : their widths, a number or (n,).

    Returns a ``Load`` with shapes (...), (...) and (..., n). Broadcast signals are treated as
    noise-like: at a part of intercept P the product density is 2 S*S*S / P^2, with the triple
    convolution of the spectrum S. Of two narrow signals that is 3 dB more at 2 f1 - f2 than the
    textbook has for two steady carriers, since the power of noise is never steady.
    Products of several parts add in power.

    >>> from signalshed.chain import Tuner
    >>> full = load([Tuner("set", "ATSC1", 7).part], [473, 479], [-11.0, -11.0])
    >>> round(full.headroom_db, 2), full.tightest
    (-0.01, 'set')
    """
    f, level, width = _signals(freq_mhz, level_dbm, bandwidth_mhz)
    gain_db = np.zeros_like(f)
    headroom, tightest = np.full(level.shape[:-1], np.inf), np.full(level.shape[:-1], "", object)
    products = np.zeros(level.shape)
    for part in parts:
        arriving = 10 ** ((level + gain_db) / 10)
        if part.max_input_dbm is not None:
            room = part.max_input_dbm - _dbm(arriving.sum(axis=-1))
            tightest = np.where(room < headroom, part.name, tightest)
            headroom = np.minimum(headroom, room)
        if part.input_ip3_dbm is not None:
            made = _products_mw(f, width, arriving, part.input_ip3_dbm)
            products = products + made / 10 ** (gain_db / 10)
        gain_db = gain_db + part.gain_at_db(f)
    with np.errstate(divide="ignore"):
        product_dbm = 10 * np.log10(products)
    return Load(units.plain(headroom), units.plain(tightest), product_dbm)


@dataclass(frozen=True, eq=False)
class SoftLimit:
    """What a part holds: total power of ``limit_dbm`` at its input on half of all such parts, with
    ``sd_db`` one standard deviation; ``name`` of the part, ``gain_db`` (n,) from the antenna to it;
    ``input_ip2_dbm`` its second-order intercept, None for a passive part.
    """

    name: str
    gain_db: np.ndarray
    limit_dbm: float
    sd_db: float
    input_ip2_dbm: float | None = None


def soft_limits(parts, freq_mhz):
    """The limits of a line, from the antenna on: a tuple of SoftLimit.

    A part of unknown make gets a usual limit with its spread: an amplifier its greatest output less its
    gain, or so far below its intercept point; a tuner what the usual one holds.
    Parameters: ``parts`` of ``Part`` from the antenna on, the tuner's last; ``freq_mhz`` (n,).

    >>> from signalshed.chain import Tuner, amplifier
    >>> line = [amplifier("amplifier", 16, 2), Tuner("set", "ATSC1", 7).part]
    >>> [(each.name, each.limit_dbm, each.sd_db) for each in soft_limits(line, [600.0])]
    [('amplifier', -21.0, 5.0), ('set', -2.0, 3.0)]
    """
    f = np.atleast_1d(units.check("freq_mhz", freq_mhz, above=0))
    found, gain_db = [], np.zeros_like(f)
    for k, part in enumerate(parts):
        own_gain = part.gain_at_db(f)
        if not part.is_passive:
            last = k == len(parts) - 1
            limit = _tuner_limit(part) if last else _amplifier_limit(part, own_gain)
            above = facts.value(
                "receiver", f"{'tuner' if last else 'amplifier'}_ip2_above_limit_db"
            )
            # A tuner's own input keeps FM out.
            there = gain_db - last * np.where(is_fm(f), _RECEIVER.tuner_stops_fm_db, 0.0)
            found.append(SoftLimit(part.name, there, *limit, limit[0] + above))
        elif part.max_input_dbm is not None:
            limit = part.max_input_dbm, _RECEIVER.typed_limit_sd_db
            found.append(SoftLimit(part.name, gain_db, *limit))
        gain_db = gain_db + own_gain
    return tuple(found)


def _tuner_limit(part):
    if part.max_input_dbm not in (None, _RECEIVER.tuner_max_input_dbm):
        return part.max_input_dbm, _RECEIVER.typed_limit_sd_db
    return _RECEIVER.tuner_usual_limit_dbm, _RECEIVER.tuner_limit_sd_db


def _amplifier_limit(part, gain_db):
    if part.max_input_dbm is not None:
        return part.max_input_dbm, _RECEIVER.typed_limit_sd_db
    if part.input_ip3_dbm is not None:
        return part.input_ip3_dbm - _RECEIVER.ip3_to_limit_db, _RECEIVER.ip3_limit_sd_db
    most_dbm = _RECEIVER.amplifier_max_output_dbm
    return most_dbm - float(np.median(gain_db)), _RECEIVER.amplifier_limit_sd_db


def turned_down_db(total_dbm, input_ip3_dbm):
    """By how many dB a tuner turns its gain down under so much total power: smooth, 0 for little.

    Parameters broadcast: ``total_dbm`` at its input; ``input_ip3_dbm`` of the tuner at full gain, which
    rises by as much. Source: facts table ``receiver``, agc_below_ip3_db.

    >>> [round(turned_down_db(p, -5.0), 1) for p in (-45.0, -25.0, -5.0)]
    [0.0, 3.0, 20.0]
    """
    from_dbm = np.asarray(input_ip3_dbm) - _RECEIVER.agc_below_ip3_db
    return units.plain(10 * np.log10(1 + 10 ** ((np.asarray(total_dbm) - from_dbm) / 10)))


def _signals(freq_mhz, level_dbm, bandwidth_mhz):
    f = np.atleast_1d(units.check("freq_mhz", freq_mhz, above=0))
    level = np.asarray(level_dbm, dtype=float)
    if f.ndim != 1 or level.shape[-1:] != f.shape:
        raise ValueError(
            f"level_dbm has shape {level.shape}; its last axis must be as long as freq_mhz, "
            f"which has shape {f.shape}."
        )
    if np.isnan(level).any() or (level > 60).any():
        raise ValueError("level_dbm must be numbers of at most 60 dBm, or -inf for no signal.")
    width = units.check("bandwidth_mhz", bandwidth_mhz, above=0) + np.zeros_like(f)
    return f, level, width


def _dbm(power_mw):
    return 10 * np.log10(np.maximum(power_mw, _FLOOR_MW))


def _products_mw(freq_mhz, width_mhz, power_mw, input_ip3_dbm):
    """Third-order power (..., n) inside each signal's own channel, at the part's input, mW."""
    share = _shares(freq_mhz, width_mhz)
    spectrum = power_mw @ share
    cells = share.shape[1]
    size = 1 << int(np.ceil(np.log2(3 * cells)))
    ahead = np.fft.rfft(spectrum, size)
    back = np.fft.rfft(spectrum[..., ::-1], size)
    triple = np.fft.irfft(ahead * ahead * back, size)[..., cells - 1 : 2 * cells - 1]
    density = 2 * np.maximum(triple, 0) / 10 ** (input_ip3_dbm / 5)
    return density @ (share * width_mhz[:, None] / _STEP_MHZ).T


def _shares(freq_mhz, width_mhz):
    """Which part of each signal (rows) falls into each cell of the frequency grid (columns)."""
    low, high = freq_mhz - width_mhz / 2, freq_mhz + width_mhz / 2
    edges = np.arange(np.floor(low.min()), np.ceil(high.max()) + _STEP_MHZ / 2, _STEP_MHZ)
    overlap = np.minimum(high[:, None], edges[1:]) - np.maximum(low[:, None], edges[:-1])
    return np.maximum(overlap, 0) / width_mhz[:, None]
