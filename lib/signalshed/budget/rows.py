"""The account of one station, line by line."""

import numpy as np
import pandas as pd

from .. import facts
from .link import HEADINGS_DEG, gain_toward_dbd, link, polarization_loss_db
from .others import others

BUILDINGS = {
    "traditional": "ordinary walls and glass",
    "thermally_efficient": "foil insulation or metal-coated glass",
    "metal": "metal roof or walls",
}
"""Each way of construction of a site.toml in words."""


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
    feed = site.feed(setup.feed if setup.feed is not None else mount.feed)
    this = link(site, mount, feed)
    refusal = _refusal(site, this, i)
    if refusal:
        return pd.DataFrame([refusal], columns=["term", "value_db", "running_db", "unit", "why"])
    toward = _Toward(site, antenna, mount, setup, i, feed)
    rows = [
        *_field_rows(site, mount, this, i),
        ("antenna toward the station", toward.gain_dbd, "dBm", toward.why),
        *_mount_rows(site, antenna, mount, this, i),
        *_tuner_rows(site, this, i),
    ]
    rows += list(toward.rows_of_others())
    frame = pd.DataFrame(rows, columns=["term", "value_db", "unit", "why"])
    frame.insert(2, "running_db", np.cumsum(frame["value_db"].to_numpy(float)))
    return frame


class _Toward:
    """What the antenna makes of one station as the setup is really used, and what others spoil."""

    def __init__(self, site, antenna, mount, setup, i, feed):
        self.way = "never" if setup.heading_deg is None else "fixed"
        self.way = self.way if mount.aim == "fixed" else mount.aim
        headings = [setup.heading_deg] if self.way == "fixed" else HEADINGS_DEG
        this, gain = link(site, mount, feed), gain_toward_dbd(site, antenna, mount, headings)
        self.others = others(site, feed, this, gain)
        self.alone_db = (this.margin_db + gain)[:, i]
        self.margin_db = self.others.applied_to(this.margin_db + gain)[:, i]
        self.rise_db = self.others.rise_db[:, i]
        self.pick = self._picked()
        crossed = polarization_loss_db(site, antenna, mount)[i]
        self.gain_dbd = gain[self.pick, i].mean() + crossed
        self.why = self._words(site, antenna, i, np.asarray(headings, float))

    def _picked(self):
        if self.way == "rotator" and not np.isnan(self.margin_db).all():
            return [int(np.nanargmax(self.margin_db))]
        return slice(None)

    def _words(self, site, antenna, i, headings):
        freq, bearing = site.stations[["freq_mhz", "bearing_deg"]].to_numpy(float)[i]
        if np.isnan(self.gain_dbd):
            return f"{antenna.name} is not known at {freq:.0f} MHz"
        if self.way == "never":
            return f"{antenna.name}, average over all headings"
        off = (bearing - headings[self.pick][0] + 180) % 360 - 180
        if abs(off) < 0.5:
            return f"{antenna.name}, station on the aim"
        side = "right" if off > 0 else "left"
        return f"{antenna.name}, station {abs(off):.0f} degrees {side} of the aim"

    def rows_of_others(self):
        rise, margin = self.rise_db[self.pick].mean(), self.margin_db[self.pick].mean()
        why = "same channel, and mixing products (its own too), act like noise"
        why = why if rise > 0.05 else "hardly anything"
        yield ("others on the air", 0.0 - rise, "dB spare", why)
        over = margin - (self.alone_db[self.pick].mean() - rise)
        if over < -1e-9:
            part = self.others.tightest[self.pick][0]
            yield ("too strong", over, "dB spare", f"all signals together overload {part}")


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
        "dBµV/m",
        f"reckoned with {row['erp_kw']:g} kW toward you, {row['distance_km']:.1f} km away",
    )
    yield (
        "earth, hills and height",
        rest,
        "dBµV/m",
        f"{there.layer[i]}; {mount.height_agl_m:g} m up; RF {row['rf_channel']}",
    )
    if site.belief is not None:
        yield ("what your readings taught", this.learned_db[i], "dBµV/m", "readings at this site")
    yield (
        "what a half-wave dipole makes of it",
        this.dipole_dbm[i],
        "dBm",
        f"a shorter dipole catches less: {row['freq_mhz']:.0f} MHz",
    )


def _mount_rows(site, antenna, mount, this, i):
    crossed = polarization_loss_db(site, antenna, mount)[i]
    where = facts.table("mount_kinds").set_index("kind").loc[mount.kind, "label"]
    losses = (
        ("crossed polarization", crossed, f"station is {site.stations['polarization'].iloc[i]}"),
        ("walls and roof", this.entry_loss_db[i], f"{where}: {BUILDINGS[mount.construction]}"),
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
