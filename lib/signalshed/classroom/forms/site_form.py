"""The beginners' form: a roof in plain words, and one press that writes its site.toml."""

import re
from pathlib import Path

import ipywidgets

from ... import channels, facts, site
from ...site.new import way_to
from ...units import M_PER_FOOT
from .fields import Form, Mistakes, answers, choice, number, text, tick

_REGIONS = {
    "us": "United States, Canada and others with their plan",
    "ge06": "Europe, Africa, parts of Asia (GE06)",
    "au": "Australia",
    "jp": "Japan",
    "br": "Brazil",
}
_NOISE = (
    ("a street of houses", "residential"),
    ("the middle of a city", "city"),
    ("open country with some houses", "rural"),
    ("far from everybody", "quiet_rural"),
    ("reckon with no man-made noise at all", "none"),
)
_WALLS = (
    ("brick, wood, stone, ordinary glass", "traditional"),
    ("foil insulation or metal-coated glass", "thermally_efficient"),
    ("metal all round", "metal"),
)
_AIM = (
    ("once, and then it stays", "fixed"),
    ("by a rotator, at any time", "rotator"),
    ("nobody: the place itself moves", "never"),
)
_UNITS = (("metres", 1.0), ("feet", M_PER_FOOT))
_CABLES = {"series6": "the usual thick TV cable (series 6)", "series11": "extra thick (series 11)"}


class SiteForm(Form):
    """Asks about one roof in plain words; its button writes site.toml, once.

    Parameters: ``folder`` to make, or a blank one; ``town`` folder with stations that several sites
    share, None if this site is to have a stations.csv of its own. A site.toml that was filled in
    already is left as it is, with a sentence.

    >>> form = SiteForm("no such roof")
    >>> form.press()
    >>> form.trouble[0]
    'What you call this roof: please type something.'
    """

    def __init__(self, folder, town=None):
        self.folder, self.town = Path(folder), town
        self.roof, self.set, self.places = _roof_fields(), _set_fields(), [_place_fields()]
        self._boxes = ipywidgets.VBox()
        self._show_places()
        self.more = ipywidgets.Button(description="One more place", layout={"width": "auto"})
        self.more.on_click(lambda _: self.add_place())
        self.button = ipywidgets.Button(
            description="Write site.toml", button_style="primary", layout={"width": "auto"}
        )
        self.button.on_click(lambda _: self.press())
        widgets = [
            *_block("The roof", self.roof),
            *_block("The TV", self.set),
            self._boxes,
            ipywidgets.HBox([self.more, self.button]),
        ]
        fields = {**self.roof, **self.set, **self.places[0]}
        super().__init__("A roof in plain words", [f.label for f in fields.values()], widgets)

    def add_place(self):
        """One more place where an antenna could go."""
        self.places = [*self.places, _place_fields(len(self.places) + 1)]
        self._show_places()

    def press(self):
        """What the button does: write site.toml, or say everything that will not do."""
        self.attempt(self._write)

    def answers(self):
        """The answers as site.toml holds them: a dict. Mistakes with every one that will not do."""
        found, wrong = [], []
        for fields in (self.roof, self.set, *self.places):
            try:
                found.append(answers(fields))
            except Mistakes as mistakes:
                wrong += mistakes.sentences
        if wrong:
            raise Mistakes(wrong)
        roof, tuner, *places = found
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

    def _write(self):
        path = site.write_site(self.folder, self.answers())
        stations = "" if self.town is not None else "your stations into stations.csv and "
        return (
            f"Written: {path}. Now put {stations}your antennas into antennas.toml; "
            "data_dictionary.md in the same folder says what every column and key means."
        )

    def _show_places(self):
        shown = []
        for count, fields in enumerate(self.places, 1):
            shown += _block(f"Place {count} where an antenna could go", fields)
        self._boxes.children = tuple(shown)


def _block(title, fields):
    heading = ipywidgets.HTML(f"<b>{title}</b>")
    return [heading, *(field.widget for field in fields.values())]


def _roof_fields():
    regions = [(_REGIONS[key], key) for key in channels.REGIONS]
    return {
        "name": text("What you call this roof", needed=True),
        "latitude": number("Latitude, degrees (south: minus)", needed=True, low=-90, high=90),
        "longitude": number("Longitude, degrees (west: minus)", needed=True, low=-180, high=180),
        "region": choice("Whose channels", regions),
        "noise": choice("What is around it", _NOISE),
    }


def _set_fields():
    rows = facts.table("standards")
    rows = rows[rows["standard"] == rows["family"]]
    ticks = {
        row.family: tick(
            f"It shows {re.split('[(,;:]', row.label)[0].strip()}", row.family == "ATSC1"
        )
        for row in rows.itertuples()
    }
    return {"name": text("What you call the TV", "living room", needed=True), **ticks}


def _tuner(typed):
    decoded = [family for family, yes in typed.items() if family != "name" and yes]
    if not decoded:
        raise Mistakes(["The TV: tick at least one system that it shows."])
    return {"name": typed["name"], "standards": decoded}


def _place_fields(count=1):
    """Questions about one place; a place without a name is left out."""
    kinds = facts.table("mount_kinds")
    splits = [("one", 1), *((str(n), int(n)) for n in facts.table("splitters")["ways"])]
    cables = [(_CABLES.get(t, f"{t}, thinner"), t) for t in facts.table("coax")["type"]]
    return {
        "place": text("What you call this place", "roof mast" if count == 1 else ""),
        "kind": choice("What it is", list(zip(kinds["label"], kinds["kind"], strict=True))),
        "unit": choice("Lengths are in", _UNITS),
        "height": number("Height above the ground", "9", needed=True, low=0.1, high=1600),
        "open_from": number("It sees from true bearing (empty: all)", low=0, high=360),
        "open_to": number("... clockwise to true bearing", low=0, high=360),
        "trees": number("Length of leaves in the way", "0", needed=True, low=0, high=1600),
        "construction": choice("Walls and roof (matters indoors)", _WALLS),
        "aim": choice("The antenna is pointed", _AIM),
        "cable": choice("Cable to the TV", [*cables, ("none", None)], "series6"),
        "length": number("Length of that cable", "15", needed=True, low=0, high=3000),
        "sets": choice("TVs that share the cable", splits),
        "amplifier": choice(
            "Amplifier", [("none", None), ("at the antenna", "mast"), ("at the TV", "set")]
        ),
        "gain": number("Its gain, dB", "16", low=0, high=60),
        "noise_figure": number("Its noise figure, dB", "2", low=0, high=30),
    }


def _mount(place):
    sees_part = place["open_from"] is not None and place["open_to"] is not None
    if not sees_part and (place["open_from"], place["open_to"]) != (None, None):
        raise Mistakes([f"{place['place']}: it needs both bearings of what it sees, or neither."])
    return {
        "name": place["place"],
        "kind": place["kind"],
        "height_agl_m": round(place["height"] * place["unit"], 3),
        "open_from_deg": place["open_from"],
        "open_to_deg": place["open_to"],
        "trees_m": round(place["trees"] * place["unit"], 3),
        "construction": place["construction"],
        "aim": place["aim"],
        "feed": _feed_name(place),
    }


def _feed_name(place):
    return f"{place['place']} line"


def _feed(place):
    """The line of one place, from the antenna on."""
    metres = round(place["length"] * place["unit"], 3)
    cable = [] if place["cable"] is None else [{"coax": place["cable"], "length_m": metres}]
    parts = cable + ([] if place["sets"] == 1 else [{"splitter": place["sets"]}])
    if place["amplifier"]:
        if place["gain"] is None or place["noise_figure"] is None:
            raise Mistakes([f"{place['place']}: an amplifier needs its gain and noise figure."])
        amplifier = {
            "amplifier": f"amplifier at the {place['amplifier']}",
            "gain_db": place["gain"],
            "noise_figure_db": place["noise_figure"],
        }
        at = 0 if place["amplifier"] == "mast" else len(cable)
        parts = [*parts[:at], amplifier, *parts[at:]]
    return {"name": _feed_name(place), "parts": parts}
