"""Curvature, terrain tiles and the profiles drawn from them; all land here is invented."""

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from geographiclib.geodesic import Geodesic

from signalshed import earth, path

VOID = -32768


def test_horizon():
    # Rec. ITU-R P.526 geometry, 4.12 (sqrt 300 + sqrt 10) = 84.4 km with four thirds of 6371 km.
    assert earth.radio_horizon_km(300, 10) == pytest.approx(84.4, abs=0.05)


@pytest.mark.parametrize("gradient, radius_km", [(39, 8476.67), (45, 8930.7768), (0, 6371)])
def test_effective_radius(gradient, radius_km):
    # Rec. ITU-R P.1812-6 eq. 6 and 7: 6371 x 157 / (157 - dN).
    assert earth.effective_radius_km(gradient) == pytest.approx(radius_km, abs=0.01)


def test_bulge_hides_what_the_horizon_formula_says():
    # Two routes: a ray just grazing at the horizon of one antenna has the bulge below it everywhere.
    radius = 8500
    reach = earth.radio_horizon_km(100, 0, effective_radius_km=radius)
    near = np.linspace(0, reach, 500)
    line = 100 * (1 - near / reach)
    clearance = line - earth.bulge_m(near, reach - near, effective_radius_km=radius)
    assert clearance.min() == pytest.approx(0, abs=1e-6)


def write_tile(folder, name, heights):
    np.asarray(heights).astype(">i2").tofile(folder / name)


def slope(south, west, side=1201):
    """A tilted plane: 100 m plus 300 m per degree north of 30 and 200 m per degree east of 41 west."""
    north = south + np.linspace(1, 0, side)[:, None]
    east = west + np.linspace(0, 1, side)
    return 100 + 300 * (north - 30) + 200 * (east + 41)


@pytest.fixture
def land(tmp_path):
    for south, west in ((30, -41), (30, -40), (31, -41), (31, -40)):
        write_tile(tmp_path, f"N{south}W{-west:03d}.hgt", np.round(slope(south, west)))
    return tmp_path


HOME = SimpleNamespace(latitude_deg=31.0, longitude_deg=-40.0)


def senders(bearing_deg, distance_km):
    return pd.DataFrame({"bearing_deg": bearing_deg, "distance_km": distance_km})


def test_heights_of_a_plane(land):
    tiles = earth.open_tiles(land)
    latitude, longitude = np.meshgrid([30.2, 30.9999, 31, 31.7], [-40.8, -40, -39.3], indexing="ij")
    expected = 100 + 300 * (latitude - 30) + 200 * (longitude + 41)
    assert tiles.heights_m(latitude, longitude) == pytest.approx(expected, abs=1)
    assert tiles.heights_m(latitude, longitude + 360) == pytest.approx(expected, abs=1)
    assert len(tiles) == 4


def test_corner_samples_are_where_the_name_says(tmp_path):
    heights = np.zeros((1201, 1201))
    heights[0, 0], heights[-1, 0], heights[0, -1], heights[-1, -1] = 1, 2, 3, 4
    write_tile(tmp_path, "s05e009.hgt", heights)
    found = earth.open_tiles(tmp_path).heights_m([-4, -5, -4, -5], [9, 9, 10, 10])
    assert found.tolist() == [1, 2, 3, 4]


def test_fine_tiles(tmp_path):
    write_tile(tmp_path, "N30W041.hgt", np.round(slope(30, -41, 3601)))
    assert earth.open_tiles(tmp_path).heights_m(30.5, -40.5) == pytest.approx(350, abs=1)


def test_tiles_are_mapped_not_read(land):
    tiles = earth.open_tiles(land)
    tiles.heights_m(30.5, -40.5)
    assert [type(samples) for samples in tiles._maps.values()] == [np.memmap]


def test_profiles_across_four_tiles(land):
    stations = senders([10.0, 100, 190, 280, 45], [80.0, 60, 90, 40, 5])
    drawn = earth.profiles(HOME, stations, land, points=201)
    assert drawn.ground_m.shape == drawn.distance_km.shape == (5, 201)
    assert drawn.length_km == pytest.approx(stations["distance_km"], abs=1e-6)
    assert drawn.known.all() and (drawn.note == "").all()
    assert drawn.fraction.shape == (201,)
    assert drawn.ground_m[:, -1] == pytest.approx(np.full(5, 600), abs=1)  # home: 100 + 300 + 200
    for bearing, distance, row in zip(*stations.to_numpy().T, drawn.ground_m, strict=True):
        start = Geodesic.WGS84.Direct(31, -40, bearing, distance * 1000)
        line = Geodesic.WGS84.InverseLine(start["lat2"], start["lon2"], 31, -40)
        on_way = [line.Position(s) for s in np.linspace(0, line.s13, 201)]
        expected = [100 + 300 * (p["lat2"] - 30) + 200 * (p["lon2"] + 41) for p in on_way]
        assert row == pytest.approx(expected, abs=1)


def test_points_lie_on_the_geodesic():
    # Karney's geodesic on WGS 84 (geographiclib) on 200 km in a slanting direction; 10 m.
    line = Geodesic.WGS84.InverseLine(45, 7, 46.3, 8.8)
    share = np.linspace(0, 1, 41)
    found = earth.points_between([45.0], [7.0], 46.3, 8.8, share)
    for s, latitude, longitude in zip(share, found[0][0], found[1][0], strict=True):
        there = line.Position(s * line.s13)
        off = Geodesic.WGS84.Inverse(there["lat2"], there["lon2"], latitude, longitude)["s12"]
        assert off < 10


def test_coordinates_and_bearings_give_the_same(land):
    polar = senders([40.0, 200], [50.0, 70])
    latitude, longitude = earth.destination(31, -40, polar["bearing_deg"], polar["distance_km"])
    placed = pd.DataFrame({"latitude_deg": latitude, "longitude_deg": longitude})
    mixed = placed.assign(**{c: polar[c] for c in polar}).astype(float)
    mixed.loc[0, "latitude_deg"] = np.nan
    first = earth.profiles(HOME, polar, land)
    for other in (placed, mixed):
        assert earth.profiles(HOME, other, land).ground_m == pytest.approx(first.ground_m, abs=1e-4)


def test_paths_that_leave_the_tiles(land):
    stations = senders([5.0, 5], [50.0, 150])
    drawn = earth.profiles(HOME, stations, land)
    assert drawn.known.tolist() == [True, False]
    assert drawn.note[0] == ""
    assert drawn.note[1] == "path leaves the terrain tiles: no N32W040.hgt"
    field = path.profile_dbuv_m(600, 100, drawn, 200, 10)
    assert np.isfinite(field[0]) and np.isnan(field[1])


def with_hole(land, rows, columns):
    heights = np.fromfile(land / "N31W040.hgt", ">i2").reshape(1201, 1201)
    heights[rows, columns] = VOID
    write_tile(land, "N31W040.hgt", heights)


def test_narrow_void_is_bridged_and_named(land):
    with_hole(land, slice(600, 606), slice(None))
    drawn = earth.profiles(HOME, senders([20.0], [80.0]), land)
    whole = 100 + 300 + 200  # at home
    assert drawn.known[0] and "narrow void in terrain tile N31W040.hgt" in drawn.note[0]
    assert drawn.ground_m[0, -1] == pytest.approx(whole, abs=1)
    assert np.abs(np.diff(drawn.ground_m[0], 2)).max() < 3  # a plane stays a plane


def test_wide_void_is_named_and_not_guessed(land):
    with_hole(land, slice(500, 700), slice(None))
    drawn = earth.profiles(HOME, senders([20.0], [80.0]), land)
    assert not drawn.known[0]
    assert drawn.note[0].startswith("void in terrain tile N31W040.hgt at ")


def test_void_at_home_is_not_bridged(land):
    for name in ("N31W040.hgt", "N30W040.hgt", "N31W041.hgt", "N30W041.hgt"):
        heights = np.full((1201, 1201), VOID)
        write_tile(land, name, heights)
    drawn = earth.profiles(HOME, senders([20.0], [80.0]), land)
    assert not drawn.known[0] and "void in terrain tile" in drawn.note[0]


def test_void_beside_a_sample_does_not_spread_to_it(tmp_path):
    heights = np.full((1201, 1201), 7)
    heights[600, 601] = VOID
    write_tile(tmp_path, "N30W041.hgt", heights)
    tiles = earth.open_tiles(tmp_path)
    assert tiles.heights_m(30.5, -40.5) == 7
    assert np.isnan(tiles.heights_m(30.5, -40.4996))


@pytest.mark.parametrize(
    "name, size, words",
    [
        (
            "N30W041.hgt",
            2 * 1201**2 - 700,
            "N30W041.hgt: has 2884102 bytes.*cut short or of another",
        ),
        ("N30W041.hgt", 2 * 1000**2, "2000000 bytes"),
        ("N30W041.hgt", 0, "has 0 bytes"),
        ("home.hgt", 2 * 1201**2, "home.hgt: a tile is named by its south-west corner"),
        ("N95W041.hgt", 2 * 1201**2, "N95W041.hgt: a tile is named"),
    ],
)
def test_bad_tiles(tmp_path, name, size, words):
    (tmp_path / name).write_bytes(bytes(size))
    write_tile(tmp_path, "N40W041.hgt", np.full((1201, 1201), 7))
    tiles = earth.open_tiles(tmp_path)
    assert len(tiles) == 1 and tiles.heights_m(40.5, -40.5) == 7
    assert re.search(words, tiles.notes[0]) and "left out" in tiles.notes[0]


def test_all_bad_tiles_at_once(tmp_path):
    for name in ("N30W041.hgt", "x.hgt"):
        (tmp_path / name).write_bytes(b"short")
    first, second = earth.open_tiles(tmp_path).notes
    assert "N30W041.hgt: has 5 bytes" in first and "x.hgt: a tile is named" in second


def test_same_place_twice(tmp_path):
    for name in ("N30W041.hgt", "n30w041.hgt"):
        write_tile(tmp_path, name, np.zeros((1201, 1201)))
    if len(list(tmp_path.iterdir())) < 2:
        pytest.skip("this file system does not tell upper from lower case")
    tiles = earth.open_tiles(tmp_path)
    assert len(tiles) == 1 and "covers the same place; keep one" in tiles.notes[0]


def test_folder_without_tiles(tmp_path):
    assert len(earth.open_tiles(tmp_path)) == 0
    drawn = earth.profiles(HOME, senders([20.0], [80.0]), tmp_path)
    assert "no N31W040.hgt" in drawn.note[0]
    with pytest.raises(ValueError, match="There is no folder"):
        earth.open_tiles(tmp_path / "missing")


def test_open_radius(land):
    stations = senders([20.0], [20.0])
    drawn = earth.profiles(HOME, stations, land, clutter_m=12.0)
    to_home_m = 1000 * (drawn.length_km[0] - drawn.distance_km[0])
    assert (drawn.clutter_m[0][to_home_m <= 100] == 0).all()
    assert (drawn.clutter_m[0][to_home_m > 100.001] == 12).all()
    cleared = path.profile_dbuv_m(600, 1, drawn, 200, 9)
    crowded = replace(drawn, clutter_m=np.full(drawn.clutter_m.shape, 12.0))
    assert cleared > path.profile_dbuv_m(600, 1, crowded, 200, 9)


@pytest.mark.parametrize(
    "words, change",
    [
        ("points is 1;", {"points": 1}),
        ("clutter_m is -4", {"clutter_m": -4}),
        ("distance_km is 0", {"stations": senders([20.0], [0.0])}),
        ("bearing_deg is nan", {"stations": pd.DataFrame({"station": ["A"]})}),
    ],
)
def test_bad_requests(land, words, change):
    good = {"place": HOME, "stations": senders([20.0], [20.0]), "tiles": land}
    with pytest.raises(ValueError, match=words):
        earth.profiles(**(good | change))


def test_antenna_inside_a_hill():
    hill = earth.Profile([0, 10, 20], [[275, 100, 50], [20, 100, 50]])
    with pytest.raises(ValueError, match="antenna_amsl_m of path 0 is 240: 35 m inside the hill"):
        earth.transmit_agl_m(hill, [240, 240])
    assert earth.transmit_agl_m(hill, [300, np.nan])[0] == 25


def test_average_terrain():
    # 3 to 16 km from the transmitter, 47 CFR 73.684, unchecked; a plane has its height at 9.5 km.
    d = np.linspace(0, 40, 4001)
    plane = earth.Profile(d, 100 + 10 * d)
    assert earth.average_ground_m(plane) == pytest.approx(195, abs=0.1)
    short = earth.Profile([0, 1, 2], [10, 20, 30])
    assert earth.average_ground_m(short) == 20


def test_land_behind_the_transmitter_is_in_nobodys_way():
    # 90 m up at 5 km are 1.031 degrees; 690 m up at 10 km stand behind a transmitter 7 km away.
    ground = [200, 800]
    assert earth.clearance_deg([5, 10], ground, 110, 110, 7) == pytest.approx(1.031, abs=1e-3)
    assert earth.clearance_deg([5, 10], ground, 110, 110, 20) == pytest.approx(3.947, abs=1e-3)


def test_tiles_on_either_side_of_both_zeros_have_their_letters():
    corners = {(51, 0): "N51E000", (51, -1): "N51W001", (0, 18): "N00E018", (-1, 18): "S01E018"}
    assert {corner: earth.tile_name(corner) for corner in corners} == corners
