"""What stands in the line as a pad: a number, several in a row, a splitter, or a run of cable."""

import re

import numpy as np

from .. import facts

_SPLITTER = re.compile(r"(?:splitter )?([2-8])[ -]?way(?: splitter)?", re.IGNORECASE)
_CABLE = re.compile(r"([0-9.]+) ?m (?:of )?(?:cable|(?:series ?|rg-?)([0-9]+))", re.IGNORECASE)
_NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_CABLE_MHZ = 600.0
_CABLE_SHARE = 0.15
"""How surely the loss of a cable is known, as a share of it: its age, and the channel it is read on."""


def pad(text):
    """Loss of what a cell of pads names, and one sd of it: (dB, dB).

    Parameters: ``text`` numbers of dB, splitters as "8-way" (its other outlets closed), cable as
    "20 m series6" or "20 m RG6", joined by +. ValueError for anything else.
    Source: facts tables splitters and coax; how surely: judgement.

    >>> pad("10+3"), pad("8-way")
    ((13.0, 0.0), (11.0, 0.5))
    """
    parts = [_one(part.strip().removesuffix("dB").rstrip()) for part in text.split("+")]
    losses, sds = zip(*parts, strict=True)
    return float(sum(losses)), float(np.hypot.reduce(sds))


def doubt_db(cell):
    """One sd of what a ``cell`` of pads names, dB; 0 for a number, and where it cannot be read.

    >>> doubt_db("8-way"), doubt_db(10.0)
    (0.5, 0.0)
    """
    try:
        return pad(cell)[1] if isinstance(cell, str) and not _NUMBER.fullmatch(cell) else 0.0
    except ValueError:
        return 0.0


def _one(part):
    sd = facts.value("judgement", "pad_sd_db")
    if _NUMBER.fullmatch(part):
        return float(part), 0.0
    if found := _SPLITTER.fullmatch(part):
        rows = facts.table("splitters").set_index("ways")["practical_db"]
        if int(found[1]) in rows.index:
            return float(rows[int(found[1])]), sd
    if found := _CABLE.fullmatch(part):
        rows = facts.table("coax").set_index("type")
        if (kind := f"series{found[2] or 6}") in rows.index:
            row = rows.loc[kind]
            skin, foam = row["sqrt_db_per_100m"], row["linear_db_per_100m"]
            loss = float(found[1]) / 100 * (skin * np.sqrt(_CABLE_MHZ) + foam * _CABLE_MHZ)
            return loss, float(np.hypot(sd, _CABLE_SHARE * loss))
    raise ValueError("a number of dB, or what it is made of: 10+3, 8-way, 20 m series6")
