"""What an antenna hears as it hangs: gain toward every station, polarization, what readings taught."""

import functools

import numpy as np

from .. import facts
from .mounts import scattered_share
from .stations import freq_mhz

HEADINGS_DEG = np.arange(0.0, 360.0, 5.0)
HEADINGS_DEG.setflags(write=False)
"""Headings that stand for all, wherever an antenna is never aimed or is turned to each station."""


def taught(site, kind, name):
    """What readings taught of one thing, dB, and the sd that is left: inf where they taught nothing.

    Parameters: ``site`` a Site; ``kind`` and ``name`` as of a belief.Unknown.
    """
    return (0.0, np.inf) if site.belief is None else site.belief.taught(kind, name)


def antenna_taught(site, antenna):
    """What readings taught of an antenna's gain, dB more than thought, and the sd that is left.

    Parameters: ``site`` a Site; ``antenna`` an Antenna. Returns mean_db, a number, and sd_db
    (stations,).

    >>> from signalshed import antenna, simulate
    >>> mean, sd = antenna_taught(simulate.demo_site(), antenna.plain_dipole())
    >>> mean, float(sd[0])
    (0.0, 1.0)
    """
    mean, sd = taught(site, "antenna", antenna.name)
    return mean, np.minimum(antenna.spread_at_db(freq_mhz(site)), sd)


def gain_toward_dbd(site, antenna, mount, headings_deg):
    """Gain of ``antenna`` toward every station at every heading: (headings, stations), dBd.

    As it is hung: on a mount with vertical polarization by its other cut. Indoors, where a share of the
    wave comes from everywhere (facts table ``rooms``), between the gain toward the station and the mean
    over all directions. Polarization is inside, and what readings taught of this antenna. NaN where the
    channel lies outside the antenna's frequencies.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount; ``headings_deg`` (H,) true.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> gain_toward_dbd(site, antenna.plain_dipole(), site.mount("roof mast"), [0, 90]).shape[0]
    2
    """
    headings = np.atleast_1d(np.asarray(headings_deg, float))
    key = ("gain", antenna, mount.polarization, mount.kind, headings.tobytes())
    make = functools.partial(_gain_dbd, site, antenna, mount, headings)
    return site.remembered(key, make, ("stations", "belief"))


def top_gain_dbd(site, antenna, mount):
    """Gain toward each station with the antenna turned to it: (stations,), dBd; NaN where not known.

    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> top_gain_dbd(site, antenna.plain_dipole(), site.mount("roof mast")).size
    18
    """

    def make():
        return gain_toward_dbd(site, antenna, mount, HEADINGS_DEG).max(axis=0)

    key = ("top gain", antenna, mount.polarization, mount.kind)
    return site.remembered(key, make, ("stations", "belief"))


def _gain_dbd(site, antenna, mount, headings):
    freq = freq_mhz(site)
    bearing = site.stations["bearing_deg"].to_numpy(float)
    gain = np.full((headings.size, freq.size), np.nan)
    known = np.asarray(antenna.covers(freq))
    if known.any():
        hung = _as_hung(antenna, mount)
        toward = hung.gain_dbd(freq[known], bearing[known] - headings[:, None])
        gain[:, known] = _filled_in(toward, hung.mean_dbd(freq[known]), scattered_share(mount))
    gain += antenna_taught(site, antenna)[0] - polarization_loss_db(site, antenna, mount)
    gain.setflags(write=False)
    return gain


def _as_hung(antenna, mount):
    return antenna.on_its_side if mount.polarization == "vertical" else antenna


def _filled_in(direct_db, mean_db, share):
    """A ``share`` of power at the second level and the rest at the first, dB."""
    if share == 0:
        return direct_db
    return 10 * np.log10((1 - share) * 10 ** (direct_db / 10) + share * 10 ** (mean_db / 10))


def polarization_loss_db(site, antenna, mount):
    """What crossed polarization costs, dB: an array over the site's stations.

    A mount with vertical polarization holds its antennas turned on their side. A station that
    radiates both is heard by either. What comes from everywhere indoors comes half in either.
    Parameters: ``site`` a Site; ``antenna`` an Antenna; ``mount`` a Mount.

    >>> from signalshed import antenna, simulate
    >>> site = simulate.demo_site()
    >>> set(polarization_loss_db(site, antenna.plain_dipole(), site.mount("roof mast"))) <= {0.0, 16.0}
    True
    """
    turned = mount.polarization == "vertical"
    lies_flat = (antenna.polarization == "horizontal") != turned
    mine = "horizontal" if lies_flat else "vertical"
    theirs = site.stations["polarization"].to_numpy(object)
    crossed = np.isin(theirs, ["horizontal", "vertical"]) & (theirs != mine)
    outdoors = facts.value("judgement", "cross_polarization_db")
    return np.where(
        crossed, -_filled_in(-outdoors, 10 * np.log10(0.5), scattered_share(mount)), 0.0
    )
