"""What changed between two rounds: each cause is found by its shape, and none where nothing changed."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import facts, simulate, survey

CHANNELS = ("24", "33", "17", "21", "29", "31", "9", "12", "26")


@pytest.fixture(scope="module")
def site():
    return replace(simulate.demo_site(), ladder=simulate.demo_ladder())


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
    assert seen.verdict.startswith("Likeliest: " + words)


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
    seen = told(site, np.where(site.stations["freq_mhz"] > 600, -4.0, -2.0))
    assert seen.causes["chance"].sum() == pytest.approx(1.0)
    assert seen.causes["chance"].is_monotonic_decreasing
    assert seen.reading == "" or "speaks for" in seen.reading


def test_a_new_installation_is_held_against_its_forecast(site):
    here = replace(site, readings=site.readings.iloc[:0])
    setup = survey.Setup("two-band Yagi", "roof mast", heading_deg=40.0)
    margin = np.nan_to_num(survey.reception(here, setup).margin_db)
    as_said = round_of(here, margin - 30.0)
    seen = survey.changed(here, as_said[as_said["locked"]])
    assert seen.causes["cause"].iloc[0] == "nothing has changed"


def test_the_thousand_rounds_on_record_keep_their_promises():
    table = pd.read_csv(Path(__file__).parent / "bench" / "calibration_changed.csv")
    none = table[table["cause"] == "none"]
    assert (none["false_alarm"] <= 0.10).all()
    assert (table["rounds"] >= 100).all() and set(table["loss_db"]) == {0, 3, 5}
    assert len(facts.table("causes")) == 12
