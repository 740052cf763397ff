"""Parts of the line from the antenna to the picture, and what they do one after another."""

import functools
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from .. import facts, units
from ..tables import PARTS, TUNER


@dataclass(frozen=True)
class Part:
    """One thing in the line between antenna and tuner.

    Parameters
    ----------
    name : text shown in the account.
    gain_db : a number in dB, or a function of ``freq_mhz``; negative for a loss.
    noise_figure_db : dB, at least 0; None for a passive part, whose noise figure is its loss.
    input_ip3_dbm : third-order intercept at the input, dBm; None if it cannot be overdriven.
    max_input_dbm : most total power at the input, dBm; None if there is no limit.

    >>> Part("mast amplifier", 16, 2).noise_factor(600)
    1.5848931924611136
    """

    name: str
    gain_db: float | Callable
    noise_figure_db: float | None = None
    input_ip3_dbm: float | None = None
    max_input_dbm: float | None = None

    def __post_init__(self):
        if not callable(self.gain_db):
            units.check(f"gain_db of {self.name}", self.gain_db)
        if self.noise_figure_db is not None:
            units.check(f"noise_figure_db of {self.name}", self.noise_figure_db, low=0)
        for limit in ("input_ip3_dbm", "max_input_dbm"):
            if getattr(self, limit) is not None:
                units.check(f"{limit} of {self.name}", getattr(self, limit))

    @property
    def is_passive(self):
        """True for a part without a supply: cable, pad, filter, splitter."""
        return self.noise_figure_db is None

    @property
    def is_cable(self):
        """True for a run of ``coax``."""
        return isinstance(self.gain_db, _CableGain)

    def gain_at_db(self, freq_mhz):
        """Gain in dB at ``freq_mhz`` (any shape, above 0), same shape."""
        f = units.check("freq_mhz", freq_mhz, above=0)
        gain = self.gain_db(f) if callable(self.gain_db) else self.gain_db
        gain = units.check(f"gain_db of {self.name}", gain) + np.zeros_like(f)
        if self.is_passive and (gain > 0).any():
            raise ValueError(
                f"{self.name} has gain but no noise_figure_db; an amplifier needs one."
            )
        return units.plain(gain)

    def noise_factor(self, freq_mhz):
        """Noise factor (a ratio, at least 1) at ``freq_mhz`` (any shape), same shape."""
        figure = -self.gain_at_db(freq_mhz) if self.is_passive else self.noise_figure_db
        return units.plain(10 ** (np.asarray(figure) / 10) + np.zeros_like(freq_mhz, dtype=float))


@dataclass(frozen=True)
class Line:
    """What a chain of parts does as a whole, referred to its input; shapes are those of the frequency.

    ``gain_db``; ``noise_figure_db``; ``input_ip3_dbm``, infinite when no part can be overdriven.
    """

    gain_db: float
    noise_figure_db: float
    input_ip3_dbm: float


def cascade(parts, freq_mhz):
    """Gain, noise figure and intercept point of parts one after another.

    Parameters: ``parts``, a sequence of ``Part`` from the antenna on (empty: a plain wire);
    ``freq_mhz``, MHz, any shape. Returns a ``Line``. Intercept points join as if all products
    were in phase, the cautious rule.

    Source: Friis, Noise figures of radio receivers (1944): F = F1 + (F2 - 1)/G1 + ...;
    1/IP3 = 1/IP3_1 + G1/IP3_2 + ... in milliwatts.

    >>> line = cascade([Part("amplifier", 16, 2), pad(4), Part("tuner", 0, 7)], 600)
    >>> round(line.noise_figure_db, 2)
    2.73
    """
    f = units.check("freq_mhz", freq_mhz, above=0)
    gain, factor, inverse_ip3 = np.ones_like(f), np.ones_like(f), np.zeros_like(f)
    for part in parts:
        factor = factor + (part.noise_factor(f) - 1) / gain
        if part.input_ip3_dbm is not None:
            inverse_ip3 = inverse_ip3 + gain / 10 ** (part.input_ip3_dbm / 10)
        gain = gain * 10 ** (np.asarray(part.gain_at_db(f)) / 10)
    with np.errstate(divide="ignore"):
        ip3 = -10 * np.log10(inverse_ip3)
    return Line(*(units.plain(x) for x in (10 * np.log10(gain), 10 * np.log10(factor), ip3)))


# ---- parts from a shelf -------------------------------------------------------------------------


@dataclass(frozen=True)
class _CableGain:
    sqrt_db_per_100m: float
    linear_db_per_100m: float
    length_m: float

    def __call__(self, freq_mhz):
        per_100m = self.sqrt_db_per_100m * np.sqrt(freq_mhz) + self.linear_db_per_100m * freq_mhz
        return -per_100m * self.length_m / 100


@dataclass(frozen=True)
class _StopBand:
    low_mhz: float
    high_mhz: float
    rejection_db: float
    loss_db: float

    def __call__(self, freq_mhz):
        inside = (freq_mhz >= self.low_mhz) & (freq_mhz <= self.high_mhz)
        return np.where(inside, -self.rejection_db, -self.loss_db)


def coax(type, length_m):
    """A run of coaxial cable.

    Parameters: ``type``, one of the facts table ``coax`` (series6, series11, series59; "RG6" is
    read as series6); ``length_m``, metres, 0 to 1000. Loss per 100 m is a sqrt(f) + b f: skin
    effect and dielectric. Source: facts table ``coax``, with the standing of each row.

    >>> round(coax("series6", 30.48).gain_at_db(270), 2)
    -3.24
    """
    length = units.one_float("length_m", PARTS["coax"].column("length_m").check(length_m))
    rows = facts.table("coax").set_index("type")
    key = str(type).strip().lower().replace("-", "").replace(" ", "").replace("rg", "series")
    if key not in rows.index:
        raise ValueError(f"type is {type!r}; it must be one of {', '.join(rows.index)}.")
    row = rows.loc[key]
    gain = _CableGain(float(row.sqrt_db_per_100m), float(row.linear_db_per_100m), length)
    return Part(f"{length:.4g} m {key} cable", gain)


def pad(loss_db):
    """An attenuator pad of ``loss_db`` (0 to 100 dB): the same at every frequency, and as noisy.

    >>> pad(10).gain_at_db(600)
    -10.0
    """
    loss = units.one_float("loss_db", PARTS["pad_db"].column("pad_db").check(loss_db, "loss_db"))
    return Part(f"{loss:g} dB pad", -loss)


def splitter(ways):
    """A splitter with ``ways`` outlets (2, 3, 4 or 8), with the loss of a practical one.

    Source: facts table ``splitters``; an ideal one loses 10 log10(ways).

    >>> splitter(2).gain_at_db(600)
    -3.5
    """
    rows = facts.table("splitters").set_index("ways")
    units.one_of("ways", ways, rows.index)
    return Part(f"{ways:g}-way splitter", -float(rows.loc[ways, "practical_db"]))


def stop_filter(name, low_mhz, high_mhz, rejection_db=None, loss_db=None):
    """A filter that stops one band and lets the rest through.

    Parameters: ``name``; ``low_mhz`` and ``high_mhz``, the edges of what it stops, MHz;
    ``rejection_db`` inside and ``loss_db`` outside, dB at least 0 (facts table ``receiver``).

    >>> stop_filter("FM filter", 88, 108).gain_at_db([98, 177])
    array([-20. ,  -0.5])
    """
    low = units.number("low_mhz", low_mhz, above=0)
    high = units.number("high_mhz", high_mhz, above=low)
    rejection = _default(rejection_db, "filter_rejection_db")
    loss = _default(loss_db, "filter_loss_db")
    PARTS["filter"].column("rejection_db").check(rejection)
    PARTS["filter"].column("loss_db").check(loss)
    return Part(name, _StopBand(low, high, rejection, loss))


def amplifier(name, gain_db, noise_figure_db, input_ip3_dbm=None, max_input_dbm=None):
    """An amplifier; without its intercept point or limit, overload at it cannot be judged.

    Parameters: ``name``; ``gain_db`` a number or function of ``freq_mhz``; ``noise_figure_db`` dB;
    ``input_ip3_dbm`` and ``max_input_dbm``, dBm, or None. A label that gives a maximum output
    instead: see ``ip3_from_output``.

    >>> amplifier("mast amplifier", 16, 2).is_passive
    False
    """
    PARTS["amplifier"].column("noise_figure_db").check(noise_figure_db)
    return Part(name, gain_db, noise_figure_db, input_ip3_dbm, max_input_dbm)


def ip3_from_output(max_output_dbuv, gain_db):
    """Input intercept point, dBm, from the maximum output on a data sheet.

    Parameters: ``max_output_dbuv``, level of each of two carriers, dBuV in 75 ohm, at which their
    third-order products are 60 dB below them; ``gain_db``. Products fall twice as fast in dB
    as carriers part from the intercept point, so it lies half the ratio above.

    >>> round(ip3_from_output(105, 16), 1)
    10.2
    """
    level = np.asarray(units.dbm_from_dbuv(max_output_dbuv))
    return units.plain(level + 60 / 2 - units.check("gain_db", gain_db))


def _default(value, key):
    return facts.value("receiver", key) if value is None else float(value)


# ---- feed and tuner -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Feed:
    """A named line from an antenna's output to the tuner: ``name`` and ``parts`` in that order.

    >>> Feed("attic", (coax("series6", 12), splitter(2))).line(600).gain_db < -5
    True
    """

    name: str
    parts: tuple = field(default=())

    def line(self, freq_mhz):
        """The feed alone as one ``Line`` at ``freq_mhz`` (MHz, any shape)."""
        return cascade(self.parts, freq_mhz)

    @property
    def amplifiers(self):
        """Names of the parts that need a supply."""
        return tuple(p.name for p in self.parts if not p.is_passive)

    def unpowered(self):
        """The same feed with its amplifiers left in line but without supply: each becomes a loss.

        Source: facts table ``receiver``, unpowered_amplifier_loss_db, our judgement.
        """
        loss = facts.value("receiver", "unpowered_amplifier_loss_db")
        parts = (p if p.is_passive else Part(f"{p.name}, no supply", -loss) for p in self.parts)
        return replace(self, parts=tuple(parts))

    def without_amplifiers(self):
        """The same feed with its amplifiers taken out and the cable joined."""
        return replace(self, parts=tuple(p for p in self.parts if p.is_passive))

    def with_pad(self, pad_db, pad_at="set"):
        """The same feed with a pad of ``pad_db`` dB more; ``pad_at`` is antenna or set."""
        if pad_at not in ("antenna", "set"):
            raise ValueError(f"pad_at is {pad_at!r}; it must be antenna or set.")
        more = (pad(pad_db),)
        return replace(self, parts=more + self.parts if pad_at == "antenna" else self.parts + more)


@dataclass(frozen=True)
class Tuner:
    """The receiver at the end of the line.

    Parameters
    ----------
    name : text.
    standards : names or families it decodes, such as ("ATSC1", "ATSC3"): facts table ``standards``.
    noise_figure_db : dB, 0 to 30.
    max_input_dbm : most total power at its input, dBm (facts table ``receiver``).
    input_ip3_dbm : third-order intercept at its input, dBm, or None if not known.

    >>> Tuner("living room", ("ATSC1",), 7).decodes("ATSC3")
    False
    """

    name: str
    standards: tuple
    noise_figure_db: float = TUNER.column("noise_figure_db").default
    max_input_dbm: float | None = None
    input_ip3_dbm: float | None = None

    def __post_init__(self):
        TUNER.check(self)
        if isinstance(self.standards, str):
            object.__setattr__(self, "standards", (self.standards,))
        for standard in self.standards:
            family(standard)
        limit = _default(self.max_input_dbm, "tuner_max_input_dbm")
        object.__setattr__(self, "max_input_dbm", limit)

    @property
    def part(self):
        """The tuner as the last ``Part`` of a chain."""
        return Part(self.name, 0.0, self.noise_figure_db, self.input_ip3_dbm, self.max_input_dbm)

    def decodes(self, standard):
        """True if the tuner shows, or may show, pictures of ``standard`` (of the facts table)."""
        named = {standard, family(standard), *self._modes(standard)}
        return not named.isdisjoint(self.standards)

    def may_refuse(self, standard):
        """Why the tuner may refuse ``standard`` though it decodes it, in words; "" where it will not.

        >>> Tuner("old set", ("DVB-T2 256-QAM 2/3",)).may_refuse("DVB-T2")
        'its mode is not known, and this TV is only said to decode some'
        """
        if standard not in self.standards and family(standard) not in self.standards:
            known = bool(self._modes(standard) & set(self.standards))
            return "its mode is not known, and this TV is only said to decode some" if known else ""
        return _refusals().get(standard, "")

    @staticmethod
    def _modes(standard):
        """All modes of a family, where ``standard`` names the family alone."""
        return {mode for mode, of in _families().items() if of == standard != mode}


@functools.cache
def _families():
    return dict(facts.table("standards")[["standard", "family"]].to_numpy())


@functools.cache
def _refusals():
    rows = facts.table("standards").dropna(subset="may_refuse")
    return dict(rows[["standard", "may_refuse"]].to_numpy())


def family(standard):
    """The family a transmission ``standard`` belongs to: one tuner decodes all modes of a family.

    >>> family("DVB-T2 256-QAM 2/3")
    'DVB-T2'
    """
    if standard not in _families():
        known = ", ".join(dict.fromkeys(_families().values()))
        raise ValueError(
            f"standard is {standard!r}; it must be one of {known}, or one of their modes "
            "in the facts table standards."
        )
    return _families()[standard]
