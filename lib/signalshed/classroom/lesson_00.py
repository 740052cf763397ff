"""The panel of lesson 00: one roof, its antennas and mounts, pointed by hand."""

from .. import simulate
from . import Panel
from .roof import roof_controls, roof_draw

START = {"antenna": "bow-tie with screen", "mount": "roof mast"}
"""Where the panel begins at the invented house."""


def pointing_panel(site=None):
    """Heading, antenna and mount of a roof: the bearing strip, and what it would bring.

    Parameters: ``site`` a Site, None for the invented house.

    >>> pointing_panel().verdict[:48]
    'bow-tie with screen, roof mast, aimed at 210° tr'
    """
    site = simulate.demo_site() if site is None else site
    known = {"antenna": site.antennas, "mount": site.mounts}
    start = {what: name if name in known[what] else None for what, name in START.items()}
    return Panel(
        f"Point it yourself: {site.name}",
        roof_controls(site, **start),
        roof_draw(site),
        size_in=(8.8, 5.4),
        verdict_lines=5,
    )
