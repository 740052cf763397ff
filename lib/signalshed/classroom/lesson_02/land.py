"""What land takes: over distance, behind one hill, and over real ground."""

import numpy as np
from matplotlib import cbook

from ... import earth, facts, path, plots
from ...plots import style
from ...plots.picture import ordered
from ...units import miles_from_km
from .. import GuessChoice, Panel, Slider, Words
from ..asking import held_back
from .account import HEIGHT_M, TOWER_M

PATH_KM = 40
"""Length of the invented path with one hill."""
HILL_M = (0, 400, 180)
HILL_AT_KM = (3, 37, 28)
FREQ_MHZ = (60, 690, 545)
PATH_TOWER_M = 150
PATH_POWER_KW = 100
_HILL_WIDE_KM = 1.5
_STEPS = 401

SAMPLE_DEG = 1 / 1200
"""Spacing of the heights in the sample of real ground: three seconds of arc."""


# ---- distance ------------------------------------------------------------------------------------


def distance_picture(freq_mhz=545, erp_kw=200, tower_m=TOWER_M, height_m=HEIGHT_M[2]):
    """Field over distance, in empty space and over average land, and the horizon: a Picture.

    Parameters: ``freq_mhz``; ``erp_kw``; ``tower_m`` above average land; ``height_m`` of the antenna.

    >>> distance_picture().alt[:40]
    'Field over distance, 545 MHz, 200 kW: at'
    """
    km = np.linspace(5, 160, 156)
    empty = path.free_space_dbuv_m(erp_kw, km)
    land = path.average_terrain_dbuv_m(freq_mhz, erp_kw, km, tower_m)
    horizon = float(earth.radio_horizon_km(tower_m, height_m))
    with style.house():
        figure = style.new_figure(8.8, 3.8)
        figure.set_layout_engine("constrained")
        ax = figure.add_subplot(xlim=(0, 160), ylim=(15, 125))
        ax.set(xlabel="distance, km", ylabel="field, dBµV/m")
        ax.plot(km, empty, "--", color=style.MEANING["air"])
        ax.plot(km, land, color=style.MEANING["forecast"])
        ax.axvline(horizon, color=style.MEANING["limit"], ls=":")
        ax.text(100, empty[95] + 3, "empty space")
        ax.text(100, land[95] + 4, "over average land")
        ax.text(horizon + 1.5, 20, f"horizon, {horizon:.0f} km ({miles_from_km(horizon):.0f} mi)")
    at = [(d, empty[d - 5], land[d - 5]) for d in (10, 20, 40, 80, 160)]
    told = "; ".join(f"at {d} km {e:.0f} in empty space, {f:.0f} over land" for d, e, f in at)
    return plots.show(
        figure, f"Field over distance, {freq_mhz:g} MHz, {erp_kw:g} kW: {told} dBµV/m."
    )


# ---- one hill ------------------------------------------------------------------------------------


def one_hill(hill_m, hill_at_km):
    """Flat land 40 km long with one hill: an earth.Profile.

    Parameters: ``hill_m`` high, from 0; ``hill_at_km`` from the transmitter, 0 to 40.

    >>> float(one_hill(100, 20).ground_m.max())
    100.0
    """
    x = np.linspace(0, PATH_KM, _STEPS)
    return earth.Profile(x, hill_m * np.exp(-(((x - hill_at_km) / _HILL_WIDE_KM) ** 2)))


_LOSES = GuessChoice(
    "loses",
    "More is lost by",
    (f"{FREQ_MHZ[0]} MHz", f"{FREQ_MHZ[1]} MHz", "both alike"),
    question="Behind the same hill, what loses more: a wave of 5 m (60 MHz) or one of 0.4 m (690 MHz)?",
)


def hill_panel():
    """Hill, place of the hill, frequency, height: profile, Fresnel zone, and what the edge costs.

    >>> hill_panel().verdict
    'Behind the same hill, what loses more: a wave of 5 m (60 MHz) or one of 0.4 m (690 MHz)?'
    """
    controls = (
        _LOSES,
        Slider("hill_m", "Height of the hill, m", *HILL_M, step=5),
        Slider("hill_at_km", "Hill from the tower, km", *HILL_AT_KM, step=0.5),
        Slider("freq_mhz", "Frequency, MHz", *FREQ_MHZ),
        Slider("height_m", "Your antenna above ground, m", *HEIGHT_M, step=0.5),
    )
    return Panel("One hill in the way", controls, _draw_hill, (8.8, 4.8))


def _draw_hill(figure):
    ax = figure.add_subplot()
    picture = plots.ProfilePicture(ax, PATH_KM, (0, 520))
    look = {"transform": ax.transAxes, "ha": "left", "va": "top", "bbox": style.PAPER}
    lost = [ax.text(0.66, 0.97 - 0.09 * k, "", **look) for k in range(2)]

    def find(hill_m, hill_at_km, freq_mhz, height_m):
        return taken_db(one_hill(hill_m, hill_at_km), height_m, (freq_mhz, *FREQ_MHZ[:2]))

    def update(taken, guess, **at):
        picture.update(_sight(**at))
        for k, text in enumerate(lost):
            mine = guess in (f"{FREQ_MHZ[k]} MHz", "both alike")
            said = f"{FREQ_MHZ[k]} MHz loses {taken[k + 1]:.0f} dB" if taken else ""
            text.set_text(said + " ◄ your guess" * mine)

    def say(taken, **at):
        words = _hill_words(_sight(**at), taken)
        return Words(words, f"{_bare(**at)} {words}", _LOSES.more(*taken[1:], alike=0.5))

    return ordered((*picture.artists, *lost)), held_back(_LOSES, update, find, say, _bare)


def _sight(hill_m, hill_at_km, freq_mhz, height_m):
    return plots.Sight(one_hill(hill_m, hill_at_km), freq_mhz, PATH_TOWER_M, height_m)


def _bare(hill_m, hill_at_km, freq_mhz, **_):
    return (
        f"Terrain profile, {PATH_KM} km, {freq_mhz:.0f} MHz. A hill of {hill_m:g} m, {hill_at_km:g} km "
        "from the tower."
    )


def taken_db(profile, height_m, freq_mhz):
    """What the land of a path takes of the field in empty space, dB, by frequency: a list.

    Parameters: ``profile`` of ``one_hill``; ``height_m`` of the antenna; ``freq_mhz`` several.

    >>> [round(db) for db in taken_db(one_hill(180, 28), 9, (60, 690))]
    [25, 34]
    """
    free = path.free_space_dbuv_m(PATH_POWER_KW, PATH_KM)
    here = (
        path.profile_dbuv_m(f, PATH_POWER_KW, profile, PATH_TOWER_M, height_m) for f in freq_mhz
    )
    return [max(float(free - field), 0.0) for field in here]


def _hill_words(sight, taken):
    here, long, short = (f"{db:.0f}" for db in taken)
    finding = (
        f"The land takes {here} dB at {sight.freq_mhz:.0f} MHz, {long} at {FREQ_MHZ[0]} and {short} "
        f"at {FREQ_MHZ[1]}"
    )
    why = ": the shorter the wave, the less it bends." if taken[2] > taken[1] + 0.5 else "."
    zone = f"The first Fresnel zone is {sight.obstacle.fresnel_radius_m:.0f} m wide to each side there."
    return f"{finding}{why} {sight.obstacle.words} {zone}"


# ---- real ground ---------------------------------------------------------------------------------


def real_ground():
    """Paths from west to east over the real ground that matplotlib carries as a sample.

    Heights from a public survey, three seconds of arc apart: 344 paths of 30 km, side by side, over
    ridges and valleys. Returns an earth.Profile of shape (344, 403).

    >>> real_ground().ground_m.shape
    (344, 403)
    """
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        height_m, south, north = sample["elevation"], float(sample["ymin"]), float(sample["ymax"])
    km_per_degree = 2 * np.pi * facts.value("path_constants", "earth_radius") / 360
    step_km = SAMPLE_DEG * km_per_degree * np.cos(np.deg2rad((south + north) / 2))
    return earth.Profile(step_km * np.arange(height_m.shape[1]), height_m.astype(float))
