"""The answers are those of the questions that the lessons ask, and each is right."""

import answers
import nbformat
import pytest
import refresh
import skeleton

LESSONS = [n for n in skeleton.CORE_MIN if (refresh.NOTEBOOKS / f"{n}.ipynb").exists()]


@pytest.mark.parametrize("name", LESSONS)
def test_the_answers_are_made_from_the_lesson_as_it_is(name):
    assert not answers.is_stale(name), "run tests/lessons/answers.py, then refresh.py"


@pytest.mark.parametrize("name", LESSONS)
def test_every_question_is_answered_right(name):
    committed = nbformat.read(answers.FOLDER / f"{name}.ipynb", as_version=4)
    asked = [c for c in committed.cells if c.source.startswith("question = ")]
    said = ["".join(str(o.data["text/plain"]) for o in c.outputs) for c in asked]
    assert said and all(words.startswith("Right") for words in said)


def test_a_question_and_its_solution_become_an_answer():
    new = nbformat.v4
    cells = [
        new.new_markdown_cell("# What is it?"),
        new.new_code_cell("import signalshed as shed"),
        new.new_markdown_cell(
            "## 1 Which?\n\n<details><summary>Your guess</summary>\n\nOne.\n\n</details>"
        ),
        new.new_markdown_cell("## Check yourself"),
        new.new_code_cell('quiz.number("2 + 2?", 4, "m", 0)'),
        new.new_markdown_cell("<details><summary>Solution</summary>\n\nCount.\n\n</details>"),
    ]
    made = list(answers.answers_of(new.new_notebook(cells=cells), "00_start_here"))
    assert made[2:] == [
        ("markdown", "## 1 Which?"),
        ("markdown", "One."),
        ("markdown", "## Check yourself"),
        ("code", 'question = quiz.number("2 + 2?", 4, "m", 0)\nquestion.check(question.answer)'),
        ("markdown", "Count."),
    ]
