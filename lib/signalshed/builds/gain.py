"""What a build brings: gain, match and width by channel, and how far its own drawing may be off."""

import functools

import numpy as np
import pandas as pd

from .. import facts, wires
from ..units import DBI_OF_HALF_WAVE_DIPOLE, check, number
from ..words import signed
from . import kept
from .build import channel_freq_mhz, check_build
from .joining import pigtail

LOWEST_DBD = -60.0
"""What a direction of no gain at all is given, dBd."""


class _Same:
    """A build that equals any other of the same ``key``: what results are kept under."""

    def __init__(self, build, key):
        self.build, self.key = build, key

    def __eq__(self, other):
        return self.key == other.key

    def __hash__(self):
        return hash(self.key)


@functools.lru_cache(maxsize=128)
def _kept_sweep(same, freq, azimuth):
    return wires.sweep(same.build.structure, np.array(freq), np.array(azimuth))


def sweep(build, freq_mhz=None, azimuth_deg=wires.sweeps.AZIMUTHS_DEG):
    """A build's wires.Sweep, kept in memory by identity.

    Parameters: ``build``; ``freq_mhz`` (F,), None for the channels it is meant for; ``azimuth_deg`` (A,)
    clockwise from the aim.

    >>> from . import half_wave_dipole
    >>> sweep(half_wave_dipole(539), [539], [0]).gain_dbi().shape
    (1, 1)
    """
    check_build(build)
    freq = channel_freq_mhz(build) if freq_mhz is None else freq_mhz
    freq = np.atleast_1d(check("freq_mhz", freq, above=0))
    azimuth = np.atleast_1d(check("azimuth_deg", azimuth_deg))
    wires_alone = build.identity[:-2]  # a sweep knows no balun and no polarization
    return _kept_sweep(_Same(build, wires_alone), tuple(freq.tolist()), tuple(azimuth.tolist()))


def realised_gain_dbd(build, freq_mhz=None, azimuth_deg=wires.sweeps.AZIMUTHS_DEG):
    """Gain at the balun's output in dBd (F, A): in the build's polarization, mismatch and balun inside.

    Parameters: ``build``; ``freq_mhz`` (F,), None for the channels it is meant for; ``azimuth_deg`` (A,)
    clockwise from the aim, elevation 0. Never below -60. Raises ValueError for an infinite sheet.

    >>> from . import half_wave_dipole
    >>> realised_gain_dbd(half_wave_dipole(539), [539], [0, 180]).round(1).tolist()
    [[-0.3, -0.3]]
    """
    check_build(build)
    if build.ideal:
        raise ValueError(
            f"{build.name!r} has an ideal infinite sheet, which overstates a real screen: it has no "
            "place among antennas to choose from. Give it a screen with a size."
        )
    freq = channel_freq_mhz(build) if freq_mhz is None else np.atleast_1d(freq_mhz)
    known = kept.gain_dbd(build, freq, np.atleast_1d(azimuth_deg))
    return computed_gain_dbd(build, freq, azimuth_deg) if known is None else known


def computed_gain_dbd(build, freq_mhz, azimuth_deg):
    """The same from the wires, whatever stands in the table of kept gains.

    Parameters: as in ``realised_gain_dbd``.

    >>> from . import half_wave_dipole
    >>> computed_gain_dbd(half_wave_dipole(539), [539], [0]).round(1).tolist()
    [[-0.3]]
    """
    swept = sweep(build, freq_mhz, azimuth_deg)
    gain = swept.realised_gain_dbi(build.line_ohm, build.polarization)
    return np.maximum(gain - build.balun_loss_db - DBI_OF_HALF_WAVE_DIPOLE, LOWEST_DBD)


def other_cut_db(build, freq_mhz, azimuth_deg):
    """What a build on its side hears round itself, dB over its aim (F, A): a quarter turn round the aim.

    Its pattern upward and downward, in its own polarization, laid flat. Parameters: ``build``;
    ``freq_mhz`` (F,); ``azimuth_deg`` (A,) clockwise from the aim, -180 to 180.

    >>> from . import half_wave_dipole
    >>> other_cut_db(half_wave_dipole(539), [539.0], [0.0, 90.0, 180.0]).round(2).tolist()
    [[0.0, 0.0, 0.0]]
    """
    check_build(build)
    azimuth = np.append(check("azimuth_deg", azimuth_deg, low=-180, high=180), 0.0)
    ahead = np.abs(azimuth) <= 90
    up = np.where(ahead, azimuth, np.copysign(180.0, azimuth) - azimuth)
    around = np.where(ahead, 0.0, 180.0)
    swept = wires.sweep(build.structure, freq_mhz, around, elevation_deg=up)
    gain = swept.gain_dbi(build.polarization)
    return gain[:, :-1] - gain[:, -1:]


def own_loss_db(build, freq_mhz=None):
    """What of a signal the build itself keeps, dB (F,): mismatch, balun, resistance of its wires.

    Parameters: ``build``; ``freq_mhz`` (F,), None for the channels it is meant for.

    >>> from . import half_wave_dipole
    >>> own_loss_db(half_wave_dipole(539), [539]).round(1).tolist()
    [0.3]
    """
    freq = channel_freq_mhz(build) if freq_mhz is None else np.atleast_1d(freq_mhz)
    known = kept.loss_db(build, freq)
    return computed_loss_db(build, freq) if known is None else known


def computed_loss_db(build, freq_mhz):
    """The same from the wires, whatever stands in the table of kept gains.

    Parameters: as in ``own_loss_db``.

    >>> from . import half_wave_dipole
    >>> computed_loss_db(half_wave_dipole(539), [539]).round(1).tolist()
    [0.3]
    """
    swept = sweep(build, freq_mhz)
    mismatch = wires.mismatch_loss_db(swept.impedance_ohm, build.line_ohm)
    heat = -10 * np.log10(np.minimum(swept.efficiency, 1.0))
    return mismatch + heat + build.balun_loss_db


def by_channel(build, freq_mhz=None):
    """One row per channel: gain along the aim, impedance, width.

    DataFrame of freq_mhz, gain_dbd (realised), resistance_ohm, reactance_ohm, mismatch_db,
    beamwidth_deg, front_to_back_db (rough).
    Parameters: ``build``; ``freq_mhz`` (F,), None for the channels it is meant for.

    >>> from . import half_wave_dipole
    >>> round(float(by_channel(half_wave_dipole(539), [539]).beamwidth_deg[0]))
    78
    """
    azimuth = np.arange(-180.0, 180.0, 2.0)
    swept = sweep(build, freq_mhz, azimuth)
    gain = realised_gain_dbd(build, freq_mhz, azimuth)
    ahead = int(np.argmin(np.abs(azimuth)))
    behind = np.abs(azimuth) > 120
    return pd.DataFrame(
        {
            "freq_mhz": swept.freq_mhz,
            "gain_dbd": gain[:, ahead],
            "resistance_ohm": swept.impedance_ohm.real,
            "reactance_ohm": swept.impedance_ohm.imag,
            "mismatch_db": wires.mismatch_loss_db(swept.impedance_ohm, build.line_ohm),
            "beamwidth_deg": [width_deg(azimuth, row) for row in gain],
            "front_to_back_db": gain[:, ahead] - gain[:, behind].max(axis=1),
        }
    )


def width_deg(azimuth_deg, gain_db, fall_db=3.0):
    """Degrees round azimuth 0 within which gain falls by less than ``fall_db``; 360 if it never does.

    Parameters: ``azimuth_deg`` (A,) even steps with 0 among them, ``gain_db`` (A,), ``fall_db``.

    >>> round(width_deg(np.array([-20.0, -10, 0, 10, 20]), np.array([-8.0, -2, 0, -2, -8])), 1)
    23.3
    """
    ahead = int(np.argmin(np.abs(azimuth_deg)))
    limit, step = gain_db[ahead] - fall_db, azimuth_deg[1] - azimuth_deg[0]
    sides = []
    for row in (gain_db[ahead:], gain_db[ahead::-1]):
        low = np.flatnonzero(row < limit)
        if not len(low):
            return 360.0
        i = low[0]
        sides.append((i - 1 + (row[i - 1] - limit) / (row[i - 1] - row[i])) * step)
    return float(sum(sides))


@functools.lru_cache(maxsize=128)
def _solved_finer(same, freq_mhz):
    """Cut twice as fine, or as fine as the thickest wire lets its segments be."""
    structure = same.build.structure
    for share in (2.0, 1.5):
        try:
            return wires.solve(structure, freq_mhz, per_wavelength=share * wires.PER_WAVELENGTH)
        except ValueError:  # segments shorter than the wire is thick
            continue
    return wires.solve(structure, freq_mhz)


def finer_gain_dbd(build, freq_mhz):
    """Realised gain along the aim from an element cut twice as fine, dBd.

    Bare ends keep their segment of ``wires.shape.END_RADII``, screens the segments they are typed with.
    Parameters: ``build``; ``freq_mhz`` one frequency.

    >>> from . import half_wave_dipole
    >>> round(finer_gain_dbd(half_wave_dipole(539), 539), 1)
    -0.3
    """
    check_build(build)
    freq = number("freq_mhz", freq_mhz, above=0)
    known = kept.finer_dbd(build, freq)
    return computed_finer_dbd(build, freq) if known is None else known


def computed_finer_dbd(build, freq_mhz):
    """The same from the wires, whatever stands in the table of kept gains.

    Parameters: as in ``finer_gain_dbd``.

    >>> from . import half_wave_dipole
    >>> round(computed_finer_dbd(half_wave_dipole(539), 539), 1)
    -0.3
    """
    finer = _solved_finer(_Same(build, build.identity[:-2]), float(freq_mhz))
    gain = finer.gain_dbi(0.0, 0.0, build.polarization) - DBI_OF_HALF_WAVE_DIPOLE
    lost = wires.mismatch_loss_db(finer.impedance_ohm, build.line_ohm) + build.balun_loss_db
    return float(max(gain - lost, LOWEST_DBD))


def behind_words(front_to_back_db):
    """A front-to-back ratio as far as a drawing can be believed: "14 dB", or "at least 16 dB".

    Beyond the facts table's ``computed_floor_db`` mesh, mast and cable decide, which nobody drew.
    Parameters: ``front_to_back_db`` one number.

    >>> behind_words(14.2), behind_words(23.7)
    ('14 dB', 'at least 16 dB')
    """
    most = facts.value("judgement", "computed_floor_db")
    if front_to_back_db > most:
        return f"at least {most:.0f} dB"
    return f"{signed(front_to_back_db) if front_to_back_db < 0 else round(front_to_back_db)} dB"


def joint_cost(build, pigtails_mm=(20.0, 50.0)):
    """What leads between terminals and balun cost: DataFrame of freq_mhz and a column for each length.

    Columns ``cost_20_mm_db`` and so on: mismatch with the leads less mismatch without, negative where
    they happen to help.
    Parameters: ``build``, on the channels it is meant for; ``pigtails_mm``.

    >>> from . import loop
    >>> joint_cost(loop((536, 542))).columns.tolist()
    ['freq_mhz', 'cost_20_mm_db', 'cost_50_mm_db']
    """
    freq = channel_freq_mhz(build)
    bare = sweep(build, freq).impedance_ohm
    without = wires.mismatch_loss_db(bare, build.line_ohm)
    table = {"freq_mhz": freq}
    for length in pigtails_mm:
        seen = pigtail(length).impedance_ohm(bare, freq)
        table[f"cost_{length:g}_mm_db"] = wires.mismatch_loss_db(seen, build.line_ohm) - without
    return pd.DataFrame(table)
