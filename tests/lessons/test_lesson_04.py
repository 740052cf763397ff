"""What lesson 04 computes beside its panels: the closed form of the sheet, and the gallery."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from signalshed import builds, wires
from signalshed.classroom import lesson_04
from signalshed.classroom.lesson_04 import screens, sheets


@pytest.mark.parametrize(("behind", "dbi"), [(0.1, 8.83), (0.125, 8.70), (0.2, 8.12), (0.25, 7.48)])
def test_the_closed_form_is_the_textbooks(behind, dbi):
    # J. D. Kraus, flat-sheet reflector: formula unchecked; the same arithmetic as his published
    # pairs of dipoles in opposite phase, plus 3.01 dB. 0.01 dB.
    assert lesson_04.sheet_gain_dbi(behind) == pytest.approx(dbi, abs=0.01)


def test_the_solver_meets_the_closed_form_before_a_sheet():
    # Two routes of our own: the solver on a real wire, the closed form for a thin one; within 0.1 dB.
    for behind in (0.1, 0.25, 0.35, 0.7):
        solved = sheets._solved(behind, "copper").gain_dbi(0)
        assert solved == pytest.approx(lesson_04.sheet_gain_dbi(behind), abs=0.1)


def test_resistance_shared_at_half_a_wave_is_the_handbooks():
    # Mutual impedance side by side at half a wavelength, -12.5 ohm: handbooks, unchecked.
    assert sheets.mutual_ohm(0.5) == pytest.approx(-12.5, abs=0.1)


def test_netting_hears_more_behind_than_cloth_and_gains_no_more():
    cloth, net = (
        screens._Live(screens._build("wire loop", name, 80, 400, 400), 539.0)
        for name in ("1/2 in hardware cloth", "1 1/2 in netting taken as square")
    )
    assert net.behind_db < cloth.behind_db and net.ahead_dbd <= cloth.ahead_dbd + 0.05


def test_the_live_figure_is_the_librarys_own():
    build = screens._build("biquad", "1/2 in hardware cloth", 80, 400, 400)
    live = screens._Live(build, 539.0)
    assert live.ahead_dbd == pytest.approx(builds.realised_gain_dbd(build, [539], [0])[0, 0])


def test_the_claims_hold_in_the_words_of_the_lesson():
    """What its prose says in words: a hundredth, a third, two fifths, more wire, twice the power."""
    band = (470, 608)
    wires_of = ("10 AWG copper", "10 AWG zinc coated", "10 AWG bare steel", "6 mm copper")
    copper, zinc, steel, fat = (
        builds.by_channel(builds.loop(band, 600, wire=w))["gain_dbd"].max() for w in wires_of
    )
    assert copper - zinc == pytest.approx(0.01, abs=0.005)
    assert copper - steel == pytest.approx(1 / 3, abs=0.04)
    assert 0 <= fat - copper < 0.1, "fat wire does not gain more"
    fold = [(8 * k, 0 if k in (-10, -1, 0, 1, 10) else 18 * (-1) ** k) for k in range(-10, 11)]
    special, straight = builds.own(band, [fold]), builds.half_wave_dipole(band, 271)
    long, short = (np.ptp(b.element[0].points_m[:, 1]) for b in (straight, special))
    assert 1 - short / long == pytest.approx(2 / 5, abs=0.02)
    assert special.wire_m > straight.wire_m
    bare = builds.loop(band)
    screened = bare.with_screen(builds.mesh_screen(500, 400))
    gain, arc = zip(
        *((builds.worst_dbd(b, 539), builds.usable_arc_deg(b, 539, 10)) for b in (bare, screened)),
        strict=True,
    )
    assert 10 ** ((gain[1] - gain[0]) / 10) > 2 and arc[1] < arc[0], "more power, a smaller arc"


def test_every_build_of_the_gallery_is_in_the_table_and_on_the_panel():
    made = lesson_04.gallery_builds()
    assert len(lesson_04.gallery().text.splitlines()) == 1 + len(made)
    panel = lesson_04.gallery_panel()
    for name, build in made.items():
        panel.set(name=name)
        assert panel.trouble == "" and panel.verdict.startswith(name)
        assert wires.solve(build.structure, 539).efficiency > 0.97
        assert np.abs(build.structure.wires[0].points_m[:, 1:]).max() < 0.52, "inside the drawing"


@pytest.mark.parametrize("name", ["half-wave dipole", "bow-tie"])
def test_the_gallery_is_what_tuning_makes_of_start_sizes(name):
    """The two quickest of tests/make_gallery.py, tuned again: the worst channel within 0.05 dB."""
    path = Path(__file__).resolve().parents[1] / "make_gallery.py"
    spec = importlib.util.spec_from_file_location("make_gallery", path)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert list(lesson_04.gallery_builds()) == list(script.STARTS), "run tests/make_gallery.py"
    tuned = builds.worst_dbd(builds.tune(script.STARTS[name]))
    kept = builds.worst_dbd(lesson_04.gallery_builds()[name])
    assert kept == pytest.approx(tuned, abs=0.05), "run tests/make_gallery.py"


def test_the_face_is_seen_through_the_mesh_and_the_wave_is_not():
    # By hand: holes of 11.7 mm every 12.7 mm leave (11.7 / 12.7) squared; -24 dB is 0.4 per cent.
    light, wave = lesson_04.through_pct("1/2 in hardware cloth", 539.0)
    assert light == pytest.approx(84.9, abs=0.1) and wave == pytest.approx(0.4, abs=0.05)
    panel = lesson_04.face_panel()
    assert "0.4" not in panel.verdict + panel.alt
    blank = panel.png
    panel.place("60")
    assert "you said 60 %, 0.4 % of its power comes through" in panel.words.finding
    panel.reset()
    assert panel.png == blank


def test_the_gain_before_a_sheet_is_hidden_until_guessed():
    panel = lesson_04.sheet_panel()
    assert "rises" not in panel.alt and "dBi" not in panel.alt
    panel.place("falls")
    assert panel.words.finding.startswith("You said it falls; it rises, from +7.5 dBi")
    assert "turned back" in panel.verdict
