"""What is put up where: an antenna on a mount through a feed, aimed at a heading."""

from dataclasses import dataclass

from ..site import check_site
from ..units import check, check_type


@dataclass(frozen=True, eq=False)
class Setup:
    """An antenna on a mount through a feed, aimed at a heading.

    Each of ``antenna``, ``mount`` and ``feed`` is a name in the site or the thing itself; ``feed``
    None takes the mount's own. ``heading_deg`` true, 0 to 360; None is never aimed.
    """

    antenna: object
    mount: object
    feed: object = None
    heading_deg: float | None = None

    def __post_init__(self):
        if self.heading_deg is not None:
            check("heading_deg", self.heading_deg, low=0, high=360)

    @property
    def label(self):
        """Short name: antenna, on which mount."""
        names = [getattr(x, "name", x) for x in (self.antenna, self.mount)]
        return ", ".join(names)


def aimed_at(site, antenna, mount, heading_deg):
    """A Setup toward ``heading_deg`` where a heading means anything on the mount, else without one.

    Parameters: ``site`` a Site; ``antenna`` and ``mount`` names in it or the things themselves.

    >>> from signalshed import simulate
    >>> aimed_at(simulate.demo_site("boat"), "upright whip", "masthead", 40.0).heading_deg is None
    True
    """
    can = site.mount(mount).aim == "fixed"
    return Setup(antenna, mount, heading_deg=float(heading_deg) if can else None)


def parts_of(site, setup):
    """Antenna, mount and feed of ``setup`` as things, looked up by name in ``site``.

    Raises ValueError that lists the names there are.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> parts_of(site, Setup(next(iter(site.antennas)), "roof mast"))[1].kind
    'mast'
    """
    check_site(site)
    check_type("setup", setup, Setup, "a survey.Setup, as survey.Setup('antenna', 'mount')")
    mount = site.mount(setup.mount)
    feed = setup.feed if setup.feed is not None else mount.feed
    return site.antenna(setup.antenna), mount, site.feed(feed)
