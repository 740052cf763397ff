"""Thousands of damaged folders, through every reader, the ranking and the report.

Three kinds of damage, up to three at once: bytes; cells and keys set to what nobody should type; cells
and keys set to the very ends of what is allowed. Each folder is a sentence or a right answer, never
anything else, never without end, and stays as it was.
"""

import contextlib
import re
import shutil
import signal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from signalshed import advice, earth, meters, report, site, survey, tables

FOLDERS = Path(__file__).parent / "data" / "folders"
FILES = sorted(str(p.relative_to(FOLDERS)) for p in FOLDERS.rglob("*") if p.is_file())
LONG_S = 120
"""No folder may take longer: a guard against hanging, no measure of speed."""

PIECES = [
    b"",
    *b""", ; " - 1e99 nan = [ ]] { # ' 0 99999 \\ ,,,,,, <b> .""".split(b" "),
    *b"\t \n \r \x00 \xff \xef\xbb\xbf \xc2\xa0 \xff\xfe PK\x03\x04".split(b" "),
]
_CELLS = """
0 -1 -0 1e-300 1e300 1e308 nan inf -inf 1e999 0x10 1_000 1,5 1.5 maybe =1+1 @x <b>&"' \u202e é Ωø
名 $x$ $\\frac{1$ %s%n{0} ../x .. / C:\\x \\\\server\\x con ~/x file:///etc/x http://evil.invalid/x
2026-05-01 0001-01-01T00:00:00+00:00 9999-12-31T23:59:59-12:00 " ' ; # \x00 \x1b[31m
"""
ODD_CELLS = [*_CELLS.split(), "", " ", "\t", "\n", "9" * 400, "A" * 200, "A" * 201, "é" * 5001]
_VALUES = """
'' 0 -1 1e-300 1e300 inf -inf nan -0.0 0xff true false [] [[]] {} [1] ["a"] 1979-05-27 07:32:00
1979-05-27T07:32:00Z "<b>&" "\\u202e" "\\u0000" "$x$" ".." "/" "." "~" [{}] [1,"a"] [[1]] {a={b=1}}
"""
ODD_VALUES = [
    *_VALUES.split(),
    "9" * 25,
    "9" * 400,
    "9" * 5000,
    f'"{"A" * 200}"',
    f'"{"A" * 201}"',
    "[" * 2000,
]
ODD_VALUES += ["[{ pad_db = 3 }]", "[{ splitter = 8 }, { splitter = 8 }]", "[470, 608]", "[9, 1]"]

_SPECS = [spec for spec in tables.TABLES.values() if spec.file.endswith(".csv")]
_TABLES = [spec for spec in tables.TABLES.values() if not spec.file.endswith(".csv")]
_KEYS = [column for spec in _TABLES for column in spec.columns]


def _ends(column):
    """The outermost values a column allows, in its own unit and words."""
    numbers = [column.low, column.high, None if column.above is None else column.above + 1e-6]
    return [f"{n:.10g}" for n in numbers if n is not None] or [*column.choices, column.example]


CELL_ENDS = {c.name: _ends(c) for spec in _SPECS for c in spec.columns}
KEY_ENDS = {
    c.name: [e if re.match(r"[-\d.\"\[]|true|false", e) else f'"{e}"' for e in _ends(c)]
    for c in _KEYS
}

# ---- damage -------------------------------------------------------------------------------------


def _bytes(data, where, what):
    start = where % (len(data) + 1)
    return data[:start] + PIECES[what % len(PIECES)] + data[start + what // 7 % 40 :]


def _cell(data, where, what):
    rows = [row.split(b",") for row in data.split(b"\n")]
    row = rows[where % len(rows)]
    column = where // 31 % len(row)
    title = rows[0][column % len(rows[0])].decode(errors="replace")
    pool = CELL_ENDS.get(title, ODD_CELLS) if what % 3 else ODD_CELLS
    row[column] = pool[what // 3 % len(pool)].encode()
    return b"\n".join(b",".join(row) for row in rows)


def _key(data, where, what):
    text = data.decode(errors="replace")
    found = list(re.finditer(r'(\w+) *= *("[^"]*"|\[[^\]\[]*\]|[-\w.]+)', text))
    if not found:
        return data
    one = found[where % len(found)]
    pool = KEY_ENDS.get(one[1], ODD_VALUES) if what % 3 else ODD_VALUES
    value = pool[what // 3 % len(pool)]
    return (text[: one.start(2)] + value + text[one.end(2) :]).encode()


def _lines(data, where, what):
    """A line less, a line twice, or two lines in each other's place."""
    lines = data.split(b"\n")
    one, other = where % len(lines), what // 3 % len(lines)
    if what % 3 == 0:
        del lines[one]
    elif what % 3 == 1:
        lines.insert(other, lines[one])
    else:
        lines[one], lines[other] = lines[other], lines[one]
    return b"\n".join(lines)


def _inside(file):
    return _cell if file.endswith(".csv") else _key


DAMAGE = st.lists(
    st.tuples(
        st.sampled_from(["bytes", "inside", "inside", "inside", "lines"]),
        st.sampled_from(FILES),
        st.integers(0, 10_000),
        st.integers(0, 10_000),
    ),
    min_size=1,
    max_size=3,
)
AROUND = st.fixed_dictionaries({"with_land": st.booleans(), "foreign": st.booleans()})


def damage(parent, changes):
    """A copy of the good folders below ``parent`` with the changes made."""
    shutil.copytree(FOLDERS, parent, dirs_exist_ok=True)
    for kind, file, where, what in changes:
        change = {"bytes": _bytes, "inside": _inside(file), "lines": _lines}[kind]
        path = parent / file
        path.write_bytes(change(path.read_bytes(), where, what))


# ---- what must come of it -----------------------------------------------------------------------


@contextlib.contextmanager
def no_hanging():
    """Ends a test that goes on without end, where the system has an alarm."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def late(*_):
        raise TimeoutError(f"still at it after {LONG_S} s")

    before = signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_REAL, LONG_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def state(parent):
    """Every file and folder below ``parent`` with its bytes."""
    return {p: p.read_bytes() if p.is_file() else None for p in parent.rglob("*")}


def a_sentence(error):
    """Whether an error is one that a learner can use: plain words, from our own readers."""
    text = str(error)
    return type(error) in (ValueError, tables.BadTable) and " " in text and text[-1] == "."


def answered(parent, tiles, foreign):
    """The Site and its ranking, or None where sentences were said."""
    mapping = None
    if foreign:
        path = parent / "town/stations.csv"
        path.write_bytes(path.read_bytes().replace(b"station,", b"Call,", 1))
        mapping = {"Call": "station"}
    before = state(parent)
    try:
        meters.read_log(parent / "roof/readings.csv")
        opened = site.open_site(parent / "roof", mapping, tiles=tiles)
        ranking = advice.rank(opened)
        survey.inform(opened)
        return opened, ranking
    except ValueError as error:
        assert a_sentence(error), repr(error)
        return None
    finally:
        assert state(parent) == before


def check_answer(opened, ranking):
    """What every answer has to keep to, however strange the folder."""
    numbers = opened.stations[["bearing_deg", "distance_km", "erp_kw", "freq_mhz"]]
    assert numbers.notna().to_numpy().all()
    assert ranking["low"].le(ranking["high"]).all()
    assert ranking["expected"].between(0, opened.stations["wanted"].sum()).all()
    table = survey.outlook(opened, ranking["setup"].iloc[0])
    assert table["chance"].between(0, 1).all()
    known = table["margin_db"].notna()
    assert np.isfinite(table.loc[known, ["margin_db", "spread_db"]].to_numpy(float)).all()
    assert (table.loc[known, "spread_db"] > 0).all()


def try_one(parent, changes, tiles, foreign, pages=False):
    damage(parent, changes)
    with no_hanging():
        answer = answered(parent, tiles, foreign)
        if answer is None:
            return
        check_answer(*answer)
        if pages:
            page = report.page(*answer)
            assert "<script" not in page and page.rstrip().endswith("</html>")


@pytest.fixture(scope="module")
def land(tmp_path_factory):
    """Rough invented ground under the test town, from the sea to 900 m."""
    folder = tmp_path_factory.mktemp("land")
    across, down = np.meshgrid(np.arange(1201), np.arange(1201))
    rough = 450 + 300 * np.sin(across / 37) * np.cos(down / 53) + 150 * np.sin(across * down / 9e4)
    for name in ("N30W041", "N30W042"):
        rough.astype(">i2").tofile(folder / f"{name}.hgt")
    return earth.open_tiles(folder)


@settings(max_examples=50)
@given(DAMAGE, AROUND)
def test_any_damage_brings_a_sentence_or_an_answer(tmp_path_factory, land, changes, around):
    tiles = land if around["with_land"] else None
    try_one(tmp_path_factory.mktemp("d"), changes, tiles, around["foreign"])


@pytest.mark.slow
@settings(max_examples=4000)
@given(DAMAGE, AROUND)
def test_any_damage_thousands_of_times(tmp_path_factory, land, changes, around):
    tiles = land if around["with_land"] else None
    pages = changes[0][3] % 8 == 0
    folder = tmp_path_factory.mktemp("d")
    try_one(folder, changes, tiles, around["foreign"], pages)
    shutil.rmtree(folder)


# ---- terrain tiles ------------------------------------------------------------------------------


def _tile(height):
    return np.full((1201, 1201), height, ">i2").tobytes()


TILES = {
    "cut short": ("N30W041.hgt", _tile(5)[:-7], "cut short"),
    "empty": ("N30W041.hgt", b"", "cut short"),
    "text": ("N30W041.hgt", b"<html>not found</html>", "cut short"),
    "named in words": ("north of home.hgt", _tile(5), "like N45W123"),
    "named off the globe": ("N91W041.hgt", _tile(5), "like N45W123"),
    "all void": ("N30W041.hgt", _tile(-32768), None),
    "above every mountain": ("N30W041.hgt", _tile(32767), None),
    "below every sea": ("N30W041.hgt", _tile(-32767), None),
    "of another place": ("S45E100.hgt", _tile(5), None),
    "no tile at all": ("readme.txt", b"tiles go here", None),
}


@pytest.mark.parametrize("case", TILES)
def test_odd_tiles_bring_a_sentence_or_an_answer(tmp_path, case):
    name, data, words = TILES[case]
    shutil.copytree(FOLDERS, tmp_path, dirs_exist_ok=True)
    (tmp_path / "town/terrain").mkdir()
    (tmp_path / "town/terrain" / name).write_bytes(data)
    if words:
        notes = site.open_site(tmp_path / "roof").notes
        assert any(words in note and name in note for note in notes)
    answer = answered(tmp_path, None, False)
    if answer is not None:
        check_answer(*answer)
