"""The teacher's pages: numbers hold, courses fit the lessons, code runs, links lead somewhere."""

import os
import re
import shutil
from urllib.parse import unquote

import nbformat
import numpy as np
import printing
import pytest
import quotes
import refresh
import skeleton

import signalshed as shed
from signalshed import tables

PAGES = {f"teaching/{p.stem}": p for p in sorted(printing.TEACHING.glob("*.md"))}
MINUTES = {"Two hours": 120, "Four hours": 240, "Eight hours": 480}
ROW = re.compile(r"^\| (\d+) \| (\d+) \| ([^|]+) \|", re.MULTILINE)
NAMED = re.compile(r"Lesson (\d\d), (core|parts (\d) to (\d)|\"(Further: .+?)\")")

ON_SHEET = {
    "time": "time",
    "antenna, revision": "antenna",
    "RF channel": "rf_channel",
    "heading, degrees true": "heading_deg",
    "pad, dB": "pad_db",
    "pad at (antenna, set)": "pad_at",
    "shown": "reading",
    "lowest": "reading_low",
    "highest": "reading_high",
    "locked?": "locked",
    "note": "note",
}
"""Columns of readings.csv behind those of the readings sheet."""


def written(name):
    """What the author of a page wrote, as prose."""
    text = printing.without_made(PAGES[name].read_text(encoding="utf-8"))
    return quotes.prose(nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell(text)]))


def rows_of(table, name):
    return [row for row in quotes.rows(table) if row["lesson"] == name]


# ---- numbers, and what the library says ------------------------------------------------------------


@pytest.mark.parametrize("name", PAGES)
def test_every_number_of_a_page_holds_or_is_exempt_with_a_reason(name):
    quoted, exempt = rows_of("quoted.csv", name), rows_of("exemptions.csv", name)
    text, phrases = written(name), [row["phrase"] for row in quoted + exempt]
    values = (eval(row["expression"], {"shed": shed, "np": np}) for row in quoted)
    told = [quotes.fault_of_row(r, text, float(v)) for r, v in zip(quoted, values, strict=True)]
    assert not list(filter(None, told))
    assert quotes.uncovered(text, phrases) == []
    assert all(quotes.spans_of(row["phrase"], text) for row in exempt), "exempt, but not there"
    assert all(len(row["reason"]) > 10 for row in exempt)


def test_what_is_made_from_the_library_and_for_the_printer_is_not_stale():
    assert printing.stale() == [], "run tests/lessons/printing.py"


def test_a_caution_that_changes_in_the_facts_makes_its_page_stale():
    text = (printing.TEACHING / "survey_sheet.md").read_text(encoding="utf-8")
    assert printing.filled(text.replace("let go and stand clear", "hold it")) == text
    with pytest.raises(KeyError, match="no_such"):
        printing.cautions(["no_such"])


@pytest.mark.parametrize("name", PAGES)
def test_no_page_types_a_caution_by_hand(name):
    said = set(re.split(r"(?<=\.) ", " ".join(shed.report.cautions()["caution"])))
    assert not [sentence for sentence in said if sentence in written(name)]


def test_the_readings_sheet_has_the_columns_of_the_table_in_their_order():
    text = PAGES["teaching/readings_sheet"].read_text(encoding="utf-8")
    heads = re.search(r"^\| time \|.*$", text, re.MULTILINE)[0].strip("| ").split(" | ")
    assert heads == list(ON_SHEET)
    columns = [column.name for column in tables.READINGS.columns]
    places = [columns.index(column) for column in ON_SHEET.values()]
    assert places == sorted(places)


# ---- the courses against the lessons ---------------------------------------------------------------


def courses():
    text = PAGES["teaching/README"].read_text(encoding="utf-8")
    parts = re.split(r"^### ", text.split("## Kit per table")[0], flags=re.MULTILINE)[1:]
    return {part.split(" (")[0].split(":")[0].strip().split("\n")[0]: part for part in parts}


@pytest.mark.parametrize("course", MINUTES)
def test_a_course_fills_its_minutes_without_a_gap(course):
    times = [(int(a), int(b)) for a, b, _ in ROW.findall(courses()[course])]
    assert times[0][0] == 0 and times[-1][1] == MINUTES[course]
    assert [a for a, _ in times[1:]] == [b for _, b in times[:-1]]
    assert all(a < b for a, b in times)


def lesson(number):
    name = next(n for n in skeleton.CORE_MIN if n.startswith(number))
    read = nbformat.read(skeleton.NOTEBOOKS / f"{name}.ipynb", as_version=4)
    return skeleton.Lesson(read, name)


def minutes_of(cells):
    """Minutes that some cells take, by the formula of the lessons."""
    words = sum(skeleton.read_words(c.source) for c in cells if c.cell_type == "markdown")
    questions = sum(map(skeleton.is_question, cells))
    code = sum(c.cell_type == "code" for c in cells) - questions
    spent = (words / skeleton.WORDS_A_MIN, code * skeleton.CODE_MIN)
    return sum(spent) + questions * skeleton.QUESTION_MIN


@pytest.mark.parametrize("course", MINUTES)
def test_a_course_gives_each_lesson_the_time_it_takes(course):
    seen = []
    for start, end, what in ROW.findall(courses()[course]):
        for number, kind, first, last, further in NAMED.findall(what):
            seen.append(number)
            here, minutes = lesson(number), int(end) - int(start)
            if kind == "core":
                assert minutes == skeleton.CORE_MIN[here.name], what
                continue
            heads = [f"{n} " for n in range(int(first), int(last) + 1)] if first else [further]
            parts = {h: c for h, c in here.sections if h.startswith(tuple(heads))}
            assert len(parts) == len(heads), f"{here.name} has not all of: {what}"
            cells = [c for part in parts.values() for c in part] + here.opening * bool(first)
            assert minutes_of(cells) <= minutes, what
    assert len(seen) >= len(re.findall(r"Lesson \d\d", courses()[course]))


def test_the_two_hours_hold_what_a_first_evening_needs():
    text = courses()["Two hours"]
    wanted = ("Lesson 00, core", "Decibels with pads", "Lesson 03, core", "the meter ladder",
              "pads until", "gain trial", "Lesson 07")  # fmt: skip
    assert [text.index(words) for words in wanted] == sorted(map(text.index, wanted))


# ---- code, links, names ----------------------------------------------------------------------------


def blocks(name, language="python"):
    text = PAGES[name].read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("name", [n for n in PAGES if blocks(n)])
def test_the_code_of_a_page_runs(name, tmp_path, monkeypatch):
    shutil.copytree(refresh.REPO / "demo_data", tmp_path / "demo_data")
    monkeypatch.chdir(tmp_path)
    names = {}
    for block in blocks(name):
        if "get_config()" in block:
            compile(block, "jupyterhub_config.py", "exec")
            continue
        try:
            exec(block, names)
        except tables.BadTable as told:
            blank = "site.toml" in str(told) and "open_site" in block
            assert blank, "only the folder that is still blank may be refused"


@pytest.mark.parametrize("name", PAGES)
def test_links_and_names_of_a_page_lead_somewhere(name):
    text = PAGES[name].read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#:]+?)(?:#[^)]*)?\)", text):
        assert os.path.exists(printing.TEACHING / unquote(target)), f"{name} points to {target}"
    for dotted in re.findall(r"\bshed\.([a-z_]+(?:\.[A-Za-z_]+)+)", text):
        thing = shed
        for part in dotted.split("."):
            thing = getattr(thing, part)


def test_every_page_is_named_on_the_first():
    text = PAGES["teaching/README"].read_text(encoding="utf-8")
    others = [p.name for p in printing.TEACHING.iterdir() if p.suffix in (".md", ".ipynb", ".html")]
    assert not [n for n in others if n != "README.md" and f"]({n})" not in text]
