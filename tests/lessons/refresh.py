"""Execute the notebooks and write what they show: the reading copy that is committed.

    python tests/lessons/refresh.py                     all notebooks below notebooks/
    python tests/lessons/refresh.py notebooks/00_*.ipynb
    python tests/lessons/refresh.py --check             write nothing; fail if one is stale
    python tests/lessons/refresh.py --pictures          write all: after a change of how pictures look

Each runs in a copy of notebooks/ and demo_data/, so no lesson can change the tree, with warnings as
errors. Written are sources, outputs and nothing that differs from run to run: see ``clean``. A file
whose fresh run differs only in the bytes of its pictures is left as it is, but with --pictures.
"""

import argparse
import asyncio
import json
import os
import shutil
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat

sys.path.insert(0, str(Path(__file__).parent))
from clean import clean, faults
from stale import differences

REPO = Path(__file__).resolve().parents[2]
NOTEBOOKS = REPO / "notebooks"
FOLDERS = ("notebooks", "demo_data")
TIMEOUT_S = 300

WARNINGS_ARE_ERRORS = """
import warnings
warnings.simplefilter("error")
# November 2026, ipykernel 7: its own shutdown warns of itself.
warnings.filterwarnings("ignore", category=PendingDeprecationWarning, module="ipykernel")
"""

EVALUATE = """
import json as _json
import numpy as np
import signalshed as shed

def _value(expression):
    try:
        return float(eval(expression))
    except Exception as broken:
        return f"{type(broken).__name__}: {broken}"

print(_json.dumps([_value(e) for e in _json.loads(%r)]))
"""


def found(root=NOTEBOOKS):
    """Every notebook of the project, in order."""
    paths = sorted(Path(root).rglob("*.ipynb"))
    return [p for p in paths if ".ipynb_checkpoints" not in p.parts]


def run(path, expressions=(), root=REPO):
    """Execute the notebook at ``path``: the notebook with fresh, clean outputs, and the values (or
    error texts) of ``expressions`` in the lesson's own names after its last cell.

    Raises RuntimeError naming the cell if it fails, warns, or shows what may not be committed.
    """
    path = Path(path).resolve()
    notebook = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory(prefix="lesson-") as room:
        for name in FOLDERS:
            if (root / name).is_dir():
                shutil.copytree(root / name, Path(room) / name)
        inside = Path(room) / path.relative_to(root)
        executed, values = _execute(notebook, expressions, inside.parent, Path(room))
    fresh = clean(executed)
    wrong = faults(fresh, room)
    if wrong:
        raise RuntimeError(f"{path.name}: " + "; ".join(wrong))
    return fresh, values


def _execute(notebook, expressions, folder, room):
    """Run a copy between two cells of ours, with neither settings nor kernels of the home folder."""
    from jupyter_client import AsyncKernelManager
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError

    asked = [nbformat.v4.new_code_cell(EVALUATE % json.dumps(list(expressions)))]
    first = nbformat.v4.new_code_cell(WARNINGS_ARE_ERRORS)
    copy = nbformat.v4.new_notebook(
        cells=[first, *notebook.cells, *asked], metadata=notebook.metadata
    )
    client = NotebookClient(
        copy,
        timeout=TIMEOUT_S,
        km=_kernel(AsyncKernelManager, room),
        resources={"metadata": {"path": str(folder)}},
        store_widget_state=False,
        record_timing=False,
    )
    try:
        asyncio.run(client.async_execute(env=_environment(room), cleanup_kc=True))
    except CellExecutionError as broken:
        raise RuntimeError(f"A cell failed: {broken}") from None
    # One print may arrive in several pieces.
    values = json.loads("".join(o.get("text", "") for o in copy.cells[-1].outputs))
    executed = nbformat.v4.new_notebook(cells=copy.cells[1:-1], metadata=notebook.metadata)
    return executed, values


def _kernel(manager, room):
    """A kernel of this very Python, whatever kernels are registered on the machine."""
    spec = room / "kernels" / "lesson"
    spec.mkdir(parents=True)
    launch = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    text = {"argv": launch, "display_name": "lesson", "language": "python"}
    (spec / "kernel.json").write_text(json.dumps(text), encoding="utf-8")
    where = {"connection_file": str(room / "connection.json")}
    if os.name == "posix" and str(room).isascii():  # other letters, zmq finds in UTF-8 only
        where |= {"transport": "ipc", "ip": str(room / "kernel")}
    kernel = manager(kernel_name="lesson", **where)
    kernel.kernel_spec_manager.kernel_dirs = [str(spec.parent)]
    return kernel


def _environment(room):
    ours = ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "MPLCONFIGDIR")
    keep = {name: str(room / name.lower()) for name in ours}
    return {**os.environ, **keep, "PYDEVD_DISABLE_FILE_VALIDATION": "1"}


def refresh(path, check=False, pictures=False):
    """Run the notebook at ``path``; write it if it was stale, or for its ``pictures``. Returns what
    differed."""
    committed = nbformat.read(path, as_version=4)
    fresh, _ = run(path)
    changed = differences(committed, fresh)
    if (changed or pictures) and not check:
        Path(path).write_text(as_text(fresh), encoding="utf-8")
    return changed


def as_text(notebook):
    """The notebook as it is committed: one form, whoever wrote it."""
    return nbformat.writes(notebook, version=4).rstrip("\n") + "\n"


def _told(path, check, pictures):
    try:
        changed = refresh(path, check, pictures)
    except Exception as broken:
        return False, f"{path.name}: FAILED. {broken}"
    if not changed:
        return True, f"{path.name}: as committed" + (" but for its pictures" if pictures else "")
    verb = "stale" if check else "written"
    return not check, f"{path.name}: {verb}. " + "; ".join(changed[:5])


def main(arguments=None):
    """The command line; returns the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("paths", nargs="*", type=Path)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--pictures", action="store_true")
    wanted = parser.parse_args(arguments)
    paths = [p.resolve() for p in wanted.paths] or found()
    with ThreadPoolExecutor(2) as pool:
        told = list(pool.map(lambda path: _told(path, wanted.check, wanted.pictures), paths))
    for _, sentence in told:
        print(sentence)
    return 0 if all(good for good, _ in told) else 1


if __name__ == "__main__":
    raise SystemExit(main())
