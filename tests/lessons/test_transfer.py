"""What a reader should be able to answer in a new situation, from the lesson's text alone.

``transfer.csv``: ``lesson``, ``number`` 1 to 5, ``question``; ``computed``, Python with ``shed``,
``np``, the lessons' modules and the recipes below; ``answer`` in ``unit`` within ``tolerance``, or
words where there is no unit; ``taught_by``, a piece of the lesson's own text that teaches it.
"""

import importlib
import re

import nbformat
import numpy as np
import pandas as pd
import pytest
import quotes
import refresh

import signalshed as shed

ROWS = quotes.rows("transfer.csv")
ASKED = [pytest.param(row, id=f"{row['lesson']}.{row['number']}") for row in ROWS]
EACH = 5


# ---- recipes ------------------------------------------------------------------------------------


def most(folder, *choices):
    """The mount of the (antenna, mount) that brings most stations at a house of demo_data."""
    house = shed.site.open_site(refresh.REPO / "demo_data" / folder)
    expected = shed.advice.rank(house, [shed.survey.Setup(*choice) for choice in choices])
    return expected["mount"].iloc[0]


def spare(site, antenna, mount, heading_deg, station):
    """Spare dB of a station through a setup."""
    table = shed.survey.outlook(site, shed.survey.Setup(antenna, mount, heading_deg=heading_deg))
    return table.set_index("station").loc[station, "spare_db"]


def transmissions(rows):
    """How many signals rows of (bearing_deg, distance_km, RF channel) are."""
    names = ("bearing_deg", "distance_km", "rf_channel")
    usual = {"standard": "ATSC1", "erp_toward_kw": 400.0, "antenna_height_m": 300.0}
    told = (dict(zip(names, row, strict=True)) for row in rows)
    listed = [{"station": f"s{k}", **usual, **row} for k, row in enumerate(told)]
    site = shed.site.from_tables((30.45, -40.70), listed)
    return len(set(shed.site.signals(site.stations).sender.tolist()))


def means(reading, ladder):
    """Spare dB of a reading by a meter ladder {pad dB: percent, None where the picture broke}."""
    rows = pd.DataFrame({"pad_db": list(ladder), "reading": [*ladder.values()]}).astype(float)
    rows = rows.assign(locked=rows["reading"].notna(), scale="quality")
    return shed.meters.MeterCurve.fit(rows).to_margin_db(reading, True).value_db


def yard(antenna, column):
    """A column of what the trial in the yard says of an antenna over the whole band."""
    site = shed.site.open_site(refresh.REPO / "demo_data" / "trial_yard")
    curve = shed.meters.MeterCurve.fit(site.ladder)
    found = shed.trials.study(site.readings, "half-wave dipole", curve)
    return found.bands.set_index("antenna").loc[antenna, column]


def dips(freq_mhz, distance_km, tower_m):
    """Metres of height from one dip of two waves to the next."""
    heights = np.arange(1.0, 60.0, 0.01)
    link = (freq_mhz, distance_km, tower_m)
    gain = shed.path.two_ray_gain_db(*link, heights, reflection=-0.9)
    lowest = (gain[1:-1] < gain[:-2]) & (gain[1:-1] < gain[2:])
    return np.diff(heights[1:-1][lowest])[0]


def made_by(station, from_deg):
    """What makes the first hill of a log where a station comes 8 dB stronger from elsewhere."""
    panel = shed.classroom.lesson_05.rotation_panel()
    panel.set(station=station, over_db=8, from_deg=from_deg)
    return "a reflection" if "a reflection" in panel.verdict else "the station"


def dead_ahead(wave_mm):
    """Where the gain before a sheet is least, between an eighth and three quarters of a wave, mm."""
    behind = np.arange(0.125, 0.75, 0.001)
    gain = shed.classroom.lesson_04.sheet_gain_dbi(behind)
    return wave_mm * behind[np.argmin(gain)]


def forgiving(*antennas):
    """The antenna whose heading may be off by most, on the mast of the invented house."""
    house = shed.simulate.demo_site()
    arcs = {n: shed.survey.best_heading(house, shed.survey.Setup(n, "roof mast")) for n in antennas}
    return max(arcs, key=lambda name: arcs[name].arc_deg)


def promised(wrote):
    """Who is promised more at the same window: the one who wrote a sentence, or the one who did not."""
    town = str(shed.simulate.demo.FOLDER / "town")
    silent, telling = shed.classroom.lesson_07.answers(wrote, town)
    return "the one who adds it" if telling[1] > silent[1] else "the one who does not"


def doubt(antenna, read):
    """Median give or take at the house through an antenna on the mast, with its readings or without."""
    house = shed.site.open_site(refresh.REPO / "demo_data" / "hill_house")
    house = shed.survey.inform(house) if read else house
    setup = shed.survey.Setup(antenna, "roof mast", heading_deg=50)
    return shed.survey.outlook(house, setup)["spread_db"].median()


def surest(*antennas):
    """What scatters least over the imagined roofs: a count of stations, or the difference of two."""
    house = shed.simulate.demo_site()
    setups = [shed.survey.Setup(name, "roof mast", heading_deg=50) for name in antennas]
    counts = shed.advice.imagine(house, setups).locked.sum(axis=2)
    apart = np.std(counts[0] - counts[1])
    return "which is better" if apart < np.std(counts, axis=1).min() else "the number"


# ---- the questions ------------------------------------------------------------------------------


def text_of(lesson):
    """The words of a lesson as they are read, folded parts too, with single spaces."""
    cells = nbformat.read(refresh.NOTEBOOKS / f"{lesson}.ipynb", as_version=4).cells
    return " ".join(" ".join(c.source for c in cells if c.cell_type == "markdown").split())


def computed(row):
    names = {
        name: importlib.import_module(f"signalshed.classroom.{name}") for name in _modules(row)
    }
    recipes = (most, spare, transmissions, means, yard, dips, made_by, dead_ahead, forgiving)
    recipes += (promised, doubt, surest)
    names |= {recipe.__name__: recipe for recipe in recipes}
    return eval(row["computed"], {"shed": shed, "np": np, **names})


def _modules(row):
    return set(re.findall(r"\blesson_\d\d\b", row["computed"]))


def test_each_lesson_has_five_questions():
    lessons = sorted({row["lesson"] for row in ROWS})
    assert lessons[:4] == [
        "00_start_here",
        "01_channel_plans",
        "02_link_budgets",
        "03_signal_meters",
    ]
    for lesson in lessons:
        numbers = [int(row["number"]) for row in ROWS if row["lesson"] == lesson]
        assert numbers == list(range(1, EACH + 1)), lesson


@pytest.mark.parametrize("row", ASKED)
def test_the_library_gives_the_answer(row):
    found = computed(row)
    if row["unit"]:
        assert float(found) == pytest.approx(
            float(row["answer"]), abs=float(row["tolerance"]) + 1e-9
        )
    else:
        assert found == row["answer"]


@pytest.mark.parametrize("row", ASKED)
def test_the_lesson_teaches_it_and_does_not_ask_it_already(row):
    text = text_of(row["lesson"])
    assert row["taught_by"] in text and len(row["taught_by"].split()) > 3
    assert row["question"] not in text
