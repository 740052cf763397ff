"""The pages to read: complete, with alternative texts, and nothing asked from anywhere."""

import base64
import importlib.util
import re
from html.parser import HTMLParser
from urllib.parse import unquote

import pytest
import refresh

SCRIPT = refresh.NOTEBOOKS / "teaching" / "pages.py"


def _loaded():
    spec = importlib.util.spec_from_file_location("pages", SCRIPT)
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


pages = _loaded()
NAMES = ["index", *(str(p.relative_to(refresh.NOTEBOOKS).with_suffix("")) for p in pages.sources())]


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
    pages.write(made)
    return made


@pytest.fixture(scope="module")
def read(folder):
    """Each page by its name, taken apart."""
    return {name: Page((folder / f"{name}.html").read_text(encoding="utf-8")) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_a_page_holds_all_it_shows_and_asks_for_nothing(name, read, folder):
    found = read[name]
    assert not {"script", "link", "iframe", "object", "embed"} & {
        tag for tag, a in found.tags if a.get("rel") != "icon"
    }
    handlers = [key for _, attributes in found.tags for key in attributes if key.startswith("on")]
    assert not handlers
    assert all(holds_its_picture(image["src"]) for image in found.all("img"))
    text = (folder / f"{name}.html").read_text(encoding="utf-8")
    assert not re.search(r"@import|url\(|srcset|http-equiv", text)


@pytest.mark.parametrize("name", NAMES)
def test_a_page_says_its_language_and_title_and_its_headings_go_down_by_one(name, read):
    found = read[name]
    assert found.all("html") == [{"lang": "en"}]
    assert len(found.title) > 3
    assert found.levels[0] == 1 and found.levels.count(1) == 1
    steps = [after - before for before, after in zip(found.levels, found.levels[1:], strict=False)]
    assert all(step <= 1 for step in steps)


@pytest.mark.parametrize("path", refresh.found(), ids=lambda p: p.stem)
def test_a_page_shows_every_picture_of_its_notebook_with_its_words(path, read):
    found = read[str(path.relative_to(refresh.NOTEBOOKS).with_suffix(""))]
    outputs = [o for c in pages.read(path).cells for o in c.get("outputs", [])]
    stored = "".join(o.get("data", {}).get("text/html", "") for o in outputs)
    assert [i["alt"] for i in found.all("img")] == [i["alt"] for i in Page(stored).all("img")]
    assert all(len(image["alt"]) > 20 for image in found.all("img"))


@pytest.mark.parametrize("name", NAMES)
def test_every_link_leads_to_a_page_and_a_place_that_are_there(name, read, folder):
    for target in (unquote(link["href"]) for link in read[name].all("a")):
        file, _, place = target.partition("#")
        leads_to = (folder / f"{name}.html").parent / file if file else folder / f"{name}.html"
        assert leads_to.is_file(), target
        other = str(leads_to.resolve().relative_to(folder.resolve()).with_suffix(""))
        assert not place or place in read[other].ids, target


def test_the_index_leads_to_every_page(read):
    listed = [link["href"].removesuffix(".html") for link in read["index"].all("a")]
    assert sorted(listed) == sorted(set(NAMES) - {"index"})


@pytest.mark.parametrize("path", pages.sources(), ids=lambda p: p.stem)
def test_no_formula_needs_a_script_to_be_read(path):
    prose = "".join(c.source for c in pages.read(path).cells if c.cell_type == "markdown")
    prose = re.sub(r"```.*?```|`[^`]*`", "", prose, flags=re.DOTALL)
    assert not re.search(r"\$|\\\(|\\\[", prose), "say the formula in words or code"


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
