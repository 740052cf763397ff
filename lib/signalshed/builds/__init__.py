"""Antennas to make, from builder's sizes: wires for the solver and pieces for the saw.

=============  ===================================================================================
elements       ``half_wave_dipole``, ``reference_dipole``, ``folded_dipole``, ``loop`` (circle,
               square, diamond), ``bow_tie`` (fan, outline), ``biquad``
arrays         ``two_loops``, ``bays``, ``yagi``, ``stack`` (two or four of one), ``whip`` (on a sheet)
screens        ``rod_screen``, ``mesh_screen``, ``solid_screen``, ``corner_screen``,
               ``infinite_sheet`` (for learning only)
what for       ``realised_gain_dbd``, ``sweep``, ``by_channel``, ``channel_freq_mhz``,
               ``drawing_error_db``, ``behind_words``
finer          ``tune``, ``tolerance``, ``wrong_balun``, ``own``; ``Shed`` and
               ``best_from_the_shed``: the best from what is there; ``yagi_from_rods``
on paper       ``build_sheet``, ``copies_differ``, ``drawing_img``, ``card_html`` (for a notebook)
joining        ``cable_leg``, ``with_legs``, ``Build.joined_by``, ``pigtail``, ``joint_cost``
materials      ``stock``, ``awg_mm``, ``bundle_mm``, ``mesh_leak_db``, ``mesh_loss_db``,
               ``skin_depth_um``, ``surface_loss_db``, ``wind_pressure_pa``, ``drag_area_m2``
=============  ===================================================================================

Every form takes the frequency or band first (``539``, or ``(470, 608)``), sizes in millimetres (from
inches: ``shed.units.mm_from_inches``), wire as text (``"10 AWG"``, ``"3 x 16 AWG"``, ``"6 mm
aluminium"``) and a screen or None. A size left out is a start value that ``tune`` improves.
"""

from ..markup import shown_as
from .arrays import bays
from .build import Build, below_its_band, channel_freq_mhz
from .card import card_html, few, gain_words, parts_html
from .copies import copies_differ
from .drawing import drawing_img, drawing_svg, drawing_words
from .elements import biquad, bow_tie, folded_dipole, half_wave_dipole, loop, reference_dipole
from .finer import (
    remade,
    sizes_to_tune,
    tolerance,
    tune,
    usable_arc_deg,
    with_legs,
    worst_dbd,
    wrong_balun,
)
from .forms import FORMS
from .gain import (
    behind_words,
    by_channel,
    drawing_error_db,
    finer_gain_dbd,
    joint_cost,
    other_cut_db,
    own_loss_db,
    realised_gain_dbd,
    sweep,
    width_deg,
)
from .joining import cable_leg, pigtail, ways_mm
from .mesh import drag_area_m2, mesh_leak_db, mesh_loss_db, solidity, wind_pressure_pa
from .metal import foil_skin_depths, skin_depth_um, surface_loss_db
from .own import own
from .screens import SCREENS, corner_screen, infinite_sheet, mesh_screen, rod_screen, solid_screen
from .shed import Shed, best_from_the_shed, yagi_from_rods
from .sheet import build_sheet, workshop
from .stacks import stack, two_loops
from .stock import awg_mm, bundle_mm, stock
from .told import both_units, facts_words, screen_words
from .whips import whip
from .yagis import yagi

shown_as(Build, card_html)

__all__ = [
    "FORMS",
    "SCREENS",
    "Build",
    "Shed",
    "awg_mm",
    "bays",
    "behind_words",
    "below_its_band",
    "best_from_the_shed",
    "biquad",
    "both_units",
    "bow_tie",
    "build_sheet",
    "bundle_mm",
    "by_channel",
    "cable_leg",
    "card_html",
    "channel_freq_mhz",
    "copies_differ",
    "corner_screen",
    "drag_area_m2",
    "drawing_error_db",
    "drawing_img",
    "drawing_svg",
    "drawing_words",
    "facts_words",
    "few",
    "finer_gain_dbd",
    "foil_skin_depths",
    "folded_dipole",
    "gain_words",
    "half_wave_dipole",
    "infinite_sheet",
    "joint_cost",
    "loop",
    "mesh_leak_db",
    "mesh_loss_db",
    "mesh_screen",
    "other_cut_db",
    "own",
    "own_loss_db",
    "parts_html",
    "pigtail",
    "realised_gain_dbd",
    "reference_dipole",
    "remade",
    "rod_screen",
    "screen_words",
    "sizes_to_tune",
    "skin_depth_um",
    "solid_screen",
    "solidity",
    "stack",
    "stock",
    "surface_loss_db",
    "sweep",
    "tolerance",
    "tune",
    "two_loops",
    "usable_arc_deg",
    "ways_mm",
    "whip",
    "width_deg",
    "wind_pressure_pa",
    "with_legs",
    "workshop",
    "worst_dbd",
    "wrong_balun",
    "yagi",
    "yagi_from_rods",
]


def __dir__():
    return __all__
