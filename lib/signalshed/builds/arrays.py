"""Several elements together: two loops, bays of bow-ties on an open line."""

import numpy as np

from .. import facts
from ..wires import Wire
from .build import Build, Piece, band
from .elements import (
    fan,
    line,
    loop,
    size,
    wavelength_mm,
)
from .joining import cable_leg, half_wave_leg_mm
from .screens import as_screen
from .stock import stock

ARRANGEMENTS = ("side by side", "stacked")


def two_loops(
    freq_mhz,
    circumference_mm=None,
    arrangement="stacked",
    spacing_mm=None,
    wire="10 AWG",
    screen=None,
):
    """Two round loops fed in phase through equal lengths of line, joined in parallel.

    Parameters: ``freq_mhz`` one or (low, high); ``circumference_mm`` of each, start 1.08 wavelengths;
    ``arrangement`` "stacked" (narrower up and down, as wide as one in azimuth) or "side by side"
    (narrower in azimuth); ``spacing_mm`` between centres, start 0.6 wavelengths; ``wire`` text;
    ``screen`` or None. Legs of cable lead to the joint in their middle, half a wave long on the cable or
    as long as they must; ``joined_by`` and ``tune`` change them.

    >>> two_loops(539).cut_list["count"].tolist()
    [2, 2]
    """
    mhz = band(freq_mhz)
    if arrangement not in ARRANGEMENTS:
        raise ValueError(f"arrangement is {arrangement!r}; it must be {' or '.join(ARRANGEMENTS)}.")
    one = loop(freq_mhz, circumference_mm, wire=wire)
    spacing = size("spacing_mm", spacing_mm, 0.6 * wavelength_mm(mhz))
    shift = np.array([0, 0, spacing] if arrangement == "stacked" else [0, spacing, 0]) / 2000
    ring, piece = one.element[0], one.pieces[0]
    rings = tuple(Wire(ring.points_m + s * shift, ring.radius_m, metal=ring.metal) for s in (-1, 1))
    sizes = {**one.sizes, "arrangement": arrangement, "spacing_mm": spacing}
    made = Build(
        "two_loops",
        f"two loops, {arrangement}",
        mhz,
        {key: value for key, value in sizes.items() if key not in ("shape", "feed_at")},
        (Piece("loop (circle)", 2, piece.length_mm, piece.stock),),
        rings,
        np.concatenate([one.feed - shift, one.feed + shift]),
        "1:1",
        gap_mm=one.gap_mm,
        notes=(
            "Both loops the same way round, with equal lengths of line from each to the joint.",
        ),
        lines=(cable_leg(half_wave_leg_mm(np.sqrt(mhz[0] * mhz[1]), spacing / 2)),) * 2,
    )
    return as_screen(made, screen)


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
    made = Build(
        "bays",
        f"{count} bow-tie bays",
        mhz,
        {"count": int(count), "spacing_mm": spacing, "arm_mm": arm, "wire": kind.text},
        _bay_pieces(count, spacing, arm, kind),
        tuple(element),
        np.zeros((1, 3)),
        "4:1",
        gap_mm=2 * half,
        notes=(
            _NEVER_TOUCH + ("." if count == 2 else "; where they cross keep them 12 mm apart."),
        ),
    )
    return as_screen(made, screen)


_NEVER_TOUCH = "The two wires of the line never touch"


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
