"""The scales a tuner may show, and one of them that means decibels exactly."""

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .. import facts
from ..units import check, one_of, plain


@dataclass(frozen=True)
class Scale:
    """One kind of reading.

    ``name``; ``label`` in words; ``kind`` strength (follows the level) or quality (follows C/N or
    errors); ``low`` and ``high`` ends of the scale; ``step`` of the display; ``db_per_unit`` None
    where the scale means no dB; ``zero`` what it counts from: level, cn or None.
    """

    name: str
    label: str
    kind: str
    low: float
    high: float
    step: float
    db_per_unit: float | None = None
    zero: str | None = None

    def holds(self, reading: ArrayLike) -> bool | np.ndarray:
        """Whether a reading lies on the scale; NaN does not.

        Parameters
        ----------
        reading
            In units of the scale, any shape.

        Returns
        -------
        bool or ndarray of bool

        Examples
        --------
        >>> scale("bars").holds([3, 7]).tolist()
        [True, False]
        """
        reading = np.asarray(reading, dtype=float)
        return plain((reading >= self.low) & (reading <= self.high))


@functools.cache
def _scales():
    table = facts.table("meter_scales").drop(columns=["source", "status"]).astype(object)
    rows = table.where(table.notna(), None).to_dict("records")
    return {row["name"]: Scale(**row) for row in rows}


def scales() -> tuple[str, ...]:
    """Names of all scales.

    Returns
    -------
    tuple of str
        In the order of facts table ``meter_scales``.

    Examples
    --------
    >>> scales()[:3]
    ('strength', 'quality', 'bars')
    """
    return tuple(_scales())


def scale(name: str | Scale) -> Scale:
    """The Scale of a name.

    Parameters
    ----------
    name
        One of ``scales()``; a Scale is handed back as it is.

    Returns
    -------
    Scale

    Raises
    ------
    ValueError
        For an unknown name.

    Examples
    --------
    >>> scale("linux_cn").db_per_unit
    0.001
    """
    if isinstance(name, Scale):
        return name
    return _scales()[one_of("scale", name, scales())]


def db_from_thousandths(value: ArrayLike) -> float | np.ndarray:
    """A reading of the decibel scale of the Linux DVB statistics in dBm (level) or dB (C/N).

    Source: Linux kernel documentation, DVB frontend statistics.

    Parameters
    ----------
    value
        Whole thousandths, any shape, signed.

    Returns
    -------
    float or ndarray
        dBm or dB, of the shape of ``value``.

    Examples
    --------
    >>> db_from_thousandths(-52340)
    -52.34
    """
    return plain(check("value", value) / 1000)
