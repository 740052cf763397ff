"""Words of a picture as stamps: set once, then put down at whole pixels.

Setting text glyph by glyph is most of what a moved picture costs; the same words in the same look are
the same pixels wherever they stand.
"""

import math

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg

_MOST = 400
"""Stamps kept at once; a few hundred bytes to some kilobytes each."""


class Stamps:
    """Sets the words of one ``renderer`` (a RendererAgg) from now on, and keeps what it has set.

    Every text lies on whole pixels, whether it is set for the first time or not, so that a picture
    never depends on what was drawn before it.
    """

    def __init__(self, renderer):
        self._renderer, self._kept = renderer, {}
        renderer.draw_text = self.draw_text

    def draw_text(self, gc, x, y, s, prop, angle, ismath=False, mtext=None):
        """As RendererAgg.draw_text, with its parameters."""
        look = (gc.get_rgb(), gc.get_alpha(), float(angle), hash(prop))
        if ismath or gc.get_alpha() != 1 or not (math.isfinite(x) and math.isfinite(y)):
            RendererAgg.draw_text(self._renderer, gc, x, y, s, prop, angle, ismath, mtext)
            return
        key = (s, *look)
        if key not in self._kept:
            if len(self._kept) >= _MOST:
                self._kept.clear()
            self._kept[key] = self._stamp(gc, s, prop, angle, mtext)
        left, up, image = self._kept[key]
        if image.size:
            foot = self._renderer.height - round(y) + up
            self._renderer.draw_image(gc, round(x) + left, foot, image)

    def _stamp(self, gc, s, prop, angle, mtext):
        """(pixels right of the anchor, pixels above it, RGBA from the lowest row up) of a text."""
        width, height, drop = self._renderer.get_text_width_height_descent(s, prop, False)
        half = math.ceil(math.hypot(width, height + drop)) + 4
        sheet = RendererAgg(2 * half, 2 * half, self._renderer.dpi)
        plain = sheet.new_gc()
        plain.set_foreground(gc.get_rgb(), isRGBA=True)
        RendererAgg.draw_text(sheet, plain, half, half, s, prop, angle, False, mtext)
        inked = np.asarray(sheet.buffer_rgba())
        rows, columns = (np.flatnonzero(inked[..., 3].any(axis=a)) for a in (1, 0))
        if rows.size == 0:
            return 0, 0, inked[:0]
        image = inked[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        return columns[0] - half, half - rows[-1] - 1, np.ascontiguousarray(image[::-1])
