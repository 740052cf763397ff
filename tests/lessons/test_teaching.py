"""The teacher's pages: numbers hold, courses fit the lessons, code runs, links lead somewhere."""

import os
import re
import shutil
from dataclasses import dataclass
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
ROW = re.compile(r"^\| (\d+) \| (\d+) \| ([^|]+) \| (\w+) \| ([^|]+) \|$", re.MULTILINE)
NAMED = re.compile(r"Lesson (\d\d), (core|parts? (\d)(?: to (\d))?)")
HOWS = ("screen", "hands", "talk", "pause", "slack")

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


@dataclass(frozen=True)
class Row:
    """A row of a course: minutes from and to, what is done, how, and what changes without signal."""

    start: int
    end: int
    what: str
    how: str
    no_signal: str

    @property
    def minutes(self):
        return self.end - self.start


def courses():
    text = PAGES["teaching/README"].read_text(encoding="utf-8")
    text = text.split("## Three courses")[1].split("\n## ")[0]
    parts = re.split(r"^### ", text, flags=re.MULTILINE)[1:]
    return {re.split(r"[ (:]", part)[0] + " hours": part for part in parts}


def rows(course):
    return [Row(int(a), int(b), *words) for a, b, *words in ROW.findall(courses()[course])]


@pytest.mark.parametrize("course", MINUTES)
def test_a_course_fills_its_minutes_without_a_gap(course):
    all_rows = rows(course)
    assert len(all_rows) == len(re.findall(r"^\| \d", courses()[course], re.MULTILINE))
    assert all_rows[0].start == 0 and all_rows[-1].end == MINUTES[course]
    assert [r.start for r in all_rows[1:]] == [r.end for r in all_rows[:-1]]
    assert all(r.minutes > 0 for r in all_rows)


@pytest.mark.parametrize("course", MINUTES)
def test_eyes_are_on_the_screen_for_less_than_three_fifths_and_nobody_sits_too_long(course):
    all_rows = rows(course)
    spent = {how: sum(r.minutes for r in all_rows if r.how == how) for how in HOWS}
    assert sum(spent.values()) == MINUTES[course], "each row is one of the five kinds"
    assert spent["screen"] <= 0.6 * MINUTES[course]
    assert spent["pause"] >= MINUTES[course] / 30 and spent["slack"] >= MINUTES[course] / 50
    assert all_rows[-1].how == "slack"
    breaks = [r.start for r in all_rows if r.how == "pause"] + [MINUTES[course]]
    ends = [0] + [r.end for r in all_rows if r.how == "pause"]
    assert max(b - e for b, e in zip(breaks, ends, strict=True)) <= 105, (
        "an hour and three quarters"
    )
    runs = "".join("s" if r.how == "screen" else "." for r in all_rows)
    assert "sss" not in runs, "two screens in a row at most"


@pytest.mark.parametrize("course", MINUTES)
def test_a_course_holds_without_signal_is_made_by_hand_and_goes_home(course):
    text, all_rows = courses()[course], rows(course)
    assert all(r.no_signal for r in all_rows if r.how != "slack")
    in_air = [r for r in all_rows if re.search("ladder|until the picture|[Gg]ain trial", r.what)]
    assert in_air and all("paper TV" in r.no_signal for r in in_air if r.how == "hands")
    dipole = [r for r in all_rows if "dipole from wire" in r.what]
    assert [r.minutes for r in dipole] == [30] and dipole[0].how == "hands"
    assert "**Take home:**" in text and "dipole" in text.split("**Take home:**")[1]
    assert text.count("vote") >= 2 and "all of guesses" in text and "wall" in text
    assert "pooled" in text or "then the wall" in text


@pytest.mark.parametrize("course", MINUTES)
def test_what_a_late_course_drops_is_in_it_and_brings_a_tenth_of_an_hour_or_more(course):
    late = courses()[course].split("**Late?**")[1].split("**Take home:**")[0]
    minutes = [int(m) for m in re.findall(r"\((\d+)(?: minutes)?\)", late)]
    assert len(minutes) >= 2 and sum(minutes) >= 6
    whole = {"lesson 07": "Lesson 07", "three more stations": "three more stations"}
    for words, what in whole.items():
        if found := re.search(rf"{words} \((\d+)", late):
            assert int(found[1]) == next(r for r in rows(course) if what in r.what).minutes


def lesson(number):
    name = next(n for n in skeleton.CORE_MIN if n.startswith(number))
    read = nbformat.read(skeleton.NOTEBOOKS / f"{name}.ipynb", as_version=4)
    return skeleton.Lesson(read, name)


def before(number):
    """The lessons that a lesson names as coming before it."""
    line = re.search(r"^\*\*Before this.*$", lesson(number).cells[0].source, re.MULTILINE)[0]
    return set(re.findall(r"\]\((\d\d)_", line))


@pytest.mark.parametrize("course", MINUTES)
def test_what_a_lesson_needs_came_before_it_or_was_done_by_hand(course):
    known = set()
    for row in rows(course):
        for number, *_ in NAMED.findall(row.what):
            assert before(number) <= known, f"{row.what}: {before(number) - known} is missing"
            known.add(number)
        by_hand = re.search(r"in place of lessons? ([^:]+):", row.what)
        known |= set(re.findall(r"\d\d", by_hand[1])) if by_hand else set()


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
    for row in rows(course):
        for number, kind, first, last in NAMED.findall(row.what):
            seen.append(number)
            here = lesson(number)
            if kind == "core":
                assert row.minutes == skeleton.CORE_MIN[here.name], row.what
                continue
            heads = [f"{n} " for n in range(int(first), int(last or first) + 1)]
            parts = {h: c for h, c in here.sections if h.startswith(tuple(heads))}
            assert len(parts) == len(heads), f"{here.name} has not all of: {row.what}"
            cells = [c for part in parts.values() for c in part] + here.opening
            assert minutes_of(cells) <= row.minutes, row.what
    assert len(seen) == len(re.findall(r"Lesson \d\d", courses()[course]))


def test_the_two_hours_hold_what_a_first_evening_needs():
    text = courses()["Two hours"]
    wanted = ("Wall of guesses", "Lesson 00, core", "Decibels by hand", "Lesson 03, part 1",
              "The meter ladder", "ads until the picture", "dipole from wire", "gain trial",
              "Lesson 07")  # fmt: skip
    assert [text.index(words) for words in wanted] == sorted(map(text.index, wanted))


def test_the_walk_without_signal_goes_minute_by_minute_through_the_two_hours():
    walk = table_of("room_without_signal", "The two hours, walked through")
    there = [(int(start), int(end)) for start, end, *_ in walk]
    assert there == [(r.start, r.end) for r in rows("Two hours")]
    takes, slack = np.array([row[-2:] for row in walk], dtype=float).T
    assert np.array_equal(takes + slack, [end - start for start, end in there])
    assert np.all(np.cumsum(slack) >= 1), "whoever is late at one row has caught up by the next"


def test_a_short_trial_and_a_ladder_on_the_paper_tv_go_as_the_pages_say():
    """Counted press by press for every plain card; the costs of the purse are the design's."""
    full = set()
    for number in range(1, 13):
        tv = shed.simulate.PaperTV(number)
        rungs = [list(map(str, way)) for way in printing.sums_of([3, 6, 10, 20]).values()]
        lost = [tv.screw_in(way, "as it hangs", "A").reading is None for way in rungs]
        assert lost.index(True) + 2 == (13 if number == 11 else 11), "and one step more"
        for strips in ([], ["10"]):
            tv = shed.simulate.PaperTV(number, pair=5)
            shown = [tv.screw_in(strips, a, "A").reading for a in "XYXYYX"]
            top = tv.card.meter.show(60)[0]
            assert 53 < tv.spent_min < 54 and None not in shown
            full |= {(number, len(strips))} if sum(s >= top for s in shown) > 1 else set()
    assert full == {(3, 0), (4, 0), (5, 0), (9, 0), (10, 0)}


# ---- the kit ---------------------------------------------------------------------------------------


def test_the_rungs_of_one_set_of_pads():
    """Worked by hand: every sum of some of 3, 6, 10 and 20, and which of two ways is the shorter."""
    made = printing.sums_of([3, 6, 10, 20])
    assert [*made] == [0, 3, 6, 9, 10, 13, 16, 19, 20, 23, 26, 29, 30, 33, 36, 39]
    assert made[9] == (6, 3) and made[19] == (10, 6, 3) and made[39] == (20, 10, 6, 3)
    assert printing.sums_of([1, 2, 3])[3] == (3,), "one pad rather than two"


@pytest.mark.parametrize(
    ("loss_db", "share"),
    [(0, "all"), (3, "1/2"), (6, "1/4"), (9, "1/8"), (10, "1/10"), (13, "1/20"), (20, "1/100"),
     (26, "1/400"), (30, "1/1,000"), (39, "1/7,900"), (40, "1/10,000")],
)  # fmt: skip
def test_the_share_that_passes_a_pad(loss_db, share):
    """By hand: 3 dB halves, ten times as little for each 10; 39 dB is 10 to the 3.9."""
    assert printing._share(loss_db) == share


def table_of(page, heading):
    section = PAGES[f"teaching/{page}"].read_text(encoding="utf-8").split(f"## {heading}")[1]
    lines = [s for s in section.split("\n## ")[0].splitlines() if s.startswith("|")]
    return [[c.strip() for c in line.strip("|").split("|")] for line in lines[2:]]


def test_the_kit_is_enough_for_its_tables():
    bought = {what: count for what, count, *_ in table_of("kit", "For six tables")}
    assert int(bought["attenuator pads 3, 6, 10, 20: one each a table"]) == 4 * 6
    assert int(bought["two-way splitter, to stand for a pad"]) == 6 and int(bought["end caps"]) >= 6
    for_each = [
        w for w in bought if re.match("tail of cable|two-way screw|clip-on|strip of card", w)
    ]
    assert len(for_each) == 4 and all(int(bought[w]) == 12 for w in for_each)
    ways = 8 * int(bought["distributor for the room, eight ways"])
    assert ways == 6 + int(bought["end caps for its empty ways"])


def test_the_dipole_takes_its_thirty_minutes_and_the_week_counts_down():
    section = PAGES["teaching/kit"].read_text(encoding="utf-8").split("## A dipole from wire")[1]
    assert sum(map(int, re.findall(r"^\| (\d+) \| [a-z]", section.split("\n## ")[0], re.M))) == 30
    days = [int(day) for day, *_ in table_of("kit", "The last seven days")]
    assert days == [*range(7, -1, -1)]


def test_an_arm_of_wire_is_that_of_the_handbooks():
    """468 / MHz feet, tip to tip, is the handbooks' half wave (as lesson 01 quotes it): RF 25."""
    line = next(s for s in printing.arms(["25"]).splitlines() if s.startswith("| 25"))
    assert abs(int(re.search(r"(\d+) mm", line)[1]) - 468 / 539 * 304.8 / 2) < 6


def test_every_lesson_has_its_notes_and_each_says_four_things():
    text = PAGES["teaching/notes"].read_text(encoding="utf-8")
    notes = re.split(r"^## ", text, flags=re.MULTILINE)[1:]
    heads = [note.splitlines()[0] for note in notes]
    assert [h for h in heads if h.startswith("Lesson")] == [
        f"Lesson 0{n}" for n in range(len(skeleton.CORE_MIN))
    ]
    said = ("**Ask", "**They say:**", "**Answer:**", "**Goes wrong:**", "**In a sentence:**")
    assert not [(h, s) for h, n in zip(heads, notes, strict=True) for s in said if s not in n]
    assert all(60 <= skeleton.read_words(n) <= 230 for n in notes), "half a page each"


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
