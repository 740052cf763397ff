"""Noise from outside: the terms of ITU-R P.372, what an antenna's own losses keep away, and time."""

import numpy as np
import pytest
from hand import flat, site_of, stations
from scipy import stats

from signalshed import antenna, builds, chain, survey
from signalshed.site import Mount

SEVEN = [chain.Tuner("set", ("ATSC1",), 7.0).part]


def spare(site, thing, **kind):
    mount = Mount("mast", "mast", 9.1, **kind)
    return survey.outlook(site, survey.Setup(thing, mount, heading_deg=0))


@pytest.mark.parametrize(
    ("environment", "at_69", "at_195"),
    [
        ("city", 25.86, 13.37),
        ("residential", 21.56, 9.07),
        ("rural", 16.26, 3.77),
        ("quiet_rural", 1.01, -11.89),
    ],
)
def test_man_made_noise(environment, at_69, at_195):
    # ITU-R P.372-17 Table 1, Fam = c - d log10(f), evaluated by hand.
    got = chain.outside_noise_db([69, 195], environment)
    assert got == pytest.approx([at_69, at_195], abs=0.01)


def test_galactic_noise():
    # ITU-R P.372-17, 52 - 23 log10(f), evaluated by hand; above 250 MHz neither formula goes on.
    got = chain.outside_noise_db([69, 100, 195], "galactic")
    assert got == pytest.approx([9.71, 6.00, -0.67], abs=0.01)
    assert all(np.isneginf(chain.outside_noise_db(251, s)) for s in ("galactic", "residential"))


def test_a_quiet_farm_hears_the_galaxy():
    # 57 MHz, quiet rural: man-made 53.6 - 28.6 x 1.7559 = 3.38 dB, a factor of 2.178; the galaxy
    # 52 - 23 x 1.7559 = 11.61 dB, 14.50. Together 16.68, 12.22 dB.
    silent = [chain.Tuner("set", ("ATSC1",), 0).part]
    got = chain.system_noise_figure_db(silent, 57, "quiet_rural")
    assert got == pytest.approx(10 * np.log10(2.178 + 14.50), abs=0.01)
    assert got - chain.outside_noise_db(57, "quiet_rural") == pytest.approx(8.84, abs=0.02)
    assert chain.system_noise_figure_db(silent, 57, "none") == 0


def test_an_antenna_that_loses_ten_db_hears_ten_db_less_of_the_street():
    # 69 MHz, residential: 143.2 man-made and 9.35 galactic over 290 K, a tenth of all but one of it
    # (151.6), and the set's own 5.012: 20.17, 13.05 dB; through one without losses 156.6, 21.95 dB.
    lossy = chain.system_noise_figure_db(SEVEN, 69, "residential", 10.0)
    whole = chain.system_noise_figure_db(SEVEN, 69, "residential")
    assert (lossy, whole) == (pytest.approx(13.05, abs=0.01), pytest.approx(21.95, abs=0.01))


def test_what_a_short_whip_loses_it_does_not_lose_twice():
    # The same at the roof: a whip of -10 dBd catches 10 dB less than a dipole. No antenna is less
    # directive than a short dipole, -0.39 dBd, so it loses 9.61 dB at least: of 151.6 of noise a factor
    # of 0.1094 is left, 16.58 + 5.012, 13.34 dB. 8.61 dB less noise: of 10 dB it lacks 1.39.
    site = site_of(stations(freq_mhz=[69.0]), line_db=0, noise="residential")
    whip = antenna.from_numbers("whip", [54, 88], -10.0, 360.0, 0.0, spread_db=0.0)
    lost = spare(site, flat()).margin_db[0] - spare(site, whip).margin_db[0]
    assert lost == pytest.approx(10 - (21.95 - 13.34), abs=0.02)


def test_a_build_loses_its_mismatch_its_balun_and_the_heat_of_its_wires():
    # A dipole cut for 195 MHz, fed at 75 ohm: at 69 MHz its mismatch alone is above 10 dB. Two routes of
    # our own: gain and mismatch by the solver; and from the pattern, whose directivity there is that of
    # a short dipole (1.5: -0.39 dBd) to that of a half wave (0 dBd).
    build = builds.half_wave_dipole(195)
    low = antenna.from_build(build, [69.0, 195.0])
    lost = low.loss_db([69.0, 195.0])
    assert -lost[0] - 0.39 == pytest.approx(low.gain_dbd(69.0), abs=0.1)
    assert -lost[1] == pytest.approx(low.gain_dbd(195.0), abs=0.05)
    assert lost[0] > 10 > 1 > lost[1] > 0.29  # its balun keeps 0.3 dB


def test_at_uhf_and_with_no_noise_outside_nothing_changes():
    # The antenna at 290 K makes up for what it keeps away.
    for freq_mhz, environment in ((600, "city"), (69, "none")):
        got = chain.system_noise(SEVEN, freq_mhz, environment, 10.0)
        assert (got.figure_db, got.upper_db, got.place_sd_db) == (pytest.approx(7), 0, 0)


def test_the_upper_decile_against_drawn_evenings():
    # ITU-R P.372-17 Table 2: the upper decile lies 10.6 dB above the median of man-made noise in a
    # residential area, 9.2 in the country, 2 dB for the galaxy; drawn as normal in dB.
    normal = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
    sky = stats.norm.ppf((np.arange(4000) * 0.618034 + 0.5) % 1)
    for environment, upper_db, freq in (("residential", 10.6, 69.0), ("rural", 9.2, 85.0)):
        medians = [chain.outside_noise_db(freq, s) for s in (environment, "galactic")]
        man, galaxy = (
            10 ** ((median + z * decile / 1.2816) / 10)
            for median, z, decile in zip(medians, (normal, sky), (upper_db, 2.0), strict=True)
        )
        drawn = 10 * np.log10(np.maximum(man + galaxy, 1) - 1 + 10**0.7)
        got = chain.system_noise(SEVEN, freq, environment)
        assert got.figure_db == pytest.approx(np.median(drawn), abs=0.2)
        assert got.figure_db + got.upper_db == pytest.approx(np.quantile(drawn, 0.9), abs=0.3)


def test_the_promise_of_nine_tenths_of_the_time_takes_the_decile_of_noise():
    # Five kilometres away nothing fades. Residential at 69 MHz, a set of 7 dB at the antenna: 156.57 of
    # noise (21.95 dB). With the street 10.6 dB above its median (x 11.482) 1657.6, 32.19 dB: 10.25 up;
    # with the galaxy 2 dB up 162.0, 0.148. Together the root of their squares, 10.25 dB.
    # From street to street it differs by 7 dB, of which the set's own noise hides some: 6.40.
    site = site_of(
        stations(freq_mhz=[69.0], distance_km=5.0, erp_kw=1e-4), line_db=0, noise="residential"
    )
    told = spare(site, flat()).iloc[0]
    assert told.fade_db == pytest.approx(10.25, abs=0.02)
    assert told.spread_db == pytest.approx(np.hypot(10, 6.40), abs=0.02)
    assert told.spare_db == pytest.approx(told.margin_db - told.fade_db, abs=1e-9)
    assert told.chance == pytest.approx(stats.norm.cdf(told.spare_db / told.spread_db), abs=1e-9)


def test_fade_and_noise_join_in_squares():
    # A station 100 km off that fades by F and noise that rises by D: the root of F^2 + D^2.
    far = stations(freq_mhz=[69.0], distance_km=100.0)
    fades, quiet, joint = (
        spare(site_of(table, line_db=0, noise=noise), flat()).fade_db[0]
        for table, noise in (
            (far, "none"),
            (far.assign(distance_km=5.0), "residential"),
            (far, "residential"),
        )
    )
    assert fades > 3 and joint == pytest.approx(np.hypot(fades, quiet), abs=1e-6)


def test_where_the_street_is_louder_than_the_tuner_the_cable_costs_little():
    # Residential at 69 MHz: 152.57 outside. A set of 7 dB at the antenna: 156.57; behind 4 dB of cable
    # 12.59 of its own: 164.15. So the cable costs 0.21 dB of C/N, and all of its 4 dB at UHF.
    site = site_of(stations(freq_mhz=[69.0, 600.0]), line_db=4, noise="residential")
    mount = Mount("mast", "mast", 9.1)
    cost = survey.reception(site, survey.Setup(flat(), mount, heading_deg=0)).link.line_cost_db
    assert cost == pytest.approx([0.21, 4.0], abs=0.01)
