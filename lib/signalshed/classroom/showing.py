"""What every live thing in a lesson shares: how a cell shows it, and what stays without a kernel."""

import itertools
import re

from ..markup import paragraph, safe

_COUNT = itertools.count(1)

ONCE_SHOWN = safe(
    """const p=this.closest('.shed-live');if(p&&!p.dataset.kept){p.dataset.kept='1';
p.addEventListener('keydown',e=>{if((e.key.length==1||e.key.startsWith('Arrow'))&&
!e.ctrlKey&&!e.metaKey&&!e.altKey)e.stopPropagation()});
p.querySelectorAll('.shed-row').forEach(r=>{const h=r.querySelector('.noUi-handle');
if(h)h.setAttribute('aria-label',r.querySelector('label').textContent)})}"""
)
"""An onload attribute for whatever is in place when all is shown: letters and arrows
typed on a control stay with it (to the notebook around it ``d d`` would mean: delete the cell, and an
arrow on a list: go to the next cell), and a slider gets the name of its number box. Nothing else in a
lesson is a script."""

NO_LOST_WIDGET = (
    ".jp-OutputArea-child:has(+.jp-OutputArea-child .shed-still)"
    ">.jp-OutputArea-output.jupyter-widgets:not(:has(*)){display:none}"
)
"""In a saved notebook without its kernel JupyterLab says above what stays that a widget is lost; the
words that stay say what to do."""


class Live:
    """A live widget, and the still HTML that a cell keeps of it: base of panels and questions.

    Parameters: ``title`` names it; ``sentence`` says how to bring it to life. The still part is a
    second output of the cell, hidden while the widget lives: it is what a saved notebook shows
    without a kernel, and what an exported page shows.
    """

    def __init__(self, title, sentence):
        self.title, self.sentence = str(title), sentence
        words = re.sub("[^a-z0-9]+", "-", self.title.lower()).strip("-")[:40]
        self._class = f"shed-still-{words}-{next(_COUNT)}"
        self.widget, self._still = None, ""

    def _hiding(self):
        """Style that hides the still part, to be sent inside the live one."""
        still = f".{self._class}"
        return f"{still},.jp-OutputArea-child:has({still}){{display:none}}"

    def _still_part(self, content, trouble=""):
        """The still HTML around ``content``, or ``trouble`` in its place."""
        names = f"shed-still {'shed-trouble ' if trouble else ''}{self._class}"
        inside = paragraph(trouble) if trouble else content
        return f'<div class="{names}"><style>{NO_LOST_WIDGET}</style>{inside}</div>'

    def _ipython_display_(self):
        from IPython.display import display

        live = {**self.widget._repr_mimebundle_(), "text/plain": self.sentence}
        display(live, raw=True)
        display({"text/html": self._still, "text/plain": self.sentence}, raw=True)
