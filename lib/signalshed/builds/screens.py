"""What stands behind: rods, mesh, sheet, a corner of rods, and the infinite sheet of the textbooks.

Width is always along the element's polarization (along y when it is horizontal), height across it.
"""

import numpy as np

from .. import facts
from ..units import LIGHT_M_MHZ, check, number, one_of
from ..wires import Wire
from ..wires.shape import metal_facts, metals
from .build import Piece, Screen
from .mesh import drag_area_m2, mesh_leak_db, solidity, stand_in_radius_mm
from .stock import stock


def rod_screen(width_mm, height_mm, rods, rod="6 mm aluminium", uprights=2, behind_mm=None):
    """Parallel rods behind the element, along its polarization.

    Parameters: ``width_mm`` length of a rod; ``height_mm`` from the middle of the first rod to that of
    the last; ``rods`` how many (2 to 200); ``rod`` text for stock; ``uprights`` of the same stock,
    joined to every rod, in even steps from end to end (0 to 20, not 1): free rods near three half waves
    long ring and spoil the pattern, and so do pairs of rods between uprights half a wave apart or more;
    ``behind_mm`` None for a start value.

    >>> rod_screen(600, 500, 9).pieces[0].count
    9
    """
    wide, high = _outline(width_mm, height_mm)
    count, kind = int(check("rods", rods, low=2, high=200)), stock(rod)
    ties = _uprights(uprights)
    places = [(0.0, offset) for offset in np.linspace(-0.5, 0.5, count) * high / 1000]
    draw = _of_rods(places, wide, kind, ties)
    sizes = {"width_mm": wide, "height_mm": high, "rods": count, "rod": kind.text, "uprights": ties}
    pieces = [Piece("screen rod", count, wide, kind)]
    if ties:
        pieces.append(Piece("upright, joined to every rod", ties, high, kind))
    return Screen("rod_screen", sizes, behind_mm, draw, tuple(pieces))


def mesh_screen(width_mm, height_mm, opening_mm=12.7, wire_mm=1.0, behind_mm=None):
    """A flat piece of square mesh. Rods of the same leakage stand in for it in the solver.

    Parameters: ``width_mm`` and ``height_mm`` of the piece; ``opening_mm`` and ``wire_mm`` as for
    mesh_leak_db; ``behind_mm`` None for a start value.

    >>> mesh_screen(600, 500).note
    'At 600 MHz -23.0 dB goes through the mesh.'
    """
    wide, high = _outline(width_mm, height_mm)
    leak = mesh_leak_db(600, opening_mm, wire_mm)
    sizes = {"width_mm": wide, "height_mm": high, "opening_mm": opening_mm, "wire_mm": wire_mm}
    area_m2 = wide * high * 1e-6
    share = solidity(opening_mm, wire_mm)
    wire_m = 2 * area_m2 / (opening_mm / 1000)
    steel = stock(f"{wire_mm} mm zinc coated")
    return Screen(
        "mesh_screen",
        {key: float(value) for key, value in sizes.items()},
        behind_mm,
        _stand_in(wide, high, opening_mm, wire_mm),
        drag_m2=drag_area_m2("mesh", area_m2, share),
        weight_kg=wire_m * steel.kg_per_m,
        note=f"At 600 MHz {leak:.1f} dB goes through the mesh.",
    )


def solid_screen(width_mm, height_mm, thickness_mm=1.0, metal="aluminium", behind_mm=None):
    """A flat metal sheet or foil on a board. Rods without leakage stand in for it in the solver.

    Parameters: ``width_mm`` and ``height_mm`` of the piece; ``thickness_mm`` of the metal; ``metal`` of
    the facts table ``metals``; ``behind_mm`` None for a start value.

    >>> round(solid_screen(1000, 600).drag_m2, 3)
    0.768
    """
    wide, high = _outline(width_mm, height_mm)
    thick = number("thickness_mm", thickness_mm, above=0)
    one_of("metal", metal, metals())
    area_m2 = wide * high * 1e-6
    sizes = {"width_mm": wide, "height_mm": high, "thickness_mm": thick, "metal": metal}
    return Screen(
        "solid_screen",
        sizes,
        behind_mm,
        _stand_in(wide, high, None, None, metal),
        drag_m2=drag_area_m2("plate", area_m2),
        weight_kg=float(area_m2 * thick * 1e-3 * metal_facts(metal)["density_kg_m3"]),
        note="A sail: the wind takes it whole.",
    )


def corner_screen(width_mm, side_mm, rods, rod="6 mm aluminium", uprights=None, behind_mm=None):
    """Two flat sides of rods that meet at a right angle behind the element.

    Parameters: ``width_mm`` length of the rods; ``side_mm`` from the corner along a side; ``rods`` on
    each side (2 to 100), besides one in the corner; ``rod`` text for stock; ``uprights`` joined to every
    rod (0 to 20, not 1), None for one every 120 mm, a quarter wave at the top of UHF; ``behind_mm`` from
    the element to the corner, None for a start value of 0.5 wavelengths.

    >>> corner_screen(500, 600, 8).pieces[0].count
    17
    """
    wide, side = _outline(width_mm, side_mm)
    count, kind = int(check("rods", rods, low=2, high=100)), stock(rod)
    ties = int(np.ceil(wide / _UPRIGHT_STEP_MM)) + 1 if uprights is None else _uprights(uprights)
    out = side / 1000 / np.sqrt(2) * np.arange(-count, count + 1) / count
    draw = _of_rods([(abs(offset), offset) for offset in out], wide, kind, ties)
    sizes = {"width_mm": wide, "side_mm": side, "rods": count, "rod": kind.text, "uprights": ties}
    pieces = [Piece("corner rod", 2 * count + 1, wide, kind)]
    if ties:
        pieces.append(Piece("upright, bent in the middle", ties, 2 * side, kind, (side,)))
    return Screen("corner_screen", sizes, behind_mm, draw, tuple(pieces))


def infinite_sheet(behind_mm=None):
    """The sheet of the textbooks, without end or leak: for learning, refused where antennas are ranked.

    Parameters: ``behind_mm`` from the element, None for a start value.

    >>> infinite_sheet(70).kind
    'infinite_sheet'
    """
    note = "Ideal: a real screen gives less."
    return Screen("infinite_sheet", {}, behind_mm, None, note=note)


SCREENS = {
    made.__name__: made
    for made in (rod_screen, mesh_screen, solid_screen, corner_screen, infinite_sheet)
}
"""Every screen by name."""


def as_screen(build, screen):
    """The build before ``screen``: a Screen, a dict of its form and sizes, or None for none.

    >>> from . import loop
    >>> loop(539, screen={"form": "rod_screen", "width_mm": 600, "height_mm": 500, "rods": 9}).name
    'circle loop before a screen of rods'
    """
    if screen is None:
        return build
    if isinstance(screen, Screen):
        return build.with_screen(screen)
    if not isinstance(screen, dict) or screen.get("form") not in SCREENS:
        raise ValueError(f"screen must be a screen, or a dict whose form is {', '.join(SCREENS)}.")
    sizes = {key: value for key, value in screen.items() if key != "form"}
    try:
        return build.with_screen(SCREENS[screen["form"]](**sizes))
    except TypeError as wrong:
        raise ValueError(f"Sizes of {screen['form']} do not fit: {wrong}.") from None


_UPRIGHT_STEP_MM = 120.0


def _uprights(count):
    number = int(check("uprights", count, low=0, high=20))
    if number == 1:
        raise ValueError("uprights is 1; it must be 0 for free rods, or from 2 to 20.")
    return number


def _outline(width_mm, height_mm):
    return tuple(
        number(name, value, above=0, high=20000)
        for name, value in (("width_mm", width_mm), ("height_mm", height_mm))
    )


def _of_rods(places_m, wide, kind, ties):
    """What draws rods at places (x from what stands behind, across), metres, and uprights."""

    def draw(top_mhz, polarization, behind_m):
        places = [(x - behind_m, across) for x, across in places_m]
        return _ladder(places, wide / 1000, kind, ties, (top_mhz, polarization))

    return draw


def _stand_in(wide, high, opening_mm, wire_mm, metal="zinc_coated"):
    """What draws rods, tied every quarter wave, that leak as the mesh does.

    The ties stand for the mesh's cross wires. Untied rods would ring one by one; rods tied at their
    ends only would ring in pairs, like a line shorted at both ends, which no mesh does.
    """

    def draw(top_mhz, polarization, behind_m):
        share = facts.value("builds", "stand_in_per_wavelength")
        pitch = max(1000 * LIGHT_M_MHZ / top_mhz / share, opening_mm or 0)
        count = max(int(np.ceil(high / pitch)), 1) + 1
        pitch = high / (count - 1)
        like = (opening_mm, wire_mm) if opening_mm and opening_mm < pitch else (None, None)
        diameter_mm = 2 * stand_in_radius_mm(pitch, *like)
        if opening_mm and opening_mm >= pitch:
            diameter_mm = wire_mm
        kind = stock(f"{diameter_mm:.3f} mm {metal}")
        places = [(0.0, offset) for offset in np.linspace(-0.5, 0.5, count) * high / 1000]
        ties = int(np.ceil(wide / (1000 * LIGHT_M_MHZ / top_mhz / 4))) + 1
        return _of_rods(places, wide, kind, ties)(top_mhz, polarization, behind_m)

    return draw


def _ladder(places_m, width_m, kind, ties, seen_by):
    """Rods along the polarization at places (x, across), metres, and as many uprights as ``ties``.

    Current along a rod far from the element changes slowly: segments of about a tenth of a wavelength.
    """
    top_mhz, polarization = seen_by
    order = [0, 1, 2] if polarization == "horizontal" else [0, 2, 1]
    longest_m = LIGHT_M_MHZ / 10 / top_mhz

    def wire(points):
        points = np.array(points)[:, order]
        length = np.linalg.norm(points[1] - points[0])
        count = max(min(round(length / longest_m), length // (2.6 * kind.radius_m)), 1)
        return Wire(points, kind.radius_m, int(count) * (len(points) - 1), kind.metal)

    sides = np.linspace(-0.5, 0.5, max(ties, 2)) * width_m
    rods = [wire([(x, side, off) for side in sides]) for x, off in places_m]
    uprights = [wire([(x, side, off) for x, off in places_m]) for side in sides]
    return (*rods, *uprights) if ties else tuple(rods)
