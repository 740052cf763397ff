"""The answers are those of the questions that the lessons ask, and each is right."""

import importlib
import re

import answers
import nbformat
import pytest
import refresh
import skeleton

LESSONS = [n for n in skeleton.CORE_MIN if (refresh.NOTEBOOKS / f"{n}.ipynb").exists()]
MODULES = {n: importlib.import_module(f"signalshed.classroom.lesson_{n[:2]}") for n in LESSONS}
PROMPTING = [n for n, module in MODULES.items() if hasattr(module, "prompts")]
_ASKS = re.compile(r"\b(Predict|Guess|Vote)\b|[Pp]lace your guess")


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


def sentences(name):
    """What a lesson's page says, sentence by sentence, without the tasks that are the reader's own."""
    cells = nbformat.read(refresh.NOTEBOOKS / f"{name}.ipynb", as_version=4).cells
    text = "\n\n".join(c.source for c in cells if c.cell_type == "markdown")
    text = re.sub(r"\*\*One of your own\.\*\*.*|<[^>]*>.*", "", text)
    return [" ".join(part.split()) for part in re.split(r"(?<=[.?!])\s|\n\n", text) if part.strip()]


@pytest.mark.parametrize("name", PROMPTING)
def test_every_prompt_of_a_page_has_its_answer(name):
    held = MODULES[name].prompts()
    page = " ".join(sentences(name))
    gone = [p.asked for p in held if p.asked not in page]
    assert not gone, "answered, but not asked on the page"
    open_ones = [s for s in sentences(name) if _ASKS.search(s)]
    unanswered = [s for s in open_ones if not any(s in p.asked or p.asked in s for p in held)]
    assert not unanswered, "asked on the page, and answered nowhere"


@pytest.mark.parametrize("name", PROMPTING)
def test_an_answer_has_a_reason_and_a_usual_wrong_answer_and_stands_nowhere_on_the_page(name):
    cells = nbformat.read(refresh.NOTEBOOKS / f"{name}.ipynb", as_version=4).cells
    page = " ".join(" ".join(c.source.split()) for c in cells)
    for prompt in MODULES[name].prompts():
        assert all(len(part.split()) > 2 for part in (prompt.reason, prompt.usual)), prompt.asked
        assert prompt.answer not in page, "the page gives its own answer away"
