"""The form of antennas: from a label, a build, wires of one's own or a trial; saves what was changed."""

import inspect
import re
import tomllib
from pathlib import Path

from ... import builds, facts, site
from ...markup import Number
from ...registers import typed
from ...registers.numbers import number as read_number
from ...site.antennas import FILE
from ...tables import TABLES, Problems, read_toml
from ...tables.tomled import toml_text
from ..cards import table_card
from .fields import Mistakes, asked
from .row_form import NEW, RowForm

_DESCRIBED_BY = ("build", "sizes", "trial", "pattern", "gain_dbd", "gain_dbi", "beamwidth_deg")
_DESCRIBED_BY += ("front_to_back_db", "from_label")
"""Keys that go when an antenna is known in another way; what that way asks is put in anew."""
_OWN = 'freq_mhz = 539\nlines_mm = [[[0, -130, 0], [0, 130, 0]]]\nbalun = "1:1"'
_SIZE = re.compile(r"\s*(\w+?)(?:_mm|_in)?\s*=\s*([\d ./,]+)\s*(in|inch|inches|\"|mm|cm|ft|m)\s*")


class AntennasForm(RowForm):
    """Shows antennas.toml antenna by antenna; saves one as it was changed, and leaves the others alone.

    A gain takes "7 dBi" or "5 dBd", a band "470", "470 MHz" or "ch 14", sizes inches or millimetres, a
    line each ("side = 10 1/4 in").
    Parameters: ``folder`` of the site.

    >>> import tempfile
    >>> from ... import site
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     form = AntennasForm(site.new_site(Path(folder) / "roof"))
    ...     form.which.widget.value = "half-wave dipole"
    ...     form.fields["gain"].widget.value
    '0 dBd'
    """

    def __init__(self, folder):
        self.path = Path(folder) / FILE
        super().__init__("Antennas", "antenna", self._questions())
        for name in ("way", "form"):
            self.fields[name].widget.observe(lambda _: self._offer_sizes(), "value")
        self.fields["way"].widget.observe(lambda to: self._offer_label(to.new), "value")

    def names(self):
        """Names of the antennas of the file."""
        return [row.get("name", "") for row in self._rows()]

    def table_html(self):
        """The antennas in a table."""
        told = (_way_words, _gain_text, _band_text)
        rows = [(row.get("name", ""), *(words(row) for words in told)) for row in self._rows()]
        heads = ["antenna", "known from", Number("gain"), "band"]
        return table_card(heads, [("", rows)], f"{FILE}:").html

    def show(self, name):
        """Fill the fields with what the file says of one antenna. Parameters: ``name``, or NEW."""
        row = next((row for row in self._rows() if row.get("name") == name), {})
        ways = (way for way in ("pattern", "gain_dbd", "build", "trial") if way in row)
        way = next(ways, "gain_dbd")
        own = row.get("build") == "own"
        told = {
            "name": row.get("name", ""),
            "way": "own" if own else way,
            "gain": _gain_text(row),
            **{f"{side}_end": _end_text(row, side) for side in ("low", "high")},
            "beamwidth_deg": _several_text(row.get("beamwidth_deg", "")),
            "front_to_back_db": _several_text(row.get("front_to_back_db", "")),
            "from_label": row.get("from_label", name == NEW),
            "form": "loop" if own else row.get("build", "loop"),
            "sizes": toml_text(row["sizes"]).strip() if row.get("sizes") else "",
            "file": row.get("trial" if way == "trial" else "pattern", ""),
            "lives": tuple(row.get("lives", ())),
            "polarization": row.get("polarization", "horizontal"),
            "effort": row.get("effort", 2),
            "note": row.get("note", ""),
        }
        for key, value in told.items():
            self.fields[key].show(value)

    def saved_name(self, name):
        """An antenna keeps the name it was given."""
        return self.fields["name"].answer() if name == NEW else name

    def write(self, name, changed):
        """Save what was ``changed`` of the antenna ``name``, None for a new one: a sentence."""
        row = {} if name is None else next(r for r in self._rows() if r.get("name") == name)
        if name is not None and "name" in changed:
            raise Mistakes(
                [f"{name}: readings name it, so it keeps its name; add an antenna of another name."]
            )
        if name is None and self.fields["name"].answer() in self.names():
            raise Mistakes([f"{changed['name']} is there already; choose it above to change it."])
        way = self.fields["way"].answer()
        if "way" in changed or name is None:
            row = {k: v for k, v in row.items() if k not in _DESCRIBED_BY}
            asked = (k for k in self.fields if k in changed or k in _ASKED[way])
            changed = {k: self.fields[k].answer() for k in asked}
        for key, value in changed.items():
            _put(row, key, value, way)
        if not self.path.exists():
            site.write_antennas(self.path.parent, [row])
            return f"{FILE}: added {row['name']}."
        return site.add_antenna(self.path.parent, row)

    def take_out(self, name):
        """Take an antenna out of the file: a sentence."""
        return site.remove_antenna(self.path.parent, name)

    def _rows(self):
        if not self.path.exists():  # A folder that its other forms have not made, or only begun.
            return []
        problems = Problems()
        data = read_toml(self.path, problems)
        problems.stop()
        return data.get("antennas", [])

    def _offer_sizes(self):
        """Sizes that the chosen form needs, in an empty box or over those that were offered before."""
        box = self.fields["sizes"]
        if box.widget.value.strip() in ("", *self._offered):
            way, form = (self.fields[name].widget.value for name in ("way", "form"))
            box.widget.value = {"own": _OWN, "build": _sizes_offered(form)}.get(way, "")

    def _offer_label(self, way):
        """The tick as usual for the way an antenna is known: numbers are a label's, a file is not."""
        self.fields["from_label"].widget.value = way == "gain_dbd"

    _offered = ()

    def _questions(self):
        forms = [(name.replace("_", " "), name) for name in builds.FORMS if name != "own"]
        self._offered = (_OWN, *(_sizes_offered(name) for name in builds.FORMS))
        kinds = facts.table("mount_kinds")["kind"].tolist()
        efforts = [(f"{n}", n) for n in range(1, 6)]
        return asked("antenna", options={"form": forms, "lives": kinds, "effort": efforts})


_ASKED = {
    "gain_dbd": ("gain", "low_end", "high_end", "beamwidth_deg", "front_to_back_db", "from_label"),
    "build": ("form", "sizes"),
    "own": ("sizes",),
    "trial": ("file",),
    "pattern": ("file", "gain", "from_label"),
}
"""What is asked for each way of knowing an antenna."""


def _put(row, key, value, way):
    """One answer into the row of an antenna, as antennas.toml holds it; "" takes a key away."""
    if key == "gain":
        row.pop("gain_dbd", None), row.pop("gain_dbi", None)
        row |= _gain(value) if value else {}
    elif key in ("low_end", "high_end"):
        row |= _end(value, key.removesuffix("_end"), row)
    elif key == "form" or (key == "sizes" and way == "own"):
        row["build"] = "own" if way == "own" else value
    if key == "sizes":
        row["sizes"] = read_sizes(value)
    elif key == "file" and value:
        row["trial" if way == "trial" else "pattern"] = value
    elif key == "beamwidth_deg":
        row[key] = _numbers(value) if value else None
    elif key in TABLES["antenna"].header():
        row[key] = value if value or isinstance(value, float) else None


def _gain(said):
    unit = "dbi" if re.search("dbi", said, re.I) else "dbd"
    return {f"gain_{unit}": _numbers(re.sub("db[id]?", "", said, flags=re.I))}


def _numbers(said):
    """One number, or a list of several parted by blanks or semicolons."""
    parts = [part for part in re.split(r"[;\s]+|,\s+", said.strip()) if part]
    try:
        found = [read_number(part)[0] for part in parts]
    except ValueError:
        raise Mistakes([f"{said.strip()!r} is not a number; type it as 7 or 7,5."]) from None
    return found[0] if len(found) == 1 else found


def _end(said, side, row):
    """One end of the band: a frequency or a channel, and the other key taken away."""
    row.pop(f"{side}_mhz", None), row.pop(f"{side}_channel", None)
    channel = re.fullmatch(r"\s*(?:rf|ch|channel)[\s.]*(\w+)\s*", said, re.I)
    if channel:
        return {f"{side}_channel": channel[1]}
    return {f"{side}_mhz": typed.quantity(said, "frequency", "mhz")} if said.strip() else {}


def read_sizes(said):
    """Sizes typed one a line, as antennas.toml holds them: a dict.

    >>> read_sizes("freq_mhz = 539\\nside = 10 1/4 in")
    {'freq_mhz': 539, 'side_mm': 260.35}
    """
    lines = []
    for line in said.splitlines():
        found = _SIZE.fullmatch(line)
        if found:
            metres = typed.quantity(f"{found[2]} {found[3]}", "height", "m")
            line = f"{found[1]}_mm = {round(1000 * metres, 3)}"
        lines.append(line)
    try:
        return tomllib.loads("\n".join(lines))
    except tomllib.TOMLDecodeError as error:
        raise Mistakes(
            [f"Sizes: one a line, as freq_mhz = 539, words in quotation marks; {error}."]
        ) from None


def _sizes_offered(form):
    """The sizes a form takes, those it cannot do without first, the others as remarks."""
    lines = []
    for name, size in inspect.signature(builds.FORMS[form]).parameters.items():
        if name == "freq_mhz":
            lines.append("freq_mhz = 539")
        elif size.default is size.empty:
            lines.append(f"{name} = ")
        elif size.default is not None and isinstance(size.default, (str, int, float)):
            lines.append(f"# {toml_text({name: size.default}).strip()}")
    return "\n".join(lines)


def _several_text(value):
    values = value if isinstance(value, list) else [value]
    return "; ".join(f"{v:g}" for v in values if v != "")


def _gain_text(row):
    for unit in ("dBd", "dBi"):
        if f"gain_{unit.lower()}" in row:
            return f"{_several_text(row[f'gain_{unit.lower()}'])} {unit}"
    return ""


def _end_text(row, side):
    channel = f"ch {row[f'{side}_channel']}" if f"{side}_channel" in row else ""
    return str(row.get(f"{side}_mhz", "")) or channel


def _band_text(row):
    if isinstance(row.get("freq_mhz"), list):
        return f"{row['freq_mhz'][0]:g} to {row['freq_mhz'][-1]:g} MHz"
    return " to ".join(filter(None, (_end_text(row, side) for side in ("low", "high"))))


def _way_words(row):
    if "build" in row:
        return f"a build: {row['build'].replace('_', ' ')}"
    if "trial" in row:
        return "a trial"
    return "its label" if row.get("from_label") else "a pattern" if "pattern" in row else "numbers"
