"""The build sheet: what to do in which order, and why, as rows a page can print."""

import pandas as pd

from ..units import inches_text
from .build import by_channel
from .finer import tolerance, worst_dbd, wrong_balun


def build_sheet(build, figures=True):
    """Steps of a build in order: DataFrame of part, step, why.

    Parts: cut, bend, feed, balun, cable, weather, screen, mount, check, limits. Cautions on ladders,
    masts and lightning stand elsewhere and belong beside it.
    Parameters: ``build``; ``figures`` False leaves out what the solver must compute.

    >>> from . import loop
    >>> build_sheet(loop(539), figures=False).part.unique().tolist()
    ['cut', 'feed', 'balun', 'cable', 'weather', 'mount', 'check', 'limits']
    """
    rows = [
        *_cut(build),
        *_bend(build),
        _feed(build),
        _balun(build, figures),
        _cable(build),
        *_WEATHER,
    ]
    rows += [*_screen(build), *_MOUNT, *_check(build), *_limits(build, figures)]
    return pd.DataFrame(rows, columns=["part", "step", "why"])


def both_units(length_mm):
    """A length, ``length_mm``, in whole millimetres and in inches to the sixteenth.

    >>> both_units(260)
    '260 mm (10 1/4 in)'
    """
    return f"{length_mm:.0f} mm ({inches_text(length_mm)})"


def _cut(build):
    for piece in build.all_pieces:
        each = "" if piece.count == 1 else " each"
        length = both_units(piece.length_mm)
        step = f"Cut {piece.count} x {piece.label}: {length}{each}, {piece.stock.text}."
        yield "cut", step, "Measure from a square end; a saw cut takes about a millimetre."


def _bend(build):
    for piece in build.all_pieces:
        if piece.bends_mm:
            marks = ", ".join(both_units(mark) for mark in piece.bends_mm)
            step = f"Mark the {piece.label} at {marks} from one end and bend there."
            yield "bend", step, "Marked before the first bend, errors do not add up."


def _feed(build):
    along = "side to side" if build.polarization == "horizontal" else "up and down"
    step = (
        f"Leave {both_units(build.gap_mm)} between the two terminals, on an insulator, so that the "
        f"current there runs {along}."
    )
    why = f"This makes it {build.polarization}: the gap, not the look of the thing, decides."
    if build.form == "loop":
        why += " A loop fed at its side is vertical, fed at its bottom or top horizontal."
    return "feed", step, why


def _balun(build, figures):
    ways = {"1:1": "a 1:1 choke balun for 75 ohm", "4:1": "a 4:1 transformer from 300 to 75 ohm"}
    step = f"Join {ways[build.balun]} right at the terminals."
    why = "Without it the outside of the cable becomes part of the antenna."
    if figures and not build.ideal:
        table = wrong_balun(build)
        for row in table[table["balun"] != build.balun].itertuples():
            verb = "costs" if row.cost_db >= 0 else "would gain"
            why += f" The {row.balun} one {verb} {abs(row.cost_db):.1f} dB on the worst channel."
    return "balun", step, why


def _cable(build):
    if build.screen is not None and not build.ideal:
        way = "straight back through the screen, along the axis of the antenna"
    elif build.polarization == "horizontal":
        way = "down from the middle, square to the element"
    else:
        way = "straight back from the middle, square to the element"
    why = "On the plane of symmetry the element drives no current onto the cable."
    return "cable", f"Lead the cable {way}.", why


_WEATHER = (
    (
        "weather",
        "Cover the terminals and the plug with a boot or self-sealing tape.",
        "Water in the cable raises its loss for good.",
    ),
    (
        "weather",
        "Leave a drip loop: the cable hangs lower than where it enters.",
        "Water drips off instead of running in.",
    ),
)

_MOUNT = (
    (
        "mount",
        "Clamp where the element's voltage is least: opposite the gap of a loop, beside the gap of "
        "a dipole on an insulator.",
        "Metal at the open ends detunes it.",
    ),
)


def _screen(build):
    if build.screen is None:
        return
    if build.ideal:
        yield "screen", "The infinite sheet cannot be built.", build.screen.note
        return
    step = (
        f"Hold the element {both_units(build.screen.behind_mm)} before the screen, on insulators."
    )
    yield "screen", step, (build.screen.note + " Distance is a size like the others.").strip()


def _check(build):
    closed = build.form in ("folded_dipole", "loop", "biquad", "two_loops", "yagi")
    shows = "under 1 ohm" if closed else "no connection"
    why = (
        "The wire is closed on itself: an open circuit is a broken joint."
        if closed
        else "The two sides must not touch: a short is a whisker of wire or solder."
    )
    yield (
        "check",
        f"Before the balun goes on, a multimeter across the terminals shows {shows}.",
        why,
    )
    yield "check", "Tug each joint and the cable once, and measure again.", "Joints fail by moving."


def _limits(build, figures):
    if figures and not build.ideal:
        worst = tolerance(build).sort_values("difference_db").iloc[0]
        step = f"Of a careful hand's errors, {worst.change} matters most."
        yield "limits", step, f"It changes the worst channel by {worst.difference_db:+.1f} dB."
        rows = by_channel(build)
        step = (
            f"Along the aim {rows.gain_dbd.min():.1f} to {rows.gain_dbd.max():.1f} dBd by channel."
        )
        yield (
            "limits",
            step,
            f"As drawn, give or take 1.5 dB; the worst of its band {worst_dbd(build):.1f}.",
        )
    step = f"It is meant for {build.band_mhz[0]:g} to {build.band_mhz[1]:g} MHz."
    yield (
        "limits",
        step,
        "Below its band the cable becomes the antenna: its figure there is a floor.",
    )
    for note in build.notes:
        yield "limits", note, ""
