"""Joining lines: what leads from several terminals, or over a pigtail, to the balun."""

import numpy as np

from .. import facts, wires
from ..units import LIGHT_M_MHZ, number

_FACTS = facts.numbers("builds")


def cable_leg(length_mm, crossed=False):
    """A leg of the usual cable, one length of it for each terminal: a wires.Line.

    Impedance, velocity and loss: facts table ``builds``.
    Parameters: ``length_mm`` above 0; ``crossed`` if shield and centre change sides at its far end.

    >>> cable_leg(260).ohm
    75.0
    """
    length = number("length_mm", length_mm, above=0)
    ohm, velocity = _FACTS.leg_ohm, _FACTS.leg_velocity
    return wires.Line(length / 1000, ohm, velocity, crossed, _FACTS.leg_loss_db_m)


def half_wave_leg_mm(freq_mhz, way_mm):
    """Length of a leg that repeats at the joint what the terminals offer, or the way if that is longer.

    Parameters: ``freq_mhz`` at which the leg is half a wave on the cable; ``way_mm`` it must reach.

    >>> half_wave_leg_mm(539, 160)
    236.0
    """
    half = _FACTS.leg_velocity * 500 * LIGHT_M_MHZ / freq_mhz
    return float(round(max(half, way_mm)))


def ways_mm(build):
    """Straight way from each terminal to the middle of all, mm (n,).

    Parameters: ``build``.

    >>> from . import two_loops
    >>> ways_mm(two_loops(539)).round().tolist()
    [167.0, 167.0]
    """
    return 1000 * np.linalg.norm(build.terminals_m - build.terminals_m.mean(axis=0), axis=1)


def check_lines(build):
    """ValueError where joining lines do not fit a build: one a terminal, long enough, not too long.

    Cable may be led round; an open line of two wires in air runs straight, so it fills its gap.
    Parameters: ``build``.

    >>> from . import two_loops
    >>> check_lines(two_loops(539)) is None
    True
    """
    if build.lines and len(build.lines) != len(build.terminals_m):
        raise ValueError(
            f"{build.name!r} has {len(build.terminals_m)} pairs of terminals and {len(build.lines)} "
            "joining lines; there must be one for each."
        )
    if not build.lines:
        return
    for line, way in zip(build.lines, ways_mm(build), strict=True):
        long_mm = 1000 * line.length_m
        if long_mm < way - 1:
            raise ValueError(
                f"A joining line of {long_mm:.0f} mm does not reach: {way:.0f} mm lie between terminals "
                "and joint."
            )
        if line.velocity > _IN_AIR and long_mm > 1.1 * way:
            raise ValueError(
                f"A joining line of {long_mm:.0f} mm is longer than its gap of {way:.0f} mm allows: an "
                "open line runs straight. Take cable, or move the elements apart."
            )


_IN_AIR = 0.95
"""Above this velocity a line is two wires in air, not cable."""


def pigtail(length_mm):
    """Two thin leads as far apart as the terminals: a wires.Line; impedance from facts table ``builds``.

    Z = 120 acosh(apart / thick), any handbook.
    Parameters: ``length_mm`` 0 or more.

    >>> round(pigtail(20).ohm)
    400
    """
    length = number("length_mm", length_mm, low=0)
    ratio = _FACTS.feed_gap_mm / _FACTS.pigtail_wire_mm
    return wires.Line(length / 1000, float(120 * np.arccosh(ratio)))
