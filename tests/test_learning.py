"""Readings inform forecasts: bounds, shared unknowns, calibration on invented sites.

All sites here are invented; what is tested is whether the statements about them are true as often as
they claim.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import budget, meters, simulate, survey

METERS = {"quality": meters.meter("C/N quality")}


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


def reading(site, rf_channel="24", **columns):
    usual = {
        "time": "2031-05-01T20:00:00+00:00",
        "mount": "roof mast",
        "antenna": "bow-tie with screen",
        "antenna_revision": "1",
        "meter": site.tuner.name,
        "scale": "quality",
        "rf_channel": rf_channel,
        "heading_deg": 60.0,
        "pad_db": 0.0,
        "pad_at": "set",
        "amplifier": "",
        "reading": np.nan,
        "locked": True,
        "note": "",
    }
    return usual | columns


def table(site, *rows):
    return pd.DataFrame([reading(site, **row) for row in rows])


def gazette(site, **kwargs):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    return survey.outlook(site, setup).iloc[0]


def test_pads_that_held_and_lost_pin_the_margin(site):
    # No curve at all: holds at 26 dB, lost at 29 dB, so about 27.5 dB were to spare.
    wiser = survey.inform(site, table(site, {"pad_db": 26.0}, {"pad_db": 29.0, "locked": False}))
    row = gazette(wiser)
    assert row["margin_db"] == pytest.approx(27.5, abs=2.5)
    assert row["spread_db"] < 0.6 * gazette(site)["spread_db"]


def test_a_lock_alone_is_a_bound(site):
    before = gazette(site)
    held = gazette(survey.inform(site, table(site, {"pad_db": 40.0})))
    lost = gazette(survey.inform(site, table(site, {"locked": False})))
    assert held["margin_db"] > before["margin_db"] > lost["margin_db"]
    assert lost["margin_db"] < 6


def test_stations_of_one_place_learn_from_each_other_more_than_far_ones(site):
    wiser = survey.inform(site, table(site, {"pad_db": 40.0}))
    shift = wiser.belief.mean_db()
    names = site.stations["station"]
    same, other = (int(np.flatnonzero(names == n)[0]) for n in ("Washboard", "Fishwharf"))
    assert shift[0] > shift[same] > shift[other] > 0


def test_rows_that_cannot_be_used_are_named_and_all_others_used(site):
    rows = table(
        site, {"pad_db": 40.0}, {"antenna": "nobody's"}, {"rf_channel": "36"}, {"mount": "moon"}
    )
    wiser = survey.inform(site, rows)
    text = " ".join(wiser.notes)
    assert "Reading 2 is left out" in text and "nobody's" in text
    assert "Reading 3 is left out" in text and "RF 36" in text
    assert "Reading 4 is left out" in text and "moon" in text
    assert wiser.belief.mean_db()[0] > 3


def test_a_reading_off_its_scale_is_named_and_counts_as_a_picture(site):
    wiser = survey.inform(site, table(site, {"reading": 182.0}, {"reading": 60.0}))
    (note,) = (note for note in wiser.notes if "off the scale" in note)
    assert "182" in note and "only as a picture" in note
    assert wiser.belief.observations.station.size == 2


def test_without_usable_readings_nothing_is_believed(site):
    assert survey.inform(site, table(site)[:0]).belief is None
    assert survey.inform(site, table(site, {"antenna": "nobody's"})).belief is None


def test_readings_in_the_attic_keep_the_doubt_about_its_walls_apart(site):
    rows = table(
        site,
        {"mount": "attic", "pad_db": 26.0},
        {"mount": "attic", "pad_db": 29.0, "locked": False},
    )
    wiser = survey.inform(site, rows)
    assert "mount attic" in wiser.belief.groups()
    # The attic pins the roof less than a reading on the roof itself would.
    on_roof = survey.inform(site, rows.assign(mount="roof mast"))
    assert gazette(wiser)["spread_db"] > gazette(on_roof)["spread_db"]


def test_a_ladder_that_never_lost_lock_teaches_differences_only(site):
    # A whole ladder, and the same without the rungs on which the picture was lost.
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    truth = simulate.truth_of(site, 1, ())
    whole = simulate.with_ladder(truth, setup)
    cut = replace(whole, ladder=whole.ladder[whole.ladder["locked"]])
    rows = table(site, {"reading": 80.0}, {"rf_channel": "9", "reading": 60.0})
    knows, guesses = (survey.inform(one, rows).belief for one in (whole, cut))
    zero = f"zero of {site.tuner.name}, quality"
    assert zero in guesses.groups() and zero not in knows.groups()
    names = list(site.stations["rf_channel"])
    pair = [names.index(channel) for channel in ("24", "9")]
    for of in (np.mean, np.std):  # draws of the difference: as with the zero known, but for chance
        drawn = [
            of(np.diff(b.offsets(count=20_000, rng=np.random.default_rng(0))[:, pair]))
            for b in (knows, guesses)
        ]
        assert drawn[1] == pytest.approx(drawn[0], abs=0.5)
    # Of the level itself the zero's 20 dB leave little to learn.
    before, guessed, known = (
        b.sd_db()[pair[0]] for b in (budget.prior(site, site.mount("roof mast")), guesses, knows)
    )
    assert guessed > 0.85 * before and known < 0.65 * before


def test_the_order_of_readings_does_not_matter(site):
    rows = table(site, {"pad_db": 26.0}, {"pad_db": 29.0, "locked": False}, {"rf_channel": "21"})
    one, two = (survey.inform(site, r).belief.mean_db() for r in (rows, rows.iloc[::-1]))
    assert one == pytest.approx(two, abs=1e-6)


def test_next_reading_is_unread_and_near_the_edge(site):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    wanted = survey.outlook(site, setup).query("wanted").dropna(subset=["margin_db"])
    asked = survey.next_reading(site, setup)
    # The edge of being received is where the chance is one half.
    assert asked.station == wanted.loc[(wanted["chance"] - 0.5).abs().idxmin(), "station"]
    again = survey.next_reading(site, setup, table(site, {"rf_channel": asked.rf_channel}))
    assert again.rf_channel != asked.rf_channel
    everything = pd.DataFrame({"rf_channel": wanted["rf_channel"].unique()})
    assert survey.next_reading(site, setup, everything) is None


def test_the_pad_proposed_brings_a_strong_station_to_the_middle_of_the_meter(site):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    all_but = site.stations[site.stations["station"] != "Gazette"]
    asked = survey.next_reading(site, setup, pd.DataFrame({"rf_channel": all_but["rf_channel"]}))
    full = survey.curve_of(site, site.tuner.name, "quality").full_at_db()
    assert asked.station == "Gazette" and asked.margin_db > full
    pads = np.arange(0.0, 60.0)
    fine = survey.next_reading(
        site, setup, pd.DataFrame({"rf_channel": all_but["rf_channel"]}), pads
    )
    assert asked.margin_db - fine.pad_db == pytest.approx(full / 2, abs=0.51)
    weak = survey.next_reading(site, setup)
    assert weak.margin_db < full / 2 and weak.pad_db == 0


def test_score_of_a_sure_forecast(site):
    rows = table(site, {"rf_channel": "24"}, {"rf_channel": "27", "locked": False})
    result = survey.score(site, rows)
    assert result.table["locked"].tolist() == [True, False]
    assert result.brier == pytest.approx(
        np.mean((result.table["chance"] - result.table["locked"]) ** 2)
    )
    assert result.calibration["count"].sum() == 2


def log_of(site, levels, headings=range(0, 360, 30)):
    rows = [{"heading_deg": float(h), "reading": v} for h, v in zip(headings, levels, strict=True)]
    return table(site, *rows)


def test_a_rotation_log_finds_the_bearing_the_reflection_and_nothing(site):
    headings = np.arange(0, 360, 30)
    ladder = simulate.ladder(
        simulate.truth_of(site, 11),
        survey.Setup("long Yagi", "roof mast", heading_deg=38.0),
        "24",
        np.arange(0, 46, 3.0),
        METERS,
    )
    site = replace(site, ladder=ladder)
    for peak, words in ((38, "as the bearing"), (200, "reflection")):
        off = np.abs((headings - peak + 180) % 360 - 180)
        seen = METERS["quality"].smooth(np.maximum(16 - (off / 12.0) ** 2, 2))
        found = survey.turned(site, log_of(site, seen), "24")
        assert words in found.verdict
        assert abs((found.peak_deg - peak + 180) % 360 - 180) <= 15
    flat = survey.turned(site, log_of(site, [60.0] * 12), "24")
    assert "nothing was learned" in flat.verdict
    mixed = log_of(site, seen).assign(pad_db=[0.0, 10.0] * 6)
    with pytest.raises(ValueError, match="one turn of one antenna; pad_db is 0"):
        survey.turned(site, mixed, "24")


# ---- calibration ------------------------------------------------------------------------------
# By the thousand, with the standard errors: tests/bench/calibrate_inform.py and its table.


def judged(seed, **kind):
    """One invented roof: the two-band Yagi on the mast, forecast before and after readings."""
    roof = simulate.taught_roof(seed, antenna="two-band Yagi", **kind)
    setup, _ = survey.aimed(roof.before, survey.Setup("two-band Yagi", "roof mast"))
    return roof.judged(setup)


@pytest.fixture(scope="module")
def roofs():
    return [judged(seed) for seed in range(200)]


def test_intervals_hold_the_truth_nine_times_in_ten(roofs):
    # Fails if readings taken at one heading are believed too much, or a bound is taken for a value.
    found = simulate.brought(roofs)
    assert 0.84 <= found["held_before"] <= 0.96
    assert 0.84 <= found["held_after"] <= 0.96


def test_six_readings_bring_error_and_brier_score_below_half(roofs):
    # Within 12 dB of the edge; the Brier score of all stations.
    found = simulate.brought(roofs)
    assert found["squared_error_ratio"] <= 0.45
    assert found["brier_ratio"] <= 0.5


def test_the_rule_reads_better_than_the_strongest_stations_first(roofs, monkeypatch):
    usual = survey.next_reading

    def strongest(site, setup, readings):
        margin, _, _, _ = survey.at_heading(site, setup)
        left = ~site.stations["rf_channel"].isin(readings["rf_channel"]) & np.isfinite(margin)
        row = site.stations.iloc[int(np.where(left, margin, -np.inf).argmax())]
        asked = usual(site, setup, readings)
        return replace(asked, rf_channel=row["rf_channel"], pad_db=0.0)

    monkeypatch.setattr(survey, "next_reading", strongest)
    other = simulate.brought([judged(seed) for seed in range(25)])
    ours = simulate.brought(roofs[:25])
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


def test_readings_from_the_attic_never_make_the_roof_worse():
    tables = [judged(seed, mount="attic") for seed in range(25)]
    for within_db in (12.0, np.inf):
        found = simulate.brought(tables, within_db)
        assert found["squared_error_ratio"] <= 1
    assert found["brier_ratio"] <= 1
    assert 0.8 <= found["held_after"] <= 1


def test_the_forecast_of_what_was_read_is_surer_than_path_and_antenna_apart(site):
    # Held at 26 dB, lost at 29: through this antenna 26 to 29 dB were to spare, whatever the path.
    rows = table(site, {"pad_db": 26.0}, {"pad_db": 29.0, "locked": False})
    wiser = survey.inform(site, rows)
    antenna = site.antenna("bow-tie with screen")
    apart = np.hypot(wiser.belief.sd_db()[0], budget.antenna_taught(wiser, antenna)[1][0])
    assert gazette(wiser)["spread_db"] < apart
    # Another antenna learns of the path alone, and keeps its own doubt.
    other = survey.outlook(wiser, survey.Setup("wire loop", "roof mast", heading_deg=60.0)).iloc[0]
    own = budget.antenna_taught(wiser, site.antenna("wire loop"))[1][0]
    assert other["spread_db"] == pytest.approx(np.hypot(wiser.belief.sd_db()[0], own))


def test_a_reading_of_a_shared_channel_teaches_both_stations_on_it_alike(site):
    rows = table(site, {"rf_channel": "33", "locked": False})
    told = survey.outlook(
        survey.inform(site, rows), survey.Setup("bow-tie with screen", "roof mast", None, 60.0)
    ).set_index("station")
    assert told.loc["Washboard", "chance"] == told.loc["Almanac", "chance"] < 0.5
