"""Currents, impedance and pattern of any shape made of straight round wires.

**What is solved.** On a good conductor the electric field along the wire is zero (or the wire's own
small internal impedance times its current). The field of currents and charges is written with the
two potentials of a free-space source, each an integral over exp(-jkR)/R, so the equation reads

    (j eta / 4 pi) [ k ∫ I(s') t·t' g ds'  -  (1/k) d/ds ∫ (dI/ds') g ds' ] + z I  =  applied field

with g = exp(-jkR)/R, k = 2 pi / wavelength, t the wire's direction, eta the impedance of space and
R the distance from axis to surface, R^2 = d^2 + radius^2 (thin-wire kernel). z is the skin-effect
impedance per metre, (1 + j) sqrt(pi f mu rho) / (2 pi radius).

**How.** Each straight piece is cut into segments. The current is a sum of triangles, each rising on
one segment to a joint and falling on another; where d wire ends meet, d - 1 triangles leave the first
end for each other one, so that Kirchhoff's law holds without being asked for. The same triangles
test the equation (Galerkin), which makes the matrix symmetric: reciprocity is built in. Integrals use
two Gauss points per segment; for pairs nearer than two segment lengths the 1/R part is integrated
exactly over one segment and in eight steps over the other, both ways round, and the difference,
which does not depend on frequency, corrects the matrix. A feed is one volt across a gap of no width
at a joint. An infinite sheet is replaced by the image of every wire; where a wire ends on the sheet its
current runs on into the image. Where left and right are alike and driven alike, an image stands for one
half in the same way, with the same result to rounding. Feeds may be joined through lines: each feed is
solved by itself, and the lines' node equations give the volts there.

**Several frequencies.** ``sweep`` solves a few of them in full and takes the currents in between as
mixtures of those found (a reduced basis), with matrix and pattern interpolated in k. It then solves one
more frequency in full that it has not used and compares. If they differ the new one joins the others
and another is tried; when that no longer pays, every frequency is solved in full.

**What is trusted.** Gain to hundredths of a dB *of the drawing*; a built antenna about 1.5 dB.
Impedance to a few per cent, since the gap, the ends and the clamps of a built one differ. Front-to-back
only roughly. An infinite sheet overstates a real screen. Wires are round, straight, thinner than their
segments (a segment shorter than 2.5 radii is refused: energy balance would not notice), in free
space: no plastic, no roof, no cable. Below its band an antenna's computed gain is a floor, since the
outside of the cable takes over.

**Axes.** x forward (the aim), y left, z up, metres. Azimuth runs clockwise from forward as seen from
above, elevation upward. Horizontal polarization means currents mainly along y.

Formulation: potentials and triangles as in R. F. Harrington, *Field Computation by Moment Methods*
(1968), and any later text on thin wires. Code and integrals are our own.
"""

from .. import handed_on as _handed_on
from .lines import Line
from .shape import JOIN_M, PER_WAVELENGTH, Structure, Wire
from .solver import Solution, scattered, solve
from .sweeps import Sweep, mismatch_loss_db, sweep

__all__ = _handed_on(globals())


def __dir__():
    return __all__
