"""The whole job as a stranger does it: blank folder, ten typed stations, ranking, report.

The stations are invented. What is checked is that the job goes through and that its parts agree.
"""

import hashlib

import pytest

import signalshed as shed

SITE = """
name = "stranger's roof"
latitude = 30.2
longitude = -41.1
region = "us"

[tuner]
name = "set"
standards = ["ATSC1"]

[[mounts]]
name = "chimney side"
kind = "roof"
height_agl_m = 8

[[mounts]]
name = "attic"
kind = "attic"
height_agl_m = 6

[[feeds]]
name = "cable"
parts = [ { coax = "series6", length_m = 20 } ]
"""

ANTENNAS = """
[[antennas]]
name = "bent wire"
gain_dbd = -1
front_to_back_db = 0
low_mhz = 470
high_mhz = 608
effort = 1

[[antennas]]
name = "big one"
gain_dbd = 10
low_mhz = 470
high_mhz = 608
effort = 4
"""

STATIONS = """Name;Site;Channel;Direction;Miles;Kilowatts;Tower
Plum;north hill;14;10;41,0;1000;310
Quince;north hill;20;10;41,0;850;305
Medlar;north hill;23;11;41,2;700;300
Damson;north hill;28;10;41,0;1000;310
Sloe;low hill;17;187,5;22,0;90;120
Bullace;low hill;31;187,5;22,0;15;80
Greengage;town;34;95;6,5;8;40
Mirabelle;far hill;25;260;70;900;320
Whortle;far hill;30;260;70;600;320
Bilberry;south island;36;175;55;400;
"""
COLUMNS = {
    "Name": "station",
    "Site": "place",
    "Channel": "rf_channel",
    "Direction": "bearing_deg",
    "Miles": "distance_mi",
    "Kilowatts": "erp_kw",
    "Tower": "antenna_height_m",
}


@pytest.fixture
def folder(tmp_path):
    folder = shed.site.new_site(tmp_path / "my roof é")
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    (folder / "antennas.toml").write_text(ANTENNAS, encoding="utf-8")
    (folder / "stations.csv").write_text(STATIONS, encoding="utf-8")
    return folder


def digest(folder):
    files = sorted(p for p in folder.rglob("*") if p.is_file())
    return [(p.name, hashlib.sha256(p.read_bytes()).hexdigest()) for p in files]


def test_ten_typed_stations_become_a_ranking_and_a_report(folder, tmp_path):
    before = digest(folder)
    site = shed.site.open_site(folder, mapping=COLUMNS)
    assert len(site.stations) == 10
    assert site.stations["distance_km"].iloc[0] == pytest.approx(41 * 1.609344)
    assert site.stations["unknown_sd_db"].iloc[9] > 0
    ranking = shed.advice.rank(site)
    assert len(ranking) == 4
    best = ranking.iloc[0]
    assert (best["antenna"], best["mount"]) == ("big one", "chimney side")
    assert abs((best["heading_deg"] - 10 + 180) % 360 - 180) < 40
    page = shed.report.write(site, ranking, tmp_path / "report.html")
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert page is not None and "Mirabelle" in text and "big one" in text
    assert digest(folder) == before, "the user's files are as they were"


def test_the_report_s_chances_are_the_survey_s(folder, tmp_path):
    site = shed.site.open_site(folder, mapping=COLUMNS)
    ranking = shed.advice.rank(site)
    table = shed.survey.outlook(site, ranking["setup"].iloc[0])
    shed.report.write(site, ranking, tmp_path / "r.html")
    text = (tmp_path / "r.html").read_text(encoding="utf-8")
    for words in set(table["roofs"]):
        assert words in text


def test_a_missing_column_a_typo_and_a_wrong_unit_are_answered_in_sentences(folder):
    text = STATIONS.replace("Plum;north hill;14;10", "Plum;north hill;37;10")
    text = text.replace("Sloe;low hill;17;187,5;22,0", "Sloe;low hill;17;187,5;twenty")
    (folder / "stations.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ValueError) as caught:
        shed.site.open_site(folder, mapping=COLUMNS)
    message = str(caught.value)
    assert "37" in message and "radio astronomy" in message
    assert "twenty" in message and "stations.csv" in message


def test_without_a_mapping_the_reader_says_which_columns_it_does_not_know(folder):
    with pytest.raises(ValueError, match="Kilowatts"):
        shed.site.open_site(folder)
