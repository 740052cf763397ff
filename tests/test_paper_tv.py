"""The paper TV: every card against simulate or a sum by hand, its clock, its lock, and the bet."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from signalshed import chain, simulate, survey
from signalshed.simulate import paper_tv

HUNG = paper_tv.ANTENNAS[0]
KINDS = {simulate.tv_card(n).kind: n for n in range(13, 25)}
IN_A_LINE = [n for n in KINDS.values() if simulate.tv_card(n).trouble in ("none", "amplifier")]


@pytest.fixture
def exact(monkeypatch):
    """Strips, plugs and mountings that are what they say."""
    for name in ("MOUNT_SD_DB", "STRIP_SD_DB", "PLUG_SD_DB"):
        monkeypatch.setattr(paper_tv, name, 0.0)


def test_there_are_twelve_kinds_and_every_table_meets_a_plain_one_first():
    assert len(KINDS) == 12
    plain = {simulate.tv_card(n).kind for n in range(1, 13)}
    assert len(plain) == 5 and all(kind.startswith("plain") for kind in plain)
    troubles = [simulate.tv_card(n).trouble for n in KINDS.values()]
    assert sorted(t for t in troubles if t != "none") == ["amplifier", "house", "overload", "wet"]


@pytest.mark.parametrize("number", IN_A_LINE)
def test_a_card_reads_as_simulate_does_at_a_house_whose_truth_is_known(number, exact):
    """The meter ladder of the card, and one made at the hill house with the same meter and line."""
    card, truth = simulate.tv_card(number), simulate.truth()
    parts = (chain.amplifier("mast amplifier", 16, 2), chain.pad(4))
    feed = chain.Feed("line", parts if card.trouble == "amplifier" else ())
    setup = survey.Setup(
        "double loop with screen", truth.site.mount("roof mast"), feed=feed, heading_deg=38.0
    )
    pads_db = [0.0, 3.0, 6.0, 10.0, 13.0, 20.0, 26.0, 33.0]
    row = truth.site.stations["rf_channel"].tolist().index("24")
    there = [
        truth.margin_db(
            survey.Setup(setup.antenna, setup.mount, feed=feed.with_pad(p, "set"), heading_deg=38.0)
        )[row]
        for p in pads_db
    ]
    tv = simulate.PaperTV(number)
    lying = {0: [], 3: ["3"], 6: ["6"], 10: ["10"], 13: ["10", "3"], 20: ["20"],
             26: ["20", "6"], 33: ["20", "10", "3"]}  # fmt: skip
    ours = np.array([tv.spare_db(lying[p], HUNG, "A") for p in pads_db])
    assert np.allclose(ours - ours[0], np.array(there) - there[0], atol=0.6)
    shown = card.meter.show(ours)[0]
    moved = card.meter.show(np.array(there) - there[0] + ours[0])[0]
    assert np.abs(shown - moved).max() <= max(card.meter.step, 4)


def test_behind_a_mast_amplifier_a_strip_of_ten_costs_four():
    """By hand, Friis: 1.585 + (2.512 x 5.012 - 1) / 39.8 is 1.876; with ten times more behind the
    amplifier 1.585 + (125.9 - 1) / 39.8 is 4.723; their ratio is 4.0 dB."""
    assert paper_tv.strip_cost_db("amplifier", 10.0) == pytest.approx(
        10 * np.log10(4.723 / 1.876), abs=0.02
    )


def test_house_noise_at_vhf_by_hand():
    """Rec. ITU-R P.372: man-made noise in a city 76.8 - 27.7 log10(195) is 13.4 dB, the galaxy's
    52 - 23 log10(195) is -0.7: 22.5 times; the TV 5.0, or 50 behind the strip."""
    outside = 10 ** (13.36 / 10) + 10 ** (-0.67 / 10)
    by_hand = 10 * np.log10((outside + 50.12 - 1) / (outside + 5.012 - 1))
    assert paper_tv.strip_cost_db("house", 10.0) == pytest.approx(by_hand, abs=0.15)


def test_an_overdriven_tv_gains_two_decibels_a_decibel_until_its_noise_rules():
    """Third-order products fall 3 dB for each dB of the loud ones, 2 dB against the wanted one."""
    cost = [paper_tv.strip_cost_db("overload", float(p)) for p in (0, 1, 3, 6, 10, 20)]
    assert cost[0] == 0 and -2.0 <= cost[1] <= -1.5
    assert min(cost) < -5 and cost[-1] - cost[-2] == pytest.approx(10, abs=0.6)
    tv = simulate.PaperTV(KINDS["overdriven"])
    assert tv.spare_db(["3"], HUNG, "C") > tv.spare_db([], HUNG, "C") + 3


def test_a_wet_plug_falls_by_a_decibel_in_ten_minutes(exact):
    tv = simulate.PaperTV(KINDS["a wet plug"])
    before = tv.spare_db([], HUNG, "A")
    tv.spent_min = 10.0
    assert before - tv.spare_db([], HUNG, "A") == pytest.approx(1.0)


# ---- the clock, the lock, the list ---------------------------------------------------------------


def test_what_each_press_costs_and_the_dark_at_the_end():
    """By hand: a pad 1; a station 0.75 more; an antenna swapped 8 and turned 1.5 more."""
    tv, spent = simulate.PaperTV(1, purse_min=25), []
    for strips, antenna, station in (
        ([], HUNG, "A"),
        (["3"], HUNG, "A"),
        ([], HUNG, "B"),
        ([], "X", "B"),
        ([], "Y", "A"),
    ):
        tv.screw_in(strips, antenna, station)
        spent.append(tv.spent_min)
    assert spent == [1, 2, 3.75, 14.25, 25] and tv.clock == "18:25"
    with pytest.raises(ValueError, match="purse is empty"):
        tv.screw_in([], "Y", "A")


def test_one_that_plays_holds_to_one_below_and_one_newly_screwed_in_needs_nought(
    exact, monkeypatch
):
    tv, level = simulate.PaperTV(1), {"now": 0.5}
    monkeypatch.setattr(tv, "spare_db", lambda *_: level["now"])
    shown = []
    for now, strips in ((0.5, []), (-0.5, []), (-0.5, ["3"]), (-0.5, ["3"]), (1.5, []), (-1.2, [])):
        level["now"] = now
        shown.append(tv.screw_in(strips, HUNG, "A").picture)
    assert shown == ["blocks", "blocks", "black", "black", "clean", "black"]


def test_a_scan_with_strips_forgets_and_a_bare_one_finds_again(exact):
    tv = simulate.PaperTV(1)
    assert tv.scan(["20", "6"], HUNG) == ["B"]
    with pytest.raises(ValueError, match="Station A is not in the list"):
        tv.screw_in([], HUNG, "A")
    assert tv.scan([], HUNG) == ["A", "B", "C", "D"], "what is sent is found; D stays black"
    assert tv.spent_min == 2 * 4 * 0.75


@pytest.mark.parametrize(
    ("strips", "antenna", "told"),
    [(["9"], HUNG, "strips"), (["3", "3"], HUNG, "each once"), ([], "Z", "antenna is 'Z'")],
)
def test_what_is_not_there_is_named(strips, antenna, told):
    with pytest.raises(ValueError, match=told):
        simulate.PaperTV(1).screw_in(strips, antenna, "A")


def test_a_repeat_of_the_evening_gives_the_same_and_a_second_look_another():
    def evening():
        tv = simulate.PaperTV(5)
        return [tv.screw_in(["10"], HUNG, "A").reading for _ in range(6)]

    assert evening() == evening() and len(set(evening())) > 1
    assert simulate.PaperTV(5).screw_in([], HUNG, "D").reading is None


# ---- envelopes, bets, and two tables that disagree -----------------------------------------------


def test_half_of_the_pairs_are_equal_and_one_of_the_others_is_y():
    truth = [simulate.PaperTV(1, pair).truth_db for pair in range(1, 7)]
    assert truth.count(0) == 3 and sum(t > 0 for t in truth) == 1


def test_two_tables_with_equal_antennas_and_opposite_orders_name_opposite_winners(
    exact, monkeypatch
):
    """By hand: 10.5 minutes between the looks are 1.05 dB of drift, two mountings scatter by
    0.99 dB; each table is misled with p = 0.856, opposite with p^2 + (1 - p)^2 = 0.753."""
    monkeypatch.setattr(paper_tv, "MOUNT_SD_DB", 0.7)
    p = norm.cdf(1.05 / np.hypot(0.7, 0.7))
    assert p * p + (1 - p) ** 2 == pytest.approx(0.753, abs=0.001)
    card, opposite = simulate.tv_card(1), []
    for k in range(600):
        winners = []
        for table, order in enumerate(("XY", "YX")):
            tv = simulate.PaperTV(1, pair=1)
            tv.card = replace(card, number=5000 + 2 * k + table)
            level = {}
            for antenna in order:
                tv.screw_in([], antenna, "A")
                level[antenna] = tv.spare_db([], antenna, "A")
            winners.append(level["Y"] > level["X"])
        opposite.append(winners[0] != winners[1])
    assert np.mean(opposite) == pytest.approx(0.753, abs=0.05)


def test_a_bet_is_scored_by_its_width_and_what_it_misses_by():
    """Gneiting and Raftery (2007), interval score at 90 %: by hand 2 wide and 1 off is 2 + 20."""
    assert simulate.score(-1, 1, 0) == 2 and simulate.score(1, 3, 0) == 22
    assert np.asarray(simulate.score([0, -2], [1, 2], [3, 3])).tolist() == [41, 24]
    with pytest.raises(ValueError, match="low_db"):
        simulate.score(2, 1, 0)


def test_at_the_best_bet_nine_of_ten_are_inside():
    """A bet of the true spread scores best on average, so nobody gains by a lie."""
    truth = np.random.default_rng(1).standard_normal(20000)
    half = np.linspace(0.5, 3, 26)
    means = [np.mean(simulate.score(-h, h, truth)) for h in half]
    assert half[int(np.argmin(means))] == pytest.approx(norm.ppf(0.95), abs=0.15)
