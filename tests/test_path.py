"""Free space, average terrain, walls and leaves against published values."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from signalshed import path, units
from signalshed.path import receiving

DATA = Path(__file__).parent / "data"


@pytest.mark.parametrize("distance_km, dbuv_m", [(1, 106.9), (10, 86.9), (50, 72.92), (100, 66.9)])
def test_free_space_points(distance_km, dbuv_m):
    # Rec. ITU-R P.1546-6 eq. 2: 106.9 - 20 log10 d for 1 kW ERP; 0.01 dB.
    assert path.free_space_dbuv_m(1, distance_km) == pytest.approx(dbuv_m, abs=0.01)


def test_free_space_power_by_two_routes():
    # 1 MW ERP, 50 km, 615 MHz, half-wave dipole: by the field and the dipole factor of ISED BPR-10
    # Appendix 8, and by the transmission formula of Rec. ITU-R P.525 (32.45 + 20 log f + 20 log d).
    field = path.free_space_dbuv_m(1000, 50)
    assert field == pytest.approx(102.92, abs=0.01)
    by_field = units.dbm_from_dbuv_m(field, 615)
    loss_db = 32.4478 + 20 * np.log10(615) + 20 * np.log10(50)
    by_loss = 90 + 2 * units.DBI_OF_HALF_WAVE_DIPOLE - loss_db
    assert by_field == pytest.approx(-27.9, abs=0.05)
    assert by_loss == pytest.approx(by_field, abs=0.05)


@pytest.fixture(scope="module")
def chart():
    return pd.read_csv(DATA / "average_terrain_points.csv")


def chart_error_db(chart):
    freq = chart["band"].map({"vhf_low": 69, "vhf_high": 194, "uhf": 615}).to_numpy(float)
    time_pct = chart["curve"].map({"F50,50": 50, "F50,90": 90}).to_numpy(float)
    found = path.average_terrain_dbuv_m(
        freq, 1, chart["distance_km"], chart["haat_m"], 9.1, time_pct=time_pct
    )
    return found - chart["dbuv_m_per_1kw_erp"].to_numpy(float)


def test_charts(chart):
    # Field strength charts of 47 CFR 73.699, every row within 2.5 dB, rms below 0.8 dB.
    error = chart_error_db(chart)
    assert np.abs(error).max() < 2.5
    assert np.sqrt(np.mean(error**2)) < 0.8


@pytest.mark.parametrize("haat_m, reach_km", [(300, 96.8), (150, 78.9)])
def test_reach_of_a_megawatt(haat_m, reach_km):
    # 41 dBuV/m F(50,90) at UHF, read from the charts of 47 CFR 73.699; 4 km.
    def excess(d):
        return path.average_terrain_dbuv_m(615, 1000, d, haat_m, time_pct=90) - 41

    assert brentq(excess, 20, 190) == pytest.approx(reach_km, abs=4)


def test_ten_per_cent_of_the_time_mirrors_ninety():
    # The charts' F(50,90) are made from F(50,50) and F(50,10) by this mirror (unchecked).
    ten, half, ninety = (
        path.average_terrain_dbuv_m(600, 10, 80, 200, time_pct=t) for t in (10, 50, 90)
    )
    assert ten - half == pytest.approx(half - ninety, abs=1e-9)


def test_other_times_on_the_normal_scale():
    half, ninety, ninety_nine = (
        path.average_terrain_dbuv_m(600, 10, 80, 200, time_pct=t) for t in (50, 90, 99)
    )
    assert (half - ninety_nine) / (half - ninety) == pytest.approx(2.3263 / 1.2816, abs=1e-3)


@pytest.mark.parametrize("freq_mhz", [57, 195, 600])
def test_receive_height(freq_mhz):
    # Rec. ITU-R P.1546: 3.2 + 6.2 log10(f) dB for ten times the height above clutter.
    low, high = path.average_terrain_dbuv_m(freq_mhz, 1, 60, 100, [3, 30])
    assert high - low == pytest.approx(3.2 + 6.2 * np.log10(freq_mhz), abs=1e-9)


# ISED BPR-3 Figure A1, the F(50,50) chart of channels 2 to 6 and FM: height in m, field at 1.5, 2, 3 km.
NEAR = [
    (30, (93.00, 87.80, 80.80)),
    (50, (97.65, 92.35, 85.25)),
    (100, (101.10, 97.00, 90.70)),
    (150, (102.00, 98.40, 93.15)),
    (300, (102.80, 99.80, 95.80)),
    (1000, (103.00, 100.60, 96.95)),
]


@pytest.mark.parametrize("haat_m, dbuv_m", NEAR)
def test_charts_near_the_mast(haat_m, dbuv_m):
    # Within 1.2 dB; along the free-space slope from 5 km a 30 m mast was 10 dB low at 1.5 km.
    found = path.average_terrain_dbuv_m(69, 1, [1.5, 2, 3], haat_m)
    assert found == pytest.approx(dbuv_m, abs=1.2)


def test_charts_go_on_falling_where_scatter_rules():
    # Scatter falls with distance and angle at some 0.1 dB per km at the least (Rec. ITU-R P.1812-6
    # eq. 44: 20 log d + 0.573 per mrad, 0.118 mrad per km) where free space would fall by 4 dB in all.
    for freq_mhz in (69, 194, 615):
        near, far = path.average_terrain_dbuv_m(freq_mhz, 1, [200, 320], [[30], [300], [1000]]).T
        assert (near - far > 20 * np.log10(1.6) + 0.573 * 0.118 * 120).all()
        assert (near - far < 30).all()


@pytest.mark.parametrize("edge_km", [5, 200])
def test_joins_are_smooth(edge_km):
    # Value without a jump; slope within 10 dB a decade near the mast, 30 far away, of some 40 to 100.
    at = edge_km * np.array([0.98, 0.9999, 1.0001, 1.02])
    for freq_mhz in (69, 194, 615):
        field = path.average_terrain_dbuv_m(freq_mhz, 1, at, [[30.0], [100.0], [300.0], [1000.0]])
        before, _, after = np.moveaxis(np.diff(field) / np.diff(np.log10(at)), -1, 0)
        assert np.abs(field[:, 2] - field[:, 1]).max() < 0.02
        assert np.abs(after - before).max() < (10 if edge_km == 5 else 30)


def test_from_band_to_band_without_a_jump():
    # Charts are of bands; between them the field goes by log f (Rec. ITU-R P.1546-6 Annex 5 section 6).
    freq = np.geomspace(60, 700, 3000)
    for distance_km in (3, 30, 80, 150, 300):
        field = path.average_terrain_dbuv_m(freq, 1, distance_km, [[30], [300], [1000]])
        assert np.abs(np.diff(field)).max() < 0.05
    low, middle, high = path.average_terrain_dbuv_m([216, (216 * 470) ** 0.5, 470], 1, 80, 300)
    assert middle == pytest.approx((low + high) / 2, abs=1e-9)


# Rec. ITU-R P.1546-6, published validation values: MHz, height, houses R', dB against R' (or 10 m).
BELOW = [(2600, 1, 10.0, -23.8288), (2600, 1, 15.0012, -27.4875), (2600, 1, 20.002, -29.904)]


@pytest.mark.parametrize("freq_mhz, height_m, roofs_m, db", BELOW)
def test_receiver_below_houses(freq_mhz, height_m, roofs_m, db):
    # The first at R' = 10.000 by the rounding of its 100 km; 0.001 dB.
    assert receiving.below_roofs_db(freq_mhz, height_m, roofs_m) == pytest.approx(db, abs=0.001)


@pytest.mark.parametrize("freq_mhz, height_m, db", [(2600, 1, -24.3728), (98.2, 19, 4.33492)])
def test_receiver_in_the_open(freq_mhz, height_m, db):
    # Rec. ITU-R P.1546-6, published validation values for rural land, against 10 m; 0.0001 dB.
    assert receiving.per_decade_db(freq_mhz) * np.log10(height_m / 10) == pytest.approx(
        db, abs=1e-4
    )


def test_receiver_in_a_town():
    # 600 MHz among houses of 15 m, worked from eq. 27 to 29 of Rec. ITU-R P.1546-6: -19.84 dB at 3 m,
    # -12.67 at 10 m, +2.55 at 20 m; up to 10 m of clutter the charts' own 9.1 m stay.
    assert path.receive_height_db(600, [3, 10, 20], 15) == pytest.approx(
        [-19.84, -12.67, 2.55], abs=0.005
    )
    field = path.average_terrain_dbuv_m(600, 1, 40, 200, 9.1, clutter_m=[0, 10, 15])
    assert field[0] == field[1] == pytest.approx(field[2] + 14.00, abs=0.01)


@pytest.mark.parametrize(
    "inside, outside",
    [((80, 30), (80, -20)), ((80, 1300), (80, 3000))],
)
def test_height_is_clamped(inside, outside):
    assert path.average_terrain_dbuv_m(600, 1, *outside) == path.average_terrain_dbuv_m(
        600, 1, *inside
    )
    assert "taken as" in path.average_terrain_note(*outside)
    assert path.average_terrain_note(*inside) == ""


def test_notes_row_by_row():
    notes = path.average_terrain_note([60, 1, 350, 60], [100, 20, 2000, 100], [9, 1, 40, 9])
    assert notes[0] == notes[3] == ""
    assert "nearer than 1.5 km" in notes[1] and "receiving antenna taken as 2 m" in notes[1]
    assert "beyond 320 km" in notes[2] and "taken as 1300 m" in notes[2]


@given(
    freq_mhz=st.floats(40, 800),
    distance_km=st.floats(0.1, 400),
    haat_m=st.floats(-100, 3000),
    receive_m=st.floats(0.5, 60),
    time_pct=st.floats(50, 99),
)
def test_never_above_free_space_and_falling_with_time(
    freq_mhz, distance_km, haat_m, receive_m, time_pct
):
    where = (freq_mhz, 5.0, distance_km, haat_m, receive_m)
    field = path.average_terrain_dbuv_m(*where, time_pct=time_pct)
    assert field <= path.free_space_dbuv_m(5.0, distance_km) + 1e-9
    assert field <= path.average_terrain_dbuv_m(*where) + 1e-9


@pytest.mark.parametrize("freq_mhz", [69, 194, 600])
@pytest.mark.parametrize("time_pct", [50, 90])
def test_field_falls_with_distance(freq_mhz, time_pct):
    d = np.geomspace(0.5, 350, 700)
    heights = np.array([[30.0], [100.0], [300.0], [1000.0]])
    field = path.average_terrain_dbuv_m(freq_mhz, 1, d, heights, time_pct=time_pct)
    assert field.shape == (4, 700)
    assert (np.diff(field, axis=-1) < 0).all()


def test_stations_do_not_meet():
    freq, distance = np.array([57.0, 195, 600, 500]), np.array([30.0, 40, 50, 3])
    together = path.average_terrain_dbuv_m(freq, 10, distance, 200)
    alone = [
        path.average_terrain_dbuv_m(f, 10, d, 200) for f, d in zip(freq, distance, strict=True)
    ]
    assert together == pytest.approx(alone, abs=1e-12)
    assert isinstance(alone[0], float)


@pytest.mark.parametrize(
    "name, arguments",
    [
        ("freq_mhz", (0, 1, 50, 100)),
        ("erp_kw", (600, -1, 50, 100)),
        ("distance_km", (600, 1, 0, 100)),
        ("transmit_haat_m", (600, 1, 50, np.nan)),
        ("receive_agl_m", (600, 1, 50, 100, 0)),
    ],
)
def test_average_terrain_refuses(name, arguments):
    with pytest.raises(ValueError, match=name):
        path.average_terrain_dbuv_m(*arguments)


# Rec. ITU-R P.2109, published answers of Study Group 3: GHz, elevation, construction, p, dB.
WALLS = [
    (28, 0, "traditional", 0.10, 6.891),
    (28, 0, "traditional", 0.5011872, 20.218),
    (28, 0, "traditional", 0.9120108, 36.947),
    (28, 0, "thermally_efficient", 0.10, 19.484),
    (28, 0, "thermally_efficient", 0.5011872, 41.732),
    (28, 0, "thermally_efficient", 0.9120108, 67.320),
    (2, 45, "traditional", 0.10, 11.251),
    (2, 45, "traditional", 0.5011872, 23.556),
    (2, 45, "traditional", 0.9120108, 37.211),
    (2, 45, "thermally_efficient", 0.10, 20.566),
    (2, 45, "thermally_efficient", 0.5011872, 37.995),
    (2, 45, "thermally_efficient", 0.9120108, 57.471),
]


@pytest.mark.parametrize("freq_ghz, angle, construction, p, loss_db", WALLS)
def test_published_wall_losses(freq_ghz, angle, construction, p, loss_db):
    found = path.entry_loss_db(
        freq_ghz * 1000, probability=p, construction=construction, elevation_deg=angle
    )
    assert found == pytest.approx(loss_db, abs=0.001)


@pytest.mark.parametrize(
    "freq_mhz, construction, loss_db",
    [
        (195, "traditional", (5.81, 13.97, 23.04)),
        (195, "thermally_efficient", (22.00, 35.85, 49.73)),
        (539, "traditional", (5.73, 14.00, 24.13)),
        (539, "thermally_efficient", (17.89, 32.13, 46.99)),
    ],
)
def test_wall_losses_at_television_channels(freq_mhz, construction, loss_db):
    # Computed apart from the published formula of Rec. ITU-R P.2109; 0.01 dB.
    found = path.entry_loss_db(freq_mhz, probability=[0.1, 0.5, 0.9], construction=construction)
    assert found == pytest.approx(loss_db, abs=0.01)


def test_a_wave_from_below_crosses_the_wall_as_one_from_above():
    # Rec. ITU-R P.2109-2 takes the angle without its sign, 0.212 dB a degree. At 539 MHz, lg f = -0.268:
    # 12.64 - 0.999 + 0.069 = 11.71, at 20 degrees 4.24 more; 9.1 + 0.805 = 9.91; -3. As powers they make
    # 14.00 and 16.96 dB.
    found = path.entry_loss_db(539, elevation_deg=[0, 20, -20])
    assert found == pytest.approx([14.00, 16.96, 16.96], abs=0.01)


def test_low_vhf_walls_are_taken_at_80_mhz():
    assert path.entry_loss_db(57) == path.entry_loss_db(80)
    assert "80 MHz" in path.entry_loss_note([57, 195])[0]
    assert path.entry_loss_note([57, 195])[1] == ""


def test_wall_spread_is_about_seven_db():
    assert path.entry_loss_sd_db([195, 539]) == pytest.approx([7, 7], abs=0.6)


def test_wall_construction_is_named():
    with pytest.raises(ValueError, match=r"construction is 'straw'.*traditional"):
        path.entry_loss_db(600, construction="straw")


@pytest.mark.parametrize("freq_mhz, loss_db", [(105.9, 3.258), (466.475, 8.758), (949, 12.548)])
def test_leaves(freq_mhz, loss_db):
    # 100 m of woodland by the constants of Rec. ITU-R P.833-9 Table 1; 0.001 dB.
    assert path.vegetation_loss_db(freq_mhz, 100) == pytest.approx(loss_db, abs=0.001)


def test_leaves_saturate():
    # Rec. ITU-R P.833-9: never more than Am.
    assert path.vegetation_loss_db(949, 1e5) == pytest.approx(26.5, abs=1e-6)
    assert path.vegetation_loss_db(600, 0) == 0
    assert (np.diff(path.vegetation_loss_db(600, np.arange(0, 300, 10))) > 0).all()
    assert (np.diff(path.vegetation_loss_db(np.arange(50, 900, 10), 30)) >= 0).all()
