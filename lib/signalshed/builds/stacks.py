"""Two or four of one antenna, side by side or one above another, on equal legs of cable."""

import numpy as np

from .. import facts
from ..wires import Wire
from .arrays import ARRANGEMENTS, bays
from .build import Build, Piece, band
from .elements import biquad, bow_tie, folded_dipole, half_wave_dipole, loop, size, wavelength_mm
from .joining import cable_leg, half_wave_leg_mm
from .screens import as_screen
from .yagis import yagi

STACKED = {
    made.__name__: made for made in (half_wave_dipole, folded_dipole, loop, bow_tie, biquad, yagi)
}
"""What may be stacked, by name."""


def stack(
    freq_mhz, of="loop", count=2, arrangement="stacked", spacing_mm=None, screen=None, **sizes
):
    """Two or four alike, fed in phase through equal legs of cable, joined in parallel in their middle.

    Parameters: ``freq_mhz`` one or (low, high); ``of`` what is stacked, a name of ``STACKED``; ``count``
    2 or 4; ``arrangement`` "stacked" or "side by side"; ``spacing_mm`` between neighbours, start 0.6
    wavelengths, for a Yagi 1.2; ``screen`` or None, behind all; ``sizes`` of each by name, and
    ``leg_mm``, the length of a leg. ``tune`` moves them together.

    >>> stack(539, "bow_tie", arm_mm=200).cut_list["count"].tolist()
    [4, 2]
    """
    made = _one(of, count, arrangement)
    mhz, leg_mm = band(freq_mhz), sizes.pop("leg_mm", None)
    one = made(freq_mhz, **sizes)
    start = facts.value("builds", "stack_yagi_wavelengths" if of == "yagi" else "stack_wavelengths")
    spacing = size("spacing_mm", spacing_mm, start * wavelength_mm(mhz))
    steps = _steps(int(count), spacing, arrangement)
    reach = float(np.linalg.norm(steps, axis=1).max())
    start_leg = half_wave_leg_mm(np.sqrt(mhz[0] * mhz[1]), 1.1 * reach)
    leg = cable_leg(size("leg_mm", leg_mm, start_leg))
    typed = {"of": of, "count": int(count), "arrangement": arrangement, "spacing_mm": spacing}
    whole = Build(
        "stack",
        f"{_NUMBER[count]} of a {one.name}, {arrangement}",
        mhz,
        {**typed, **one.sizes},
        tuple(Piece(p.label, p.count * int(count), *_rest(p)) for p in one.pieces),
        tuple(_moved(w, step) for step in steps for w in one.element),
        np.concatenate([one.feed + step / 1000 for step in steps]),
        one.balun,
        polarization=one.polarization,
        gap_mm=one.gap_mm,
        notes=(*one.notes, "All the same way round, with equal legs from each to the joint."),
        lines=(leg,) * int(count),
    )
    return as_screen(whole, screen)


_NUMBER = {2: "two", 4: "four"}


def _one(of, count, arrangement):
    """The form that is stacked, all that was asked for checked."""
    if of not in STACKED:
        raise ValueError(
            f"of is {of!r}; it must be one of {', '.join(STACKED)}. Bow-ties on an open line are "
            f"{bays.__name__}."
        )
    if count not in _NUMBER:
        raise ValueError(f"count is {count!r}; it must be 2 or 4.")
    if arrangement not in ARRANGEMENTS:
        raise ValueError(f"arrangement is {arrangement!r}; it must be {' or '.join(ARRANGEMENTS)}.")
    return STACKED[of]


def _steps(count, spacing_mm, arrangement):
    """Where the middle of each lies from the middle of all, mm (n, 3)."""
    along = np.array([0, 0, 1.0] if arrangement == "stacked" else [0, 1.0, 0])
    return spacing_mm * (np.arange(count) - (count - 1) / 2)[:, None] * along


def _moved(wire, step_mm):
    return Wire(wire.points_m + step_mm / 1000, wire.radius_m, wire.segments, wire.metal)


def _rest(piece):
    return piece.length_mm, piece.stock, piece.bends_mm
