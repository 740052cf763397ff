"""What to blur or leave out before a report is published."""

from dataclasses import dataclass, replace

import numpy as np

from .. import earth


@dataclass(frozen=True)
class Wishes:
    """How a report is wanted.

    ``round_home``: the home's place is rounded to 0.1 degree, its names are dropped, and every bearing
    and distance is drawn from the rounded place. ``notes``: False drops the notes of site and
    stations. ``declination``: an earth.Declination, None to leave the compass out. ``date``: text on
    the page, "" for none.
    """

    round_home: bool = False
    notes: bool = True
    declination: earth.Declination | None = None
    date: str = ""


def shown_site(site, wishes):
    """The site whose places and bearings a report may show.

    Parameters: ``site`` a Site; ``wishes`` a Wishes. With its home rounded, bearings and distances run
    from there; a station without coordinates has them rounded to 5 degrees and 5 km.

    >>> from .. import simulate
    >>> shown_site(simulate.demo_site(), Wishes(round_home=True)).place.name
    'home'
    """
    if not wishes.round_home:
        return site
    latitude, longitude = (
        round(float(x), 1) for x in (site.place.latitude_deg, site.place.longitude_deg)
    )
    home = replace(site.place, name="home", latitude_deg=latitude, longitude_deg=longitude)
    moved = replace(site, name="a roof", place=home)
    return replace(moved, stations=_seen_from(home, site.stations))


def _seen_from(home, stations):
    known = stations["latitude_deg"].notna() & stations["longitude_deg"].notna()
    bearing = 5.0 * np.round(stations["bearing_deg"].to_numpy(float) / 5)
    distance = np.maximum(5.0 * np.round(stations["distance_km"].to_numpy(float) / 5), 5.0)
    if known.any():
        places = stations.loc[known, ["latitude_deg", "longitude_deg"]].to_numpy(float).T
        exact = earth.bearing_and_distance(home.latitude_deg, home.longitude_deg, *places)
        bearing[known], distance[known] = exact
    return stations.assign(bearing_deg=bearing % 360, distance_km=distance)
