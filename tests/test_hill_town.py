"""A list of a hill town in Europe: the word "in the way" of every row, written down by hand first.

Two networks, a permit beside its licence and one alone, relays, towers that share a channel 130 km
apart, FM and a telephone mast within 2 km. The words were written before anything was run; where they
differed, who of the two was right was worked out: a tower 110 km off on the same channel takes more of
one station than the relay beside it in frequency.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import antenna, budget, chain, site, survey

LIST = pd.read_csv(
    Path(__file__).parent / "data" / "hill_town.csv", keep_default_na=False, dtype=str
)
YAGI = antenna.from_numbers("UHF Yagi", [470, 694], 11.0, 38)
WIDE = antenna.from_numbers("from FM up", [87, 694], 6.0, 60)


@pytest.fixture(scope="module")
def town():
    rows = LIST.drop(columns=["way", "by"])
    mast = [{"name": "mast", "kind": "mast", "height_agl_m": 9.0}]
    here = site.from_tables((47.3, -38.0), rows, antennas=[YAGI, WIDE], mounts=mast, region="ge06")
    feed = chain.Feed("line", (chain.coax("series6", 20),))
    return replace(here, land="hilly", feeds={"line": feed})


@pytest.fixture(scope="module")
def received(town):
    return budget.reception(town, survey.Setup("UHF Yagi", "mast", heading_deg=80.0))


def test_every_row_s_word_makes_sense(town, received):
    known = LIST.set_index("station")
    shown = town.stations["station"]
    assert set(known.index) - set(shown) == {"Quernhigh permit"}
    told = {name: (x.kind, x.by) for name, x in zip(shown, received.limits, strict=True)}
    assert told == {name: tuple(known.loc[name, ["way", "by"]]) for name in shown}


def test_what_would_help_fits_what_is_in_the_way(town, received):
    helps = dict(zip(town.stations["station"], received.table["remedy"], strict=True))
    # One channel is parted by no filter; and what could not come were it alone is not promised.
    assert "no filter helps" in helps["Quernhigh 3"]
    assert helps["Seacairn 1"] == helps["Marchend 2"] == helps["Seacairn 2"]
    assert helps["Seacairn 1"].startswith("nothing: it lacks more")
    # In the account the one to blame is named.
    rows = budget.account("Quernhigh 3", survey.Setup("UHF Yagi", "mast", heading_deg=80.0), town)
    assert "most of all Marchend 2" in " ".join(rows["why"])


def test_what_is_no_television_only_disturbs(town, received):
    rows = np.flatnonzero((town.stations["service"] != "tv").to_numpy())
    assert rows.size == 3
    for i in rows:
        limit = received.limits[i]
        assert (limit.words, limit.remedy) == ("no television", "nothing: it can only disturb")
        row = budget.account(int(i), survey.Setup("UHF Yagi", "mast", heading_deg=80.0), town)
        assert row["term"].tolist() == ["no television"] and "disturb" in row["why"].item()


def test_networks_and_permits_are_told(town, received):
    notes = " ".join(town.notes)
    assert "1 permit of stations that are licensed, left out" in notes
    assert "a permit and no licence: judged as if on the air" in notes
    assert "2 networks by same_signal" in notes and "later than the guard interval" in notes
    names = town.stations["station"]
    both = [np.flatnonzero(names == name)[0] for name in ("Quernhigh 1", "Pitlaw 1")]
    assert received.spare_db[both[0]] == pytest.approx(received.spare_db[both[1]], abs=0.05)
    assert not town.stations["wanted"][both[1]]


def test_fm_near_by_is_in_the_way_of_high_vhf_behind_an_amplifier(town):
    # 96.1 + 98.3 = 194.4 MHz, in RF 7 (188 to 195): 10 kW each at 2 km, an antenna that hears FM.
    amplified = chain.Feed("amplified", (chain.amplifier("mast amplifier", 12, 3.0, 15.0),))
    here = survey.Setup("from FM up", "mast", feed=amplified, heading_deg=80.0)
    vhf = budget.reception(town, here).limits[list(town.stations["station"]).index("Quernhigh V")]
    assert (vhf.kind, vhf.by) == ("others", "Band music with Word")
    assert vhf.remedy == (
        "a filter against Band music or Word before the amplifier, or less amplifier"
    )
