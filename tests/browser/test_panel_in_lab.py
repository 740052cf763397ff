"""The demonstration panel in a real JupyterLab: keys, typing, reset, trouble, and what stays."""

import re

import nbformat
import pytest
from lab_page import (
    LOOK,
    handle,
    open_notebook,
    panel,
    picture,
    run_all,
    seen_frames,
    sources,
    until_alt,
    write_notebook,
)

HEADING = "Heading, degrees true"
SHOW = "import demonstration\ndemonstration.panel()"


@pytest.fixture(scope="module")
def opened(shared_page, lab):
    """The page with the demonstration panel on it, and the panel."""
    name = write_notebook(lab, "demonstration.ipynb", [SHOW, "kept = 1", "kept = 2"])
    open_notebook(shared_page, lab, name)
    run_all(shared_page)
    return shared_page, panel(shared_page)


@pytest.fixture
def shown(opened):
    """The page and its panel, put back to the start."""
    page, found = opened
    found.get_by_role("button", name="Reset").click()
    until_alt(page, found, "loop at 210° with 1 kW and 2.5 dB")
    return page, found


def test_an_arrow_key_moves_picture_words_and_box_together(shown):
    page, found = shown
    alt, data = picture(found)
    assert "at 210°" in alt
    handle(found, HEADING).focus()
    page.keyboard.press("ArrowRight")
    until_alt(page, found, "at 215°")
    assert picture(found)[1] != data
    assert "at 215°" in found.get_by_role("status").inner_text()
    assert found.get_by_label(HEADING).first.input_value() == "215"


def test_both_ends_are_reached_by_keys(shown):
    page, found = shown
    handle(found, HEADING).focus()
    page.keyboard.press("End")
    until_alt(page, found, "at 355°")
    page.keyboard.press("Home")
    until_alt(page, found, "at 0°")


def test_a_typed_number_moves_the_slider(shown):
    page, found = shown
    found.get_by_role("spinbutton", name=HEADING).fill("30")
    page.keyboard.press("Enter")
    until_alt(page, found, "at 30°")
    assert handle(found, HEADING).get_attribute("aria-valuenow") == "30.0"


def test_a_refused_number_is_told_and_reset_puts_all_back(shown):
    page, found = shown
    before = picture(found)
    box = found.get_by_role("spinbutton", name=HEADING)
    box.fill("725")
    page.keyboard.press("Enter")
    told = found.get_by_role("alert").filter(has_text="725 is not between 0 and 355.")
    told.wait_for()
    assert picture(found) == before
    handle(found, HEADING).focus()
    page.keyboard.press("ArrowLeft")
    until_alt(page, found, "at 205°")
    assert "725" not in found.get_by_role("alert").inner_text()
    found.get_by_role("button", name="Reset").click()
    until_alt(page, found, "at 210°")
    assert box.input_value() == "210" and picture(found) == before


def test_what_the_drawing_refuses_stands_by_the_controls(shown):
    page, found = shown
    found.get_by_label("Antenna").select_option("refused")
    found.get_by_role("alert").filter(has_text="<i>this roof</i> does not take it.").wait_for()
    assert "at 210°" in picture(found)[0]
    assert page.locator(".jp-OutputArea-output", has_text="Traceback").count() == 0


def test_a_slow_drawing_leaves_the_last_picture_until_the_new_one_is_there(shown):
    page, found = shown
    found.get_by_label("Antenna").select_option("slow")
    until_alt(page, found, "slow at 210°")
    found.evaluate(LOOK)
    handle(found, HEADING).focus()
    page.keyboard.press("ArrowRight")
    until_alt(page, found, "slow at 215°")
    frames = seen_frames(found)
    assert len({width for _, width, _ in frames} - {0}) == 1, "the picture changed its size"
    assert all(width for _, width, _ in frames), "a frame without the picture"
    assert len({height for *_, height in frames}) == 1, "the page jumped"
    shown_then = list(dict.fromkeys(picture_and_words for picture_and_words, *_ in frames))
    assert len(shown_then) == 2, "something stood between the last picture and the new one"
    assert frames[5][0] == shown_then[0], "the last picture was gone while the new one was drawn"


def test_letters_typed_on_any_control_leave_the_notebook_alone(shown):
    page, found = shown
    before = sources(page)
    handle(found, HEADING).click()
    page.keyboard.press("ArrowRight")
    until_alt(page, found, "at 215°")
    for control in (
        handle(found, HEADING),
        found.get_by_role("button", name="Reset"),
        found.get_by_label("Show the spread"),
    ):
        control.focus()
        for letter in "ddabxzvcmyr1200iiDDXZ":
            page.keyboard.press(letter)
    assert page.locator(".jp-Cell").count() == 3
    assert page.locator(".jp-CodeCell").count() == 3
    assert sources(page) == before and page.locator(".jp-Dialog").count() == 0
    assert found.is_visible()


def test_every_slider_and_box_is_named_for_assistive_technology(shown):
    _, found = shown
    labels = ("Heading, degrees true", "Power, kilowatts ERP", "Cable loss, dB")
    for label in labels:
        assert found.get_by_role("spinbutton", name=label, exact=True).count() == 1
        assert found.get_by_role("slider", name=label, exact=True).count() == 1
    assert found.get_by_role("combobox", name="Antenna", exact=True).count() == 1
    assert found.get_by_role("checkbox", name="Show the spread").count() == 1
    assert found.get_by_role("img", name=re.compile(r"A lobe\. loop at 210°")).count() == 1


def test_twenty_rapid_presses_end_at_the_last_position_without_a_jump(shown):
    page, found = shown
    box = found.bounding_box()
    page.evaluate(
        """() => { window.seen = [];
        const look = () => { const i = document.querySelector('.shed-panel img');
            const p = document.querySelector('.shed-panel').getBoundingClientRect();
            window.seen.push([!!i && i.complete && i.naturalWidth, p.height, p.top]);
            window.looking = requestAnimationFrame(look) };
        look() }"""
    )
    handle(found, HEADING).focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    until_alt(page, found, "at 310°")
    seen = page.evaluate("() => { cancelAnimationFrame(window.looking); return window.seen }")
    assert len({width for width, _, _ in seen}) == 1, "a frame without the picture"
    assert len({(height, top) for _, height, top in seen}) == 1, "the page jumped"
    assert found.bounding_box() == box
    page.wait_for_timeout(300)
    assert "at 310°" in picture(found)[0]


def test_two_hundred_moves_leave_no_more_behind(shown, lab):
    """Memory of page and kernel, after 50 moves of warming up: at most 5 MB more each."""
    page, found = shown
    session = page.context.new_cdp_session(page)
    slider = handle(found, HEADING)

    def moves(count):
        slider.focus()
        for number in range(count):
            page.keyboard.press("ArrowRight" if number % 2 else "ArrowLeft")
            until_alt(page, found, "at 210°" if number % 2 else "at 205°")
        session.send("HeapProfiler.collectGarbage")
        metrics = session.send("Runtime.getHeapUsage")
        return metrics["usedSize"] / 1e6, lab.kernels_mb()

    before = moves(50)
    after = moves(200)
    assert after[0] - before[0] < 5, f"page {before[0]:.1f} to {after[0]:.1f} MB"
    assert after[1] - before[1] < 5, f"kernel {before[1]:.1f} to {after[1]:.1f} MB"


def test_a_panel_scrolled_away_and_back_still_moves(page, lab):
    """In JupyterLab's own setting cells far away are taken out; the suite's setting keeps them."""
    lab.set("notebook-extension:tracker", {"windowingMode": "full"})
    far = [f"print('{'line' * 9}\\n' * 40)  # {n}" for n in range(6)]
    open_notebook(page, lab, write_notebook(lab, "windowed.ipynb", [SHOW, *far]))
    page.locator(".jp-Cell").first.click()
    page.keyboard.press("Shift+Enter")
    found = panel(page)
    for _ in far:
        page.keyboard.press("Shift+Enter")
    found.wait_for(state="hidden")
    page.locator(".jp-WindowedPanel-outer").evaluate("e => e.scrollTop = 0")
    found = panel(page)
    handle(found, HEADING).focus()
    page.keyboard.press("ArrowRight")
    until_alt(page, found, "at 215°")
    lab.set("notebook-extension:tracker", {"windowingMode": "none"})


def test_the_still_picture_hides_while_the_sliders_live_and_stays_when_saved(page, lab):
    name = write_notebook(lab, "saved.ipynb", [SHOW])
    open_notebook(page, lab, name)
    run_all(page)
    panel(page)
    still = page.locator(".jp-OutputArea .shed-still")
    assert still.count() == 1 and not still.is_visible()
    page.keyboard.press("Control+s")
    page.wait_for_function("() => !document.querySelector('.jp-mod-dirty')")
    saved = nbformat.read(lab.folder / name, as_version=4)
    assert "widgets" not in saved.metadata
    assert any("shed-still" in o.data.get("text/html", "") for o in saved.cells[0].outputs)
    page.goto("about:blank")
    lab.end_kernels()
    page.goto(lab.address(name, workspace="again"))
    still.wait_for(timeout=30_000)
    assert still.get_by_role("img").get_attribute("alt").startswith("A lobe. loop at 210°")
    page.wait_for_timeout(4000)
    assert still.is_visible()
    assert not page.get_by_text("Error displaying widget").is_visible()
    page.console_errors[:] = [e for e in page.console_errors if "widget model not found" not in e]
