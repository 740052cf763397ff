"""Antennas from numbers, a pattern table or a build."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import facts
from ..units import check, floats, number, plain
from .hung import across_deg, shape_db, two_lobes_db
from .model import AZIMUTHS_DEG, Antenna


def lobe_db(azimuth_deg, beamwidth_deg, front_to_back_db):
    """Relative pattern in dB of an antenna known by two numbers only.

    A parabola in dB as the main lobe, the same lobe behind at ``-front_to_back_db``, and nothing
    believed below -16 dB beside them, the planning mask of ITU-R BT.419-3 for bands IV and V, unchecked.
    Parameters: ``azimuth_deg`` from the aim, ``beamwidth_deg`` between the 3 dB points (above 0, at
    most 360), ``front_to_back_db`` (0 or more).

    >>> [round(lobe_db(a, 60, 20), 1) for a in (0, 30, 180)]
    [0.0, -3.0, -16.0]
    """
    az = np.mod(check("azimuth_deg", azimuth_deg) + 180.0, 360.0) - 180.0
    width = check("beamwidth_deg", beamwidth_deg, above=0, high=360)
    back = check("front_to_back_db", front_to_back_db, low=0)
    return plain(two_lobes_db(az, width, back))


def typical_beamwidth_deg(gain_dbd):
    """Azimuth beamwidth an antenna of this gain usually has: 78 degrees x 10^(-gain / 40).

    Our own fit through a dipole (0 dBd, 78 degrees) and the Yagis of NBS Technical Note 688 (9 dBd
    about 49, 14 dBd about 30 degrees). Parameters: ``gain_dbd`` in dBd. Never above 180 degrees.

    >>> round(typical_beamwidth_deg(10))
    44
    """
    return plain(np.minimum(78.0 * 10 ** (-check("gain_dbd", gain_dbd) / 40), 180.0))


def from_numbers(name, freq_mhz, gain_dbd, beamwidth_deg=None, front_to_back_db=15.0, **details):
    """An antenna from the few numbers on a label, or from a guess.

    Parameters: ``name``; ``freq_mhz`` one or more rising frequencies, two give the ends of its band;
    ``gain_dbd`` one number, or one per frequency; ``beamwidth_deg`` between the 3 dB points (None: the
    width usual for such a gain; of one that stands upright, all round up to 0 dBd);
    ``front_to_back_db`` 0 for one that hears alike before and behind;
    ``details`` any other field of Antenna (polarization, spread_db, lives, effort, revision, note).

    >>> from_numbers("bought", [470, 608], 8).gain_dbd(539, 0)
    8.0
    """
    freq = np.atleast_1d(check("freq_mhz", freq_mhz, above=0))
    gain = _a_frequency("gain_dbd", check("gain_dbd", gain_dbd, low=-60, high=40), freq)
    upright = beamwidth_deg is None and details.get("polarization") == "vertical"
    width = typical_beamwidth_deg(gain) if beamwidth_deg is None else beamwidth_deg
    width = _a_frequency("beamwidth_deg", floats("beamwidth_deg", width), freq)[:, None]
    if upright:
        shape = _upright_db(gain, front_to_back_db)
    else:
        shape = lobe_db(AZIMUTHS_DEG, width, front_to_back_db)
    table = gain[:, None] + shape
    details.setdefault("spread_db", facts.value("judgement", "antenna_typed_sd_db"))
    return Antenna(name, freq, AZIMUTHS_DEG, table, source="numbers", **details)


def _a_frequency(name, values, freq):
    if values.ndim > 1 or values.size not in (1, freq.size):
        raise ValueError(
            f"{name} is of shape {values.shape}; it must be one number, or {freq.size}."
        )
    return np.broadcast_to(values, freq.shape)


def _upright_db(gain_dbd, front_to_back_db):
    """Relative pattern (F, A) usual for an upright antenna of such gains (F,): an upright dipole, or
    less, hears all round, whatever is said of its back."""
    width = across_deg(typical_beamwidth_deg(gain_dbd))
    back = np.where(np.isinf(width), 0.0, check("front_to_back_db", front_to_back_db, low=0))
    return shape_db(AZIMUTHS_DEG, width[:, None], back[:, None])


def as_labelled(antenna):
    """The same antenna, its numbers known to be a label's: it leans down and is doubted more.

    By ``label_lean_db`` and ``antenna_label_sd_db`` of the facts table ``judgement``; a spread that was
    typed wider stays.
    Parameters: ``antenna`` from numbers or a table.

    >>> as_labelled(from_numbers("bought", [470, 608], 8)).gain_dbd(539)
    5.0
    """
    lean = facts.value("judgement", "label_lean_db")
    wider = max(antenna.spread_db, facts.value("judgement", "antenna_label_sd_db"))
    table = antenna.gain_dbd_table - lean
    return replace(antenna, gain_dbd_table=table, spread_db=wider, label_lean_db=lean)


def from_table(name, table, reference="dBd", gain_dbd=0.0, freq_mhz=None, **details):
    """An antenna from a pattern table.

    Parameters: ``name``; ``table`` a DataFrame with azimuth_deg (clockwise from the aim) and gain_db,
    and freq_mhz where the pattern is known at several frequencies; ``reference`` "dBd" if gain_db is
    gain over a half-wave dipole, "relative" if it is below the top, then ``gain_dbd`` is the gain at
    the top; ``freq_mhz`` (low, high) if the table has no frequencies; ``details`` as in from_numbers.
    Every frequency needs the same azimuths. Raises ValueError otherwise.

    >>> t = pd.DataFrame({"azimuth_deg": [-90, 0, 90, 180], "gain_db": [-9, 0, -9, -12]})
    >>> from_table("typed", t, "relative", 6, (470, 608)).gain_dbd(500, 45)
    1.5
    """
    if reference not in ("dBd", "relative"):
        raise ValueError(f"reference is {reference!r}; it must be 'dBd' or 'relative'.")
    wide, freq = _by_frequency(name, table, freq_mhz)
    azimuth = wide.columns.to_numpy(float)
    if azimuth.size > 1 and azimuth[-1] - azimuth[0] >= 360:
        wide, azimuth = wide.iloc[:, :-1], azimuth[:-1]
    gain = wide.to_numpy(float)
    if reference == "relative":
        gain = gain - gain.max() + number("gain_dbd", gain_dbd)
    details.setdefault("spread_db", facts.value("judgement", "antenna_typed_sd_db"))
    return Antenna(name, freq, azimuth, gain, source="table", **details)


def _by_frequency(name, table, freq_mhz):
    """Pattern table as frequencies by azimuths, and the frequencies."""
    missing = {"azimuth_deg", "gain_db"} - set(table.columns)
    if missing:
        raise ValueError(f"Pattern of {name!r} lacks the column {', '.join(sorted(missing))}.")
    if "freq_mhz" in table.columns:
        wide = table.pivot_table(index="freq_mhz", columns="azimuth_deg", values="gain_db")
        if wide.isna().to_numpy().any():
            raise ValueError(f"Pattern of {name!r}: every frequency needs the same azimuths.")
        return wide, wide.index.to_numpy(float)
    if freq_mhz is None:
        raise ValueError(f"Pattern of {name!r} has no freq_mhz column: say freq_mhz=(low, high).")
    row = table.set_index("azimuth_deg")["gain_db"].sort_index()
    freq = np.atleast_1d(check("freq_mhz", freq_mhz, above=0))
    return pd.DataFrame([row.to_numpy()] * freq.size, columns=row.index), freq


def from_build(build, freq_mhz=None, name=None, **details):
    """An antenna from a build: gain and pattern computed from its wires, mismatch and balun inside.

    Nulls of the drawing are filled to ``computed_floor_db`` below the top of their frequency (facts
    table ``judgement``): what a cable, a mast or a wall scatter is not drawn. Its spread is that of a
    built antenna, joined in squares with what a finer drawing gives beside this one at the highest
    frequency. Below the build's band the cable becomes the antenna, so the figure there is a floor.
    Parameters: ``build`` from shed.builds; ``freq_mhz`` (F,) rising, None for the channels the build
    is meant for; ``name`` None for the build's own; ``details`` as in from_numbers. A build on an ideal
    infinite sheet is refused: it overstates a real screen.

    >>> from signalshed import builds
    >>> from_build(builds.half_wave_dipole(539), [500, 539, 580]).source
    'build'
    """
    from .. import builds

    freq = builds.channel_freq_mhz(build) if freq_mhz is None else freq_mhz
    freq = np.atleast_1d(check("freq_mhz", freq, above=0))
    drawn = builds.realised_gain_dbd(build, freq, AZIMUTHS_DEG)
    floor = facts.value("judgement", "computed_floor_db")
    gain = np.maximum(drawn, drawn.max(axis=1, keepdims=True) - floor)
    as_built = facts.value("judgement", "antenna_computed_sd_db")
    on_aim = drawn[np.argmax(freq), np.argmin(np.abs(AZIMUTHS_DEG))]
    off = on_aim - builds.finer_gain_dbd(build, freq.max())
    details.setdefault("spread_db", round(float(np.hypot(as_built, off)), 2))
    details.setdefault("polarization", build.polarization)
    details.setdefault("build", build)
    return Antenna(name or build.name, freq, AZIMUTHS_DEG, gain, source="build", **details)


def plain_dipole(low_mhz=470.0, high_mhz=608.0):
    """A half-wave dipole with balun for any channel from ``low_mhz`` to ``high_mhz``: 0 dBd.

    Its pattern is the closed form cos(90 sin az) / cos az; nulls are filled to -16 dB.

    >>> plain_dipole().gain_dbd(500, 180)
    0.0
    """
    az = np.deg2rad(AZIMUTHS_DEG)
    along = np.maximum(np.abs(np.cos(az)), 1e-6)  # straight off its ends it hears nothing
    field = np.abs(np.cos(np.pi / 2 * np.sin(az))) / along
    floor = 10 ** (-facts.value("judgement", "side_floor_db") / 20)
    pattern = 20 * np.log10(np.maximum(field, floor))
    table = np.vstack([pattern, pattern])
    return Antenna(
        "half-wave dipole", [low_mhz, high_mhz], AZIMUTHS_DEG, table, spread_db=1.0, effort=1
    )
