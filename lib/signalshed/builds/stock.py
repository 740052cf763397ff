"""What antennas are made of: wire by gauge or millimetres, strands, rod, tube."""

import functools
import re
from dataclasses import dataclass

import numpy as np

from .. import facts
from ..units import check, number, plain
from ..wires.shape import metal_facts, metals

_TEXT = re.compile(
    r"(?:(?P<strands>\d+)\s*x\s*)?(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>awg|mm|in)"
    r"(?:\s+(?P<tube>tube))?(?:\s+(?P<metal>[a-z_ ]+))?",
    re.IGNORECASE,
)


def awg_mm(gauge):
    """Diameter in mm of American wire gauge ``gauge``, a whole number from 4 to 30.

    Source: ASTM B258, 0.005 in x 92^((36 - gauge) / 39).

    >>> round(awg_mm(10), 3)
    2.588
    """
    table = facts.table("wire_gauges").set_index("gauge")["diameter_mm"]
    whole = number("gauge", gauge, low=4, high=30)
    if whole not in table.index:
        raise ValueError(f"gauge is {gauge}; it must be a whole number from 4 to 30.")
    return float(table[whole])


def bundle_mm(strands, strand_mm):
    """Diameter in mm of the one round wire that ``strands`` touching ones of ``strand_mm`` act like.

    Parameters: ``strands`` 1, 2 or 3; ``strand_mm`` above 0. For end effect and inductance, by the
    logarithmic capacity of the outline; facts table ``strands``.

    >>> round(bundle_mm(3, 1.0), 3)
    1.878
    """
    table = facts.table("strands").set_index("strands")["diameters"]
    if strands not in table.index:
        raise ValueError(f"strands is {strands}; it must be 1, 2 or 3.")
    return plain(table[strands] * check("strand_mm", strand_mm, above=0))


@dataclass(frozen=True)
class Stock:
    """A kind of wire, rod or tube: ``text`` as its builder says it, and what follows from that.

    ``diameter_mm`` as the current sees it, ``width_mm`` as the wind sees it, ``metal`` from the facts
    table ``metals``, ``kg_per_m``.
    """

    text: str
    diameter_mm: float
    width_mm: float
    metal: str
    kg_per_m: float

    @property
    def radius_m(self):
        """Radius for the solver, metres."""
        return self.diameter_mm / 2000


@functools.lru_cache(maxsize=256)
def stock(text):
    """A Stock from words: "10 AWG", "3 x 16 AWG copper", "6 mm aluminium", "10 mm tube aluminium".

    Parameters: ``text``: an optional number of touching strands (1 to 3), a gauge or a diameter in mm
    or in, "tube" for one with a thin wall, a metal (copper if none is named).

    >>> stock("3 x 14 AWG").diameter_mm > stock("10 AWG").diameter_mm
    True
    """
    if isinstance(text, Stock):
        return text
    found = _TEXT.fullmatch(str(text).strip())
    metal = ((found and found["metal"]) or "copper").strip().lower().replace(" ", "_")
    if not found or metal not in metals():
        raise ValueError(
            f"wire is {text!r}; it must be like '10 AWG', '3 x 16 AWG', '2.5 mm aluminium' or "
            f"'10 mm tube aluminium', of {', '.join(metals())}."
        )
    strands, number = int(found["strands"] or 1), float(found["number"])
    unit = found["unit"].lower()
    one_mm = awg_mm(number) if unit == "awg" else number * (25.4 if unit == "in" else 1.0)
    if not _THINNEST_MM <= one_mm <= _THICKEST_MM:
        raise ValueError(
            f"wire is {text!r}, {one_mm:g} mm thick; it must be from {_THINNEST_MM:g} to "
            f"{_THICKEST_MM:g} mm."
        )
    whole_mm = bundle_mm(strands, one_mm)
    area_mm2 = strands * np.pi / 4 * (one_mm**2 - _bore_mm(one_mm, found["tube"]) ** 2)
    kg_per_m = float(area_mm2 * 1e-6 * metal_facts(metal)["density_kg_m3"])
    wide_mm = one_mm * min(strands, 2)
    return Stock(str(text).strip(), whole_mm, wide_mm, metal, kg_per_m)


_THINNEST_MM, _THICKEST_MM = 0.1, 60.0


def _bore_mm(outer_mm, tube):
    return max(outer_mm - 2 * facts.value("builds", "tube_wall_mm"), 0.0) if tube else 0.0
