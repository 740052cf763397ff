"""Several rows of one transmitter become one: permits of licensed rows, planes, azimuths, repeats."""

import math
import re
from collections import Counter

import numpy as np
import pandas as pd

from .. import facts
from ..words import listed
from . import columns, patterns
from .vocabulary import meaning

NONDIRECTIONAL = "nondirectional"
_RANK = {"licensed": 0, "": 1, "permit": 2, "other": 3}
_SAME = ("rf_channel", "standard", "service", "freq_mhz", "station")
_HEIGHTS = ("antenna_height_m", "antenna_amsl_m", "antenna_agl_m")
_PERMITS = "permits or applications of a station listed as licensed; no station of their own"
_PLANES = "the other polarization of a transmitter, joined with it"
_AGAIN = "repeat a transmitter (name, channel and place agree), joined with it"


def joined(this, frame, library):
    """One row a transmitter: (rows kept, rows left out with ``reason``, patterns by file name).

    A row is of the same transmitter where name, channel, standard and service agree and it stands within
    2 km. Licensed goes before permit before other, then the strongest; horizontal and vertical become
    both. Parameters: ``this`` a columns.Cells; ``frame`` every row; ``library`` a patterns.Library.
    """
    rows = frame.to_dict("records")
    shapes = _shapes(this, rows, library)
    joined_to = {_PERMITS: [], _PLANES: [], _AGAIN: []}
    for group in _transmitters(this, frame):
        _keep_first(this, rows, group, shapes, joined_to)
    for text, others in joined_to.items():
        this.tell(others, text)
    kept = [k for k in range(len(rows)) if k not in this.dropped]
    _part_names(rows, kept)
    named = _filed(rows, kept, shapes)
    gone = sorted(this.dropped)
    whole = pd.DataFrame(rows, columns=[*frame.columns, "pattern"])
    return whole.loc[kept], whole.loc[gone].assign(reason=[this.dropped[k] for k in gone]), named


SPOT = ["latitude_deg", "longitude_deg", "bearing_deg", "distance_km"]
"""Where a row stands."""


def _transmitters(this, frame):
    """Groups of rows that are one transmitter, those of one row left out."""
    frame = frame.drop(index=list(this.dropped))
    keys = [frame[c].astype(str).str.casefold() for c in _SAME]
    spots = frame[SPOT].to_numpy(float)
    for alike in frame.groupby(keys, sort=False, dropna=False).indices.values():
        for group in near_groups(spots[alike]) if len(alike) > 1 else ():
            if len(group) > 1:
                yield frame.index[alike[group]].tolist()


def near_groups(spots):
    """Positions (arrays) in groups that stand within 2 km of the first of the group.

    Parameters: ``spots`` (n, 4): latitude and longitude, bearing in degrees and distance in km, NaN
    where a row does not give them.

    >>> [g.tolist() for g in near_groups([[x, -40, 0, 0] for x in (30.0, 30.01, 30.1)])]
    [[0, 1], [2]]
    """
    spots, left, groups = np.asarray(spots, float), np.arange(len(spots)), []
    reach = facts.value("judgement", "same_place_km")
    while left.size:
        first, others = spots[left[0]], spots[left]
        turn, way = np.abs(others[:, 2:] - first[2:]).T
        apart = away_km(*first[:2], *others[:, :2].T)
        near = np.where(np.isnan(apart), (turn <= 1) & (way <= 1), apart <= reach)
        near[0] = True
        groups.append(left[near])
        left = left[~near]
    return groups


def away_km(latitude_a, longitude_a, latitude_b, longitude_b):
    """Distance of near points on a round Earth, km; good to 1 % and for comparing with 2 km.

    Parameters, which broadcast: ``latitude_a``, ``longitude_a``, ``latitude_b``, ``longitude_b`` in
    degrees.

    >>> round(float(away_km(30, -40, 30.01, -40)), 2)
    1.11
    """
    north = 111.2 * (latitude_b - latitude_a)
    east = (longitude_b - longitude_a + 180) % 360 - 180
    return np.hypot(north, 111.3 * np.cos(np.radians(latitude_a)) * east)


def _keep_first(this, rows, group, shapes, joined_to):
    """Keep the first of a ``group`` by licence and power, and drop the others."""
    order = sorted(group, key=lambda k: (_rank(rows[k]), -np.nan_to_num(rows[k]["erp_kw"]), k))
    first, rest = order[0], order[1:]
    keep = rows[first]
    alike = [k for k in rest if _rank(rows[k]) == _rank(keep)]
    planes = {rows[k]["polarization"] for k in (first, *alike)} - {""}
    for k in rest:
        of_plane = len(planes) > 1 and rows[k]["polarization"] != "both"
        joined_to[_PERMITS if k not in alike else _PLANES if of_plane else _AGAIN].append(k)
        this.drop([k], f"it is the same transmitter as line {keep['row']}")
    if len(planes) > 1:
        keep["polarization"] = "both"
    for name in ("erp_kw", *_HEIGHTS):
        known = (rows[k][name] for k in (first, *alike) if not math.isnan(rows[k][name]))
        keep[name] = next(known, math.nan)
    shapes[first] = shapes.get(first) or next((shapes[k] for k in alike if shapes.get(k)), None)
    shown = " ".join(rows[k]["shown_channels"] for k in (first, *alike)).split()
    keep["shown_channels"] = " ".join(dict.fromkeys(shown))


def _rank(row):
    return _RANK.get(row["licence"], 1)


def _part_names(rows, kept):
    """Names such that no two rows kept agree in station, channel and place."""
    for k in _twice(rows, kept):
        spot = rows[k]["latitude_deg"], rows[k]["longitude_deg"]
        if not math.isnan(spot[0]):
            letters = "NS"[spot[0] < 0], "EW"[spot[1] < 0]
            where = f"{abs(spot[0]):.3f}{letters[0]} {abs(spot[1]):.3f}{letters[1]}"
            rows[k]["place"] = f"{rows[k]['place']} {where}".strip()
    for k in _twice(rows, kept):
        rows[k]["station"] += f" ({rows[k]['standard'] or 'line ' + str(rows[k]['row'])})"
    for k in _twice(rows, kept):
        rows[k]["station"] += f" (line {rows[k]['row']})"


def _twice(rows, kept):
    """Rows whose station, channel and place agree with another's."""

    def key(row):
        cells = row["station"], row["rf_channel"], row["place"] or row["station"]
        return tuple(str(cell).casefold() for cell in cells)

    counts = Counter(key(rows[k]) for k in kept)
    return [k for k in kept if counts[key(rows[k])] > 1]


# ---- patterns -------------------------------------------------------------------------------------


def _shapes(this, rows, library):
    """Pattern of each row as pairs, turned by its rotation; rows that want one in vain are told."""
    inline = zip(patterns.of_columns(this), patterns.of_cells(this), strict=True)
    inline = [in_columns or in_cell for in_columns, in_cell in inline]
    wanted, around = this.column("pattern"), columns.coded(this, "directional")
    turn = np.nan_to_num(columns.measured(this, "pattern_rotation", "deg"))
    found, missing, says_round = {}, [], patterns.round_in_columns(this)
    for k, name in enumerate(wanted):
        says = meaning("directional", name) if name else ""
        is_round = "no" in (around[k], says, says_round[k])
        pattern = inline[k] or (library.find(name) if name and not is_round else None)
        if name and not says and not is_round and pattern is None:
            missing.append(k)
        found[k] = _turned(pattern, turn[k]) if pattern else NONDIRECTIONAL if is_round else None
    if missing:
        names = listed(sorted({wanted[k] for k in missing}), 4)
        text = f"no pattern {names} with the list; there only the greatest power is known"
        this.tell(missing, text)
    _by_azimuth(this, rows, found)
    return found


def _turned(pattern, turn_deg):
    return tuple(sorted(((at + float(turn_deg)) % 360, level) for at, level in pattern))


def _by_azimuth(this, rows, found):
    """Rows of one transmitter, one an azimuth, become one pattern."""
    told = patterns.of_rows(this)
    if told is None:
        return
    turns, values, unit = told
    keys = {}
    for k, row in enumerate(rows):
        keys.setdefault((row["station"], row["rf_channel"], row["latitude_deg"]), []).append(k)
    for alike in keys.values():
        pattern = patterns.shares(turns[alike], values[alike], unit)
        found.update(dict.fromkeys(alike, pattern) if pattern else {})


def _filed(rows, kept, shapes):
    """Give each pattern of the rows kept a file name, alike ones the same: patterns by name."""
    names, stay = {}, set(kept)
    for k, row in enumerate(rows):
        pattern = shapes.get(k) if k in stay else None
        if pattern is not None and pattern != NONDIRECTIONAL and pattern not in names:
            stem = re.sub(r"[^A-Za-z0-9]+", "_", f"{row['station']}_{row['rf_channel']}")
            names[pattern] = _free(stem.strip("_").lower()[:60] or "pattern", names.values())
        row["pattern"] = names.get(pattern, pattern or "")
    return {name: pattern for pattern, name in names.items()}


def _free(stem, taken):
    name, count = f"{stem}.csv", 2
    while name in taken:
        name, count = f"{stem}_{count}.csv", count + 1
    return name
