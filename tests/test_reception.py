"""A site is a value, and one object says everything of a setup: the same number for the same thing."""

import re
import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from signalshed import advice, belief, budget, chain, plots, report, simulate, site, survey, words
from signalshed.classroom import cards, lesson_07
from signalshed.classroom.roof import roof_words

NAMES = (*simulate.DEMO_SITES, simulate.TRIAL_SITE)
WEAKER_DB = 10 * np.log10(0.001)  # power times a thousandth: 30 dB
LOOP = survey.Setup("wire loop", "roof mast", heading_deg=38.0)


def house():
    """The house with a list of its own, which a test may spoil."""
    demo = simulate.demo_site()
    return replace(demo, stations=pd.DataFrame(demo.stations), _kept={})


def margins(here):
    return survey.outlook(here, LOOP)["margin_db"].to_numpy()


# ---- a site that cannot go stale ----------------------------------------------------------------


def edit_loc(table):
    table.loc[0, "erp_kw"] = 1.0


def edit_iloc(table):
    table.iloc[0, 3] = 1.0


def edit_at(table):
    table.at[0, "erp_kw"] = 1.0  # noqa: PD008 - one way among others


def edit_text(table):
    table.loc[0, "polarization"] = "vertical"


@pytest.mark.parametrize("edit", [edit_loc, edit_iloc, edit_at, edit_text])
def test_an_edit_in_place_is_refused_and_says_what_to_do(edit):
    here = house()
    before = margins(here)
    with pytest.raises(ValueError, match=r"never edited in place.*with_stations"):
        edit(here.stations)
    assert margins(here) == pytest.approx(before, nan_ok=True)
    with pytest.raises(ValueError, match="read-only"):
        here.stations["erp_kw"].to_numpy()[0] = 1.0


@pytest.mark.parametrize("column", ["polarization", "standard", "service", "station", "note"])
@pytest.mark.parametrize("way", ["values", "array", "to_numpy"])
def test_text_cannot_be_written_through_either(column, way):
    listed = house().stations[column]
    cells = listed.to_numpy() if way == "to_numpy" else getattr(listed, way)
    with pytest.raises(ValueError, match=r"read-only|flag"):
        if isinstance(cells, np.ndarray):
            cells.setflags(write=True)
        cells[0] = "vertical"


def test_numbers_cannot_be_opened_for_writing():
    with pytest.raises(ValueError, match="WRITEABLE"):
        house().stations["erp_kw"].to_numpy().setflags(write=True)


def test_a_table_of_readings_says_what_to_do_with_readings():
    here = simulate.demo_site()
    for name, how in (("readings", "survey.inform"), ("ladder", "meter.csv")):
        table = site.sealed(pd.DataFrame({"reading": [1.0]}), name)
        with pytest.raises(ValueError, match=how):
            table.loc[0, "reading"] = 5.0
    with pytest.raises(ValueError, match=r"survey\.inform"):
        here.readings.loc[0, "reading"] = 5.0


def test_a_column_put_in_place_of_another_is_seen():
    here = house()
    before = margins(here)
    here.stations["erp_kw"] = here.stations["erp_kw"] * 0.001
    moved = margins(here) - before
    assert before[0] == pytest.approx(26.15, abs=0.01) and moved[0] == pytest.approx(WEAKER_DB)
    # All others too, but for those that another station on their channel disturbs less now.
    assert np.nanmedian(moved) == pytest.approx(WEAKER_DB) and np.nanmin(moved) > WEAKER_DB - 0.01
    # The new column is as closed as the old one.
    with pytest.raises(ValueError, match="with_stations"):
        here.stations.loc[0, "erp_kw"] = 1.0


def test_a_turned_bearing_is_seen_everywhere():
    # Turning all bearings by half a circle is turning the antenna: gain, blocked side and places.
    here = house()
    mount = replace(here.mount("roof mast"), open_from_deg=350.0, open_to_deg=170.0)
    facing, away = (survey.Setup("wire loop", mount, heading_deg=h) for h in (38.0, 218.0))
    survey.outlook(here, facing)
    here.stations["bearing_deg"] = (here.stations["bearing_deg"] + 180) % 360
    found = survey.outlook(here, facing)["margin_db"].to_numpy()
    fresh = replace(here, stations=here.stations.copy(), _kept={})
    fresh = survey.outlook(fresh, facing)["margin_db"].to_numpy()
    assert found == pytest.approx(fresh, abs=1e-12, nan_ok=True)
    blocked = budget.link(here, mount, here.feed(mount.feed)).blocked_loss_db
    assert ((blocked > 0) == ((here.stations["bearing_deg"] - 350) % 360 > 180)).all()
    assert survey.reception(here, away).aim == "fixed"


def test_a_ladder_doubled_is_seen():
    truth = simulate.truth_of(simulate.demo_site(), 1, ())
    here = simulate.with_ladder(truth, survey.Setup("two-band Yagi", "roof mast", heading_deg=38.0))
    meter, scale = here.ladder[["meter", "scale"]].iloc[0]
    before = survey.curve_of(here, meter, scale)
    with pytest.raises(ValueError, match="never edited in place"):
        here.ladder.loc[:, "pad_db"] = 0.0
    here.ladder["pad_db"] = 2 * here.ladder["pad_db"]
    after = survey.curve_of(here, meter, scale)
    reading = float(here.ladder["reading"].dropna().iloc[-2])
    apart = [float(c.to_margin_db(reading, True).value_db) for c in (before, after)]
    assert abs(apart[1] - apart[0]) > 1


def test_arrays_handed_out_cannot_be_written():
    here = simulate.demo_site()
    received = survey.reception(here, LOOP)
    handed_out = [
        survey.grid(here, [LOOP]).margin_db,
        received.link.noise_dbm,
        received.link.field.median_dbuv_m,
        received.others.rise_db,
        *(getattr(received, k) for k in ("gain_dbd", "margin_db", "chance", "spare_db", "low_db")),
        survey.worlds(here).shared_db,
    ]
    for array in handed_out:
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0.0


def test_a_table_taken_is_ones_own():
    table = survey.outlook(simulate.demo_site(), LOOP)
    table.loc[:, "spare_db"] = 0.0
    mine = simulate.demo_site().stations.copy()
    mine.loc[0, "erp_kw"] = 0.5
    assert survey.outlook(simulate.demo_site(), LOOP)["spare_db"].abs().max() > 1
    assert house().with_stations(mine).stations["erp_kw"][0] == 0.5


def test_what_is_computed_once_is_not_computed_again():
    here = house()
    assert survey.reception(here, LOOP) is survey.reception(here, LOOP)
    wiser = here.with_belief(budget.prior(here, here.mount("roof mast")))
    mast = here.mount("roof mast")
    assert budget.field_at(here, mast) is budget.field_at(wiser, mast)
    assert survey.reception(wiser, LOOP) is not survey.reception(here, LOOP)


def test_advice_is_given_anew_when_a_folder_was_edited(tmp_path):
    shutil.copytree(simulate.demo.FOLDER, tmp_path, dirs_exist_ok=True)
    before = lesson_07.compare({"boat": ("upright whip", "masthead")}, tmp_path).text
    file = tmp_path / "town" / "stations.csv"
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    file.write_text("".join(lines[:4]), encoding="utf-8")
    assert lesson_07.compare({"boat": ("upright whip", "masthead")}, tmp_path).text != before


# ---- one number for one thing -------------------------------------------------------------------


def every_way(here):
    """Receptions of a site, each way of aiming that its mounts and a rotator allow."""
    for setup in advice.possible_setups(here)[::3]:
        mount = here.mount(setup.mount)
        turning = replace(mount, name="turning", aim="rotator")
        yield survey.reception(here, survey.Setup(setup.antenna, turning))
        yield survey.reception(here, survey.Setup(setup.antenna, mount))
        if mount.aim == "fixed":
            yield survey.reception(here, survey.aimed_at(here, setup.antenna, mount, 40.0))


@pytest.mark.parametrize("name", NAMES)
def test_spare_db_is_above_none_just_where_five_of_ten_roofs_have_it(name):
    for received in every_way(simulate.demo_site(name)):
        spare, known = received.spare_db, ~np.isnan(received.margin_db)
        assert ((spare > 0) == (received.chance > 0.5))[known].all()
        assert (received.low_db <= spare)[known].all() and (spare <= received.high_db)[known].all()
        ends = received.comes_km[:, known & ~np.isneginf(spare)]
        assert (np.diff(ends, axis=0) >= -1e-9).all()
        for limit, lost in zip(received.limits, np.isneginf(spare), strict=True):
            assert (limit.kind == "overload") == lost
            assert lost <= (limit.words == "other signals" and bool(limit.by))


def test_spare_db_of_an_antenna_that_nobody_aims_by_hand():
    # Weaker by its spare dB it comes on 5 of 10 roofs: the mean over 72 headings of the normal chance.
    here = simulate.demo_site()
    setup = survey.Setup("eight-element Yagi", "roof mast")
    received = survey.reception(here, setup)
    spare, known = received.spare_db, ~np.isnan(received.spare_db)
    known[np.concatenate([each.rows for each in received.judged])] = False  # those have less
    for i in np.flatnonzero(known)[:4]:
        g = survey.grid(here, [setup])
        left = g.margin_db[0, :, i] - spare[i]
        assert budget.chance_of(left, g.spread_db[0, :, i], g.fade_db[0, :, i]).mean() == (
            pytest.approx(0.5, abs=1e-6)
        )


def loud(amplifier_db, *heading_deg):
    """A line whose amplifier is far too much for the tuner, and a setup of the demo's house with it."""
    feed = chain.Feed("loud", (chain.amplifier("huge", amplifier_db, 5), chain.coax("series6", 5)))
    mast = simulate.demo_site().mount("roof mast")
    turning = replace(mast, name="turning", aim="rotator")
    mount = mast if heading_deg else turning
    return survey.Setup("wire dipole", mount, feed=feed, heading_deg=next(iter(heading_deg), None))


def test_no_end_of_the_spare_db_is_above_none_on_more_roofs_than_come():
    # What x % of roofs have to spare is above 0 just where x % of them receive: both are one count.
    here = simulate.demo_site()
    shares = {"low_db": 0.95, "spare_db": 0.5, "high_db": 0.05}
    lost = set()
    for setup in (loud(30, 38.0), loud(40, 38.0), loud(40, None), loud(60, 38.0), loud(40)):
        table = survey.outlook(here, setup).query("margin_db.notna()")
        for column, share in shares.items():
            assert ((table[column] > 0) == (table["chance"] > share)).all(), column
            lost |= {column} if np.isneginf(table[column]).any() else set()
        assert (table["low_db"] <= table["spare_db"]).all()
        assert (table["spare_db"] <= table["high_db"]).all()
    assert lost == set(shares)


def test_an_overload_has_no_number_and_no_spread_in_words():
    alt = plots.bearing_strip(simulate.demo_site(), loud(40, 38.0)).alt
    assert re.search(r": overload, (fewer than )?\d of 10 roofs", alt)
    assert "overload, give or take" not in alt and "dB, give or take" not in alt.split(";")[0]


def test_a_heading_where_nothing_can_be_aimed_is_refused():
    boat = simulate.demo_site("boat")
    with pytest.raises(ValueError, match="nothing can be aimed"):
        survey.outlook(boat, survey.Setup("upright whip", "masthead", heading_deg=40))
    with pytest.raises(ValueError, match="nothing can be aimed"):
        survey.best_heading(boat, survey.Setup("upright whip", "masthead"))
    assert survey.aimed(boat, survey.Setup("upright whip", "masthead"))[1] is None
    assert survey.aimed_at(boat, "upright whip", "masthead", 40).heading_deg is None


@pytest.mark.parametrize("name", ["hill_house", "suburb", "boat"])
def test_the_same_number_for_the_same_thing_everywhere(name):
    here = simulate.demo_site(name)
    ranking = advice.rank(here)
    row = ranking.iloc[0]
    setup = row["setup"]
    table, received = survey.outlook(here, setup), survey.reception(here, setup)
    wanted = table["wanted"].to_numpy(bool)
    assert received.spare_db == pytest.approx(table["spare_db"].to_numpy(), nan_ok=True)
    # ranking, best heading and the panel's words: the sum of the chances
    assert row["expected"] == pytest.approx(table["chance"][wanted].sum(), abs=1e-12)
    if received.aim == "fixed":
        aim = survey.best_heading(here, setup)
        assert aim.expected == pytest.approx(row["expected"], abs=1e-12)
    assert f"about {row['expected']:.1f} of " in roof_words(here, setup)
    # account, strip, report and card, station by station
    strip = plots.bearing_strip(here, setup).alt
    pages = report.page(here, ranking), cards.station_table(here, setup).html
    for i in np.flatnonzero(wanted & table["spare_db"].notna().to_numpy()):
        spare, station = table["spare_db"][i], table["station"][i]
        assert budget.account(i, setup, here)["running_db"].iloc[-1] == pytest.approx(spare)
        said = words.spare_words(spare)
        assert re.search(
            rf"{re.escape(words.short(station, 24))} at \d+°: {re.escape(said)}, ", strip
        )
        number = f"{said.removesuffix(' dB')} ± {table['spread_db'][i]:.0f}"
        assert all(number in page for page in pages) or np.isinf(spare)


def test_who_is_behind_a_limit_is_named():
    # Two of one channel and power in line ahead: the nearer one is what jams the farther one.
    here = simulate.demo_site()
    rows = here.stations.iloc[[0, 0]].assign(
        station=["near", "far"], place=["a", "b"], distance_km=[20.0, 80.0]
    )
    two = here.with_stations(rows)
    limit = survey.reception(two, replace(LOOP, heading_deg=rows["bearing_deg"].iloc[0])).limits[1]
    assert (limit.kind, limit.cause, limit.by) == ("others", "jammed", "near")
    assert limit.cost_db > 20
    assert limit.remedy.startswith("nothing"), "no antenna parts two that lie in line"


# ---- worlds -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_mean_over_the_worlds_is_the_closed_form(name):
    here = simulate.demo_site(name)
    roofs = survey.worlds(here)
    for setup in advice.possible_setups(here):
        aimed, _ = survey.aimed(here, setup)
        received = survey.reception(here, aimed)
        for each in received.judged:
            # Of each station the worlds tell without others what the closed form tells.
            closed = received.alone_chance()[each.rows]
            assert each.chance[1] == pytest.approx(closed, abs=0.01)
        drawn = received.locked_in(roofs).mean(axis=0)
        assert drawn == pytest.approx(received.chance, abs=0.05)


def test_the_order_of_rows_does_not_change_a_world():
    here = simulate.demo_site()
    order = np.random.default_rng(3).permutation(len(here.stations))
    shuffled = here.with_stations(here.stations.iloc[order])
    near = here.stations["distance_km"].rank(method="first").to_numpy()
    one, other = survey.worlds(here), survey.worlds(shuffled)
    apart = here.stations["distance_km"].duplicated(keep=False).to_numpy()[order]
    assert other.alone_db[:, ~apart] == pytest.approx(one.alone_db[:, order][:, ~apart])
    assert near.size == order.size


def test_worlds_after_readings_have_the_beliefs_own_means_and_spreads():
    here = simulate.demo_site()
    attic = belief.Unknown("mount", "attic", 7.0)
    seen = belief.Observations([0, 3], [6.0, -4.0], [6.0, 2.0], 1.5, (attic,), [[True], [False]])
    wiser = here.with_belief(budget.prior(here, here.mount("attic")).updated(seen))
    roofs = survey.worlds(wiser)
    path = roofs.shared_db + roofs.alone_db
    assert path.mean(axis=0) == pytest.approx(0, abs=0.35)
    assert path.std(axis=0) == pytest.approx(wiser.belief.sd_db(), rel=0.06)
    # A reading through the walls tells path and walls together: what the one has, the other lacks.
    assert np.corrcoef(path[:, 0], roofs.errors[attic])[0, 1] < -0.3
