"""The form of a roof: what site.toml says, in plain words; one press writes what was changed."""

import re
from functools import partial
from pathlib import Path

import ipywidgets

from ... import chain, facts, site
from ...registers import typed
from ...site.new import way_to
from ...site.outline import usual_families
from ...tables import MOUNT, STATIONS, Problems, read_toml
from ...tables.cells import one
from ..showing import button
from .fields import Form, Mistakes, answers, asked, gathered, text, tick

FILE = "site.toml"
_CABLES = {"series6": "the usual thick TV cable (series 6)", "series11": "extra thick (series 11)"}
_AMPLIFIER = ("gain_db", "noise_figure_db")
_LINE = ("coax", "length_m", "splitter", "amplifier", *_AMPLIFIER)
_SEES, _LENGTHS = ("open_from_deg", "open_to_deg"), ("height_agl_m", "trees_m")
_MOUNT = ("kind", *_LENGTHS, *_SEES, "construction", "aim")
"""Questions of a place by the keys of site.toml that they are about."""


class SiteForm(Form):
    """Asks about one roof in plain words; opened again it shows site.toml, and saves what was changed.

    Lengths take a unit ("30 ft", "10 m") or a floor ("3rd floor"), bearings a word ("SW") or the sun's
    ("evening sun", where it sets today), places any spelling of degrees. Remarks in the file stay, and
    the old file stays beside the new one.
    Parameters: ``folder`` to make, a blank one, or one that is filled in; ``town`` folder with stations
    that several sites share, None if this site is to have a stations.csv of its own.

    >>> form = SiteForm("no such roof")
    >>> form.press()
    >>> form.trouble[0]
    'What you call this roof: please type something.'
    """

    def __init__(self, folder, town=None):
        self.folder, self.town = Path(folder), town
        self.roof, self.set, self.places = asked("roof"), _set_fields(), []
        self._boxes = ipywidgets.VBox()
        self.roof["region"].widget.observe(lambda _: self._usual_set(), "value")
        self.data = {}
        self.more = button("One more place", self.add_place)
        self.button = button("Save site.toml", self.press, "primary")
        self._load()
        widgets = [
            *_block("The roof", self.roof),
            *_block("The TV", self.set),
            self._boxes,
            ipywidgets.HBox([self.more, self.button]),
        ]
        fields = {**self.roof, **self.set, **self.places[0]}
        super().__init__("A roof in plain words", fields.values(), widgets)

    def add_place(self):
        """One more place where an antenna could go."""
        self.places = [*self.places, self._place_fields(len(self.places) + 1)]
        self._show_places()

    def press(self):
        """What the button does: write what was changed, or say everything that will not do."""
        self.attempt(self._change if self.data else self._write)

    def answers(self):
        """The answers as site.toml holds them: a dict. Mistakes with every one that will not do."""
        roof, tuner, *places = gathered(
            partial(answers, fields) for fields in (self.roof, self.set, *self.places)
        )
        places = [place for place in places if place["place"]]
        if not places:
            raise Mistakes(["Name at least one place where an antenna could go."])
        return {
            **roof,
            **({} if self.town is None else {"town": way_to(self.town, self.folder)}),
            "tuner": _tuner(tuner),
            "mounts": [_mount(place) for place in places],
            "feeds": [_feed(place) for place in places],
        }

    # ---- the file ------------------------------------------------------------------------------

    def _load(self):
        """Fill the form with what the file says, if it says anything yet."""
        path, problems = self.folder / FILE, Problems()
        said = read_toml(path, problems) if path.exists() else {}
        problems.stop()
        self.data = said if "name" in said else {}
        rows = self.data.get("mounts") or [None]
        self.places = [self._place_fields(k, row) for k, row in enumerate(rows, 1)]
        for name in self.roof.keys() & self.data.keys():
            value = self.data[name]
            self.roof[name].show(value if isinstance(value, str) else f"{value:.10g}")
        tuner = self.data.get("tuner", {})
        shows = {_family(s) for s in tuner.get("standards", [])}
        for name, field in self.set.items() if self.data else ():
            field.show(tuner.get("name", "tuner") if name == "name" else name in shows)
        self._show_places()

    def _usual_set(self):
        """On a blank form the TV shows what is usual in the region; two systems where none alone is."""
        shows = usual_families(self.roof["region"].widget.value)
        for family in () if self.data else self.set.keys() - {"name"}:
            if not self.set[family].is_changed:
                self.set[family].show(family in shows)

    def _write(self):
        path = site.write_site(self.folder, self.answers())
        stations = "" if self.town is not None else "your stations into stations.csv and "
        self._load()
        return (
            f"Written: {path}. Now put {stations}your antennas into antennas.toml; there is a form for "
            "each, and data_dictionary.md says what every column and key means."
        )

    def _change(self):
        keys = answers(self.roof, only_changed=True)
        if any(field.is_changed for field in self.set.values()):
            keys["tuner"] = _tuner(answers(self.set))
        places = [p for p in self.places if any(field.is_changed for field in p.values())]
        gathered(partial(answers, fields) for fields in places)
        for fields in places:
            self._change_place(keys, fields)
        said = site.change(self.folder, **keys)
        self._load()
        return said

    def _change_place(self, keys, fields):
        """What was changed at one place, into the keys to change."""
        place, changed = answers(fields), answers(fields, only_changed=True)
        name = fields["place"].shown
        mounts, feeds = keys.setdefault("mounts", {}), keys.setdefault("feeds", {})
        if not name or changed.get("gone"):
            if place["place"] and not changed.get("gone"):
                mounts[place["place"]], feeds[_feed_name(place)] = _mount(place), _feed(place)
            elif name:
                mounts[name] = None
            return
        if "place" in changed:
            raise Mistakes(
                [f"{name}: readings name it, so it keeps its name; add a place of another name."]
            )
        whole = _mount(place)
        mounts[name] = {k: whole[k] for k in changed if k in whole}
        if changed.keys() & set(_LINE):
            feeds[self._line_of(name)] = {"parts": _feed(place)["parts"]}

    def _line_of(self, mount):
        """The name of the line of a mount, whose parts the form may write, else Mistakes."""
        row, feeds = _row(self.data["mounts"], mount), self.data.get("feeds", [])
        name = row.get("feed") or (feeds[0]["name"] if len(feeds) == 1 else f"{mount} line")
        parts = _row(feeds, name).get("parts", [])
        if _line_answers(parts) is None:
            raise Mistakes(
                [f"{mount}: its line has parts that this form does not know; change it in {FILE}."]
            )
        return name

    def _show_places(self):
        shown = []
        for count, fields in enumerate(self.places, 1):
            shown += _block(f"Place {count} where an antenna could go", fields)
        self._boxes.children = tuple(shown)

    # ---- the questions -------------------------------------------------------------------------

    def _bearing(self, typed_):
        try:
            latitude = self.roof["latitude"].answer()
        except ValueError:
            latitude = None
        return typed.bearing_deg(typed_, latitude)

    def _place_fields(self, count=1, row=None):
        """Questions about one place; a new one without a name is left out."""
        kinds, coax = facts.table("mount_kinds"), facts.table("coax")["type"]
        options = {
            "kind": list(zip(kinds["label"], kinds["kind"], strict=True)),
            "splitter": [("one", 1), *((str(n), int(n)) for n in facts.table("splitters")["ways"])],
            "coax": [*((_CABLES.get(t, f"{t}, thinner"), t) for t in coax), ("none", None)],
        }

        def height(typed_):
            region, usual = self.roof["region"].answer(), found["unit"].answer()
            return round(typed.height_m(typed_, region, usual), 3)

        found = asked("place", {"height": height, "bearing": self._bearing}, options)
        if count == 1:
            found["place"].show("roof mast")
        if row is not None:
            found["gone"] = tick("Take this place out")
            self._show_place(found, row)
        return found

    def _show_place(self, fields, row):
        """Fill the questions about one place with what the file says."""
        fields["place"].show(row.get("name", ""))
        for key in (*_LENGTHS, *_SEES):
            feet = row.get(key.removesuffix("_m") + "_ft")
            value = row.get(key) if feet is None else feet
            unit = "" if key in _SEES else " m" if feet is None else " ft"
            if value is not None:
                fields[key].show(value if isinstance(value, str) else f"{value:g}{unit}")
        for name in ("kind", "construction"):
            fields[name].show(row.get(name, MOUNT.column(name).default))
        moves = row.get("kind") in ("vehicle", "boat")
        fields["aim"].show(row.get("aim") or ("never" if moves else "fixed"))
        feeds = self.data.get("feeds", [])
        feed = _row(feeds, row.get("feed")) if row.get("feed") or len(feeds) != 1 else feeds[0]
        for name, value in (_line_answers(feed.get("parts", [])) or {}).items():
            fields[name].show(value)


def _family(standard):
    """The family of a standard as site.toml names it."""
    try:
        return chain.family(one(STATIONS.column("standard"), standard))
    except ValueError:
        return standard


def _row(rows, name):
    """The row of that name, an empty one where there is none."""
    return next((row for row in rows or [] if row.get("name") == name), {})


def _line_answers(parts):
    """What the fields show of a line's parts: a dict, None for a line that they cannot show."""
    found = {"coax": None, "splitter": 1, "amplifier": None}
    for k, part in enumerate(parts):
        kind = next((kind for kind in found if kind in part), None)
        if kind is None or part.keys() - _SHOWN[kind] or found[kind] not in (None, 1):
            return None
        found[kind] = part[kind]
        if kind == "coax":
            feet = part.get("length_ft")
            found["length_m"] = f"{part['length_m']:g} m" if feet is None else f"{feet:g} ft"
        elif kind == "splitter":
            found[kind] = int(part[kind])
        else:
            found |= {key: f"{part[key]:g}" for key in _AMPLIFIER}
            found[kind] = "mast" if k == 0 else "set"
    return found if found["coax"] in {*facts.table("coax")["type"], None} else None


_SHOWN = {
    "coax": {"coax", "length_m", "length_ft"},
    "splitter": {"splitter"},
    "amplifier": {"amplifier", *_AMPLIFIER},
}
"""Keys of each part of a line that the form can show."""


def _block(title, fields):
    heading = ipywidgets.HTML(f"<b>{title}</b>")
    return [heading, *(field.widget for field in fields.values())]


def _set_fields():
    rows = facts.table("standards")
    rows = rows[rows["standard"] == rows["family"]]
    names = (re.split("[(,;:]", label)[0].strip() for label in rows["label"])
    ticks = {
        family: tick(f"It shows {name}", family == "ATSC1")
        for family, name in zip(rows["family"], names, strict=True)
    }
    return {"name": text("What you call the TV", "living room", needed=True), **ticks}


def _tuner(typed_):
    decoded = [family for family, yes in typed_.items() if family != "name" and yes]
    if not decoded:
        raise Mistakes(["The TV: tick at least one system that it shows."])
    return {"name": typed_["name"], "standards": decoded}


def _mount(place):
    if [place[key] is None for key in _SEES] in ([True, False], [False, True]):
        raise Mistakes([f"{place['place']}: it needs both bearings of what it sees, or neither."])
    kept = {key: place[key] for key in _MOUNT}
    return {"name": place["place"], **kept, "feed": _feed_name(place)}


def _feed_name(place):
    return f"{place['place']} line"


def _feed(place):
    """The line of one place, from the antenna on."""
    parts = [] if place["coax"] is None else [{k: place[k] for k in ("coax", "length_m")}]
    cables = len(parts)
    parts += [] if place["splitter"] == 1 else [{"splitter": place["splitter"]}]
    if place["amplifier"]:
        if None in (place[key] for key in _AMPLIFIER):
            raise Mistakes([f"{place['place']}: an amplifier needs its gain and noise figure."])
        amplifier = {"amplifier": f"amplifier at the {place['amplifier']}"}
        amplifier |= {key: place[key] for key in _AMPLIFIER}
        parts.insert(0 if place["amplifier"] == "mast" else cables, amplifier)
    return {"name": _feed_name(place), "parts": parts}
