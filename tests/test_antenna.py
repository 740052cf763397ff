"""Antennas: interpolation, seams, and published patterns."""

import numpy as np
import pandas as pd
import pytest

from signalshed import antenna


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
    # ITU-R BT.419-3, bands IV and V: -16 dB at 60 degrees and beyond (secondary reading).
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
    mine = antenna.from_trial("mine", rows, base)
    assert mine.gain_dbd(500) == pytest.approx(base.gain_dbd(500) + 4)
    assert mine.gain_dbd(600, 20) - mine.gain_dbd(600) == pytest.approx(
        base.gain_dbd(600, 20) - base.gain_dbd(600)
    )
    assert mine.source == "trial"
    with pytest.raises(ValueError, match="measured nothing"):
        antenna.from_trial("nobody", rows, base)


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
