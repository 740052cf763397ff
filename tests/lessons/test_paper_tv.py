"""The page and the paper of the paper TV: what it shows, what it never says, lengths and rows."""

import re

import print_tv
import printing
import pytest

from signalshed import simulate
from signalshed.classroom import paper_tv


@pytest.fixture
def page():
    return paper_tv.PaperTVPage(2)


def test_a_look_settles_after_five_seconds_and_shows_the_old_figure_first(page):
    page.screw_in()
    first = page.tv.looks[-1].reading
    page.strips["10"].value = True
    page.screw_in()
    face, second = page._face.value, page.tv.looks[-1].reading
    shown = re.findall(r'<b class="(\w+)"[^>]*>([^<]+)</b>', face)
    assert [css for css, _ in shown] == ["old", "mid", "near", "now"]
    assert float(shown[0][1]) == first and float(shown[3][1]) == second != first
    assert "paper-stay .01s 5s" in face, "the settled figure comes after five seconds"


def test_it_never_says_decibels_nor_keeps_a_list_of_readings(page):
    for _ in range(3):
        page.screw_in()
        assert "dB" not in page._face.value + page.words
        assert page.words == f"{page.tv.clock}, sun sets 20:00."


def test_blocks_and_black_are_seen(page):
    assert "blocks" in paper_tv.screen(simulate.paper_tv.Look("blocks", 20.0, None, 1.0))[900:]
    page.station.value = "D"
    page.screw_in()
    assert "no signal" in page._face.value and "<svg" not in page._face.value


def test_the_envelopes_open_only_after_a_bet(page):
    page.pair.value = 2
    page.open()
    assert page.words.startswith("First bet") and "-3" not in page.words
    page.low.value, page.high.value = -4, -1
    page.screw_in()
    page.open()
    assert "Y is -3 dB" in page.words and "Score 3.0" in page.words
    assert f"in order: {page.tv.looks[0].reading:g}" in page.words


def test_whoever_names_a_winner_of_two_equals_is_told(page):
    page.low.value, page.high.value = 1, 3
    page.open()
    assert "Score 22.0" in page.words and "you named a winner" in page.words


def test_another_card_begins_another_evening_and_scan_says_the_list(page):
    page.strips["20"].value = page.strips["10"].value = True
    page.scan()
    assert page.words.endswith("In the list: B.")
    page.screw_in()
    assert "scan without strips" in page.words, "station A is gone from the list"
    page.number.value = 3
    assert page.tv.card.number == 3 and page.tv.spent_min == 0


def test_what_stays_without_a_kernel_is_a_sentence(page):
    assert paper_tv.SENTENCE.split(" (")[0] in page._still and "<svg" not in page._still


# ---- on paper ------------------------------------------------------------------------------------


def test_strips_are_four_millimetres_a_decibel():
    """By hand: 3, 6, 10 and 20 dB are 12, 24, 40 and 80 mm; a splitter of 3.5 dB is 14 mm."""
    widths = re.findall(
        r'<rect x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="22"', print_tv.strips()
    )
    assert sorted({float(w) for w in widths}) == [12, 14, 24, 40, 80] and len(widths) == 4 * 5
    assert 'width="180mm"' in print_tv.strips()


def test_rail_and_slip_are_a_hundred_and_sixty_millimetres():
    marks = [float(x) for x in re.findall(r'<path d="M([\d.]+) 62L\1 57"', print_tv.rail())]
    assert min(marks) == 8 and max(marks) == 168


def test_a_keepers_card_says_what_the_meter_shows_and_no_more():
    card = simulate.tv_card(1)
    for row in (0, 5, 10, 15):
        said = float(print_tv.keeper_text(1, row, 0).split()[0])
        assert abs(said - card.meter.smooth(card.stations_db["A"] - row)) < 12
    assert print_tv.keeper_text(1, 40, 2) == "black"
    cells = [
        print_tv.keeper_text(n, r, k)
        for n in print_tv.KEEPER_CARDS
        for r in range(41)
        for k in range(3)
    ]
    assert all(re.fullmatch(r"black|\d+( blocks)?", cell) for cell in cells)


def test_the_slide_has_the_sums_of_one_set():
    assert sorted(print_tv._SUMS) == [*printing.sums_of([3, 6, 10, 20])]


def test_every_card_has_its_truth_below_the_fold():
    text = print_tv.tv_cards(13, 24)
    for number in range(13, 25):
        card = simulate.tv_card(number)
        outside = text.split(f"<b>{number}</b></div>")
        assert len(outside) == 2 and card.kind in outside[1].split("</div>")[0]
        assert card.kind not in outside[0][-120:]


def test_the_sheets_are_listed_with_for_whom():
    text = printing.PRINTED.read_text(encoding="utf-8")
    assert text.count('<div class="sheet ') == len(printing.PAPERS) + 1
    assert (
        all(len(who) >= 3 for *_, who in printing.PAPERS) and "Nothing has to be installed" in text
    )
