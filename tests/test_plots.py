"""Figures: they say in words what they show, nothing covers anything, and they move in place."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib import colors
from statsmodels.stats.proportion import proportion_confint

from signalshed import advice, budget, earth, plots, simulate, survey, words
from signalshed.plots import labels, style
from signalshed.plots.strip import SIZE_IN, drawn_rows, pattern_db, strip_limits_db

YAGI = survey.Setup("eight-element Yagi", "roof mast", heading_deg=38.0)


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


def _axes(size=SIZE_IN):
    return style.new_figure(*size).add_subplot()


def _pixels(figure):
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba()).copy()


def _boxes(texts):
    return [t.get_window_extent() for t in texts if t.get_text() and t.get_visible()]


def _covering(boxes):
    pairs = ((a, b) for k, a in enumerate(boxes) for b in boxes[k + 1 :])
    return [(a, b) for a, b in pairs if a.padded(-1).overlaps(b.padded(-1))]


# ---- house style --------------------------------------------------------------------------------

# M. Okabe and K. Ito, Color Universal Design (2008), the eight colours as red, green, blue, 0-255.
OKABE_ITO = {
    "BLACK": (0, 0, 0),
    "ORANGE": (230, 159, 0),
    "SKY_BLUE": (86, 180, 233),
    "GREEN": (0, 158, 115),
    "YELLOW": (240, 228, 66),
    "BLUE": (0, 114, 178),
    "VERMILION": (213, 94, 0),
    "PURPLE": (204, 121, 167),
}


@pytest.mark.parametrize("name", OKABE_ITO)
def test_the_colours_are_those_of_okabe_and_ito(name):
    rgb = np.round(255 * np.array(colors.to_rgb(getattr(style, name))))
    assert tuple(rgb.astype(int)) == OKABE_ITO[name]


def test_one_meaning_per_colour_and_legible_sizes():
    assert len(set(style.MEANING.values())) == len(style.MEANING)
    assert style.RC["lines.linewidth"] >= 2 and style.RC["axes.grid"]
    sizes = [v for k, v in style.RC.items() if k.endswith(("labelsize", "font.size", "titlesize"))]
    assert min(sizes) >= 11


def contrast(colour, ground):
    """Contrast by W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio"."""
    parts = np.array([colors.to_rgb(colour), colors.to_rgb(ground)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    dark, light = sorted(linear @ [0.2126, 0.7152, 0.0722])
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_that_of_the_guidelines():
    # Their own extreme, and #767676: W3C technique G18 names it the lightest grey that passes on white.
    assert contrast("black", "white") == pytest.approx(21)
    assert contrast("#767676", "white") >= 4.5 > contrast("#777777", "white")


@pytest.mark.parametrize("name", ["BLACK", "GREY", "BLUE", "ORANGE_TEXT", "AIM_TEXT"])
def test_colours_of_words_have_enough_contrast_on_white(name):
    assert contrast(getattr(style, name), "white") >= 4.5  # guideline 1.4.3


def test_lines_stand_out_but_for_three_that_something_dark_always_doubles():
    """Guideline 1.4.11 asks for 3 to 1. Orange, sky blue and yellow have less: an antenna's curve is
    named in words beside it, air and ground are areas with an edge or a pattern."""
    light = {key for key, colour in style.MEANING.items() if contrast(colour, "white") < 3}
    assert light == {"antenna", "air", "ground"}


def test_what_stands_outside_a_picture_is_seen_in_a_light_and_in_a_dark_notebook():
    """The grounds are those of JupyterLab's two themes. Words there take the theme's own colour."""
    for ground in ("#ffffff", "#111111", "#212121"):
        assert contrast(style.VERMILION, ground) >= 3, "the bar beside a message"
        assert contrast(style.OUTSIDE, ground) >= 3, "arrows of lists, rims of handles"  # 1.4.11
    room = Path(style.__file__).parents[1] / "classroom"
    for path in set(room.rglob("*.py")) - {
        room / "paper_tv.py"
    }:  # a TV's face, white on its own black
        coloured = re.findall(
            r"[;{\"']color: *[^;}\"']+|[;{\"']background: *[^;}\"']+", path.read_text("utf-8")
        )
        assert not coloured, f"{path.name} sets {coloured}"


def test_the_printable_page_has_enough_contrast_and_no_small_print_on_screen():
    css = (Path(style.__file__).parents[1] / "report" / "page.css").read_text("utf-8")
    on_screen = css.split("@media print")[0]
    for colour in re.findall(r"[ {;]color: (#[0-9a-f]+)", on_screen):
        assert contrast(colour, "white") >= 4.5
    for colour in re.findall(r"border[\w-]*: [26]px solid (#[0-9A-Fa-f]+)", on_screen):
        assert contrast(colour, "white") >= 3
    assert min(float(r) for r in re.findall(r"font-size: ([\d.]+)rem", on_screen)) >= 0.9
    assert "font: 16px" in on_screen


def test_pyplot_is_never_loaded(tmp_path):
    import subprocess
    import sys

    code = (
        "import sys, signalshed as shed\n"
        "s = shed.simulate.demo_site()\n"
        "shed.plots.bearing_strip(s, shed.survey.Setup('wire loop', 'attic', heading_deg=0)).png(40)\n"
        "shed.plots.plain_map(s).png(40)\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


# ---- pictures and their words -------------------------------------------------------------------


def test_a_picture_shows_itself_with_its_words_escaped():
    picture = plots.show(style.new_figure(4, 3), 'gain "high" <script>alert(1)</script>')
    shown = picture._repr_html_()
    assert "><img alt=" in shown and "<script" not in shown and "&lt;script" in shown
    assert re.search(r'src="data:image/png;base64,[A-Za-z0-9+/=]+"></div>$', shown)
    assert shown.count("src=") == 1 and "http" not in shown


def test_the_same_figure_gives_the_same_bytes_without_a_version():
    picture = plots.show(style.new_figure(4, 3), "empty")
    assert picture.png(60) == picture.png(60)
    assert b"Software" not in picture.png(60)


def test_every_plot_gives_a_picture_alone_and_a_drawing_on_an_axes(site):
    rows = budget.account("Gazette", YAGI, site)
    for draw, args in (
        (plots.bearing_strip, (site, YAGI)),
        (plots.waterfall, (rows, 10.0)),
        (plots.plain_map, (site,)),
    ):
        assert isinstance(draw(*args), plots.Picture)
        drawing = draw(*args, ax=_axes())
        assert drawing.alt == draw(*args).alt and len(drawing.artists) > 0
        assert all(a.axes is not None or a.figure is not None for a in drawing.artists)


def test_names_that_look_like_formulas_or_markup_are_drawn_as_they_are(site):
    stations = site.stations.copy()
    stations.loc[0, "station"] = "$\\frac{a}{$ <b>"
    stations.loc[1, "station"] = "50 % off & a_name^that$goes$on"
    strange = site.with_stations(stations)
    picture = plots.bearing_strip(strange, YAGI)
    assert "$\\frac{a}{$ <b>" in picture.alt
    assert picture.png(60)[:4] == b"\x89PNG"
    assert plots.plain_map(strange).png(60)[:4] == b"\x89PNG"


# ---- bearing strip ------------------------------------------------------------------------------


def test_the_strip_stands_where_the_survey_says(site):
    strip = plots.bearing_strip(site, YAGI, ax=_axes())
    table = survey.outlook(site, YAGI)
    spare, ends = table["spare_db"].to_numpy(), table[["low_db", "high_db"]].to_numpy()
    rows = drawn_rows(site)
    for k, i in enumerate(rows):
        if np.isnan(spare[i]):
            continue
        (x, low), (_, high) = strip.bars.get_segments()[k]
        assert low == pytest.approx(max(ends[i, 0], strip.low_db), abs=0.01)
        assert high == pytest.approx(min(ends[i, 1], strip.high_db), abs=0.01)
        # Beside one another by at most what a crowded mast needs.
        off = (x - site.stations["bearing_deg"].iloc[i] + 180) % 360 - 180
        assert abs(off) < 15


def test_the_words_of_a_strip_carry_its_numbers(site):
    alt = plots.bearing_strip(site, YAGI).alt
    table = survey.outlook(site, YAGI)
    spare = table["spare_db"].to_numpy()
    for i in drawn_rows(site):
        name = site.stations["station"].iloc[i]
        if np.isnan(spare[i]):
            assert name in alt.partition("Not drawn: ")[2]
        else:
            assert re.search(rf"{name} at \d+°: {re.escape(words.signed(spare[i]))} dB", alt)


def test_the_pattern_hangs_by_what_the_antenna_loses(site):
    antenna = site.antenna("eight-element Yagi")
    drawn = pattern_db(antenna, 539.0, "fixed", 200.0)
    assert drawn[200] == 0.0
    for bearing in (0, 90, 230, 359):
        loss = antenna.gain_dbd(539.0, bearing - 200.0) - antenna.gain_dbd(539.0, 0.0)
        assert drawn[bearing] == pytest.approx(max(loss, -30), abs=1e-9)
    assert np.ptp(pattern_db(antenna, 539.0, "never", None)) == 0
    assert not pattern_db(antenna, 539.0, "rotator", None).any()


def test_a_strip_moves_in_place_as_if_drawn_anew(site):
    moved = plots.BearingStrip(_axes(), site)
    before = tuple(map(id, moved.artists))
    setups = [
        YAGI,
        survey.Setup("wire loop", "bench window", heading_deg=300.0),
        survey.Setup("crossed dipoles", "attic"),
        survey.Setup("two-band Yagi", "roof mast", heading_deg=359.0),
    ]
    for setup in setups:
        moved.update(setup)
    anew = plots.BearingStrip(_axes(), site)
    anew.update(setups[-1])
    assert tuple(map(id, moved.artists)) == before
    assert moved.alt == anew.alt
    assert np.array_equal(_pixels(moved.ax.figure), _pixels(anew.ax.figure))


def test_what_moves_is_all_among_the_artists(site):
    """With its artists hidden a strip shows the same for two setups: nothing else changes."""
    strip = plots.BearingStrip(_axes(), site)
    still = []
    for setup in (YAGI, survey.Setup("wire loop", "bench window", heading_deg=300.0)):
        strip.update(setup)
        for artist in strip.artists:
            artist.set_visible(False)
        still.append(_pixels(strip.ax.figure))
        for artist in strip.artists:
            artist.set_visible(True)
    assert np.array_equal(*still)


@pytest.mark.parametrize("count", [1, 14, 40, 90])
def test_names_under_a_strip_never_cover_one_another(count):
    site = simulate.invented_site(seed=3, stations=count)
    strip = plots.bearing_strip(site, _any_setup(site), ax=_axes())
    names = [t for t in strip.ax.texts if t.get_rotation() == 90]
    assert 1 <= len(names) <= count
    assert not _covering(_boxes(names))


def _any_setup(site):
    mount = next(iter(site.mounts.values()))
    antenna = next(a for a in site.antennas.values() if mount.kind in a.lives)
    return survey.Setup(antenna.name, mount.name, heading_deg=10.0)


def test_the_foot_of_a_strip_says_what_grey_is_only_where_some_is_grey(site):
    setup = survey.Setup("bow-tie with screen", "roof mast", heading_deg=51)
    for kept, said in ((site.stations, True), (site.stations.query("wanted"), False)):
        shown = replace(site, stations=kept.reset_index(drop=True))
        strip = plots.strip.BearingStrip(style.new_figure(*SIZE_IN).add_subplot(), shown)
        strip.update(setup)
        assert ("Grey: a station" in strip.missing.get_text()) == said


def test_the_zero_line_of_a_strip_says_what_spare_decibels_mean_there(site):
    """Spare 0 is 5 of 10 roofs by its definition; no picture breaks there on the other five."""
    words = [text.get_text() for text in plots.bearing_strip(site, YAGI, ax=_axes()).ax.texts]
    assert "below: fewer than\n5 of 10 roofs" in words


def test_the_word_aim_leaves_the_lobe_alone(site):
    strip = plots.strip.BearingStrip(style.new_figure(*SIZE_IN).add_subplot(), site)
    strip.update(survey.Setup("bow-tie with screen", "roof mast", heading_deg=51))
    box = strip.flag.get_window_extent().transformed(strip.ax.transData.inverted())
    assert box.y1 < strip.pattern.get_ydata().min()


def test_the_word_aim_stands_where_it_covers_no_station(site):
    """Right of this aim the farthest station lies at the foot of the strip; left of it none does."""
    picture = plots.AimPicture(style.new_figure(8.8, 5.4), site)
    picture.update(survey.Setup("bow-tie with screen", "roof mast", heading_deg=230))
    strip = picture.strip
    box = strip.flag.get_window_extent().transformed(strip.ax.transData.inverted())
    feet = np.array([bar[0] for bar in strip.bars.get_segments() if len(bar)])
    assert np.any((feet[:, 1] < box.y1) & (feet[:, 0] > 230) & (feet[:, 0] < 230 + 40))
    assert not np.any((feet[:, 1] < box.y1) & (feet[:, 0] > box.x0) & (feet[:, 0] < box.x1))


def test_a_strip_without_stations_is_still_a_picture(site):
    empty = replace(site, stations=site.stations.iloc[:0])
    assert strip_limits_db(empty) == (-40.0, 60.0)
    assert plots.bearing_strip(empty, YAGI).png(50)


# ---- account, ranking, map ----------------------------------------------------------------------


def test_the_waterfall_ends_where_the_account_does(site):
    for station in ("Gazette", "Saltpan", "Bandstand"):
        rows = budget.account(station, YAGI, site)
        picture = plots.waterfall(rows, 10.0, ax=_axes())
        spare = rows["running_db"].iloc[-1]
        assert picture.spare.get_xdata()[0] == pytest.approx(spare)
        assert np.ptp(picture.spare_bar.get_xdata()) == pytest.approx(2 * 1.6449 * 10, abs=0.01)
        ends = [bar.get_x() + np.r_[0, bar.get_width()] for bar in picture.bars]
        for k, row in enumerate(rows.itertuples()):
            start = row.running_db - row.value_db
            assert sorted((start, row.running_db)) == pytest.approx(list(ends[k]), abs=1e-9)
        assert words.signed(spare, 1) in picture.alt


def test_a_waterfall_moves_in_place_and_keeps_its_artists(site):
    moved = plots.Waterfall(_axes())
    before = tuple(map(id, moved.artists))
    for station, setup in (
        ("Gazette", YAGI),
        ("Foghorn", YAGI),
        ("Bandstand", survey.Setup("two-band Yagi", "bench window")),
    ):
        rows = budget.account(station, setup, site)
        moved.update(rows, 9.0, station)
    anew = plots.Waterfall(_axes())
    anew.update(rows, 9.0, station)
    assert tuple(map(id, moved.artists)) == before
    assert np.array_equal(_pixels(moved.ax.figure), _pixels(anew.ax.figure))


def test_a_waterfall_stops_where_nobody_knows_further(site):
    picture = plots.waterfall(budget.account("Foghorn", YAGI, site), 10.0, ax=_axes())
    assert "is not known at 79 MHz" in picture.alt
    assert not any("nan" in t.get_text() for t in picture.ax.texts)
    assert len(picture.spare.get_xdata()) == 0


def test_a_waterfall_refuses_more_rows_than_it_has_room_for(site):
    rows = budget.account("Gazette", YAGI, site)
    with pytest.raises(ValueError, match="has room for 3"):
        plots.Waterfall(_axes(), 3).update(rows)


def test_the_map_is_true_to_scale_and_holds_every_place(site):
    ax = _axes((8.0, 6.4))
    drawing = plots.plain_map(site, ax=ax)
    ax.figure.canvas.draw()
    # One kilometre is as long east as north, to a thousandth.
    origin, east, north = ax.transData.transform([(0, 0), (1, 0), (0, 1)])
    assert np.ptp([east[0] - origin[0], north[1] - origin[1]]) < 1e-3 * (east[0] - origin[0])
    places = plots.places_of(site)
    assert places["stations"].sum() == len(drawn_rows(site))
    for row in places.itertuples():
        assert np.hypot(row.east_km, row.north_km) == pytest.approx(row.distance_km)
        assert f"{row.distance_km:.0f} km" in drawing.alt


@pytest.mark.parametrize("count", [5, 16, 30])
def test_labels_on_a_map_find_room(count):
    site = simulate.invented_site(seed=5, stations=count)
    ax = _axes((8.0, 6.4))
    plots.plain_map(site, ax=ax)
    boxes = _boxes(ax.texts)
    allowed = 0 if count <= 16 else 3
    assert len(_covering(boxes)) <= allowed


def test_land_is_shaded_where_it_is_known():
    land = simulate.demo_site(terrain=True)
    ax = _axes((8.0, 6.4))
    drawing = plots.plain_map(land, ax=ax)
    shade = ax.images[0].get_array()
    assert drawing.alt.endswith("Land is shaded.") and 0.1 < shade.mask.mean() < 0.9
    # North up and east right: the demo's tiles end at 31 degrees north, 61 km from its home.
    known_north_km = ax.get_ylim()[0] + np.ptp(ax.get_ylim()) * np.flatnonzero(
        ~shade.mask.all(axis=1)
    ).max() / len(shade)
    assert known_north_km == pytest.approx((31 - land.place.latitude_deg) * 110.9, abs=3)
    far = simulate.demo_site()
    assert not plots.plain_map(far, ax=_axes()).alt.endswith("shaded.")


def test_a_sight_says_why_there_is_none(site):
    assert plots.sight_of(site, "Gazette", "roof mast") == (None, "")
    land = simulate.demo_site(terrain=True)
    sight, why = plots.sight_of(land, "Saltpan", "roof mast")
    assert sight is None and "leaves the terrain tiles" in why
    unknown = land.with_stations(land.stations.assign(transmit_agl_m=np.nan))
    assert "how high its antenna stands" in plots.sight_of(unknown, "Gazette", "roof mast")[1]


# ---- where labels go ----------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 360), min_size=1, max_size=60), st.floats(0.5, 20))
def test_spread_out_keeps_order_gap_and_range(positions, gap):
    placed = labels.spread_out(positions, gap, 0.0, 360.0)
    order = np.argsort(positions, kind="stable")
    due = min(gap, 360 / len(positions))
    assert np.all(np.diff(placed[order]) >= due - 1e-9)
    assert placed.min() >= -1e-9 and placed.max() <= 360 + 1e-9


def test_spread_out_leaves_alone_what_has_room():
    assert labels.spread_out([10.0, 100.0, 50.0], 5, 0, 360).tolist() == [10.0, 100.0, 50.0]


# ---- patterns, reach, terrain -----------------------------------------------------------


def test_a_pattern_is_the_antennas_gain(site):
    antenna = site.antenna("eight-element Yagi")
    picture = plots.pattern(antenna, [473.0, 605.0], ax=_axes())
    for line, freq in zip(picture.lines, (473.0, 605.0), strict=True):
        x, y = line.get_data()
        assert y == pytest.approx(antenna.gain_dbd(freq, x))
    width = int(re.search(r"(\d+)° wide", picture.alt).group(1))
    assert width == pytest.approx(antenna.beamwidth_deg(473.0), abs=1.5)
    with pytest.raises(ValueError, match="MHz is outside"):
        plots.pattern(antenna, 100.0)
    with pytest.raises(ValueError, match="lines is 5"):
        plots.Pattern(_axes(), lines=5)


@pytest.mark.parametrize("height_in", [2.9, 4.8])
def test_the_names_of_two_patterns_hide_nothing_of_each_other(height_in):
    figure = plots.style.new_figure(7.5, height_in)
    figure.set_layout_engine("constrained")
    made = plots.Pattern(figure.add_subplot(), lines=2)
    made.update("name", ["RF 25, 539 MHz", "the element alone"], np.zeros((2, 361)))
    figure.canvas.draw()
    first, second = (text.get_bbox_patch().get_window_extent() for _, text in made.keys)
    assert not first.overlaps(second)


def test_reach_draws_its_three_distances(site):
    table = advice.reach(site.antenna("eight-element Yagi"), site.mount("roof mast"))
    drawing = plots.reach(table, ax=_axes())
    sure, even, rare = (line.get_xdata() for line in drawing.artists[1:4])
    for drawn, pct in ((sure, 90), (even, 50), (rare, 10)):
        assert np.array_equal(drawn, table[f"km_at_{pct}_pct"], equal_nan=True)
    assert "not known on these channels" in drawing.alt
    lost = table.assign(km_at_90_pct=np.nan)
    assert "9 of 10 roofs to not even 2 km" in plots.reach(lost, ax=_axes()).alt
    with pytest.raises(ValueError, match="lacks km_at_90_pct"):
        plots.reach(table.drop(columns="km_at_90_pct"))


def test_calibration_bars_are_the_jeffreys_interval():
    table = pd.DataFrame({"said": [0.5, 0.9], "came": [0.4, 1.0], "count": [10, 21]})
    score = survey.Score(pd.DataFrame(), 0.2, table)
    drawing = plots.calibration(score, ax=_axes())
    bars, marks = drawing.artists
    assert marks.get_ydata() == pytest.approx([40.0, 100.0])
    # Equal-tailed 90 % interval of Beta(x + 1/2, n - x + 1/2), by statsmodels.
    for segment, (came, of) in zip(bars.get_segments(), ((4, 10), (21, 21)), strict=True):
        low, high = proportion_confint(came, of, alpha=0.1, method="jeffreys")
        assert segment[:, 1] == pytest.approx([100 * low, 100 * high], abs=0.01)


def _hill(height_m):
    x = np.linspace(0, 50, 501)
    return earth.Profile(x, 100 + height_m * np.exp(-(((x - 25) / 2) ** 2)))


def test_a_profile_finds_the_place_that_decides():
    picture = plots.terrain_profile(_hill(150.0), 600.0, 100.0, 100.0, ax=_axes())
    sight = plots.Sight(_hill(150.0), 600.0, 100.0, 100.0)
    # In the middle of 50 km at 600 MHz the zone is 79 m wide (ITU-R P.526 eq. 3) and the Earth, with
    # the standard's radius of 8930.78 km (P.1812 eq. 6), 500 x 25 x 25 / 8930.78 = 35.0 m high.
    assert sight.zone_m[250] == pytest.approx(79, abs=0.5)
    assert sight.surface_m[250] - sight.line_m[250] == pytest.approx(150 - 100 + 35.0, abs=0.5)
    mark = picture.mark.get_data()
    assert mark[0][0] == pytest.approx(25, abs=0.3)
    assert sight.surface_m[250] < mark[1][0] < sight.surface_m[250] + 20
    assert "85 m above the line" in picture.label.get_text()
    assert sight.obstacle.words in picture.alt
    clear = plots.terrain_profile(_hill(0.0), 600.0, 400.0, 400.0, ax=_axes())
    assert "clear" in clear.label.get_text() and "clear" in clear.alt


def test_a_profile_that_cannot_be_drawn_says_why():
    two = earth.Profile([0, 1, 2], [[0, 0, 0], [1, 1, 1]])
    with pytest.raises(ValueError, match=r"profile\.path\(index\)"):
        plots.terrain_profile(two, 600, 100)
    with pytest.raises(ValueError, match="no map covers"):
        plots.terrain_profile(earth.Profile([0, 1, 2], [np.nan] * 3), 600, 100)


# ---- what is blitted is what is drawn -----------------------------------------------------------


def _movers(site):
    """Name, size, a class with its arguments, and two states to move between."""
    rows = [budget.account(n, YAGI, site) for n in ("Gazette", "Saltpan")]
    window = survey.Setup("wire loop", "bench window", heading_deg=300.0)
    gains = [np.linspace(-10, 5, 361), np.linspace(5, -20, 361)]
    sights = [plots.Sight(_hill(h), 600.0, 100.0, 30.0) for h in (20.0, 150.0)]
    yield "strip", lambda ax: plots.BearingStrip(ax, site), [(window,), (YAGI,)]
    yield "account", plots.Waterfall, [(rows[0], 10.0, "one"), (rows[1], 8.0, "two")]
    yield "pattern", plots.Pattern, [("a", ["x", "y"], gains, 2.0), ("b", ["z"], gains[1:], 1.0)]
    yield "profile", lambda ax: plots.ProfilePicture(ax, 50, (0, 400)), [(s,) for s in sights]


def test_a_moved_picture_is_the_whole_picture(site):
    """Background kept, moving artists drawn on it in order: the same pixels as drawn as a whole."""
    for name, make, (first, second) in _movers(site):
        moved = make(_axes())
        moved.update(*first)
        for artist in moved.artists:
            artist.set_animated(True)
        figure = moved.ax.figure
        figure.canvas.draw()
        kept = figure.canvas.copy_from_bbox(figure.bbox)
        figure.stale = False
        moved.update(*second)
        assert not figure.stale, f"{name}: something that stays has changed"
        figure.canvas.restore_region(kept)
        for artist in moved.artists:
            figure.draw_artist(artist)
        blitted = np.asarray(figure.canvas.buffer_rgba()).astype(int)
        whole = make(_axes())
        whole.update(*second)
        off = np.abs(blitted - _pixels(whole.ax.figure).astype(int)).max(axis=-1)
        assert (off > 8).sum() == 0, f"{name}: {(off > 8).sum()} pixels differ"
