"""Names, channels, services and standards of the rows of a list."""

import re

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
        said = "no column names the stations: they are called by their place and channel"
        this.notes.append(said)
        rf = this.column("rf_channel") if this.has("rf_channel") else this.column("freq")
        station = [f"{p} {c}".strip() for p, c in zip(place, rf, strict=True)]
    lines = this.numbers
    cells = zip(station, place, lines, strict=True)
    station = [s[:120] or p[:120] or f"line {k}" for s, p, k in cells]
    return [_clean(s) for s in station], [_clean(p[:120]) for p in place]


def _clean(text):
    """A name without what a table cannot hold."""
    return re.sub(r"[\x00-\x1f\x7f-\x9f]", " ", text).strip()


def channels_of(this, region):
    """RF channel (list of text), frequency in MHz (n,), service (list); rows of neither are dropped.

    Parameters: ``this`` a columns.Cells; ``region`` of the channel plan.
    """
    plan, fm = channels.plan(region), channels.neighbours(region).query("service == 'fm'")
    typed, service = _without_digital(this.column("rf_channel")), _services(this)
    freq = columns.measured(this, "freq", "mhz")
    for k in np.flatnonzero(np.isnan(freq)):
        if service[k] in ("fm", "", None):
            freq[k] = _fm_mhz(typed[k], region)
    ends = fm[["low_mhz", "high_mhz"]].to_numpy().T[..., None]
    in_fm = ((freq >= ends[0]) & (freq <= ends[1])).any(axis=0)
    cells = zip(typed, freq, service, in_fm, strict=True)
    rows = [_on_the_plan(*each, plan, region) for each in cells]
    rf, kind, why = map(list, zip(*rows, strict=True)) if rows else ([], [], [])
    off = [k for k, reason in enumerate(why) if reason]
    for k in off:
        this.drop([k], why[k])
    _tell_off(this, off)
    centre = plan["centre_mhz"].reindex(rf).to_numpy()
    moved = np.flatnonzero((np.array(kind) == "tv") & (np.abs(freq - centre) > 0.5))
    this.tell(moved, "the frequency is not the centre of the channel; the channel counts")
    return rf, freq, kind


def _on_the_plan(text, freq, service, in_fm, plan, region):
    """(channel, service, why it is left out) of one row."""
    if service == "-":
        return "", "tv", "its service is neither television nor FM nor mobile"
    if service in ("fm", "mobile") or (service != "tv" and in_fm):
        kind = service or "fm"
        if not np.isfinite(freq) or (kind == "fm" and not in_fm):
            return "", kind, f"its frequency is no {kind} frequency of region {region}"
        return f"{'FM' if kind == 'fm' else kind} {freq:g}", kind, ""
    name = channel_name(text)
    if name in plan.index:
        return name, "tv", ""
    if not name and np.isfinite(freq) and (found := _nearest(plan, freq)):
        return found, "tv", ""
    shown = f"channel {text}" if text else f"{freq:g} MHz" if np.isfinite(freq) else "no channel"
    return "", "tv", f"{shown} is no television channel of region {region}"


def _nearest(plan, freq):
    """The channel whose centre is ``freq``, or that alone holds it; "" for none."""
    off = (plan["centre_mhz"] - freq).abs()
    if off.min() <= _NEAR_MHZ:
        return off.idxmin()
    inside = plan.index[off <= (plan["high_mhz"] - plan["low_mhz"]) / 2]
    return inside[0] if len(inside) == 1 else ""


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
    codes = columns.coded(this, "service", otherwise="taken as television")
    system = columns.coded(this, "service", "standard")
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


def _tell_off(this, off):
    """Rows that are no signal of this plan, in one line; where most are, the region may be another."""
    if not off:
        return
    text = "no television channel of the plan, FM or mobile frequency there; left out"
    if len(off) > 0.4 * len(this.rows):
        text += " (is the region right? region=" + ", ".join(map(repr, channels.REGIONS)) + ")"
    this.tell(off, text)


def standards(this, service, region):
    """The standard by row (list), with its mode where constellation and code rate tell it.

    Analogue rows are dropped. Parameters: ``this`` a columns.Cells; ``service`` by row; ``region``.
    """
    known = set(facts.table("standards")["standard"])
    parts = map(this.column, ("standard", "modulation", "code_rate"))
    texts = [" ".join(cells).strip() for cells in zip(*parts, strict=True)]
    found = {text: _standard(text, known) for text in set(texts)}
    analogue = [k for k, text in enumerate(texts) if found[text] == "-"]
    this.drop(analogue, "it is analogue", "analogue")
    strange = sorted({text for text in texts if found[text] is None})
    if strange:
        this.notes.append(f"standard {listed(strange)} is not known")
    out = [found[t] or "" if kind == "tv" else "" for t, kind in zip(texts, service, strict=True)]
    if usual := words("usual").get(region):  # of a plan that has none in facts
        rows = (k for k, kind in enumerate(service) if kind == "tv" and k not in this.dropped)
        empty = [k for k in rows if not out[k]]
        this.tell(empty, f"no standard is named; taken as {usual}")
        for k in empty:
            out[k] = usual
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
