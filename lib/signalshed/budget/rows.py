"""The account of one station, line by line."""

import numpy as np
import pandas as pd

from .. import facts
from ..site import check_site
from ..units import turn_deg
from .gain import polarization_loss_db
from .mounts import scattered_share
from .needs import may_refuse
from .reception import reception

BUILDINGS = {
    "traditional": "ordinary walls and glass",
    "thermally_efficient": "foil insulation or metal-coated glass",
    "metal": "metal roof or walls",
}
"""Each way of construction of a site.toml in words."""


_TREES = {
    None: "trees in full leaf, the worse season",
    "full": "trees in full leaf",
    "bare": "bare trees",
    "none": "trees, the same all year",
}


def station_index(site, station):
    """Row of a ``station`` in the tables of ``site``: by its name, or by its row number.

    Raises ValueError with the names there are.

    >>> from signalshed import simulate
    >>> station_index(simulate.demo_site(), 0)
    0
    """
    check_site(site)
    names = site.stations["station"]
    if isinstance(station, (int, np.integer)) and 0 <= station < len(names):
        return int(station)
    found = np.flatnonzero(names == station) if isinstance(station, str) else np.array([])
    if found.size == 0:
        raise ValueError(f"There is no station {station!r}; there are {', '.join(names)}.")
    return int(found[0])


def account(station, setup, site):
    """The account of one station through one setup, row by row; the last row leaves the spare dB.

    The last row but two leaves margin_db, for the median of time with all unknowns at their middle; the
    fade of the worst tenth of the time, and what is not known together, lead from there to spare_db.
    Parameters: ``station`` its name or row number; ``setup`` a survey.Setup (heading None: the average
    over all headings); ``site`` a Site. Returns a DataFrame: term, value_db, running_db, unit (of the
    running sum), why; one row where the tuner cannot decode the station or it is no television.

    >>> from signalshed import simulate, survey
    >>> site = simulate.demo_site()
    >>> setup = survey.Setup(next(iter(site.antennas)), "roof mast", heading_deg=0)
    >>> account(0, setup, site).columns.tolist()
    ['term', 'value_db', 'running_db', 'unit', 'why']
    """
    i = station_index(site, station)
    received = reception(site, setup)
    rows = list(_refusal(site, received.link, i)) or [
        *_field_rows(received, i),
        _antenna_row(received, i),
        *_mount_rows(received, i),
        *_tuner_rows(site, received.link, i),
        *_rows_of_others(received, i),
        *_last_rows(received, i),
    ]
    frame = pd.DataFrame(rows, columns=["term", "value_db", "unit", "why"])
    frame.insert(2, "running_db", np.cumsum(frame["value_db"].to_numpy(float)))
    return frame


def _antenna_row(received, i):
    """What the antenna makes of the station as it is really used."""
    site, name = received.site, _as_hung(received)
    crossed = polarization_loss_db(site, received.antenna, received.mount)[i]
    gain = received.gain_dbd[received.rows_of(i), i].mean() + crossed
    why = _toward(received, i, name)
    if scattered_share(received.mount) and received.aim == "fixed":
        why += "; echoes fill in the rest, so the aim is a search"
    return ("antenna toward the station", gain, "dBm", why)


def _as_hung(received):
    """The antenna's name, and that it hangs on its side."""
    turned = received.mount.polarization == "vertical"
    return f"{received.antenna.name} on its side" if turned else received.antenna.name


def _toward(received, i, name):
    freq, bearing = received.site.stations[["freq_mhz", "bearing_deg"]].to_numpy(float)[i]
    heading = received.headings_deg[received.rows_of(i)]
    if np.isnan(received.margin_db[i]):
        return f"{name} is not known at {freq:.0f} MHz"
    if received.aim == "never":
        return f"{name}, average over all headings"
    off = turn_deg(heading[0], bearing)
    if abs(off) < 0.5:
        return f"{name}, station on the aim"
    side = "right" if off > 0 else "left"
    return f"{name}, station {abs(off):.0f} degrees {side} of the aim"


def _rows_of_others(received, i):
    rows = received.rows_of(i)
    rise = received.others.rise_db[rows, i].mean()
    joint = received.others.joint_db[rows, i].mean()
    if received.together_words[i]:
        yield (
            "its network",
            joint,
            "dB margin",
            f"{received.together_words[i]} that send the same",
        )
    why = "same channel, and mixing products (its own too), act like noise"
    if by := received.limits[i].by:
        why += f"; most of all {by}"
    yield ("others on the air", 0.0 - rise, "dB margin", why if rise > 0.05 else "hardly anything")
    over = received.margin_db[i] - received.risen_db[rows, i].mean()
    if over < -1e-9:
        part = received.others.tightest[rows][0]
        yield ("too strong", over, "dB margin", f"all signals together overload {part}")


def _last_rows(received, i):
    """From the median of time with the unknowns at their middle to the spare dB."""
    fade, spare = received.fade_db[i], received.spare_db[i]
    why = "held 90 % of the time"
    if (rise := received.link.noise_up_db[i]) > 0.05:
        why += f": noise then rises {rise:.1f} dB; it joins the signal's fall in squares"
    yield ("fade of the worst tenth of the time", -fade, "dB spare", why)
    rest = spare - (received.margin_db[i] - fade)
    why = "as often for as against: nothing to add"
    if received.aim == "never":
        why = "good headings weigh more than their average"
    if np.isneginf(spare):
        why = "overload: no dB of its own helps"
    yield ("what is not known together", rest, "dB spare", why)


def _refusal(site, link, i):
    """The only row of a station that no antenna brings, or none."""
    row = site.stations.iloc[i]
    if row["service"] != "tv":
        yield ("no television", np.nan, "dB", f"{row['service']} can only disturb the others")
    elif not link.decoded[i]:
        why = f"{site.tuner.name} does not decode {row['standard']}; no antenna can help"
        yield ("the tuner cannot show this station", np.nan, "dB", why)
    elif np.isnan(link.needs_cn_db[i]):
        why = f"no published C/N for {row['standard']}: type needs_cn_db in stations.csv"
        yield ("what the tuner needs is unknown", np.nan, "dB", why)


def _field_rows(received, i):
    site, mount, link = received.site, received.mount, received.link
    row, there = site.stations.iloc[i], link.field
    free = there.free_space_dbuv_m[i]
    rest = there.median_dbuv_m[i] - free
    why = f"reckoned with {row['erp_kw']:.4g} kW toward you, {row['distance_km']:.1f} km away"
    yield ("field in empty space", free, "dBµV/m", why)
    why = f"{there.layer[i]}; {round(mount.height_agl_m, 1):g} m up; RF {row['rf_channel']}"
    yield ("earth, hills and height", rest, "dBµV/m", why)
    if site.belief is not None:
        yield ("what your readings taught", link.learned_db[i], "dBµV/m", "readings at this site")
    why = f"a shorter dipole catches less: {row['freq_mhz']:.0f} MHz"
    yield ("what a half-wave dipole makes of it", link.dipole_dbm[i], "dBm", why)


def _mount_rows(received, i):
    site, mount, link = received.site, received.mount, received.link
    crossed = polarization_loss_db(site, received.antenna, mount)[i]
    where = facts.table("mount_kinds").set_index("kind").loc[mount.kind, "label"]
    losses = (
        ("crossed polarization", crossed, f"station is {site.stations['polarization'].iloc[i]}"),
        ("walls and roof", link.entry_loss_db[i], f"{where}: {BUILDINGS[mount.construction]}"),
        ("blocked side", link.blocked_loss_db[i], "the mount does not see this direction"),
        ("trees", link.vegetation_loss_db[i], f"{mount.trees_m:g} m of {_TREES[site.leaves]}"),
    )
    return [(name, -loss, "dBm", why) for name, loss, why in losses if loss != 0]


def _tuner_rows(site, link, i):
    line, noise = link.line_gain_db[i], link.noise_dbm[i]
    yield ("cable and parts", line, "dBm", "from the balun to the tuner, amplifiers included")
    why = f"floor at the tuner {noise:.1f} dBm, amplifiers and outside noise inside"
    yield ("noise in the channel", -noise, "dB C/N", why)
    why = f"C/N for {site.stations['standard'].iloc[i]}, what a receiver loses inside"
    if refused := may_refuse(site)[i]:
        why += f"; this TV may refuse it: {refused}"
    yield ("what the tuner needs", -link.needs_cn_db[i], "dB margin", why)
