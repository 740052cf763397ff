"""The two forms: what is typed reaches the files, what will not do is told, nothing else changes."""

import shutil
from pathlib import Path

import pandas as pd
import pytest

from signalshed import meters, site, trials
from signalshed.classroom.forms import Mistakes, ReadingsForm, SiteForm
from signalshed.classroom.forms.fields import SENTENCE, number, text

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
    for name, value in {"height": "30", "length": "60", "trees": "10", "sets": 2}.items():
        place[name].widget.value = value
    place["unit"].widget.value = 0.3048
    place["amplifier"].widget.value = "mast"
    place["open_from"].widget.value, place["open_to"].widget.value = "330", "130"
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
    form.places[0]["sets"].widget.value = 4
    parts = form.answers()["feeds"][0]["parts"]
    assert [next(iter(part)) for part in parts] == ["coax", "amplifier", "splitter"]


def test_everything_that_will_not_do_is_told_at_once_and_nothing_is_written(tmp_path):
    form = SiteForm(tmp_path / "roof")
    form.roof["latitude"].widget.value = "95"
    form.places[0]["height"].widget.value = "nine"
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
    form.places[0]["open_from"].widget.value = "10"
    form.press()
    assert "both bearings" in form.trouble[0]


def test_a_site_that_was_filled_in_is_left_as_it_is(tmp_path):
    filled(tmp_path / "roof").press()
    before = (tmp_path / "roof" / "site.toml").read_text()
    again = filled(tmp_path / "roof")
    again.press()
    assert "filled in already" in again.trouble[0]
    assert (tmp_path / "roof" / "site.toml").read_text() == before


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
