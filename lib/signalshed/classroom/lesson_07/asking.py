"""The six who ask: what they wrote, the question card, and advice compared with the library's."""

import functools
import json
import os
from pathlib import Path

import numpy as np

from ... import advice, plots, simulate, survey
from ...markup import Number
from ...site import ALL_THAT_COUNTS, open_site
from ...tables import write_atomic
from ...words import aimed_words, setup_words
from .. import Choice, Panel, Slider, Words
from ..canvas import Moving, seen
from ..cards import table_card

ASKERS = simulate.DEMO_SITES[1:]
"""Balcony, attic, suburb, far_rural, camper, boat: the folders of those who ask."""

QUESTION_CARD = """\
So that I can answer for your roof and not for mine:
1. Where is it? A crossroads or a village will do: 0.01 degree of latitude and longitude, no coarser.
2. Where could an antenna go: mast, roof, attic, window, room, balcony, vehicle, boat? How high above
   the ground? Which side does it see, and what is in the way (hill, house, trees, metal, foil)?
3. May it be seen? May it be screwed to something? Who decides?
4. Can somebody aim it once? Can it be turned, or does the place itself move?
5. What TV is it, and which system does it receive? How many TVs are on the cable?
6. How long is the cable from there to the TV, and is there power for an amplifier?
7. Which stations do you want, and which do you get now? With what antenna, pointing where?
8. If your TV shows a percentage: what does it say, and what with a 10 dB pad in the cable?
"""
"""What to send to whoever asks."""


def _asker(name, folder):
    """The site of an asker, opened anew when a file was changed, its town's or land's too."""
    if folder is None:
        return simulate.demo_site(name)
    files = sorted(path for path in Path(folder).rglob("*") if path.is_file())
    stamps = ((path, path.stat()) for path in files)
    marks = tuple((path, s.st_mtime_ns, s.st_size) for path, s in stamps)
    return _opened(Path(folder) / name, marks)


@functools.lru_cache(maxsize=16)
def _opened(folder, stamp):
    return open_site(folder)


def _ranking(site):
    parts = (*ALL_THAT_COUNTS, "mounts", "feeds")
    return site.remembered(("ranking",), lambda: advice.rank(site), parts)


def _asked(site):
    """What the asker wrote: the remark at the top of site.toml."""
    lines = (site.folder / "site.toml").read_text(encoding="utf-8").splitlines()
    return lines[0].lstrip("# ").strip() if lines and lines[0].startswith("#") else ""


def questions(folder=None):
    """Who asks what, with the antennas and places each of them has: a Card.

    Parameters: ``folder`` that holds the six site folders, None for those inside the library.

    >>> questions().text.splitlines()[0]
    'who | asks | could be put up | where'
    """
    rows = []
    for name in ASKERS:
        site = _asker(name, folder)
        rows.append((name, _asked(site), ", ".join(site.antennas), ", ".join(site.mounts)))
    return table_card(["who", "asks", "could be put up", "where"], [("", rows)])


def compare(yours, folder=None):
    """Your advice beside the library's, asker by asker, both on the same imagined roofs: a Card.

    Parameters: ``yours`` a dict from asker to (antenna, mount), as many askers as you like; ``folder``
    as in ``questions``. A name that an asker does not have is answered in its row.

    >>> print(compare({"boat": ("dish", "masthead")}).text.splitlines()[1][:21])
    boat | dish, masthead
    """
    strangers = [name for name in yours if name not in ASKERS]
    if strangers:
        raise ValueError(f"Nobody called {strangers[0]!r} asks; there are {', '.join(ASKERS)}.")
    if not yours:
        return table_card(["your advice"], [("", [("None yet: all six wait for it.",)])])
    rows = [_compared(_asker(name, folder), name, *yours[name]) for name in yours]
    stations, of = map(Number, ("stations", "of"))
    headers = ["who", "your advice", stations, "the library's", stations, of, "yours is"]
    return table_card(headers, [("", rows)])


def _compared(site, name, antenna, mount):
    best = _ranking(site).iloc[0]
    words = setup_words(best)
    theirs = words, f"{best['expected']:.1f}", int(site.stations["wanted"].sum())
    try:
        setup, _ = survey.aimed(site, survey.Setup(antenna, mount))
        kinds = site.antenna(antenna).lives, site.mount(mount).kind
    except ValueError as refused:
        return (name, f"{antenna}, {mount}", "", *theirs, str(refused))
    draws = advice.imagine(site, [best["setup"], setup])
    aim = "" if setup.heading_deg is None else f", aimed at {setup.heading_deg:.0f}°"
    said = advice.compare_words(*draws.locked[::-1]).replace("roofs like yours", "such roofs")
    if kinds[1] not in kinds[0]:
        said = f"the list of antennas does not let it live there; {said}"
    if (best["antenna"], best["mount"]) == (antenna, mount):
        said = "the same advice"
    return (name, f"{antenna}, {mount}{aim}", f"{draws.expected[1]:.1f}", *theirs, said)


# ---- panel ---------------------------------------------------------------------------------------


def askers_panel(folder=None):
    """Who asks, and a place in that roof's ranking: its bearing strip, why, and what would help.

    Parameters: ``folder`` as in ``questions``.

    >>> "balcony" in askers_panel().verdict
    True
    """
    controls = (
        Choice("asker", "Who asks", ASKERS),
        Slider("place", "Place in the ranking", 1, 5, 5),  # the best is found by sliding
    )
    return Panel("Six who ask", controls, _Strips.of(folder), (8.8, 5.4))


class _Strips(Moving):
    """One strip per asker on one figure; only one of them is seen at a time."""

    def draw(self, figure, folder):
        figure.set_layout_engine("none")
        self.sites, self.strips = {name: _asker(name, folder) for name in ASKERS}, {}
        for name, site in self.sites.items():
            already = list(figure.axes)
            strip = plots.BearingStrip(figure.add_subplot(label=name), site)
            self.strips[name] = strip, [ax for ax in figure.axes if ax not in already]
            self.moving += strip.artists

    def move(self, asker, place):
        for name, (strip, axes) in self.strips.items():
            seen((*axes, *strip.artists), name == asker)
        site = self.sites[asker]
        ranking = _ranking(site)
        row = ranking.iloc[min(int(place), len(ranking)) - 1]
        alt = self.strips[asker][0].update(row["setup"])
        return Words(_said(asker, site, row, len(ranking), int(place)), alt)


def _said(asker, site, row, of, place):
    setup = row["setup"]
    aim = aimed_words(survey.reception(site, setup).aim, setup.heading_deg)
    wanted = int(site.stations["wanted"].sum())
    beside = (
        "" if row["against_best"] == "the best" else f" Beside the best: {row['against_best']}."
    )
    return (
        f"{asker}, place {min(place, of)} of {of}: {setup.label}: {row['expected']:.1f} of {wanted} "
        f"stations. Asked: {_asked(site)} {aim[0].upper()}{aim[1:]}; {row['low']:.0f} to "
        f"{row['high']:.0f} on 9 of 10 roofs; {row['why']}.{beside}{_would_help(site, setup)}"
    )


def _would_help(site, setup):
    key = ("changes", *survey.parts_of(site, setup), setup.heading_deg)
    table = site.remembered(key, lambda: advice.changes(site, setup))
    if table.empty or table["more"].iloc[0] < 0.1:
        return " No single change brings more than a tenth of a station."
    first = table.iloc[0]
    return f" Most would bring: {first['change']} ({first['more']:+.1f} stations)."


# ---- strangers in one call -----------------------------------------------------------------------

STRANGERS = {
    "from the street": {"wants": ["5.1", "9.1", "19.1"]},
    "the same window": {
        "wants": ["5.1", "9.1", "19.1"],
        "gets": ["5.1"],
        "gets_not": ["9.1", "3.1"],
    },
    "on the farm": {"latitude": 30.31, "kind": "roof", "wants": ["5.1", "27.1", "12.1"]},
}
"""What three who ask told beyond latitude, longitude and town."""


def strangers(folder, town="../demo_data/town"):
    """Three folders of strangers, each with an asker.toml of a few lines: a list of Paths.

    Parameters: ``folder`` they are made in, which is made if it is not there; ``town`` the folder of
    their stations. Files of this name that are there are written anew.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as room:
    ...     [path.name for path in strangers(room)]
    ['from the street', 'the same window', 'on the farm']
    """
    return [write_asker(folder, who, told, town) for who, told in STRANGERS.items()]


def write_asker(folder, who, told, town):
    """Write the folder of one who asks, with the few lines of an asker.toml: its Path.

    Parameters: ``folder`` it is made in; ``who`` its name; ``told`` the keys of the file beyond
    latitude, longitude and town, or in their place; ``town`` the folder of the stations.
    """
    path = Path(folder) / who
    path.mkdir(parents=True, exist_ok=True)
    beside = Path(os.path.relpath(town, path)).as_posix()
    where = {"latitude": 30.45, "longitude": -40.72, "town": beside}
    lines = [f"{key} = {json.dumps(value)}" for key, value in {**where, **told}.items()]
    write_atomic(path / advice.ASKER_FILE, "\n".join(lines))
    return path


def roofs_card(roofs):
    """What ``advice.many_roofs`` found as a Card: who, best, stations, what they named, what to ask.

    Parameters: ``roofs`` its DataFrame.

    >>> roofs_card(advice.many_roofs(["no such folder"])).text.splitlines()[1][:14]
    'no such folder'
    """
    rows = []
    for row in roofs.to_dict("records"):
        if row["wrong"]:
            rows.append((row["who"], row["wrong"], "", "", "", ""))
            continue
        aim = "" if np.isnan(row["heading_deg"]) else f", aimed at {row['heading_deg']:.0f}°"
        mine = "" if np.isnan(row["with_mine"]) else f"{row['with_mine']:.1f}"
        counts = f"{row['expected']:.1f} of {row['wanted']}", mine
        rows.append((row["who"], f"{row['best']}{aim}", *counts, row["named"], row["ask"]))
    headers = ["who", "best", Number("stations"), Number("with theirs"), "they named", "ask back"]
    return table_card(headers, [("", rows)])
