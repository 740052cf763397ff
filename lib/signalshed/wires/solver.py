"""Solving at one frequency: impedance, currents and pattern."""

from dataclasses import dataclass

import numpy as np

from ..units import check, number, one_of, plain
from .lines import joined
from .matrix import ETA_OHM, Matrix, cos_sin
from .segmented import C_M_S, MAX_UNKNOWNS, MIRROR, Segmented, segmented_for
from .shape import PER_WAVELENGTH, Structure

GAIN_FLOOR_DB = -120.0
"""What a direction of no radiation at all is given, dB."""


def directions(azimuth_deg, elevation_deg):
    """Unit vectors outward, and those of horizontal and vertical polarization, each (3, ...)."""
    turn, rise = np.deg2rad(azimuth_deg), np.deg2rad(elevation_deg)
    one = np.ones(np.broadcast_shapes(turn.shape, rise.shape))
    x, y, z, level = np.cos(turn), np.sin(turn), np.sin(rise), np.cos(rise)
    out = np.stack([level * x, -level * y, z * one])
    left = np.stack([y * one, x * one, 0 * one])
    return out, left, np.stack([-z * x, z * y, level * one])


def far_field(segmented, k, currents, out, left, up):
    """Horizontal and vertical field of ``currents`` (unknowns, n), as (2, directions, n) in A m."""
    moments = segmented.moments(currents)
    field = _sum_waves(k, segmented.segments.points, moments, out)
    if segmented.sheet_m is not None:
        image = segmented.segments.mirrored(MIRROR, segmented.sheet_m).points
        field += _sum_waves(k, image, -moments * MIRROR[:, None], out)
        field[:, out[0] < 0] = 0
    return np.einsum("pxd,xdn->pdn", np.stack([left, up]), field)


def _sum_waves(k, points, moments, out):
    """Moments (2, segments, 3, n) summed in the directions ``out`` (3, D), (3, D, n)."""
    waves = cos_sin(k * (points @ out)).reshape(-1, out.shape[1])
    of = moments.reshape(2 * moments.shape[1], -1).T
    real = np.concatenate([of.real, of.imag]), np.concatenate([-of.imag, of.real])
    summed = np.concatenate(real, axis=1) @ waves  # twice as fast as with complex waves
    real, imag = summed.reshape(2, 3, moments.shape[3], -1)
    return (real + 1j * imag).swapaxes(1, 2)


@dataclass(frozen=True, eq=False)
class Solution:
    """One structure at one frequency.

    ``freq_mhz``; ``impedance_ohm`` complex, at the joint of all feeds; ``feed_impedance_ohm`` one by one
    in the order given; ``efficiency`` power radiated over power taken, 0 to 1. ``structure`` and
    ``segmented`` what was solved, ``currents`` the complex amperes on it for one volt at the joint.
    """

    structure: Structure
    freq_mhz: float
    impedance_ohm: complex
    feed_impedance_ohm: np.ndarray
    efficiency: float
    segmented: Segmented
    currents: np.ndarray

    def gain_dbi(self, azimuth_deg, elevation_deg=0.0, polarization=None):
        """Gain over an isotropic radiator in dB, mismatch left out.

        Parameters: ``azimuth_deg`` clockwise from forward, ``elevation_deg`` up, both broadcast;
        ``polarization`` "horizontal", "vertical" or None for both together. Returns the broadcast
        shape; behind an infinite sheet, -120.

        >>> from .shape import Wire
        >>> half = solve(Structure([Wire([(0, -0.12, 0), (0, 0.12, 0)], 1e-3)], (0, 0, 0)), 600)
        >>> round(half.gain_dbi(0), 1)
        2.1
        """
        azimuth = check("azimuth_deg", azimuth_deg)
        look = directions(azimuth, check("elevation_deg", elevation_deg, low=-90, high=90))
        k = wave_number(self.freq_mhz)
        flat = (axis.reshape(3, -1) for axis in look)
        field = far_field(self.segmented, k, self.currents[:, None], *flat)[..., 0]
        gains = gain(field, k, (1 / self.impedance_ohm).real / 2)
        return plain(in_dbi(gains, polarization).reshape(look[0].shape[1:]))


POLARIZATIONS = ("horizontal", "vertical")


def gain(field, k, power_w):
    """Gain over an isotropic radiator, a ratio, from far fields, wave number and power taken."""
    return ETA_OHM * k**2 / (8 * np.pi * power_w) * np.abs(field) ** 2


def in_dbi(gains, polarization=None):
    """dBi of ``gains`` (2, ...), horizontal and vertical: of one polarization, or both together."""
    if polarization is None:
        total = gains.sum(axis=0)
    else:
        one_of("polarization", polarization, (*POLARIZATIONS, None))
        total = gains[POLARIZATIONS.index(polarization)]
    return 10 * np.log10(np.maximum(total, 10 ** (GAIN_FLOOR_DB / 10)))


def wave_number(freq_mhz):
    """2 pi over the wavelength, per metre."""
    return 2 * np.pi * 1e6 * freq_mhz / C_M_S


@dataclass(frozen=True, eq=False)
class Driven:
    """Segments driven by one volt at the joint: ``currents`` (unknowns,), ``volts`` at the ports (P,),
    ``admittance`` at the joint, ``efficiency``, the loss of joining lines inside."""

    currents: np.ndarray
    volts: np.ndarray
    admittance: complex
    efficiency: float


def driven(segmented, freq_mhz, ports):
    """Drive a Segmented whose currents for one volt at each port alone are ``ports`` (unknowns, P)."""
    between = segmented.ports.T @ ports
    volts, admittance = (x[0] for x in joined(segmented.lines, [freq_mhz], between[None]))
    currents = ports @ volts
    lost = (
        np.sqrt(freq_mhz)
        * lost_at_1_mhz(segmented, currents[:, None], currents[:, None]).real.item()
    )
    kept = np.vdot(volts, between @ volts).real - lost
    return Driven(currents, volts, complex(admittance), kept / admittance.real)


def lost_at_1_mhz(segmented, one, other):
    """Loss between columns of currents, conj(one) x other x resistance, as it were at 1 MHz."""
    a, b = (segmented.end_currents(currents) for currents in (one, other))
    weighted = np.stack([2 * b[0] + b[1], b[0] + 2 * b[1]]) * (segmented.loss / 6)[:, None]
    return np.einsum("esm,esn->mn", a.conj(), weighted)


def solve(structure, freq_mhz, *, max_unknowns=MAX_UNKNOWNS, per_wavelength=PER_WAVELENGTH):
    """Currents, impedance and pattern at one frequency.

    Parameters: ``structure`` a Structure; ``freq_mhz`` above 0; ``max_unknowns`` raises the limit on
    size; ``per_wavelength`` the fewest segments in a wavelength of a wire whose segments were not typed.
    Returns a Solution. Raises ValueError for wires too fat for their segments and for drawings
    too large.

    >>> from .shape import Wire
    >>> half = Structure([Wire([(0, -0.12, 0), (0, 0.12, 0)], 1e-3)], feed=(0, 0, 0))
    >>> round(solve(half, 600).impedance_ohm.real)
    77
    """
    freq = number("freq_mhz", freq_mhz, above=0)
    segmented = segmented_for(
        structure, freq, max_unknowns, check("per_wavelength", per_wavelength, low=4)
    )
    k = wave_number(freq)
    matrix = Matrix(segmented)
    found = driven(segmented, freq, matrix.currents(matrix.times_k(k), k))
    volts = found.volts if segmented.lines else np.ones(len(segmented.fed))
    return Solution(
        structure,
        freq,
        1 / found.admittance,
        volts * segmented.way / found.currents[segmented.fed],
        found.efficiency,
        segmented,
        found.currents,
    )


def scattered(structure, freq_mhz):
    """How far wires are from resonance for a wave straight ahead, polarized along y.

    Reactance over resistance of the re-radiated wave: 0 in resonance, positive for wires that are too
    long. Feeds are closed.
    Parameters: ``structure`` a Structure, without a sheet; ``freq_mhz`` above 0.

    >>> from .shape import Wire
    >>> short = Structure([Wire([(0, -0.1, 0), (0, 0.1, 0)], 1e-3)], feed=(0, 0, 0))
    >>> scattered(short, 600) < 0
    True
    """
    freq = number("freq_mhz", freq_mhz, above=0)
    segmented, k = segmented_for(structure, freq, MAX_UNKNOWNS), wave_number(freq)
    along = segmented.segments.along[:, 1]
    wave = np.exp(1j * k * (segmented.segments.start[:, 0] + segmented.segments.along[:, 0] / 2))
    push = np.concatenate([-along, along]) * np.tile(wave, 2) / 2
    felt = push[segmented.rising] - push[segmented.falling]
    matrix = Matrix(segmented, felt[:, None])
    current = matrix.currents(matrix.times_k(k), 1.0)[:, 0]
    reaction = 1 / (current @ felt.conj())
    return float(reaction.imag / reaction.real)
