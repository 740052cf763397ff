"""A dipole before an endless sheet: the closed form, and the solver beside it while a slider moves."""

import functools

import numpy as np
from scipy.special import sici

from ... import builds, wires
from ...plots import style
from ...plots.picture import ordered
from ...units import DBI_OF_HALF_WAVE_DIPOLE, LIGHT_M_MHZ, check, plain
from ...words import signed
from .. import Choice, Panel, Slider, Words

FREQ_MHZ = 539.0
"""RF 25 of the United States: one channel for every picture of the lesson."""
WAVELENGTH_MM = 1000 * LIGHT_M_MHZ / FREQ_MHZ
BEHIND = (0.03, 0.75, 0.25)
"""Nearest, farthest and first distance to the sheet, wavelengths."""
METALS = {"copper": "copper", "stainless steel": "stainless"}
_CURVE = np.arange(BEHIND[0], BEHIND[1] + 0.001, 0.02)
_AROUND_DEG = np.arange(-180.0, 181.0, 3.0)
_LOWEST_DBI, _HIGHEST_DBI = -15.0, 11.0
_SELF_OHM = 73.13


def mutual_ohm(apart_wavelengths):
    """Resistance that two thin half-wave dipoles side by side share, ohm.

    Parameters: ``apart_wavelengths`` above 0, any shape. By cosine integrals, as antenna textbooks
    give it (C. A. Balanis, *Antenna Theory*, chapter 8; unchecked).

    >>> round(mutual_ohm(0.5), 1)
    -12.5
    """
    apart = check("apart_wavelengths", apart_wavelengths, above=0)
    slant = np.hypot(apart, 0.5)
    near, above, below = (2 * np.pi * x for x in (apart, slant + 0.5, slant - 0.5))
    return plain(30 * (2 * sici(near)[1] - sici(above)[1] - sici(below)[1]))


def sheet_gain_dbi(behind_wavelengths):
    """Gain of a thin half-wave dipole before an endless, perfect sheet, dBi, straight ahead.

    Parameters: ``behind_wavelengths`` from dipole to sheet, above 0, any shape. The image takes the
    place of the sheet: 2 |sin| of the distance, and the power that the image turns back. Source: J. D.
    Kraus, *Antennas*, flat-sheet reflector (unchecked).

    >>> round(sheet_gain_dbi(0.25), 2)
    7.48
    """
    behind = check("behind_wavelengths", behind_wavelengths, above=0)
    field = np.maximum(2 * np.abs(np.sin(2 * np.pi * behind)), 1e-6)
    resistance = _SELF_OHM - np.asarray(mutual_ohm(2 * behind))
    return plain(
        20 * np.log10(field) + 10 * np.log10(_SELF_OHM / resistance) + DBI_OF_HALF_WAVE_DIPOLE
    )


@functools.lru_cache(maxsize=256)
def _solved(behind, metal):
    """Solution for a dipole ``behind`` wavelengths before the sheet."""
    screen = builds.infinite_sheet(behind * WAVELENGTH_MM)
    build = builds.half_wave_dipole(FREQ_MHZ, wire=f"10 AWG {metal}", screen=screen)
    return wires.solve(build.structure, FREQ_MHZ)


@functools.lru_cache(maxsize=8)
def _realised_curve(metal):
    return np.array([_realised_dbi(_solved(float(s), metal)) for s in _CURVE])


def _realised_dbi(solution):
    return solution.gain_dbi(0) - wires.mismatch_loss_db(solution.impedance_ohm, 75.0)


def sheet_panel():
    """Distance from dipole to sheet, and the metal: gain, match and pattern, solved at every move.

    >>> sheet_panel().verdict[:45]
    'At 0.25 wavelengths (139 mm, 5 1/2 in): +7.47'
    """
    controls = (
        Slider("behind", "Distance to the sheet, wavelengths", *BEHIND, step=0.01),
        Choice("metal", "Metal of the dipole", tuple(METALS)),
    )

    def draw(figure):
        picture = _Sheet(figure)

        def move(behind, metal):
            solution = _solved(float(behind), METALS[metal])
            picture.update(behind, METALS[metal], solution)
            verdict = _said(behind, solution)
            return Words(verdict, f"{verdict} {_pattern_words(picture.gain_dbi)}")

        return picture.artists, move

    return Panel("A dipole before an endless sheet", controls, draw, (8.8, 4.8), 4)


class _Sheet:
    """Left: gain against distance. Right: the pattern at this distance."""

    def __init__(self, figure):
        with style.house():
            self.curve, self.around = figure.subplots(1, 2, width_ratios=(5, 4))
            self._distance()
            self._pattern()
        self.artists = ordered((self.realised, self.now, self.dot, self.square, self.lobe))

    def _distance(self):
        ax, fine = self.curve, np.linspace(*BEHIND[:2], 200)
        ax.set(xlim=(0, BEHIND[1]), ylim=(_LOWEST_DBI, _HIGHEST_DBI))
        ax.set(xlabel="distance to the sheet, wavelengths", ylabel="gain straight ahead, dBi")
        ax.plot(fine, np.maximum(sheet_gain_dbi(fine), -40), color=style.BLACK, ls="--", lw=2)
        key = "dashed: closed form, no loss\nsolid: with loss, into 75 ohm"
        ax.set_title(key, fontsize=11)
        orange = style.MEANING["antenna"]
        (self.realised,) = ax.plot([], [], color=orange, lw=2.5)
        (self.now,) = ax.plot([], [], color=style.GREY, ls=":")
        (self.dot,) = ax.plot([], [], "o", color=style.BLACK, ms=8)
        (self.square,) = ax.plot([], [], "s", color=orange, mec="black", ms=9)

    def _pattern(self):
        ax = self.around
        ax.set(xlim=(-180, 180), ylim=(_LOWEST_DBI, _HIGHEST_DBI), xticks=np.arange(-180, 181, 90))
        ax.set(xlabel="azimuth from the aim, degrees", ylabel="gain, dBi")
        half = np.deg2rad(_AROUND_DEG)
        alone = np.abs(np.cos(np.pi / 2 * np.sin(half))) / np.maximum(np.abs(np.cos(half)), 1e-3)
        gain = 20 * np.log10(np.maximum(alone, 0.01)) + DBI_OF_HALF_WAVE_DIPOLE
        ax.plot(_AROUND_DEG, gain, color=style.GREY, ls="--", lw=2)
        ax.set_title("dashed: the dipole alone\nsolid: with the sheet", fontsize=11)
        (self.lobe,) = ax.plot([], [], color=style.MEANING["antenna"], lw=2.5)

    def update(self, behind, metal, solution):
        """Move to a distance ``behind`` in wavelengths, a ``metal`` and its ``solution``."""
        self.gain_dbi = np.asarray(solution.gain_dbi(_AROUND_DEG))
        low = _LOWEST_DBI + 0.4
        self.realised.set_data(_CURVE, np.maximum(_realised_curve(metal), -40))
        self.now.set_data([behind, behind], [_LOWEST_DBI, _HIGHEST_DBI])
        self.dot.set_data([behind], [max(solution.gain_dbi(0), low)])
        self.square.set_data([behind], [max(_realised_dbi(solution), low)])
        self.lobe.set_data(_AROUND_DEG, np.maximum(self.gain_dbi, -40))


def _said(behind, solution):
    gain, z = solution.gain_dbi(0), solution.impedance_ohm
    size = builds.both_units(behind * WAVELENGTH_MM).replace(" (", ", ")
    where = f"At {behind:g} wavelengths ({size}"
    if gain < _LOWEST_DBI:
        return f"{where}: next to nothing goes straight ahead, less than {signed(_LOWEST_DBI)} dBi."
    lost = -10 * np.log10(solution.efficiency)
    return (
        f"{where}: {signed(gain, 2)} dBi from the solver, {signed(sheet_gain_dbi(behind), 2)} from "
        f"the closed form. It offers {z.real:.0f} ohm: {wires.mismatch_loss_db(z, 75.0):.1f} dB are "
        f"turned back by a line of 75 ohm, {lost:.2f} dB warm the wire; "
        f"{signed(_realised_dbi(solution), 1)} dBi are left."
    )


def _pattern_words(gain_dbi):
    front = gain_dbi[np.abs(_AROUND_DEG) < 90]
    way = _AROUND_DEG[np.abs(_AROUND_DEG) < 90][front >= front.max() - 0.05]
    top = "straight ahead" if 0.0 in way else f"{abs(way[0]):.0f}° to either side"
    return f"The pattern is strongest {top}, {signed(front.max(), 1)} dBi; nothing goes behind."
