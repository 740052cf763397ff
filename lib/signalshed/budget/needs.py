"""The C/N that each station needs of this tuner at this mount, how surely it is known, and refusals."""

import functools

import numpy as np
import pandas as pd

from .. import facts


def needs_cn_db(site, mount):
    """The C/N each station needs at this mount, dB: an array over the site's stations.

    A station's own value wins, taken as what a tuner needs; else its standard's, for the channel a roof
    (Ricean) or a room (Rayleigh) gives, where the standard tells them apart, and what a real receiver
    loses on top. NaN: nobody said, so type it.
    Parameters: ``site`` a Site; ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> float(needs_cn_db(site, site.mount("roof mast"))[0])
    15.2
    """
    own = site.stations["needs_cn_db"].astype(float)
    by_standard = site.stations["standard"].map(_needs_by_standard(mount.kind)["needs_cn_db"])
    return own.fillna(by_standard).to_numpy(float)


def needs_sd_db(site, mount):
    """One standard deviation of the C/N each station needs, dB: 0 where it was measured or typed.

    Parameters: ``site`` a Site; ``mount`` a Mount. Returns (stations,).

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> float(needs_sd_db(site, site.mount("roof mast"))[0])
    0.0
    """
    told = site.stations["standard"].map(_needs_by_standard(mount.kind)["sd_db"]).fillna(0.0)
    return np.where(site.stations["needs_cn_db"].notna(), 0.0, told.to_numpy(float))


@functools.cache
def _needs_by_standard(mount_kind):
    indoors = facts.table("mount_kinds").set_index("kind").loc[mount_kind, "indoors"]
    order = ["rayleigh", "ricean", "gaussian"] if indoors else ["ricean", "gaussian"]
    table = facts.table("standards").set_index("standard")
    simulated = table[[f"needs_cn_{kind}_db" for kind in order]].bfill(axis=1).iloc[:, 0]
    echoes = table["rayleigh_sd_db"].fillna(0.0) if indoors else 0.0
    sd = np.hypot(table["implementation_sd_db"].fillna(0.0), echoes)
    return pd.DataFrame({"needs_cn_db": simulated + table["implementation_db"], "sd_db": sd})


def may_refuse(site):
    """Why the tuner may refuse a station though its signal arrives, in words: (stations,), "" for none.

    Parameters: ``site`` a Site.

    >>> from signalshed import simulate
    >>> may_refuse(simulate.demo_site()).tolist()[:2]
    ['', '']
    """
    tv = site.stations["service"] == "tv"
    why = [site.tuner.may_refuse(name) if name else "" for name in site.stations["standard"]]
    return np.where(tv, np.array(why, dtype=object), "")
