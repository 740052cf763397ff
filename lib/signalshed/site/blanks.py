"""Blank folders and their data dictionaries, written from the descriptions that reading uses.

``templates/`` in the package holds what this module writes; after a change to a column or key run
``python -m signalshed.site.blanks``.
"""

import json
from pathlib import Path

from ..tables import (
    ANTENNA,
    FEED,
    METER,
    MOUNT,
    PARTS,
    READINGS,
    RECEIVE_PATTERN,
    SITE,
    STATIONS,
    TRANSMIT_PATTERN,
    TRIAL_GAINS,
    TUNER,
    write_atomic,
)

TEMPLATES = Path(__file__).parent.parent / "templates"

_SITE_HEAD = """\
# One site: a roof, its mounts, cables and tuner. What the keys mean stands in data_dictionary.md.
# A line that begins with # is a remark and does not count. To fill in a key, type its value after
# the = and take the # at the start of the line away. Text goes in quotation marks, numbers have a
# decimal point.
"""

_ANTENNAS = """\
# Your antennas, one table [[antennas]] each. What the keys mean stands in data_dictionary.md.

# A half-wave dipole with balun is 0 dBd by definition, on the channel it is cut for.
[[antennas]]
name = "half-wave dipole"
gain_dbd = 0
beamwidth_deg = 78
front_to_back_db = 0
low_mhz = 470
high_mhz = 694
spread_db = 1
effort = 1

# To add one, copy these lines, take the # away and put in your own.
# [[antennas]]
# name = "attic loop"
# gain_dbd = 1.5
# front_to_back_db = 0
# low_channel = "14"
# high_channel = "36"
# lives = ["attic", "window"]
# effort = 2
"""

_PARTS = """\
# Parts from the antenna on, as many as there are, with commas between them:
#   { coax = "series6", length_m = 15 }
#   { amplifier = "mast amplifier", gain_db = 16, noise_figure_db = 2 }
#   { splitter = 2 }
#   { pad_db = 6 }
#   { filter = "FM filter", stop_low_mhz = 88, stop_high_mhz = 108 }
#   { part = "wall plate", loss_db = 1 }
"""

_SOURCES = """\
## Where a station list comes from

- The regulator's public licence records: search by distance from your home, on the RF channel. They
  give coordinates, effective radiated power, antenna height above average terrain and above sea
  level, polarization and, as a table of azimuths, the pattern of the transmit antenna.
- Or a scan by a tuner for what is on the air, then each station's own record for the rest.

Type what you find; leave the rest empty. A missing height or power widens the spread instead of
stopping. Without erp_toward_kw or a pattern only the greatest power is known: toward you it may be
far less than the maximum. Anything that is wrong is reported with file, row, column, value and what
was expected, everything at once; your files are never changed.

In a spreadsheet save as CSV UTF-8, and format rf_channel and shown_channels as text, or 9.10 turns
into 9.1. Semicolons or tabs between cells are read too, with decimal commas where the file leaves no
doubt about them. A table under other column names comes in through a mapping:
`shed.site.open_site("my_roof", mapping={"Call sign": "station", "Miles": "distance_mi"})`.
"""


def _section(spec, level="##"):
    """One section of a data dictionary."""
    table = spec.dictionary()
    heads = table.columns.tolist()
    rows = [heads, ["---"] * len(heads), *table.astype(str).to_numpy().tolist()]
    lines = ["| " + " | ".join(cell.replace("|", "/") for cell in row) + " |" for row in rows]
    head = "\n\n".join(text for text in (f"{level} {spec.file}", spec.about) if text)
    return f"{head}\n\n" + "\n".join(lines) + "\n"


def town_dictionary():
    """Text of data_dictionary.md of a town folder."""
    sections = [
        "# A town folder\n\nPrepared once, by the teacher or the builder; any number of site folders "
        "may point to it.\n",
        _section(STATIONS),
        _SOURCES,
        _section(TRANSMIT_PATTERN),
        "## terrain/*.hgt\n\nHeights of the ground, as far as you have them: square tiles of one degree "
        "with 1201 or 3601 points a side, 16 bit, named after their south-west corner, such as "
        "N30W041.hgt. Without them the path is that of average terrain.\n",
    ]
    return "\n".join(sections)


def site_dictionary():
    """Text of data_dictionary.md of a site folder."""
    sections = [
        "# A site folder\n\nOne roof. Its stations come from the town folder that site.toml names, from "
        "a stations.csv of its own, or from both.\n",
        *(_section(spec) for spec in (SITE, TUNER, MOUNT, FEED)),
        *(_section(spec, "###") for spec in PARTS.values()),
        *(_section(spec) for spec in (ANTENNA, RECEIVE_PATTERN, STATIONS)),
        _SOURCES,
        *(_section(spec) for spec in (METER, READINGS, TRIAL_GAINS)),
    ]
    return "\n".join(sections)


def _toml_keys(spec):
    """Keys as remarks to be filled in, others than required ones with their default."""
    lines = []
    for column in spec.columns:
        key = f"# {column.name} = {_toml_default(column)}".rstrip()
        lines.append(f"{key:<34} # {column.meaning}{_must(column)}")
    return "\n".join(lines) + "\n"


def _must(column):
    """That a key must be filled, and with what."""
    if column.kind == "choice" and len(column.choices) <= 8:
        words = f" One of {', '.join(column.choices)}."
    else:
        words = f" As {column.example}." if column.required else ""
    return words + (" Must be filled." if column.required else "")


def _toml_default(column):
    default = column.default
    if default is None:
        return ""
    if isinstance(default, float):
        return f"{default:g}"
    return json.dumps(list(default) if isinstance(default, tuple) else default)


def site_toml():
    """Text of a blank site.toml."""
    blocks = [
        _SITE_HEAD,
        _toml_keys(SITE),
        "[tuner]\n" + _toml_keys(TUNER),
        "[[mounts]]\n" + _toml_keys(MOUNT),
        "[[feeds]]\n" + 'name = "cable"\nparts = [\n]\n' + _PARTS,
    ]
    return "\n".join(blocks)


def files():
    """All blank files: a dict from path within templates/ to text."""
    return {
        "site/site.toml": site_toml(),
        "site/antennas.toml": _ANTENNAS,
        "site/stations.csv": STATIONS.template(),
        "site/readings.csv": READINGS.template(),
        "site/meter.csv": METER.template(),
        "site/data_dictionary.md": site_dictionary(),
        "town/stations.csv": STATIONS.template(),
        "town/data_dictionary.md": town_dictionary(),
    }


def write(folder=TEMPLATES):
    """Write all blank files into ``folder``."""
    for name, text in files().items():
        path = Path(folder) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, text)


if __name__ == "__main__":
    write()
