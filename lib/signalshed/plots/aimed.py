"""What turning an antenna does, in one picture: how many stations come, drawn large, the strip, and
under it the ropes of the same towers.
"""

from .. import survey
from .by_tower import FOOT, LEAST_PX, TowerRopes
from .picture import ordered
from .rope_lines import THICK, towers_of
from .strip_compact import CompactStrip

_PER_IN = 72
_HEAD_PX, _SHARE, _LEAST_PX, _BESIDE_PX = 28, 0.42, 74, 232
"""Of the count's line; the strip's share of the height and its least; of a count beside the strip."""
_FLAT_PX, _NO_STRIP_PX = 330, 200
"""Below this height the count stands beside the strip, below that there is no strip."""


class _Ropes(TowerRopes):
    """Ropes by tower in the letters of a panel, under a count in place of a title."""

    HOME, OVER = 206, "grey: overload; crossed: would come"

    def __init__(self, ax, site, top, flat):
        self.TOP, self.flat = top, flat
        self.LOOK = {**TowerRopes.LOOK, "levels": ("9 of 10", "5", "1 of 10"), "title": 20}
        self.LOOK |= {"title_y": 24 if flat else 14}
        self.LOOK |= {"key_x": _BESIDE_PX - 12, "key_y": top - 13} if flat else {}
        super().__init__(ax, site, _PER_IN)

    def _headline(self, *_):
        return self.come.replace(" stations", "\nstations") if self.flat else self.come

    @property
    def come(self):
        """How many wanted stations come, in words."""
        wanted = self.said.code[self.wanted]
        return f"{(wanted == THICK).sum()} of {wanted.size} stations come"


class AimPicture:
    """Count, strip and ropes on a whole figure; ``update`` moves them in place.

    Parameters: ``figure`` at least 7.5 inches wide; a low one gets a low strip, the lowest none;
    ``site`` a Site. ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> from .. import simulate
    >>> from . import style
    >>> picture = AimPicture(style.new_figure(8.8, 5.4), simulate.demo_site())
    >>> picture.update(survey.Setup("wire loop", "roof mast", heading_deg=38))
    '2 of 15 stations come (on 9 of 10 roofs like yours).'
    """

    def __init__(self, figure, site):
        figure.set_layout_engine("none")
        self.site, self.alt, self._put_up = site, "", None
        height = round(figure.get_size_inches()[1] * _PER_IN)
        flat = _NO_STRIP_PX <= height < _FLAT_PX
        left, top = (_BESIDE_PX, 0) if flat else (0, _HEAD_PX)
        lines_px = len(towers_of(site)) * LEAST_PX + FOOT
        share = min(height - top - lines_px, _SHARE * (height - top))
        foot = top + max(share, _LEAST_PX) * (height >= _NO_STRIP_PX)
        self.strip = None
        if foot > top:
            box = (left, top, foot)
            self.strip = CompactStrip(figure.add_subplot(), site, None, box, _PER_IN)
        self.ropes = _Ropes(figure.add_subplot(), site, foot, flat)
        strips = self.strip.artists if self.strip else ()
        self.artists = ordered((*strips, *self.ropes.artists))

    def update(self, setup):
        """Move everything to ``setup``, a survey.Setup; returns in words how many stations come."""
        received = survey.reception(self.site, setup)
        if self._put_up != (put_up := (setup.antenna, setup.mount)):
            best, _ = survey.aimed(self.site, survey.Setup(*put_up))
            self.ropes.choose(survey.reception(self.site, best))
            self._put_up = put_up
        self.alt = self.ropes.show(received, setup)
        if self.strip:
            self.alt = f"{self.strip.update(setup)} {self.alt}"
        return f"{self.ropes.come} (on 9 of 10 roofs like yours)."
