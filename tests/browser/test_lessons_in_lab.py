"""Every lesson in a real JupyterLab: it runs, and each slider moves by keyboard and returns."""

import pytest
from lab_page import open_notebook, run_all


def pytest_generate_tests(metafunc):
    """One test per lesson of this checkout."""
    folder = metafunc.config.rootpath / "notebooks"
    metafunc.parametrize("lesson", sorted(p.name for p in folder.glob("[0-9][0-9]_*.ipynb")))


def test_a_lesson_runs_and_each_of_its_sliders_moves_and_returns(lesson, page, lab):
    open_notebook(page, lab, lesson)
    run_all(page)
    assert page.locator(".jp-RenderedText[data-mime-type$='stderr']").count() == 0
    panels = page.locator(".shed-panel")
    panels.first.wait_for()
    assert page.locator(".shed-still:visible").count() == 0, "a picture stands there twice"
    for number in range(panels.count()):
        drive(page, panels.nth(number))


def drive(page, panel):
    """Each slider of one panel to an end and back by Reset."""
    image = panel.locator("img")
    image.wait_for()
    assert len(image.get_attribute("alt")) > 40
    page.wait_for_timeout(300)
    first = image.get_attribute("src")
    rows = panel.locator(".shed-row:has(.noUi-handle)")
    for number in range(rows.count()):
        row = rows.nth(number)
        label = row.locator("label").first.inner_text()
        assert row.get_by_role("spinbutton", name=label, exact=True).count() == 1
        handle = row.get_by_role("slider", name=label, exact=True)
        handle.focus()
        for key, end in (("End", "aria-valuemax"), ("Home", "aria-valuemin")):
            before = row.locator("input").input_value()
            there = handle.get_attribute("aria-valuenow") == handle.get_attribute(end)
            page.keyboard.press(key)
            if not there:
                _until(page, row, "(r, v) => r.querySelector('input').value !== v", before, key)
        assert panel.get_by_role("alert").inner_text() == ""
        panel.get_by_role("button", name="Reset").click()
        _until(page, panel, "(p, s) => p.querySelector('img').src === s", first, "Reset")


def _until(page, place, condition, value, what):
    """Wait for a condition on an element; ``what`` was done is told if it never comes."""
    try:
        page.wait_for_function(
            f"([e, v]) => ({condition})(e, v)", arg=[place.element_handle(), value], timeout=8000
        )
    except Exception:
        pytest.fail(f"nothing happened after {what}")
