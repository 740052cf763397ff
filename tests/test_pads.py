"""Pads by their names: splitters and cable in place of pads, switched or screwed in; each doubted."""

import numpy as np
import pandas as pd
import pytest

from signalshed import chain, meters, simulate, survey, tables
from signalshed.tables.pads import doubt_db, pad

HEAD = "meter,scale,rf_channel,pad_db,pad_how,reading,locked\n"


@pytest.mark.parametrize(
    ("text", "loss_db"),
    [("10+3", 13), ("10 dB + 3 dB", 13), ("6", 6), ("8-way", 11), ("2-way + 10", 13.5)],
)
def test_what_a_pad_is_made_of_adds_up(text, loss_db):
    # Splitters as in the facts table (an 8-way: 11 dB on each outlet), the same as in a feed.
    assert pad(text)[0] == pytest.approx(loss_db)
    assert chain.splitter(8).gain_at_db(600) == -11


def test_cable_in_place_of_a_pad_is_what_a_feed_says_at_600_mhz():
    assert pad("20 m RG6")[0] == pytest.approx(-chain.coax("series6", 20).gain_at_db(600), abs=1e-6)
    assert pad("20 m cable") == pad("20 m series6")


def test_only_what_is_no_pad_is_in_doubt():
    assert [doubt_db(text) for text in ("10+3", "6", "8-way", "nonsense")] == [0, 0, 0.5, 0]
    assert doubt_db("8-way + 2-way") == pytest.approx(np.hypot(0.5, 0.5))
    assert doubt_db("20 m series6") > 0.5


@pytest.mark.parametrize("text", ["7-way", "ten", "20 m series5", "8-way-6", "+"])
def test_what_is_no_pad_is_told_and_its_row_left_out(tmp_path, text):
    file = tmp_path / "meter.csv"
    file.write_text(HEAD + f"set,quality,24,{text},,90,yes\nset,quality,24,6,,82,yes\n")
    frame = tables.read(file, tables.METER)
    assert frame["pad_db"].tolist() == [6]
    assert any("10+3, 8-way" in note for note in frame.attrs["notes"])


def test_a_log_keeps_the_words_and_the_reader_knows_the_decibels(tmp_path):
    file = tmp_path / "readings.csv"
    row = {"mount": "roof", "antenna": "loop", "meter": "set", "scale": "quality", "rf_channel": 14}
    meters.log_reading(file, row | {"pad_db": "8-way", "reading": 70, "locked": True})
    assert meters.read_log(file)[0]["pad_db"].tolist() == ["8-way"]
    frame = tables.read(file, tables.READINGS)
    assert frame["pad_db"].tolist() == [11] and frame["pad_sd_db"].tolist() == [0.5]


def _ladder(pads, how=""):
    """Rungs of 95 less 3.5 a dB, lost at 21 dB."""
    rows = [(db, 95 - 3.5 * db, db < 21, sd) for db, sd in pads]
    table = pd.DataFrame(rows, columns=["pad_db", "reading", "locked", "pad_sd_db"])
    return table.assign(pad_how=how)


def test_a_ladder_of_splitters_is_less_sure_than_one_of_pads():
    steps = np.arange(0.0, 24.0, 3.0)
    sure, shaky = (
        meters.MeterCurve.fit(_ladder([(db, sd) for db in steps])).to_margin_db(60, True)
        for sd in (0.0, 2.0)
    )
    assert shaky.high_db - shaky.low_db > sure.high_db - sure.low_db


def test_a_picture_held_is_lost_later_than_one_found_anew():
    # A tuner holds 1 dB longer than it finds: switched pads put the zero 1 dB nearer.
    steps = [(db, 0.0) for db in np.arange(0.0, 24.0, 3.0)]
    screwed, switched = (
        meters.MeterCurve.fit(_ladder(steps, how)).to_margin_db(60, True).value_db
        for how in ("screwed in", "switched")
    )
    assert screwed - switched == pytest.approx(1.0, abs=0.35)


def test_a_switched_pad_that_held_binds_by_one_decibel_less():
    site = simulate.demo_site()
    row = {"time": "2031-05-01T20:00:00+00:00", "mount": "roof mast", "antenna": "wire loop"}
    row |= {"meter": "a set", "scale": "quality", "rf_channel": "24", "heading_deg": 38.0}
    row |= {"pad_db": 26.0, "reading": np.nan, "locked": True}
    found = [
        survey.inform(site, pd.DataFrame([row | {"pad_how": how}])).belief.observations.low_db[0]
        for how in ("screwed in", "switched")
    ]
    assert found[0] - found[1] == pytest.approx(1.0)
