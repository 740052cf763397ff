"""What lesson 02 computes beside its panels: one invented account, one hill, real ground."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import chain, facts, path, plots
from signalshed.classroom import lesson_02
from signalshed.simulate.town import seen_from
from signalshed.site import Mount, Place

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
LESSONS = ("02_link_budgets.ipynb", "03_signal_meters.ipynb")


def test_the_account_adds_up_to_what_the_survey_says():
    rows, row = lesson_02.account_of("9", 40, 20)
    assert rows["value_db"].sum() == pytest.approx(row["spare_db"], abs=1e-9)


def test_twice_the_power_is_three_decibels_more():
    margins = [lesson_02.account_of(erp_kw=kw)[1]["margin_db"] for kw in (100, 200)]
    assert np.diff(margins)[0] == pytest.approx(10 * np.log10(2), abs=1e-9)


def test_one_unit_keeps_the_end_and_starts_from_a_dipole_in_the_open():
    # By hand: 200 kW over 50 km of empty space are 106.92 + 23.01 - 33.98 = 95.93 dBµV/m (P.525, from a
    # half-wave dipole); a dipole makes -129.79 dB of it at 545 MHz; kTB in 6 MHz is -106.2 dBm; 15.2.
    rows, row = lesson_02.account_of()
    one = lesson_02.in_spare_db(rows)
    assert one["running_db"].iloc[-1] == pytest.approx(row["spare_db"], abs=1e-9)
    assert one["value_db"].iloc[0] == pytest.approx(95.93 - 129.79 + 106.2 - 15.2, abs=0.1)
    line = one.set_index("term")["value_db"]["cable, amplifier, noise"]
    cable_db = -chain.coax("series6", 18).gain_at_db(545)
    assert line == pytest.approx(-(cable_db + 7), abs=0.01), (
        "cable loss joins the TV's noise figure"
    )


def test_the_vote_by_friis_and_six_metres_by_the_charts():
    # Friis by hand: cable 2.78 dB and a TV of 7 dB are 9.78; a box of 16 dB and 2 dB before them 2.46;
    # behind the cable 2.78 + 2.54 = 5.32 (2 dB and 7 dB over 16 dB).
    spare = list(lesson_02.voted("26", 18).values())
    gained = [db - spare[0] for db in spare[1:]]
    assert gained[0] == pytest.approx(9.78 - 2.46, abs=0.2)
    assert gained[1] == pytest.approx(9.78 - 5.32, abs=0.4)
    assert gained[2] == pytest.approx(-20, abs=0.1), "the amplifier without supply, our judgement"
    # 20 log(15 / 9) is 4.4 dB; the charts' own law of height gives that at UHF, cable takes 0.9 back.
    assert gained[3] == pytest.approx(20 * np.log10(15 / 9) - 0.93, abs=0.3)
    low = list(lesson_02.voted("3", 18).values())
    assert low[1] <= low[0] and low[4] > low[0] + 2, "at low VHF height helps and the box does not"


@pytest.mark.parametrize("maker", [lesson_02.vote_panel, lesson_02.hill_panel])
def test_before_the_guess_nothing_on_the_stage_tells(maker):
    panel = maker()
    before = panel.png
    assert panel.verdict == panel.asks.question and "dB" not in panel.alt.replace("Spare dB", "")
    panel.place(panel.asks.options[0])
    assert panel.png != before and f"ou said {panel.asks.options[0]}" in panel.verdict
    assert any(figure.isdigit() for figure in panel.words.finding)


def test_walls_cost_what_the_recommendation_says():
    # Rec. ITU-R P.2109: the median of the very frequency, for a room. What else a room costs: echoes
    # ask 3 dB more of the TV (our judgement) and fill in the antenna's pattern. Nothing more.
    heights = {"height_agl_m": 9.0}
    mounts = (Mount("here", kind, **heights) for kind in ("mast", "room"))
    out, room = (lesson_02.account_of(mount=m)[0].set_index("term")["value_db"] for m in mounts)
    assert -room["walls and roof"] == pytest.approx(path.entry_loss_db(545), abs=0.01)
    costs = (out - room).dropna().drop("antenna toward the station")
    assert costs["what the tuner needs"] == pytest.approx(3, abs=1e-9)
    assert costs.drop("what the tuner needs").abs().max() < 1e-9
    assert 0 < room["antenna toward the station"] < out["antenna toward the station"]


def test_a_mast_amplifier_helps_far_from_other_masts_and_hurts_near_one():
    def spare_db(amplifier, other_km):
        feed = lesson_02.feed_with(amplifier, 18)
        return lesson_02.account_of(feed=feed, other_km=other_km)[1]["margin_db"]

    # Friis: 18 m of cable and a 7 dB set against 2 dB at the mast, by the same cascade rule.
    cable, box = chain.coax("series6", 18), chain.amplifier("box", **lesson_02.AMPLIFIER)
    own = chain.Part("set", 0, 7)
    orders = (cable, own), (box, cable, own)
    plain, helped = (chain.cascade(parts, 545).noise_figure_db for parts in orders)
    gained = spare_db("at the mast", 60) - spare_db("none", 60)
    assert gained == pytest.approx(plain - helped, abs=0.1)
    assert spare_db("at the mast", 0.2) < spare_db("none", 0.2)
    assert spare_db("at the mast, without supply", 60) < spare_db("none", 60) - 15


def test_the_panel_finds_the_overload():
    panel = lesson_02.account_panel()
    panel.set(other_km=0.2)
    assert "overload" in panel.verdict
    panel.set(amplifier="none")
    assert "overload" not in panel.verdict and "too much signal" in panel.verdict


def test_the_panel_says_what_is_in_the_way_in_words_and_no_token():
    panel = lesson_02.account_panel()
    panel.set(place="in a room, foil and coated glass")
    assert "In the way: walls (32 dB)" in panel.verdict and "_" not in panel.verdict
    panel.reset()
    panel.set(amplifier="at the mast, without supply")
    assert "the amplifier without supply" in panel.verdict
    panel.set(amplifier="none", cable_m=60, distance_km=60)
    assert "cable" in panel.verdict and "an amplifier at the mast" in panel.verdict


def test_the_account_stays_inside_its_axis_at_every_end():
    ends = dict(distance_km=160, erp_kw=1, trees_m=100, place="in a room, foil and coated glass")
    for values in (ends, dict(distance_km=2, erp_kw=1000, height_m=20)):
        panel = lesson_02.account_panel()
        panel.set(**values)
        feed = lesson_02.feed_with("at the mast", 18)
        kind, construction = lesson_02.PLACES[values.get("place", "on a mast")]
        mount = Mount("here", kind, values.get("height_m", 9.0), construction=construction)
        mount = replace(mount, trees_m=float(values.get("trees_m", 0)))
        at = values["distance_km"], values["erp_kw"]
        rows, _ = lesson_02.account_of("26", *at, mount=mount, feed=feed, other_km=60)
        rows = lesson_02.in_spare_db(rows)
        low, high = lesson_02.SUMS_DB
        rows = rows[np.isfinite(rows["running_db"])]  # an overload has no end in dB
        assert low < rows["running_db"].min() and rows["running_db"].max() < high


def test_a_hill_that_just_touches_the_line_costs_six_decibels():
    # Rec. ITU-R P.526 eq. 31 at v = 0: 6.03 dB. The height is searched where the line is touched.
    heights = np.linspace(0, 200, 801)
    tops = [path.obstacle(545, lesson_02.one_hill(h, 20), 150, 9) for h in heights]
    touching = min(tops, key=lambda top: abs(top.above_line_m))
    assert abs(touching.above_line_m) < 0.5
    assert touching.knife_edge_db == pytest.approx(6.03, abs=0.1)


def test_the_real_ground_is_ridges_and_valleys_and_measures_thirty_kilometres():
    # From the sample's own corners: 403 columns of 3 seconds of arc at 36.6 degrees north.
    ground = lesson_02.real_ground()
    assert ground.ground_m.shape == (344, 403)
    by_hand_km = 402 * 3 / 3600 * 111.19 * np.cos(np.deg2rad(36.59))
    assert ground.length_km == pytest.approx(by_hand_km, rel=1e-3)
    assert 200 < ground.ground_m.min() < 300 and 1000 < ground.ground_m.max() < 1200


def test_flat_land_in_the_clear_takes_nothing_and_no_minus_zero():
    panel = lesson_02.hill_panel()
    panel.show_me()
    panel.set(hill_m=0, freq_mhz=690, height_m=20)
    assert "The path is clear" in panel.verdict and "takes 0 dB" in panel.words.finding


@pytest.mark.parametrize("hill_m", [0, 180, 400])
def test_the_label_of_the_hill_leaves_the_line_of_sight_free(hill_m):
    profile = lesson_02.one_hill(hill_m, 28)
    picture = plots.ProfilePicture(plots.style.new_figure(8.8, 4.8).add_subplot(), 40, (0, 520))
    sight = plots.Sight(profile, 545, 150, 9)
    picture.update(sight)
    x, y = picture.label.get_position()
    line_there = np.interp([x - 12, x], sight.distance_km, sight.line_m)
    assert y > line_there.max()


def test_a_moved_station_is_the_one_a_list_would_bring():
    """The panel puts what its sliders move into a list read once; reading it anew says the same."""
    place = Place("roof", 30.45, -40.70)
    listed = pd.DataFrame({
        "station": ["wanted", "other"], "rf_channel": ["9", "34"], "standard": "ATSC1",
        "bearing_deg": [0.0, 90.0], "distance_km": [77.0, 3.0], "erp_kw": [13.0, 50.0],
        "antenna_height_m": [120.0, 60.0], "place": ["wanted", "other"],
    })  # fmt: skip
    anew = seen_from(place, listed.assign(erp_toward_kw=listed["erp_kw"]))
    moved = lesson_02.account._stations(("9", 77, 13, 120), 3, place)
    pd.testing.assert_frame_equal(moved, anew, check_dtype=False)
    with pytest.raises(ValueError, match="distance_km"):
        lesson_02.account_of(distance_km=-1)


def test_the_money_in_the_text_is_that_of_the_facts():
    asks = facts.table("changes").set_index("change")["price"]
    pages = [(NOTEBOOKS / name).read_text(encoding="utf-8") for name in LESSONS]
    assert f"supply out ({asks['no_amplifier']})" in pages[0]
    assert f"before it ({asks['filter']})" in pages[0]
    assert f"pads, which ask for {asks['pad']}, tell" in pages[1]
    panel = lesson_02.vote_panel()
    panel.show_me()
    assert asks["mast_amplifier"] in panel.verdict and asks["higher"] in panel.verdict
