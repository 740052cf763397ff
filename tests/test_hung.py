"""Is it hung right: stations that must hold a pad and one that must not, by numbers worked by hand."""

import pytest
from hand import flat, site_with

from signalshed import simulate, survey
from signalshed.survey import Setup, hung_right, hung_words

# 10 dB of doubt: 8 of 10 roofs from 8.4 dB to spare on, 2 of 10 up to -8.4 (normal table: z = 0.842).
SPARE_DB = [31.0, 25.0, 18.6, 18.2, 3.0, 1.0, -4.0]


def _site(**more):
    numbers = [f"{14 + 4 * k}" for k in range(len(SPARE_DB))]
    shown = ["9.1 9.2", *[""] * (len(SPARE_DB) - 1)]
    columns = {"rf_channel": numbers, "shown_channels": shown} | more
    return site_with(SPARE_DB, antennas=(flat(),), **columns)


def test_three_that_must_hold_a_pad_of_ten_and_one_that_must_not():
    table = hung_right(_site(), Setup("flat", "mast", heading_deg=0.0))
    # With 10 dB less: 21, 15, 8.6 hold on 8 of 10; 8.2 does not; of -7, -9, -14 only the last two are
    # sure to break, and of these the one with 1 dB to spare is likeliest without the pad.
    assert table["station"].tolist() == ["s2", "s1", "s0", "s5"]
    assert table["must"].tolist() == ["hold", "hold", "hold", "break"]
    assert table["chance_padded"].tolist() == pytest.approx([0.805, 0.933, 0.982, 0.184], abs=0.003)
    said = hung_words(table)
    assert (
        "3 must still show a picture: s2 (RF 22), s1 (RF 18), 9.1 s0; s5 (RF 34) must not." in said
    )


def test_stations_of_one_channel_are_asked_once():
    table = hung_right(_site(rf_channel="20"), Setup("flat", "mast", heading_deg=0.0))
    assert len(table[table["must"] == "hold"]) <= 1


def test_where_nothing_is_sure_it_says_so():
    site = simulate.demo_site("camper")
    table = hung_right(site, survey.Setup("crossed dipoles", "camper roof"), pad_db=30)
    assert "hold" not in set(table["must"])
    assert hung_words(table, 30) == (
        "No station is so sure here that a pad of 30 dB would tell anything."
    )
    with pytest.raises(ValueError, match="pad_db is 0"):
        hung_right(site, survey.Setup("crossed dipoles", "camper roof"), pad_db=0)
