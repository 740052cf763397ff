"""From a reading to decibels above the level where this tuner loses lock, with plus and minus."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from ..tables import locks
from ..units import SDS_TO_90, number
from . import fitting, guessing
from .display import Scale
from .display import scale as find_scale
from .drawn import LOCK_SD_DB, Drawn
from .guessing import USUAL
from .known import Known
from .ladder import Rungs


class Margin(NamedTuple):
    """Readings in dB above the loss of lock; arrays of the readings' shape.

    ``value_db``: best single figure (the bound itself for "at least" and "less than", NaN for
    unusable); ``low_db`` and ``high_db``: ends of a 90 % interval, infinite on an open side;
    ``status``: measured, at least, less than or unusable.
    """

    value_db: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray
    status: np.ndarray


class Linear(NamedTuple):
    """Readings as a sum for a statistical model: figure, own noise, and the curve's common errors.

    ``value_db``, ``noise_db`` (n,): figure and sd of the reading alone; ``low_db``, ``high_db`` (n,):
    both the figure for a measured one, the ends of a bracket otherwise (a full meter, no lock, a step
    of the display that is coarse against its flicker; ``noise_db`` is then the sd of the ends);
    ``status`` (n,) measured, bracket or unusable; ``shared_db`` (n, k): what one standard deviation of
    each of the curve's k independent errors does to each reading, and ``tilt`` (n, k) how that changes
    from one dB to the next: an error of slope stretches all differences, and must be charged for it.
    """

    value_db: np.ndarray
    noise_db: np.ndarray
    low_db: np.ndarray
    high_db: np.ndarray
    status: np.ndarray
    shared_db: np.ndarray
    tilt: np.ndarray


@dataclass(frozen=True, eq=False)
class MeterCurve:
    """The reading of one tuner's scale as a function of the margin, with its uncertainty.

    Made by ``fit`` (a ladder), ``default`` (no ladder) or ``exact`` (a scale in dB). ``shape`` is what
    reads it backward: of a ladder many Drawn curves that may be true, else one Known but for normal
    errors; ``source`` ladder, default or exact; ``notes`` sentences.
    """

    scale: Scale
    shape: Drawn | Known
    source: str
    notes: tuple = ()

    @classmethod
    def fit(cls, ladder: pd.DataFrame) -> "MeterCurve":
        """The curve through a ladder of pads.

        Parameters
        ----------
        ladder
            Columns pad_db (or cn_cost_db, see ``pads_to_cn``), reading, locked, and if known meter,
            scale, rf_channel: one meter and one scale, any number of channels and repeats.

        Returns
        -------
        MeterCurve
            Rows that cannot be used are named in its ``notes``, all others are used. With too few rungs
            below the ceiling it is the wide default, and ``notes`` says so.

        Raises
        ------
        ValueError
            As ``Rungs.read`` does.

        Examples
        --------
        >>> pads = [0, 3, 6, 9, 12, 15, 18, 21]
        >>> table = pd.DataFrame({"pad_db": pads, "reading": [95, 90, 82, 73, 62, 50, 37, 0],
        ...                       "locked": [1, 1, 1, 1, 1, 1, 1, 0]})
        >>> curve = MeterCurve.fit(table)
        >>> curve.source, curve.to_margin_db(73, True).value_db.round(-1).item()
        ('ladder', 10.0)
        """
        rungs = Rungs.read(ladder)
        notes = list(rungs.notes)
        short = fitting.too_short(rungs)
        if short:
            return _bounds_only(rungs, (*notes, short))
        if not rungs.zero_known:
            notes.append(
                "The meter ladder never lost lock, so the meter has no zero: its dB are differences "
                "only. Add pads until the picture breaks."
            )
        notes += fitting.add_pads(rungs)
        return cls(rungs.scale, fitting.fit(rungs), "ladder", tuple(notes))

    @classmethod
    def default(cls, scale: str | Scale = "quality") -> "MeterCurve":
        """The honest wide curve of a meter without a ladder: plus or minus 10 to 20 dB.

        Parameters
        ----------
        scale
            A name from ``scales()``; a scale in dB gets the typical zero of an 8-VSB tuner (facts table
            ``meter_defaults``).

        Returns
        -------
        MeterCurve

        Examples
        --------
        >>> MeterCurve.default("quality").source
        'default'
        """
        scale = find_scale(scale)
        if scale.db_per_unit:
            zero = USUAL.level_zero_dbm if scale.zero == "level" else USUAL.cn_zero_db
            zero = zero + 108.7506 if scale.name == "dbuv" else zero
            sd = getattr(USUAL, f"{scale.zero}_zero_sd_db")
            said = f"No meter ladder: its zero is taken at {zero:.4g} dB, give or take {sd:g}."
            return cls.exact(scale, zero, sd, notes=(said,))
        said = "No meter ladder was made, so this meter's percent or bars say little: a wide guess."
        line = guessing.straight(scale, USUAL.default_span_db, USUAL.default_slope_sd)
        return cls(scale, line, "default", (said,))

    def guesses(self) -> "tuple[tuple[float, MeterCurve], ...]":
        """This curve and others as good by what is known: for differences in dB.

        A curve through a ladder, or of a scale of decibels, is itself alone. A guessed one is five of
        spans from 8 to 50 dB, since a difference is as wrong as the slope.

        Returns
        -------
        tuple of (share, MeterCurve)

        Examples
        --------
        >>> [round(c.full_at_db()) for _, c in MeterCurve.default("quality").guesses()]
        [7, 12, 18, 29, 46]
        """
        if self.source != "default":
            return ((1.0, self),)
        spans, shares = guessing.spans_db(self.shape.knots_db[-1], self.shape.full_by_db)
        slope_sd = USUAL.default_left_slope_sd
        held = {"ceiling": self.shape.ceiling, "full_by_db": self.shape.full_by_db}
        lines = (replace(guessing.straight(self.scale, s, slope_sd), **held) for s in spans)
        curves = (replace(self, shape=line) for line in lines)
        return tuple(zip(map(float, shares), curves, strict=True))

    @classmethod
    def exact(
        cls, scale: str | Scale, zero: float, zero_sd_db: float | None = None, notes: tuple = ()
    ) -> "MeterCurve":
        """The curve of a scale in dB, from the reading at which lock is lost.

        Parameters
        ----------
        scale
            A name such as dbm, dbuv, cn_db, mer_db, linux_cn.
        zero
            The reading at loss of lock, in dB (dBm, dBuV).
        zero_sd_db
            Its sd, dB, 0 or more; None for that of facts table ``meter_defaults``.
        notes
            Sentences to carry along.

        Returns
        -------
        MeterCurve

        Raises
        ------
        ValueError
            For a scale that means no dB, and a zero that does not lie on it.

        Examples
        --------
        >>> MeterCurve.exact("linux_cn", 15.2).to_margin_db(25250, True).value_db.round().item()
        10.0
        """
        scale = find_scale(scale)
        if not scale.db_per_unit:
            raise ValueError(f"scale {scale.name!r} means no dB; fit a meter ladder to it instead.")
        sd = getattr(USUAL, f"{scale.zero}_zero_sd_db") if zero_sd_db is None else zero_sd_db
        sd = number("zero_sd_db", sd, low=0)
        start = number("zero", zero) / scale.db_per_unit
        knots = np.arange(-5.0, (scale.high - start) * scale.db_per_unit + 1.0, 1.0)
        if knots.size < 2:
            raise ValueError(f"zero is {zero:g}; it must lie on the scale {scale.name}.")
        error = np.full(knots.size, sd / scale.db_per_unit)
        flicker = USUAL.ratio_flicker_db / scale.db_per_unit
        reading = start + knots / scale.db_per_unit
        line = Known(scale, knots, reading, np.outer(error, error), flicker, scale.high)
        return cls(scale, line, "exact", tuple(notes))

    def to_margin_db(self, reading: ArrayLike, locked: ArrayLike) -> Margin:
        """Readings as dB above the level at which this tuner loses lock.

        A reading counts as one look; curve, zero, flicker and rounding are all in the interval.

        Parameters
        ----------
        reading
            Of this curve's scale, any shape, NaN where none was noted.
        locked
            Whether there was a picture, same shape or one value (True, yes, 1 ...).

        Returns
        -------
        Margin
            At the ceiling "at least", without lock "less than", off the scale "unusable".

        Examples
        --------
        >>> curve = MeterCurve.exact("cn_db", 15.2)
        >>> curve.to_margin_db([25.2, 3.0], [True, False]).status.tolist()
        ['measured', 'less than']
        """
        shape, reading, locked = _looks(reading, locked)
        status, rows, which = self._sort(reading, locked)
        value, low, high = (np.full(reading.shape, np.nan) for _ in range(3))
        if rows.size:
            middle, ends, full = self.shape.inverted(rows)
            value[which[0]], low[which[0]], high[which[0]] = np.stack([middle, *ends])[:, which[1]]
            status[which[0]] = np.where(full[which[1]], "at least", status[which[0]])
        self._bounds(status, reading, value, low, high)
        return Margin(*(a.reshape(shape)[()] for a in (value, low, high, status)))

    def linear(self, reading: ArrayLike, locked: ArrayLike) -> Linear:
        """Readings for ``trials``: figure, own noise, and how the curve's errors move it.

        Parameters
        ----------
        reading, locked
            Both (n,), as in ``to_margin_db``.

        Returns
        -------
        Linear

        Examples
        --------
        >>> MeterCurve.exact("cn_db", 15.2).linear([25.2], [True]).shared_db.shape
        (1, 1)
        """
        _, reading, locked = _looks(reading, locked)
        status, rows, (at, back) = self._sort(reading, locked)
        low, high = np.full((2, reading.size), np.nan)
        noise = np.full(reading.size, LOCK_SD_DB)
        less, picture = status == "less than", (status == "at least")
        low[less], high[less] = -np.inf, 0.0
        low[picture], high[picture] = 0.0, np.inf
        shared, tilt = np.zeros((2, reading.size, 0))
        if rows.size:
            found = self.shape.as_noted_in(reading[at]).brackets(rows)
            shared, tilt = np.zeros((2, reading.size, found[3].shape[1]))
            low[at], high[at], noise[at], shared[at], tilt[at] = (part[back] for part in found)
        value = np.where(np.isinf(low), high, np.where(np.isinf(high), low, (low + high) / 2))
        status = np.where(
            status == "unusable", status, np.where(low == high, "measured", "bracket")
        )
        return Linear(value, noise, low, high, status.astype(object), shared, tilt)

    def table(self, reading: ArrayLike | None = None) -> pd.DataFrame:
        """The curve as a table to look at.

        Parameters
        ----------
        reading
            Of its scale, (n,); None for about twenty across it.

        Returns
        -------
        DataFrame
            Columns reading, margin_db, low_db, high_db, status.

        Examples
        --------
        >>> MeterCurve.default("quality").table([40, 100]).status.tolist()
        ['measured', 'at least']
        """
        if reading is None:
            first, last = self.shape.reading[[0, -1]]
            ends = max(first, self.scale.low), min(last, self.shape.ceiling)
            reading = np.unique(np.round(np.linspace(*ends, 21) / self.scale.step))
            reading = reading * self.scale.step
        margin = self.to_margin_db(reading, True)
        return pd.DataFrame({
            "reading": np.asarray(reading, dtype=float),
            "margin_db": margin.value_db,
            "low_db": margin.low_db,
            "high_db": margin.high_db,
            "status": margin.status,
        })  # fmt: skip

    @property
    def zero_known(self) -> bool:
        """False for a ladder that never lost lock: its dB are differences only."""
        return self.shape.zero_known

    @property
    def zero_sd_db(self) -> float:
        """How surely its zero is known, dB: one error of all readings alike, a part of each one's ends.

        Examples
        --------
        >>> round(MeterCurve.exact("cn_db", 15.2, 1.5).zero_sd_db, 6)
        1.5
        """
        return self.shape.zero_sd_db

    @property
    def bound_from(self) -> float:
        """Readings from here on are bounds: they may well be those of a full meter.

        Examples
        --------
        >>> MeterCurve.exact("cn_db", 15.2).bound_from
        59.2
        """
        return self.shape.bound_from

    def full_at_db(self) -> float:
        """The margin from which readings of this meter are only bounds.

        Returns
        -------
        float
            dB above the loss of lock.

        Examples
        --------
        >>> MeterCurve.default("quality").full_at_db() < 20
        True
        """
        return self.shape.full_at_db

    def _sort(self, reading, locked):
        """Status without the ceiling, the distinct readings to invert, and where each belongs."""
        known = self.scale.holds(reading) & (locked == 1)
        status = np.full(reading.size, "unusable", dtype=object)
        status[known] = "measured"
        status[(locked == 1) & np.isnan(reading)] = "at least"
        status[locked == 0] = "less than"
        at = np.flatnonzero(known)
        rows, back = np.unique(reading[at], return_inverse=True)
        return status, rows, (at, back)

    def _bounds(self, status, reading, value, low, high):
        """Fill in the rows that are bounds without a reading: only the picture, or none at all."""
        edge = SDS_TO_90 * LOCK_SD_DB if self.zero_known else np.inf
        least = (status == "at least") & np.isnan(reading)
        value[least], low[least], high[least] = 0.0, -edge, np.inf
        less = status == "less than"
        value[less], low[less], high[less] = 0.0, -np.inf, edge

    def __repr__(self):
        zero = "" if self.zero_known else ", differences only"
        made = {
            "ladder": "from a meter ladder",
            "default": "without a meter ladder",
            "exact": "a scale of decibels",
        }
        full = f"values up to about {self.full_at_db():.0f} dB"
        return f"<meter curve: {self.scale.label}, {made[self.source]}, {full}{zero}>"


def _looks(reading, locked):
    reading = np.asarray(reading, dtype=float)
    locked = np.asarray(locked)
    if locked.dtype != bool:
        locked = locks(locked.ravel()).reshape(locked.shape)
    reading, locked = np.broadcast_arrays(reading, locked.astype(float))
    return reading.shape, reading.ravel(), locked.ravel()


def _bounds_only(rungs, notes):
    """The guessed curve, held to what the ladder still says: by which margin the meter was full."""
    full_by = np.nanmin((rungs.lost_db[rungs.channel] - rungs.cost_db)[rungs.full], initial=np.inf)
    span = float(np.clip(full_by, 3.0, USUAL.default_span_db))
    line = guessing.straight(rungs.scale, span, USUAL.default_slope_sd)
    line = replace(line, ceiling=rungs.ceiling, full_by_db=float(full_by))
    return MeterCurve(rungs.scale, line, "default", notes)
