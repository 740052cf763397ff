"""Do forecasts hold the truth before and after readings? Invented roofs, whose truth is known.

A file of its own, so that it runs beside the others; a hundred behind the slow mark, by the thousand:
tests/bench/calibrate_inform.py and its table, which is held to its promises here.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import simulate, survey


def judged(seed, **kind):
    """One invented roof: the two-band Yagi on the mast, forecast before and after readings."""
    roof = simulate.taught_roof(seed, antenna="two-band Yagi", **kind)
    setup, _ = survey.aimed(roof.before, survey.Setup("two-band Yagi", "roof mast"))
    return roof.judged(setup)


@pytest.fixture(scope="module", params=[40, pytest.param(100, marks=pytest.mark.slow)])
def roofs(request):
    return [judged(seed) for seed in range(request.param)]


def test_intervals_hold_the_truth_nine_times_in_ten(roofs):
    # Fails if readings taken at one heading are believed too much, or a bound is taken for a value.
    found = simulate.brought(roofs)
    assert 0.84 <= found["held_before"] <= 0.96
    assert 0.84 <= found["held_after"] <= 0.96


def test_six_readings_bring_error_and_brier_score_below_half(roofs):
    # Within 12 dB of the edge; the Brier score of all stations.
    found = simulate.brought(roofs)
    assert found["squared_error_ratio"] <= 0.48
    assert found["brier_ratio"] <= 0.5


@pytest.mark.slow
def test_the_rule_reads_better_than_the_strongest_stations_first(monkeypatch):
    ours = simulate.brought([judged(seed) for seed in range(25)])
    usual = survey.next_reading

    def strongest(site, setup, readings):
        margin = survey.reception(site, setup).margin_db
        left = ~site.stations["rf_channel"].isin(readings["rf_channel"]) & np.isfinite(margin)
        row = site.stations.iloc[int(np.where(left, margin, -np.inf).argmax())]
        asked = usual(site, setup, readings)
        return replace(asked, rf_channel=row["rf_channel"], pad_db=0.0)

    monkeypatch.setattr(survey, "next_reading", strongest)
    other = simulate.brought([judged(seed) for seed in range(25)])
    # In decibels too, but 25 roofs are too few to show it: the thousand below do.
    assert ours["brier_after"] < 0.7 * other["brier_after"]


def test_the_thousand_roofs_on_record_keep_their_promises():
    table = pd.read_csv(
        Path(__file__).parent / "bench" / "calibration_inform.csv", index_col="kind"
    )
    six, strongest = (
        table.loc[f"six {which}"]
        for which in ("readings on the mast", "on the mast, the strongest first")
    )
    assert (table["roofs"] >= 1000).all()
    # A forecast doubts its patterns off the aim, and invented roofs have the very pattern that is
    # drawn: so it holds a little more than 90 %. Without that doubt it is held to 87 to 93 %.
    assert table["held_after"].between(0.87, 0.94).all()
    assert 0.87 < table.loc["twelve on the mast, patterns as drawn", "held_after"] < 0.93
    assert six["near_ratio"] <= 0.45 and six["brier_ratio"] <= 0.5
    better = strongest["near_ratio"] - six["near_ratio"]
    assert better > 3 * np.hypot(six["near_error"], strongest["near_error"])


@pytest.mark.slow
def test_readings_from_the_attic_never_make_the_roof_worse():
    tables = [judged(seed, mount="attic") for seed in range(25)]
    for within_db in (12.0, np.inf):
        found = simulate.brought(tables, within_db)
        assert found["squared_error_ratio"] <= 1
    assert found["brier_ratio"] <= 1
    assert 0.8 <= found["held_after"] <= 1
