"""Questions of a form: a label in words, a widget, and what an answer means."""

import math

import ipywidgets

from ...markup import bullets, safe
from ..showing import ONCE_SHOWN, Live

SENTENCE = "Run this cell (Shift+Enter) to fill in the form."
"""What stands for a form where nothing can be typed."""

_LABEL_PX, _WIDTH_PX = 300, 640
_DOT = "data:image/gif;base64,R0lGODlhAQABAAAAACwAAAAAAQABAAA="
_KEYS_STAY = f'<img alt="" width="1" height="1" src="{_DOT}" onload="{ONCE_SHOWN}">'
"""An invisible dot: when it is there, letters typed on a control stay inside the form."""


class Mistakes(ValueError):
    """Answers that will not do: ``sentences``, one per answer.

    >>> Mistakes(["Height: 'nine' is not a number."]).sentences
    ("Height: 'nine' is not a number.",)
    """

    def __init__(self, sentences):
        self.sentences = tuple(sentences)
        super().__init__("\n".join(self.sentences))


class Field:
    """One question: ``label``, ``widget``, and ``answer()``, its value or a ValueError in its words.

    ``shown`` is what stood there when the form was filled from its file; ``is_changed`` whether the
    widget says something else now.
    """

    def __init__(self, label, widget, read):
        self.label, self.widget, self._read = label, widget, read
        self.shown = widget.value

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


def number(label, value="", needed=False, low=-math.inf, high=math.inf, sign=""):
    """A number, typed with a decimal point or a decimal comma; None where it is left empty.

    Parameters: ``label``; ``value`` to begin with, text; ``needed``: may not be empty; ``low`` and
    ``high`` as far as it may go; ``sign`` that may follow it.

    >>> number("Height, metres", "9,5").answer()
    9.5
    """

    def read(typed):
        tidy = typed.strip().replace("−", "-").removesuffix(sign).strip()
        if not tidy:
            if needed:
                raise ValueError("please type a number.")
            return None
        if tidy.count(",") == 1 and "." not in tidy:
            tidy = tidy.replace(",", ".")
        return _within(typed.strip(), tidy, low, high)

    return Field(label, ipywidgets.Text(value=value, **_shape(label)), read)


def quantity(label, value, read, needed=False, low=-math.inf, high=math.inf):
    """A quantity in whatever unit or words, read by a function of registers.typed; None where empty.

    Parameters: ``label``; ``value`` to begin with, text; ``read`` a function of the text; ``needed``;
    ``low`` and ``high`` as in ``number``.

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


def several(label, names, value=()):
    """Some of several. Parameters: ``label``; ``names`` to choose from; ``value`` those chosen.

    >>> several("It may live on", ["mast", "attic"], ["attic"]).answer()
    ['attic']
    """
    widget = ipywidgets.SelectMultiple(options=list(names), value=tuple(value), **_shape(label))
    return Field(label, widget, list)


def area(label, value="", rows=6):
    """A text of several lines. Parameters: ``label``; ``value``; ``rows`` of it to be seen.

    >>> area("Sizes", "freq_mhz = 539").answer()
    'freq_mhz = 539'
    """
    return Field(label, ipywidgets.Textarea(value=value, rows=rows, **_shape(label)), str)


def button(label, action, style=""):
    """A button that stays where it is and what it is, whatever comes of it.

    Parameters: ``label``; ``action`` a function of nothing; ``style`` of ipywidgets.

    >>> button("Save", print).description
    'Save'
    """
    made = ipywidgets.Button(description=label, button_style=style, layout={"width": "auto"})
    made.on_click(lambda _: action())
    return made


def _within(typed, tidy, low, high):
    try:
        value = float(tidy)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"{typed!r} is not a number.")
    if not low <= value <= high:
        ends = f"between {low:g} and {high:g}" if low > -math.inf else f"at most {high:g}"
        raise ValueError(f"{value:g} is not {ends}.")
    return value


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


def answers(fields, only_changed=False):
    """All answers of a dict of Fields, by name; Mistakes with every answer that will not do.

    Parameters: ``fields``; ``only_changed`` True for those that were changed since they were filled in.

    >>> answers({"name": text("Name", "roof")})
    {'name': 'roof'}
    """
    found, wrong = {}, []
    for name, field in fields.items():
        if only_changed and not field.is_changed:
            continue
        try:
            found[name] = field.answer()
        except ValueError as mistake:
            wrong.append(str(mistake))
    if wrong:
        raise Mistakes(wrong)
    return found


class Form(Live):
    """What all forms share: a heading, a place for messages, what stays of it without a kernel.

    Parameters: ``title`` in words; ``questions`` the labels, for wherever no kernel runs; ``widgets``
    from top to bottom. ``trouble`` holds the sentences of the last press, () if it went well, and
    ``said`` what it did.
    """

    def __init__(self, title, questions, widgets):
        super().__init__(title, SENTENCE)
        self.trouble, self.said = (), ""
        self._message = ipywidgets.HTML(self._message_html())
        head = f"<style>{self._hiding()}</style><b>{safe(self.title)}</b>{_KEYS_STAY}"
        self._widget = ipywidgets.VBox([ipywidgets.HTML(head), *widgets, self._message])
        self._widget.add_class("shed-live")
        asks = f"<b>{safe(self.title)}</b> <i>{SENTENCE}</i> It asks:"
        self._still = self._still_part(asks + bullets(questions))

    def close(self):
        """Nothing: what was typed into a form stays."""

    def attempt(self, action):
        """Run ``action``, which returns what it did in words; its complaints are told as sentences."""
        try:
            self.said, self.trouble = action(), ()
        except Mistakes as wrong:
            self.said, self.trouble = "", wrong.sentences
        except (ValueError, OSError) as wrong:
            self.said, self.trouble = "", tuple(str(wrong).splitlines())
        self._message.value = self._message_html()

    def _message_html(self):
        if not self.trouble:
            return f'<p role="status" aria-live="polite">{safe(self.said)}</p>'
        return f'<div role="alert">Not yet:{bullets(self.trouble)}</div>'
