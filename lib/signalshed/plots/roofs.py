"""Ten roofs: a chance as ten small houses, two rows of five, as many filled as the station comes to."""

import numpy as np
from matplotlib.collections import PolyCollection

from ..units import number
from ..words import roofs_words, tenths
from . import style
from .picture import Drawing, drawn

SIZE_IN = (2.7, 0.44)
HOUSE = ((0.0, 1.0), (0.0, 0.42), (0.5, 0.0), (1.0, 0.42), (1.0, 1.0))
"""Corners of one house, right and down, in its own size."""
_STEP, _ACROSS, _WORDS = 1.45, 5, -11.0


def _corners():
    """Corners of all ten houses, (10, 5, 2), in houses right and down."""
    places = [(_STEP * (k % _ACROSS), _STEP * (k // _ACROSS)) for k in range(10)]
    return np.array([np.add(HOUSE, place) for place in places])


def ten_roofs(chance, ax=None, words=True):
    """A chance as ten roofs: a Picture, or a Drawing on your own ``ax``.

    Parameters: ``chance`` 0 to 1, that a roof like this one locks the station for 90 % of the time;
    ``ax`` an Axes or None for a figure of its own; ``words`` whether "7 of 10" stands before them.

    >>> ten_roofs(0.71).alt
    '7 of 10 roofs like yours.'
    """
    filled, text = tenths(chance), roofs_words(chance)

    def draw(axes):
        axes.figure.set_layout_engine("none")
        axes.set_position([0, 0, 1, 1])
        axes.set_axis_off()
        ink = style.MEANING["limit"]
        faces = [ink if k < filled else "none" for k in range(10)]
        houses = PolyCollection(_corners(), facecolors=faces, edgecolors=ink, linewidths=0.9)
        axes.add_collection(houses)
        right = _STEP * (_ACROSS - 1) + 1
        low = _WORDS if words else -0.3
        axes.set(xlim=(low, right + 0.3), ylim=(_STEP + 1.3, -0.3), aspect="equal", anchor="E")
        label = axes.text(-0.7, (_STEP + 1) / 2, text if words else "", ha="right", va="center")
        return Drawing((houses, label), f"{text} roofs like yours.")

    return drawn(ax, SIZE_IN, draw)


def ten_roofs_svg(chance, height_px=22):
    """A chance as ten roofs inside a line of HTML: words, then a small drawing in the text's own ink.

    Parameters: ``chance`` 0 to 1; ``height_px`` of the drawing, above 0. Whoever listens hears the words
    once, with what they mean. Returns HTML text.

    >>> ten_roofs_svg(0.71).count("<polygon"), "7 of 10 roofs like yours" in ten_roofs_svg(0.71)
    (10, True)
    """
    filled, text = tenths(chance), roofs_words(chance)
    high = number("height_px", height_px, above=0)
    wide, tall = _STEP * (_ACROSS - 1) + 1.2, _STEP + 1.2
    houses = "".join(
        f'<polygon points="{" ".join(f"{x:.2f},{y:.2f}" for x, y in house)}"'
        + ("/>" if k < filled else ' fill="none"/>')
        for k, house in enumerate(_corners())
    )
    return (
        f'<span role="img" aria-label="{text} roofs like yours" style="white-space:nowrap">{text} '
        f'<svg width="{high * wide / tall:.0f}" height="{high:.0f}" '
        f'viewBox="-0.1 -0.1 {wide:.2f} {tall:.2f}" aria-hidden="true" style="vertical-align:middle" '
        f'fill="currentColor" stroke="currentColor" stroke-width="0.11">{houses}</svg></span>'
    )
