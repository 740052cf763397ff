"""The page of the paper TV: which strips lie there, one button, a TV that takes its time to settle."""

from importlib import resources

import ipywidgets

from .. import simulate
from ..markup import paragraph, safe
from ..simulate import paper_tv as tables
from .showing import Live, button

SENTENCE = "Run this cell (Shift+Enter) to switch the paper TV on."
_STYLE = (resources.files(__package__) / "paper_tv.css").read_text("utf-8")
_STYLE = f"<style>\n{_STYLE}</style>"
_CARD = (
    '<svg class="now" viewBox="0 0 340 200" aria-hidden="true"><rect width="340" height="200" '
    'fill="#4a5560"/><path d="M0 160H340M0 40H340M60 0V200M280 0V200" stroke="#9aa4ad"/>'
    '<path class="hand" d="M170 100L170 22" stroke="#e0b080" stroke-width="4"/></svg>'
)
_BLOCKS = (
    '<svg class="blocks" viewBox="0 0 340 200" aria-hidden="true">'
    '<path d="M20 20h60v40h-60zM120 110h90v50h-90zM240 60h70v40h-70zM60 140h40v40h-40z" '
    'fill="#d8d8d8"/></svg>'
)


def screen(look):
    """The TV's face for one ``look``, a simulate.paper_tv.Look, as HTML that settles in five seconds.

    >>> screen(None)[-6:]
    '</div>'
    """
    if look is None:
        return f'{_STYLE}<div class="paper-tv" role="img" aria-label="The TV is dark"></div>'
    old = 0.0 if look.old is None else look.old
    last = 0.0 if look.reading is None else look.reading
    steps = (("old", old), ("mid", old + 0.5 * (last - old)), ("near", old + 0.85 * (last - old)))
    told = "no signal" if look.reading is None else f"{last:g}"
    inside = "" if look.reading is None else _CARD + (_BLOCKS if look.picture == "blocks" else "")
    inside += "".join(f'<b class="{css}">{value:.0f}</b>' for css, value in steps)
    inside += f'<b class="now"{" style=font-size:28px" * (look.reading is None)}>{told}</b>'
    return f'{_STYLE}<div class="paper-tv" role="img" aria-label="{told}, {look.picture}">{inside}</div>'


class PaperTVPage(Live):
    """The paper TV of one table: card, pair, strips, antenna, station; Screw in, Scan, and the bet.

    Parameters: ``number`` of the card at first; ``pair`` of the envelopes. ``tv`` is a simulate.PaperTV,
    ``words`` what stands under it, as plain text.

    >>> page = PaperTVPage(2)
    >>> page.screw_in()
    >>> page.words
    '18:01, sun sets 20:00.'
    """

    def __init__(self, number=1, pair=1):
        super().__init__("Paper TV", SENTENCE)
        self._still = self._still_part(paragraph(SENTENCE))
        self._first = (number, pair)
        self._widget = self._made()

    def _made(self):
        """All controls, and the box that holds them; a new evening begins."""
        number, pair = self._first
        last = tables.PLAIN_CARDS * 2
        self.number = _box(ipywidgets.BoundedIntText(value=number, min=1, max=last), "TV card")
        self.pair = _box(ipywidgets.BoundedIntText(value=pair, min=1, max=6), "Envelopes, pair")
        self.strips = {
            s: ipywidgets.Checkbox(description=s, indent=False) for s in tables.STRIPS_DB
        }
        for strip in self.strips.values():
            strip.layout = ipywidgets.Layout(width="auto", margin="0 12px 0 0")
        self.antenna = ipywidgets.ToggleButtons(
            options=tables.ANTENNAS, style={"button_width": "7.5em"}
        )
        self.station = ipywidgets.ToggleButtons(options="ABCD", style={"button_width": "3em"})
        self.low, self.high = (
            _box(ipywidgets.BoundedFloatText(min=-40, max=40, step=0.5), name)
            for name in ("Y is better by at least, dB", "and at most, dB")
        )
        self._face, self._words = ipywidgets.HTML(), ipywidgets.HTML()
        all_of_it = self._live(*self._rows())
        for box in (self.number, self.pair):
            box.observe(lambda _: self.start(), "value")
        self.start()
        return all_of_it

    def _rows(self):
        buttons = [
            button("Screw in", self.screw_in, "primary"),
            button("Scan", self.scan),
            button("Bet, and open the envelopes", self.open),
        ]
        row = ipywidgets.HBox
        wrap = {"flex_flow": "row wrap"}
        return [
            row([self.number, self.pair], layout=wrap),
            row([ipywidgets.Label("Strips on the rail:"), *self.strips.values()], layout=wrap),
            row([ipywidgets.Label("Antenna:"), self.antenna], layout=wrap),
            row([ipywidgets.Label("Station:"), self.station], layout=wrap),
            row(buttons[:2]),
            self._face,
            self._words,
            row([self.low, self.high, buttons[2]], layout=wrap),
        ]

    def start(self):
        """A new evening with the card and the pair that are typed: full purse, dark TV."""
        self.tv = simulate.PaperTV(self.number.value, self.pair.value)
        self._show(None, f"{self.tv.clock}, sun sets 20:00. The TV is off.")

    def screw_in(self):
        """One look through the strips, antenna and station that are chosen."""
        self._try(lambda: self.tv.screw_in(self._lying(), self.antenna.value, self.station.value))

    def scan(self):
        """The list of stations, as the TV now keeps it."""
        self._try(lambda: self.tv.scan(self._lying(), self.antenna.value))

    def _lying(self):
        return [name for name, box in self.strips.items() if box.value]

    def _try(self, do):
        try:
            done = do()
        except ValueError as told:
            self._show(None, str(told))
            return
        now = f"{self.tv.clock}, sun sets 20:00."
        if isinstance(done, list):
            self._show(None, f"{now} In the list: {', '.join(done) or 'none'}.")
        else:
            self._show(done, now)

    def open(self):
        """The truth of the envelopes and the score of the bet; what had settled, look by look."""
        low, high, truth = self.low.value, self.high.value, self.tv.truth_db
        if low == high == 0 or low > high:
            self._show(
                None, "First bet: Y is better by at least and by at most so many dB (minus: worse)."
            )
            return
        named = low > 0 or high < 0
        lost = " The two are equal, and you named a winner." if named and not truth else ""
        seen = ", ".join("black" if k.reading is None else f"{k.reading:g}" for k in self.tv.looks)
        won = f"Score {simulate.score(low, high, truth):.1f}, the lowest wins.{lost}"
        card = f"The card: {self.tv.card.says}. Settled readings, in order: {seen or 'none'}."
        self._show(None, f"Y is {truth:+g} dB against X. {won} {card}")

    def _show(self, look, words):
        self.words = words
        self._face.value = screen(look)
        self._words.value = f'<div role="status">{safe(words)}</div>'


def _box(box, name):
    box.description, box.style = name, {"description_width": "initial"}
    box.layout.width = "auto"
    return box
