"""Distances and bearings against published geodesics."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signalshed import earth


def test_wellington_to_salamanca():
    # GeographicLib documentation: 19 959 679.267 m, azimuth 161.06766999 degrees.
    bearing, distance = earth.bearing_and_distance(-41.32, 174.81, 40.96, -5.50)
    assert distance == pytest.approx(19959.679267, abs=1e-6)
    assert bearing == pytest.approx(161.06766999, abs=1e-8)


def test_from_perth():
    # GeographicLib documentation, direct problem: azimuth 225 degrees, 20 000 km.
    latitude, longitude = earth.destination(-32.06, 115.74, 225, 20000)
    assert latitude == pytest.approx(32.11195529, abs=1e-8)
    assert longitude == pytest.approx(-63.95925278, abs=1e-8)


def test_against_the_regulators_plane_formula():
    # 47 CFR 1.958 and 73.208(c): kilometres per degree at the middle latitude.
    lat, lon = np.array([41.8789, 43.0896]), np.array([-87.6359, -87.9147])
    middle = np.deg2rad(lat.mean())
    north = 111.13209 - 0.56605 * np.cos(2 * middle) + 0.00120 * np.cos(4 * middle)
    east = 111.41513 * np.cos(middle) - 0.09455 * np.cos(3 * middle) + 0.00012 * np.cos(5 * middle)
    plane = np.hypot(np.diff(lat) * north, np.diff(lon) * east).item()
    assert earth.distance_km(lat[0], lon[0], lat[1], lon[1]) == pytest.approx(plane, abs=0.01)


def test_shapes():
    bearing, distance = earth.bearing_and_distance(30, -40, np.full((2, 3), 31.0), -40)
    assert bearing.shape == distance.shape == (2, 3)
    assert bearing == pytest.approx(np.zeros((2, 3)))


@given(
    latitude=st.floats(-85, 85),
    longitude=st.floats(-180, 180),
    bearing=st.floats(0, 359.9),
    distance=st.floats(0.01, 500),
)
def test_there_and_back(latitude, longitude, bearing, distance):
    there = earth.destination(latitude, longitude, bearing, distance)
    found_bearing, found_distance = earth.bearing_and_distance(latitude, longitude, *there)
    assert found_distance == pytest.approx(distance, abs=1e-6)
    assert abs((found_bearing - bearing + 180) % 360 - 180) < 1e-3


def test_same_place():
    assert earth.distance_km(10, 20, 10, 20) == 0


@pytest.mark.parametrize(
    "name, arguments",
    [
        ("latitude_deg", (95, 0, 1, 1)),
        ("longitude_deg", (0, 999, 1, 1)),
        ("latitudes_deg", (0, 0, [1, 91], 1)),
        ("longitudes_deg", (0, 0, 1, np.nan)),
    ],
)
def test_no_such_place(name, arguments):
    with pytest.raises(ValueError, match=f"^{name} is"):
        earth.bearing_and_distance(*arguments)
