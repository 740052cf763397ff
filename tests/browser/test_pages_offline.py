"""The pages to read, opened as files in a browser that has no network."""

import importlib
import sys
from pathlib import Path

import pytest

TEACHING = Path(__file__).resolve().parents[2] / "notebooks" / "teaching"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The folder of all pages, made by the script that a teacher runs."""
    sys.path.insert(0, str(TEACHING))
    pages = importlib.import_module("pages")
    return pages.write(tmp_path_factory.mktemp("pages to read"), moved=False)


@pytest.fixture(scope="module")
def reader(browser):
    """A page without network that remembers complaints, and whatever was asked besides files."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, offline=True)
    made = context.new_page()
    made.complaints, made.asked = [], []
    made.on("console", lambda m: made.complaints.append(m.text))
    made.on("pageerror", lambda e: made.complaints.append(str(e)))
    made.on("request", lambda r: made.asked.append(r.url))
    yield made
    context.close()


def test_every_page_shows_all_its_pictures_and_words_with_the_network_off(reader, written):
    pictures = 0
    for path in written:
        reader.goto(path.as_uri())
        shown = reader.evaluate("() => [...document.images].map(i => [i.naturalWidth, i.alt])")
        assert all(width >= 68 and len(alt) > 20 for width, alt in shown), path.name
        assert reader.evaluate("() => document.title.length") > 3
        pictures += sum(width > 300 for width, _ in shown)  # a smaller one is an antenna in a table
    assert pictures >= 30
    assert reader.complaints == []
    files = {path.as_uri() for path in written}
    assert {url for url in reader.asked if not url.startswith("data:")} == files


def test_a_reader_walks_from_the_index_to_a_lesson_and_on_to_the_next(reader, written):
    reader.goto(written[0].as_uri())
    reader.get_by_role("link", name="Will this antenna work on my roof?").first.click()
    reader.get_by_role("link", name="01").last.click()
    assert reader.url.endswith("/01_channel_plans.html")
    reader.get_by_role("link", name="All pages").click()
    assert reader.url.endswith("/index.html")


def test_a_narrow_window_scrolls_pictures_and_tables_not_the_page(reader, written):
    reader.set_viewport_size({"width": 400, "height": 700})
    for path in written:
        reader.goto(path.as_uri())
        width = reader.evaluate("() => document.documentElement.scrollWidth")
        assert width <= 400, f"{path.name} is {width} px wide"
