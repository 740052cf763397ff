"""Questions: right in either unit system, helpful when wrong, never an error, named on the page."""

import importlib
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import signalshed
from signalshed.classroom import quiz

ROOM = Path(signalshed.__file__).parent / "classroom"


@pytest.fixture(scope="module")
def far():
    return quiz.number("How <far>?", 55, "km", 1, hint="Count the hills.")


@pytest.mark.parametrize(
    "answer",
    [
        55, 55.9, "55", " 55 km ", "55km", "55 KM", "54,2", "34 mi", "34 miles.", "34.2 Mi",
        "55,000 m", "5.5e4 m", "180,446 ft", np.float64(55), np.array(55), "+55 kilometres",
    ],
)  # fmt: skip
def test_a_right_answer_is_right_in_either_unit_system(far, answer):
    assert far.check(answer).right, far.check(answer)
    assert repr(far.check(answer)) == "Right: 55 km (34.2 mi)."


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        (34, "34 is right in mi, not in km: write the unit, or convert."),
        ("34 km", "34 km is too small. Count the hills. The answer is in km or mi."),
        ("55 mi", "55 mi is too large. Count the hills."),
        (-55, "look at the sign"),
        ("55 kg", "kg does not fit; answer in km or mi."),
        ("far", "Type a number, in km or mi."),
        ("", "Type a number"),
        ("1/0", "Type a number"),
        (None, "Type a number"),
        (True, "Type a number"),
        (float("nan"), "Type a number"),
        (10**400, "Type a number"),
        ([1, 2], "Type a number"),
        (pd.Series([55.0, 1.0]), "Type a number"),
        ("1.2.3", "Type a number"),
    ],
)
def test_a_wrong_answer_is_not_yet_with_a_hint_and_the_unit(far, answer, told):
    said = far.check(answer)
    assert not said.right and said.words.startswith("Not yet. ") and told in said.words


@given(st.text() | st.floats() | st.integers() | st.binary() | st.lists(st.none()))
def test_nothing_that_is_typed_raises(answer):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for question in (
            quiz.number("n", 0, "dB", 0.5),
            quiz.choice("c", ["a", "b"], "a"),
        ):
            said = question.check(answer)
            assert said.right in (True, False) and said.words


def test_an_array_of_one_number_is_no_warning(far):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert "number" in far.check(np.array([55.0])).words


@pytest.mark.parametrize(
    ("answer", "right"),
    [
        ("10 1/4 in", True), ("260mm", True), ("26 cm", True), ("10 in", False),
        ("0 ft 10 1/4 in", True), ("1' 10 1/4\"", False), ("260 millimeters", True), ("26,0 cm", True),
    ],
)  # fmt: skip
def test_sizes_may_be_typed_as_builders_write_them(answer, right):
    assert quiz.number("How long?", 260, "mm", 1).check(answer).right is right


@pytest.mark.parametrize("minus", ["-72", "−72 dBm", "–72", "- 72 dbm"])
def test_a_minus_may_be_any_dash_a_keyboard_makes(minus):
    assert quiz.number("Level?", -72, "dBm", 0.5).check(minus).right


def test_a_milliwatt_is_not_a_megawatt():
    power = quiz.number("Power?", 1, "mW", 0.01)
    assert power.check("1 mW").right
    assert not power.check("1 MW").right


def test_a_choice_says_what_is_wrong_with_each():
    said = {"height": "Yes: less earth in the way.", "paint": "Paint is thin.", "luck": ""}
    high = quiz.choice("What helps?", said, "height", hint="Think of the earth.")
    assert repr(high.check("Height")) == "Right. Yes: less earth in the way."
    assert repr(high.check("paint")) == "Not yet. Paint is thin."
    assert repr(high.check("luck")) == "Not yet. Think of the earth."
    assert repr(high.check("money")) == "Not yet. Choose one of: height; paint; luck."
    assert not high.check(None).right
    with pytest.raises(ValueError, match="it must be one of a, b"):
        quiz.choice("c", ["a", "b"], "z")


def test_the_page_has_a_named_place_and_says_what_the_code_says(far):
    assert far.widget
    assert far._place.description == "Your answer, km"
    far._place.value = "34 miles"
    assert "Right: 55 km (34.2 mi)." in far._told.value and 'role="status"' in far._told.value
    far._place.value = "<b>9</b>"
    assert "<b>9" not in far._told.value and "Type a number" in far._told.value


def test_a_question_stays_readable_without_a_kernel_and_hides_no_answer(monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.display.display", lambda data, raw: shown.append(data))
    quiz.choice("Which <one>?", ["first", "second"], "second")._ipython_display_()
    live, still = shown
    assert live["text/plain"] == still["text/plain"] == "Run this cell (Shift+Enter) to answer."
    for words in ("Which &lt;one&gt;?", "first", "second", "Run this cell"):
        assert words in still["text/html"]


# ---- the questions of the lessons ---------------------------------------------------------------


def makers():
    """Every question that a lesson's file hands out, as its page asks for it."""
    for path in sorted(ROOM.glob("lesson_[0-9][0-9]*")):
        module = importlib.import_module(f"signalshed.classroom.{path.stem}")
        lesson = int(path.stem[-2:])
        for which, _ in enumerate(getattr(module, "check_yourself", tuple)(), 1):
            yield pytest.param(lesson, which, id=f"{path.stem}.{which}")


def test_a_question_that_is_not_there_is_told_by_how_many_there_are():
    with pytest.raises(ValueError, match=r"Lesson 0 has \d questions; there is no number 99\."):
        quiz.ask(0, 99)
    with pytest.raises(ValueError, match="Lesson 9 has 0 questions"):
        quiz.ask(9, 1)
    with pytest.raises(ValueError, match="there is no number 0"):
        quiz.ask(0, 0)


@pytest.mark.parametrize(("lesson", "which"), list(makers()))
def test_each_question_of_a_lesson_takes_what_is_right_and_helps_with_what_is_wrong(lesson, which):
    question = quiz.ask(lesson, which)
    assert question.hint or getattr(question, "said", {}), "a wrong answer gets a hint"
    if isinstance(question, quiz.ChoiceQuestion):
        said = {option: question.check(option) for option in question.options}
        assert [o for o, s in said.items() if s.right] == [question.answer]
        assert all(len(s.words) > 12 for o, s in said.items() if not s.right)
        return
    answer, tolerance = question.answer, question.tolerance
    assert tolerance > 0
    assert question.check(answer).right and question.check(f"{answer:.6g} {question.unit}").right
    for unit, factor in question.units.items():
        assert question.check(f"{answer / factor:.10g} {unit}").right
    for wrong in (answer + 1.5 * tolerance, answer - 1.5 * tolerance):
        said = question.check(f"{wrong:.9g} {question.unit}")
        assert not said.right and question.unit in said.words
