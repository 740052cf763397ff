"""Words of a picture as stamps: set once, then put down at whole pixels.

Setting text glyph by glyph is most of what a moved picture costs, and finding out where its letters
start the rest; the same words in the same look are the same pixels wherever they stand.
"""

import math

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.text import Text

_MOST = 1000
"""Stamps kept at once; a few hundred bytes to some kilobytes each."""


class Stamps:
    """Sets the words of one ``renderer`` (a RendererAgg) from now on, and keeps what it has set.

    Every text lies on whole pixels, whether it is set for the first time or not, so that a picture
    never depends on what was drawn before it.
    """

    def __init__(self, renderer):
        self._renderer, self._kept, self._placed, self._heard = renderer, {}, {}, None
        self._gc = renderer.new_gc()
        renderer.draw_text = self.draw_text

    def draw(self, artist):
        """Draw an ``artist``; of plain words also where they start is remembered."""
        if type(artist) is not Text or artist.get_bbox_patch() or artist.get_clip_on():
            artist.draw(self._renderer)
        elif artist.get_visible() and artist.get_text():
            self._put(artist)

    def _put(self, text):
        at = text.get_transform().transform(text.get_unitless_position())
        if not np.isfinite(at).all():
            return
        right, down = round(at[0]), round(self._renderer.height - at[1])
        look = (text.get_text(), text.get_color(), hash(text.get_fontproperties()))
        key = (*look, text.get_rotation(), text.get_ha(), text.get_va(), text.get_alpha())
        if key not in self._placed:
            self._trim(self._placed)
            self._heard = []
            text.draw(self._renderer)
            said, self._heard = self._heard, None
            from_px = at[0], self._renderer.height - at[1]
            self._placed[key] = None not in said and [
                (round(x - from_px[0]), round(y - from_px[1]), stamp) for x, y, stamp in said
            ]
            if None in said:
                return
        if self._placed[key] is False:
            text.draw(self._renderer)
            return
        for x, y, stamp in self._placed[key]:
            self._press(self._gc, right + x, down + y, stamp)

    def draw_text(self, gc, x, y, s, prop, angle, ismath=False, mtext=None):
        """As RendererAgg.draw_text, with its parameters."""
        look = (gc.get_rgb(), gc.get_alpha(), float(angle), hash(prop))
        if ismath or gc.get_alpha() != 1 or not (math.isfinite(x) and math.isfinite(y)):
            RendererAgg.draw_text(self._renderer, gc, x, y, s, prop, angle, ismath, mtext)
            if self._heard is not None:
                self._heard.append(None)
            return
        key = (s, *look)
        if key not in self._kept:
            self._trim(self._kept)
            self._kept[key] = self._stamp(gc, s, prop, angle, mtext)
        if self._heard is None:
            self._press(gc, round(x), round(y), self._kept[key])
        else:
            self._heard.append((x, y, self._kept[key]))

    def _press(self, gc, x, y, stamp):
        left, up, image = stamp
        if image.size:
            self._renderer.draw_image(gc, x + left, self._renderer.height - y + up, image)

    def _trim(self, kept):
        if len(kept) >= _MOST:
            kept.clear()

    def _stamp(self, gc, s, prop, angle, mtext):
        """(pixels right of the anchor, pixels above it, RGBA from the lowest row up) of a text."""
        width, height, drop = self._renderer.get_text_width_height_descent(s, prop, False)
        left, top, right, under = (math.ceil(side) + 4 for side in (0, height, width, drop))
        if angle:
            left = top = right = under = math.ceil(math.hypot(width, height + drop)) + 4
        sheet = RendererAgg(left + right, top + under, self._renderer.dpi)
        plain = sheet.new_gc()
        plain.set_foreground(gc.get_rgb(), isRGBA=True)
        RendererAgg.draw_text(sheet, plain, left, top, s, prop, angle, False, mtext)
        inked = np.asarray(sheet.buffer_rgba())
        rows, columns = (np.flatnonzero(inked[..., 3].any(axis=a)) for a in (1, 0))
        if rows.size == 0:
            return 0, 0, inked[:0]
        image = inked[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        return columns[0] - left, top - rows[-1] - 1, np.ascontiguousarray(image[::-1])
