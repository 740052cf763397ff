"""What readings teach where they are wild, few-sided, many, or of another antenna than is described."""

import subprocess
import sys
import textwrap
from dataclasses import replace

import demo_evenings
import numpy as np
import pandas as pd
import pytest
from hand import site_with
from scipy.integrate import quad
from scipy.stats import norm

from signalshed import belief, facts, simulate, survey
from signalshed.simulate.taught import METERS, with_ladder
from signalshed.survey.unlogged import not_logged

MAST = survey.Setup("two-band Yagi", "roof mast", heading_deg=40.0)


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site()


def rows(site, *changes):
    """Readings at the hill house: a picture on RF 24 and nothing more, but for ``changes``."""
    usual = {"time": "2031-05-01T20:00:00+00:00", "mount": "roof mast", "antenna": "wire loop"}
    usual |= {"antenna_revision": "1", "meter": site.tuner.name, "scale": "quality"}
    usual |= {"rf_channel": "24", "heading_deg": 38.0, "pad_db": 0.0, "reading": np.nan}
    return pd.DataFrame([usual | {"locked": True} | change for change in changes])


# ---- wild readings --------------------------------------------------------------------------------


def test_a_wild_reading_is_weighed_as_integrals_say():
    """Three values of one station, one of them 25 dB off: the posterior by quadrature."""
    share, wide = 0.02, facts.value("judgement", "reading_wild_sd_db")
    values, sd, prior = np.array([2.0, 3.0, -22.0]), 2.0, 10.0

    def density(x):
        sound, stray = norm.pdf(values, x, sd), norm.pdf(values, x, np.hypot(sd, wide))
        return norm.pdf(x, 0, prior) * np.prod((1 - share) * sound + share * stray)

    mass, first, second = (
        quad(lambda x, k=k: x**k * density(x), -60, 60, points=[-22, 2.5], limit=400)[0]
        for k in range(3)
    )
    taught = belief.Belief.prior([prior], [0]).updated(
        belief.Observations([0, 0, 0], values, values, sd, wild=share)
    )
    mean = first / mass
    assert taught.mean_db()[0] == pytest.approx(mean, abs=0.1) and 1.8 < mean < 3
    assert taught.sd_db()[0] == pytest.approx(np.sqrt(second / mass - mean**2), abs=0.1)


def test_one_slip_among_many_readings_no_longer_drags_the_forecast(site):
    """The same channel read five times, once with the wrong station's percent."""
    here = replace(site, ladder=demo_evenings.ladder_rows())
    good = [{"reading": 70.0, "pad_db": 10.0}] * 5
    said = survey.inform(here, rows(here, *good)).belief.mean_db()[0]
    slip = survey.inform(
        here, rows(here, *good, {"reading": 70.0, "pad_db": 40.0})
    ).belief.mean_db()[0]
    assert abs(slip - said) < 1.0


def test_readings_joined_twice_count_as_often_as_they_were_taken():
    twice_and_thrice = belief.Observations([1, 0, 1], 3.0, 3.0, 1.5, times=[2, 4, 3]).condensed()
    assert dict(zip(twice_and_thrice.station, twice_and_thrice.times, strict=True)) == {0: 4, 1: 5}


def test_the_very_same_reading_many_times_is_summed_once():
    """A thousand like readings are one that counts so often: the same posterior as of each alone."""
    prior = belief.Belief.prior([10.0, 10.0], [0, 0])
    loop = (belief.Unknown("antenna", "loop", 3.0),)
    station, low = np.tile([0, 1], 20), np.tile([3.0, -np.inf], 20)
    high = np.tile([3.0, 1.0], 20)
    all_alike = belief.Observations(station, low, high, 2.0, loop, np.ones((40, 1)), 0.02)
    assert all_alike.condensed().times.tolist() == [20, 20]
    shifted = replace(all_alike, sd_db=2.0 + 1e-7 * np.arange(40))
    one, other = (prior.updated(obs) for obs in (all_alike, shifted))
    assert one.mean_db() == pytest.approx(other.mean_db(), abs=1e-4)
    assert one.sd_db() == pytest.approx(other.sd_db(), abs=1e-4)


# ---- what the log keeps silent about --------------------------------------------------------------


def _scan(seed):
    """A roof where every wanted channel was tried once: site, setup, truth, and the log."""
    truth = simulate.truth_of(simulate.invented_site(seed, stations=20), seed)
    site = with_ladder(truth, MAST)
    wanted = site.stations.loc[site.stations["wanted"], "rf_channel"].unique()
    plan = pd.DataFrame({"rf_channel": wanted}).assign(
        time="2031-05-01T20:00:00+00:00", mount="roof mast", antenna="two-band Yagi",
        meter=site.tuner.name, scale="quality", heading_deg=40.0, pad_db=0.0,
    )  # fmt: skip
    return site, truth, simulate.readings(truth, plan, METERS, seed=100 * seed)


def test_a_log_of_what_came_in_alone_is_not_taken_for_luck():
    """Six roofs: what was tried in vain and not written down; chances said against what came."""
    said, came, off = [], [], []
    for seed in (1, 2, 3, 4, 6, 7):
        site, truth, log = _scan(seed)
        only = log[log["locked"]]
        now = survey.inform(site, only)
        told = [note for note in now.notes if "no row without a picture" in note]
        out = site.stations["wanted"] & ~site.stations["rf_channel"].isin(only["rf_channel"])
        out &= np.isfinite(truth.margin_db(MAST))
        assert len(told) == (len(only) < len(log))
        received = survey.reception(now, MAST)
        said += received.chance[out].tolist()
        came += truth.locks(MAST)[out].tolist()
        off += (received.margin_db - truth.margin_db(MAST))[out].tolist()
    assert len(said) > 20 and np.mean(said) - np.mean(came) < 0.12
    assert np.mean(off) < 4.0


def test_what_is_not_logged_lacks_more_than_its_forecast_spared():
    # Three read of nine; the six left have 2 and -3 dB to spare by the forecast. Tried in vain, the path
    # took more than 2 dB off the first three, and the others may still be 3 dB better than forecast.
    here = site_with([12.0] * 3 + [2.0] * 3 + [-3.0] * 3)
    log = rows(here, *({"rf_channel": str(14 + 4 * k)} for k in range(3)))
    log = log.assign(antenna="flat", mount="mast", heading_deg=0.0)
    said = survey.predicted(here, log)
    bounds, notes = not_logged(here, log, said)
    assert bounds.station.tolist() == [3, 4, 5, 6, 7, 8] and len(notes) == 1
    assert bounds.high_db == pytest.approx([-2.0] * 3 + [3.0] * 3, abs=1e-6)
    assert np.isneginf(bounds.low_db).all()


def test_a_row_without_a_picture_is_taken_at_its_word():
    site, _, log = _scan(1)
    assert not log["locked"].all()
    assert not any("no row without" in note for note in survey.inform(site, log).notes)


def test_a_few_readings_proposed_are_no_scan(site):
    """Near-edge stations read one by one, strong ones left: nothing is made of those left out."""
    three = [{"rf_channel": c, "reading": 60.0} for c in ("33", "17", "29")]
    assert not any("no row without" in n for n in survey.inform(site, rows(site, *three)).notes)


# ---- revisions ------------------------------------------------------------------------------------


def test_readings_of_another_revision_teach_the_path_and_say_so(site):
    one, two = (
        survey.inform(
            site,
            rows(site, {"pad_db": 10.0, "antenna_revision": r}, {"pad_db": 13.0, "locked": False}),
        )
        for r in ("1", "2")
    )
    assert any("revision 2" in note and "teach the path" in note for note in two.notes)
    assert not any("teach the path" in note for note in one.notes)
    sds = {unknown.name: unknown.sd_db for unknown in two.belief.groups()}
    loop = site.antennas["wire loop"].spread_db
    # What rebuilding may change, 3 dB, joins the doubt about the antenna in squares.
    assert sds["wire loop (revision 2)"] == pytest.approx(np.hypot(loop, 3.0), abs=0.01)


# ---- the next reading -----------------------------------------------------------------------------


def test_a_station_read_full_is_asked_again_behind_a_pad(site):
    here = replace(site, ladder=demo_evenings.ladder_rows())
    setup = survey.Setup("double loop with screen", "roof mast", heading_deg=38.0)
    others = here.stations.loc[here.stations["rf_channel"] != "24", "rf_channel"].unique()
    done = pd.DataFrame({"rf_channel": others})
    full = rows(here, {"reading": 100.0, "antenna": "double loop with screen"})
    asked = survey.next_reading(here, setup, pd.concat([done, full]))
    assert asked.rf_channel == "24" and asked.pad_db > 0 and "one end" in asked.why
    told = rows(here, {"reading": 70.0, "pad_db": 10.0})
    assert survey.next_reading(here, setup, pd.concat([done, full, told])) is None


def test_hopeless_stations_are_not_proposed(site):
    weak = replace(site, stations=site.stations.assign(erp_kw=1e-9))
    assert (
        survey.next_reading(weak, survey.Setup("wire loop", "roof mast", heading_deg=38.0)) is None
    )


def test_where_it_can_be_read_without_climbing_is_said(site):
    setup = survey.Setup("double loop with screen", "roof mast", heading_deg=38.0)
    others = site.stations.loc[site.stations["rf_channel"] != "24", "rf_channel"].unique()
    cellar = replace(site.mount("bench window"), name="cellar window", extra_loss_db=40.0)
    here = replace(site, mounts=site.mounts | {"cellar window": cellar})
    asked = survey.next_reading(here, setup, pd.DataFrame({"rf_channel": others}))
    assert "without climbing: from the bench window" in asked.without_climbing
    down = replace(setup, mount="bench window")
    assert survey.next_reading(site, down).without_climbing == ""


def test_a_place_that_cannot_be_aimed_needs_no_heading():
    boat = simulate.demo_site("boat")
    row = rows(boat, {"antenna": "upright whip", "mount": "masthead", "heading_deg": np.nan})
    channel = boat.stations.loc[
        np.isfinite(survey.reception(boat, survey.Setup("upright whip", "masthead")).margin_db),
        "rf_channel",
    ].iloc[0]
    now = survey.inform(boat, row.assign(rf_channel=channel))
    assert now.belief is not None and not any("heading_deg" in note for note in now.notes)


# ---- many -----------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read as Linux tells it")
def test_a_hundred_thousand_readings_are_learned_from_in_little_memory():
    """Every tenth of them repeats no other; libraries alone take 130 MB."""
    code = """
        import numpy as np, pandas as pd
        from signalshed import simulate, survey
        site, rng, count = simulate.demo_site(), np.random.default_rng(1), 100_000
        table = pd.DataFrame({
            "time": "2031-05-01T20:00:00+00:00", "mount": "roof mast", "antenna": "wire loop",
            "meter": site.tuner.name, "scale": "quality", "locked": True,
            "rf_channel": rng.choice(["24", "33", "21"], count),
            "heading_deg": rng.choice([38.0, 60.0, 162.0], count),
            "pad_db": rng.choice([0.0, 3.0, 10.0], count),
            "reading": rng.integers(40, 99, count) + 0.1 * (rng.random(count) < 0.1),
        })
        survey.inform(site, table)
        print(next(line for line in open("/proc/self/status") if "VmHWM" in line).split()[1])
    """
    run = [sys.executable, "-c", textwrap.dedent(code)]
    most_kb = int(subprocess.run(run, capture_output=True, text=True, check=True).stdout)
    assert most_kb < 300_000
