"""Ropes: how far from its tower a station comes, and the pictures that say so."""

import itertools
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri

from signalshed import budget, chain, path, plots, simulate, survey
from signalshed.budget.reception import CHANCES
from signalshed.path import far
from signalshed.plots import rope_lines as lines
from signalshed.plots import style
from signalshed.plots.strip import drawn_rows

DATA = Path(__file__).parent / "data"
CHART_MHZ = {"vhf_low": 69.0, "vhf_high": 194.0, "uhf": 615.0}
AIMED = survey.Setup("bow-tie with screen", "roof mast", heading_deg=51.0)


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


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
    quantiles = ndtri(np.array(CHANCES))[:, None]
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
        sure = table["chance"].to_numpy(float) >= np.array(CHANCES)[:, None]
        known = table["margin_db"].notna().to_numpy()
        assert known.sum() > 8 and 0 < sure[:, known].sum() < sure[:, known].size
        alone = ndtr((table["margin_db"] - table["fade_db"]) / table["spread_db"])
        known = known & (alone - table["chance"] < 0.02).to_numpy()  # others disturb the rest
        assert known.sum() > 8 and (behind == sure)[:, known].all()
        assert np.isnan(ends[:, table["margin_db"].isna()]).all()


@pytest.mark.parametrize("aim", ["fixed", "rotator", "never"])
def test_the_chance_at_home_agrees_with_the_ends_for_every_way_of_aiming(site, aim):
    """A station that two roads lead to: its chance at home, and how far it would come."""
    mount = replace(site.mounts["roof mast"], aim=aim)
    here = replace(site, mounts=site.mounts | {"roof mast": mount})
    heading = 51.0 if aim == "fixed" else None
    received = survey.reception(here, replace(AIMED, heading_deg=heading))
    assert received.aim == aim
    known = ~np.isnan(received.margin_db)
    behind = received.comes_km >= here.stations["distance_km"].to_numpy(float)
    sure = received.chance >= np.array(CHANCES)[:, None]
    assert (behind == sure)[:, known].all() and 0 < sure[:, known].mean() < 1


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


def test_near_a_tall_tower_six_decibels_are_half_the_distance():
    """Free space, 20 log10 of the distance, within half a dB or 6 % (chart of ISED BPR-3 Figure A1 at
    1000 m: 6.05 dB from 1.5 to 3 km), and no fade is left that could shrink."""
    there = far.falloff([69], [1], [1000], [3.0], 9.1, [0.0])
    assert far.comes_km(there, [-6.05])[0] == pytest.approx(1.5, rel=0.03)


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


def received_of(site, setup=AIMED, **changed):
    """A reception as ropes read it, with some of its arrays ``changed``."""
    received = survey.reception(site, setup)
    names = ("site", "aim", "chance", "spare_db", "comes_km", "limits")
    return SimpleNamespace(**{name: getattr(received, name) for name in names} | changed)


def table_of(site, setup):
    return survey.reception(site, setup).table


# ---- by station ---------------------------------------------------------------------------------

FORMS = {
    "by station": (plots.StationRopes, (8.8, 5.4)),
    "by tower": (plots.TowerRopes, (8.8, 2.16)),
}


def _made(site, setup, form, received=None):
    kind, size = FORMS[form]
    axes = style.new_figure(*size).add_subplot()
    with style.house():
        picture = kind(axes, site, setup) if kind is plots.StationRopes else kind(axes, site)
    if received is None:
        picture.update(setup)
    else:
        picture.show(received, setup)
    return picture


def _reach(picture, y, px=1.0):
    """Left ends of thick, thin and dots, grey or not, on the line at ``y``: {code: x}."""
    ends = {}
    for (code, _), collection in picture.strands.pieces.items():
        for (_, y0), (left, y1) in collection.get_segments():
            if abs(y0 - y) < px and abs(y1 - y) < px:
                ends[code] = left
    return ends


def _said(picture):
    """Words at home by the station's name on the same line."""
    names = {round(t.get_position()[1], 3): t.get_text() for t in picture.left if t.get_text()}
    words = {round(t.get_position()[1], 3): t.get_text() for t in picture.verdicts if t.get_text()}
    assert names.keys() == words.keys()
    return {names[y]: (words[y], y) for y in names}


def test_words_at_home_are_those_of_the_table(site):
    """Each from its own row: 9 of 10 and more comes, chances are cut downward, a lack has its cause."""
    picture = _made(site, AIMED, "by station")
    table = table_of(site, AIMED).set_index("station")
    said = {name: words for name, (words, _) in _said(picture).items()}
    assert set(said) == set(table.index[drawn_rows(site)])
    kinds = set()
    for name, words in said.items():
        row = table.loc[name]
        if np.isnan(row["comes_km_9"]):
            assert words == "not this antenna"
        elif row["chance"] >= 0.9:
            assert words == "comes"
        elif row["chance"] >= 0.1:
            assert words == f"{int(10 * row['chance'])} of 10"
        else:
            assert words.startswith(f"lacks {-row['spare_db']:.0f} dB, ")
            assert words.endswith(", turn") == (row["limit"] == "off the aim")
        kinds.add(words.split()[0])
    assert kinds >= {"comes", "lacks", "not"} and any("of 10" in w for w in said.values())


def test_a_rope_ends_where_the_station_stops_coming(site):
    """x by hand: home and length are the picture's, the root is that of distance over the farthest."""
    picture = _made(site, AIMED, "by station")
    table = table_of(site, AIMED).set_index("station")
    far_km = table["distance_km"].iloc[drawn_rows(site)].max()
    home, length = picture.scale.home, picture.scale.length
    told = 0
    for name, (_, y) in _said(picture).items():
        row, ends = table.loc[name], _reach(picture, y)
        for code, column in enumerate(("comes_km_9", "comes_km_5", "comes_km_1")):
            left = row["distance_km"] - row[column]
            if code in ends and left > 0:
                told += 1
                assert ends[code] == pytest.approx(home + length * np.sqrt(left / far_km), abs=0.01)
        arrives = min(ends.values(), default=np.inf) < home
        assert arrives == (row["chance"] >= 0.1)
        if row["chance"] >= 0.9:
            assert set(ends) == {0} and ends[0] == home - 18
    assert told > 15


def test_ropes_go_round_from_north_and_towers_stay_together(site):
    picture = _made(site, AIMED, "by station")
    s = site.stations.set_index("station")
    order = sorted(_said(picture).items(), key=lambda item: item[1][1])
    bearings = s.loc[[name for name, _ in order], "bearing_deg"].to_numpy()
    assert (np.diff(bearings) > -1).all() and np.ptp(bearings) > 200
    assert [t.letter for t in picture.towers] == list("ABCDEFGHI")


def test_the_hand_points_at_the_tower_and_half_way_between_two(site):
    picture = _made(site, AIMED, "by station")
    first, second = picture.towers[0].bearing_deg, picture.towers[1].bearing_deg
    for heading, want in (
        (first, picture.middles[0]),
        (second, picture.middles[1]),
        ((first + second) / 2, picture.middles[:2].mean()),
    ):
        setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=heading)
        picture.update(setup)
        assert picture.hand.get_position()[1] == pytest.approx(want)
        assert picture.hand.get_text() == "\u261b" and f"aimed at {heading:.0f}°" in picture.alt


@pytest.mark.parametrize("form", FORMS)
def test_where_nothing_can_be_aimed_there_is_no_hand_and_the_title_says_so(site, form):
    rotator = replace(site.mounts["roof mast"], aim="rotator")
    turned = replace(site, mounts=site.mounts | {"roof mast": rotator})
    for where, words in ((site, "cannot be aimed"), (turned, "turned to each")):
        picture = _made(where, survey.Setup("bow-tie with screen", "roof mast"), form)
        assert picture.hand.get_text() == ""
        assert words in picture.title.get_text().lower() and words in picture.alt
        picture.sheet.ax.figure.canvas.draw()
        key = next(k for k in picture.key if hasattr(k, "get_segments") and k.get_segments())
        right = picture.title.get_window_extent().x1
        assert form == "by station" or right < key.get_segments()[0][1][0] - 8


@pytest.mark.parametrize("form", FORMS)
def test_towers_are_hollow_only_where_there_is_no_rope_at_all(site, form):
    setup = survey.Setup("VHF three-element Yagi", "roof mast", heading_deg=160)
    table = table_of(site, setup)
    none = table["comes_km_9"].isna().to_numpy()[drawn_rows(site)]
    picture = _made(site, setup, form)
    lost = [none[t.members].all() for t in picture.towers]
    assert 0 < sum(lost) < len(lost)
    at = picture.scale.x([t.distance_km for t in picture.towers])
    for marks, want in ((picture.hollow, True), (picture.full, False)):
        drawn = np.sort(marks.get_xdata())
        assert drawn == pytest.approx(np.sort(at[np.array(lost) == want]))
    assert "not this antenna" in picture.alt


def test_each_reason_for_no_rope_has_its_words(site):
    reasons = {"antenna": "not this antenna", "tv": "not this TV", "unknown": "C/N not known"}
    n = len(site.stations)
    nothing = {"chance": np.zeros(n), "spare_db": np.full(n, np.nan)}
    for kind, words in reasons.items():
        limits = (budget.KINDS[kind],) * n
        received = received_of(site, limits=limits, comes_km=np.full((3, n), np.nan), **nothing)
        picture = _made(site, AIMED, "by station", received)
        assert {w for w, _ in _said(picture).values()} == {words}
        assert not picture.full.get_xdata().size
        assert not any(c.get_segments() for c in picture.strands.pieces.values())


@pytest.mark.parametrize("form", FORMS)
def test_ropes_of_an_overload_are_grey_and_cut_before_home(site, form):
    usual = survey.reception(site, AIMED)
    known = ~np.isnan(usual.comes_km[0])
    limits = [
        budget.KINDS["overload"] if k else x for k, x in zip(known, usual.limits, strict=True)
    ]
    spare = np.where(known, -np.inf, np.nan)
    over = received_of(site, chance=0 * usual.chance, limits=tuple(limits), spare_db=spare)
    picture = _made(site, AIMED, form, over)
    drawn = [(key, s) for key, c in picture.strands.pieces.items() for s in c.get_segments()]
    assert drawn and all(grey for (_, grey), _ in drawn)
    assert min(left for _, ((_, _), (left, _)) in drawn) > picture.scale.home
    would = (usual.comes_km[2] >= site.stations["distance_km"])[drawn_rows(site)].to_numpy()
    by_tower = sum(would[t.members].any() for t in picture.towers)
    crossed = picture.crosses.get_xdata().size
    assert crossed == (would.sum() if form == "by station" else by_tower)
    assert "grey" in picture.over.get_text() and not any(k.get_visible() for k in picture.key)
    assert "overload" in picture.alt and "lacks inf" not in picture.alt
    picture.update(AIMED)
    assert picture.over.get_text() == "" and all(k.get_visible() for k in picture.key)
    assert not any(c.get_segments() for (_, grey), c in picture.strands.pieces.items() if grey)


@pytest.mark.parametrize("heading", [(51.0,), (None,), ()], ids=["fixed", "never", "rotator"])
def test_a_rope_that_only_an_overload_keeps_from_home_is_grey_and_crossed(site, heading):
    """Kilometres are told as without the overload, so fewer roofs may have it than they say."""
    loud = chain.Feed("loud", (chain.amplifier("huge", 40, 5), chain.coax("series6", 5)))
    mast = site.mounts["roof mast"]
    mount = mast if heading else replace(mast, name="turning", aim="rotator")
    setup = survey.Setup("wire dipole", mount, feed=loud, heading_deg=next(iter(heading), None))
    table = table_of(site, setup).iloc[drawn_rows(site)]
    picture = _made(site, setup, "by station")
    crossed = set(np.round(picture.crosses.get_ydata(), 3))
    grey = {
        round(s[0][1], 3)
        for (_, over), c in picture.strands.pieces.items()
        for s in c.get_segments()
        if over
    }
    lines = {name: round(y, 3) for name, (_, y) in _said(picture).items()}
    beyond = table["distance_km"] * 1.001
    less = {
        row.station
        for row, km in zip(table.itertuples(), beyond, strict=True)
        for end, share in ((row.comes_km_9, 0.9), (row.comes_km_5, 0.5), (row.comes_km_1, 0.1))
        if end > km and row.chance < share
    }
    assert len(less) > 3 and {lines[name] for name in less} == crossed <= grey


# ---- by tower -----------------------------------------------------------------------------------


def test_a_tower_counts_its_stations(site):
    """Counts by hand from the table: chance 0.9 and more comes, 0.1 and more may."""
    picture = _made(site, AIMED, "by tower")
    chance = table_of(site, AIMED)["chance"].to_numpy()[drawn_rows(site)]
    for tower, text in zip(picture.towers, picture.verdicts, strict=False):
        c = chance[tower.members]
        come, maybe, rest = (c >= 0.9).sum(), ((c >= 0.1) & (c < 0.9)).sum(), (c < 0.1).sum()
        words = text.get_text()
        if c.size > 1:
            assert int((re.findall(r"(\d+) comes?\b", words) or [0])[0]) == come
            assert int((re.findall(r"(\d+) maybe", words) or [0])[0]) == maybe
            assert int((re.findall(r"(\d+) not", words) or [0])[0]) == rest
        assert (text.get_weight() == "bold") == (come > 0)


def test_a_tower_that_does_not_come_names_the_cause_of_most_with_its_own_count():
    """Counts by hand: of five three are overloaded, one lacks 35 dB and one is not this antenna's."""
    code = np.array([lines.GAP] * 4 + [lines.NONE])
    lacks = np.array([np.inf, np.inf, np.inf, 35.2, np.nan])
    words = ("overload",) * 3 + ("lacks 35 dB, side", "not this antenna")
    causes = ("overload",) * 3 + ("side", "antenna")
    said = lines.Verdicts(code, words, causes, lacks, lacks, lacks, lacks, lacks)

    def told(*members):
        return lines.tower_words(said, np.array(members))[0]

    assert (
        told(0, 1, 2, 3, 4) == "5 not, 3 overload" and told(3, 4, 4) == "3 not, 2 not this antenna"
    )
    assert (
        told(3, 3, 0) == "3 not, 2 lack 35+ dB, side" and told(3, 3) == "2 not, lack 35+ dB, side"
    )
    assert told(0, 1) == "2 not, overload" and told(4, 4) == "2 not, not this antenna"


def test_a_tower_of_which_nothing_is_wanted_is_slanted_and_it_is_said(site):
    table = site.stations.assign(wanted=site.stations["place"] == "Quorrel Ridge")
    picture = _made(site.with_stations(table), AIMED, "by tower")
    style_of = {t.get_text(): t.get_style() for t in picture.named if t.get_text()}
    assert style_of.pop("Quorrel Ridge") == "normal" and set(style_of.values()) == {"italic"}
    assert "not wanted" in picture.slanted.get_text() and "Not wanted: " in picture.alt
    whole = table.assign(wanted=table["service"] == "tv")
    assert not _made(site.with_stations(whole), AIMED, "by tower").slanted.get_text()


@pytest.mark.parametrize("form", FORMS)
def test_long_names_keep_the_end_that_tells_them_apart(site, form):
    table = site.stations.copy()
    table["place"] = "The very long name of a hill, number " + pd.factorize(table["place"])[
        0
    ].astype(str).astype(object)
    picture = _made(site.with_stations(table), AIMED, form)
    shown = [t.get_text() for t in picture.named if t.get_text()]
    assert len(set(shown)) == len(shown) > 5 and all("…" in t and t[-1].isdigit() for t in shown)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("dpi", [72, 90, 100, 150])
def test_no_rope_nor_sample_touches_the_words_at_any_size_of_the_file(site, form, dpi):
    picture = _made(site, AIMED, form)
    figure = picture.sheet.ax.figure
    figure.set_dpi(dpi)
    figure.canvas.draw()
    pixel = dpi / 100
    samples = [k for k in picture.key if hasattr(k, "get_segments")]
    words = [k for k in picture.key if not hasattr(k, "get_segments")]
    ends = sorted(s[0][0] for k in samples for s in k.get_segments())
    for end, text in zip(ends, sorted(t.get_window_extent().x0 for t in words), strict=True):
        assert text > (end + 2.5) * pixel
    tail = 18 if form == "by station" else 13
    right = max(t.get_window_extent().x1 for t in picture.verdicts if t.get_text())
    assert right < (picture.scale.home - tail - 4) * pixel


def test_a_strand_is_drawn_by_its_worst_member(site):
    table = table_of(site, AIMED).set_index("station")
    picture = _made(site, AIMED, "by tower")
    k = max(range(len(picture.towers)), key=lambda k: picture.towers[k].members.size)
    names = [picture.names[i] for i in picture.towers[k].members]
    rows = table.loc[names]
    maybe = rows[(rows["chance"] >= 0.5) & (rows["chance"] < 0.9)]
    assert len(maybe) >= 1 and (rows["chance"] >= 0.9).any()
    left_km = (maybe["distance_km"] - maybe["comes_km_9"])[maybe["spare_db"].idxmin()]
    thick = [s[1][0] for s in picture.strands.pieces[0, False].get_segments()]
    assert np.abs(np.array(thick) - picture.scale.x(left_km)).min() < 0.01


def test_letters_of_strip_and_ropes_name_the_same_towers(site):
    ropes = _made(site, AIMED, "by tower")
    strip = plots.CompactStrip(style.new_figure(8.8, 2.16).add_subplot(), site)
    strip.update(AIMED)
    assert strip.more.get_text() == ""
    bearing = {t.get_text(): t.get_position()[0] for t in strip.letters}
    names = {n.get_text(): m.get_text() for n, m in zip(ropes.named, ropes.letters, strict=True)}
    s = site.stations.iloc[drawn_rows(site)]
    for place, at in s.groupby("place")["bearing_deg"].first().items():
        assert bearing[names[place]] == pytest.approx(at, abs=8)
    assert len(bearing) == s["place"].nunique()


# ---- room ---------------------------------------------------------------------------------------


def crowd(site, count, seed=5, strong=0.0):
    """``count`` stations on ``count`` / 3 towers all round, names that look like formulas among them."""
    rng = np.random.default_rng(seed)
    base = site.stations[site.stations["service"] == "tv"]
    towers = max(count // 3, 1)
    where, pick = rng.integers(towers, size=count), rng.integers(len(base), size=count)
    bearing, km = rng.uniform(0, 360, towers)[where], 10 ** rng.uniform(0.7, 2.2, towers)[where]
    odd = ("Station", "Cash $5 and $6 _", "A\\frac{1}{2} ^_", "A very long name for a station")
    table = base.iloc[pick].assign(
        station=[f"{odd[k % 4]} {k}" for k in range(count)],
        place=[f"Mast $x_{w}$" for w in where],
        bearing_deg=bearing,
        distance_km=km,
        latitude_deg=np.nan,
        longitude_deg=np.nan,
        erp_kw=10 ** rng.uniform(-1 + strong, 3, count),
    )
    return site.with_stations(table.reset_index(drop=True))


def _texts(picture):
    every = picture.sheet.ax.texts
    return [t for t in every if t.get_text() and t.get_visible()]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("count", [1, 15, 69, 200])
def test_no_words_cover_others_and_none_leave_the_sheet(site, form, count):
    where = site if count == 15 else crowd(site, count)
    picture = _made(where, AIMED, form)
    picture.sheet.ax.figure.canvas.draw()
    texts = _texts(picture)
    boxes = [t.get_window_extent() for t in texts]
    for k, a in enumerate(boxes):
        assert a.x0 >= 0 and a.x1 <= picture.sheet.width + 1, texts[k].get_text()
        assert a.y0 >= -1 and a.y1 <= picture.sheet.height + 1, texts[k].get_text()
        for n, b in enumerate(boxes[k + 1 :], k + 1):
            # Boxes hold the room above capitals and below a comma: letters of two lines never meet.
            assert not a.padded(-2).overlaps(b.padded(-2)), (
                texts[k].get_text(),
                texts[n].get_text(),
            )
    assert min(t.get_fontsize() for t in texts) * 100 / 72 >= 11 - 1e-9
    assert not any(t.get_parse_math() for t in texts)


@pytest.mark.parametrize("form", FORMS)
def test_what_finds_no_room_is_counted_and_does_not_come(site, form):
    many = crowd(site, 69)
    table = table_of(many, AIMED)
    picture = _made(many, AIMED, form)
    chance = table["chance"].to_numpy()[drawn_rows(many)]
    words = picture.foot.get_text()
    if form == "by station":
        drawn = np.concatenate([line.members for line in picture.lines])
        left = np.setdiff1d(np.arange(69), drawn)
        assert sorted(drawn) == sorted(set(drawn)) and left.size
        assert words.startswith(f"and {left.size} more, not from here")
        assert (chance[left] < 0.1).all()
        kept = drawn[chance[drawn] < 0.1]
        spare = table["spare_db"].to_numpy()[drawn_rows(many)]
        assert np.nanmin(spare[kept]) >= np.nanmax(spare[left])
    else:
        left = len(picture.towers) - len(picture.drawn)
        assert left and words.startswith(f"and {left} more, ")
        best = [chance[t.members].max() for t in picture.towers]
        drawn = [best[k] for k in picture.drawn]
        assert min(drawn) >= max(
            b for k, b in enumerate(best) if k not in picture.drawn
        ) - 1e-9 or (max(b for k, b in enumerate(best) if k not in picture.drawn) < 0.1)


def test_a_tower_whose_stations_all_come_is_joined_before_any_is_left_out(site):
    """60 stations from 5 towers, all sure: 5 lines, no foot; the number of each is told."""
    rows = site.stations[site.stations["service"] == "tv"]
    base = pd.concat([rows.iloc[[0]]] * 60, ignore_index=True)
    tower = np.arange(60) % 5
    many = site.with_stations(
        base.assign(
            station=[f"S{k}" for k in range(60)],
            place=[f"Mast {t}" for t in tower],
            bearing_deg=30.0 + 60 * tower,
            distance_km=20.0,
            rf_channel=[str(14 + k % 12) for k in range(60)],
        )
    )
    sure = {"chance": np.full(60, 0.99), "spare_db": np.full(60, 30.0)}
    far_km = np.full((3, 60), 60.0)
    received = received_of(many, limits=(budget.KINDS["none"],) * 60, comes_km=far_km, **sure)
    picture = _made(many, AIMED, "by station", received)
    assert [line.members.size for line in picture.lines].count(12) >= 4
    assert sum(line.members.size for line in picture.lines) == 60
    assert picture.foot.get_text() == ""
    words = [w.get_text() for w in picture.verdicts if w.get_text()]
    assert "12 come" in words and any(t.get_text().startswith("12: S") for t in picture.left)


def test_a_station_left_out_that_comes_after_all_is_told_until_the_lines_are_chosen_anew(site):
    many = crowd(site, 69)
    picture = _made(many, AIMED, "by station")
    lost = drawn_rows(many)[picture.left_out[0]]
    chance = survey.reception(many, AIMED).chance.copy()
    chance[lost] = 0.95
    received = received_of(many, chance=chance)
    picture.show(received, AIMED)
    assert "1 of them may come" in picture.foot.get_text()
    picture.choose(received)
    picture.show(received, AIMED)
    assert "not from here" in picture.foot.get_text()


@pytest.mark.parametrize("form", FORMS)
def test_ropes_move_in_place_and_what_is_blitted_is_what_is_drawn(site, form):
    """Background kept, moving artists drawn on it in order: the pixels of the whole picture."""
    turned = survey.Setup("bow-tie with screen", "roof mast", heading_deg=200.0)
    moved = _made(site, AIMED, form)
    figure = moved.sheet.ax.figure
    for artist in moved.artists:
        artist.set_animated(True)
    figure.canvas.draw()
    kept = figure.canvas.copy_from_bbox(figure.bbox)
    figure.stale = False
    moved.update(turned)
    assert not figure.stale, "something that stays has changed"
    figure.canvas.restore_region(kept)
    for artist in moved.artists:
        figure.draw_artist(artist)
    blitted = np.asarray(figure.canvas.buffer_rgba()).astype(int)
    whole = _made(site, AIMED, form)
    whole.update(turned)
    whole.sheet.ax.figure.canvas.draw()
    drawn = np.asarray(whole.sheet.ax.figure.canvas.buffer_rgba()).astype(int)
    assert (np.abs(blitted - drawn).max(axis=-1) > 8).sum() == 0
    assert moved.alt == whole.alt


def test_the_alternative_text_carries_every_verdict(site):
    picture = plots.ropes(site, AIMED)
    for name, (words, _) in _said(_made(site, AIMED, "by station")).items():
        assert f"{name} {words}" in picture.alt
    assert plots.tower_ropes(site, AIMED).alt.startswith("Ropes from each tower")


# ---- the compact strip --------------------------------------------------------------------------


@pytest.mark.parametrize("count", [0, 15, 69, 210])
@pytest.mark.parametrize("heading", [0.0, 51.0, 359.0])
def test_no_words_of_the_compact_strip_cover_others(site, count, heading):
    where = (
        site
        if count == 15
        else crowd(site, count)
        if count
        else replace(site, stations=site.stations[:0])
    )
    strip = plots.compact_strip(
        where, replace(AIMED, heading_deg=heading), ax=style.new_figure(8.8, 2.16).add_subplot()
    )
    ax = strip.ax
    ax.figure.canvas.draw()
    ticks = [*ax.get_xticklabels(), *ax.get_yticklabels()]
    texts = [t for t in (*ticks, *ax.texts) if t.get_text() and t.get_visible()]
    boxes = [t.get_window_extent() for t in texts]
    for k, a in enumerate(boxes):
        assert a.x0 >= 0 and a.x1 <= 881 and a.y0 >= 0 and a.y1 <= 217, texts[k].get_text()
        for n, b in enumerate(boxes[k + 1 :], k + 1):
            assert not a.padded(-1).overlaps(b.padded(-1)), (
                texts[k].get_text(),
                texts[n].get_text(),
            )
    assert min(t.get_fontsize() for t in texts) * 100 / 72 >= 11 - 1e-9
    assert 3 <= len([t for t in ax.get_yticklabels() if t.get_text()]) <= 6
    assert not ax.get_ylabel() and len(ax.figure.axes) == 1


def test_the_lowest_strip_of_a_panel_still_has_a_scale(site):
    """One number is no scale: three, each as far from the next as it is high."""
    strip = plots.AimPicture(style.new_figure(7.54, 3.3), site).strip
    strip.ax.figure.canvas.draw()
    boxes = [t.get_window_extent() for t in strip.ax.get_yticklabels()]
    assert len(boxes) >= 3
    assert all(low.y1 <= high.y0 + 1 for low, high in itertools.pairwise(boxes))


@pytest.mark.parametrize("size_in", [(9.12, 5.27), (7.54, 3.3)])
def test_the_hand_of_a_panel_covers_no_verdict(site, size_in):
    """The longest verdict of the town stands on the row at which this antenna is aimed."""
    picture = plots.AimPicture(style.new_figure(*size_in), site)
    picture.update(replace(AIMED, antenna="wire loop", mount="roof mast", heading_deg=38))
    picture.ropes.hand.figure.canvas.draw()
    hand = picture.ropes.hand.get_window_extent()
    told = [
        t for t in picture.ropes.hand.axes.texts if t.get_text() and t is not picture.ropes.hand
    ]
    boxes = [t.get_window_extent() for t in told]
    assert any(b.y0 < hand.y1 and b.y1 > hand.y0 for b in boxes), "no row beside the hand"
    assert not [t for t, b in zip(told, boxes, strict=True) if b.overlaps(hand)]


def test_letters_without_room_are_counted_and_the_others_stand_at_their_bearing(site):
    strip = plots.CompactStrip(style.new_figure(8.8, 2.16).add_subplot(), where := crowd(site, 210))
    bearing = {t.letter: t.bearing_deg for t in lines.towers_of(where)}
    shown = {t.get_text(): t.get_position()[0] for t in strip.letters}
    assert 20 < len(shown) < len(bearing)
    assert strip.more.get_text() == f"and {len(bearing) - len(shown)} towers more"
    assert max(abs(x - bearing[letter]) for letter, x in shown.items()) <= 12


@pytest.mark.parametrize("bearing", [5.0, 40.0, 200.0])
def test_stations_of_one_place_are_fanned_little_about_their_bearing(site, bearing):
    table = crowd(site, 70).stations.assign(bearing_deg=bearing, distance_km=30.0)
    strip = plots.CompactStrip(style.new_figure(8.8, 2.16).add_subplot(), site.with_stations(table))
    assert np.abs(strip.x_deg - bearing).max() <= 12 + 1e-6
    assert np.unique(strip.x_deg.round(3)).size > 60


# ---- ten roofs ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "chance, filled", [(0, 0), (0.099, 0), (0.3, 3), (0.87, 8), (0.9, 9), (1, 10)]
)
def test_ten_roofs_fill_as_many_as_the_chance_has_whole_tenths(chance, filled):
    svg = plots.ten_roofs_svg(chance)
    assert svg.count("<polygon") == 10 and svg.count('fill="none"') == 10 - filled
    words = f"{filled} of 10" if filled else "fewer than 1 of 10"
    assert f'aria-label="{words} roofs like yours"' in svg and f">{words} <svg" in svg
    ElementTree.fromstring(svg)
    houses = [re.findall(r"(\S+),(\S+)", points) for points in re.findall(r'points="([^"]+)"', svg)]
    assert len({min(y for _, y in house) for house in houses}) == 2, "two rows of five"
    assert all(len(house) == 5 for house in houses), "a pentagon"


def test_a_thick_rope_is_nine_of_ten_and_not_a_hair_less(site):
    received = survey.reception(site, AIMED)
    rows = np.flatnonzero(~np.isnan(received.comes_km).all(axis=0))[:6]
    chance = received.chance.copy()
    chance[rows] = [0.901, 0.899, 0.501, 0.499, 0.101, 0.099]
    told = lines.verdicts_of(_Told(received, chance), rows)
    assert told.code.tolist() == [
        lines.THICK,
        lines.THIN,
        lines.THIN,
        lines.DOTS,
        lines.DOTS,
        lines.GAP,
    ]


class _Told:
    """A reception of which other chances are told."""

    def __init__(self, received, chance):
        self.received, self.chance = received, chance

    def __getattr__(self, name):
        return getattr(self.received, name)


def test_towers_are_lettered_as_columns_of_a_sheet():
    told = [lines.letters(k) for k in (0, 25, 26, 27, 51, 52, 701, 702)]
    assert told == ["A", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA"]
