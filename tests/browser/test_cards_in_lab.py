"""What the teacher's cards say, done in a real JupyterLab; and the sheets of paper, printed."""

import re
from pathlib import Path

import pytest
from lab_page import handle, open_notebook, panel, run_all, until_alt, write_notebook

TEACHING = Path(__file__).resolve().parents[2] / "notebooks" / "teaching"
CARDS = (TEACHING / "cards.md").read_text(encoding="utf-8")
HEADING = "Heading, degrees true"
SHOW = "import demonstration\ndemonstration.panel()"


def _run(page, found):
    page.locator(".jp-Cell").nth(1).click()
    page.keyboard.press("Shift+Enter")
    page.locator(".jp-InputPrompt", has_text="[3]:").wait_for()
    assert "jp-mod-selected" in page.locator(".jp-Cell").nth(2).get_attribute("class")


def _tab(page, found):
    box = found.get_by_role("spinbutton", name=HEADING)
    box.focus()
    page.keyboard.press("Tab")
    assert handle(found, HEADING).evaluate("e => e === document.activeElement")
    page.keyboard.press("Shift+Tab")
    assert box.evaluate("e => e === document.activeElement")


def _moves(*pairs):
    def keys(page, found):
        handle(found, HEADING).focus()
        for key, degrees in pairs:
            page.keyboard.press(key)
            until_alt(page, found, f"at {degrees}°")

    return keys


def _type(page, found):
    found.get_by_role("spinbutton", name=HEADING).fill("30")
    page.keyboard.press("Enter")
    until_alt(page, found, "at 30°")


def _list(page, found):
    found.get_by_label("Antenna").focus()
    page.keyboard.press("ArrowDown")
    until_alt(page, found, "yagi <b>& at")
    page.keyboard.press("ArrowUp")
    until_alt(page, found, "loop at")


def _reset(page, found):
    _type(page, found)
    found.get_by_role("spinbutton", name=HEADING).focus()
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Space")
    until_alt(page, found, "at 210°")


def _save(page, found):
    page.wait_for_selector(".jp-mod-dirty")
    page.keyboard.press("Control+s")
    page.wait_for_function("() => !document.querySelector('.jp-mod-dirty')")


DONE = {
    "Shift+Enter": _run,
    "Tab, Shift+Tab": _tab,
    "arrow keys, on a slider": _moves(("ArrowRight", 215), ("ArrowLeft", 210), ("ArrowUp", 215)),
    "Page Up, Page Down, on a slider": _moves(("PageUp", 235), ("PageDown", 210)),
    "Home, End, on a slider": _moves(("Home", 0), ("End", 355)),
    "a number typed in the box beside a slider, then Enter": _type,
    "arrow keys, on a list": _list,
    "Space, on Reset (Shift+Tab from the first box)": _reset,
    "Ctrl+S (Cmd+S)": _save,
}
"""What each row of the keyboard card promises, for a slider of 5 degrees a step that begins at 210."""


@pytest.fixture(scope="module")
def opened(shared_page, lab):
    """A page with the demonstration panel and two more cells, and the panel."""
    open_notebook(shared_page, lab, write_notebook(lab, "cards.ipynb", [SHOW, "a = 1", "a"]))
    run_all(shared_page)
    return shared_page, panel(shared_page)


def test_the_keyboard_card_names_exactly_what_is_tried_here():
    card = CARDS.split("## Keyboard")[1].split("## ")[0]
    rows = re.findall(r"^\| (.+?) \| .+ \|$", card, re.MULTILINE)
    assert rows == ["keys", *DONE]


@pytest.mark.parametrize("keys", DONE)
def test_a_row_of_the_keyboard_card_does_what_it_says(keys, opened):
    page, found = opened
    found.get_by_role("button", name="Reset").click()
    until_alt(page, found, "loop at 210°")
    DONE[keys](page, found)


def test_the_menu_has_the_entries_that_the_card_names(opened):
    page, _ = opened
    card = CARDS.split("## If the sliders")[1].split("## ")[0]
    named = re.findall(r"menu \*\*(\w+)\*\*,\s+\*\*(.+?)\*\*", card)
    assert len(named) == 2
    for menu, entry in named:
        page.get_by_role("menuitem", name=menu, exact=True).click()
        entry = entry.replace("...", "…")
        page.get_by_role("menuitem", name=entry, exact=True).wait_for()
        page.keyboard.press("Escape")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_sheet_takes_one_page_of_paper(paper, browser):
    page = browser.new_page()
    page.goto((TEACHING / "to_print.html").as_uri())
    sheets = page.locator(".sheet:not(.screen)").all()
    across = ["wide" in sheet.get_attribute("class").split() for sheet in sheets]
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", page.pdf(format=paper))
    page.close()
    assert len(boxes) > 4 and any(across)
    assert [float(wide) > float(high) for wide, high in boxes] == across
