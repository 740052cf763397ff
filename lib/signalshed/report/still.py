"""A still of the answer, 16 to 9, for a slide or a film: the ropes, and the answer as its words."""

from .. import plots, survey
from ..plots import style
from ..plots.picture import Picture
from ..site import check_site
from . import words
from .matter import gather
from .rounding import Wishes

SIZE_IN = (9.6, 5.4)


def still(site, ranking):
    """The answer for one roof as a picture of 16 to 9: setup and aim, and what each station's rope says.

    It is about the first row of the ranking. Parameters: ``site`` a Site; ``ranking`` from
    shed.advice.rank. Returns a Picture; ``.save("answer.png", (1920, 1080))`` writes it.

    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> still(site, advice.rank(site)).alt[:8]
    'Hang the'
    """
    check_site(site)
    matter = gather(site, ranking, Wishes())
    with style.house():
        figure = style.new_figure(*SIZE_IN)
        figure.set_layout_engine("none")
        drawn = plots.StationRopes(figure.add_subplot(), site, matter.setup)
        drawn.show(survey.reception(site, matter.setup), matter.setup)
    return Picture(figure, f"{words.answer(matter)} {words.counts(matter)} {drawn.alt}")
