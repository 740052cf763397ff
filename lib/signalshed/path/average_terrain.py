"""Field strength over average terrain: the regulator's charts as a fitted surface.

The charts (47 CFR 73.699) show the field of 1 kW ERP at half of the places, received 9.1 m (30 ft)
above ground, for a transmitting antenna so high above the average of the land around it. No map is
needed. Fitted 5 to 200 km and 30 to 1300 m: rms 0.3 to 0.7 dB, worst 2.8 dB against the charts.
"""

import functools
from types import SimpleNamespace

import numpy as np
from scipy.special import ndtri

from .. import facts
from ..units import check, plain
from .free_space import ceiling_dbuv_m, check_distance


def average_terrain_dbuv_m(
    freq_mhz, erp_kw, distance_km, transmit_haat_m, receive_agl_m=9.1, *, time_pct=50
):
    """Field strength over average terrain, dBuV/m, at half of the places.

    Parameters, which broadcast: ``freq_mhz`` 30 to 3000; ``erp_kw`` above 0; ``distance_km`` above
    0 (nearer than 5 km and beyond 200 km on the free-space slope); ``transmit_haat_m`` above average
    terrain, may be negative (clamped to 30 to 1300); ``receive_agl_m`` above 0 and above local
    clutter (clamped to 2 to 30); ``time_pct`` share of the time the field is exceeded, 1 to 99.
    Never above free space. ``average_terrain_note`` tells what was clamped. ValueError otherwise.
    Source: charts of 47 CFR 73.699 for 50 and 90 % of the time, other shares on the normal scale
    through both (so 10 % mirrors 90 %); receive height by Rec. ITU-R P.1546, 3.2 + 6.2 log10 f dB
    per decade.

    >>> round(average_terrain_dbuv_m(615, 1000, 96.8, 300, time_pct=90), 1)
    41.7
    """
    freq = check("freq_mhz", freq_mhz, low=30, high=3000)
    power = check("erp_kw", erp_kw, above=0)
    distance = check_distance(distance_km)
    height = check("transmit_haat_m", transmit_haat_m, low=-9000, high=9000)
    receive = check("receive_agl_m", receive_agl_m, above=0, high=9000)
    quantile = ndtri(check("time_pct", time_pct, low=1, high=99) / 100)
    field = _chart_dbuv_m(_band(freq), distance, height, quantile)
    field = field + 10 * np.log10(power) + _receive_height_db(freq, receive)
    return plain(np.minimum(field, ceiling_dbuv_m(power, distance)))


def average_terrain_note(distance_km, transmit_haat_m, receive_agl_m=9.1):
    """What ``average_terrain_dbuv_m`` had to clamp, as words; "" where nothing was.

    Parameters, which broadcast: ``distance_km``, ``transmit_haat_m``, ``receive_agl_m`` as given
    to that function. Returns a str, or an array of str (dtype object).

    >>> average_terrain_note(250, 10)
    'beyond 200 km the charts end: free-space slope; transmitting antenna taken as 30 m'
    """
    limit = _limits()
    distance, height, receive = np.broadcast_arrays(
        np.asarray(distance_km, float),
        np.asarray(transmit_haat_m, float),
        np.asarray(receive_agl_m, float),
    )
    parts = [
        (distance < limit.near, f"nearer than {limit.near:g} km: free-space slope"),
        (distance > limit.far, f"beyond {limit.far:g} km the charts end: free-space slope"),
        (height < limit.low, f"transmitting antenna taken as {limit.low:g} m"),
        (height > limit.high, f"transmitting antenna taken as {limit.high:g} m"),
        (receive < limit.receive_low, f"receiving antenna taken as {limit.receive_low:g} m"),
        (receive > limit.receive_high, f"receiving antenna taken as {limit.receive_high:g} m"),
    ]
    return _joined(parts, distance.shape)


def _joined(parts, shape):
    """Words joined by semicolons where their mask is True."""
    note = np.full(shape, "", dtype=object)
    for where, words in parts:
        more = np.where(note == "", words, note + "; " + words)
        note = np.where(where, more, note)
    return plain(note)


def _chart_dbuv_m(band, distance_km, height_m, quantile):
    """Field of 1 kW at the chart's receiving height; ``quantile`` is the normal one of the time."""
    limit, near = _limits(), 20 * np.log10(distance_km)
    d = np.clip(distance_km, limit.near, limit.far)
    h = np.clip(height_m, limit.low, limit.high)
    horizon = 4.12 * (np.sqrt(h) + np.sqrt(limit.chart_receive))
    x, y, band = np.broadcast_arrays(np.sqrt(d / horizon) - 1, np.log10(h / 300), band)
    median, per_quantile = _surfaces_at(x, y, band)
    return median + np.minimum(per_quantile, 0) * quantile - near


def _surfaces_at(x, y, band):
    """Both fitted surfaces sum c_ij x^i y^j, each element in its own band."""
    surfaces = _surfaces()
    in_x, in_y = (
        p[..., None] ** np.arange(n) for p, n in zip((x, y), surfaces.shape, strict=False)
    )
    terms = (in_x[..., :, None] * in_y[..., None, :]).reshape(-1, in_x.shape[-1] * in_y.shape[-1])
    every = terms @ surfaces.reshape(terms.shape[1], -1)
    every = every.reshape(*x.shape, *surfaces.shape[2:])
    return np.moveaxis(np.take_along_axis(every, band[..., None, None], axis=-1)[..., 0], -1, 0)


def _band(freq_mhz):
    return np.searchsorted(_borders(), freq_mhz, side="right")


def _receive_height_db(freq_mhz, receive_agl_m):
    limit = _limits()
    height = np.clip(receive_agl_m, limit.receive_low, limit.receive_high)
    per_decade = limit.offset + limit.slope * np.log10(freq_mhz)
    return per_decade * np.log10(height / limit.chart_receive)


@functools.cache
def _surfaces():
    """Coefficients (power of x, power of y, 2, band): the median, the change per normal quantile."""
    table = facts.table("average_terrain_fit")
    bands = facts.table("average_terrain_bands")["band"].tolist()
    curve, band = table["curve"].map(["F50,50", "F50,90"].index), table["band"].map(bands.index)
    x, y = table["power_of_x"], table["power_of_y"]
    surfaces = np.zeros((x.max() + 1, y.max() + 1, 2, len(bands)))
    surfaces[x, y, curve, band] = table["coefficient"]
    surfaces[:, :, 1] = (surfaces[:, :, 1] - surfaces[:, :, 0]) / ndtri(0.9)
    return surfaces


@functools.cache
def _borders():
    return facts.table("average_terrain_bands")["below_mhz"].to_numpy(float)[:-1]


@functools.cache
def _limits():
    v = functools.partial(facts.value, "average_terrain_limits")
    return SimpleNamespace(
        near=v("nearest_km"),
        far=v("farthest_km"),
        low=v("lowest_haat_m"),
        high=v("highest_haat_m"),
        receive_low=v("lowest_receive_m"),
        receive_high=v("highest_receive_m"),
        chart_receive=v("chart_receive_m"),
        offset=v("height_offset_db"),
        slope=v("height_slope_db"),
    )
