"""The scales a tuner may show, and the few of them that mean decibels exactly."""

import functools
from dataclasses import dataclass

import numpy as np

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

    def holds(self, reading):
        """Whether ``reading`` (any shape) lies on the scale; NaN does not.

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


def scales():
    """Names of all scales.

    >>> scales()[:3]
    ('strength', 'quality', 'bars')
    """
    return tuple(_scales())


def scale(name):
    """The Scale called ``name``; a Scale is handed back as it is. ValueError for an unknown name.

    >>> scale("linux_cn").db_per_unit
    0.001
    """
    if isinstance(name, Scale):
        return name
    return _scales()[one_of("scale", name, scales())]


def db_from_thousandths(value):
    """A reading of the decibel scale of the Linux DVB statistics in dBm (level) or dB (C/N).

    Parameters: ``value``, whole thousandths, any shape, signed.
    Source: Linux kernel documentation, DVB frontend statistics.

    >>> db_from_thousandths(-52340)
    -52.34
    """
    return plain(check("value", value) / 1000)


def percent_from_relative(value):
    """A reading of the relative scale of the Linux DVB statistics in percent; it means no dB.

    Parameters: ``value``, 0 to 65535, any shape. Source: as above.

    >>> round(percent_from_relative(32768), 4)
    50.0008
    """
    return plain(100 * check("value", value, low=0, high=65535) / 65535)


def mer_db(ideal, received):
    """Modulation error ratio in dB: power of the ideal symbols over power of the errors.

    Parameters: ``ideal`` and ``received``, (n,) complex, I + jQ. Raises ValueError when they do
    not match or nothing differs. Source: ETSI TR 101 290 (as ETR 290).

    >>> round(mer_db([1 + 1j, -1 - 1j], [1.1 + 1j, -1 - 1.1j]), 2)
    23.01
    """
    ideal, received = np.asarray(ideal, dtype=complex), np.asarray(received, dtype=complex)
    if ideal.shape != received.shape or ideal.size == 0:
        raise ValueError(
            f"received has shape {received.shape}; it must match ideal, {ideal.shape}."
        )
    error = np.sum(np.abs(received - ideal) ** 2)
    if not np.isfinite(error) or error == 0:
        raise ValueError("received must be finite and differ from ideal somewhere.")
    return float(10 * np.log10(np.sum(np.abs(ideal) ** 2) / error))


def mer_db_from_evm(evm_pct):
    """Error vector magnitude (rms, against the rms of the ideal symbols) as MER in dB.

    Parameters: ``evm_pct``, percent, above 0, any shape. MER = -20 log10(EVM).

    >>> mer_db_from_evm(10)
    20.0
    """
    return plain(-20 * np.log10(check("evm_pct", evm_pct, above=0) / 100))
