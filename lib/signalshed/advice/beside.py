"""Side by side: one setup at two sites, dates or revisions; and builds that no longer fit the list."""

import numpy as np
import pandas as pd

from .. import survey
from ..site import Site, check_site


def beside(one: Site, other: Site, setup: survey.Setup) -> pd.DataFrame:
    """One setup at two sites, station by station, what changed most first.

    Two sites, or one before and after: another list, readings, season, a rebuilt antenna of the same
    name. The antenna is aimed at each site anew unless the setup says where.

    Parameters
    ----------
    one, other
    setup
        One that both can have.

    Returns
    -------
    DataFrame
        station, rf_channel, bearing_deg, distance_km (at the first site where it is listed there),
        spare_db and spare_db_other, more_db (other less one, NaN where one does not have the station),
        roofs and roofs_other.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> half = site.with_stations(site.stations.assign(erp_kw=site.stations["erp_kw"] / 2))
    >>> table = beside(site, half, survey.Setup("wire loop", "roof mast", heading_deg=38.0))
    >>> float(table["more_db"].round(1).dropna().median())
    -3.0
    """
    keys = ["station", "rf_channel"]
    shown = [*keys, "bearing_deg", "distance_km", "spare_db", "roofs"]
    tables = []
    for site in (one, other):
        survey.parts_of(site, setup)
        aimed = setup if setup.heading_deg is not None else survey.aimed(site, setup)[0]
        tables.append(survey.outlook(site, aimed)[shown].drop_duplicates(keys))
    both = tables[0].merge(tables[1], on=keys, how="outer", suffixes=("", "_other"))
    for name in ("bearing_deg", "distance_km"):
        both[name] = both[name].where(both[name].notna(), both.pop(f"{name}_other"))
    spare = both["spare_db"].to_numpy(float), both["spare_db_other"].to_numpy(float)
    with np.errstate(invalid="ignore"):
        both["more_db"] = np.where(np.isfinite(spare[0] + spare[1]), spare[1] - spare[0], np.nan)
    order = both["more_db"].abs().sort_values(ascending=False, na_position="last", kind="stable")
    names = [*shown[:4], "spare_db", "spare_db_other", "more_db", "roofs", "roofs_other"]
    return both.loc[order.index, names].reset_index(drop=True)


def out_of_band(site: Site) -> pd.DataFrame:
    """Which antennas of a site no longer cover its wanted stations, the worst first.

    Parameters
    ----------
    site

    Returns
    -------
    DataFrame
        antenna, low_mhz and high_mhz that it is known for, covered and wanted (channels), lacks (the
        wanted RF channels outside, text).

    Examples
    --------
    >>> from signalshed import simulate
    >>> out_of_band(simulate.demo_site()).set_index("antenna").loc["wire loop", "lacks"]
    '5, 9, 12'
    """
    check_site(site)
    wanted = site.stations[site.stations["wanted"].astype(bool)].drop_duplicates("rf_channel")
    wanted = wanted.sort_values("freq_mhz")
    rows = []
    for name, antenna in site.antennas.items():
        inside = np.asarray(antenna.covers(wanted["freq_mhz"].to_numpy(float)), bool)
        ends = float(antenna.freq_mhz[0]), float(antenna.freq_mhz[-1])
        lacks = ", ".join(wanted["rf_channel"][~inside])
        rows.append((name, *ends, int(inside.sum()), len(wanted), lacks))
    columns = ["antenna", "low_mhz", "high_mhz", "covered", "wanted", "lacks"]
    table = pd.DataFrame(rows, columns=columns)
    return table.sort_values("covered", kind="stable", ignore_index=True)
