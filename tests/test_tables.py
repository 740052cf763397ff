"""Tables: cells become right values or a sentence, and files are written whole or not at all."""

import csv
import errno
import io
import os

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from signalshed import tables
from signalshed.tables.cells import guarded, unguarded
from signalshed.tables.layout import find_delimiter
from signalshed.tables.spec import Column, Spec, Variant

CSV_FILES = (tables.STATIONS, tables.READINGS, tables.METER, tables.TRIAL_GAINS)

SPEC = Spec(
    "list.csv",
    "a list for these tests",
    (
        Column("name", "text", "name", required=True),
        Column(
            "distance_km",
            "number",
            "distance",
            unit="km",
            low=0.1,
            high=1000,
            variants=(Variant("distance_mi", "mi", scale=1.609344),),
        ),
        Column(
            "erp_kw",
            "number",
            "power",
            unit="kW",
            above=0,
            high=10000,
            variants=(
                Variant("erp_w", "W", scale=0.001),
                Variant("erp_dbk", "dB over 1 kW", is_db=True),
            ),
        ),
        Column("kind", "choice", "kind", choices=("tv", "fm"), default="tv"),
        Column("shown", "list", "numbers on the screen"),
        Column("time", "time", "when"),
        Column("locked", "lock", "lock"),
        Column("note", "note", "remark"),
    ),
)


def read(tmp_path, text, mapping=None, encoding="utf-8"):
    file = tmp_path / "list.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return tables.read(file, SPEC, mapping)


def problems(tmp_path, text, mapping=None, encoding="utf-8"):
    with pytest.raises(tables.BadTable) as caught:
        read(tmp_path, text, mapping, encoding)
    return caught.value.problems


# ---- right values ---------------------------------------------------------------------------------


def test_each_kind_of_cell(tmp_path):
    frame = read(
        tmp_path,
        "name,distance_km,kind,shown,time,locked,note\n"
        'Gazette,48.5,TV,"5.1, 5.2",2026-05-01T20:15:00-05:00,Yes,"a, ""b"""\n',
    )
    row = frame.iloc[0]
    assert row["distance_km"] == 48.5 and row["kind"] == "tv" and row["shown"] == "5.1 5.2"
    assert row["time"] == pd.Timestamp("2026-05-02T01:15:00Z")
    assert row["locked"] is True and row["note"] == 'a, "b"'


def test_empty_cells_are_unknown_and_defaults_are_said(tmp_path):
    frame = read(tmp_path, "name,distance_km,kind,locked\nA,,,\nB,5,fm,no\n")
    assert np.isnan(frame["distance_km"][0]) and frame["locked"][0] is None
    assert frame["kind"].tolist() == ["tv", "fm"]
    assert frame.attrs["notes"] == (
        "list.csv: kind is taken as tv for 1 of 2 rows, where it is empty.",
    )


@pytest.mark.parametrize(
    ("column", "cell", "base", "expected"),
    [
        # International mile: 1.609344 km exactly (1959 agreement).
        ("distance_mi", "34", "distance_km", 54.717696),
        ("erp_w", "2500", "erp_kw", 2.5),
        # dBk: decibels over one kilowatt, by definition; 30 dBk is 1000 kW.
        ("erp_dbk", "30", "erp_kw", 1000.0),
        ("erp_dbk", "-10", "erp_kw", 0.1),
    ],
)
def test_other_units_by_the_name_of_the_column(tmp_path, column, cell, base, expected):
    frame = read(tmp_path, f"name,{column}\nA,{cell}\n")
    assert frame[base][0] == pytest.approx(expected, rel=1e-12)


def test_range_is_that_of_the_base_unit_and_the_sentence_says_both(tmp_path):
    found = problems(tmp_path, "name,distance_mi\nA,900\n")
    assert "900 mi is 1448.41 km" in found["expected"][0]


def test_a_column_name_slightly_off_is_asked_about_in_one_clean_sentence(tmp_path):
    with pytest.raises(ValueError, match=r"did you mean distance_mi\? There are name"):
        read(tmp_path, "Miles\n5\n", {"Miles": "distance_miles"})


def test_other_column_names_through_a_mapping(tmp_path):
    text = "Call,Miles,Owner\nA,34,somebody\n"
    frame = read(tmp_path, text, {"Call": "name", "Miles": "distance_mi", "Owner": None})
    assert frame["distance_km"][0] == pytest.approx(54.717696)
    assert read(tmp_path, text, {"Call": "name", "*": None})["name"][0] == "A"


def test_names_of_columns_in_capitals_and_with_blanks(tmp_path):
    assert read(tmp_path, "Name, Distance km\nA,5\n")["distance_km"][0] == 5


def test_order_of_rows_and_columns_does_not_matter(tmp_path):
    one = read(tmp_path, "name,distance_km\nA,5\nB,6\n")
    other = read(tmp_path, "distance_km,name\n6,B\n5,A\n")
    pd.testing.assert_frame_equal(one, other.iloc[::-1].reset_index(drop=True))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_byte_order_marks(tmp_path, end, mark):
    frame = read(tmp_path, f"{mark}name,distance_km{end}Zoë,5{end}{end}B,6{end}")
    assert frame["name"].tolist() == ["Zoë", "B"]


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_other_delimiters_with_either_decimal_mark(tmp_path, delimiter):
    for mark in ".,":
        text = f"name,distance_km,erp_kw\nA,48{mark}5,1{mark}25\n".replace("\n", "\n")
        header, row = text.split("\n")[:2]
        text = (
            header.replace(",", delimiter)
            + "\n"
            + delimiter.join(["A", f"48{mark}5", f"1{mark}250"])
        )
        frame = read(tmp_path, text + "\n")
        assert (frame["distance_km"][0], frame["erp_kw"][0]) == (48.5, 1.25), row
        assert any("cut at each" in note for note in frame.attrs["notes"])


def test_minus_sign_proper_is_a_minus(tmp_path):
    assert read(tmp_path, "name,erp_dbk\nA,\u221210\n")["erp_kw"][0] == pytest.approx(0.1)


# ---- what could be read in two ways is refused ------------------------------------------------------


@pytest.mark.parametrize("cell", ["1.000", "1,000", "12,500"])
def test_a_thousands_mark_is_never_taken_for_a_decimal_mark(tmp_path, cell):
    found = problems(tmp_path, f"name;erp_kw\nA;{cell}\n")
    assert "one way only" in found["expected"][0] and found["value"][0] == repr(cell)


def test_another_cell_settles_the_decimal_mark(tmp_path):
    frame = read(tmp_path, "name;distance_km;erp_kw\nA;7,5;1,250\nB;0,125;12,000\n")
    assert frame["erp_kw"].tolist() == [1.25, 12.0]


def test_an_angle_settles_the_decimal_mark(tmp_path):
    file = tmp_path / "stations.csv"
    file.write_text("station;rf_channel;latitude_deg;erp_kw\nA;9;48,125;12,500\n")
    assert tables.read(file, tables.STATIONS)["erp_kw"][0] == 12.5


def test_mixed_decimal_marks_are_refused(tmp_path):
    found = problems(tmp_path, "name;distance_km\nA;7,5\nB;8.5\n")
    assert "one decimal mark" in found["expected"][0]


@pytest.mark.parametrize(
    ("cell", "hint"),
    [
        ('"1,000"', "thousands comma"),
        ('"7,5"', "decimal point"),
        ("NaN", "leave the cell empty"),
        ("unknown", "leave the cell empty"),
        ("5 km", "number alone"),
        ("inf", "a number"),
        ("1_000", "number alone"),
        ("1e400", "a number"),
        ("٣", "a number"),
        ("0x10", "number alone"),
        ("--5", "a number"),
        ("=1+1", "a number"),
    ],
)
def test_what_is_no_number_is_said_so(tmp_path, cell, hint):
    found = problems(tmp_path, f"name,distance_km\nA,{cell}\n")
    assert len(found) == 1 and hint in found["expected"][0]
    assert found["row"][0] == 2 and found["column"][0] == "distance_km"


@pytest.mark.parametrize(
    "cell", ["2026-05-01T20:15", "1.5.2026", "2026-13-01T00:00Z", "0001-01-01T00:00Z"]
)
def test_times_need_a_date_and_an_offset(tmp_path, cell):
    assert "a time" in problems(tmp_path, f"name,time\nA,{cell}\n")["expected"][0]


# ---- everything at once -----------------------------------------------------------------------------


def test_every_bad_row_at_once_with_its_place(tmp_path):
    found = problems(tmp_path, "name,distance_km,erp_kw\nA,-1,5\n\nB,x,0\n,5,1\n")
    assert found[["row", "column"]].to_numpy().tolist() == [
        [2, "distance_km"],
        [4, "distance_km"],
        [4, "erp_kw"],
        [5, "name"],
    ]
    assert found["file"].eq("list.csv").all()


def test_the_message_is_short_and_the_table_complete(tmp_path):
    rows = "".join(f"A{k},-1\n" for k in range(3000))
    with pytest.raises(tables.BadTable) as caught:
        read(tmp_path, "name,distance_km\n" + rows)
    assert len(caught.value.problems) == 3000
    assert len(str(caught.value)) < 4000 and "2980 more" in str(caught.value)


def test_fifty_thousand_rows_are_all_there(tmp_path):
    rows = "".join(f"A{k},{k % 900 + 1},{k % 7 + 1}\n" for k in range(50_000))
    frame = read(tmp_path, "name,distance_km,erp_kw\n" + rows)
    assert len(frame) == 50_000 and frame["erp_kw"].sum() == sum(k % 7 + 1 for k in range(50_000))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "empty"),
        (b"\n \n", "empty"),
        ("name,erp_kw\nMünster,5\n".encode("latin-1"), "UTF-8"),
        ("name,erp_kw\nA,5\n".encode("utf-16"), "UTF-16"),
        (b"PK\x03\x04rest", "workbook"),
        (b"%PDF-1.4", "PDF"),
        (b"name,erp_kw\nA,\x005\n", "binary"),
        (b'name,erp_kw\n"A,5\nB,6\n', "quotation marks"),
        (b'name,erp_kw\n"A"x,5\n', "quotation marks"),
        (b"name,erp_kw\nA,5,6\n", "2 cells as in the header, but there are 3"),
        (b"name,erp_kw\nA\n", "2 cells as in the header, but there are 1"),
        (b"name,name\nA,B\n", "one column for name only"),
        (b"name,distance_km,distance_mi\nA,5,6\n", "one column for distance_km only"),
        (b"distance_km\n5\n", "the column name"),
        (b"nmae,erp_kw\nA,5\n", "did you mean name"),
        (b"name,owner\nA,B\n", "mapping={'owner': None}"),
        (b"name,\nA,B\n", "a name for column 2"),
        (b"name\n" + b"x" * 201 + b"\n", "200 letters"),
        (b"name\nA\x07B\n", "hidden characters"),
        (b"name\n" + b'"' + b"x" * 200_000 + b'"\n', "131072 letters"),
        (",".join(f"c{k}" for k in range(600)).encode() + b"\n", "at most 500 columns"),
    ],
)
def test_files_that_cannot_be_used_are_told_apart(tmp_path, text, words):
    assert problems(tmp_path, text)["expected"].str.contains(words, regex=False).any()


def test_a_name_of_200_letters_is_read_whole(tmp_path):
    assert read(tmp_path, "name\n" + "x" * 200 + "\n")["name"].tolist() == ["x" * 200]


def test_a_missing_file_and_a_folder(tmp_path):
    for path, words in ((tmp_path / "none.csv", "there is none"), (tmp_path, "this is a folder")):
        with pytest.raises(tables.BadTable, match=words):
            tables.read(path, SPEC)


def test_a_column_a_spreadsheet_left_at_the_edge_is_no_problem(tmp_path):
    assert len(read(tmp_path, "name,erp_kw,\nA,5,\n,,\n")) == 1


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ({"Call": "nmae"}, "did you mean name"),
        ({"Call": 5}, "both text"),
        ({"Call": "name", "Gone": "erp_kw"}, "which the mapping names"),
    ],
)
def test_a_mapping_that_points_nowhere(tmp_path, mapping, words):
    with pytest.raises(ValueError, match=words):
        read(tmp_path, "Call\nA\n", mapping)


def test_the_delimiter_is_that_of_the_header():
    assert find_delimiter("a,b;name;x\ty", {"name"}) == ";"
    assert find_delimiter("\n\nname", {"name"}) == ","


def test_a_notebook_shows_sentences_and_no_way_through_our_code(tmp_path):
    with pytest.raises(tables.BadTable) as caught:
        read(tmp_path, "name,erp_kw\nA,-5\n")
    shown = "\n".join(caught.value._render_traceback_())
    assert "row 2, erp_kw: '-5' is there" in shown and "Traceback" not in shown


# ---- formulas and markup stay text ------------------------------------------------------------------

_HOSTILE = [
    "=1+1",
    "+1",
    "-1",
    "@x",
    "'=1",
    "''=x",
    "<script>alert(1)</script>",
    "'quoted'",
    "a;b",
    "ü",
]


@pytest.mark.parametrize("name", _HOSTILE)
def test_hostile_names_come_back_as_they_were(tmp_path, name):
    file = tmp_path / "list.csv"
    frame = pd.DataFrame({"name": [name], "note": [name + "\nsecond line"]})
    tables.write_csv(file, frame, SPEC)
    back = tables.read(file, SPEC)
    assert back["name"][0] == name and back["note"][0] == name + "\nsecond line"
    with open(file, encoding="utf-8", newline="") as text:
        assert all(not cell.startswith(tuple("=+-@")) for row in csv.reader(text) for cell in row)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=30))
def test_the_guard_is_undone_by_reading(text):
    assert unguarded(guarded(text)) == text


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.text(
                st.characters(
                    codec="utf-8", exclude_categories=("C",), exclude_characters="\u2028\u2029"
                ),
                min_size=1,
                max_size=20,
            ).filter(lambda text: text.strip() == text),
            st.floats(0.1, 1000),
            st.sampled_from(["tv", "fm"]),
        ),
        max_size=8,
    )
)
def test_whatever_is_written_is_read_back(tmp_path_factory, rows):
    file = tmp_path_factory.mktemp("round") / "list.csv"
    frame = pd.DataFrame(rows, columns=["name", "distance_km", "kind"])
    tables.write_csv(file, frame, SPEC)
    back = tables.read(file, SPEC)
    assert back["name"].tolist() == frame["name"].tolist()
    np.testing.assert_allclose(
        back["distance_km"].astype(float), frame["distance_km"].astype(float), rtol=1e-11
    )


def test_what_could_not_be_read_back_is_not_written(tmp_path):
    file = tmp_path / "list.csv"
    for frame, words in (
        (pd.DataFrame({"name": ["A"], "erp_kw": [-5.0]}), "a number above 0"),
        (pd.DataFrame({"nmae": ["A"]}), "did you mean name"),
        (pd.DataFrame({"name": ["A"], "kind": ["radio"]}), "one of tv, fm"),
    ):
        with pytest.raises(ValueError, match=words):
            tables.write_csv(file, frame, SPEC)
    assert not file.exists()


# ---- whole or not at all ----------------------------------------------------------------------------


def test_a_new_file_takes_the_place_of_the_old_one_and_its_rights(tmp_path):
    file = tmp_path / "report.html"
    file.write_text("old")
    file.chmod(0o640)
    tables.write_atomic(file, "new")
    assert file.read_text() == "new" and file.stat().st_mode & 0o777 == 0o640
    assert [f.name for f in tmp_path.iterdir()] == ["report.html"]


def test_an_existing_file_is_kept_when_asked(tmp_path):
    file = tmp_path / "report.html"
    file.write_text("old")
    with pytest.raises(tables.CannotSave, match="it was left as it is"):
        tables.write_atomic(file, "new", overwrite=False)
    assert file.read_text() == "old"


def _failing(number):
    def fail(*_args, **_keywords):
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize(
    ("function", "number", "words"),
    [
        ("fsync", errno.ENOSPC, "the disk is full; free some space"),
        ("replace", errno.EACCES, "open in another program"),
        ("open", errno.EROFS, "the disk is read-only; choose another folder"),
        ("open", errno.EACCES, "choose a folder of your own"),
        ("fsync", errno.EIO, "the system says"),
    ],
)
def test_a_failure_leaves_the_old_file_and_says_what_to_do(
    tmp_path, monkeypatch, function, number, words
):
    file = tmp_path / "report.html"
    file.write_text("old")
    monkeypatch.setattr(f"signalshed.tables.writing.os.{function}", _failing(number))
    with pytest.raises(tables.CannotSave, match=words) as caught:
        tables.write_atomic(file, "new")
    monkeypatch.undo()
    assert "as it was before" in str(caught.value)
    assert file.read_text() == "old" and len(list(tmp_path.iterdir())) == 1


def test_no_such_folder_is_said(tmp_path):
    with pytest.raises(tables.CannotSave, match="no such folder; make it first"):
        tables.write_atomic(tmp_path / "none" / "report.html", "new")


def test_a_link_stays_a_link(tmp_path):
    target = tmp_path / "real.txt"
    target.write_text("old")
    (tmp_path / "link.txt").symlink_to(target)
    tables.write_atomic(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink() and target.read_text() == "new"


# ---- one description, many uses ---------------------------------------------------------------------


@pytest.mark.parametrize("spec", CSV_FILES, ids=lambda spec: spec.file)
def test_every_column_is_described_and_its_example_is_accepted(spec, tmp_path):
    assert all(column.meaning for column in spec.columns)
    header = spec.header()
    text = io.StringIO()
    csv.writer(text).writerows([header, [column.example for column in spec.columns]])
    file = tmp_path / spec.file
    file.write_text(text.getvalue())
    assert len(tables.read(file, spec)) == 1


@pytest.mark.parametrize("spec", CSV_FILES, ids=lambda spec: spec.file)
def test_template_is_empty_and_readable_and_dictionary_complete(spec, tmp_path):
    file = tmp_path / spec.file
    file.write_text(",".join(spec.header()) + "\n")
    assert tables.read(file, spec).columns.tolist() == spec.header()
    names = " ".join(spec.dictionary()["column"])
    assert all(name in names for name in spec.known())


def test_an_unknown_column_of_a_spec_is_named():
    with pytest.raises(ValueError, match="it has name"):
        SPEC.column("nome")
