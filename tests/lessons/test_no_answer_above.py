"""No answer before its question: not above a guess or a question, and not in its own cell.

What is searched for comes from the library: of a panel its ``answer``, and every number and clause of
the finding that the panel did not say before; of a question asked by number its answer. Searched are
all cells above, with what they print, their alternative texts and what they fold; and the cell itself,
its source, its handle's place and its still, but for what that folds. ``harmless.csv`` has ``lesson``,
``phrase``, the answer in braces where it stands, and a ``reason``.
"""

import ast
import html
import importlib
import re
from pathlib import Path

import nbformat
import numpy as np
import pytest
import quotes
import refresh
import skeleton

from signalshed import site
from signalshed.classroom import quiz

ROOM = Path(quiz.__file__).parent
HARMLESS = quotes.rows("harmless.csv")
_FOLDED = re.compile(r"<details>.*?</details>", re.DOTALL)
_UNSEEN = re.compile(
    r"base64,[^\"']*|<style.*?</style>|<script.*?</script>|\b\w+=\"\d+\"", re.DOTALL
)
_NUMBER = re.compile(rf"(?:RF )?{quotes.NUMBER}")
_UNIT = re.compile(rf" ?(?:spare )?(stations?|times|°|%|(?:{quotes._UNIT})(?!\w)|in(?=\)))")
_ALSO = {"%": ("of 100",), "metres": ("m",), "degrees": ("°",)}
_SUFFIX = {
    "°": "deg",
    "degrees": "deg",
    "metres": "m",
    "dB": "dB|db",
    "%": "pct",
    "mm": "mm",
    "m": "m",
    "km": "km",
    "dBm": "dbm",
}


def cells_of(name):
    return nbformat.read(refresh.NOTEBOOKS / f"{name}.ipynb", as_version=4).cells


def asking():
    """Every panel with a guess and every question by number: lesson, place of its cell, its name."""
    for name in skeleton.CORE_MIN:
        for at, cell in enumerate(cells_of(name)):
            if cell.cell_type == "code" and "?</b>" in _FOLDED.sub("", shown_by(cell)):
                called = cell.source.strip().splitlines()[-1]
                yield pytest.param(name, at, id=f"{name[:2]}-{called}")


def shown_by(cell):
    """All that a cell shows or carries along but pictures, as one text."""
    parts = []
    for out in cell.get("outputs", ()):
        told = [str(text) for kind, text in out.get("data", {}).items() if "image/" not in kind]
        parts += [str(out.get("text", "")), *told, str(dict(out.get("metadata", {})))]
    return _UNSEEN.sub(" ", "\n".join(parts))


def searchable(text):
    return " ".join(html.unescape(text).replace("−", "-").replace("**", "").split())


def answers_of(asked):
    """Patterns of what answers a question or a panel, by the words for it."""
    if isinstance(asked, quiz.ChoiceQuestion):
        return {asked.answer: worded(asked.answer)}
    if isinstance(asked, quiz.NumberQuestion):
        return numbers_of(asked._in_words())
    before = " ".join([asked.verdict, asked.alt, *(f"{v}" for v in asked.values.values())])
    before, asks = searchable(before), asked.asks
    assert asked.words.answer is None
    asked.show_me()
    answer, finding = asked.words.answer, asked.words.finding
    clauses = (c.strip() for c in re.split(r"[,;:.] (?:and )?", finding) if not re.search(r"\d", c))
    told = {c: worded(c) for c in clauses if len(c.split()) > 2 and c not in before}
    told |= numbers_of(finding, set(_NUMBER.findall(before)))
    if isinstance(answer, str):
        assert answer in asks.options
        return told | {answer: worded(answer)}
    values, unit = np.atleast_1d(answer), asks.label.split(", ")[1]
    assert np.all(abs(values - asks.default) > asks.step), "the handle waits at the answer"
    rounded = (float(f"{value:.{digits}g}") for value in values for digits in (2, 3))
    return told | numbers_of("; ".join(f"{value:g} {unit}" for value in rounded))


def numbers_of(text, known=()):
    """Patterns of the numbers of a ``text`` that are not ``known``, each with its unit; one without a
    unit may have any that another has there."""
    found = [
        (m.group(), _UNIT.match(searchable(text), m.end()))
        for m in _NUMBER.finditer(searchable(text))
    ]
    units = sorted({unit.group(1) for _, unit in found if unit})
    told = {}
    for number, unit in found:
        mine = [unit.group(1)] if unit else [] if number.startswith("RF") else units
        if not {number, number.removeprefix("RF ")} & set(known):
            told[f"{number} {'|'.join(mine)}"] = numbered(number.lstrip("+-"), mine)
    return told


def worded(answer):
    return re.compile(rf"(?<!\w){re.escape(searchable(answer))}(?!\w)", re.IGNORECASE)


def numbered(number, units):
    """A number of any sign with one of its ``units`` however spelled, or in code behind a name that
    ends in its unit."""
    spelled = [
        re.escape(s) for u in units for s in (u, *quiz._SPELLINGS.get(u, ()), *_ALSO.get(u, ()))
    ]
    figure = rf"(?<![\w.,/]){re.escape(number)}(?:\.0+)?(?!\d|[.,/]\d)"
    after = rf"[  ‑-]?(?:spare )?(?:{'|'.join(spelled)})(?![A-Za-z])" if units else ""
    names = "|".join(_SUFFIX[unit] for unit in units if unit in _SUFFIX)
    return re.compile(rf"{figure}{after}" + (rf"|_(?:{names})\s*=\s*{figure}" if names else ""))


def asked_by(name, at):
    """The panel or the question of a cell, made anew."""
    source = cells_of(name)[at].source
    call = ast.parse(source).body[-1].value
    names = {
        name[:9]: importlib.import_module(f"signalshed.classroom.lesson_{name[:2]}"),
        "quiz": quiz,
        "house": site.open_site("../demo_data/hill_house"),
    }
    names[f"lesson_{name[:2]}"] = names[name[:9]]
    return eval(compile(ast.Expression(call), name, "eval"), names)


@pytest.mark.parametrize(("name", "at"), list(asking()))
def test_no_answer_stands_above_its_question_or_in_its_cell(name, at, monkeypatch):
    monkeypatch.chdir(refresh.NOTEBOOKS)
    asked, cells = asked_by(name, at), cells_of(name)
    question = asked.title if isinstance(asked, quiz.Question) else asked.asks.question
    options = getattr(asked, "options", getattr(getattr(asked, "asks", None), "options", ()))
    answers = answers_of(asked)
    assert answers
    assert isinstance(asked, quiz.Question) or _FOLDED.search(shown_by(cells[at])), "folded below"
    above = searchable("\n".join(c.source + "\n" + shown_by(c) for c in cells[:at]))
    still = searchable(_FOLDED.sub(" ", shown_by(cells[at])))
    for given in (question, *(f"– {option}" for option in options)):
        still = still.replace(searchable(given), "")
    text = f"{above} {searchable(cells[at].source)} {still}"
    free = {s for r in HARMLESS if r["lesson"] == name for s in quotes.spans_of(r["phrase"], text)}
    told = [
        f"{words}: {text[max(m.start() - 60, 0) : m.end() + 30]}"
        for words, pattern in answers.items()
        for m in pattern.finditer(text)
        if not any(a <= m.start() < b for a, b in free)
    ]
    lead = (
        "change the cells above, or move it below; where it answers nothing, harmless.csv says why:"
    )
    assert not told, "\n".join([lead, *told])


def test_every_question_of_the_library_and_every_guess_is_searched():
    found = [param.id[3:] for param in asking()]
    held = [
        f"quiz.ask({n}, {k + 1})"
        for n in range(len(skeleton.CORE_MIN))
        for k in range(len(quiz._held(n, "check_yourself")))
    ]
    assert sorted(f for f in found if f.startswith("quiz")) == held
    code = "\n".join(p.read_text() for p in ROOM.rglob("*.py") if p.name != "controls.py")
    assert len(re.findall(r"\bGuess(?:Choice)?\(\n?", code)) == len(found) - len(held)


def test_what_is_harmless_stands_there_and_says_why():
    for row in HARMLESS:
        cells = cells_of(row["lesson"])
        text = searchable("\n".join(c.source + "\n" + shown_by(c) for c in cells))
        assert quotes.spans_of(row["phrase"], text), row
        assert len(row["reason"]) > 10


@pytest.mark.parametrize(
    "told",
    ["−7.0 dB", "7 dB spare", "7-dB", "gain_db = 7", "7 decibel"],
)
def test_a_number_is_found_however_it_is_written(told):
    assert bool(numbered("7", ["dB"]).search(searchable(told))) == (told != "7 decibel")
    assert not numbered("7", ["dB"]).search("17 dB, 0.7 dB, 7.5 dB, 7 dBi, _db = 71")
