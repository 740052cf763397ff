"""A whip that stands on metal: a car's roof, a steel deck."""

import numpy as np

from .. import facts
from ..units import LIGHT_M_MHZ, check
from ..wires import Wire
from .build import Build, Piece, band
from .elements import size, wavelength_mm
from .stock import stock

CELLS = 12
"""Meshes of the grid that stands for the sheet, per wavelength."""


def whip(freq_mhz, length_mm=None, sheet_mm=(1200, 1000), wire="3 mm stainless"):
    """A rod upright in the middle of a metal sheet, fed where it stands, the shield on the sheet.

    A quarter wave of it makes with its image in the sheet a dipole of half the resistance. A sheet is
    drawn as a grid, at most ``whip_sheet_wavelengths`` wide (facts table ``builds``): what lies farther
    out lifts the beam but carries little current. Plastic is no sheet.
    Parameters: ``freq_mhz`` one or (low, high); ``length_mm`` above the sheet, start 0.235 wavelengths;
    ``sheet_mm`` its length and width; ``wire`` text for the rod.

    >>> whip(539).polarization, whip(539).cut_list.length_mm.tolist()
    ('vertical', [131])
    """
    mhz, kind = band(freq_mhz), stock(wire)
    length = size("length_mm", length_mm, 0.235 * wavelength_mm(mhz))
    outline = check("sheet_mm", sheet_mm, above=0, high=20000)
    if outline.shape != (2,):
        raise ValueError(f"sheet_mm is {sheet_mm!r}; it must be (length, width) in mm.")
    wave = 1000 * LIGHT_M_MHZ / mhz[1]
    drawn = np.minimum(outline, facts.value("builds", "whip_sheet_wavelengths") * wave)
    sheet, thick = _grid(drawn / 1000, wave / CELLS / 1000)
    foot = 1.5 * thick + 2.5 * kind.radius_m
    rod = Wire([(0, 0, 0), (0, 0, length / 1000)], kind.radius_m, metal=kind.metal)
    return Build(
        "whip",
        "whip on a sheet",
        mhz,
        {"length_mm": length, "sheet_mm": tuple(outline.tolist()), "wire": kind.text},
        (Piece("whip", 1, length, kind),),
        (rod, *sheet),
        np.array([[0, 0, foot]]),
        "1:1",
        polarization="vertical",
        gap_mm=1000 * foot,
        notes=_notes(outline, drawn),
    )


def _notes(outline, drawn):
    notes = ["The sheet is half of it: bare metal round the foot, the cable's shield joined to it."]
    if np.any(drawn < outline):
        size_words = " by ".join(f"{side:.0f}" for side in drawn)
        notes.append(
            f"Of the sheet {size_words} mm are drawn; farther out it carries little current."
        )
    return tuple(notes)


def _grid(size_m, longest_m):
    """Wires along and across that stand for a sheet, joined where they cross, and their radius.

    One crossing lies in the middle, where the rod stands.
    """
    steps = np.maximum(2 * np.ceil(np.asarray(size_m) / longest_m / 2).astype(int), 4)
    x, y = (np.linspace(-0.5, 0.5, n + 1) * s for n, s in zip(steps, size_m, strict=True))
    radius = min(size_m / steps) / 16
    along = [[(a, b, 0) for a in x] for b in y]
    across = [[(a, b, 0) for b in y] for a in x]
    return [Wire(p, radius, len(p) - 1, "bare_steel") for p in along + across], radius
