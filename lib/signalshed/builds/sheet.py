"""The build sheet: what to do in which order, and why, as rows a page can print."""

import numpy as np
import pandas as pd

from .. import facts, wires
from .build import check_build
from .finer import tolerance, worst_dbd, wrong_balun
from .gain import by_channel, joint_cost
from .told import band_words, both_units


def build_sheet(build, figures=True):
    """Steps of a build in order: DataFrame of part, step, why.

    Parts: cut, bend, place, feed, join, balun, joint, cable, weather, screen, mount, check, limits.
    Cautions on ladders, masts and lightning stand elsewhere and belong beside it.
    Parameters: ``build``; ``figures`` False leaves out what the solver must compute.

    >>> from . import loop
    >>> build_sheet(loop(539), figures=False).part.unique().tolist()
    ['cut', 'feed', 'balun', 'cable', 'weather', 'mount', 'check', 'limits']
    """
    check_build(build)
    rows = [*_cut(build), *_bend(build), *_boom(build), *_joining(build)]
    rows += [] if build.form == "whip" else [_feed(build), _mount(build)]
    rows += [_balun(build, figures), *_joint(build, figures), _cable(build), *_screen(build)]
    rows += [*_check(build), *_limits(build, figures)]
    for what in (build.form, build.sizes.get("arrangement"), "every"):
        rows += workshop(what, build.sizes)
    order = {part: place for place, part in enumerate(PARTS)}
    return pd.DataFrame(
        sorted(rows, key=lambda row: order[row[0]]), columns=["part", "step", "why"]
    )


PARTS = (
    *("cut", "bend", "place", "feed", "join", "balun", "joint", "cable", "weather", "screen"),
    *("mount", "check", "limits"),
)
"""Parts of a build, in the order of the work."""


def workshop(what, sizes=None):
    """What practice says beside the sizes, rows of (part, step, why) of the facts table ``workshop``.

    Parameters: ``what`` a form, an arrangement, or another thing of the table; no rows for one it does
    not hold; ``sizes`` of a build in mm, for the words that name one.

    >>> len(workshop("reference_dipole")) > 4, workshop("loop")
    (True, [])
    """
    rows = facts.table("workshop")
    rows = rows[rows["what"] == what]
    words = {name: _in_both(size) for name, size in (sizes or {}).items()}
    return [(r.part, r.step.format(**words), r.why) for r in rows.itertuples()]


def _in_both(size):
    return both_units(size) if isinstance(size, float) else size


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


def _boom(build):
    """Where rods sit on a boom."""
    if _each(build) == "yagi":
        places = build.sizes["places_mm"]
        names = ["reflector", *(f"director {n}" for n in range(1, len(places)))]
        at = sorted([*zip(places, names, strict=True), (0.0, "driven rod")])
        marks = ", ".join(f"{name} {both_units(place - at[0][0])}" for place, name in at)
        step = f"Mark the boom from the first rod on: {marks}."
        yield "place", step, "Measured from one end, errors do not add up."


def _feed(build):
    along = "side to side" if build.polarization == "horizontal" else "up and down"
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
        return []
    sides = [_shield_side(line) for line in build.lines]
    same = len(set(sides)) == 1
    where = "the same side of every element" if same else "the " + ", then the ".join(sides)
    legs = {"count": len(sides), "kind": build.line_kind, "where": where}
    return workshop("joined", {**legs, "leg_mm": build.lines_mm[0]})


def _shield_side(line):
    return "right side, as seen from in front" if line.crossed else "left side"


def _joint(build, figures):
    """What leads between the terminals and the balun cost."""
    if not figures or build.ideal:
        return
    short, long = joint_cost(build).iloc[:, 1:].max().clip(0)
    where = "joint" if build.lines else "terminals"
    step = f"Keep the leads from the {where} to the balun below 20 mm."
    why = f"20 mm of lead cost up to {short:.1f} dB on a channel, 50 mm {long:.1f} dB."
    yield "joint", step, why


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


_BESIDE = "the element beside its gap, on an insulator"
_CLAMPED = {
    **dict.fromkeys(("half_wave_dipole", "reference_dipole", "bow_tie", "own"), _BESIDE),
    "yagi": "the boom, at its point of balance, or behind the reflector",
    "biquad": "the element at its topmost and lowest corner",
    "bays": "the line in its middle, on an insulator",
    "loop": "the loop opposite its gap",
    "two_loops": "each loop opposite its gap",
    "folded_dipole": "the unbroken side in its middle",
}
"""Where voltage is least, by form; a whip stands on its foot."""


def _mount(build):
    where = _CLAMPED[_each(build)]
    step = f"Clamp where the element's voltage is least: {where}."
    if build.screen is not None and not build.ideal:
        step = f"Clamp the screen to the mast from behind. Hold {where}."
    why = "Metal at the open ends or high corners detunes it; behind the screen is calm."
    return "mount", step, why


def _screen(build):
    if build.screen is None:
        return
    screen, sizes = build.screen, build.screen.sizes
    if build.ideal:
        yield "screen", "The infinite sheet cannot be built.", screen.note
        return
    if not screen.pieces:
        along, across = (both_units(sizes[k]) for k in ("width_mm", "height_mm"))
        ways = ["side to side", "up and down"][:: 1 if build.polarization == "horizontal" else -1]
        step, why = (
            f"Cut the screen: {along} {ways[0]}, {across} {ways[1]}.",
            "Fold sharp ends under.",
        )
    elif screen.kind == "rod_screen":
        apart = both_units(sizes["height_mm"] / (sizes["rods"] - 1))
        step, why = f"Fix its rods {apart} apart from middle to middle.", "Even steps."
    else:
        apart = both_units(sizes["side_mm"] / sizes["rods"])
        where = "along both sides, from the one in the corner"
        step, why = f"Fix its rods {apart} apart {where}.", "Even steps."
    yield "screen", step, why
    step = f"Hold the element {both_units(screen.behind_mm)} before the screen, on insulators."
    yield "screen", step, f"{screen.note} Distance is a size like the others.".strip()


def _closed(build):
    """Whether a wire leads from one terminal to the other, the gap itself left out."""
    from scipy import sparse  # only a sheet needs it

    pieces = wires.Structure(build.element, build.terminals_m[:1]).pieces
    ends = np.concatenate([pieces.start, pieces.end])
    nodes = np.unique(ends.round(6), axis=0, return_inverse=True)[1].reshape(2, -1)
    at_feed = np.linalg.norm(ends - build.terminals_m[0], axis=1).reshape(2, -1) < 1e-6
    gap = at_feed.any(axis=0)
    far = np.where(at_feed[0], nodes[1], nodes[0])[gap]
    shape = (nodes.max() + 1,) * 2
    wired = sparse.coo_array((np.ones(np.sum(~gap)), tuple(nodes[:, ~gap])), shape=shape)
    part = sparse.csgraph.connected_components(wired, directed=False)[1]
    return bool(np.any(part[far[1:]] == part[far[0]]))


def _check(build):
    return workshop("closed" if _closed(build) else "open") + workshop("joints")


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
    band = band_words(build)
    if figures and not build.ideal:
        yield "limits", *_errors(build)
        gain = by_channel(build)["gain_dbd"]
        step = f"Along the aim {gain.min():.1f} to {gain.max():.1f} dBd by channel."
        why = f"As drawn, give or take 1.5 dB; for {band} at worst {worst_dbd(build):.1f}."
        yield "limits", step, why
    why = "Below its band the cable becomes the antenna: its figure there is a floor."
    yield "limits", f"It is meant for {band}.", why
    yield from (("limits", note, "") for note in build.notes)
