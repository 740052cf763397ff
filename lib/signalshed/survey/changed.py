"""What changed? Two rounds of readings, or a round against the forecast, and what may lie behind."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import logsumexp, ndtri

from .. import budget, facts
from ..site import Site, check_site
from ..tables import locks
from ..units import SDS_TO_90, check_type
from ..words import listed, percent_words, signed
from .causes import LEAST_DB, judge, there
from .following import BY_HAND
from .learning import curve_of
from .predicted import predicted

SURE = 0.9
"""A cause is named from this chance on; below it the answer is that it cannot be told."""
SURE_NONE = 0.8
"""And that nothing has changed from this one on: what is too small to be seen does little."""
FEWEST = 4
"""With fewer stations no cause is named: any shape goes through three points."""
LOOK_DB = 1.0
"""One sd of what an evening does to a station near by, dB, each round; placed by hand it is more."""
FAR_DB = 1.2
"""And of what it does to one 100 km off."""
COMMON_DB = 0.7
"""One sd of what two rounds differ by at all stations: the evening, a TV that is warm or not."""
EDGE_DB = 2.0
"""One sd of the level at which a picture goes, dB: tuners catch and lose it a little above or below."""
_SAME = ["mount", "antenna", "heading_deg", "rf_channel"]
_APART = 1.5
"""A reading parts two causes if they differ there by so many sds."""


@dataclass(frozen=True, eq=False)
class Changed:
    """What two rounds tell: ``differences`` (station, rf_channel, freq_mhz, bearing_deg, distance_km,
    change_db, low_db, high_db: 90 % ends, open at a full meter or without a picture; likeliest_db, what
    the likeliest cause would make of it), ``causes`` (cause, chance, change_db of the middle station,
    look: where else it shows), likeliest first, ``verdict`` in words, ``reading``, the one reading
    more that parts the two likeliest, in words, or where else to look, and ``notes`` on what these
    readings cannot show.
    """

    differences: pd.DataFrame
    causes: pd.DataFrame
    verdict: str
    reading: str
    notes: tuple = ()

    def __repr__(self):
        return " ".join([self.verdict, self.reading, *self.notes]).strip()


def changed(before: Site, after: Site | pd.DataFrame) -> Changed:
    """What has changed between two rounds of readings, or against the forecast.

    Compared are readings of one channel through one antenna on one mount at one heading, pads added
    back. Each cause has its shape over MHz, bearing, distance and strength (facts table ``causes``), an
    amount that is not known, and odds; "none of these" lets every station move by itself. For a new
    installation give a site without readings: its forecast stands for the round before, with all that
    is not known of it.

    Parameters
    ----------
    before
        Its readings are the first round; without any its forecast is.
    after
        The second round: a Site, or a table in the columns of readings.csv.

    Returns
    -------
    Changed

    Raises
    ------
    ValueError
        If nothing compares.

    Examples
    --------
    >>> from signalshed import simulate
    >>> changed(simulate.demo_site(), simulate.demo_site().readings)
    Traceback (most recent call last):
    ValueError: No reading of the second round can be compared; read the same channels the same way.
    """
    check_site(before)
    after = getattr(after, "readings", after)
    check_type("after", after, pd.DataFrame, "a Site, or readings as a DataFrame")
    seen = _differences(before, after)
    at = there(before, _setup(seen), seen["station"].to_numpy(int))
    table = facts.table("causes").set_index("cause", drop=False)
    judged = {cause.cause: judge(cause, at, seen) for cause in table.itertuples(index=False)}
    return _told(before, seen, table, judged)


def _levels(site, readings):
    """Level of each reading with its pads added back: _SAME, station, low_db, high_db, sd_db."""
    said = predicted(site, readings)
    rows = readings.iloc[said.row]
    shown = pd.to_numeric(rows["reading"], errors="coerce").to_numpy(float)
    locked = locks(rows["locked"]) == 1
    low, high = np.where(locked, 0.0, -np.inf), np.where(locked, np.inf, 0.0)
    sd = np.full(low.size, EDGE_DB)
    for (meter, scale), at in (
        rows.reset_index(drop=True).groupby(["meter", "scale"]).indices.items()
    ):
        curve = curve_of(site, meter, scale)
        told = curve.linear(shown[at], locked[at])
        known = np.isfinite(shown[at]) & (told.status != "unusable") & locked[at]
        k = at[known]
        low[k], high[k], sd[k] = (x[known] for x in (told.low_db, told.high_db, told.noise_db))
    pad = rows["pad_db"].fillna(0.0).to_numpy(float)
    frame = rows[_SAME].reset_index(drop=True).fillna("").astype(str)
    heading = pd.to_numeric(frame["heading_deg"], errors="coerce").round() % 360
    frame["heading_deg"] = heading.map("{:.0f}".format).where(heading.notna(), "")
    ends = {"low_db": low + pad, "high_db": high + pad, "sd_db": sd}
    forecast = {"forecast_db": said.margin_db + pad, "moment_sd_db": said.moment_sd_db}
    return frame.assign(station=said.station, **forecast, **ends)


def _one_each(site, levels):
    """Levels of one set-up and channel joined: the mean of values, else the tightest ends."""
    far = FAR_DB * np.minimum(site.stations["distance_km"].to_numpy(float), 150.0) / 100

    def joined(part):
        value = part[part["low_db"] == part["high_db"]]
        low, high, sd = part["low_db"].max(), part["high_db"].min(), part["sd_db"].min()
        if len(value):
            low = high = value["low_db"].mean()
            sd = value["sd_db"].mean() / np.sqrt(len(value))
        first = part.iloc[0]
        by_hand = site.mount(first["mount"]).kind in BY_HAND
        look = facts.value("judgement", "reading_wobble_db") if by_hand else LOOK_DB
        evening = np.hypot(look, far[int(first["station"])])
        told = low, max(low, high), np.hypot(sd, evening)
        return pd.Series([*first[_COLUMNS[:3]], *told], _COLUMNS)

    return levels.groupby(_SAME)[levels.columns.tolist()].apply(joined)


_COLUMNS = ["station", "forecast_db", "moment_sd_db", "low_db", "high_db", "sd_db"]
_ENDS = ["low_db", "high_db", "sd_db"]


def _differences(site, after):
    """Second less first, by set-up and channel: station, ends, sd_db, common_sd_db and the set-up."""
    second = _levels(site, after)
    if second.empty:
        raise ValueError(_NOTHING)
    second = _one_each(site, second)
    if len(site.readings):
        first = _one_each(site, _levels(site, site.readings))
        both = second.join(first[_ENDS].add_suffix("_then"), how="inner")
        common = COMMON_DB
    else:
        both, common = _forecast(site, second)
    low, high = both["low_db"] - both["high_db_then"], both["high_db"] - both["low_db_then"]
    sd = np.hypot(both["sd_db"], both["sd_db_then"])
    seen = both.assign(low_db=low, high_db=high, sd_db=sd)[["station", *_ENDS]]
    seen = seen[np.isfinite(low) | np.isfinite(high)]
    if seen.empty:
        raise ValueError(_NOTHING)
    return seen.reset_index().astype({"station": int}).assign(common_sd_db=common)


def _forecast(site, second):
    """The forecast as a first round, and what it may be wrong by at all stations together, dB.

    Of the levels of the belief the site's is common to all; a path's own part stays each station's.
    """
    told = second.assign(low_db_then=second["forecast_db"], high_db_then=second["forecast_db"])
    spread = budget.reception(site, _setup(second.reset_index())).own_spread_db
    total = np.hypot(
        spread[second["station"].to_numpy(int)], second["moment_sd_db"].to_numpy(float)
    )
    common = np.hypot(COMMON_DB, 0.4 * np.median(total))
    return told.assign(sd_db_then=np.sqrt(np.maximum(total**2 - common**2, 1.0))), common


_NOTHING = "No reading of the second round can be compared; read the same channels the same way."


def _setup(seen):
    mount, antenna, heading = seen[_SAME[:3]].value_counts().index[0]
    return budget.Setup(antenna, mount, heading_deg=float(heading) % 360 if heading else None)


# ---- in words ---------------------------------------------------------------------------------------


def _told(site, seen, table, judged):
    log = pd.Series({name: cause.log_odds for name, cause in judged.items()})
    chance = np.exp(log - logsumexp(log)).sort_values(ascending=False, kind="stable")
    at, words = seen["station"].to_numpy(int), table["words"]
    causes = pd.DataFrame({
        "cause": words[chance.index].to_numpy(),
        "chance": chance.to_numpy(),
        "change_db": [float(np.median(judged[name].change_db[at])) for name in chance.index],
        "look": table["look"][chance.index].to_numpy(),
    })  # fmt: skip
    causes = causes[causes["chance"] > 0].reset_index(drop=True)
    moved = judged[chance.index[0]].change_db[at]
    verdict = _verdict(chance, table, moved)
    reading = "" if chance.iloc[1] < _NAMED else _parting(site, seen, chance, judged, table)
    hidden = _hidden(seen) if chance.index[0] == "none" and surely(chance, moved) else ()
    notes = (*hidden, *_unseen(log, words))
    return Changed(_shown(site, seen, moved), causes, verdict, reading, notes)


def _shown(site, seen, likeliest_db):
    names = ["station", "rf_channel", "freq_mhz", "bearing_deg", "distance_km"]
    frame = site.stations[names].iloc[seen["station"]].reset_index(drop=True)
    low, high = (seen[c].to_numpy(float) for c in ("low_db", "high_db"))
    reach = SDS_TO_90 * seen["sd_db"].to_numpy(float)
    middle = np.where(np.isinf(low), high, np.where(np.isinf(high), low, (low + high) / 2))
    ends = {"change_db": middle, "low_db": low - reach, "high_db": high + reach}
    return frame.assign(**ends, likeliest_db=likeliest_db)


_NAMED = 0.005
"""A cause less likely is not named beside one that is sure, nor parted from it."""


def _verdict(chance, table, moved_db):
    words, where = table["words"][chance.index], table["where"][chance.index]
    first, second = (f"{words.iloc[k]} ({percent_words(chance.iloc[k])})" for k in (0, 1))
    if surely(chance, moved_db):
        if chance.index[0] == "none":
            return f"Likeliest: {first}; best hidden in the scatter: {second}."
        return (
            f"Likeliest: {first}."
            if chance.iloc[1] < _NAMED
            else f"Likeliest: {first}, then {second}."
        )
    shares, lead = chance.drop(["none", "other"]).groupby(where).sum(), "Cannot tell"
    if chance["none"] < 1 - SURE:
        lead = f"Something has changed ({percent_words(1 - chance['none'])}), cannot tell what"
    if shares.max() >= SURE and len(moved_db) >= FEWEST:
        lead = f"Cannot tell what, but {shares.idxmax()} ({percent_words(shares.max())})"
    return f"{lead}: perhaps {first}, or {second}."


def surely(chance, moved_db):
    """Whether the likeliest cause may be named: not on the word of one station, but for its own.

    Parameters: ``chance`` a Series by cause, likeliest first; ``moved_db`` what that cause makes of each
    station that was read.
    """
    name, most = chance.index[0], chance.iloc[0]
    if name == "none":
        return bool(most >= SURE_NONE)
    many = name == "one station" or np.sum(np.abs(moved_db) >= LEAST_DB / 2) > 1
    return bool(most >= SURE and many and len(moved_db) >= FEWEST)


def _parting(site, seen, chance, judged, table):
    """The reading in which the two likeliest causes differ most, in words; else where to look."""
    names = chance.index[:2]
    if names[0] == "none" and chance.iloc[0] >= SURE_NONE:
        return ""
    one, two = (judged[name] for name in names)
    step = one.change_db - two.change_db
    apart = np.abs(step) / np.sqrt(2 * LOOK_DB**2 + one.give_db**2 + two.give_db**2)
    read = np.isin(np.arange(apart.size), seen["station"])
    if len(site.readings):  # without a first reading a second one compares with nothing
        apart[~read] = 0.0
    i = int(apart.argmax())
    words, look = table["words"][names], table["look"][names]
    if apart[i] < _APART:
        first = 1 if names[0] == "none" else 0
        row = site.stations.iloc[int(np.abs((one, two)[first].change_db).argmax())]
        where = look.iloc[first].replace(
            "that station", f"{row['station']}, RF {row['rf_channel']},"
        )
        return f"No one reading parts them. Where else it shows: {where}."
    row, again = site.stations.iloc[i], "once more" if read[i] else "too"
    return (
        f"Read {row['station']}, RF {row['rf_channel']}, {again}: {signed(one.change_db[i])} dB speaks "
        f"for {words.iloc[0]}, {signed(two.change_db[i])} dB for {words.iloc[1]}."
    )


def _hidden(seen):
    """One sentence on how far one station alone may have fallen unseen: as far as the worst strays."""
    count, sd = len(seen), float(np.median(seen["sd_db"]))
    least = -ndtri(0.05 / count) * sd
    return (
        f"One station alone that fell by less than {least:.0f} dB would not show: one of "
        f"{count} strays as far in one quiet round of twenty.",
    )


def _unseen(log, words):
    """One sentence on causes that no station read could show."""
    names = log.index[np.isneginf(log)]
    if names.empty:
        return ()
    return (f"These readings cannot show: {listed(words[names])}.",)
