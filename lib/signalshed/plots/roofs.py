"""Ten roofs: a chance as ten small houses, two rows of five, as many filled as the station comes to."""

import numpy as np

from ..units import number
from ..words import roofs_words, tenths

_HOUSE = ((0.0, 1.0), (0.0, 0.42), (0.5, 0.0), (1.0, 0.42), (1.0, 1.0))
"""Corners of one house, right and down, in its own size."""
_STEP, _ACROSS = 1.45, 5


def _corners():
    """Corners of all ten houses, (10, 5, 2), in houses right and down."""
    places = [(_STEP * (k % _ACROSS), _STEP * (k // _ACROSS)) for k in range(10)]
    return np.array([np.add(_HOUSE, place) for place in places])


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
