"""The pages to read: complete, with alternative texts, and nothing asked from anywhere."""

import base64
import importlib
import os
import re
import sys
from html.parser import HTMLParser
from urllib.parse import unquote

import nbformat
import pytest
import refresh

from signalshed.classroom import Panel, Slider, Words

SCRIPT = refresh.NOTEBOOKS / "teaching" / "pages.py"


sys.path.insert(0, str(SCRIPT.parent))

pages, worked = map(importlib.import_module, ("pages", "worked"))
NAMES = ["index", "teacher/index", *(str(pages.place(p).with_suffix("")) for p in pages.sources())]


class Page(HTMLParser):
    """What a reader's browser finds in a page: its tags, headings, names and words."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.levels, self.title = [], [], ""
        self.feed(text)
        self.ids = {attributes["id"] for _, attributes in self.tags if "id" in attributes}

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))

    def handle_data(self, data):
        if self.tags[-1:] and self.tags[-1][0] == "title" and not self.title:
            self.title = data

    def all(self, tag):
        return [attributes for name, attributes in self.tags if name == tag]


def holds_its_picture(src):
    """Whether a picture is in the page itself: a PNG, or an SVG of nothing but shapes and words."""
    if src.startswith("data:image/png;base64,"):
        return True
    start, _, data = src.partition(",")
    svg = Page(base64.b64decode(data).decode("utf-8"))
    shapes = {"svg", "rect", "polyline", "line", "path", "circle", "g", "text"}
    links = {"href", "xlink:href", "src", "style"}
    return start == "data:image/svg+xml;base64" and all(
        tag in shapes and not links & set(attributes) for tag, attributes in svg.tags
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("pages to read")
    pages.write(made, moved=False)
    return made


@pytest.fixture(scope="module")
def read(folder):
    """Each page by its name, taken apart."""
    return {name: Page((folder / f"{name}.html").read_text(encoding="utf-8")) for name in NAMES}


def _asked_for(name, found, folder):
    """What a page would run or fetch."""
    tags = {tag for tag, a in found.tags if a.get("rel") != "icon"}
    yield from sorted({"script", "link", "iframe", "object", "embed"} & tags)
    yield from (key for _, attributes in found.tags for key in attributes if key.startswith("on"))
    yield from (i["src"][:80] for i in found.all("img") if not holds_its_picture(i["src"]))
    text = (folder / f"{name}.html").read_text(encoding="utf-8")
    yield from re.findall(r"@import|url\(|srcset|http-equiv", text)


def test_a_page_holds_all_it_shows_and_asks_for_nothing(read, folder):
    assert not [(name, x) for name in NAMES for x in _asked_for(name, read[name], folder)]


def _faults_of_form(found):
    if found.all("html") != [{"lang": "en"}]:
        yield "language"
    if len(found.title) <= 3:
        yield "title"
    if found.levels[0] != 1 or found.levels.count(1) != 1:
        yield "first heading"
    steps = [after - before for before, after in zip(found.levels, found.levels[1:], strict=False)]
    if any(step > 1 for step in steps):
        yield "a heading goes down by more than one"


def test_a_page_says_its_language_and_title_and_its_headings_go_down_by_one(read):
    assert not [(name, fault) for name in NAMES for fault in _faults_of_form(read[name])]


def test_a_page_shows_every_picture_of_its_notebook_with_its_words(read):
    other, short = [], []
    for path in refresh.found():
        name = str(pages.place(path).with_suffix(""))
        outputs = [o for c in pages.read(path).cells for o in c.get("outputs", [])]
        stored = "".join(o.get("data", {}).get("text/html", "") for o in outputs)
        shown = [image["alt"] for image in read[name].all("img")]
        other += [name] * (shown != [image["alt"] for image in Page(stored).all("img")])
        short += [(name, alt) for alt in shown if len(alt) <= 20]
    assert not other
    assert not short


def _leads_nowhere(name, target, read, folder):
    file, _, place = target.partition("#")
    leads_to = (folder / f"{name}.html").parent / file if file else folder / f"{name}.html"
    if not leads_to.is_file():
        return True
    other = str(leads_to.resolve().relative_to(folder.resolve()).with_suffix(""))
    return bool(place) and place not in read[other].ids


def test_every_link_leads_to_a_page_and_a_place_that_are_there(read, folder):
    links = [(name, unquote(link["href"])) for name in NAMES for link in read[name].all("a")]
    assert not [(name, to) for name, to in links if _leads_nowhere(name, to, read, folder)]


def test_the_learners_index_leads_to_every_lesson_and_the_teachers_to_every_page(read):
    of = {
        at: [link["href"].removesuffix(".html") for link in read[at].all("a")] for at in NAMES[:2]
    }
    lessons = {name for name in NAMES if "/" not in name} - {"index"}
    assert set(of["index"]) == lessons
    found = {os.path.normpath(f"teacher/{name}") for name in of["teacher/index"]}
    assert found == set(NAMES) - {"index", "teacher/index"}


def test_learners_pages_stand_without_the_teachers(read):
    leads = [(n, a["href"]) for n in NAMES if "/" not in n for a in read[n].all("a")]
    assert not [lead for lead in leads if "teacher" in lead[1]]


def test_no_page_says_to_run_or_to_move_anything_and_each_question_folds_its_answer(folder):
    for path in sorted(folder.glob("0*.html")):
        text = path.read_text(encoding="utf-8")
        assert "Run this cell" not in text and "Shift+Enter" not in text, path.name
        asked = nbformat.read(refresh.NOTEBOOKS / f"{path.stem}.ipynb", 4).cells
        count = sum("quiz.ask(" in c.source for c in asked if c.cell_type == "code")
        assert text.count("<summary>Answer</summary><p>Right: ") == count, path.name


def test_a_page_shows_worked_positions_in_place_of_a_slider():
    source = refresh.NOTEBOOKS / "00_start_here.ipynb"
    title, html, _ = pages.page(source)
    assert title == "Will this antenna work on my roof?"
    # Heading from 0 to 355 by 5: its quarters are 88.75 and 266.25, on the steps 90 and 265.
    for heading in (90, 265):
        assert f"<b>Heading, degrees true: {heading}</b>" in html
        assert f"aimed at {heading}°" in html
    fold = html.index("<summary>After your guess: other positions</summary>")
    assert html.index("<b>Antenna: ") > fold


def test_where_on_a_slider_a_page_shows_it():
    def draw(figure):
        return [], lambda length_m: Words(f"It is {length_m:g} m.", "nothing")

    plain = Panel("A", [Slider("length_m", "Length, m", 1, 100, 50)], draw)
    log = Panel("B", [Slider("length_m", "Length, m", 1, 10_000, 50, 0.1, log=True)], draw)
    assert "Length, m: 26<" in worked.positions(plain) and "Length, m: 75<" in worked.positions(
        plain
    )
    assert "Length, m: 10<" in worked.positions(log) and "Length, m: 1000<" in worked.positions(log)


def _needs_a_script(path):
    prose = "".join(c.source for c in pages.read(path).cells if c.cell_type == "markdown")
    prose = re.sub(r"```.*?```|`[^`]*`", "", prose, flags=re.DOTALL)
    return re.search(r"\$|\\\(|\\\[", prose)


def test_no_formula_needs_a_script_to_be_read():
    found = [path.name for path in pages.sources() if _needs_a_script(path)]
    assert not found, "say the formula in words or code"


def test_a_link_that_leads_nowhere_is_named(tmp_path):
    (tmp_path / "one.md").write_text("# One\n\n[gone](two.md)\n")
    with pytest.raises(ValueError, match=r"one\.md: the link two\.md leads to no file"):
        pages.write(tmp_path / "made", tmp_path)


def test_a_file_that_a_page_shows_comes_along(tmp_path):
    source = tmp_path / "notebooks"
    source.mkdir()
    (source / "one.md").write_text("# One\n\n[table](a table.csv) [table](a%20table.csv)\n")
    (source / "a table.csv").write_text("x\n")
    pages.write(tmp_path / "made", source)
    assert (tmp_path / "made" / "a table.csv").read_text() == "x\n"


_NOT_ON_PAGES = re.compile(
    r"\b(?:the|a|your|any|one|this|same|other|which) sets?\b(?! of)|never aimed|"
    r"roofs? like this\b"
)


@pytest.mark.parametrize("path", refresh.found(), ids=lambda p: p.stem)
def test_pages_use_the_words_of_the_house(path):
    """TV, not set; cannot be aimed; roofs like yours: in prose and in what cells show."""
    notebook = nbformat.read(path, as_version=4)
    shown = [c.source for c in notebook.cells if c.cell_type == "markdown"]
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            shown += [output.get("text", ""), data.get("text/plain", ""), data.get("text/html", "")]
    text = re.sub(r"data:image/[^\"]+", "", "\n".join(shown))
    assert not _NOT_ON_PAGES.findall(text)
