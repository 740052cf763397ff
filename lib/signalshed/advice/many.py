"""Many roofs in one call: who asks, the best for each, with what they have, and what to ask back."""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import pandas as pd

from .. import facts, survey
from ..site import Site, check_site, open_site
from ..tables import READINGS, BadTable, Problems, check_frame, read_toml
from ..tables.tomled import toml_text
from ..units import check_type
from ..words import roofs_words
from .ranking import rank

ASKER_FILE = "asker.toml"
MUST = ("latitude", "longitude", "town")
MAY = ("who", "region", "kind", "height_m", "has", "wants", "gets", "gets_not")
"""What an asker's file must say, and what it may."""
FLAT, LINE_M, MOST_NAMED = "flat antenna", 10.0, 3
"""What is taken for what they have and for their cable, and how many stations they may name."""
QUESTIONS = {
    "kind": "Where could an antenna go: mast, roof, attic, window, room, balcony?",
    "height_m": "How high above the ground is that?",
    "has": "With what antenna do you watch now?",
    "wants": "Which three stations do you want most, by the numbers on the screen?",
}
"""What to ask back, by the key that is not there."""


def many_roofs(folders: Sequence[str | Path], map: Callable = map) -> pd.DataFrame:
    """One row per roof: who asks, what is best there, and the stations they named.

    A folder is a site folder, or one with ``asker.toml`` alone: latitude, longitude, town (another
    folder, whose stations and land hold for all), and what else they told: who; region; kind of place
    and height_m (a window on the first floor is taken); has, which of the antennas compared ("flat
    antenna" is taken); wants, gets and gets_not, stations as the screen numbers them.
    What they get and do not get with what they have counts as readings by the lock alone.

    Parameters
    ----------
    folders
    map
        Any function like map, such as an executor's.

    Returns
    -------
    DataFrame
        who, best, heading_deg, expected, wanted, with_mine (stations expected through what they have,
        aimed as well as can be there; NaN for a site folder), named (the three they named, by number,
        with roofs of ten through the best), chances (a tuple of them, NaN where no station has that
        number), ask (what to ask them back), wrong (why there is no answer, else "").

    Examples
    --------
    >>> many_roofs(["no such folder"])["wrong"].str.contains("there is none").tolist()
    [True]
    """
    check_type("folders", folders, (list, tuple), "a list of folders, as ['asker_1', 'asker_2']")
    return pd.DataFrame(list(map(one_roof, [str(folder) for folder in folders])))


def one_roof(folder):
    """The row of ``many_roofs`` for one ``folder``, a dict; what is wrong with it is in the row."""
    empty = {"who": Path(folder).name, "best": "", "heading_deg": np.nan, "expected": np.nan}
    empty |= {"wanted": 0, "with_mine": np.nan, "named": "", "chances": (), "ask": "", "wrong": ""}
    try:
        site, told = asked(folder)
        return empty | _answered(site, told)
    except (BadTable, ValueError, OSError) as broken:
        return empty | {"wrong": str(broken)}


def asked(folder):
    """The Site of an asker, wiser by what they get and do not get, and what the file told: (Site, dict).

    Parameters: ``folder`` of a site, or with ``asker.toml`` alone. Raises BadTable or ValueError for
    what cannot be understood.
    """
    path = Path(folder) / ASKER_FILE
    if not path.exists():
        site = open_site(folder)
        return (survey.inform(site) if len(site.readings) else site), {"who": site.name}
    problems = Problems()
    told = read_toml(path, problems)
    problems.stop()
    _known(told, path)
    site = _site_of(Path(folder), told)
    said = told.get("gets", ()), told.get("gets_not", ())
    readings = lock_readings(site, *said, told.get("has", FLAT))
    return (survey.inform(site, readings) if len(readings) else site), told


def _known(told, path):
    strange = [key for key in told if key not in (*MUST, *MAY)]
    missing = [key for key in MUST if key not in told]
    if strange:
        there = ", ".join((*MUST, *MAY))
        raise ValueError(f"{path}: {strange[0]!r} is no key of it; there are {there}.")
    if missing:
        raise ValueError(f"{path}: {missing[0]} is missing; it needs {', '.join(MUST)}.")


def _site_of(folder, told):
    """The Site of an asker's file: its town, one place for an antenna, the antennas compared."""
    kind, high = told.get("kind", "window"), facts.value("judgement", "asker_height_m")
    mount = {"name": kind, "kind": kind, "height_agl_m": told.get("height_m", high)}
    top = {
        "name": str(told.get("who", folder.name)),
        "latitude": told["latitude"],
        "longitude": told["longitude"],
        "town": str((folder / str(told["town"])).resolve()),
        "region": told.get("region", "us"),
        "tuner": {"standards": list(dict.fromkeys(facts.table("standards")["family"]))},
        "mounts": [mount],
        "feeds": [{"name": "line", "parts": [{"coax": "series6", "length_m": LINE_M}]}],
    }
    compared = (resources.files(__package__) / "asker_antennas.toml").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as room:
        (Path(room) / "site.toml").write_text(toml_text(top), encoding="utf-8")
        (Path(room) / "antennas.toml").write_text(compared, encoding="utf-8")
        site = open_site(room)
    site = replace(site, folder=folder)
    site.antenna(told.get("has", FLAT))
    return site


def on_screen(site: Site, number: str) -> np.ndarray:
    """Rows of the stations of a site that show a number on the screen.

    Parameters
    ----------
    site
    number
        As "5.1".

    Returns
    -------
    ndarray
        Row numbers, (n,).

    Examples
    --------
    >>> from signalshed import simulate
    >>> on_screen(simulate.demo_site(), "5.1").tolist()
    [0]
    """
    check_site(site)
    shown = site.stations["shown_channels"].astype(str).str.split()
    return np.flatnonzero([str(number) in numbers for numbers in shown])


def lock_readings(
    site: Site, gets: Sequence[str], gets_not: Sequence[str], antenna: str = FLAT
) -> pd.DataFrame:
    """What somebody gets and does not get as readings by the lock alone.

    As if the antenna had been turned toward each: what is not got so is not got at all.

    Parameters
    ----------
    site
        Of which the first mount is read.
    gets, gets_not
        Numbers on the screen.
    antenna
        Its name.

    Returns
    -------
    DataFrame
        In the columns of readings.csv.

    Raises
    ------
    ValueError
        For a number that no station of the list shows.

    Examples
    --------
    >>> from signalshed import simulate
    >>> lock_readings(simulate.demo_site(), ["5.1"], ["3.1"], "wire loop")["rf_channel"].tolist()
    ['24', '21']
    """
    for name, numbers in (("gets", gets), ("gets_not", gets_not)):
        check_type(
            name, numbers, (list, tuple), "a list of channel numbers as the screen shows them"
        )
    rows = []
    for number, locked in [*((n, "yes") for n in gets), *((n, "no") for n in gets_not)]:
        found = on_screen(site, number)
        if not found.size:
            raise ValueError(f"No station of the list shows {number!r}; look at shown_channels.")
        station = site.stations.iloc[found[site.stations["distance_km"].iloc[found].argmin()]]
        rows.append(
            {
                "time": pd.Timestamp.now(tz="UTC").isoformat(),
                "mount": next(iter(site.mounts)),
                "antenna": antenna,
                "meter": "screen",
                "scale": "quality",
                "rf_channel": station["rf_channel"],
                "heading_deg": round(float(station["bearing_deg"]) % 360),
                "locked": locked,
            }
        )
    return check_frame(pd.DataFrame(rows, columns=READINGS.header()), READINGS, Problems()).frame


def _answered(site, told):
    """The part of a row that is known once a site is."""
    ranking = rank(site)
    best = ranking.iloc[0]
    received = survey.reception(site, best["setup"])
    named = [str(n) for n in told.get("wants", ())][:MOST_NAMED]
    chances = tuple(_chance(site, received, number) for number in named)
    words = ", ".join(
        f"{n}: {'not in the list' if np.isnan(c) else roofs_words(c)}"
        for n, c in zip(named, chances, strict=True)
    )
    mine = rank(site, [_mine(site, told)]) if told.get("latitude") is not None else None
    return {
        "who": site.name,
        "best": best["setup"].label,
        "heading_deg": best["heading_deg"],
        "expected": best["expected"],
        "wanted": int(site.stations["wanted"].sum()),
        "with_mine": np.nan if mine is None else mine["expected"].iloc[0],
        "named": words,
        "chances": chances,
        "ask": _ask_back(site, told),
    }


def _mine(site, told):
    return survey.Setup(told.get("has", FLAT), next(iter(site.mounts)))


def _chance(site, received, number):
    rows = on_screen(site, number)
    return float(received.chance[rows].max()) if rows.size else np.nan


def _ask_back(site, told):
    """What would tell most: what the file leaves out, then the station nearest to a coin toss."""
    asked = [question for key, question in QUESTIONS.items() if key not in told and "town" in told]
    if "town" not in told:
        return ""
    setup, _ = survey.aimed(site, _mine(site, told))
    said = {str(n) for n in (*told.get("gets", ()), *told.get("gets_not", ()))}
    table = survey.outlook(site, setup).assign(shown=site.stations["shown_channels"])
    heard = table["shown"].map(lambda numbers: bool(said & set(str(numbers).split())))
    table = table[table["wanted"].astype(bool) & ~heard & (table["shown"] != "")]
    edge = (table["chance"] - 0.5).abs()
    if len(table) and edge.min() < 0.4:
        row = table.loc[edge.idxmin()]
        asked.append(f"Do you get {row['shown'].split()[0]} ({row['station']}) with what you have?")
    return " ".join(asked)
