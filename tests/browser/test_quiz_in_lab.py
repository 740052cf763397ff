"""Questions in a real JupyterLab: typed and chosen answers, by keyboard, with names."""

import pytest
from lab_page import open_notebook, run_all, write_notebook

NUMBER = """import signalshed as shed
shed.classroom.quiz.number("How far is it?", 55, "km", 1, hint="Count the hills.")"""
CHOICE = """shed.classroom.quiz.choice(
    "What helps?", {"height": "Less earth in the way.", "paint": "Paint is thin."}, "height")"""


@pytest.fixture(scope="module")
def page(shared_page, lab):
    open_notebook(shared_page, lab, write_notebook(lab, "quiz.ipynb", [NUMBER, CHOICE]))
    run_all(shared_page)
    shared_page.locator(".shed-live").nth(1).wait_for()
    return shared_page


def said(page, place, words):
    page.locator(".shed-live").nth(place).get_by_role("status").filter(has_text=words).wait_for()


def test_a_typed_answer_is_checked_on_enter_in_either_unit(page):
    box = page.get_by_role("textbox", name="Your answer, km")
    for answer, words in (
        ("34", "34 is right in mi, not in km"),
        ("9 km", "too small. Count the hills."),
        ("34 mi", "Right: 55 km (34.2 mi)."),
        ("<b>far</b>", "Type a number"),
    ):
        box.fill(answer)
        page.keyboard.press("Enter")
        said(page, 0, words)


def test_an_answer_is_chosen_and_checked_by_keyboard(page):
    page.get_by_role("radio", name="paint").focus()
    page.keyboard.press("Space")
    button = page.locator(".shed-live").nth(1).get_by_role("button", name="Check")
    button.focus()
    page.keyboard.press("Enter")
    said(page, 1, "Not yet. Paint is thin.")
    page.get_by_role("radio", name="height").focus()
    page.keyboard.press("Space")
    button.click()
    said(page, 1, "Right. Less earth in the way.")


def test_letters_on_a_choice_leave_the_notebook_alone(page):
    page.get_by_role("radio", name="paint").focus()
    for letter in "ddabx":
        page.keyboard.press(letter)
    assert page.locator(".jp-CodeCell").count() == 2


def test_what_stays_without_a_kernel_is_hidden_while_the_question_lives(page):
    still = page.locator(".jp-OutputArea .shed-still")
    assert still.count() == 2 and not still.first.is_visible() and not still.nth(1).is_visible()
