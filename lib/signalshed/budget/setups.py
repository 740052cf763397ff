"""What is put up where: an antenna on a mount through a feed line, aimed at a heading."""

from dataclasses import KW_ONLY, dataclass

from ..antenna import Antenna
from ..chain import Feed
from ..site import Mount, Site, check_site
from ..units import check, check_type


@dataclass(frozen=True, eq=False)
class Setup:
    """An antenna on a mount through a feed line, aimed at a heading.

    Each of ``antenna``, ``mount`` and ``feed`` is a name in the site or the thing itself; ``feed``
    None takes the mount's own. ``heading_deg`` true, 0 to 360; None is never aimed. Feed and heading
    are given by name.
    """

    antenna: str | Antenna
    mount: str | Mount
    _: KW_ONLY
    feed: str | Feed | None = None
    heading_deg: float | None = None

    def __post_init__(self):
        if self.heading_deg is not None:
            check("heading_deg", self.heading_deg, low=0, high=360)

    @property
    def label(self):
        """Short name: antenna, on which mount."""
        names = [getattr(x, "name", x) for x in (self.antenna, self.mount)]
        return ", ".join(names)


def aimed_at(site: Site, antenna: str | Antenna, mount: str | Mount, heading_deg: float) -> Setup:
    """A setup toward a heading where one means anything on the mount, else without one.

    Parameters
    ----------
    site
    antenna, mount
        Names in the site, or the things themselves.
    heading_deg
        True, 0 to 360.

    Returns
    -------
    Setup

    Examples
    --------
    >>> from signalshed import simulate
    >>> aimed_at(simulate.demo_site("boat"), "upright whip", "masthead", 40.0).heading_deg is None
    True
    """
    check_site(site)
    can = site.mount(mount).aim == "fixed"
    return Setup(antenna, mount, heading_deg=float(heading_deg) if can else None)


def parts_of(site: Site, setup: Setup) -> tuple[Antenna, Mount, Feed]:
    """Antenna, mount and feed line of a setup as things, looked up by name in a site.

    Parameters
    ----------
    site
    setup

    Returns
    -------
    antenna, mount, feed

    Raises
    ------
    ValueError
        With the names there are.

    Examples
    --------
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
