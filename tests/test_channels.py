"""Channel plans against the rules that define them."""

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signalshed import channels, facts
from signalshed.classroom.forms.fields import asked
from signalshed.classroom.lesson_01.numbers import REGIONS as IN_WORDS
from signalshed.registers.vocabulary import words
from signalshed.tables import TABLES


@pytest.mark.parametrize(
    ("rf_channel", "low_mhz"),
    # 47 CFR 73.603(a): lower edges; every channel is 6 MHz wide.
    [(2, 54), (3, 60), (4, 66), (5, 76), (6, 82), (7, 174), (13, 210), (14, 470), (36, 602)],
)
def test_us_edges(rf_channel, low_mhz):
    row = channels.plan("us").loc[str(rf_channel)]
    assert (row.low_mhz, row.high_mhz) == (low_mhz, low_mhz + 6)


def test_us_plan_follows_the_rule_throughout():
    # 47 CFR 73.603(a): 174 + 6 (N - 7) and 470 + 6 (N - 14) MHz; the table ends at 36.
    high = np.arange(7, 14)
    ultra = np.arange(14, 37)
    assert channels.centre_mhz(high) == pytest.approx(177 + 6 * (high - 7))
    assert channels.centre_mhz(ultra) == pytest.approx(473 + 6 * (ultra - 14))
    assert channels.plan().index.tolist() == [str(n) for n in range(2, 37)]


@pytest.mark.parametrize(
    ("region", "rf_channel", "centre_mhz"),
    [
        # GE06 raster: 142.5 + 7 N and 306 + 8 N MHz, checked against public DVB-T scan tables.
        ("ge06", 5, 177.5),
        ("ge06", 12, 226.5),
        ("ge06", 21, 474),
        ("ge06", 48, 690),
        # Australia, public DVB-T scan tables: 9A shifts what follows; UHF 333.5 + 7 N MHz.
        ("au", 6, 177.5),
        ("au", 9, 198.5),
        ("au", "9A", 205.5),
        ("au", 10, 212.5),
        ("au", 12, 226.5),
        ("au", 28, 529.5),
        ("au", 51, 690.5),
        # Japan, ARIB STD-B21: 473 + 1/7 + 6 (N - 13) MHz.
        ("jp", 13, 473 + 1 / 7),
        ("jp", 52, 707 + 1 / 7),
        # Brazil, public ISDB-T scan tables: 473 + 1/7 + 6 (N - 14) MHz, 37 left out.
        ("br", 14, 473 + 1 / 7),
        ("br", 35, 599 + 1 / 7),
        ("br", 36, 605 + 1 / 7),
        ("br", 38, 617 + 1 / 7),
    ],
)
def test_centres_elsewhere(region, rf_channel, centre_mhz):
    assert channels.centre_mhz(rf_channel, region) == pytest.approx(centre_mhz, abs=1e-6)


@pytest.mark.parametrize(
    ("region", "rf_channel", "low_mhz", "high_mhz"),
    [("au", "28", 526, 533), ("au", "51", 687, 694), ("ge06", "48", 686, 694)],
)
def test_edges_elsewhere(region, rf_channel, low_mhz, high_mhz):
    # Australian UHF limits 526 to 694 MHz; Decision (EU) 2017/899 leaves television 470 to 694 MHz.
    row = channels.plan(region).loc[rf_channel]
    assert (row.low_mhz, row.high_mhz) == (low_mhz, high_mhz)


def test_one_number_is_not_one_frequency_everywhere():
    # Channel 10 in Australia lies where GE06 has it, channel 9 does not.
    assert channels.centre_mhz(10, "au") == channels.centre_mhz(10, "ge06")
    assert channels.centre_mhz(9, "au") != channels.centre_mhz(9, "ge06")


@pytest.mark.parametrize("region", channels.REGIONS)
def test_no_plan_overlaps_itself(region):
    table = channels.plan(region)
    assert table.index.is_unique
    assert (np.diff(table.centre_mhz) > 0).all()
    assert (table.low_mhz.to_numpy()[1:] >= table.high_mhz.to_numpy()[:-1] - 1e-9).all()
    assert (table.wavelength_m * table.centre_mhz).tolist() == pytest.approx(
        [299.792458] * len(table)
    )


@pytest.mark.parametrize("region", channels.REGIONS)
def test_neighbours_stay_out_of_the_television_bands(region):
    near, table = channels.neighbours(region), channels.plan(region)
    assert set(near.service) == {"fm", "mobile"}
    for row in near.itertuples():
        overlap = (table.low_mhz < row.high_mhz) & (table.high_mhz > row.low_mhz)
        assert not overlap.any(), f"{row.label} overlaps {list(table.index[overlap])}"


def test_us_mobile_neighbours():
    # US incentive auction: 617 to 652 MHz from masts, 663 to 698 MHz from handsets.
    near = channels.neighbours("us")
    edges = set(zip(near.low_mhz, near.high_mhz, strict=True))
    assert {(617, 652), (663, 698)} <= edges


def test_bands():
    assert channels.band_of([2, 6, 7, 13, 14, 36]).tolist() == (
        ["low VHF"] * 2 + ["high VHF"] * 2 + ["UHF"] * 2
    )
    assert channels.band_of(2) == "low VHF"


@given(st.sampled_from(channels.plan("au").index.tolist()))
def test_every_way_to_write_a_channel_means_the_same(rf_channel):
    centre = channels.plan("au").centre_mhz[rf_channel]
    for text in (rf_channel, f" {rf_channel.lower()} ", f"RF {rf_channel}", f"0{rf_channel}"):
        assert channels.centre_mhz(text, "au") == centre


def test_numbers_of_every_kind():
    for nine in (9, 9.0, np.int64(9), np.float64(9), "9", "09", "9.0"):
        assert channels.name(nine) == "9"


def test_tables_of_channels_keep_their_shape():
    assert channels.centre_mhz([[2, 3], ["7", "14"]]).shape == (2, 2)
    assert channels.centre_mhz(pd.Series(["9", "14"])).tolist() == [189, 473]
    assert isinstance(channels.centre_mhz(9), float)


def test_what_touches_what():
    assert channels.adjacent(5) == ("6",)
    assert channels.adjacent("9A", "au") == ("9", "10")
    assert channels.adjacent(36, "br") == ("35",)


def test_a_plan_handed_out_may_be_changed_without_harm():
    mine = channels.plan("us")
    mine.loc["9", "centre_mhz"] = 0
    assert channels.centre_mhz(9) == 189


@pytest.mark.parametrize(
    ("rf_channel", "region", "says"),
    [
        (37, "us", "reserved for radio astronomy"),
        (51, "us", "mobile telephones"),
        (1, "us", "2 to 4, 5 to 6, 7 to 13, 14 to 36"),
        (37, "br", "not used for television"),
        ("9A", "us", "9A is no television channel"),
        ("9.1", "us", "what the screen shows"),
        ("9-1", "us", "what the screen shows"),
        ("nine", "us", "'nine'"),
        (-9, "us", "-9"),
        (float("nan"), "us", "nan"),
        (None, "us", "None"),
        ("", "us", "''"),
        (9, "mars", "us, ge06, au, jp, br"),
    ],
)
def test_what_is_no_channel_is_named(rf_channel, region, says):
    with pytest.raises(ValueError, match=says):
        channels.centre_mhz(rf_channel, region)


def test_gaps_are_no_channels():
    for gap in facts.table("channel_gaps").itertuples():
        here = channels.plan(gap.region).index
        assert not {str(n) for n in range(gap.first, gap.last + 1)} & set(here)


@pytest.mark.parametrize("region", channels.REGIONS)
def test_a_region_is_known_wherever_one_is_told_or_chosen(region):
    # A rule of the house: a plan alone leaves forms, lessons and lists without a standard behind.
    form = asked("roof", dict.fromkeys(("height", "bearing"), float))["region"].widget.options
    said = {
        "facts/usual_standards.csv, or words.csv of registers (usual)": {
            *facts.table("usual_standards")["region"],
            *words("usual"),
        },
        "tables/columns.csv (meaning)": set(
            re.findall(r"\w+", TABLES["site"].column("region").meaning)
        ),
        "classroom/forms/questions.csv": {meaning for _, meaning in form},
        "classroom/lesson_01/numbers.py (REGIONS)": set(IN_WORDS),
    }
    missing = [place for place, regions in said.items() if region not in regions]
    assert not missing, f"region {region} is missing in {'; '.join(missing)}"
