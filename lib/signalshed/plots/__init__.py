"""Figures for anyone: each takes results and draws them in the house style.

Called without ``ax`` a function makes a figure of its own and hands back a Picture, which a notebook
shows together with its alternative text. Called with ``ax`` it draws there and hands back a drawing
whose ``artists`` may be moved.

==========  ===================================================================================
picture     ``Picture``, ``Drawing``; ``show``: a figure of your own with its words
strip       ``bearing_strip``, ``BearingStrip``: every station at its bearing, with its spare dB
            ``compact_strip``, ``CompactStrip``: half as high, with a letter for each tower
ropes       ``ropes``, ``StationRopes``: how far each station gets toward home
            ``tower_ropes``, ``TowerRopes``: the same by tower, under a compact strip
aimed       ``AimPicture``: count, strip and ropes, turned together
ten roofs   ``ten_roofs_svg``: a chance as small houses
maps        ``plain_map``; ``places_of``: the transmitter places as a table
profiles    ``terrain_profile``; ``sight_of``, ``Sight``, ``profile_picture``, ``ProfilePicture``
accounts    ``waterfall``, ``Waterfall``: the account of one station
patterns    ``pattern``, ``Pattern``: gain against direction
readings    ``calibration``: forecasts against what came
rungs       ``LadderPicture``: a meter ladder as a ladder; ``SmallTV``: what the picture does
changes     ``changes``, ``ChangePicture``: two rounds of readings apart
compared    ``differences``, ``finding`` of a trial; ``forest`` of a club's trials
reaches     ``reach``: how far an antenna reaches
==========  ===================================================================================
"""

from .. import handed_on as _handed_on
from .. import markup
from .accounts import Waterfall, waterfall
from .aimed import AimPicture
from .by_station import StationRopes, ropes
from .by_tower import TowerRopes, tower_ropes
from .changes import ChangePicture, changes
from .compared import differences, finding, finding_words, forest
from .maps import places_of, plain_map
from .patterns import Pattern, pattern
from .picture import Drawing, Picture, show
from .profiles import ProfilePicture, Sight, profile_picture, sight_of, terrain_profile
from .reaches import reach
from .readings import calibration
from .roofs import ten_roofs_svg
from .rungs import LadderPicture, SmallTV
from .strip import BearingStrip, bearing_strip
from .strip_compact import CompactStrip, compact_strip

__all__ = _handed_on(globals())

markup.shown_as(Picture, Picture.img)


def __dir__():
    return __all__
