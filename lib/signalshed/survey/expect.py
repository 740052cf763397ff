"""What to expect of every station through one setup, in numbers and in words."""

import numpy as np
import pandas as pd
from scipy.special import ndtri

from .. import budget
from ..units import SDS_TO_90
from ..words import roofs_words, spare_words
from .setups import aim_of, at_heading, parts_of


def outlook(site, setup):
    """What to expect of every station through one setup: a DataFrame, stations in the site's order.

    Columns: station, rf_channel, wanted, margin_db, spread_db, low_db and high_db (the ends of a 90 %
    interval), fade_db, chance (that this roof locks it at least 90 % of the time), roofs (the chance as
    roofs out of ten), layer, limit (what
    is in the way), note, why.

    A heading of None averages over all headings, and adds their scatter to the spread; a mount with a
    rotator takes each station at its best heading.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import simulate
    >>> from signalshed.survey import Setup
    >>> site = simulate.demo_site()
    >>> table = outlook(site, Setup(next(iter(site.antennas)), "roof mast", heading_deg=200))
    >>> bool(table["chance"].between(0, 1).all())
    True
    """
    _, mount, feed = parts_of(site, setup)
    margin, spread, chance, fade = at_heading(site, setup)
    s = site.stations
    this = budget.link(site, mount, feed)
    limits = limits_of(site, setup)
    return pd.DataFrame(
        {
            "station": s["station"],
            "rf_channel": s["rf_channel"],
            "wanted": s["wanted"],
            "margin_db": margin,
            "spread_db": spread,
            "low_db": margin - SDS_TO_90 * spread,
            "high_db": margin + SDS_TO_90 * spread,
            "fade_db": fade,
            "chance": chance,
            "roofs": [roofs_words(c) for c in chance],
            "layer": this.field.layer,
            "limit": limits,
            "note": this.note,
            "why": [_why(*row) for row in zip(margin, spread, limits, strict=True)],
        }
    )


def limits_of(site, setup):
    """What stands between each station and being sure of it, in a few words: a list over stations.

    The largest cost that could be won back, if it is worth winning; "distance and hills" if none is;
    "nothing" if the station is already as sure as the site asks.

    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import simulate
    >>> from signalshed.survey import Setup
    >>> site = simulate.demo_site()
    >>> len(limits_of(site, Setup(next(iter(site.antennas)), "roof mast"))) == len(site.stations)
    True
    """
    antenna, mount, feed = parts_of(site, setup)
    this = budget.link(site, mount, feed)
    margin, spread, _, fade = at_heading(site, setup)
    costs = _fixable_costs_db(site, setup, this)
    missing = fade + ndtri(site.certainty) * spread - margin
    largest = costs.max(axis=1).to_numpy()
    worth_it = (largest >= 3.0) & (largest >= 0.4 * missing)
    words = np.where(worth_it, costs.idxmax(axis=1), "distance and hills").astype(object)
    words[missing <= 0] = "nothing"
    covered = np.asarray(antenna.covers(site.stations["freq_mhz"].to_numpy(float)))
    words[~covered] = "channel outside the antenna's"
    words[np.isnan(this.needs_cn_db)] = "C/N it needs is unknown"
    words[~this.decoded] = "tuner cannot decode it"
    return words.tolist()


def _fixable_costs_db(site, setup, this):
    """What the builder could win back, dB: a DataFrame (station, cause)."""
    antenna, mount, feed = parts_of(site, setup)
    return pd.DataFrame(
        {
            "off the aim": _aim_loss_db(site, setup, antenna, mount),
            "walls": this.entry_loss_db,
            "blocked side": this.blocked_loss_db,
            "trees": this.trees_loss_db,
            "cable and splitter": np.maximum(this.line_cost_db, 0.0),
            "crossed polarization": budget.polarization_loss_db(site, antenna, mount),
            "other signals": _others_cost_db(site, setup, this, (antenna, mount, feed)),
        }
    )


def _others_cost_db(site, setup, this, parts):
    """What other signals cost each station, on its channel or by overload, as the setup is used."""
    antenna, mount, feed = parts
    way = aim_of(site, setup)
    headings = [setup.heading_deg] if way == "fixed" else budget.HEADINGS_DEG
    gain = budget.gain_toward_dbd(site, antenna, mount, headings)
    alone = this.margin_db + gain
    left = budget.others(site, feed, this, gain).applied_to(alone)
    cost = np.nan_to_num(alone - left)
    if way == "never":
        return cost.mean(axis=0)
    best = np.nan_to_num(left, nan=-np.inf).argmax(axis=0)
    return cost[best, np.arange(best.size)]


def _aim_loss_db(site, setup, antenna, mount):
    freq = site.stations["freq_mhz"].to_numpy(float)
    if aim_of(site, setup) == "rotator":
        return np.zeros(freq.size)
    headings = budget.HEADINGS_DEG if setup.heading_deg is None else [setup.heading_deg]
    toward = budget.gain_toward_dbd(site, antenna, mount, headings)
    best = budget.gain_toward_dbd(site, antenna, mount, budget.HEADINGS_DEG).max(axis=0)
    return np.nan_to_num(best - toward.mean(axis=0))


def _why(margin, spread, limit):
    if np.isnan(margin):
        return limit
    words = spare_words(margin, spread)
    return words if limit == "nothing" else f"{words}; in the way: {limit}"
