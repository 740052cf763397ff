"""HTML as a parser of the standard library reads it: what went in as text comes out as text."""

from html.parser import HTMLParser

import pytest

from signalshed import antenna, builds, markup, plots

NASTY = "<b title='x'>&amp;\"</b>"
"""Text that would become a tag, an entity or the end of an attribute if it were not escaped."""


class _Read(HTMLParser):
    """Cells of a table as (tag, attributes, text), in the order of the page."""

    def __init__(self, page):
        super().__init__()
        self.cells, self.tags = [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag in ("td", "th", "caption"):
            self.cells.append([tag, dict(attrs), ""])

    def handle_data(self, data):
        if self.cells:
            self.cells[-1][2] += data


def test_nothing_in_a_table_becomes_a_tag():
    page = markup.table(
        [NASTY], [(NASTY, [[NASTY, markup.Number(NASTY)]])], caption=NASTY, named=True
    )
    read = _Read(page)
    assert [cell[2] for cell in read.cells] == [NASTY] * 5
    assert set(read.tags) == {"table", "caption", "thead", "tbody", "tr", "th", "td"}


def test_every_heading_of_a_table_says_what_it_heads():
    # HTML's own rule for who reads a table aloud: a th has a scope of col, row or rowgroup.
    page = markup.table(
        ["", markup.Number("dB")], [("far", [["a", markup.Number("3")]])], named=True
    )
    kinds = [(tag, how.get("scope")) for tag, how, _ in _Read(page).cells]
    assert kinds == [("th", "col"), ("th", "col"), ("th", "rowgroup"), ("th", "row"), ("td", None)]
    assert _Read(page).cells[2][1]["colspan"] == "2"


@pytest.mark.parametrize("left", [False, True])
def test_text_stands_left_where_asked_and_numbers_right(left):
    rows = [("group", [["a", markup.Number("3")]])]
    cells = _Read(markup.table(["name", markup.Number("dB")], rows, left=left)).cells
    style = "text-align:left" if left else None
    assert [how.get("style") for _, how, _ in cells] == [style, None, style, style, None]
    assert [how.get("class") for _, how, _ in cells] == [None, "number", None, None, "number"]


def test_a_table_without_headers_or_caption_has_no_empty_ones():
    assert set(_Read(markup.table([], [("", [["a"]])], "card")).tags) == {
        "table",
        "tbody",
        "tr",
        "td",
    }
    assert markup.table([], [], "card").startswith('<table class="card">')


def test_a_page_s_pieces_escape_what_they_are_given():
    for piece in (markup.paragraph(NASTY), markup.bullets([NASTY]), markup.section(NASTY)):
        assert "<b" not in piece and "&lt;b" in piece


def test_what_is_shown_is_registered_for_every_kind():
    build = builds.half_wave_dipole(539).renamed(NASTY)
    made = antenna.from_numbers(NASTY, [50, 700], 6, 60)
    picture = plots.show(plots.style.new_figure(3, 2), NASTY)
    for thing in (build, made, picture):
        shown = thing._repr_html_()
        assert "<b title" not in shown and "&lt;b title=" in shown
    assert "><i>yes</i></div>" in markup.Card("<i>yes</i>", "yes")._repr_html_()


def test_the_card_of_an_antenna_holds_its_numbers():
    made = antenna.from_numbers("mine", [470, 608], 6.5, 60, spread_db=2, effort=3)
    cells = _Read(made._repr_html_()).cells
    facts = {name[2]: value[2] for name, value in zip(cells[1::2], cells[2::2], strict=True)}
    assert cells[0][2] == "mine" and facts["effort"] == "3 of 5"
    # Halfway between 470 and 608 MHz; the gain is given flat.
    assert facts["gain toward the aim"] == "6.5 dBd at 539 MHz"
