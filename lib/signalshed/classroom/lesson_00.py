"""The panels of lesson 00: three places beside each other, and one roof pointed by hand."""

import numpy as np

from .. import simulate, survey
from ..plots import AimPicture, style
from ..plots.picture import ordered
from ..words import listed, short
from . import Choice, GuessChoice, Panel, Words, quiz
from .asking import held_back
from .roof import roof_controls, roof_words

START = {"antenna": "bow-tie with screen", "mount": "roof mast"}
"""Where the panels begin at the invented house."""
_EVERY_DEG = 10


# ---- place, aim, antenna -------------------------------------------------------------------------


def worst_and_best(site, antenna, mount):
    """Wanted stations on average at the worst heading and at the best: two numbers.

    Parameters: ``site`` a Site; ``antenna`` and ``mount`` names. Where nobody aims, both are one.

    >>> low, high = worst_and_best(simulate.demo_site(), "bow-tie with screen", "roof mast")
    >>> round(low, 1), round(high, 1)
    (5.8, 8.4)
    """
    setup = survey.aimed_at(site, antenna, mount, 0.0)
    headings = np.arange(0.0, 360.0, _EVERY_DEG)
    wanted = site.stations["wanted"].to_numpy(bool)
    sums = survey.grid(site, [setup], headings).chance[0][:, wanted].sum(axis=1)
    ends = (headings[int(np.argmin(sums))], survey.best_heading(site, setup).heading_deg)
    return tuple(_brought(site, survey.aimed_at(site, antenna, mount, float(at))) for at in ends)


def _brought(site, setup):
    table = survey.reception(site, setup).table
    return float(table["chance"][table["wanted"].astype(bool)].sum())


def places_panel(site=None):
    """One antenna at every place, from its worst heading to its best: a guess, then the picture.

    Parameters: ``site`` a Site, None for the invented house.

    >>> places_panel().verdict[-34:]
    'best: where do more stations come?'
    """
    site = simulate.demo_site() if site is None else site
    mounts = list(site.mounts)
    first, last = f"{mounts[0]}, aimed worst", f"{mounts[-1]}, aimed best"
    asks = GuessChoice(
        "place",
        "Your guess: more come at",
        (first, last, "as many at both"),
        question=f"One antenna, {mounts[0]} and aimed as badly as can be, or {mounts[-1]} and aimed "
        "best: where do more stations come?",
    )
    start = START["antenna"] if START["antenna"] in site.antennas else None
    controls = (Choice("antenna", "Antenna", tuple(site.antennas), start), asks)

    def draw(figure):
        picture = _Places(figure, mounts, int(site.stations["wanted"].sum()))

        def find(antenna):
            return {mount: worst_and_best(site, antenna, mount) for mount in mounts}

        def say(ends, antenna):
            answer = asks.more(ends[mounts[0]][0], ends[mounts[-1]][1])
            return Words(*_places_words(antenna, ends), answer)

        return picture.artists, held_back(asks, picture.update, find, say, _EMPTY)

    return Panel(f"Where, or how aimed: {site.name}", controls, draw, size_in=(8.8, 3.6))


_EMPTY = "A line for each place where the antenna may stand, still empty."


def _places_words(antenna, ends):
    (first, (worst, _)), *_, (last, (_, best)) = [*ends.items(), *ends.items()]
    finding = (
        f"{short(antenna, 24)}: {first} at its worst brings {worst:.1f} stations, {last} at its best "
        f"{best:.1f}."
    )
    each = [f"{mount} {low:.1f} to {high:.1f}" for mount, (low, high) in ends.items()]
    return (
        f"{finding} From the worst heading to the best: {listed(each)}.",
        f"Stations by place, from the worst heading to the best: {listed(each)}.",
    )


class _Places:
    """A line per place: a hollow mark at the worst heading, a full one at the best."""

    def __init__(self, figure, mounts, most):
        with style.house():
            ax = figure.add_subplot(xlim=(0, most), ylim=(len(mounts) - 0.4, -0.6))
            ax.set_yticks(range(len(mounts)), [short(m, 20) for m in mounts])
            ax.set_xlabel("wanted stations on average")
            colour = style.MEANING["forecast"]
            self.lines = ax.hlines(range(len(mounts)), 0, 0, color=colour, lw=4)
            (self.worst,) = ax.plot([], [], "o", color=colour, mfc="white", ms=11, mew=2)
            (self.best,) = ax.plot([], [], "o", color=colour, ms=11)
            self.names = [ax.text(0, 0, "", ha=side, va="bottom") for side in ("right", "left")]
        self.artists = ordered((self.lines, self.worst, self.best, *self.names))

    def update(self, ends, *_, **__):
        """Move to ``ends``, (worst, best) by place; None while it is asked."""
        ends = ends or {}
        rows = range(len(ends))
        low, high = ([e[k] for e in ends.values()] for k in (0, 1))
        self.lines.set_segments([[(a, y), (b, y)] for y, a, b in zip(rows, low, high, strict=True)])
        self.worst.set_data(low, rows)
        self.best.set_data(high, rows)
        said = zip(self.names, ("aimed worst", "aimed best"), (low, high), strict=True)
        for text, words, values in said:
            text.set_text(words if ends else "")
            text.set_position((values[0] if ends else 0, -0.17))


# ---- one roof ------------------------------------------------------------------------------------


def pointing_panel(site=None):
    """Heading, antenna and mount of a roof: how many stations come, the bearing strip, and the ropes.

    Parameters: ``site`` a Site, None for the invented house.

    >>> pointing_panel().words.finding
    '1 of 15 stations come (on 9 of 10 roofs like yours).'
    """
    site = simulate.demo_site() if site is None else site
    known = {"antenna": site.antennas, "mount": site.mounts}
    start = {what: name if name in known[what] else None for what, name in START.items()}
    return Panel(
        f"Point it yourself: {site.name}",
        roof_controls(site, **start),
        lambda figure: _draw_aim(figure, site),
        size_in=(8.8, 5.4),
    )


def _draw_aim(figure, site):
    picture = AimPicture(figure, site)

    def move(heading_deg, antenna, mount):
        setup = survey.aimed_at(site, antenna, mount, heading_deg)
        come = picture.update(setup)
        return Words(f"{come} Put up: {roof_words(site, setup)}", f"{come} {picture.alt}")

    return picture.artists, move


# ---- questions -----------------------------------------------------------------------------------


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("20 times")
    Right: 20 times.
    """
    return (
        quiz.number(
            "An antenna brings 13 dB more of a station. How many times the power is that?",
            *(20, "times", 0.5),
            hint="13 dB is 10 dB and 3 dB: what does each do to the power?",
        ),
    )
