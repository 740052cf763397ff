"""The forms: what is typed reaches the files, what will not do is told, nothing else changes."""

import re
import shutil
from pathlib import Path

import pandas as pd
import pytest

from signalshed import meters, site, trials
from signalshed.classroom.forms import AntennasForm, Mistakes, ReadingsForm, SiteForm, StationsForm
from signalshed.classroom.forms.fields import SENTENCE, asked, number, text
from signalshed.classroom.forms.row_form import NEW
from signalshed.tables import TABLES

REPO = Path(__file__).resolve().parents[1]


@pytest.fixture
def town(tmp_path):
    return Path(shutil.copytree(REPO / "demo_data" / "town", tmp_path / "town"))


@pytest.fixture
def house(tmp_path, town):
    folder = tmp_path / "hill_house"
    shutil.copytree(REPO / "demo_data" / "hill_house", folder)
    (folder / "readings.csv").unlink()
    return site.open_site(folder)


def typed(form, **values):
    if "heading_deg" in form.fields and not form.fields["heading_deg"].widget.value:
        values.setdefault("heading_deg", "38")
    for name, value in values.items():
        form.fields[name].widget.value = value


def filled(folder, town=None):
    form = SiteForm(folder, town)
    for name, value in {"name": "my roof", "latitude": "30.45", "longitude": "−40,7"}.items():
        form.roof[name].widget.value = value
    return form


# ---- the roof -----------------------------------------------------------------------------------


def test_what_was_typed_is_what_the_opened_site_holds(tmp_path, town):
    form = filled(tmp_path / "roof", town)
    place = form.places[0]
    for name, value in {
        "height_agl_m": "30",
        "length_m": "60",
        "trees_m": "10",
        "splitter": 2,
    }.items():
        place[name].widget.value = value
    place["unit"].widget.value = "ft"
    place["amplifier"].widget.value = "mast"
    place["open_from_deg"].widget.value, place["open_to_deg"].widget.value = "330", "130"
    form.button.click()
    assert form.trouble == () and "Written" in form.said
    roof = site.open_site(tmp_path / "roof")
    mount = roof.mount("roof mast")
    assert (roof.place.latitude_deg, roof.place.longitude_deg) == (30.45, -40.7)
    assert mount.height_agl_m == pytest.approx(9.144) and mount.trees_m == pytest.approx(3.048)
    assert (mount.open_from_deg, mount.open_to_deg) == (330, 130)
    names = [part.name for part in roof.feed(mount.feed).parts]
    assert names == ["amplifier at the mast", "18.29 m series6 cable", "2-way splitter"]
    assert roof.tuner.standards == ("ATSC1",)
    assert len(roof.stations) == 17


def test_an_amplifier_at_the_set_comes_after_the_cable_and_before_the_splitter(tmp_path):
    form = filled(tmp_path / "roof")
    form.places[0]["amplifier"].widget.value = "set"
    form.places[0]["splitter"].widget.value = 4
    parts = form.answers()["feeds"][0]["parts"]
    assert [next(iter(part)) for part in parts] == ["coax", "amplifier", "splitter"]


def test_everything_that_will_not_do_is_told_at_once_and_nothing_is_written(tmp_path):
    form = SiteForm(tmp_path / "roof")
    form.roof["latitude"].widget.value = "95"
    form.places[0]["height_agl_m"].widget.value = "nine"
    form.press()
    told = "\n".join(form.trouble)
    assert "What you call this roof: please type something." in told
    assert "95 is not between -90 and 90" in told and "'nine' is not a number" in told
    assert not (tmp_path / "roof").exists()
    assert 'role="alert"' in form._message.value


def test_a_set_that_shows_nothing_and_half_a_view_are_told(tmp_path):
    form = filled(tmp_path / "roof")
    form.set["ATSC1"].widget.value = False
    form.press()
    assert form.trouble == ("The TV: tick at least one system that it shows.",)
    form.set["ATSC1"].widget.value = True
    form.places[0]["open_from_deg"].widget.value = "10"
    form.press()
    assert "both bearings" in form.trouble[0]


def test_opened_again_it_shows_the_file_and_saves_only_what_was_changed(house):
    before = (house.folder / "site.toml").read_text()
    form = SiteForm(house.folder)
    assert form.roof["name"].widget.value == "hill house"
    assert [place["height_agl_m"].widget.value for place in form.places] == ["9 m", "6 m", "3 m"]
    assert (
        form.places[0]["length_m"].widget.value == "18 m"
        and form.places[0]["splitter"].widget.value == 2
    )
    assert form.set["ATSC3"].widget.value and not form.set["DVB-T2"].widget.value
    form.press()
    assert "nothing has changed" in form.said
    assert (house.folder / "site.toml").read_text() == before
    form.places[0]["height_agl_m"].widget.value = "33 ft"
    form.places[0]["open_from_deg"].widget.value = "NW"
    form.places[0]["open_to_deg"].widget.value = "evening sun"
    form.button.click()
    assert form.trouble == () and "kept beside" in form.said
    new = (house.folder / "site.toml").read_text().splitlines()
    assert [x for x in new if x not in before.splitlines()] == [
        "height_agl_m = 10.058",  # 33 x 0.3048 = 10.0584
        "open_from_deg = 315",
        next(x for x in new if x.startswith("open_to_deg = 2")),
    ]
    assert (next(house.folder.glob("site_before_*"))).read_text() == before


def test_a_floor_a_swap_and_half_a_view_are_told_in_the_labels_words(house):
    form = SiteForm(house.folder)
    form.roof["latitude"].widget.value = "40 42 0 W"
    form.places[1]["height_agl_m"].widget.value = "3rd flor"
    form.press()
    assert "swapped" in form.trouble[0]
    form.roof["latitude"].widget.value = "30.45"
    form.press()
    assert "'3rd flor' is not a number" in form.trouble[0]
    form.places[1]["height_agl_m"].widget.value = "3rd floor"
    form.press()
    assert site.open_site(house.folder).mount("attic").height_agl_m == 7.5


def test_a_line_that_the_form_cannot_show_is_left_alone(house):
    site.change(house.folder, mounts={"roof mast": {"feed": "mast line, amplified"}})
    before = (house.folder / "site.toml").read_text()
    form = SiteForm(house.folder)
    form.places[0]["length_m"].widget.value = "20 m"
    form.press()
    assert "does not know" in form.trouble[0] and (house.folder / "site.toml").read_text() == before


def test_a_place_is_added_to_a_site_and_one_taken_out(house):
    form = SiteForm(house.folder)
    form.more.click()
    form.places[-1]["place"].widget.value = "shed"
    form.places[1]["gone"].widget.value = True
    form.press()
    assert form.trouble == ()
    assert list(site.open_site(house.folder).mounts) == ["roof mast", "bench window", "shed"]
    assert len(form.places) == 3


# ---- antennas -----------------------------------------------------------------------------------


def antenna_typed(this, **values):
    this.which.widget.value = NEW
    for name, value in values.items():
        this.fields[name].widget.value = value
    this.save_button.click()


def test_each_antenna_is_shown_as_the_file_has_it_and_not_written_unchanged(house):
    form, before = AntennasForm(house.folder), (house.folder / "antennas.toml").read_text()
    for name in form.names():
        form.which.widget.value = name
        form.save_button.click()
        assert form.trouble == () and "Nothing was changed" in form.said, name
    assert (house.folder / "antennas.toml").read_text() == before
    form.which.widget.value = "two-band Yagi"
    assert (
        form.fields["gain"].widget.value == "3; 3; 5.5; 6.5 dBd"
        and form.fields["from_label"].widget.value
    )
    form.fields["effort"].widget.value = 5
    form.save_button.click()
    new = (house.folder / "antennas.toml").read_text().splitlines()
    assert sum(a != b for a, b in zip(new, before.splitlines(), strict=True)) == 1
    assert site.open_site(house.folder).antenna("two-band Yagi").effort == 5


def test_a_pasted_list_shows_the_height_it_knows(tmp_path):
    form = StationsForm(tmp_path / "town", near=(30.45, -40.7))
    for heading, shown in (
        ("HAAT (m)", ">250<"),
        ("Antenna height above ground (m)", ">250 over ground<"),
    ):
        form.paste.widget.value = (
            f"Call,Channel,Lat,Long,ERP (kW),{heading}\nGazette,24,30.79,-40.39,9,250"
        )
        form.look()
        assert form.trouble == () and shown in form._preview.value.replace(" </", "</"), heading


@pytest.mark.parametrize("first", [StationsForm, AntennasForm])
def test_forms_of_an_empty_folder_come_in_any_order(tmp_path, first):
    roof = tmp_path / "roof"
    if first is StationsForm:
        form = StationsForm(roof)
        form.paste.widget.value = "Call,Channel,Lat,Long,ERP (kW)\nGazette,24,30.79,-40.39,1000"
        form.take()
        assert "1 station written" in form.said
    form = AntennasForm(roof)
    assert form.names() == []
    antenna_typed(form, name="loop", way="build", form="loop")
    assert form.trouble == () and form.names() == ["loop"]
    form = SiteForm(roof)
    for name, typed in (("name", "home"), ("latitude", "30.45"), ("longitude", "-40.7")):
        form.roof[name].widget.value = typed
    form.press()
    assert form.trouble == ()
    if first is AntennasForm:
        form = StationsForm(roof)
        form.paste.widget.value = "Call,Channel,Lat,Long,ERP (kW)\nGazette,24,30.79,-40.39,1000"
        form.take()
    opened = site.open_site(roof)
    assert list(opened.antennas) == ["loop"] and len(opened.stations) == 1


def test_stations_are_read_for_the_site_that_was_filled_in_meanwhile(tmp_path):
    # All cells run at once: every form is there before the first of them is filled in.
    folder = tmp_path / "roof"
    roof, stations = SiteForm(folder), StationsForm(folder)
    for name, typed in (
        ("name", "home"),
        ("latitude", "50"),
        ("longitude", "0"),
        ("region", "ge06"),
    ):
        roof.roof[name].widget.value = typed
    roof.press()
    head = "Name;Channel;Lat;Long;ERP (kW)\n"
    stations.paste.widget.value = head + "Near;45;50.1;0.1;10\nFar;45;-50;100;10"
    stations.look()
    assert (
        stations.found.table["rf_channel"].tolist() == ["45"] and len(stations.found.left_out) == 1
    )


def test_a_question_left_alone_shows_what_that_means(tmp_path):
    form = SiteForm(tmp_path / "roof")
    shown = [form.roof["land"], form.roof["leaves"], form.places[0]["amplifier"]]
    assert all(field.widget.label and field.answer() is None for field in shown)


def test_what_a_label_says_is_doubted_unless_told_otherwise(house):
    form = AntennasForm(house.folder)
    ticked = form.fields["from_label"].widget
    assert ticked.value
    form.fields["way"].widget.value = "pattern"
    assert not ticked.value
    form.fields["way"].widget.value = "gain_dbd"
    assert ticked.value
    antenna_typed(form, name="flat", gain="7 dBi", low_end="ch 14", high_end="608 MHz")
    assert form.trouble == () and "from_label = true" in form.path.read_text()


def test_a_folder_is_a_path_or_its_name():
    with pytest.raises(ValueError, match="folder is of type int; it must be the folder of a site"):
        StationsForm(3)


def test_an_antenna_by_label_by_build_by_own_wires_and_by_trial(house):
    form = AntennasForm(house.folder)
    antenna_typed(form, name="flat", gain="7 dBi", low_end="ch 14", high_end="608 MHz")
    assert form.trouble == () and form.which.widget.value == "flat"
    antenna_typed(
        form, name="square", way="build", form="biquad", sizes="freq_mhz = 539\nside = 5 3/4 in"
    )
    assert form.trouble == ()
    antenna_typed(form, name="mine", way="own")
    assert form.trouble == ()
    gains = "antenna,freq_mhz,gain_dbd,low_dbd,high_dbd\ntried,539,4,2,6\n"
    (house.folder / "trial_gains.csv").write_text(gains)
    antenna_typed(form, name="tried", way="trial", file="trial_gains.csv")
    assert form.trouble == ()
    made = site.open_site(house.folder).antennas
    # From its label: 7 dBi is 4.85 dBd, less the 3 dB that labels lean.
    assert made["flat"].label_lean_db == 3 and {"square", "mine", "tried"} <= made.keys()
    assert "side_mm = 146.05" in (house.folder / "antennas.toml").read_text()  # 5.75 x 25.4
    form.which.widget.value = "flat"
    form.remove_button.click()
    assert "flat" not in form.names()


def test_what_an_antenna_lacks_is_told_and_nothing_written(house):
    form, before = AntennasForm(house.folder), (house.folder / "antennas.toml").read_text()
    antenna_typed(form, name="flat", gain="seven")
    assert "'seven' is not a number" in form.trouble[0]
    antenna_typed(form, name="flat", gain="7 dBi")
    assert any("low_mhz" in line for line in form.trouble)
    antenna_typed(form, name="wire loop", gain="3 dBd", low_end="470", high_end="608")
    assert "there already" in form.trouble[0]
    assert (house.folder / "antennas.toml").read_text() == before


# ---- stations -----------------------------------------------------------------------------------


def test_a_row_of_the_list_is_changed_added_and_taken_out(house, town):
    form, before = StationsForm(house.folder), (town / "stations.csv").read_text()
    first = form.names()[0]
    form.which.widget.value = first
    assert form.fields["erp_kw"].widget.value == "1000 kW"
    form.fields["erp_kw"].widget.value = "1,100,000 W"
    form.save_button.click()
    assert form.trouble == ()
    new = (town / "stations.csv").read_text()
    assert sum(a != b for a, b in zip(new.splitlines(), before.splitlines(), strict=True)) == 1
    form.which.widget.value = NEW
    typed_ = {"station": "Klaxon", "rf_channel": "27", "bearing_deg": "SW", "distance_km": "30 mi"}
    for name, value in {**typed_, "erp_kw": "30 dBW EIRP"}.items():
        form.fields[name].widget.value = value
    form.save_button.click()
    assert form.trouble == () and form.which.widget.value.startswith("Klaxon")
    row = site.open_site(house.folder).stations.query("station == 'Klaxon'").iloc[0]
    # 30 mi is 48.28 km; 30 dBW EIRP is 1 kW, over a dipole 1 / 1.64 = 0.61 kW.
    assert (row["bearing_deg"], row["distance_km"]) == (225, pytest.approx(48.28, abs=0.01))
    assert row["erp_kw"] == pytest.approx(0.61, abs=0.005)
    form.remove_button.click()
    assert "Klaxon" not in (town / "stations.csv").read_text()
    assert len(list(town.glob("stations_before_*"))) == 3


def test_a_row_that_no_list_can_hold_is_told_and_not_written(house, town):
    form, before = StationsForm(house.folder), (town / "stations.csv").read_text()
    for name, value in {"station": "Klaxon", "rf_channel": "99", "latitude_deg": "30.8"}.items():
        form.fields[name].widget.value = value
    form.save_button.click()
    assert form.trouble and (town / "stations.csv").read_text() == before
    form.fields["erp_kw"].widget.value = "much"
    form.save_button.click()
    assert "'much' is not a number" in form.trouble[0]


def test_a_paste_is_looked_at_before_it_is_taken(house, town):
    form, before = StationsForm(house.folder), (town / "stations.csv").read_text()
    form.take()
    assert "Paste a list" in form.trouble[0]
    form.paste.widget.value = "Call,Channel,Lat,Long,ERP (kW)\n<b>Gazette,24,30.79,-40.39,1000\n"
    form.look()
    assert form.said.startswith("1 station would be taken")
    assert (
        "&lt;b&gt;Gazette" in form._preview.value and (town / "stations.csv").read_text() == before
    )
    form.take()
    assert form.trouble == () and form.names() == ["<b>Gazette, RF 24"]
    assert (next(town.glob("stations_before_*"))).read_text() == before
    form.paste.widget.value = "A walk in the hills.\nIt rained, and the hut was shut, all day.\n"
    form.look()
    assert form.trouble


def test_no_button_of_a_form_is_ever_disabled(house):
    import ipywidgets

    for form in (SiteForm(house.folder), AntennasForm(house.folder), StationsForm(house.folder)):
        buttons, left = [], [form.widget]
        while left:
            one = left.pop()
            left += getattr(one, "children", ())
            buttons += [one] if isinstance(one, ipywidgets.Button) else []
        for one in buttons:
            one.click()
        assert len(buttons) >= 2 and not any(one.disabled for one in buttons)


def test_where_nothing_can_be_aimed_no_heading_is_taken(house):
    site.change(house.folder, mounts={"roof mast": {"aim": "never"}})
    form = ReadingsForm(site.open_site(house.folder))
    form.fields["heading_deg"].widget.value = "38"
    form.fields["reading"].widget.value = "82 %"
    form.save()
    assert "cannot be aimed" in form.trouble[0]
    form.fields["heading_deg"].widget.value = ""
    form.fields["leaves"].widget.value = "bare"
    form.save()
    row = meters.read_log(form.path)[0].iloc[-1]
    assert form.trouble == () and float(row["reading"]) == 82 and row["leaves"] == "bare"


@pytest.mark.parametrize(
    ("of", "ask", "table"),
    [
        ("roof", "region", "site"),
        ("roof", "noise", "site"),
        ("roof", "land", "site"),
        ("roof", "leaves", "site"),
        ("place", "construction", "mount"),
        ("place", "aim", "mount"),
        ("station", "polarization", "stations"),
        ("antenna", "polarization", "antenna"),
        ("reading", "pad_at", "readings"),
        ("reading", "amplifier", "readings"),
        ("reading", "leaves", "readings"),
    ],
)
def test_a_list_offers_every_word_that_its_file_allows_and_no_other(of, ask, table):
    """What a file allows stands in columns.csv; a list has words of its own for the usual."""
    readers = dict.fromkeys(("height", "bearing"), float)
    lists = ("kind", "splitter", "coax", "standard", "form", "lives", "effort")
    lists += ("mount", "antenna", "scale", "rf_channel")
    options = {name: [("one", 1)] for name in lists}
    offered = asked(of, readers, options)[ask].widget.options
    usual = {"full"} if (of, ask) == ("roof", "leaves") else set()
    assert {meaning for _, meaning in offered} - {""} == (
        set(TABLES[table].column(ask).choices) - usual
    )


def test_a_second_place_is_added_and_a_nameless_one_left_out(tmp_path):
    form = filled(tmp_path / "roof")
    form.more.click()
    assert len(form.answers()["mounts"]) == 1
    form.places[1]["place"].widget.value = "attic"
    form.places[1]["kind"].widget.value = "attic"
    assert [mount["name"] for mount in form.answers()["mounts"]] == ["roof mast", "attic"]


def test_every_question_has_a_label_and_markup_is_shown_as_it_is(tmp_path):
    form = filled(tmp_path / "roof")
    fields = [*form.roof.values(), *form.set.values(), *form.places[0].values()]
    assert all(field.widget.description == field.label for field in fields)
    form.roof["latitude"].widget.value = "<b>"
    form.press()
    assert "&lt;b&gt;" in form._message.value and "<b>" not in form._message.value
    assert SENTENCE in form._still


@pytest.mark.parametrize(
    ("typed_text", "value"), [("9,5", 9.5), (" −3 ", -3.0), ("1e2", 100.0), ("", None)]
)
def test_numbers_are_read_as_people_type_them(typed_text, value):
    assert number("Height", typed_text).answer() == value


def test_a_thousands_comma_is_not_guessed_at():
    with pytest.raises(ValueError, match=r"Height: '1,000.5' is not a number"):
        number("Height", "1,000.5").answer()
    with pytest.raises(ValueError, match="Name: please type something"):
        text("Name", "  ", needed=True).answer()


# ---- readings -----------------------------------------------------------------------------------


def test_one_press_saves_one_reading_and_proposes_another_channel(house):
    form = ReadingsForm(house)
    typed(form, antenna="double loop with screen", heading_deg="38", rf_channel="24")
    typed(form, reading="82", reading_low="80", reading_high="84")
    form.save_button.click()
    assert form.trouble == () and form.said == "Saved in readings.csv: RF 24, 82."
    table, notes = meters.read_log(form.path)
    assert notes == [] and len(table) == 1
    row = table.iloc[0]
    assert (row["rf_channel"], row["locked"], row["mount"]) == ("24", "yes", "roof mast")
    assert float(row["reading"]) == 82 and float(row["heading_deg"]) == 38
    assert "Worth reading next" in form.next_words
    assert form.fields["rf_channel"].widget.value != "24"
    assert form.fields["reading"].widget.value == ""
    assert len(site.open_site(house.folder).readings) == 1


def test_the_last_reading_can_be_taken_back_and_stays_in_the_file(house):
    form = ReadingsForm(house)
    for channel in ("24", "21"):
        typed(form, rf_channel=channel, reading="50")
        form.save()
    form.undo_button.click()
    assert form.said.startswith("Taken back: RF 21")
    assert meters.read_log(form.path)[0]["rf_channel"].tolist() == ["24"]
    assert len(form.path.read_text().splitlines()) == 4
    form.undo()
    form.undo()
    assert "no reading to undo" in form.trouble[0]


def test_no_picture_needs_no_reading(house):
    form = ReadingsForm(house)
    typed(form, locked=False)
    form.save()
    assert form.trouble == () and "no picture" in form.said


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"reading": "140"}, "140 is not on the scale"),
        ({}, "type what the meter shows"),
        ({"reading": "50", "reading_low": "60"}, "lowest must not be above"),
        ({"reading": "50", "heading_deg": "725"}, "725 is not between 0 and 360"),
        ({"reading": "50", "meter": " "}, "Whose meter: please type something."),
    ],
)
def test_a_reading_that_will_not_do_is_told_and_not_saved(house, values, told):
    form = ReadingsForm(house)
    typed(form, **values)
    form.save()
    assert any(told in sentence for sentence in form.trouble)
    assert not form.path.exists()


def test_a_file_that_cannot_be_written_is_told_with_what_to_do(house):
    form = ReadingsForm(house)
    form.path.mkdir()
    typed(form, reading="50")
    form.save()
    assert "was not saved" in form.trouble[0]


def test_two_forms_on_one_file_do_not_disturb_each_other(house):
    forms = [ReadingsForm(house) for _ in range(2)]
    for k, form in enumerate([*forms, *forms]):
        typed(form, reading=str(50 + k))
        form.save()
    assert meters.read_log(forms[0].path)[0]["reading"].astype(float).tolist() == [50, 51, 52, 53]


def test_a_proposal_that_cannot_be_made_does_not_unsay_the_save(house):
    form = ReadingsForm(house)
    typed(form, reading="50")
    (house.folder / "antennas.toml").write_text("nonsense")
    form.save()
    assert form.trouble == () and form.said.startswith("Saved")
    assert "No proposal" in form.next_words


@pytest.fixture
def yard(tmp_path, town):
    folder = Path(shutil.copytree(REPO / "demo_data" / "trial_yard", tmp_path / "trial_yard"))
    (folder / "readings.csv").unlink()
    return site.open_site(folder)


def test_the_form_follows_a_plan_row_by_row_to_its_end(yard):
    stations = pd.DataFrame({"rf_channel": ["17", "24"], "margin_db": [10.5, 31.5]})
    plan = trials.plan("wire loop", stations, sessions=1, returns=1)
    form = ReadingsForm(yard, plan=plan)
    assert form.said == "" and "aim: at the station, RF 17, no pad" in form.next_words
    for step in plan.steps.to_dict("records"):
        assert f"mounting {step['visit']} of 3: {step['antenna']}" in form.next_words
        typed(form, reading="70")
        form.save()
        assert form.trouble == ()
    assert "The plan is done" in form.next_words
    saved = meters.read_log(form.path)[0]
    assert saved["antenna"].tolist() == plan.steps["antenna"].tolist()
    assert saved["rf_channel"].tolist() == plan.steps["rf_channel"].tolist()
    assert saved["pad_db"].astype(float).tolist() == plan.steps["pad_db"].tolist()
    assert set(saved["heading_deg"].astype(float)) == {27.0}
    form.undo()
    assert "mounting 3 of 3" in form.next_words


def test_what_is_typed_after_an_undo_goes_to_the_row_taken_back(yard):
    """Red: the form stays at the row after it, and one antenna's reading is saved as another's."""
    stations = pd.DataFrame({"rf_channel": ["17", "24"], "margin_db": [10.5, 31.5]})
    form = ReadingsForm(yard, plan=trials.plan("wire loop", stations, sessions=1, returns=1))
    for reading in ("70", "60"):
        typed(form, reading=reading)
        form.save()
    form.undo()
    assert form.said.startswith("Taken back: RF 24") and "half-wave dipole" in form.next_words
    typed(form, reading="61")
    form.save()
    saved = meters.read_log(form.path)[0]
    assert saved[["antenna", "rf_channel"]].to_numpy().tolist() == [
        ["half-wave dipole", "17"],
        ["half-wave dipole", "24"],
    ]
    assert saved["pad_db"].astype(float).tolist() == [0.0, 20.0]


@pytest.mark.parametrize("kind", trials.planning.KINDS)
def test_a_plan_of_channels_that_the_site_does_not_have_is_told(yard, kind):
    stations = pd.DataFrame({"rf_channel": ["36"], "margin_db": [10.5]})
    form = ReadingsForm(yard, plan=trials.plan("wire loop", stations, kind=kind))
    assert "RF 36, on which this site has no station" in form.next_words


def test_a_plan_of_antennas_that_the_site_does_not_have_is_told(yard):
    stations = pd.DataFrame({"rf_channel": ["17"], "margin_db": [10.5]})
    form = ReadingsForm(yard, plan=trials.plan("mesh", stations, baseline="reference"))
    assert "'reference', which this site does not have" in form.next_words


def test_a_reading_without_its_heading_is_not_saved_as_one_at_north(house):
    form = ReadingsForm(house)
    form.fields["reading"].widget.value = "82"
    form.save()
    assert form.trouble[0].startswith("It points at, degrees true: please type")
    assert not (house.folder / "readings.csv").exists()


def test_practice_readings_go_where_they_are_sent_and_count_as_read(house, tmp_path):
    form = ReadingsForm(house, tmp_path / "practice.csv")
    typed(form, antenna="double loop with screen", heading_deg="38", rf_channel="24", reading="82")
    form.save()
    first = form.fields["rf_channel"].widget.value
    typed(form, reading="50")
    form.save()
    assert form.fields["rf_channel"].widget.value not in ("24", first)
    assert not (house.folder / "readings.csv").exists()
    assert len(meters.read_log(tmp_path / "practice.csv")[0]) == 2


def test_cautions_of_the_site_stand_in_the_form_and_a_site_without_folder_is_refused(house):
    shown = [
        child.value for child in ReadingsForm(house).widget.children if hasattr(child, "value")
    ]
    assert any("Keep mast and antenna at least twice" in str(value) for value in shown)
    from dataclasses import replace

    with pytest.raises(ValueError, match="has no folder"):
        ReadingsForm(replace(house, folder=None))


def test_mistakes_read_as_one_text():
    assert str(Mistakes(["a", "b"])) == "a\nb"


def test_a_european_roof_by_forms_alone(tmp_path):
    form = SiteForm(tmp_path / "roof")
    told = {"name": "roof", "latitude": "51,7 S", "longitude": "0.2", "region": "ge06"}
    for name, value in told.items():
        form.roof[name].widget.value = value
    form.places[0]["height_agl_m"].widget.value = "82 %"
    form.press()
    assert any("'82 %' is not a number" in said for said in form.trouble)
    form.places[0]["height_agl_m"].widget.value = "30 ft"
    form.press()
    assert not form.trouble
    # Nobody in a GE06 country receives ATSC; GE06 itself (ITU, 2006) plans DVB-T.
    form = StationsForm(tmp_path / "roof")
    form.fields["standard"].widget.value = "DVB-T2"
    cells = {"station": "My $fav_1", "rf_channel": "33", "erp_kw": "10", "bearing_deg": "SW"}
    for name, value in (cells | {"distance_km": "20 mi"}).items():
        form.fields[name].widget.value = value
    form.save()
    assert not form.trouble
    opened = site.open_site(tmp_path / "roof")
    assert opened.tuner.standards == ("DVB-T", "DVB-T2")
    assert opened.stations["standard"].tolist() == ["DVB-T2"]
    assert not [note for note in opened.notes if "nothing can come in" in note]
    site.change(tmp_path / "roof", tuner={"standards": ["ATSC1"]})
    told = [
        note for note in site.open_site(tmp_path / "roof").notes if "nothing can come in" in note
    ]
    assert len(told) == 1 and "ATSC1" in told[0] and "DVB-T2" in told[0]


def test_a_file_with_text_for_a_height_opens_in_the_form_and_is_told_on_saving(house):
    path = house.folder / "site.toml"
    path.write_text(
        re.sub(r"height_agl_m = \S+", 'height_agl_m = "30 ft"', path.read_text(), count=1)
    )
    form = SiteForm(house.folder)
    assert form.places[0]["height_agl_m"].widget.value == "30 ft"
    form.roof["noise"].widget.value = "rural"
    form.press()
    assert any("height_agl_m" in said for said in form.trouble)


def test_a_paste_of_one_line_is_told_what_a_list_is(house):
    form = StationsForm(house.folder)
    form.paste.widget.value = "Dear customer service, there is a mast on the hill."
    form.look()
    assert form.trouble[0].startswith("That is one line; a list is its headings")
