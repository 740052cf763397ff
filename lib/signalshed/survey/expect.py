"""What to expect of every station through one setup."""

from ..budget import reception


def outlook(site, setup):
    """What to expect of every station through one setup: a DataFrame, stations in the site's order.

    Columns: station, rf_channel, wanted, margin_db (for the median of time, unknowns at their middle),
    spread_db, spare_db (by how much the station could fall and still come on 5 of 10 roofs like this
    for 90 % of the time; negative: what is missing; -inf: overload, no dB of its own helps), low_db and
    high_db (the spare dB of 9 of 10 roofs lie between: its 5 and 95 % points, headings included where
    nobody aims), fade_db, chance (that this roof locks it at least 90 % of the time), roofs (the chance
    as roofs out of ten), layer, limit (what is in the way), remedy (what would help), bearing_deg,
    distance_km, comes_km_9, comes_km_5 and comes_km_1 (how far from its tower it comes on so many of 10
    roofs, on the average-terrain curve), note, why. It is the table of ``reception``.
    Parameters: ``site`` a Site; ``setup`` a Setup.

    >>> from signalshed import simulate
    >>> from signalshed.survey import Setup
    >>> site = simulate.demo_site()
    >>> table = outlook(site, Setup(next(iter(site.antennas)), "roof mast", heading_deg=200))
    >>> bool(table["chance"].between(0, 1).all())
    True
    """
    return reception(site, setup).table
