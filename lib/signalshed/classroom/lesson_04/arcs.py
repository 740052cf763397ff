"""Gain against arc: an antenna computed from its wires, on the bearing strip of a site."""

import functools

import numpy as np

from ... import antenna as antennas
from ... import builds, plots, simulate, survey
from .. import Choice, Panel, Slider, Words
from ..roof import HEADING_DEG

ELEMENTS = {
    "wire loop": builds.loop,
    "bow-tie": builds.bow_tie,
    "two loops side by side": functools.partial(builds.two_loops, arrangement="side by side"),
    "two loops stacked": builds.two_loops,
}
_BAND_MHZ = (470.0, 608.0)
_FREQ_MHZ = np.linspace(*_BAND_MHZ, 3)
_HIGH_MM = 400


def arc_panel(site=None):
    """Heading, element and width of the screen: the strip of a roof under a computed antenna.

    Parameters: ``site`` a Site, None for the invented house; its first mast is used, or else its first
    mount.

    >>> "stations" in arc_panel().verdict
    True
    """
    site = simulate.demo_site() if site is None else site
    mount = next((m for m in site.mounts.values() if m.kind == "mast"), None)
    mount = (mount or next(iter(site.mounts.values()))).name
    controls = (
        Slider("heading_deg", "Heading, degrees true", *HEADING_DEG[:2], 55, step=5),
        Choice("element", "Element", tuple(ELEMENTS)),
        Slider("width_mm", "Screen width, mm (0: none)", 0, 600, 500, step=50),
    )

    def draw(figure):
        figure.set_layout_engine("none")
        strip = plots.BearingStrip(figure.add_subplot(), site)

        def move(heading_deg, element, width_mm):
            made = _antenna(element, round(float(width_mm)))
            setup = survey.aimed_at(site, made, mount, heading_deg)
            return Words(_said(site, setup, made), strip.update(setup))

        return strip.artists, move

    return Panel(f"Gain against arc: {site.name}", controls, draw, (8.8, 5.4))


@functools.lru_cache(maxsize=64)
def _antenna(element, width_mm):
    """The element before a mesh so wide; under 100 mm wide there is none."""
    build = ELEMENTS[element](_BAND_MHZ)
    if width_mm >= 100:
        build = build.with_screen(builds.mesh_screen(width_mm, _HIGH_MM))
    behind = f"{width_mm} mm of mesh" if width_mm >= 100 else "no screen"
    return antennas.from_build(build, _FREQ_MHZ, f"{element}, {behind}")


def _said(site, setup, made):
    table = survey.outlook(site, setup)
    table = table[table["wanted"].astype(bool)]
    aim = survey.best_heading(site, setup)
    middle = float(_FREQ_MHZ[1])
    return (
        f"{made.name}, aimed at {setup.heading_deg:.0f}°: {made.gain_dbd(middle):.1f} dBd and "
        f"{made.beamwidth_deg(middle):.0f}° wide at {middle:.0f} MHz; about "
        f"{table['chance'].sum():.1f} of {len(table)} wanted stations. Best at {aim.heading_deg:.0f}°: "
        f"{aim.expected:.1f}, and as good within an arc of {aim.arc_deg:.0f}°."
    )
