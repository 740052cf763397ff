"""What a slider would show, for pages that cannot move: a lesson runs once more, its panels are moved.

`pages.py` calls it; nothing of it is left in the notebooks.
"""

import ast
import contextlib
import io
import re
import shutil
import tempfile
from pathlib import Path

import matplotlib
import nbformat

from signalshed.classroom import Choice, Panel, Slider, quiz
from signalshed.markup import safe

QUARTERS = (0.25, 0.75)
"""Where along its first slider a panel is shown again; without one, two others of its first list."""
_ASKED = re.compile(r"quiz\.ask\((\d+), (\d+)\)")


def added(path, demo):
    """HTML to add below code cells of the lesson at ``path``: {number of the cell: HTML}.

    Parameters: ``demo`` the folder of the invented town, which is copied first.
    """
    found, names = {}, {}
    with tempfile.TemporaryDirectory() as room:
        shutil.copytree(demo, Path(room, "demo_data"))
        Path(room, "notebooks").mkdir()
        matplotlib.use("agg")
        with contextlib.chdir(Path(room, "notebooks")), contextlib.redirect_stdout(io.StringIO()):
            for number, cell in enumerate(nbformat.read(path, as_version=4).cells):
                if cell.cell_type == "code":
                    last = _run(cell.source, names)
                    found |= {number: positions(last)} if isinstance(last, Panel) else {}
    return found


def _run(source, names):
    """Run a cell as a notebook does; the value of its last expression."""
    *steps, last = ast.parse(source).body
    is_value = isinstance(last, ast.Expr)
    exec(compile(ast.Module(steps if is_value else [*steps, last], []), "cell", "exec"), names)
    return eval(compile(ast.Expression(last.value), "cell", "eval"), names) if is_value else None


def positions(panel):
    """Two more positions of a ``panel`` as figures; folded where it asks for a guess first."""
    if panel.asks:
        panel.show_me()
    figures = "".join(_figure(panel, control, value) for control, value in _others(panel))
    if not panel.asks:
        return figures
    return f"<details><summary>After your guess: other positions</summary>{figures}</details>"


def _others(panel):
    """Pairs of control and value to show besides the defaults."""
    controls = panel.controls.values()
    for slider in (c for c in controls if isinstance(c, Slider)):
        spans = (
            slider.low * (slider.high / slider.low) ** q if slider.log else _between(slider, q)
            for q in QUARTERS
        )
        return [(slider, slider.checked(slider.on_slider(value))) for value in spans]
    for names in (c for c in controls if isinstance(c, Choice)):
        return [(names, name) for name in names.options if name != names.default][:2]
    return []


def _between(slider, share):
    """So far along a slider, on one of its steps."""
    return slider.low + slider.step * round(share * (slider.high - slider.low) / slider.step)


def _figure(panel, control, value):
    panel.set(**{control.name: value})
    told = value if isinstance(value, str) else f"{value:g}"
    if panel.trouble:
        return f"<p>{safe(control.label)} {safe(told)}: {safe(panel.trouble)}</p>"
    shown = panel._figure_html(panel.words, panel.png, "")
    return f"<p><b>{safe(control.label)}: {safe(told)}</b></p>{shown}"


def answer(source):
    """The folded answer to a question that a cell's ``source`` asks; empty where it asks none."""
    asked = _ASKED.search(source)
    if not asked:
        return ""
    question = quiz.ask(*map(int, asked.groups()))
    words = question.check(question.answer).words
    if hasattr(question, "options"):
        words = f"Right: {question.answer}. {words.removeprefix('Right').lstrip(':. ')}".strip()
    words = f"{words} {question.hint}".strip()
    return f"<details><summary>Answer</summary><p>{safe(words)}</p></details>"
