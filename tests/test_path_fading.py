"""Fading against an independent implementation of the curves of NBS Technical Note 101."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from itmlogic.preparatory_subroutines.qlrpfl import qlrpfl
from itmlogic.preparatory_subroutines.qlrps import qlrps
from itmlogic.statistics.avar import avar
from scipy.special import ndtri

from signalshed import path


def other_fade_db(freq_mhz, distance_km, heights_m, time_pct):
    """Fall from the median over smooth Earth by the other library, climate 5, broadcast variability."""
    points = 400
    prop = {"fmhz": freq_mhz, "d": distance_km, "hg": list(heights_m), "klim": 5, "klimx": 5}
    prop |= {"lvar": 5, "mdvar": 3, "mdvarx": 3, "mdp": -1, "kwx": 0, "gma": 157e-9}
    prop["wn"], prop["gme"], prop["ens"], prop["zgnd"] = qlrps(freq_mhz, 0, 314, 0, 15, 0.005)
    prop["pfl"] = [points, 1000 * distance_km / points, *[0.0] * (points + 1)]
    prop = qlrpfl(prop)
    prop["aref"] += 60  # keeps the sum away from the bend it puts into losses below free space
    median, prop = avar(0, 0, 0, prop)
    return avar(ndtri(1 - time_pct / 100), 0, 0, prop)[0] - median


def test_against_another_library():
    # Smooth Earth, continental temperate; 0.05 dB.
    cases = itertools.product(
        (57, 195, 539, 683), (10, 40, 80, 120, 200), ((300, 9.1), (60, 20)), (70, 90, 99)
    )
    off = {}
    for case in cases:
        freq_mhz, distance_km, heights_m, time_pct = case
        found = path.fade_db(freq_mhz, distance_km, *heights_m, time_pct=time_pct)
        off[case] = float(found - other_fade_db(*case))
    assert len(off) == 120
    assert not {case: db for case, db in off.items() if not abs(db) <= 0.05}


def test_median_does_not_fade():
    assert path.fade_db(600, 80, 300, 10, time_pct=50) == 0


def test_fading_follows_the_normal_scale():
    ninety, ninety_nine = path.fade_db(600, 80, 300, 10, time_pct=[90, 99])
    assert ninety_nine / ninety == pytest.approx(2.3263 / 1.2816, abs=1e-3)


@given(
    freq_mhz=st.floats(50, 700),
    distance_km=st.floats(0.5, 300),
    transmit_m=st.floats(10, 600),
    time_pct=st.floats(50, 99),
)
def test_fade_is_never_negative(freq_mhz, distance_km, transmit_m, time_pct):
    fade = path.fade_db(freq_mhz, distance_km, transmit_m, 10, time_pct=time_pct)
    assert 0 <= fade < 35


def test_fading_grows_toward_the_horizon():
    fade = path.fade_db(600, np.linspace(1, 90, 90), 300, 10)
    assert (np.diff(fade) > 0).all()


@pytest.mark.parametrize(
    "name, change",
    [
        ("freq_mhz", {"freq_mhz": 0}),
        ("distance_km", {"distance_km": -1}),
        ("time_pct", {"time_pct": 20}),
    ],
)
def test_nonsense_is_refused(name, change):
    good = {"freq_mhz": 600, "distance_km": 80, "transmit_agl_m": 300, "receive_agl_m": 10}
    with pytest.raises(ValueError, match=f"^{name} is"):
        path.fade_db(**(good | change))
