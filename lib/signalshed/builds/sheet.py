"""The build sheet: what to do in which order, and why, as rows a page can print."""

import numpy as np
import pandas as pd

from .. import facts, wires
from ..units import KM_PER_MILE, inches_text
from .finer import tolerance, worst_dbd, wrong_balun
from .gain import by_channel, joint_cost


def build_sheet(build, figures=True):
    """Steps of a build in order: DataFrame of part, step, why.

    Parts: cut, bend, place, feed, join, balun, joint, cable, weather, screen, mount, check, limits.
    Cautions on ladders, masts and lightning stand elsewhere and belong beside it.
    Parameters: ``build``; ``figures`` False leaves out what the solver must compute.

    >>> from . import loop
    >>> build_sheet(loop(539), figures=False).part.unique().tolist()
    ['cut', 'feed', 'balun', 'cable', 'weather', 'mount', 'check', 'limits']
    """
    rows = [
        *_cut(build),
        *_bend(build),
        *_place(build),
        _feed(build),
        *_joining(build),
        _balun(build, figures),
        *_joint(build, figures),
        _cable(build),
        *_WEATHER,
    ]
    rows += [*_screen(build), _mount(build), *_check(build), *_limits(build, figures)]
    rows += workshop(build.form)
    order = {part: place for place, part in enumerate(PARTS)}
    return pd.DataFrame(
        sorted(rows, key=lambda row: order[row[0]]), columns=["part", "step", "why"]
    )


PARTS = (
    *("cut", "bend", "place", "feed", "join", "balun", "joint", "cable", "weather", "screen"),
    *("mount", "check", "limits"),
)
"""Parts of a build, in the order of the work."""


def workshop(what):
    """What practice says beside the sizes, rows of (part, step, why) of the facts table ``workshop``.

    Parameters: ``what`` a form, or another thing of the table; no rows for one it does not hold.

    >>> len(workshop("reference_dipole")) > 4, workshop("loop")
    (True, [])
    """
    rows = facts.table("workshop")
    rows = rows[rows["what"] == what]
    return list(rows[["part", "step", "why"]].itertuples(index=False, name=None))


def facts_words(build):
    """Band, wire, weight, wind, polarization and balun of a build, in a few sentences.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> facts_words(half_wave_dipole(539))[:41]
    'For 539 MHz. 0.25 m of wire and rod, abou'
    """
    return (
        f"For {_band_words(build)}. {build.wire_m:.2f} m of wire and rod, about "
        f"{build.weight_kg:.2f} kg of metal without frame and clamps. {_wind_words(build)} "
        f"Polarization as fed: {build.polarization}. Balun: {build.balun}."
    )


def _band_words(build):
    low, high = build.band_mhz
    return f"{low:.0f} MHz" if low == high else f"{low:.0f} to {high:.0f} MHz"


def _wind_words(build):
    """The push of a storm, and how much of it the screen takes."""
    speed, (element, screen) = facts.value("builds", "wind_speed_m_s"), build.wind_parts_n()
    mph = 10 * round(speed * 0.36 / KM_PER_MILE)
    storm = f"A storm of {speed:.0f} m/s (about {mph} mph) pushes it with about"
    if not screen:
        return f"{storm} {element:.0f} N."
    return f"{storm} {element + screen:.0f} N, {screen:.0f} N of that on the screen; ice adds."


def screen_words(build):
    """What the screen is cut to and how far off it stands, as a tuple of one sentence or none.

    Parameters: ``build``.

    >>> from . import loop, mesh_screen
    >>> screen_words(loop(539, screen=mesh_screen(400, 300, behind_mm=80)))[0][:46]
    'Screen: mesh screen, width 400 mm (15 3/4 in),'
    """
    if build.screen is None or build.ideal:
        return ()
    sizes = [
        f"{key.removesuffix('_mm').replace('_', ' ')} {_size(key, value)}"
        for key, value in build.screen.sizes.items()
        if key.endswith("_mm")
    ]
    kind, behind = build.screen.kind.replace("_", " "), both_units(build.screen.behind_mm)
    return (f"Screen: {kind}, {', '.join(sizes)}; {behind} from the element.",)


def _size(key, value):
    """A size of a screen; openings and wires of a mesh are named by their millimetres alone."""
    return (
        f"{value:g} mm" if key in ("opening_mm", "wire_mm", "thickness_mm") else both_units(value)
    )


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
    if any("AWG" in piece.stock.text for piece in build.pieces):
        low, high = (facts.value("builds", f"insulated_{end}_pct") for end in ("low", "high"))
        why = f"Insulated it acts {low:.0f} to {high:.0f} % longer: cut it shorter and test one."
        yield "cut", "Strip the wire: these lengths are for bare metal.", why


def _bend(build):
    for piece in build.all_pieces:
        if piece.bends_mm:
            marks = ", ".join(both_units(mark) for mark in piece.bends_mm)
            step = f"Mark the {piece.label} at {marks} from one end and bend there."
            yield "bend", step, "Marked before the first bend, errors do not add up."


def _each(build):
    """The form of one antenna of a stack, else a build's own."""
    return build.sizes.get("of", build.form)


def _place(build):
    """Where things sit that are not bent from one piece: rods on a boom, loops, bays, bent sides."""
    sizes = build.sizes
    if _each(build) == "yagi":
        names = ["reflector", *(f"director {n}" for n in range(1, len(sizes["places_mm"])))]
        at = sorted([*zip(sizes["places_mm"], names, strict=True), (0.0, "driven rod")])
        marks = ", ".join(f"{name} {both_units(place - at[0][0])}" for place, name in at)
        yield (
            "place",
            f"Mark the boom from the first rod on: {marks}.",
            "Measured from one end, errors do not add up.",
        )
    if build.form in ("two_loops", "stack"):
        way = "above" if sizes["arrangement"] == "stacked" else "beside"
        apart = both_units(sizes["spacing_mm"])
        step = f"Hold each {way} the one before, {apart} from centre to centre."
        yield "place", step, "Nearer, each spoils the other; farther, side lobes grow."
    elif build.form == "whip":
        step = "Stand the rod in the middle of bare metal, insulated from it at its foot."
        yield (
            "place",
            step,
            "The sheet is the other half: at its edge the beam tilts and gain falls.",
        )
    elif build.form == "bays":
        step = f"Fix the bays {both_units(sizes['spacing_mm'])} apart along the line."
        yield "place", step, "The line feeds them in phase at this distance only."
    elif build.form == "bow_tie":
        step = f"Bend each side until its tips are {both_units(sizes['spread_mm'])} apart."
        yield (
            "place",
            step,
            "The wider, the more channels; the start of both arms stays at the gap.",
        )


def _feed(build):
    along = "side to side" if build.polarization == "horizontal" else "up and down"
    if build.form == "whip":
        step = "Join the centre of the cable to the rod's foot and its shield to the sheet, both short."
        return "feed", step, f"This makes it {build.polarization}, alike all round."
    runs = "" if build.form == "own" else f", so that the current there runs {along}"
    step = f"Leave {both_units(build.gap_mm)} between the two terminals, on an insulator{runs}."
    why = f"This makes it {build.polarization}: the gap, not the look of the thing, decides."
    if build.form == "own":
        why = f"The field ahead is {build.polarization}, by the currents in its wires."
    if _each(build) == "loop":
        why += " A loop fed at its side is vertical, fed at its bottom or top horizontal."
    return "feed", step, why


def _joining(build):
    """Which cable from which terminal, how long, and where its shield goes."""
    if not build.lines:
        return
    length, count = both_units(build.lines_mm[0]), len(build.lines)
    step = f"Cut {count} legs of {build.line_kind}: {length} each, shield to shield."
    yield "join", step, "Legs of unequal length feed the elements out of step: keep to 2 mm."
    sides = [_shield_side(line) for line in build.lines]
    same = len(set(sides)) == 1
    where = "the same side of every element" if same else "the " + ", then the ".join(sides)
    step = f"Solder each shield to {where}, a ferrite choke on each leg there."
    yield "join", step, "A leg turned round feeds its element backward: the two cancel ahead."
    step = "At the joint all centres together and all shields together."
    yield "join", step, "The figures count on legs side by side on one line."


def _shield_side(line):
    return "right side, as seen from in front" if line.crossed else "left side"


def _joint(build, figures):
    """What leads between the terminals and the balun cost."""
    if not figures or build.ideal:
        return
    short, long = joint_cost(build).iloc[:, 1:].max()
    yield (
        "joint",
        f"Keep the leads from the {'joint' if build.lines else 'terminals'} to the balun below 20 mm.",
        f"20 mm of lead cost up to {max(short, 0):.1f} dB on a channel, 50 mm {max(long, 0):.1f} dB.",
    )


def _balun(build, figures):
    where = "joint" if build.lines else "terminals"
    step = f"Join {_WAYS[build.balun]} right at the {where}."
    why = "Without it the outside of the cable becomes part of the antenna."
    if figures and not build.ideal:
        table = wrong_balun(build)
        for row in table[table["balun"] != build.balun].itertuples():
            if row.cost_db > -_ALIKE_DB:
                why += (
                    f" The {row.balun} one costs {max(row.cost_db, 0):.1f} dB on the worst channel."
                )
            else:
                step = f"Not yet: tune these sizes for the {build.balun} balun, or take the {row.balun}."
                why += (
                    f" As cut, {_WAYS[row.balun]} brings {-row.cost_db:.1f} dB more on the worst "
                    f"channel than {_WAYS[build.balun]}, which this sheet counts on."
                )
    return "balun", step, why


_WAYS = {"1:1": "a 1:1 choke balun for 75 ohm", "4:1": "a 4:1 transformer from 300 to 75 ohm"}
_ALIKE_DB = 0.1
"""Baluns nearer than this on the worst channel are the same choice."""


def _cable(build):
    if build.screen is not None and not build.ideal:
        way = "straight back through the screen, along the axis of the antenna"
    elif build.form == "whip":
        way = "away under the sheet"
    elif build.polarization == "horizontal" and _each(build) not in ("biquad", "bays", "own"):
        way = "down from the terminals, square to the element"
    else:
        way = "straight back from the terminals, square to the element"
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

_CLAMPED = {
    "yagi": "the boom, at its point of balance, or behind the reflector",
    "biquad": "the element at its topmost and lowest corner",
    "bays": "the line in its middle, on an insulator",
    "loop": "the loop opposite its gap",
    "two_loops": "each loop opposite its gap",
    "folded_dipole": "the unbroken side in its middle",
}
"""Where voltage is least, by form: the others beside the gap."""


_LIVE = "Voltage is highest at the tip: metal near it detunes the rod."


def _mount(build):
    if build.form == "whip":
        return "mount", "Hold the foot on the sheet; nothing touches the rod above it.", _LIVE
    where = _CLAMPED.get(_each(build), "the element beside its gap, on an insulator")
    step = f"Clamp where the element's voltage is least: {where}."
    if build.screen is not None and not build.ideal:
        step = f"Clamp the screen to the mast from behind. Hold {where}."
    return (
        "mount",
        step,
        "Metal at the open ends or high corners detunes it; behind the screen is calm.",
    )


def _screen(build):
    if build.screen is None:
        return
    if build.ideal:
        yield "screen", "The infinite sheet cannot be built.", build.screen.note
        return
    if not build.screen.pieces:
        along, across = (both_units(build.screen.sizes[k]) for k in ("width_mm", "height_mm"))
        flat = build.polarization == "horizontal"
        ways = ("side to side", "up and down") if flat else ("up and down", "side to side")
        step = f"Cut the screen: {along} {ways[0]}, {across} {ways[1]}."
        yield "screen", step, "Fold sharp ends under."
    elif build.screen.kind == "rod_screen":
        apart = both_units(build.screen.sizes["height_mm"] / (build.screen.sizes["rods"] - 1))
        yield "screen", f"Fix its rods {apart} apart from middle to middle.", "Even steps."
    else:
        apart = both_units(build.screen.sizes["side_mm"] / build.screen.sizes["rods"])
        yield (
            "screen",
            f"Fix its rods {apart} apart along both sides, from the one in the corner.",
            "Even steps.",
        )
    step = (
        f"Hold the element {both_units(build.screen.behind_mm)} before the screen, on insulators."
    )
    yield "screen", step, (build.screen.note + " Distance is a size like the others.").strip()


def _closed(build):
    """Whether a wire leads from one terminal to the other, the gap itself left out."""
    pieces = wires.Structure(build.element, build.feed[:1]).pieces
    ends = np.concatenate([pieces.start, pieces.end])
    nodes = np.unique(ends.round(6), axis=0, return_inverse=True)[1].reshape(2, -1)
    at_feed = np.linalg.norm(ends - build.feed[0], axis=1).reshape(2, -1) < 1e-6
    gap = at_feed.any(axis=0)
    far = np.where(at_feed[0], nodes[1], nodes[0])[gap]
    reached = {int(far[0])}
    for _ in range(pieces.start.shape[0]):
        reached |= {
            int(b) for pair in nodes[:, ~gap].T for a, b in (pair, pair[::-1]) if a in reached
        }
    return bool(set(far[1:].tolist()) & reached)


def _check(build):
    closed = _closed(build)
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


def _errors(build):
    """Which error of a careful hand matters most, and by how much; a bent shape beside it."""
    table = tolerance(build).sort_values("difference_db").set_index("change")["difference_db"]
    most, bent = table.index[0], next(c for c in table.index if c.startswith("bent"))
    bends = any(piece.bends_mm for piece in build.pieces) or build.form in ("loop", "two_loops")
    why = f"It changes the worst channel by {table[most]:+.1f} dB"
    if bent != most:
        why += f", {_in_words(bent, bends)} by {table[bent]:+.1f} dB"
    return f"Of a careful hand's errors, {_in_words(most, bends)} matters most.", f"{why}."


_CALLED = {"leg_mm": "legs", "behind_mm": "distance to the screen", "driven_mm": "driven rod"}


_ENDS = {"wider": "wide", "narrower": "narrow"}


def _in_words(change, bent=True):
    """A change of shed.builds.tolerance as one says it; straight rods are cut, not ``bent``."""
    name, sign, by = change.split(" ", 2)
    if name == "bent":
        return f"the whole {change}" if bent else f"everything {sign} % too {_ENDS[by[2:]]}"
    called = _CALLED.get(name, name.removesuffix("_mm").replace("_", " "))
    return f"the {called} {by} too {'large' if sign == '+' else 'small'}"


def _limits(build, figures):
    if figures and not build.ideal:
        yield "limits", *_errors(build)
        rows = by_channel(build)
        step = (
            f"Along the aim {rows.gain_dbd.min():.1f} to {rows.gain_dbd.max():.1f} dBd by channel."
        )
        yield (
            "limits",
            step,
            f"As drawn, give or take 1.5 dB; for {_band_words(build)} at worst {worst_dbd(build):.1f}.",
        )
    step = f"It is meant for {_band_words(build)}."
    yield (
        "limits",
        step,
        "Below its band the cable becomes the antenna: its figure there is a floor.",
    )
    for note in build.notes:
        yield "limits", note, ""
