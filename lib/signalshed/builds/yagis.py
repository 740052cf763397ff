"""The Yagi: start sizes after measured designs, for any boom and rod; the driven rod matched."""

import functools

import numpy as np

from .. import facts, wires
from ..units import LIGHT_M_MHZ, check, number
from ..wires import Wire
from .build import Build, Piece, band
from .elements import folded_piece, line, size
from .stock import stock

_FOLDED_MM = 40.0
TABLE_RADIUS = 0.00425
"""Radius of the rods of the measured designs, wavelengths."""


def yagi(
    freq_mhz,
    boom_wavelengths=0.8,
    lengths_mm=None,
    places_mm=None,
    driven_mm=None,
    rod="6 mm aluminium",
):
    """A Yagi with a folded driven dipole, the other rods after measured designs.

    Rods of another thickness than the measured ones are lengthened or shortened until a wave finds them
    equally far from resonance; between two booms of the table lengths and spacings lie between theirs.
    Parameters: ``freq_mhz`` one or (low, high): directors start cut for the upper end, where gain falls
    fast, the reflector for the lower; ``boom_wavelengths`` from first rod to last, 0.4 to 4.2;
    ``lengths_mm`` of reflector and directors in order, ``places_mm`` of the same along the boom from the
    driven one (None: the facts table ``yagis``); ``driven_mm`` length of the folded dipole, None for the
    best match over the band; ``rod`` text for stock.

    >>> yagi(539).cut_list["length_mm"].tolist()
    [267, 235, 233, 235, 508]
    """
    mhz, kind = band(freq_mhz), stock(rod)
    lengths, places = parasites(boom_wavelengths, mhz, kind, (lengths_mm, places_mm))
    _refuse_crowded(places, kind)
    rods = tuple(_rod(n, x, kind) for n, x in zip(lengths, places, strict=True))
    driven = size("driven_mm", driven_mm, 1.0) if driven_mm else _matched_mm(rods, mhz, kind)
    names = ["reflector", *(f"director {n}" for n in range(1, len(lengths)))]
    pieces = [Piece(name, 1, n, kind) for name, n in zip(names, lengths, strict=True)]
    pieces.append(folded_piece("folded driven rod", driven, _FOLDED_MM, kind))
    sizes = {"boom_wavelengths": float(boom_wavelengths), "lengths_mm": lengths}
    sizes |= {"places_mm": places, "driven_mm": driven, "rod": kind.text}
    name, element = f"Yagi of {len(lengths) + 1} elements", (_folded(driven, kind), *rods)
    return Build("yagi", name, mhz, sizes, tuple(pieces), element, _FEED_M, notes=(_boom_note(),))


_FEED_M = np.array([[0, 0, -_FOLDED_MM / 2000]])


def _boom_note():
    low, high = (100 * facts.value("builds", f"boom_share_{end}") for end in ("low", "high"))
    return (
        "These rods stand free or on insulators. Through a metal boom and joined to it, each must be "
        f"longer by {low:.0f} to {high:.0f} % of the boom's thickness: cut one pair, try, then the rest."
    )


def parasites(boom, mhz, kind, typed=(None, None)):
    """Lengths and places of reflector and directors in mm, as ``typed`` or from the table.

    Parameters: ``boom`` wavelengths; ``mhz`` (low, high); ``kind`` a Stock; ``typed`` lengths_mm and
    places_mm, or None for each.

    >>> parasites(0.4, (539.0, 539.0), stock("6 mm aluminium"))[1]
    (-111.0, 111.0)
    """
    (low, wave), (lengths_mm, places_mm) = (1000 * LIGHT_M_MHZ / f for f in mhz), typed
    if lengths_mm is None or places_mm is None:
        lengths, places = measured_rods(boom)
        if lengths_mm is None:
            waves = np.append(low, np.full(len(lengths) - 1, wave))
            thick = 1000 * kind.radius_m / waves
            lengths_mm = np.round(
                [w * as_thick(n, r) for w, n, r in zip(waves, lengths, thick, strict=True)]
            )
        places_mm = np.round(wave * places[: len(lengths_mm)]) if places_mm is None else places_mm
    lengths = check("lengths_mm", lengths_mm, above=0)
    places = check("places_mm", places_mm)
    if lengths.ndim == places.ndim == 1 and len(lengths) > len(places) and typed[1] is None:
        raise ValueError(
            f"boom_wavelengths is {boom:g}: a boom of {boom * wave:.0f} mm has room for "
            f"{len(places) - 1} of the {len(lengths) - 1} directors in lengths_mm. Take a longer "
            "boom, or give places_mm."
        )
    if lengths.shape != places.shape or lengths.ndim != 1:
        raise ValueError("lengths_mm and places_mm must be two lists of the same length.")
    return tuple(lengths.tolist()), tuple(places.tolist())


def _refuse_crowded(places_mm, kind):
    """ValueError where two rods of the boom, the driven one among them, would touch."""
    order = np.sort(np.append(places_mm, 0.0))
    i = int(np.argmin(np.diff(order)))
    if order[i + 1] - order[i] <= 1.5 * kind.diameter_mm:
        raise ValueError(
            f"places_mm puts rods at {order[i]:g} and {order[i + 1]:g} mm: rods of "
            f"{kind.diameter_mm:g} mm touch there, or nearly. The driven rod stands at 0."
        )


def measured_rods(boom_wavelengths):
    """Lengths and places of reflector and directors in wavelengths for a boom, two arrays.

    NBS Technical Note 688, facts table ``yagis``; between two of its booms, in proportion. Below the
    shortest, its first directors.
    Parameters: ``boom_wavelengths`` from first rod to last, 0.4 to 4.2.

    >>> measured_rods(0.8)[0].tolist()
    [0.482, 0.428, 0.424, 0.428]
    """
    table = facts.table("yagis").sort_values("boom")
    known = table["boom"].to_numpy(float)
    boom = number("boom_wavelengths", boom_wavelengths, low=0.4, high=known[-1])
    behind = 0.2  # every design of the note
    spacing = np.interp(boom, known, table["spacing"].to_numpy(float))
    count = max(round((boom - behind) / spacing), 1)
    places = (boom - behind) * np.arange(1, count + 1) / count
    rows = []
    for row in table.itertuples():
        directors = np.array(row.directors.split(), float)
        rows.append(np.interp(places, row.spacing * np.arange(1, len(directors) + 1), directors))
    above = int(np.clip(np.searchsorted(known, boom), 1, len(known) - 1))
    share = np.clip((boom - known[above - 1]) / (known[above] - known[above - 1]), 0, 1)
    directors = (1 - share) * rows[above - 1] + share * rows[above]
    reflector = np.interp(boom, known, table["reflector"].to_numpy(float))
    return np.append(reflector, directors).round(4), np.append(-behind, places)


@functools.lru_cache(maxsize=512)
def as_thick(length_wavelengths, radius_wavelengths):
    """Length of a rod that does what one of the measured designs' thickness does, wavelengths.

    Thicker rods are shorter: both are equally far from resonance for a wave from broadside, reactance
    over resistance, as the solver finds it.
    Parameters: ``length_wavelengths`` of a rod of the table; ``radius_wavelengths`` of the one at hand.

    >>> as_thick(0.428, 0.0007) > 0.45
    True
    """
    from scipy import optimize

    if abs(radius_wavelengths / TABLE_RADIUS - 1) < 0.02:
        return length_wavelengths
    wanted = _detuning(length_wavelengths, TABLE_RADIUS)
    ends = 0.75 * length_wavelengths, 1.25 * length_wavelengths

    def miss(length):
        return _detuning(length, radius_wavelengths) - wanted

    return float(optimize.brentq(miss, *ends, xtol=1e-4))


def _detuning(length, radius):
    """Reactance over resistance of a rod for a wave from broadside, at a wavelength of 1 m."""
    rod = Wire([(0, -length / 2, 0), (0, length / 2, 0)], radius, metal="aluminium")
    drawn = wires.Structure([rod], (0, 0, 0))
    return wires.scattered(drawn, LIGHT_M_MHZ)


def _matched_mm(rods, mhz, kind):
    """Length of the folded driven rod that loses least to mismatch over a band."""
    from scipy import optimize

    low, wave = (1000 * LIGHT_M_MHZ / f for f in mhz)
    line_ohm = float(facts.table("baluns").set_index("balun").loc["1:1", "antenna_ohm"])
    freq = np.unique(np.linspace(*mhz, 3))

    def lost(length_mm):
        drawn = wires.Structure((_folded(length_mm, kind), *rods), _FEED_M)
        z = np.array([wires.solve(drawn, f).impedance_ohm for f in freq])
        return wires.mismatch_loss_db(z, line_ohm).max()

    found = optimize.minimize_scalar(
        lost, bounds=(0.3 * wave, 0.5 * low), method="bounded", options={"xatol": 0.5}
    )
    return float(round(found.x))


def _rod(length_mm, place_mm, kind):
    ends = np.array([(place_mm, -length_mm / 2, 0), (place_mm, length_mm / 2, 0)]) / 1000
    return Wire(ends, kind.radius_m, metal=kind.metal)


def _folded(length_mm, kind):
    end, low, high = length_mm / 2, -_FOLDED_MM / 2, _FOLDED_MM / 2
    return line([(0, low), (end, low), (end, high), (-end, high), (-end, low)], kind, closed=True)
