"""Elements to bend: dipoles, loops, bow-ties, biquad. All in the plane across the aim, at x = 0.

Every function takes the frequency or band first and then its sizes in millimetres; a size left out is
a start value for the middle of the band, which ``tune`` improves. ``wire`` is text for ``stock``,
``screen`` one of the screens or a dict of its form and sizes. Each returns a Build.
"""

from dataclasses import replace

import numpy as np

from .. import facts
from ..units import LIGHT_M_MHZ, check, number
from ..wires import Wire
from .build import Build, Piece, band
from .screens import as_screen
from .stock import stock

CORNERS = 32
"""Straight pieces that stand for a circle."""

GAP_MM = facts.value("builds", "feed_gap_mm")
"""Space between two terminals: one figure for all builds."""

SHAPES = ("circle", "square", "diamond")


def wavelength_mm(band_mhz):
    """Wavelength at the middle of (low, high) MHz, mm.

    >>> round(wavelength_mm((539, 539)))
    556
    """
    return 1000 * LIGHT_M_MHZ / np.sqrt(band_mhz[0] * band_mhz[1])


def size(name, value, start):
    """A size as typed, checked above 0, or its start value to the millimetre.

    >>> size("arm_mm", None, 217.4)
    217.0
    """
    if value is None:
        return float(round(start))
    return number(name, value, above=0)


def line(points_mm, kind, closed=False):
    """A Wire through points given as (y, z) in mm at x = 0, of ``kind`` of stock.

    >>> line([(-100, 0), (100, 0)], stock("10 AWG")).length_m
    0.2
    """
    flat = np.asarray(points_mm, float) / 1000
    points = np.column_stack([np.zeros(len(flat)), flat])
    if closed:
        points = np.vstack([points, points[:1]])
    return Wire(points, kind.radius_m, metal=kind.metal)


def half_wave_dipole(freq_mhz, length_mm=None, wire="10 AWG", screen=None):
    """A straight dipole, cut in the middle.

    Parameters: ``freq_mhz`` one or (low, high); ``length_mm`` tip to tip over the gap, start 0.47
    wavelengths; ``wire`` text; ``screen`` or None.

    >>> half_wave_dipole(539).cut_list.length_mm.tolist()
    [124]
    """
    mhz, kind = band(freq_mhz), stock(wire)
    length = size("length_mm", length_mm, 0.47 * wavelength_mm(mhz))
    half = Piece("half of the dipole", 2, (length - GAP_MM) / 2, kind)
    sizes = {"length_mm": length, "wire": kind.text}
    rod = line([(-length / 2, 0), (length / 2, 0)], kind)
    made = Build("half_wave_dipole", "half-wave dipole", mhz, sizes, (half,), (rod,))
    return as_screen(made, screen)


def reference_dipole(freq_mhz, length_mm=None, wire="10 mm tube aluminium"):
    """The half-wave dipole others are compared with: 0 dBd within about 1 dB by construction.

    Parameters: ``freq_mhz`` one channel, or (low, high) of at most a tenth; ``length_mm`` tip to tip,
    start 0.46 wavelengths; ``wire`` text.

    >>> reference_dipole(539).sizes["length_mm"]
    256.0
    """
    length = size("length_mm", length_mm, 0.46 * wavelength_mm(band(freq_mhz)))
    plain_one = half_wave_dipole(freq_mhz, length, wire)
    note = "Cut one for each channel you compare on: 0 dBd holds near its own frequency only."
    named = plain_one.renamed("half-wave reference dipole")
    return replace(named, form="reference_dipole", notes=(note,))


def folded_dipole(freq_mhz, length_mm=None, spacing_mm=None, wire="10 AWG", screen=None):
    """A dipole of one wire folded into a long flat loop, fed in the middle of one side: about 300 ohm.

    Parameters: ``freq_mhz`` one or (low, high); ``length_mm`` overall, start 0.46 wavelengths;
    ``spacing_mm`` between its two long sides, start 30; ``wire`` text; ``screen`` or None.

    >>> folded_dipole(539).balun
    '4:1'
    """
    mhz, kind = band(freq_mhz), stock(wire)
    length = size("length_mm", length_mm, 0.46 * wavelength_mm(mhz))
    apart = size("spacing_mm", spacing_mm, 30)
    end, low, high = length / 2, -apart / 2, apart / 2
    corners = [(0, low), (end, low), (end, high), (-end, high), (-end, low)]
    whole = folded_piece("folded dipole", length, apart, kind)
    sizes = {"length_mm": length, "spacing_mm": apart, "wire": kind.text}
    bent, feed = line(corners, kind, closed=True), np.array([[0, 0, low / 1000]])
    made = Build("folded_dipole", "folded dipole", mhz, sizes, (whole,), (bent,), feed, "4:1")
    return as_screen(made, screen)


def folded_piece(label, length_mm, apart_mm, kind):
    """One piece to bend to a folded dipole, marked from the cut end.

    Parameters: ``label``; ``length_mm`` overall; ``apart_mm`` between its long sides; ``kind`` a Stock.
    """
    end = length_mm / 2
    sides = np.array([end, apart_mm, length_mm, apart_mm])
    bends = _from_gap(np.cumsum(sides).tolist())
    return Piece(label, 1, 2 * (length_mm + apart_mm) - GAP_MM, kind, bends)


def _from_gap(marks_mm):
    """Marks counted from the middle of the gap, counted from the cut end instead."""
    return tuple(mark - GAP_MM / 2 for mark in marks_mm)


def loop(
    freq_mhz, circumference_mm=None, shape="circle", feed_at="bottom", wire="10 AWG", screen=None
):
    """A loop about one wavelength round.

    Parameters: ``freq_mhz`` one or (low, high); ``circumference_mm`` over the gap, start 1.08
    wavelengths; ``shape`` circle, square (flat side down) or diamond; ``feed_at`` "bottom" for
    horizontal polarization, "side" for vertical; ``wire`` text; ``screen`` or None.

    >>> loop(539).polarization, loop(539, feed_at="side").polarization
    ('horizontal', 'vertical')
    """
    mhz, kind = band(freq_mhz), stock(wire)
    round_mm = size("circumference_mm", circumference_mm, 1.08 * wavelength_mm(mhz))
    if feed_at not in ("bottom", "side"):
        raise ValueError(f"feed_at is {feed_at!r}; it must be bottom or side.")
    corners = loop_points(shape, round_mm)
    if feed_at == "side":
        corners = np.column_stack([corners[:, 1], corners[:, 0]])
    whole = Piece(f"loop ({shape})", 1, round_mm - GAP_MM, kind, _loop_bends(shape, round_mm))
    sizes = {"circumference_mm": round_mm, "shape": shape, "feed_at": feed_at, "wire": kind.text}
    ring, feed = line(corners, kind, closed=True), np.array([[0, *corners[0] / 1000]])
    way = "horizontal" if feed_at == "bottom" else "vertical"
    made = Build("loop", f"{shape} loop", mhz, sizes, (whole,), (ring,), feed, polarization=way)
    return as_screen(made, screen)


def loop_points(shape, circumference_mm):
    """Corners (y, z) in mm of a loop round the origin, from the middle of its bottom on.

    Parameters: ``shape`` circle, square or diamond; ``circumference_mm`` along the wire.

    >>> loop_points("diamond", 400).round().tolist()[0]
    [0.0, -71.0]
    """
    if shape not in SHAPES:
        raise ValueError(f"shape is {shape!r}; it must be {', '.join(SHAPES[:2])} or {SHAPES[2]}.")
    if shape == "square":
        h = circumference_mm / 8
        return np.array([(0, -h), (h, -h), (h, h), (-h, h), (-h, -h)])
    count = CORNERS if shape == "circle" else 4
    turn = 2 * np.pi * np.arange(count) / count
    radius = circumference_mm / (2 * count * np.sin(np.pi / count))
    return radius * np.column_stack([np.sin(turn), -np.cos(turn)])


def _loop_bends(shape, circumference_mm):
    if shape == "circle":
        return ()
    first = 1 / 8 if shape == "square" else 1 / 4
    shares = first + np.arange(4 if shape == "square" else 3) / 4
    return _from_gap(tuple(circumference_mm * shares))


def bow_tie(freq_mhz, arm_mm=None, spread_mm=None, style="fan", wire="10 AWG", screen=None):
    """Two wide arms from a pair of terminals: two wires each side, or the outline of two triangles.

    Parameters: ``freq_mhz`` one or (low, high); ``arm_mm`` along one wire of an arm, start 0.36
    wavelengths; ``spread_mm`` between the tips of one side, start half an arm; ``style`` "fan" (tips
    free) or "outline" (tips joined); ``wire`` text; ``screen`` or None.

    >>> bow_tie(539).balun, len(bow_tie(539).element)
    ('4:1', 5)
    """
    mhz, kind = band(freq_mhz), stock(wire)
    if style not in ("fan", "outline"):
        raise ValueError(f"style is {style!r}; it must be fan or outline.")
    arm = size("arm_mm", arm_mm, 0.36 * wavelength_mm(mhz))
    spread = size("spread_mm", spread_mm, arm / 2)
    check("spread_mm", spread, high=1.8 * arm)
    half = GAP_MM / 2
    element = [line([(-half, 0), (half, 0)], kind), *fan(arm, spread, half, 0.0, kind)]
    if style == "outline":
        reach = half + fan_reach(arm, spread)
        element += [
            line([(s * reach, -spread / 2), (s * reach, spread / 2)], kind) for s in (-1, 1)
        ]
    sizes = {"arm_mm": arm, "spread_mm": spread, "style": style, "wire": kind.text}
    pieces = _bow_tie_pieces(style, arm, spread, kind)
    made = Build("bow_tie", f"bow-tie ({style})", mhz, sizes, pieces, tuple(element), balun="4:1")
    return as_screen(made, screen)


def _bow_tie_pieces(style, arm, spread, kind):
    if style == "fan":
        return (Piece("bow-tie side, bent in the middle", 2, 2 * arm, kind, (arm,)),)
    return (Piece("bow-tie side, a triangle", 2, 2 * arm + spread, kind, (arm, arm + spread)),)


def fan_reach(arm, spread):
    """How far a fan's tips lie from its terminal along y, mm.

    >>> fan_reach(5, 6)
    4.0
    """
    return float(np.sqrt(arm**2 - (spread / 2) ** 2))


def fan(arm, spread, half_gap, z, kind):
    """Four straight wires of a bow-tie fan at height ``z`` mm, from terminals at -+ ``half_gap`` mm.

    >>> len(fan(200, 100, 7, 0, stock("10 AWG")))
    4
    """
    reach = half_gap + fan_reach(arm, spread)
    return [
        line([(side * half_gap, z), (side * reach, z + up * spread / 2)], kind)
        for side in (-1, 1)
        for up in (-1, 1)
    ]


def biquad(freq_mhz, side_mm=None, wire="10 AWG", screen=None):
    """Two squares on their corners, one above the other, fed where they meet: horizontal polarization.

    Parameters: ``freq_mhz`` one or (low, high); ``side_mm`` from a terminal to the corner beside it,
    start 0.26 wavelengths, the outer sides longer by what the gap takes; ``wire`` text; ``screen`` or
    None.

    >>> biquad(539).cut_list.length_mm.tolist()
    [1180]
    """
    mhz, kind = band(freq_mhz), stock(wire)
    side = size("side_mm", side_mm, 0.26 * wavelength_mm(mhz))
    half, d = GAP_MM / 2, side / np.sqrt(2)
    halves = [
        line(
            [(-half, 0), (-half - d, up * d), (0, up * 2 * d), (half + d, up * d), (half, 0)], kind
        )
        for up in (-1, 1)
    ]
    outer = float(np.hypot(half + d, d))
    marks = np.cumsum([side, outer, outer, side, side, outer, outer, side])
    whole = Piece("biquad", 1, float(marks[-1]), kind, tuple(marks[:-1].tolist()))
    element = (line([(-half, 0), (half, 0)], kind), *halves)
    sizes = {"side_mm": side, "wire": kind.text}
    return as_screen(Build("biquad", "biquad", mhz, sizes, (whole,), element), screen)
