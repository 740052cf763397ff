"""Why a reading tells nothing, in words that say what to do about it."""

import numpy as np

from ..meters.ladder import MOST_PAD_DB
from ..tables import locks

NO_SCALE = "its scale is not known"
PICTURE_ONLY = "a picture but no reading, so it counts only as a picture; note the reading too"


def reasons(reading, locked, pad_db, scale):
    """Why each reading cannot be used, as far as its own row shows: (n,) texts, "" where it can be.

    Parameters: ``reading`` (n,) floats, NaN where none was noted; ``locked`` (n,) as it was written;
    ``pad_db`` (n,) floats, NaN for nonsense; ``scale`` a meters.Scale.

    >>> from ..meters import scale
    >>> reasons([180.0, 80.0], ["yes", "?"], [0.0, 0.0], scale("quality"))[0][:47]
    'the reading is off its scale, 0 to 100; look at'
    """
    reading = np.asarray(reading, dtype=float)
    picture = locks(locked)
    off = (picture == 1) & ~np.isnan(reading) & ~scale.holds(reading)
    ends = f"{scale.low:g} to {scale.high:g}"
    checks = (
        (off, f"the reading is off its scale, {ends}; look at what was meant and correct it"),
        (np.isnan(picture), "whether there was a picture is not known; write yes or no"),
        (np.isnan(pad_db), f"its pad is no number from 0 to {MOST_PAD_DB:g} dB; correct it"),
    )
    said = np.full(reading.size, "", dtype=object)
    for bad, why in checks:
        said[bad] = why
    return said


def picture_only(reading, locked):
    """Whether each row (n,) has a picture but no reading.

    Parameters: ``reading`` (n,) floats; ``locked`` (n,) as it was written.

    >>> picture_only([np.nan, 80.0], ["yes", "yes"]).tolist()
    [True, False]
    """
    return np.isnan(reading) & (locks(locked) == 1)
