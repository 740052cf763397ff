"""One roof as a picture that moves: the bearing strip of a setup, and in words what it brings."""

from .. import plots, survey
from ..site import rest_words
from ..words import aimed_words, listed, roofs_words
from . import Choice, Slider, Words

HEADING_DEG = (0, 355, 210)
"""Lowest, highest and first heading of the slider, degrees true."""
RARELY = 0.2
"""Below this chance a station is not worth counting on."""


def roof_controls(site, antenna=None, mount=None, heading_deg=HEADING_DEG[2]):
    """Heading, antenna and mount of a site as the controls of a panel.

    Parameters: ``site`` a Site; ``antenna`` and ``mount`` names to begin with, None for the first;
    ``heading_deg`` to begin with, 0 to 355.

    >>> from .. import simulate
    >>> [control.name for control in roof_controls(simulate.demo_site())]
    ['heading_deg', 'antenna', 'mount']
    """
    return (
        Slider("heading_deg", "Heading, degrees true", *HEADING_DEG[:2], heading_deg, step=5),
        antenna_choice(site, antenna),
        Choice("mount", "Where it is put", tuple(site.mounts), mount),
    )


def antenna_choice(site, start):
    """The antennas of a ``site`` as a control that begins with ``start``, or with the first."""
    names = tuple(site.antennas)
    return Choice("antenna", "Antenna", names, start if start in names else None)


def roof_draw(site):
    """The drawing of a panel with ``roof_controls``: the strip of the ``site``, its words beside it."""

    def draw(figure):
        figure.set_layout_engine("none")
        strip = plots.BearingStrip(figure.add_subplot(), site)

        def move(heading_deg, antenna, mount):
            setup = survey.aimed_at(site, antenna, mount, heading_deg)
            alt = strip.update(setup)
            return Words(f"{roof_words(site, setup)} {strip.left_out}".strip(), alt)

        return strip.artists, move

    return draw


def roof_words(site, setup):
    """What a setup brings, in words: whom to count on, who may come, and the best heading.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup with a heading.

    >>> from .. import simulate
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38.0)
    >>> words = roof_words(simulate.demo_site(), setup)
    >>> words[:50]
    'wire loop, roof mast, aimed at 38° true (north-eas'
    """
    received = survey.reception(site, setup)
    table = received.table
    table, way = table[table["wanted"].astype(bool)], received.aim
    expected, rest = table["chance"].sum(), rest_words(site)
    head = (
        f"{setup.label}, {aimed_words(way, setup.heading_deg)}: about {expected:.1f} of "
        f"{len(table)} wanted stations on average{rest and f' ({rest})'}."
    )
    return " ".join([head, *_groups(table, site.certainty), *_ending(site, setup, expected)])


def _groups(table, certainty):
    """Whom to count on, who may come, how many hardly will."""
    by_chance = table.sort_values("chance", ascending=False)
    sure = by_chance[by_chance["chance"] >= certainty]["station"].tolist()
    open_ones = by_chance[by_chance["chance"].between(RARELY, certainty, inclusive="left")]
    hardly = len(table) - len(sure) - len(open_ones)
    on = f"Count on ({roofs_words(certainty)} roofs or better): "
    yield on + (listed(sure, 8) or "none") + "."
    if len(open_ones):
        yield f"May come: {listed(open_ones['station'].tolist(), 8)}."
    if hardly:
        yield f"Hardly ({roofs_words(RARELY)} or fewer): {hardly} more."


def _ending(site, setup, expected):
    """What the heading has to do with it, and whether the antenna may live there at all."""
    received = survey.reception(site, setup)
    antenna, mount = received.antenna, received.mount
    if mount.kind not in antenna.lives:
        yield f"But the list of antennas does not let it live here: only {listed(antenna.lives)}."
    if received.aim != "fixed":
        yield "Here nobody aims it, so the heading plays no part."
        return
    aim = survey.best_heading(site, setup)
    if aim.expected - expected < 0.05:
        yield "No other heading brings a tenth of a station more."
    else:
        yield f"Aimed at {aim.heading_deg:.0f}° it would bring {aim.expected:.1f}."
