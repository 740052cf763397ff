"""An antenna as it is hung: the other cut of one on its side, and what a room leaves of a pattern."""

from dataclasses import replace

import numpy as np
import pytest
from hand import flat, site_of, stations

from signalshed import antenna, budget, builds, survey, wires
from signalshed.classroom import cards
from signalshed.site import Mount

ROUND = np.arange(-180.0, 180.0, 30.0)
UPRIGHT = Mount("upright", "mast", 9.1, polarization="vertical")


def toward(thing, mount, bearings=ROUND, polarization="vertical", freq_mhz=539.0):
    """Gain toward stations all round an antenna aimed north."""
    site = site_of(
        stations(bearing_deg=np.mod(bearings, 360), polarization=polarization, freq_mhz=freq_mhz)
    )
    return budget.gain_toward_dbd(site, thing, mount, [0.0])[0]


def test_a_dipole_on_its_side_hears_all_round():
    # Closed form of any dipole: the same in every direction across its wire. Lying flat it loses the
    # 16 dB of its filled null to either side.
    for dipole in (
        antenna.plain_dipole(),
        antenna.from_build(builds.half_wave_dipole(539), [533.0, 539.0, 545.0]),
        antenna.from_numbers("label", [470, 608], 0.0, 78.0, 0.0),
    ):
        upright = toward(dipole, UPRIGHT)
        assert upright == pytest.approx(np.full(12, dipole.gain_dbd(539)), abs=0.02)
        lying = toward(dipole, Mount("flat", "mast", 9.1), [0.0, 90.0], "horizontal")
        assert lying[0] - lying[1] == pytest.approx(16, abs=0.03)


def test_one_typed_upright_hears_all_round_without_a_word_about_its_width():
    whip = antenna.from_numbers("whip", [470, 608], -1.0, polarization="vertical")
    assert toward(whip, Mount("mast", "mast", 9.1)).tolist() == [-1.0] * 12
    # On its side it is a dipole lying flat: its ends are deaf, filled at 16 dB.
    laid = toward(whip, UPRIGHT, [0.0, 39.0, 90.0], "horizontal")
    assert laid == pytest.approx([-1, -4, -17], abs=0.15)


def test_the_other_cut_of_two_dipoles_one_over_the_other():
    # Closed form: in phase and half a wave apart along z they hear cos(90 sin el) upward, each alike all
    # round its wire. On their side that is the cut in azimuth: -3.01 dB at 30 degrees, -13.6 at 60, and
    # deaf at 90, filled 16 dB below the aim.
    gap_mm = 299792.458 / 539 / 4
    lines = [[(-130, z), (130, z)] for z in (-gap_mm, gap_mm)]
    feeds = [(0, 0, z) for z in (-gap_mm, gap_mm)]
    pair = antenna.from_build(builds.own(539, lines, feeds, balun="1:1"), [539.0])
    array = 20 * np.log10(np.cos(np.pi / 2 * np.sin(np.radians([0.0, 30.0, 60.0]))))
    hears = toward(pair, UPRIGHT, [0.0, 30.0, 60.0, 90.0]) - pair.gain_dbd(539.0)
    assert array.tolist() == pytest.approx([0, -3.01, -13.6], abs=0.02)
    assert hears == pytest.approx([*array, -16], abs=0.1)


@pytest.mark.parametrize(("along", "across"), [(66.0, 124), (49.0, 63), (30.0, 32.5)])
def test_the_usual_width_across(along, across):
    # Pattern multiplication, 1/across^2 = 1/along^2 - 1/78^2 by hand. Handbook Yagis (common practice,
    # no source): three elements 66 and 111 degrees, long ones nearly as narrow in both planes.
    assert antenna.across_deg(along) == pytest.approx(across, abs=0.5)
    assert antenna.across_deg(antenna.across_deg(along), lies_flat=False) == pytest.approx(along)


def test_a_typed_yagi_on_its_side_is_wider_and_as_deaf_behind():
    yagi = antenna.from_numbers("yagi", [470, 608], 9.0, 49.0, 15.0)
    on_side = toward(yagi, UPRIGHT, [0.0, 31.5, 180.0])
    assert on_side == pytest.approx([9, 6, -6], abs=0.15)  # straight lines between 5 degrees
    assert yagi.on_its_side.beamwidth_deg(539) == pytest.approx(63, abs=2)


def test_a_computed_yagi_by_its_wires_in_both_planes():
    # Two routes of our own: the solver one direction at a time, above the antenna.
    build = builds.yagi(539, 0.4)
    known = antenna.from_build(build, [539.0])
    solved = wires.solve(build.structure, 539.0)
    up = solved.gain_dbi(0.0, np.array([0.0, 30.0, 60.0]), "horizontal")
    up = np.append(up, solved.gain_dbi(180.0, np.array([30.0, 0.0]), "horizontal"))
    cut = known.on_its_side.gain_dbd(539.0, [0, 30, 60, 150, 180])
    assert np.asarray(cut) - known.gain_dbd(539.0) == pytest.approx(
        np.maximum(up - up[0], -16), abs=0.05
    )
    assert known.on_its_side.beamwidth_deg(539) > known.beamwidth_deg(539) + 20


def test_crossed_polarization_goes_by_how_it_hangs():
    upright = toward(antenna.plain_dipole(), UPRIGHT, [0.0, 0.0], ["vertical", "horizontal"])
    assert upright == pytest.approx([0, -16])


# ---- indoors ------------------------------------------------------------------------------------


def test_a_turn_at_a_window_costs_less_than_on_the_mast():
    # 7 dBd, 60 degrees, 15 dB front to back: aside 16 dB less. The mean of its pattern all round is
    # -0.16 dBd: its front lobe alone, 5.012 x 10^(-1.2 (a/60)^2), has a width of 60 sqrt(pi/(1.2 ln 10))
    # = 64 degrees, 5.012 x 64/360 = 0.89. Half of the power at a window comes from everywhere: ahead
    # 10 log10(2.506 + 0.482) = 4.75, aside 10 log10(0.063 + 0.482) = -2.64.
    screen = antenna.from_numbers("screen", [470, 608], 7.0, 60.0)
    mast, window = (
        toward(screen, Mount("here", kind, 5.0), [0.0, 90.0], "horizontal")
        for kind in ("mast", "window")
    )
    assert mast == pytest.approx([7, -9])
    assert window == pytest.approx([4.75, -2.64], abs=0.03)


def test_one_site_tells_the_window_from_the_mast_whichever_was_asked_first():
    screen = antenna.from_numbers("screen", [470, 608], 7.0, 60.0)
    site, kinds = site_of(stations(freq_mhz=539.0, bearing_deg=[0.0, 90.0])), ("mast", "window")
    swing = {
        kind: np.ptp(budget.gain_toward_dbd(site, screen, Mount("here", kind, 5.0), [0.0]))
        for kind in kinds
    }
    assert swing == pytest.approx({"mast": 16, "window": 7.39}, abs=0.03)  # as above


def test_the_deeper_indoors_the_nearer_to_the_mean():
    screen = antenna.from_numbers("screen", [470, 608], 7.0, 60.0)
    swing, top = {}, {}
    for kind in ("mast", "attic", "window", "room"):
        gain = toward(screen, Mount("here", kind, 5.0), ROUND, "horizontal")
        swing[kind], top[kind] = np.ptp(gain), gain.max()
        assert 10 * np.log10(np.mean(10 ** (gain / 10))) == pytest.approx(-0.1, abs=0.2)
    assert list(swing.values()) == sorted(swing.values(), reverse=True) and swing["room"] < 5
    assert list(top.values()) == sorted(top.values(), reverse=True)


def test_indoors_crossed_polarization_costs_less():
    # At a window half comes straight, 16 dB down (0.0251), and half from everywhere, in either
    # polarization alike: 10 log10(0.5 x 0.0251 + 0.5 x 0.5) = -5.81 dB.
    got = toward(flat(), Mount("here", "window", 5.0), np.array([0.0]), "vertical")
    assert got == pytest.approx([-5.81], abs=0.01)


def test_an_aim_in_a_room_is_a_search_and_says_so():
    screen = antenna.from_numbers("screen", [470, 608], 7.0, 60.0)
    site = site_of(stations(bearing_deg=120.0, distance_km=70.0, erp_kw=100.0))
    for kind, said in (("room", True), ("mast", False)):
        setup = survey.Setup(screen, Mount("here", kind, 5.0), heading_deg=0)
        rows = budget.account(0, setup, site).set_index("term")
        assert ("search" in rows.loc["antenna toward the station", "why"]) == said
        assert ("a search begins" in cards.aim_card(site, setup).text) == said
    near = replace(site, stations=site.stations.assign(distance_km=60.0, erp_kw=300.0))
    setup = survey.Setup(screen, Mount("here", "attic", 9.1), heading_deg=0)
    limit = survey.reception(near, setup).limits[0]
    assert limit.kind == "aim" and limit.remedy.startswith("a search")


def test_the_place_in_the_room_is_part_of_the_doubt():
    # Facts table rooms: 3 dB at a window, beside 10 of the path and half of a room's walls (ITU-R
    # P.2109, 7.2 dB at 539 MHz, so 3.6), and 2 dB for the echoes that ATSC pays for indoors.
    site = site_of(stations(freq_mhz=[539.0]))
    told = survey.outlook(site, survey.Setup(flat(), Mount("w", "window", 5.0), heading_deg=0))
    assert told.spread_db[0] == pytest.approx(np.sqrt(100 + 3.6**2 + 9 + 2**2), abs=0.02)
