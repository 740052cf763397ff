"""What each cause of a change would do to the stations of a roof, and its odds given what was seen.

A cause is a family of shapes (what one dB of it does to each station), an amount that is not known, and
the odds of the facts table ``causes``. Real faults keep to no formula, so every station may stray from
its shape, the whole round from its zero, and now and then a reading is of something else.
"""

from typing import NamedTuple

import numpy as np
from scipy.special import logsumexp, ndtr

from .. import budget, facts
from ..units import turn_deg

TURNS_DEG = (-90, -60, -45, -35, -25, -18, -12, 12, 18, 25, 35, 45, 60, 90)
LEAST_DB = 2.0
"""A cause moves something by so much; what is less is nothing that has changed."""
STRAY = 0.2
"""How far a station strays from its shape, one sd, as a share of its change; weather's twice as far."""
STRAY_DB = 0.7
FELT = 0.3
"""A shape that moves no station read by this much a dB cannot be seen in these readings."""
_STEPS = np.linspace(-2.5, 2.5, 13)
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(3)


class There(NamedTuple):
    """What shapes are made of, (stations,) each: ``strong_db`` the forecast through the antenna that
    was read, ``turns_db`` (turns, stations) the change of its gain at TURNS_DEG, None if never aimed;
    ``read`` the rows of the stations that were."""

    freq_mhz: np.ndarray
    bearing_deg: np.ndarray
    distance_km: np.ndarray
    strong_db: np.ndarray
    turns_db: np.ndarray
    read: np.ndarray


class Judged(NamedTuple):
    """One cause: ``log_odds`` (-inf if nothing read could show it), and the ``change_db`` it would make
    at each station of the list with its sd ``give_db``, (stations,)."""

    log_odds: float
    change_db: np.ndarray
    give_db: np.ndarray


def there(site, setup, read):
    """What the shapes of a ``site`` are made of: There.

    Parameters: ``setup`` a Setup, the one of most readings; ``read`` rows of the stations read.
    """
    columns = ("freq_mhz", "bearing_deg", "distance_km")
    freq, bearing, distance = (site.stations[c].to_numpy(float) for c in columns)
    margin = budget.reception(site, setup).margin_db
    strong = np.where(np.isfinite(margin), margin, np.nanmin(margin, initial=0.0))
    return There(freq, bearing, distance, strong, _turns(site, setup), np.unique(read))


def _turns(site, setup):
    antenna, mount, _ = budget.parts_of(site, setup)
    if setup.heading_deg is None:
        return None
    headings = (setup.heading_deg + np.array([0.0, *TURNS_DEG])) % 360
    gain = budget.gain_toward_dbd(site, antenna, mount, headings)
    return np.nan_to_num(gain[1:] - gain[0])


def shapes(cause, at):
    """Shapes (k, stations) of a ``cause``, as likely one as the other; ``at`` a There.

    >>> at = There(*np.array([[60.0, 600], [0, 90], [30, 50], [9, 20]]), None, np.arange(2))
    >>> shapes("vhf noise", at)[0].tolist()
    [1.0, 0.0]
    """
    f, read = at.freq_mhz, at.read
    family = {
        "none": lambda: [0 * f],
        "other": lambda: [0 * f],
        "plug": lambda: [
            np.ones(f.size),
            *(np.where(f < 300, share, 1) for share in (0.8, 0.6, 0.4)),
        ],
        "water": lambda: [(f / 600) ** e for e in (0.4, 0.6, 0.8, 1.0, 1.3)],
        "half balun": lambda: [np.clip((600 / f) ** e, 0, 4) for e in (0.5, 0.75, 1, 1.5)],
        "vhf noise": lambda: [np.where(f < 300, np.where(f < 100, x, y), 0) for x, y in _VHF],
        "new mast": lambda: _new_mast(at),
        "weather": lambda: [np.clip((at.distance_km - d) / 60, 0, 1.5) ** e for d, e in _WEATHER],
        "overload": lambda: _overload(at),
        "sector": lambda: _sectors(at),
        "turned": lambda: np.zeros((0, f.size)) if at.turns_db is None else at.turns_db,
        "one station": lambda: np.eye(f.size)[read],
    }
    return np.asarray(family[cause]())


_VHF = ((1, 1), (1.5, 1), (2, 1), (1, 0.4), (0.4, 1))
"""Loss at low and at high VHF."""
_WEATHER = ((0, 1), (0, 2), (20, 1), (40, 1))


def _weaker(at):
    """1 for the weak, 0 for the strong, with the step at the weakest third, half and two thirds."""
    steps = np.quantile(at.strong_db[at.read], (0.35, 0.5, 0.65))
    return [1 / (1 + np.exp((at.strong_db - s) / 2)) for s in steps]


def _new_mast(at):
    """Noise and products lean on the channels next to the telephones', a full amplifier on the weak."""
    ramps = [np.clip((at.freq_mhz - k) / (600 - k), 0, 2.5) for k in (470, 520, 550, 570)]
    slopes = [np.exp((np.minimum(at.freq_mhz, 700) - 600) / reach) for reach in (80, 130, 200)]
    return [*ramps, *slopes, *(n * w for n in ramps[:3] for w in _weaker(at)[1:])]


def _overload(at):
    """Of the weaker ones, or products all over UHF and most about one channel, some of them at VHF."""
    soft = np.quantile(at.strong_db[at.read], 0.5)
    hump = [0.7 + 0.4 * np.exp(-(((at.freq_mhz - m) / 60) ** 2)) for m in (500, 570, 640)]
    products = [np.where(at.freq_mhz < 300, 0.4, h) for h in hump]
    return [*_weaker(at), 1 / (1 + np.exp((at.strong_db - soft) / 5)), *products]


def _sectors(at):
    middles = np.arange(0.0, 360.0, 15.0)
    off = np.abs(turn_deg(middles[:, None], at.bearing_deg))
    wide = [np.exp(-0.5 * (off / 20) ** 2), *(1.0 * (off < w) for w in (20, 35, 50))]
    return np.concatenate([shape * (at.freq_mhz / 550) ** 0.2 for shape in wide])


def judge(cause, at, seen):
    """One row of the table ``causes`` against what was ``seen``: Judged.

    Parameters: ``cause`` the row; ``at`` a There; ``seen`` a DataFrame of station, low_db, high_db,
    sd_db and common_sd_db, the change of each station with its ends, and what all may share.
    """
    offset = seen["common_sd_db"].iloc[0] * _NODES
    log_offset = np.log(_WEIGHTS / _WEIGHTS.sum())
    if cause.cause in ("none", "other"):
        return _by_itself(cause, at, seen, offset, log_offset)
    shape = shapes(cause.cause, at)
    felt = np.abs(shape[:, at.read]).max(axis=1, initial=0.0) > FELT * (cause.sd_db > 0)
    if cause.cause == "turned":
        felt = np.abs(shape[:, at.read]).max(axis=1, initial=0.0) >= LEAST_DB
    if not felt.any():
        return Judged(-np.inf, np.zeros(at.freq_mhz.size), np.ones(at.freq_mhz.size))
    amount, log_amount = _amounts(cause)
    moved = amount[:, None, None] * shape[felt]
    stray = np.hypot(STRAY_DB, STRAY * (2 if cause.cause == "weather" else 1) * np.abs(moved))
    rows = seen["station"].to_numpy(int)
    here = moved[..., rows] + offset[:, None, None, None]
    log = log_seen(seen, here, stray[..., rows], facts.value("judgement", "reading_wild_share"))
    log = logsumexp(log + log_offset[:, None, None], axis=0) + log_amount[:, None]
    total = logsumexp(log)
    share = np.exp(log - total)
    mean = np.einsum("as,asn->n", share, moved)
    give = np.sqrt(np.einsum("as,asn->n", share, (moved - mean) ** 2 + stray**2))
    return Judged(np.log(cause.weight / len(shape)) + total, mean, give)


def _amounts(cause):
    """What may be lost (or gained, below 0), and its log odds."""
    if not cause.sd_db:
        return np.ones(1), np.zeros(1)
    amount = -cause.loss_db + cause.sd_db * _STEPS
    kept = -amount >= LEAST_DB if cause.loss_db else np.abs(amount) >= LEAST_DB
    log = -0.5 * _STEPS[kept] ** 2
    return amount[kept], log - logsumexp(log)


def _by_itself(cause, at, seen, offset, log_offset):
    """Nothing has changed, or every station by itself; a slip of the pen counts as one station's."""
    each = np.array([0.5, 1.0, 1.8]) * cause.sd_db if cause.sd_db else np.zeros(1)
    log = log_seen(seen, offset[:, None, None], each[:, None], 0.0)
    log = logsumexp(log + log_offset[:, None]) - np.log(each.size)
    change = np.zeros(at.freq_mhz.size)
    give = np.full(change.size, max(cause.sd_db, STRAY_DB))
    if cause.sd_db:  # what was seen is what it says of a station
        change[seen["station"]] = np.clip(0.0, seen["low_db"], seen["high_db"])
        give[seen["station"]] = STRAY_DB
    return Judged(np.log(cause.weight) + log, change, give)


def log_seen(seen, moved_db, stray_db, wild):
    """Log probability (...) of all differences if the stations moved by ``moved_db`` (..., n).

    Parameters: ``seen`` as in ``judge``; ``stray_db`` (..., n) sd of a station about its shape;
    ``wild`` the share of readings that are of something else.
    """
    low, high, own = (seen[c].to_numpy(float) for c in ("low_db", "high_db", "sd_db"))
    moved, stray, _ = np.broadcast_arrays(moved_db, stray_db, low)
    value = low == high
    sd = np.hypot(own[value], stray[..., value])
    far = np.hypot(sd, facts.value("judgement", "reading_wild_sd_db"))
    off = low[value] - moved[..., value]
    log = np.log((1 - wild) * _bell(off, sd) + wild * _bell(off, far)).sum(axis=-1)
    sd = np.hypot(own[~value], stray[..., ~value])
    less, more = (high[~value] - moved[..., ~value]) / sd, (moved[..., ~value] - low[~value]) / sd
    end = np.maximum(ndtr(less) + ndtr(more) - 1, 0.0)
    return log + np.log((1 - wild) * end + wild / 2 + 1e-12).sum(axis=-1)


def _bell(x, sd):
    return np.exp(-0.5 * (x / sd) ** 2) / (sd * np.sqrt(2 * np.pi))
