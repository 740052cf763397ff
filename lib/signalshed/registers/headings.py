"""What the headings of a list mean: guessed by words of the trade, shown, mendable by a mapping."""

import functools
import itertools
import re
from collections import Counter
from dataclasses import dataclass

from ..tables import STATIONS
from ..tables.cells import did_you_mean
from .vocabulary import phrases, quantities, tokens, unit_of, units

NEVER = ("same_signal",)
"""Columns no list can fill: who sends the same signal is found out by asking, not from names."""
_FOLLOWING = ("degrees", "minutes", "seconds", "hemisphere")
_AZIMUTH = re.compile(r"(?:\D*\b)?(\d{1,3})(?:\.0+)?\b(?!\s*\d)")
LEAST_AZIMUTHS = 8
AS_THEY_ARE = ("needs_cn_db", "wanted", "guard_us", "delay_us", "note", "erp_toward_kw")
"""Columns of stations.csv that a list has under no other name."""


class Kept(dict):
    """A mapping kept from an earlier list: headings that the new list lacks are passed over."""


@dataclass(frozen=True)
class Meant:
    """What a heading means: ``name`` of the target, ``unit`` of its numbers or None, ``sign`` -1 where
    west or south counts positive, ``at_deg`` the azimuth of a column of a transmit pattern.
    """

    name: str
    unit: str | None = None
    sign: int = 1
    at_deg: float | None = None

    @property
    def shown(self):
        """The name a mapping shows and takes."""
        if self.at_deg is not None:
            return f"pattern_at_{self.at_deg:g}"
        if self.name == "longitude" and self.sign < 0:
            return "longitude_west_deg"
        return f"{self.name}_{self.unit}" if self.unit else self.name


def recognized(row):
    """How many cells of a row read like headings; 0 for a row with numbers.

    >>> recognized(["Call", "Channel", "Paint"]), recognized(["Gazette", "24", "30.7"])
    (2, 0)
    """
    filled = [cell for cell in row if cell]
    numbers = sum(bool(re.fullmatch(r"[+-]?[\d.,]+", cell)) for cell in filled)
    if not filled or len(filled) // 3 < numbers < LEAST_AZIMUTHS:
        return 0
    return sum(guess(cell) is not None for cell in filled if len(cell) < 80 and not is_unit(cell))


def is_unit(cell):
    """Whether a cell holds a unit and nothing else.

    >>> is_unit("(kW)"), is_unit("ERP (kW)")
    (True, False)
    """
    return any(unit_of(cell.strip("()[] "), kind) for kind in units())


def heads_patterns(row):
    """Whether a row heads a table of transmit patterns: azimuth and level, or a name and azimuths.

    >>> heads_patterns(["Pattern ID", "Azimuth", "Relative field"]), heads_patterns(["Call", "Azimuth"])
    (True, False)
    """
    turns = sum(bool(re.fullmatch(r"\d{1,3}", cell)) for cell in row)
    numbers = sum(bool(re.match(r"[+-]?[\d.]", cell)) for cell in row)
    if len(row) < 2 or (numbers and (numbers != turns or turns < LEAST_AZIMUTHS)):
        return False
    names = {thing.name for cell in row if (thing := guess(cell)) is not None}
    level = {"relative_field", "relative_db"} & names
    return bool(level and "azimuth" in names) or (turns >= LEAST_AZIMUTHS and "pattern" in names)


_ENDS = {"n", "s", "e", "w", "n/s", "e/w", "d", "min", "sec"}


def are_turns(row):
    """Whether a row holds azimuths alone, evenly spaced: the second line of headings of patterns.

    >>> are_turns("0 45 90 135 180 225 270 315".split()), are_turns("24 30 47".split())
    (True, False)
    """
    turns = [int(cell) for cell in row if re.fullmatch(r"\d{1,3}", cell)]
    steps = {b - a for a, b in itertools.pairwise(turns)}
    return len(turns) >= LEAST_AZIMUTHS and len(steps) == 1 and steps.pop() > 0


def is_continued(header, row):
    """Whether the row below a line of headings goes on with them: units, hemispheres, second words.

    >>> is_continued(["Call", "Latitude", "ERP"], ["sign", "N", "(W)"])
    True
    """
    filled = [cell for cell in row if cell]
    if are_turns(filled):
        return True
    if not 2 <= len(filled) <= len(row) <= len(header) or re.search(r"\d", " ".join(filled)):
        return False
    second = sum(cell.lower() in _ENDS or is_unit_row([cell, "m"]) for cell in filled)
    return second >= 2 or is_unit_row(row)


def is_unit_row(row):
    """Whether a row below the headings holds their units alone.

    >>> is_unit_row(["", "kW", "m"]), is_unit_row(["Gazette", "24", "m"])
    (True, False)
    """
    filled = [cell for cell in row if cell]
    known = sum(is_unit(cell) for cell in filled)
    return known >= max(2, 0.5 * len(filled)) and not re.search(r"\d", " ".join(filled))


@functools.lru_cache(maxsize=4096)
def guess(heading):
    """The best Meant for one heading by its words alone, None where none is known.

    >>> guess("Height above average terrain (ft)")
    Meant(name='antenna_height', unit='ft', sign=1, at_deg=None)
    >>> guess("Max. ERP [kW]").shown, guess("Affiliation").name
    ('erp_kw', '-')
    """
    exact = _of_our_own(re.sub(r"[\s-]+", "_", heading.strip().lower())) or _alone(heading)
    if exact is not None:
        return exact
    words = tokens(re.sub(r"\[\d+\]$", "", heading))
    shorter = tokens(re.sub(r"\(.*?\)", "", heading))  # What stands in brackets may only explain.
    best = next((max(m) for w in (words, shorter) if (m := list(_matches(w)))), None)
    if best is None:
        return None
    return Meant(best[2], *_details(heading, words, best[2], best[3]))


def _of_our_own(name):
    """A Meant for a column of stations.csv or a name a mapping may give, else None."""
    if name in ("longitude_west_deg", "longitude_west"):
        return Meant("longitude", "deg", -1)
    if name.startswith("pattern_at_") and name[11:].replace(".", "").isdigit():
        return Meant("pattern_at", at_deg=float(name[11:]))
    if name in AS_THEY_ARE or (name in quantities() and "_" in name):
        return Meant(name)
    stem, _, unit = name.rpartition("_")
    if stem in quantities() and unit in units().get(quantities()[stem], {}).values():
        return Meant(stem, unit)
    return None


def _alone(heading):
    """What a heading means that is but a unit: of kW or miles only one thing can be meant."""
    for quantity, name in (("power", "erp"), ("distance", "distance")):
        if unit := unit_of(heading.strip("()[] "), quantity):
            return Meant(name, unit)
    return None


def _matches(words):
    """(score, earlier is better, name, quantity) of every phrase that stands in the words."""
    joined, there = "".join(words), set(words)
    for name, quantity, several in phrases():
        for k, (phrase, whole) in enumerate(several):
            if whole == joined:
                yield 20 + len(phrase), -k, name, quantity
            elif there.issuperset(phrase) and quantity != "follows":
                extra = there.difference(phrase, _IDLE)
                score = 3 * len(phrase) - sum(not unit_of(word, quantity) for word in extra)
                if score > 0 and not (len(phrase) == 1 and len(phrase[0]) == 1):
                    yield score, -k, name, quantity


def is_phrase(heading):
    """Whether a heading, units aside, is one phrase of the trade as it stands.

    >>> is_phrase("Site name"), is_phrase("Site Owner")
    (True, False)
    """
    return any(score >= 20 for score, *_ in _matches(tokens(heading)))


_IDLE = {"in", "the", "of", "a", "deg", "max", "value"}
"""Words that make no other heading of one."""


def _details(heading, words, name, quantity):
    """Unit and sign of the numbers under a heading."""
    if name in ("latitude", "longitude"):
        is_turned = bool({"w", "west", "s", "south"} & set(words))
        return "deg", -1 if is_turned else 1
    written = re.findall(r"[A-Za-z°%]+", heading)
    found = (unit_of(word, quantity) for word in (*reversed(written), *reversed(words)))
    return next(filter(None, found), None), 1


def meant(header, given):
    """What each heading means: a dict from position to Meant, and sentences on what was not plain.

    Parameters: ``header`` list of headings; ``given`` a dict from position to Meant, None for a column
    to leave out; it goes before any guess.

    >>> found, notes = meant(["Call", "Lat Deg", "Min", "Name"], {3: Meant("place")})
    >>> [thing.shown for thing in found.values()]
    ['station', 'latitude_degrees', 'latitude_minutes', 'place']
    """
    azimuths = _azimuth_columns(header, given)
    found, notes, last = {}, [], ""
    for k, heading in enumerate(header):
        thing = given.get(k, azimuths.get(k) or _following(guess(heading), last))
        if thing is None or thing.name == "-":
            continue
        found[k] = thing
        if quantities().get(thing.name) in ("angle", "part"):
            last = thing.name.split("_")[0]
    return _once(found, header, given, notes), notes


def given_by(header, mapping):
    """The mapping by position: Meant, or None for a column to leave out.

    Parameters: ``header`` list of headings; ``mapping`` a dict from heading, or the number of a column,
    to a name or None. Raises ValueError where it names what is not there.
    """
    given = {}
    for heading, name in mapping.items():
        heading = str(heading)
        if heading.isdigit() and heading not in header and 0 < int(heading) <= len(header):
            heading = header[int(heading) - 1]
        if heading not in header and isinstance(mapping, Kept):
            continue
        if heading not in header:
            raise ValueError(
                f"mapping names the heading {heading!r}, which the list does not have"
                f"{did_you_mean(heading, header) or '.'} It has {', '.join(header)}."
            )
        given[header.index(heading)] = None if name is None else named(name)
    return given


def named(name):
    """The Meant of a ``name`` in a mapping. Raises ValueError with the names there are.

    >>> named("antenna_amsl_ft").unit, named("station").name
    ('ft', 'station')
    """
    if name in NEVER:
        raise ValueError(
            f"mapping gives {name!r}; no column of a list says which transmitters send the same at the "
            "same time. Find out, then type it into stations.csv."
        )
    thing = Meant(name) if name in quantities() else _of_our_own(str(name))
    if thing is None:
        known = sorted({*quantities(), *STATIONS.known()} - set(NEVER))
        raise ValueError(
            f"mapping gives {name!r}, no name of ours{did_you_mean(str(name), known) or '.'} There are "
            f"{', '.join(known)}; powers and heights with a unit, as erp_kw, eirp_dbw, antenna_amsl_ft."
        )
    return thing


def _azimuth_columns(header, given):
    """Columns headed by evenly spaced azimuths: a transmit pattern beside each row."""
    found = {}
    for k, heading in enumerate(header):
        match = _AZIMUTH.fullmatch(" ".join(word for word in tokens(heading) if word != "deg"))
        if k not in given and match and int(match[1]) <= 360:
            found[k] = int(match[1])
    turns = sorted(set(found.values()))
    steps = Counter(b - a for a, b in itertools.pairwise(turns))
    step = max(steps, key=steps.get, default=0)
    grid = [at for at in turns if step and {at - step, at + step} & set(turns)]
    if len(grid) < LEAST_AZIMUTHS:
        return {}

    def unit(heading):
        written = re.findall(r"[A-Za-z%]+", heading)
        found = (unit_of(word, "power") or unit_of(word, "ratio") for word in written)
        return next(filter(None, found), None)

    return {
        k: Meant("pattern_at", unit(header[k]), at_deg=float(at % 360))
        for k, at in found.items()
        if at in grid
    }


def _following(thing, last):
    """A bare "Min" or "Sec" belongs to the latitude or longitude before it."""
    if thing is None or thing.name not in _FOLLOWING:
        return thing
    return Meant(f"{last}_{thing.name}") if last in ("latitude", "longitude") else None


def _once(found, header, given, notes):
    """Each target once: the mapping goes first, then the plainest heading; two alike are told."""
    taken = {}
    plain = {k: (k in given, _plainness(header[k], found[k]), -k) for k in found}
    for k in sorted(found, key=plain.get, reverse=True):
        if found[k].name == "rf_channel" and "rf_channel" in taken and k not in given:
            found[k] = Meant("shown_channels")  # A plain "channel" beside an RF channel.
        key = found[k].shown if found[k].at_deg is not None else found[k].name
        if key in taken:
            first = header[taken[key]]
            if re.sub(r" \[\d+\]$", "", header[k]) == first:
                other = f"mapping={ {header[k]: found[k].shown, first: None} }"
                notes.append(
                    f"two columns are headed {first!r}: the first is taken; {other} changes it"
                )
            continue
        taken[key] = k
    return {k: found[k] for k in sorted(taken.values())}


def _plainness(heading, thing):
    words = tokens(re.sub(r"\[\d+\]$", "", heading))
    return max((match[:2] for match in _matches(words) if match[2] == thing.name), default=(0, 0))
