"""Does a test see a small wrong change? Each row of tests/mutants.csv is made in a copy and tested.

    python tests/bench/mutants.py [NUMBER ...]     rows by number, counted from 1; all without any

``old`` has to stand exactly once in ``file``; ``tests`` names the files that should see it become
``new``. Prints killed (a test failed, as it should), SURVIVED, stale (the code has moved on: write the
row anew) or not run (the tests could not begin). Ends with an error if any row is not killed.
"""

import csv
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

REPO = Path(__file__).resolve().parents[2]


def fate(row, tree):
    """What becomes of one wrong change in the copy ``tree``, which is left as it was."""
    path = tree / row["file"]
    right = path.read_text(encoding="utf-8") if path.exists() else ""
    if right.count(row["old"]) != 1:
        return "stale"
    path.write_text(right.replace(row["old"], row["new"]), encoding="utf-8")
    run = [sys.executable, "-m", "pytest", "-x", "-q", "--tb=no", *row["tests"].split()]
    env = os.environ | {"PYTHONPATH": str(tree / "lib"), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(run, cwd=tree, env=env, capture_output=True, check=False)
    path.write_text(right, encoding="utf-8")
    if done.returncode == 1 and b" failed" in done.stdout:
        return "killed"
    return "SURVIVED" if done.returncode == 0 else "not run"


def main(numbers):
    """Try the rows ``numbers`` of the table, or all; the names of those that were not killed."""
    with open(REPO / "tests" / "mutants.csv", newline="", encoding="utf-8") as file:
        rows = [(n, row) for n, row in enumerate(csv.DictReader(file), 1)]
    left = []
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
