"""Bays of bow-ties on an open line."""

import numpy as np

from .. import facts
from ..wires import Wire
from .build import Build, Piece, band
from .elements import fan, line, size, wavelength_mm
from .screens import as_screen
from .stock import stock


def bays(freq_mhz, count=2, spacing_mm=None, arm_mm=None, wire="10 AWG", screen=None):
    """Bow-tie fans one above another on an open line of two wires, fed in its middle.

    The two inner bays hang on the straight line; with four bays the line crosses over between an inner
    and an outer one, which half a wavelength of line would otherwise put out of phase.
    Parameters: ``freq_mhz`` one or (low, high); ``count`` 2 or 4; ``spacing_mm`` between bays, start
    0.45 wavelengths; ``arm_mm`` along one wire of an arm, start 0.40 wavelengths, with tips half an
    arm apart; ``wire`` text; ``screen`` or None.

    >>> bays(539, 4).cut_list["count"].tolist()
    [8, 2, 4]
    """
    mhz, kind = band(freq_mhz), stock(wire)
    if count not in (2, 4):
        raise ValueError(f"count is {count!r}; it must be 2 or 4.")
    spacing = size("spacing_mm", spacing_mm, 0.45 * wavelength_mm(mhz))
    arm = size("arm_mm", arm_mm, 0.40 * wavelength_mm(mhz))
    half = facts.value("builds", "phasing_gap_mm") / 2
    heights = spacing * (np.arange(count) - (count - 1) / 2)
    inner = heights[count // 2 - 1 : count // 2 + 1]
    element = [line([(-half, 0), (half, 0)], kind)]
    element += [
        line([(s * half, inner[0]), (s * half, 0), (s * half, inner[1])], kind) for s in (-1, 1)
    ]
    if count == 4:
        element += [_crossing(half, up * spacing, s, kind) for up in (-1, 1) for s in (-1, 1)]
    for height in heights:
        element += fan(arm, arm / 2, half, height, kind)
    sizes = {"count": int(count), "spacing_mm": spacing, "arm_mm": arm, "wire": kind.text}
    pieces = _bay_pieces(count, spacing, arm, kind)
    apart = "." if count == 2 else "; where they cross keep them 12 mm apart."
    more = {"gap_mm": 2 * half, "notes": (f"The two wires of the line never touch{apart}",)}
    name, element = f"{count} bow-tie bays", tuple(element)
    made = Build("bays", name, mhz, sizes, pieces, element, balun="4:1", **more)
    return as_screen(made, screen)


def _crossing(half, spacing, side, kind):
    """One wire of the line from an inner bay to the other side of an outer one, mm to Wire."""
    points = [
        (0, side * half, spacing / 2),
        (side * 6, 0, spacing),
        (0, -side * half, spacing * 1.5),
    ]
    return Wire(np.array(points) / 1000, kind.radius_m, metal=kind.metal)


def _bay_pieces(count, spacing, arm, kind):
    pieces = [
        Piece("bow-tie side, bent in the middle", 2 * count, 2 * arm, kind, (arm,)),
        Piece("inner line wire", 2, spacing, kind),
    ]
    if count == 4:
        half = facts.value("builds", "phasing_gap_mm") / 2
        length = 1000 * _crossing(half, spacing, 1, kind).length_m
        pieces.append(Piece("crossing line wire", 4, length, kind))
    return tuple(pieces)
