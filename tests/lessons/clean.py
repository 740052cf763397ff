"""What may stand in a committed notebook: all a reader needs, nothing that a run leaves behind."""

import base64
import re

import nbformat

VIEW = "application/vnd.jupyter.widget-view+json"
PICTURE = re.compile(r"data:image/png;base64,([A-Za-z0-9+/=]+)")
KEPT_OF_A_CELL = ("deletable", "tags", "jupyter")
KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}

_ADDRESS = re.compile(r"\b0x[0-9a-fA-F]{6,}")
_BARE = re.compile(r"^\[?<(?!picture: )[\w.]+[ :>(]")


def clean(notebook):
    """A copy of an executed notebook as it may be committed.

    Widget views go (their still picture stays), cells that show a widget cannot be deleted by a stray
    key, execution counts run 1 to n, metadata of cell and notebook are the same on every machine.
    """
    cells, count = [], 0
    for old in notebook.cells:
        metadata = {k: old.metadata[k] for k in KEPT_OF_A_CELL if k in old.metadata}
        if old.cell_type != "code":
            new = nbformat.v4.new_markdown_cell(old.source, id=old.id, metadata=metadata)
            cells.append(new if old.cell_type == "markdown" else _same(old, metadata))
            continue
        count += 1
        metadata.pop("deletable", None)
        if any(VIEW in output.get("data", {}) for output in old.outputs):
            metadata["deletable"] = False
        new = nbformat.v4.new_code_cell(old.source, id=old.id, metadata=metadata)
        new.outputs, new.execution_count = _outputs(old.outputs, count), count
        cells.append(new)
    metadata = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    return nbformat.v4.new_notebook(cells=cells, metadata=metadata, nbformat_minor=5)


def _same(cell, metadata):
    return nbformat.v4.new_raw_cell(cell.source, id=cell.id, metadata=metadata)


def _outputs(outputs, count):
    kept = []
    for old in outputs:
        if old.output_type == "stream":
            if kept and kept[-1].output_type == "stream" and kept[-1].name == old.name:
                kept[-1].text += old.text
            else:
                kept.append(nbformat.v4.new_output("stream", name=old.name, text=old.text))
        elif old.output_type == "error":
            kept.append(old)
        elif VIEW not in old.data:
            new = nbformat.v4.new_output(old.output_type, data=dict(old.data))
            if old.output_type == "execute_result":
                new.execution_count = count
            kept.append(new)
    return kept


def faults(notebook, room=""):
    """What a clean notebook may not show, cell by cell, in words; empty if all is well.

    Parameters: ``room`` the folder it ran in, whose name must not appear.
    """
    wrong = []
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        for output in cell.outputs:
            first_line = cell.source.splitlines()[0] if cell.source else ""
            wrong += [f"cell `{first_line}` {what}" for what in _faults_of(output, str(room))]
    return wrong


def _faults_of(output, room):
    if output.output_type == "error":
        return [f"ends in {output.ename}: {output.evalue}"]
    if output.output_type == "stream":
        bad = [f"writes to stderr: {output.text.strip()[:300]}"] if output.name == "stderr" else []
        return bad + _faults_of_text(output.text, room)
    plain, html = output.data.get("text/plain", ""), output.data.get("text/html", "")
    bad = ["shows a picture without alternative text"] if "image/png" in output.data else []
    if _BARE.match(plain) and not html:
        bad.append(f"shows a bare object: {plain[:80]}")
    return bad + _faults_of_text(plain, room) + _faults_of_html(html, room)


def _faults_of_text(text, room):
    bad = ["shows a memory address"] if _ADDRESS.search(text) else []
    return bad + (["shows the folder it ran in"] if room and room in text else [])


def _faults_of_html(html, room):
    bare = PICTURE.sub("data:", html)
    tags = re.findall(r"<img\b[^>]*>", bare)
    bad = ["shows a picture without alternative text"] * any(
        not re.search(r'\balt="[^"]{10,}"', tag) for tag in tags
    )
    bad += ["tells that a panel is in trouble"] * ('class="shed-still shed-trouble' in html)
    bad += ["asks for something from outside"] * bool(
        re.search(r"""(src|href)=["']?https?:""", bare)
    )
    for data in PICTURE.findall(html):
        bad += ["shows a picture with metadata"] * _has_metadata(base64.b64decode(data))
    return bad + _faults_of_text(bare, room)


def _has_metadata(png):
    return any(kind in png[:200] or kind in png[-200:] for kind in (b"tEXt", b"iTXt", b"tIME"))
