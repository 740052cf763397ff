"""The stage of panels in a real JupyterLab: it fits, asks, tells a dead kernel, typesets no name."""

import pytest
from lab_page import open_notebook, panel, run_all, until_alt, until_sharp, write_notebook

WINDOWS = ((1280, 800), (911, 512), (1024, 768))
"""A projector; a laptop of 1366 by 768 at 150 %; a tablet."""
SHOW = "import demonstration\ndemonstration.{}()"
NASTY = "$a_1$ \\\\(b\\\\) c_d_e \\\\begin{align}x\\\\end{align}"

FITS = """x => { const pane = document.querySelector('.jp-WindowedPanel-outer').getBoundingClientRect();
    const panel = x.getBoundingClientRect(), end = x.querySelector('.shed-fold').getBoundingClientRect();
    const over = [...x.querySelectorAll('.shed-row:not(:empty) label, .shed-words')]
        .filter(e => e.offsetParent && e.scrollHeight > e.clientHeight + 4).map(e => e.textContent);
    return [panel.height <= pane.height, end.bottom <= panel.bottom + 1, over.join()] }"""


@pytest.fixture(scope="module")
def page(shared_page, lab):
    nasty = [f"from signalshed import markup, plots\nname = '{NASTY}'"]
    nasty += ["markup.Card(markup.paragraph(name), name)"]
    nasty += ["import demonstration\nmade = demonstration.panel()\nmade.title = name; made.reset()"]
    nasty += ["from IPython.display import HTML\nHTML(made._still_html())", "HTML('$x^2$')"]
    cells = [SHOW.format("panel"), SHOW.format("asking"), *nasty]
    open_notebook(shared_page, lab, write_notebook(lab, "stage.ipynb", cells))
    run_all(shared_page)
    panel(shared_page, 1)
    yield shared_page
    shared_page.set_viewport_size({"width": 1280, "height": 900})


@pytest.mark.parametrize("size", WINDOWS)
def test_all_of_it_is_in_sight_and_sharp_in_every_window(page, size):
    page.set_viewport_size(dict(zip(("width", "height"), size, strict=True)))
    for number in (0, 1):
        found = panel(page, number)
        found.scroll_into_view_if_needed()
        until_sharp(page, found)
        assert found.evaluate(FITS) == [True, True, ""]


def test_a_low_pane_turns_to_the_other_controls_and_the_picture_stays(page):
    page.set_viewport_size({"width": 911, "height": 512})
    found = panel(page, 0)
    until_sharp(page, found)
    box = found.locator(".shed-box").bounding_box()["height"]
    assert not found.get_by_label("Antenna").is_visible()
    found.get_by_role("button", name="Other controls (3 of 5 shown)").click()
    found.get_by_label("Antenna").wait_for()
    assert not found.get_by_role("spinbutton", name="Cable loss, dB").is_visible()
    assert found.locator(".shed-box").bounding_box()["height"] == box
    page.set_viewport_size({"width": 1280, "height": 900})


def test_the_arrow_of_a_list_has_the_colour_of_its_letters(page):
    """So it is seen in a dark theme too."""
    look = "e => { const s = getComputedStyle(e); return [s.backgroundImage, s.color] }"
    arrow, letters = panel(page, 0).locator("select").first.evaluate(look)
    assert letters in arrow


def test_a_guess_is_placed_by_keyboard_and_then_the_answer_is_told(page):
    found = panel(page, 1)
    status = found.get_by_role("status")
    assert status.inner_text() == "Where to?" and "137" not in found.inner_html().split("src=")[0]
    rail = found.get_by_role("slider", name="Your guess, degrees true")
    rail.focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    box = found.get_by_role("textbox", name="Your guess, degrees true")
    page.wait_for_function("e => e.value === '165'", arg=box.element_handle())
    assert status.inner_text() == "Where to?"
    place = found.get_by_role("button", name="Place my guess")
    place.focus()
    page.keyboard.press("Enter")
    until_alt(page, found, "It is 137. You said 165.")
    assert status.inner_text() == "It is 137."
    assert place.evaluate("e => e === document.activeElement"), "the keyboard lost its place"
    found.get_by_role("button", name="Reset").click()
    until_alt(page, found, "nothing yet")
    assert box.input_value() == "" and status.inner_text() == "Where to?"


def test_no_name_is_typeset_as_mathematics(page):
    """The last cell is; so the page would typeset the others, were they not held back."""
    last = page.locator(".jp-CodeCell").last
    last.locator("mjx-container").wait_for()
    assert page.locator("mjx-container").count() == last.locator("mjx-container").count()
    assert page.locator(".jp-RenderedHTML", has_text="$a_1$").count() == 1


def test_a_kernel_that_is_gone_is_told(page, lab):
    found = panel(page, 0)
    lab.end_kernels()
    handle = found.get_by_role("slider", name="Cable loss, dB")
    handle.focus()
    page.keyboard.press("ArrowRight")
    told = found.locator(".shed-silence:visible, .shed-gone:visible").first
    told.wait_for(timeout=20_000)
    assert "run" in told.inner_text()
    page.console_errors.clear()
