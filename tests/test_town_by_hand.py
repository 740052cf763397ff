"""From a paste or a form to files: only what was changed is written, the old file is kept, hopeless
stations are counted and not told to try harder, the sun's bearing is that of published tables."""

import shutil
import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hand import stations

import signalshed as shed
from signalshed import builds, earth, site, survey
from signalshed.registers import typed
from signalshed.tables import STATIONS, BadTable, tomled
from signalshed.tables.rows import with_row

REPO = Path(__file__).resolve().parents[1]
HOME = (30.45, -40.7)


@pytest.fixture
def house(tmp_path):
    shutil.copytree(REPO / "demo_data" / "town", tmp_path / "town")
    return Path(shutil.copytree(REPO / "demo_data" / "hill_house", tmp_path / "hill_house"))


def changed_lines(before, after):
    """Lines of ``after`` that are not in ``before``, and the other way round."""
    old, new = before.splitlines(), after.splitlines()
    return [x for x in new if x not in old], [x for x in old if x not in new]


# ---- files changed -------------------------------------------------------------------------------


def test_a_change_touches_its_own_lines_and_keeps_the_old_file(house):
    before = (house / "site.toml").read_text()
    said = site.change(house, latitude=30.46, mounts={"attic": {"height_agl_ft": 20}})
    new, gone = changed_lines(before, (house / "site.toml").read_text())
    assert new == ["latitude = 30.46", "height_agl_ft = 20"]
    assert gone == ["latitude = 30.4500", "height_agl_m = 6"]
    (kept,) = house.glob("site_before_*.toml")
    assert kept.read_text() == before and kept.name in said
    assert site.open_site(house).mount("attic").height_agl_m == pytest.approx(6.096)  # 20 x 0.3048


def test_a_place_is_added_and_taken_out_and_remarks_stay(house):
    before = (house / "site.toml").read_text()
    site.change(
        house, mounts={"shed roof": {"kind": "roof", "height_agl_m": 3, "feed": "bench lead"}}
    )
    site.change(house, mounts={"attic": None}, leaves="bare")
    roof = site.open_site(house)
    assert set(roof.mounts) == {"roof mast", "bench window", "shed roof"} and roof.leaves == "bare"
    remark = before.splitlines()[0]
    assert remark.startswith("#") and remark in (house / "site.toml").read_text()


def test_nothing_is_written_where_something_will_not_do(house):
    before = (house / "site.toml").read_text()
    with pytest.raises(BadTable, match="latitude") as told:
        site.change(house, latitude=95, colour="red")
    assert "colour" in str(told.value)
    assert (house / "site.toml").read_text() == before and not list(house.glob("*_before_*"))


def test_the_same_again_writes_nothing(house):
    assert "nothing has changed" in site.change(house, latitude=30.45)
    assert not list(house.glob("*_before_*"))


def test_a_remark_behind_a_value_and_a_number_sign_in_text_stay():
    text = 'name = "a # b"  # the # of it\nregion = "us"\n'
    assert tomled.edited(text, {"name": "c # d", "region": "us"}) == (
        'name = "c # d"  # the # of it\nregion = "us"\n'
    )


@pytest.mark.parametrize(
    "build",
    [
        builds.loop(539),
        builds.bow_tie((470, 608), screen=builds.mesh_screen(700, 600, behind_mm=160)),
        builds.own(539, [[(-130, 0), (130, 0)]], balun="1:1"),
        builds.biquad(539),
    ],
    ids=lambda build: build.form,
)
def test_a_build_is_added_with_its_sizes_and_is_the_same_antenna_when_read(house, build):
    before = (house / "antennas.toml").read_text()
    site.add_antenna(house, build)
    assert (house / "antennas.toml").read_text().startswith(before.rstrip("\n"))
    row = tomllib.loads((house / "antennas.toml").read_text())["antennas"][-1]
    again = site.antennas.make_build(row["build"], row["sizes"])
    assert again.identity == build.identity


def test_an_antenna_in_place_of_one_and_taken_out(house):
    site.add_antenna(house, {"name": "flat", "gain_dbi": 7, "low_mhz": 470, "high_mhz": 608})
    said = site.add_antenna(house, {"name": "flat", "gain_dbd": 3, "low_mhz": 470, "high_mhz": 608})
    assert said.startswith("antennas.toml: changed flat")
    assert (house / "antennas.toml").read_text().count('"flat"') == 1
    site.remove_antenna(house, "flat")
    assert (house / "antennas.toml").read_text() == (
        REPO / "demo_data/hill_house/antennas.toml"
    ).read_text()
    with pytest.raises(BadTable, match="low_mhz"):
        site.add_antenna(house, {"name": "flat", "gain_dbd": 3})


def test_a_row_of_a_list_is_changed_and_the_other_lines_stay_as_typed():
    text = 'station;rf_channel;distance_mi\n"A ";9;10\nB;10;  20 \n'
    new = with_row(text, STATIONS, 1, {"distance_km": 48.28032})  # 30 mi
    assert new == 'station;rf_channel;distance_mi\n"A ";9;10\nB;10;30\n'
    assert with_row(text, STATIONS, 0, None) == "station;rf_channel;distance_mi\nB;10;  20 \n"
    longer = with_row(text, STATIONS, None, {"station": "C", "rf_channel": "11", "note": "new"})
    assert longer.splitlines()[1:] == ['"A ";9;10;', "B;10;  20 ;", "C;11;;new"]


# ---- what is typed -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "metres"),
    [
        ("9", 9), ("9,5 m", 9.5), ("30 ft", 9.144), ("5 ft 6 in", 1.6764), ("5'6\"", 1.6764),
        ("10 1/4 in", 0.26035), ("120 inches", 3.048),
    ],
)  # fmt: skip
def test_lengths_as_people_type_them(said, metres):
    # One foot is 0.3048 m, one inch 0.0254 m, by definition.
    assert typed.height_m(said) == pytest.approx(metres)


def test_a_floor_is_counted_as_the_country_counts():
    # Two storeys of 3 m and a sill of 1.5 m where the ground floor is the first one; else three.
    assert typed.height_m("3rd floor") == 7.5 and typed.height_m("third floor", "ge06") == 10.5
    assert typed.height_m("ground floor", "ge06") == typed.height_m("1st floor", "us") == 1.5


@pytest.mark.parametrize(
    ("said", "degrees"),
    [("225", 225), ("SW", 225), ("south-west", 225), ("S.W.", 225), ("NNE", 22.5), ("47,5°", 47.5)],
)
def test_bearings_in_words(said, degrees):
    assert typed.bearing_deg(said) == degrees


def test_the_bearing_of_the_sun_agrees_with_published_tables():
    # Printed table of the sun's true bearing, latitude 38, declination 12 of contrary name, apparent
    # time 8 h and 4 h: 118 deg 45' (read at goobi.tib.eu, record 825719445, page 91). At an hour angle
    # of 60 degrees the altitude is arcsin(sin 38 sin -12 + cos 38 cos 12 cos 60) = 14.915 degrees.
    morning = earth.sun_azimuth_deg(38, -12, 14.915, evening=False)
    assert morning == pytest.approx(118 + 45 / 60, abs=0.02)
    assert earth.sun_azimuth_deg(38, -12, 14.915) == pytest.approx(360 - morning)
    # Meeus, Astronomical Algorithms, example 25.a (as PyMeeus' documentation gives it): declination
    # -7 deg 47' 06" at 0 h on 13 October 1992, half way between two noons.
    noons = [earth.sun_declination_deg(date(1992, 10, day)) for day in (12, 13)]
    assert np.mean(noons) == pytest.approx(-(7 + 47 / 60 + 6 / 3600), abs=0.02)


def test_the_sun_sets_due_west_at_the_equinox_and_nowhere_in_a_polar_summer():
    assert earth.sun_bearing_deg(40, date(2026, 3, 20)) == pytest.approx(270, abs=1)
    with pytest.raises(ValueError, match="neither rises nor sets"):
        typed.bearing_deg("evening sun", 75, date(2026, 6, 21))
    with pytest.raises(ValueError, match="latitude first"):
        typed.bearing_deg("morning sun")


def test_swapped_coordinates_are_named():
    with pytest.raises(ValueError, match="swapped"):
        typed.degrees("40 42 0 W", "latitude")


# ---- the tail ------------------------------------------------------------------------------------


def far_list(**more):
    rows = [
        {"station": f"S{k}", "rf_channel": 14 + k, "bearing_deg": 10 * k, "distance_km": 30 * k,
         "erp_toward_kw": 20, "antenna_height_m": 200, **more}
        for k in range(1, 10)
    ]  # fmt: skip
    return site.from_tables(HOME, rows)


def test_what_has_no_chance_is_not_wanted_unless_asked_for():
    roof = far_list()
    wanted = roof.stations["wanted"].tolist()
    # 20 kW from 200 m: at 30 km any antenna has it, at 240 km none.
    assert wanted[0] and not wanted[-1] and wanted == sorted(wanted, reverse=True)
    left = wanted.count(False)
    assert site.rest_words(roof) == f"and {left} more, out of reach"
    assert sum("out of reach" in note for note in roof.notes) == 1
    assert far_list(wanted="yes").stations["wanted"].all()
    assert site.rest_words(far_list(wanted="yes")) == ""


def test_a_station_whose_power_is_a_guess_may_be_louder_by_its_doubt():
    # 7 dB of doubt: 7 dB nearer to having a chance than one whose power is known.
    known, guessed = site.heard.above_noise_db(stations(unknown_sd_db=[0.0, 7.0]), 90)
    assert guessed - known == pytest.approx(7.0)


def test_a_cut_by_chance_agrees_with_the_whole_forecast():
    # The best antenna, on a tall mast, has none of what is left out on one roof in ten.
    roof = far_list()
    best = {"name": "best", "gain_dbd": 16, "low_mhz": 470, "high_mhz": 700, "beamwidth_deg": 25}
    tall = {"name": "tall", "kind": "mast", "height_agl_m": 9.1}
    rows = roof.stations
    for k in np.flatnonzero(~rows["wanted"]):
        own = [dict(rows.iloc[k][["station", "rf_channel", "bearing_deg", "distance_km"]])]
        own[0] |= {"erp_toward_kw": 20, "antenna_height_m": 200}
        one = site.from_tables(HOME, own, [best], [tall])
        aimed = survey.Setup("best", "tall", heading_deg=float(own[0]["bearing_deg"]))
        assert survey.reception(one, aimed).chance[0] < 0.1


def test_tables_and_figures_speak_of_what_is_shown_and_count_the_rest():
    from signalshed.classroom import cards
    from signalshed.classroom import roof as roofs

    here = far_list()
    setup = survey.Setup("half-wave dipole", "mast", heading_deg=10.0)
    rest = site.rest_words(here)
    for said in (
        cards.station_table(here, setup).text,
        cards.aim_card(here, setup).text,
        roofs.roof_words(here, setup),
        shed.plots.bearing_strip(here, setup).alt,
        shed.plots.ropes(here, setup).alt,
    ):
        assert rest in said and "S9" not in said


def test_show_within_km_hides_and_counts_but_changes_no_forecast(house):
    whole = site.open_site(house)
    site.change(house, show_within_km=60)
    near = site.open_site(house)
    far = (near.stations["distance_km"] > 60) & (near.stations["service"] == "tv")
    assert far.any() and not site.shown(near)[far].any()
    assert f"and {far.sum()} more beyond the 60 km of show_within_km" in site.rest_words(near)
    setup = survey.Setup("wire loop", "roof mast", heading_deg=38.0)
    chances = [survey.reception(each, setup).chance for each in (whole, near)]
    assert np.array_equal(*chances, equal_nan=True)


def test_a_hopeless_station_is_not_told_to_try_more_gain():
    here = far_list(wanted="yes")
    setup = survey.Setup("half-wave dipole", "mast", heading_deg=10.0)
    table = survey.reception(here, setup).table
    hopeless = table["spare_db"] < -(16 + 6)  # The best antenna and twice the height bring no more.
    assert hopeless.any() and not table["remedy"][hopeless].str.contains("gain|higher").any()
    assert table["remedy"][~hopeless].str.contains("more gain").any()


# ---- no line typed -------------------------------------------------------------------------------


def test_no_feed_typed_takes_a_usual_cable_and_says_so(house):
    text = (house / "site.toml").read_text()
    text = text[: text.index("[[feeds]]")]
    bare = "\n".join(line for line in text.splitlines() if not line.startswith("feed ="))
    (house / "site.toml").write_text(bare)
    roof = site.open_site(house)
    assert [part.name for part in roof.feed().parts] == ["15 m series6 cable"]
    assert sum("usual cable" in note for note in roof.notes) == 1
    (house / "site.toml").write_text(f"feeds = []\n{bare}")
    assert site.open_site(house).feed().parts == ()


# ---- tab and help --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", shed._MODULES)
def test_tab_shows_only_what_is_public(name):
    module = getattr(shed, name)
    assert set(dir(module)) == set(module.__all__)
    assert all(hasattr(module, public) for public in module.__all__)
