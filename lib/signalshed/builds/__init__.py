"""Antennas to make, from builder's sizes: wires for the solver and pieces for the saw.

=============  ===================================================================================
elements       ``half_wave_dipole``, ``reference_dipole``, ``folded_dipole``, ``loop`` (circle,
               square, diamond), ``bow_tie`` (fan, outline), ``biquad``
arrays         ``two_loops``, ``bays``, ``yagi``, ``stack`` (two or four of one), ``whip`` (on a sheet)
screens        ``rod_screen``, ``mesh_screen``, ``solid_screen``, ``corner_screen``,
               ``infinite_sheet`` (for learning only)
what for       ``realised_gain_dbd``, ``sweep``, ``by_channel``, ``channel_freq_mhz``,
               ``behind_words``
finer          ``tune``, ``tolerance``, ``wrong_balun``, ``own``; ``Shed`` and
               ``best_from_the_shed``: the best from what is there
on paper       ``build_sheet``, ``copies_differ``, ``drawing_img``, ``icon_img``, ``card_html``
joining        ``cable_leg``, ``with_legs``, ``Build.joined_by``, ``pigtail``, ``joint_cost``
materials      ``stock``, ``awg_mm``, ``bundle_mm``, ``mesh_leak_db``, ``skin_depth_um``,
              , ``surface_loss_db``, ``wind_pressure_pa``, ``drag_area_m2``
=============  ===================================================================================

Every form takes the frequency or band first (``539``, or ``(470, 608)``), sizes in millimetres (from
inches: ``shed.units.mm_from_inches``), wire as text (``"10 AWG"``, ``"3 x 16 AWG"``, ``"6 mm
aluminium"``) and a screen or None. A size left out is a start value that ``tune`` improves.
"""

from .. import handed_on as _handed_on
from ..markup import shown_as as _shown_as
from .arrays import bays
from .build import Build, below_its_band, channel_freq_mhz, few
from .card import card_html, gain_words, parts_html
from .copies import copies_differ
from .drawing import drawing_img, drawing_svg, drawing_words, icon_img
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
    finer_gain_dbd,
    joint_cost,
    other_cut_db,
    own_loss_db,
    realised_gain_dbd,
    sweep,
    width_deg,
)
from .joining import cable_leg, pigtail, ways_mm
from .mesh import drag_area_m2, mesh_leak_db, solidity, wind_pressure_pa
from .metal import foil_skin_depths, skin_depth_um, surface_loss_db
from .own import own
from .screens import SCREENS, corner_screen, infinite_sheet, mesh_screen, rod_screen, solid_screen
from .shed import Shed, best_from_the_shed
from .sheet import build_sheet, workshop
from .stacks import stack, two_loops
from .stock import awg_mm, bundle_mm, stock
from .told import both_units, facts_words, screen_words
from .whips import whip
from .yagis import yagi

_shown_as(Build, card_html)

__all__ = _handed_on(globals())


def __dir__():
    return __all__
