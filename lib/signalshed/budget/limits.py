"""What stands between a station and being sure of it: kinds of limits, their words, what would help."""

from dataclasses import dataclass, replace

import numpy as np

from .. import facts, path
from .field import site_profiles
from .gain import polarization_loss_db, top_gain_dbd
from .mounts import scattered_share
from .needs import may_refuse
from .networks import networks
from .others import loudest_interferer, mixed_by
from .remedies import WORTH_DB, against, called, filtered, parted

_PARTED_DEG = 20.0
"""Two closer together lie both in the main lobe of a sharp antenna; common practice, no source."""
_TWICE_AS_HIGH_DB = 6.0
"""What twice the height of the receiving antenna brings at most over flat ground."""


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


_ONE_CHANNEL = {
    "fixed": "a sharper antenna or another aim; no filter helps",
    "rotator": "a sharper antenna; no filter helps",
    "never": "an antenna that is aimed; no filter helps",
}
_INSEPARABLE = "nothing: no antenna parts them"
_OWN_ECHO = "an antenna sharper toward one transmitter of its network, away from the late one"
_AMPLIFIED = "the amplifier before cable and splitter, or one that adds less noise"
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
        Limit("pattern", "its pattern points away", "pattern", _HIGHER),
        Limit("others", "other signals", "jammed", ""),
        Limit("overload", "other signals", "overload", ""),
        Limit("full", "other signals", "overload", ""),
        Limit("distance", "distance and hills", "distance", _HIGHER),
        Limit("ridge", "distance and hills", "ridge", _HIGHER),
        Limit("antenna", "channel outside the antenna's", "antenna", ""),
        Limit("tv", "tuner cannot decode it", "TV", ""),
        Limit("service", "no television", "radio", "nothing: it can only disturb"),
        Limit("unknown", "C/N it needs is unknown", "C/N", _ASK),
    )
}
"""Every kind of limit by its name."""


def limits_of(reception):
    """What stands between each station and being sure of it: a tuple of Limit.

    What a station lacks is made of what each thing costs it (``_costs_db``) and of the rest, which is
    distance and hills. The largest part is named, a cost from 3 dB on; none if the station is already as
    sure as the site asks. Where that is distance or the pattern, what would help begins with the largest
    cost that could be won back.
    Parameters: ``reception`` a Reception.

    >>> from signalshed import budget, simulate
    >>> site = simulate.demo_site()
    >>> received = budget.reception(site, budget.Setup("wire loop", "roof mast", heading_deg=38))
    >>> limits_of(received)[0].words
    'nothing'
    """
    r, site = reception, reception.site
    spare, full = _spare_when_sure_db(r)
    sure = r.chance >= site.certainty
    costs = _costs_db(r, spare)
    names, table = np.array([*costs, "distance"]), np.stack(list(costs.values()), axis=1)
    rest = -spare - table.sum(axis=1)
    worth = np.where(table >= WORTH_DB, table, -np.inf)
    kinds = names[np.column_stack([worth, rest]).argmax(axis=1)].astype(object)
    won = np.where(names[:-1] == "pattern", -np.inf, worth)
    first = np.where(won.max(axis=1) > 0, names[won.argmax(axis=1)], "")
    kinds[_ridge(r, (kinds == "distance") & ~sure)] = "ridge"
    kinds[full & (spare >= 0)] = "full"
    kinds[np.isneginf(r.spare_db)] = "overload"
    kinds[sure] = "none"
    kinds[sure & (may_refuse(site) != "")] = "refuse"
    freq = site.stations["freq_mhz"].to_numpy(float)
    kinds[~np.asarray(r.antenna.covers(freq))] = "antenna"
    kinds[np.isnan(r.link.needs_cn_db)] = "unknown"
    kinds[~r.link.decoded] = "tv"
    kinds[(site.stations["service"] != "tv").to_numpy()] = "service"
    return tuple(_told(r, i, kind, costs, first[i]) for i, kind in enumerate(kinds))


def _spare_when_sure_db(r):
    """What each station has to spare over being as sure as the site asks, dB (n,), negative where it is
    not; and where a full line keeps it from that: there as it would be with a line that holds all."""
    share = r.site.certainty
    spare = r.spare_at(share)
    full = np.isneginf(spare)
    return (np.where(full, r.spare_at(share, overload=False), spare) if full.any() else spare), full


def _costs_db(r, spare):
    """What each thing costs of being sure, dB: (stations,) by kind. All but the station's own pattern is
    what the builder could win back. ``spare`` (n,) as from _spare_when_sure_db."""
    best = top_gain_dbd(r.site, r.antenna, r.mount)
    off_aim = np.nan_to_num(best - r.gain_dbd.mean(axis=0))
    zero = np.zeros(off_aim.size)
    return {
        "aim": zero if r.aim == "rotator" else off_aim,
        "wall": r.link.entry_loss_db,
        "side": r.link.blocked_loss_db,
        "trees": r.link.vegetation_loss_db,
        "line": np.maximum(r.link.line_cost_db, 0.0),
        "crossed": polarization_loss_db(r.site, r.antenna, r.mount),
        "others": np.nan_to_num(np.maximum(r.alone_spare_at(r.site.certainty) - spare, 0.0)),
        "pattern": r.site.stations["pattern_loss_db"].to_numpy(float),
    }


def _ridge(r, asked):
    """Stations whose line of sight some ground stands above, as the terrain profile says: (n,) bools.

    Below the roofs they are seen from the roofs' height: houses are no ridge.
    """
    there = np.flatnonzero(asked & (r.link.field.layer == "terrain profile"))
    found = np.zeros(asked.size, bool)
    if there.size:
        profile, agl_m = site_profiles(r.site)
        freq = r.site.stations["freq_mhz"].to_numpy(float)
        up_m = max(r.mount.height_agl_m, r.site.clutter_m)
        for rows, ground in profile.of(there):
            heights = (agl_m[rows], up_m)
            found[rows] = path.obstacle(freq[rows], ground, *heights).above_line_m > 0
    return found


def _told(r, i, kind, costs, first=""):
    """The limit of one station, with what it costs and who is behind it; ``first`` what to win back
    before anything is done about distance."""
    limit = KINDS[kind]
    if kind in costs:
        limit = replace(limit, cost_db=float(costs[kind][i]))
    if kind in ("others", "overload", "full"):
        return _by_whom(r, i, limit)
    if kind in ("distance", "ridge", "pattern"):
        if not _could_help(r, i, r.spare_db):
            return replace(limit, remedy=_NOTHING)
        return _begun_with(limit, _told(r, i, first, costs)) if first else limit
    if kind == "line" and r.feed.amplifiers:
        return replace(limit, remedy=_AMPLIFIED)
    if kind == "aim" and r.aim == "never":
        return replace(limit, remedy="aiming it while at rest, or an antenna that hears all round")
    if kind == "aim" and scattered_share(r.mount):
        return replace(limit, remedy=_SEARCH)
    if kind == "antenna":
        return replace(limit, remedy=_another_antenna(r.site, i))
    if kind == "refuse":
        return replace(limit, remedy=f"trying it: {may_refuse(r.site)[i]}")
    if kind == "tv":
        standard = r.site.stations["standard"].iloc[i]
        return replace(limit, remedy=f"a tuner for {standard}; no antenna can help")
    return limit


def _begun_with(limit, other):
    """The remedy of a limit after that of an ``other``, where that has one."""
    if other.remedy.startswith("nothing"):
        return limit
    return replace(limit, remedy=f"{other.remedy}; then {limit.remedy}")


def _could_help(r, i, spare_db):
    """Whether the best antenna there is, at twice the height, would bring what a ``spare_db`` lacks,
    clear of what now lies before it and without loss behind it."""
    better = facts.value("judgement", "best_antenna_dbd") - r.gain_dbd[r.rows_of(i), i].mean()
    cleared = r.link.mount_loss_db[i] + max(r.link.line_cost_db[i], 0.0)
    return not -spare_db[i] > better + _TWICE_AS_HIGH_DB + cleared


def _by_whom(r, i, limit):
    """The limit with who is behind it, and with what helps against that if anything does."""
    by, rows, part = _blamed(r, i, limit.kind != "others")
    if not _could_help(r, i, r.spare_alone_db):
        remedy = _NOTHING
    elif not rows:
        remedy = by and (_OWN_ECHO if _apart(r, i) else _INSEPARABLE)
    elif part or filtered(r.site.stations, i, rows[0]):
        remedy = against(r, i, rows, part)
    else:
        remedy = _ONE_CHANNEL[r.aim] if parted(r, i, rows[0]) else _INSEPARABLE
    return replace(limit, by=by, remedy=remedy)


def _apart(r, i):
    """Whether an antenna parts the transmitters of the network of station ``i``."""
    network = next(each for each in networks(r.site) if i in each.rows)
    bearing = np.radians(r.site.stations["bearing_deg"].to_numpy(float)[network.members])
    apart = np.degrees(np.arccos(np.clip(np.cos(bearing[:, None] - bearing), -1, 1)))
    return bool(apart.max() > _PARTED_DEG)


def _blamed(r, i, full):
    """Who jams station ``i``: a part that is overdriven, two that mix, the loudest other in the channel,
    its own network, or nobody alone: the name, the rows that matter, the part overdriven or "".
    ``full`` True where the line is: then it is the part that holds least."""
    heading, strain = r.rows_of(i), r.others.strain
    row, landed_mw = loudest_interferer(r.site, r.feed, r.link, r.gain_dbd[heading].mean(axis=0), i)
    made_mw, mixed_mw = (
        np.broadcast_to(made, r.gain_dbd.shape)[heading, i].mean()
        for made in (strain.added_mw(), strain.second_order_mw())
    )
    power_mw, part = r.others.power_mw[heading].mean(axis=0), str(r.others.tightest[heading][0])
    if mixed_mw > max(landed_mw, made_mw / 2) and not full:
        rows = mixed_by(r.site, strain, power_mw, i)
        return " with ".join(called(r.site.stations, row) for row in rows), list(rows), part
    if full or made_mw > landed_mw:
        gain_db = next(each.gain_db for each in strain.limits if each.name == part)
        return part, [int(np.argmax(power_mw * 10 ** (gain_db / 10)))], part
    if r.together_words[i] and landed_mw < r.link.noise_mw[i]:
        return "its own network", [], ""
    return ("", [], "") if row is None else (called(r.site.stations, row), [row], "")


def _another_antenna(site, i):
    """What would help a channel that the antenna is not known on, in words."""
    row = site.stations.iloc[i]
    able = [a for a in site.antennas.values() if a.covers(row["freq_mhz"])]
    such = f", such as the {min(able, key=lambda a: a.effort).name}" if able else ""
    return f"an antenna for RF {row['rf_channel']} ({row['freq_mhz']:.0f} MHz){such}"
