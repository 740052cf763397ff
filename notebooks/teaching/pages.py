"""Every lesson as a page to read: no network to make it, none to read it, no script in it.

    .venv/bin/python notebooks/teaching/pages.py FOLDER

Writes FOLDER/index.html and one HTML page per lesson, with all figures, their alternative texts and all
printed results inside, each panel at two more positions, each question with its answer folded. Answers
and teacher's pages lie apart, in FOLDER/teacher: leave that out of what learners get. Links between
notebooks become links between pages. FOLDER may be sent, put on a stick or printed from; nothing in it
looks back here. It takes a minute: the lessons run once.
"""

import argparse
import functools
import os
import re
import shutil
from html import escape
from pathlib import Path
from urllib.parse import quote, unquote

import nbformat
import worked
from nbconvert import HTMLExporter
from pygments.formatters import HtmlFormatter

NOTEBOOKS = Path(__file__).resolve().parents[1]
PARTS = {".": "Lessons", "teacher/answers": "Answers", "teacher/teaching": "For the teacher"}
"""Folders of pages, and what an index calls them."""

STYLE = """
body{font:17px/1.55 sans-serif;color:#000;background:#fff;margin:0}
main{max-width:900px;margin:auto;padding:0 16px 64px}
a{color:#004f87}
pre{font-size:14px;line-height:1.4;padding:8px;overflow-x:auto}
.input pre{background:#f5f5f5;border-left:4px solid #767676}
code{overflow-wrap:anywhere}
.output_area,.rendered_html{overflow-x:auto}
table{border-collapse:collapse;font-size:15px}
th,td{border:1px solid #767676;padding:3px 8px;text-align:left}
figcaption{max-width:880px}
.read{border:1px solid #767676;padding:8px}
@media print{pre{white-space:pre-wrap}.input pre,figure,tr{break-inside:avoid}}
"""

PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{title}</title>
<link rel="icon" href="data:,">
<style>{style}</style>
</head>
<body>
<main>
{body}
</main>
</body>
</html>
"""

_MARK = re.compile(r'<a class="anchor-link".*?</a>')
_FOR_CELLS = re.compile(r"^(Shift\+Enter|If this cell failed)")
_RUN_IT = re.compile(r"Run this cell \(Shift\+Enter\) to (move|answer|\w+)[^<.]*\.")
_INSTEAD = {"move": "", "answer": ""}
_LINK = re.compile(r'(href|src)="(?![a-z]+:|#)([^"#]+)(#[^"]*)?"')


def sources(notebooks=NOTEBOOKS):
    """Every notebook and every Markdown page below the folder ``notebooks``, in order."""
    paths = [p for kind in ("*.ipynb", "*.md") for p in Path(notebooks).rglob(kind)]
    return sorted(p for p in paths if ".ipynb_checkpoints" not in p.parts)


def place(source, notebooks=NOTEBOOKS):
    """Where the page of a ``source`` lies below the folder: all but the lessons below teacher/."""
    found = Path(source).relative_to(notebooks)
    found = found.with_suffix(".html") if found.suffix in (".ipynb", ".md") else found
    return found if len(found.parts) == 1 or found.parts[0] == "pictures" else "teacher" / found


def write(folder, notebooks=NOTEBOOKS, moved=True):
    """Write the pages of ``notebooks`` below ``folder``; the paths written, both indexes first.

    Parameters: ``moved`` False leaves out the positions for which lessons have to run. Raises
    ValueError naming the source and the link that leads nowhere or out of ``notebooks``.
    """
    folder, notebooks = Path(folder), Path(notebooks).resolve()
    titles = {}
    for source in sources(notebooks):
        title, html, files = page(source, notebooks, moved)
        _put(folder / place(source, notebooks), html)
        for file in files:
            target = folder / place(file, notebooks)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(file, target)
        titles[place(source, notebooks)] = title
    indexes = (Path("index.html"), Path("teacher/index.html"))
    for at in indexes:
        _put(folder / at, index({to: t for to, t in titles.items() if _listed(at, to)}, at.parent))
    return [folder / at for at in (*indexes, *titles)]


def _listed(index_at, page_at):
    """Whether an index names a page: the teacher's names all."""
    return index_at.parts[0] == "teacher" or page_at.parts[0] != "teacher"


def _put(path, text):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def page(source, notebooks=NOTEBOOKS, moved=True):
    """The page of one ``source`` below ``notebooks``: title, HTML, and other files it links to."""
    notebook = read(source)
    title = notebook.cells[0].source.splitlines()[0].lstrip("# ").strip()
    to_read(
        notebook,
        worked.added(source, notebooks.parent / "demo_data") if moved and _runs(source) else {},
    )
    where = {"metadata": {"path": str(source.parent)}}
    body, _ = _exporter().from_notebook_node(notebook, resources=where)
    body, files = _links_between_pages(_MARK.sub("", body), source, notebooks)
    depth = len(place(source, notebooks).parts) - 1
    head = _head(source, notebooks, "../" * (depth > 1) + "index.html")
    return title, _whole(title, head + body), files


def _runs(source):
    return (
        source.suffix == ".ipynb" and source.name[:2].isdigit() and source.parent.name != "answers"
    )


def to_read(notebook, more):
    """Take out of a ``notebook`` what only a cell can do, and put in what stands for it.

    Parameters: ``more`` HTML to add below cells, by their number.
    """
    for number, cell in enumerate(notebook.cells):
        below = more.get(number, "") + worked.answer(cell.source)
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            if "shed-still" in data.get("text/html", ""):
                data["text/html"] = _RUN_IT.sub(_instead, data["text/html"]) + below
    notebook.cells = [c for c in notebook.cells if not _FOR_CELLS.match(c.source)]


def _instead(said):
    return _INSTEAD.get(said[1], "It works in the notebook and on a live page.")


def read(source):
    """The notebook at ``source``; a Markdown page counts as a notebook of one cell."""
    if source.suffix == ".ipynb":
        return nbformat.read(source, as_version=4)
    text = source.read_text(encoding="utf-8")
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell(text)])


def index(titles, at=Path()):
    """The HTML of the page that lists others.

    Parameters: ``titles`` path of each page below the folder -> its title; ``at`` where the list lies.
    """
    body = ["<h1>Signalshed, to read</h1>"]
    for part, heading in PARTS.items():
        rows = [(os.path.relpath(p, at), t) for p, t in titles.items() if p.parent == Path(part)]
        lines = [
            f'<li>{Path(to).stem}: <a href="{Path(to).as_posix()}">{escape(t)}</a></li>'
            for to, t in rows
        ]
        body += [f"<h2>{heading}</h2>", "<ul>", *lines, "</ul>"] if rows else []
    return _whole("Signalshed, to read", "\n".join(body))


@functools.cache
def _exporter():
    """nbconvert's plainest template: the bodies of cells, no script, nothing from outside."""
    return HTMLExporter(
        template_name="basic",
        exclude_input_prompt=True,
        exclude_output_prompt=True,
    )


def _whole(title, body):
    style = STYLE + HtmlFormatter().get_style_defs(".highlight")
    return PAGE.format(title=escape(title), style=style, body=body)


def _head(source, notebooks, to_index):
    """The line above a page: what it is, and the way to the others."""
    back = f'<a href="{to_index}">All pages</a>'
    if source.suffix == ".md":
        return f"<nav>{back}</nav>\n"
    name = f"notebooks/{source.relative_to(notebooks).as_posix()}"
    said = f"A page to read: nothing in it runs. To run it, open <code>{name}</code> in JupyterLab."
    return f'<nav class="read">{said} {back}</nav>\n'


def _links_between_pages(body, source, notebooks):
    """``body`` with links to sources turned into links to pages, and the other files it links to."""
    files = []

    def turned(match):
        target = (source.parent / unquote(match[2])).resolve()
        if not (target.is_relative_to(notebooks) and target.is_file()):
            raise ValueError(f"{source.name}: the link {match[2]} leads to no file of notebooks/.")
        if target.suffix not in (".ipynb", ".md"):
            files.append(target)
        here = place(source, notebooks).parent
        to = Path(os.path.relpath(place(target, notebooks), here)).as_posix()
        return f'{match[1]}="{quote(to)}{match[3] or ""}"'

    return _LINK.sub(turned, body), files


def main(arguments=None):
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="where the pages go; made if it is not there")
    folder = parser.parse_args(arguments).folder
    written = write(folder)
    print(f"{len(written)} pages. Open {folder / 'index.html'} in any browser.")


if __name__ == "__main__":
    main()
