"""The one door of readings.csv: what the writer took the reader gives back; damage costs one row."""

import fcntl
import os
import shutil
import subprocess
import sys
import textwrap
import threading
import time

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from signalshed import meters, site, tables
from signalshed.classroom.forms import ReadingsForm
from signalshed.meters.log import VOID
from signalshed.simulate import demo_site
from signalshed.tables import appending

WHERE = {"mount": "roof mast", "antenna": "loop", "meter": "set", "scale": "quality"}
WHERE |= {"rf_channel": "14", "locked": True}
HEAD = "time,mount,antenna,meter,scale,rf_channel,reading,locked,note\n"
ROW = "2026-05-01T20:{:02d}:00-05:00,roof mast,loop,set,quality,14,{},yes,{}\n"


def _row(number, **more):
    return {**WHERE, "reading": number, **more}


def _opened(file):
    """What opening the folder makes of the readings: the frame, and its notes."""
    frame = tables.read(file, tables.READINGS)
    return frame, " ".join(frame.attrs["notes"])


@pytest.fixture
def file(tmp_path):
    return tmp_path / "readings.csv"


@pytest.fixture
def house(tmp_path):
    folder = tmp_path / "hill_house"
    shutil.copytree(demo_site().folder, folder)
    shutil.copytree(demo_site().folder.parent / "town", tmp_path / "town")
    (folder / "readings.csv").unlink(missing_ok=True)
    return site.open_site(folder)


# ---- damage costs one row -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "damage",
    [b"\x00" * 512, "2026-05-01T20:15:00-05:00,roof mast,äöü"[:-1].encode()[:-1], b"\xff\xfe\xfa"],
    ids=["512 NULs", "half a letter", "no text"],
)
def test_damaged_bytes_cost_their_own_row(file, damage):
    good = (HEAD + ROW.format(1, 81, "dry") + ROW.format(2, 82, "wet")).encode()
    file.write_bytes(good + damage)
    for seen, notes in (_opened(file), meters.read_log(file)):
        assert seen["reading"].astype(float).tolist() == [81, 82]
        assert "row 4" in "".join(notes) and "damaged" in "".join(notes)
    meters.log_reading(file, _row(83))
    assert _opened(file)[0]["reading"].tolist() == [81, 82, 83]


def test_zeros_before_a_whole_row_are_dropped_and_after_a_number_they_are_damage(file):
    """After a crash a system may leave zeros where the last block was, and the writer goes on behind."""
    whole = ROW.format(2, 82, "")
    torn = b"2026-05-01T20:03:00-05:00,roof mast,loop,set,quality,14,8,yes," + b"\x00\x00\n"
    file.write_bytes((HEAD + ROW.format(1, 81, "")).encode() + b"\x00" * 9 + whole.encode() + torn)
    assert _opened(file)[0]["reading"].tolist() == [81, 82]


def test_a_line_break_in_a_note_keeps_its_reading(file):
    file.write_text(HEAD + ROW.format(1, 81, '"dry,\nthen ""wet"""') + ROW.format(2, 82, ""))
    for seen in (_opened(file)[0], meters.read_log(file)[0]):
        assert seen["reading"].astype(float).tolist() == [81, 82]
        assert seen["note"].tolist() == ['dry,\nthen "wet"', ""]


def test_a_mark_that_was_never_closed_swallows_no_other_row(file):
    rows = [ROW.format(k, 80 + k, '"a, b"') for k in range(6)]
    file.write_text(HEAD + rows[0] + ROW.format(9, 99, '"torn') + "".join(rows[1:]))
    assert _opened(file)[0]["reading"].tolist() == [80, 99, 81, 82, 83, 84, 85]
    file.write_text(HEAD + rows[0] + ROW.format(9, '"9', "torn") + "".join(rows[1:]))
    frame, notes = _opened(file)
    assert frame["reading"].tolist() == [80, 81, 82, 83, 84, 85] and "row 3" in notes


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "sep=,\r\n" + text,
        lambda text: "\n".join(line + ",," for line in text.split("\n")),
        lambda text: text + "\ufeff" + text.replace("81", "83").replace("82", "84"),
        lambda text: text.replace(",", ", "),
        lambda text: text.replace("81,", "81 %,"),
        lambda text: "\n\n" + text.replace("\n", "\r\n\r\n"),
    ],
    ids=[
        "delimiter told",
        "columns at the edge",
        "two files in one",
        "blanks",
        "82 %",
        "blank lines",
    ],
)
def test_what_spreadsheets_and_editors_do_to_a_log(file, change):
    text = change(HEAD + ROW.format(1, 81, "dry") + ROW.format(2, 82, ""))
    file.write_text(text, encoding="utf-8", newline="")
    meters.log_reading(file, _row(85))
    for seen, notes in (_opened(file), meters.read_log(file)):
        assert seen["reading"].astype(float).tolist() in ([81, 82, 85], [81, 82, 83, 84, 85])
        assert "left out" not in "".join(notes)


def test_a_file_that_is_no_text_at_all_is_told_by_reader_and_writer(file):
    file.write_bytes((HEAD + ROW.format(1, 81, "")).encode("utf-16"))
    assert "UTF-16" in meters.read_log(file)[1][0]
    with pytest.raises(ValueError, match="no column 'time'"):
        meters.log_reading(file, _row(82))


@pytest.mark.parametrize("text", ["", "\n\n", ",,,\n", "\ufeff"])
def test_an_empty_file_is_no_fault_and_can_be_written_to(house, text):
    path = house.folder / "readings.csv"
    path.write_text(text, encoding="utf-8")
    assert len(site.open_site(house.folder).readings) == 0
    assert meters.read_log(path)[1] == []
    meters.log_reading(path, _row(82))
    assert len(site.open_site(house.folder).readings) == 1


def test_a_link_to_nowhere_is_told_and_not_written_through(house):
    path = house.folder / "readings.csv"
    path.symlink_to(house.folder / "gone" / "readings.csv")
    (house.folder / "gone").mkdir()
    assert any("is a link to" in note for note in site.open_site(house.folder).notes)
    assert "is a link to" in meters.read_log(path)[1][0]
    with pytest.raises(OSError, match=r"is a link to .*, and nothing is there"):
        meters.log_reading(path, _row(82))
    assert not (house.folder / "gone" / "readings.csv").exists()


# ---- the file's own layout ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "row", "written"),
    [
        (
            "Time;Mount;Antenna;Meter;Scale;RF Channel;Reading;Locked;Note",
            "2026-05-01T20:15:00-05:00;roof;loop;set;quality;9;82,5;yes;dry",
            ";roof mast;loop;set;quality;14;81,25;yes;one, two",
        ),
        (
            "\nNote,Locked,Reading,Rf_Channel,Scale,Meter,Antenna,Mount,Time",
            "dry,yes,82.5,9,quality,set,loop,roof,2026-05-01T20:15:00-05:00",
            '"one, two",yes,81.25,14,quality,set,loop,roof mast,',
        ),
        (
            "\ufefftime\tmount\tantenna\tmeter\tscale\trf_channel\treading\tlocked\tnote\tsky",
            "2026-05-01T20:15:00-05:00\troof\tloop\tset\tquality\t9\t82.5\tyes\tdry\tgrey",
            "\troof mast\tloop\tset\tquality\t14\t81.25\tyes\tone, two\t\n",
        ),
    ],
    ids=["semicolons and commas", "blank line, other order", "tabs and a column more"],
)
def test_delimiter_order_capitals_and_decimal_mark_of_the_file_are_kept(file, header, row, written):
    file.write_text(f"{header}\r\n{row}\r\n", encoding="utf-8", newline="")
    saved = meters.log_reading(file, _row(81.25, note="one, two"))
    text = file.read_bytes().decode()
    assert written in text.replace("\r\n", "\n") and text.endswith("\r\n")
    table, notes = meters.read_log(file)
    assert notes == [] and table["reading"].tolist() == ["82.5", "81.25"]
    assert table.iloc[1][list(WHERE)].to_dict() == {k: saved[k] for k in WHERE}
    assert meters.undo_last(file, own=[saved])["reading"] == "81.25"
    assert meters.read_log(file)[0]["reading"].tolist() == ["82.5"]


@pytest.mark.parametrize(
    "header",
    [
        ";".join(meters.COLUMNS),
        ",".join(c.replace("_", " ").title() for c in meters.COLUMNS),
        "\n" + ",".join(meters.COLUMNS),
    ],
    ids=["semicolons", "Title Case", "blank first line"],
)
def test_no_layout_of_the_file_stops_the_form(house, header):
    (house.folder / "readings.csv").write_text(header + "\n", encoding="utf-8")
    form = ReadingsForm(house)
    form.propose = lambda: None
    form.fields["heading_deg"].widget.value = "38"
    form.fields["reading"].widget.value = "50"
    form.save()
    opened = site.open_site(house.folder).readings
    assert opened["reading"].tolist() == [50] and opened["heading_deg"].tolist() == [38]


def test_a_reading_of_three_decimals_is_no_thousand(file):
    """82.125 in a file cut by semicolons, where no other number has a mark."""
    file.write_text(HEAD.replace(",", ";"))
    meters.log_reading(file, _row(82.125))
    assert _opened(file)[0]["reading"].tolist() == [82.125]


def test_both_decimal_marks_in_one_log_cost_nothing_where_each_is_clear(file):
    rows = [ROW.format(k, r, "").replace(",", ";") for k, r in enumerate(("82.5", "81~5"))]
    file.write_text(HEAD.replace(",", ";") + "".join(rows).replace("~", ","))
    assert _opened(file)[0]["reading"].tolist() == [82.5, 81.5]


def test_what_the_file_has_no_column_for_is_not_dropped_in_silence(file):
    file.write_text(HEAD)
    with pytest.raises(ValueError, match="no column 'heading_deg'"):
        meters.log_reading(file, _row(82, heading_deg=40))
    meters.log_reading(file, _row(82, pad_db=0, antenna_revision="1"))  # what an empty cell means
    assert _opened(file)[0]["pad_db"].tolist() == [0]


# ---- a row is held against the columns before it is written -----------------------------------------


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"heading_deg": 400}, "heading_deg for readings.csv is 400"),
        ({"time": "2026-05-01T20:15:00"}, "its offset"),
        ({"meter": "m" * 201}, "at most 200 letters"),
        ({"note": "a\x00b"}, "hidden characters"),
        ({"note": VOID + "my neighbour"}, "begin it otherwise"),
        ({"mount": ""}, "has no mount: name of the mount"),
        ({"rf_channel": "14.5"}, "14.5"),
        ({"scale": "qualty"}, "did you mean quality"),
        ({"reading": "eighty"}, "a number"),
    ],
)
def test_what_could_not_be_read_back_is_not_written(file, more, told):
    with pytest.raises(ValueError, match=told):
        meters.log_reading(file, _row(82, **{"heading_deg": 40} | more))
    assert not file.exists()


def test_per_cent_typed_with_its_sign_is_a_number(file):
    meters.log_reading(file, _row("82 %", reading_low="80%"))
    frame, _ = _opened(file)
    assert frame["reading"].tolist() == [82] and frame["reading_low"].tolist() == [80]


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
NAMES = TEXTS.filter(lambda text: text.split())
ROWS = st.fixed_dictionaries(
    {
        "mount": NAMES,
        "antenna": NAMES,
        "meter": NAMES,
        "scale": st.sampled_from(meters.scales()),
        "rf_channel": st.integers(2, 36),
        "reading": st.none() | st.floats(-130000, 70000).map(lambda x: round(x, 3)),
        "locked": st.sampled_from([True, False, None]),
    },
    optional={
        "note": TEXTS,
        "heading_deg": st.floats(-30, 390),
        "pad_db": st.floats(-5, 105),
        "amplifier": st.sampled_from(["none", "mast", "off"]),
    },
)
LAYOUTS = [
    "",
    "\ufeff" + ",".join(meters.COLUMNS) + "\r\n",
    "\n" + ";".join(c.title() for c in reversed(meters.COLUMNS)) + "\n",
    "\t".join(meters.COLUMNS),
]


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(ROWS, min_size=1, max_size=4), st.sampled_from(LAYOUTS), st.binary(max_size=9))
def test_what_the_writer_took_the_reader_gives_back(tmp_path_factory, rows, layout, damage):
    """Whatever is given, and after any damage at the end: refused in words, or there on reading."""
    file = tmp_path_factory.mktemp("log") / "readings.csv"
    file.write_bytes(layout.encode())
    taken = []
    for row in rows:
        try:
            taken.append(meters.log_reading(file, row))
        except ValueError as told:
            assert str(told)
    if taken and layout:
        file.write_bytes(file.read_bytes() + damage.replace(b'"', b"").replace(b"\n", b""))
        taken.append(meters.log_reading(file, _row(1)))
    table, _ = meters.read_log(file)
    back = table.to_dict("records")
    assert all(saved in back for saved in taken)
    checked = tables.read(file, tables.READINGS) if taken else pd.DataFrame({"time": []})
    known = [saved for saved in taken if saved["locked"] != "?"]
    assert len(checked) >= len(known)
    for saved in known:
        there = checked[checked["time"] == pd.Timestamp(saved["time"])]
        same = there[(there["meter"] == saved["meter"]) & (there["note"] == saved["note"])]
        assert (
            float(saved["reading"] or "nan") in same["reading"].tolist()
            or same["reading"].isna().any()
        )


# ---- several at once ----------------------------------------------------------------------------


def test_undo_takes_back_the_writers_own_row(file):
    mine = [meters.log_reading(file, _row(1))]
    meters.log_reading(file, _row(2))
    assert meters.undo_last(file, own=mine)["reading"] == "1"
    assert meters.read_log(file)[0]["reading"].tolist() == ["2"]
    with pytest.raises(ValueError, match="no reading to undo that was saved here"):
        meters.undo_last(file, own=mine)


def test_form_a_never_takes_back_what_form_b_saved(house):
    forms = [ReadingsForm(house) for _ in range(2)]
    for form in forms:
        form.propose = lambda: None
        form.fields["heading_deg"].widget.value = "38"
        form.fields["reading"].widget.value = "50" if form is forms[0] else "60"
        form.save()
    forms[0].undo()
    table = meters.read_log(forms[0].path)[0]
    assert table["reading"].tolist() == ["60"]
    forms[0].undo()
    assert "no reading to undo" in forms[0].trouble[0]


def test_two_undos_at_once_take_back_two_rows(file):
    for number in range(8):
        meters.log_reading(file, _row(number))
    jobs = [threading.Thread(target=meters.undo_last, args=(file,)) for _ in range(6)]
    for job in jobs:
        job.start()
    for job in jobs:
        job.join()
    assert meters.read_log(file)[0]["reading"].tolist() == ["0", "1"]


def test_rows_of_one_moment_are_told_apart(file):
    now = pd.Timestamp("2026-05-01T20:15:00-05:00").to_pydatetime()
    rows = [meters.log_reading(file, _row(5), now) for _ in range(3)]
    assert len({row["time"] for row in rows}) == 3
    meters.undo_last(file, now, own=rows[:1])
    assert meters.read_log(file)[0]["time"].tolist() == [row["time"] for row in rows[1:]]


def test_a_save_does_not_wait_for_ever(file, monkeypatch):
    monkeypatch.setattr(appending, "WAIT_S", 0.1)
    meters.log_reading(file, _row(1))
    with open(file, "rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        began = time.monotonic()
        with pytest.raises(OSError, match=r"another program has held it for 0\.1 seconds"):
            meters.log_reading(file, _row(2))
        assert time.monotonic() - began < 2
    meters.log_reading(file, _row(3))
    assert meters.read_log(file)[0]["reading"].tolist() == ["1", "3"]


def test_a_file_put_in_its_place_meanwhile_gets_the_row(file):
    """An editor writes a new file beside the old one and renames it over, as most do."""
    meters.log_reading(file, _row(1))
    with open(file, "rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        job = threading.Thread(target=meters.log_reading, args=(file, _row(2)))
        job.start()
        time.sleep(0.2)
        beside = file.with_name("beside.csv")
        beside.write_bytes(file.read_bytes())
        os.replace(beside, file)
    job.join()
    assert meters.read_log(file)[0]["reading"].tolist() == ["1", "2"]


def test_where_locks_are_unknown_the_row_is_added_and_that_is_said(file, monkeypatch):
    def none(*_):
        raise OSError(appending.errno.ENOLCK, "No locks available")

    monkeypatch.setattr(appending.fcntl, "flock", none)
    with pytest.raises(ValueError, match="heading_deg"):
        meters.log_reading(file, _row(1, heading_deg=400))
    assert not file.exists(), "a file of 0 bytes was left once, which no site opened"
    saved = meters.log_reading(file, _row(1))
    assert "knows no locks" in saved.notes[0]
    assert meters.read_log(file)[0]["reading"].tolist() == ["1"]
    assert _opened(file)[0]["reading"].tolist() == [1]


def test_all_is_imported_and_a_row_written_where_there_are_no_locks_at_all(tmp_path):
    """As in Python inside a browser, whose system has neither module."""
    code = """
        import importlib.util, sys
        found = importlib.util.find_spec
        gone = ("fcntl", "msvcrt")
        importlib.util.find_spec = lambda name, *rest: None if name in gone else found(name, *rest)
        sys.modules |= dict.fromkeys(gone)
        import signalshed as shed
        for name in shed._MODULES:
            getattr(shed, name)
        print(*shed.meters.log_reading(sys.argv[1], eval(sys.argv[2])).notes)
        """
    run = [sys.executable, "-c", textwrap.dedent(code), str(tmp_path / "mine.csv"), repr(_row(1))]
    said = subprocess.run(run, capture_output=True, text=True, check=False)
    assert "knows no locks" in said.stdout, said.stderr


def test_a_refused_row_leaves_no_empty_file(file):
    with pytest.raises(ValueError, match="no offset"):
        meters.log_reading(file, _row(1), pd.Timestamp("2026-05-01T20:15:00").to_pydatetime())
    assert not file.exists()


def test_a_note_that_only_begins_like_an_undo_is_a_note(file):
    """Typed in a spreadsheet: no time follows, so nothing is taken back."""
    file.write_text(HEAD + ROW.format(1, 81, "") + ROW.format(2, 82, VOID + "yesterday"))
    assert _opened(file)[0]["reading"].tolist() == [81, 82]
    assert len(meters.read_log(file)[0]) == 2


# ---- many ----------------------------------------------------------------------------------------


def test_two_thousand_unknown_names_give_few_notes(house):
    rows = [ROW.format(1, 50, "").replace("loop", f"loop {k}") for k in range(2000)]
    (house.folder / "readings.csv").write_text(HEAD + "".join(rows))
    opened = site.open_site(house.folder)
    assert len(opened.readings) == 2000 and len(opened.notes) < len(house.notes) + 12
    assert any("1995 other names in column antenna" in note for note in opened.notes)


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read as Linux tells it")
def test_a_hundred_thousand_rows_are_read_in_little_memory(file):
    """The libraries alone take 130 MB."""
    rng = np.random.default_rng(1)
    stamps = pd.date_range("2026-05-01", periods=100_000, freq="s", tz="UTC")
    lines = (ROW.split(",", 1)[1].format(r, "") for r in rng.integers(40, 99, stamps.size))
    with open(file, "w") as out:
        out.write(HEAD)
        out.writelines(f"{s.isoformat()},{line}" for s, line in zip(stamps, lines, strict=True))
    code = f"""
        from signalshed import meters, tables
        frame = tables.read({str(file)!r}, tables.READINGS)
        print(len(frame))
        print(next(line for line in open("/proc/self/status") if "VmHWM" in line).split()[1])
    """
    run = [sys.executable, "-c", textwrap.dedent(code)]
    count, most_kb = subprocess.run(run, capture_output=True, text=True, check=True).stdout.split()
    assert int(count) == 100_000 and int(most_kb) < 300_000
