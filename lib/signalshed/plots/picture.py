"""A figure together with the words that stand for it, so that nobody is left without."""

import base64
import io
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg

from .. import tables
from ..markup import safe
from ..units import check
from . import style


class Picture:
    """A ``figure`` and its alternative text ``alt``; a notebook shows both.

    >>> Picture(style.new_figure(4, 3), "an empty page")
    <picture: an empty page>
    """

    def __init__(self, figure, alt):
        self.figure = figure
        self.alt = str(alt)

    def png(self, dpi=150):
        """The figure as PNG bytes, the same bytes for the same figure.

        Parameters: ``dpi``, pixels per inch of the figure, above 0.

        >>> Picture(style.new_figure(4, 3), "empty").png(50)[1:4]
        b'PNG'
        """
        figure, canvas, before = self.figure, self.figure.canvas, self.figure.dpi
        with style.house(), io.BytesIO() as out:
            try:  # savefig would draw everything twice
                figure.dpi = float(dpi)
                FigureCanvasAgg(figure).print_png(out, metadata={"Software": None})
            finally:
                figure.dpi = before
                figure.set_canvas(canvas)
            return out.getvalue()

    def save(self, path, size=None):
        """Write the figure as a PNG file, at once or not at all; returns the Path.

        Parameters: ``path`` of the file, ending in .png; ``size`` (width, height) in pixels, None for
        that of the figure at 150 dots per inch. Raises tables.CannotSave if it cannot be saved.

        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as room:
        ...     Picture(style.new_figure(4, 3), "empty").save(f"{room}/still.png", (640, 360)).name
        'still.png'
        """
        path = Path(path)
        if path.suffix.lower() != ".png":
            raise ValueError(f"path is {str(path)!r}; a picture's file must end in .png.")
        dpi = 150.0
        if size is not None:
            width, height = (int(check("size", n, low=16, high=10_000)) for n in size)
            wide = self.figure.get_size_inches()[0]
            self.figure.set_size_inches(wide, wide * height / width)
            dpi = (width + 0.01) / wide  # what the canvas cuts down to whole pixels stays whole
        tables.write_atomic(path, self.png(dpi))
        return path

    def img(self, dpi=150):
        """The figure as one HTML ``<img>`` with its alternative text and no outside request.

        Parameters: ``dpi`` as in ``png``; the width on screen stays that of the figure.

        >>> Picture(style.new_figure(4, 3), "<b>").img(50)[:27]
        '<img alt="&lt;b&gt;" width='
        """
        width = round(self.figure.get_size_inches()[0] * style.RC["figure.dpi"])
        data = base64.b64encode(self.png(dpi)).decode("ascii")
        return (
            f'<img alt="{safe(self.alt)}" width="{width}" '
            f'style="max-width:100%;height:auto" src="data:image/png;base64,{data}">'
        )

    def __repr__(self):
        return f"<picture: {self.alt}>"


def show(figure, alt):
    """A figure of your own as a Picture: a notebook shows it with its alternative text.

    Parameters: ``figure`` a matplotlib Figure; ``alt`` one to three sentences that carry its numbers.

    >>> show(style.new_figure(4, 3), "gain against height: 3 dB more at 9 m").alt
    'gain against height: 3 dB more at 9 m'
    """
    return Picture(figure, alt)


def drawn(ax, size_in, draw, *state):
    """What every plot function hands back: its drawing on ``ax``, or a Picture of its own.

    Parameters: ``ax`` an Axes or None; ``size_in`` (width, height) in inches of an own figure;
    ``draw`` a function of an Axes that returns a drawing with ``alt`` and ``artists``; ``state`` what
    the drawing is then updated to, if anything.
    """
    with style.house():
        own = style.new_figure(*size_in) if ax is None else None
        if own:
            own.set_layout_engine("constrained")
        drawing = draw(own.add_subplot() if own else ax)
        if state:
            drawing.update(*state)
        return Picture(own, drawing.alt) if own else drawing


def fill_figure(ax, left=0.0, foot=0.0, right=0.0, top=0.0):
    """Move ``ax`` to fill its figure but for these margins, inches: no layout engine moves it again.

    Returns the (width, height) of what it then covers, inches.
    """
    width, height = ax.figure.get_size_inches()
    ax.figure.set_layout_engine("none")
    inner = width - left - right, height - foot - top
    ax.set_position([left / width, foot / height, inner[0] / width, inner[1] / height])
    return inner


def ordered(artists):
    """The ``artists`` that move as a tuple, laid over all that stays, each over the one before.

    So a picture whose moving part is drawn onto a kept background looks like one drawn as a whole.
    """
    for k, artist in enumerate(artists):
        artist.set_zorder(5 + k / 100)
    return tuple(artists)


class Drawing:
    """What a plot left on an Axes: the moving ``artists``, back to front, and the words ``alt``."""

    def __init__(self, artists=(), alt=""):
        self.artists = tuple(artists)
        self.alt = alt
