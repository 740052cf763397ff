"""Write the folder demo_data: an invented town, the maker's house, six who ask, a yard for trials.

    python tests/make_demo.py

Everything comes from one seed and the tables of signalshed.simulate; running it again changes nothing.
The facts table ``computed_gains`` is written first: what the wire solver says of the builds that the
sites name, so that opening a site need not wait for it. After a change to what the demo is made from, or
to the solver, run it and commit what it wrote.
"""

import tempfile
from pathlib import Path

import demo_evenings
import demo_yard
import numpy as np
import pandas as pd

from signalshed import antenna, simulate, tables
from signalshed.builds import gain, kept
from signalshed.simulate import demo, terrain
from signalshed.site import open_site
from signalshed.site.blanks import blank

REPO = Path(__file__).resolve().parents[1]
FOLDER = REPO / "demo_data"
GAINS = REPO / "lib" / "signalshed" / "facts" / f"{kept.TABLE}.csv"

_README = """\
# An invented town to practise on

Nothing here exists: the island of Ostrel lies where there is open sea, and every name, station,
antenna and reading on it is made up. What is true there is known to the program that made it, so a
forecast can be checked. All of it comes from one seed; `python tests/make_demo.py` writes it again,
over whatever was changed here. What people typed (sites, antennas, stations, patterns) comes from
`lib/signalshed/simulate/demo`, which travels inside the package: change it there. Terrain, meter
ladders, readings and data dictionaries are computed.

| folder | what it is |
|---|---|
| `town` | what all sites share: the stations, a transmit pattern, two tiles of terrain |
{sites}

## What is in the town

{stations} rows in `town/stations.csv`: {places}.

- Quorrel Ridge, the main transmitter, stands to the north-east of town, Dunnabeck Hill to the
  south-south-east: no narrow antenna hears both at once.
- Schoolroom and Rowlock are on high VHF, Foghorn on low VHF; most antennas here are for UHF.
- Washboard and Almanac share RF 33. Gatepost is ATSC 3.0, and its C/N is typed.
- Bandstand transmits vertically, at a height nobody knows, and Oldmarsh is on its channel.
- Of Tollgate only the greatest power is known; Cornet has a transmit pattern.
- Farthing is 97 km away from the hill house. Saltpan and Oldmarsh lie beyond the terrain tiles.
- Ballroom (FM) and the telephone mast in Pepper Lane can only hurt.

`hill_house/stations.csv` adds a relay known by bearing and distance alone; the camper has typed a list
of its own in miles and feet.

## What the maker wrote down

`hill_house/meter.csv` is the meter ladder of the TV in the living room, {rungs} rows.
`hill_house/readings.csv` holds two evenings, {readings} rows: every channel once, pads, two channels
turned all round, the attic and the window; one row was a slip, and another takes it back. What was
true on those evenings stands nowhere here; `signalshed.simulate.truth("hill_house")` tells it, for
those who want to look.

## The trial in the yard

`trial_yard/readings.csv` is a side-by-side trial of three antennas against a half-wave dipole, {trial}
rows from two Saturdays: a gain trial, every antenna aimed at each station in turn, laid out by
`signalshed.trials.plan`. `trial_yard/meter.csv` is the meter ladder of the TV that was carried along,
{trial_rungs} rows. The level wandered, no mounting came out like the one before, and {slips} rows
hold the figures of the row above. The true differences are in `signalshed.simulate.yard_truth_db()`.
The three are the antennas of the same names at the other sites, so what the trial finds holds there
too.

## Data dictionary

What every column and key means: [town](town/data_dictionary.md), [site](hill_house/data_dictionary.md).
The terrain tiles are 16-bit big-endian heights in metres, 1201 by 1201, north and west first, named
after their south-west corner; the sea is 0.
"""


def files():
    """Every file of demo_data: a dict from path to bytes."""
    found = {}
    for path in sorted(demo.FOLDER.rglob("*")):
        if path.is_file() and path.name != "relief.csv":
            found[path.relative_to(demo.FOLDER).as_posix()] = path.read_bytes()
    for name, data in terrain.hgt_tiles(simulate.land()).items():
        found[f"town/terrain/{name}"] = data
    written = {
        "hill_house": (demo_evenings.ladder_rows(), demo_evenings.reading_rows()),
        demo.TRIAL_SITE: (demo_yard.ladder_rows(), demo_yard.reading_rows()),
    }
    for name, (ladder, readings) in written.items():
        found[f"{name}/meter.csv"] = _csv(ladder, tables.METER)
        found[f"{name}/readings.csv"] = _csv(readings, tables.READINGS)
    found["town/data_dictionary.md"] = blank("town")["data_dictionary.md"].encode()
    found["hill_house/data_dictionary.md"] = blank("site")["data_dictionary.md"].encode()
    found["README.md"] = _readme(written).encode()
    return found


def named_builds():
    """The antennas of the demo sites that were built from wires, each build once: a list."""
    sites = (open_site(path.parent) for path in sorted(demo.FOLDER.glob("*/antennas.toml")))
    built = [a for here in sites for a in here.antennas.values() if a.build is not None]
    return list({(a.build.kept_key, *a.freq_mhz): a for a in built}.values())


def gains():
    """The text of the facts table of computed gains."""
    azimuth, parts = antenna.AZIMUTHS_DEG, []
    for named in named_builds():
        made, freq = named.build, named.freq_mhz
        said = gain.computed_gain_dbd(made, freq, azimuth).round(4) + 0.0
        frame = pd.DataFrame(said, columns=[f"{a:g}" for a in azimuth])
        finer = round(gain.computed_finer_dbd(made, freq[-1]), 4)
        frame.insert(0, "build", made.name)
        frame.insert(1, "key", made.kept_key)
        frame.insert(2, "freq_mhz", freq)
        frame.insert(3, "finer_dbd", [*[np.nan] * (len(frame) - 1), finer])
        frame.insert(4, "loss_db", gain.computed_loss_db(made, freq).round(4))
        parts.append(frame)
    whole = pd.concat(parts)
    whole = whole.assign(source="computed from the wires by signalshed.wires", status="derived")
    return whole.to_csv(index=False, lineterminator="\n")


def _csv(frame, spec):
    """The bytes of a table as the library itself writes it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        tables.write_csv(path, frame[[c for c in spec.header() if c in frame]], spec)
        return path.read_bytes()


def _readme(written):
    lines = []
    for name in (*simulate.DEMO_SITES, demo.TRIAL_SITE):
        first = (demo.FOLDER / name / "site.toml").read_text(encoding="utf-8").splitlines()[0]
        lines.append(f"| `{name}` | {first.removeprefix('# ')} |")
    stations = tables.read(demo.FOLDER / "town" / "stations.csv", tables.STATIONS)
    counts = stations["service"].value_counts()
    places = stations.loc[stations["service"] == "tv", "place"].nunique()
    others = counts["fm"] + counts["mobile"]
    words = f"{counts['tv']} television stations at {places} places, and {others} neighbours"
    (rungs, readings), (trial_rungs, trial) = ((len(a), len(b)) for a, b in written.values())
    return _README.format(
        sites="\n".join(lines),
        stations=len(stations),
        places=words,
        rungs=rungs,
        readings=readings,
        trial=trial,
        trial_rungs=trial_rungs,
        slips=len(demo_yard.SLIPS),
    )


def write(folder=FOLDER):
    """Write the gains, then all files into ``folder``; tell which changed."""
    _write_one(GAINS, gains().encode())
    made = files()
    for name, data in made.items():
        _write_one(folder / name, data)
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        if path.relative_to(folder).as_posix() not in made:
            print("no longer made:", path)


def _write_one(path, data):
    if not path.exists() or path.read_bytes() != data:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        print("wrote", path.relative_to(REPO))


if __name__ == "__main__":
    write()
