"""Sizes improved by the solver, what a careful hand's errors change, and the wrong balun."""

import contextlib
from dataclasses import replace

import numpy as np
import pandas as pd

from .. import facts, wires
from ..units import number
from .build import channel_freq_mhz, check_build, few
from .forms import FORMS
from .gain import realised_gain_dbd, width_deg
from .joining import ways_mm

TRIALS = 45
"""How many drawings ``tune`` may try."""

YAGI_TRIALS = 200
"""The same where more than three things move at once."""

WITHIN = 0.4
"""How far from its start a size may move, as a share of it."""


def remade(build, **changes):
    """The same form with some sizes changed; ``behind_mm`` moves the screen, ``leg_mm`` cuts the legs.

    Parameters: ``build``; ``changes`` sizes by name, ``behind_mm`` and ``leg_mm`` among them.

    >>> from . import loop
    >>> remade(loop(539), circumference_mm=600).cut_list.length_mm.tolist()
    [586]
    """
    check_build(build)
    behind_mm = changes.pop("behind_mm", build.screen.behind_mm if build.screen else None)
    leg_mm = changes.pop("leg_mm", None)
    low, high = build.band_mhz
    sizes = {**build.sizes, **changes}
    made = FORMS[build.form](low if low == high else (low, high), **sizes).with_balun(build.balun)
    made = with_legs(_joined_again(made, build.lines), leg_mm)
    if build.screen is None:
        return made
    return replace(made.with_screen(build.screen, behind_mm), notes=build.notes)


def _joined_again(made, lines):
    """``made`` on these legs, longer where its elements have moved too far apart for them."""
    pairs = zip(lines, ways_mm(made) / 1000, strict=False)
    return made.joined_by(
        *(replace(leg, length_m=max(leg.length_m, float(way))) for leg, way in pairs)
    )


def with_legs(build, leg_mm):
    """The same build, every joining line cut to ``leg_mm``; None leaves them. ValueError without any.

    Parameters: ``build``; ``leg_mm``.

    >>> from . import two_loops
    >>> with_legs(two_loops(539), 240).lines_mm
    (240.0, 240.0)
    """
    check_build(build)
    if leg_mm is None:
        return build
    if not build.lines:
        raise ValueError(f"leg_mm is {leg_mm}, but a {build.name} has no joining lines to cut.")
    metres = number("leg_mm", leg_mm, above=0) / 1000
    return build.joined_by(*(replace(line, length_m=metres) for line in build.lines))


def sizes_to_tune(build):
    """Names of the sizes in mm that ``tune`` moves; legs and the distance to the screen last.

    Parameters: ``build``.

    >>> from . import loop, rod_screen
    >>> sizes_to_tune(loop(539, screen=rod_screen(600, 500, 9)))
    ['circumference_mm', 'behind_mm']
    """
    check_build(build)
    names = [name for name, value in build.sizes.items() if name.endswith("_mm") and value]
    names = [name for name in names if name not in ("places_mm", "lines_mm", "feed_mm")]
    names += ["leg_mm"] if build.lines else []
    return names + (["behind_mm"] if build.screen is not None else [])


def worst_dbd(build, freq_mhz=None):
    """Realised gain along the aim on the worst channel, dBd.

    Parameters: ``build``; ``freq_mhz`` (F,), None for up to seven across its band.

    >>> from . import half_wave_dipole
    >>> round(worst_dbd(half_wave_dipole(539)), 1)
    -0.3
    """
    check_build(build)
    freq = _across(build) if freq_mhz is None else np.atleast_1d(freq_mhz)
    return float(realised_gain_dbd(build, freq, [0.0]).min())


def _across(build, most=7):
    low, high = build.band_mhz
    if low == high:
        return np.array([low])
    return np.array(few(channel_freq_mhz(build), most))


def tune(build, names=None):
    """The same build with sizes that lift its worst channel along the aim, found by the solver.

    A downhill simplex of at most ``TRIALS`` drawings, ``YAGI_TRIALS`` for a Yagi, judged at four or five
    channels across the band, each size within ``WITHIN`` of where it began; the result is rounded to the
    millimetre and, judged at seven, never worse than what came in. On a Yagi it moves the reflector,
    all directors together, how much shorter each is than the one before, and how near the driven rod
    they crowd; the boom stays as long as it is. A few seconds for a Yagi or before a large screen.
    Parameters: ``build``; ``names`` of the sizes to move, None for ``sizes_to_tune`` and places.

    >>> from . import half_wave_dipole
    >>> tune(half_wave_dipole(539, 200)).sizes["length_mm"] > 230
    True
    """
    from scipy import optimize  # a quarter of a second to load, and opening a folder tunes nothing

    if names is None:
        names = sizes_to_tune(build) + [n for n in ("places_mm",) if n in build.sizes]
    if not names:
        raise ValueError(f"{build.name!r} was typed as points: change the points instead.")
    begin = _now(build, names)
    steps = np.concatenate([_first_steps(*size) for size in begin.items()])
    freq = _across(build, 4 if len(steps) < 4 else 5)

    def loss(shares):
        if np.any(np.abs(shares - 1) > WITHIN):
            return 100.0 + float(np.abs(shares - 1).max())
        try:
            return -worst_dbd(remade(build, **_scaled(begin, shares)), freq)
        except ValueError:  # a drawing whose wires touch is only a bad trial
            return 100.0

    found = optimize.minimize(
        loss, np.ones(len(steps)), method="Nelder-Mead", options=_simplex(steps)
    )
    better = remade(build, **_scaled(begin, found.x))
    return better if worst_dbd(better) >= worst_dbd(build) else build


def _simplex(steps):
    """Settings of the search from its first step along each share."""
    first = 1 + np.vstack([np.zeros(len(steps)), np.diag(steps)])
    many = len(steps) > 3
    trials = YAGI_TRIALS if many else TRIALS
    return dict(maxfev=trials, initial_simplex=first, xatol=2e-3, fatol=0.01, adaptive=many)


def _first_steps(name, value):
    """First steps of the shares that move one size: one share, three for a list, two for places."""
    if name == "places_mm":
        return [0.06, 0.2]
    return [0.06] if np.ndim(value) == 0 else [0.06] * min(3, len(value))


def _now(build, names):
    known = dict(build.sizes, behind_mm=build.screen.behind_mm if build.screen else None)
    known["leg_mm"] = build.lines_mm[0] if build.lines else None
    unknown = [name for name in names if known.get(name) is None]
    if unknown:
        raise ValueError(f"{build.name!r} has no size {unknown[0]!r}; it has {', '.join(known)}.")
    return {name: known[name] for name in names}


def _scaled(begin, shares):
    """Sizes by name, each moved by its shares and rounded to the millimetre."""
    scaled, rest = {}, list(shares)
    for name, value in begin.items():
        count = len(_first_steps(name, value))
        mine, rest = rest[:count], rest[count:]
        if np.ndim(value) == 0:
            scaled[name] = float(np.round(value * mine[0]))
        else:
            move = _crowded if name == "places_mm" else _tapered
            scaled[name] = tuple(np.round(move(np.asarray(value, float), mine)).tolist())
    return scaled


def _tapered(lengths, shares):
    """Lengths times shares: the first, the others, and a straight change from first to last of these."""
    others, change = (*shares[1:], 1.0, 1.0)[:2]
    count = len(lengths) - 1
    slope = np.linspace(0.5, -0.5, count) if count > 1 else np.zeros(count)
    return lengths * np.append(shares[0], others + (change - 1) * slope)


def _crowded(places, shares):
    """Places with the reflector's moved by its share and directors crowded toward the driven rod."""
    reflector, power = shares
    ahead = places[1:]
    return np.append(places[0] * reflector, ahead[-1:].sum() * (ahead / ahead[-1:].sum()) ** power)


def tolerance(build):
    """What a careful hand's errors change: DataFrame of change, worst_dbd, difference_db.

    Each size of ``sizes_to_tune`` longer and shorter, and the whole shape bent wider and lower or
    narrower and higher, by ``size_error_mm`` and ``bend_error_pct`` of facts table ``builds``.
    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> tolerance(half_wave_dipole(539)).change.tolist()[:2]
    ['length_mm + 3 mm', 'length_mm - 3 mm']
    """
    error, bend = (facts.value("builds", name) for name in ("size_error_mm", "bend_error_pct"))
    begin, trials = _now(build, sizes_to_tune(build)), {}
    for name, value in begin.items():
        for sign, word in ((1, "+"), (-1, "-")):
            new = np.asarray(value) + sign * error
            changed = tuple(new.tolist()) if new.ndim else float(new)
            with contextlib.suppress(ValueError):  # a leg that no longer reaches is no copy
                trials[f"{name} {word} {error:g} mm"] = remade(build, **{name: changed})
    for sign, word in ((1, "wider"), (-1, "narrower")):
        trials[f"bent {bend:g} % {word}"] = _skewed(build, 1 + sign * bend / 100)
    ours = worst_dbd(build)
    rows = [(change, worst_dbd(trial)) for change, trial in trials.items()]
    table = pd.DataFrame(rows, columns=["change", "worst_dbd"])
    return table.assign(difference_db=table["worst_dbd"] - ours)


def _skewed(build, share):
    """The element bent wider along y and as much lower along z, its wire no longer."""
    stretch = np.array([1, share, 1 / share])
    element = tuple(
        wires.Wire(w.points_m * stretch, w.radius_m, w.segments, w.metal) for w in build.element
    )
    bent = replace(build, element=element, terminals_m=build.terminals_m * stretch, lines=())
    return _joined_again(bent, build.lines)


def wrong_balun(build, freq_mhz=None):
    """Every balun of the facts table on this build: DataFrame of balun, worst_dbd, cost_db.

    ``cost_db`` against the build's own on the channel where that one is worst.
    Parameters: ``build``; ``freq_mhz`` (F,), None for up to seven across its band.

    >>> from . import folded_dipole
    >>> wrong_balun(folded_dipole(539)).cost_db.round(1).tolist()
    [1.9, 0.0]
    """
    check_build(build)
    freq = _across(build) if freq_mhz is None else freq_mhz
    table = facts.table("baluns")
    worst = [worst_dbd(build.with_balun(name), freq) for name in table["balun"]]
    ours = worst_dbd(build, freq)
    return pd.DataFrame(
        {"balun": table["balun"], "label": table["label"], "worst_dbd": worst}
    ).assign(cost_db=lambda t: ours - t["worst_dbd"])


def usable_arc_deg(build, freq_mhz, spare_db):
    """Degrees round the aim in which a station with ``spare_db`` to lose on the aim still has some.

    Parameters: ``build``; ``freq_mhz`` one frequency; ``spare_db`` 0 or more. 360 if the pattern never
    falls so far.

    >>> from . import half_wave_dipole
    >>> 75 < usable_arc_deg(half_wave_dipole(539), 539, 3) < 82
    True
    """
    azimuth = np.arange(-180.0, 180.0, 2.0)
    gain = realised_gain_dbd(build, [freq_mhz], azimuth)[0]
    return width_deg(azimuth, gain, number("spare_db", spare_db, low=0))
