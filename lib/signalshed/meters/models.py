"""What tuners show: invented meters that bend, saturate, round and fall off a cliff."""

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .. import facts
from ..units import check, one_of, plain
from .display import scale as find_scale


@dataclass(frozen=True)
class Meter:
    """A tuner's meter as a function of the margin: dB above the level where it loses lock.

    Parameters
    ----------
    name
    scale
        A name from ``scales()``.
    bottom, top
        Reading at the cliff and at the ceiling, in units of the scale.
    span_db
        From the cliff to the ceiling, dB, above 0.
    bend
        0 for a straight line; above 0 it climbs fast first; below 0 late.
    step
        The display rounds to this, above 0.
    flicker
        One standard deviation of a single look, in units of the scale.
    reads_without_lock
        True for meters that follow the level and go on below the cliff.
    """

    name: str
    scale: str
    bottom: float
    top: float
    span_db: float
    bend: float = 0.0
    step: float = 1.0
    flicker: float = 0.0
    reads_without_lock: bool = False

    def __post_init__(self):
        find_scale(self.scale)
        check("span_db", self.span_db, above=0)
        check("step", self.step, above=0)
        check("flicker", self.flicker, low=0)
        check("bend", self.bend, low=-10, high=10)
        check("top", self.top, above=self.bottom)

    def smooth(self, margin_db: ArrayLike) -> float | np.ndarray:
        """The reading before flicker and rounding; rising with the margin, then flat.

        Parameters
        ----------
        margin_db
            dB above the loss of lock, any shape.

        Returns
        -------
        float or ndarray
            In units of the scale.

        Examples
        --------
        >>> Meter("m", "quality", 20, 100, 20).smooth([0, 10, 30]).tolist()
        [20.0, 60.0, 100.0]
        """
        share = np.minimum(check("margin_db", margin_db) / self.span_db, 1.0)
        if not self.reads_without_lock:
            share = np.maximum(share, 0.0)
        if abs(self.bend) > 1e-6:
            share = np.expm1(-self.bend * share) / np.expm1(-self.bend)
        low, high = find_scale(self.scale).low, find_scale(self.scale).high
        return plain(np.clip(self.bottom + (self.top - self.bottom) * share, low, high))

    def show(
        self, margin_db: ArrayLike, rng: np.random.Generator | None = None
    ) -> tuple[float | np.ndarray, bool | np.ndarray]:
        """What stands on the screen, and whether there is a picture.

        Without lock the reading is the bottom of the scale, unless the meter follows the level.

        Parameters
        ----------
        margin_db
            dB above the loss of lock, any shape.
        rng
            Of the flicker; None for none.

        Returns
        -------
        reading : float or ndarray
            In units of the scale.
        locked : bool or ndarray of bool

        Examples
        --------
        >>> Meter("m", "quality", 20, 100, 20).show([-1, 3.3])
        (array([ 0., 33.]), array([False,  True]))
        """
        margin = check("margin_db", margin_db)
        scale = find_scale(self.scale)
        seen = self.smooth(margin)
        if rng is not None:
            seen = seen + self.flicker * rng.standard_normal(margin.shape)
        seen = self.step * np.round(np.clip(seen, scale.low, self.top) / self.step)
        locked = margin >= 0
        if not self.reads_without_lock:
            seen = np.where(locked, seen, scale.low)
        return plain(seen), plain(locked)


@functools.cache
def _models():
    table = facts.table("meter_models").drop(columns=["source", "status"])
    table["reads_without_lock"] = table["reads_without_lock"].astype(bool)
    return {row["name"]: Meter(**row) for row in table.to_dict("records")}


def meters() -> tuple[str, ...]:
    """Names of the invented meters.

    Returns
    -------
    tuple of str
        In the order of facts table ``meter_models``.

    Examples
    --------
    >>> meters()[-1]
    'five bars'
    """
    return tuple(_models())


def meter(name: str) -> Meter:
    """The invented Meter of a name.

    Parameters
    ----------
    name
        One of ``meters()``.

    Returns
    -------
    Meter

    Raises
    ------
    ValueError
        For an unknown name.

    Examples
    --------
    >>> meter("five bars").show(40)
    (5.0, True)
    """
    return _models()[one_of("meter", name, meters())]
