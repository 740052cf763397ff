"""What is asked again and again of a site's stations: their frequencies, and who shares a place."""

import numpy as np
from scipy.sparse.csgraph import connected_components

from .. import facts
from ..site import remembering


@remembering("stations")
def freq_mhz(site):
    """The stations' frequencies as an array, (stations,). Parameters: ``site`` a Site.

    >>> from signalshed import simulate
    >>> freq_mhz(simulate.demo_site()).size
    18
    """
    return site.stations["freq_mhz"].to_numpy(float)


def place_index(site):
    """Which stations share a transmitter place: an integer per station, equal where they do.

    Stations nearer than 2 km to each other share one, whatever their place is called.
    Parameters: ``site`` a Site.

    >>> from signalshed import simulate
    >>> len(place_index(simulate.demo_site())) == len(simulate.demo_site().stations)
    True
    """
    s = site.stations
    angle = np.deg2rad(s["bearing_deg"].to_numpy(float))
    place = s["distance_km"].to_numpy(float) * np.exp(1j * angle)
    near = np.abs(place[:, None] - place) < facts.value("judgement", "same_place_km")
    return connected_components(near)[1]
