"""The panels of lesson 05: where to point, what stands in the way, how high, where on the property.

=========  ====================================================================================
pointing   ``heading_panel``: every heading tried
paths      ``profile_panel``: the ground under each path; ``height_panel``: two paths over flat ground
places     ``place_panel``: one antenna on every mount of a roof
echoes     ``log_panel``, ``rotation_panel``: a turned antenna; ``two_paths_panel``: two paths
sheet      ``survey_sheet``: a page to take outdoors and write on
=========  ====================================================================================
"""

from .. import quiz
from .echoes import log_panel, rotation_panel, two_paths_db, two_paths_panel
from .paths import height_panel, profile_panel
from .places import place_panel
from .pointing import heading_panel
from .sheet import survey_sheet


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("196°")
    Right: 196 °.
    """
    return (
        quiz.number(
            "The map says 205° true, the declination is 9° east. What does the compass show?",
            *(196, "°", 1),
            hint="West is added to the map's bearing. And east?",
        ),
    )
