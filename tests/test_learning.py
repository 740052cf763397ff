"""Readings inform forecasts: bounds, shared unknowns, calibration on invented sites.

All sites here are invented; what is tested is whether the statements about them are true as often as
they claim.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from signalshed import meters, simulate, survey

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
    same, other = (int(np.flatnonzero(names == n)[0]) for n in ("Playbill", "Fishwharf"))
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


def test_the_order_of_readings_does_not_matter(site):
    rows = table(site, {"pad_db": 26.0}, {"pad_db": 29.0, "locked": False}, {"rf_channel": "21"})
    one, two = (survey.inform(site, r).belief.mean_db() for r in (rows, rows.iloc[::-1]))
    assert one == pytest.approx(two, abs=1e-6)


def test_next_reading_is_unread_and_near_the_edge(site):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    wanted = survey.outlook(site, setup).query("wanted").dropna(subset=["margin_db"])
    asked = survey.next_reading(site, setup)
    z = (wanted["margin_db"] / wanted["spread_db"]).abs()
    assert asked.station == wanted.loc[z.idxmin(), "station"]
    again = survey.next_reading(site, setup, table(site, {"rf_channel": asked.rf_channel}))
    assert again.rf_channel != asked.rf_channel
    everything = pd.DataFrame({"rf_channel": wanted["rf_channel"].unique()})
    assert survey.next_reading(site, setup, everything) is None


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


def taught_site(seed, count=6, mount="roof mast"):
    """Forecasts of one invented site before and after readings chosen by the rule, and its truth."""
    plain = simulate.invented_site(seed, stations=14)
    truth = simulate.truth_of(plain, seed + 5000)
    setup, _ = survey.aimed(plain, survey.Setup("two-band Yagi", mount))
    # The ladder as the lesson says: a UHF station, pads until the picture breaks.
    spare_db = np.where(plain.stations["freq_mhz"] > 400, truth.margin_db(setup), np.nan)
    strongest = plain.stations["rf_channel"][int(np.nanargmax(spare_db))]
    pads = np.maximum(np.nanmax(spare_db).round() + np.arange(-30, 9, 3.0), 0)
    site = replace(plain, ladder=simulate.ladder(truth, setup, strongest, pads, METERS))
    now, rows = site, []
    for k in range(count):
        taken = pd.concat(rows, ignore_index=True) if rows else pd.DataFrame(columns=["rf_channel"])
        asked = survey.next_reading(now, setup, taken)
        if asked is None:
            break
        plan = table(
            site,
            {
                "rf_channel": asked.rf_channel,
                "antenna": "two-band Yagi",
                "mount": mount,
                "heading_deg": setup.heading_deg,
            },
        ).drop(columns=["reading", "locked"])
        rows.append(simulate.readings(truth, plan, METERS, seed=seed * 100 + k))
        now = survey.inform(site, pd.concat(rows, ignore_index=True))
    return site, now, truth


def gathered(sites, mount="roof mast"):
    """Stacked outlooks before and after, and the true margins, of several taught sites."""
    before, after, truths = [], [], []
    for site, now, truth in sites:
        setup, _ = survey.aimed(site, survey.Setup("two-band Yagi", mount))
        before.append(survey.outlook(site, setup))
        after.append(survey.outlook(now, setup))
        truths.append(truth.margin_db(setup))
    return (
        pd.concat(before, ignore_index=True),
        pd.concat(after, ignore_index=True),
        np.concatenate(truths),
    )


def squared(outlook, truth, within_db=12):
    near = np.abs(truth) <= within_db
    return ((outlook["margin_db"] - truth) ** 2)[near].mean()


def brier(outlook, truth):
    known = ~np.isnan(truth)
    return ((outlook["chance"] - (truth > outlook["fade_db"])) ** 2)[known].mean()


@pytest.fixture(scope="module")
def roof_sites():
    return [taught_site(seed) for seed in range(60)]


def test_intervals_hold_the_truth_nine_times_in_ten(roof_sites):
    before, after, truth = gathered(roof_sites)
    known = ~np.isnan(truth)
    for outlook in (before, after):
        inside = ((truth >= outlook["low_db"]) & (truth <= outlook["high_db"]))[known].mean()
        # 60 sites in the suite, whose stations share their site's luck.
        assert 0.84 <= inside <= 0.96


def test_six_readings_halve_the_error(roof_sites):
    # Measured on these 60 sites: 0.51 and 0.49; the limits leave room for other seeds.
    before, after, truth = gathered(roof_sites)
    assert squared(after, truth) <= 0.55 * squared(before, truth)
    assert brier(after, truth) <= 0.55 * brier(before, truth)


def test_readings_from_the_attic_never_make_the_roof_worse():
    sites = [taught_site(seed, mount="attic") for seed in range(25)]
    before, after, truth = gathered(sites)
    assert squared(after, truth, 100) <= squared(before, truth, 100)
    assert brier(after, truth) <= brier(before, truth)


def test_a_reading_of_a_shared_channel_teaches_both_stations_on_it_alike(site):
    rows = table(site, {"rf_channel": "33", "locked": False})
    told = survey.outlook(
        survey.inform(site, rows), survey.Setup("bow-tie with screen", "roof mast", None, 60.0)
    ).set_index("station")
    assert told.loc["Playbill", "chance"] == told.loc["Almanac", "chance"] < 0.5
