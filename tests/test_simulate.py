"""Invented sites: made again from their seed they are the same, and truth stays what it was."""

import importlib.util
import re
import zlib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from signalshed import (
    advice,
    budget,
    chain,
    channels,
    earth,
    meters,
    simulate,
    survey,
    trials,
)
from signalshed.simulate import terrain, truths
from signalshed.site import open_site

REPO = Path(__file__).resolve().parents[1]
SETUP = survey.Setup("double loop with screen", "roof mast", heading_deg=38.0)


# ---- land ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def land():
    return simulate.land()


def test_land_is_an_island_of_hills(land):
    assert land.shape == (1201, 2401) and land.dtype == np.int16
    assert land.min() == 0 and 300 < land.max() < 600
    assert 0.15 < (land == 0).mean() < 0.4, "sea"
    frame = np.concatenate([land[0], land[-1], land[:, 0], land[:, -1]])
    assert frame.max() == 0, "the sea closes round the land before the map ends"


def test_land_is_smooth_enough_to_be_ground(land):
    # steepest slope of real hills rarely passes 45 degrees; a cell is 92.7 m north to south
    assert np.abs(np.diff(land.astype(int), axis=0)).max() < 92


def test_land_is_the_same_again_and_another_from_another_seed():
    small = {"cells": 40}
    again = terrain.land.__wrapped__(**small)
    assert np.array_equal(simulate.land(**small), again)
    assert not np.array_equal(terrain.land.__wrapped__(seed=21, **small), again)


def test_spline_weights_sum_to_one_and_follow_a_straight_line():
    # Cubic B-splines (de Boor): a partition of unity that reproduces linear functions.
    x = np.linspace(0.0, 10.0, 57)
    weights = terrain._spline(x, 2.5)
    assert weights.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    knots = 2.5 * (np.arange(weights.shape[1]) - 1)
    assert weights @ knots == pytest.approx(x, abs=1e-12)


# ---- invented sites -----------------------------------------------------------------------------


def test_demo_site_begins_as_the_examples_expect():
    site = simulate.demo_site()
    first = site.stations.iloc[0]
    assert next(iter(site.mounts.values())) is site.mount("roof mast")
    assert site.mount("roof mast").kind == "mast"
    assert first["standard"] == "ATSC1"
    assert budget.needs_cn_db(site, site.mount("roof mast"))[0] == 15.2
    assert {"roof mast", "attic", "bench window"} <= set(site.mounts)
    assert len(site.antennas) >= 8


def test_an_unknown_demo_site_is_named():
    with pytest.raises(ValueError, match="hill_house"):
        simulate.demo_site("castle")


@pytest.mark.parametrize("count", [1, 2, 10, 60])
def test_invented_sites_hold_what_was_asked(count):
    site = simulate.invented_site(5, stations=count)
    assert len(site.stations) == count and site.stations["station"].is_unique
    assert set(site.stations["rf_channel"]) <= set(channels.plan("us").index)
    assert site.stations["distance_km"].between(1, 120).all()
    again = simulate.invented_site(5, stations=count)
    pd.testing.assert_frame_equal(site.stations, again.stations)


def test_invented_sites_are_worth_ranking():
    chances = []
    for seed in range(4):
        site = simulate.invented_site(seed, stations=12)
        chances.append(survey.outlook(site, SETUP)["chance"].to_numpy())
    chances = np.concatenate(chances)
    assert ((chances > 0.05) & (chances < 0.95)).mean() > 0.15, "some are open"
    assert (chances > 0.95).any() and (chances < 0.05).any()


# ---- truth --------------------------------------------------------------------------------------


def test_truth_belongs_to_names_not_to_order():
    site = simulate.demo_site()
    here = simulate.truth_of(site, 3)
    fewer = simulate.truth_of(site.with_stations(site.stations.iloc[[0, 5, 9]]), 3)
    assert fewer.path_db == pytest.approx(here.path_db[[0, 5, 9]])
    assert here.antenna_db["wire loop"] == simulate.truth_of(site, 3).antenna_db["wire loop"]


def test_one_signal_has_one_truth():
    site = simulate.demo_site()
    shared = site.stations.index[site.stations["rf_channel"] == "33"]
    assert len(shared) == 2 and len(set(simulate.truth_of(site, 4).path_db[shared])) == 1


def test_truth_is_drawn_as_widely_as_the_forecast_believes():
    # Chi-square of whitened offsets over many seeds: within 4 sd of its mean. By two routes of our own.
    site = simulate.demo_site()
    belief = budget.prior(site, site.mount("roof mast"))
    draws = np.array([simulate.truth_of(site, seed).path_db[[0, 5, 9, 11]] for seed in range(300)])
    sd = belief.sd_db()[[0, 5, 9, 11]]
    spread = draws.std(axis=0) / sd
    assert spread == pytest.approx(1.0, abs=4 / np.sqrt(2 * 300))
    assert np.abs(draws.mean(axis=0) / sd).max() < 4 / np.sqrt(300)


def test_stations_of_one_place_share_most_of_their_error():
    site = simulate.demo_site()
    draws = np.array([simulate.truth_of(site, seed).path_db for seed in range(300)])
    together = np.corrcoef(draws[:, 0], draws[:, 1])[0, 1]
    apart = np.corrcoef(draws[:, 0], draws[:, 5])[0, 1]
    # shared variance: (16 + 64) / 96 within a place, 16 / 96 between places without own ignorance
    assert together == pytest.approx(80 / 96, abs=0.08)
    assert apart == pytest.approx(16 / 96, abs=0.2)


def test_normal_is_normal_and_the_same_everywhere():
    values = [truths.normal(1, "x", str(k)) for k in range(400)]
    assert stats.kstest(values, "norm").pvalue > 0.01
    # The value itself, so that another machine or numpy that draws otherwise is noticed.
    assert truths.normal(1, "station", "Gazette") == pytest.approx(0.0, abs=5)


def test_true_margin_is_forecast_plus_truth():
    site = simulate.demo_site()
    here = simulate.truth_of(site, 3)
    forecast = survey.outlook(site, SETUP)["margin_db"].to_numpy()
    known = ~np.isnan(forecast)
    extra = here.path_db + here.antenna_db[SETUP.antenna] + here.mount_db[SETUP.mount]
    assert here.margin_db(SETUP)[known] == pytest.approx((forecast + extra)[known])


def test_an_echo_moves_the_best_heading_and_is_joined_in_power():
    site = simulate.demo_site()
    i = budget.station_index(site, "Fishwharf")
    bearing = site.stations["bearing_deg"].iloc[i]
    plain = simulate.truth_of(site, 3)
    same_way = simulate.truth_of(site, 3, [simulate.Echo("Fishwharf", bearing, 0.0)])
    gained = same_way.margin_db(SETUP) - plain.margin_db(SETUP)
    assert gained[i] == pytest.approx(10 * np.log10(2)), "two equal powers: 3.01 dB"
    assert np.nansum(np.abs(np.delete(gained, i))) == pytest.approx(0)
    aside = simulate.truth_of(site, 3, [simulate.Echo("Fishwharf", 238.0, 6.0)])
    headings = np.arange(0.0, 360.0, 15.0)
    levels = [
        aside.margin_db(survey.Setup(SETUP.antenna, SETUP.mount, heading_deg=h))[i]
        for h in headings
    ]
    assert abs(headings[int(np.argmax(levels))] - 238) <= 15


def test_forecast_chances_come_true():
    """Where the model is right, stations given a chance p lock about that often."""
    expected, variance, came = 0.0, 0.0, 0
    for seed in range(40):
        site = simulate.invented_site(seed, stations=8)
        here = simulate.truth_of(site, seed)
        chance = survey.outlook(site, SETUP)["chance"].to_numpy()
        expected, came = expected + chance.sum(), came + here.locks(SETUP).sum()
        variance += 64 * 0.05
    assert came == pytest.approx(expected, abs=3 * np.sqrt(variance))


# ---- readings -----------------------------------------------------------------------------------


@pytest.fixture
def tuner():
    return {
        name: meters.meter(model)
        for name, model in (("quality", "C/N quality"), ("strength", "level strength"))
    }


def _plan(**columns):
    one = {
        "time": "2031-05-01T20:00:00+00:00",
        "mount": "roof mast",
        "antenna": "wire loop",
        "meter": "set",
        "scale": "quality",
        "rf_channel": "24",
        "heading_deg": 38.0,
    }
    n = max([len(v) for v in columns.values() if isinstance(v, list)], default=1)
    return pd.DataFrame(
        {k: v if isinstance(v, list) else [v] * n for k, v in (one | columns).items()}
    )


def test_pads_lower_the_reading_until_lock_is_lost(tuner):
    here = simulate.truth_of(simulate.demo_site(), 3)
    pads = np.arange(0.0, 60.0, 2.0).tolist()
    seen = simulate.readings(here, _plan(pad_db=pads), tuner, wander_db=0.0)
    locked = seen["locked"].to_numpy()
    assert locked[0] and not locked[-1] and (np.diff(locked.astype(int)) <= 0).all()
    assert (np.diff(seen["reading"][locked]) <= 0).all()
    assert seen["reading"][~locked].isna().all()
    site = here.site
    fade = budget.field_at(site, site.mount("roof mast")).fade_db[0]
    day = truths.normal(1, "day", "2031-05-01", "24") * fade / 1.2816
    margin = day + here.margin_db(survey.Setup("wire loop", "roof mast", heading_deg=38.0))[0]
    feed = site.feed(site.mount("roof mast").feed)
    cost = [float(chain.pad_cost_db(p, feed, site.tuner, 533.0)) for p in pads]
    assert locked.tolist() == [c <= margin for c in cost]


def test_a_channel_nobody_uses_shows_no_picture(tuner):
    here = simulate.truth_of(simulate.demo_site(), 3)
    seen = simulate.readings(here, _plan(rf_channel="20"), tuner)
    assert not seen["locked"].iloc[0] and np.isnan(seen["reading"].iloc[0])


def test_readings_are_whole_and_on_their_scale(tuner):
    here = simulate.truth_of(simulate.demo_site(), 3)
    plan = _plan(rf_channel=["24", "21", "27", "31"] * 2, scale=["quality"] * 4 + ["strength"] * 4)
    seen = simulate.readings(here, plan, tuner)
    shown = seen["reading"].dropna()
    assert (shown % 1 == 0).all() and shown.between(0, 100).all()
    rows = seen.dropna(subset=["reading"])
    assert (rows["reading_low"] <= rows["reading"]).all()
    assert (rows["reading"] <= rows["reading_high"]).all()


def test_ladder_begins_with_lock_and_ends_without(tuner):
    here = simulate.truth_of(simulate.demo_site(), 3)
    rows = simulate.ladder(here, SETUP, "24", range(0, 60, 3), tuner)
    for _, one in rows.groupby("scale"):
        assert one["locked"].iloc[0] and not one["locked"].iloc[-1]


# ---- the committed demo folder -----------------------------------------------------------------


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("make_demo", REPO / "tests" / "make_demo.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def made(script):
    return script.files()


def test_the_committed_demo_is_what_the_script_makes(made):
    folder = REPO / "demo_data"
    there = {p.relative_to(folder).as_posix(): p for p in folder.rglob("*") if p.is_file()}
    assert sorted(there) == sorted(made), "run tests/make_demo.py and commit what it writes"
    for name, data in made.items():
        if name.endswith(".hgt"):
            old = np.frombuffer(there[name].read_bytes(), ">i2").astype(int)
            new = np.frombuffer(data, ">i2").astype(int)
            # another linear algebra library may round one height in a million the other way
            assert np.abs(old - new).max() <= 1 and (old != new).sum() < 20
        else:
            assert there[name].read_bytes() == data, f"{name}: run tests/make_demo.py"


def test_builds_in_the_demo_come_from_their_wires():
    """All but two: a pattern file, for what no build of ours draws, and a data sheet."""
    for name in simulate.DEMO_SITES:
        others = {
            one.name: one
            for one in simulate.demo_site(name).antennas.values()
            if one.source != "build"
        }
        assert set(others) <= {"crossed dipoles", "two-band Yagi"}
        if "two-band Yagi" in others:
            assert "data sheet" in others["two-band Yagi"].note
            assert others["two-band Yagi"].source == "numbers"
    site = simulate.demo_site()
    assert site.antennas["crossed dipoles"].source == "table"
    assert site.antennas["long Yagi"].spread_db < site.antennas["two-band Yagi"].spread_db


def test_the_bow_tie_below_its_band_is_a_floor_and_says_so():
    site = simulate.demo_site()
    bow_tie = site.antenna("bow-tie with screen")
    assert bow_tie.gain_dbd(189) < 0 < bow_tie.gain_dbd(539) - 4
    assert any("bow-tie" in note and "floor" in note for note in site.notes)


def test_the_demo_folder_stays_small(made):
    assert sum(map(len, made.values())) < 8e6
    tiles = [data for name, data in made.items() if name.endswith(".hgt")]
    assert [len(t) for t in tiles] == [2 * 1201**2] * 2
    assert sum(len(zlib.compress(t)) for t in tiles) < 1.5e6, "smooth land packs well"


def test_tiles_share_their_edge(made):
    east, west = (
        np.frombuffer(made[f"town/terrain/{name}.hgt"], ">i2").reshape(1201, 1201)
        for name in ("N30W041", "N30W042")
    )
    assert np.array_equal(east[:, 0], west[:, -1])


ALL_SITES = (*simulate.DEMO_SITES, simulate.TRIAL_SITE)


@pytest.mark.parametrize("name", ALL_SITES)
def test_a_demo_folder_opens_as_the_site_in_memory(name):
    opened = open_site(REPO / "demo_data" / name)
    held = simulate.demo_site(name, terrain=opened.tiles is not None)
    pd.testing.assert_frame_equal(opened.stations, held.stations)
    assert opened.mounts == held.mounts and list(opened.antennas) == list(held.antennas)
    assert len(advice.rank(held)) > 2


def test_the_demo_is_nowhere_and_names_nobody():
    """Open sea between 29 and 31 north, 43 and 40 west, and no name shaped like a call sign."""
    for name in ALL_SITES:
        site = simulate.demo_site(name)
        assert 30 < site.place.latitude_deg < 31 and -42 < site.place.longitude_deg < -40
        where = site.stations[["latitude_deg", "longitude_deg"]].dropna()
        assert where["latitude_deg"].between(29, 31).all()
        assert where["longitude_deg"].between(-43, -40).all()
        names = " ".join([*site.stations["station"], *site.stations["place"], *site.antennas])
        assert not re.search(r"\b[A-Z]{3,4}\b", names.replace("VHF", ""))


def test_every_kind_of_column_is_used():
    site = simulate.demo_site()
    s = site.stations.set_index("station")
    assert s["latitude_deg"].isna().sum() == 1 and np.isnan(s.loc["Lamplight", "latitude_deg"])
    assert (simulate.demo_site("camper").stations["latitude_deg"].isna()).all()
    assert set(s["service"]) == {"tv", "fm", "mobile"} and set(s["standard"]) >= {"ATSC1", "ATSC3"}
    assert {"horizontal", "vertical", "both"} == set(s["polarization"])
    assert s.loc["Gatepost", "needs_cn_db"] == 18 and not s.loc["Oldmarsh", "wanted"]
    assert s.loc["Cornet", "erp_kw"] < 30, "its pattern is below its greatest power here"
    assert s.loc["Tollgate", "unknown_sd_db"] > 0 and s.loc["Gazette", "unknown_sd_db"] == 0
    bands = channels.plan("us").loc[s.loc[s["service"] == "tv", "rf_channel"], "band"]
    assert set(bands) == {"low VHF", "high VHF", "UHF"}
    assert s["distance_km"].between(90, 110).any()
    kinds = {m.kind for n in simulate.DEMO_SITES for m in simulate.demo_site(n).mounts.values()}
    assert kinds >= {"mast", "roof", "attic", "window", "balcony", "vehicle", "boat"}


def test_typed_heights_fit_the_land(land):
    """Average terrain is the mean from 3 to 16 km along a radial (47 CFR 73.684, unchecked)."""
    s = simulate.demo_site().stations.dropna(subset=["antenna_amsl_m", "latitude_deg"])
    s = s[(s["distance_km"] > 16) & s["longitude_deg"].between(-42, -40)]
    s = s[s["latitude_deg"].between(30, 31) & (s["station"] != "Rowlock")]
    assert len(s) >= 9
    for row in s.itertuples():
        toward = (row.bearing_deg + 180) % 360
        where = earth.destination(
            row.latitude_deg, row.longitude_deg, toward, np.arange(3.0, 16.05, 0.1)
        )
        ground = land[
            np.rint((31 - where[0]) * 1200).astype(int), np.rint((where[1] + 42) * 1200).astype(int)
        ]
        assert row.antenna_amsl_m - ground.mean() == pytest.approx(row.haat_m, abs=6)
        foot = land[round((31 - row.latitude_deg) * 1200), round((row.longitude_deg + 42) * 1200)]
        assert 20 < row.antenna_amsl_m - foot < 350, "a mast, not a cave or a kite"


def test_readings_teach_what_is_true():
    site = open_site(REPO / "demo_data" / "hill_house")
    truth_db = simulate.truth().path_db
    wiser = survey.inform(site)
    read = site.stations["rf_channel"].isin(site.readings["rf_channel"]).to_numpy()
    # Fishwharf comes by way of a silo too, which no forecast knows of.
    read = read & (site.stations["station"] != "Fishwharf").to_numpy()
    z = (truth_db - wiser.belief.mean_db())[read] / wiser.belief.sd_db()[read]
    assert np.abs(z).max() < 3.5
    before = np.sqrt(np.mean(truth_db[read] ** 2))
    assert np.sqrt(np.mean((truth_db - wiser.belief.mean_db())[read] ** 2)) < 0.8 * before


def test_the_yard_tries_the_antennas_of_the_house():
    yard, house = (simulate.demo_site(name) for name in (simulate.TRIAL_SITE, "hill_house"))
    for name in simulate.yard_truth_db().index:
        freq = channels.centre_mhz(["17", "36"])
        there, here = yard.antennas[name], house.antennas[name]
        # Numbers from a label lean down by 3 dB and are doubted more; the yard is about to try them.
        label_db = 3.0 if name == "two-band Yagi" else 0.0
        assert there.gain_dbd(freq) - label_db == pytest.approx(here.gain_dbd(freq))
        assert (there.spread_db < here.spread_db) if label_db else there.spread_db == here.spread_db


@pytest.mark.parametrize("name", ["hill_house", simulate.TRIAL_SITE])
def test_every_recorded_pad_can_be_made_from_one_kit(name):
    """Pads of 3, 6, 10 and 20 dB, each at most once in the line: sixteen sums, worked by hand."""
    kit = {0, 3, 6, 9, 10, 13, 16, 19, 20, 23, 26, 29, 30, 33, 36, 39}
    site = open_site(REPO / "demo_data" / name)
    assert set(site.ladder["pad_db"]) | set(site.readings["pad_db"]) <= kit


def test_the_trial_in_the_yard_finds_what_is_true():
    """18 intervals of 90 %: fewer than 13 hold the truth in 1 of 150 such trials (binomial)."""
    yard = open_site(REPO / "demo_data" / simulate.TRIAL_SITE)
    curve = meters.MeterCurve.fit(yard.ladder)
    found = trials.compare(yard.readings, "half-wave dipole", curve).set_index("antenna")
    true = simulate.yard_truth_db()
    rows = found.reset_index()
    at = [
        true.loc[name, channel] for name, channel in zip(rows.antenna, rows.rf_channel, strict=True)
    ]
    inside = rows["low_db"].le(at) & rows["high_db"].ge(at)
    assert len(inside) == 18 and inside.sum() >= 13
    assert (found.loc["double loop with screen", "verdict"] == "better").all()
    assert (found["readings"] < 4).any(), "somewhere the meter was full"


# ---- the demo teaches ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def ranking():
    return advice.rank(simulate.demo_site())


def test_the_ranking_of_the_demo_roof_has_something_to_tell(ranking):
    assert ranking["expected"].iloc[0] - ranking["expected"].iloc[-1] > 5
    first, rest = ranking.iloc[0], ranking.iloc[1:4]
    assert first["antenna"] == "bow-tie with screen", "one that the course teaches to build"
    assert (rest["expected"] > first["expected"] - 1).all(), "others are nearly as good"
    assert ranking["antenna"].iloc[0] != "long Yagi", "the largest is not the best"


def test_chances_are_not_all_sure_or_hopeless(ranking):
    chance = survey.outlook(simulate.demo_site(), ranking["setup"].iloc[0])
    chance = chance.loc[chance["wanted"], "chance"]
    assert (chance > 0.95).sum() >= 1 and (chance > 0.8).sum() >= 5
    assert chance.between(0.2, 0.9).sum() >= 3
    assert (chance < 0.1).sum() >= 1


def test_heading_matters_for_a_narrow_antenna():
    site = simulate.demo_site()
    g = survey.grid(site, [survey.Setup("long Yagi", "roof mast")])
    wanted = site.stations["wanted"].to_numpy(bool)
    expected = g.chance[0][:, wanted].sum(axis=1)
    assert expected.max() - expected.min() > 1.5


def test_a_uhf_antenna_misses_vhf():
    chance = survey.outlook(simulate.demo_site(), SETUP).set_index("station")["chance"]
    assert chance["Schoolroom"] == 0 and chance["Gazette"] > 0.95


def test_only_a_large_antenna_sometimes_hears_the_far_one():
    site = simulate.demo_site()
    far = {}
    for name in ("wire loop", "double loop with screen", "long Yagi"):
        setup = survey.Setup(name, "roof mast", heading_deg=291.0)
        far[name] = survey.outlook(site, setup).set_index("station").loc["Farthing", "chance"]
    assert far["wire loop"] < 0.25 < far["long Yagi"] < 0.8
