"""An element before a screen of real size: pattern, gain and match, solved while the sliders move."""

import functools

import numpy as np

from ... import builds, facts, wires
from ...plots import Pattern, style
from ...units import dbd_from_dbi
from ...words import signed
from .. import Choice, Panel, Slider, Words
from ..canvas import Moving
from .sheets import FREQ_MHZ

ELEMENTS = {
    "wire loop": (builds.loop, {"circumference_mm": 553}),
    "half-wave dipole": (builds.half_wave_dipole, {"length_mm": 251}),
    "bow-tie": (builds.bow_tie, {"arm_mm": 188, "spread_mm": 139}),
    "biquad": (builds.biquad, {"side_mm": 133}),
}
"""Each element's form, and its sizes in tune on RF 25 before the first screen: shed.builds.tune."""
BEHIND_MM = (25, 275, 80)
"""Nearest, farthest and first distance from element to screen, mm."""
SIDE_MM = (100, 600, 400)
"""Smallest, largest and first width and height of a screen, mm."""
CHANNEL = (14, 36, 25)
LIMITS_DBD = (-35.0, 15.0)
NO_SCREEN, SOLID = "no screen", "solid sheet"
_AROUND_DEG = np.arange(-180.0, 181.0, 1.0)


@functools.cache
def meshes():
    """Openings one may choose, each with its opening and wire in mm."""
    rows = facts.table("meshes")
    return {r.label: (float(r.opening_mm), float(r.wire_mm)) for r in rows.itertuples()}


def screen_panel():
    """Element, screen, distance, size and channel: the pattern, solved at every move.

    >>> screen_panel().verdict[:20]
    'wire loop at 539 MHz'
    """
    kinds = (*meshes(), SOLID, NO_SCREEN)
    controls = (
        Choice("element", "Element", tuple(ELEMENTS)),
        Choice("screen", "Screen", kinds, "1/2 in hardware cloth"),
        Slider("behind_mm", "Element to screen, mm", *BEHIND_MM, step=5),
        Slider("width_mm", "Width of the screen, mm", *SIDE_MM, step=25),
        Slider("height_mm", "Height of the screen, mm", *SIDE_MM, step=25),
        Slider("channel", "RF channel", *CHANNEL),
    )
    return Panel("A screen behind it", controls, _Screen.of(), (8.8, 4.8))


class _Screen(Moving):
    """The antenna from in front and from its side, to one scale; right, its pattern."""

    def draw(self, figure):
        grid = figure.add_gridspec(2, 2, width_ratios=(3, 7))
        front, side = (figure.add_subplot(grid[row, 0]) for row in (0, 1))
        half = SIDE_MM[1] / 2 + 20
        front.set(xlim=(-half, half), ylim=(-half, half), aspect="equal")
        front.set_title("from in front, mm", fontsize=11)
        side.set(xlim=(-BEHIND_MM[1] - 20, 2 * half - BEHIND_MM[1] - 20), ylim=(-half, half))
        side.set(aspect="equal")
        side.set_title("from its side, mm", fontsize=11)
        self.behind, self.element = (
            [self.keep(ax.vlines([], [], [], color=c, lw=w)) for ax in (front, side)]
            for c, w in ((style.GREY, 2), (style.BLACK, 2.5))
        )
        self.pattern = Pattern(figure.add_subplot(grid[:, 1]), LIMITS_DBD, 2)
        self.moving += self.pattern.artists

    def move(self, element, screen, behind_mm, width_mm, height_mm, channel):
        freq_mhz = 473.0 + 6.0 * (int(channel) - CHANNEL[0])
        build = _build(element, screen, behind_mm, width_mm, height_mm)
        now, alone = _Live(build, freq_mhz), _alone(element, freq_mhz)
        names = [f"RF {int(channel)}, {freq_mhz:.0f} MHz", "the element alone"]
        gains = [g.clip(LIMITS_DBD[0] - 20) for g in (now.gain_dbd, alone.gain_dbd)]
        self._view(build, None if screen == NO_SCREEN else (width_mm, height_mm))
        alt = f"{self.pattern.update(build.name, names, gains, 1.5)} {builds.drawing_words(build)}"
        return Words(_said(element, screen, build, now, alone), alt)

    def _view(self, build, size_mm):
        """Another ``build`` before a screen of ``size_mm`` (width, height), None for none."""
        for lines, plane in zip(self.element, ([1, 2], [0, 2]), strict=True):
            lines.set_segments([1000 * w.points_m[:, plane] for w in build.element])
        shapes = [[], []]
        if size_mm is not None:
            (y, z), x = np.array(size_mm) / 2, -build.screen.behind_mm
            shapes = [[[(-y, -z), (y, -z), (y, z), (-y, z), (-y, -z)]], [[(x, -z), (x, z)]]]
        for lines, drawn in zip(self.behind, shapes, strict=True):
            lines.set_segments(drawn)


def _build(element, screen, behind_mm, width_mm, height_mm):
    form, sizes = ELEMENTS[element]
    if screen == NO_SCREEN:
        return form(FREQ_MHZ).renamed(element)
    made = form(FREQ_MHZ, **sizes).renamed(element)
    if screen == SOLID:
        return made.with_screen(builds.solid_screen(width_mm, height_mm), behind_mm)
    opening_mm, wire_mm = meshes()[screen]
    mesh = builds.mesh_screen(width_mm, height_mm, opening_mm, wire_mm)
    return made.with_screen(mesh, behind_mm)


@functools.lru_cache(maxsize=128)
def _alone(element, freq_mhz):
    return _Live(ELEMENTS[element][0](FREQ_MHZ), freq_mhz)


class _Live:
    """One build at one frequency, solved in full: ``gain_dbd`` realised, over whole degrees."""

    def __init__(self, build, freq_mhz):
        solution = wires.solve(build.structure, freq_mhz)
        self.freq_mhz, self.impedance_ohm = freq_mhz, solution.impedance_ohm
        self.mismatch_db = wires.mismatch_loss_db(solution.impedance_ohm, build.line_ohm)
        around = solution.gain_dbi(_AROUND_DEG, 0.0, build.polarization)
        self.gain_dbd = dbd_from_dbi(around) - self.mismatch_db - build.balun_loss_db

    @property
    def ahead_dbd(self):
        return float(self.gain_dbd[180])

    @property
    def behind_db(self):
        """Best of the rear third below the aim, dB."""
        return float(self.gain_dbd[180] - self.gain_dbd[np.abs(_AROUND_DEG) > 120].max())


def _tune_words(now):
    """Whether it is in tune, or how to bring it there."""
    if now.mismatch_db < _WELL_DB:
        return "in tune"
    acts, cure = ("long", "shorter") if now.impedance_ohm.imag > 0 else ("short", "longer")
    return f"it acts too {acts}: cut it {cure}, or move the screen"


_WELL_DB = 0.5
"""A mismatch below this is called in tune."""


def _said(element, screen, build, now, alone):
    width = builds.width_deg(_AROUND_DEG, now.gain_dbd)
    by_screen, z = signed(now.ahead_dbd - alone.ahead_dbd, 1), now.impedance_ohm
    share = "" if screen == NO_SCREEN else f", of which {by_screen} dB are the screen's"
    text = (
        f"{element} at {now.freq_mhz:.0f} MHz: {signed(now.ahead_dbd, 1)} dBd on the aim{share}; "
        f"{width:.0f}° wide. It offers {z.real:.0f} ohm and {signed(z.imag)} ohm of reactance to a line "
        f"of {build.line_ohm:.0f} ohm: {now.mismatch_db:.1f} dB turned back, {_tune_words(now)}."
    )
    if screen == NO_SCREEN:
        return text
    text += f" Weaker behind, roughly: {builds.behind_words(now.behind_db)}."
    if screen != SOLID:
        leak = builds.mesh_leak_db(now.freq_mhz, *meshes()[screen])
        text += f" Through the mesh goes {signed(leak, 0)} dB."
    return f"{text} Wind at 40 m/s: {build.wind_load_n(40):.0f} N."
