"""Figures for anyone: each takes results and draws them in the house style.

Called without ``ax`` a function makes a figure of its own and hands back a Picture, which a notebook
shows together with its alternative text. Called with ``ax`` it draws there and hands back a drawing
whose ``artists`` may be moved.
"""

from .accounts import Waterfall, waterfall
from .maps import places_of, plain_map
from .picture import Drawing, Picture, show
from .setups import ranking
from .strip import BearingStrip, bearing_strip

__all__ = [
    "BearingStrip",
    "Drawing",
    "Picture",
    "Waterfall",
    "bearing_strip",
    "places_of",
    "plain_map",
    "ranking",
    "show",
    "waterfall",
]
