"""Readings inform forecasts: bounds, shared unknowns, calibration on invented sites.

All sites here are invented; what is tested is whether the statements about them are true as often as
they claim.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hand import block, flat, site_with
from scipy import stats

from signalshed import budget, chain, meters, simulate, survey, tables
from signalshed.belief import Unknown
from signalshed.site import Mount

METERS = {"quality": meters.meter("C/N quality")}


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


def reading_of(**columns):
    usual = {
        "time": "2031-05-01T20:00:00+00:00",
        "mount": "roof mast",
        "antenna": "bow-tie with screen",
        "antenna_revision": "1",
        "meter": "set",
        "scale": "quality",
        "rf_channel": "14",
        "heading_deg": 60.0,
        "pad_db": 0.0,
        "pad_at": "set",
        "amplifier": "",
        "reading": np.nan,
        "locked": True,
        "note": "",
    }
    return usual | columns


def reading(site, rf_channel="24", **columns):
    return reading_of(**{"rf_channel": rf_channel, "meter": site.tuner.name, **columns})


def table(site, *rows):
    return pd.DataFrame([reading(site, **row) for row in rows])


def gazette(site, **kwargs):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0)
    return survey.outlook(site, setup).iloc[0]


# ---- worked by hand: stations whose spare dB are typed ------------------------------------------

WOBBLE_DB = 1.5
"""What any single reading wobbles by, one sd: the facts table ``judgement``."""


def taken(*rows, **same):
    """Readings of a flat antenna on the mast."""
    usual = {"antenna": "flat", "mount": "mast", "heading_deg": 0.0, **same}
    return pd.DataFrame([reading_of(**{**usual, **row}) for row in rows])


def test_score_by_hand():
    # Doubt of path 10, reading 1.5: 10.112 dB. 10 and -10 dB to spare: 0.8387 and 0.1613; a pad of
    # 10 dB makes 10 dB an even chance. Squares: 0.0260, 0.0260, 0.25 and 0.7034 of four, mean 0.2514.
    site = site_with([10.0, -10.0])
    rows = taken(
        {"rf_channel": "14"},
        {"rf_channel": "18", "locked": False},
        {"rf_channel": "14", "pad_db": 10.0},
        {"rf_channel": "14", "locked": False},
    )
    found = survey.score(site, rows)
    assert found.table["chance"].tolist() == pytest.approx([0.8387, 0.1613, 0.5, 0.8387], abs=2e-4)
    assert found.table["margin_db"].tolist() == pytest.approx([10, -10, 0, 10], abs=1e-6)
    assert found.brier == pytest.approx(0.2514, abs=3e-4)
    assert found.calibration["said"].tolist() == pytest.approx([0.1613, 0.5, 0.8387], abs=2e-4)
    assert found.calibration["came"].tolist() == [0, 1, 0.5]
    assert found.calibration["count"].tolist() == [1, 1, 2]


def test_calibration_tells_fifths_apart():
    # -10 and -7.8 dB to spare of 10.112: 0.1613 and 0.2202, on either side of a fifth.
    site = site_with([-10.0, -7.8])
    found = survey.score(site, taken({"rf_channel": "14"}, {"rf_channel": "18"})).calibration
    assert found["said"].tolist() == pytest.approx([0.1613, 0.2202], abs=2e-4)


def test_a_fifth_says_the_mean_of_its_chances():
    # Of 10.112: 0.8387 twice and 20 dB to spare, 0.9760, are 0.8845 on average; their middle is 0.8387.
    rows = taken({"rf_channel": "14"}, {"rf_channel": "14"}, {"rf_channel": "18"})
    found = survey.score(site_with([10.0, 20.0]), rows).calibration
    assert found["said"].tolist() == pytest.approx([0.8845], abs=2e-4)


def test_score_joins_what_is_not_known_in_squares():
    # Path 10, antenna 3, the mount's own 5, a blocked side 6, and 0.15 of the 20 dB that the pattern
    # has fallen there: sqrt(100 + 9 + 25 + 36 + 9 + 2.25) = 13.463. Ahead: sqrt(136.25) = 11.673.
    wall = Mount("wall", "balcony", 9.1, open_to_deg=90.0, blocked_loss_db=4.0, extra_sd_db=5.0)
    beam = block(30.0, -20.0, "beam", spread_db=3.0)
    site = site_with([20.0, 36.0], mounts=(wall,), antennas=(beam,), bearing_deg=[0.0, 180.0])
    rows = taken({"rf_channel": "14"}, {"rf_channel": "18"}, antenna="beam", mount="wall")
    found = survey.score(site, rows).table
    assert found["margin_db"].tolist() == pytest.approx([20, 12], abs=1e-6)
    by_hand = stats.norm.cdf([20 / 11.673, 12 / 13.463])
    assert found["chance"].tolist() == pytest.approx(by_hand, abs=1e-4)


def test_a_moment_fades_by_the_sd_of_the_time():
    # The level held for 90 % of the time lies 1.2816 sd below the median.
    site = site_with([10.0], distance_km=90.0)
    fade = survey.outlook(site, survey.Setup("flat", "mast", heading_deg=0))["fade_db"].item()
    assert 7.5 < fade < 11  # between the charts of 47 CFR 73.699 at 80 and at 100 km
    sd = np.sqrt(100 + (fade / 1.2816) ** 2 + WOBBLE_DB**2)
    (chance,) = survey.score(site, taken({"rf_channel": "14"})).table["chance"]
    assert chance == pytest.approx(stats.norm.cdf(10 / sd), abs=1e-4)


SHARE, WIDE_DB = 0.02, 10.0
"""Of readings so many are wild, and lie off by so much more: facts table judgement."""


def taught(more_db, variance, of):
    """Mean and sd of a part of variance ``of``, after ``more_db`` told with ``variance``, or wild.

    A mixture of two normals: each moves the part by of / (of + rest + its own variance).
    """
    each = np.array([variance, variance + WIDE_DB**2])
    weight = [1 - SHARE, SHARE] * stats.norm.pdf(more_db, 0, np.sqrt(each))
    weight = weight / weight.sum()
    mean, left = more_db * of / each, of - of**2 / each
    middle = weight @ mean
    return middle, np.sqrt(weight @ (left + mean**2) - middle**2)


def test_what_one_figure_teaches_by_hand():
    # A C/N of 25.2 is 10 dB to spare (8-VSB is lost at 15.2) where 4 were forecast: 6 more. The scale
    # is sure to 1 dB of zero, 0.3 of flicker and 0.1 of step: 1.044; the moment wobbles by 1.5. So a
    # normal distribution of 10 dB meets one of sqrt(1.044^2 + 1.5^2) = 1.828: mean
    # 6 x 100 / 103.341 = 5.806, sd 1 / sqrt(1/100 + 1/3.341) = 1.798, a little more as it may be wild.
    site = site_with([4.0])
    wiser = survey.inform(site, taken({"scale": "cn_db", "reading": 25.2}))
    mean, sd = taught(6.0, 103.341, 100.0)
    assert 5.70 < mean < 5.806 and 1.798 < sd < 2.1
    assert wiser.belief.mean_db().tolist() == pytest.approx([mean], abs=0.01)
    assert wiser.belief.sd_db().tolist() == pytest.approx([sd], abs=0.03)
    row = survey.outlook(wiser, survey.Setup("flat", "mast", heading_deg=0)).iloc[0]
    assert row["margin_db"] == pytest.approx(4 + mean, abs=0.01)


def test_what_a_picture_alone_teaches_by_hand():
    # "More than -4" of a normal distribution of 10, blurred by 1.5: the sum has sd 10.112, and the
    # mean of the path moves by 100 / 10.112 x pdf(z) / cdf(z) at z = 4 / 10.112 = 0.3956
    # (moments of a truncated normal distribution).
    z = 4 / np.hypot(10, WOBBLE_DB)
    moved = 100 / np.hypot(10, WOBBLE_DB) * stats.norm.pdf(z) / stats.norm.cdf(z)
    wiser = survey.inform(site_with([4.0]), taken({}))
    assert wiser.belief.mean_db().tolist() == pytest.approx([moved], abs=0.03)
    # No picture: "less than -4".
    moved = -100 / np.hypot(10, WOBBLE_DB) * stats.norm.pdf(z) / stats.norm.cdf(-z)
    wiser = survey.inform(site_with([4.0]), taken({"locked": False}))
    assert wiser.belief.mean_db().tolist() == pytest.approx([moved], abs=0.03)


def test_of_many_shared_unknowns_those_that_matter_most_are_kept():
    # Squares of the doubt times the readings it is in: 1, 4 x 4 = 16, 9, 16 + 16: the first goes.
    sds = {"first": 1.0, "second": 2.0, "third": 3.0, "fourth": 4.0}
    antennas = [flat().renamed(name, spread_db=sd) for name, sd in sds.items()]
    site = site_with([4.0, 4.0], antennas=antennas)
    names = ["first", *["second"] * 4, "third", *["fourth"] * 2]
    wiser = survey.inform(site, taken(*({"antenna": name} for name in names)))
    kept = {Unknown("antenna", name) for name in ("second", "third", "fourth")}
    assert set(wiser.belief.groups()) == kept
    # The first's doubt widens its own reading: sqrt(1.5^2 + 1^2) = 1.803.
    sds = wiser.belief.observations.sd_db
    assert sds.tolist() == pytest.approx([1.803, *[WOBBLE_DB] * 7], abs=5e-4)


def test_what_was_taught_of_path_antenna_and_mount_is_shared_out_by_their_variance():
    # 6 dB more than forecast, told with a variance of 3.341 (above), of a path of 10 dB and an antenna
    # or a mount of 5: 6 x 100 / 128.341 = 4.675 go to the path and 6 x 25 / 128.341 = 1.169 to the
    # other. The sum is left with 1 / sqrt(1/125 + 1/3.341) = 1.804 dB, the path alone with
    # 10 sqrt(1 - 100 / 128.341) = 4.699; all that but for a reading that is wild.
    (both, both_sd), (path, path_sd) = taught(6, 128.341, 125.0), taught(6, 128.341, 100.0)
    assert (both, path) == pytest.approx((5.844, 4.675), abs=0.1)
    loop = flat().renamed("loop", spread_db=5.0)
    shaky = Mount("shaky", "mast", 9.1, extra_sd_db=5.0)
    site = site_with([4.0], mounts=(Mount("mast", "mast", 9.1), shaky), antennas=(loop,))
    for own in ({"antenna": "loop"}, {"mount": "shaky"}):
        wiser = survey.inform(site, taken({"scale": "cn_db", "reading": 25.2, **own}))
        told = [
            survey.outlook(wiser, survey.Setup(*parts, heading_deg=0)).iloc[0]
            for parts in ((own.get("antenna", "flat"), own.get("mount", "mast")), ("flat", "mast"))
        ]
        margins, spreads = ([row[c] for row in told] for c in ("margin_db", "spread_db"))
        assert margins == pytest.approx([4 + both, 4 + path], abs=0.02)
        assert spreads == pytest.approx([both_sd, path_sd], abs=0.04)


def rungs(step_db, name="set", shown=1.0):
    """A ladder of 10/3 % a dB, lost right behind the pad of 18 dB that read 30 %, noted in ``shown``."""
    pads = np.arange(0.0, 18.0 + 1.5 * step_db, step_db)
    reading = shown * np.round((30 + (18 - pads) * 10 / 3) / shown)
    return pd.DataFrame({
        "meter": name, "scale": "quality", "rf_channel": "14", "pad_db": pads,
        "reading": np.where(pads > 18, np.nan, reading), "locked": pads <= 18,
    })  # fmt: skip


@pytest.mark.parametrize(("step_db", "bracket_sd_db"), [(6.0, 1.732), (1.5, 0.433)])
def test_the_bracket_of_a_ladder_is_one_error_of_all_readings_of_a_roof(step_db, bracket_sd_db):
    # Held behind 18 dB, lost behind 24: the zero lies anywhere in 6 dB, an sd of 6 / sqrt(12) = 1.732,
    # for every reading through it alike. What eight places bring together was known to
    # sqrt(100/6 + 500/6/8) = 5.20 dB: together 1 / sqrt(1/1.732^2 + 1/5.20^2) = 1.643 (1.5 dB: 0.431).
    # So much is left however often they are read; taken for each reading's own error, 128 of them would
    # leave 2.45 / sqrt(128) = 0.22. What a station has of its own, of which no zero knows, is half as
    # doubtful with four times the readings.
    least = 1 / np.sqrt(1 / bracket_sd_db**2 + 1 / 5.20**2)
    bearings = np.arange(0.0, 360.0, 45.0)
    site = replace(site_with([12.0] * 8, bearing_deg=bearings), ladder=rungs(step_db))
    together, apart = [], []
    for count in (4, 16):
        rows = [{"rf_channel": c, "reading": 60.0} for c in site.stations["rf_channel"]]
        offsets = survey.inform(site, taken(*rows * count)).belief.draws(4000)[0]
        together.append(offsets.mean(axis=1).std())
        apart.append((offsets[:, 0] - offsets[:, 1]).std())
    assert least < min(together) and max(together) < least + 0.35, together
    assert together[1] > 0.85 * together[0] and apart[1] / apart[0] == pytest.approx(0.5, abs=0.05)


def test_pictures_alone_pin_what_is_to_spare():
    # Behind 12 dB a picture, behind 15 none, so 13.5 dB to spare, give or take 3 / sqrt(12) = 0.87 for
    # the bracket and 1.5 for the wobble of what was looked at: 1.73 together, not the 10 of before. The
    # forecast of 4 pulls by 9.5 x 1.73^2 / 103 = 0.28. That it also held behind 0, 3, 6 and 9 and not
    # behind 18 says no more than was known.
    site = site_with([4.0])
    for pads in ((12, 15), (0, 3, 6, 9, 12, 15, 18)):
        belief = survey.inform(site, taken(*({"pad_db": p, "locked": p < 13} for p in pads))).belief
        assert 4 + belief.mean_db()[0] == pytest.approx(13.22, abs=0.1)
        assert belief.sd_db()[0] == pytest.approx(1.73, abs=0.2)


def test_one_wild_reading_of_seven_is_set_aside():
    # Six C/N of 32.2 to 34.2, 18 dB above 15.2 on average, and one of 17.2, 16 dB below: an engineer
    # strikes it out. Six leave 1 dB of zero and 1.53 / sqrt(6) = 0.62: 1.18 dB about 18, of which the
    # forecast of 12 pulls back 6 x 1.18^2 / 101.4 = 0.08. A mean of seven would be 2.3 dB too low.
    levels = [32.2, 33.2, 34.2, 34.2, 33.2, 32.2, 17.2]
    rows = [{"scale": "cn_db", "reading": level} for level in levels]
    belief = survey.inform(site_with([12.0]), taken(*rows)).belief
    assert 12 + belief.mean_db()[0] == pytest.approx(17.92, abs=0.15)
    assert belief.sd_db()[0] == pytest.approx(1.18, abs=0.1)


def test_a_meter_in_tens_counts_for_less_than_one_in_ones():
    # 30 % at the edge and 10/3 % a dB: 60 is 9 dB above the last rung held, which lies half a dB above
    # the edge. A step of ten is 3 dB wide, 3 / sqrt(12) = 0.87 more: sqrt(1.5^2 + 0.87^2) = 1.73 against
    # 1.5. Of two that say 60 and 70, 3 dB apart, the finer rules: 1/1.73^2 to 1/1.5^2 is 0.43 to 0.57.
    ladders = pd.concat([rungs(1.0, "tens", 10.0), rungs(1.0, "ones")], ignore_index=True)
    site = replace(site_with([9.5]), ladder=ladders)

    def told(*readings):
        rows = [{"meter": meter, "reading": level} for meter, level in readings]
        belief = survey.inform(site, taken(*rows)).belief
        return belief.mean_db()[0], belief.sd_db()[0], belief.observations.sd_db

    (tens, tens_sd, own), (ones, ones_sd, fine) = told(("tens", 60.0)), told(("ones", 60.0))
    assert 9.5 + tens == pytest.approx(9.5, abs=0.5) and 9.5 + ones == pytest.approx(9.5, abs=0.5)
    assert own[0] == pytest.approx(1.73, abs=0.25) and fine[0] == pytest.approx(1.5, abs=0.05)
    assert tens_sd > ones_sd + 0.2
    high = told(("ones", 70.0))[0] - ones
    mixed, sd, _ = told(("tens", 60.0), ("ones", 70.0))
    assert high == pytest.approx(3.0, abs=0.3) and 0.5 < (mixed - tens) / high < 0.75
    assert sd < ones_sd


def test_pads_and_amplifiers_of_a_reading_by_hand():
    # An amplifier of 20 dB and 2 dB of noise before 4 dB of line and a tuner of 7: 1.585 + 11.59 / 100
    # is a noise figure of 2.307, and 10 dB to spare without it (11 before) become 18.693. A pad of 10
    # at the antenna takes 10; at the set 1.585 + 124.9 / 100 is 4.524, so 2.217. Unpowered it loses
    # 20 dB (judgement); taken out, 10 are to spare again.
    feed = chain.Feed("line", (chain.amplifier("amplifier", 20.0, 2.0), chain.pad(4.0)))
    site = replace(site_with([10.0]), feeds={"line": feed})
    rows = taken(
        {},
        {"pad_db": 10.0, "pad_at": "antenna"},
        {"pad_db": 10.0, "pad_at": "set"},
        {"amplifier": "off"},
        {"amplifier": "none"},
    )
    margins = survey.score(site, rows).table["margin_db"]
    assert margins.tolist() == pytest.approx([18.693, 8.693, 16.476, -10, 10], abs=2e-3)


def test_a_reading_of_a_channel_is_of_the_strongest_on_it():
    # Each is noise to the other: C/N 15.2 + 5 and 15.2 + 25 alone; 25 - 10 log10(1 + 10^2.02) = 4.759.
    site = site_with([5.0, 25.0], bearing_deg=[0.0, 90.0], freq_mhz=473.0)
    site = site.with_stations(site.stations.assign(rf_channel="14"))
    table = survey.score(site, taken({})).table
    assert table["station"].item() == "s1"
    assert table["margin_db"].item() == pytest.approx(4.759, abs=2e-3)


def test_next_reading_is_nearest_to_the_edge_by_hand():
    # Spare dB less fade, in sds of 10: 3 to spare five km away are 0.3; 90 km away, where 9 dB fade,
    # 10 to spare are about 0.1 and 1 to spare about -0.8.
    site = site_with(
        [3.0, 10.0, 1.0], distance_km=[5.0, 90.0, 90.0], bearing_deg=[0.0, 90.0, 180.0]
    )
    setup = survey.Setup("flat", "mast", heading_deg=0)
    asked = [survey.next_reading(site, setup, taken({"rf_channel": "99"}))]
    read = []
    for _ in range(2):
        read.append({"rf_channel": asked[-1].rf_channel})
        asked.append(survey.next_reading(site, setup, taken(*read)))
    assert [one.station for one in asked] == ["s1", "s0", "s2"]
    assert asked[0].margin_db == pytest.approx(10, abs=1e-6)
    assert asked[0].spread_db == pytest.approx(10, abs=1e-6)
    # What nobody wants is not asked for, however near to the edge.
    site = site_with([5.0, 0.0], wanted=[True, False])
    assert survey.next_reading(site, setup, taken({"rf_channel": "99"})).station == "s0"
    # Twice the spread makes 8 dB (0.36 sd of 22.36) nearer to the edge than 5 (0.5 sd of 10).
    site = site_with([5.0, 8.0], unknown_sd_db=[0.0, 20.0])
    assert survey.next_reading(site, setup, taken({"rf_channel": "99"})).station == "s1"


def test_next_reading_returns_to_a_bound_with_the_pad_between_its_ends_by_hand():
    # 30 dB to spare, the middle of a meter without a ladder near 9 dB: 21 dB too many, so 20 dB of pad.
    setup, pads = survey.Setup("flat", "mast", heading_deg=0), (0, 3, 6, 10, 16, 20)
    site = site_with([30.0], distance_km=[5.0])
    full = survey.curve_of(site, "set", "quality").full_at_db()
    assert 17 < full < 19
    held = {"rf_channel": "14", "reading": 100.0}
    ask = lambda *rows: survey.next_reading(site, setup, taken(*rows), pads)  # noqa: E731
    assert ask({"rf_channel": "99"}).pad_db == 20 and ask(held).pad_db == 20
    assert "only one end of it is known" in ask(held).why
    # It held full behind 10 dB and broke behind 20: of the pads at hand only 16 lies between.
    lost = {"rf_channel": "14", "pad_db": 20.0, "locked": False}
    assert ask({**held, "pad_db": 10.0}, lost).pad_db == 16
    # From 16 up to 20 there is no pad: nothing more is worth it.
    assert ask({**held, "pad_db": 16.0}, lost) is None
    # One already begun waits by one spread of 10 dB: 2 dB from the edge it counts 1.2, after 0.8.
    for other_db, first in ((8.0, "s1"), (13.0, "s0")):
        site = site_with([2.0, other_db])
        begun = taken({"rf_channel": "14"})  # a picture and no reading: an end
        assert survey.next_reading(site, setup, begun).station == first


def test_a_turn_by_hand():
    # A C/N in dB is dB, read every 30 degrees: 26 at the most, at 60 and 90, so 75. Four headings lie
    # within 3 dB of that and stand for 120 degrees; two more lie within 6.
    level = {60: 26.0, 90: 26.0, 120: 24.0, 30: 23.5, 0: 22.5, 150: 21.0}
    rows = [
        {"heading_deg": float(h), "reading": level.get(h, 19.5), "scale": "cn_db"}
        for h in range(0, 360, 30)
    ]
    site = site_with([10.0], bearing_deg=[80.0])
    found = survey.turned(site, taken(*rows), "14")
    assert found.peak_deg == pytest.approx(75) and found.bearing_deg == 80
    assert found.arc_deg == 120
    assert found.swing_db == pytest.approx(6.5, abs=0.01)
    assert "as the bearing" in found.verdict
    # A heading stands for half the way to each of its neighbours: 20 for 10 to 40, with 10 for 5 to 15.
    uneven = [
        {"heading_deg": h, "reading": r, "scale": "cn_db"}
        for h, r in zip([0.0, 10.0, 20.0, 60.0, 200.0], [20.0, 26.0, 25.0, 19.0, 18.0], strict=True)
    ]
    assert survey.turned(site, taken(*uneven), "14").arc_deg == 35
    # Most on both sides of north is north; a heading 1.5 dB down is not at the most.
    north = [
        {"heading_deg": h, "reading": r, "scale": "cn_db"}
        for h, r in zip([10.0, 40.0, 120.0, 250.0, 350.0], [26, 24.5, 18, 19, 26.0], strict=True)
    ]
    peak = survey.turned(site, taken(*north), "14").peak_deg
    assert (peak + 180) % 360 == pytest.approx(180)
    # Half of the arc, 60 degrees, may lie between most and bearing; 62 are a reflection.
    for bearing_deg, words in ((134.0, "as the bearing"), (137.0, "reflection")):
        site = site_with([10.0], bearing_deg=[bearing_deg])
        assert words in survey.turned(site, taken(*rows), "14").verdict


# ---- the town -----------------------------------------------------------------------------------


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


@pytest.mark.parametrize("unknown", ["?", "", np.nan, None])
def test_a_lock_that_is_not_known_teaches_nothing(site, unknown):
    # RF 24 has 26.0 dB to spare with this set-up. One such row, taken for no picture, made -1.3 of
    # it: 27 dB, from nothing.
    row = {"locked": unknown}
    wiser = survey.inform(site, table(site, row))
    assert gazette(site)["margin_db"] == pytest.approx(26.02, abs=0.05)
    assert gazette(wiser)["margin_db"] == gazette(site)["margin_db"]
    assert "whether there was a picture is not known" in wiser.notes[-1]
    with pytest.raises(ValueError, match="No reading of this site can be compared"):
        survey.score(site, table(site, row))
    known = table(site, row, {"locked": "no"})
    assert survey.score(site, known).table["locked"].tolist() == [False]


@pytest.mark.parametrize("unknown", ["?", "", np.nan, None, "maybe"])
def test_a_lock_that_is_not_known_is_the_same_to_every_reader(site, unknown):
    # Held at 10, lost at 20 dB: a row at 15 dB of which nobody knows is neither.
    pads = pd.DataFrame({"pad_db": [0, 10, 15, 20], "reading": [90, 60, 40, np.nan]})
    rungs = meters.ladder.Rungs.read(pads.assign(locked=["yes", "yes", unknown, "no"]))
    assert (rungs.held_db[0], rungs.lost_db[0]) == (10.0, 20.0)
    assert rungs.reading.tolist() == [90.0, 60.0] and "lock not known" in rungs.notes[0]
    curve = meters.MeterCurve.default("quality")
    assert curve.to_margin_db([70.0], [unknown]).status[0] == "unusable"
    turn = table(site, *({"heading_deg": h, "locked": unknown} for h in (0, 90, 180, 270.0)))
    with pytest.raises(ValueError, match="at four headings or more on RF 24; it has 0"):
        survey.turned(site, turn, "24")
    assert tables.lock(unknown) is None and np.isnan(tables.locks([unknown, "yes"])[0])


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
    assert Unknown("mount", "attic") in wiser.belief.groups()
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
    zero = Unknown("meter", f"{site.tuner.name}, quality")
    doubt = {b: next(u.sd_db for u in b.groups() if u == zero) for b in (knows, guesses)}
    assert (
        doubt[knows] < 2 < 15 < doubt[guesses]
    )  # the bracket of a ladder that broke; no zero at all
    names = list(site.stations["rf_channel"])
    pair = [names.index(channel) for channel in ("24", "9")]
    for of in (np.mean, np.std):  # draws of the difference: as with the zero known, but for chance
        drawn = [
            of(np.diff(b.draws(count=20_000, rng=np.random.default_rng(0))[0][:, pair]))
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


# ---- both at once --------------------------------------------------------------------------------


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
        survey.inform(site, rows),
        survey.Setup("bow-tie with screen", "roof mast", heading_deg=60.0),
    ).set_index("station")
    assert told.loc["Washboard", "chance"] == told.loc["Almanac", "chance"] < 0.5


@pytest.mark.parametrize("column", ["rf_channel", "reading", "locked"])
def test_a_table_without_a_column_is_told_which(site, column):
    with pytest.raises(ValueError, match=f"The readings have no column {column}"):
        survey.inform(site, table(site, {}).drop(columns=column))
