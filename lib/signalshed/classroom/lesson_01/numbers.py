"""Waves, resonances and channel numbers: what the pictures of the lesson show."""

import numpy as np
import pandas as pd

from ... import builds, channels, wires
from ...units import LIGHT_M_MHZ

REGIONS = {
    "us": "United States and Canada",
    "ge06": "Europe, Africa, parts of Asia",
    "au": "Australia",
    "jp": "Japan",
    "br": "Brazil",
}
"""The regions of shed.channels in words."""
_LOWEST_SHARE = 0.85
"""A resonance is looked for from this share of the wanted frequency on."""


def sizes(freq_mhz):
    """Wave and elements of one frequency: a dict of millimetres.

    Parameters: ``freq_mhz`` above 0. ``wave`` and ``half_wave`` in air; ``dipole`` tip to tip and
    ``loop`` round as the library starts them, from 10 AWG wire.

    >>> {name: round(mm) for name, mm in sizes(539).items()}
    {'wave': 556, 'half_wave': 278, 'dipole': 261, 'loop': 601}
    """
    wave_mm = 1000 * LIGHT_M_MHZ / float(freq_mhz)
    return {
        "wave": wave_mm,
        "half_wave": wave_mm / 2,
        "dipole": builds.half_wave_dipole(freq_mhz).sizes["length_mm"],
        "loop": builds.loop(freq_mhz).sizes["circumference_mm"],
    }


def resonant_share(freq_mhz, wire="10 AWG"):
    """How long a straight dipole is at its resonance, as a share of half a wave, by the wire solver.

    A dipole of exactly half a wave at ``freq_mhz`` resonates somewhat lower; there its length is this
    share of half a wave. Parameters: ``freq_mhz`` above 0; ``wire`` as text.

    >>> 0.93 < resonant_share(539) < 0.96
    True
    """
    half_mm = sizes(freq_mhz)["half_wave"]
    dipole = builds.half_wave_dipole(freq_mhz, length_mm=half_mm, wire=wire)
    tried = freq_mhz * np.linspace(_LOWEST_SHARE, 1.03, 61)
    reactance = wires.sweep(dipole.structure, tried, [0.0]).impedance_ohm.imag
    return float(np.interp(0.0, reactance, tried)) / float(freq_mhz)


def nearest_channel(number, region):
    """The television channel of a plan whose number is nearest to ``number``, as text.

    Parameters: ``number`` of a channel; ``region`` one of shed.channels.REGIONS.

    >>> nearest_channel(40, "us"), nearest_channel(9, "jp")
    ('36', '13')
    """
    names = [name for name in channels.plan(region).index if name.isdigit()]
    return min(names, key=lambda name: abs(int(name) - number))


def same_place(freq_mhz, region):
    """What lies at a frequency in a region: its channel as text, or what else is there.

    Parameters: ``freq_mhz``; ``region`` one of shed.channels.REGIONS.

    >>> same_place(533, "us"), same_place(620, "us"), same_place(60, "jp")
    ('RF 24', '600 MHz mobile from the mast', 'no television')
    """
    plan = channels.plan(region)
    inside = plan.index[(plan["low_mhz"] <= freq_mhz) & (freq_mhz < plan["high_mhz"])]
    if len(inside):
        return f"RF {inside[0]}"
    other = channels.neighbours(region)
    other = other[(other["low_mhz"] <= freq_mhz) & (freq_mhz < other["high_mhz"])]
    return other["label"].iloc[0] if len(other) else "no television"


def by_channel(stations):
    """A station list by RF channel: who is on it, what the screen calls them, how they are coded.

    Parameters: ``stations`` of a Site. Returns a DataFrame in order of frequency: rf_channel,
    freq_mhz, on_it, shown, standard.

    >>> from signalshed import simulate
    >>> by_channel(simulate.demo_site().stations).query("rf_channel == '33'").on_it.tolist()
    ['Washboard, Almanac']
    """
    tv = stations[stations["service"] == "tv"]
    rows = [
        {
            "rf_channel": channel,
            "freq_mhz": group["freq_mhz"].iloc[0],
            "on_it": ", ".join(group["station"]),
            "shown": ", ".join(group["shown_channels"]),
            "standard": ", ".join(dict.fromkeys(group["standard"])),
        }
        for channel, group in tv.groupby("rf_channel")
    ]
    return pd.DataFrame(rows).sort_values("freq_mhz", ignore_index=True)


def region_key(words):
    """The region of shed.channels that ``words`` of REGIONS mean.

    >>> region_key("Japan")
    'jp'
    """
    return next(key for key, said in REGIONS.items() if said == words)
