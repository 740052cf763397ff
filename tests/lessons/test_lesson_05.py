"""What lesson 05 computes beside its panels: two paths, a turned antenna, the survey sheet."""

import numpy as np
import pytest
from matplotlib.figure import Figure

from signalshed import path, simulate, survey
from signalshed.classroom import lesson_05
from signalshed.classroom.lesson_05 import paths


def test_two_paths_of_equal_strength_double_or_cancel():
    # By hand: half a wave longer and turned over adds to 6.02 dB; a whole wave longer cancels.
    wave_m = 299.792458 / 500
    assert lesson_05.two_paths_db(500, wave_m / 2, 0) == pytest.approx(6.02, abs=0.01)
    assert lesson_05.two_paths_db(500, wave_m, 0) < -50


def test_dips_lie_as_far_apart_as_light_takes_for_the_detour():
    freq_mhz = np.arange(500, 530, 0.01)
    level = lesson_05.two_paths_db(freq_mhz, 60, 1)
    inner = level[1:-1]
    dips = freq_mhz[1:-1][(inner < level[:-2]) & (inner < level[2:])]
    assert np.diff(dips) == pytest.approx(299.792458 / 60, abs=0.03)


def test_a_strong_echo_turns_the_log_away_and_a_weak_one_does_not():
    panel = lesson_05.rotation_panel()
    panel.set(over_db=-20)
    assert "as the bearing 38 says" in panel.verdict
    panel.set(over_db=8, from_deg=240)
    assert "reflection" in panel.verdict and "240°" in panel.alt


def test_the_heading_panel_names_the_surveys_own_best():
    site = simulate.demo_site()
    panel = lesson_05.heading_panel(site)
    panel.set(antenna="long Yagi")
    panel.show_me()
    aim = survey.best_heading(site, survey.Setup("long Yagi", next(iter(site.mounts))))
    assert f"Best is {aim.heading_deg:.0f}°" in panel.verdict


def test_the_sheet_has_every_wanted_station_both_bearings_and_cautions(tmp_path):
    site = simulate.demo_site()
    names = site.stations["station"].replace("Gazette", "<b>Gazette")
    site = site.with_stations(site.stations.assign(station=names))
    sheet = tmp_path / "sheet.html"
    loop = survey.Setup("wire loop", "roof mast")
    card = lesson_05.survey_sheet(site, loop, sheet, "2026-05-16")
    text = sheet.read_text(encoding="utf-8")
    assert "<b>Gazette" not in text and "&lt;b&gt;Gazette, RF 24" in text
    assert "Quorrel Ridge | 38° | 50°" in card.text and "38°" in text and "50°" in text
    assert "Local code and licensed practice decide." in text and "<script" not in text


def test_the_sheet_is_refused_another_ending(tmp_path):
    with pytest.raises(ValueError, match="must end in"):
        lesson_05.survey_sheet(
            simulate.demo_site(), survey.Setup("wire loop", "roof mast"), tmp_path / "s.txt", "2026"
        )


@pytest.mark.parametrize(
    ("distance_km", "freq_mhz", "words"),
    [(2, 539, "next are 3.7 m"), (2, 60, "highest 17 m up and falls"), (40, 539, "no dip")],
)
def test_the_height_panel_says_what_its_curve_does(distance_km, freq_mhz, words):
    panel = lesson_05.height_panel()
    panel.set(distance_km=distance_km, freq_mhz=freq_mhz)
    assert words in panel.verdict
    heights = np.arange(1.0, 30.01, 0.01)
    gain = path.two_ray_gain_db(freq_mhz, distance_km, 150, heights)
    top, rises = heights[gain.argmax()], (np.diff(gain) > 0).all()
    assert ("no dip" in words) == rises
    assert ("highest" in words) == (abs(top - 17) < 0.5)


def test_dips_are_drawn_as_deep_as_they_are():
    picture = paths._Height(Figure())
    picture.move(height_m=9.0, distance_km=2, tower_m=150, freq_mhz=539)
    drawn = picture.curve.get_data()[1]
    dips = np.flatnonzero((drawn[1:-1] < drawn[:-2]) & (drawn[1:-1] < drawn[2:])) + 1
    assert len(dips) == 7 and (drawn[dips] < -30).all()


def test_an_echo_too_weak_to_matter_is_called_that():
    panel = lesson_05.two_paths_panel()
    for extra_m, weaker_db, words in (
        (60, 30, "hardly matters"),
        (60, 3, "dip every 5.0 MHz"),
        (5, 0, "rises or falls alike"),
    ):
        panel.set(extra_m=extra_m, weaker_db=weaker_db)
        assert words in panel.verdict


def test_the_best_heading_is_hidden_until_guessed_and_points_at_no_station():
    site = simulate.demo_site()
    panel = lesson_05.heading_panel(site)
    aim = survey.best_heading(site, survey.Setup("eight-element Yagi", next(iter(site.mounts))))
    hidden = (f"{aim.heading_deg:.0f}°", f"{aim.expected:.1f}", "est is", "shaded")
    assert not any(words in panel.verdict + panel.alt for words in hidden)
    blank = panel.png
    panel.place("75°")
    assert panel.png != blank and panel.words.finding.startswith("You said 75°: ")
    assert f"best is {aim.heading_deg:.0f}° with {aim.expected:.1f}" in panel.words.finding
    off = (site.stations["bearing_deg"] - aim.heading_deg + 180) % 360 - 180
    assert off.abs().min() > 10, "the best heading points at no station"
    panel.reset()
    assert panel.png == blank


def test_the_log_points_at_the_silo_and_the_station_makes_the_second_hill():
    panel = lesson_05.log_panel()
    assert "240" not in panel.verdict + panel.alt
    panel.place(300)
    assert "You said 300°; the meter reads most at 240°" in panel.words.finding
    readings = dict(
        part.split("° ") for part in panel.alt.split("heading: ")[1].rstrip(".").split(", ")
    )
    levels = {int(at): float(said.split()[0]) for at, said in readings.items() if "%" in said}
    assert levels[240] > levels[300] > levels[270], "two hills"
    panel.set(pad_db=20, antenna="double loop with screen")
    assert panel.trouble == "" and panel.alt


@pytest.mark.parametrize("guess", [0, 225, 240, 250, 300, 355])
def test_the_names_at_the_foot_of_the_log_lie_apart_and_hide_no_cross(guess):
    panel = lesson_05.log_panel()
    panel.set(pad_db=20)
    panel.place(guess)
    for width, height in ((800, 480), (545, 180)):
        panel.sized(f"{width} {height} 1")
        axes = panel._canvas.figure.axes[0]
        boxes = {t.get_text(): t.get_window_extent() for t in axes.texts}
        echo, yours = boxes["echo"], boxes["your guess"]
        assert not echo.overlaps(yours) and yours.x0 > 0 and yours.x1 < axes.figure.bbox.x1
        (crosses,) = (at for at in axes.lines if at.get_marker() == "x")
        foot = axes.transData.transform(crosses.get_xydata())[:, 1].min()
        assert foot > max(echo.y1, yours.y1), "a name hides where nothing locks"


def test_a_station_without_a_forecast_is_named_with_the_reason():
    """High and low VHF lie outside the wire loop's channels: 470 to 608 MHz, as its file says."""
    site = simulate.demo_site()
    stations = site.stations[site.stations["wanted"]].set_index("station")["freq_mhz"]
    low, high = (edge(site.antenna("wire loop").freq_mhz) for edge in (min, max))
    outside = stations.index[(stations < low - 3) | (stations > high + 3)]
    panel = lesson_05.place_panel(site)
    assert len(outside) == 3, "they are named in a row"
    named = f"No forecast for {', '.join(outside[:2])} and {outside[2]}: channel outside"
    assert named in panel.verdict
    drawn = [text.get_text() for text in panel._canvas.figure.axes[0].texts]
    assert drawn.count("no forecast") == 3
