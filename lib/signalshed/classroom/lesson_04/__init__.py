"""The panels of lesson 04: a sheet behind a dipole, a screen of a size, the arc, the gallery.

=========  ====================================================================================
faces      ``face_panel``: a face behind mesh; ``through_pct``: light and wave that come through
sheets     ``sheet_gain_dbi``: the closed form; ``sheet_panel``: image, gain, where the power goes
screens    ``screen_panel``: element, distance, size and mesh, solved at every move
arcs       ``arc_panel``: gain against arc on the bearing strip of a site
gallery    ``gallery``, ``gallery_builds``, ``gallery_panel``: builds with what each of them brings
=========  ====================================================================================
"""

from .. import quiz
from .arcs import arc_panel
from .faces import face_panel, through_pct
from .gallery import gallery, gallery_builds, gallery_panel
from .screens import screen_panel
from .sheets import sheet_gain_dbi, sheet_panel


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("124 mm")
    Right: 124 mm (4.88 in).
    """
    return (
        quiz.number(
            "RF 36 is 605 MHz. How far before a sheet is a quarter of its wave?",
            *(124, "mm", 3),
            hint="The wave is 300,000 km/s divided by the frequency; then a quarter of that.",
        ),
        quiz.choice(
            "Your stations lie north-east and south. What does a larger screen bring?",
            {
                "more of the one, less of the other": "",
                "more of both": "A screen makes nothing: where would the second share come from?",
                "nothing": "Aimed at one of them it does bring more. Where does that come from?",
            },
            "more of the one, less of the other",
            hint="Where does gain come from?",
        ),
    )
