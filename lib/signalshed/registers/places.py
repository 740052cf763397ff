"""Names, channels, services and standards of the rows of a list."""

import re
from dataclasses import dataclass

import numpy as np

from .. import channels, facts
from ..words import listed
from . import columns
from .vocabulary import plain, words

_CHANNEL = re.compile(
    r"(?:rf|ch|chan|channel|kanal|canal|uhf|vhf|[a-z])?[\s.:#-]*0*(\d{1,3})\s*([a-d]?)[+z-]?\s*(?:uhf|vhf)?(?:\s*[([].*)?"
)
_NEAR_MHZ = 0.6


def names(this):
    """Names of stations and of places (lists): one stands in for the other, and the line for both.

    Parameters: ``this`` a columns.Cells.
    """
    station, place = this.column("station"), this.column("place")
    if not this.has("station"):
        this.notes.append(
            "no column names the stations: they are called by their place and channel"
        )
        rf = this.column("rf_channel") if this.has("rf_channel") else this.column("freq")
        station = [f"{p} {c}".strip() for p, c in zip(place, rf, strict=True)]
    lines = this.numbers
    station = [
        s[:120] or p[:120] or f"line {k}" for s, p, k in zip(station, place, lines, strict=True)
    ]
    return [_clean(s) for s in station], [_clean(p[:120]) for p in place]


def _clean(text):
    """A name without what a table cannot hold."""
    return re.sub(r"[\x00-\x1f\x7f-\x9f]", " ", text).strip()


def channels_of(this, region):
    """RF channel (list of text), frequency in MHz (n,), service (list); rows of neither are dropped.

    Parameters: ``this`` a columns.Cells; ``region`` of the channel plan.
    """
    plan = _Plan.of(region)
    typed, service = _without_digital(this.column("rf_channel")), _services(this)
    freq = columns.measured(this, "freq", "mhz")
    _tell_services(this, service)
    for k in np.flatnonzero(np.isnan(freq)):
        if service[k] in ("fm", "", None):
            freq[k] = _fm_mhz(typed[k], region)
    out, off, moved = [], [], []
    for k in range(len(this.rows)):
        rf, kind, why = _one(typed[k], freq[k], service[k], plan)
        if (
            rf
            and kind == "tv"
            and np.isfinite(freq[k])
            and abs(freq[k] - plan.centre_mhz[rf]) > 0.5
        ):
            moved.append(k)
        if why:
            off.append(k)
            this.drop(k, why)
        out.append((rf, kind))
    _tell_off(this, off)
    this.tell(moved, "{rows}: the frequency is not the centre of the channel; the channel counts")
    return [rf for rf, _ in out], freq, [kind for _, kind in out]


@dataclass(frozen=True)
class _Plan:
    """A channel plan in plain dicts: ``centre_mhz``, ``half_mhz`` by channel, ``fm`` pairs of ends."""

    region: str
    centre_mhz: dict
    half_mhz: dict
    fm: tuple

    @classmethod
    def of(cls, region):
        table, fm = channels.plan(region), channels.neighbours(region).query("service == 'fm'")
        half = ((table["high_mhz"] - table["low_mhz"]) / 2).to_dict()
        ends = tuple(zip(fm["low_mhz"], fm["high_mhz"], strict=True))
        return cls(region, table["centre_mhz"].to_dict(), half, ends)

    def in_fm(self, freq):
        return any(low <= freq <= high for low, high in self.fm)

    def nearest(self, freq):
        """The channel whose centre is ``freq``, or that alone holds it; "" for none."""
        name = min(self.centre_mhz, key=lambda rf: abs(self.centre_mhz[rf] - freq))
        if abs(self.centre_mhz[name] - freq) <= _NEAR_MHZ:
            return name
        inside = [rf for rf, f in self.centre_mhz.items() if abs(f - freq) <= self.half_mhz[rf]]
        return inside[0] if len(inside) == 1 else ""


def _one(text, freq, service, plan):
    """(channel, service, why it is left out) of one row."""
    if service == "-":
        return "", "tv", "its service is neither television nor FM nor mobile"
    if service in ("fm", "mobile") or (service != "tv" and plan.in_fm(freq)):
        kind = service or "fm"
        if not np.isfinite(freq) or (kind == "fm" and not plan.in_fm(freq)):
            return "", kind, f"its frequency is no {kind} frequency of region {plan.region}"
        return f"{'FM' if kind == 'fm' else kind} {freq:g}", kind, ""
    name = channel_name(text)
    if name in plan.centre_mhz:
        return name, "tv", ""
    if not name and np.isfinite(freq) and (found := plan.nearest(freq)):
        return found, "tv", ""
    shown = f"channel {text}" if text else f"{freq:g} MHz" if np.isfinite(freq) else "no channel"
    return "", "tv", f"{shown} is no television channel of region {plan.region}"


_LAST_BLOCK = 13
"""The last channel that digital radio parts in blocks A to D (common practice, no source)."""


def _without_digital(typed):
    """Channels without a D for digital: where no other letter stands and not all can be radio blocks."""
    parts = [re.fullmatch(r"(\d{1,2})([A-Z])", text.strip().upper()) for text in typed]
    letters = {found[2] for found in parts if found}
    if letters != {"D"} or max(int(found[1]) for found in parts if found) <= _LAST_BLOCK:
        return typed
    return [found[1] if found else text for found, text in zip(parts, typed, strict=True)]


def channel_name(text):
    """A channel as we write it, "" for what is none.

    >>> channel_name("Ch. 09"), channel_name("E27"), channel_name("9a"), channel_name("7.1")
    ('9', '27', '9A', '')
    """
    found = _CHANNEL.fullmatch(plain(re.sub(r"\.0+$", "", text.strip())))
    return found[1] + found[2].upper() if found else ""


def _services(this):
    """What each row is by its service, or by its standard where that says FM or digital radio."""
    codes = columns.coded(this, "service", "service")
    system = columns.coded(this, "standard", "service")
    return [
        how if how in ("fm", "mobile", "-") and code in ("", "tv", None) else code
        for code, how in zip(codes, system, strict=True)
    ]


def _fm_mhz(text, region):
    """The frequency of an FM channel that has a number, MHz, or NaN. Source: 47 CFR 73.201."""
    name = channel_name(text)
    first, last, start, step = (facts.value("fm_channels", key) for key in _FM_KEYS)
    if region != "us" or not name.isdigit() or not first <= int(name) <= last:
        return np.nan
    return start + step * (int(name) - first)


_FM_KEYS = ("first", "last", "first_mhz", "step_mhz")


def _tell_services(this, service):
    strange = sorted({c for c, m in zip(this.column("service"), service, strict=True) if m is None})
    if strange:
        this.notes.append(
            f"{this.heading('service')!r}: {listed(strange)} is not known and taken as television"
        )


def _tell_off(this, off):
    """Rows that are no signal of this plan, in one line; where most are, the region may be another."""
    if not off:
        return
    text = "{rows}: no television channel of the plan, FM or mobile frequency there; left out"
    if len(off) > 0.4 * len(this.rows):
        text += " (is the region right? region=" + ", ".join(map(repr, channels.REGIONS)) + ")"
    this.tell(off, text)


def standards(this, service, region):
    """The standard by row (list), with its mode where constellation and code rate tell it.

    Analogue rows are dropped. Parameters: ``this`` a columns.Cells; ``service`` by row; ``region``.
    """
    known = set(facts.table("standards")["standard"])
    texts = [
        " ".join(parts).strip()
        for parts in zip(
            *(this.column(c) for c in ("standard", "modulation", "code_rate")), strict=True
        )
    ]
    found = {text: _standard(text, known) for text in set(texts)}
    analogue = [k for k, text in enumerate(texts) if found[text] == "-"]
    this.tell(analogue, "{rows}: analogue; left out")
    for k in analogue:
        this.drop(k, "it is analogue")
    strange = sorted({text for text in texts if found[text] is None})
    if strange:
        this.notes.append(f"standard {listed(strange)} is not known")
    out = [
        "" if kind != "tv" else found[text] or "" for text, kind in zip(texts, service, strict=True)
    ]
    return _with_usual(this, out, service, region)


def _with_usual(this, out, service, region):
    """Where a plan has no usual standard and the list names none, one is taken and said."""
    usual = words("usual").get(region)
    empty = [k for k, s in enumerate(out) if not s and service[k] == "tv" and k not in this.dropped]
    those = set(empty)
    if usual and empty:
        this.tell(empty, f"{{rows}}: no standard is named; taken as {usual}")
        out = [usual if k in those else s for k, s in enumerate(out)]
    return out


def _standard(text, known):
    """One of our standards, "" for nothing said, "-" for analogue, None for a word nobody knows."""
    if not text:
        return ""
    bare = plain(text)
    constellation = re.search(r"(\d{2,3})[\s-]?qam|qpsk", bare)
    rate = re.search(r"\b([1-7])\s*/\s*([2-8])\b", bare)
    for mode in filter(None, (constellation, rate)):
        bare = bare.replace(mode[0], " ")
    family = _family(re.sub(r"[^a-z0-9]", "", bare))
    if family is None and constellation:
        family = "DVB-T2" if "256" in constellation[0] else ""
    if family and constellation and rate:
        mode = "QPSK" if constellation[0] == "qpsk" else f"{constellation[1]}-QAM"
        name = f"{family} {mode} {rate[1]}/{rate[2]}"
        return name if name in known else family
    return family


def _family(text):
    """The standard that a text without blanks and marks names, or begins or ends to name."""
    known = words("standard")
    inside = [word for word in known if len(word) > 3 and word in text]
    return known.get(text, known[max(inside, key=len)] if inside else None)
