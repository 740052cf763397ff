"""Everything a class needs, in one folder for a stick: installs and runs with no network.

    .venv/bin/python notebooks/teaching/bundle.py FOLDER

Run it with a network, on the same system, processor and Python version as the class's laptops. FOLDER
is new; it gets wheels/ and lock.txt (exact versions and checksums), notebooks/, demo_data/, pages/
(the lessons to read in any browser) and README.md, which says what to do on a laptop. The same lock
makes an image for a class server.
"""

import argparse
import hashlib
import platform
import shutil
import subprocess
import sys
from pathlib import Path

import pages

PROJECT = pages.NOTEBOOKS.parent
NOT_FOR_OTHERS = (".ipynb_checkpoints", "__pycache__", "my_*", "practice_*")
"""What stays at home: leftovers, and folders that hold somebody's own roof."""

README = """# Signalshed on a stick

Copy this folder to the laptop, open a terminal **in it**, and paste one line. It asks for no network.

**Open the first lesson** on Linux or macOS:

```bash
python3 -m venv .venv && .venv/bin/python -m pip install --no-index --find-links wheels --require-hashes -r lock.txt && .venv/bin/python -m jupyterlab notebooks/00_start_here.ipynb
```

On Windows, in PowerShell:

```powershell
py -m venv .venv; .venv\\Scripts\\python -m pip install --no-index --find-links wheels --require-hashes -r lock.txt; .venv\\Scripts\\python -m jupyterlab notebooks\\00_start_here.ipynb
```

The next time the last part alone is enough. **To read without installing:** open `pages/index.html` in
any browser; all figures are there, nothing moves. Answers and teacher's pages lie apart, in `pages/teacher`.

| it says | it is | do |
|---|---|---|
| `No matching distribution found` | another Python or another kind of machine | the wheels fit {python} on {machine}; make a folder on a machine of the laptop's kind |
| `THESE PACKAGES DO NOT MATCH THE HASHES` | a damaged copy | copy the folder again |
| `ensurepip is not available` | Debian's Python comes in two parts | `sudo apt install python3-venv`, before the class: this one needs a network |

`lock.txt` names {count} packages, each with its exact version and checksum. For the teacher:
`pages/teacher/teaching/README.html`.
"""  # noqa: E501


def make(folder):
    """Make the bundle at ``folder``; its wheels, sorted.

    Raises ValueError if the folder holds something already or lies inside the project.
    """
    folder = Path(folder).resolve()
    if folder.is_relative_to(PROJECT):
        raise ValueError(f"{folder} lies inside the project; choose a folder outside it.")
    if folder.exists() and any(folder.iterdir()):
        raise ValueError(f"{folder} is not empty; choose a new folder.")
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--wheel-dir", str(folder / "wheels")]
    subprocess.run([*pip, "-r", "requirements.txt"], cwd=PROJECT, check=True)
    wheels = sorted((folder / "wheels").glob("*.whl"))
    for name in ("notebooks", "demo_data"):
        left_out = shutil.ignore_patterns(*NOT_FOR_OTHERS)
        shutil.copytree(PROJECT / name, folder / name, ignore=left_out)
    pages.write(folder / "pages", folder / "notebooks")
    (folder / "lock.txt").write_text(lock(wheels), encoding="utf-8")
    (folder / "README.md").write_text(how_to(len(wheels)), encoding="utf-8")
    return wheels


def lock(wheels):
    """The text of a lock file that pip takes with --require-hashes: one line for each of ``wheels``."""
    return "".join(f"{_requirement(wheel)}\n" for wheel in wheels)


def _requirement(wheel):
    """Name, version and checksum; a wheel's name begins with the first two, joined by dashes."""
    name, version = wheel.name.split("-")[:2]
    return f"{name}=={version} --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}"


def how_to(count):
    """The bundle's README for ``count`` packages and machines of this one's kind."""
    python = "Python {}.{}".format(*sys.version_info[:2])
    machine = f"{platform.system()} ({platform.machine()})"
    return README.format(python=python, machine=machine, count=count)


def main(arguments=None):
    """The command line; returns the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="new, outside the project")
    folder = parser.parse_args(arguments).folder
    try:
        wheels = make(folder)
    except ValueError as refused:
        print(refused)
        return 1
    print(f"{len(wheels)} wheels, lessons and pages. README.md in {folder} says what to do next.")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
