"""What changed between two rounds: each cause is found by its shape, and none where nothing changed."""

from dataclasses import replace
from pathlib import Path

import demo_evenings
import numpy as np
import pandas as pd
import pytest

from signalshed import facts, plots, simulate, survey

CHANNELS = ("24", "33", "17", "21", "29", "31", "9", "12", "26")


@pytest.fixture(scope="module")
def site():
    return replace(simulate.demo_site(), ladder=demo_evenings.ladder_rows())


def round_of(site, moved_db, noise=(), pad_db=10.0):
    """Readings in dB of C/N, each the level of a round plus what a fault took, behind one pad."""
    at = [site.stations["rf_channel"].tolist().index(channel) for channel in CHANNELS]
    level = 30.0 + np.asarray(moved_db)[at] + (noise if len(noise) else 0.0) - pad_db
    return pd.DataFrame({
        "time": "2031-05-01T20:00:00+00:00", "mount": "roof mast", "antenna": "two-band Yagi",
        "antenna_revision": "1", "meter": "living room", "scale": "cn_db", "rf_channel": CHANNELS,
        "heading_deg": 40.0, "pad_db": pad_db, "reading": np.round(15.2 + level, 1), "locked": level > 0,
    })  # fmt: skip


def told(site, moved_db, noise=()):
    first = replace(site, readings=round_of(site, np.zeros(len(site.stations))))
    return survey.changed(first, round_of(site, moved_db, noise))


def test_nothing_changed_is_said(site):
    seen = told(site, np.zeros(len(site.stations)))
    assert (
        seen.causes["cause"].iloc[0] == "nothing has changed"
        and seen.causes["chance"].iloc[0] > 0.6
    )
    assert seen.differences["change_db"].abs().max() < 0.2
    assert "Likeliest: nothing has changed" in repr(seen)


def test_a_small_fall_of_one_station_is_said_to_be_within_its_scatter(site):
    """3 dB on RF 21 alone: no cause is named, and the note says what would have shown.

    The worst of nine normal strays is beyond 2.54 sds in one of twenty rounds (tables of the normal
    curve, 0.05 / 9 on one side); the 90 % ends of a difference are 1.645 sds off.
    """
    noise = 0.7 * np.random.default_rng(1).standard_normal(len(CHANNELS))
    seen = told(site, np.where(site.stations["rf_channel"] == "21", -3.0, 0.0), noise)
    assert seen.causes["cause"].iloc[0] == "nothing has changed"
    off = (seen.differences["high_db"] - seen.differences["change_db"]).median()
    hidden = 2.54 * off / 1.645
    assert hidden > 3 and f"fell by less than {hidden:.0f} dB would not show" in seen.notes[0]
    loud = told(site, np.where(site.stations["rf_channel"] == "21", -12.0, 0.0), noise)
    assert not any("would not show" in note for note in loud.notes)


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (lambda s: -8.0 + 0 * s["freq_mhz"], "a plug"),
        (lambda s: np.where(s["freq_mhz"] < 300, -9.0, 0.0), "noise at VHF"),
        (lambda s: np.where(s["rf_channel"] == "21", -12.0, 0.0), "one station itself"),
    ],
    ids=["plug", "VHF noise", "one station"],
)
def test_a_fault_of_one_shape_is_named_first(site, fault, words):
    noise = 0.7 * np.random.default_rng(1).standard_normal(len(CHANNELS))
    seen = told(site, np.asarray(fault(site.stations), float), noise)
    assert words in seen.causes["cause"].iloc[0]
    assert (
        seen.verdict.startswith("Likeliest: " + words) or "between antenna and TV" in seen.verdict
    )


def test_an_antenna_that_turned_is_among_the_first_two(site):
    """Forty-five degrees off: by its own pattern."""
    antenna, mount, _ = survey.parts_of(site, survey.Setup("two-band Yagi", "roof mast"))
    from signalshed import budget

    gain = budget.gain_toward_dbd(site, antenna, mount, np.array([40.0, 85.0]))
    seen = told(site, np.nan_to_num(gain[1] - gain[0]))
    assert any("turned" in cause for cause in seen.causes["cause"].iloc[:2])


def test_a_picture_lost_behind_its_pad_counts_as_an_end(site):
    moved = np.full(len(site.stations), -25.0)
    seen = told(site, moved)
    assert (
        np.isinf(seen.differences["low_db"]).all() and (seen.differences["change_db"] < -15).all()
    )
    assert seen.causes["cause"].iloc[0] != "nothing has changed"


def test_the_odds_are_a_whole_and_the_reading_parts_the_two_likeliest(site):
    seen = told(site, np.where(site.stations["freq_mhz"] > 300, -7.0, -4.0))
    assert seen.causes["chance"].sum() == pytest.approx(1.0)
    assert seen.causes["chance"].is_monotonic_decreasing
    assert "speaks for" in seen.reading or "Where else it shows" in seen.reading


def test_a_channel_read_four_times_is_surer_by_the_root_of_four(site):
    """Of the noise's square a quarter is left after four readings, a sixteenth after sixteen."""
    first = replace(site, readings=round_of(site, np.zeros(len(site.stations))))

    def square(times):
        again = pd.concat([round_of(site, np.full(len(site.stations), -4.0))] * times)
        low = survey.changed(first, again).differences
        return (low["high_db"] - low["low_db"]).to_numpy() ** 2

    once, four, sixteen = square(1), square(4), square(16)
    assert (once > four + 1e-6).all()
    np.testing.assert_allclose((once - four) / (four - sixteen), (3 / 4) / (3 / 16), rtol=1e-6)


def test_a_new_installation_is_held_against_its_forecast(site):
    here = replace(site, readings=site.readings.iloc[:0])
    setup = survey.Setup("two-band Yagi", "roof mast", heading_deg=40.0)
    margin = np.nan_to_num(survey.reception(here, setup).margin_db)
    as_said = round_of(here, margin - 30.0)
    seen = survey.changed(here, as_said[as_said["locked"]])
    assert abs(seen.differences["change_db"].median()) < 0.1  # behind a pad, as all of the round
    assert seen.causes["cause"].iloc[0] == "nothing has changed"


def test_the_thousand_rounds_on_record_keep_their_promises():
    table = pd.read_csv(Path(__file__).parent / "bench" / "calibration_changed.csv")
    assert (table["wrong_and_sure"] <= 0.10).all()  # with nothing changed that is the false alarm
    large = table[table["loss_db"] == 5].set_index("cause")
    assert (large["wrong_and_sure"] <= 0.06).all() and (large["where_wrong"] <= 0.06).all()
    named = large["first"] + large["second"]
    assert named.drop("one station").min() >= 0.5 and named.median() >= 0.85
    assert (table["rounds"] >= 100).all() and set(table["loss_db"]) == {0, 3, 5}
    assert len(facts.table("causes")) == 12


def test_a_heading_is_a_number_however_it_was_read(site):
    """A round read by pandas has 40, one by the site 40.0: both are the same aim."""
    first = replace(site, readings=round_of(site, np.zeros(len(site.stations))))
    second = round_of(site, np.full(len(site.stations), -8.0))
    for typed in (40, "40", 400):
        seen = survey.changed(first, second.assign(heading_deg=typed))
        assert len(seen.differences) == len(CHANNELS)


def test_one_station_is_never_called_noise_at_vhf_for_sure(site):
    """Its only VHF channel is down: that may be the band, or the station."""
    only = round_of(site, np.zeros(len(site.stations)))
    only = only[~only["rf_channel"].isin(["12"])]
    first = replace(site, readings=only)
    down = only.assign(reading=only["reading"] - np.where(only["rf_channel"] == "9", 9.0, 0.0))
    assert "annot tell" in survey.changed(first, down).verdict


def test_what_no_reading_could_show_is_said(site):
    """Without a VHF channel there is nothing to be said of noise there; it takes no odds either."""
    uhf = round_of(site, np.zeros(len(site.stations)))
    uhf = uhf[~uhf["rf_channel"].isin(["9", "12"])]
    seen = survey.changed(replace(site, readings=uhf), uhf)
    assert seen.notes[-1] == "These readings cannot show: noise at VHF."
    assert "noise at VHF" not in set(seen.causes["cause"])


def test_three_stations_name_no_cause(site):
    few = round_of(site, np.zeros(len(site.stations))).head(3)
    first, second = replace(site, readings=few), few.assign(reading=few["reading"] - 9.0)
    assert "cannot tell what" in survey.changed(first, second).verdict.lower()


def test_a_slip_of_the_pen_in_a_quiet_round_is_asked_again(site):
    moved = np.where(site.stations["rf_channel"] == "33", -9.0, 0.0)
    seen = told(site, moved)
    assert "slip of the pen" in seen.causes["cause"].iloc[0]
    assert "Washboard" in seen.reading or "Almanac" in seen.reading


def test_a_picture_of_changes_names_nobody_in_type_and_says_what_it_shows(site):
    found = told(site, np.full(len(site.stations), -25.0))
    named = replace(found, differences=found.differences.assign(station="A$_1$ \\_x"))
    alt = plots.changes(named).alt
    assert alt.startswith("Change between two rounds. A$_1$ \\_x at most −")
    figure = plots.style.new_figure()
    picture = plots.ChangePicture(figure.subplots(1, 2))
    picture.update(found, cause=False)
    lines = {line.get_marker(): len(line.get_xdata()) for line in picture.artists[:5]}
    assert lines == {"_": 0, "None": 0, "o": 0, "^": 0, "v": len(CHANNELS)}
