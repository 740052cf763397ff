"""Many roofs in one call, what a sentence about lock moves, and sites side by side."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from hand import flat, site_with

from signalshed import advice, simulate, survey
from signalshed.simulate.demo import FOLDER

FOUR = """latitude = 30.45
longitude = -40.72
town = "{town}"
wants = ["5.1", "19.1", "99.1"]
"""


@pytest.fixture(scope="module")
def askers(tmp_path_factory):
    """Two in one house: the second also said what comes in; and one whose file cannot be understood."""
    room = tmp_path_factory.mktemp("askers")
    four = FOUR.format(town=(FOLDER / "town").as_posix())
    texts = {
        "first": four,
        "second": four + 'gets = ["5.1"]\ngets_not = ["9.1", "3.1"]\n',
        "odd": four + 'colour = "red"\n',
    }
    for name, text in texts.items():
        (room / name).mkdir()
        (room / name / "asker.toml").write_text(text, encoding="utf-8")
    return [room / name for name in texts]


@pytest.fixture(scope="module")
def told(askers):
    return advice.many_roofs(askers)


def test_an_asker_is_four_lines_on_a_shared_town(told):
    row = told.iloc[0]
    assert row["who"] == "first" and row["wrong"] == "" and row["best"].endswith("window")
    # half a station less is nearly as good: the simpler of two such comes first
    assert row["expected"] > row["with_mine"] - 0.5 > 0
    assert len(row["chances"]) == 3 and np.isnan(row["chances"][2])
    assert "99.1: not in the list" in row["named"] and row["named"].startswith("5.1: ")
    assert "With what antenna do you watch now?" in row["ask"] and "Do you get " in row["ask"]


def test_one_folder_that_is_wrong_costs_its_row_alone(told):
    assert "'colour' is no key of it" in told["wrong"][2] and told["best"][2] == ""
    assert told["wrong"][:2].tolist() == ["", ""]


def test_what_comes_and_what_does_not_moves_the_answer(told):
    """5.1 in and 3.1 out: more surely the first, and fewer stations than the list alone promised."""
    first, second = told.iloc[0], told.iloc[1]
    assert second["chances"][0] > first["chances"][0]
    assert second["chances"][1] < first["chances"][1]  # 19.1 shares the tower of 3.1
    assert second["expected"] < first["expected"] - 0.3


def test_lock_readings_know_nothing_of_a_meter():
    site = simulate.demo_site()
    rows = advice.lock_readings(site, ["5.1"], ["3.1"], "wire loop")
    assert rows["rf_channel"].tolist() == ["24", "21"]
    assert rows["reading"].isna().all()
    with pytest.raises(ValueError, match=r"shows '7\.9'"):
        advice.lock_readings(site, ["7.9"], [])


def test_of_two_stations_with_one_number_the_nearer_is_meant():
    site = site_with([5.0, 5.0], shown_channels="9.1 9.2", distance_km=[8.0, 5.0])
    assert advice.lock_readings(site, ["9.1"], [], "flat")["rf_channel"].tolist() == ["18"]


def test_a_number_that_two_stations_show_comes_by_the_surer():
    # 10 dB to spare are one sd of 10 dB: 0.8413 of roofs (normal table).
    site = site_with([10.0, -10.0], shown_channels="9.1")
    received = survey.reception(site, survey.Setup("flat", "mast", heading_deg=0.0))
    assert advice.many._chance(site, received, "9.1") == pytest.approx(0.8413, abs=1e-3)


def test_an_asker_is_asked_for_the_station_nearest_to_even_odds():
    # 10 dB of doubt: of 20, 1 and -8 dB to spare the second comes on 0.54 of roofs.
    site = site_with([20.0, 1.0, -8.0], shown_channels=["2.1", "3.1", "4.1"])
    asked = advice.many._ask_back(site, {"town": "town", "has": "flat"})
    assert asked.endswith("Do you get 3.1 (s1) with what you have?")


def test_any_map_gives_the_same(askers, told):
    with ThreadPoolExecutor(2) as pool:
        spread = advice.many_roofs(askers, map=pool.map)
    assert spread.drop(columns="chances").equals(told.drop(columns="chances"))


def test_side_by_side_is_the_difference_of_power():
    """Ten times the power is 10 dB more to spare, a hundredth 20 dB less; the largest change leads."""
    one = site_with([5.0, -3.0, 1.0], antennas=(flat(),))
    power = one.stations["erp_kw"] * [1.0, 10.0, 0.01]
    other = replace(one, stations=one.stations.assign(erp_kw=power))
    table = advice.beside(one, other, survey.Setup("flat", "mast", heading_deg=0.0))
    assert table["station"].tolist() == ["s2", "s1", "s0"]
    assert table["more_db"].tolist() == pytest.approx([-20.0, 10.0, 0.0], abs=0.3)
    fewer = replace(one, stations=one.stations.iloc[:1])
    gone = advice.beside(one, fewer, survey.Setup("flat", "mast", heading_deg=0.0))
    assert np.isnan(gone.set_index("station").loc["s1", "more_db"])


def test_a_build_out_of_its_band_names_the_channels():
    site = site_with([5.0, 5.0], antennas=(flat().renamed("low", freq_mhz=[400, 480]),))
    table = advice.out_of_band(site).set_index("antenna")
    assert table.loc["low", "lacks"] == "18" and table.loc["low", "covered"] == 1
    assert table.loc["flat", "lacks"] == "" and table.index[0] == "low"
