"""What other signals cost, against planning texts, receiver guidelines and drawn time.

Levels of 47 CFR 73.623 and of the charts of 73.699, of ATSC A/74 as quoted by TV Technology. Powers of
two interferers are added by hand in milliwatts: no published worked sum was found.
"""

import numpy as np
import pytest
from hand import site_of, site_with, stations
from scipy.stats import norm

from signalshed import chain, facts, survey
from signalshed.antenna import plain_dipole
from signalshed.budget.judged import Air, doubt_of

FLAT = survey.Setup("flat", "mast", heading_deg=0)
DECILE = norm.ppf(0.9)


# ---- wanted for 90 % of the time, one interferer for 10 % ----------------------------------------


@pytest.mark.parametrize("neighbour, du_db", [(0, 15.0), (-1, -28.0), (1, -26.0)])
def test_the_planning_pair(neighbour, du_db):
    # 47 CFR 73.623(c)(2): F(50,90) wanted over F(50,10) unwanted. Charts of 73.699, UHF, 304.8 m, 1 kW:
    # at 80.5 km 28.3, for 90 % 19.9; at 144.8 km 8.9, for 90 % -4.6, so mirrored 22.4 for 10 %.
    freq = 509.0 + 6.0 * np.array([0, neighbour])
    unwanted_db = 19.9 - du_db - 22.4
    here = site_of(
        stations(
            freq_mhz=freq,
            rf_channel=["20", str(20 + neighbour)],
            bearing_deg=[0.0, 90.0],
            distance_km=[80.4672, 144.84096],
            haat_m=304.8,
            erp_kw=1e5 * 10 ** (np.array([0.0, unwanted_db]) / 10),
        )
    )
    received = survey.reception(here, survey.Setup(plain_dipole(), "mast", heading_deg=45))
    both = received.margin_db[0] - received.fade_db[0]
    assert both == pytest.approx(15.0 - 15.2, abs=1.6)  # what the surface may miss two charts by
    # Fade 8.4 and rise 13.5 seldom meet: joined in squares 15.9 of 21.9 dB, so 6.0 are to spare (1024
    # roofs hold a chance to 0.015, here half a decibel; selectivity differs from set to set).
    assert received.spare_db[0] - both == pytest.approx(6.0, abs=2.0)


@pytest.mark.parametrize(
    "over_noise_db, du_db", [(17, 19.67), (18, 18.22), (20, 16.74), (24, 15.61)]
)
def test_a_shared_channel_near_the_noise(over_noise_db, du_db):
    # 47 CFR 73.623(c)(3): D/U = 15 + 10 log10(1 / (1 - 10^(-x/10))), x = S/N - 15.19; steady signals.
    spare = over_noise_db - 15.2
    here = site_with([spare, spare - du_db], rf_channel="20", freq_mhz=509.0, bearing_deg=[0.0, 90])
    assert survey.outlook(here, FLAT)["margin_db"][0] == pytest.approx(0.0, abs=0.25)


def test_what_rises_against_drawn_evenings():
    # Each signal is drawn in time on its own, normal in dB through its median and its 10 and 90 %. The
    # level over noise and interference held for 90 % of the time, on twenty roofs: within 0.8 dB rms.
    # Rises weighted by their power and joined in squares are 3.6 dB rms too rosy here, 7 at worst.
    here = site_of(
        stations(
            distance_km=[60.0, 110.0, 130.0, 150.0],
            bearing_deg=[0.0, 90.0, 180.0, 270.0],
            erp_kw=[10.0, 10.0, 40.0, 160.0],
        )
    )
    received = survey.reception(here, survey.Setup(plain_dipole(), "mast", heading_deg=0))
    air, link = Air(received, 0, doubt_of(received)), received.link
    assert link.field.rise_db[1:].min() > 7
    whole, risen_db = (each[0, :20] for each in air.noise(np.array([0])))
    moments = np.random.default_rng(3).standard_normal((200_000, 4)) / DECILE
    fade_db, rise_db = link.field.fade_db[0], link.field.rise_db[1:]
    apart = []
    for roof in range(20):
        share = air.sent[1:, roof] / link.noise_mw[0]
        assert whole[roof] == pytest.approx(1 + share.sum(), rel=1e-4)
        at = 1 + (share * 10 ** (moments[:, 1:] * rise_db / 10)).sum(axis=1)
        over = fade_db * moments[:, 0] - 10 * np.log10(at / whole[roof])
        apart.append(np.hypot(fade_db, risen_db[roof]) + np.quantile(over, 0.1))
    assert np.sqrt(np.mean(np.square(apart))) < 0.8 and np.abs(apart).max() < 1.6


# ---- powers add ---------------------------------------------------------------------------------


def test_two_interferers_add_in_milliwatts():
    # By hand, in units of 10^-10 mW at the antenna behind 4 dB of line: noise -106.194 + 7 + 4 = -95.19
    # dBm, 3.024; interferers 16 and 19 dB below lock, so -80 - 16 = -95.99 and -98.99 dBm: 2.515 and
    # 1.261. Together 6.800, -91.67 dBm. The wanted one, 20 over lock, -59.99: less 15.2, 16.48 dB spare.
    here = site_with(
        [20.0, -16.0, -19.0], rf_channel="20", freq_mhz=509.0, bearing_deg=[0.0, 90.0, 180.0]
    )
    received = survey.reception(here, FLAT)
    assert received.margin_db[0] == pytest.approx(16.48, abs=0.01)
    # A third that is 30 dB weaker changes nothing anybody could measure: 0.001 of 6.8, 0.004 dB less.
    more = site_with(
        [20.0, -16.0, -19.0, -49.0],
        rf_channel="20",
        freq_mhz=509.0,
        bearing_deg=[0.0, 90.0, 180.0, 270.0],
    )
    less = received.margin_db[0] - survey.reception(more, FLAT).margin_db[0]
    assert 0 < less < 0.01


# ---- what receivers are asked for ---------------------------------------------------------------


def _leak_db(offset, column):
    return float(facts.table("channel_leakage").set_index("offset").loc[offset, column])


def test_co_channel_as_the_guidelines_have_it():
    # ATSC A/74: 15.5 dB (as quoted by TV Technology); 15.2 is the threshold in noise (Rhodes).
    steady = site_with([60.0, 44.5], rf_channel="20", freq_mhz=509.0, bearing_deg=[0.0, 90.0])
    assert survey.outlook(steady, FLAT)["margin_db"][0] == pytest.approx(15.5 - 15.2, abs=0.01)


def test_no_tuner_is_better_than_the_sidebands_beside_it():
    # Rhodes: 44.5 dB of the full mask and 2 dB of the receiver's filter, less 15.2: -31.3 dB, whatever
    # the tuner. What the regulation leaves to the tuner alone is -30.7 and -27.5, less than the -33 that
    # A/74 asks of a tuner beside a clean signal: by 2.3 and 5.5 dB.
    for offset, alone_db in ((-1, -30.7), (1, -27.5)):
        assert 15.2 + _leak_db(offset, "transmitter_db") == pytest.approx(-31.3, abs=0.01)
        assert 15.2 + _leak_db(offset, "receiver_db") == pytest.approx(alone_db, abs=0.1)
        assert -33 < alone_db < -33 + 6


def test_loud_sets_hold_as_the_guidelines_ask():
    # ATSC A/74 of 2004: lock to -8 dBm; of 2010: to -5 with others near -8, which nobody measured of
    # every set. Limit -2 dBm, sd 3: Phi(2) = 0.977 and Phi(1) = 0.841 of all sets.
    (limit,) = chain.soft_limits([chain.Tuner("set", "ATSC1", 7).part], [509.0])
    for level_dbm, share in ((-8.0, 0.977), (-5.0, 0.841)):
        held = norm.cdf((limit.limit_dbm - level_dbm) / limit.sd_db)
        assert held == pytest.approx(share, abs=0.001)
    (limit_fm,) = chain.soft_limits([chain.Tuner("set", "ATSC1", 7).part], [98.0, 195.0])
    assert limit_fm.gain_db.tolist() == [-20, 0]  # its input stops FM radio, our judgement
    total = 10 * np.log10(10**-0.5 + 2 * 10**-0.8)  # -5 dBm and two of -8
    assert limit.limit_dbm == pytest.approx(total, abs=0.3)


def test_far_shares_beside_what_converter_boxes_measured():
    # Rhodes: beside one signal of -20 dBm eight channels up 26 boxes need 2.2 dB more than -84 dBm
    # (noise -99.2), so -81 dB of it act like noise; three up -71 dBm, so -66 (that level not read). Part
    # of both is gain turned down, which a weaker neighbour does not do: ours are shares beside such.
    noise = 10**-9.92
    measured = {
        8: 10 * np.log10(noise * (10**0.22 - 1)) + 20,
        3: 10 * np.log10(10 ** ((-71 - 15.2) / 10) - noise) + 20,
    }
    assert measured == {8: pytest.approx(-81.0, abs=0.1), 3: pytest.approx(-66.4, abs=0.1)}
    for offset, db in measured.items():
        assert 8 < db - _leak_db(offset, "receiver_db") < 18
