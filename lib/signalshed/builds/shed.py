"""The best build from what lies in the shed: some wire, rods, a piece of mesh, a list of channels."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import channels
from ..units import LIGHT_M_MHZ, check, number, settle
from .arrays import bays
from .build import Build
from .elements import biquad, bow_tie, folded_dipole, half_wave_dipole, loop
from .finer import tune, worst_dbd, wrong_balun
from .screens import mesh_screen
from .stacks import two_loops
from .stock import stock
from .yagis import yagi

SAW_MM = 2.0
"""What one saw cut takes, mm."""

TUNED = 2
"""How many of the best start sizes are tuned."""


@dataclass(frozen=True)
class Shed:
    """What lies in the shed.

    ``wire`` text for stock and ``wire_m`` how much of it, metres; ``rod`` text for stock and ``rods_mm``
    the lengths of the rods of it; ``mesh_mm`` (width, height) of a piece of mesh or None; ``opening_mm``
    of the mesh. Raises ValueError for stock that cannot be.

    >>> Shed(wire_m=5, rods_mm=(1000, 1000), mesh_mm=(600, 400)).rods_mm
    (1000.0, 1000.0)
    """

    wire: str = "10 AWG"
    wire_m: float = 0.0
    rod: str = "6 mm aluminium"
    rods_mm: tuple = ()
    mesh_mm: tuple | None = None
    opening_mm: float = 12.7

    def __post_init__(self):
        stock(self.wire), stock(self.rod)
        rods = np.atleast_1d(check("rods_mm", self.rods_mm, above=0))
        wire_m = number("wire_m", self.wire_m, low=0)
        settle(self, rods_mm=tuple(rods.tolist()), wire_m=wire_m)
        if self.mesh_mm is not None:
            mesh = check("mesh_mm", self.mesh_mm, above=0)
            if mesh.shape != (2,):
                raise ValueError(f"mesh_mm is {self.mesh_mm!r}; it must be (width, height) in mm.")

    def short_of(self, build):
        """What is missing for a build, in words; empty if it can be cut from what is there.

        Parameters: ``build``. The longest pieces are cut first, each from the shortest rest it fits.

        >>> from . import loop
        >>> Shed(wire_m=0.5).short_of(loop(539))
        '587 mm of wire where 500 mm lie'
        """
        there = {"wire": (self.wire, (1000 * self.wire_m,)), "rod": (self.rod, self.rods_mm)}
        missing = []
        for name, (text, lengths) in there.items():
            pieces = [p for p in build.all_pieces if p.stock == stock(text)]
            wanted = [p.length_mm for p in pieces for _ in range(p.count)]
            if wanted and not _fits(wanted, lengths):
                missing.append(_lack(name, wanted, lengths))
        return ", ".join(missing)


def _lack(name, wanted_mm, there_mm):
    """Why pieces cannot be cut from these lengths: their sum, their longest, or how they fall."""
    need, whole, there = max(wanted_mm), sum(wanted_mm), sum(there_mm)
    if not there:
        return f"{whole:.0f} mm of {name} where none lies"
    if whole > there:
        return f"{whole:.0f} mm of {name} where {there:.0f} mm lie"
    if need > max(there_mm):
        return f"a {name} of {need:.0f} mm where the longest has {max(there_mm):.0f} mm"
    cuts = ", ".join(f"{length:.0f}" for length in sorted(wanted_mm, reverse=True))
    return f"{name}s of {cuts} mm, which cannot all be cut from these"


def _fits(wanted_mm, there_mm):
    """Whether pieces can be cut from the lengths that are there."""
    rests = sorted(there_mm)
    for piece in sorted(wanted_mm, reverse=True):
        long_enough = [i for i, rest in enumerate(rests) if rest >= piece]
        if not long_enough:
            return False
        rests[long_enough[0]] -= piece + SAW_MM
        rests.sort()
    return True


@dataclass(frozen=True, eq=False)
class FromTheShed:
    """``build`` the best of what the shed gives; ``table`` all that was tried: DataFrame of build,
    worst_dbd (realised gain along the aim on the worst channel), missing (words), tuned."""

    build: Build
    table: pd.DataFrame


def best_from_the_shed(shed, rf_channels, region="us"):
    """The build from what lies in the shed that is best on its worst channel: a FromTheShed.

    Every form is drawn at its start sizes, with and without the mesh, with the balun that fits it
    better; what cannot be cut from the stock falls out, and the best are tuned. Some seconds without a
    mesh, up to a minute with one.
    Parameters: ``shed`` a Shed; ``rf_channels`` the channels wanted, numbers or texts; ``region`` of
    shed.channels. Raises ValueError if the stock is too little for any form.

    >>> best_from_the_shed(Shed(wire_m=0.3), [25]).build.form
    'half_wave_dipole'
    """
    if not shed.wire_m and not shed.rods_mm:
        raise ValueError(
            "shed has neither wire nor rods: nothing lies in it to make an antenna of."
        )
    freq = np.unique([channels.centre_mhz(c, region) for c in np.atleast_1d(rf_channels).tolist()])
    tried = [(made, shed.short_of(made)) for made in _candidates(shed, freq)]
    fitting = [_better_balun(made, freq) for made, missing in tried if not missing]
    if not fitting:
        name, missing = min(((m.name, words) for m, words in tried), key=lambda row: len(row[1]))
        raise ValueError(
            f"Nothing for {freq[0]:.0f} to {freq[-1]:.0f} MHz can be made from this: even a {name} "
            f"needs {missing}."
        )
    order = sorted(fitting, key=lambda made: -worst_dbd(made, freq))
    tuned = [_tuned_within(shed, made, freq) for made in order[:TUNED]]
    rows = [(m.name, worst_dbd(m, freq), "", True) for m in tuned]
    rows += [(m.name, worst_dbd(m, freq), "", False) for m in order[TUNED:]]
    rows += [(m.name, np.nan, missing, False) for m, missing in tried if missing]
    table = pd.DataFrame(rows, columns=["build", "worst_dbd", "missing", "tuned"])
    best = max(tuned, key=lambda made: worst_dbd(made, freq))
    return FromTheShed(best, table.sort_values("worst_dbd", ascending=False, ignore_index=True))


def _candidates(shed, freq):
    """Every form at its start sizes from the shed's stock, with and without its mesh."""
    band = float(freq[0]) if len(freq) == 1 else (float(freq[0]), float(freq[-1]))
    forms = (half_wave_dipole, folded_dipole, loop, bow_tie, biquad, bays, two_loops)
    bare = [form(band, wire=shed.wire) for form in forms] if shed.wire_m else []
    made = list(bare)
    if shed.mesh_mm is not None:
        mesh = mesh_screen(*shed.mesh_mm, shed.opening_mm)
        made += [one.with_screen(mesh) for one in bare if _before(one, shed.mesh_mm)]
    if shed.rods_mm:
        made.append(half_wave_dipole(band, wire=shed.rod))
        made += [yagi(band, boom, rod=shed.rod) for boom in (0.4, 0.6, 0.8, 1.2, 2.2)]
    return made


def _before(build, mesh_mm):
    """Whether the mesh is no smaller than half the element either way, so that it acts as a screen."""
    size = 1000 * np.ptp(np.concatenate([w.points_m for w in build.element]), axis=0)[1:]
    wave = 1000 * LIGHT_M_MHZ / build.band_mhz[0]
    return bool(np.all(np.asarray(mesh_mm) >= np.maximum(size / 2, wave / 4)))


def _better_balun(build, freq):
    """The build with the balun that serves it better."""
    table = wrong_balun(build, freq)
    return build.with_balun(table.loc[table["worst_dbd"].idxmax(), "balun"])


def _tuned_within(shed, build, freq):
    """The build tuned, as long as it can still be cut and is no worse on the channels asked for."""
    tuned = tune(build)
    worse = worst_dbd(tuned, freq) < worst_dbd(build, freq)
    return build if worse or shed.short_of(tuned) else tuned
