"""The one layout of all panels: title, controls in two columns, finding, picture, its account folded.

The notebook's pane is the ruler, so that all of it is in sight together in any window. The picture's
box depends on nothing that the kernel sends: nothing ever jumps.
"""

import ipywidgets

from ..markup import safe
from ..plots import style
from .controls import Choice, GuessChoice
from .showing import CONTROLS

CSS = """
.jp-NotebookPanel .jp-Notebook:has(.shed-panel){container:shed-pane/size}
.jp-OutputArea-child:has(>.jp-OutputArea-output .shed-panel)>.jp-OutputPrompt,
.jp-OutputArea-child:has(>.jp-OutputArea-output.shed-panel)>.jp-OutputPrompt{display:none}
.shed-panel{width:100%;max-width:960px;position:relative;overflow:hidden!important;margin:0;
box-sizing:border-box;padding-left:4px}
.shed-panel .widget-html,.shed-panel .widget-html-content,.shed-panel .widget-hbox{margin:0;
overflow:visible}
.shed-panel .shed-size,.shed-gone,.shed-silence{display:none}
.shed-head{height:26px;flex:none;align-items:center;overflow:hidden}
.shed-head .widget-html{flex:1 1 0;min-width:0;height:26px}
.shed-head b{display:block;line-height:26px;white-space:nowrap;overflow:hidden;text-overflow:ellipsis}
.shed-panel button.widget-button{height:22px;line-height:20px;width:auto;padding:0 8px;margin:2px;
flex:none}
.shed-controls{display:grid;grid-template-columns:repeat(auto-fit,minmax(max(230px,40%),1fr));
column-gap:12px;grid-auto-rows:30px;grid-auto-flow:row dense;flex:none;overflow:hidden}
.shed-row{display:flex;align-items:center;height:30px;min-width:0;overflow:hidden}
.shed-panel .shed-row>*{margin:0 2px;min-width:0;height:28px}
.shed-row .widget-inline-hbox{align-items:center}
.shed-row .widget-label:not(:empty){width:114px;flex:none;height:28px;white-space:normal;
text-align:left;
font-size:12px;line-height:13px;display:flex;align-items:center;overflow:hidden}
.shed-row .widget-text{width:176px;flex:none}.shed-row input[type=number],.shed-row input[type=text]{
padding:0 2px;min-width:0}
.shed-row .widget-hslider{flex:1 1 0;width:auto;padding-right:4px}
.shed-row .widget-dropdown{flex:1 1 0;width:auto}.shed-row select{font-size:12px;padding:0 16px 0 4px;
min-width:0;background-image:linear-gradient(45deg,transparent 50%,currentColor 50%),
linear-gradient(-45deg,transparent 50%,currentColor 50%);background-size:5px 5px;
background-position:calc(100% - 10px),calc(100% - 5px)}
.shed-row .widget-checkbox{flex:1 1 0;width:auto}.shed-row .widget-checkbox label{font-size:12px;
line-height:13px;
white-space:normal;display:flex;align-items:center;overflow:hidden}
.shed-asked,.shed-long{grid-column:1/-1}.shed-panel .shed-asked>.widget-dropdown{flex:0 1 420px}
.shed-panel .shed-turn{display:none}
.shed-said,.shed-said>.widget-html-content{display:contents}
.shed-words{order:1;flex:none;height:36px;margin:2px 0 0!important;line-height:18px;overflow:hidden;
font-size:13px}
.shed-box{order:2;flex:none;position:relative;width:100%;aspect-ratio:var(--shape);min-height:150px;
max-height:calc(100cqh - 92px - 30px*var(--rows))}
.shed-box img{position:absolute;inset:0;width:100%;height:100%;max-width:none;object-fit:contain}
.shed-guess{order:3;height:30px!important;flex:none;align-items:center;overflow:visible!important}
.shed-guess .widget-hslider{width:auto;flex:1 1 0;min-width:0;height:28px}
.shed-panel .shed-fold{order:4;flex:none;height:20px}.shed-fold summary{line-height:20px;
font-size:12px;cursor:pointer}
.shed-full{order:5;margin:2px 0!important;line-height:1.5;font-size:13px}
.shed-panel:not(:has(.shed-fold details[open])) .shed-full{display:none}
.shed-silent .shed-words,.shed-panel.jupyter-widgets-disconnected .shed-words,
.shed-panel:has([data-told]) .shed-words{visibility:hidden}
.shed-panel .shed-told{order:1;height:0;flex:none;z-index:2}
.shed-told p,.shed-gone,.shed-silence{position:absolute;left:0;right:0;height:36px;
margin:2px 0 0!important;
line-height:18px;font-size:13px;overflow:hidden;
padding-left:6px;box-sizing:border-box}
.jupyter-widgets-disconnected .shed-gone,.shed-silent .shed-silence{display:block}
.shed-panel.jupyter-widgets-disconnected::before,.shed-panel .jupyter-widgets-disconnected::before{
content:none!important}
.shed-controls.jupyter-widgets-disconnected,.shed-panel.jupyter-widgets-disconnected .shed-box{
opacity:.45}
@container shed-pane (max-width:720px){.shed-row select{font-size:11px}}
@container shed-pane (max-width:540px){.shed-panel{--rows:var(--rows-narrow)!important}}
@container shed-pane (max-height:450px){.shed-panel{--rows:var(--rows-flat)!important}
.shed-panel .shed-turn{display:flex}.shed-panel .shed-wide{grid-column:1/-1}
.shed-turned-0 .shed-row:not(.shed-page-0,.shed-asked,.shed-turn),
.shed-turned-1 .shed-row:not(.shed-page-1,.shed-asked,.shed-turn),
.shed-turned-2 .shed-row:not(.shed-page-2,.shed-asked,.shed-turn),
.shed-turned-3 .shed-row:not(.shed-page-3,.shed-asked,.shed-turn){display:none}}
"""
"""One style for every panel; where there is no notebook's pane, ``cqh`` means the window."""

_GONE = "This panel has lost its kernel: run the cell again (Shift+Enter), or reload a live page."
_SILENCE = "Nothing answers: wait; then run this cell again (Shift+Enter), or reload a live page."
_FOLD = "<details><summary>In full</summary></details>"
_WIDE = {"wide": 19, "long": 30}
"""A list with names of more letters takes both columns: ``wide`` where the pane is low, ``long`` in
any."""


class Stage:
    """The widgets of one showing of a panel.

    Parameters: ``panel`` whose values, words and picture it shows; it is told of moves by its
    ``moved(name, widget, raw)``, ``sized(text)``, ``reset``, ``place`` and ``show_me``.
    """

    def __init__(self, panel):
        self._panel = panel
        self.widgets = {name: c.widgets() for name, c in panel.controls.items()}
        for name, widgets in self.widgets.items():
            for widget, value in ((w, panel.values[name]) for w in widgets):
                widget.value = value
                widget.observe(lambda change, n=name: panel.moved(n, change), "value")
        self.reset_button = _button("Reset", "Back to the start", panel.reset)
        self.message, self.picture = ipywidgets.HTML(), ipywidgets.HTML()
        self.size = ipywidgets.Text(continuous_update=False)
        self.size.observe(lambda change: panel.sized(change.new), "value")
        self._pages = pages(panel.controls.values())
        self._turned = 0
        rows = self._rows()
        self.guess_widgets = self._guess_row(rows) if panel.asks else ()
        self.widget = self._whole(rows)

    def _rows(self):
        rows = []
        for number, page in enumerate(self._pages):
            for control in page:
                row = ipywidgets.HBox(self.widgets[control.name])
                wide = (f"shed-{name}" for name, n in _WIDE.items() if _is_wide(control, n))
                for name in ("shed-row", f"shed-page-{number}", *wide):
                    row.add_class(name)
                rows.append(row)
        if len(self._pages) > 1:
            self._turn = _button("", "Turn to the next controls", self._turn_page)
            row = ipywidgets.HBox([self._turn])
            row.add_class("shed-row").add_class("shed-turn")
            self._name_the_turn()
            rows.append(row)
        return rows

    def _turn_page(self):
        self.widget.remove_class(f"shed-turned-{self._turned}")
        self._turned = (self._turned + 1) % len(self._pages)
        self.widget.add_class(f"shed-turned-{self._turned}")
        self._name_the_turn()
        self._panel.tell(self._panel.trouble)

    def _name_the_turn(self):
        here, every = len(self._pages[self._turned]), sum(map(len, self._pages))
        self._turn.description = f"Other controls ({here} of {every} shown)"

    def _guess_row(self, rows):
        """The place for a guess, its buttons, and its rail: (box, rail or None)."""
        panel = self._panel
        box = panel.asks.place(panel.guess)
        place = _button("Place my guess", "Then the answer is shown", panel.place_typed)
        show = _button("Show me", "Show the answer without a guess", panel.show_me)
        row = ipywidgets.HBox([box, place, show])
        row.add_class("shed-row").add_class("shed-asked")
        rows.append(row)
        rail = None
        if not isinstance(panel.asks, GuessChoice):
            rail = panel.asks.rail(panel.asks.default if panel.guess is None else panel.guess)
            rail.observe(panel.guessing, "value")
            if panel.guess is None:
                rail.add_class("shed-unset")
        box.observe(panel.guessing, "value")
        return box, rail

    def _whole(self, rows):
        head = ipywidgets.HBox([ipywidgets.HTML(self._head_html()), self.reset_button])
        controls, fold = ipywidgets.Box(rows), ipywidgets.HTML(_FOLD)
        parts = [(head, "head"), (controls, "controls"), (self.message, "told")]
        parts += [(self.picture, "said")]
        if any(self.guess_widgets[1:]):
            self.guess_box = ipywidgets.HBox(self.guess_widgets[1:])
            parts += [(self.guess_box, "guess")]
        parts += [(fold, "fold"), (self.size, "size")]
        for widget, name in parts:
            widget.add_class(f"shed-{name}")
        whole = ipywidgets.VBox([widget for widget, _ in parts])
        for name in ("shed-live", "shed-panel", self._panel.css_class, "shed-turned-0"):
            whole.add_class(name)
        return whole

    def _head_html(self):
        panel = self._panel
        width, height = panel.size_in
        more = 2 * bool(panel.asks) - isinstance(panel.asks, GuessChoice)
        cells = len(panel.controls)
        rows = {
            "rows": _rows_of(panel.controls.values(), False, _WIDE["long"]) + more,
            "rows-narrow": cells + more,
            "rows-flat": max(_rows_of(page, len(self._pages) > 1) for page in self._pages) + more,
        }
        own = f"--shape:{width:g}/{height:g};" + "".join(f"--{k}:{v};" for k, v in rows.items())
        return (
            f"<style>{panel.hiding()}{CONTROLS}{CSS}.{panel.css_class}{{{own}}}</style>"
            f'<b title="{safe(panel.title)}">{safe(panel.title)}</b>'
        )

    def show(self, html, message_html):
        """Send ``html``, picture and words in one piece, and what there is to complain of."""
        # An old complaint goes before the new picture comes, never to stand beside it.
        self.message.value = message_html
        self.picture.value = html

    def along(self, left, right):
        """Lay the rail of the guess along the picture's axis, from ``left`` to ``right`` (shares)."""
        if any(self.guess_widgets[1:]):
            ends = f"calc({100 * (1 - right):.2f}% - 9px)", f"calc({100 * left:.2f}% - 9px)"
            self.guess_widgets[1].layout.margin = f"0 {ends[0]} 0 {ends[1]}"


def pages(controls):
    """``controls`` in groups that a low pane shows one at a time: all, or threes.

    >>> from .controls import Switch
    >>> [len(page) for page in pages([Switch(f"s{n}", "One") for n in range(9)])]
    [3, 3, 3]
    """
    controls = list(controls)
    if len(controls) <= 4:
        return [controls]
    return [controls[at : at + 3] for at in range(0, len(controls), 3)]


def _is_wide(control, letters):
    return isinstance(control, Choice) and max(map(len, control.options)) > letters


def _rows_of(page, with_turn, letters=_WIDE["wide"]):
    """Rows of two columns that a page takes: a wide control fills one, two others share one."""
    wide = sum(_is_wide(control, letters) for control in page)
    return wide + -(-(len(page) - wide + with_turn) // 2)


def message_html(sentence, turn):
    """The complaint that lies over the finding, marked by a bar; ``turn`` counts answers."""
    more = " The picture shows the last position that worked." if sentence else ""
    look = f"border-left:4px solid {style.VERMILION}" if sentence else "height:0;padding:0"
    dead = f'<p class="shed-silence" role="alert">{_SILENCE}</p><p class="shed-gone">{_GONE}</p>'
    name = " data-told" if sentence else ""
    told = f'<p role="alert"{name} data-turn="{turn}" style="{look}">{safe(sentence + more)}</p>'
    return told + dead


def _button(words, tooltip, press):
    made = ipywidgets.Button(description=words, tooltip=tooltip)
    made.on_click(lambda _: press())
    return made
