"""One antenna as the survey sees it: gain by channel and direction, and where it may live.

Gain is *realised* gain over a half-wave dipole (dBd) at the balun's output: mismatch and balun are
inside it. However an antenna came to be (numbers from a label, a pattern table, wires, a trial), the
survey sees the same table: frequencies by azimuths.
"""

import functools
from dataclasses import dataclass, field, replace

import numpy as np

from .. import channels, facts
from ..units import DBI_OF_HALF_WAVE_DIPOLE, check, plain, settle

AZIMUTHS_DEG = np.arange(-180.0, 180.0, 5.0)
EVERYWHERE = tuple(facts.table("mount_kinds")["kind"])
"""Every kind of mount there is."""

_LEAST_DIRECTIVE_DBD = 10 * np.log10(1.5) - DBI_OF_HALF_WAVE_DIPOLE
"""The best direction of a short dipole without any loss: what falls below it was lost, not elsewhere."""


EDGE_MHZ = 4.0
"""So far beyond the channels of a trial, half a channel or a little more, what it measured holds."""


@dataclass(frozen=True, eq=False)
class Antenna:
    """An antenna: a table of realised gain, and what the advice needs to know beside it.

    ``name`` as tables show it; ``freq_mhz`` (F,) rising; ``azimuth_deg`` (A,) rising, within one
    turn, clockwise from the aim;
    ``gain_dbd_table`` (F, A). ``polarization`` horizontal or vertical, as built. ``spread_db`` is one
    standard deviation of the gain. ``lives`` names the kinds of mount it may live on, ``effort`` runs
    from 1 (buy or bend in an evening) to 5, ``source`` is numbers, table, build or trial;
    ``revision`` tells one state of a rebuilt antenna from the next, ``note`` is free text. ``build`` is
    the shed.builds Build behind it, or None; a notebook then shows its drawing and cut list too.
    ``measured_mhz`` and ``measured_sd_db`` (k,) are the channels a trial measured and the spread on
    each, where the antenna is described beyond them too, there with ``described_sd_db``; else empty.
    ``label_lean_db`` is how much less than its label says ``gain_dbd_table`` holds; 0 without a label.
    """

    name: str
    freq_mhz: np.ndarray
    azimuth_deg: np.ndarray
    gain_dbd_table: np.ndarray
    polarization: str = "horizontal"
    spread_db: float = 3.0
    lives: tuple = EVERYWHERE
    effort: int = 2
    revision: str = "1"
    source: str = "numbers"
    note: str = ""
    build: object = field(default=None, repr=False)
    measured_mhz: tuple = ()
    measured_sd_db: tuple = ()
    described_sd_db: float = np.nan
    label_lean_db: float = 0.0

    def __post_init__(self):
        freq = np.atleast_1d(check("freq_mhz", self.freq_mhz, above=0))
        azimuth = np.atleast_1d(check("azimuth_deg", self.azimuth_deg, low=-360, high=360))
        gain = np.atleast_2d(check("gain_dbd_table", self.gain_dbd_table, low=-120, high=60))
        if gain.shape != (freq.size, azimuth.size):
            raise ValueError(
                f"Antenna {self.name!r}: gain_dbd_table has shape {gain.shape}; it must be "
                f"frequencies by azimuths, {(freq.size, azimuth.size)}."
            )
        for name, axis in (("freq_mhz", freq), ("azimuth_deg", azimuth)):
            if np.any(np.diff(axis) <= 0):
                raise ValueError(f"Antenna {self.name!r}: {name} must rise from row to row.")
        if azimuth[-1] - azimuth[0] >= 360:
            raise ValueError(f"Antenna {self.name!r}: azimuth_deg must stay within one turn.")
        if self.polarization not in ("horizontal", "vertical"):
            raise ValueError(
                f"Antenna {self.name!r}: polarization is {self.polarization!r}; it must be "
                "horizontal or vertical."
            )
        check("spread_db", self.spread_db, low=0)
        arrays = {"freq_mhz": freq, "azimuth_deg": azimuth, "gain_dbd_table": gain}
        settle(self, lives=tuple(self.lives), **arrays)

    def covers(self, freq_mhz):
        """Whether the table reaches ``freq_mhz`` (any shape): a bool or an array of bools.

        >>> from signalshed.antenna import plain_dipole
        >>> plain_dipole().covers([69, 473]).tolist()
        [False, True]
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        slack = 1e-3
        return plain((freq >= self.freq_mhz[0] - slack) & (freq <= self.freq_mhz[-1] + slack))

    def spread_at_db(self, freq_mhz):
        """One standard deviation of the gain at ``freq_mhz`` (any shape): measured, or as described.

        Beyond the channels of a trial, in the same band, it grows from the trial's to the description's.

        >>> from signalshed.antenna import plain_dipole
        >>> known = {"measured_mhz": (470, 600), "measured_sd_db": (1.0, 2.0), "described_sd_db": 3.0}
        >>> spread = plain_dipole().renamed("mine", **known).spread_at_db([535, 610, 700, 177])
        >>> spread.round(1).tolist()
        [1.5, 1.8, 3.0, 3.0]
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        if not self.measured_mhz:
            return plain(np.full(freq.shape, self.spread_db))
        out = np.full(freq.shape, float(self.described_sd_db))
        known, sd = np.array(self.measured_mhz), np.array(self.measured_sd_db)
        for band in np.unique(band_number(known)):
            here, mine = band_number(freq) == band, band_number(known) == band
            grown = _grown(freq, known[mine], sd[mine], out)
            out = np.where(here, grown, out)
        return plain(out)

    def gain_dbd(self, freq_mhz, azimuth_deg=0.0):
        """Realised gain in dBd at the balun's output.

        Parameters: ``freq_mhz`` and ``azimuth_deg`` (clockwise from the aim, any turn) broadcast.
        Linear in azimuth round the closed circle and linear in frequency. Raises ValueError beyond
        the antenna's frequencies: nothing is extrapolated.

        >>> from signalshed.antenna import plain_dipole
        >>> round(plain_dipole().gain_dbd(600, 0), 2)
        0.0
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        if not np.all(self.covers(freq)):
            first = freq[~np.asarray(self.covers(freq))].flat[0]
            raise ValueError(
                f"{self.name!r} is known from {self.freq_mhz[0]:g} to {self.freq_mhz[-1]:g} MHz; "
                f"{first:g} MHz is outside."
            )
        low, weight = _bracket(self.freq_mhz, freq)
        high = np.minimum(low + 1, self.freq_mhz.size - 1)
        left, share = self._around(check("azimuth_deg", azimuth_deg))
        right = (left + 1) % self.azimuth_deg.size
        table = self.gain_dbd_table
        at_low = table[low, left] * (1 - share) + table[low, right] * share
        at_high = table[high, left] * (1 - share) + table[high, right] * share
        return plain(at_low * (1 - weight) + at_high * weight)

    @functools.cached_property
    def _loss_db(self):
        if self.build is None:
            return np.maximum(_LEAST_DIRECTIVE_DBD - self.gain_dbd_table.max(axis=1), 0.0)
        from .. import builds

        return np.asarray(builds.own_loss_db(self.build, self.freq_mhz))

    def loss_db(self, freq_mhz):
        """What the antenna itself keeps of all that it hears, dB: mismatch, balun, resistance of wires.

        From the wires of its build; without one, what its best direction lacks to a short dipole, the
        least directive antenna there is: a lower bound. Noise from outside is less by as much.
        Parameters: ``freq_mhz`` any shape, taken at the nearest where it lies outside.

        >>> from signalshed.antenna import from_numbers
        >>> round(from_numbers("short whip", [54, 88], -10).loss_db(69), 1)
        9.6
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        return plain(np.interp(freq, self.freq_mhz, self._loss_db))

    def _around(self, azimuth_deg):
        """Left neighbour on the closed circle, and the share of the right one."""
        start = self.azimuth_deg[0]
        turned = start + np.mod(azimuth_deg - start, 360.0)
        left = np.searchsorted(self.azimuth_deg, turned, side="right") - 1
        step = np.diff(self.azimuth_deg, append=start + 360.0)
        return left, (turned - self.azimuth_deg[left]) / step[left]

    @functools.cached_property
    def on_its_side(self):
        """This antenna turned a quarter round its aim: the other polarization, the other cut.

        Toward the aim it hears as much as before; round it by the pattern across the plane it was
        known in: from the wires of its build, else as usual for such an antenna.

        >>> from signalshed.antenna import plain_dipole
        >>> upright = plain_dipole().on_its_side
        >>> upright.polarization, upright.gain_dbd(500, [0, 90]).tolist()
        ('vertical', [0.0, 0.0])
        """
        from .hung import other_cut_db

        ahead = np.atleast_1d(self.gain_dbd(self.freq_mhz, 0.0))[:, None]
        turned = {"horizontal": "vertical", "vertical": "horizontal"}[self.polarization]
        table = ahead + other_cut_db(self, AZIMUTHS_DEG)
        return replace(self, azimuth_deg=AZIMUTHS_DEG, gain_dbd_table=table, polarization=turned)

    @functools.cached_property
    def _mean_dbd(self):
        even = self.gain_dbd(self.freq_mhz[:, None], AZIMUTHS_DEG)
        return 10 * np.log10((10 ** (even / 10)).mean(axis=1))

    def mean_dbd(self, freq_mhz):
        """Mean gain over all azimuths, dBd: what is left where a wave comes from everywhere.

        Parameters: ``freq_mhz`` any shape, within the antenna's table.

        >>> from signalshed.antenna import plain_dipole
        >>> round(plain_dipole().mean_dbd(500), 1)
        -3.5
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        return plain(np.interp(freq, self.freq_mhz, self._mean_dbd))

    def beamwidth_deg(self, freq_mhz):
        """Width of the main lobe 3 dB below its top, degrees; 360 if it never falls so far.

        Parameters: ``freq_mhz`` one frequency within the antenna's table.

        >>> from signalshed.antenna import plain_dipole
        >>> round(plain_dipole().beamwidth_deg(600))
        78
        """
        fine = np.arange(-180.0, 180.0, 0.5)
        gain = self.gain_dbd(freq_mhz, fine)
        top = int(np.argmax(gain))
        low = np.roll(gain, -top) < gain[top] - 3.0
        if not low.any():
            return 360.0
        return float(0.5 * (np.argmax(low) + np.argmax(low[::-1])))

    def renamed(self, name, **changes):
        """The same antenna under another ``name``, with ``changes`` to other fields.

        >>> from signalshed.antenna import plain_dipole
        >>> plain_dipole().renamed("mine", effort=1).name
        'mine'
        """
        return replace(self, name=name, **changes)

    def __repr__(self):
        low, high = self.freq_mhz[[0, -1]]
        return f"<antenna: {self.name}, {low:g} to {high:g} MHz, from {self.source}>"


def band_number(freq_mhz):
    """Which band each of ``freq_mhz`` (any shape) lies in: 0 low VHF, 1 high VHF, 2 UHF.

    >>> band_number([69, 195, 539]).tolist()
    [0, 1, 2]
    """
    return np.searchsorted(channels.borders_mhz(), np.asarray(freq_mhz, float))


def _grown(freq, known, sd, described):
    """Sd at ``freq`` beside measured channels of one band: measured, then growing with distance."""
    beyond = np.maximum(np.maximum(known[0] - freq, freq - known[-1]), 0.0)
    share = -np.expm1(-2 * beyond / facts.value("judgement", "trial_reach_mhz"))
    grown = np.sqrt(sd.mean() ** 2 + share * described**2)
    grown = np.minimum(grown, np.maximum(described, sd.mean()))
    return np.where(beyond > EDGE_MHZ, grown, np.interp(freq, known, sd))


def _bracket(axis, value):
    """Index of the lower neighbour on a rising axis, and the share of the upper one."""
    low = np.clip(np.searchsorted(axis, value, side="right") - 1, 0, max(axis.size - 2, 0))
    if axis.size == 1:
        return low, np.zeros_like(value)
    step = axis[low + 1] - axis[low]
    return low, np.clip((value - axis[low]) / step, 0.0, 1.0)
