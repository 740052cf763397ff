"""The paper TV in a real JupyterLab, by keyboard: a card, a strip, a look, a scan."""

from itertools import pairwise

import pytest
from lab_page import open_notebook, run_all, write_notebook

SHOWN = ("from signalshed.classroom.paper_tv import PaperTVPage\nPaperTVPage(1)",)


@pytest.fixture(scope="module")
def tv(shared_page, lab):
    open_notebook(shared_page, lab, write_notebook(lab, "paper_tv_here.ipynb", SHOWN))
    run_all(shared_page)
    tv = shared_page.locator(".shed-live").first
    tv.locator(".paper-tv").wait_for()
    return tv


def press(tv, name):
    """Press a button by keyboard, and wait until what is said under the TV has changed."""
    before = tv.get_by_role("status").inner_text()
    choose(tv, name)
    tv.get_by_role("status").filter(has_not_text=before).wait_for()


def choose(tv, name):
    """Press a button by keyboard."""
    tv.get_by_role("button", name=name, exact=True).focus()
    tv.page.keyboard.press("Enter")


def face(tv):
    return tv.locator(".paper-tv").get_attribute("aria-label")


def strip(tv, name, lies):
    """Lay a strip on the rail, or take it off, by the space bar."""
    box = tv.get_by_role("checkbox", name=name, exact=True)
    if box.is_checked() != lies:
        box.focus()
        tv.page.keyboard.press("Space")


def test_a_strong_station_shows_a_picture_and_strips_make_it_black(tv):
    assert face(tv) == "The TV is dark"
    choose(tv, "B")
    press(tv, "Screw in")
    assert face(tv).endswith("clean")
    # B has 46 dB to spare on a plain card; D lacks 6 dB, and lacks 26 behind a strip of 20.
    choose(tv, "D")
    strip(tv, "20", True)
    press(tv, "Screw in")
    assert face(tv) == "no signal, black"
    strip(tv, "20", False)


def test_each_press_takes_its_time_of_the_evening_and_a_scan_lists_what_comes(tv):
    press(tv, "Scan")
    said = tv.get_by_role("status").inner_text()
    assert "In the list:" in said and "B" in said.split("In the list:")[1]


def test_another_card_begins_another_evening(tv):
    number = tv.get_by_role("spinbutton", name="TV card")
    number.fill("2")
    number.press("Enter")
    tv.get_by_text("18:00, sun sets 20:00. The TV is off.").wait_for()
    assert face(tv) == "The TV is dark"


def test_no_label_is_cut_and_the_strips_keep_apart(tv):
    cut = tv.locator("button").evaluate_all(
        "all => all.filter(b => b.scrollWidth > b.clientWidth + 1).map(b => b.textContent)"
    )
    assert cut == []
    boxes = tv.locator(".widget-checkbox").evaluate_all(
        "all => all.map(e => { const b = e.getBoundingClientRect(); return [b.left, b.right, b.top] })"
    )
    for (_, right, top), (left, _, below) in pairwise(boxes):
        assert below > top or left - right >= 8
