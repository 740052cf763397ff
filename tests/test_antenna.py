"""Antennas: interpolation, seams, and published patterns."""

import numpy as np
import pandas as pd
import pytest

from signalshed import advice, antenna, builds, facts, simulate


def simple(**changes):
    return antenna.from_numbers("simple", [470, 608], [6, 8], 60, 20, **changes)


def test_gain_is_linear_in_frequency():
    assert simple().gain_dbd(539) == pytest.approx(7.0)
    assert simple().gain_dbd([470, 504.5, 608]).tolist() == pytest.approx([6, 6.5, 8])


def test_gain_is_linear_on_the_closed_circle():
    table = pd.DataFrame({"azimuth_deg": [-170, 0, 170], "gain_db": [-10.0, 0.0, -14.0]})
    a = antenna.from_table("t", table, "dBd", freq_mhz=(470, 608))
    assert a.gain_dbd(500, 180) == pytest.approx(-12.0)
    assert a.gain_dbd(500, [-180, 180, 540]).tolist() == pytest.approx([-12.0] * 3)
    assert a.gain_dbd(500, 85) == pytest.approx(-7.0)


def test_shapes_broadcast():
    gain = simple().gain_dbd(np.linspace(470, 608, 4)[:, None], np.arange(0, 360, 30))
    assert gain.shape == (4, 12)
    assert isinstance(simple().gain_dbd(500), float)


def test_nothing_is_extrapolated():
    with pytest.raises(ValueError, match="195 MHz is outside"):
        simple().gain_dbd(195)
    assert simple().covers([195, 500]).tolist() == [False, True]


def test_lobe_is_three_db_down_at_half_the_beamwidth():
    for width in (20, 60, 120):
        assert antenna.lobe_db(width / 2, width, 30) == pytest.approx(-3.0)


def test_side_floor_is_the_planning_mask():
    # ITU-R BT.419-3, bands IV and V: -16 dB at 60 degrees and beyond, unchecked.
    assert antenna.lobe_db(90, 40, 30) == pytest.approx(-16.0)


def test_beamwidth_of_the_half_wave_dipole():
    # Closed form: 78.08 degrees between half-power points (any antenna handbook; Balanis ch. 4).
    assert antenna.plain_dipole().beamwidth_deg(539) == pytest.approx(78.08, abs=1.0)


@pytest.mark.parametrize(("gain_dbd", "measured"), [(9.2, 49), (10.2, 43), (13.4, 31), (14.2, 29)])
def test_typical_beamwidth_is_near_known_yagis(gain_dbd, measured):
    # NBS Technical Note 688 booms; beamwidths by a thin-wire solution of the same antennas.
    assert antenna.typical_beamwidth_deg(gain_dbd) == pytest.approx(measured, rel=0.25)


def test_a_table_may_repeat_its_first_azimuth():
    table = pd.DataFrame({"azimuth_deg": [0, 90, 180, 270, 360], "gain_db": [0, -9, -12, -9, 0.0]})
    assert antenna.from_table("t", table, "relative", 5, (470, 608)).gain_dbd(500, 360) == 5.0


def test_a_trial_adds_its_difference_and_keeps_the_shape():
    rows = pd.DataFrame(
        {
            "antenna": ["mine", "mine", "other"],
            "freq_mhz": [500.0, 600.0, 500.0],
            "difference_db": [4.0, 6.0, 99.0],
            "low_db": [3.0, 5.0, 98.0],
            "high_db": [5.0, 7.0, 100.0],
        }
    )
    base = simple()
    mine = antenna.from_trial("mine", rows, base, pattern=base)
    assert mine.gain_dbd(500) == pytest.approx(base.gain_dbd(500) + 4)
    assert mine.gain_dbd(600, 20) - mine.gain_dbd(600) == pytest.approx(
        base.gain_dbd(600, 20) - base.gain_dbd(600)
    )
    assert mine.source == "trial"
    with pytest.raises(ValueError, match="measured nothing"):
        antenna.from_trial("nobody", rows, base)


def _tested(channels_mhz, difference_db, half_db=1.0):
    """The table of a gain trial of "panel" with one difference on every channel."""
    return pd.DataFrame({"antenna": "panel", "freq_mhz": channels_mhz}).assign(
        difference_db=difference_db,
        low_db=difference_db - half_db,
        high_db=difference_db + half_db,
        readings=4,
        kind="gain",
    )


def test_a_label_that_a_trial_disproved_does_not_stand_one_channel_further():
    """10 dBd on the label, 4 dBd on RF 14 to 35 (473 to 599 MHz): on RF 36 (605) 4 dBd too."""
    label = antenna.from_numbers("panel", [174, 700], 10.0, 50, spread_db=3.0)
    trial = _tested(np.arange(473.0, 600.0, 6.0), 4.0)
    known = antenna.from_trial("panel", trial, antenna.plain_dipole(), pattern=label)
    fine = np.arange(470.0, 700.0, 0.001)
    assert np.abs(np.diff(known.gain_dbd(fine))).max() < 0.1, "no step of 6 dB in 1 kHz"
    assert known.gain_dbd([605, 695]) == pytest.approx(4.0)
    assert known.gain_dbd([177, 213]) == pytest.approx(10.0), "high VHF was not tested"
    # 90 % ends of 1 dB are an sd of 0.608, with the dipole's 1 dB 1.170; 6 MHz beyond, of a reach of
    # 150 MHz, sqrt(1.170^2 + (1 - exp(-0.08)) 3^2) = 1.437; 96 MHz beyond
    # sqrt(1.170^2 + (1 - exp(-1.28)) 3^2) = 2.805.
    sd = known.spread_at_db([599, 605, 695, 177])
    assert sd == pytest.approx([1.170, 1.437, 2.805, 3.0], abs=0.002)


def test_a_trial_makes_one_antenna_by_either_way():
    label = antenna.from_numbers("panel", [470, 700], 10.0, 50, spread_db=3.0)
    trial, dipole = _tested([500.0, 560.0], 4.0), antenna.plain_dipole()
    frame = antenna.trial_gains(trial, dipole)
    for at_once, by_file in (
        (antenna.from_trial("panel", trial, dipole), antenna.from_gains("panel", frame)),
        (
            antenna.from_trial("panel", trial, dipole, pattern=label),
            antenna.measured(label, frame),
        ),
    ):
        for field in ("freq_mhz", "azimuth_deg", "gain_dbd_table", "measured_sd_db"):
            np.testing.assert_array_equal(getattr(at_once, field), getattr(by_file, field))
        assert at_once.spread_db == by_file.spread_db


def test_a_trial_of_two_bands_keeps_them_apart():
    """2 dB less than the label at high VHF, 6 dB less at UHF: between the bands nothing is smeared."""
    label = antenna.from_numbers("panel", [174, 700], 10.0, 50, spread_db=3.0)
    trial = _tested([177.0, 500.0, 560.0], np.array([8.0, 4.0, 4.0]))
    dipole = antenna.plain_dipole(170, 700)
    known = antenna.from_trial("panel", trial, dipole, pattern=label)
    assert known.gain_dbd([213, 349, 351, 650]) == pytest.approx([8, 8, 4, 4])


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"polarization": "slanted"}, "horizontal or vertical"),
        ({"spread_db": -1}, "spread_db"),
    ],
)
def test_nonsense_is_refused_in_words(changes, match):
    with pytest.raises(ValueError, match=match):
        simple(**changes)


def test_tables_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="frequencies by azimuths"):
        antenna.Antenna("x", [500, 600], [0, 90], [[1, 2]])
    with pytest.raises(ValueError, match="rise"):
        antenna.Antenna("x", [600, 500], [0, 90], [[1, 2], [1, 2]])
    with pytest.raises(ValueError, match="one turn"):
        antenna.Antenna("x", [500], [0, 360], [[1, 2]])
    with pytest.raises(ValueError, match="gain_dbd_table"):
        antenna.Antenna("x", [500], [0, 90], [[1, np.nan]])


def test_an_antenna_cannot_be_changed_in_place():
    with pytest.raises(ValueError, match="read-only"):
        simple().gain_dbd_table[0, 0] = 1


def test_names_are_escaped_where_they_are_shown():
    shown = simple().renamed("<script>alert(1)</script>")._repr_html_()
    assert "<script>" not in shown and "&lt;script&gt;" in shown


# ---- antennas that come from wires ---------------------------------------------------------------


def test_nulls_of_a_drawing_are_filled_before_a_ranking():
    """A dipole's ends are 60 dB down on paper; no roof is so empty. The floor is our judgement."""
    drawn = builds.realised_gain_dbd(builds.half_wave_dipole(539), [539.0], [0.0, 90.0])[0]
    assert drawn[1] < drawn[0] - 40
    made = antenna.from_build(builds.half_wave_dipole(539), [539.0])
    floor = facts.value("judgement", "computed_floor_db")
    assert made.gain_dbd(539, 90) == pytest.approx(made.gain_dbd(539) - floor)
    assert made.gain_dbd(539) == pytest.approx(drawn[0])
    assert made.gain_dbd(539, 45) > made.gain_dbd(539) - floor, "the lobe stays as drawn"
    status = facts.table("judgement").set_index("name")["status"]
    assert status["computed_floor_db"] == "judgement"


def test_a_card_shows_drawing_cut_list_and_gain():
    shown = simulate.demo_site().antenna("bow-tie with screen")._repr_html_()
    build = simulate.demo_site().antenna("bow-tie with screen").build
    assert f"{build.weight_kg:.2f} kg" in shown and f"{build.wire_m:.2f} m" in shown
    assert f"{build.wind_load_n():.0f} N" in shown and "40 m/s" in shown
    assert f"<td>{build.cut_list['length_in'].item()}</td>" in shown
    assert '<img alt="Drawing of bow-tie (fan) before a mesh screen' in shown
    assert "at least -" in shown, "below its band a floor"
    assert "revision" in shown and "compared" not in shown


def test_the_card_of_a_compared_antenna_shows_both_gains():
    computed = antenna.from_build(builds.half_wave_dipole(539), [500.0, 539.0], revision="2")
    rows = pd.DataFrame(
        {"antenna": ["mine"] * 2, "freq_mhz": [500.0, 539.0], "difference_db": [1.5, 1.0],
         "low_db": [0.5, 0.0], "high_db": [2.5, 2.0]}
    )  # fmt: skip
    mine = antenna.from_trial("mine", rows, antenna.plain_dipole(), pattern=computed, revision="2")
    shown = mine._repr_html_()
    here = f"<td>539 MHz</td><td>{computed.gain_dbd(539):+.1f} dBd</td><td>+1.0 dBd</td>"
    assert here in shown and "<td>2</td>" in shown


def test_the_card_of_a_build_tells_front_to_back_as_rough():
    build = builds.half_wave_dipole(539, screen=builds.mesh_screen(400, 300))
    shown = builds.card_html(build)
    behind = builds.by_channel(build)["front_to_back_db"].iloc[0]
    assert (
        "weaker behind, roughly" in shown
        and f"<td>{builds.behind_words(behind)}</td></tr>" in shown
    )


def test_a_card_escapes_what_a_builder_typed():
    bad = "<script>alert(1)</script>"
    build = builds.half_wave_dipole(539).renamed(bad)
    made = antenna.from_build(build, [539.0], bad, note=bad, revision=bad)
    for shown in (made._repr_html_(), build._repr_html_()):
        assert "<script" not in shown and "&lt;script&gt;" in shown


def test_an_antenna_of_one_s_own_gets_pattern_channels_and_a_place_in_the_ranking():
    """What a notebook cell does with points: two bent wires, and the roof's answer."""
    house = simulate.demo_site()
    vee = [[(0, 0, 0), (40, 130, 30)], [(0, 0, 0), (40, -130, 30)]]
    mine = antenna.from_build(builds.own((470, 608), vee, balun="1:1"), name="my own")
    assert mine.freq_mhz.size == 23 and 60 < mine.beamwidth_deg(539) < 110
    ranking = advice.rank(house.with_antenna(mine))
    place = ranking.set_index(["antenna", "mount"]).loc[("my own", "roof mast"), "expected"]
    assert 3 < place < ranking["expected"].max()
