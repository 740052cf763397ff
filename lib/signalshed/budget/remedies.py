"""What would help against other signals, as far as this line, this aim and these channels allow."""

import numpy as np

from .. import facts
from ..units import turn_deg
from .gain import HEADINGS_DEG, gain_toward_dbd

WORTH_DB = 3.0
"""A cost is named from so many dB on, and an aim that wins as much."""
_BESIDE_DEG = 60.0
"""From so far beside its aim on an antenna is as deaf as it gets: ITU-R BT.419-3, unchecked."""


def filtered(stations, i, row):
    """Whether a small filter may stop the signal of ``row`` and let station ``i`` through.

    Their channels have to lie so far apart that a tuned circuit tells them apart (facts table
    ``receiver``, filter_apart_pct). Parameters: ``stations`` a table as Site.stations; two row numbers.

    >>> from .. import simulate
    >>> stations = simulate.demo_site().stations.assign(bandwidth_mhz=6.0)
    >>> [filtered(stations.assign(freq_mhz=[509.0, f] + [0.0] * 16), 0, 1) for f in (515, 551)]
    [False, True]
    """
    freq, width = stations[["freq_mhz", "bandwidth_mhz"]].to_numpy(float)[[i, row]].T
    between = abs(freq[1] - freq[0]) - width.mean()
    return bool(between > facts.value("receiver", "filter_apart_pct") / 100 * freq[0])


def against(received, i, rows, part=""):
    """What would weaken the signals of ``rows`` where station ``i`` is received, in words.

    A filter, where one can tell them from the station; less amplifier or, without one, a pad, where a
    part of the line is overdriven; turning, where this antenna has a heading that helps.
    Parameters: ``received`` a Reception; ``i`` a row; ``rows`` of the others, the loudest first;
    ``part`` the one overdriven, "" for none.
    """
    stations = received.site.stations
    amplified = bool(received.feed.amplifiers)
    stopped = [called(stations, row) for row in rows if filtered(stations, i, row)]
    pad_db = facts.value("judgement", "pad_tried_db")
    ways = {
        f"a filter against {' or '.join(stopped)}" + " before the amplifier" * amplified: stopped,
        "less amplifier": part and amplified,
        "a pad at the TV": part and not amplified and received.spare_alone_db[i] > pad_db,
        "turning away from " + ("it" if len(rows) == 1 else "them"): _turns(received, i, rows[0]),
    }
    told = [way for way, there in ways.items() if there]
    return ", or ".join(told) or "nothing: no filter and no aim parts them"


def _turns(received, i, row):
    """Whether this antenna has a heading at which it hears ``i`` better against ``row``."""
    if received.aim != "fixed" or row == i:
        return False
    gain = gain_toward_dbd(received.site, received.antenna, received.mount, HEADINGS_DEG)
    return np.subtract(*gain[:, [i, row]].T).max() > _apart_db(received, i, row) + WORTH_DB


def _apart_db(received, i, row):
    """How much better the antenna hears ``i`` than ``row`` as it is used, dB."""
    return np.subtract(*received.gain_dbd[received.rows_of(i)][:, [i, row]].mean(axis=0))


def parted(received, i, row):
    """Whether any antenna hears station ``i`` so much better than ``row`` on its channel as it lacks.

    Parameters: ``received`` a Reception; ``i`` and ``row`` two row numbers.
    """
    bearing = received.site.stations["bearing_deg"].to_numpy(float)[[i, row]]
    apart = abs(turn_deg(*bearing))
    best = facts.value("judgement", "best_rejection_db") * min(apart / _BESIDE_DEG, 1)
    spare = received.spare_db[i]
    cost_db = np.maximum(received.spare_alone_db[i] - spare, 1e-9)
    lacks = 10 * np.log10(1 - 10 ** (-cost_db / 10)) - spare
    return not lacks > max(best - _apart_db(received, i, row), 0)


def called(stations, row):
    """What a station is called: its name, and its place where several bear that name.

    >>> from .. import simulate
    >>> called(simulate.demo_site().stations, 0)
    'Gazette'
    """
    name, place = stations[["station", "place"]].iloc[row]
    alike = (stations["station"] == name).sum() > 1
    return f"{name}, {place}" if alike and place else name
