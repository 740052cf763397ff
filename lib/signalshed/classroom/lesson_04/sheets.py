"""A dipole before an endless sheet: the closed form, and the solver beside it while a slider moves."""

import functools

import numpy as np
from scipy.special import sici

from ... import builds, wires
from ...plots import style
from ...units import DBI_OF_HALF_WAVE_DIPOLE, LIGHT_M_MHZ, check, plain
from ...words import signed
from .. import Choice, GuessChoice, Panel, Slider, Words
from ..canvas import Moving, blank, upright

FREQ_MHZ = 539.0
"""RF 25 of the United States: one channel for every picture of the lesson."""
WAVELENGTH_MM = 1000 * LIGHT_M_MHZ / FREQ_MHZ
BEHIND = (0.03, 0.75, 0.25)
"""Nearest, farthest and first distance to the sheet, wavelengths."""
METALS = {"copper": "copper", "stainless steel": "stainless"}
_CURVE = np.arange(BEHIND[0], BEHIND[1] + 0.001, 0.02)
_CURVE_MM = _CURVE * WAVELENGTH_MM
SHARES = ("into the cable", "turned back", "warms the wire")
_COLOURS = (style.MEANING["antenna"], style.SKY_BLUE, style.VERMILION)
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
def _curve_of(metal, what):
    return np.array([what(_solved(float(s), metal)) for s in _CURVE])


def shares_pct(solution):
    """Where the power goes that a perfect antenna of the same pattern would hand over, per cent.

    Into a cable of 75 ohm, turned back at it, warming the wire: three shares that make 100.
    Parameters: ``solution`` of shed.wires.solve.

    >>> shares_pct(_solved(0.25, "copper")).round().tolist()
    [96.0, 4.0, 0.0]
    """
    into = 10 ** (-wires.mismatch_loss_db(solution.impedance_ohm, 75.0) / 10)
    kept = float(solution.efficiency)
    return 100 * np.array([into * kept, 1 - into, into * (1 - kept)])


def _realised_dbi(solution):
    return solution.gain_dbi(0) - wires.mismatch_loss_db(solution.impedance_ohm, 75.0)


def sheet_panel():
    """Distance from dipole to sheet, and the metal: image, gain and where the power goes.

    Solved at every move.

    >>> sheet_panel().verdict[-22:]
    'what does the gain do?'
    """
    controls = (
        Slider("behind", "Sheet distance, wavelengths", *BEHIND, step=0.01),
        Choice("metal", "Metal of the dipole", tuple(METALS)),
        GuessChoice(
            "nearer",
            "Your guess: it",
            _NEARER,
            question="The sheet comes nearer than a quarter wave: what does the gain do?",
        ),
    )

    return Panel("A dipole before an endless sheet", controls, _Sheet.of(), (8.8, 5.2))


class _Sheet(Moving):
    """Dipole, sheet and image; under them the gain against distance; right, where the power goes."""

    def draw(self, figure):
        grid = figure.add_gridspec(2, 2, width_ratios=(5, 4), height_ratios=(2, 5))
        self._scene(figure.add_subplot(grid[0, 0]))
        self._distance(figure.add_subplot(grid[1, 0]))
        self._shares(figure.add_subplot(grid[:, 1]))

    def _scene(self, ax):
        """From above: the sheet stays, dipole and image move away from it. The aim is to the right."""
        ax.set(xlim=(-BEHIND[1] * 1.06, BEHIND[1] * 1.06), ylim=(-0.5, 0.5), yticks=[], xticks=[])
        ax.grid(False)
        ax.spines["left"].set_visible(False)
        ax.axvline(0, color=style.BLACK, lw=5)
        ax.set_title("image | sheet | dipole, the aim to the right", fontsize=11)
        self.way = self.line(ax, color=style.GREY, lw=1.2, ls=":")
        self.image = self.line(ax, color=style.GREY, lw=4, ls=(0, (1.2, 1.2)))
        orange = style.MEANING["antenna"]
        self.dipole = self.line(ax, color=orange, lw=4, solid_capstyle="round")
        signs = (("+", "left"), ("\N{MINUS SIGN}", "right"))
        self.up, self.down = (
            self.keep(ax.text(0, 0.28, sign, ha=side, weight="bold", fontsize=14))
            for sign, side in signs
        )

    def _distance(self, ax):
        fine = np.linspace(*BEHIND[:2], 200)
        ax.set(xlim=(0, BEHIND[1]), ylim=(_LOWEST_DBI, _HIGHEST_DBI))
        ax.set(xlabel="distance to the sheet, wavelengths", ylabel="straight ahead, dBi")
        ax.set_title("dashed: gain, closed form; solid: delivered", fontsize=11)
        orange = style.MEANING["antenna"]
        self.fine = fine, np.maximum(sheet_gain_dbi(fine), -40)
        self.closed = self.line(ax, color=style.BLACK, ls="--", lw=2)
        self.realised = self.line(ax, color=orange, lw=2.5)
        self.now = self.line(ax, color=style.GREY, ls=":")
        self.dot = self.line(ax, "o", color=style.BLACK, ms=8)
        self.square = self.line(ax, "s", color=orange, mec="black", ms=9)

    def _shares(self, ax):
        ax.set(xlim=(_CURVE_MM[0], _CURVE_MM[-1]), ylim=(0, 100))
        ax.set(xlabel="distance on RF 25, mm", ylabel="of the power caught, %")
        ax.set_title("where the power goes", fontsize=11)
        ax.grid(False)
        self.parts = [
            self.fill(ax, facecolor=colour, hatch=hatch, edgecolor="white", lw=0.6)
            for colour, hatch in zip(_COLOURS, ("", "//", ""), strict=True)
        ]
        self.here = self.line(ax, color=style.BLACK, ls=":", lw=2)
        corner = {"transform": ax.transAxes, "ha": "right", "va": "bottom", "bbox": style.PAPER}
        self.names = self.text(ax, 0.96, 0.05, **corner)

    def move(self, behind, metal, guess, placed):
        self._place(behind)
        if not placed:
            blank(self.closed, self.realised, self.now, self.dot, self.square)
            blank(*self.parts, self.here, self.names)
            return Words("", _scene_words(behind))
        solution = _solved(float(behind), METALS[metal])
        self._gain(behind, METALS[metal], solution)
        self._stack(behind, METALS[metal], solution)
        verdict = _said(behind, solution)
        if guess and behind == BEHIND[2]:
            verdict = f"{_nearer_words(guess)} {verdict}"
        return Words(verdict, f"{verdict} {_scene_words(behind)}", _NEARER[_way()])

    def _place(self, behind):
        upright(self.dipole, behind, -0.25, 0.25)
        upright(self.image, -behind, -0.25, 0.25)
        self.way.set_data([-behind, behind], [0, 0])
        self.up.set_position((behind, 0.28))
        self.down.set_position((-behind, 0.28))

    def _gain(self, behind, metal, solution):
        low = _LOWEST_DBI + 0.4
        self.closed.set_data(*self.fine)
        self.realised.set_data(_CURVE, np.maximum(_curve_of(metal, _realised_dbi), -40))
        upright(self.now, behind, _LOWEST_DBI, _HIGHEST_DBI)
        self.dot.set_data([behind], [max(solution.gain_dbi(0), low)])
        self.square.set_data([behind], [max(_realised_dbi(solution), low)])

    def _stack(self, behind, metal, solution):
        """The three shares over all distances, and their names with what they are here."""
        tops = np.cumsum(_curve_of(metal, shares_pct).T, axis=0)
        floors = np.vstack([np.zeros(len(_CURVE)), tops[:-1]])
        for part, low, high in zip(self.parts, floors, tops, strict=True):
            part.set_xy(np.c_[np.r_[_CURVE_MM, _CURVE_MM[::-1]], np.r_[low, high[::-1]]])
        upright(self.here, behind * WAVELENGTH_MM, 0, 100)
        shares = [f"{n} {s:.0f} %" for n, s in zip(SHARES, shares_pct(solution), strict=True)]
        self.names.set_text("\n".join(["from the top:", *shares[::-1]]))


_NEARER = ("rises", "stays", "falls")


def _way():
    """Which of the three the gain does from a quarter of a wave to a tenth."""
    gained_db = sheet_gain_dbi(0.1) - sheet_gain_dbi(0.25)
    return 1 - int(np.sign(np.round(gained_db, 1)))


def _nearer_words(guess):
    near, quarter = (signed(sheet_gain_dbi(at), 1) for at in (0.1, 0.25))
    so = "and it does" if guess == _NEARER[_way()] else f"it {_NEARER[_way()]}"
    return (
        f"You said it {guess}; {so}, from {quarter} dBi at a quarter of a wave to {near} dBi at a "
        "tenth."
    )


def _said(behind, solution):
    gain, z = solution.gain_dbi(0), solution.impedance_ohm
    size = builds.both_units(behind * WAVELENGTH_MM).replace(" (", ", ")
    where = f"At {behind:g} wavelengths ({size}"
    if gain < _LOWEST_DBI:
        return f"{where}: next to nothing goes straight ahead, less than {signed(_LOWEST_DBI)} dBi."
    into, back, warm = shares_pct(solution)
    return (
        f"{where}: {signed(gain, 2)} dBi from the solver, {signed(sheet_gain_dbi(behind), 2)} from "
        f"the closed form. It offers {z.real:.0f} ohm; of the power caught {into:.0f} % go into a cable "
        f"of 75 ohm, {back:.0f} % are turned back, {warm:.0f} % warm the wire; "
        f"{signed(_realised_dbi(solution), 1)} dBi are left."
    )


def _scene_words(behind):
    mm = behind * WAVELENGTH_MM
    return f"The dipole stands {mm:.0f} mm before the sheet, its image as far behind, turned over."
