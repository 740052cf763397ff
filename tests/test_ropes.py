"""Ropes: how far from its tower a station comes, and the pictures that say so."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtri

from signalshed import path, simulate, survey
from signalshed.survey import far

DATA = Path(__file__).parent / "data"
CHART_MHZ = {"vhf_low": 69.0, "vhf_high": 194.0, "uhf": 615.0}


# ---- how far ------------------------------------------------------------------------------------


@pytest.mark.parametrize("band", CHART_MHZ)
def test_ends_are_where_the_charts_say(band):
    """Charts of 47 CFR 73.699, F(50,90): home 50 miles away; a station with so many dB to spare as the
    chart lies there above its value at 70 (or 30) miles comes 70 (or 30) miles: within 7 km, the
    fitted surface's 2.5 dB."""
    chart = pd.read_csv(DATA / "average_terrain_points.csv").query("band == @band")
    chart = chart[chart["haat_m"] >= 100]
    mile = (chart["distance_km"] / 1.609344).round()
    table = chart.assign(mile=mile).pivot_table("dbuv_m_per_1kw_erp", ["haat_m", "curve"], "mile")
    held, median = table.xs("F50,90", level="curve"), table.xs("F50,50", level="curve")
    heights = held.index.to_numpy(float)
    fade = (median[50] - held[50]).to_numpy()
    many = np.ones(heights.size)
    there = far.falloff(CHART_MHZ[band] * many, many, heights, 80.4672 * many, 9.1, fade)
    spare = np.stack([held[50] - held[to] for to in (30, 50, 70)])
    found = far.comes_km(there, spare)
    assert found[1] == pytest.approx(80.4672, abs=1e-6)
    assert np.abs(found[[0, 2]] - [[48.28032], [112.65408]]).max() < 7


def ends_of(site, setup):
    """Ends (3, stations) of the stations of ``site`` for a fixed aim, and the survey's table."""
    table = survey.outlook(site, setup)
    s = site.stations
    there = far.falloff(
        *(s[c].to_numpy(float) for c in ("freq_mhz", "erp_kw", "haat_m", "distance_km")),
        site.mount(setup.mount).height_agl_m,
        table["fade_db"].to_numpy(float),
    )
    quantiles = ndtri(np.array(far.CHANCES))[:, None]
    column = {c: table[c].to_numpy(float) for c in ("margin_db", "fade_db", "spread_db")}
    spare = column["margin_db"] - column["fade_db"] - quantiles * column["spread_db"]
    return far.comes_km(there, spare), table


@pytest.fixture(scope="module", params=[False, True], ids=["average terrain", "profiles"])
def any_site(request):
    return simulate.demo_site(terrain=request.param)


def test_an_end_lies_behind_home_where_the_chance_at_home_says_so(any_site):
    """The chance is the survey's own, by another way: its normal probability."""
    site = any_site
    for heading in (0, 51, 162, 300):
        setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=heading)
        ends, table = ends_of(site, setup)
        behind = ends >= site.stations["distance_km"].to_numpy(float)
        sure = table["chance"].to_numpy(float) >= np.array(far.CHANCES)[:, None]
        known = table["margin_db"].notna().to_numpy()
        assert known.sum() > 8 and 0 < sure[:, known].sum() < sure[:, known].size
        assert (behind == sure)[:, known].all()
        assert np.isnan(ends[:, ~known]).all()


@settings(max_examples=40, deadline=None)
@given(
    freq=st.floats(50, 700),
    erp=st.floats(0.001, 1000),
    haat=st.floats(-100, 2000),
    home=st.floats(0.2, 600),
    fade=st.floats(0, 15),
    spare=st.lists(st.floats(-200, 200), min_size=2, max_size=8),
)
def test_more_to_spare_comes_farther_and_none_to_spare_comes_home(
    freq, erp, haat, home, fade, spare
):
    there = far.falloff([freq], [erp], [haat], [home], 9.1, [fade])
    ends = far.comes_km(there, np.sort(spare)[:, None])[:, 0]
    assert (np.diff(ends) >= 0).all() and ends[0] > 0
    assert ends.min() >= min(1, home / 2) - 1e-9 and ends.max() <= max(480, 2 * home) + 1e-9
    assert far.comes_km(there, [0.0])[0] == pytest.approx(home, rel=1e-12)
    assert far.comes_km(there, [-1e-3])[0] < home < far.comes_km(there, [1e-3])[0]


def test_near_the_tower_six_decibels_are_half_the_distance():
    """Free space, 20 log10 of the distance: below 5 km the curve has no other slope, and no fade is
    left that could shrink."""
    there = far.falloff([600], [1], [300], [4.0], 9.1, [0.0])
    assert far.comes_km(there, [-20 * np.log10(2)])[0] == pytest.approx(2.0, rel=1e-3)


def test_the_fade_moves_as_the_curves_own_does_and_never_below_none():
    """By hand: home 80 km away with a fade of 10 dB. At 40 km the curve's median is higher by so much,
    its fade smaller by so much; both count. With a fade of 0 at home only the median counts."""
    args = (615, 1000, 300, 9.1)

    def at(km, share):
        return path.average_terrain_dbuv_m(args[0], args[1], km, args[2], args[3], time_pct=share)

    median_db = at(40, 50) - at(80, 50)
    less_fade_db = (at(80, 50) - at(80, 90)) - (at(40, 50) - at(40, 90))
    assert less_fade_db > 2
    for fade_db, rise_db in ((10.0, median_db + less_fade_db), (0.0, median_db)):
        there = far.falloff([615], [1000], [300], [80], 9.1, [fade_db])
        assert far.comes_km(there, [-rise_db])[0] == pytest.approx(40, abs=0.05)


def test_what_is_not_known_has_no_end_and_another_number_of_stations_is_named():
    there = far.falloff([600, 600], [1, 1], [300, 300], [40, 50], 9.1, [3.0, 3.0])
    ends = far.comes_km(there, [np.nan, 0.0])
    assert np.isnan(ends[0]) and ends[1] == pytest.approx(50)
    with pytest.raises(ValueError, match="2 stations"):
        far.comes_km(there, [0.0, 1.0, 2.0])
    with pytest.raises(ValueError, match="fade_db is -1"):
        far.falloff([600], [1], [300], [40], 9.1, [-1.0])
    none = far.falloff([], [], [], [], 9.1, [])
    assert far.comes_km(none, np.empty((3, 0))).shape == (3, 0)
