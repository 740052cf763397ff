"""The phrases that stand in several places, by value: what is told of a chance is never too much."""

import numpy as np
import pytest

from signalshed import simulate, survey, words


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0, "fewer than 1 of 10"),
        (0.0999, "fewer than 1 of 10"),
        (0.1, "1 of 10"),
        (0.87, "8 of 10"),
        (0.8999, "8 of 10"),
        (0.97, "9 of 10"),
        (0.9999, "9 of 10"),
        (1, "10 of 10"),
    ],
)
def test_a_chance_is_cut_downward(chance, said):
    assert words.roofs_words(chance) == said
    assert survey.roofs_words(chance) == said


@pytest.mark.parametrize("tenths", range(1, 11))
def test_a_whole_number_of_tenths_is_not_cut_by_the_computer(tenths):
    # 0.1 + 0.2, 3 x 0.1, 1 - 0.1 and the like fall a hair short of the tenth that is meant.
    for chance in (tenths / 10, sum([0.1] * tenths), 1 - (10 - tenths) / 10):
        assert words.roofs_words(min(chance, 1.0)) == f"{tenths} of 10"


def test_a_chance_of_32_bits_is_not_cut_either():
    # To 32 bits 0.7 is 0.699999988, 0.9 is 0.899999976 and 0.29 is 0.289999992.
    chances = np.array([0.7, 0.9, 0.29], np.float32)
    assert [words.roofs_words(c) for c in chances] == ["7 of 10", "9 of 10", "2 of 10"]
    assert words.percent_words(chances[2]) == "29 %" and words.roofs_words(0.8999) == "8 of 10"


@pytest.mark.parametrize("wrong", [-0.01, 1.01, np.nan, "high"])
def test_what_is_no_chance_is_refused(wrong):
    for say in (words.roofs_words, words.percent_words, words.chance_words):
        with pytest.raises(ValueError, match="chance is"):
            say(wrong)


def test_percent_are_cut_too():
    assert words.percent_words(0.999) == "99 %"
    assert words.percent_words(0.29) == "29 %"  # 100 x 0.29 is 28.999999999999996 to a computer
    assert words.percent_words(0.005) == "0 %"


def test_the_outlook_says_the_cut_words():
    site = simulate.demo_site()
    table = survey.outlook(site, survey.Setup("wire loop", "roof mast", heading_deg=38.0))
    for row in table.itertuples():
        tenths = int(row.chance * 10 + 1e-9)
        assert row.roofs.startswith(f"{tenths} of 10" if tenths else "fewer than 1")


def test_numbers_and_counts():
    assert words.signed(-0.04, 1) == "0.0" and words.signed(-3) == "−3" and words.signed(2) == "+2"
    assert words.spare_words(-0.3, 7.6) == "0 dB to spare, give or take 8"
    assert words.spare_words(-np.inf, 8) == "overload" and words.spare_words(np.inf, 8) == "+∞ dB"
    assert words.counted(1, "reading") == "1 reading" and words.counted(0, "bar") == "0 bars"
    assert words.counted(2, "reading is", "readings are") == "2 readings are"


def test_names_in_a_row():
    assert words.listed([]) == "" and words.listed(["a"]) == "a"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed(list("abcdefgh"), 6) == "a, b, c, d, e, f and 2 more"
    assert words.numbered(range(1, 12)) == "1, 2, 3, 4, 5, 6, 7, 8 and 3 more"
    assert words.short("two\nlines") == "two lines"


def test_distances_in_both_units():
    # A mile is 1.609344 km by definition: 10 mi are 16.09 km.
    assert words.distance_words(16.09) == "16 km (10 mi)"
    assert words.distance_words(0.2) == "0 km (0 mi)"


def test_bearings():
    assert [words.compass_word(b) for b in (0, 44, 359, 180, 315)] == [
        "north",
        "north-east",
        "north",
        "south",
        "north-west",
    ]
    assert words.aimed_words("rotator", None) == "turned to each station"
    assert words.aimed_words("never", None) == "cannot be aimed: average all round"
