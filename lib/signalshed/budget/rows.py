"""The account of one station, line by line."""

import numpy as np
import pandas as pd

from .link import gain_toward_dbd, link, polarization_loss_db


def station_index(site, station):
    """Row of a ``station`` in the tables of ``site``: by its name, or by its row number.

    Raises ValueError with the names there are.

    >>> from signalshed import simulate
    >>> station_index(simulate.demo_site(), 0)
    0
    """
    names = site.stations["station"]
    if isinstance(station, (int, np.integer)) and 0 <= station < len(names):
        return int(station)
    found = np.flatnonzero(names == station)
    if found.size == 0:
        raise ValueError(f"There is no station {station!r}; there are {', '.join(names)}.")
    return int(found[0])


def account(station, setup, site):
    """The account of one station through one setup, row by row; the last row is the spare dB.

    Parameters: ``station`` its name or row number; ``setup`` a survey.Setup (heading None: the average
    over all headings); ``site`` a Site. Returns a DataFrame: term, value_db, running_db, unit (of the
    running sum), why. If the tuner cannot decode the station, that is the only row.

    >>> from signalshed import simulate, survey
    >>> site = simulate.demo_site()
    >>> setup = survey.Setup(next(iter(site.antennas)), "roof mast", heading_deg=0)
    >>> account(0, setup, site).columns.tolist()
    ['term', 'value_db', 'running_db', 'unit', 'why']
    """
    i = station_index(site, station)
    mount, antenna = site.mount(setup.mount), site.antenna(setup.antenna)
    this = link(site, mount, site.feed(setup.feed or mount.feed))
    refusal = _refusal(site, this, i)
    if refusal:
        return pd.DataFrame([refusal], columns=["term", "value_db", "running_db", "unit", "why"])
    rows = [
        *_field_rows(site, mount, this, i),
        _antenna_row(site, antenna, mount, setup, i),
        *_mount_rows(site, antenna, mount, this, i),
        *_tuner_rows(site, this, i),
    ]
    frame = pd.DataFrame(rows, columns=["term", "value_db", "unit", "why"])
    frame.insert(2, "running_db", frame["value_db"].cumsum())
    return frame


def _refusal(site, this, i):
    row = site.stations.iloc[i]
    if not this.decoded[i]:
        why = f"{site.tuner.name} does not decode {row['standard']}; no antenna can help"
        return ("the tuner cannot show this station", np.nan, np.nan, "dB", why)
    if np.isnan(this.needs_cn_db[i]):
        why = f"no published C/N for {row['standard']}: type needs_cn_db in stations.csv"
        return ("what the tuner needs is unknown", np.nan, np.nan, "dB", why)
    return None


def _field_rows(site, mount, this, i):
    row, there = site.stations.iloc[i], this.field
    free = there.free_space_dbuv_m[i]
    rest = there.median_dbuv_m[i] - free
    yield (
        "field in empty space",
        free,
        "dBuV/m",
        f"{row['erp_kw']:g} kW toward you, {row['distance_km']:.1f} km away",
    )
    yield (
        "earth, hills and height",
        rest,
        "dBuV/m",
        f"{there.layer[i]}; {mount.height_agl_m:g} m up; RF {row['rf_channel']}",
    )
    if site.belief is not None:
        yield ("what your readings taught", this.learned_db[i], "dBuV/m", "readings at this site")
    yield (
        "what a half-wave dipole makes of it",
        this.dipole_dbm[i],
        "dBm",
        f"a shorter dipole catches less: {row['freq_mhz']:.0f} MHz",
    )


def _antenna_row(site, antenna, mount, setup, i):
    bearing = site.stations["bearing_deg"].iloc[i]
    if setup.heading_deg is None:
        headings = np.arange(0.0, 360.0, 5.0)
        why = f"{antenna.name}, average over all headings"
    else:
        headings = [setup.heading_deg]
        off = (bearing - setup.heading_deg + 180) % 360 - 180
        side = "right" if off > 0 else "left"
        why = f"{antenna.name}, station {abs(off):.0f} degrees {side} of the aim"
    bare = gain_toward_dbd(site, antenna, mount, headings)[:, i].mean()
    if np.isnan(bare):
        why = f"{antenna.name} is not known at {site.stations['freq_mhz'].iloc[i]:.0f} MHz"
    gain = bare + polarization_loss_db(site, antenna, mount)[i]
    return ("antenna toward the station", gain, "dBm", why)


def _mount_rows(site, antenna, mount, this, i):
    crossed = polarization_loss_db(site, antenna, mount)[i]
    losses = (
        ("crossed polarization", crossed, f"station is {site.stations['polarization'].iloc[i]}"),
        ("walls and roof", this.entry_loss_db[i], f"{mount.kind}, {mount.construction} building"),
        ("blocked side", this.blocked_loss_db[i], "the mount does not see this direction"),
        ("trees", this.trees_loss_db[i], f"{mount.trees_m:g} m of leaves"),
    )
    return [(name, -loss, "dBm", why) for name, loss, why in losses if loss != 0]


def _tuner_rows(site, this, i):
    line = this.line_gain_db[i]
    yield ("cable and parts", line, "dBm", "from the balun to the tuner, amplifiers included")
    yield (
        "noise in the channel",
        -this.noise_dbm[i],
        "dB C/N",
        f"floor at the tuner {this.noise_dbm[i]:.1f} dBm, amplifiers and outside noise inside",
    )
    yield (
        "what the tuner needs",
        -this.needs_cn_db[i],
        "dB spare",
        f"C/N for {site.stations['standard'].iloc[i]}",
    )
