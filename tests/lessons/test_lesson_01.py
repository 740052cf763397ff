"""What lesson 01 computes beside its panels: sizes, resonance, one dial against another."""

import pytest

from signalshed import channels, simulate
from signalshed.classroom import lesson_01


@pytest.mark.parametrize("rf_channel", ["2", "9", "36"])
def test_the_wave_is_300_over_mhz_within_a_tenth_of_a_per_cent(rf_channel):
    # By hand, with 300 for 299.792.
    freq_mhz = channels.centre_mhz(rf_channel)
    assert lesson_01.sizes(freq_mhz)["wave"] == pytest.approx(300e3 / freq_mhz, rel=1e-3)


def test_a_resonant_dipole_is_shorter_than_half_a_wave_and_more_so_of_thick_wire():
    # Handbook rule 0.95 and textbook range 0.47 to 0.48 of a wave, both unchecked: within 2 %.
    thin, thick = (
        lesson_01.resonant_share(533),
        lesson_01.resonant_share(533, "10 mm tube aluminium"),
    )
    assert thin == pytest.approx(0.95, abs=0.02)
    assert thick < thin


@pytest.mark.parametrize(("freq_mhz", "share"), [(547.6, 0.9454), (111.3, 0.9608)])
def test_the_end_effect_agrees_with_the_closed_form(freq_mhz, share):
    # Induced-EMF reactance of a sinusoidal current (Balanis, ch. 8; unchecked), zero at 0.4727
    # and 0.4804 wavelengths for length over diameter 100 and 500: 10 AWG (2.588 mm) at these
    # frequencies. Another route of our own; 0.75 % of length: that current knows no charge on the ends,
    # which a mesh of short segments there shows to shorten a thick wire a little more.
    assert lesson_01.resonant_share(freq_mhz) == pytest.approx(share, abs=0.0075)


def test_a_dipole_is_near_the_handbook_rule_in_feet():
    # 468 / MHz feet, a handbook rule as public pages quote it; it knows no thickness: within 2 %.
    for freq_mhz in (69, 189, 533):
        by_rule_mm = 468 / freq_mhz * 304.8
        found_mm = lesson_01.resonant_share(freq_mhz) * lesson_01.sizes(freq_mhz)["half_wave"]
        assert found_mm == pytest.approx(by_rule_mm, rel=0.02)


def test_one_frequency_has_other_names_elsewhere():
    # 47 CFR 73.603 and the GE06 raster 306 + 8 N: RF 24 is 530 to 536 MHz, RF 28 is 526 to 534 MHz.
    assert lesson_01.same_place(533, "us") == "RF 24"
    assert lesson_01.same_place(533, "ge06") == "RF 28"
    assert "mobile" in lesson_01.same_place(620, "us")


def test_a_channel_that_is_not_there_is_said_and_the_nearest_is_taken():
    panel = lesson_01.sizes_panel()
    panel.set(channel=50)
    assert panel.verdict.startswith("There is no RF 50 in this plan; the nearest is RF 36")


def test_the_dial_tells_sharing_from_sharing_a_channel():
    panel = lesson_01.dial_panel()
    panel.set(station="Washboard")
    assert "Almanac shares this signal" in panel.verdict
    panel.set(station="Bandstand")
    assert "Oldmarsh, elsewhere" in panel.verdict and "shares" not in panel.verdict


def test_a_station_whose_screen_name_nobody_listed_is_told_so():
    site = simulate.demo_site()
    nameless = site.stations.assign(shown_channels="")
    words = lesson_01.dial_panel(site.with_stations(nameless)).verdict
    assert "what the screen shows is not in the list" in words


def test_the_list_by_channel_holds_every_television_station_once():
    stations = simulate.demo_site().stations
    listed = ", ".join(lesson_01.by_channel(stations)["on_it"]).split(", ")
    assert sorted(listed) == sorted(stations[stations["service"] == "tv"]["station"])


def test_arms_are_half_a_wave_of_channel_5_and_a_shoe_that_of_5_1():
    # By hand: 300 / 79 / 2 is 1.90 m, 300 / 533 / 2 is 0.281 m; 47 CFR 73.603 puts RF 5 at 76 to 82 MHz.
    panel = lesson_01.arms_panel()
    before = panel.png
    assert panel.verdict == panel.asks.question and "281" not in panel.alt and "24" not in panel.alt
    panel.place(1.9)
    assert panel.png != before and panel.words.finding == (
        "5.1, Gazette: sent on RF 24, so half a wave is 281 mm, about a shoe; you said 1.9 metres."
    )
    panel.set(station="6.1, Foghorn")
    assert "sent on RF 5, so half a wave is 1897 mm, about two arms" in panel.words.finding


def test_five_dials_in_one_picture_say_where_each_ends():
    # 47 CFR 73.603: RF 14 to 36 are 470 to 608 MHz; ARIB STD-B21: 13 to 52 are 470 to 710 MHz.
    said = lesson_01.dials().alt
    assert "RF 14 to 36, 470 to 608" in said and "Japan: UHF RF 13 to 52, 470 to 710" in said
