"""Make the answers to the questions of the lessons from the lessons: notebooks/answers/NN_name.ipynb.

    python tests/lessons/answers.py             write all
    python tests/lessons/answers.py --check     write nothing; fail if one is missing or stale

Each question is asked again, checked with its own right answer, and followed by the worked solution
that the lesson keeps folded; so is what it keeps folded below its guesses and its tries. Run
``refresh.py`` on what was written.
"""

import argparse
import importlib
import re
import sys
from pathlib import Path

import nbformat

sys.path.insert(0, str(Path(__file__).parent))
import refresh
import skeleton

FOLDER = refresh.NOTEBOOKS / "answers"
_FOLDED = re.compile(r"<details>\s*<summary>(.*?)</summary>(.*?)</details>", re.DOTALL)


def answers_of(notebook, name):
    """Cells of the answers to a lesson, as pairs of kind and source.

    Parameters: ``notebook`` the lesson; ``name`` as in skeleton.CORE_MIN.
    """
    lesson = skeleton.Lesson(notebook, name)
    title = notebook.cells[0].source.splitlines()[0].lstrip("# ").strip()
    lead = "The questions of the lesson, each checked with its right answer, and how to get there."
    back = f"Try them yourself first: [the lesson](../{name}.ipynb)."
    yield "markdown", f"# Answers: {title}\n\n{lead} {back}"
    yield "code", next(c.source for c in lesson.opening if c.cell_type == "code")
    for heading, cells in lesson.sections:
        folded = [c for c in cells if c.cell_type == "markdown" and _FOLDED.search(c.source)]
        if folded:
            yield "markdown", f"## {heading}"
        for cell in cells:
            if skeleton.is_question(cell):
                yield "code", f"question = {cell.source.strip()}\nquestion.check(question.answer)"
            for _, solution in _FOLDED.findall(cell.source if cell in folded else ""):
                yield "markdown", solution.strip()
    number = int(name[:2])
    if hasattr(importlib.import_module(f"signalshed.classroom.lesson_{number:02}"), "prompts"):
        yield "markdown", "## What the page asks besides"
        yield "code", f"quiz.prompts({number})"


def made(name):
    """The notebook of answers to the lesson called ``name``, not yet executed."""
    lesson = nbformat.read(refresh.NOTEBOOKS / f"{name}.ipynb", as_version=4)
    new = {"markdown": nbformat.v4.new_markdown_cell, "code": nbformat.v4.new_code_cell}
    cells = [
        new[kind](source, id=f"answer-{number:02d}")
        for number, (kind, source) in enumerate(answers_of(lesson, name))
    ]
    return nbformat.v4.new_notebook(cells=cells, nbformat_minor=5)


def is_stale(name):
    """Whether the committed answers to a lesson are not what its questions would give now."""
    path = FOLDER / f"{name}.ipynb"
    if not path.exists():
        return True
    committed = nbformat.read(path, as_version=4)
    return [c.source for c in committed.cells] != [c.source for c in made(name).cells]


def main(arguments=None):
    """The command line; returns the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args(arguments).check
    lessons = [n for n in skeleton.CORE_MIN if (refresh.NOTEBOOKS / f"{n}.ipynb").exists()]
    stale = [name for name in lessons if is_stale(name)]
    for name in stale:
        print(f"answers/{name}.ipynb: {'stale' if check else 'written; now run refresh.py on it'}")
        if not check:
            FOLDER.mkdir(exist_ok=True)
            text = refresh.as_text(made(name))
            (FOLDER / f"{name}.ipynb").write_text(text, encoding="utf-8")
    return 1 if check and stale else 0


if __name__ == "__main__":
    raise SystemExit(main())
