"""Every form there is to build, by name: for site folders, and to make one again with other sizes."""

from .arrays import bays, two_loops
from .elements import biquad, bow_tie, folded_dipole, half_wave_dipole, loop, reference_dipole
from .own import own
from .stacks import stack
from .whips import whip
from .yagis import yagi

FORMS = {
    made.__name__: made
    for made in (
        half_wave_dipole,
        reference_dipole,
        folded_dipole,
        loop,
        bow_tie,
        biquad,
        two_loops,
        bays,
        yagi,
        stack,
        whip,
        own,
    )
}
