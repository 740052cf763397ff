"""Figures for anyone: each takes results and draws them in the house style.

Called without ``ax`` a function makes a figure of its own and hands back a Picture, which a notebook
shows together with its alternative text. Called with ``ax`` it draws there and hands back a drawing
whose ``artists`` may be moved.

==========  ===================================================================================
picture     ``Picture``, ``Drawing``; ``show``: a figure of your own with its words
strip       ``bearing_strip``, ``BearingStrip``: every station at its bearing, with its spare dB
maps        ``plain_map``; ``places_of``: the transmitter places as a table
profiles    ``terrain_profile``; ``sight_of``, ``Sight``, ``profile_picture``, ``ProfilePicture``
accounts    ``waterfall``, ``Waterfall``: the account of one station
patterns    ``pattern``, ``Pattern``: gain against direction
readings    ``meter_curve``, ``MeterPicture``; ``calibration``: forecasts against what came
setups      ``ranking``: setups side by side
reaches     ``reach``: how far an antenna reaches
==========  ===================================================================================
"""

from .accounts import Waterfall, waterfall
from .maps import places_of, plain_map
from .patterns import Pattern, pattern
from .picture import Drawing, Picture, show
from .profiles import ProfilePicture, Sight, profile_picture, sight_of, terrain_profile
from .reaches import reach
from .readings import MeterPicture, calibration, meter_curve
from .setups import ranking
from .strip import BearingStrip, bearing_strip

__all__ = [
    "BearingStrip",
    "Drawing",
    "MeterPicture",
    "Pattern",
    "Picture",
    "ProfilePicture",
    "Sight",
    "Waterfall",
    "bearing_strip",
    "calibration",
    "meter_curve",
    "pattern",
    "places_of",
    "plain_map",
    "profile_picture",
    "ranking",
    "reach",
    "show",
    "sight_of",
    "terrain_profile",
    "waterfall",
]
