"""Folders as they really arrive: each is a clear sentence or a right answer, and stays as it was.

Every case changes one thing in a good folder. It names the file and the words of the sentence it must
bring, or nothing if the folder must still open as before.
"""

import os
import re
import shutil
from pathlib import Path

import pandas as pd
import pytest

from signalshed import site, tables

FOLDERS = Path(__file__).parent / "data" / "folders"
TOWN, SITE, ANTENNAS = "town/stations.csv", "roof/site.toml", "roof/antennas.toml"
READINGS, METER = "roof/readings.csv", "roof/meter.csv"
OPENS = None


def swap(old, new, count=1):
    """Change text in a file; the text must be there, or the case tests nothing."""

    def change(path):
        data = path.read_bytes()
        assert old.encode() in data, f"{old!r} is not in {path.name}"
        path.write_bytes(data.replace(old.encode(), new.encode(), count))

    return change


def put(data):
    """Replace a whole file."""
    return lambda path: path.write_bytes(data if isinstance(data, bytes) else data.encode())


def add(text):
    """Add text at the end of a file."""
    return lambda path: path.write_bytes(path.read_bytes() + text.encode())


def through(function):
    """Change a file's bytes by a function."""
    return lambda path: path.write_bytes(function(path.read_bytes()))


def delete(path):
    """Take a file away."""
    path.unlink()


def as_folder(path):
    """Put a folder in a file's place."""
    path.unlink()
    path.mkdir()


def leads_to(target):
    """Put a link in a file's place."""

    def change(path):
        path.unlink()
        path.symlink_to(target)

    return change


def as_pipe(path):
    """Put a pipe in a file's place: who reads it waits until somebody writes."""
    path.unlink()
    os.mkfifo(path)


def semicolons(data):
    """What a spreadsheet in many European countries writes."""
    return data.replace(b",", b";").replace(b".", b",")


GAZETTE = "Gazette,Kite Hill,14,14.1 14.2,ATSC1,30.81,-40.52,400,310,"
CASES = {
    # ---- the station list as a file
    "no station list": (TOWN, delete, "there is none"),
    "a folder in its place": (TOWN, as_folder, "this is a folder"),
    "empty": (TOWN, put(b""), "the file is empty"),
    "only commas": (TOWN, put(b',,\n"",,\n'), "every cell is empty"),
    "header only": (TOWN, through(lambda d: d.split(b"\n")[0] + b"\n"), "at least one row"),
    "no header": (TOWN, through(lambda d: d.split(b"\n", 1)[1]), "the columns station, rf_channel"),
    "latin-1": (
        TOWN,
        through(lambda d: d.replace(b"Gazette", "Gàzette".encode("latin-1"))),
        "UTF-8",
    ),
    "utf-16": (TOWN, through(lambda d: d.decode().encode("utf-16")), "UTF-16"),
    "utf-32": (TOWN, through(lambda d: d.decode().encode("utf-32")), "UTF-32"),
    "a pipe": (TOWN, as_pipe, "this is a pipe or a device"),
    "a link to a device": (TOWN, leads_to("/dev/zero"), "this is a pipe or a device"),
    "a link to itself": (TOWN, leads_to("stations.csv"), "levels of symbolic links"),
    "readings from a pipe": (READINGS, as_pipe, "this is a pipe or a device"),
    "the delimiter told": (TOWN, through(lambda d: b"sep=,\n" + d), OPENS),
    "another delimiter told": (
        TOWN,
        through(lambda d: b"sep=;\r\n" + d.replace(b",", b";")),
        OPENS,
    ),
    "only the delimiter": (TOWN, put(b"sep=;\n"), "the file is empty"),
    "a name with a mark of no width": (TOWN, swap("Gazette", "Gaz\u200bette"), "hidden characters"),
    "site.toml of two megabytes": (SITE, add("#" * 2_000_000), "at most 1 MB"),
    "with byte-order mark": (TOWN, through(lambda d: b"\xef\xbb\xbf" + d), OPENS),
    "windows line ends": (TOWN, through(lambda d: d.replace(b"\n", b"\r\n")), OPENS),
    "old mac line ends": (TOWN, through(lambda d: d.replace(b"\n", b"\r")), OPENS),
    "mixed line ends": (TOWN, through(lambda d: d.replace(b"\n", b"\r\n", 2)), OPENS),
    "no line end at the end": (TOWN, through(lambda d: d.rstrip(b"\n")), OPENS),
    "blank rows": (TOWN, through(lambda d: d.replace(b"\n", b"\n\n") + b",,,\n,\n\n"), OPENS),
    "a workbook": (TOWN, put(b"PK\x03\x04\x14\x00"), "workbook"),
    "binary": (TOWN, through(lambda d: d + b"\x00\x01"), "binary data"),
    "tabs": (TOWN, through(lambda d: d.replace(b",", b"\t")), OPENS),
    "blanks for commas": (
        TOWN,
        through(lambda d: d.replace(b",", b" ")),
        "a header with the columns",
    ),
    "open quotation mark": (TOWN, swap("Gazette", '"Gazette'), "quotation marks"),
    "one cell too many": (TOWN, swap(GAZETTE, GAZETTE + ","), "but there are 19"),
    "one cell too few": (TOWN, swap("Gazette,Kite Hill", "Gazette"), "but there are 17"),
    "unquoted decimal comma": (TOWN, swap("30.81,", "30,81,"), "but there are 19"),
    "column twice": (TOWN, swap("place,", "station,"), "one column for station only"),
    "column misspelt": (TOWN, swap("latitude_deg", "lattitude_deg"), "did you mean latitude_deg"),
    "column unknown": (TOWN, swap(",note", ",owner"), "{'owner': None}"),
    "columns in another order": (
        TOWN,
        through(lambda d: b"\n".join(b",".join(r.split(b",")[::-1]) for r in d.split(b"\n"))),
        OPENS,
    ),
    # ---- one station
    "latitude 95": (TOWN, swap("30.81,", "95,"), "from -90 to 90"),
    "longitude 400": (TOWN, swap("-40.52,", "-400.52,"), "from -180 to 180"),
    "swapped coordinates": (TOWN, swap("30.81,-40.52", "-40.52,30.81"), "within 1000 km"),
    "wrong sign of longitude": (TOWN, swap("-40.52", "40.52"), "check the signs"),
    "latitude alone": (TOWN, swap("30.81,-40.52", "30.81,"), "both latitude_deg and longitude_deg"),
    "no position": (TOWN, swap("30.81,-40.52", ","), "there is neither"),
    "station at the site": (TOWN, swap("30.81,-40.52", "30.45,-40.70"), "at least 0.1 km away"),
    "RF 37": (TOWN, swap("Hill,14,", "Hill,37,"), "no television channel in region us"),
    "RF 9.1": (TOWN, swap("Hill,14,", "Hill,9.1,"), "what the screen shows"),
    "RF in words": (TOWN, swap("Hill,14,", "Hill,fourteen,"), "an RF channel"),
    "no RF channel": (TOWN, swap("Hill,14,", "Hill,,"), "it is empty"),
    "negative power": (TOWN, swap("400,310", "400,-310"), "a number above 0"),
    "no power at all": (TOWN, swap("400,310", "0,310"), "a number above 0"),
    "power in watts in the wrong column": (TOWN, swap("400,310", "400000,310000"), "at most 10000"),
    "more toward you than at most": (TOWN, swap("400,310", "310,400"), "no more power than erp_kw"),
    "power with its unit": (TOWN, swap("400,310", "400 kW,310"), "the number alone"),
    "power nan": (TOWN, swap("400,310", "nan,310"), "leave the cell empty"),
    "power inf": (TOWN, swap("400,310", "inf,310"), "a number above 0"),
    "power 1e999": (TOWN, swap("400,310", "1e999,310"), "a number above 0"),
    "height of a mountain chain": (TOWN, swap("285,412", "28500,412"), "from -200 to 3000"),
    "unknown standard": (TOWN, swap("ATSC1", "ATSC7"), "did you mean ATSC"),
    "unknown polarization": (TOWN, swap("horizontal", "slant"), "horizontal, vertical, both"),
    "wanted maybe": (TOWN, swap(",yes,", ",maybe,"), "yes or no"),
    "a radio station wanted": (TOWN, swap(",200,,,,fm", ",200,,,yes,fm"), "not television"),
    "radio without frequency": (TOWN, swap("98.1", ""), "must be filled for fm"),
    "frequency of another channel": (TOWN, swap("yes,tv,,", "yes,tv,500,"), "the centre of the RF"),
    "unknown service": (TOWN, swap(",fm,", ",fn,"), "one of tv, fm, mobile"),
    "station twice": (TOWN, add(GAZETTE + ",horizontal,,,,,tv,,\n"), "each station once"),
    "station without a name": (TOWN, swap("Gazette", ""), "it is empty"),
    "a very long name": (TOWN, swap("Gazette", "G" * 1000), "200 letters"),
    "hidden letters": (TOWN, swap("Gazette", "Gaz\u202eette"), "hidden characters"),
    "bell": (TOWN, swap("Gazette", "Gaz\x07ette"), "hidden characters"),
    "needs impossible C/N": (TOWN, swap("12.5,yes", "125,yes"), "from -20 to 60"),
    "pattern file gone": ("town/patterns/lantern.csv", delete, "there is none"),
    "pattern leads out": (TOWN, swap("lantern.csv", "../stations.csv"), "within the folder"),
    "pattern absolute": (TOWN, swap("lantern.csv", "/etc/passwd"), "within the folder"),
    "pattern too strong": ("town/patterns/lantern.csv", swap("1.0", "10"), "from 0 to 1.02"),
    "pattern of two rows": (
        "town/patterns/lantern.csv",
        put("azimuth_deg,relative_field\n0,1\n180,1\n"),
        "at least three directions",
    ),
    "pattern direction twice": ("town/patterns/lantern.csv", swap("90,", "0,"), "each once"),
    "pattern of nothing": (
        "town/patterns/lantern.csv",
        put("azimuth_deg\n0\n90\n180\n"),
        "one column of relative_field or relative_db",
    ),
    # ---- site.toml
    "no site.toml": (SITE, delete, "there is none"),
    "empty site.toml": (SITE, put(b""), "the key is missing"),
    "site.toml in latin-1": (SITE, through(lambda d: d.replace(b"set", b"s\xe9t")), "UTF-8"),
    "site.toml with byte-order mark": (SITE, through(lambda d: b"\xef\xbb\xbf" + d), OPENS),
    "site.toml windows line ends": (SITE, through(lambda d: d.replace(b"\n", b"\r\n")), OPENS),
    "decimal comma": (SITE, swap("30.45", "30,45"), "a decimal point"),
    "no value": (SITE, swap("30.45", ""), "a value after the = sign"),
    "text without quotation marks": (SITE, swap('"us"', "us"), "text in quotation marks"),
    "number in quotation marks": (SITE, swap("30.45", '"30.45"'), "without quotation marks"),
    "home at latitude 95": (SITE, swap("30.45", "95"), "from -90 to 90"),
    "home nan": (SITE, swap("30.45", "nan"), "from -90 to 90"),
    "home inf": (SITE, swap("30.45", "inf"), "from -90 to 90"),
    "home in the wrong hemisphere": (SITE, swap("-40.70", "40.70"), "check the signs"),
    "home of 400 digits": (SITE, swap("30.45", "9" * 400), "from -90 to 90"),
    "home of 5000 digits": (SITE, swap("30.45", "9" * 5000), "digits"),
    "certainty of 5000 hexadecimal digits": (SITE, swap("0.9", "0x" + "f" * 5000), "at most 0.999"),
    "brackets without end": (SITE, swap("30.45", "[" * 100_000), "key = value"),
    "home a date": (SITE, swap("30.45", "2026-05-01"), "from -90 to 90"),
    "home true": (SITE, swap("30.45", "true"), "from -90 to 90"),
    "region unknown": (SITE, swap('"us"', '"uk"'), "us, ge06, au, jp, br"),
    "town gone": (SITE, swap("../town", "../twon"), "the folder of the town"),
    "town of a name too long for the system": (SITE, swap("../town", "名" * 150), "the folder of"),
    "town with backslash": (SITE, swap("../town", "..\\\\town"), OPENS),
    "town with one backslash": (SITE, swap("../town", "..\\twon"), "the folder of the town|text"),
    "certainty in percent": (SITE, swap("0.9", "90"), "at most 0.999"),
    "key misspelt": (SITE, swap("certainty", "certainity"), "did you mean certainty"),
    "key twice": (SITE, swap("certainty = 0.9", "name = 'x'"), "each key once"),
    "no tuner": (SITE, swap("[tuner]", "[tunner]"), "tunner"),
    "tuner as a list": (SITE, swap("[tuner]", "[[tuner]]"), "single square brackets"),
    "tuner decodes nothing known": (SITE, swap('"ATSC3"]', '"ATSC9"]'), "did you mean ATSC"),
    "standards not in brackets": (SITE, swap('["ATSC1", "ATSC3"]', '"ATSC1"'), "square brackets"),
    "mount as one table": (SITE, swap("[[mounts]]", "[mounts]", 1), "each key once|double square"),
    "mount kind unknown": (SITE, swap('kind = "mast"', 'kind = "masst"'), "did you mean mast"),
    "mount named by a list": (SITE, swap('name = "window"', "name = [[1]]"), "text"),
    "mount without height": (SITE, swap("height_agl_m = 9\n", ""), "the key is missing"),
    "mount underground": (SITE, swap("height_agl_m = 9", "height_agl_m = -9"), "a number above 0"),
    "height twice": (
        SITE,
        swap("height_agl_m = 9", "height_agl_m = 9\nheight_agl_ft = 30"),
        "in one unit only",
    ),
    "heading 725": (SITE, swap("open_to_deg = 130", "open_to_deg = 725"), "from 0 to 360"),
    "mount twice": (
        SITE,
        swap('name = "window"', 'name = "roof mast"'),
        "a name no other mount has",
    ),
    "mount without a feed of two": (SITE, swap('feed = "bench"\n', ""), "which feed it has"),
    "feed unknown": (SITE, swap('feed = "bench"', 'feed = "banch"'), "'mast line', 'bench'"),
    "amplifier without power": (
        SITE,
        swap('kind = "mast"', 'kind = "mast"\npower = false'),
        "a feed without an amplifier",
    ),
    "feed twice": (SITE, swap('name = "bench"', 'name = "mast line"'), "a name no other feed has"),
    "cable unknown": (SITE, swap('"series6"', '"series7"'), "series6, series11"),
    "cable of negative length": (SITE, swap("length_m = 18", "length_m = -18"), "from 0 to 1000"),
    "splitter of five": (SITE, swap("splitter = 2", "splitter = 5"), "must be one of 2, 3, 4, 8"),
    "splitter of two and a half": (
        SITE,
        swap("splitter = 2", "splitter = 2.5"),
        "must be one of 2, 3",
    ),
    "filter upside down": (SITE, swap("stop_low_mhz = 88", "stop_low_mhz = 180"), "stop|high_mhz"),
    "part that is two": (SITE, swap("pad_db = 3", "pad_db = 3, splitter = 2"), "exactly one of"),
    "part that is none": (SITE, swap("pad_db = 3", "pads = 3"), "exactly one of"),
    "part that is text": (SITE, swap("{ splitter = 2 }", '"splitter"'), "exactly one of"),
    "parts not in brackets": (
        SITE,
        swap("parts = [{", "parts = {").__call__,
        "quotation|parts|reader",
    ),
    # ---- antennas.toml
    "no antennas.toml": (ANTENNAS, delete, "there is none"),
    "no antenna": (ANTENNAS, put("# none yet\n"), "at least one table"),
    "antenna in single brackets": (ANTENNAS, put('[antennas]\nname = "a"\n'), "double square"),
    "antenna twice": (ANTENNAS, swap('name = "banded"', 'name = "loop"'), "no other antenna has"),
    "gain and build": (ANTENNAS, swap("effort = 1", 'build = "loop"'), "exactly one of"),
    "gain and a trial that is gone": (
        ANTENNAS,
        swap("effort = 1", 'trial = "t.csv"'),
        "there is none",
    ),
    "gain of nothing": (ANTENNAS, swap("gain_dbd = 1.5\n", ""), "there is none"),
    "gain 99": (ANTENNAS, swap("gain_dbd = 1.5", "gain_dbd = 99"), "from -60 to 40"),
    "gain in both units": (
        ANTENNAS,
        swap("gain_dbd = 1.5", "gain_dbd = 1.5\ngain_dbi = 4"),
        "once",
    ),
    "beamwidth 0": (ANTENNAS, swap("beamwidth_deg = 83", "beamwidth_deg = 0"), "a number above 0"),
    "one end of a band": (ANTENNAS, swap('high_channel = "36"\n', ""), "both ends of its band"),
    "band upside down": (ANTENNAS, swap("low_mhz = 470", "low_mhz = 690"), "must rise"),
    "channel 37": (ANTENNAS, swap('"36"', '"37"'), "no television channel"),
    "gains for other frequencies": (
        ANTENNAS,
        swap("[4, 4, 6, 7.5]", "[4, 4, 6]"),
        "3 numbers for 4",
    ),
    "lives nowhere known": (
        ANTENNAS,
        swap('"mast", "window"', '"mast", "windows"'),
        "did you mean window",
    ),
    "effort 9": (ANTENNAS, swap("effort = 1", "effort = 9"), "from 1 to 5"),
    "effort one and a half": (ANTENNAS, swap("effort = 1", "effort = 1.5"), "whole number"),
    "polarization both": (ANTENNAS, swap('"vertical"', '"both"'), "horizontal, vertical"),
    "unknown form": (
        ANTENNAS,
        swap("gain_dbd = 1.5", 'build = "no such form"'),
        "there is no form",
    ),
    "antenna pattern gone": ("roof/patterns/measured.csv", delete, "there is none"),
    "antenna pattern leads out": (ANTENNAS, swap('"measured.csv"', '"../../town/x.csv"'), "within"),
    "trial leads out": (ANTENNAS, swap('"trial_gains.csv"', '"../../x.csv"'), "within the folder"),
    "build of a kilometre": (
        ANTENNAS,
        swap(
            "gain_dbd = 1.5",
            'build = "half_wave_dipole"\nsizes = { freq_mhz = 539, length_mm = 1e6 }',
        ),
        "the limit is",
    ),
    "pattern of both kinds": (
        "roof/patterns/measured.csv",
        put("azimuth_deg,gain_dbd,relative_db\n0,1,0\n90,1,0\n180,1,0\n"),
        "and no other",
    ),
    "pattern with a hole": ("roof/patterns/measured.csv", swap("90,-4", "90,"), "fill every one"),
    "antenna direction twice": ("roof/patterns/measured.csv", swap("180,", "90,"), "twice"),
    "relative pattern without gain": (ANTENNAS, swap("gain_dbd = 8\n", ""), "gain_dbd of the top"),
    "trial of another antenna": (
        "roof/trial_gains.csv",
        swap("mesh", "mosh", 2),
        "measured no antenna",
    ),
    # ---- readings and ladder
    "readings without a column": (READINGS, swap(",locked", ",lock"), "did you mean locked"),
    "readings empty": (READINGS, put(b""), OPENS),
    "readings all commas": (READINGS, put(b",,,\n,,,\n"), OPENS),
    "no readings": (READINGS, delete, OPENS),
    "last reading cut off": (READINGS, add("2026-05-01T20:18:00-05:00,roof ma"), OPENS),
    "last reading cut off in quotation marks": (READINGS, add('2026-05-01T20:18,"roof'), OPENS),
    "no ladder": (METER, delete, OPENS),
}

ROW = "2026-05-01T20:18:00-05:00,roof mast,loop,1,set,quality,14,25,0,set,mast,"
LEFT_OUT = {
    "time without offset": (READINGS, swap("20:15:00-05:00", "20:15:00"), "its offset"),
    "reading in words": (READINGS, swap("82,80,84", "good,80,84"), "a number"),
    "scale unknown": (READINGS, swap("set,quality", "set,qualty"), "did you mean quality"),
    "reading's heading 725": (READINGS, swap("14,25,", "14,725,"), "from 0 to 360"),
    "reading's channel": (READINGS, swap("quality,14", "quality,14.1"), "what the screen shows"),
    "lock unknown": (READINGS, swap("84,yes", "84,"), "yes or no"),
    "pad of 500 dB": (METER, swap(",20,", ",500,"), "from 0 to 100"),
    "reading with a letter O": (
        READINGS,
        add(ROW + "8O,,,yes,\n"),
        "'8O' is there; expected a number",
    ),
    "reading in dB": (READINGS, add(ROW + "82 dB,,,yes,\n"), "the number alone"),
    "reading with a decimal comma": (READINGS, add(ROW + "82,5,,,yes,\n"), "but there are 17"),
    "row of a few words": (READINGS, add("it rained\n"), "cut off while it was written"),
    "rung with a letter O": (METER, add("set,quality,14,1O,set,71,yes\n"), "'1O' is there"),
    "rung in volts": (METER, add("set,quality,14,6,set,82 V,yes\n"), "'82 V' is there"),
    "rung cut off": (METER, add("set,quality,14,6,s"), "cut off while it was written"),
}
"""One row of measurements is wrong: it is left out with a note that holds these words."""
ADDED = [
    case for case, (_, change, _) in LEFT_OUT.items() if change.__qualname__.startswith("add.")
]
"""Those where the wrong row is one more; in all others a good one was spoilt."""


def test_the_corpus_is_large():
    assert len(CASES) >= 60


@pytest.fixture
def copy(tmp_path):
    shutil.copytree(FOLDERS, tmp_path / "all")
    return tmp_path / "all"


def state(parent):
    """Every file and folder below ``parent`` with its bytes."""
    return {
        str(path.relative_to(parent)): path.read_bytes() if path.is_file() else None
        for path in parent.rglob("*")
    }


@pytest.fixture(scope="module")
def good():
    return site.open_site(FOLDERS / "roof")


@pytest.mark.parametrize("case", CASES)
def test_a_sentence_or_a_right_answer_and_nothing_changed(copy, good, case):
    file, change, words = CASES[case]
    change(copy / file)
    before = state(copy)
    if words is OPENS:
        opened = site.open_site(copy / "roof")
        pd.testing.assert_frame_equal(opened.stations, good.stations)
    else:
        with pytest.raises(tables.BadTable) as caught:
            site.open_site(copy / "roof")
        said = caught.value.problems
        assert said["expected"].str.contains(words, regex="|" in words).any() or any(
            words in str(v) for v in said[["value", "column"]].to_numpy().ravel()
        ), str(caught.value)
        assert said["file"].str.len().gt(0).all()
        assert all("Traceback" not in line for line in caught.value._render_traceback_())
    assert state(copy) == before


@pytest.mark.parametrize("case", LEFT_OUT)
def test_a_wrong_row_of_measurements_is_named_and_every_good_one_used(copy, good, case):
    file, change, words = LEFT_OUT[case]
    change(copy / file)
    before = state(copy)
    opened = site.open_site(copy / "roof")
    (note,) = (note for note in opened.notes if words in note)
    assert re.match(r"(readings|meter)\.csv(, row|: row) \d+.*left out\.$", note)
    name = "readings" if file == READINGS else "ladder"
    kept, whole = (
        list(map(tuple, getattr(s, name).astype(str).to_numpy())) for s in (opened, good)
    )
    assert len(kept) == len(whole) - (case not in ADDED)
    assert set(kept) <= set(whole)
    assert state(copy) == before


def test_many_wrong_rows_are_named_up_to_a_limit_and_counted(copy, good):
    add("".join(ROW + f"{k}O,,,yes,\n" for k in range(30)))(copy / READINGS)
    opened = site.open_site(copy / "roof")
    said = [note for note in opened.notes if note.endswith("left out.")]
    assert len(said) == tables.reading.MOST_LEFT_OUT + 1
    assert said[-1] == "readings.csv: 20 more cells are wrong, and their rows left out."
    assert len(opened.readings) == len(good.readings)


def test_a_row_twice_counts_once_and_a_reading_outside_its_ends_is_named(copy, good):
    add((ROW + "70,60,80,yes,\n") * 2 + ROW + "70,80,60,no,\n")(copy / READINGS)
    opened = site.open_site(copy / "roof")
    assert opened.readings.index.tolist() == [*good.readings.index, 6, 8]
    notes = " ".join(opened.notes)
    assert "row 7: the same as an earlier row" in notes
    assert "row 8: the reading does not lie between" in notes and "row 6:" not in notes


def test_a_bad_file_that_two_antennas_name_is_told_once(copy):
    swap("6,4,8", "x,4,8")(copy / "roof/trial_gains.csv")
    toml = copy / ANTENNAS
    toml.write_text(
        toml.read_text()
        + toml.read_text()[toml.read_text().rindex("[[antennas]]") :].replace("mesh", "mosh")
    )
    with pytest.raises(tables.BadTable) as caught:
        site.open_site(copy / "roof")
    assert (caught.value.problems["file"] == "trial_gains.csv").sum() == 1


def test_where_no_row_of_measurements_is_good_that_is_said_instead(copy):
    """A mistake all through a file is corrected, not worked round."""
    (copy / READINGS).write_text(
        (copy / READINGS).read_text().replace("-05:00,roof", ",roof").replace("-05:00,win", ",win")
    )
    with pytest.raises(tables.BadTable, match="its offset") as caught:
        site.open_site(copy / "roof")
    assert caught.value.problems["row"].tolist() == [2, 3, 5]


def test_a_log_alone_is_read_the_same_way(copy):
    add("set,quality,14,6,set,82 V,yes\n")(copy / METER)
    frame = tables.read(copy / METER, tables.METER)
    assert len(frame) == 2
    assert any("'82 V' is there" in note for note in frame.attrs["notes"])


def test_european_spreadsheet_settings(copy, good):
    """Semicolons and decimal commas all through: the same numbers."""
    for file in (TOWN, "town/patterns/lantern.csv", "roof/trial_gains.csv"):
        path = copy / file
        text = path.read_text().replace("14.1 14.2", "14_1 14_2").replace("9.1,", "9_1,")
        text = text.replace("lantern.csv", "lantern_csv").replace("7.1,", "7_1,")
        text = text.replace("22.1,", "22_1,")
        text = semicolons(text.encode()).decode().replace("_csv", ".csv")
        path.write_text(re.sub(r"(\d)_(\d)", r"\1.\2", text))
    opened = site.open_site(copy / "roof")
    pd.testing.assert_frame_equal(opened.stations, good.stations)
    assert any("decimal commas" in note for note in opened.notes)


def test_a_number_that_may_hold_a_thousands_mark_is_named_beside_decimal_commas(copy):
    """Whoever mends only the decimal commas would turn 1.000 kW into one."""
    text = semicolons((copy / TOWN).read_bytes()).decode().replace(";400;310;", ";1.000;310;")
    (copy / TOWN).write_text(text)
    with pytest.raises(tables.BadTable) as caught:
        site.open_site(copy / "roof")
    said = caught.value.problems
    assert "'1.000'" in said.loc[said["column"] == "erp_kw", "value"].tolist()


def test_an_empty_standard_is_the_usual_one_where_there_is_one(copy):
    swap("22.1,ATSC1,", "22.1,,")(copy / TOWN)
    stations = site.open_site(copy / "roof").stations.set_index("station")
    assert stations["standard"]["Cornet"] == "ATSC1"
    assert "taken as ATSC1" in stations["note"]["Cornet"]
    swap('region = "us"', 'region = "ge06"')(copy / SITE)
    with pytest.raises(tables.BadTable, match="row 5, standard: expected a transmission standard"):
        site.open_site(copy / "roof")


def test_everything_at_once(copy):
    """One bad thing in each file: all of them are named together."""
    for file, change in (
        (TOWN, swap("30.81,", "95,")),
        (SITE, swap("0.9", "90")),
        (ANTENNAS, swap("effort = 1", "effort = 9")),
        (READINGS, swap("14,25,", "14,725,")),
        (METER, swap(",20,", ",500,")),
        ("roof/trial_gains.csv", swap("6,4,8", "x,4,8")),
        ("roof/patterns/measured.csv", swap("0,6", "0,y")),
        ("town/patterns/lantern.csv", swap("90,0.5", "90,z")),
    ):
        change(copy / file)
    with pytest.raises(tables.BadTable) as caught:
        site.open_site(copy / "roof")
    assert sorted(caught.value.problems["file"].unique()) == [
        "antennas.toml",
        "meter.csv",
        "patterns/lantern.csv",
        "patterns/measured.csv",
        "readings.csv",
        "site.toml",
        "town/stations.csv",
        "trial_gains.csv",
    ]
    assert str(caught.value).count("\n") <= 22


def test_rows_are_numbered_as_a_spreadsheet_numbers_them(copy):
    path = copy / TOWN
    lines = path.read_text().split("\n")
    lines[3] = lines[3].replace("1000", "-1000").replace("Lantern", '"Lan\ntern"')
    path.write_text("\n".join([lines[0], "", lines[1], "", *lines[3:]]))
    with pytest.raises(tables.BadTable) as caught:
        site.open_site(copy / "roof")
    assert set(caught.value.problems["row"].dropna()) == {5}


@pytest.mark.parametrize(
    "name", ["=1+1", "@SUM(A1)", "<script>alert(1)</script>", "Ωmega & Søn", "a'b", "%s{x}", "名前"]
)
def test_strange_names_are_only_names(copy, name):
    swap("Gazette", name)(copy / TOWN)
    assert site.open_site(copy / "roof").stations["station"][0] == name


def test_fifty_thousand_stations_open(copy):
    head = "station,rf_channel,standard,bearing_deg,distance_km,erp_toward_kw\n"
    rows = (f"S{k},{14 + k % 23},ATSC1,{k % 360},{1 + k % 300},10\n" for k in range(50_000))
    (copy / TOWN).write_text(head + "".join(rows))
    stations = site.open_site(copy / "roof").stations
    assert len(stations) == 50_000 and stations["erp_kw"].eq(10).all()


def test_two_spellings_of_one_name_are_one(copy):
    """Letters with marks come composed or in parts (Unicode Standard Annex 15: NFC and NFD)."""
    swap("Gazette", "Gaz\u00e9tte")(copy / TOWN)
    composed = site.open_site(copy / "roof").stations["station"].tolist()
    swap("Gaz\u00e9tte", "Gaze\u0301tte")(copy / TOWN)
    assert site.open_site(copy / "roof").stations["station"].tolist() == composed


def test_no_folder_and_a_file_for_a_folder(copy):
    for path in (copy / "none", copy / SITE, "x" * 5000, "\0"):
        with pytest.raises(tables.BadTable, match="a site folder, but there is none"):
            site.open_site(path)


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ({"stations.csv": {"Call": "nome"}}, "no column of stations.csv"),
        ({"station.csv": {"Call": "station"}}, "it may name stations.csv"),
        ({"Call": "station"}, "which the mapping names"),
        ("Call", "must be a dict"),
    ],
)
def test_mappings_that_point_nowhere(copy, mapping, words):
    with pytest.raises(ValueError, match=words):
        site.open_site(copy / "roof", mapping)
