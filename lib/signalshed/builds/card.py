"""The card of a build as HTML, for a notebook or a page: drawing, cut list, gain."""

from ..markup import element, paragraph, safe, table
from .build import below_its_band, check_build, few
from .drawing import drawing_img
from .gain import behind_words, by_channel
from .told import facts_words, screen_words


def card_html(build, gain=True):
    """The card of a build as HTML, everything escaped.

    Parameters: ``build``; ``gain`` False leaves out what the solver must compute.

    >>> from . import half_wave_dipole
    >>> "<script" in card_html(half_wave_dipole(539).renamed("<script>"))
    False
    """
    check_build(build)
    title = element("p", element("b", safe(build.name)))
    return title + parts_html(build) + (_computed(build) if gain else "")


def parts_html(build):
    """Drawing, facts and cut list of a build as HTML, without its name.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> parts_html(half_wave_dipole(539)).count("<tr>")
    2
    """
    check_build(build)
    sentences = (facts_words(build), *screen_words(build), *build.notes)
    words = "".join(map(paragraph, sentences))
    rows = [
        [r.piece, str(r.count), f"{r.length_mm} mm", r.length_in, r.stock]
        for r in build.cut_list.itertuples(name="Cut")
    ]
    heads = ["piece", "count", "length", "in inches", "stock"]
    return drawing_img(build) + words + table(heads, [("", rows)], caption="Cut list")


def gain_words(build, freq_mhz, gain_dbd):
    """A computed gain in words: "at least" below the band, where the cable becomes the antenna.

    Parameters: ``build``; ``freq_mhz`` one frequency; ``gain_dbd`` there.

    >>> from . import half_wave_dipole
    >>> gain_words(half_wave_dipole(539), 539, 0.04), gain_words(half_wave_dipole(539), 189, -9.7)
    ('+0.0 dBd', 'at least -9.7 dBd')
    """
    check_build(build)
    floor = "at least " if below_its_band(build, freq_mhz) else ""
    return f"{floor}{gain_dbd:+.1f} dBd"


def _computed(build):
    """Gain on a few channels, or why there is none."""
    try:
        rows = by_channel(build)
    except ValueError as why:
        return paragraph(why)
    chosen = rows.iloc[few(range(len(rows)))]
    cells = [
        [
            f"{r.freq_mhz:.0f} MHz",
            gain_words(build, r.freq_mhz, r.gain_dbd),
            f"{r.beamwidth_deg:.0f}°",
            behind_words(r.front_to_back_db),
        ]
        for r in chosen.itertuples()
    ]
    heads = ["channel centre", "gain toward the aim", "beamwidth", "weaker behind, roughly"]
    return table(heads, [("", cells)], caption="Computed")
