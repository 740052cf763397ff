"""Questions that check an answer: right, or not yet and a hint, in either unit system.

A lesson asks by number, ``ask(lesson, which)``: its questions stand in the library, in
``check_yourself()`` of the lesson's own file. A question is usable on the page, with a place for the
answer, and as plain code: ``check(answer)``. Whatever is typed, there is a sentence and never an error.
What a page asks without a check has its answer in ``prompts(lesson)``, for notebooks/answers.
"""

import importlib
import importlib.util
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import ipywidgets

from .. import units
from ..markup import safe
from ..registers.numbers import in_base
from ..registers.vocabulary import units as spelled
from .cards import table_card
from .showing import Live

SENTENCE = "Run this cell (Shift+Enter) to answer."
"""What stands for a question where nothing can be typed."""

_LENGTHS_M = {
    u: in_base(1000.0 if u in ("km", "mi") else 1.0, u)
    for u in ("km", "m", "cm", "mm", "mi", "ft", "in")
}
_BESIDE = {"km": "mi", "mi": "km", "m": "ft", "ft": "m", "cm": "in", "mm": "in", "in": "mm"}
"""The unit of the other system that is said beside one."""
_SPELLINGS = {"°": ("deg", "degree", "degrees", "º"), "in": ('"', "″")}
"""Spellings beyond those of lengths that registers know."""
_TYPED = re.compile(
    r"\s*([-+−–]?\s*(?:\d[\d.,]*|[.,]\d+)(?:e[-+]?\d+|\s+\d+/\d+|/\d+)?)\s*(.*?)\s*\.?\s*"
)
_FEET_AND_INCHES = re.compile(
    r"\s*(\d{1,4}) *(?:ft|feet|foot|')\.? *(\d[\d./ ]*?) *(?:in|inch|inches|\"|″)\.?\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Answered:
    """What became of an answer: ``right`` True or False, ``words`` to show."""

    right: bool
    words: str

    def __repr__(self):
        return self.words


def ask(lesson, which):
    """A question of a lesson by its numbers, so that no answer stands where it is asked.

    Parameters: ``lesson`` its number; ``which`` from 1 on, as the lesson's own
    ``check_yourself()`` hands them out. Raises ValueError where there is none.

    >>> ask(0, 1).check("20 times")
    Right: 20 times.
    """
    held = _held(lesson, "check_yourself")
    if not 1 <= which <= len(held):
        raise ValueError(f"Lesson {lesson} has {len(held)} questions; there is no number {which}.")
    return held[which - 1]


def prompts(lesson):
    """What a lesson asks without a check: each with answer, reason and the usual wrong answer: a Card.

    Parameters: ``lesson`` its number; its own ``prompts()`` hands out one Prompt each. Made for
    the answers, never for the lesson's own page.

    >>> prompts(2).text.splitlines()[0]
    'asked | answer | because | the usual wrong answer'
    """
    heads = ["asked", "answer", "because", "the usual wrong answer"]
    return table_card(heads, [("", _held(lesson, "prompts"))])


class Prompt(NamedTuple):
    """What a page asks without checking: ``asked`` as it stands there, the ``answer`` in words with its
    numbers computed, its ``reason``, and the ``usual`` wrong answer with what is wrong with it.

    >>> Prompt("How far is it?", "10 km.", "By the map.", "A mile: the road bends.").answer
    '10 km.'
    """

    asked: str
    answer: str
    reason: str
    usual: str


def _held(lesson, what):
    """What the file of a lesson hands out under the name ``what``; nothing if it has none."""
    name = f"{__package__}.lesson_{lesson:02}"
    module = importlib.import_module(name) if importlib.util.find_spec(name) else None
    return getattr(module, what, tuple)()


class Question(Live):
    """What all questions share: the page around the place for the answer.

    Parameters: ``question`` in words; ``hint`` what to think of.
    """

    def __init__(self, question, hint):
        super().__init__(question, SENTENCE)
        self.hint = str(hint)
        self._still = self._still_part(
            f"<p><b>{safe(self.title)}</b> {self._options_html()}<i>{SENTENCE}</i></p>"
        )

    def _options_html(self):
        return ""

    def _made(self):
        button = ipywidgets.Button(description="Check", tooltip="Check the answer")
        button.on_click(lambda _: self._answered())
        self._place, self._told = self._answer_place(), ipywidgets.HTML(_told_html(""))
        return self._live(self._place, button, self._told)

    def _answered(self):
        self._told.value = _told_html(self.check(self._place.value).words)


class NumberQuestion(Question):
    """A question whose answer is a number with a unit; ``number`` for short.

    Parameters: ``question`` in words; ``answer`` in ``unit``; ``tolerance`` in ``unit``, included;
    ``hint`` what to think of, said with the unit when the answer is not yet right. Lengths may be
    answered in any unit of length.

    >>> far = number("How far is 34 miles?", 54.7, "km", 0.5, hint="A mile is more than a km.")
    >>> far.check("55 km")
    Right: 54.7 km (34 mi).
    >>> far.check(34)
    Not yet. 34 is right in mi, not in km: write the unit, or convert.
    """

    def __init__(self, question, answer, unit, tolerance, *, hint=""):
        super().__init__(question, hint)
        self.answer = units.number("answer", answer)
        self.tolerance = units.number("tolerance", tolerance)
        self.unit, metres = str(unit), _LENGTHS_M.get(unit)
        lengths = {u: size / metres for u, size in _LENGTHS_M.items()} if metres else {}
        self.units = {self.unit: 1.0} | lengths

    def _answer_place(self):
        place = ipywidgets.Text(
            continuous_update=False,
            description=f"Your answer, {self.unit}",
            style={"description_width": "initial"},
        )
        place.observe(lambda _: self._answered(), "value")
        return place

    def check(self, answer):
        """Whether ``answer`` is right: a number in the question's unit, or text with any of its units.

        Returns Answered; its words say right, or not yet with a hint and the unit. Raises nothing.
        """
        value, unit = _read(answer)
        if value is None:
            return Answered(False, f"Not yet. Type a number, in {self._unit_words()}.")
        known = next((n for n in self.units if _spells(unit or self.unit, n)), None)
        if known is None:
            return Answered(False, f"Not yet. {unit} does not fit; answer in {self._unit_words()}.")
        if self._is_right(value * self.units[known]):
            return Answered(True, f"Right: {self._in_words()}.")
        return Answered(False, f"Not yet. {self._why(value, known, bool(unit))}")

    def _is_right(self, value):
        return abs(value - self.answer) <= self.tolerance + 1e-9 * abs(self.answer)

    def _why(self, value, unit, with_unit):
        """What helps after a wrong number: the unit, the sign, or the hint."""
        meant = value * self.units[unit]
        if not with_unit:
            for other, size in self.units.items():
                if self._is_right(value * size):
                    said = f"{value:g} is right in {other}, not in {self.unit}"
                    return f"{said}: write the unit, or convert."
        if self._is_right(-meant):
            return "The size is right; look at the sign."
        way = "small" if meant < self.answer else "large"
        hint = f" {self.hint}" if self.hint else ""
        return f"{value:g} {unit} is too {way}.{hint} The answer is in {self._unit_words()}."

    def _unit_words(self):
        return " or ".join(filter(None, (self.unit, _BESIDE.get(self.unit))))

    def _in_words(self):
        other = _BESIDE.get(self.unit)
        also = f" ({self.answer / self.units[other]:.3g} {other})" if other else ""
        return f"{self.answer:.4g} {self.unit}{also}"


class ChoiceQuestion(Question):
    """A question with one right answer among several; ``choice`` for short.

    Parameters: ``question`` in words; ``options`` the answers to choose from, or a mapping from each
    to what is said if it is chosen; ``answer`` the right one; ``hint`` what to think of.

    >>> high = choice("What adds more?", ["height", "paint"], "height", hint="Signals come from afar.")
    >>> high.check("paint")
    Not yet. Signals come from afar.
    """

    def __init__(self, question, options, answer, *, hint=""):
        self.options = tuple(str(option) for option in options)
        self.said = dict(options) if isinstance(options, dict) else {}
        self.answer = str(answer)
        if self.answer not in self.options:
            raise ValueError(f"answer is {answer!r}; it must be one of {', '.join(self.options)}.")
        super().__init__(question, hint)

    def _answer_place(self):
        return ipywidgets.RadioButtons(options=self.options, value=None, layout={"width": "auto"})

    def _options_html(self):
        return "".join(f"<br>– {safe(option)}" for option in self.options) + "<br>"

    def check(self, answer):
        """Whether ``answer``, the text of an option, is the right one.

        Returns Answered; its words say right, or not yet with a hint. Raises nothing.
        """
        given = next((o for o in self.options if _same(o, str(answer).strip())), None)
        if given is None:
            return Answered(False, f"Not yet. Choose one of: {'; '.join(self.options)}.")
        said = self.said.get(given) or ("" if given == self.answer else self.hint)
        lead = "Right" if given == self.answer else "Not yet"
        return Answered(given == self.answer, f"{lead}. {said}".strip())


number, choice = NumberQuestion, ChoiceQuestion
"""As lessons write them."""


def _read(answer):
    """(value, unit) of an answer; (None, "") if there is no number in it, whatever it is."""
    if isinstance(answer, str):
        both = _FEET_AND_INCHES.fullmatch(answer)
        if both and _value(both.group(2)) is not None:
            return 12 * int(both.group(1)) + _value(both.group(2)), "in"
        found = _TYPED.fullmatch(answer)
        value = _value(found.group(1)) if found else None
        return (None, "") if value is None else (value, found.group(2))
    try:
        value = math.nan if isinstance(answer, bool) else float(answer)
    except Exception:
        value = math.nan
    return (value, "") if math.isfinite(value) else (None, "")


def _value(text):
    """A typed number: 1,000 and 3,5 and 10 1/4 and a true minus included; None if it is none."""
    text = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", re.sub("[−–]", "-", text)).replace(",", ".")
    sign = -1 if text.strip().startswith("-") else 1
    try:
        value = float(sum(Fraction(part) for part in re.sub(r"^\s*[-+]\s*", "", text).split()))
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
    return sign * value if math.isfinite(value) else None


def _spells(written, unit):
    """Whether what is ``written`` is a spelling of a ``unit``."""
    lengths = (*spelled()["height"].items(), *spelled()["distance"].items())
    known = (unit, *_SPELLINGS.get(unit, ()), *(word for word, of in lengths if of == unit))
    return any(_same(written, word) for word in known)


def _same(one, other):
    """The same but for case, where case makes no difference of a million."""
    return one == other or one.casefold() == other.casefold() != "mw"


def _told_html(words):
    return (
        '<p role="status" aria-live="polite" style="min-height:1.5em;line-height:1.5;margin:0">'
        f"{safe(words)}</p>"
    )
