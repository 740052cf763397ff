"""The one wiring of sliders to a picture and its words, for every lesson.

A panel is made of controls and of one drawing. It keeps one figure, moves what moves, and sends the
picture and the words together as one piece of HTML. The drawing knows no widgets; the panel knows no
physics; the stage is what a cell shows of it.
"""

import base64
import re
import threading
import traceback
from dataclasses import dataclass

from ..markup import safe
from . import guesses
from .canvas import Canvas, on_page
from .controls import Guess, GuessChoice
from .newest import Newest
from .showing import ONCE_SHOWN, Live
from .stage import Stage, message_html

SENTENCE = "Run this cell (Shift+Enter) to move the sliders."
"""What stands for a panel where nothing can be moved."""

FINDING_LETTERS = 120
"""A finding has at most so many letters: two lines of the smallest pane."""

_KEPT = f'onload="{ONCE_SHOWN}" '
_SENTENCE_ENDS = re.compile(r"(?<=[.!?])\s+(?=[^\sa-z])")


@dataclass(frozen=True)
class Words:
    """What a picture says: ``verdict``, with numbers and reason; ``alt``, the alternative text that
    stands for the picture; ``answer`` to the panel's question once it shows, the option or the numbers.

    The verdict's first sentence is the ``finding``, in bold above the picture; the rest, its
    ``account``, folds open. A first sentence of more than 120 letters is cut there, and then the
    account is the whole.

    >>> Words("Two of ten come. The hill is in the way.", "two marks").finding
    'Two of ten come.'
    """

    verdict: str
    alt: str
    answer: object = None

    @property
    def finding(self):
        """The first sentence, at most 120 letters."""
        first = _SENTENCE_ENDS.split(self.verdict, maxsplit=1)[0]
        if len(first) <= FINDING_LETTERS:
            return first
        short = first[: FINDING_LETTERS - 2]
        cut = max(short.rfind(mark) for mark in ("; ", ", ", ": ", ". "))
        return short[: cut if cut > FINDING_LETTERS // 3 else short.rfind(" ")] + " …"

    @property
    def account(self):
        """What the finding leaves out."""
        parts = _SENTENCE_ENDS.split(self.verdict, maxsplit=1)
        return self.verdict if len(parts[0]) > FINDING_LETTERS else "".join(parts[1:])


class Panel(Live):
    """Controls and a picture that follows them; the last line of a notebook cell shows it.

    Parameters: ``title`` in words; ``controls`` Slider, Choice and Switch, in order, and at most one
    Guess or GuessChoice; ``draw`` a function of the empty Figure that draws once and hands back
    ``(artists, move)``, where ``move(**values)`` takes one value per control by name, moves the
    artists and returns Words; ``size_in`` (width, height) of the figure in inches where there is room
    for it. A low or narrow pane asks for another size, and ``draw`` is called again with a figure of
    7.5 to 9.6 by 2.3 to 5.9 inches. With a guess ``move`` also takes ``guess`` and ``placed``, and
    must keep the answer out of picture and ``alt`` until it is placed; the panel keeps the verdict.
    A ValueError from ``move`` is shown as its sentence, and the picture stays at the last position
    that worked; any other exception is kept in ``broken``.

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

    def __init__(self, title, controls, draw, size_in=(8.8, 5.0)):
        super().__init__(title, SENTENCE)
        asks = [c for c in controls if isinstance(c, (Guess, GuessChoice))]
        if len(asks) > 1:
            raise ValueError(f"{title}: controls hold {len(asks)} guesses; a panel asks for one.")
        self.asks = asks[0] if asks else None
        self.controls = {c.name: c for c in controls if c is not self.asks}
        self.values = {c.name: c.default for c in self.controls.values()}
        self.guess, self.placed, self.size_in = None, guesses.opened(self), size_in
        self.words, self.trouble, self.broken, self.png = Words("", ""), "", None, b""
        self.css_class = self._class.replace("still", "stage")
        self._draw, self._box, self._turn = draw, None, 0
        self._lock, self._setting = threading.RLock(), False
        self._stage, self._canvas, self._newest = None, None, Newest(self._redraw)
        self._redraw()
        self._still = self._still_html()

    # ---- for lessons, tests and own notebooks ----------------------------------------------------

    @property
    def verdict(self):
        """What the picture says: the finding and its account."""
        return self.words.verdict

    @property
    def alt(self):
        """The alternative text of the picture."""
        return self.words.alt

    @property
    def stage(self):
        """The widgets, made when they are first asked for."""
        if self._stage is None:
            self._stage = Stage(self)
            self._send()
        return self._stage

    @property
    def widgets(self):
        """The widgets of each control by its name, made when they are first asked for."""
        return self.stage.widgets

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
            self.tell(str(refused))
            return
        self._take(checked)
        self._redraw()

    def reset(self):
        """Every control back to its default, and back to before the guess."""
        self.placed = guesses.opened(self)
        self._guessed(None)
        self.set(**{name: control.default for name, control in self.controls.items()})

    def place(self, guess):
        """Place a ``guess``, as if it had been typed: the answer is shown beside it.

        What is no guess is told in ``trouble``.
        """
        try:
            value = self.asks.given(guess)
        except ValueError as refused:
            self.tell(str(refused))
            return
        self._guessed(value)
        self.show_me()
        guesses.keep(self)

    def show_me(self):
        """Show the answer, guessed or not."""
        self.placed = True
        self._redraw()

    def close(self):
        """End the widgets, and let go of figure and pictures; shown again, all is made anew."""
        super().close()
        self._stage, self._canvas, self._box = None, None, None
        self.png, self._still = b"", ""

    # ---- the wiring ------------------------------------------------------------------------------

    def _made(self):
        if not self._still:
            self._redraw()
            self._still = self._still_html()
        return self.stage.widget

    def moved(self, name, change):
        """A widget of control ``name`` has a new value, ``change.new``: check it, have twin and
        picture follow."""
        if self._setting:
            return
        control, typed = self.controls[name], change.owner is self.widgets[name][0]
        raw = change.new if typed else control.on_slider(change.new)
        try:
            value = control.checked(raw)
        except ValueError as refused:
            self.tell(str(refused))
            return
        self._take({name: value}, change.owner)
        self._newest.ask()

    def guessing(self, change):
        """The box or the rail of the guess has a new value, ``change.new``; placed, it counts."""
        box = self.stage.guess_widgets[0]
        if self._setting:
            return
        try:
            typed = change.owner is box
            value = self.asks.given(change.new if typed else self.asks.on_slider(change.new))
        except ValueError as refused:
            self.tell(str(refused))
            return
        self._guessed(value, change.owner)
        self._newest.ask()

    def place_typed(self):
        """Place what stands in the guess's box."""
        self.place(self.stage.guess_widgets[0].value)

    def sized(self, text):
        """The page tells the size of the picture's box, ``text`` "width height scale": draw for it."""
        try:
            width, height, scale = (float(part) for part in text.split())
        except ValueError:
            return
        box = (width, height, scale)
        if box != self._box and min(width, height) >= 100 and 0.5 <= scale <= 4:
            self._box, self._canvas = box, None
            self._newest.ask()

    def _guessed(self, value, hand=None):
        """Keep a guess and show it in its box and on its rail, but for the one in the ``hand``."""
        self.guess = value
        if self._stage is None or self.asks is None:
            return
        box, rail = self.stage.guess_widgets
        none = None if isinstance(self.asks, GuessChoice) else ""
        shown = none if value is None else self.asks.shown(value)
        at_rail = self.asks.default if value is None else value
        self._put([(box, shown), (rail, at_rail)], hand)
        if rail is not None:
            (rail.add_class if value is None else rail.remove_class)("shed-unset")

    def _take(self, values, hand=None):
        """Keep new ``values`` and show them in every widget but the one in the learner's ``hand``:
        that one may have moved on, and must not be put back to where it was."""
        with self._lock:
            self.values = {**self.values, **values}
            if self._stage is not None:
                self._put([(w, v) for n, v in values.items() for w in self.widgets[n]], hand)

    def _put(self, pairs, hand):
        self._setting = True
        try:
            for widget, value in pairs:
                if widget is not None and widget is not hand:
                    widget.value = value
        finally:
            self._setting = False

    # ---- what is drawn ---------------------------------------------------------------------------

    def _redraw(self):
        """Draw the newest values; the only place where a drawing's complaints arrive."""
        with self._lock:
            try:
                words, png = self._drawn(self.placed)
            except ValueError as refused:
                self.tell(str(refused))
            except Exception as broken:
                self._keep(broken)
            else:
                self.words, self.png, self.trouble, self.broken = words, png, "", None
                self._send()

    def _drawn(self, placed):
        """Words and picture as they are now, with the answer or without."""
        if self._canvas is None:
            self._canvas = Canvas(self._draw, *self._size())
        more = {"guess": self.guess, "placed": placed} if self.asks else {}
        words = self._canvas.move(**self.values, **more)
        if self.asks and not placed:
            words = Words(self.asks.question, words.alt)
        return words, self._canvas.png()

    def _size(self):
        return on_page(*self._box) if self._box else (self.size_in, 100.0)

    def _keep(self, broken):
        """An exception of the drawing: kept, told in one line, and to its own author in full."""
        self.broken = broken
        self.tell(f"This position cannot be drawn ({type(broken).__name__}: {broken}).")
        if not str(getattr(self._draw, "__module__", "")).startswith("signalshed."):
            traceback.print_exception(broken)

    def tell(self, sentence):
        """Show a complaint in place of the finding; none with an empty ``sentence``."""
        self.trouble, self._turn = sentence, self._turn + 1
        if self._stage is not None:
            self._stage.message.value = message_html(sentence, self._turn)

    def _send(self):
        self._turn += 1
        if self._stage is None:
            return
        self._stage.show(self._live_html(), message_html(self.trouble, self._turn))
        if self.asks and self._canvas is not None and not isinstance(self.asks, GuessChoice):
            self._stage.along(*self._canvas.span(self.asks.low, self.asks.high))

    # ---- what is shown ---------------------------------------------------------------------------

    def hiding(self):
        """Style that hides the still picture while the panel lives."""
        return self._hiding()

    def _live_html(self):
        return (
            f'<p class="shed-words" role="status" aria-live="polite"><b>{safe(self.words.finding)}</b>'
            f'</p><div class="shed-box" data-turn="{self._turn}">'
            f'<img alt="{safe(self.alt)}" decoding="sync" {_KEPT}src="{_data(self.png)}"></div>'
            f'<p class="shed-full">{safe(self.words.account)}</p>'
        )

    def _still_html(self):
        """The picture at its defaults, for wherever no kernel runs; after a question its answer."""
        if self.trouble:
            return self._still_part("", self.trouble)
        if not self.asks:
            return self._still_part(self._figure_html(self.words, self.png, SENTENCE))
        figures = [self._figure_html(*self._drawn(placed), "") for placed in (False, True)]
        self._drawn(self.placed)
        after = f"<details><summary>After your guess</summary>{figures[1]}</details>"
        return self._still_part(f"{figures[0]}<p><i>{SENTENCE}</i></p>{after}")

    def _figure_html(self, words, png, more):
        width, height = (round(100 * inches) for inches in self.size_in)
        size = "max-width:100%;height:auto"
        whole = f"<b>{safe(words.finding)}</b> {safe(words.account)} <i>{more}</i>"
        return (
            f'<figure style="margin:0"><img alt="{safe(words.alt)}" width="{width}" '
            f'height="{height}" decoding="sync" style="{size}" src="{_data(png)}">'
            f"<figcaption>{whole}</figcaption></figure>"
        )


def _data(png):
    return f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"
