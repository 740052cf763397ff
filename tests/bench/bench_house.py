"""What starting costs: importing the library, and running each lesson whole.

Run: python tests/bench/bench_house.py     (about two minutes)

An import is a fresh Python beside one that imports numpy, pandas, scipy and matplotlib, in turns. A
lesson is its run from first to last cell in a kernel of its own, beside a notebook that imports only
those four. Processor time counts, so that a busy machine spoils neither.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import nbformat
import pandas as pd

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(Path(__file__).parent), str(TESTS / "lessons")]

import refresh  # noqa: E402
from yard import line  # noqa: E402

FOUR = "import numpy, pandas, scipy.linalg, scipy.special, scipy.stats, matplotlib.figure"
IMPORTS = {
    "nothing but Python": "pass",
    "import signalshed": "import signalshed",
    "all that computes": "from signalshed import advice",
    "all that a lesson uses": "from signalshed import classroom, report",
}


def children_ms(run):
    """Processor time of the processes that ``run`` starts and waits for, ms."""
    before = os.times()
    run()
    after = os.times()
    user = after.children_user - before.children_user
    return 1000 * (user + after.children_system - before.children_system)


def python_ms(code):
    return children_ms(lambda: subprocess.run([sys.executable, "-c", code], check=True))


def imports(turns=5):
    """Lines for importing; each turn takes all of them once."""
    codes = {"the four": FOUR, **IMPORTS}
    took = {name: [] for name in codes}
    for _ in range(turns):
        for name, code in codes.items():
            took[name].append(python_ms(code))
    four_ms = min(took.pop("the four"))
    against = f"the four packages, {four_ms:.0f} ms"
    return [line("import", name, min(times), against, four_ms) for name, times in took.items()]


def bare_ms(turns=3):
    """A notebook that only imports the four packages, ms."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "notebooks" / "bare.ipynb"
        path.parent.mkdir()
        cell = nbformat.v4.new_code_cell(FOUR, id="only")
        nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)
        root = Path(folder)
        return min(children_ms(lambda: refresh.run(path, root=root)) for _ in range(turns))


def lessons():
    """Lines for the lessons in order."""
    bare = bare_ms()
    against = f"a notebook of those imports, {bare:.0f} ms"
    paths = sorted(refresh.NOTEBOOKS.glob("[0-9][0-9]_*.ipynb"))
    took = [children_ms(lambda path=path: refresh.run(path)) for path in paths]
    return [
        line("lesson", path.stem, ms, against, bare) for path, ms in zip(paths, took, strict=True)
    ]


def ratios():
    """All lines of this bench."""
    return imports() + lessons()


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
