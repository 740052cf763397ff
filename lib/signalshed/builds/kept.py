"""Gains of a few builds kept in a table, so that a site that names them opens at once.

The facts table ``computed_gains`` holds what the solver said of the demo town's builds, found again by
how they are made. A build that is not in it, or is asked at another frequency or direction, is computed.
"""

import functools
import json

import numpy as np
import pandas as pd

from .. import facts

TABLE = "computed_gains"


def recipe(build):
    """How a build is made, as one line of text: form, band, sizes, screen and balun.

    Parameters: ``build`` of a form in FORMS.

    >>> from . import loop
    >>> recipe(loop(539, circumference_mm=600))[:46]
    '{"balun": "1:1", "band_mhz": [539.0, 539.0], "'
    """
    screen = build.screen
    behind = None if screen is None else [screen.kind, screen.behind_mm, screen.sizes]
    made = {
        "form": build.form,
        "band_mhz": build.band_mhz,
        "sizes": build.sizes,
        "balun": build.balun,
        "polarization": build.polarization,
        "screen": behind,
    }
    return json.dumps(made, sort_keys=True, default=str)


@functools.cache
def _tables():
    """Each kept build by its recipe: its frequencies, azimuths and gains."""
    kept = {}
    for text, rows in facts.table(TABLE).groupby("recipe", sort=False):
        wide = rows.drop(columns=["build", "recipe", "source", "status"]).set_index("freq_mhz")
        kept[text] = (
            wide.index.to_numpy(float),
            wide.columns.to_numpy(float),
            wide.to_numpy(float),
        )
    return kept


def kept_gain_dbd(build, freq_mhz, azimuth_deg):
    """Gain in dBd (F, A) out of the table, or None where it holds no such build or direction.

    Parameters: ``build``; ``freq_mhz`` (F,); ``azimuth_deg`` (A,) clockwise from the aim.

    >>> from . import loop
    >>> kept_gain_dbd(loop(539, circumference_mm=600), [539], [0]) is None
    True
    """
    if recipe(build) not in _tables():
        return None
    freq, azimuth, gain = _tables()[recipe(build)]
    if not (np.isin(freq_mhz, freq).all() and np.isin(azimuth_deg, azimuth).all()):
        return None
    return gain[np.ix_(np.searchsorted(freq, freq_mhz), np.searchsorted(azimuth, azimuth_deg))]


def rows(build, freq_mhz, azimuth_deg, gain_dbd):
    """Rows of the table for one build: a DataFrame, gains to the hundredth of a dB.

    Parameters: ``build``; ``freq_mhz`` (F,) and ``azimuth_deg`` (A,) rising; ``gain_dbd`` (F, A).

    >>> from . import loop
    >>> rows(loop(539), [539.0], [0.0, 180.0], [[0.512, 0.508]]).columns.tolist()
    ['build', 'recipe', 'freq_mhz', '0', '180', 'source', 'status']
    """
    names = [f"{a:g}" for a in azimuth_deg]
    frame = pd.DataFrame(np.round(gain_dbd, 2) + 0.0, columns=names)
    frame.insert(0, "build", build.name)
    frame.insert(1, "recipe", recipe(build))
    frame.insert(2, "freq_mhz", freq_mhz)
    return frame.assign(source="computed from the wires by signalshed.wires", status="derived")
