"""Lessons in a real JupyterLab: they run, each slider moves by keyboard, all of it is named.

Two lessons whole, one of them with a form; the others behind the slow mark. What is dear is a page and a
kernel for each, so the panels of all lessons stand on one page as well, and each is moved there.
"""

import pytest
from lab_page import (
    LOOK,
    live_trees,
    open_notebook,
    run_all,
    seen_frames,
    sources,
    until_sharp,
    write_notebook,
)
from test_every_panel import makers

CONTROLS = {"slider", "spinbutton", "combobox", "checkbox", "radio", "textbox", "button"}
"""Roles of whatever a learner moves, types into or presses."""

SOON = ("00_start_here.ipynb", "06_fair_trials.ipynb")
STATE = "p => [p.querySelector('img').src, ...[...p.querySelectorAll('input')].map(i => i.value)]"
"""Script: the picture of a panel and what stands in its boxes."""


def pytest_generate_tests(metafunc):
    """One test per lesson of this checkout."""
    if "lesson" in metafunc.fixturenames:
        folder = metafunc.config.rootpath / "notebooks"
        names = sorted(p.name for p in folder.glob("[0-9][0-9]_*.ipynb"))
        marks = {name: () if name in SOON else pytest.mark.slow for name in names}
        metafunc.parametrize("lesson", [pytest.param(n, marks=marks[n]) for n in names])


def test_a_lesson_runs_and_each_of_its_sliders_moves_and_returns(lesson, page, lab):
    open_notebook(page, lab, lesson)
    run_all(page)
    assert page.locator(".jp-RenderedText[data-mime-type$='stderr']").count() == 0
    panels = page.locator(".shed-panel")
    panels.first.wait_for()
    assert page.locator(".shed-still:visible").count() == 0, "a picture stands there twice"
    before = sources(page)
    for number in range(panels.count()):
        drive(page, panels.nth(number))
    all_is_named(page)
    assert sources(page) == before, "keys on a control reached the notebook"


def test_every_panel_of_every_lesson_is_named_and_moves(page, lab):
    """All of them on one page; the first slider of each goes to an end and comes back by Reset."""
    made = [each.values[0] for each in makers()]
    cells = [f"from {m.__module__} import {m.__name__}\n{m.__name__}()" for m in made]
    open_notebook(page, lab, write_notebook(lab, "all_panels.ipynb", cells))
    run_all(page)
    panels = page.locator(".shed-panel")
    for number in range(len(cells)):
        panels.nth(number).locator("img").wait_for()
        until_sharp(page, panels.nth(number))  # the kernel has drawn all before the first key
    for number, each in enumerate(made):
        move(page, panels.nth(number), each.__name__)
    all_is_named(page)


def move(page, panel, name):
    """The Tab key goes through a panel; its first slider goes to one end, and Reset brings it back."""
    first = panel.evaluate(STATE)
    tab_through(page, panel)
    handle = panel.locator(".shed-row .noUi-handle").first
    if handle.count():
        handle.focus()
        at_end = handle.get_attribute("aria-valuenow") == handle.get_attribute("aria-valuemax")
        key = "Home" if at_end else "End"
        page.keyboard.press(key)
        moved = f"(p, s) => ({STATE})(p).slice(1).join() !== s.slice(1).join()"
        _until(page, panel, moved, first, f"{key} in {name}")
        assert panel.get_by_role("alert").inner_text() == ""
        _back(page, panel, first)


def all_is_named(page):
    """By the browser's accessibility tree: roles and names of all that lives, texts of pictures."""
    trees = live_trees(page)
    assert len(trees) == page.locator(".shed-live").count() > 0
    for tree in trees:
        nameless = [node["role"] for node in tree if node["role"] in CONTROLS and not node["name"]]
        assert not nameless
        assert "status" in {node["role"] for node in tree}, "nothing is announced"
        for node in tree:
            assert node["role"] not in CONTROLS or node["focusable"], f"no key reaches {node}"
            assert node["role"] not in ("image", "img") or len(node["name"]) > 40, node
    bare = page.locator(".jp-OutputArea img:not([alt]):visible, .jp-OutputArea canvas:visible")
    assert bare.count() == 0, "a picture without alternative text"


def drive(page, panel):
    """Each slider of one panel to both ends and back by Reset, with an eye on every frame."""
    image = panel.locator("img")
    image.wait_for()
    assert len(image.get_attribute("alt")) > 40
    until_sharp(page, panel)
    first = panel.evaluate(STATE)
    tab_through(page, panel)
    panel.evaluate(LOOK)
    rows = panel.locator(".shed-row:has(.noUi-handle)")
    for number in range(rows.count()):
        row = rows.nth(number)
        label = row.locator("label").first.inner_text()
        assert row.get_by_role("spinbutton", name=label, exact=True).count() == 1
        handle = row.get_by_role("slider", name=label, exact=True)
        handle.focus()
        for letter in "ddxzab":
            page.keyboard.press(letter)
        for key, end in (("End", "aria-valuemax"), ("Home", "aria-valuemin")):
            before = row.locator("input").input_value()
            there = handle.get_attribute("aria-valuenow") == handle.get_attribute(end)
            page.keyboard.press(key)
            if not there:
                _until(page, row, "(r, v) => r.querySelector('input').value !== v", before, key)
        assert panel.get_by_role("alert").inner_text() == ""
        _back(page, panel, first)
        if number == 0:
            typed_is_as_moved(page, panel, row, first)
    frames = seen_frames(panel)
    assert {width > 0 for _, width, _ in frames} == {True}, "a frame without the picture"
    assert len({height for *_, height in frames}) == 1, "the page jumped"
    assert len({src for src, *_ in frames}) > rows.count(), "the eye saw nothing move"


def typed_is_as_moved(page, panel, row, first):
    """One end, typed and then reached by key: the same picture and the same words."""
    handle, box, image = (row.locator(".noUi-handle"), row.locator("input"), panel.locator("img"))
    at_end = handle.get_attribute("aria-valuenow") == handle.get_attribute("aria-valuemax")
    key, start = "Home" if at_end else "End", box.input_value()
    handle.focus()
    page.keyboard.press(key)
    _until(page, row, "(r, v) => r.querySelector('input').value !== v", start, key)
    value = box.input_value()
    _back(page, panel, first)
    box.fill(value)
    page.keyboard.press("Enter")
    _until(page, panel, "(p, s) => p.querySelector('img').src !== s", first[0], f"typing {value}")
    typed = image.get_attribute("src"), image.get_attribute("alt")
    _back(page, panel, first)
    handle.focus()
    page.keyboard.press(key)
    _until(page, panel, "(p, s) => p.querySelector('img').src === s", typed[0], key)
    assert image.get_attribute("alt") == typed[1]
    _back(page, panel, first)


def _back(page, panel, first):
    """Reset, until all of it has arrived: the boxes are told before the picture, so a picture that
    had not yet followed the last key cannot pass for the one that Reset brings."""
    panel.get_by_role("button", name="Reset").click()
    _until(page, panel, f"(p, s) => ({STATE})(p).join() === s.join()", first, "Reset")


def tab_through(page, panel):
    """The Tab key passes through the panel's controls, all of them, in the order they stand in."""
    order = panel.evaluate(
        """p => [...p.querySelectorAll('button,input,select,.noUi-handle')]
            .filter(e => e.offsetParent && !e.disabled).map((e, n) => e.dataset.place = n)"""
    )
    panel.get_by_role("button", name="Reset").focus()
    met = [0]
    for _ in order[1:]:
        page.keyboard.press("Tab")
        met.append(page.evaluate("() => Number(document.activeElement.dataset.place)"))
    assert met == order


def _until(page, place, condition, value, what):
    """Wait for a condition on an element; ``what`` was done is told if it never comes."""
    try:
        page.wait_for_function(
            f"([e, v]) => ({condition})(e, v)", arg=[place.element_handle(), value], timeout=8000
        )
    except Exception:
        pytest.fail(f"nothing happened after {what}")
