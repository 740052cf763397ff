"""Every form there is to build, by name: for site folders, and to make one again with other sizes."""

from .arrays import bays
from .elements import reference_dipole
from .own import own
from .stacks import STACKED, stack, two_loops
from .whips import whip

FORMS = {made.__name__: made for made in (reference_dipole, two_loops, bays, stack, whip, own)}
FORMS = {**STACKED, **FORMS}
