"""An element before a screen of real size: pattern, gain and match, solved while the sliders move."""

import functools

import numpy as np

from ... import builds, facts, wires
from ...plots import Pattern
from ...units import dbd_from_dbi
from ...words import signed
from .. import Choice, Panel, Slider, Words
from .sheets import FREQ_MHZ

ELEMENTS = {
    "wire loop": builds.loop,
    "half-wave dipole": builds.half_wave_dipole,
    "bow-tie": builds.bow_tie,
    "biquad": builds.biquad,
}
BEHIND_MM = (25, 275, 80)
"""Nearest, farthest and first distance from element to screen, mm."""
SIDE_MM = (100, 600, 400)
"""Smallest, largest and first width and height of a screen, mm."""
CHANNEL = (14, 36, 25)
LIMITS_DBD = (-35.0, 15.0)
NO_SCREEN, SOLID = "no screen", "solid sheet"
_AROUND_DEG = np.arange(-180.0, 181.0, 1.0)


@functools.cache
def _meshes():
    """Openings one may choose, each with its opening and wire in mm."""
    rows = facts.table("meshes")
    return {r.label: (float(r.opening_mm), float(r.wire_mm)) for r in rows.itertuples()}


def screen_panel():
    """Element, screen, distance, size and channel: the pattern, solved at every move.

    >>> screen_panel().verdict[:20]
    'wire loop at 539 MHz'
    """
    kinds = (*_meshes(), SOLID, NO_SCREEN)
    controls = (
        Choice("element", "Element", tuple(ELEMENTS)),
        Choice("screen", "Screen", kinds, "1/2 in hardware cloth"),
        Slider("behind_mm", "Element to screen, mm", *BEHIND_MM, step=5),
        Slider("width_mm", "Width of the screen, mm", *SIDE_MM, step=25),
        Slider("height_mm", "Height of the screen, mm", *SIDE_MM, step=25),
        Slider("channel", "RF channel", *CHANNEL),
    )
    return Panel("A screen behind it", controls, _draw, (8.8, 4.8), 5)


def _draw(figure):
    picture = Pattern(figure.add_subplot(), LIMITS_DBD, 2)

    def move(element, screen, behind_mm, width_mm, height_mm, channel):
        freq_mhz = 473.0 + 6.0 * (int(channel) - CHANNEL[0])
        build = _build(element, screen, behind_mm, width_mm, height_mm)
        now, alone = _Live(build, freq_mhz), _alone(element, freq_mhz)
        names = [f"RF {int(channel)}, {freq_mhz:.0f} MHz", "the element alone"]
        gains = [g.clip(LIMITS_DBD[0] - 20) for g in (now.gain_dbd, alone.gain_dbd)]
        alt = picture.update(build.name, names, gains, 1.5)
        return Words(_said(element, screen, build, now, alone), alt)

    return picture.artists, move


def _build(element, screen, behind_mm, width_mm, height_mm):
    made = ELEMENTS[element](FREQ_MHZ).renamed(element)
    if screen == NO_SCREEN:
        return made
    if screen == SOLID:
        return made.with_screen(builds.solid_screen(width_mm, height_mm), behind_mm)
    opening_mm, wire_mm = _meshes()[screen]
    mesh = builds.mesh_screen(width_mm, height_mm, opening_mm, wire_mm)
    return made.with_screen(mesh, behind_mm)


@functools.lru_cache(maxsize=128)
def _alone(element, freq_mhz):
    return _Live(ELEMENTS[element](FREQ_MHZ), freq_mhz)


class _Live:
    """One build at one frequency, solved in full: ``gain_dbd`` realised, over whole degrees."""

    def __init__(self, build, freq_mhz):
        solution = wires.solve(build.structure, freq_mhz)
        self.freq_mhz, self.impedance_ohm = freq_mhz, solution.impedance_ohm
        self.mismatch_db = wires.mismatch_loss_db(solution.impedance_ohm, build.line_ohm)
        around = solution.gain_dbi(_AROUND_DEG, 0.0, build.polarization)
        self.gain_dbd = dbd_from_dbi(around) - self.mismatch_db - build.balun_loss_db
        self.unknowns = solution.currents.size

    @property
    def ahead_dbd(self):
        return float(self.gain_dbd[180])

    @property
    def behind_db(self):
        """Best of the rear third below the aim, dB."""
        return float(self.gain_dbd[180] - self.gain_dbd[np.abs(_AROUND_DEG) > 120].max())


def _said(element, screen, build, now, alone):
    width = builds.width_deg(_AROUND_DEG, now.gain_dbd)
    text = (
        f"{element} at {now.freq_mhz:.0f} MHz: {signed(now.ahead_dbd, 1)} dBd on the aim, of which "
        f"{signed(now.ahead_dbd - alone.ahead_dbd, 1)} dB are the screen's; {width:.0f}° wide. It "
        f"offers {now.impedance_ohm.real:.0f} ohm and {signed(now.impedance_ohm.imag)} ohm of reactance "
        f"(0 is in tune) to a line of {build.line_ohm:.0f} ohm: {now.mismatch_db:.1f} dB turned back."
    )
    if screen == NO_SCREEN:
        return text
    text += f" Behind it is {now.behind_db:.0f} dB weaker (roughly)."
    if screen != SOLID:
        leak = builds.mesh_leak_db(now.freq_mhz, *_meshes()[screen])
        text += f" Through the mesh goes {signed(leak, 0)} dB."
    return f"{text} Wind at 40 m/s: {build.wind_load_n(40):.0f} N. {now.unknowns} currents solved."
