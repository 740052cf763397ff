"""What ropes say before anything is drawn: towers in order from north, a verdict for each station,
and which lines there is room for."""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from .. import budget
from ..site import rest_words
from ..words import roofs_words, short
from .strip import drawn_rows

THICK, THIN, DOTS, GAP, NONE = range(5)
"""What of a rope lies at home: that of 9, of 5, of 1 of 10 roofs, none of it; or there is no rope."""

LEVELS = np.array([0.9, 0.5, 0.1])
_NO_ROPE = {"antenna": "not this antenna", "unknown": "C/N not known", "tv": "not this TV"}


@dataclass(frozen=True, eq=False)
class Tower:
    """One transmitter place: ``name``, ``letter``, ``bearing_deg``, ``distance_km``; ``members``, which
    of the drawn stations are there, the one with most to spare first."""

    name: str
    letter: str
    bearing_deg: float
    distance_km: float
    members: np.ndarray


def towers_of(site, spare_db=None):
    """The towers of a ``site`` in order from north, as a list of Tower; members count drawn_rows.

    Parameters: ``site`` a Site; ``spare_db`` (drawn stations,) by which the stations of a tower are
    ordered, the most first and NaN last; None keeps the list's order.
    """
    rows = drawn_rows(site)
    s = site.stations.iloc[rows]
    where = budget.place_index(site)[rows]
    spare = np.zeros(rows.size) if spare_db is None else np.asarray(spare_db, float)
    best_first = np.argsort(-np.nan_to_num(spare, nan=-np.inf), kind="stable")
    bearing, distance = (s[c].to_numpy(float) for c in ("bearing_deg", "distance_km"))
    found = [np.flatnonzero(where == place) for place in np.unique(where)]
    found.sort(key=lambda members: (bearing[members[0]] % 360, distance[members[0]]))
    return [
        Tower(
            str(s["place"].iloc[first]).strip() or str(s["station"].iloc[first]),
            letters(k),
            float(bearing[first] % 360),
            float(distance[first]),
            best_first[np.isin(best_first, members)],
        )
        for k, (first, members) in enumerate((m[0], m) for m in found)
    ]


def letters(k):
    """The ``k``-th tower's letter, from 0.

    >>> letters(0), letters(25), letters(26)
    ('A', 'Z', 'AA')
    """
    return ("" if k < 26 else letters(k // 26 - 1)) + chr(ord("A") + k % 26)


@dataclass(frozen=True, eq=False)
class Verdicts:
    """What each drawn station has at home: ``code`` (n,) THICK to NONE, its ``words`` and ``causes``,
    ``lacks_db`` (n,), ``from_km`` (n,) how far away its tower is, ``to_km`` (3, n) how far from home
    each end lies, 0 for behind home, ``overloaded`` (n,), and ``cut`` (n,): would come
    but for that.
    """

    code: np.ndarray
    words: tuple
    causes: tuple
    lacks_db: np.ndarray
    from_km: np.ndarray
    to_km: np.ndarray
    overloaded: np.ndarray
    cut: np.ndarray


def verdicts_of(received, rows):
    """Verdicts of the stations ``rows`` (n,) of a ``received`` setup, a Reception.

    >>> from .. import simulate, survey
    >>> site = simulate.demo_site()
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38)
    >>> verdicts_of(survey.reception(site, setup), [0]).words
    ('comes',)
    """
    limits = [received.limits[i] for i in rows]
    chance, ends = np.nan_to_num(received.chance[rows]), received.comes_km[:, rows]
    away = received.site.stations["distance_km"].to_numpy(float)[rows]
    reached = chance >= LEVELS[:, None]
    none = np.array([x.kind in _NO_ROPE for x in limits], bool) | np.isnan(ends).all(axis=0)
    code = np.where(none, NONE, 3 - reached.sum(axis=0))
    # An end is as without any overload: where it would pass home and the chance there says no, one is.
    would = ((ends > away * (1 + 1e-6)) & ~reached).any(axis=0)
    overloaded = np.array([x.kind == "overload" for x in limits], bool) | would
    # Where the chance does not reach an end stays a hair before home: words and ropes agree.
    to_km = np.where(reached, 0.0, np.maximum(away - ends, 1e-6 * away))
    lacks = -received.spare_db[rows]
    words = tuple(map(_word, code, chance, lacks, limits))
    causes = tuple(x.cause for x in limits)
    return Verdicts(code, words, causes, lacks, away, to_km, overloaded, would)


def _word(code, chance, lacks_db, limit):
    if code == NONE:
        return _NO_ROPE.get(limit.kind, "not known")
    if code == THICK:
        return "comes"
    return lack_words(lacks_db, limit.cause) if code == GAP else roofs_words(chance)


def lack_words(lacks_db, cause, sign=""):
    """A lack in words with its cause; without the number where none is known.

    Parameters: ``lacks_db`` dB, inf where none of its own helps; ``cause`` a word or ""; ``sign`` after
    the number.

    >>> lack_words(14.2, "turn"), lack_words(float("inf"), "overload")
    ('lacks 14 dB, turn', 'overload')
    """
    if not np.isfinite(lacks_db):
        return cause or "not from here"
    return f"lacks {lacks_db:.0f}{sign} dB" + (f", {cause}" if cause else "")


def worst_of(members, said):
    """Which of ``members`` lacks most, or has no rope at all.

    Parameters: ``said`` the Verdicts of all stations.
    """
    return members[np.argmax(np.nan_to_num(said.lacks_db[members], nan=np.inf))]


def line_words(members, said):
    """What stands at home on one line: a station's verdict, or that of several joined, at worst.

    Parameters: ``members`` of the line; ``said`` the Verdicts of all stations.
    """
    worst = worst_of(members, said)
    if members.size == 1 or said.code[worst] in (GAP, NONE):
        return said.words[worst]
    if said.code[worst] == THICK:
        return f"{members.size} come"
    return f"{said.words[worst]} or more"


def tower_words(verdicts, members):
    """What comes from one tower, in words, and whether any does.

    Parameters: ``verdicts`` a Verdicts; ``members`` which of its stations. Returns (text, bool).
    """
    code = verdicts.code[members]
    come, maybe = (code == THICK).sum(), np.isin(code, (THIN, DOTS)).sum()
    if members.size == 1:
        word = verdicts.words[members[0]]
        return ("maybe, " + word if maybe else word), bool(come)
    counts = ((come, "come"), (maybe, "maybe"), (members.size - come - maybe, "not"))
    if come or maybe:
        words = ", ".join(f"{n} {w}" for n, w in counts if n)
        return words.replace("1 come", "1 comes"), bool(come)
    return _none_come(verdicts, members), False


def _none_come(verdicts, members):
    """How many do not come, and the most frequent cause with its own count, or alone if it is of all."""
    by_cause = {}
    for i in members:
        gap = verdicts.code[i] == GAP
        by_cause.setdefault(verdicts.causes[i] if gap else verdicts.words[i], []).append(i)
    those = np.array(max(by_cause.values(), key=len))
    count = "" if those.size == members.size else f"{those.size} "
    return f"{members.size} not, {count}{_cause_words(verdicts, those)}"


def _cause_words(verdicts, those):
    least = those[np.argmin(np.nan_to_num(verdicts.lacks_db[those], nan=np.inf))]
    if verdicts.code[least] == NONE:
        return verdicts.words[least]
    several = those.size > 1
    lack = lack_words(verdicts.lacks_db[least], verdicts.causes[least], "+" if several else "")
    return lack.replace("lacks", "lack") if several else lack


@dataclass(frozen=True, eq=False)
class Line:
    """A line of the picture: ``tower`` its number, ``members`` the stations drawn on it as one."""

    tower: int
    members: np.ndarray


def lines_of(towers, verdicts, room_px, least_px, gap_px):
    """Lines by station that fit into a room, in order from north, and the stations left out.

    First what does not come is left out, most lacking first, for one line of words at the foot; then
    the stations of a tower that come are joined, then those that may; then the least likely towers go.
    Parameters: ``towers`` from towers_of; ``verdicts`` of the drawn stations; ``room_px`` height there
    is, ``least_px`` of a line, ``gap_px`` between towers. Returns ([Line], (m,) left out).
    """
    lines = [Line(k, np.array([i])) for k, t in enumerate(towers) for i in t.members]

    def fits(some, left):
        used = len({line.tower for line in some})
        return (len(some) + left) * least_px + gap_px * (used - 1 + left) <= room_px

    if fits(lines, 0):
        return lines, np.array([], int)
    lines, left = _without(lines, verdicts, (GAP, NONE), fits)
    for codes in ((THICK,), (THIN, DOTS)):
        for k in _crowded(lines, verdicts, codes):
            if not fits(lines, 1):
                lines = _joined(lines, verdicts, k, codes)
    lines, more = _without(lines, verdicts, range(5), fits)
    return lines, np.array(left + more, int)


def _without(lines, verdicts, codes, fits):
    """``lines`` without the least likely of these ``codes`` until they fit; the stations left out."""
    rank = np.nan_to_num(-verdicts.lacks_db, nan=-np.inf)
    out = [n for n, line in enumerate(lines) if verdicts.code[line.members[0]] in codes]
    out.sort(key=lambda n: (-verdicts.code[lines[n].members[0]], rank[lines[n].members].max()))
    gone = set()
    for n in out:
        kept = [line for m, line in enumerate(lines) if m not in gone]
        if fits(kept, 1):
            break
        gone.add(n)
    left = [int(i) for n in sorted(gone) for i in lines[n].members]
    return [line for m, line in enumerate(lines) if m not in gone], left


def _crowded(lines, verdicts, codes):
    """Towers with several lines of these ``codes``, the most crowded first."""
    many = Counter(x.tower for x in lines if verdicts.code[x.members[0]] in codes)
    return sorted((k for k, n in many.items() if n > 1), key=lambda k: (-many[k], k))


def _joined(lines, verdicts, tower, codes):
    """``lines`` with those of a tower that have one of these ``codes`` as one, where the first was."""
    mine = [x.tower == tower and verdicts.code[x.members[0]] in codes for x in lines]
    one = Line(
        tower, np.concatenate([x.members for x, joins in zip(lines, mine, strict=True) if joins])
    )
    at = mine.index(True)
    rest = [x for x, joins in zip(lines, mine, strict=True) if not joins]
    return [*rest[:at], one, *rest[at:]]


def towers_drawn(towers, verdicts, most):
    """Which towers are drawn where there is room for ``most`` lines, in order, and which are not.

    Parameters: ``towers`` from towers_of; ``verdicts`` of the drawn stations. What does not come goes
    first, most lacking first; one line is kept for the words about the rest.
    """
    if len(towers) <= most:
        return list(range(len(towers))), []
    spare = np.nan_to_num(-verdicts.lacks_db, nan=-np.inf)
    best = [(verdicts.code[t.members].min(), -spare[t.members].max()) for t in towers]
    kept = sorted(range(len(towers)), key=lambda k: best[k])[: most - 1]
    return sorted(kept), sorted(set(range(len(towers))) - set(kept))


def more_words(verdicts, left):
    """One line for the stations that are not drawn; "" where all are.

    Parameters: ``verdicts`` of the drawn stations; ``left`` which are left out, a list of arrays of
    stations.

    >>> more_words(None, [])
    ''
    """
    if not len(left):
        return ""
    best = np.array([verdicts.code[members].min() for members in left])
    may = int((best <= DOTS).sum())
    after = f"{may} of them may come" if may else "not from here"
    return f"and {len(left)} more, {after}"


def rope_words(picture, said, most=24):
    """What a picture of ropes says of each station, tower by tower from north, at most ``most``.

    Parameters: ``picture`` with towers and names; ``said`` the Verdicts of its stations.
    """
    parts, told = [], 0
    for tower in picture.towers:
        members = tower.members[: max(most - told, 0)]
        told += members.size
        if members.size:
            each = ", ".join(f"{short(picture.names[i], 24)} {said.words[i]}" for i in members)
            parts.append(f"{short(tower.name, 24)} ({place_words(tower)}): {each}")
    more = len(picture.names) - told
    parts += [f"and {more} more"] if more > 0 else []
    return "; ".join([*parts, *filter(None, [rest_words(picture.site)])]) + "."


def place_words(tower):
    """Bearing and distance of a Tower ``tower``, as they stand at its line.

    >>> place_words(Tower("", "A", 37.6, 48.2, None))
    '38°, 48 km'
    """
    near = f"{tower.distance_km:.0f}" if tower.distance_km >= 2 else f"{tower.distance_km:.1f}"
    return f"{round(tower.bearing_deg) % 360}°, {near} km"


def hand_at(heading_deg, bearings_deg, middles, top, bottom):
    """Where the hand points: a tower's middle at its bearing, in between by the share of the arc.

    Parameters: ``heading_deg`` true; ``bearings_deg`` (t,) rising and ``middles`` (t,) of the drawn
    towers; ``top`` and ``bottom`` of the picture, which are north.

    >>> hand_at(55.0, [50, 60], [100, 140], 0, 200)
    120.0
    """
    around = np.r_[-1e-6, bearings_deg, 360.0]
    return float(np.interp(heading_deg % 360, around, np.r_[top, middles, bottom]))
