"""Values that may not move unseen: makes and compares tests/golden.csv.

    python tests/golden.py           prints the rows that differ from golden.csv today
    python tests/golden.py --write   takes today's values of rows that differ; then write by hand, in
                                     each such row, `why`: what was changed and for which reason,
                                     "builds: ...", after an older reason "; then arrives: ..."
                                     (`was` is filled in)

One row is one number or word: of a case (site, setup), of a station in it. `may_move` names the
subjects that may change it: arrives (fields, noise, other signals, rooms), readings (meters, beliefs,
trials), builds (antennas solved from wires). A row without a word there may not move at all. A case
whose name ends in "land" uses the terrain tiles; all others average terrain. Stations go by RF channel
and place in the list.
"""

import csv
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from signalshed import advice, antenna, simulate, site, survey, trials

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent / "demo_data"
TABLE = HERE / "golden.csv"
COLUMNS = ("case", "row", "what", "value", "may_move", "why", "was")
WHAT = ("margin_db", "spread_db", "chance", "limit")

TYPED = {
    "typed plain": antenna.from_numbers("typed plain", [54, 608], 0.0, 80),
    "typed sharp": antenna.from_numbers("typed sharp", [54, 608], 10.0, 36),
    "typed UHF": antenna.from_numbers("typed UHF", [470, 608], 7.0, 60),
}
"""Three antennas told by numbers: no change of wires moves what they give."""

SETUPS = {
    "hill_house": [
        ("typed plain", "roof mast", 60),
        ("typed sharp", "roof mast", 200),
        ("typed UHF", "attic", 45),
        ("bow-tie with screen", "roof mast", 51),
        ("two-band Yagi", "roof mast", None, "land"),
    ],
    "balcony": [
        ("typed plain", "rail", 20),
        ("typed sharp", "rail", 100),
        ("typed UHF", "rail", None),
        ("wire loop", "rail", 60),
        ("double loop with screen", "rail", 45, "land"),
    ],
    "attic": [
        ("typed plain", "under the tiles", 50),
        ("typed sharp", "under the tiles", 160),
        ("typed UHF", "under the tiles", None),
        ("bow-tie with screen", "under the tiles", 50),
        ("VHF three-element Yagi", "under the tiles", 160, "land"),
    ],
    "suburb": [
        ("typed plain", "chimney", 50),
        ("typed sharp", "chimney and amplifier", 75),
        ("typed UHF", "chimney, filter and amplifier", 54),
        ("eight-element Yagi", "chimney", 48),
        ("two-band Yagi", "chimney, filter and amplifier", 53, "land"),
    ],
    "far_rural": [
        ("typed plain", "tall mast", None),
        ("typed sharp", "barn roof", 30),
        ("typed UHF", "barn roof", 290),
        ("long Yagi", "tall mast", None),
        ("two-band Yagi", "tall mast", None, "land"),
    ],
    "camper": [
        ("typed plain", "camper roof", None),
        ("typed sharp", "crank-up mast", 40),
        ("typed UHF", "crank-up mast", 160),
        ("crossed dipoles", "camper roof", None),
        ("eight-element Yagi", "crank-up mast", 50),
    ],
    "boat": [
        ("typed plain", "masthead", None),
        ("typed sharp", "cabin top", None),
        ("typed UHF", "masthead", None),
        ("upright whip", "masthead", None),
        ("crossed dipoles", "masthead", None, "land"),
    ],
    "trial_yard": [
        ("typed plain", "low mast", 40),
        ("typed sharp", "low mast", 160),
        ("typed UHF", "low mast", None),
        ("wire loop", "low mast", 70),
        ("two-band Yagi", "low mast", 40, "land"),
    ],
}
"""Eight sites by five setups: antenna, mount, heading."""


def _mount(here, start):
    return next(m for m in here.mounts.values() if m.name.endswith(start))


def _aimed(here, antenna_name, mount, heading):
    thing = TYPED.get(antenna_name, antenna_name)
    return survey.Setup(thing, _mount(here, mount), heading_deg=heading)


def setups():
    """(case, site, setup) of the forty setups."""
    for name, listed in SETUPS.items():
        flat = simulate.demo_site(name)
        for thing, mount, heading, *land in listed:
            here = site.open_site(DEMO / name) if land else flat
            case = f"{name}: {thing}, {mount}, {heading}{' land' if land else ''}"
            yield case, here, _aimed(here, thing, mount, heading)


def _outlook_rows(case, here, setup):
    table = survey.outlook(here, setup)
    for k, row in enumerate(table.itertuples()):
        for what in WHAT:
            value = getattr(row, what)
            may = _may_move(here, setup, k, row, what)
            yield case, f"{row.rf_channel} no. {k}", what, value, may


def _may_move(here, setup, k, row, what):
    """Subjects that may change this row: all that is not plain UHF in the open through typed numbers."""
    mount, thing = here.mount(setup.mount), here.antenna(setup.antenna)
    station, freq = here.stations.iloc[k], here.stations["freq_mhz"]
    plain = (
        what != "limit"
        and row.layer == "average terrain"
        and station["freq_mhz"] > 300
        and station["service"] == "tv"
        and station["polarization"] == "horizontal" == thing.polarization
        and mount.kind in ("mast", "roof")
        and (abs(freq - station["freq_mhz"]) < 7).sum() == 1
        and 5 < station["distance_km"] < 150
        and "amplif" not in mount.name + str(mount.feed)
    )
    words = ([] if plain else ["arrives"]) + (["builds"] if thing.name not in TYPED else [])
    return " ".join(words)


def _typed_reading(here, rf_channel, **columns):
    usual = {
        "time": "2031-05-01T20:00:00+00:00",
        "mount": next(iter(here.mounts)),
        "antenna": next(iter(here.antennas)),
        "antenna_revision": "1",
        "meter": here.tuner.name,
        "scale": "quality",
        "rf_channel": rf_channel,
        "heading_deg": 60.0,
        "pad_db": 0.0,
        "pad_at": "set",
        "amplifier": "",
        "reading": np.nan,
        "locked": True,
        "note": "",
    }
    return usual | columns


def beliefs():
    """(case, site informed, setup) of six beliefs: recorded readings, then typed ones."""
    hill, yard = (site.open_site(DEMO / name) for name in ("hill_house", "trial_yard"))
    mast = survey.Setup(TYPED["typed plain"], "roof mast", heading_deg=60.0)
    yield "belief: all readings", survey.inform(hill), mast
    yield "belief: fourteen readings", survey.inform(hill, hill.readings.iloc[:14]), mast
    low = survey.Setup(TYPED["typed plain"], "low mast", heading_deg=40.0)
    yield "belief: the yard", survey.inform(yard), low
    flat = simulate.demo_site()
    pads = [
        _typed_reading(flat, "24", pad_db=13.0),
        _typed_reading(flat, "24", pad_db=16.0, locked=False),
        _typed_reading(flat, "21", pad_db=3.0),
        _typed_reading(flat, "21", pad_db=6.0, locked=False),
    ]
    yield "belief: pads until it breaks", survey.inform(flat, pd.DataFrame(pads)), mast
    locks = [_typed_reading(flat, c) for c in ("24", "33", "29", "31")]
    yield "belief: what locked", survey.inform(flat, pd.DataFrame(locks)), mast
    lost = [_typed_reading(flat, c, locked=False) for c in ("27", "35", "19")]
    yield "belief: what did not", survey.inform(flat, pd.DataFrame(lost)), mast


def _belief_rows():
    for case, here, setup in beliefs():
        for name, row, what, value, _ in _outlook_rows(case, here, setup):
            yield name, row, what, value, "arrives readings builds"  # read through built antennas


def _ranking_rows():
    for name in ("hill_house", "suburb"):
        here = simulate.demo_site(name)
        for row in advice.rank(here).itertuples():
            which = f"{row.antenna}, {row.mount}"
            for what in ("heading_deg", "expected"):
                yield f"ranking: {name}", which, what, getattr(row, what), "arrives builds"


def _trial_rows():
    yard = site.open_site(DEMO / "trial_yard")
    meter = yard.ladder["meter"].iloc[0]
    curves = {"quality": survey.curve_of(yard, meter, "quality")}
    found = trials.compare(yard.readings, next(iter(yard.antennas)), curves)
    for row in found.itertuples():
        which = f"{row.antenna}, RF {row.rf_channel}"
        for what in ("difference_db", "low_db", "high_db", "verdict"):
            yield "trial: the yard", which, what, getattr(row, what), "readings"


def rows():
    """Every row as of today's code: a dict from (case, row, what) to (value as text, may_move)."""
    found = [row for case in setups() for row in _outlook_rows(*case)]
    found += [*_belief_rows(), *_ranking_rows(), *_trial_rows()]
    return {(case, row, what): (_text(value), may) for case, row, what, value, may in found}


def _text(value):
    return value if isinstance(value, str) else f"{value:.4f}"


def kept():
    """The rows of golden.csv: a list of dicts."""
    with TABLE.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def differs(what, was, now):
    """Whether two values differ: words at all, decibels by over 0.05, chances by over 0.005."""
    try:
        was, now = float(was), float(now)
    except ValueError:
        return was != now
    limit = {"chance": 0.005, "expected": 0.05, "heading_deg": 0.5}.get(what, 0.05)
    return not (abs(was - now) <= limit or (np.isnan(was) and np.isnan(now)))


def main(write=False):
    today = rows()
    before = {(r["case"], r["row"], r["what"]): r for r in kept()} if TABLE.exists() else {}
    out = []
    for key, (value, may) in today.items():
        row = before.get(key) or dict(zip(COLUMNS, (*key, value, may, "", ""), strict=True))
        if differs(key[2], row["value"], value):
            print(*key, row["value"], "->", value, sep=" | ")
            row = row | {"value": value, "was": row["value"]}
        out.append(row)
    for key in before.keys() - today.keys():
        print(*key, "is gone", sep=" | ")
    if write:
        with TABLE.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
            writer.writeheader()
            writer.writerows(out)


if __name__ == "__main__":
    main(write="--write" in sys.argv[1:])
