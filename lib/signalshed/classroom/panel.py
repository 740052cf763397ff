"""The one wiring of sliders to a picture and its words, for every lesson.

A panel is made of controls and of one drawing. It keeps one figure, moves what moves, and sends the
picture and the verdict together as one piece of HTML. The drawing knows no widgets; the panel knows
no physics.
"""

import base64
import threading
from dataclasses import dataclass

import ipywidgets

from ..markup import safe
from ..plots import style
from .canvas import Canvas
from .controls import label_room_px
from .newest import Newest
from .showing import ONCE_SHOWN, Live

SENTENCE = "Run this cell (Shift+Enter) to move the sliders."
"""What stands for a panel where nothing can be moved."""

_KEPT = f'onload="{ONCE_SHOWN}" '

_LEGIBLE_PX = 560
"""A picture is not shown narrower than this; a narrow window scrolls it sideways."""

_ROOM_FOR_WORDS = """
.shed-verdict,.shed-message{line-height:1.5;margin:4px 0}
.shed-message{min-height:1.5em}
.shed-verdict{height:calc(1.5em*var(--lines));overflow-y:auto}
@media (max-width:1000px){.shed-message{min-height:3em}
.shed-verdict{height:calc(2.4em*var(--lines))}}
"""
"""Words keep their room whatever they say, so that nothing below them ever jumps."""


@dataclass(frozen=True)
class Words:
    """What a picture says: ``verdict``, shown under it, with numbers and reason; ``alt``, the
    alternative text that stands for the picture."""

    verdict: str
    alt: str


class Panel(Live):
    """Controls and a picture that follows them; the last line of a notebook cell shows it.

    Parameters: ``title`` in words; ``controls`` Slider, Choice and Switch, in order; ``draw`` a
    function of the empty Figure that draws once and hands back ``(artists, move)``, where
    ``move(**values)`` takes one value per control by name, moves the artists and returns Words;
    ``size_in`` (width, height) of the figure in inches, 100 pixels each; ``verdict_lines`` of room
    under it. A ValueError from ``move`` is shown as its sentence by the controls, and the picture
    stays at the last position that worked.

    >>> from signalshed.classroom import Slider
    >>> def draw(figure):
    ...     axes = figure.add_subplot(xlim=(0, 10), ylim=(0, 20), xlabel="length, m")
    ...     (line,) = axes.plot([0, 10], [0, 10])
    ...     def move(slope):
    ...         line.set_data([0, 10], [0, 10 * slope])
    ...         return Words(f"It rises by {10 * slope:g}.", f"a line from 0 to {10 * slope:g}")
    ...     return [line], move
    >>> panel = Panel("A line", [Slider("slope", "Slope", 0, 2, 1, step=0.1)], draw)
    >>> panel.set(slope=1.5)
    >>> panel.verdict
    'It rises by 15.'
    """

    def __init__(self, title, controls, draw, size_in=(8.8, 5.0), verdict_lines=4):
        super().__init__(title, SENTENCE)
        self.verdict_lines = int(verdict_lines)
        self.controls = {c.name: c for c in controls}
        self.values = {c.name: c.default for c in controls}
        self.words, self.trouble, self.png = Words("", ""), "", b""
        self._lock, self._setting = threading.RLock(), False
        self._canvas, self._newest = Canvas(draw, size_in), Newest(self._redraw)
        self._make_widgets()
        self._redraw()
        self._still = self._still_html()

    # ---- for lessons, tests and own notebooks ----------------------------------------------------

    @property
    def verdict(self):
        """The words under the picture."""
        return self.words.verdict

    @property
    def alt(self):
        """The alternative text of the picture."""
        return self.words.alt

    def set(self, **values):
        """Move controls by name, as if each had been typed, and draw at once.

        Parameters: ``values`` by the names of the controls. A value that is not allowed is told in
        ``trouble``, and nothing moves; an unknown name raises ValueError.
        """
        unknown = sorted(set(values) - set(self.controls))
        if unknown:
            known = ", ".join(self.controls)
            raise ValueError(f"No control is called {', '.join(unknown)}; there are {known}.")
        try:
            checked = {name: self.controls[name].checked(v) for name, v in values.items()}
        except ValueError as refused:
            self._tell(str(refused))
            return
        self._take(checked)
        self._redraw()

    def reset(self):
        """Every control back to its default."""
        self.set(**{name: control.default for name, control in self.controls.items()})

    # ---- the wiring ------------------------------------------------------------------------------

    def _make_widgets(self):
        room = label_room_px(self.controls.values())
        self.widgets = {name: c.widgets(room) for name, c in self.controls.items()}
        whole = {"width": "100%", "flex_flow": "row wrap"}
        rows = [ipywidgets.HBox(widgets, layout=whole) for widgets in self.widgets.values()]
        for row in rows:
            row.add_class("shed-row")
        for name, widgets in self.widgets.items():
            for widget in widgets:
                widget.observe(lambda change, n=name: self._moved(n, change), "value")
        self.reset_button = ipywidgets.Button(description="Reset", tooltip="Back to the start")
        self.reset_button.on_click(lambda _: self.reset())
        self._message = ipywidgets.HTML(_message_html(""))
        self._picture = ipywidgets.HTML(layout={"width": "auto", "overflow": "auto"})
        top = ipywidgets.HBox([ipywidgets.HTML(self._heading_html()), self.reset_button])
        top.layout.justify_content = "space-between"
        width_px = round(100 * self._canvas.figure.get_size_inches()[0])
        self.widget = ipywidgets.VBox(
            [top, *rows, self._message, self._picture], layout={"max_width": f"{width_px + 8}px"}
        )
        self.widget.add_class("shed-live")
        self.widget.add_class("shed-panel")

    def _moved(self, name, change):
        """One widget has a new value: check it, keep its twin in step, have the picture follow."""
        if self._setting:
            return
        control, typed = self.controls[name], change.owner is self.widgets[name][0]
        raw = change.new if typed else control.on_slider(change.new)
        try:
            value = control.checked(raw)
        except ValueError as refused:
            self._tell(str(refused))
            return
        self._take({name: value}, change.owner)
        self._newest.ask()

    def _take(self, values, hand=None):
        """Keep new ``values`` and show them in every widget but the one in the learner's ``hand``:
        that one may have moved on, and must not be put back to where it was."""
        with self._lock:
            self.values = {**self.values, **values}
            self._setting = True
            try:
                for name, value in values.items():
                    for widget in self.widgets[name]:
                        if widget is not hand:
                            widget.value = value
            finally:
                self._setting = False

    def _redraw(self):
        """Draw the newest values; the only place where a drawing's complaints arrive."""
        with self._lock:
            try:
                words = self._canvas.move(**self.values)
                png = self._canvas.png()
            except ValueError as refused:
                self._tell(str(refused))
            except Exception as broken:
                self._tell(f"This position cannot be drawn ({type(broken).__name__}: {broken}).")
            else:
                self.words, self.png = words, png
                # An old complaint goes before the new picture comes, never to stand beside it.
                self._tell("")
                self._picture.value = self._live_html()

    def _tell(self, sentence):
        self.trouble = sentence
        self._message.value = _message_html(sentence)

    # ---- what is shown ---------------------------------------------------------------------------

    def _heading_html(self):
        return f"<style>{self._hiding()}{_ROOM_FOR_WORDS}</style><b>{safe(self.title)}</b>"

    def _img(self, more=""):
        width, height = (round(100 * inches) for inches in self._canvas.figure.get_size_inches())
        data = base64.b64encode(self.png).decode("ascii")
        size = f"max-width:100%;min-width:{min(width, _LEGIBLE_PX)}px;height:auto"
        return (
            f'<img alt="{safe(self.alt)}" width="{width}" height="{height}" decoding="sync" '
            f'style="{size}" {more}src="data:image/png;base64,{data}">'
        )

    def _live_html(self):
        return (
            f'{self._img(_KEPT)}<p class="shed-verdict" role="status" '
            f'aria-live="polite" style="--lines:{self.verdict_lines}">{safe(self.verdict)}</p>'
        )

    def _still_html(self):
        """The picture at its defaults, for wherever no kernel runs."""
        caption = f"<figcaption>{safe(self.verdict)} <i>{SENTENCE}</i></figcaption>"
        picture = f'<figure style="margin:0">{self._img()}{caption}</figure>'
        return self._still_part(picture, self.trouble)


def _message_html(sentence):
    """The line for complaints, marked by a bar; its room is always kept."""
    more = " The picture shows the last position that worked." if sentence else ""
    bar = f' style="border-left:4px solid {style.VERMILION};padding-left:6px"' if sentence else ""
    return f'<p class="shed-message" role="alert"{bar}>{safe(sentence + more)}</p>'
