"""The survey grid and what is sliced from it."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hand import block, flat, site_with
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize
from scipy.stats import norm

from signalshed import advice, antenna, budget, chain, simulate, survey
from signalshed.site import Mount


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


def first_setup(site, heading=None):
    return survey.Setup(next(iter(site.antennas)), "roof mast", heading_deg=heading)


# ---- worked by hand: stations whose spare dB are typed ------------------------------------------


def test_chance_and_interval_by_hand():
    # Doubt of path 10 and antenna 3 dB: sqrt(109) = 10.440. 10 dB to spare are 0.9578 sd, 0.8309 of
    # a normal distribution (printed tables: 0.831 at 0.958); 5 % lie below 10 - 1.6449 x 10.440.
    loop = flat().renamed("loop", spread_db=3.0)
    site = site_with([10.0, 0.0, -10.0], antennas=(loop,))
    table = survey.outlook(site, survey.Setup("loop", "mast", heading_deg=0))
    assert table["margin_db"].tolist() == pytest.approx([10, 0, -10], abs=1e-6)
    assert table["fade_db"].tolist() == [0, 0, 0]
    assert table["spread_db"].tolist() == pytest.approx([10.440] * 3, abs=5e-4)
    assert table["chance"].tolist() == pytest.approx([0.8309, 0.5, 0.1691], abs=2e-4)
    assert table[["low_db", "high_db"]].to_numpy()[0] == pytest.approx([-7.172, 27.172], abs=2e-3)


def test_doubts_of_mount_and_station_join_in_squares():
    # Path 10, what the list leaves out 6, the mount's own 5: sqrt(100 + 36 + 25) = 12.689.
    doubtful = Mount("mast", "mast", 9.1, extra_loss_db=2.0, extra_sd_db=5.0)
    site = site_with([10.0, 10.0], mounts=(doubtful,), unknown_sd_db=[0.0, 6.0])
    table = survey.outlook(site, survey.Setup("flat", "mast", heading_deg=0))
    assert table["margin_db"].tolist() == pytest.approx([8, 8], abs=1e-6)
    assert table["spread_db"].tolist() == pytest.approx([11.180, 12.689], abs=5e-4)


def test_the_largest_part_of_what_is_missing_is_in_the_way():
    # Sure is 0.8 of roofs: 0.8416 sd of 10 dB above the edge. Crossed polarization takes 16 dB (ITU-R
    # BT.419, unchecked) and the line 4; of x dB to spare before, 24.416 - x are missing and 4.416 - x
    # are distance's part: 15.916 of -11.5, 16.116 of -11.7, 24.416 of -20, more than both together.
    site = site_with([24.0, 0.0, -11.5, -11.7, -20.0], polarization="horizontal")
    upright = Mount("upright", "mast", 9.1, polarization="vertical")
    table = survey.outlook(site, survey.Setup("flat", upright, heading_deg=0))
    crossed = ["polarization" in limit for limit in table["limit"]]
    assert crossed == [True, True, True, False, False]
    helps = "an antenna turned on its side; then higher up, or more gain; a reading says more"
    assert table["remedy"][4] == helps


def test_two_costs_each_less_than_distance():
    # 20 dB off the aim, and 16 of line, 12 more than the 4 it has without: of x dB before, 40.416 - x
    # are missing. Distance has 16.416 of -12 (less than the aim's 20, though that is not two fifths of
    # 52.416), and 20.416 of -16: more than either, less than both. Of that the aim is won back first.
    line = chain.Feed("line", (chain.pad(16.0),))
    site = site_with([-12.0, -16.0], bearing_deg=180.0)
    setup = survey.Setup(block(30.0, -20.0), "mast", feed=line, heading_deg=0)
    table = survey.outlook(site, setup)
    assert table["limit"].tolist() == ["off the aim", "distance and hills"]
    assert table["remedy"][1].startswith("a rotator") and "; then higher up" in table["remedy"][1]


def test_a_cost_is_worth_naming_from_three_db_on():
    # Cable that costs 2.9 dB, and that costs 3.1.
    for loss_db, named in ((2.9, False), (3.1, True)):
        line = chain.Feed("line", (chain.pad(loss_db),))
        site = site_with([8.0])  # through 4 dB of line: 0.416 dB missing, and less through this
        table = survey.outlook(site, survey.Setup("flat", "mast", feed=line, heading_deg=0))
        assert table["limit"].item() == "nothing"
        setup = survey.Setup(flat(-2.0), "mast", feed=line, heading_deg=0)
        (limit,) = survey.outlook(site, setup)["limit"]
        assert ("cable" in limit) == named, limit


def test_an_amplifier_that_is_there_is_not_advised_again():
    # 10 dB of pad before an amplifier of 2 dB: 5.1 dB more noise than the TV alone, and 4 are missing.
    line = chain.Feed("line", (chain.pad(10.0), chain.amplifier("box", 20.0, 2.0)))
    setups = [survey.Setup("flat", "mast", feed=each, heading_deg=0) for each in (line, None)]
    helps = [survey.outlook(site_with([5.0]), setup)["remedy"][0] for setup in setups]
    assert helps[0].startswith("the amplifier before cable") and "mast" in helps[1]


def test_a_pattern_that_points_away_is_in_the_way():
    # -5 dB before: 13.416 are missing. A transmit pattern that sends 20 dB less this way than elsewhere
    # has the largest part; one of 4 dB, with 4 of line, leaves 5.416 to distance.
    site = site_with([-5.0, -5.0, 30.0], pattern_loss_db=[20.0, 4.0, 20.0])
    table = survey.outlook(site, survey.Setup("flat", "mast", heading_deg=0))
    assert table["limit"].tolist() == ["its pattern points away", "distance and hills", "nothing"]


def test_never_aimed_by_hand():
    # Of 72 headings 35 (85 degrees to either side) bring 20 dB to spare and 37 bring 0: 9.722 dB on
    # average, and 20 sqrt(35 x 37) / 72 = 9.996 dB of scatter: sqrt(100 + 99.92) = 14.139 dB. The
    # chance is the mean of 0.97725 (2 sd) and 0.5 (0 sd).
    half = block(89.0, -20.0)
    site = site_with([20.0], mounts=(Mount("deck", "boat", 9.1),))
    row = survey.outlook(site, survey.Setup(half, "deck")).iloc[0]
    assert row["margin_db"] == pytest.approx(9.7222, abs=1e-4)
    assert row["spread_db"] == pytest.approx(14.139, abs=1e-3)
    assert row["chance"] == pytest.approx(0.73201, abs=1e-4)


def test_a_rotator_takes_each_station_at_its_best():
    turning = Mount("turning", "mast", 9.1, aim="rotator")
    site = site_with([10.0, 0.0], mounts=(turning,), bearing_deg=[40.0, 220.0])
    table = survey.outlook(site, survey.Setup(block(30.0, -40.0), "turning"))
    assert table["margin_db"].tolist() == pytest.approx([10, 0], abs=1e-6)
    assert table["chance"].tolist() == pytest.approx([0.8413, 0.5], abs=1e-4)


APART = {"rf_channel": ["14", "31", "48"], "freq_mhz": [473.0, 575.0, 677.0]}
"""Three channels so far apart that no tuner lets one in on another."""


def test_best_heading_and_arc_by_hand():
    # 0 dB within 30 degrees of the aim, nothing beside. Sure are 0 and 40 degrees, so 10 to 30 bring
    # two; the third at 50 comes on 0.3 of roofs (-5.244 dB) from 20 on: 2.3 from 20 to 30, and two
    # alone are more than a quarter of a station less. At 0.2 (-8.416 dB) and 0.1 they are as good.
    setup = survey.Setup(block(30.0, -90.0), "mast")
    for spare_db, chance, arc in ((-5.244, 0.3, 11), (-8.416, 0.2, 21), (-12.816, 0.1, 21)):
        site = site_with([45.0, 42.0, spare_db], bearing_deg=[0.0, 40.0, 50.0], **APART)
        aim = survey.best_heading(site, setup)
        assert aim.heading_deg == 25 and aim.arc_deg == arc
        assert aim.expected == pytest.approx(2 + chance, abs=1e-4)


def test_what_fades_is_missing_too():
    # 12 dB are sure where nothing fades (8.4 would do); 90 km away, where 7.5 to 11 dB fade between the
    # charts of 47 CFR 73.699 at 80 and 100 km, they are not, and the 16 of crossed polarization help.
    site = site_with([28.0, 28.0], distance_km=[5.0, 90.0], bearing_deg=[0.0, 90.0])
    upright = Mount("upright", "mast", 9.1, polarization="vertical")
    table = survey.outlook(site, survey.Setup("flat", upright, heading_deg=0))
    assert table["margin_db"].tolist() == pytest.approx([12, 12], abs=1e-6)
    assert table["limit"][0] == "nothing" and "polarization" in table["limit"][1]


def test_what_turning_could_win_back_is_named():
    # Aimed away from it a station loses 20 dB: 10 to spare become -10, 18.4 short of sure. Never aimed
    # it loses 20 x 37 / 72 = 10.3 dB of its best on average: 5 become -5.3, and 17.2 are short.
    deck = Mount("deck", "boat", 9.1)
    half = block(89.0, -20.0)
    site = site_with([10.0], bearing_deg=[180.0])
    (fixed,) = survey.outlook(site, survey.Setup(half, "mast", heading_deg=0))["limit"]
    (never,) = survey.outlook(site_with([5.0]), survey.Setup(half, deck))["limit"]
    assert "aim" in fixed and "aim" in never


def test_spare_db_and_its_ends_by_hand():
    # What fades is not to spare; 5 and 95 % of a normal distribution of 10 dB lie 16.449 to either side.
    site = site_with([12.0, 12.0], distance_km=[5.0, 90.0], bearing_deg=[0.0, 90.0])
    table = survey.outlook(site, survey.Setup("flat", "mast", heading_deg=0))
    spare = 12 - table["fade_db"]
    assert table["fade_db"][0] == 0 and 7.5 < table["fade_db"][1] < 11
    assert table["spare_db"].tolist() == pytest.approx(spare.tolist(), abs=1e-6)
    assert table["low_db"].tolist() == pytest.approx((spare - 16.449).tolist(), abs=1e-3)
    assert table["high_db"].tolist() == pytest.approx((spare + 16.449).tolist(), abs=1e-3)


def test_spare_db_never_aimed_by_hand():
    # 35 of 72 headings bring 20 dB to spare and 37 bring 0: by how much may all fall for 0.5 of roofs,
    # and for 0.95 and 0.05? By root finding on the mixture of two normal distributions (scipy).
    site = site_with([20.0], mounts=(Mount("deck", "boat", 9.1),))
    row = survey.outlook(site, survey.Setup(block(89.0, -20.0), "deck")).iloc[0]

    def comes(fall_db):
        return (35 * norm.cdf((20 - fall_db) / 10) + 37 * norm.cdf(-fall_db / 10)) / 72

    for column, share in (("spare_db", 0.5), ("low_db", 0.95), ("high_db", 0.05)):
        by_hand = optimize.brentq(lambda fall, share=share: comes(fall) - share, -60, 60)
        assert row[column] == pytest.approx(by_hand, abs=1e-4)


def test_no_db_of_its_own_is_to_spare_under_an_overload():
    # As in the account: -23.993 dBm at a tuner that bears -30 dBm.
    mounts = (Mount("mast", "mast", 9.1), Mount("deck", "boat", 9.1))
    site = site_with([60.0, 10.0], mounts=mounts, bearing_deg=[0.0, 90.0])
    deaf = replace(site, tuner=chain.Tuner("set", ("ATSC1",), 7.0, max_input_dbm=-30.0))
    for setup in (survey.Setup("flat", "mast", heading_deg=0), survey.Setup("flat", "deck")):
        assert np.isneginf(survey.outlook(deaf, setup)["spare_db"]).all()


def test_a_line_costs_what_it_adds_to_the_noise_figure():
    # 10 dB of line before an amplifier of 20 dB and 2 dB of noise: 1.585 + 4.012 / 100 is 2.11 dB
    # behind it, 12.11 before, 5.11 more than the tuner's 7: 6.89 dB to spare for 8 (11 dB before).
    amplifier = chain.amplifier("amplifier", 20.0, 2.0)
    line = chain.Feed("line", (chain.pad(10.0), amplifier))
    row = survey.outlook(
        site_with([8.0]), survey.Setup("flat", "mast", feed=line, heading_deg=0)
    ).iloc[0]
    assert row["margin_db"] == pytest.approx(6.891, abs=2e-3)
    assert "cable" in row["limit"]


def test_a_station_on_the_channel_is_noise_by_hand():
    # An unwanted station of C/N 0 dB doubles the noise: 3.0103 dB less to spare; itself it stands
    # 35.2 dB (20 + 15.2) below the wanted one: 10 log10(1 + 10^3.52) = 35.2013 dB less.
    site = site_with([20.0, -15.2], bearing_deg=[0.0, 90.0])
    both = site.with_stations(site.stations.assign(rf_channel="14", freq_mhz=473.0))
    alone = site_with([20.0, -15.2], bearing_deg=[0.0, 90.0], freq_mhz=473.0)
    both = both.with_stations(both.stations.assign(erp_kw=alone.stations["erp_kw"]))
    table = survey.outlook(both, survey.Setup("flat", "mast", heading_deg=0))
    assert table["margin_db"].tolist() == pytest.approx([16.9897, -50.4013], abs=1e-3)


def test_unwanted_stations_play_no_part_in_the_aim():
    site = site_with(
        [30.0, 30.0, 30.0], bearing_deg=[0.0, 180.0, 185.0], wanted=[True, False, False]
    )
    aim = survey.best_heading(site, survey.Setup(block(30.0, -90.0), "mast"))
    assert aim.heading_deg == 0 and aim.arc_deg == 61
    assert aim.expected == pytest.approx(0.9987, abs=1e-4)  # 3 sd


# ---- the town ------------------------------------------------------------------------------------


def test_grid_shapes_and_ranges(site):
    setups = advice.possible_setups(site)
    g = survey.grid(site, setups, np.arange(0, 360, 30))
    shape = (len(setups), 12, len(site.stations))
    assert g.margin_db.shape == g.spread_db.shape == g.chance.shape == g.fade_db.shape == shape
    assert ((g.chance >= 0) & (g.chance <= 1)).all()
    assert (g.chance[np.isnan(g.margin_db)] == 0).all()
    assert (g.fade_db >= 0).all() and (g.spread_db > 0).all()


def test_chance_is_the_normal_probability(site):
    # Against scipy.stats.norm, a general reference library.
    # Stations that others disturb, or a full line, have less: none has more.
    g = survey.grid(site, [first_setup(site)], [0])
    received = budget.reception_at(site, first_setup(site), [0])
    known = ~np.isnan(g.margin_db[0, 0])
    expected = norm.cdf(received.alone_db[0], loc=received.fade_db, scale=g.spread_db[0, 0])
    alone = known & ~np.isin(
        np.arange(known.size), np.concatenate([x.rows for x in received.judged])
    )
    assert alone.sum() > 2 and g.chance[0, 0, alone] == pytest.approx(expected[alone], abs=1e-12)
    assert (received.chance[known] <= expected[known] + 1e-6).all()


def test_heading_turns_the_pattern_only(site):
    # Turning the antenna by x is the same as moving every station by -x.
    setup = first_setup(site)
    turned = site.with_stations(
        site.stations.assign(bearing_deg=(site.stations["bearing_deg"] - 40) % 360)
    )
    a = survey.grid(site, [setup], [100]).margin_db
    b = survey.grid(turned, [setup], [60]).margin_db
    assert a == pytest.approx(b, abs=1e-9, nan_ok=True)


def test_order_of_rows_does_not_matter(site):
    setup = first_setup(site, 77)
    order = np.random.default_rng(3).permutation(len(site.stations))
    shuffled = site.with_stations(site.stations.iloc[order])
    one = survey.outlook(site, setup)["chance"].to_numpy()[order]
    assert survey.outlook(shuffled, setup)["chance"].to_numpy() == pytest.approx(one, abs=1e-4)


def test_more_gain_never_hurts(site):
    low = antenna.from_numbers("low", [50, 700], 2, 360, 0)
    high = antenna.from_numbers("high", [50, 700], 5, 360, 0)
    g = survey.grid(site, [survey.Setup(a, "roof mast") for a in (low, high)], [0])
    known = ~np.isnan(g.margin_db[0])
    more = g.margin_db[1][known] - g.margin_db[0][known]
    # 3 dB where nothing else is on the channel, less where another station sets the limit.
    assert more[0] == pytest.approx(3.0, abs=0.01)
    assert ((more > -1e-9) & (more < 3.0 + 1e-9)).all()
    # Two antennas are two errors of gain: of a station that another limits 64 roofs tell no more.
    assert (g.chance[1] >= g.chance[0] - 0.05).all()


def test_interval_holds_ninety_per_cent(site):
    table = survey.outlook(site, first_setup(site, 0)).dropna(subset=["margin_db"])
    disturbed = np.concatenate(
        [x.rows for x in survey.reception(site, first_setup(site, 0)).judged]
    )
    table = table.drop(index=disturbed, errors="ignore")
    middle = table["margin_db"] - table["fade_db"]
    inside = norm.cdf(table["high_db"], middle, table["spread_db"]) - norm.cdf(
        table["low_db"], middle, table["spread_db"]
    )
    assert inside == pytest.approx(0.9, abs=1e-4)


def test_best_heading_is_the_best_of_all(site):
    wanted = site.stations["wanted"].to_numpy(bool)
    for setup in advice.possible_setups(site):
        if site.mount(setup.mount).aim != "fixed":
            continue
        aim = survey.best_heading(site, setup)
        everywhere = survey.grid(site, [setup], np.arange(0, 360, 1.0)).chance[0][:, wanted]
        # A search looks at 64 roofs, and a reception at 1024 says which of the best few it is.
        tops = np.argsort(-everywhere.sum(axis=1))[:60:12]
        sums = [budget.reception_at(site, setup, [h]).chance[wanted].sum() for h in tops]
        assert aim.expected >= max(sums) - 0.1
        here = budget.reception_at(site, setup, [aim.heading_deg]).chance[wanted].sum()
        assert aim.expected == pytest.approx(here)
        assert 1 <= aim.arc_deg <= 360


def test_an_antenna_alike_in_front_and_behind_faces_the_way_that_is_open(site):
    both_ways = antenna.from_numbers("both ways", [50, 700], 0, 360, 0)
    lobes_db = 20 * np.log10(np.maximum(np.abs(np.cos(np.radians(both_ways.azimuth_deg))), 0.05))
    table = np.tile(lobes_db, (2, 1))
    both_ways = both_ways.renamed("both ways", gain_dbd_table=table)
    for open_from in (110.0, 290.0):
        mount = replace(
            site.mount("roof mast"),
            open_from_deg=open_from,
            open_to_deg=(open_from + 140) % 360,
            blocked_loss_db=25.0,
        )
        aim = survey.best_heading(site, survey.Setup(both_ways, mount))
        assert (aim.heading_deg - open_from) % 360 <= 140
        table = np.tile(0 * lobes_db, (2, 1))
        all_round = both_ways.renamed("all round", gain_dbd_table=table)
        aim = survey.best_heading(site, survey.Setup(all_round, mount))
        assert (aim.heading_deg - open_from) % 360 <= 140 and aim.arc_deg == 141


def test_a_wall_is_aimed_at_only_for_a_quarter_of_a_station_more(site):
    headings, wanted = np.arange(0, 360, 1.0), site.stations["wanted"].to_numpy(bool)
    more, at_wall = [], []
    for open_from in np.arange(0.0, 360.0, 40.0):
        for loss_db in (0.0, 5.0, 10.0, 20.0):
            mount = replace(
                site.mount("roof mast"),
                open_from_deg=open_from,
                open_to_deg=(open_from + 120) % 360,
                blocked_loss_db=loss_db,
            )
            setup = survey.Setup("eight-element Yagi", mount)
            brings = survey.grid(site, [setup], headings).chance[0][:, wanted].sum(axis=1)
            is_open = (headings - open_from) % 360 <= 120
            more.append(brings[~is_open].max() - brings[is_open].max())
            aim = survey.best_heading(site, setup)
            at_wall.append(not is_open[int(aim.heading_deg)])
    assert at_wall == [m > 0.25 for m in more]
    assert any(at_wall) and any(0 < m <= 0.25 for m in more) and min(more) < 0


def test_all_round_antenna_has_no_best_heading(site):
    all_round = antenna.from_numbers("all round", [50, 700], 0, 360, 0)
    all_round = all_round.renamed("all round", gain_dbd_table=0 * all_round.gain_dbd_table)
    assert survey.best_heading(site, survey.Setup(all_round, "roof mast")).arc_deg == 360


@pytest.mark.parametrize(
    ("good", "start", "arc"),
    [
        ("1100001", 0, [6, 0, 1]),
        ("0011100", 3, [2, 3, 4]),
        ("1111111", 2, [0, 1, 2, 3, 4, 5, 6]),
        ("0001000", 3, [3]),
    ],
)
def test_arcs_close_round_the_circle(good, start, arc):
    mask = np.array([c == "1" for c in good])
    assert survey.heading._arc(mask, start).tolist() == arc


def test_never_aimed_averages_and_widens(site):
    setup = first_setup(site)
    g = survey.grid(site, [setup])
    received = survey.reception(site, setup)
    margin, spread, chance = received.margin_db, received.spread_db, received.chance
    known = ~np.isnan(margin)
    assert received.aim == "never"
    assert margin[known] == pytest.approx(g.margin_db[0].mean(axis=0)[known])
    assert chance == pytest.approx(g.chance[0].mean(axis=0), abs=0.03)
    assert (spread[known] >= g.spread_db[0, 0][known]).all()


def test_rotator_is_never_worse_than_any_fixed_heading(site):
    from dataclasses import replace

    rotating = replace(site.mount("roof mast"), name="turning", aim="rotator")
    beam = antenna.from_numbers("beam", [470, 608], 10)
    turned = survey.reception(site, survey.Setup(beam, rotating)).chance
    fixed = survey.grid(site, [survey.Setup(beam, "roof mast")], np.arange(0, 360, 5))
    # But for what a search among headings is off by, which looks at 64 roofs.
    assert (turned >= fixed.chance[0].max(axis=0) - 0.06).all()


@settings(max_examples=25, deadline=None)
@given(heading=st.floats(0, 360), gain=st.floats(-10, 20), width=st.floats(10, 360))
def test_any_antenna_at_any_heading_gives_sane_numbers(heading, gain, width):
    site = simulate.demo_site()
    a = antenna.from_numbers("any", [50, 700], gain, width)
    table = survey.outlook(site, survey.Setup(a, "roof mast", heading_deg=heading))
    assert table["chance"].between(0, 1).all()
    assert (table["low_db"] <= table["high_db"]).where(table["margin_db"].notna(), True).all()


@pytest.mark.parametrize("heading", [725, -1, "north", float("nan")])
def test_a_heading_beyond_the_circle_is_refused(heading):
    with pytest.raises(ValueError, match="heading_deg"):
        survey.Setup("x", "y", heading_deg=heading)


def test_unknown_names_are_answered_with_the_names_there_are(site):
    with pytest.raises(ValueError, match="roof mast"):
        survey.outlook(site, survey.Setup(next(iter(site.antennas)), "chimney"))


def test_thousand_stations_do_not_die(site):
    many = pd.concat([site.stations] * (1000 // len(site.stations) + 1)).head(1000)
    many["station"] = [f"s{k}" for k in range(1000)]
    big = site.with_stations(many)
    setups = [first_setup(site)] * 4
    assert survey.grid(big, setups, np.arange(0, 360, 1.0)).chance.shape == (4, 360, 1000)


def test_how_sure_one_wants_to_be_is_asked_anew():
    # 9 dB to spare are 0.9 sd of 10 dB, 0.8159 of roofs: enough for 0.8, not for 0.95.
    site, setup = site_with([9.0], antennas=(flat(),)), survey.Setup("flat", "mast", heading_deg=0)
    surer = replace(site, certainty=0.95)
    words = [survey.outlook(each, setup)["limit"][0] for each in (site, surer)]
    assert words[0] == "nothing" != words[1]


def test_limits_name_what_could_be_won_back(site):
    setup = first_setup(site, 0)
    words = [limit.words for limit in survey.reception(site, setup).limits]
    assert len(words) == len(site.stations)
    table = survey.outlook(site, setup)
    sure = table["chance"] >= site.certainty
    assert all(w == "nothing" for w, s in zip(words, sure, strict=True) if s)
    assert not any(w == "nothing" for w, s in zip(words, sure, strict=True) if not s)


def test_what_readings_taught_moves_the_margin(site):
    belief = budget.prior(site, site.mount("roof mast"))
    from signalshed import belief as learning

    seen = learning.Observations([0], [8.0], [8.0], 1.0)
    wiser = site.with_belief(belief.updated(seen))
    before, after = (survey.outlook(s, first_setup(site, 0)) for s in (site, wiser))
    assert after["margin_db"][0] > before["margin_db"][0] + 5
    assert (after["spread_db"] <= before["spread_db"] + 1e-6).all()


def test_what_overload_takes_is_named_and_a_filter_wins_it_back():
    suburb = simulate.demo_site("suburb")
    setups = [
        survey.Setup("two-band Yagi", mount, heading_deg=40.0)
        for mount in ("chimney and amplifier", "chimney, filter and amplifier")
    ]
    named = [survey.outlook(suburb, setup).set_index("station")["limit"] for setup in setups]
    assert named[0]["Gazette"] == "other signals"
    assert "other signals" not in named[1][suburb.stations.query("wanted")["station"]].tolist()
