"""Public records of transmitters as they come: every spelling, every layout, nothing lost in silence."""

import functools
import zipfile
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from geographiclib.geodesic import Geodesic

import signalshed as shed
from signalshed.registers import degrees, numbers, sheet, source, vocabulary
from signalshed.registers.headings import guess
from signalshed.registers.joining import away_km
from signalshed.tables import BadTable

HOME = (30.45, -40.7)
HEAD = "Call sign,RF channel,Latitude,Longitude,ERP (kW)\n"
ROW = "Gazette,24,30.7908,-40.3912,1000\n"


def listed(text, near=None, **more):
    return shed.site.stations_from(text, near, **more)


def said(found, *words):
    """The one note that holds all words."""
    hits = [note for note in found.notes if all(word in note for word in words)]
    assert hits, f"no note with {words}; there are {found.notes}"
    return hits[0]


# ---- degrees --------------------------------------------------------------------------------------

# 30 deg 47 min 27 s is 30 + 47/60 + 27/3600 = 30.790833...; worked by hand.
THIRTY = 30 + 47 / 60 + 27 / 3600
SPELLED = (
    "30 47 27 N",
    "N 30 47 27",
    "30-47-27 N",
    "30:47:27N",
    "N30-47-27",
    "30°47'27\"N",
    "30º 47′ 27″ N",
    "30° 47’ 27” North",
    "30d47m27sN",
    "30 deg 47 min 27 sec N",
    "304727N",
    "N304727",
    "30N4727",
    "30N472700",
    "30N4727,00",
    "30°47.45'N",
    "30 47.45 N",
    "30 47,45 N",
    "+30 47 27",
    "304727",
)


@pytest.mark.parametrize("text", SPELLED)
def test_an_angle_in_every_spelling(text):
    assert degrees.angle(text)[0] == pytest.approx(THIRTY, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("-40.3912", -40.3912),
        ("40,3912 W", -40.3912),
        ("W 40.3912", -40.3912),
        ("040-23-28.3 W", -40.391194),
        ("\u221240,3912", -40.3912),
        ("-40.3912 W", -40.3912),
        ("115 44 24 E", 115.74),
        ("1154424E", 115.74),
        ("12S345670", -(12 + 34 / 60 + 56.7 / 3600)),
        ("30W311737", -(30 + 31 / 60 + 17.37 / 3600)),
    ],
)
def test_west_is_negative_once(text, value):
    assert degrees.angle(text)[0] == pytest.approx(value, abs=1e-6)


def test_an_o_is_west_or_east_as_the_list_goes_on():
    assert degrees.angle("3 30 0 O", "W")[0] == -3.5
    assert degrees.angle("3 30 0 O", "E")[0] == 3.5


@pytest.mark.parametrize(
    "text", ["30 61 00 N", "30 47 60 N", "north mast", "30 47 27 N W", "30.5 47 N"]
)
def test_what_is_no_angle_is_refused(text):
    with pytest.raises(ValueError):
        degrees.angle(text)


def test_coordinates_lie_where_geographiclib_puts_them():
    # Off the same place in decimal degrees, by geographiclib; half of 0.1 second is 1.6 m each way.
    rng = np.random.default_rng(3)
    for latitude, longitude in rng.uniform((-80, -179), (80, 179), (60, 2)):
        texts = [_dms(latitude, "NS"), _dms(longitude, "EW")]
        read = [degrees.angle(text)[0] for text in texts]
        away = Geodesic.WGS84.Inverse(latitude, longitude, *read)["s12"]
        assert away < 2.3, texts


def _dms(value, letters):
    """By divmod alone: another way than the reader's."""
    minutes, seconds = divmod(round(abs(value) * 36000), 600)
    whole, minutes = divmod(minutes, 60)
    return f"{whole}-{minutes:02d}-{seconds / 10:04.1f} {letters[int(value < 0)]}"


@pytest.mark.parametrize(
    "text",
    [
        "30°47'27\"N 40°23'28\"W",
        "30.790833, -40.391111",
        "W40.391111 N30.790833",
        "304727N 0402328W",
        "30,790833 -40,391111",
        "30 47 27 N / 40 23 28 W",
    ],
)
def test_both_in_one_cell(text):
    (latitude, _), (longitude, _) = degrees.both(text)
    assert (latitude, longitude) == pytest.approx((THIRTY, -(40 + 23 / 60 + 28 / 3600)), abs=1e-6)


def test_separate_columns_of_degrees_minutes_seconds_and_letters():
    found = listed(
        "Call,Channel,Lat Deg,Lat Min,Lat Sec,N/S,Long Deg,Min,Sec,E/W,ERP kW\n"
        "Gazette,24,30,47,27,N,40,23,28,W,1000\nBugle,33,30,47,27,S,40,23,28,E,35\n"
    )
    assert found.table["latitude_deg"].tolist() == pytest.approx([THIRTY, -THIRTY])
    assert found.table["longitude_deg"].tolist() == pytest.approx([-40.391111, 40.391111], abs=1e-6)


# ---- numbers and powers ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1,000,000", 1e6),
        ("35.000,0", 35e3),
        ("1 000 000", 1e6),
        ("1'000", 1e3),
        ("0,125", 0.125),
        ("1.234.567,8", 1234567.8),
        ("12,5", 12.5),
        ("1\u202f000", 1e3),
        ("\u22123.5", -3.5),
    ],
)
def test_thousands_and_decimal_marks(text, value):
    assert numbers.number(text)[0] == value


# By hand: EIRP = ERP + 2.15 dB, a factor of 1.6406; 0 dBk = 1 kW, 30 dBW = 1 kW, 60 dBm = 1 kW.
POWERS = (
    ("ERP (kW)", "50", 50.0),
    ("ERP (W)", "50000", 50.0),
    ("ERP (W)", '"50,000"', 50.0),
    ("ERP dBk", "17", 50.1187),
    ("ERP (dBW)", "47", 50.1187),
    ("ERP (dBm)", "77", 50.1187),
    ("EIRP (kW)", "82.03", 50.0),
    ("EIRP [dBW]", "49.15", 50.1187),
    ("Max ERP MW", "0.05", 50.0),
    ("Power", "50 kW", 50.0),
    ("Power", "50 kW ERP", 50.0),
    ("Power", "82.03 kW EIRP", 50.0),
    ("ERP", "50000 W", 50.0),
    ("ERP", "17 dBk", 50.1187),
    ("PIRE (W)", "82030", 50.0),
)


@pytest.mark.parametrize(("heading", "cell", "kw"), POWERS)
def test_power_in_every_unit(heading, cell, kw):
    found = listed(f"Call,Channel,Lat,Long,{heading}\nGazette,24,30.79,-40.39,{cell}\n")
    assert found.table["erp_kw"].item() == pytest.approx(kw, rel=2e-3)


def test_a_unit_column_and_a_kind_column():
    found = listed(
        "Call,Channel,Lat,Long,Power,Power unit,Power type\n"
        "A,24,30.79,-40.39,50000,W,ERP\nB,25,30.79,-40.39,82.03,kW,EIRP\n"
    )
    assert found.table["erp_kw"].tolist() == pytest.approx([50, 50], rel=1e-3)


def test_the_ends_of_a_channel_stand_for_its_centre():
    for text, centre in (("590-596 MHz", 593), ("174,5\u2013181,5", 178), ("54 - 60", 57)):
        assert numbers.amount(text, "frequency").value == centre


def test_power_without_a_unit_is_guessed_and_said():
    text = "Call,Channel,Lat,Long,ERP\nA,24,30.79,-40.39,1000000\nB,25,30.79,-40.39,15000\n"
    found = listed(text)
    assert found.table["erp_kw"].tolist() == [1000, 15]
    said(found, "names no unit: taken as W", "'erp_kw'")
    assert listed(text.replace("1000000", "1000"), mapping={"ERP": "erp_w"}).table["erp_kw"][0] == 1


def test_marks_of_a_column_settle_what_stays_open():
    rows = "Call;Channel;Lat;Long;ERP (W)\nA;24;30,79;-40,39;{}\nB;25;30,79;-40,39;{}\n"
    assert listed(rows.format("1.000", "2.500,5")).table["erp_kw"].tolist() == [1.0, 2.5005]
    assert listed(rows.format("1.000", "2.500.000")).table["erp_kw"].tolist() == [1.0, 2500.0]


def test_mixed_decimal_marks_cost_only_the_rows_in_doubt():
    found = listed(
        "Call;Channel;Lat;Long;ERP (kW)\nA;24;30.79;-40.39;2,5\nB;25;30.79;-40.39;7.5\n"
        "C;26;30.79;-40.39;1,000\n"
    )
    assert found.table["erp_kw"].fillna(-1).tolist() == [2.5, 7.5, -1]
    said(found, "mixes decimal commas and points")
    said(found, "two ways", "line 4")


# ---- layouts --------------------------------------------------------------------------------------

PLAIN = [
    ["Call sign", "Site", "RF channel", "Latitude", "Longitude", "ERP (kW)"],
    ["Gazette", "Kite Hill", "24", "30.7908", "-40.3912", "1000"],
    ["Bugle", "Kite Hill", "33", "30.7908", "-40.3912", "35"],
    ["Herald", "", "9", "30.1", "-41.2", "12.5"],
]


def _aligned(rows):
    widths = [max(map(len, column)) + 2 for column in zip(*rows, strict=True)]
    return "\n".join("".join(c.ljust(w) for c, w in zip(row, widths, strict=True)) for row in rows)


LAYOUTS = {
    **{mark: "\n".join(mark.join(row) for row in PLAIN) for mark in ",;\t|"},
    "sep": "sep=;\n" + "\n".join(";".join(row) for row in PLAIN),
    "aligned": _aligned(PLAIN),
    "ruled": _aligned([PLAIN[0], ["-" * len(h) for h in PLAIN[0]], *PLAIN[1:]]),
    "framed": "\n".join(
        "| " + " | ".join(row) + " |" for row in [PLAIN[0], ["---"] * 6, *PLAIN[1:]]
    ),
    "titled": "Licences in force\nAs of 5 March 2025\n\n"
    + "\n".join(";".join(r) for r in PLAIN)
    + "\n\n3 records\n",
    "crlf": "\r\n".join(",".join(row) for row in PLAIN) + "\r\n",
    "quoted": "\n".join(",".join(f'"{c}"' for c in row) for row in PLAIN),
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_layout_reads_alike(layout):
    table = listed(LAYOUTS[layout]).table
    assert table["station"].tolist() == ["Gazette", "Bugle", "Herald"]
    assert table["place"].tolist()[:2] == ["Kite Hill", "Kite Hill"]
    assert table["erp_kw"].tolist() == [1000, 35, 12.5]
    assert table["longitude_deg"].tolist() == [-40.3912, -40.3912, -41.2]


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_file_in_any_usual_coding(tmp_path, coding):
    path = tmp_path / "register.csv"
    path.write_bytes((HEAD + ROW.replace("Gazette", "Höhe")).encode(coding))
    before = path.read_bytes()
    assert listed(path).table["station"].item() == "Höhe"
    assert listed(str(path)).table["station"].item() == "Höhe"
    assert path.read_bytes() == before


def test_a_row_of_units_belongs_to_the_headings():
    found = listed("Call,Channel,Lat,Long,ERP,HAAT\n,,deg,deg,W,ft\nA,24,30.79,-40.39,5000,1000\n")
    assert found.table["erp_kw"].item() == 5
    assert found.table["antenna_height_m"].item() == pytest.approx(304.8)


def test_a_row_of_another_width_costs_itself_only():
    found = listed(HEAD + ROW + "Bugle,33,30.8,-40.4,35,1,2,3\nHerald,9,30.1,-41.2,12\n")
    assert found.table["station"].tolist() == ["Gazette", "Herald"]
    assert found.left_out["row"].tolist() == [3]
    said(found, "1 line of remarks")


def test_an_open_quotation_mark_does_not_swallow_the_list():
    rows = "".join(f"S{k},{14 + k},30.{k},-40.4,50\n" for k in range(12))
    assert len(listed(HEAD + '"Gazette,24,30.7908,-40.3912,1000\n' + rows).table) >= 12


# ---- headings -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("Callsign", "station"),
        ("Site Name", "place"),
        ("siteName", "place"),
        ("RF Ch", "rf_channel"),
        ("Virtual Channel", "shown_channels"),
        ("Centre frequency (MHz)", "freq_mhz"),
        ("HAAT_m", "antenna_height_m"),
        ("Height above average terrain (ft)", "antenna_height_ft"),
        ("RCAMSL (m)", "antenna_amsl_m"),
        ("Antenna height above ground (m)", "antenna_agl_m"),
        ("Ground elevation AMSL [m]", "ground_amsl_m"),
        ("Max ERP kW", "erp_kw"),
        ("EIRP_dBW", "eirp_dbw"),
        ("Polarisation", "polarization"),
        ("Licence status", "licence"),
        ("Breite", "latitude_deg"),
        ("Länge", "longitude_deg"),
        ("Potência (kW)", "erp_kw"),
        ("Puissance apparente rayonnée (W)", "erp_w"),
        ("Network affiliation", "-"),
        ("SFN", "-"),
        ("Owner", "-"),
        ("Tower height", "-"),
        ("Transmitter output power (kW)", "-"),
    ],
)
def test_headings_of_the_trade(heading, name):
    assert guess(heading).shown == name


def test_the_mapping_is_shown_and_mends(tmp_path):
    text = (
        "Who,Where to,Channel,Latitude,Longitude,ERP (kW)\nGazette,Kite Hill,24,30.79,-40.39,1000\n"
    )
    first = listed(text)
    assert first.mapping["Who"] is None and first.mapping["ERP (kW)"] == "erp_kw"
    mended = listed(text, mapping=first.mapping | {"Who": "station", "Where to": "place"})
    assert mended.table[["station", "place"]].values.tolist() == [["Gazette", "Kite Hill"]]
    mended.write(tmp_path / "town")
    again = listed(text, mapping=tmp_path / "town")
    pd.testing.assert_frame_equal(again.table, mended.table)


def test_a_mapping_that_cannot_be_says_why():
    with pytest.raises(
        ValueError, match="'Cal sign', which the list does not have; did you mean Call sign"
    ):
        listed(HEAD + ROW, mapping={"Cal sign": "station"})
    with pytest.raises(ValueError, match="no column of a list says"):
        listed(HEAD + ROW, mapping={"Call sign": "same_signal"})
    with pytest.raises(ValueError, match="no name of ours"):
        listed(HEAD + ROW, mapping={"Call sign": "colour"})


def test_nothing_is_ever_read_as_one_signal():
    head = HEAD.strip() + ",same_signal,Network,SFN,Multiplex\n"
    found = listed(head + ROW.strip() + ",net1,net1,net1,net1\n")
    assert {found.mapping[h] for h in ("same_signal", "Network", "SFN")} == {None}
    assert "same_signal" not in found.table or (found.table["same_signal"] == "").all()


def test_two_headings_alike_are_told():
    found = listed("Call,Channel,Lat,Long,ERP (kW),ERP (kW)\nA,24,30.79,-40.39,50,70\n")
    assert found.table["erp_kw"].item() == 50
    said(found, "two columns are headed 'ERP (kW)'", "first is taken")
    second = {"ERP (kW)": None, "ERP (kW) [2]": "erp_kw"}
    assert (
        listed("Call,Channel,Lat,Long,ERP (kW),ERP (kW)\nA,24,30.79,-40.39,50,70\n", mapping=second)
        .table["erp_kw"]
        .item()
        == 70
    )


# ---- words, heights -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "meaning"),
    [
        ("H", "horizontal"),
        ("V", "vertical"),
        ("E", "both"),
        ("C", "both"),
        ("Horizontal", "horizontal"),
        ("Vert.", "vertical"),
        ("H/V", "both"),
        ("H+V", "both"),
        ("Elliptical", "both"),
        ("circular (RH)", "both"),
    ],
)
def test_polarization_in_letters_and_words(cell, meaning):
    found = listed(f"Call,Channel,Lat,Long,ERP (kW),Pol\nA,24,30.79,-40.39,5,{cell}\n")
    assert found.table["polarization"].item() == meaning


def test_horizontal_and_vertical_powers_are_both():
    found = listed(
        "Call,Channel,Lat,Long,ERP H (kW),ERP V (kW)\nA,24,30.79,-40.39,50,20\nB,25,30.79,-40.39,0,20\n"
    )
    assert found.table["polarization"].tolist() == ["both", "vertical"]
    assert found.table["erp_kw"].tolist() == [50, 20]


def test_heights_above_three_grounds():
    head = "Call,Channel,Lat,Long,ERP (kW),HAAT (ft),RCAMSL (m),"
    head += "Antenna height AGL (m),Ground elevation (m)\n"
    rows = "A,24,30.79,-40.39,5,1000,430,110,\n"
    rows += "B,25,30.79,-40.39,5,0,430,,\nC,26,30.79,-40.39,5,,,110,320\n"
    table = listed(head + rows).table
    assert table["antenna_height_m"].fillna(-1).tolist() == pytest.approx([304.8, -1, -1])
    assert table["antenna_amsl_m"].tolist() == [430, 430, 430]
    assert table["antenna_agl_m"].fillna(-1).tolist() == [110, -1, 110]


def test_feet_called_metres_are_asked_about():
    rows = "".join(f"S{k},{14 + k},30.79,-40.39,5,{900 + 40 * k}\n" for k in range(6))
    found = listed("Call,Channel,Lat,Long,ERP (kW),Antenna height AGL (m)\n" + rows)
    said(found, "are they feet")
    assert found.table["antenna_agl_m"].isna().all()
    mended = listed(
        "Call,Channel,Lat,Long,ERP (kW),Antenna height AGL (m)\n" + rows,
        mapping={"Antenna height AGL (m)": "antenna_agl_ft"},
    )
    assert mended.table["antenna_agl_m"][0] == pytest.approx(274.32)  # 900 x 0.3048


def test_services_and_what_is_neither():
    found = listed(
        "Call,Service,Channel,Frequency (MHz),Lat,Long,ERP (kW)\nA,DTV,24,,30.79,-40.39,5\n"
        "B,FM,,98.1,30.79,-40.39,5\nC,AM,,1.2,30.79,-40.39,5\nD,Mobile,,740,30.79,-40.39,1\nE,TV,99,,30.8,-40,1\n"
    )
    assert found.table["service"].tolist() == ["tv", "fm", "mobile"]
    assert found.table["freq_mhz"].fillna(0).tolist() == [0, 98.1, 740]
    assert len(found.left_out) == 2
    said(found, "2 rows (lines 4, 6)", "left out")


def test_what_was_expected_of_a_row_left_out_is_said_in_full():
    found = listed(HEAD + ROW + ROW.replace("1000", "99999").replace("24", "25"), HOME)
    said(found, "1 row left out: expected erp_kw: a number above 0, at most 10000 (kW).")


def test_a_frequency_stands_in_for_a_channel_in_another_region():
    found = listed(
        "Sender,Frequenz (MHz),Breite,Länge,ERP (kW)\nBerg,522,50.1,8.2,50\n", region="ge06"
    )
    assert found.table["rf_channel"].item() == "27"  # 306 + 8 x 27 = 522 MHz
    said(found, "no standard is named; taken as DVB-T2")


def test_a_standard_with_its_mode():
    head = "Site,Channel,Lat,Long,ERP (kW),System,Modulation,Code rate\n"
    rows = "A,27,50.1,8.2,50,DVB-T,64QAM,2/3\nB,28,50.1,8.2,50,DVB-T2,256-QAM,3/5\n"
    rows += "C,29,50.1,8.2,5,PAL,,\n"
    found = listed(head + rows, region="ge06")
    assert found.table["standard"].tolist() == ["DVB-T 64-QAM 2/3", "DVB-T2 256-QAM 3/5"]
    assert found.left_out["reason"].tolist() == ["it is analogue"]


# ---- joining, cutting -----------------------------------------------------------------------------


def test_rows_of_one_transmitter_are_joined_and_counted():
    head = "Call,Channel,Lat,Long,ERP (kW),Pol,Status\n"
    rows = (
        "A,24,30.79,-40.39,900,H,CP\nA,24,30.79,-40.39,500,H,LIC\nA,24,30.795,-40.39,400,V,LIC\n"
        "A,24,31.79,-40.39,1,H,LIC\nB,24,30.79,-40.39,5,H,cancelled\n"
    )
    found = listed(head + rows)
    assert found.table[["station", "erp_kw", "polarization"]].values.tolist() == [
        ["A", 500, "both"],
        ["A", 1, "horizontal"],
    ]
    said(found, "permits or applications", "1 row (line 2)")
    said(found, "other polarization", "line 4")
    said(found, "off the air", "line 6")
    said(found, "several transmitters stand on RF channel 24 (A and A)", "same_signal")
    shed.site.from_tables(HOME, found.table)


def test_two_standards_at_one_place_are_asked_about():
    head = "Call,Channel,Lat,Long,ERP (kW),Standard\n"
    found = listed(head + "A,24,30.79,-40.39,9,ATSC 1.0\nB,24,30.79,-40.39,9,ATSC 3.0\n")
    said(found, "two standards", "ATSC1 or ATSC3")


def _register(count, seed=1):
    """Rows of an invented register, 0 to 900 km from home, by the length of a degree: 111.2 km."""
    rng = np.random.default_rng(seed)
    turn, away = rng.uniform(0, 2 * np.pi, count), 15 + 885 * rng.uniform(0, 1, count) ** 0.7
    latitude = HOME[0] + away * np.cos(turn) / 111.2
    longitude = HOME[1] + away * np.sin(turn) / (111.2 * np.cos(np.deg2rad(latitude)))
    power, height = 10 ** rng.uniform(-2, 3, count), rng.uniform(20, 500, count)
    rows = zip(
        range(count), rng.integers(7, 37, count), latitude, longitude, power, height, strict=True
    )
    head = "Call sign\tChannel\tLatitude\tLongitude\tERP (W)\tHAAT (m)\tStatus\n"
    return (
        away,
        power,
        head
        + "".join(
            f"S{k}\t{c}\t{_dms(a, 'NS')}\t{_dms(b, 'EW')}\t{p * 1000:,.1f}\t{h:.0f}\tLicensed\n"
            for k, c, a, b, p, h in rows
        ),
    )


def test_only_what_can_neither_come_nor_hurt_is_cut():
    away, power, text = _register(120)
    found = listed(text, HOME)
    gone = {int(name[1:]) for name in found.left_out["station"]}
    assert 10 < len(gone) < 110 and len(found.table) + len(found.left_out) == 120
    # Free space is the ceiling: a field that free space alone puts 25 dB over the noise at 20 km stays.
    assert not {k for k in range(120) if away[k] < 60 and power[k] > 0.1} & gone
    assert min(away[k] for k in gone) > 60
    said(found, f"{len(gone)} rows of 120 can neither be received nor hurt")
    said(found, f"the nearest is {found.left_out['distance_km'].min():.0f} km (")


def test_what_comes_a_tenth_of_the_time_may_disturb():
    # 300 km off, 100 m high, RF 33: over the noise, 10 kW are at -5 dB a tenth of the time and at -17 dB
    # half of it, 1 kW at -15 and -27 dB. What is 10 dB under the noise a tenth of the time is cut.
    head = "Call,Channel,Lat,Long,ERP (kW),HAAT (m)\n"
    far = HOME[0] + 300 / 110.9
    found = listed(f"{head}Ten,33,{far},{HOME[1]},10,100\nOne,33,{far},{HOME[1] + 1},1,100\n", HOME)
    assert found.table["station"].tolist() == ["Ten"]
    assert found.left_out["station"].tolist() == ["One"]


@pytest.mark.parametrize("latitude", [0.0, 45.0, 60.0])
def test_neighbours_are_as_far_as_on_the_ellipsoid(latitude):
    for north, east in ((0.02, 0.0), (0.0, 0.03), (-0.01, 0.02)):
        ends = latitude, 179.99, latitude + north, 179.99 + east - 360
        exact = Geodesic.WGS84.Inverse(*ends)["s12"] / 1000
        assert away_km(*ends) == pytest.approx(exact, rel=0.01)


def test_a_partner_of_a_kept_row_stays():
    far = "Call,Channel,Lat,Long,ERP (kW),HAAT (m)\n"
    far += "A,24,{a},-40.7,1000,300\nB,24,{a},-40.701,0.0001,30\n"
    text = far.format(a=HOME[0] + 120 / 111.2)
    assert listed(text, HOME).table["station"].tolist() == ["A", "B"]
    alone = text.replace("-40.701", "-40.8")
    assert listed(alone, HOME).table["station"].tolist() == ["A"]


def test_a_paste_of_120_rows_leads_to_a_ranking_in_four_lines():
    _, _, text = _register(120)
    near = shed.site.stations_from(text, near=HOME)
    roof = shed.site.from_tables(HOME, near.table)
    best = shed.advice.rank(roof)
    assert len(near.table) == len(roof.stations) and len(best) == 1


def test_a_list_typed_by_hand_says_the_same(tmp_path):
    # The same three stations as one would type them into stations.csv, in our own columns.
    found = listed(
        "Call;Channel;Lat;Long;ERP (W);HAAT (ft)\nGazette;24;30 47 27 N;40 23 28 W;1.000.000;1000\n"
        "Bugle;33;30 20 0 N;41 12 0 W;35.000,5;500\n",
        HOME,
    )
    typed = pd.DataFrame(
        {
            "station": ["Gazette", "Bugle"],
            "rf_channel": ["24", "33"],
            "latitude_deg": [THIRTY, 30 + 20 / 60],
            "longitude_deg": [-(40 + 23 / 60 + 28 / 3600), -41.2],
            "erp_kw": [1000, 35.0005],
            "antenna_height_ft": [1000, 500],
        }
    )
    setup = shed.survey.Setup("half-wave dipole", "mast", heading_deg=50)
    ours, theirs = (
        shed.survey.outlook(shed.site.from_tables(HOME, t), setup) for t in (found.table, typed)
    )
    assert ours["margin_db"].tolist() == pytest.approx(theirs["margin_db"].tolist(), abs=1e-6)


def test_nothing_in_reach_is_one_sentence():
    with pytest.raises(BadTable, match=r"at least one transmitter near 30.450, -40.700"):
        listed(HEAD + "Gazette,24,-50.79,100.39,1\n", HOME)


@pytest.mark.parametrize(
    ("latitude", "longitude", "what"),
    [
        ("-40.3912", "30.7908", "each other's column"),
        ("30.7908", "40.3912", "west as positive"),
        ("40 23 28 W", "30 47 27 N", "by their letters"),
        ("100.3912", "30.7908", "other way round"),
    ],
)
def test_swapped_and_unsigned_coordinates(latitude, longitude, what):
    near = (30.45, 100.7) if "100" in latitude else HOME
    found = listed(
        f"Call,Channel,Lat,Long,ERP (kW)\nGazette,24,{latitude},{longitude},1000\n", near
    )
    assert found.table["latitude_deg"].item() == pytest.approx(30.79, abs=0.01)
    said(found, what)


# ---- patterns -------------------------------------------------------------------------------------

TURNED = "Call,Channel,Lat,Long,ERP (kW),Antenna pattern,Rotation (deg)\n{}"
CARDIOID = "Azimuth,Relative field\n" + "".join(
    f"{az},{0.5 + 0.5 * np.cos(np.deg2rad(az)):.4f}\n" for az in range(0, 360, 10)
)


def test_a_rotated_pattern_file_beside_the_list(tmp_path):
    (tmp_path / "P7.csv").write_text(CARDIOID)
    rows = "A,24,30.95,-40.7,100,P7,180\nB,25,30.95,-40.7,100,P7,\nC,26,30.95,-40.7,100,P9,90\n"
    (tmp_path / "list.csv").write_text(TURNED.format(rows))
    found = listed(tmp_path / "list.csv", HOME)
    said(found, "1 row (line 4)", "no pattern P9")
    table = shed.site.from_tables(HOME, found.table).stations.set_index("station")
    # Home lies south of the mast: turned by 180 the cardioid's top looks home, unturned its null does,
    # of which no more than 20 dB are believed.
    assert table["erp_kw"].tolist() == pytest.approx([100, 1, 100], rel=0.01)
    town = found.write(tmp_path / "town")
    assert len(town.patterns) == 2 and all(
        (tmp_path / "town/patterns" / n).exists() for n in town.patterns
    )


def test_a_rotation_turns_a_pattern_clockwise():
    # The cardioid's top is north in its file: turned by 90 degrees it looks east, 100 percent of field.
    below = "\nPattern ID,Azimuth,Relative field\n"
    below += "".join(f"P7,{line}\n" for line in CARDIOID.split()[2:])
    found = listed(TURNED.format("A,24,30.95,-40.7,100,P7,90\n") + below, HOME)
    (pattern,) = found.patterns.values()
    assert dict(pattern)[90.0] == max(dict(pattern).values()) > dict(pattern)[270.0] + 0.9


def test_patterns_as_columns_and_below_the_list():
    field = [0.5 + 0.5 * np.cos(np.deg2rad(az - 180)) for az in range(0, 360, 30)]
    head = "Call,Channel,Lat,Long,ERP (kW)," + ",".join(f"Az {az}" for az in range(0, 360, 30))
    wide = f"{head}\nA,24,30.95,-40.7,100," + ",".join(f"{f:.3f}" for f in field)
    below = TURNED.format("A,24,30.95,-40.7,100,P7,180\n") + "\nPattern ID,Azimuth,Relative field\n"
    below += "".join(f"P7,{line}\n" for line in CARDIOID.split()[2:])
    for text in (wide, below):
        found = listed(text, HOME)
        assert len(found.patterns) == 1
        site = shed.site.from_tables(HOME, found.table)
        assert site.stations["erp_kw"].item() == pytest.approx(100, rel=0.01)
        assert site.stations["unknown_sd_db"].item() == pytest.approx(
            7
        )  # the height alone is not known


# ---- bad input ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "Dear all,\nhere is the list of stations, as promised.\nRegards, Ann",
            "no such row was found",
        ),
        (
            "<html><body><table><tr><td>Call</td></tr>\n</table></body></html>",
            "source of a web page",
        ),
        ("<table>\n<tr><th>Call</th></tr></table>", "source of a web page"),
        ('[{"call": "A",\n "channel": 24}]', "JSON"),
        ("\n\n", "file"),
        ("a,b,c\n1,2,3\n", "no such row"),
    ],
)
def test_what_is_no_list_gets_one_clear_sentence(text, why):
    with pytest.raises(BadTable, match=why) as told:
        listed(text)
    assert len(told.value.problems) == 1


@pytest.mark.parametrize("start", [b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF-1.4"])
def test_a_spreadsheets_binary_is_named(tmp_path, start):
    path = tmp_path / "list.csv"
    path.write_bytes(start + bytes(range(256)))
    with pytest.raises(BadTable, match=r"workbook|PDF"):
        listed(path)
    with pytest.raises(BadTable, match="there is none"):
        listed(tmp_path / "nothing.csv")


def test_no_power_and_off_the_globe_cost_their_rows():
    found = listed(
        HEAD + ROW + "B,25,30.8,-40.4,0\nC,26,130.8,-200.4,5\nD,27,30.8,,5\nE,28,30.8,-40.4,n/a\n"
    )
    assert found.table["station"].tolist() == ["Gazette", "E"]
    said(found, "line 3", "power of 0")
    said(found, "line 4", "off the globe")
    said(found, "line 5", "no coordinates")


# ---- town folder, terrain, age --------------------------------------------------------------------


def test_the_old_list_is_kept_beside_the_new_one(tmp_path):
    town = tmp_path / "town"
    assert not any("kept beside" in n for n in listed(HEAD + ROW, HOME).write(town).notes)
    old = (town / "stations.csv").read_bytes()
    assert not any("kept beside" in n for n in listed(HEAD + ROW, HOME).write(town).notes)
    found = listed(HEAD + ROW.replace("1000", "500"), HOME).write(town)
    said(found, "stations.csv: the old file is kept beside it")
    kept = [p for p in town.iterdir() if "before" in p.name]
    assert [p.read_bytes() for p in kept if p.name.startswith("stations_before")] == [old]


def test_tiles_needed_there_zipped_and_not_used(tmp_path):
    town = shed.site.new_town(tmp_path / "town")
    flat = np.full((1201, 1201), 120, dtype=">i2").tobytes()
    with zipfile.ZipFile(town / "terrain/N30W041.hgt.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("N30W041.hgt", flat)
    (town / "terrain/N45E009.hgt").write_bytes(flat)
    (town / "terrain/read me.txt").write_text("from a disk")
    found = listed(HEAD + ROW + "B,25,30.2,-41.2,9\n", HOME).write(town)
    said(found, "cross 2 tiles, 1 of them", "missing: N30W042")
    said(found, "not used", "N45E009.hgt", "read me.txt")
    tiles = shed.earth.open_tiles(town / "terrain")
    assert tiles.heights_m(30.5, -40.5) == 120.0


def test_how_old_the_list_is(tmp_path):
    said(listed(HEAD + ROW), "names no day")
    said(listed("Data as of 5 March 2025\n" + HEAD + ROW), "2025-03-05", "look for a newer one")
    dated = HEAD.strip() + ",Last updated,Expiry date\n" + ROW.strip() + ",2026-01-09,2031-01-01\n"
    assert listed(dated).listed_on == date(2026, 1, 9)
    (tmp_path / "list.csv").write_text(HEAD + ROW)
    said(listed(tmp_path / "list.csv"), "last saved on", date.today().isoformat())


def test_parts_are_what_they_say():
    assert vocabulary.meaning("licence", "Construction permit") == "permit"
    assert sheet.cut(source.opened(HEAD + ROW)).mark == "commas"


# ---- six invented registers, written without knowledge of the reader -----------------------------

REGISTERS = Path(__file__).parent / "data" / "registers"
PLANS = {"masts_two_line_heading.csv": "ge06", "sektoren_dbw.csv": "ge06"}
PLANS["plano_quebras.csv"] = "br"
HEIGHTS = {
    "headless_bars.txt": {"31": "antenna_amsl_m", 35: "antenna_agl_m"}
}  # No cell tells these.
TRUTH = pd.read_csv(REGISTERS / "truth.csv", dtype=str)
BOTH = {word: "both" for word in ("mixed", "elliptical", "circular")}
NUMBERS = {
    "lat_deg": ("latitude_deg", 2e-6),
    "lon_deg": ("longitude_deg", 2e-6),
    "erp_kw": ("erp_kw", 1e-3),
    "height_agl_m": ("antenna_agl_m", 0.06),
    "height_amsl_m": ("antenna_amsl_m", 0.06),
    "haat_m": ("antenna_height_m", 0.06),
}


@functools.cache
def _read(name):
    found = shed.registers.read(REGISTERS / name, HEIGHTS.get(name), PLANS.get(name, "us"))
    rows = pd.concat([found.table, found.left_out], ignore_index=True)
    return found, rows.set_index("row")


@pytest.mark.parametrize("name", TRUTH["file"].unique())
def test_an_invented_register_says_what_it_was_made_of(name):
    found, rows = _read(name)
    wrong = []
    for true in TRUTH[TRUTH["file"] == name].to_dict("records"):
        row = rows.loc[int(true["key"].split()[1])]
        words = {"rf_channel": true["rf_channel"], "licence": true["status"]}
        words["polarization"] = BOTH.get(true["polarization"], true["polarization"])
        wrong += [(true["key"], c) for c, w in words.items() if isinstance(w, str) and row[c] != w]
        for theirs, (ours, within) in NUMBERS.items():
            if isinstance(true[theirs], str):
                far = abs(row[ours] - float(true[theirs]))
                wrong += [(true["key"], ours)] if not far <= within * max(1, row["erp_kw"]) else []
        if isinstance(true["attenuation_db"], str) and row["pattern"]:
            shape = dict(found.patterns[row["pattern"]])
            for turn, db in (pair.split(":") for pair in true["attenuation_db"].split()):
                level = -20 * np.log10(shape[float(turn)])
                wrong += [(true["key"], turn)] if abs(level - float(db)) > 0.05 else []
    assert not wrong


@pytest.mark.parametrize("name", TRUTH["file"].unique())
def test_transmissions_of_an_invented_register_are_counted(name):
    counts = pd.read_csv(REGISTERS / "counts.csv").set_index("file").loc[name]
    found, rows = _read(name)
    is_record = ~rows["reason"].eq("a line of remarks, or one that is not cut like the headings")
    assert is_record.sum() == counts["rows"]
    assert (found.table["service"] == "tv").sum() == counts["tv_transmissions"]


@pytest.mark.parametrize("name", TRUTH["file"].unique())
def test_what_headings_were_taken_for_is_one_line_that_can_be_read(name):
    said = shed.site.listed.read_words(_read(name)[0].mapping)
    assert len(said) <= 200 and "\n" not in said
    assert "rf_channel “" in said and " more" in said


# ---- no headings, cells with much in them ---------------------------------------------------------

BARE = (
    "|QAB-TV |LIC|24 |N|30|47|27.0|W|40|23|28.0|50    kW|V|110.|\n"
    "|QCD-TV |CP |33 |N|30|47|27.0|W|40|23|28.0|0.35  kW|H|95. |\n"
    "|QEF-LD |LIC|9  |N|30|40|0.0 |W|40|20|0.0 |1000  kW|E|-   |\n"
)


def test_a_list_without_headings_is_told_by_its_cells():
    found = listed(BARE)
    table = found.table
    assert table["station"].tolist() == ["QAB-TV", "QCD-TV", "QEF-LD"]
    assert table["rf_channel"].tolist() == ["24", "33", "9"]
    assert table["latitude_deg"].tolist() == pytest.approx([THIRTY, THIRTY, 30 + 40 / 60])
    assert table["erp_kw"].tolist() == [50, 0.35, 1000]
    assert table["polarization"].tolist() == ["vertical", "horizontal", "both"]
    assert table["licence"].tolist() == ["licensed", "permit", "licensed"]
    said(found, "no headings", "12 erp", "mapping=")
    assert found.mapping["column 14"] is None


def test_columns_go_by_their_number_and_come_back_out_of_a_town(tmp_path):
    found = listed(BARE, mapping={"14": "antenna_agl_m", 2: None})
    assert found.table["antenna_agl_m"].fillna(-1).tolist() == [110, 95, -1]
    assert (found.table.get("licence", pd.Series("")) == "").all()
    found.write(tmp_path / "town")
    again = listed(BARE, mapping=tmp_path / "town")
    pd.testing.assert_frame_equal(again.table, found.table)


def test_what_cells_do_not_tell_is_asked_with_the_first_row_by_numbers():
    twice = BARE.replace("|N|", "|7|N|")  # Two columns that may be channels.
    with pytest.raises(BadTable, match=r"do not tell a channel.*'3': 'rf_channel'.*1 'QAB-TV'"):
        listed(twice)
    assert listed(twice, mapping={"3": "rf_channel"}).table["rf_channel"].tolist()[0] == "24"


def test_a_pattern_in_one_cell():
    head = "Call;Channel;Lat;Long;ERP (kW);Limits (azimuth=dB)\n"
    row = "A;24D;30,79;-40,39;5;0=20|90=0|180=6,02|270=20\nB;33D;30,79;-40,39;5;\n"
    found = listed(head + row)
    assert found.table["rf_channel"].tolist() == ["24", "33"]
    # By hand: 20 dB is a tenth of the field, 6.02 dB half.
    shape = [(0.0, 0.1), (90.0, 1.0), (180.0, 0.5), (270.0, 0.1)]
    assert list(found.patterns.values()) == [tuple(shape)]


def test_a_d_is_digital_only_where_it_can_be_no_radio_block():
    rows = "Call,Channel,Lat,Long,ERP (kW)\nA,11D,30.79,-40.39,5\n"
    with pytest.raises(BadTable):
        listed(rows + "B,12D,30.79,-40.39,5\n")
    assert listed(rows + "B,24D,30.79,-40.39,5\n").table["rf_channel"].tolist() == ["11", "24"]


def test_azimuths_in_a_second_line_of_headings_and_letters_behind_numbers():
    # Made with its truth by somebody who had not seen the reader; kept back until that was done.
    folder = Path(__file__).parent / "data" / "registers"
    truth = pd.read_csv(folder / "attenuation_truth.csv", dtype={"channel": str}).set_index("line")
    found = shed.registers.read(folder / "attenuation_page.txt", region="au")
    # 120 transmissions, 9 of them permits not on the air; 11 stand in a row for H and one for V.
    assert found.table["licence"].value_counts().to_dict() == {"licensed": 111, "permit": 9}
    kept = found.table.set_index("row")
    rows = truth.loc[truth.index.isin(kept.index)]
    here = kept.loc[rows.index]
    assert len(rows) > 15 and here["rf_channel"].tolist() == rows["channel"].tolist()
    assert here["erp_kw"].to_numpy() == pytest.approx(rows["erp_kw"].to_numpy(), rel=0.01)
    assert here["polarization"].tolist() == rows["polarization"].tolist()
    assert here["licence"].tolist() == rows["status"].tolist()
    for name in ("latitude_deg", "longitude_deg", "antenna_agl_m"):
        assert here[name].to_numpy() == pytest.approx(rows[name].to_numpy(), abs=1e-4, nan_ok=True)
    for line, row in rows.iterrows():
        field = dict(found.patterns.get(here["pattern"][line], ()))
        for at in (0, 90, 250):
            level_db = 20 * np.log10(field.get(float(at), 1.0))
            assert level_db == pytest.approx(row[f"pattern_at_{at}_db"], abs=0.1), line


@pytest.mark.parametrize("name", ["prose.txt", "page.html", "spreadsheet.csv"])
def test_what_is_no_list_changes_nothing_in_the_town(tmp_path, name):
    town = shed.site.new_town(tmp_path / "town")
    before = {path: path.read_bytes() for path in town.rglob("*") if path.is_file()}
    with pytest.raises(BadTable) as told:
        listed(Path(__file__).parent / "data" / "registers" / "bad" / name).write(town)
    assert name in str(told.value) and "expected" in str(told.value)
    assert before == {path: path.read_bytes() for path in town.rglob("*") if path.is_file()}


def test_radio_and_mobile_neighbours_of_a_list_stay_and_the_folder_opens(tmp_path):
    # An FM station has no television channel; it loads the tuner all the same (STATIONS, service).
    text = "Call,Channel,Lat,Long,ERP (kW),Service,Freq MHz\nGazette,24,30.79,-40.39,1000,TV,\n"
    text += "Ballroom,,30.70,-40.40,100,FM,97.1\nMast,,30.60,-40.60,1,mobile,632\n"
    found = listed(text, HOME).write(tmp_path / "town")
    assert found.table["service"].tolist() == ["tv", "fm", "mobile"] and found.left_out.empty
    site_toml = {"name": "roof", "latitude": HOME[0], "longitude": HOME[1], "region": "us"}
    mast = {"name": "mast", "kind": "mast", "height_agl_m": 9}
    more = {"town": "../town", "tuner": {"standards": ["ATSC1"]}, "mounts": [mast]}
    shed.site.write_site(tmp_path / "roof", site_toml | more)
    opened = shed.site.open_site(tmp_path / "roof").stations
    assert opened["rf_channel"].tolist() == ["24", "FM 97.1", "mobile 632"]


def test_a_height_of_the_radiating_centre_and_a_mode_of_the_antenna():
    # By hand: 152 m above a foot at 1,095 m is 1,247 m. DA and ND: directional and not (47 CFR 73).
    text = (
        "Emissora;Canal físico;Latitude;Longitude;ERP (kW);HCI (m);Altitude (m);Situação;Ant Mode\n"
    )
    text += "Ipê;27;23°30'12\"S;46°41'05\"W;8,000;152;1.095;Licenciada;ND\n"
    text += "Jatobá;33;23°30'12\"S;46°41'05\"W;1,25;92;1.095;Em instalação;DA\n"
    found = listed(text, region="br").table
    assert found[["antenna_agl_m", "antenna_amsl_m"]].iloc[0].tolist() == [152, 1247]
    assert found["pattern"].tolist() == ["nondirectional", ""]
    assert found["licence"].tolist() == ["licensed", "permit"]


def test_a_list_of_miles_and_bearings_whose_headings_are_units():
    # By hand: 34.5 miles of 1.609344 km are 55.52 km; W is where 271 degrees points, not 12.
    head = "Station | RF | Miles | Bearing | kW\n"
    found = listed(f"{head}WQA-TV | 22 | 34.5 | 271° (W) | 1000\nWQB | 9 | 41 | 12 | 30.5\n").table
    assert found["distance_km"].round(2).tolist() == [55.52, 65.98]
    assert found["bearing_deg"].tolist() == [271, 12] and found["erp_kw"].tolist() == [1000, 30.5]
    wrong = listed(f"{head}WQA-TV | 22 | 34.5 | 271 | 1000\nWQB | 9 | 41 | 12 (W) | 30.5\n")
    assert wrong.table["station"].tolist() == ["WQA-TV"] and said(wrong, "'12 (W)'")
