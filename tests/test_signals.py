"""Transmissions and networks: what counts once, what helps, what is asked, on lists in memory."""

import numpy as np
import pandas as pd
import pytest

from signalshed import budget, facts, site, survey

HOME = (30.45, -40.70)
US = {"rf_channel": 24, "standard": "ATSC1", "bearing_deg": 38.0, "distance_km": 60.0}
US |= {"erp_toward_kw": 400.0, "antenna_height_m": 300.0}
EU = {"rf_channel": 24, "standard": "DVB-T2 256-QAM 2/3", "bearing_deg": 38.0, "distance_km": 40.0}
EU |= {"erp_toward_kw": 50.0, "antenna_height_m": 300.0}
MAST = survey.Setup("half-wave dipole", "mast", heading_deg=38.0)


def open_list(*rows, region="us", usual=None):
    usual = usual or (US if region == "us" else EU)
    rows = [{"station": f"s{k}"} | usual | row for k, row in enumerate(rows)]
    return site.from_tables(HOME, rows, region=region)


def outlook(*rows, **how):
    here = open_list(*rows, **how)
    return survey.outlook(here, MAST), " ".join(here.notes)


def europe(*rows):
    return outlook(*rows, region="ge06")


# ---- transmissions ------------------------------------------------------------------------------


def test_sharers_of_one_transmitter_do_not_disturb_each_other():
    alone, _ = outlook({})
    two, notes = outlook({"place": "hill"}, {"place": ""})
    assert two["spare_db"].tolist() == pytest.approx([alone["spare_db"][0]] * 2)
    assert two["wanted"].all() and "row 2, 3: on one channel and within 2 km" in notes


def test_layers_of_one_transmission_keep_their_own_need():
    both, _ = outlook({"needs_cn_db": 20.0}, {"needs_cn_db": 3.0})
    assert both["margin_db"][1] - both["margin_db"][0] == pytest.approx(17.0)


def test_a_permit_of_a_licensed_station_is_no_station():
    alone, _ = outlook({})
    both, notes = outlook({"licence": "licensed"}, {"licence": "permit", "erp_toward_kw": 900.0})
    assert len(both) == 1 and both["chance"][0] == alone["chance"][0]
    assert "stations.csv, row 3: 1 permit of stations that are licensed, left out" in notes
    only, notes = outlook({"licence": "permit"})
    assert only["chance"][0] == alone["chance"][0] and "a permit and no licence" in notes


def test_the_licensed_row_stands_for_its_transmission():
    rows = {"licence": "other", "erp_toward_kw": 900.0}, {"licence": "licensed"}
    assert site.signals(open_list(*rows).stations).sender.tolist() == [1, 1]
    assert site.signals(open_list(rows[0], {}).stations).sender.tolist() == [0, 0]


def test_one_word_on_two_towers_hides_nothing():
    far = {"bearing_deg": 218.0, "distance_km": 30.0}
    apart, _ = outlook({"place": "north"}, {"place": "south"} | far)
    alike, _ = outlook({"place": "tower"}, {"place": "tower"} | far)
    assert alike["spare_db"].tolist() == apart["spare_db"].tolist()
    assert alike["spare_db"][0] < outlook({})[0]["spare_db"][0] - 20


def test_no_chaining_from_tower_to_tower():
    # 1.5 km from one to the next: the third lies 3 km from the strongest, the first.
    rows = [
        {"distance_km": 60.0 + 1.5 * k, "erp_toward_kw": 400.0 - k, "bearing_deg": 38.0}
        for k in range(3)
    ]
    spots = [dict(zip(("latitude_deg", "longitude_deg"), _spot(r), strict=True)) for r in rows]
    rows = [
        {k: v for k, v in (US | r | s).items() if k not in ("bearing_deg", "distance_km")}
        for r, s in zip(rows, spots, strict=True)
    ]
    listed = [{"station": f"s{k}"} | row for k, row in enumerate(rows)]
    found = site.signals(site.from_tables(HOME, listed).stations)
    assert found.sender.tolist() == [0, 0, 2]


def _spot(row):
    from signalshed import earth

    return [float(x) for x in earth.destination(*HOME, row["bearing_deg"], row["distance_km"])]


def test_typed_bearings_are_as_rough_as_they_are_typed():
    # 120 km away one degree is 2.1 km: 38 and 39 degrees may be one hill.
    here = open_list({"distance_km": 120.0}, {"distance_km": 120.0, "bearing_deg": 39.0})
    assert site.signals(here.stations).sender.tolist() == [0, 0]


def test_two_standards_on_one_channel_and_place_are_asked_about():
    alone, _ = outlook({})
    two, notes = outlook({}, {"standard": "ATSC3", "needs_cn_db": 20.0})
    assert two["spare_db"][0] == pytest.approx(alone["spare_db"][0])
    assert "ATSC1 and ATSC3 on one channel and place: which is on the air?" in notes


def test_radio_and_mobile_rows_are_never_joined():
    fm = {"service": "fm", "standard": "", "rf_channel": "FM", "freq_mhz": 98.1}
    here = open_list({}, fm, fm | {"freq_mhz": 99.1}, fm)
    assert site.signals(here.stations).sender.tolist() == [0, 1, 2, 3]


# ---- networks -----------------------------------------------------------------------------------


def test_the_published_share_of_an_echo():
    # ((Tu + Tg - t) / Tu)^2 at 8k, 8 MHz, Tg 224 us, worked by hand.
    share = budget.useful_share([0, 224, 280, 336, 448, 672, 1120, 1300], 224, 896)
    assert share == pytest.approx([1, 1, 0.8789, 0.7656, 0.5625, 0.25, 0, 0], abs=5e-5)


@pytest.mark.parametrize("late", [-90, 0, 64, 120, 200, 300])
def test_the_law_of_an_echo_by_simulated_symbols(late):
    """OFDM from its definition: symbols of 256 carriers, guard of 64 samples, an echo alone, ``late``.

    What of it stands in phase with the carriers sent helps; all else is noise.
    """
    carriers, guard, count = 256, 64, 400
    rng = np.random.default_rng(3)
    sent = rng.choice([1, -1], (count, carriers)) + 1j * rng.choice([1, -1], (count, carriers))
    symbol = np.fft.ifft(sent, axis=1)
    air = np.hstack([symbol[:, -guard:], symbol]).ravel()
    begin = np.arange(1, count - 1)[:, None] * (carriers + guard) + guard - late
    heard = np.fft.fft(air[begin + np.arange(carriers)], axis=1)
    turned = np.exp(2j * np.pi * np.arange(carriers) * late / carriers)
    helps = abs((heard * turned * sent[1:-1].conj()).mean() / 2) ** 2
    assert helps == pytest.approx(budget.useful_share(late, guard, carriers), abs=0.02)
    assert (abs(heard) ** 2).mean() / 2 == pytest.approx(1.0, abs=0.02), "no power is lost"


@pytest.mark.parametrize(
    "delay_us, echo_db, helps_db, hurts_db",
    [
        (200, -3, 1.76, -np.inf),
        (280, -3, 1.59, -12.17),
        (336, 0, 2.47, -6.30),
        (448, -6, 0.57, -9.59),
    ],
)
def test_two_transmitters_by_hand(delay_us, echo_db, helps_db, hurts_db):
    # Worked by hand from the law: C = 1 + w p, I = (1 - w) p, the window on the first.
    pair = budget.Network(
        np.arange(2), np.arange(2), np.array([[1.0, budget.useful_share(delay_us, 224, 896)]])
    )
    noise_mw, power_mw = np.array([1e-9, 1.0]), np.array([1.0, 10 ** (echo_db / 10)])
    helps, hurts = 10 ** (helps_db / 10), 10 ** (hurts_db / 10)
    told = 10 * np.log10(helps / (noise_mw + hurts))
    assert 10 * np.log10(pair.ratio(power_mw, noise_mw)) == pytest.approx(told, abs=0.012)


def test_on_a_roof_what_comes_late_disturbs_by_hand():
    # Two of 1 mW, a quarter of the second helps: 1.25 mW against 0.75 and noise. At a C/N of 1 it comes
    # with 0.4 mW of noise (1.15 in all), not with 0.6 (1.35).
    from signalshed.budget.together import Joint

    two, one = np.ones((2, 2)), np.ones(2)
    useful = np.array([[1.0, 0.25]])
    joint = Joint(0, useful, two, 0 * two, two, np.inf * two, one, one, np.array([0.4, 0.6]), one)
    assert joint.passes.tolist() == [True, False]


def test_guard_times_are_a_share_of_the_symbol():
    for row in facts.table("guard_times").itertuples():
        shares = np.array(row.guards_us.split(), float) / row.useful_us
        assert shares.min() > 0.005 and shares.max() <= 0.7
        if row.family == "DVB-T":
            assert shares == pytest.approx([1 / 4, 1 / 8, 1 / 16, 1 / 32], rel=5e-3)
    eight = facts.table("guard_times").query("family == 'DVB-T' and bandwidth_mhz == 8")
    assert eight["useful_us"].tolist() == [224, 896]


def test_a_partner_helps_where_it_was_an_enemy():
    # 50 kW at 40 km and a partner 5 km farther, 17 us later: inside any guard interval.
    alone, _ = europe({})
    partner = {"distance_km": 45.0, "bearing_deg": 60.0, "erp_toward_kw": 50.0}
    enemies, _ = europe({}, partner)
    friends, notes = europe({"same_signal": "a"}, partner | {"same_signal": "a"})
    assert enemies["margin_db"][0] < alone["margin_db"][0] - 20
    assert friends["margin_db"][0] > alone["margin_db"][0] + 1
    assert friends["margin_db"][0] == pytest.approx(friends["margin_db"][1], abs=1e-9)
    assert friends["wanted"].sum() == 1 and "1 network by same_signal" in notes
    assert friends["why"].str.contains("with 1 other").all() and "224 µs taken" in notes


def test_beyond_the_guard_a_partner_disturbs():
    # 100 km farther is 334 us; of a guard of 28 us 306 are over: w = (1 - 306/3584)^2 of DVB-T2 32k.
    near = {"same_signal": "a", "guard_us": 28.0}
    late = near | {"distance_km": 140.0, "erp_toward_kw": 1000.0, "antenna_height_m": 900.0}
    table, notes = europe(near, late)
    assert "later than the guard interval after the first" in notes
    here = open_list(near, late, region="ge06")
    (net,) = budget.networks(here)
    assert net.useful[0] == pytest.approx(
        [1.0, (1 - (100 / 0.299792458 - 28) / 3584) ** 2], abs=1e-3
    )
    assert (table["margin_db"] < 60).all()


def test_of_several_guard_intervals_the_shortest_is_taken():
    rows = [{"same_signal": "a", "guard_us": g, "distance_km": d} for g, d in ((112, 40), (28, 60))]
    here = open_list(*rows, region="ge06")
    assert site.signals(here.stations).guard_us.tolist() == [28, 28]
    assert "several guard intervals: 28 µs is taken" in " ".join(here.notes)


@pytest.mark.parametrize(
    "bearing_deg, helps", [(48.0, "nothing: no antenna"), (128.0, "an antenna")]
)
def test_an_antenna_parts_a_network_only_where_its_transmitters_stand_apart(bearing_deg, helps):
    # 22 km farther are 73 us, 66 over the guard of 7: (1 - 66 / 224)^2, half, of the second helps and
    # half disturbs. As strong as the first that is C/I 1.5 / 0.5, 4.8 dB, and this needs 17 and more.
    first = {
        "same_signal": "a",
        "guard_us": 7.0,
        "standard": "DVB-T 64-QAM 2/3",
        "distance_km": 20.0,
    }
    late = first | {"distance_km": 42.0, "bearing_deg": bearing_deg, "erp_toward_kw": 1000.0}
    limit = survey.reception(open_list(first, late, region="ge06"), MAST).limits[0]
    assert (limit.kind, limit.by) == ("others", "its own network")
    assert limit.remedy.startswith(helps)


@pytest.mark.parametrize(
    "rows, said",
    [
        ([{"same_signal": "a"}], "no other transmitter of RF 24 has same_signal 'a'"),
        (
            [{"same_signal": "a"}, {"same_signal": "b"}],
            "row 2, 3: same_signal a and b on one channel and place: a is taken",
        ),
        (
            [{"same_signal": "a"}, {"same_signal": "a", "distance_km": 60.0, "rf_channel": 40}],
            "no other transmitter of RF 40 has same_signal 'a'",
        ),
    ],
)
def test_bad_networks_are_told_with_file_and_row(rows, said):
    table, notes = europe(*rows)
    assert said in notes and "stations.csv, row" in notes
    assert table["margin_db"][0] == pytest.approx(europe({})[0]["margin_db"][0], abs=0.2)


def test_a_standard_without_a_guard_interval_joins_nothing():
    table, notes = outlook({"same_signal": "a"}, {"same_signal": "a", "distance_km": 70.0})
    assert "ATSC1 has no guard interval" in notes and table["margin_db"][0] < 15


def test_old_lists_open_unchanged_and_templates_have_the_columns():
    here = site.from_tables(HOME, pd.DataFrame([{"station": "A"} | US]))
    assert here.stations[["licence", "same_signal"]].to_numpy().tolist() == [["", ""]]
    assert here.stations[["guard_us", "delay_us"]].isna().all(axis=None)
