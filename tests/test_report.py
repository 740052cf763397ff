"""The printable page: the whole answer, nothing of a user's unescaped, nothing from outside."""

import base64
import re
from dataclasses import replace
from html.parser import HTMLParser
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from signalshed import advice, builds, chain, earth, facts, path, report, simulate, survey, tables
from signalshed.report import basis
from signalshed.report.matter import Matter
from signalshed.site import Mount

HOSTILE = '"><img src=http://evil.invalid/x onerror=alert(1)><script>alert(2)</script>'
ALLOWED = {
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "main",
    "section",
    "h1",
    "h2",
    "h3",
    "p",
}
ALLOWED |= {"ul", "li", "table", "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "img"}
ALLOWED |= {"div", "strong", "caption", "details", "summary", "span", "svg", "polygon"}
INLINE = ("data:image/png;base64,", "data:image/svg+xml;base64,")


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


@pytest.fixture(scope="module")
def ranking(site):
    return advice.rank(site)


@pytest.fixture(scope="module")
def text(site, ranking):
    return report.page(site, ranking)


def test_what_has_a_chance_is_said_first_and_the_rest_is_counted(site, text, ranking):
    table = survey.outlook(site, ranking["setup"].iloc[0])
    chance = table["chance"][table["wanted"].astype(bool)]
    comes, maybe, rest = (chance >= 0.9).sum(), chance.between(0.1, 0.9, "left").sum(), chance < 0.1
    assert comes == 1 and f": 1 comes, {maybe} may; not from here: {rest.sum()} more." in text
    assert f"Expect about {chance.sum():.0f} stations, on 9 of 10 roofs like yours" in text
    far = site.stations.head(9).assign(erp_kw=1e-6)
    none = site.with_stations(
        far[["station", "rf_channel", "latitude_deg", "longitude_deg", "erp_kw"]]
    )
    said = report.page(none, advice.rank(none))
    assert "Expect about 0 stations" in said and "0 come, 0 may; not from here" in said


class Reader(HTMLParser):
    """Tags with their attributes, and the words of a page."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.said, self.open = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes another"

    def handle_data(self, data):
        if "style" not in self.open:
            self.said.append(data)

    @property
    def words(self):
        return " ".join(" ".join(self.said).split())


def _images(page):
    return [attrs for tag, attrs in Reader(page).tags if tag == "img"]


# ---- the whole answer ---------------------------------------------------------------------------


def test_a_page_is_whole_and_well_nested(text):
    reader = Reader(text)
    assert reader.open == []
    titles = [
        "Which antenna for hill house",
        "Is it hung right?",
        "First thing to buy",
        "Before you climb",
        "Station by station",
        "Account of the hardest station",
        "What one change would bring",
        "Ranking",
        "Map",
        "Before you climb Power lines",
        "What this rests on (",
        "Sources (",
    ]
    places = [reader.words.index(title) for title in titles]
    assert places == sorted(places)


def _first_sheet(page):
    return Reader(page[page.index('<section class="sheet">') : page.index("</section>") + 10]).words


def test_the_first_sheet_says_what_to_hang_where_how_high_and_aimed_at_what(site, ranking, text):
    best, words = ranking.iloc[0], _first_sheet(text)
    height = site.mount(best["mount"]).height_agl_m
    said = f"Hang the {best['antenna']} on “{best['mount']}”, {height:g} m (30 ft) above the ground"
    assert f"{said}, aimed at {best['heading_deg']:.0f}° true" in words
    assert f"on 9 of 10 roofs like yours {best['low']:.0f} to {best['high']:.0f}: " in words
    assert f"an arc {best['arc_deg']:.0f}° wide there does as well" in words
    assert "18 m of" in words or "18 m series6" in words
    other = report.page(site, ranking.iloc[[2]])
    assert f"Hang the {ranking['antenna'].iloc[2]} on" in Reader(other).words


def test_the_aim_is_told_from_a_line_on_the_map(site, ranking, text):
    """The tower nearest to the aim, and by how much the aim lies beside it, worked from bearings."""
    heading = ranking["heading_deg"].iloc[0]
    off = (site.stations["bearing_deg"] - heading + 180) % 360 - 180
    nearest = off.abs().idxmin()
    place, side = site.stations["place"][nearest], "left" if off[nearest] > 0 else "right"
    said = (
        f"lay a line from home to {place}: the aim is {abs(off[nearest]):.0f}° to the {side} of it"
    )
    assert said in _first_sheet(text)


def test_the_three_rows_are_nine_of_ten_one_of_ten_and_less(site, ranking, text):
    outlook = survey.outlook(site, ranking["setup"].iloc[0]).query("wanted")
    words = _first_sheet(text)
    rows = words[words.index("comes") :]
    comes, maybe = rows.index(" maybe "), rows.index(" not from here ")
    end = rows.index("Is it hung right?")
    for row in outlook.itertuples():
        at = rows.index(f"{row.station}")
        edges = (0, comes, maybe, end)
        k = 0 if row.chance >= 0.9 else 1 if row.chance >= 0.1 else 2
        assert edges[k] < at < edges[k + 1], row.station
        assert (f"{row.station} {row.roofs}" in rows) == (0.1 <= row.chance < 0.9)


def test_the_first_sheet_asks_for_the_pad_test_of_the_survey(site, ranking, text):
    asked = survey.hung_right(site, ranking["setup"].iloc[0])
    words = _first_sheet(text)
    for name in asked["station"]:
        assert name in words[words.index("Is it hung right?") :]


def test_the_first_thing_to_buy_is_the_least_effort_that_brings_half_of_the_best(
    site, ranking, text
):
    changes = advice.changes(site, ranking["setup"].iloc[0])
    worth = changes[(changes["more"] >= 0.5) & (changes["more"] >= changes["more"].max() / 2)]
    first = worth.sort_values("effort", kind="stable").iloc[0]
    words = _first_sheet(text)
    bought = words[words.index("First thing to buy") :]
    assert bought.lower().startswith(f"first thing to buy {first['change']}: {first['more']:+.1f}")


def test_what_to_buy_first_by_hand():
    # 4 stations more at most: half of that bring the first three, and the third is the least work.
    changes = pd.DataFrame({"more": [4.0, 2.5, 2.0, 1.9], "effort": [5, 3, 2, 1]})
    assert Matter.to_buy.fget(SimpleNamespace(changes=changes)).name == 2
    assert Matter.to_buy.fget(SimpleNamespace(changes=changes.assign(more=0.4))) is None


def test_three_cautions_of_the_mount_stand_on_the_first_sheet_and_all_behind_it(
    site, ranking, text
):
    words, every = _first_sheet(text), report.cautions("mast")
    box = words[words.index("Before you climb") :]
    shown = [caution for caution in every["caution"] if caution in box]
    assert len(shown) == 3 and shown[0] == every["caution"].iloc[0]
    assert f"{len(every) - 3} more stand behind this sheet" in words
    assert all(caution in Reader(text).words for caution in every["caution"])


def test_the_age_of_the_list_is_told_from_the_town_folder(site, ranking, tmp_path):
    words = _first_sheet(report.page(site, ranking))
    assert "The station list names no day: ask how old it is." in words
    (tmp_path / "site.toml").write_text('town = "town"\n')
    (tmp_path / "town").mkdir()
    (tmp_path / "town" / "stations_from.toml").write_text("newest_day_in_list = 2026-03-03\n")
    dated = _first_sheet(report.page(replace(site, folder=tmp_path), ranking))
    assert "The newest day that the station list names is 2026-03-03." in dated


def test_the_neighbourhood_is_said_in_words(site, ranking):
    assert set(basis.NOISE) == set(chain.ENVIRONMENTS)
    said = Reader(report.page(replace(site, noise="quiet_rural"), ranking)).words
    assert basis.NOISE["quiet_rural"] in said and "quiet_rural" not in said


def test_every_wanted_station_stands_once_with_its_numbers_under_its_tower(site, ranking, text):
    outlook = survey.outlook(site, ranking["setup"].iloc[0])
    words = Reader(text).words
    listed = words[words.index("Towers from north") : words.index("Account of the hardest")]
    for row in outlook[outlook["wanted"]].itertuples():
        assert listed.count(f"{row.station} (RF {row.rf_channel}") == 1
        after = listed[listed.index(f"{row.station} (RF {row.rf_channel}") :]
        assert row.roofs in after[:90]
        if not np.isnan(row.margin_db):
            assert f"± {row.spread_db:.0f}" in after[:120]
        place = re.escape(site.stations["place"][row.Index])
        bearing, far = re.search(rf"{place}: (\d+)° \(.+?, (\d+) km \(", listed).groups()
        assert abs(float(bearing) - row.bearing_deg) <= 1 and abs(float(far) - row.distance_km) <= 1


def test_the_account_is_of_the_hardest_station_still_worth_having(site, ranking, text):
    outlook = survey.outlook(site, ranking["setup"].iloc[0])
    worth = outlook[outlook["wanted"] & (outlook["chance"] >= 0.1)]
    hardest = worth.sort_values("chance")["station"].iloc[0]
    assert f"Account of the hardest station still worth having: {hardest}" in Reader(text).words


def test_compass_bearings_are_true_less_declination(site, ranking):
    heading = ranking["heading_deg"].iloc[0]
    typed = earth.Declination(10.0, 0.0, 2026.0, source="typed")
    page = report.page(site, ranking, report.Wishes(declination=typed))
    assert f"{(heading - 10) % 360:.0f}° by the compass" in Reader(page).words
    assert "10.0° east of true north, as typed" in Reader(page).words
    assert "by the compass" not in Reader(report.page(site, ranking)).words


def test_the_compass_is_that_of_the_day_unless_typed(site, ranking, tmp_path):
    where = (site.place.latitude_deg, site.place.longitude_deg)
    model = earth.declination(*where, "2026-05-01")
    path = report.write(site, ranking, tmp_path / "a.html", date="2026-05-01")
    words = Reader(path.read_text(encoding="utf-8")).words
    shown = model.compass_from_true(ranking["heading_deg"].iloc[0])
    assert f"{shown:.0f}° by the compass" in words and "give or take" in words
    with pytest.raises(ValueError, match="it must be like 2026-05-01"):
        report.write(site, ranking, tmp_path / "a.html", date="in spring")


# ---- what stands in the way ---------------------------------------------------------------------


@pytest.fixture(scope="module")
def with_land():
    return simulate.demo_site(terrain=True)


def test_the_page_names_the_obstacle_of_the_hardest_path(with_land, ranking):
    page = report.page(with_land, ranking)
    words = Reader(page).words
    hardest = re.search(r"hardest station still worth having: (\S+)", words).group(1)
    row = with_land.stations[with_land.stations["station"] == hardest].iloc[0]
    # The same by the path module alone, its height above ground worked out from that above the average
    # of the land from 3 to 16 km out.
    land = (with_land.place, row.to_frame().T, with_land.tiles)
    ground = earth.profiles(*land, clutter_m=with_land.clutter_m).path(0)
    top = row["haat_m"] + earth.average_ground_m(ground) - ground.ground_m[0]
    mast = with_land.mount(ranking["mount"].iloc[0]).height_agl_m
    assert path.obstacle(row["freq_mhz"], ground, top, mast).words in words
    assert len(_images(page)) == 5 and "Terrain profile" in page


def test_a_rounded_home_shows_no_profile_of_its_land(with_land, ranking):
    page = report.page(with_land, ranking, report.Wishes(round_home=True))
    assert "Terrain profile" not in page and len(_images(page)) == 3


def test_a_path_off_the_map_says_so(with_land, ranking):
    far = with_land.with_stations(with_land.stations.assign(latitude_deg=29.2, longitude_deg=-40.7))
    words = Reader(report.page(far, ranking)).words
    assert "What stands in the way is not known: path leaves the terrain tiles" in words


# ---- every situation ----------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["vehicle", "room", "balcony"])
def test_every_situation_gets_a_page(site, kind):
    mount = Mount("there", kind, 3.0, 90.0, 200.0, feed="bench lead")
    elsewhere = replace(site, mounts={"there": mount})
    page = report.page(elsewhere, advice.rank(elsewhere))
    words = Reader(page).words
    assert "Hang the" in words and report.cautions(kind)["caution"].iloc[0] in words


def test_a_site_that_wants_nothing_is_answered_too(site):
    nothing = site.with_stations(site.stations.assign(wanted=False))
    page = report.page(nothing, advice.rank(nothing))
    assert "There is no wanted station" in Reader(page).words


def test_a_tuner_that_decodes_nothing_is_answered_too(site):
    deaf = replace(site, tuner=replace(site.tuner, standards=("DVB-T",)))
    page = report.page(deaf, advice.rank(deaf))
    assert "no antenna can help" in Reader(page).words


# ---- nothing gets in, nothing is fetched --------------------------------------------------------


def _hostile(site):
    stations = site.stations.assign(
        station=[f"{HOSTILE}{i}" for i in range(len(site.stations))],
        place=HOSTILE,
        shown_channels=HOSTILE,
        note=HOSTILE,
    )
    mount = Mount(HOSTILE, "mast", 9.0)
    antenna = site.antenna("wire loop").renamed(HOSTILE, note=HOSTILE)
    place = replace(site.place, name=HOSTILE)
    strange = replace(site, name=HOSTILE, place=place, mounts={HOSTILE: mount}, notes=(HOSTILE,))
    feeds = {HOSTILE: replace(next(iter(site.feeds.values())), name=HOSTILE)}
    tuner = replace(site.tuner, name=HOSTILE)
    strange = replace(strange, antennas={HOSTILE: antenna}, feeds=feeds, tuner=tuner)
    return strange.with_stations(stations)


def test_whatever_a_user_typed_is_only_text(site):
    strange = _hostile(site)
    page = report.page(strange, advice.rank(strange), report.Wishes(date=HOSTILE))
    assert "<script" not in page.lower()
    reader = Reader(page)
    assert {tag for tag, _ in reader.tags} <= ALLOWED
    assert all(set(attrs) <= {"alt", "width", "style", "src"} for attrs in _images(page))
    assert HOSTILE in reader.words


def test_the_page_shows_how_to_make_an_antenna_that_comes_from_a_build(site, ranking, text):
    """The best one of the demo roof is wire and mesh; another has a data sheet only."""
    bought = ranking[ranking["antenna"] == "two-band Yagi"]
    assert "How to make it" not in report.page(site, bought)
    page = text
    build = site.antenna("bow-tie with screen").build
    assert "How to make it: bow-tie with screen" in page and "Cut list" in page
    assert f"{build.cut_list['length_mm'].item()} mm" in page
    assert "Drawing of bow-tie (fan) before a mesh screen" in page


def test_a_page_asks_nothing_of_the_outside(site, text):
    strange = _hostile(site)
    for page in (text, report.page(strange, advice.rank(strange))):
        reader = Reader(page)
        for tag, attrs in reader.tags:
            assert tag not in ("script", "link", "iframe", "object", "embed", "base", "form")
            assert not [name for name in attrs if name.startswith("on") or name == "href"]
            assert tag != "img" or attrs["src"].startswith(INLINE)
            if tag == "img" and attrs["src"].startswith(INLINE[1]):
                drawing = base64.b64decode(attrs["src"].removeprefix(INLINE[1])).decode()
                assert not re.search(r"href|url\(|<script|<image|<foreign|\son", drawing)
        style = page[page.index("<style>") : page.index("</style>")]
        assert "url(" not in style and "@import" not in style and "http" not in style
        policy = [a["content"] for t, a in reader.tags if "http-equiv" in a]
        assert policy == ["default-src 'none'; img-src data:; style-src 'unsafe-inline'"]


def test_every_picture_has_words_that_carry_numbers(text):
    images = _images(text)
    assert len(images) == 4  # strip, ropes, map, and the drawing of the build
    assert all(len(re.findall(r"\d", image["alt"])) >= 10 for image in images)


# ---- what is left out before it is published ----------------------------------------------------


def test_a_rounded_home_gives_neither_place_nor_names_away(site, ranking):
    away = replace(
        site,
        name="12 Elder Lane",
        place=replace(site.place, name="my street", latitude_deg=30.4471, longitude_deg=-40.7189),
    )
    page = report.page(away, ranking, report.Wishes(round_home=True))
    exact = report.page(away, ranking)
    words = Reader(page).words + " ".join(i["alt"] for i in _images(page))
    for secret in ("Elder", "my street", "30.447", "30.45", "40.72", "40.71"):
        assert secret not in words
    assert "near 30.4° N, 40.7° W" in words
    assert "30.4471° N, 40.7189° W" in Reader(exact).words and "Elder" in exact


def test_a_rounded_home_moves_bearings_and_distances(site):
    # Twice as fine a grid must not be told apart: two roofs in one cell show the same places.
    wishes = report.Wishes(round_home=True)
    shown = []
    for latitude, longitude in ((30.4471, -40.7189), (30.4102, -40.6621)):
        place = replace(site.place, latitude_deg=latitude, longitude_deg=longitude)
        moved = report.rounding.shown_site(replace(site, place=place), wishes)
        shown.append(moved.stations[["bearing_deg", "distance_km"]].to_numpy(float))
    assert np.array_equal(*shown)


def test_a_rounded_home_tells_no_distance_by_its_account(site, ranking):
    """Field in empty space and power would give the kilometres to one tower exactly."""
    page = Reader(report.page(site, ranking, report.Wishes(round_home=True))).words
    whole = Reader(report.page(site, ranking)).words
    assert "field in empty space" in whole and "earth, hills and height" in whole
    assert "field in empty space" not in page and "earth, hills and height" not in page


def test_stations_without_coordinates_are_rounded_themselves(site):
    stations = site.stations.assign(latitude_deg=np.nan, longitude_deg=np.nan)
    shown = report.rounding.shown_site(
        site.with_stations(stations), report.Wishes(round_home=True)
    ).stations
    assert not (shown["bearing_deg"] % 5).any() and not (shown["distance_km"] % 5).any()
    assert (shown["distance_km"] >= 5).all()


def test_notes_are_dropped_on_request(site, ranking):
    stations = site.stations.assign(note="behind the barn of Mrs Someone")
    noted = replace(site.with_stations(stations), notes=("the key is under the mat",))
    with_notes = Reader(report.page(noted, ranking)).words
    without = Reader(report.page(noted, ranking, report.Wishes(notes=False))).words
    for note in ("Mrs Someone", "under the mat"):
        assert note in with_notes and note not in without


# ---- the file -----------------------------------------------------------------------------------


def test_write_makes_one_file_and_replaces_it_whole(site, ranking, tmp_path):
    path = report.write(site, ranking, tmp_path / "roof.html", declination_deg=-3.0)
    typed = earth.declination(0.0, 0.0, typed_deg=-3.0)
    page = report.page(site, ranking, report.Wishes(declination=typed))
    assert path.read_text(encoding="utf-8") == page
    report.write(site, ranking, path, round_home=True, notes=False, date="2031-02-03")
    assert "2031-02-03" in path.read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["roof.html"]


def test_a_report_never_lands_on_a_table(site, ranking, tmp_path):
    mine = tmp_path / "stations.csv"
    mine.write_text("kept")
    with pytest.raises(ValueError, match=r"must end in \.html"):
        report.write(site, ranking, mine)
    assert mine.read_text() == "kept"


def test_a_full_disk_leaves_the_old_report(site, ranking, tmp_path, monkeypatch):
    path = tmp_path / "roof.html"
    path.write_text("old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(tables.CannotSave, match="disk is full"):
        report.write(site, ranking, path)
    assert path.read_text() == "old" and len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize(
    "broken", [pd.DataFrame(), pd.DataFrame({"antenna": ["a"], "expected": [1.0]})]
)
def test_what_is_no_ranking_is_refused_in_words(site, broken):
    with pytest.raises(ValueError, match=r"shed\.advice\.rank\(site\)"):
        report.page(site, broken)


def test_a_declination_off_the_compass_is_refused(site, ranking, tmp_path):
    with pytest.raises(ValueError, match="typed_deg is 400"):
        report.write(site, ranking, tmp_path / "a.html", declination_deg=400)


# ---- cautions -----------------------------------------------------------------------------------


def test_cautions_cover_what_hurts_people():
    mast = " ".join(report.cautions("mast")["caution"])
    for word in ("power line", "twice", "one and a half", "let go", "Not alone", "thunder", "Bond"):
        assert word in mast
    assert "service" in mast or "brings electricity" in mast
    assert "joists" in " ".join(report.cautions("attic")["caution"])
    assert "Mast down before driving" in " ".join(report.cautions("vehicle")["caution"])
    for word in ("galvanised", "sharp", "supply off"):
        assert word in " ".join(report.cautions()["caution"])
    with pytest.raises(ValueError, match="kind is 'moon'"):
        report.cautions("moon")


def test_every_list_of_cautions_defers_to_local_code():
    for kind in ("mast", "attic", "room", "vehicle"):
        assert "Local code and licensed practice decide." in report.cautions_html(kind)


def test_figures_of_one_country_are_named_as_such():
    rows = facts.table("cautions")
    codes = rows[rows["caution"].str.contains("NEC|CFR|AWG")]
    assert len(codes) >= 4
    assert codes["caution"].str.contains("United States").all()


def test_the_wind_caution_is_the_formula():
    # Velocity pressure 0.613 V^2 N/m2 (ASCE 7, metric form); force coefficients 1.28, a flat plate
    # (NASA Glenn, shape effects on drag), and 2.0, flat open signs (ASCE 7-16 Table 29.4-2).
    pressure = 0.613 * 40.0**2
    text = facts.table("cautions").set_index("key").loc["wind", "caution"]
    low, high = (round(pressure * 0.6 * c, -1) for c in (1.28, 2.0))
    said = [int(n) for n in re.search(r"(\d+) to (\d+) N", text).groups()]
    assert said == [pytest.approx(low, abs=10), pytest.approx(high, abs=30)]
    assert "40 m/s" in text and "0.6 m²" in text and round(40 / 0.44704) == pytest.approx(90, abs=1)


# ---- the build sheet ----------------------------------------------------------------------------


def test_a_build_sheet_holds_the_cut_list_the_gains_and_the_cautions(tmp_path):
    build = builds.biquad((470, 608)).with_screen(builds.mesh_screen(500, 450))
    path = report.write_sheet(build.renamed("<b>mine</b>"), tmp_path / "sheet.html")
    text = path.read_text(encoding="utf-8")
    words = Reader(text).words
    for row in build.cut_list.itertuples():
        assert f"{row.length_mm} mm" in words and row.length_in in words
    assert "width 500 mm" in words and "height 450 mm" in words
    first = builds.by_channel(build).iloc[0]
    assert f"{first.gain_dbd:.1f} dBd" in words
    assert "Local code and licensed practice decide." in words
    assert not any(bad in text for bad in ("<b>mine", "<script", "http://", "https://"))


def test_an_antenna_of_the_demo_has_its_build_sheet(site):
    build = site.antenna("VHF three-element Yagi").build
    words = Reader(report.sheet.sheet_page(build)).words
    assert "Mark the boom" in words and "director 1" in words and "matters most" in words
    assert builds.both_units(build.sizes["places_mm"][1] - build.sizes["places_mm"][0]) in words
    assert f"{site.antenna('VHF three-element Yagi').gain_dbd(177):+.1f}"[1:] in words


def test_a_build_sheet_wants_an_html_name(tmp_path):
    with pytest.raises(ValueError, match="html"):
        report.write_sheet(builds.half_wave_dipole(539), tmp_path / "sheet.txt")
