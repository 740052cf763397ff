"""Compass declination against the World Magnetic Model's own test values."""

import datetime

import numpy as np
import pytest

from signalshed import earth

# NOAA, WMM2025 test values: year, height km, latitude, longitude, declination degrees, H in nT.
WMM_2025 = [
    (2025.0, 65, 43, 93, 0.50, 24300.764692),
    (2025.0, 51, -33, 109, -5.49, 21838.046477),
    (2025.5, 44, 33, -118, 11.10, 23678.743422),
    (2025.5, 63, 26, 81, 0.51, 34803.980117),
    (2026.5, 19, 29, 66, 2.24, 32749.959268),
    (2027.0, 61, 59, -77, -16.48, 10884.812802),
    (2027.0, 54, 54, 178, 0.63, 20617.099795),
    (2029.0, 57, 34, -13, -1.89, 28257.277809),
    (2029.0, 19, 46, -22, -5.65, 22632.016516),
]


@pytest.mark.parametrize("year, height_km, latitude, longitude, east_deg, h_nt", WMM_2025)
def test_model(year, height_km, latitude, longitude, east_deg, h_nt):
    found = earth.declination(latitude, longitude, year, height_km=height_km)
    assert found.east_deg == pytest.approx(east_deg, abs=0.006)  # the table is rounded to 0.01
    # WMM2025 report: error of the declination sqrt(0.26^2 + (5417/H)^2) degrees.
    assert found.sd_deg == pytest.approx(np.hypot(0.26, 5417 / h_nt), abs=1e-4)
    assert (found.note, found.source) == ("", "model")


def test_published_example():
    # pygeomag documentation, 47.6205 N 122.3493 W in 2025.25.
    assert earth.declination(47.6205, -122.3493, 2025.25).east_deg == pytest.approx(
        15.0656, abs=1e-4
    )


@pytest.mark.parametrize(
    "asked, used", [(2031, 2030), (datetime.date(2031, 5, 1), 2030), ("2024-03-01", 2025)]
)
def test_years_run_out(asked, used):
    found = earth.declination(40, -100, asked)
    assert found.year == used
    assert found.east_deg == earth.declination(40, -100, used).east_deg
    assert f"that of {used}" in found.note and "type a newer value" in found.note


def test_typed_value_instead():
    typed = earth.declination(40, -100, 2031, typed_deg=3.5)
    assert (typed.east_deg, typed.sd_deg, typed.source) == (3.5, 0, "typed")
    assert typed.note == "declination as typed"


@pytest.mark.parametrize(
    "date", [datetime.date(2027, 7, 2), "2027-07-02", "2027-07-02T21:00:00+02:00"]
)
def test_dates(date):
    assert earth.declination(30, -40, date).year == pytest.approx(2027.4986, abs=1e-3)


def test_today_is_the_default():
    today = datetime.date.today()
    assert earth.declination(30, -40) == earth.declination(30, -40, today)


def test_a_compass_shows_a_bearing_less_its_declination():
    found = earth.Declination(-12.0, 0.4, 2027.0)
    assert found.compass_from_true([0.0, 10, 180, 350]).tolist() == [12.0, 22.0, 192.0, 2.0]
    # NOAA, WMM2025 test values: 16.48 degrees west of north at 61 km, so due north reads 16.48.
    high = earth.declination(59, -77, 2027, height_km=61)
    assert high.compass_from_true(0) == pytest.approx(16.48, abs=0.006)


def test_near_the_pole():
    assert "not to be trusted" in earth.declination(86, 140, 2026).note


@pytest.mark.parametrize(
    "name, arguments",
    [
        ("latitude_deg", (95, 0, 2026)),
        ("longitude_deg", (0, 700, 2026)),
        ("date", (0, 0, "next spring")),
        ("date", (0, 0, 3000)),
    ],
)
def test_nonsense_is_refused(name, arguments):
    with pytest.raises(ValueError, match=f"^{name} is"):
        earth.declination(*arguments)


def test_typed_nonsense_is_refused():
    with pytest.raises(ValueError, match="typed_deg is 300"):
        earth.declination(0, 0, 2026, typed_deg=300)


def test_the_sun_rises_in_the_east_and_sets_as_far_in_the_west():
    # On the equator the sun stands in the horizon at 90 degrees less its declination, and mirrored.
    rise, fall = (earth.sun_azimuth_deg(0, 20, 0, evening) for evening in (False, True))
    assert (rise, fall) == pytest.approx((70, 290))
    # About the equinox it rises due east and sets due west, but for its rim and half a day: a degree.
    day = datetime.date(2026, 3, 20)
    for latitude in (-45, 0, 45):
        assert earth.sun_bearing_deg(latitude, day, evening=False) == pytest.approx(90, abs=1.2)
        assert earth.sun_bearing_deg(latitude, day) == pytest.approx(270, abs=1.2)
