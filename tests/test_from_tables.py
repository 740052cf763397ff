"""A site from tables in memory: what the files give, by the same checks, in the same sentences."""

from dataclasses import asdict
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import antenna, chain, site, survey, tables

FOLDERS = Path(__file__).parent / "data" / "folders"
HOME = (30.45, -40.70)
STATIONS = [
    {"station": "Gazette", "rf_channel": 24, "bearing_deg": 38, "distance_km": 34, "erp_kw": 400},
    {"station": "Bugle", "rf_channel": "33", "bearing_deg": 80, "distance_km": 61, "erp_kw": 90},
]


@pytest.fixture
def folder(tmp_path):
    """A folder of one site whose stations.csv a test writes."""
    made = site.new_site(tmp_path / "roof")
    site.write_site(
        made,
        {
            "name": "site",
            "latitude": HOME[0],
            "longitude": HOME[1],
            "region": "us",
            "tuner": {"standards": ["ATSC1"]},
            "mounts": [{"name": "mast", "kind": "mast", "height_agl_m": 9}],
            "feeds": [],  # A folder that says nothing of a line gets a usual cable; tables do not.
        },
    )
    return made


def test_a_table_in_memory_gives_the_site_that_its_files_give(folder):
    pd.DataFrame(STATIONS).to_csv(folder / "stations.csv", index=False)
    read, made = site.open_site(folder), site.from_tables(HOME, STATIONS)
    pd.testing.assert_frame_equal(made.stations, read.stations)
    assert made.mounts == read.mounts and made.feeds == read.feeds == {}
    assert (made.certainty, made.noise, made.clutter_m) == (0.8, "residential", 10.0)
    setup = survey.Setup("half-wave dipole", "mast", heading_deg=38.0)
    dipole = made.antenna("half-wave dipole")
    pd.testing.assert_frame_equal(
        survey.outlook(made, setup), survey.outlook(read.with_antenna(dipole), setup)
    )


WRONG = {
    "a missing column": ("station,bearing_deg,distance_km\nA,1,30\n", "with the column rf_channel"),
    "a wrong unit": (
        "station,rf_channel,bearing_deg,distance_mi\nA,24,1,3000\n",
        "expected a number from 0.1 to 1000 (km); 3000 mi is 4828.03 km",
    ),
    "two stations alike": (
        "station,rf_channel,bearing_deg,distance_km\nA,24,1,30\na,24,1,30\n",
        "row 3, station: 'a' is there; expected each station once",
    ),
    "a bearing alone": (
        "station,rf_channel,bearing_deg\nA,24,1\n",
        "expected both bearing_deg and distance_km, or neither",
    ),
    "no such channel": (
        "station,rf_channel,bearing_deg,distance_km\nA,99,1,9\n",
        "an RF channel of",
    ),
    "no station": ("station,rf_channel\n", "at least one row under the header, one per station"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_said_in_the_sentences_of_the_file_readers(folder, case):
    text, words = WRONG[case]
    (folder / "stations.csv").write_text(text)
    with pytest.raises(tables.BadTable) as by_file:
        site.open_site(folder)
    frame = pd.read_csv(folder / "stations.csv")
    with pytest.raises(tables.BadTable) as in_memory:
        site.from_tables(HOME, frame)
    assert words in str(in_memory.value)
    of_file, of_memory = (
        caught.value.problems.assign(value=caught.value.problems["value"].str.strip("'"))
        for caught in (by_file, in_memory)
    )
    pd.testing.assert_frame_equal(of_memory, of_file)


def test_an_unknown_column_and_key_are_asked_about():
    with pytest.raises(tables.BadTable, match=r"did you mean erp_kw.*drop it, or rename it"):
        site.from_tables(HOME, pd.DataFrame(STATIONS).rename(columns={"erp_kw": "erpkw"}))
    with pytest.raises(tables.BadTable, match="did you mean height_agl_m"):
        row = {"name": "m", "kind": "mast", "height_agl": 9}
        site.from_tables(HOME, STATIONS, mounts=[row])


def test_a_standard_is_asked_for_by_one_that_the_region_knows():
    # Of the regions only ge06 has two systems on the air side by side, and neither is ATSC.
    row = {"station": "a", "rf_channel": 30, "bearing_deg": 9, "distance_km": 20, "erp_kw": 1}
    with pytest.raises(tables.BadTable, match="DVB-T2; it is empty, and region ge06 has no usual"):
        site.from_tables(HOME, [row], region="ge06")


def test_what_was_taken_for_granted_is_said():
    notes = " ".join(site.from_tables(HOME, STATIONS).notes)
    assert "a mast 9 m above the ground" in notes and "a half-wave dipole is taken" in notes
    assert "The tuner is taken to show ATSC1" in notes and "there is no cable" in notes
    assert "only the greatest power is known" in notes
    known = chain.Tuner("mine", ("ATSC1", "ATSC3"), 5.0)
    made = site.from_tables(HOME, STATIONS, tuner=known)
    assert made.tuner is known and not any("tuner is" in note for note in made.notes)


def test_antennas_and_mounts_come_as_things_or_as_rows():
    loop = antenna.from_numbers("loop", [470, 608], 1.5, effort=1)
    row = {"name": "Yagi", "gain_dbi": 8.15, "low_channel": 14, "high_channel": 36, "lives": np.nan}
    row_mount = {"name": "loft", "kind": "Attic", "height_agl_ft": 20}
    mast = site.Mount("mast", "mast", 9.0, aim="rotator")
    for antennas in ([loop, row], (loop, row)):
        made = site.from_tables(site.Place("x", *HOME), STATIONS, antennas, [mast, row_mount])
        assert made.antennas["loop"] is loop and made.name == "x"
        # A half-wave dipole has 2.15 dBi, so 8.15 dBi are 6.0 dBd; 20 ft are 6.096 m.
        assert made.antennas["Yagi"].gain_dbd(539) == pytest.approx(6.0, abs=0.01)
        assert made.mounts["mast"] == mast
        assert made.mounts["loft"].height_agl_m == pytest.approx(6.096)
    rows = pd.DataFrame([asdict(mast), asdict(site.Mount("loft", "attic", 6.096))])
    assert site.from_tables(HOME, STATIONS, {"loop": loop}, rows).mounts["mast"] == mast


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((5, STATIONS), "place is of type int; it must be a Place, or a pair"),
        (((1, 2, 3), STATIONS), "place holds 3 numbers"),
        (((95, 0), STATIONS), "latitude_deg is 95"),
        ((HOME, 5), "stations.csv: rows are a DataFrame, a list of dicts"),
        ((HOME, STATIONS[0]), "stations.csv: rows are a DataFrame, a list of dicts"),
        ((HOME, STATIONS, {"name": "a", "effort": 1}), "antennas: rows are a DataFrame"),
        ((HOME, STATIONS, ["loop"]), "a row of antennas is of type str"),
        ((HOME, STATIONS, None, []), "at least one table"),
        ((HOME, STATIONS, None, [site.Mount("m", "mast", 9)] * 2), "a name no other mount has"),
        ((HOME, STATIONS, [antenna.plain_dipole()] * 2), "a name no other antenna has"),
        ((HOME, STATIONS, None, None, "xx"), "expected one of us, ge06, au, jp, br"),
    ],
)
def test_other_things_than_tables_are_named(arguments, words):
    with pytest.raises(ValueError, match=words.replace("(", r"\(")):
        site.from_tables(*arguments)


def test_a_tuner_that_is_none_is_named():
    with pytest.raises(ValueError, match="tuner is of type str; it must be"):
        site.from_tables(HOME, STATIONS, tuner="tv")


# ---- one table of columns -------------------------------------------------------------------------


def test_site_toml_takes_the_words_that_stations_csv_takes(tmp_path):
    answers = {
        "name": "roof",
        "latitude": HOME[0],
        "longitude": HOME[1],
        "region": "US",
        "noise": "Quiet rural",
        "tuner": {"standards": ["ATSC 1.0", "8-VSB", "dvb-t2 256-qam 2/3"]},
        "mounts": [{"name": "m", "kind": "Mast", "height_agl_m": 9}],
    }
    site.write_site(tmp_path / "roof", answers)
    pd.DataFrame(STATIONS).assign(standard="ATSC 1.0").to_csv(
        tmp_path / "roof" / "stations.csv", index=False
    )
    dipole = "[[antennas]]\nname = 'd'\ngain_dbd = 0\nlow_mhz = 470\nhigh_mhz = 608\n"
    (tmp_path / "roof" / "antennas.toml").write_text(dipole)
    opened = site.open_site(tmp_path / "roof")
    assert opened.noise == "quiet_rural" and opened.region == "us"
    assert opened.tuner.standards == ("ATSC1", "DVB-T2 256-QAM 2/3")
    assert set(opened.stations["standard"]) == {"ATSC1"}


def test_ranges_of_mount_tuner_site_and_parts_are_those_of_their_keys():
    for build, key, value in (
        (lambda v: site.Mount("m", "mast", 9, trees_m=v), "trees_m of mount 'm' is 501", 501),
        (lambda v: site.Mount("m", "mast", v), "height_agl_m of mount 'm' is 0", 0),
        (lambda v: site.Mount("m", "tower", v), "kind of mount 'm' is 'tower'", 9),
        (lambda v: chain.Tuner("t", ("ATSC1",), v), "noise_figure_db is 31", 31),
        (lambda v: chain.Tuner("t", ("ATSC1",), 7, v), "max_input_dbm is 61", 61),
        (chain.pad, "loss_db is 101", 101),
        (lambda v: chain.coax("series6", v), "length_m is 1001", 1001),
    ):
        with pytest.raises(ValueError, match=key):
            build(value)


def test_every_file_and_every_column_is_described_once():
    names = [
        (spec.file, spec.about, c.name) for spec in tables.TABLES.values() for c in spec.columns
    ]
    assert len(names) == len(set(names))
    for spec in tables.TABLES.values():
        assert all(c.meaning.endswith((".", "...")) for c in spec.columns)
        for column in spec.columns:
            tables.columns.one(column, _typed(column))


def _typed(column):
    """The example of a column without the marks of TOML round it."""
    example = column.example.strip('"')
    return [w.strip(' "') for w in example[1:-1].split(",")] if example[:1] == "[" else example


def test_a_doubt_handed_back_and_one_found_join_in_squares():
    # No height: 7 dB of doubt (facts table station_defaults); 24 dB beside it make 25.
    toward = pd.DataFrame(STATIONS).rename(columns={"erp_kw": "erp_toward_kw"})
    made = site.from_tables(HOME, toward)
    assert made.stations["unknown_sd_db"].tolist() == [7.0, 7.0]
    again = made.with_stations(made.stations.assign(haat_m=np.nan, unknown_sd_db=[24.0, 0.0]))
    assert again.stations["unknown_sd_db"].tolist() == pytest.approx([25.0, 7.0])
