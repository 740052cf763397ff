"""House style: eight colours with one meaning each, doubled by marker or line style; text and lines.

Colours: M. Okabe and K. Ito, Color Universal Design (2008), told apart with any colour vision.
"""

import contextlib

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#6E6E6E"
"""Not one of the eight: for what is there but not in question."""
COPPER = "#B87333"
"""Not one of the eight: metal in a drawing; its shape says what it is."""

MEANING = {
    "forecast": BLUE,
    "antenna": ORANGE,
    "aim": VERMILION,
    "reading": GREEN,
    "truth": PURPLE,
    "air": SKY_BLUE,
    "ground": YELLOW,
    "limit": BLACK,
    "other": GREY,
}
"""What a colour stands for in every figure."""

ORANGE_TEXT = "#8A5F00"
"""Orange dark enough for words on white."""

AIM_TEXT = "#B85000"
"""Vermilion dark enough for words on white."""

OUTSIDE = "#808080"
"""What stands outside a picture, on the ground of a light notebook or of a dark one."""

PAPER = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.85}
"""What stands behind words that lie on lines."""

RC = {
    "figure.dpi": 100,
    "font.size": 11,
    "axes.titlesize": 12,
    "axes.titlelocation": "left",
    "axes.labelsize": 11,
    "xtick.labelsize": 11,
    "ytick.labelsize": 11,
    "legend.fontsize": 11,
    "lines.linewidth": 2.0,
    "lines.markersize": 7,
    "hatch.linewidth": 0.8,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#D9D9D9",
    "grid.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "font.family": ["DejaVu Sans"],
    "text.usetex": False,
    "text.parse_math": False,
    "svg.hashsalt": "signalshed",
}


@contextlib.contextmanager
def house():
    """The house style as a context manager, for whoever draws on an Axes of their own.

    Inside it nothing of the notebook's own style holds; after it, all of it as before.

    >>> with house():
    ...     matplotlib.rcParams["font.size"]
    11.0
    """
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(RC)
        yield


def new_figure(width_in=8.8, height_in=5.0):
    """An empty Figure of the house with a canvas of its own, outside pyplot.

    Parameters: ``width_in`` and ``height_in`` in inches, above 0; 100 pixels each on screen.

    >>> new_figure(8, 4).get_size_inches().round(6).tolist()
    [8.0, 4.0]
    """
    # A hair more, so that 4.6 x 100 is 460 pixels also where matplotlib cuts instead of rounding.
    size = (width_in * (1 + 1e-9), height_in * (1 + 1e-9))
    figure = Figure(figsize=size, dpi=RC["figure.dpi"], facecolor="white")
    FigureCanvasAgg(figure)
    return figure
