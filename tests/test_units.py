"""Decibel arithmetic, conversions, and the check every number passes."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signalshed import facts, units

LEVEL = st.floats(-150, 50)


@pytest.mark.parametrize(("freq_mhz", "factor"), [(69, -111.8), (194, -120.8), (615, -130.8)])
def test_dipole_factors(freq_mhz, factor):
    # ISED BPR-10 Appendix 8, Table 1: dBm out of a half-wave dipole less dBuV/m.
    assert units.dbm_from_dbuv_m(0, freq_mhz) == pytest.approx(factor, abs=0.05)


def test_a_strong_station_by_two_routes():
    # 1 MW ERP, 50 km, 615 MHz: field of the ITU-R P.525 formula, and power by the Friis equation.
    field = 106.92 + 30 - 20 * math.log10(50)
    assert field == pytest.approx(102.92 + 0.02, abs=0.03)
    free_space_loss = 32.4478 + 20 * math.log10(615 * 50)
    friis = 90 + 2 * units.DBI_OF_HALF_WAVE_DIPOLE - free_space_loss
    assert units.dbm_from_dbuv_m(field, 615) == pytest.approx(-27.9, abs=0.05)
    assert units.dbm_from_dbuv_m(field, 615) == pytest.approx(friis, abs=0.02)


def test_volts_and_milliwatts():
    # A published tutorial on dBm and dBuV: 108.75 dB apart in 75 ohm, 106.99 in 50 ohm.
    assert units.dbm_from_dbuv(108.7506) == pytest.approx(0, abs=1e-4)
    assert units.dbm_from_dbuv(106.9897, 50) == pytest.approx(0, abs=1e-4)
    # Kernel documentation of frontend statistics: -52340 thousandths of a dBm.
    assert units.dbm_from_dbuv(56.41) == pytest.approx(-52.34, abs=0.005)


def test_the_half_wave_dipole():
    # Closed form: power gain 4 / Cin(2 pi), Cin(2 pi) = 2.437653.
    assert pytest.approx(10 * math.log10(4 / 2.437653), abs=1e-4) == units.DBI_OF_HALF_WAVE_DIPOLE
    assert facts.value("constants", "half_wave_dipole_gain_dbi") == units.DBI_OF_HALF_WAVE_DIPOLE
    assert units.dbd_from_dbi(10 * math.log10(4 / 2.437653)) == pytest.approx(0, abs=1e-4)


@given(LEVEL)
def test_there_and_back(level):
    assert units.to_db(units.from_db(level)) == pytest.approx(level, abs=1e-9)


def test_lengths():
    # International yard and pound agreement (1959): 1 mi = 1.609344 km, 1 in = 25.4 mm.
    assert units.miles_from_km(1.609344) == 1
    assert units.mm_from_inches(12) == pytest.approx(304.8)
    assert pytest.approx(12 * units.MM_PER_INCH / 1000) == units.M_PER_FOOT


@pytest.mark.parametrize(
    ("length_mm", "text"),
    [(0, "0 in"), (25.4, "1 in"), (12.7, "1/2 in"), (260, "10 1/4 in"), (1.6, "1/16 in")],
)
def test_what_a_tape_measure_shows(length_mm, text):
    assert units.inches_text(length_mm) == text


def test_shapes_pass_through():
    assert isinstance(units.to_db(2), float)
    assert units.dbm_from_dbuv_m(np.zeros((2, 1)), [100, 200, 600]).shape == (2, 3)


@pytest.mark.parametrize(
    ("value", "limits", "says"),
    [
        ("far", {}, "distance_km is 'far'; it must be a finite number"),
        ([1, float("nan")], {}, "nan"),
        (float("inf"), {"low": 0}, "inf; it must be a number of at least 0"),
        (95, {"low": -90, "high": 90}, "95; it must be a number from -90 to 90"),
        (0, {"above": 0}, "0; it must be a number above 0"),
        (9, {"above": 0, "high": 5}, "9; it must be a number above 0, at most 5"),
        (9, {"high": 5}, "9; it must be a number of at most 5"),
        (None, {}, "nan|None"),
        ([[1], [1, 2]], {}, "finite number"),
    ],
)
def test_bad_numbers_are_named(value, limits, says):
    with pytest.raises(ValueError, match=says):
        units.check("distance_km", value, **limits)


def test_facts_are_handed_out_as_copies():
    mine = facts.table("constants")
    mine.loc[:, "value"] = 0
    assert facts.value("constants", "speed_of_light") == 299792458


def test_unknown_facts_are_named():
    with pytest.raises(ValueError, match="There is no facts table 'nonsense'; there are"):
        facts.table("nonsense")
    with pytest.raises(ValueError, match="has no 'nonsense'; it has speed_of_light"):
        facts.value("constants", "nonsense")
