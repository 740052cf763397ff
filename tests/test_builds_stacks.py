"""Stacks, whips on a sheet, rods at hand, sizes in inches; and that finer segments change nothing."""

import numpy as np
import pytest

from signalshed import builds, wires
from signalshed.classroom.lesson_04.gallery import gallery_builds
from signalshed.site.antennas import make_build

AZ = np.arange(-180.0, 180.0, 5.0)


def _ahead_and_behind(build, freq_mhz, per_wavelength):
    solved = wires.solve(build.structure, freq_mhz, per_wavelength=per_wavelength)
    gain = solved.gain_dbi(AZ, 0.0, build.polarization)
    return gain[AZ == 0].item(), gain[AZ == 0].item() - gain[np.abs(AZ) > 120].max()


@pytest.mark.parametrize("name", gallery_builds())
@pytest.mark.parametrize("freq_mhz", [473.0, 605.0])
def test_halved_segments_change_no_build_of_the_gallery(name, freq_mhz):
    """Gain by less than 0.1 dB, front to back by less than 2 dB where it is below 25 dB."""
    build = gallery_builds()[name]
    gain, back = _ahead_and_behind(build, freq_mhz, wires.PER_WAVELENGTH)
    fine_gain, fine_back = _ahead_and_behind(build, freq_mhz, 2 * wires.PER_WAVELENGTH)
    assert abs(gain - fine_gain) < 0.1
    assert abs(back - fine_back) < 2 or min(back, fine_back) > 25


def test_two_dipoles_one_above_the_other_gain_what_the_handbook_says():
    """Kraus Ex 6-12.1 (by reprint) for half a wave apart in phase: 5.99 dBi, 3.84 dB over one."""
    pair = builds.stack(539, "half_wave_dipole", spacing_mm=278, length_mm=260)
    one = builds.half_wave_dipole(539, 260)
    gain = [wires.solve(b.structure, 539).gain_dbi(0) for b in (pair, one)]
    assert gain[0] - gain[1] == pytest.approx(3.84, abs=0.25)  # less by what the legs lose


@pytest.mark.parametrize("of", ["bow_tie", "yagi", "loop"])
def test_a_stack_is_cut_drawn_and_made_again(of):
    pair = builds.stack((470, 608), of)
    one = builds.FORMS[of]((470, 608))
    assert pair.wire_m == pytest.approx(2 * one.wire_m)
    assert builds.remade(pair).identity == pair.identity
    assert {"spacing_mm", "leg_mm"} <= set(builds.sizes_to_tune(pair))
    words = " ".join(builds.build_sheet(pair, figures=False).step)
    assert "from centre to centre" in words and "shield" in words
    assert ("Mark the boom" in words) == (of == "yagi")


def test_a_whip_comes_near_the_monopole_of_the_books():
    """Quarter wave on an endless sheet: 36.5 + j21 ohm. On one and a half wavelengths of it the
    resistance comes back to it within a few ohm; on a third of a wavelength it is far below."""
    wave = 299.792458 / 539 * 1000
    whips = [builds.whip(539, 0.25 * wave, (n * wave, n * wave), "2 mm copper") for n in (0.3, 1.5)]
    small, large = (wires.solve(w.structure, 539).impedance_ohm for w in whips)
    assert large.real == pytest.approx(36.5, abs=10) and large.imag == pytest.approx(21, abs=15)
    assert small.real < 30
    assert whips[1].polarization == "vertical"
    gain = builds.realised_gain_dbd(whips[1], [539], AZ)
    assert np.ptp(gain) < 1.0, "alike all round"


def test_a_whip_says_what_of_its_sheet_is_drawn_and_what_the_sheet_is_for():
    notes = " ".join(builds.whip(600, sheet_mm=(2000, 1000)).notes)
    assert "749 by 749 mm are drawn" in notes and "bare metal" in notes
    steps = " ".join(builds.build_sheet(builds.whip(600), figures=False).step)
    assert "its shield to the sheet" in steps


def test_a_folder_takes_legs_and_inches():
    made = make_build(
        "two loops",
        {"freq_mhz": 539, "circumference_in": "23 5/8", "leg_in": 10, "spacing_mm": 330},
    )
    assert made.sizes["circumference_mm"] == pytest.approx(600.1, abs=0.1)
    assert made.lines_mm == (254.0, 254.0)
    screen = {"form": "mesh_screen", "width_in": 20, "height_in": 20, "behind_in": "3 1/2"}
    before = make_build("loop", {"freq_mhz": 539, "screen": screen})
    assert before.screen.behind_mm == pytest.approx(88.9) and before.screen.sizes["width_mm"] == 508
    stacked = make_build("stack", {"freq_mhz": 539, "of": "yagi", "boom_wavelengths": 0.4})
    assert len(stacked.terminals_m) == 2


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: builds.yagi(539, 0.4, [267, 235, 233, 235]), "room for 1 of the 3 directors"),
        (lambda: builds.two_loops(539).joined_by(wires.Line(0.4, 300, 0.99)), "its gap of 167 mm"),
        (lambda: builds.stock("300 mm tube aluminium"), "300 mm thick"),
        (lambda: builds.stock("6 mm unobtainium"), "it must be like '10 AWG'"),
        (lambda: builds.stack(539, "own"), "of is 'own'"),
        (lambda: builds.stack(539, count=3), "2 or 4"),
        (lambda: builds.whip(539, sheet_mm=(500,)), "length, width"),
        (lambda: make_build("loop", {"freq_mhz": 539, "leg_mm": 3}), "no joining lines"),
        (lambda: make_build("loop", {"freq_mhz": 539, "circumference_in": "x"}), "10 1/4"),
        (
            lambda: make_build(
                "loop", {"freq_mhz": 539, "circumference_in": 2, "circumference_mm": 3}
            ),
            "both given",
        ),
    ],
)
def test_one_clear_sentence(make, match):
    with pytest.raises(ValueError, match=match):
        make()


@pytest.mark.parametrize("arrangement", ["stacked", "side by side"])
@pytest.mark.parametrize("of", ["half_wave_dipole", "loop", "bow_tie", "biquad", "yagi"])
def test_whatever_is_stacked_stands_free_at_its_start_spacing(of, arrangement):
    """Bow-ties side by side and biquads one above another are wider than 0.6 wavelengths."""
    made = builds.stack(539, of, 2, arrangement)
    assert len(made.structure.feed) == 2


def test_a_spacing_at_which_neighbours_touch_is_refused():
    with pytest.raises(ValueError, match=r"spacing_mm is 300, but a bow-tie .* would touch"):
        builds.stack(539, "bow_tie", arrangement="side by side", spacing_mm=300)
