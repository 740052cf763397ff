"""What every live thing in a lesson shares: how a cell shows it, and what stays without a kernel."""

import gc
import itertools
import re
from importlib import resources

import ipywidgets

from ..markup import AS_IT_IS, paragraph, safe
from ..plots import style

_COUNT = itertools.count(1)

_SHOWN = {}
"""What stands under each cell: its id to (the run that showed it, what it showed)."""

ONCE_SHOWN = safe((resources.files(__package__) / "once_shown.js").read_text("utf-8").rstrip())
"""An onload attribute for whatever is in place when all is shown. Letters and arrows typed on a control
stay with it (to the notebook around it ``d d`` would mean: delete the cell, and an arrow on a list: go
to the next cell); a slider gets the name of its number box; a panel tells the size of its picture; and
a control that was moved and gets no answer for five seconds says so. Nothing else in a lesson is a
script."""

NO_LOST_WIDGET = (
    ".jp-OutputArea-child:has(+.jp-OutputArea-child .shed-still)"
    ">.jp-OutputArea-output.jupyter-widgets:not(:has(*)){display:none}"
)
"""In a saved notebook without its kernel JupyterLab says above what stays that a widget is lost; the
words that stay say what to do."""


CONTROLS = (
    '.shed-live{--jp-widgets-dropdown-arrow:url("data:image/svg+xml,%3Csvg '
    "xmlns='http://www.w3.org/2000/svg' viewBox='0 0 20 20'%3E%3Cpath d='m6 8 4 4 4-4' fill='none' "
    f"stroke='%23{style.OUTSIDE[1:]}' stroke-width='2'/%3E%3C/svg%3E\")}}"
    f".shed-live .noUi-handle{{border:2px solid {style.OUTSIDE}}}"
    ".shed-unset .noUi-handle{border-style:dashed}"
)
"""Arrows of lists and rims of handles, seen in a light and in a dark notebook; ipywidgets draws the
first in black and the second in pale grey. A handle that nobody has moved yet has a dashed rim."""


class Live:
    """A live widget, and the still HTML that a cell keeps of it: base of panels, questions and forms.

    Parameters: ``title`` names it; ``sentence`` says how to bring it to life. The still part is a
    second output of the cell, hidden while the widget lives: it is what a saved notebook shows
    without a kernel, and what an exported page shows. Widgets are made when they are first asked for,
    by ``_made``; what an earlier run of the same cell showed is closed, since ipywidgets keeps every
    widget that is not.
    """

    def __init__(self, title, sentence):
        self.title, self.sentence = str(title), sentence
        words = re.sub("[^a-z0-9]+", "-", self.title.lower()).strip("-")[:40]
        self._class = f"shed-still-{words}-{next(_COUNT)}"
        self._widget, self._still = None, ""

    @property
    def widget(self):
        """The live widget; made when it is first asked for."""
        if self._widget is None:
            self._widget = self._made()
        return self._widget

    def close(self):
        """End the widget and whatever hangs on it; shown again, it is made anew."""
        if self._widget is not None:
            _close(self._widget)
        self._widget = None

    def _hiding(self):
        """Style that hides the still part, to be sent inside the live one."""
        still = f".{self._class}"
        return f"{still},.jp-OutputArea-child:has({still}){{display:none}}"

    def _live(self, *parts):
        """The live part: the title, and ``parts``, widgets below it."""
        look = f'<style onload="{ONCE_SHOWN}">{self._hiding()}{CONTROLS}</style>'
        head = ipywidgets.HTML(f"{look}<b>{safe(self.title)}</b>")
        return ipywidgets.VBox([head, *parts]).add_class("shed-live")

    def _still_part(self, content, trouble=""):
        """The still HTML around ``content``, or ``trouble`` in its place."""
        names = f"shed-still {'shed-trouble ' if trouble else ''}{self._class} {AS_IT_IS}"
        inside = paragraph(trouble) if trouble else content
        return f'<div class="{names}"><style>{NO_LOST_WIDGET}</style>{inside}</div>'

    def _ipython_display_(self):
        from IPython.display import display

        _end_earlier(self)
        live = {**self.widget._repr_mimebundle_(), "text/plain": self.sentence}
        display(live, raw=True)
        display({"text/html": self._still, "text/plain": self.sentence}, raw=True)


def button(words, press, style=""):
    """A button as wide as its ``words`` that stays where it is and what it is, whatever comes of it.

    Parameters: ``words``; ``press`` a function of nothing; ``style`` of ipywidgets.

    >>> button("Save", print).description
    'Save'
    """
    made = ipywidgets.Button(description=words, button_style=style, layout={"width": "auto"})
    made.on_click(lambda _: press())
    return made


def _end_earlier(live):
    """Close what an earlier run of this cell showed, and remember what this one shows."""
    from IPython import get_ipython

    parent = getattr(get_ipython(), "get_parent", dict)()
    cell = parent.get("metadata", {}).get("cellId")
    if cell is None:
        return
    run = parent["header"]["msg_id"]
    before, shown = _SHOWN.get(cell, (run, []))
    if before != run:
        for other in shown:
            if other is not live:
                other.close()
        shown = []
        gc.collect()
    _SHOWN[cell] = (run, [*shown, live])


def _close(widget):
    """Close a widget with its children, its style and its layout."""
    for part in (*getattr(widget, "children", ()), getattr(widget, "style", None), widget.layout):
        if hasattr(part, "layout"):
            _close(part)
        elif part is not None:
            part.close()
    widget.close()
