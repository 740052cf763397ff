"""Channel plans: where each RF channel lies, its band and its wavelength.

An RF channel is text ("9", "9A"); every function here also takes the number 9. It is the channel a
station transmits on, which in many countries is not the number the screen shows.
"""

import functools
import re

import numpy as np
import pandas as pd

from . import facts, units

REGIONS = tuple(facts.table("channel_plans")["region"].unique())
"""United States and Canada, GE06 (Europe, Africa, parts of Asia), Australia, Japan, Brazil."""

_WORD = re.compile(r"(?:rf|ch)?\s*0*(\d{1,3})(?:\.0+)?([a-z]?)", re.IGNORECASE)


def plan(region="us"):
    """All television channels of a region.

    Parameters: ``region``, one of ``REGIONS``. Returns a DataFrame by ``rf_channel`` (text) in order
    of frequency: ``low_mhz``, ``centre_mhz``, ``high_mhz``, ``band`` (low VHF, high VHF, UHF),
    ``wavelength_m`` at the centre. Source: facts table ``channel_plans``, with a source per row.

    >>> plan("us").index[:4].tolist(), float(plan("us").centre_mhz["9"])
    (['2', '3', '4', '5'], 189.0)
    """
    return _plan(region).copy()


def _plan(region):
    return _laid_out(units.one_of("region", region, REGIONS))


@functools.cache
def _laid_out(region):
    rules = facts.table("channel_plans").query("region == @region")
    rows = [row for rule in rules.itertuples() for row in _rows(rule)]
    columns = ["rf_channel", "low_mhz", "centre_mhz", "high_mhz", "band"]
    table = pd.DataFrame(rows, columns=columns).set_index("rf_channel")
    return table.assign(wavelength_m=units.LIGHT_M_MHZ / table.centre_mhz)


def _rows(rule):
    """The channels of one rule; a rule for one lettered channel has that channel alone."""
    if not str(rule.first).isdigit():
        names = [str(rule.first)]
    else:
        names = [str(n) for n in range(int(rule.first), int(rule.last) + 1)]
    half = rule.width_mhz / 2
    skip = "" if pd.isna(rule.skip) else f"{rule.skip:.0f}"
    for place, name in enumerate(names):
        centre = rule.first_centre_mhz + place * rule.step_mhz
        if name != skip:
            yield name, centre - half, centre, centre + half, rule.band


def name(rf_channel):
    """An RF channel as the text used in every table, or a ValueError.

    Parameters: ``rf_channel``, a number (9 or 9.0) or text ("9", "09", "9a", "RF 9").

    >>> name(9), name(" 9a ")
    ('9', '9A')
    """
    found = _WORD.fullmatch(str(rf_channel).strip())
    if found:
        return found[1] + found[2].upper()
    hint = ""
    if re.fullmatch(r"\d+\s*[.\-]\s*\d+", str(rf_channel).strip()):
        hint = " A number with a point or dash is what the screen shows, not the RF channel."
    raise ValueError(f"rf_channel is {rf_channel!r}; it must be like 9, '9' or '9A'.{hint}")


def _look_up(rf_channel, region, column):
    """The ``column`` of the plan for one channel or an array of them, in the same shape."""
    table = _plan(region)
    given = np.asarray(rf_channel, dtype=object)
    values = dict(zip(table.index, table[column], strict=True))
    found = [values[_known(channel, region)] for channel in given.ravel()]
    return units.plain(np.array(found).reshape(given.shape))


def _known(rf_channel, region):
    channel = name(rf_channel)
    if channel not in _plan(region).index:
        raise ValueError(_why_not(channel, region))
    return channel


def _why_not(channel, region):
    rules = facts.table("channel_plans").query("region == @region")
    pieces = zip(rules["first"], rules["last"], strict=True)
    exist = ", ".join(a if a == b else f"{a} to {b}" for a, b in pieces)
    gaps = facts.table("channel_gaps").query("region == @region")
    number = int(re.match(r"\d+", channel)[0])
    why = gaps.loc[(gaps["first"] <= number) & (number <= gaps["last"]), "why"]
    reason = f": {why.iloc[0]}" if len(why) else ""
    start = f"rf_channel {channel} is no television channel in region {region}"
    return f"{start}{reason}. There are {exist}."


def centre_mhz(rf_channel, region="us"):
    """Centre frequency of an RF channel, MHz.

    Parameters: ``rf_channel``, one or an array of any shape (9, "9", "9A"); ``region``, one of
    ``REGIONS``. Raises ValueError for a channel the plan does not hold, and says what there is.

    >>> centre_mhz(14)
    473.0
    >>> centre_mhz(["9", "9A", "10"], "au")
    array([198.5, 205.5, 212.5])
    """
    return _look_up(rf_channel, region, "centre_mhz")


def bandwidth_mhz(rf_channel, region="us"):
    """Width of an RF channel, MHz; ``rf_channel`` and ``region`` as in ``centre_mhz``.

    >>> bandwidth_mhz([5, 21], "ge06")
    array([7., 8.])
    """
    high, low = _look_up(rf_channel, region, "high_mhz"), _look_up(rf_channel, region, "low_mhz")
    return units.plain(np.round(np.subtract(high, low), 6))


def band_of(rf_channel, region="us"):
    """Band of an RF channel: low VHF, high VHF or UHF; arguments as in ``centre_mhz``.

    Parameters: ``rf_channel``, one or an array of any shape; ``region``, one of ``REGIONS``.

    >>> band_of(6)
    'low VHF'
    """
    return _look_up(rf_channel, region, "band")


@functools.cache
def borders_mhz():
    """Frequencies half-way between the bands of all regions, MHz, rising: an antenna's bands end there.

    >>> [round(f) for f in borders_mhz()]
    [131, 350]
    """
    plans = pd.concat([_plan(region) for region in REGIONS])
    ends = plans.groupby("band").agg(low=("low_mhz", "min"), high=("high_mhz", "max"))
    ends = ends.sort_values("low")
    return tuple((ends["high"].to_numpy()[:-1] + ends["low"].to_numpy()[1:]) / 2)


def adjacent(rf_channel, region="us"):
    """The RF channels that touch this one, in order of frequency: none, one or two.

    Parameters: ``rf_channel``, one channel; ``region``, one of ``REGIONS``.

    >>> adjacent(4), adjacent(8)
    (('3',), ('7', '9'))
    """
    table = _plan(region)
    here = table.loc[_known(rf_channel, region)]
    touch = np.isclose(table.high_mhz, here.low_mhz) | np.isclose(table.low_mhz, here.high_mhz)
    return tuple(table.index[touch])


def neighbours(region="us"):
    """Other strong services beside the television bands, which can overload an amplifier.

    Parameters: ``region``, one of ``REGIONS``. Returns a DataFrame: ``service`` (fm, mobile),
    ``label``, ``low_mhz``, ``high_mhz``, ``sender`` (mast, handset), ``source``, ``status``.

    >>> neighbours("us").label.iloc[0]
    'FM broadcasting'
    """
    units.one_of("region", region, REGIONS)
    rows = facts.table("neighbours").query("region == @region")
    return rows.drop(columns="region").reset_index(drop=True)


__all__ = [
    "REGIONS",
    "adjacent",
    "band_of",
    "bandwidth_mhz",
    "borders_mhz",
    "centre_mhz",
    "name",
    "neighbours",
    "plan",
]


def __dir__():
    return __all__
