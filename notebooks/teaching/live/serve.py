"""Every lesson as a live page, for any browser in the room; the code and the answers stay here.

    .venv/bin/python -m pip install -r notebooks/teaching/live/requirements.txt
    .venv/bin/python notebooks/teaching/live/serve.py [--lan] [--ready N] [--port N]

Serves the lessons and the paper TV, not the answers nor the teacher's pages. Each page that somebody
opens gets a kernel and a folder of its own, which end with it. Without --lan only this machine's own
browser can reach it. The address that is printed holds the word that lets a visitor in. What the engine
(Voila) is told stands in voila.json beside this file, its pages' frame in share/. Stop with Ctrl+C.
"""

import argparse
import json
import os
import re
import secrets
import shutil
import socket
import sys
import tempfile
from functools import partial
from pathlib import Path

import nbformat

HERE = Path(__file__).resolve().parent
NOTEBOOKS = HERE.parents[1]
PROJECT = NOTEBOOKS.parent
ALSO = ("teaching/paper_tv.ipynb",)
FIRST = "00_start_here.ipynb"
WRITES = re.compile(r"forms\.|\.html\"")
"""What a cell says that writes a file: such a page ends with a button that hands them out."""
TAKE_HOME = "import visitor\nvisitor.take_home()"

_LINK = re.compile(r"\[([^]]*)\]\((?![a-z]+:|#)([^)#]+)(#[^)]*)?\)")
_FOR_CODE = re.compile(r"(Shift\+Enter|If this cell failed)|\*\*One number\.\*\*|the sign #")
"""Paragraphs that speak of cells to run or to change; the first two kinds are one whole cell."""


def lessons():
    """The notebooks that are served: the lessons and the paper TV."""
    return [*sorted(NOTEBOOKS.glob("0*.ipynb")), *(NOTEBOOKS / name for name in ALSO)]


def as_page(notebook, served):
    """``notebook`` as a live page needs it: no output, nothing that only a cell could do.

    Parameters: ``served`` names of the notebooks that a link may lead to.
    """
    cells, trying = [], False
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            heading = re.match(r"## (.*)", cell.source)
            trying = heading[1] == "Try it" if heading else trying
            source = _told(cell.source, served)
            cells += [nbformat.v4.new_markdown_cell(source)] if source else []
        elif not trying:
            cells.append(nbformat.v4.new_code_cell(cell.source))
    if any(WRITES.search(cell.source) for cell in cells if cell.cell_type == "code"):
        cells.append(
            nbformat.v4.new_markdown_cell("## Take home\n\nWhat forms wrote ends with this page.")
        )
        cells.append(nbformat.v4.new_code_cell(TAKE_HOME))
    metadata = {**notebook.metadata, "title": title(notebook)}
    return nbformat.v4.new_notebook(cells=cells, metadata=metadata)


def _told(source, served):
    """A text without what is said of cells, and without links to what is not served."""
    parts = [part for part in source.split("\n\n") if not _FOR_CODE.search(part)]
    return _LINK.sub(lambda m: m[0] if m[2] in served else m[1], "\n\n".join(parts))


def title(notebook):
    """The question that a notebook asks."""
    return notebook.cells[0].source.splitlines()[0].lstrip("# ").strip()


def prepare(room):
    """Lay out a ``room``: pages to serve, the demo to copy, a kernel; titles by name of the page."""
    pages, titles = room / "pages", {}
    kernel = room / "share" / "kernels" / "python3"
    for folder in (pages, kernel, room / "visitors"):
        folder.mkdir(parents=True)
    shutil.copytree(PROJECT / "demo_data", room / "demo_data")
    served = {path.name for path in lessons()}
    for path in lessons():
        notebook = nbformat.read(path, as_version=4)
        titles[path.name] = title(notebook)
        nbformat.write(as_page(notebook, served), pages / path.name)
    argv = [sys.executable, str(HERE / "visitor.py"), "-f", "{connection_file}", "--log-level=40"]
    spec = {
        "argv": argv,
        "display_name": "Python 3",
        "language": "python",
        "env": {"PYTHONWARNINGS": "ignore"},
    }
    (kernel / "kernel.json").write_text(json.dumps(spec))
    return titles


def engine(room, options):
    """The engine, told of ``room`` and of the ``options`` of the command line, ready to start."""
    os.environ["SHED_ROOM"] = str(room)
    os.environ["JUPYTER_PATH"] = os.pathsep.join([str(room / "share"), str(HERE / "share")])
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    from voila.app import Voila

    titles = prepare(room)
    app = Voila.instance(config_file_paths=[str(HERE)])
    app.initialize([str(room / "pages")])
    app.token, app.port = options.word, options.port
    app.ip = "0.0.0.0" if options.lan else "127.0.0.1"
    app.voila_configuration.preheat_kernel = options.ready > 0
    app.config.VoilaKernelManager.kernel_pools_config = {
        "default": {"pool_size": min(options.ready, 1)},
        FIRST: {"pool_size": options.ready},
    }
    app.voila_configuration.page_config_hook = partial(_with_titles, titles=titles)
    return app


def _with_titles(page_config, titles, **_):
    page_config["titles"] = titles
    return page_config


def addresses(options):
    """What a visitor types: this machine's own address in the room, or the loopback."""
    host = "127.0.0.1"
    if options.lan:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect(("192.0.2.1", 9))  # sends nothing: asks which way out is taken
                host = probe.getsockname()[0]
            except OSError:
                host = socket.gethostname()
    return f"http://{host}:{options.port}/?token={options.word}"


def main(arguments=None):
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lan", action="store_true", help="let other machines of the room in")
    ready = "pages of lesson 00 that wait for visitors; of each other one waits (0: none)"
    parser.add_argument("--ready", type=int, default=1, help=ready)
    parser.add_argument("--port", type=int, default=8866)
    parser.add_argument(
        "--word", default=secrets.token_hex(3), help="lets visitors in; chosen anew each time"
    )
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="live-", ignore_cleanup_errors=True) as room:
        app = engine(Path(room), options)
        print(f"Open {addresses(options)}\nStop with Ctrl+C.", flush=True)
        app.start()


if __name__ == "__main__":
    main()
