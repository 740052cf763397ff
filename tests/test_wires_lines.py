"""Joining lines against closed forms and scikit-rf, and as parts of a build."""

import numpy as np
import pytest
import skrf

from signalshed import builds, facts, wires

C = facts.value("constants", "speed_of_light")
FREQ = 600.0
LAM = C / 600e6
BAND = (470, 608)


@pytest.mark.parametrize("load", [150 + 20j, 20 - 70j, 300.0])
@pytest.mark.parametrize(("length", "ohm", "velocity"), [(0.07, 75, 0.66), (0.31, 300, 0.9)])
def test_a_line_is_scikit_rf_s(load, length, ohm, velocity):
    """Lossless and lossy, against scikit-rf's media: 1e-6."""
    freq = skrf.Frequency(500, 600, 3, "MHz")
    for loss_db_m in (0.0, 0.1):
        lost = loss_db_m * np.sqrt(freq.f / 1e8) / (20 / np.log(10))
        gamma = lost + 2j * np.pi * freq.f / (velocity * C)
        media = skrf.media.DefinedGammaZ0(freq, gamma=gamma, z0=ohm)
        gone = media.line(length, "m") ** media.load((load - ohm) / (load + ohm))
        line = wires.Line(length, ohm, velocity, loss_db_m=loss_db_m)
        np.testing.assert_allclose(
            line.impedance_ohm(load, freq.f / 1e6), gone.z[:, 0, 0], rtol=1e-6
        )


def test_stubs_and_transformers_by_closed_form():
    """Any text: quarter wave Z^2 / load, half wave the load, stubs j Z tan and -j Z cot: 1e-9."""
    for share, seen in ((0.25, 75.0**2 / 150), (0.5, 150.0)):
        line = wires.Line(share * 0.66 * LAM, 75, 0.66)
        assert line.impedance_ohm(150, FREQ) == pytest.approx(seen, rel=1e-9)
    stub = wires.Line(0.1 * LAM, 75)
    angle = 2 * np.pi * 0.1
    assert stub.impedance_ohm(0, FREQ) == pytest.approx(75j * np.tan(angle), rel=1e-9)
    assert stub.impedance_ohm(1e15, FREQ) == pytest.approx(-75j / np.tan(angle), rel=1e-9)


def pair(turned=False):
    """Two dipoles, one above the other; ``turned`` types the second the other way round."""
    drawn = []
    for z, way in ((0, 1), (0.4 * LAM, -1 if turned else 1)):
        ends = [(0, -way * 0.24 * LAM, z), (0, way * 0.24 * LAM, z)]
        drawn.append(wires.Wire(ends, 1e-3))
    return drawn, [(0, 0, 0), (0, 0, 0.4 * LAM)]


def test_a_pair_is_joined_as_its_line_says():
    """Equal legs on an even pair: half of what one leg makes of one feed's impedance: 1e-9."""
    alone = wires.solve(wires.Structure(*pair()), FREQ)
    leg = wires.Line(0.3, 75, 0.85)
    both = wires.solve(wires.Structure(*pair(), lines=(leg, leg)), FREQ)
    seen = leg.impedance_ohm(alone.feed_impedance_ohm[0], FREQ) / 2
    assert both.impedance_ohm == pytest.approx(seen, rel=1e-9)
    assert both.gain_dbi(0) == pytest.approx(alone.gain_dbi(0), abs=1e-9)
    np.testing.assert_allclose(both.feed_impedance_ohm, alone.feed_impedance_ohm, rtol=1e-9)


def test_a_crossed_leg_is_a_turned_element():
    leg = wires.Line(0.3, 75, 0.85)
    across = wires.Line(0.3, 75, 0.85, crossed=True)
    crossed = wires.solve(wires.Structure(*pair(), lines=(leg, across)), FREQ)
    turned = wires.solve(wires.Structure(*pair(turned=True), lines=(leg, leg)), FREQ)
    assert crossed.impedance_ohm == pytest.approx(turned.impedance_ohm, rel=1e-9)
    assert crossed.gain_dbi(0, 20) == pytest.approx(turned.gain_dbi(0, 20), abs=1e-9)
    assert crossed.gain_dbi(0) < -60, "ahead the two cancel"


def test_legs_of_unequal_length_tilt_the_beam():
    """A quarter wave more in the upper leg: the beam leans upward, to the side that lags."""
    legs = wires.Line(0.1, 73), wires.Line(0.1 + LAM / 8, 73)
    leaning = wires.solve(wires.Structure(*pair(), lines=legs), FREQ)
    assert leaning.gain_dbi(0, 15) > leaning.gain_dbi(0, -15) + 1


def test_power_goes_where_it_is_said_to_go():
    """Radiated over taken at the joint, by the far field over a sphere: 0.3 %."""
    legs = (wires.Line(0.3, 75, 0.85, loss_db_m=2.0), wires.Line(0.36, 75, 0.85, loss_db_m=2.0))
    solution = wires.solve(wires.Structure(*pair(), lines=legs), FREQ)
    sine, weight = np.polynomial.legendre.leggauss(24)
    gain = solution.gain_dbi(np.arange(48)[None] * 7.5, np.rad2deg(np.arcsin(sine))[:, None])
    share = np.sum(weight[:, None] * 10 ** (gain / 10)) / 96
    assert share == pytest.approx(solution.efficiency, rel=3e-3) and share < 0.8


def test_a_sweep_with_legs_is_what_full_solutions_give():
    """Reduced basis with a column a feed, against each frequency alone on the same mesh: 0.1 %."""
    legs = (wires.Line(0.3, 75, 0.85), wires.Line(0.33, 75, 0.85, loss_db_m=0.06))
    drawn = [wires.Wire(w.points_m, w.radius_m, 16) for w in pair()[0]]
    screen = [wires.Wire([(-0.1, -0.3, z), (-0.1, 0.3, z)], 2e-3, 12) for z in (-0.1, 0.1, 0.3)]
    structure = wires.Structure(drawn + screen, pair()[1], lines=legs)
    freq = np.linspace(470, 610, 24)
    swept = wires.sweep(structure, freq, [0.0, 40.0])
    assert swept.solved < 15
    for i in (0, 7, 23):
        alone = wires.solve(structure, freq[i])
        assert swept.impedance_ohm[i] == pytest.approx(alone.impedance_ohm, rel=2e-3)
        assert swept.gain_dbi()[i] == pytest.approx(alone.gain_dbi([0.0, 40.0]), abs=0.01)
        assert swept.efficiency[i] == pytest.approx(alone.efficiency, abs=1e-3)


def test_two_loops_are_joined_by_real_legs():
    """260 mm of 75 ohm cable with solid plastic cost decibels that a joint over no distance hides."""
    mesh = builds.mesh_screen(900, 450)
    loops = builds.two_loops(BAND, arrangement="side by side", screen=mesh)
    nowhere, solid = loops.joined_by(), loops.joined_by(wires.Line(0.26, 75, 0.66))
    freq = [473.0, 539.0, 605.0]
    ideal, real = (builds.realised_gain_dbd(b, freq, [0])[:, 0] for b in (nowhere, solid))
    assert (ideal - real).max() > 4
    assert loops.identity != nowhere.identity
    assert loops.cut_list["piece"].tolist() == ["loop (circle)", "joining line"]
    assert "75 ohm cable, velocity 0.85" in loops.cut_list["stock"].iloc[-1]


def test_tuning_cuts_the_legs_too():
    start = builds.two_loops((500, 560))
    tuned = builds.tune(start)
    assert "leg_mm" in builds.sizes_to_tune(start)
    assert builds.worst_dbd(tuned) > builds.worst_dbd(start)
    assert min(tuned.lines_mm) >= builds.ways_mm(tuned).max() - 1
    assert builds.remade(tuned).lines == tuned.lines


def test_the_sheet_says_which_cable_and_where_its_shield_goes():
    pair_of_loops = builds.two_loops((500, 560))
    rows = builds.build_sheet(pair_of_loops, figures=False)
    words = " ".join(rows.loc[rows["part"] == "join", "step"])
    assert "2 legs of 75 ohm cable" in words and "the same side" in words
    first, second = pair_of_loops.lines[0], builds.cable_leg(240, crossed=True)
    turned = builds.build_sheet(pair_of_loops.joined_by(first, second), figures=False)
    assert "then the right" in " ".join(turned.loc[turned["part"] == "join", "step"])


def test_what_a_pigtail_costs():
    """Two leads 14 mm apart, 1 mm thick: 120 acosh 14 = 399.7 ohm; 20 mm of it before 75 ohm at 600 MHz
    by the line equation: (75 + j 399.7 t) / (399.7 + j 75 t), t = tan(2 pi 0.02 / 0.49965)."""
    t = np.tan(2 * np.pi * 0.02 / LAM)
    seen = 399.7 * (75 + 399.7j * t) / (399.7 + 75j * t)
    lost = -10 * np.log10(4 * seen.real * 75 / abs(seen + 75) ** 2)
    assert wires.mismatch_loss_db(builds.pigtail(20).impedance_ohm(75, FREQ), 75) == pytest.approx(
        lost, abs=0.01
    )
    table = builds.joint_cost(builds.half_wave_dipole(BAND))
    assert table["cost_50_mm_db"].max() > table["cost_20_mm_db"].max() > 0.3
    sheet = builds.build_sheet(builds.half_wave_dipole(BAND))
    assert f"20 mm of lead cost up to {table['cost_20_mm_db'].max():.1f} dB" in " ".join(
        sheet["why"]
    )


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda b: b.joined_by(wires.Line(0.1, 75)), "does not reach"),
        (lambda b: b.joined_by(wires.Line(0.6, 300)), "longer than its gap"),
        (lambda b: b.joined_by(*[wires.Line(0.3, 75, 0.8)] * 3), "one for each"),
        (lambda b: wires.Line(-1, 75), "length_m"),
        (lambda b: wires.Line(1, 75, 1.2), "velocity"),
        (lambda b: wires.Structure(*pair(), lines=(wires.Line(1, 75),)), "one for each of 2"),
        (lambda b: builds.cable_leg(0), "length_mm"),
    ],
)
def test_one_clear_sentence(make, match):
    with pytest.raises(ValueError, match=match):
        make(builds.two_loops(539))
