"""Antennas turned a quarter round their aim: the other cut of the pattern, the other polarization."""

import numpy as np

from .. import facts

_DIPOLE_DEG = 78.0
"""Beamwidth of a half-wave dipole in the plane it lies in, closed form."""


def across_deg(width_deg, lies_flat=True):
    """Beamwidth usual in the other plane of an antenna whose elements are dipoles one behind another.

    In the plane the elements lie in their own pattern helps to narrow the beam; across it the row alone
    does. With parabolas in dB: 1/across^2 = 1/along^2 - 1/78^2, infinite for a dipole. Pattern
    multiplication; a handbook Yagi of three elements, 66 degrees, has 111 across (by this 124).
    Parameters: ``width_deg`` between the 3 dB points in the plane known, any shape, inf for all round;
    ``lies_flat`` True where the elements lie in that plane, False where they stand across it.

    >>> float(across_deg(78)), round(float(across_deg(49))), round(float(across_deg(63, False)))
    (inf, 63, 49)
    """
    known, own = np.asarray(width_deg, float) ** -2.0, _DIPOLE_DEG**-2.0
    other = np.where(known < 1.06 * own, 0.0, known - own) if lies_flat else known + own
    with np.errstate(divide="ignore"):
        return other**-0.5


def shape_db(azimuth_deg, beamwidth_deg, front_to_back_db):
    """Relative pattern in dB of an antenna known by two numbers, as ``lobe_db``, all round included.

    A parabola in dB before, the same behind at ``-front_to_back_db``, so wide at most that the first
    meets the second straight behind, and nothing below the floor of the facts table ``judgement``.
    Parameters, which broadcast: ``azimuth_deg`` -180 to 180, ``beamwidth_deg`` up to inf,
    ``front_to_back_db`` 0 or more.

    >>> shape_db(np.array([0, 90, 180]), np.inf, 0.0).tolist()
    [0.0, 0.0, 0.0]
    """
    back = np.asarray(front_to_back_db, float)
    with np.errstate(divide="ignore"):
        width = np.minimum(beamwidth_deg, 180.0 * np.sqrt(12.0 / back))
    return two_lobes_db(np.asarray(azimuth_deg, float), width, back)


def two_lobes_db(azimuth_deg, width_deg, back_db):
    """A parabola in dB before and one behind, ``back_db`` lower, over the floor: shapes broadcast.

    >>> two_lobes_db(np.array([0.0, 30.0, 180.0]), 60.0, 10.0).tolist()
    [0.0, -3.0, -10.0]
    """
    off = np.abs(azimuth_deg)
    before = 0.0 - 12 * (off / width_deg) ** 2
    behind = 0.0 - back_db - 12 * ((180 - off) / width_deg) ** 2
    return np.maximum(np.maximum(before, behind), -facts.value("judgement", "side_floor_db"))


def other_cut_db(antenna, azimuth_deg):
    """What an antenna hears round itself when hung on its side, dB over its aim: (F, A).

    From the wires of its build, nulls filled as in ``from_build``; without one, the usual shape across
    the plane it is known in, front to back as there.
    Parameters: ``antenna``; ``azimuth_deg`` (A,) clockwise from the aim.

    >>> from .making import plain_dipole
    >>> other_cut_db(plain_dipole(), np.array([0.0, 90.0, 180.0]))[0].tolist()
    [0.0, 0.0, 0.0]
    """
    if antenna.build is not None:
        from .. import builds

        cut = builds.other_cut_db(antenna.build, antenna.freq_mhz, azimuth_deg)
        floor = cut.max(axis=1, keepdims=True) - facts.value("judgement", "computed_floor_db")
        return np.maximum(cut, floor)
    freq = antenna.freq_mhz
    widths = np.array([antenna.beamwidth_deg(f) for f in freq])
    widths = np.where(widths >= 360, np.inf, widths)
    ahead, behind = (antenna.gain_dbd(freq, azimuth) for azimuth in (0.0, 180.0))
    across = across_deg(widths, antenna.polarization == "horizontal")
    return shape_db(azimuth_deg, across[:, None], np.maximum(ahead - behind, 0.0)[:, None])
