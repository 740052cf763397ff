"""Field strength over average terrain: the regulator's charts as a fitted surface.

The charts (47 CFR 73.699) show the field of 1 kW ERP at half of the places, received 9.1 m (30 ft)
above ground, for a transmitting antenna so high above the average of the land around it. No map is
needed. Fitted 5 to 200 km and 30 to 1300 m: rms 0.3 to 0.7 dB, worst 2.8 dB against the charts, which
tests hold to 145 km; beyond, the surface is unchecked. From there to the ends of the charts, 1.5 and
320 km, it is carried on by what rules there: plane earth under free space near the mast, scatter that
costs so many dB a kilometre far away.
"""

import functools

import numpy as np
from scipy.special import ndtri

from .. import facts
from ..units import check, plain
from ..words import joined
from .free_space import ceiling_dbuv_m, check_distance
from .receiving import receive_height_db

_LIMITS = facts.numbers("average_terrain_limits")


def average_terrain_dbuv_m(
    freq_mhz,
    erp_kw,
    distance_km,
    transmit_haat_m,
    receive_agl_m=9.1,
    *,
    time_pct=50,
    clutter_m=0.0,
):
    """Field strength over average terrain, dBuV/m, at half of the places.

    Parameters, which broadcast: ``freq_mhz`` 30 to 3000, between the charts' bands on the way from one
    to the next by log f; ``erp_kw`` above 0; ``distance_km`` above 0 (the charts end at 1.5 and 320 km);
    ``transmit_haat_m`` above average terrain, may be negative (clamped to 30 to 1300);
    ``receive_agl_m`` above 0 (clamped to 2 to 30); ``time_pct`` share of the time the field is
    exceeded, 1 to 99; ``clutter_m`` height of the houses and trees round the receiver, from 0.
    Never above free space. ``average_terrain_note`` tells what was clamped. ValueError otherwise.
    Source: charts of 47 CFR 73.699 for 50 and 90 % of the time, other shares on the normal scale
    through both (so 10 % mirrors 90 %); receive height and clutter as ``receive_height_db`` has it.

    >>> round(average_terrain_dbuv_m(615, 1000, 96.8, 300, time_pct=90), 1)
    41.7
    """
    freq = check("freq_mhz", freq_mhz, low=30, high=3000)
    power = check("erp_kw", erp_kw, above=0)
    distance = check_distance(distance_km)
    height = check("transmit_haat_m", transmit_haat_m, low=-9000, high=9000)
    receive = check("receive_agl_m", receive_agl_m, above=0, high=9000)
    quantile = ndtri(check("time_pct", time_pct, low=1, high=99) / 100)
    field = _chart_dbuv_m(_shares_of_bands(freq), distance, height, quantile)
    field = field + 10 * np.log10(power) + receive_height_db(freq, receive, clutter_m)
    return plain(np.minimum(field, ceiling_dbuv_m(power, distance)))


def average_terrain_note(distance_km, transmit_haat_m, receive_agl_m=9.1):
    """What ``average_terrain_dbuv_m`` had to clamp, as words; "" where nothing was.

    Parameters, which broadcast: ``distance_km``, ``transmit_haat_m``, ``receive_agl_m`` as given
    to that function. Returns a str, or an array of str (dtype object).

    >>> average_terrain_note(350, 10)
    'beyond 320 km the charts end; transmitting antenna taken as 30 m'
    """
    distance, height, receive = (
        np.asarray(x, float) for x in (distance_km, transmit_haat_m, receive_agl_m)
    )
    nearest, farthest = _LIMITS.charts_from_km, _LIMITS.charts_to_km
    low, high = _LIMITS.lowest_haat_m, _LIMITS.highest_haat_m
    least, most = _LIMITS.lowest_receive_m, _LIMITS.highest_receive_m
    parts = (
        (distance < nearest, f"nearer than {nearest:g} km the charts end"),
        (distance > farthest, f"beyond {farthest:g} km the charts end"),
        (height < low, f"transmitting antenna taken as {low:g} m"),
        (height > high, f"transmitting antenna taken as {high:g} m"),
        (receive < least, f"receiving antenna taken as {least:g} m"),
        (receive > most, f"receiving antenna taken as {most:g} m"),
    )
    return joined(*(np.where(where, words, "") for where, words in parts))


def _chart_dbuv_m(shares, distance_km, height_m, quantile):
    """Field of 1 kW at the chart's receiving height; ``quantile`` is the normal one of the time."""
    d = np.clip(distance_km, _LIMITS.nearest_km, _LIMITS.farthest_km)
    h = np.clip(height_m, _LIMITS.lowest_haat_m, _LIMITS.highest_haat_m)
    median, per_quantile = _fitted(shares, d, h)
    median = median - 20 * np.log10(d)
    fade = np.minimum(per_quantile, 0) * quantile
    near, far = distance_km < _LIMITS.nearest_km, distance_km > _LIMITS.farthest_km
    if near.any():
        fade = fade * np.minimum(distance_km / _LIMITS.nearest_km, 1)
        median = np.where(near, _toward_the_mast(median, d, distance_km), median)
    if far.any():
        median = median + _beyond(shares, h) * np.maximum(distance_km - _LIMITS.farthest_km, 0)
    return median + fade


def _fitted(shares, d, h):
    """The fitted surface without its 20 log10 d, and its change per normal quantile of the time."""
    horizon = 4.12 * (np.sqrt(h) + np.sqrt(_LIMITS.chart_receive_m))
    return _surfaces_at(np.sqrt(d / horizon) - 1, np.log10(h / 300), shares)


def _toward_the_mast(field_dbuv_m, d, distance_km):
    """Field nearer than ``d``: what it lacks of free space shrinks as over plane earth, down to nothing.

    Plane earth: the field goes as 1/d^2, free space as 1/d, so 20 dB a decade. A hyperbola joins both.
    """
    lacks = np.maximum(ceiling_dbuv_m(1, d) - field_dbuv_m, 0.01)
    line = lacks - _BEND_DB**2 / (4 * lacks) + 20 * np.log10(distance_km / d)
    return ceiling_dbuv_m(1, distance_km) - (line + np.hypot(line, _BEND_DB)) / 2


_BEND_DB = 4.0
"""Width of the bend between plane earth and free space; half of it where the two would meet."""


def _beyond(shares, h):
    """Fall beyond the fitted surface, dB per km: that of its last stretch."""
    far = _LIMITS.farthest_km
    ends = [_fitted(shares, d, h)[0] - 20 * np.log10(d) for d in (far - _STRETCH_KM, far)]
    return (ends[1] - ends[0]) / _STRETCH_KM


_STRETCH_KM = 40.0


def _surfaces_at(x, y, shares):
    """Both fitted surfaces sum c_ij x^i y^j, each element the mean of its bands by their shares."""
    x, y = np.broadcast_arrays(x, y)
    surfaces = _surfaces()
    in_x, in_y = (
        p[..., None] ** np.arange(n) for p, n in zip((x, y), surfaces.shape, strict=False)
    )
    terms = (in_x[..., :, None] * in_y[..., None, :]).reshape(-1, in_x.shape[-1] * in_y.shape[-1])
    every = terms @ surfaces.reshape(terms.shape[1], -1)
    every = every.reshape(*x.shape, *surfaces.shape[2:])
    return np.moveaxis((every * shares[..., None, :]).sum(axis=-1), -1, 0)


def _shares_of_bands(freq_mhz):
    """How much each band's chart counts at a frequency: (..., bands), 1 in all, by log f in the gaps."""
    low, high = _edges()
    knots = np.sort(np.concatenate([low, high]))
    at = np.log(freq_mhz)
    columns = [np.interp(at, np.log(knots), np.repeat(row, 2)) for row in np.eye(low.size)]
    return np.stack(columns, axis=-1)


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
def _edges():
    """Lowest and highest frequency of each band, MHz."""
    return facts.table("average_terrain_bands")[["low_mhz", "high_mhz"]].to_numpy(float).T
