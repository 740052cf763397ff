"""A kernel of live pages, in a folder of its own: what a visitor writes lies there, and goes with it.

`serve.py` starts one for every page that somebody opens. A page's last cell calls `take_home()`.
"""

import base64
import io
import os
import shutil
import sys
import tempfile
import time
import zipfile
from pathlib import Path

import ipywidgets

BEGUN = "SHED_BEGUN"
NOT_FOR_PAGES = ("QUERY_STRING", "VOILA_REQUEST_URL", "SHED_ROOM")
"""Variables that hold the token or a place of the teacher's machine: no kernel keeps them."""


def main():
    """Run a kernel below the room's folder, with a copy of the demo; all of it goes at its end."""
    room = Path(os.environ["SHED_ROOM"])
    with tempfile.TemporaryDirectory(dir=room / "visitors") as folder:
        shutil.copytree(room / "demo_data", Path(folder, "demo_data"))
        Path(folder, "notebooks").mkdir()
        os.chdir(Path(folder, "notebooks"))
        for name in NOT_FOR_PAGES:
            os.environ.pop(name, None)
        os.environ[BEGUN] = str(time.time())
        os.environ["TMPDIR"] = folder
        from ipykernel.kernelapp import IPKernelApp

        IPKernelApp.launch_instance(["--HistoryManager.enabled=False", *sys.argv[1:]])


def written():
    """Files that this visitor wrote or changed, below its folder: (place, bytes), in order."""
    top, begun = Path.cwd().parent, float(os.environ[BEGUN])
    files = (p for name in ("notebooks", "demo_data") for p in sorted((top / name).rglob("*")))
    own = [p for p in files if p.is_file() and p.stat().st_mtime >= begun]
    return [(p.relative_to(top).as_posix(), p.read_bytes()) for p in own]


def packed(files):
    """One zip of ``files``, pairs of place and bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as bundle:
        for place, data in files:
            bundle.writestr(place, data)
    return made.getvalue()


def take_home():
    """A button that makes one file of all that was written on this page, and hands it out."""
    button = ipywidgets.Button(
        description="Take home what this page wrote", layout={"width": "auto"}
    )
    told = ipywidgets.HTML()

    def press(_):
        files = written()
        data = base64.b64encode(packed(files)).decode("ascii")
        names = ", ".join(place for place, _ in files[:6]) + (" ..." if len(files) > 6 else "")
        link = f'<a download="signalshed.zip" href="data:application/zip;base64,{data}">'
        told.value = (
            f"{link}signalshed.zip</a>: {names}" if files else "Nothing has been written yet."
        )

    button.on_click(press)
    return ipywidgets.VBox([button, told])


if __name__ == "__main__":
    main()
