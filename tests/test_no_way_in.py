"""No way in: nothing of a user's is run, nothing is fetched, and hostile names stay names."""

import ast
import csv
import os
import re
import shutil
import sys
from html.parser import HTMLParser
from pathlib import Path

import ipywidgets
import pandas as pd
import pytest

from signalshed import advice, classroom, report, site, tables
from signalshed.classroom import cards, lesson_00, lesson_07

PACKAGE = Path(__file__).resolve().parents[1] / "lib" / "signalshed"
FOLDERS = Path(__file__).parent / "data" / "folders"
TREES = {
    str(path.relative_to(PACKAGE)): ast.parse(path.read_text(encoding="utf-8"))
    for path in sorted(PACKAGE.rglob("*.py"))
}

_MODULES = """
pickle marshal shelve dbm copyreg code codeop runpy ctypes subprocess multiprocessing pty sqlite3
socket socketserver ssl http urllib urllib3 requests httpx aiohttp ftplib poplib imaplib smtplib
telnetlib xmlrpc webbrowser wsgiref joblib dill cloudpickle yaml jinja2 pip
"""
NEVER = set(_MODULES.split())
"""Modules that run what they read, start programs, or reach a network."""

_NAMES = """
eval exec __import__ breakpoint input system popen startfile execv execve spawnv spawnl
fork read_pickle to_pickle read_html read_sql read_hdf open_connection
open_unix_connection
create_connection create_subprocess_exec create_subprocess_shell
"""
CALLS = set(_NAMES.split())
"""Calls that do the same, by whatever module."""


def _calls(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield node, getattr(node.func, "id", None) or getattr(node.func, "attr", "")


def _imports(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.split(".")[0]


# ---- nothing is run, nothing is fetched ---------------------------------------------------------


def test_nothing_in_the_library_runs_what_it_reads_or_reaches_a_network():
    for file, tree in TREES.items():
        assert not set(_imports(tree)) & NEVER, file
        for call, name in _calls(tree):
            is_builtin = isinstance(call.func, ast.Name) and name == "compile"
            assert name not in CALLS and not is_builtin, f"{file}, line {call.lineno}: {name}"
            assert "allow_pickle" not in {word.arg for word in call.keywords}, file


def test_modules_are_imported_by_fixed_names_only():
    users = [
        file for file, tree in TREES.items() if "import_module" in {n for _, n in _calls(tree)}
    ]
    assert users == ["__init__.py", "classroom/__init__.py", "classroom/quiz.py"]
    with pytest.raises(ValueError, match="has 0 questions"):
        classroom.quiz.ask("_os", 1)  # a lesson's own file, or none
    for made in (classroom, sys.modules["signalshed"]):
        with pytest.raises(AttributeError):
            made.__getattr__("os")


WATCHED = {"seen": None}
_EVENTS = """
socket.connect socket.getaddrinfo socket.bind urllib.Request http.client.connect ftplib.connect
smtplib.connect subprocess.Popen os.system os.exec os.posix_spawn os.fork pickle.find_class
webbrowser.open
"""


def _watch(event, arguments):
    """An audit hook of Python; there is no taking it off, so it looks only while it is asked to."""
    if WATCHED["seen"] is None:
        return
    writes = event == "open" and _writes(*arguments)
    if event in _EVENTS.split() or (writes and "__pycache__" not in str(arguments[0])):
        WATCHED["seen"].append((event, str(arguments[:1])))


def _writes(path, mode, flags):
    """Whether a file is opened to write; a number stands for one that has been opened by its name."""
    if isinstance(path, int):
        return False
    return bool(set(mode) & set("wax+") if mode else flags & (os.O_WRONLY | os.O_RDWR))


@pytest.fixture(scope="module")
def watched():
    """What the interpreter is asked for on the outside, once ``WATCHED["seen"]`` is a list."""
    sys.addaudithook(_watch)
    yield WATCHED
    WATCHED["seen"] = None


# ---- names that want to be more than names ------------------------------------------------------

MARKUP = '"><script>alert(1)</script><img src=http://evil.invalid onerror=x>'
FORMULA = '=HYPERLINK("http://evil.invalid";1)'
COMMAND = "@SUM(1+1)*cmd|' /C calc'!A0"
MATHS = "$\\frac{1$ %s {0} \\input{x} `id`"
BREAKOUT = "-2+3;=1+1';</style></textarea>--><!--"
NAMES = (MARKUP, FORMULA, COMMAND, MATHS, BREAKOUT)


def _quoted(text):
    return '"' + text.replace('"', '""') + '"'


def _toml(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


@pytest.fixture(scope="module")
def roof(tmp_path_factory, watched):
    """A site folder in which everything that can be named is named by somebody hostile."""
    parent = tmp_path_factory.mktemp("hostile")
    shutil.copytree(FOLDERS, parent, dirs_exist_ok=True)
    stations = (parent / "town/stations.csv").read_text(encoding="utf-8")
    for name, bad in zip(
        ("Gazette", "Herald", "Lantern", "Cornet", "Pop Wave"), NAMES, strict=True
    ):
        stations = stations.replace(f"\n{name},", f"\n{_quoted(bad)},")
    stations = stations.replace("Kite Hill", _quoted(MARKUP)).replace("Far Point", _quoted(MATHS))
    stations = stations.replace("typed from a scan", _quoted(MARKUP))
    (parent / "town/stations.csv").write_text(stations, encoding="utf-8")
    for file, names in (
        ("antennas.toml", ("loop", "banded", "measured", "shape")),
        ("site.toml", ("test roof", "roof mast", "window", "mast amplifier", "wall plate")),
    ):
        text = (parent / "roof" / file).read_text(encoding="utf-8")
        for name, bad in zip(names, NAMES, strict=False):
            text = text.replace(f'"{name}"', _toml(bad), 1)
        (parent / "roof" / file).write_text(text, encoding="utf-8")
    watched["seen"] = []
    opened = site.open_site(parent / "roof")
    assert watched["seen"] == [], "opening asked for something outside"
    return opened


class Tags(HTMLParser):
    """Tags and attributes of a piece of HTML, and its words."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.words = [], ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.words += data


def only_text(text, ours=()):
    """Whether a piece of HTML holds nothing but harmless tags; ``ours`` are scripts that are ours."""
    for tag, attributes in Tags(text).tags:
        assert tag not in ("script", "iframe", "object", "embed", "link", "base", "form", "a"), tag
        for name, value in attributes.items():
            assert name != "href" and (not name.startswith("on") or value in ours), (tag, name)
            assert name != "src" or value.startswith("data:image/"), value
    return True


def test_the_report_of_a_hostile_roof_is_only_text(roof, watched):
    watched["seen"] = []
    page = report.page(roof, advice.rank(roof))
    assert watched["seen"] == [], "the job asked for something outside"
    assert only_text(page)
    words = Tags(page).words
    assert all(bad in words for bad in (MARKUP, FORMULA, COMMAND))


def test_cards_of_a_hostile_roof_are_only_text(roof):
    ranking = advice.rank(roof)
    setup = ranking["setup"].iloc[0]
    shown = [
        cards.station_table(roof, setup),
        cards.ranking_table(ranking),
        cards.aim_card(roof, setup, "2026-05-01"),
        cards.changes_table(roof, setup),
        cards.notes_card(roof),
    ]
    text = "".join(card.html for card in shown)
    assert only_text(text)
    assert all(bad in Tags(text).words for bad in (MARKUP, FORMULA, COMMAND))


def _html_of(thing):
    """The values of all HTML widgets that ``thing`` holds, however deep."""
    held = [w for w in vars(thing).values() if isinstance(w, ipywidgets.Widget)]
    found = []
    while held:
        widget = held.pop()
        held += list(getattr(widget, "children", ()))
        found += [widget.value] if isinstance(widget, ipywidgets.HTML) else []
    return found


@pytest.mark.parametrize("maker", [lesson_00.pointing_panel, lesson_07.roof_panel])
def test_panels_of_a_hostile_roof_are_only_text(roof, maker):
    panel = maker(roof)
    assert panel.trouble == ""
    ours = [classroom.showing.ONCE_SHOWN, _unescaped(classroom.showing.ONCE_SHOWN)]
    shown = _html_of(panel.stage)
    assert len(shown) > 2
    for text in (panel._still, *shown):
        assert only_text(text, ours)
    panel.set(antenna=MARKUP * 2)
    assert any("&lt;script" in text for text in _html_of(panel.stage))
    assert all(only_text(text, ours) for text in _html_of(panel.stage))


def _unescaped(text):
    return Tags(f"<p>{text}</p>").words


# ---- spreadsheets -------------------------------------------------------------------------------


def test_no_cell_is_a_formula_however_a_spreadsheet_cuts_the_file(tmp_path):
    """A spreadsheet of another country cuts a file of ours at its own mark."""
    file, formulas, lost = tmp_path / "stations.csv", [], []
    for name in (*NAMES, "\t=1", "a;+1", "a\t@x|-1", "＝1+1", "'=1"):
        frame = pd.DataFrame({"station": ["plain"], "rf_channel": ["14"], "note": [name]})
        tables.write_csv(file, frame, tables.STATIONS, overwrite=True)
        for delimiter in (",", ";", "\t", "|"):
            with open(file, encoding="utf-8", newline="") as text:
                cells = [cell for row in csv.reader(text, delimiter=delimiter) for cell in row]
            bad = [cell for cell in cells if re.match(r"[=+\-@\t\r＝＋－＠]", cell)]
            formulas += [(name, delimiter, cell) for cell in bad]
        back = tables.read(file, tables.STATIONS)["note"].iloc[0]
        lost += [(name, back)] * (back != name.strip())
    assert not formulas
    assert not lost


# ---- paths --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "../x.csv",
        "/etc/x.csv",
        "C:/x.csv",
        "C:x.csv",
        "..\\x.csv",
        "a/../../x.csv",
        "//server/x",
        "x\0",
    ],
)
def test_a_name_in_a_folder_never_leads_out_of_it(tmp_path, name):
    with pytest.raises(ValueError, match="no file within the folder"):
        site.folders.inside(tmp_path, name)


def test_the_name_of_a_town_is_only_a_name_in_the_file_that_holds_it(tmp_path):
    folder = site.new_site(tmp_path / "roof", tmp_path / 'town"\ncertainty = 0.1 #')
    text = (folder / "site.toml").read_text(encoding="utf-8")
    assert "\ncertainty = 0.1 #" not in text and '\\"\\ncertainty' in text
