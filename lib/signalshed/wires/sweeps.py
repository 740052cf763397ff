"""Many frequencies at once: a few solved in full, the rest from mixtures of their currents, checked."""

from dataclasses import dataclass

import numpy as np

from ..units import check, plain
from . import solver
from .lines import joined
from .matrix import Matrix
from .segmented import C_M_S, MAX_UNKNOWNS, segmented_for
from .shape import Structure

AZIMUTHS_DEG = np.arange(-180.0, 180.0, 5.0)
ALLOWED_ERROR = 1e-3
"""Largest relative difference of impedance and field at the frequency held back: 0.01 dB."""


@dataclass(frozen=True, eq=False)
class Sweep:
    """A structure at many frequencies.

    ``freq_mhz`` (F,); ``azimuth_deg`` (A,); ``impedance_ohm`` (F,) complex, at the joint of all feeds;
    ``efficiency`` (F,); ``solved`` how many frequencies were solved in full; ``error`` the relative
    difference found at the one held back (0 when every one was solved in full).
    """

    structure: Structure
    freq_mhz: np.ndarray
    azimuth_deg: np.ndarray
    impedance_ohm: np.ndarray
    efficiency: np.ndarray
    solved: int
    error: float
    _gain: np.ndarray

    def gain_dbi(self, polarization=None):
        """Gain in dBi (F, A), mismatch left out; ``polarization`` as for Solution.gain_dbi."""
        return solver.in_dbi(self._gain, polarization)

    def realised_gain_dbi(self, line_ohm, polarization=None):
        """Gain less the mismatch to a line of ``line_ohm``, dBi (F, A); ``polarization`` or both."""
        return self.gain_dbi(polarization) - mismatch_loss_db(self.impedance_ohm, line_ohm)[:, None]


def mismatch_loss_db(impedance_ohm, line_ohm):
    """Power turned back at the joint of antenna and line, as a loss in dB.

    Parameters: ``impedance_ohm`` complex, any shape, resistance above 0; ``line_ohm`` above 0. From
    the reflection coefficient (Z - R) / (Z + R).

    >>> round(mismatch_loss_db(150, 75), 3)
    0.512
    """
    line = check("line_ohm", line_ohm, above=0)
    z = np.asarray(impedance_ohm, complex)
    check("impedance_ohm, its resistance,", z.real, above=0)
    return plain(-10 * np.log10(4 * z.real * line / np.abs(z + line) ** 2))


def sweep(
    structure, freq_mhz, azimuth_deg=AZIMUTHS_DEG, *, elevation_deg=0.0, max_unknowns=MAX_UNKNOWNS
):
    """Impedance and pattern at many frequencies, sharing all geometry.

    Parameters: ``structure`` a Structure; ``freq_mhz`` (F,) above 0, in any order; ``azimuth_deg`` (A,)
    clockwise from forward; ``elevation_deg`` one angle up, or one for each azimuth; ``max_unknowns`` as
    for solve. Returns a Sweep.

    >>> from .shape import Wire
    >>> half = Structure([Wire([(0, -0.12, 0), (0, 0.12, 0)], 1e-3)], feed=(0, 0, 0))
    >>> sweep(half, [500, 600, 700]).gain_dbi().shape
    (3, 72)
    """
    freq = np.atleast_1d(check("freq_mhz", freq_mhz, above=0))
    azimuth = np.atleast_1d(check("azimuth_deg", azimuth_deg))
    elevation = check("elevation_deg", elevation_deg, low=-90, high=90)
    segmented = segmented_for(structure, freq.max(), max_unknowns)
    look = solver.directions(azimuth, np.broadcast_to(elevation, azimuth.shape))
    full = _Full(segmented, look)
    field, impedance, efficiency, error = _mixed(full, freq)
    k, power = solver.wave_number(freq)[:, None], (1 / impedance[:, None]).real / 2
    gain = solver.gain(field.transpose(1, 0, 2), k, power)
    return Sweep(structure, freq, azimuth, impedance, efficiency, full.solved, error, gain)


class _Full:
    """Solves in full, and counts."""

    def __init__(self, segmented, look):
        self.segmented, self.look = segmented, look
        self.matrix = Matrix(segmented)
        self.solved = 0

    def __call__(self, k):
        """Matrix times k and currents at one wave number."""
        self.solved += 1
        times_k = self.matrix.times_k(k)
        return times_k, self.matrix.currents(times_k, k)

    def field(self, k, currents):
        return solver.far_field(self.segmented, k, currents, *self.look)

    def every(self, freq):
        """All frequencies one by one: field (F, 2, A), impedance, efficiency, no error."""
        rows = []
        for f in freq:
            k = solver.wave_number(f)
            found = solver.driven(self.segmented, f, self(k)[1])
            field = self.field(k, found.currents[:, None])[..., 0]
            rows.append((field, 1 / found.admittance, found.efficiency))
        return *(np.array(column) for column in zip(*rows, strict=True)), 0.0


def _mixed(full, freq):
    """As ``every``, but from a reduced basis wherever that holds and saves work."""
    k = solver.wave_number(freq)
    nodes = _nodes(full.segmented, k)
    if len(nodes) + 1 > 0.6 * len(freq):
        return full.every(freq)
    known = [(node, *full(node)) for node in nodes]
    while len(known) < 0.6 * len(freq):
        basis = _Basis(full, known)
        nodes = np.array([node for node, *_ in known])
        error, failed = 0.0, None
        for unseen in (_worst(nodes, k.min(), k.max()), basis.nearest_to_resonance(k)):
            times_k, currents = full(unseen)
            error = max(error, basis.error(unseen, currents))
            if error >= ALLOWED_ERROR:
                failed = (unseen, times_k, currents)
                break
        if failed is None:
            return *basis.at(k), error
        known.append(failed)
    return full.every(freq)


def _nodes(segmented, k):
    """First to solve: Chebyshev points, four and one per radian of phase that half the drawing gains."""
    gained = np.ptp(k) * np.linalg.norm(np.ptp(segmented.segments.start, axis=0)) / 2
    count = int(4 + gained)
    middle, half = (k.max() + k.min()) / 2, np.ptp(k) / 2
    return middle + half * np.cos(np.pi * (np.arange(count) + 0.5) / count)


def _worst(nodes, low, high):
    """Where between ``low`` and ``high`` a polynomial through ``nodes`` is least held."""
    trial = np.linspace(low, high, 201)
    return trial[np.argmax(np.abs(trial[:, None] - nodes).prod(axis=1))]


class _Basis:
    """Currents at a few wave numbers, and everything between as their best mixture."""

    def __init__(self, full, known):
        nodes, matrices, currents = zip(*known, strict=True)
        self.full, self.nodes = full, np.array(nodes)
        self.currents = np.linalg.qr(np.concatenate(currents, axis=1))[0]
        q = self.currents
        self.small = np.stack([full.matrix.between(matrix, q) for matrix in matrices])
        self.fields = np.stack([full.field(node, q) for node in nodes])
        self.small_loss = solver.lost_at_1_mhz(full.segmented, q, q)
        self.small_ports = q.T @ full.segmented.ports

    def at(self, k):
        """Field (F, 2, A), impedance (F,) and efficiency (F,) at wave numbers ``k``."""
        weights = _lagrange(self.nodes, k)
        small = np.tensordot(weights, self.small, axes=1)
        ports = k[:, None, None] * np.linalg.solve(small, self.small_ports[None])
        freq = k * C_M_S / (2e6 * np.pi)
        between = self.small_ports.T @ ports
        volts, admittance = joined(self.full.segmented.lines, freq, between)
        mix = (ports @ volts[..., None])[..., 0]
        field = np.einsum("fp,fb,pcab->fca", weights, mix, self.fields, optimize=True)
        lost = np.sqrt(freq) * np.einsum("fa,ab,fb->f", mix.conj(), self.small_loss, mix).real
        kept = np.einsum("fp,fpq,fq->f", volts.conj(), between, volts).real - lost
        return field, 1 / admittance, kept / admittance.real

    def nearest_to_resonance(self, k):
        """The wave number of ``k``, away from those solved, where the small matrix is nearest singular.

        There, if anywhere, a screen rings between the frequencies that were solved.
        """
        small = np.tensordot(_lagrange(self.nodes, k), self.small, axes=1)
        smallest = np.linalg.svd(small, compute_uv=False)[:, -1]
        step = np.ptp(k) / max(len(k) - 1, 1)
        near_node = np.abs(k[:, None] - self.nodes).min(axis=1) < 0.3 * step
        return k[np.argmin(np.where(near_node, np.inf, smallest))]

    def error(self, k, currents):
        """Largest relative difference from a full solution: of impedance, and of field."""
        field, impedance, _ = self.at(np.array([k]))
        found = solver.driven(self.full.segmented, k * C_M_S / (2e6 * np.pi), currents)
        true_field = self.full.field(k, found.currents[:, None])[..., 0]
        of_field = np.abs(field[0] - true_field).max() / np.abs(true_field).max()
        return float(max(of_field, abs(impedance[0] * found.admittance - 1)))


def _lagrange(nodes, k):
    """Weights (F, P) of the polynomial through ``nodes``."""
    others = ~np.eye(len(nodes), dtype=bool)
    gaps = np.where(others, nodes[:, None] - nodes, 1.0)
    steps = np.where(others, k[:, None, None] - nodes, gaps)
    return (steps / gaps).prod(axis=2)
