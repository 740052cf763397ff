"""Questions of a form: a label in words, a widget, and what an answer means.

What each form asks stands in ``questions.csv``, a row a question: which kind of answer, label, what
stands there at first, its ends, and the options of a list as ``words=meaning``, between upright strokes.
"""

import csv
import functools
import math
from importlib import resources

import ipywidgets

from ...markup import bullets, safe
from ...registers import typed
from ..showing import Live

SENTENCE = "Run this cell (Shift+Enter) to fill in the form."
"""What stands for a form where nothing can be typed."""

_LABEL_PX, _WIDTH_PX = 300, 640


class Mistakes(ValueError):
    """Answers that will not do: ``sentences``, one per answer.

    >>> print(Mistakes(["Height: 'nine' is not a number.", "Name: please type something."]))
    Height: 'nine' is not a number.
    Name: please type something.
    """

    def __init__(self, sentences):
        super().__init__("\n".join(sentences))


class Field:
    """One question: ``label``, ``widget``, and ``answer()``, its value or a ValueError in its words.

    ``shown`` is what stood there when the form was filled from its file, ``blank`` what stands there
    before; ``is_changed`` whether the widget says something else now.
    """

    def __init__(self, label, widget, read):
        self.label, self.widget, self._read = label, widget, read
        self.shown = self.blank = widget.value

    def show(self, value):
        """Fill in what a file says: text of text fields, a meaning of the others."""
        self.widget.value = self.shown = "" if value is None else value

    @property
    def is_changed(self):
        """Whether somebody changed it since it was filled in."""
        return self.widget.value != self.shown

    def answer(self):
        """The answer; ValueError if it will not do."""
        try:
            return self._read(self.widget.value)
        except ValueError as wrong:
            raise ValueError(f"{self.label}: {wrong}") from None


def _shape(label):
    return {
        "description": label,
        "style": {"description_width": f"{_LABEL_PX}px"},
        "layout": {"width": f"{_WIDTH_PX}px", "max_width": "100%"},
    }


def text(label, value="", needed=False):
    """A line of text. Parameters: ``label``; ``value`` to begin with; ``needed``: may not be empty.

    >>> text("Name", " roof ").answer()
    'roof'
    """

    def read(typed):
        tidy = " ".join(typed.split())
        if needed and not tidy:
            raise ValueError("please type something.")
        return tidy

    return Field(label, ipywidgets.Text(value=value, **_shape(label)), read)


def number(label, value="", low=-math.inf, high=math.inf, sign=""):
    """A number, typed with a decimal point or a decimal comma; None where it is left empty.

    Parameters: ``label``; ``value`` to begin with, text; ``low`` and ``high`` as far as it may go;
    ``sign`` that may follow it.

    >>> number("Height, metres", "9,5").answer()
    9.5
    """
    return quantity(label, value, functools.partial(_number, sign=sign), low=low, high=high)


def _number(typed, sign):
    tidy = typed.strip().replace("−", "-").removesuffix(sign).strip()
    if tidy.count(",") == 1 and "." not in tidy:
        tidy = tidy.replace(",", ".")
    try:
        value = float(tidy)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"{typed.strip()!r} is not a number.")
    return value


def quantity(label, value, read, needed=False, low=-math.inf, high=math.inf):
    """A quantity in whatever unit or words, read by a function of registers.typed; None where empty.

    Parameters: ``label``; ``value`` to begin with, text; ``read`` a function of the text; ``needed``:
    may not be empty; ``low`` and ``high`` as in ``number``.

    >>> from ...registers import typed
    >>> quantity("Height", "30 ft", typed.height_m).answer()
    9.144
    """

    def taken(text):
        if not text.strip():
            if needed:
                raise ValueError("please type something.")
            return None
        found = read(text)
        if not low <= found <= high:
            raise ValueError(f"{found:g} is not between {low:g} and {high:g}.")
        return found

    return Field(label, ipywidgets.Text(value=value, **_shape(label)), taken)


def area(label, value=""):
    """A text of several lines. Parameters: ``label``; ``value`` to begin with.

    >>> area("Sizes", "freq_mhz = 539").answer()
    'freq_mhz = 539'
    """
    return Field(label, ipywidgets.Textarea(value=value, rows=6, **_shape(label)), str)


def choice(label, pairs, value=None):
    """One of several. Parameters: ``label``; ``pairs`` of words and meaning; ``value`` a meaning.

    >>> choice("Amplifier", [("none", "none"), ("at the mast", "mast")], "mast").answer()
    'mast'
    >>> print(choice("Amplifier", [("none", None), ("at the mast", "mast")]).answer())
    None
    """
    may_be_none = any(meaning is None for _, meaning in pairs)  # To the widget None is no choice.
    options = [(words, "" if meaning is None else meaning) for words, meaning in pairs]
    value = options[0][1] if value is None else value
    widget = ipywidgets.Dropdown(options=options, value=value, **_shape(label))
    return Field(label, widget, lambda chosen: None if may_be_none and chosen == "" else chosen)


def tick(label, value=False):
    """Yes or no. Parameters: ``label``; ``value`` to begin with.

    >>> tick("It decodes ATSC 1.0", True).answer()
    True
    """
    layout = {"width": "auto", "margin": f"2px 2px 2px {_LABEL_PX + 4}px"}
    widget = ipywidgets.Checkbox(value=value, description=label, indent=False, layout=layout)
    return Field(label, widget, bool)


def asked(form, readers=None, options=None):
    """The questions of a form in their order, as questions.csv says them: a dict of Fields by name.

    Parameters: ``form`` roof, place, station, antenna or reading; ``readers`` a function of the text for
    each kind of quantity that a site reads its own way; ``options`` by name, pairs of words and meaning,
    of the lists that depend on a site or on facts.

    >>> asked("roof")["latitude"].label
    'Latitude (south: minus, or S)'
    """
    readers, rows = _READERS | (readers or {}), _questions()
    return {r["name"]: _field(r, readers, options or {}) for r in rows if r["form"] == form}


@functools.cache
def _questions():
    text = (resources.files(__package__) / "questions.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


_MEANS = {"": None, "yes": True, "no": False}
_SIGNS = {"db": "dB", "meter": "%"}
"""What may follow a number of that kind."""
_READERS = {axis: functools.partial(typed.degrees, axis=axis) for axis in ("latitude", "longitude")}
_READERS |= {
    kind: functools.partial(typed.quantity, kind=kind, usual=usual)
    for kind, usual in (("distance", "km"), ("power", "kw"), ("height", "m"))
}


def _field(row, readers, options):
    kind, label, start, needed = (row[k] for k in ("kind", "label", "start", "needed"))
    if kind in ("text", "area"):
        return text(label, start, bool(needed)) if kind == "text" else area(label, start)
    if kind == "tick":
        return tick(label, start == "yes")
    if kind == "several":
        widget = ipywidgets.SelectMultiple(options=options[row["name"]], **_shape(label))
        return Field(label, widget, list)
    if kind == "choice":
        written = (pair.split("=") for pair in row["options"].split("|") if pair)
        pairs = options.get(row["name"]) or [(w, _MEANS.get(m, m)) for w, m in written]
        return choice(label, pairs, next((m for _, m in pairs if str(m) == start), None))
    ends = float(row["low"] or -math.inf), float(row["high"] or math.inf)
    if kind in _SIGNS:
        return number(label, start, *ends, _SIGNS[kind])
    return quantity(label, start, readers[kind], bool(needed), *ends)


def answers(fields, only_changed=False):
    """All answers of a dict of Fields, by name; Mistakes with every answer that will not do.

    Parameters: ``fields``; ``only_changed`` True for those that were changed since they were filled in.

    >>> answers({"name": text("Name", "roof")})
    {'name': 'roof'}
    """
    asked = {n: field for n, field in fields.items() if field.is_changed or not only_changed}
    return dict(zip(asked, gathered(field.answer for field in asked.values()), strict=True))


def gathered(calls):
    """What each of ``calls``, functions of nothing, hands back; Mistakes with all they complain of.

    >>> gathered([text("Name", "roof").answer])
    ['roof']
    """
    found, wrong = [], []
    for call in calls:
        try:
            found.append(call())
        except ValueError as mistake:
            wrong += str(mistake).splitlines()
    if wrong:
        raise Mistakes(wrong)
    return found


class Form(Live):
    """What all forms share: a heading, a place for messages, what stays of it without a kernel.

    Parameters: ``title`` in words; ``fields`` whose labels stand wherever no kernel runs; ``widgets``
    from top to bottom. ``trouble`` holds the sentences of the last press, () if it went well, and
    ``said`` what it did.
    """

    def __init__(self, title, fields, widgets):
        super().__init__(title, SENTENCE)
        self.trouble, self.said = (), ""
        self._message = ipywidgets.HTML(self._message_html())
        self._widget = self._live(*widgets, self._message)
        asks = f"<b>{safe(self.title)}</b> <i>{SENTENCE}</i> It asks:"
        self._still = self._still_part(asks + bullets(field.label for field in fields))

    def close(self):
        """Nothing: what was typed into a form stays."""

    def attempt(self, action):
        """Run ``action``, which returns what it did in words; its complaints are told as sentences."""
        try:
            self.said, self.trouble = action(), ()
        except (ValueError, OSError) as wrong:
            self.said, self.trouble = "", tuple(str(wrong).splitlines())
        self._message.value = self._message_html()

    def _message_html(self):
        if not self.trouble:
            return f'<p role="status" aria-live="polite">{safe(self.said)}</p>'
        return f'<div role="alert">Not yet:{bullets(self.trouble)}</div>'
