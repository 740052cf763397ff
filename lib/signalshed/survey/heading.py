"""Where to point: the heading that brings the most, and how wide the arc that brings as good as that."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import interp1d

from ..budget import Setup, parts_of, reached, reception, reception_at
from ..site import ALL_THAT_COUNTS, Site
from ..units import turn_deg
from .grid import grid

AS_GOOD = 0.25
"""Stations by which one heading may bring fewer than another and count as good."""
MANY = 40
"""Of more stations than these that others disturb a search takes steps of 5 degrees."""
SHORTLIST = 3
"""So many headings beside the best of the search are judged on all roofs, where others disturb."""


@dataclass(frozen=True)
class Aim:
    """Where to point: ``heading_deg`` true, the ``expected`` number of wanted stations there, and
    ``arc_deg``, how wide the arc of headings is that brings as good as the same (within a quarter of a
    station).
    """

    heading_deg: float
    expected: float
    arc_deg: float


def best_heading(site: Site, setup: Setup) -> Aim:
    """The heading that brings the most wanted stations on average.

    Of headings that bring the same the middle of their arc is taken; of an antenna alike in front and
    behind, or all round, the heading that has the stations it brings before it, and not a wall. Where
    a mount sees one side only, a heading on the other has to bring a quarter of a station more.

    Parameters
    ----------
    site
    setup
        Its own heading plays no part.

    Returns
    -------
    Aim

    Raises
    ------
    ValueError
        Where nothing can be aimed.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> 0 <= best_heading(site, Setup(next(iter(site.antennas)), "roof mast")).heading_deg < 360
    True
    """
    antenna, mount, feed = parts_of(site, setup)
    if mount.aim == "never":
        raise ValueError(
            f"On {mount.name!r} nothing can be aimed, so no heading is its best; leave the heading "
            'out (None), or give the mount aim = "fixed".'
        )
    return site.remembered(
        ("best heading", antenna, mount, feed),
        lambda: _best_heading(site, Setup(antenna, mount, feed=feed)),
        ALL_THAT_COUNTS,
    )


def _best_heading(site, setup):
    headings = np.arange(0.0, 360.0, 1.0)
    chance, disturbed = _walked(site, setup, headings)
    wanted = site.stations["wanted"].to_numpy(bool)
    expected = chance[:, wanted].sum(axis=1)
    looked_at = _open(site, setup, headings, expected)
    # Rounded, so that of two headings alike the first is taken, whatever the last bit says.
    level = np.where(looked_at, expected.round(9), -np.inf)
    facing = np.where(looked_at, _facing(site, chance, headings), -np.inf)
    heading = _facing_most(level >= level.max() - 0.02, int(level.argmax()), facing)
    found = expected[heading]
    if disturbed:
        heading, found = _decided(site, setup, _candidates(level, heading), wanted)
    arc = len(_arc(level >= min(level.max() - AS_GOOD, level[heading]), heading))
    return Aim(float(heading), float(found), float(arc))


def _walked(site, setup, headings):
    """Chance at every degree, (heading, station), and whether others disturb any.

    Where many are disturbed steps of 5 degrees are taken, and straight lines between them.
    """
    coarse = reached(reception_at(site, setup, headings[::5])).sum() > MANY
    g = grid(site, [setup], headings[::5] if coarse else headings)
    if not coarse:
        return g.chance[0], g.disturbed
    round_it = np.vstack([g.chance[0], g.chance[0][:1]])
    return interp1d(np.append(g.headings_deg, 360.0), round_it, axis=0)(headings), True


def _candidates(level, first):
    """The heading found, and the best of the other tops of ``level`` (360,), a few at most."""
    top = (level >= np.roll(level, 1)) & (level > np.roll(level, -1)) & np.isfinite(level)
    tops = np.flatnonzero(top & (level >= level.max() - AS_GOOD))
    apart = np.abs(turn_deg(first, tops)) > 4
    best = tops[apart][np.argsort(-level[tops[apart]], kind="stable")][:SHORTLIST]
    return [first, *map(int, best)]


def _decided(site, setup, candidates, wanted):
    """The candidate that brings most on all roofs, the first one unless another brings clearly more."""
    fixed = Setup(setup.antenna, replace(setup.mount, aim="fixed"), feed=setup.feed)
    there = [reception(site, replace(fixed, heading_deg=float(h))) for h in candidates]
    sums = [each.chance[wanted].sum() for each in there]
    best = int(np.argmax(sums))
    best = best if sums[best] > sums[0] + 0.02 else 0
    return candidates[best], sums[best]


def _open(site, setup, headings_deg, expected):
    """Which headings are looked at: those open to the mount where one of them is as good as any."""
    is_open = site.mount(setup.mount).sees(headings_deg)
    as_good = is_open.any() and expected[is_open].max() >= expected.max() - AS_GOOD
    return is_open if as_good else np.ones(is_open.shape, bool)


def _facing(site, chance, headings_deg):
    """How many stations of ``chance`` (heading, station) lie before each heading rather than behind."""
    wanted = site.stations["wanted"].to_numpy(bool)
    off = np.radians(site.stations["bearing_deg"].to_numpy(float)[wanted] - headings_deg[:, None])
    return (chance[:, wanted] * np.cos(off)).sum(axis=1)


def _facing_most(good, best, facing):
    """The middle of the run of ``good`` that holds ``best``; of the run that faces most where that
    one has its back to what it brings. -inf in ``facing`` marks headings not looked at.
    """
    if good[np.isfinite(facing)].all():
        return int(facing.argmax())
    starts = [best, *np.flatnonzero(good & ~np.roll(good, 1))]
    arcs = [_arc(good, start) for start in starts]
    first, *others = [int(arc[len(arc) // 2]) for arc in arcs]
    return first if facing[first] >= 0 else max(others, key=lambda middle: facing[middle])


def _arc(good, start):
    """Indices of the run of ``good`` round the circle that holds ``start``, in order."""
    if good.all():
        return np.arange(good.size)
    turned = np.roll(good, -start)
    right = int(np.argmin(turned))
    left = int(np.argmin(turned[::-1]))
    return (start + np.arange(-left, max(right, 1))) % good.size


def aimed(site: Site, setup: Setup) -> tuple[Setup, Aim | None]:
    """A setup at its best heading where it can be aimed; as it is where it never is.

    Parameters
    ----------
    site
    setup

    Returns
    -------
    setup
    aim
        None where it is never aimed, or turned to each station.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> setup, aim = aimed(site, Setup(next(iter(site.antennas)), "roof mast"))
    >>> setup.heading_deg == aim.heading_deg
    True
    """
    parts_of(site, setup)
    if site.mount(setup.mount).aim != "fixed":
        return setup, None
    aim = best_heading(site, setup)
    return Setup(setup.antenna, setup.mount, feed=setup.feed, heading_deg=aim.heading_deg), aim
