"""What stands between a station and being sure of it: kinds of limits, their words, what would help."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from .. import facts, path
from .field import site_profiles
from .link import polarization_loss_db, scattered_share, top_gain_dbd
from .needs import may_refuse
from .others import jammer, mixed_by, noise_mw_of

_TWICE_AS_HIGH_DB = 6.0
"""What twice the height of the receiving antenna brings at most over flat ground."""
_BESIDE_DEG = 60.0
"""From so far beside its aim on an antenna is as deaf as it gets: ITU-R BT.419-3, unchecked."""
WORTH_DB, WORTH_SHARE = 3.0, 0.4
"""A cost is named where it is so many dB, and so large a share of what is missing."""


@dataclass(frozen=True)
class Limit:
    """What is in the way of one station: its ``kind``, in ``words``, as one word (``cause``), what it
    costs (``cost_db``, NaN where that is no number), what would help (``remedy``, "" if nothing is
    missing), and ``by`` whom or what, "" if that is nobody: a station, or the part overloaded.
    """

    kind: str
    words: str
    cause: str
    remedy: str
    cost_db: float = np.nan
    by: str = ""


_AGAINST_OTHERS = (
    "a filter before the amplifier or the TV, less amplifier, or turning away from them"
)
_ONE_CHANNEL = "a sharper antenna or another aim; no filter helps"
_OWN_ECHO = "an antenna sharper toward one transmitter of its network, away from the late one"
_MIXED = "a filter against either, before the amplifier or the TV"
_SEARCH = "a search: turn it a little at a time, and try other spots in the room"
_ASK = "ask the station for its mode and type needs_cn_db"
_HIGHER = "higher up, or more gain; a reading says more"
_NOTHING = "nothing: it lacks more than any antenna brings"
KINDS = {
    limit.kind: limit
    for limit in (
        Limit("none", "nothing", "", ""),
        Limit("refuse", "arrives, this TV may refuse", "TV", ""),
        Limit("aim", "off the aim", "turn", "a rotator, or a second antenna aimed at it"),
        Limit("wall", "walls", "wall", "outdoors, or a window on its side"),
        Limit("side", "blocked side", "side", "the other side of the house"),
        Limit("trees", "trees", "trees", "a place clear of the trees"),
        Limit("line", "cable and splitter", "cable", "an amplifier at the mast, or less cable"),
        Limit("crossed", "crossed polarization", "crossed", "an antenna turned on its side"),
        Limit("others", "other signals", "jammed", _AGAINST_OTHERS),
        Limit("overload", "other signals", "overload", _AGAINST_OTHERS),
        Limit("distance", "distance and hills", "distance", _HIGHER),
        Limit("ridge", "distance and hills", "ridge", _HIGHER),
        Limit("antenna", "channel outside the antenna's", "antenna", ""),
        Limit("tv", "tuner cannot decode it", "TV", ""),
        Limit("unknown", "C/N it needs is unknown", "C/N", _ASK),
    )
}
"""Every kind of limit by its name."""


def limits_of(reception):
    """What stands between each station and being sure of it: a tuple of Limit.

    The largest cost that could be won back, if it is worth winning; distance, or a ridge, if none is;
    none if the station is already as sure as the site asks.
    Parameters: ``reception`` a Reception.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> received = budget.reception(site, budget.Setup("wire loop", "roof mast", heading_deg=38))
    >>> limits_of(received)[0].words
    'nothing'
    """
    r, site = reception, reception.site
    costs = _fixable_costs_db(r)
    table = np.stack(list(costs.values()), axis=1)
    missing = _missing_db(r)
    largest, which = table.max(axis=1), table.argmax(axis=1)
    worth_it = (largest >= WORTH_DB) & (largest >= WORTH_SHARE * missing)
    kinds = np.where(worth_it, np.array(list(costs))[which], "distance").astype(object)
    kinds[_ridge(r, ~worth_it & (missing > 0))] = "ridge"
    kinds[np.isneginf(r.spare_db)] = "overload"
    kinds[missing <= 0] = "none"
    kinds[(missing <= 0) & (may_refuse(site) != "")] = "refuse"
    freq = site.stations["freq_mhz"].to_numpy(float)
    kinds[~np.asarray(r.antenna.covers(freq))] = "antenna"
    kinds[np.isnan(r.link.needs_cn_db)] = "unknown"
    kinds[~r.link.decoded] = "tv"
    return tuple(_told(r, i, kind, costs) for i, kind in enumerate(kinds))


def _missing_db(r):
    """What each station lacks to be as sure as the site asks, dB: (n,); 0 or less where nothing."""
    missing = r.fade_db + ndtri(r.site.certainty) * r.spread_db - r.margin_db
    if r.judged:
        sure = r.chance >= r.site.certainty
        spare = r.spare_at(r.site.certainty, overload=False)
        by_others = np.zeros(sure.size, bool)
        for each in r.judged:
            by_others[each.rows if hasattr(each, "rows") else each.row] = True
        missing = np.where(by_others, np.where(sure, -1.0, np.maximum(-spare, 0.1)), missing)
    return missing


def _fixable_costs_db(r):
    """What the builder could win back, dB: (stations,) by kind."""
    freq = r.site.stations["freq_mhz"].to_numpy(float)
    best = top_gain_dbd(r.site, r.antenna, r.mount)
    off_aim = np.nan_to_num(best - r.gain_dbd.mean(axis=0))
    return {
        "aim": np.zeros(freq.size) if r.aim == "rotator" else off_aim,
        "wall": r.link.entry_loss_db,
        "side": r.link.blocked_loss_db,
        "trees": r.link.trees_loss_db,
        "line": np.maximum(r.link.line_cost_db, 0.0),
        "crossed": polarization_loss_db(r.site, r.antenna, r.mount),
        "others": _cost_of_others_db(r),
    }


def _cost_of_others_db(r):
    """What other signals cost on 5 of 10 roofs; where they leave no such roofs, at the medians."""
    cost = r.spare_alone_db - r.spare_db
    medians = r.used(np.nan_to_num(r.alone_db - r.margins_db))
    return np.maximum(np.where(np.isfinite(cost), cost, medians), 0.0)


def _ridge(r, asked):
    """Stations whose line of sight some ground stands above, as the terrain profile says: (n,) bools."""
    there = np.flatnonzero(asked & (r.link.field.layer == "terrain profile"))
    found = np.zeros(asked.size, bool)
    if there.size:
        profile, agl_m = site_profiles(r.site)
        freq = r.site.stations["freq_mhz"].to_numpy(float)
        for rows, ground in profile.of(there):
            heights = (agl_m[rows], r.mount.height_agl_m)
            found[rows] = path.obstacle(freq[rows], ground, *heights).above_line_m > 0
    return found


def _told(r, i, kind, costs):
    """The limit of one station, with what it costs and who is behind it."""
    limit = KINDS[kind]
    if kind in costs:
        limit = replace(limit, cost_db=float(costs[kind][i]))
    if kind == "others":
        return _by_whom(r, i, limit)
    if kind in ("distance", "ridge") and not _could_help(r, i, r.spare_db):
        return replace(limit, remedy=_NOTHING)
    if kind == "aim" and r.aim == "never":
        return replace(limit, remedy="aiming it while at rest, or an antenna that hears all round")
    if kind == "aim" and scattered_share(r.mount):
        return replace(limit, remedy=_SEARCH)
    if kind == "overload":
        part = str(r.others.tightest[r.rows_of(i)][0])
        return replace(limit, cost_db=float(costs["others"][i]), by=part)
    if kind == "antenna":
        return replace(limit, remedy=_another_antenna(r.site, i))
    if kind == "refuse":
        return replace(limit, remedy=f"trying it: {may_refuse(r.site)[i]}")
    if kind == "tv":
        standard = r.site.stations["standard"].iloc[i]
        what = (
            f"a tuner for {standard}; no antenna can help"
            if standard
            else "none, it is no television"
        )
        return replace(limit, remedy=what)
    return limit


def _could_help(r, i, spare_db):
    """Whether the best antenna there is, at twice the height, would bring what a ``spare_db`` lacks."""
    better = facts.value("judgement", "best_antenna_dbd") - r.gain_dbd[r.rows_of(i), i].mean()
    return not -spare_db[i] > better + _TWICE_AS_HIGH_DB


def _by_whom(r, i, limit):
    """Jammed by a part that is overdriven, by two that mix, by the loudest other in the channel, by its
    own network, or by nobody alone; what would help is for each another thing."""
    heading = r.rows_of(i)
    row, landed_mw = jammer(r.site, r.feed, r.link, r.gain_dbd[heading].mean(axis=0), i)
    if not _could_help(r, i, r.spare_alone_db):
        limit = replace(limit, remedy=_NOTHING)
    strain, shape = r.others.strain, r.gain_dbd.shape
    made_mw = np.broadcast_to(strain.added_mw(), shape)[heading, i].mean()
    mixed_mw = np.broadcast_to(strain.second_order_mw(), shape)[heading, i].mean()
    if mixed_mw > max(landed_mw, made_mw / 2) and r.holds[i] >= 1 - WORTH_SHARE:
        rows = mixed_by(r.site, strain, r.others.power_mw[heading].mean(axis=0), i)
        return _jammed(limit, " with ".join(_called(r.site.stations, row) for row in rows), _MIXED)
    if r.holds[i] < 1 - WORTH_SHARE or made_mw > landed_mw:
        return replace(limit, by=str(r.others.tightest[heading][0]))
    if r.together_words[i] and landed_mw < noise_mw_of(r.link)[i]:
        return _jammed(limit, "its own network", _OWN_ECHO)
    if row is None:
        return limit
    freq, width = r.site.stations[["freq_mhz", "bandwidth_mhz"]].to_numpy(float)[[i, row]].T
    remedy = limit.remedy
    if abs(freq[1] - freq[0]) < width.sum() / 4:
        remedy = _ONE_CHANNEL if _could_part(r, i, row, limit.cost_db) else _NOTHING
    return _jammed(limit, _called(r.site.stations, row), remedy)


def _could_part(r, i, row, cost_db):
    """Whether any antenna hears station ``i`` so much better than ``row`` on its channel as it lacks."""
    apart = abs((r.site.stations["bearing_deg"].iloc[[i, row]].diff().iloc[1] + 180) % 360 - 180)
    now = np.subtract(*r.gain_dbd[r.rows_of(i)][:, [i, row]].mean(axis=0))
    best = facts.value("judgement", "best_rejection_db") * min(apart / _BESIDE_DEG, 1)
    lacks = 10 * np.log10(1 - 10 ** (-cost_db / 10)) - r.spare_db[i]
    return not lacks > max(best - now, 0)


def _jammed(limit, by, remedy):
    """The limit with who is behind it, and with what would help if anything does."""
    return replace(limit, by=by, remedy=_NOTHING if limit.remedy == _NOTHING else remedy)


def _called(stations, row):
    """What a station is called: its name, and its place where several bear that name."""
    name, place = stations[["station", "place"]].iloc[row]
    alike = (stations["station"] == name).sum() > 1
    return f"{name}, {place}" if alike and place else name


def _another_antenna(site, i):
    """What would help a channel that the antenna is not known on, in words."""
    row = site.stations.iloc[i]
    able = [a for a in site.antennas.values() if a.covers(row["freq_mhz"])]
    such = f", such as the {min(able, key=lambda a: a.effort).name}" if able else ""
    return f"an antenna for RF {row['rf_channel']} ({row['freq_mhz']:.0f} MHz){such}"
