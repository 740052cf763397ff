"""Two or four of one antenna, side by side or one above another, on equal legs of cable."""

from dataclasses import replace

import numpy as np

from .. import facts
from ..wires import Wire
from .arrays import bays
from .build import band
from .elements import biquad, bow_tie, folded_dipole, half_wave_dipole, loop, size, wavelength_mm
from .joining import cable_leg, half_wave_leg_mm
from .screens import as_screen
from .yagis import yagi

ARRANGEMENTS = ("side by side", "stacked")

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
    wavelengths, for a Yagi 1.2, or what keeps them apart; ``screen`` or None, behind all;
    ``sizes`` of each by name, and ``leg_mm``, the length of a leg. ``tune`` moves them together.

    >>> stack(539, "bow_tie", arm_mm=200).cut_list["count"].tolist()
    [4, 2]
    """
    made = _one(of, count, arrangement)
    mhz, leg_mm = band(freq_mhz), sizes.pop("leg_mm", None)
    one = made(freq_mhz, **sizes)
    axis = 2 if arrangement == "stacked" else 1
    spacing = _spacing(one, spacing_mm, axis)
    steps = spacing * (np.arange(count) - (count - 1) / 2)[:, None] * np.eye(3)[axis]
    start_leg = half_wave_leg_mm(np.sqrt(mhz[0] * mhz[1]), 1.1 * np.abs(steps).max())
    leg = cable_leg(size("leg_mm", leg_mm, start_leg))
    typed = {"of": of, "count": int(count), "arrangement": arrangement, "spacing_mm": spacing}
    whole = replace(
        one,
        form="stack",
        name=f"{_NUMBER[count]} of a {one.name}, {arrangement}",
        sizes={**typed, **one.sizes},
        pieces=tuple(replace(p, count=p.count * int(count)) for p in one.pieces),
        element=tuple(_moved(w, step) for step in steps for w in one.element),
        terminals_m=np.concatenate([one.terminals_m + step / 1000 for step in steps]),
        notes=(*one.notes, "All the same way round, with equal legs from each to the joint."),
        lines=(leg,) * int(count),
    )
    return as_screen(whole, screen)


def _spacing(one, spacing_mm, axis):
    """From middle to middle along ``axis``, as typed or so that gain is good and nothing touches."""
    start = "stack_yagi_wavelengths" if one.form == "yagi" else "stack_wavelengths"
    each = 1000 * float(np.ptp(np.concatenate([w.points_m for w in one.element]), axis=0)[axis])
    apart = max(facts.value("builds", start) * wavelength_mm(one.band_mhz), 1.1 * each)
    spacing = size("spacing_mm", spacing_mm, apart)
    if spacing <= each + 5:
        raise ValueError(
            f"spacing_mm is {spacing:g}, but a {one.name} is {each:.0f} mm long that way: they would "
            f"touch. {np.ceil(1.1 * each):.0f} mm is enough."
        )
    return spacing


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


def _moved(wire, step_mm):
    return Wire(wire.points_m + step_mm / 1000, wire.radius_m, wire.segments, wire.metal)


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
    sizes = {"circumference_mm": circumference_mm, "wire": wire}
    made = stack(freq_mhz, "loop", 2, arrangement, spacing_mm, **sizes)
    kept = {k: v for k, v in made.sizes.items() if k not in ("of", "count", "shape", "feed_at")}
    note = "Both loops the same way round, with equal lengths of line from each to the joint."
    pair = replace(made, form="two_loops", sizes=kept, notes=(note,))
    return as_screen(pair.renamed(f"two loops, {arrangement}"), screen)
