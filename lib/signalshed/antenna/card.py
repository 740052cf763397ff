"""The card of an antenna as HTML, for a notebook: what is known of it, and how it is built."""

import numpy as np

from .. import builds
from ..markup import table
from .making import from_build


def card_html(antenna):
    """The card of an antenna as HTML, everything escaped: what is known of it, and how it is built.

    One that comes from a build shows drawing, cut list, weight and wind; where a trial compared it, the
    computed gain stands beside the compared one.
    Parameters: ``antenna``.

    >>> from signalshed.antenna import plain_dipole
    >>> "<b>" in card_html(plain_dipole().renamed("<b>"))
    False
    """
    card = table([], [("", _facts(antenna))], caption=antenna.name, named=True) + _gains_html(
        antenna
    )
    return card + (builds.parts_html(antenna.build) if antenna.build is not None else "")


def _facts(antenna):
    freq = antenna.freq_mhz
    middle = freq.mean() if freq.size == 2 else freq[freq.size // 2]
    facts_of = [
        ("revision", antenna.revision),
        ("channels", f"{antenna.freq_mhz[0]:.0f} to {antenna.freq_mhz[-1]:.0f} MHz"),
        ("gain toward the aim", f"{antenna.gain_dbd(middle):.1f} dBd at {middle:.0f} MHz"),
        ("plus or minus", _spread_words(antenna)),
        ("beamwidth", f"{antenna.beamwidth_deg(middle):.0f} degrees at {middle:.0f} MHz"),
        ("polarization", antenna.polarization),
        ("known from", "its label" if antenna.label_lean_db else antenna.source),
        ("may live", ", ".join(antenna.lives)),
        ("effort", f"{antenna.effort} of 5"),
        ("pattern", f"shed.plots.pattern(antenna, {middle:.0f})"),
    ]
    return facts_of + ([("note", antenna.note)] if antenna.note else [])


def _spread_words(antenna):
    words = f"{antenna.spread_db:.1f} dB (one standard deviation)"
    if not antenna.measured_mhz:
        return words
    low, high = antenna.measured_mhz[0], antenna.measured_mhz[-1]
    elsewhere = f"growing to {antenna.described_sd_db:.1f} dB elsewhere"
    return f"{words} from {low:.0f} to {high:.0f} MHz, {elsewhere}"


def _gains_html(antenna):
    """Gain toward the aim on a few channels: computed, and compared where a trial told it."""
    if antenna.build is None or antenna.build.ideal:
        return ""
    freq = np.array(builds.few(antenna.freq_mhz))
    compared = antenna.source == "trial"
    computed = from_build(antenna.build, freq) if compared else antenna
    rows = [
        [f"{f:.0f} MHz", builds.gain_words(antenna.build, f, gain)]
        for f, gain in zip(freq, np.atleast_1d(computed.gain_dbd(freq)), strict=True)
    ]
    heads = ["channel", "computed"]
    if compared:
        heads.append("compared")
        low, high = np.asarray(antenna.measured_mhz or antenna.freq_mhz)[[0, -1]]
        for row, f in zip(rows, freq, strict=True):
            row.append(f"{antenna.gain_dbd(f):+.1f} dBd" if low <= f <= high else "")
    return table(heads, [("", rows)], caption="Gain toward the aim")
