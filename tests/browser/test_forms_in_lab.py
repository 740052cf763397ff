"""Every form in a real JupyterLab, by keyboard: what is typed reaches the files, and is shown."""

from pathlib import Path

import pytest
from lab_page import open_notebook, run_all, write_notebook

from signalshed import advice, report, site

REPO = Path(__file__).resolve().parents[2]
SHOWN = (
    "import signalshed as shed\nfrom signalshed.classroom import forms\n"
    "folder = '../demo_data/hill_house'\nforms.SiteForm(folder)",
    "forms.StationsForm(folder)",
    "forms.AntennasForm(folder)",
    "forms.ReadingsForm(shed.site.open_site(folder))",
)


@pytest.fixture(scope="module")
def page(shared_page, lab):
    open_notebook(shared_page, lab, write_notebook(lab, "forms.ipynb", SHOWN))
    run_all(shared_page)
    shared_page.locator(".shed-live").nth(3).wait_for()
    return shared_page


@pytest.fixture
def data(lab):
    return lab.folder.parent / "demo_data"


def press(page, place, name):
    """Press a button of a form by keyboard; it is in its place and takes the focus still."""
    button = page.locator(".shed-live").nth(place).get_by_role("button", name=name, exact=True)
    button.focus()
    page.keyboard.press("Enter")
    return button


def said(page, place, words):
    page.locator(".shed-live").nth(place).locator("[role]").filter(has_text=words).first.wait_for()


def box(page, place, label):
    return page.locator(".shed-live").nth(place).get_by_label(label).first


def test_a_roof_is_shown_changed_and_saved_by_keyboard(page, data):
    height = box(page, 0, "Height above the ground, or floor")
    assert height.input_value() == "9 m"
    height.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("33 ft")
    button = press(page, 0, "Save site.toml")
    said(page, 0, "changed mounts")
    assert button.evaluate("e => e === document.activeElement && !e.disabled")
    assert "height_agl_m = 10.058" in (data / "hill_house" / "site.toml").read_text()
    kept = list((data / "hill_house").glob("site_before_*"))
    assert kept[0].read_text() == (REPO / "demo_data" / "hill_house" / "site.toml").read_text()


def test_a_list_is_pasted_looked_at_and_a_row_changed(page, data):
    paste = box(page, 1, "A list, as it comes")
    paste.fill("Call,Channel,Lat,Long,ERP (kW)\n<i>Gazette</i>,24,30.79,-40.39,1000\n")
    press(page, 1, "Look at it")
    said(page, 1, "1 station would be taken")
    form = page.locator(".shed-live").nth(1)
    form.get_by_role("cell", name="<i>Gazette</i>").first.wait_for()
    assert form.locator("td i").count() == 0
    which = box(page, 1, "Which station")
    which.select_option(index=1)
    power = box(page, 1, "Power (ERP), kW, W, dBW")
    page.wait_for_function("e => e.value === '1000 kW'", arg=power.element_handle())
    power.fill("1100 kW")
    press(page, 1, "Save")
    said(page, 1, "The row is saved")
    assert ",1100," in (data / "town" / "stations.csv").read_text().splitlines()[1]


def test_an_antenna_is_added_by_its_label(page, data):
    for label, typed in (
        ("What you call it", "flat thing"),
        ("Gain, as 7 dBi or 5 dBd", "7 dBi"),
        ("Lowest frequency", "ch 14"),
        ("Highest frequency", "ch 36"),
    ):
        box(page, 2, label).fill(typed)
    press(page, 2, "Save")
    said(page, 2, "added flat thing")
    assert 'name = "flat thing"' in (data / "hill_house" / "antennas.toml").read_text()


def test_a_reading_is_saved_with_a_bearing_in_words(page, data):
    box(page, 3, "It points at, degrees true").fill("NE")
    box(page, 3, "What it shows now").fill("82 %")
    press(page, 3, "Save this reading")
    said(page, 3, "Saved in readings.csv")
    last = (data / "hill_house" / "readings.csv").read_text().splitlines()[-1]
    assert ",45," in last and ",82," in last


def test_letters_typed_in_a_form_leave_the_notebook_alone(page):
    cells = page.locator(".jp-CodeCell").count()
    box(page, 2, "What you call it").focus()
    page.keyboard.type("dd")
    assert page.locator(".jp-CodeCell").count() == cells


def test_an_empty_folder_becomes_a_page_by_forms_alone(page, lab):
    """All forms stand there before the first is filled in, in a country of another channel plan."""
    cells = [f"forms.{form}('empty')" for form in ("SiteForm", "StationsForm", "AntennasForm")]
    cells[0] = f"{SHOWN[0].rsplit(chr(10), 2)[0]}\n{cells[0]}"
    open_notebook(page, lab, write_notebook(lab, "from_nothing.ipynb", cells))
    run_all(page)
    page.locator(".shed-live").nth(2).wait_for()
    for label, typed in (
        ("What you call this roof", "home"),
        ("Latitude", "50 N"),
        ("Longitude", "0"),
    ):
        box(page, 0, label).fill(typed)
    box(page, 0, "Whose channels").select_option(index=1)
    press(page, 0, "Save site.toml")
    said(page, 0, "Written")
    box(page, 1, "A list, as it comes").fill(
        "Name;Channel;Lat;Long;ERP (kW)\nNear;45;50,2;0,1;10\n"
    )
    press(page, 1, "Look at it")
    said(page, 1, "1 station would be taken")
    press(page, 1, "Take these")
    said(page, 1, "1 station written")
    box(page, 2, "What you call it").fill("loop")
    box(page, 2, "It is known from").select_option(index=1)
    press(page, 2, "Save")
    said(page, 2, "added loop")
    roof = site.open_site(lab.folder / "empty")
    assert (
        roof.tuner.standards == ("DVB-T", "DVB-T2") and roof.stations["rf_channel"].item() == "45"
    )
    assert set(roof.antennas) == {"half-wave dipole", "loop"}
    assert "on “roof mast”, 9 m (30 ft) above the ground" in report.page(roof, advice.rank(roof))
