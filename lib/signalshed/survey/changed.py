"""What changed? Two rounds of readings, or a round against the forecast, and what may lie behind."""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import log_ndtr, logsumexp

from .. import budget, facts
from ..tables import locks
from ..units import check_type
from ..words import percent_words
from .learning import curve_of
from .predicted import predicted

SURE = 0.5
"""A cause is named from this chance on; below it the answer is that it cannot be told."""
LOOK_DB = 1.5
"""One sd of what placing the antenna again and the evening do to one difference, dB, each round."""
_TURNS_DEG = (-60.0, -45.0, -30.0, -15.0, 15.0, 30.0, 45.0, 60.0)
_SECTORS_DEG = np.arange(0.0, 360.0, 20.0)
_HALF_SECTOR_DEG = 25.0
_STEPS = np.linspace(-2.5, 2.5, 21)
_SAME = ["mount", "antenna", "heading_deg", "rf_channel"]


@dataclass(frozen=True, eq=False)
class Changed:
    """What two rounds tell: ``differences`` (station, rf_channel, freq_mhz, bearing_deg, distance_km,
    change_db, low_db, high_db: 90 % ends, open at a full meter or without a picture), ``causes``
    (cause, chance, change_db of the middle station), likeliest first, ``verdict`` in words, and
    ``reading``, the one reading more that parts the two likeliest, in words, or "".
    """

    differences: pd.DataFrame
    causes: pd.DataFrame
    verdict: str
    reading: str

    def __repr__(self):
        return " ".join([self.verdict, self.reading]).strip()


def changed(before, after):
    """What has changed between two rounds of readings, or against the forecast: Changed.

    Compared are readings of one channel through one antenna on one mount at one heading, pads added
    back. Each cause has its shape over MHz, bearing, distance and strength (facts table ``causes``), an
    amount that is not known, and odds; "none of these" lets every station move by itself. For a new
    installation give a site without readings: its forecast stands for the round before.
    Parameters: ``before`` a Site whose readings are the first round, or that has none; ``after`` a Site
    or a DataFrame in the columns of readings.csv, the second. Raises ValueError if nothing compares.

    >>> from signalshed import simulate
    >>> changed(simulate.demo_site(), simulate.demo_site().readings)
    Traceback (most recent call last):
    ValueError: No reading of the second round can be compared; read the same channels the same way.
    """
    budget.check_site(before)
    after = getattr(after, "readings", after)
    check_type("after", after, pd.DataFrame, "a Site, or readings as a DataFrame")
    seen = _differences(before, after)
    log_odds, moved = {}, {}
    for cause in facts.table("causes").itertuples():
        log_odds[cause.cause], moved[cause.cause] = _judged(before, seen, cause)
    return _told(before, seen, pd.Series(log_odds), moved)


def _levels(site, readings):
    """Level of each reading with its pads added back: _SAME, station, low_db, high_db, sd_db."""
    said = predicted(site, readings)
    rows = readings.iloc[said.row]
    shown = pd.to_numeric(rows["reading"], errors="coerce").to_numpy(float)
    locked = locks(rows["locked"]) == 1
    low, high = np.where(locked, 0.0, -np.inf), np.where(locked, np.inf, 0.0)
    sd = np.full(low.size, LOOK_DB)
    for (meter, scale), at in (
        rows.reset_index(drop=True).groupby(["meter", "scale"]).indices.items()
    ):
        curve = curve_of(site, meter, scale)
        told = curve.linear(shown[at], locked[at])
        known = np.isfinite(shown[at]) & (told.status != "unusable") & locked[at]
        k = at[known]
        low[k], high[k] = told.low_db[known], told.high_db[known]
        sd[k] = np.hypot(LOOK_DB, told.noise_db[known])
    pad = rows["pad_db"].fillna(0.0).to_numpy(float)
    frame = rows[_SAME].reset_index(drop=True).fillna("").astype(str)
    ends = {"low_db": low + pad, "high_db": high + pad, "sd_db": sd}
    return frame.assign(station=said.station, forecast_db=said.margin_db + pad, **ends)


def _one_each(levels):
    """Levels of one set-up and channel joined: the mean of values, else the tightest ends."""

    def joined(part):
        value = part[part["low_db"] == part["high_db"]]
        if len(value):
            mean, sd = value["low_db"].mean(), value["sd_db"].mean() / np.sqrt(len(value))
            told = mean, mean, np.hypot(LOOK_DB / 2, sd)
        else:
            told = part["low_db"].max(), max(part["low_db"].max(), part["high_db"].min()), LOOK_DB
        first = part.iloc[0]
        return pd.Series([first["station"], first["forecast_db"], *told], _COLUMNS)

    return levels.groupby(_SAME)[levels.columns.tolist()].apply(joined)


_COLUMNS = ["station", "forecast_db", "low_db", "high_db", "sd_db"]


def _differences(site, after):
    """Second less first, by set-up and channel: station, low_db, high_db, sd_db, and the set-up."""
    second = _levels(site, after)
    if second.empty:
        raise ValueError(_NOTHING)
    second = _one_each(second)
    if len(site.readings):
        first = _one_each(_levels(site, site.readings))
        both = second.join(first[["low_db", "high_db", "sd_db"]].add_suffix("_then"), how="inner")
    else:
        spread = 4.0 * np.ones(len(second))
        there = second["forecast_db"]
        both = second.assign(low_db_then=there, high_db_then=there, sd_db_then=spread)
    low, high = both["low_db"] - both["high_db_then"], both["high_db"] - both["low_db_then"]
    sd = np.hypot(both["sd_db"], both["sd_db_then"])
    seen = both.assign(low_db=low, high_db=high, sd_db=sd)[[*_COLUMNS]]
    seen = seen[np.isfinite(low) | np.isfinite(high)]
    if seen.empty:
        raise ValueError(_NOTHING)
    return seen.reset_index().astype({"station": int})


_NOTHING = "No reading of the second round can be compared; read the same channels the same way."


def _log_seen(seen, moved_db, extra_sd=0.0):
    """Log probability (..., n) of each difference if the stations moved by ``moved_db`` (..., n)."""
    low, high = seen["low_db"].to_numpy(float), seen["high_db"].to_numpy(float)
    sd = np.hypot(seen["sd_db"].to_numpy(float), extra_sd)
    value, open_low = low == high, np.isinf(low)
    with np.errstate(invalid="ignore"):
        off = -0.5 * ((low - moved_db) / sd) ** 2 - np.log(sd * np.sqrt(2 * np.pi))
        less, more = log_ndtr((high - moved_db) / sd), log_ndtr((moved_db - low) / sd)
    bound = np.where(open_low, less, np.where(np.isinf(high), more, np.minimum(less, more)))
    return np.where(value, off, bound)


def _judged(site, seen, cause):
    """Log odds of one cause, and the mean change (stations of the list,) it would make here."""
    shapes = _shapes(site, seen, cause.cause)
    at = seen["station"].to_numpy(int)
    weight = np.log(cause.weight)
    if cause.cause == "other":
        return weight + _log_seen(seen, np.zeros(at.size), cause.sd_db).sum(), np.zeros(
            shapes.shape[1]
        )
    amounts = -cause.loss_db + cause.sd_db * _STEPS if cause.sd_db else np.ones(1)
    if cause.loss_db:
        amounts = np.minimum(amounts, -1.0)
    log_prior = -0.5 * (_STEPS**2 if cause.sd_db else np.zeros(1))
    log_prior = log_prior - logsumexp(log_prior) - np.log(len(shapes))
    moved = amounts[:, None, None] * shapes
    log = _log_seen(seen, moved[..., at]).sum(axis=-1) + log_prior[:, None]
    share = np.exp(log - logsumexp(log))
    return weight + logsumexp(log), np.einsum("as,asn->n", share, moved)


def _shapes(site, seen, cause):
    """Shapes (k, stations) of one cause: what one dB of it does to each station of the list.

    A cause of which the place is not known has several, as likely one as the other.
    """
    stations = site.stations
    freq, bearing = (stations[c].to_numpy(float) for c in ("freq_mhz", "bearing_deg"))
    if cause == "turned":
        return _turns(site, seen)
    if cause == "one station":
        return np.eye(freq.size)[np.unique(seen["station"])]
    if cause == "sector":
        off = (bearing - _SECTORS_DEG[:, None] + 180) % 360 - 180
        return np.exp(-0.5 * (off / _HALF_SECTOR_DEG) ** 2) * (freq / 600) ** 0.3
    strong = _forecast_db(site, seen)
    shape = {
        "none": np.zeros(freq.size),
        "other": np.zeros(freq.size),
        "plug": np.ones(freq.size),
        "water": freq / 600,
        "vhf noise": np.where(freq < 300, np.where(freq < 100, 1.5, 1.0), 0.0),
        "new mast": np.clip((freq - 550) / 100, 0.0, 1.2),
        "weather": np.clip(stations["distance_km"].to_numpy(float) / 80, 0.0, 1.5) ** 2,
        "overload": 1 / (1 + np.exp((strong - np.nanmedian(strong)) / 4)),
        "half balun": np.clip(600 / freq, 0.0, 3.0) ** 0.7,
    }[cause]
    return shape[None]


def _setup(seen):
    mount, antenna, heading = seen[_SAME[:3]].value_counts().index[0]
    return budget.Setup(antenna, mount, heading_deg=float(heading) % 360 if heading else None)


def _forecast_db(site, seen):
    """The forecast of every station through the set-up of most readings, the weakest where none is."""
    margin = budget.reception(site, _setup(seen)).margin_db
    return np.where(np.isfinite(margin), margin, np.nanmin(margin))


def _turns(site, seen):
    """Change of gain (turns, stations) if the antenna hangs so many degrees off its heading."""
    setup = _setup(seen)
    if setup.heading_deg is None:
        return np.zeros((1, len(site.stations)))
    antenna, mount, _ = budget.parts_of(site, setup)
    headings = (setup.heading_deg + np.array([0.0, *_TURNS_DEG])) % 360
    gain = budget.gain_toward_dbd(site, antenna, mount, headings)
    return np.nan_to_num(gain[1:] - gain[0])


# ---- in words ---------------------------------------------------------------------------------------


def _told(site, seen, log_odds, moved):
    chance = np.exp(log_odds - logsumexp(log_odds)).sort_values(ascending=False)
    words = _words()
    at = seen["station"].to_numpy(int)
    middle = [float(np.median(moved[cause][at])) for cause in chance.index]
    causes = pd.DataFrame({
        "cause": [words[cause] for cause in chance.index],
        "chance": chance.to_numpy(),
        "change_db": middle,
    })  # fmt: skip
    return Changed(
        _shown(site, seen), causes, _verdict(chance, words), _parting(site, seen, chance, moved)
    )


@functools.cache
def _words():
    table = facts.table("causes")
    return dict(zip(table["cause"], table["words"], strict=True))


def _shown(site, seen):
    names = ["station", "rf_channel", "freq_mhz", "bearing_deg", "distance_km"]
    frame = site.stations[names].iloc[seen["station"]].reset_index(drop=True)
    low, high = (seen[c].to_numpy(float) for c in ("low_db", "high_db"))
    reach = 1.645 * seen["sd_db"].to_numpy(float)
    middle = np.where(np.isinf(low), high, np.where(np.isinf(high), low, (low + high) / 2))
    return frame.assign(change_db=middle, low_db=low - reach, high_db=high + reach)


def _verdict(chance, words):
    first, second = chance.index[:2]
    also = f"then {words[second]} ({percent_words(chance.iloc[1])})"
    if chance.iloc[0] < SURE:
        return f"Cannot tell: perhaps {words[first]} ({percent_words(chance.iloc[0])}), {also}."
    return f"Likeliest: {words[first]} ({percent_words(chance.iloc[0])}), {also}."


def _parting(site, seen, chance, moved):
    """The reading in which the two likeliest causes differ most, in words."""
    one, two = chance.index[:2]
    apart = np.abs(moved[one] - moved[two])
    read = np.isin(np.arange(apart.size), seen["station"])
    if len(site.readings):  # without a first reading a second one compares with nothing
        apart[~read] = 0.0
    i = int(apart.argmax())
    if apart[i] < LOOK_DB:
        return ""
    row, words = site.stations.iloc[i], _words()
    again = "once more" if read[i] else "too"
    return (
        f"Read {row['station']}, RF {row['rf_channel']}, {again}: {moved[one][i]:+.0f} dB speaks for "
        f"{words[one]}, {moved[two][i]:+.0f} dB for {words[two]}."
    )
