"""Lines that join feeds, and what a piece of line makes of an impedance."""

from dataclasses import dataclass

import numpy as np

from .. import facts
from ..units import check, plain

C_M_S = facts.value("constants", "speed_of_light")
DB_PER_NEPER = 20 / np.log(10)


@dataclass(frozen=True)
class Line:
    """A piece of two-wire line or cable from a feed to the joint.

    ``length_m`` 0 or more; ``ohm`` its impedance, above 0; ``velocity`` of a wave on it as a share of
    that of light, above 0, at most 1; ``crossed`` if its two wires change sides; ``loss_db_m`` at 100
    MHz, growing as the root of frequency.

    >>> Line(0.125, 75, 0.66).phase(600).imag.round(2)
    np.float64(2.38)
    """

    length_m: float
    ohm: float
    velocity: float = 1.0
    crossed: bool = False
    loss_db_m: float = 0.0

    def __post_init__(self):
        check("length_m", self.length_m, low=0)
        check("ohm", self.ohm, above=0)
        check("velocity", self.velocity, above=0, high=1)
        check("loss_db_m", self.loss_db_m, low=0)

    def phase(self, freq_mhz):
        """Loss in neper and angle in radian along the whole line, complex, at ``freq_mhz`` (F,)."""
        freq = check("freq_mhz", freq_mhz, above=0)
        turned = 2 * np.pi * 1e6 * freq / (self.velocity * C_M_S)
        lost = self.loss_db_m * np.sqrt(freq / 100) / DB_PER_NEPER
        return self.length_m * (lost + 1j * turned)

    def impedance_ohm(self, load_ohm, freq_mhz):
        """What a load looks like through the line, ohm.

        Parameters: ``load_ohm`` complex, finite; ``freq_mhz``; shapes broadcast.
        Z (load + Z tanh) / (Z + load tanh), any text on transmission lines.

        >>> round(Line(0.125, 75).impedance_ohm(150, 599.58).real, 1)
        37.5
        """
        bent, load = np.tanh(self.phase(freq_mhz)), np.asarray(load_ohm, complex)
        return plain(self.ohm * ((load + self.ohm * bent) / (self.ohm + load * bent)))

    def admittances(self, freq_mhz):
        """At either end, and between the ends, siemens: two arrays of the shape of ``freq_mhz``."""
        angle = self.phase(freq_mhz)
        side = -1 if self.crossed else 1
        return 1 / (self.ohm * np.tanh(angle)), -side / (self.ohm * np.sinh(angle))


def joined(lines, freq_mhz, admittance):
    """Feeds joined through lines: volts at each feed for one volt at the joint, and its admittance.

    Node equations with each line's admittances; without ``lines`` the ports are the joint itself.
    Parameters: ``lines`` one Line a feed, none for no lines; ``freq_mhz`` (F,); ``admittance``
    (F, P, P) between the ports. Returns (F, P) and (F,).

    >>> volts, seen = joined((Line(0.25, 75),) * 2, [299.792458], [[[0.01, 0], [0, 0.01]]])
    >>> (1 / seen).real.round(2).tolist()
    [28.12]
    """
    admittance = np.asarray(admittance, complex)
    if not lines:
        return np.ones(admittance.shape[:2]), admittance.sum(axis=(1, 2))
    own, between = np.moveaxis([line.admittances(np.asarray(freq_mhz)) for line in lines], 0, -1)
    nodes = admittance + own[:, :, None] * np.eye(len(lines))
    volts = -np.linalg.solve(nodes, between[..., None])[..., 0]
    return volts, (own + between * volts).sum(axis=1)
