"""Does a test see a small wrong change? Each row of tests/mutants.csv is made in a copy and tested.

    python tests/bench/mutants.py [NUMBER ...]     rows by number, counted from 1; all without any

``old`` has to stand exactly once in ``file``; ``tests`` names the files that should see it become
``new``. What all tests load is loaded once, and each row is tried in a fork. Prints killed (a test
failed, as it should), SURVIVED, stale (the code has moved on: write the row anew) or not run (the tests
could not begin). Ends with an error if any row is not killed.
"""

import csv
import os
import shutil
import sys
import tempfile
from pathlib import Path

import hypothesis.strategies  # noqa: F401
import ipywidgets  # noqa: F401
import matplotlib.pyplot  # noqa: F401
import numpy as np  # noqa: F401
import pandas as pd  # noqa: F401
import pytest
import scipy.optimize
import scipy.stats  # noqa: F401

REPO = Path(__file__).resolve().parents[2]
_CALM = ["--assert=plain", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
"""What is loaded before pytest begins it cannot rewrite, and need not."""


def fate(row, tree):
    """What becomes of one wrong change in the copy ``tree``, which is left as it was."""
    path = tree / row["file"]
    right = path.read_text(encoding="utf-8") if path.exists() else ""
    if right.count(row["old"]) != 1:
        return "stale"
    path.write_text(right.replace(row["old"], row["new"]), encoding="utf-8")
    code = _forked(tree, row["tests"].split())
    path.write_text(right, encoding="utf-8")
    return {0: "SURVIVED", 1: "killed"}.get(code, "not run")


def _forked(tree, tests):
    """Exit code of pytest in a fork of this process that takes the library of ``tree``."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    code = 9
    try:
        os.chdir(tree)
        os.environ["PYTHONPATH"] = str(tree / "lib")
        sys.path.insert(0, str(tree / "lib"))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1), os.dup2(nowhere, 2)
        seen = _Failed()
        code = int(
            pytest.main(["-x", "-q", "--tb=no", "-p", "no:cacheprovider", *_CALM, *tests], [seen])
        )
        code = code if code != 1 or seen.failed else 9
    finally:
        os._exit(code)


class _Failed:
    """Whether a test failed, and not only what leads to it."""

    failed = False

    def pytest_runtest_logreport(self, report):
        self.failed |= report.failed and report.when == "call"


def main(numbers):
    """Try the rows ``numbers`` of the table, or all; the names of those that were not killed."""
    with open(REPO / "tests" / "mutants.csv", newline="", encoding="utf-8") as file:
        rows = [(n, row) for n, row in enumerate(csv.DictReader(file), 1)]
    left, sys.dont_write_bytecode = [], True
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        hidden = shutil.ignore_patterns(".git", ".venv*", "__pycache__", "notebooks")
        shutil.copytree(REPO, tree, ignore=hidden)
        for number, row in rows:
            if not numbers or number in numbers:
                what = fate(row, tree)
                left += [row["what"]] * (what != "killed")
                print(f"{number:3} {what:9} {row['what']}", flush=True)
    return left


if __name__ == "__main__":
    sys.exit("\n".join(main([int(n) for n in sys.argv[1:]])) or 0)
