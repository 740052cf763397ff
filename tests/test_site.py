"""A site folder opened: every way of saying the same gives the same site."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import signalshed as shed
from signalshed import facts, site, tables
from signalshed.site.blanks import blank
from signalshed.site.folders import inside
from signalshed.site.stations import COLUMNS

FOLDERS = Path(__file__).parent / "data" / "folders"


@pytest.fixture(scope="module")
def roof():
    return site.open_site(FOLDERS / "roof")


@pytest.fixture
def copy(tmp_path):
    shutil.copytree(FOLDERS, tmp_path / "all")
    return tmp_path / "all" / "roof"


def with_stations(copy, text, mapping=None):
    """The stations of the site with a list of its own only."""
    toml = (copy / "site.toml").read_text().replace('town = "../town"\n', "")
    (copy / "site.toml").write_text(toml)
    (copy / "stations.csv").write_text(text)
    return site.open_site(copy, mapping).stations


def default(name):
    return facts.value("station_defaults", name)


# ---- worked by hand -----------------------------------------------------------------------------


def test_how_far_coordinates_and_a_typed_distance_may_differ(copy):
    # Due north by half a degree and by a twentieth: 55.4 and 5.54 km (111.133 - 0.560 cos 2 lat km a
    # degree on WGS 84). Allowed is a twentieth, 2.77 km, and 1 km at least; and 5 degrees.
    head = "station,rf_channel,standard,latitude_deg,longitude_deg,bearing_deg,distance_km\n"
    cases = {
        (30.95, 0.0, 58.0): True,
        (30.95, 0.0, 58.4): False,
        (30.95, 0.0, 52.8): True,
        (30.95, 0.0, 52.4): False,
        (30.50, 0.0, 6.4): True,
        (30.50, 0.0, 6.7): False,
        (30.95, 4.9, 55.4): True,
        (30.95, 355.2, 55.4): True,
        (30.95, 5.2, 55.4): False,
    }
    for (latitude, bearing, distance), agrees in cases.items():
        text = head + f"A,14,ATSC1,{latitude},-40.70,{bearing},{distance}\n"
        if agrees:
            found = with_stations(copy, text)
            north_km = {30.95: 55.43, 30.50: 5.543}[latitude]
            assert found["distance_km"].item() == pytest.approx(north_km, abs=0.01)
        else:
            with pytest.raises(ValueError, match="the same place as the coordinates"):
                with_stations(copy, text)


def test_the_usual_power_by_band(copy):
    # Judgement: 10 kW on low VHF, RF 2 to 6 (54 to 88 MHz), 15 on high VHF, RF 7 to 13 (174 to 216),
    # 100 on UHF; 10 of an FM station, 1 of a mobile mast. Not knowing it is a doubt of 8 dB; of a
    # greatest power alone, 4; with a height not known too, 7: sqrt(8^2 + 7^2) = 10.63.
    head = "station,rf_channel,standard,bearing_deg,distance_km,"
    head += "erp_kw,antenna_height_m,service,freq_mhz\n"
    text = head + "".join(f"T{rf},{rf},ATSC1,10,40,,100,tv,\n" for rf in (2, 6, 7, 8, 13, 14, 36))
    text += "F,fm,,10,40,,100,fm,98\nM,m,,10,40,,100,mobile,700\n"
    text += "P,20,ATSC1,10,40,5,100,tv,\nN,21,ATSC1,10,40,,,tv,\n"
    found = with_stations(copy, text)
    assert found["erp_kw"].tolist() == [10, 10, 15, 15, 15, 100, 100, 10, 1, 5, 100]
    doubts = [8] * 9 + [4, np.sqrt(64 + 49)]
    assert found["unknown_sd_db"].tolist() == pytest.approx(doubts)
    assert found["haat_m"].tolist() == [100] * 10 + [150]


def test_no_more_power_toward_you_than_at_most_but_for_rounding(copy):
    # A twentieth more is rounding of the list, and taken as it stands.
    head = "station,rf_channel,standard,bearing_deg,distance_km,erp_kw,erp_toward_kw\n"
    found = with_stations(copy, head + "A,14,ATSC1,10,40,100,104\n")
    assert found["erp_kw"].item() == 104 and found["pattern_loss_db"].item() == 0
    with pytest.raises(ValueError, match="no more power than erp_kw"):
        with_stations(copy, head + "A,14,ATSC1,10,40,100,106\n")


def test_a_transmit_pattern_by_hand(copy):
    # Seen from the station the roof lies at 180 degrees when the station is due north. Field 0.5 is a
    # quarter of the power; -30 dB is not believed, nor a field of 0: 20 dB down at most.
    head = "station,rf_channel,standard,bearing_deg,distance_km,erp_kw,pattern,antenna_height_m\n"
    (copy / "patterns").mkdir(exist_ok=True)
    (copy / "patterns" / "own.csv").write_text(
        "azimuth_deg,relative_field\n0,1\n90,0\n180,0.5\n270,0.1\n"
    )
    bearings = {0: 0.25, 90: 0.01, 180: 1.0, 270: 0.01, 45: 0.13}
    rows = "".join(f"A{b},14,ATSC1,{b},40,100,own.csv,100\n" for b in bearings)
    found = with_stations(copy, head + rows)
    # Half way from 180 to 270 degrees: the mean of a quarter and a hundredth.
    assert found["erp_kw"].tolist() == pytest.approx([100 * share for share in bearings.values()])
    assert found["unknown_sd_db"].tolist() == [0] * 5
    # A quarter is 6.02 dB less, a hundredth 20, 0.13 are 8.86; and a table handed back keeps them.
    lost_db = [6.0206, 20.0, 0.0, 20.0, 8.8606]
    assert found["pattern_loss_db"].tolist() == pytest.approx(lost_db, abs=1e-3)
    here = site.open_site(copy)
    again = here.with_stations(here.stations.assign(pattern_loss_db=lost_db, bearing_deg=10.0))
    assert again.stations["pattern_loss_db"].tolist() == lost_db


def test_a_compass_bearing_is_turned_by_the_declination(copy):
    # 12 degrees west of north: a compass that reads 10 points to 358.
    toml = (copy / "site.toml").read_text()
    (copy / "site.toml").write_text("declination_deg = -12.0\n" + toml)
    head = "station,rf_channel,standard,bearing_compass_deg,distance_km\n"
    found = with_stations(copy, head + "A,14,ATSC1,10,40\nB,15,ATSC1,100,40\n")
    assert found["bearing_deg"].tolist() == pytest.approx([358, 88])


# ---- what the folder says is what the site holds ----------------------------------------------------


def test_place_and_settings(roof):
    assert roof.place == site.Place("test roof", 30.45, -40.70)
    assert (roof.region, roof.certainty, roof.noise) == ("us", 0.9, "rural")
    assert roof.tuner.noise_figure_db == 6 and roof.tuner.decodes("ATSC3")


def test_stations_keep_their_order_and_columns(roof):
    assert roof.stations.columns.tolist() == list(COLUMNS)
    assert roof.stations["station"].tolist() == [
        "Gazette",
        "Herald",
        "Lantern",
        "Cornet",
        "Pop Wave",
    ]
    assert roof.stations["rf_channel"].tolist() == ["14", "9", "36", "22", "251"]
    assert roof.stations["shown_channels"][0] == "14.1 14.2"
    assert roof.stations["wanted"].tolist() == [True, True, True, False, False]
    assert roof.stations["wanted"].dtype == bool


def test_frequency_comes_from_the_channel_and_for_radio_from_the_list(roof):
    # 47 CFR 73.603: RF 14 is 470 to 476 MHz, 9 is 186 to 192, 36 is 602 to 608.
    assert roof.stations["freq_mhz"].tolist() == [473, 189, 605, 521, 98.1]
    assert roof.stations["bandwidth_mhz"].tolist() == [6, 6, 6, 6, 0.2]


def test_bearing_and_distance_are_geodesic(roof):
    # On a sphere of 6371 km by the haversine formula; an ellipsoid differs by at most 0.6 %.
    lat, lon = np.deg2rad(roof.stations[["latitude_deg", "longitude_deg"]].to_numpy().T)
    here = np.deg2rad([30.45, -40.70])
    h = np.sin((lat - here[0]) / 2) ** 2
    h += np.cos(lat) * np.cos(here[0]) * np.sin((lon - here[1]) / 2) ** 2
    np.testing.assert_allclose(
        roof.stations["distance_km"], 2 * 6371 * np.arcsin(np.sqrt(h)), rtol=6e-3
    )
    y = np.sin(lon - here[1]) * np.cos(lat)
    x = np.cos(here[0]) * np.sin(lat) - np.sin(here[0]) * np.cos(lat) * np.cos(lon - here[1])
    np.testing.assert_allclose(
        roof.stations["bearing_deg"], np.rad2deg(np.arctan2(y, x)) % 360, atol=0.2
    )


def test_power_toward_the_site_wins_then_pattern_then_maximum_then_a_usual_one(roof):
    s = roof.stations.set_index("station")
    assert s["erp_kw"]["Gazette"] == 310 and s["unknown_sd_db"]["Gazette"] == 0
    assert s["erp_kw"]["Herald"] == 40
    assert "may be far less than the maximum" in s["note"]["Herald"]
    assert s["unknown_sd_db"]["Herald"] == default("only_maximum_sd_db")
    assert s["erp_kw"]["Cornet"] == default("unknown_power_uhf_kw")


def test_pattern_is_read_at_the_bearing_from_the_station_to_the_site(roof):
    # Lantern lies south-west of the roof, so it sees the roof at 51 degrees: between the rows 0 (1.0)
    # and 90 (0.5 of the field, a quarter of the power), linear in power.
    lantern = roof.stations.set_index("station").loc["Lantern"]
    back = shed.earth.bearing_deg(30.10, -41.20, 30.45, -40.70)
    assert 45 < back < 60
    assert lantern["erp_kw"] == pytest.approx(1000 * (1 - back / 90 * 0.75), rel=1e-9)
    assert lantern["unknown_sd_db"] == 0


def test_nulls_of_a_transmit_pattern_are_filled(copy):
    (copy.parent / "town/patterns/lantern.csv").write_text(
        "azimuth_deg,relative_field\n0,0\n90,0\n180,1\n270,0\n"
    )
    s = site.open_site(copy).stations.set_index("station")
    assert s["erp_kw"]["Lantern"] == pytest.approx(1000 * 10 ** (-default("deepest_null_db") / 10))


def test_what_is_not_known_adds_up_in_squares_and_is_said(roof):
    cornet = roof.stations.set_index("station").loc["Cornet"]
    both = np.hypot(default("unknown_power_sd_db"), default("unknown_height_sd_db"))
    assert cornet["unknown_sd_db"] == pytest.approx(both)
    assert cornet["haat_m"] == default("unknown_height_m") and np.isnan(cornet["antenna_amsl_m"])
    assert cornet["note"].startswith("typed from a scan; power unknown")
    assert any("height unknown" in note and "1 of 5" in note for note in roof.notes)


def test_defaults_are_said(roof):
    assert "site.toml: tuner: max_input_dbm is taken as -8, since nothing is said." in roof.notes


def test_mounts_and_feeds(roof):
    window, mast = roof.mount("window"), roof.mount("roof mast")
    assert window.height_agl_m == pytest.approx(3.048) and window.open_to_deg == 130
    assert mast.aim == "fixed" and roof.feed(mast.feed).amplifiers == ("mast amplifier",)
    # By hand: 16 dB gain, 18 m of cable at its own loss, 0.5 dB filter, 3.5 dB splitter, 1 dB plate.
    cable = -shed.chain.coax("series6", 18).gain_at_db(600)
    assert roof.feed("mast line").line(600).gain_db == pytest.approx(16 - cable - 0.5 - 3.5 - 1)
    bench = -shed.chain.coax("series6", 3.048).gain_at_db(600)
    assert roof.feed("bench").line(600).gain_db == pytest.approx(-3 - bench)


def test_an_amplifier_without_its_supply_is_a_loss(copy):
    text = (
        (copy / "site.toml").read_text().replace("gain_db = 16,", "gain_db = 16, powered = false,")
    )
    (copy / "site.toml").write_text(text)
    line = site.open_site(copy).feed("mast line")
    assert line.amplifiers == () and line.line(600).gain_db < -20


def test_antennas_from_numbers_patterns_and_a_trial(roof):
    loop, banded, mesh = (roof.antenna(n) for n in ("loop", "banded", "mesh"))
    assert loop.gain_dbd(539) == 1.5 and loop.lives == ("mast", "window") and loop.effort == 1
    # 47 CFR 73.603: channels 14 to 36 run from 470 to 608 MHz.
    assert (loop.freq_mhz[0], loop.freq_mhz[-1]) == (470, 608)
    assert banded.gain_dbd(539) == pytest.approx(6.75) and banded.polarization == "vertical"
    assert roof.antenna("measured").gain_dbd(500, 45) == pytest.approx(1.0)
    shape = roof.antenna("shape")
    assert shape.gain_dbd(500, 0) == 8 and shape.gain_dbd(500, 135) == pytest.approx(8 - 12.5)
    assert mesh.source == "trial" and mesh.gain_dbd(539) == pytest.approx(7.0)
    # The 90 % interval is 1.645 standard deviations either way.
    assert mesh.spread_db == pytest.approx(2 / 1.645, rel=1e-3)


def test_an_antenna_by_its_build_and_sizes(copy):
    (copy / "antennas.toml").write_text(
        '[[antennas]]\nname = "wire"\nbuild = "half wave dipole"\nlow_mhz = 539\nhigh_mhz = 541\n'
        'sizes = { freq_mhz = 539, wire = "10 AWG" }\nlives = ["attic"]\n'
    )
    wire = site.open_site(copy).antenna("wire")
    assert wire.source == "build" and wire.lives == ("attic",)
    # A half-wave dipole with a good balun is 0 dBd by definition, less a little mismatch and loss.
    assert wire.gain_dbd(540) == pytest.approx(0, abs=0.8)


def test_a_trial_beside_a_build_is_ranked_by_the_trial_with_the_build_s_pattern(copy):
    (copy / "gains.csv").write_text(
        "antenna,freq_mhz,gain_dbd,low_dbd,high_dbd\nwire,539,1.0,0.0,2.0\n"
    )
    (copy / "antennas.toml").write_text(
        '[[antennas]]\nname = "wire"\nbuild = "half_wave_dipole"\ntrial = "gains.csv"\n'
        "sizes = { freq_mhz = 539 }\n"
    )
    wire = site.open_site(copy).antenna("wire")
    assert wire.source == "trial" and wire.gain_dbd(539) == 1.0
    assert wire.gain_dbd(539, 30) == pytest.approx(1.0 - 1.96, abs=0.3), "cos(90 sin a) / cos a"
    assert "compared" in wire._repr_html_() and "Cut list" in wire._repr_html_()


def test_a_build_between_two_channels_is_computed_on_every_one(copy):
    (copy / "antennas.toml").write_text(
        '[[antennas]]\nname = "wire"\nbuild = "half_wave_dipole"\nlow_channel = "7"\n'
        'high_channel = "36"\nsizes = { freq_mhz = [470, 608] }\n'
    )
    opened = site.open_site(copy)
    assert opened.antenna("wire").freq_mhz.tolist()[:3] == [174, 177, 183]
    assert any("a floor" in note for note in opened.notes)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ("{ frequency = 539 }", "'frequency' is none of them"),
        ("{ wire = '10 AWG' }", "'freq_mhz' is missing"),
        ("{ freq_mhz = 'x' }", "freq_mhz"),
        ("{ freq_mhz = 539, wire = 'string' }", "wire|stock"),
        ("3", "sizes must be a table"),
    ],
)
def test_sizes_a_build_does_not_have(copy, sizes, words):
    (copy / "antennas.toml").write_text(
        f'[[antennas]]\nname = "wire"\nbuild = "half_wave_dipole"\nsizes = {sizes}\n'
    )
    with pytest.raises(tables.BadTable, match=words):
        site.open_site(copy)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            'arm_mm = 282\nwire = "10 AWG"\n',
            r"below the line \[antennas.sizes\].*; arm_mm and wire stood above it",
        ),
        ("freq_mhz = 539\n", r"'freq_mhz' is missing below \[antennas.sizes\]"),
        ("[sizes]\nfreq_mhz = 539\n", r"sizes stand below their antenna, under \[antennas.sizes\]"),
    ],
)
def test_sizes_typed_one_level_too_high(copy, typed, words):
    (copy / "antennas.toml").write_text(f'[[antennas]]\nname = "mine"\nbuild = "bow tie"\n{typed}')
    with pytest.raises(tables.BadTable, match=words):
        site.open_site(copy)


def test_a_misspelt_form_is_asked_about(copy):
    (copy / "antennas.toml").write_text(
        '[[antennas]]\nname = "mine"\nbuild = "bow_tye"\nsizes = { freq_mhz = 539 }\n'
    )
    with pytest.raises(tables.BadTable, match=r"did you mean bow_tie\?$"):
        site.open_site(copy)


def test_readings_are_as_written_less_those_taken_back(roof):
    assert roof.readings["rf_channel"].tolist() == ["14", "9"]
    assert roof.readings["locked"].tolist() == [True, False]
    assert roof.readings["time"].iloc[0] == pd.Timestamp("2026-05-02T01:15:00Z")
    assert roof.readings["note"].iloc[1] == "=rain"
    # Rows 3 and 4 of the file are a reading and the row that takes it back.
    assert roof.readings.index.tolist() == [2, 5]
    assert "readings.csv: 1 reading was taken back." in roof.notes
    assert any("'gone'" in note and "teaches nothing" in note for note in roof.notes)
    assert roof.ladder["pad_db"].tolist() == [0, 20]


def test_the_whole_job_runs_on_it(roof):
    table = shed.advice.rank(roof)
    assert {"roof mast", "window"} == set(table["mount"])


# ---- other ways of saying the same ------------------------------------------------------------------


@pytest.fixture
def plain(copy):
    """Stations of a list with true bearings and kilometres."""
    return with_stations(
        copy,
        "station,rf_channel,standard,bearing_deg,distance_km,erp_toward_kw,antenna_height_m\n"
        "Gazette,14,ATSC1,25,54.717696,310,152.4\n",
    )


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("bearing_deg,distance_mi,erp_toward_kw,antenna_height_m", "25,34,310,152.4"),
        ("bearing_true_deg,distance_km,erp_toward_w,antenna_height_ft", "25,54.717696,310000,500"),
        ("antenna_height_ft,erp_toward_dbk,distance_mi,bearing_deg", "500,24.913616938,34,25"),
    ],
)
def test_units_by_the_name_of_the_column(copy, plain, header, cells):
    other = with_stations(copy, f"station,rf_channel,standard,{header}\nGazette,14,ATSC1,{cells}\n")
    columns = ["bearing_deg", "distance_km", "erp_kw", "haat_m"]
    np.testing.assert_allclose(
        other[columns].astype(float), plain[columns].astype(float), rtol=1e-9
    )


def test_other_column_names_and_channels_written_as_numbers(copy, plain):
    text = "Call sign,Ch,Std,Az,Miles,kW,Feet,Owner\nGazette,14.0,ATSC 1.0,25,34,310,500,somebody\n"
    names = {"Call sign": "station", "Ch": "rf_channel", "Std": "standard", "Az": "bearing_deg"}
    names |= {"Miles": "distance_mi", "kW": "erp_toward_kw", "Feet": "antenna_height_ft"}
    other = with_stations(copy, text, names | {"Owner": None})
    pd.testing.assert_frame_equal(other, plain, check_exact=False)
    nested = with_stations(copy, text, {"stations.csv": names | {"*": None}})
    pd.testing.assert_frame_equal(nested, plain, check_exact=False)


def test_semicolons_and_decimal_commas(copy, plain):
    other = with_stations(
        copy,
        "station;rf_channel;standard;bearing_deg;distance_km;erp_toward_kw;antenna_height_m\n"
        "Gazette;14;ATSC1;25,0;54,717696;310;152,4\n",
    )
    pd.testing.assert_frame_equal(other, plain)


def test_compass_bearings_are_turned_to_true_ones(copy, plain):
    head = "station,rf_channel,standard,bearing_compass_deg,distance_km\n"
    toml = (copy / "site.toml").read_text()
    by_model = with_stations(copy, head + "A,14,ATSC1,25,40\n")["bearing_deg"][0]
    # The model itself is held against its published test values in the tests of earth.
    model = shed.earth.declination(30.45, -40.70)
    assert by_model == pytest.approx(25 + model.east_deg, abs=0.01)
    (copy / "site.toml").write_text(toml.replace("certainty", "declination_deg = -12\ncertainty"))
    readings = (copy / "readings.csv").read_text().replace("heading_deg", "heading_compass_deg")
    (copy / "readings.csv").write_text(readings)
    text = (copy / "site.toml").read_text()
    for end in ("from", "to"):
        text = text.replace(f"open_{end}_deg", f"open_{end}_compass_deg")
    (copy / "site.toml").write_text(text)
    assert with_stations(copy, head + "A,14,ATSC1,5,40\n")["bearing_deg"][0] == 353
    opened = site.open_site(copy)
    assert opened.readings["heading_deg"].iloc[0] == 13
    assert opened.mount("window").open_from_deg == 318 and opened.mount("window").open_to_deg == 118
    assert any("-12.0 degrees" in note and "as typed" in note for note in opened.notes)


def test_terrain_tiles_give_the_heights_a_list_leaves_out(copy):
    head = "station,rf_channel,standard,latitude_deg,longitude_deg,erp_toward_kw,antenna_height_m,"
    text = head + (
        "antenna_amsl_m,antenna_agl_m\n"
        "Both,14,ATSC1,30.8,-40.5,10,100,,\nSea,15,ATSC1,30.8,-40.5,10,,412,\n"
        "Foot,16,ATSC1,30.8,-40.5,10,,,60\nHill,17,ATSC1,30.8,-40.5,10,,200,\n"
        "None,18,ATSC1,30.8,-40.5,10,,,\nOff,19,ATSC1,31.5,-40.5,10,,412,\n"
    )
    without = with_stations(copy, text).set_index("station")
    assert without["haat_m"]["Sea"] == default("unknown_height_m")
    (copy / "terrain").mkdir()
    np.full((1201, 1201), 250, ">i2").tofile(copy / "terrain" / "N30W041.hgt")
    s = site.open_site(copy).stations.set_index("station")
    # Flat land at 250 m: by hand.
    assert s["haat_m"][:3].tolist() == pytest.approx([100, 162, 60])
    assert s["antenna_amsl_m"][:3].tolist() == pytest.approx([350, 412, 310])
    assert s["transmit_agl_m"][:3].tolist() == pytest.approx([100, 162, 60])
    assert s["unknown_sd_db"][:3].eq(0).all()
    assert "inside the hill" in s["note"]["Hill"] and np.isnan(s["transmit_agl_m"]["Hill"])
    for name in ("Hill", "None"):
        assert s["unknown_sd_db"][name] == default("unknown_height_sd_db")
    # No tile at its foot: the ground at the roof, 250 m, stands for the land's.
    assert s["haat_m"]["Off"] == pytest.approx(162)
    assert s["unknown_sd_db"]["Off"] == default("estimated_height_sd_db")


def test_a_tower_on_a_hill_stands_higher_above_average_land_than_above_its_foot(copy):
    # The land lies at 250 m, a hill of some 900 m across under the tower at 300 m. 100 m above average
    # terrain is 350 m, 50 m above the foot; 412 m are 162 and 112 m; 60 m above the foot, 360 and 110 m.
    head = "station,rf_channel,standard,latitude_deg,longitude_deg,erp_toward_kw,antenna_height_m,"
    spot = "ATSC1,30.8,-40.5,10"
    text = head + (
        f"antenna_amsl_m,antenna_agl_m\nAverage,14,{spot},100,,\nSea,15,{spot},,412,\nFoot,16,{spot},,,60\n"
    )
    land = np.full((1201, 1201), 250, ">i2")
    land[235:246, 595:606] = 300
    (copy / "terrain").mkdir()
    land.tofile(copy / "terrain" / "N30W041.hgt")
    s = with_stations(copy, text)
    assert s["haat_m"].tolist() == pytest.approx([100, 162, 110])
    assert s["antenna_amsl_m"].tolist() == pytest.approx([350, 412, 360])
    assert s["transmit_agl_m"].tolist() == pytest.approx([50, 112, 60])


def test_a_tile_that_is_none_is_said(copy):
    (copy / "terrain").mkdir()
    (copy / "terrain" / "N30W041.hgt").write_bytes(b"short")
    (copy / "terrain" / "here.hgt").write_bytes(b"")
    notes = [note for note in site.open_site(copy).notes if "left out" in note]
    assert len(notes) == 2
    assert "N30W041.hgt: has 5 bytes" in notes[0] and "here.hgt: a tile is named by" in notes[1]


def test_west_positive_longitudes(copy):
    head = "station,rf_channel,standard,latitude_deg,"
    east = with_stations(copy, head + "longitude_deg\nA,14,ATSC1,30.8,-40.5\n")
    west = with_stations(copy, head + "longitude_west_deg\nA,14,ATSC1,30.8,40.5\n")
    pd.testing.assert_frame_equal(east, west)


def test_coordinates_and_bearing_with_distance_agree_both_ways(copy):
    head = "station,rf_channel,standard,latitude_deg,longitude_deg,bearing_deg,distance_km\n"
    bearing, distance = shed.earth.bearing_and_distance(30.45, -40.70, 30.8, -40.5)
    one = with_stations(copy, head + "A,14,ATSC1,30.8,-40.5,,\n")
    other = with_stations(copy, head + f"A,14,ATSC1,,,{bearing},{distance}\n")
    both = with_stations(copy, head + f"A,14,ATSC1,30.8,-40.5,{bearing:.0f},{distance:.0f}\n")
    columns = ["bearing_deg", "distance_km"]
    np.testing.assert_allclose(one[columns], other[columns], rtol=1e-9)
    pd.testing.assert_frame_equal(one, both)


def test_the_towns_list_and_the_sites_own_are_joined(copy):
    (copy / "stations.csv").write_text(
        "station,rf_channel,standard,bearing_deg,distance_km\nHut,30,ATSC1,80,3\n"
    )
    stations = site.open_site(copy).stations
    assert stations["station"].tolist()[-1] == "Hut" and len(stations) == 6


def test_a_blank_list_of_the_sites_own_adds_nothing(copy, roof):
    (copy / "stations.csv").write_text(blank("site")["stations.csv"])
    pd.testing.assert_frame_equal(site.open_site(copy).stations, roof.stations)


def test_same_name_on_another_channel_or_place_is_another_station(copy):
    head = "station,place,rf_channel,standard,bearing_deg,distance_km\n"
    text = head + "A,X,14,ATSC1,1,30\nA,X,15,ATSC1,1,30\nA,Y,14,ATSC1,90,30\n"
    assert len(with_stations(copy, text)) == 3


@pytest.mark.parametrize(
    ("region", "channel", "centre"),
    # GE06 plan: UHF channel 21 is 470 to 478 MHz. Australia's channel 9A is 202 to 209 MHz.
    [("ge06", "21", 474), ("au", "9a", 205.5)],
)
def test_other_regions(copy, region, channel, centre):
    text = (copy / "site.toml").read_text()
    text = text.replace('region = "us"', f'region = "{region}"').replace("ATSC1", "DVB-T")
    (copy / "site.toml").write_text(text.replace("ATSC3", "DVB-T2"))
    antennas = '[[antennas]]\nname = "a"\ngain_dbd = 3\nlow_mhz = 170\nhigh_mhz = 694\n'
    (copy / "antennas.toml").write_text(antennas)
    (copy / "readings.csv").unlink()
    head = "station,rf_channel,standard,bearing_deg,distance_km\n"
    stations = with_stations(copy, head + f"A,{channel},DVB-T,10,20\n")
    assert stations["freq_mhz"][0] == centre and stations["rf_channel"][0] == channel.upper()


# ---- the site as a thing ----------------------------------------------------------------------------


def test_lookups_say_what_there_is(roof):
    assert roof.mount(roof.mount("window")).name == "window"
    for ask, words in (
        (lambda: roof.mount("rof"), "'roof mast', 'window'"),
        (lambda: roof.antenna("lop"), "'loop'"),
        (lambda: roof.feed(None), "'mast line', 'bench'"),
        (lambda: roof.mount(3), "There is no mount 3"),
    ):
        with pytest.raises(ValueError, match=words):
            ask()


@pytest.mark.parametrize("unknown", ["", "?"])
def test_a_folder_whose_only_reading_is_not_known_opens_with_a_note(copy, unknown):
    lines = (copy / "readings.csv").read_text().splitlines()[:2]
    at = lines[0].split(",").index("locked")
    cells = lines[1].split(",")
    cells[at] = unknown
    (copy / "readings.csv").write_text("\n".join([lines[0], ",".join(cells)]) + "\n")
    opened = site.open_site(copy)
    assert opened.readings.empty
    assert any("it is not known. The row is left out" in note for note in opened.notes)


def test_a_changed_list_is_worked_out_anew():
    home = (30.0, -40.0)
    rows = [
        {
            "station": "A",
            "rf_channel": 24,
            "latitude_deg": 30.3,
            "longitude_deg": -40.0,
            "erp_kw": 9,
        },
        {"station": "B", "rf_channel": 33, "bearing_deg": 80, "distance_km": 40, "erp_kw": 9},
    ]
    here = site.from_tables(home, rows)
    same = here.with_stations(here.stations)
    pd.testing.assert_frame_equal(same.stations, here.stations)
    listed = here.stations
    turned = here.with_stations(listed.assign(bearing_deg=[180.0, 80.0])).stations
    # As far south as it was north; a degree of latitude is within 1 % the same there.
    assert turned["latitude_deg"][0] == pytest.approx(29.7, abs=1e-3)
    assert turned["bearing_deg"].tolist() == pytest.approx([180, 80])
    moved = here.with_stations(listed.assign(latitude_deg=[29.7, np.nan])).stations
    assert moved["bearing_deg"][0] == pytest.approx(180)
    # RF 25 is 536 to 542 MHz: 47 CFR 73.603.
    tuned = here.with_stations(listed.assign(rf_channel=["25", "33"])).stations
    assert tuned["freq_mhz"].tolist() == [539.0, 587.0]
    both = listed.assign(latitude_deg=[29.7, np.nan], bearing_deg=[90.0, 80.0])
    with pytest.raises(tables.BadTable, match="the same place as the coordinates"):
        here.with_stations(both)
    assert len(here.with_stations(rows[:1]).stations) == 1
    weak = here.with_stations(listed.drop(columns="erp_kw"))
    assert "power unknown" in weak.stations["note"][0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bearing_deg": 400.0}, "bearing_deg: 400 is there; expected a number from 0 to 360"),
        ({"bearing_deg": np.nan}, "both bearing_deg and distance_km"),
        ({"polarization": "sideways"}, "one of horizontal, vertical, both"),
        ({"erp_kw": "lots"}, "erp_kw: 'lots' is there"),
        ({"wanted": "perhaps"}, "expected yes or no"),
        ({"station": "A", "rf_channel": "24", "place": "p"}, "each station once"),
        ({"freq_mhz": 700.0}, "the centre of the RF channel"),
    ],
)
def test_a_changed_list_is_checked_as_a_file_is(change, words):
    rows = [{"station": n, "rf_channel": 24, "bearing_deg": 8, "distance_km": 9} for n in "AB"]
    here = site.from_tables((30.0, -40.0), rows)
    with pytest.raises(tables.BadTable, match=words):
        here.with_stations(here.stations.assign(**change))


def test_with_gives_a_new_site_and_leaves_the_old(roof):
    more = roof.with_antenna(shed.antenna.plain_dipole())
    assert "half-wave dipole" in more.antennas and "half-wave dipole" not in roof.antennas
    fewer = roof.with_stations(roof.stations[roof.stations["wanted"]])
    assert fewer.stations.index.tolist() == [0, 1, 2] and len(roof.stations) == 5
    assert roof.with_belief("told").belief == "told" and roof.belief is None


@pytest.mark.parametrize(
    "bad",
    [
        {"kind": "tree"},
        {"height_agl_m": 0},
        {"open_from_deg": 725},
        {"construction": "straw"},
        {"aim": "maybe"},
        {"blocked_loss_db": -1},
        {"height_agl_m": float("nan")},
    ],
)
def test_a_mount_refuses_nonsense(bad):
    good = {"name": "m", "kind": "mast", "height_agl_m": 9.0}
    with pytest.raises(ValueError, match=next(iter(bad))):
        site.Mount(**{**good, **bad})


@pytest.mark.parametrize("kind", site.MOUNT_KINDS)
def test_every_kind_of_mount_is_in_the_facts_and_has_its_usual_aim(kind):
    assert kind in set(facts.table("mount_kinds")["kind"])
    aim = "never" if kind in ("vehicle", "boat") else "fixed"
    assert site.Mount("m", kind, 3).aim == aim


# ---- new folders ------------------------------------------------------------------------------------


def test_a_blank_folder_holds_every_column_and_no_mark_of_a_frame():
    assert blank("site")["stations.csv"] == ",".join(tables.STATIONS.header()) + "\n"
    assert "# certainty = 0.8    " in blank("site")["site.toml"]
    assert '#   { coax = "series6", length_m = 15 }\n' in blank("site")["site.toml"]
    for name, text in (blank("site") | blank("town")).items():
        assert text.endswith("\n") and not re.search(r"{[a-z_ ]+}", text), name


def test_every_key_and_column_stands_in_the_data_dictionary():
    text = blank("site")["data_dictionary.md"]
    specs = [spec for name, spec in tables.TABLES.items() if name != "transmit_pattern"]
    for column in (column for spec in specs for column in spec.columns):
        assert f"| {column.name}" in text and column.meaning, column.name
    assert "licence records" in blank("town")["data_dictionary.md"]


def test_a_folder_that_holds_something_is_refused(tmp_path):
    folder = site.new_site(tmp_path / "roof")
    before = {f: f.read_bytes() for f in folder.iterdir() if f.is_file()}
    with pytest.raises(ValueError, match="holds something"):
        site.new_site(folder)
    with pytest.raises(ValueError, match="holds something"):
        site.new_town(folder)
    assert before == {f: f.read_bytes() for f in folder.iterdir() if f.is_file()}


def test_a_folder_that_cannot_be_made_says_what_to_do(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(tables.CannotSave, match="Choose a folder of your own"):
        site.new_site(tmp_path / "file" / "roof")


ANSWERS = {
    "name": "Ünal's roof",
    "latitude": 30.45,
    "longitude": -40.7,
    "region": "us",
    "certainty": None,
    "tuner": {"name": "set", "standards": ["ATSC1"], "noise_figure_db": None},
    "mounts": [{"name": "mast", "kind": "mast", "height_agl_ft": 30}],
    "feeds": [{"name": "cable", "parts": [{"coax": "series6", "length_m": 15}]}],
}


def test_ten_hand_typed_stations_in_a_blank_folder_give_a_ranking_and_a_report(tmp_path):
    folder = site.new_site(tmp_path / "roof")
    site.write_site(folder, ANSWERS)
    header = tables.STATIONS.header()
    with (folder / "stations.csv").open("a", encoding="utf-8") as file:
        for k in range(10):
            row = {"station": f"Station {k}", "rf_channel": str(14 + k), "standard": "ATSC1"}
            row |= {"latitude_deg": f"{30.9 + k / 50}", "longitude_deg": f"{-40.5 - k / 30}"}
            row |= {"erp_kw": "400", "antenna_height_m": "250"}
            file.write(",".join(row.get(name, "") for name in header) + "\n")
    roof = site.open_site(folder)
    assert roof.name == "Ünal's roof" and len(roof.stations) == 10
    ranking = shed.advice.rank(roof)
    assert ranking["expected"].iloc[0] > 0


@pytest.mark.parametrize(("region", "shows"), [("us", "ATSC1"), ("ge06", "DVB-T DVB-T2")])
def test_a_tv_of_which_nothing_is_said_shows_what_is_usual(tmp_path, region, shows):
    # What is on the air in these countries: common practice, no source.
    answers = {key: value for key, value in ANSWERS.items() if key != "tuner"}
    path = site.write_site(tmp_path / "roof", {**answers, "region": region})
    assert tomllib.loads(path.read_text("utf-8"))["tuner"]["standards"] == shows.split()
    assert f"taken as usual in region {region}" in path.read_text("utf-8")
    named = site.write_site(tmp_path / "named", {**answers, "tuner": {"name": "den"}})
    assert tomllib.loads(named.read_text("utf-8"))["tuner"] == {
        "name": "den",
        "standards": ["ATSC1"],
    }
    with pytest.raises(tables.BadTable, match="region"):
        site.write_site(tmp_path / "nowhere", {**answers, "region": "atlantis"})


def test_what_has_a_chance_is_found_once(monkeypatch):
    calls, found = [], site.heard.has_chance
    monkeypatch.setattr(site.heard, "has_chance", lambda s: calls.append(1) or found(s))
    roof = shed.simulate.invented_site(3)  # new: what others asked of is not remembered
    for _ in range(3):
        site.shown(roof), site.rest_words(roof)
    assert len(calls) == 1


def test_a_site_of_a_town_points_to_it(tmp_path):
    town = site.new_town(tmp_path / "the town")
    shutil.copy(FOLDERS / "town" / "stations.csv", town / "stations.csv")
    shutil.copytree(FOLDERS / "town" / "patterns", town / "patterns", dirs_exist_ok=True)
    folder = site.new_site(tmp_path / "roofs" / "mine", town=town)
    assert not (folder / "stations.csv").exists()
    site.write_site(folder, ANSWERS)
    assert len(site.open_site(folder).stations) == 5


def test_answers_are_checked_before_anything_is_written(tmp_path):
    folder = site.new_site(tmp_path / "roof")
    before = (folder / "site.toml").read_bytes()
    with pytest.raises(tables.BadTable) as caught:
        site.write_site(
            folder, {**ANSWERS, "latitude": 95, "mounts": [{"name": "m", "kind": "tree"}]}
        )
    assert caught.value.problems["column"].tolist() == [
        "latitude",
        'mount "m": kind',
        'mount "m": height_agl_m',
    ]
    with pytest.raises(tables.BadTable, match="exactly one of"):
        site.write_antennas(folder, [{"name": "a"}])
    assert (folder / "site.toml").read_bytes() == before


def test_a_file_that_was_filled_in_is_not_replaced(tmp_path):
    folder = site.new_site(tmp_path / "roof")
    site.write_site(folder, ANSWERS)
    before = (folder / "site.toml").read_bytes()
    with pytest.raises(ValueError, match="filled in already"):
        site.write_site(folder, ANSWERS)
    assert (folder / "site.toml").read_bytes() == before
    site.write_antennas(folder, [{"name": "a", "gain_dbd": 3, "low_mhz": 470, "high_mhz": 608}])
    with pytest.raises(ValueError, match="filled in already"):
        site.write_antennas(folder, [{"name": "b", "gain_dbd": 3, "low_mhz": 470, "high_mhz": 608}])


# ---- file names -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "../x.csv",
        "/etc/passwd",
        "a/../../x",
        "C:\\x.csv",
        "..\\x.csv",
        "",
        ".",
        "a\x00b",
        "a\nb",
        "~|x",
    ],
)
def test_names_that_lead_out_of_the_folder_are_refused(tmp_path, name):
    with pytest.raises(ValueError, match="within the folder"):
        inside(tmp_path, name)


def test_a_link_that_leads_out_is_refused(tmp_path):
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.csv").write_text("x")
    (tmp_path / "in" / "link.csv").symlink_to(tmp_path / "secret.csv")
    with pytest.raises(ValueError, match="leads out"):
        inside(tmp_path / "in", "link.csv")


def test_a_site_in_a_cell_says_what_is_in_it_and_no_more(roof):
    said = repr(roof)
    assert len(said) < 400 and roof.name in said and f"{len(roof.stations)} stations" in said
    assert f"{len(roof.antennas)} antennas" in said and "no readings used yet" in said


# ---- what a stranger reads when the list is not ours yet ---------------------------------------------

_MILES = "station,rf_chanel,bearing_true_deg,distance_mi\nAlpha,14,40,31\nBeta,22,9o,12\n"


@pytest.fixture
def strange(tmp_path):
    """A site folder of one's own whose list is in miles, with a typo in header and cell."""
    mast = {"name": "mast", "kind": "mast", "height_agl_m": 9}
    where = {"name": "roof", "latitude": 30.45, "longitude": -40.7, "region": "us"}
    site.write_site(
        tmp_path / "roof", {**where, "tuner": {"standards": ["ATSC1"]}, "mounts": [mast]}
    )
    (tmp_path / "roof" / "stations.csv").write_text(_MILES, encoding="utf-8")
    return tmp_path / "roof"


def test_a_missing_column_is_said_once_and_not_for_every_row(strange):
    with pytest.raises(tables.BadTable) as caught:
        site.open_site(strange)
    said = str(caught.value).splitlines()
    assert said[0].startswith("3 problems") and len(said) == 4
    assert "did you mean rf_channel?" in said[1] and "mapping={'rf_chanel': None}" in said[1]
    assert "row 3, bearing_true_deg: '9o' is there" in said[3]


def test_the_mapping_that_the_message_offers_reads_the_list_in_miles(strange):
    (strange / "stations.csv").write_text(_MILES.replace("9o", "90"), encoding="utf-8")
    read = site.open_site(strange, mapping={"rf_chanel": "rf_channel"}).stations
    assert read["rf_channel"].tolist() == ["14", "22"]
    # 1 international mile is 1.609344 km by definition.
    assert read["distance_km"].tolist() == pytest.approx([31 * 1.609344, 12 * 1.609344])


def test_a_cell_of_a_notebook_ends_in_the_sentences_alone(strange):
    cell = f"import signalshed as shed; shed.site.open_site({str(strange)!r})"
    asked = [sys.executable, "-m", "IPython", "--no-banner", "--colors=NoColor", "-c", cell]
    home = {**os.environ, "IPYTHONDIR": str(strange.parent)}
    shown = subprocess.run(asked, capture_output=True, text=True, check=False, env=home)
    assert "BadTable: 3 problems; nothing was changed." in shown.stdout
    assert "Traceback" not in shown.stdout + shown.stderr and ".py" not in shown.stdout


def test_channels_that_no_trial_read_are_moved_by_what_it_found(copy):
    """A label of 10 dBd of which two channels showed 3 dBd promises no more on the others."""
    (copy / "gains.csv").write_text(
        "antenna,freq_mhz,gain_dbd,low_dbd,high_dbd\npanel,521,3,2,4\npanel,539,3,-5,11\n"
    )
    (copy / "antennas.toml").write_text(
        '[[antennas]]\nname = "panel"\ngain_dbd = 10\nlow_mhz = 470\nhigh_mhz = 608\n'
        'spread_db = 3\ntrial = "gains.csv"\n'
    )
    panel = site.open_site(copy).antenna("panel")
    assert panel.gain_dbd([473, 509, 551, 605]) == pytest.approx(3)
    assert panel.gain_dbd([521, 530, 539]) == pytest.approx(3)
    # A 90 % interval is 1.645 standard deviations either way; each channel has its own, 0.608 and
    # 4.863, 2.736 on average; 48 MHz beyond, of a reach of 150, sqrt(2.736^2 + (1 - exp(-0.64)) 9)
    # = 3.428, but no more than the description's own 3.
    assert panel.spread_at_db([473, 521, 539]) == pytest.approx([3, 1 / 1.645, 8 / 1.645], rel=1e-3)
