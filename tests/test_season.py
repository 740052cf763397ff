"""Leaves: readings of one season against the forecast of another, guessed from date and latitude."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hand import flat, site_of, stations

from signalshed import budget, meters, path, survey, tables
from signalshed.site import Mount, Place

WOODS = Mount("behind the trees", "mast", 9.1, trees_m=100)
FREE = Mount("mast", "mast", 9.1)
MAY, JANUARY = "2031-05-20T20:00:00+00:00", "2031-01-20T20:00:00+00:00"


def home(latitude_deg=45.0, **fields):
    """One station at 466.475 MHz, 5 km off, where nothing fades, at a mount behind 100 m of trees."""
    table = stations(freq_mhz=[466.475], distance_km=5.0, erp_kw=1e-4)
    known = flat().renamed("known", spread_db=0.0)
    there = site_of(table, mounts=(WOODS, FREE), antennas=(known,))
    return replace(there, place=Place("here", latitude_deg, 5.0), **fields)


def pads(*held, mount=WOODS.name, **columns):
    """Readings of a station that held behind so many dB of pads, and was lost behind one more."""
    rows = [
        {"pad_db": pad, "locked": locked, "time": MAY}
        for dB in held
        for pad, locked in ((dB, True), (dB + 1.0, False))
    ]
    usual = {"mount": mount, "antenna": "known", "rf_channel": "20", "heading_deg": 0.0}
    blank = {
        "meter": "set",
        "scale": "quality",
        "reading": np.nan,
        "pad_at": "set",
        "amplifier": "",
    }
    return pd.DataFrame(rows).assign(**(usual | blank | columns))


def setup(mount=WOODS.name):
    return survey.Setup("known", mount, heading_deg=0)


def told(site, mount=WOODS.name):
    return survey.outlook(site, setup(mount)).iloc[0]


# ---- what leaves cost ---------------------------------------------------------------------------


def test_bare_trees_cost_less_the_more_so_the_shorter_the_wave():
    # Rec. ITU-R P.833-9 Table 1 at 100 m in leaf: 3.258, 8.758, 12.548 dB; bare trees keep all of it,
    # nine and eight tenths (our judgement, facts table woodland).
    freq = [105.9, 466.475, 949.0]
    full, bare = (path.vegetation_loss_db(freq, 100, state) for state in ("full", "bare"))
    assert full == pytest.approx([3.258, 8.758, 12.548], abs=0.001)
    assert bare == pytest.approx([3.258, 7.882, 10.038], abs=0.001)
    assert (path.vegetation_loss_db(freq, 100, "none") == full).all()
    with pytest.raises(ValueError, match="leaves is 'some'; it must be one of none, bare, full"):
        path.vegetation_loss_db(500, 10, "some")


@pytest.mark.parametrize(
    ("day", "latitude_deg", "state"),
    # Common practice, no source: gardens of the temperate zones.
    [
        *[(135, 45, "full"), (15, 45, "bare"), (200, 60, "full"), (345, 30, "bare")],
        *[(300, 40, "full"), (300, 60, "bare")],
        *[
            (75, 60, "bare"),
            (15, -35, "full"),
            (200, -45, "bare"),
            (15, 5, "full"),
            (15, -5, "full"),
        ],
    ],
)
def test_leaves_by_date_and_latitude(day, latitude_deg, state):
    assert path.leaves_on(day, latitude_deg) == state


# ---- forecasts ----------------------------------------------------------------------------------


def test_a_forecast_is_for_the_worse_season_and_says_so():
    worse, full, bare, none = (
        told(home(leaves=s)).margin_db for s in (None, "full", "bare", "none")
    )
    assert worse == full == none and bare - full == pytest.approx(0.876, abs=0.001)
    rows = budget.account(0, setup(), home()).set_index("term")
    assert rows.loc["trees", "why"] == "100 m of trees in full leaf, the worse season"
    assert rows.loc["trees", "value_db"] == pytest.approx(-8.758, abs=0.001)
    for state in (None, "bare"):
        assert told(home(leaves=state), "mast").margin_db == told(home(), "mast").margin_db


def test_site_toml_and_readings_csv_know_leaves():
    assert tables.READINGS.column("leaves").choices == tables.SITE.column("leaves").choices
    assert set(tables.SITE.column("leaves").choices) == set(path.LEAVES)


# ---- readings -----------------------------------------------------------------------------------


def informed(site, readings):
    return told(survey.inform(site, readings))


def test_readings_of_one_season_do_not_promise_the_other():
    # The same pads in May and in January. In January the trees were bare, 0.876 dB less in the way; so
    # in full leaf, which is forecast, as much less is left than after the same reading in May.
    site, readings = home(), pads(10.0)
    may, january = (informed(site, readings.assign(time=time)) for time in (MAY, JANUARY))
    # Hardly anything else is unknown than the path's 10 dB: the reading decides nearly all.
    assert may.margin_db - january.margin_db == pytest.approx(0.876, abs=0.06)
    # And a forecast of January from readings of May is better by as much than of May itself.
    bare = informed(replace(site, leaves="bare"), readings)
    assert bare.margin_db - may.margin_db == pytest.approx(0.876, abs=0.06)


def test_a_reading_of_another_season_teaches_a_little_less():
    site, readings = home(), pads(10.0)
    said = [survey.predicted(site, readings.assign(leaves=s)) for s in ("full", "bare")]
    full, bare = (each.moment_sd_db[0] for each in said)
    # Half of the 0.876 dB is how surely the difference is known.
    assert bare**2 - full**2 == pytest.approx((0.876 / 2) ** 2, abs=1e-3)
    assert said[1].margin_db[0] - said[0].margin_db[0] == pytest.approx(0.876, abs=1e-3)


def test_what_a_reading_says_of_leaves_wins_and_a_guess_is_told_once():
    site = home()
    guessed = pd.concat([pads(10.0, 12.0), pads(10.0, time=JANUARY)], ignore_index=True)
    states, notes = survey.seasons(site, guessed)
    assert states == ["full"] * 4 + ["bare"] * 2
    assert len(notes) == 1 and "6 readings say nothing" in notes[0]
    assert "4 in full leaf and 2 bare" in notes[0]
    assert notes[0] in survey.inform(site, guessed).notes
    assert survey.seasons(site, guessed.assign(leaves="bare")) == (["bare"] * 6, ())
    assert survey.seasons(replace(site, leaves="none"), guessed) == (["none"] * 6, ())


def test_without_trees_or_a_date_nothing_is_guessed():
    assert survey.seasons(home(), pads(10.0, mount="mast", time=JANUARY)) == ([None] * 2, ())
    assert survey.seasons(home(), pads(10.0, time="")) == ([None] * 2, ())
    # January in the south is summer.
    assert survey.seasons(home(-40.0), pads(10.0, time=JANUARY))[0] == ["full"] * 2


def test_a_file_of_an_earlier_release_takes_readings_as_before(tmp_path):
    old = [name for name in meters.log.COLUMNS if name != "leaves"]
    file = tmp_path / "readings.csv"
    file.write_text(",".join(old) + "\n", encoding="utf-8")
    row = {
        "mount": "mast",
        "antenna": "loop",
        "meter": "TV",
        "scale": "quality",
        "rf_channel": "24",
    }
    row |= {"reading": 82, "locked": True}
    meters.log_reading(file, row)
    assert len(meters.read_log(file)[0]) == 1
    with pytest.raises(ValueError, match="no column 'leaves', so no reading was added"):
        meters.log_reading(file, row | {"leaves": "bare"})
