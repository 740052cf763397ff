"""The antennas of antennas.toml: from numbers, a pattern file, a trial or a build."""

import inspect
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from .. import antenna, channels, units
from ..tables import TABLES, Problems, Spot, read_toml
from ..tables.cells import did_you_mean
from .folders import named_table

if TYPE_CHECKING:
    from ..builds import Build

FILE = "antennas.toml"
_KEYS = TABLES["antenna"]
_WAYS = ("gain_dbd", "pattern", "trial", "build")
_DETAILS = ("polarization", "lives", "effort", "revision", "note", "spread_db")


def read_antennas(folder: Path, region: str, problems: Problems, data: dict | None = None) -> tuple:
    """All antennas of a site folder as a dict by name, and notes.

    Parameters: ``folder`` of the site; ``region`` of the channel plan; ``problems`` gathers what is
    wrong; ``data`` the content of antennas.toml, None to read it.
    """
    data = read_toml(folder / FILE, problems) if data is None else data
    if data is None:
        return {}, ()
    spot, notes = Spot(FILE, problems), []
    for key in data.keys() - {"antennas"}:
        hint = "; sizes stand below their antenna, under [antennas.sizes]" if key == "sizes" else ""
        spot.wrong(f"tables [[antennas]] only{hint}", key)
    if not data:
        spot.wrong("at least one table [[antennas]]")

    def made(row, spot):
        return _Reader(row, spot, folder, region, notes).read()

    return spot.things(data, "antennas", made), tuple(notes)


class _Reader:
    """One table [[antennas]] on its way to an Antenna."""

    def __init__(self, row, spot, folder, region, notes):
        self.row, self.spot, self.folder, self.region = dict(row), spot, folder, region
        self.notes = notes

    def read(self):
        """The Antenna, or None with problems noted."""
        sizes = self.row.pop("sizes", {})
        self._stray_sizes()
        self.values = self.spot.keys(self.row, _KEYS)
        way = self._way()
        return self.spot.made(lambda: self._made(way, sizes))

    def _made(self, way, sizes):
        made = self._labelled(getattr(self, f"_from_{way}")(sizes), way)
        if made is not None and way != "trial" and self.values["trial"] is not None:
            return self._from_trial(sizes, made)
        return made

    def _labelled(self, made, way):
        """Numbers from a label lean down and are doubted more, which is said."""
        if not self.values["from_label"] or made is None:
            return made
        if way not in ("gain_dbd", "pattern"):
            raise ValueError(
                "from_label is for gain_dbd or a pattern: a build or trial has no label."
            )
        made = antenna.as_labelled(made)
        more = "A trial against a dipole tells."
        if self.values["trial"] is not None:
            more = "In bands that its trial read, the trial stands instead."
        self._note(
            f"is known from its label: taken to gain {made.label_lean_db:g} dB less than that says, "
            f"give or take {made.spread_db:g} dB (our judgement). {more}"
        )
        return made

    def _note(self, text):
        self.notes.append(f"{FILE}: {self.spot.where} {text}")

    def _stray_sizes(self):
        """Sizes of the build that were typed beside its name: one sentence, whatever their number."""
        sizes = _sizes_of(self.row.get("build")).keys() - _KEYS.known().keys()
        stray = [key for key in self.row if key in sizes]
        for key in stray:
            del self.row[key]
        if stray:
            self.spot.wrong(
                f"sizes of the build below the line [antennas.sizes], freq_mhz among them; "
                f"{' and '.join(stray)} stood above it"
            )

    def _way(self):
        """Which of the ways describes the antenna; a trial may measure what another describes."""
        given = [way for way in _WAYS if self.values[way] is not None]
        described = [way for way in given if way != "trial"]
        if described == ["gain_dbd", "pattern"]:
            return "pattern"
        if len(described) > 1 or not given:
            there = f"there are {' and '.join(described)}" if given else "there is none"
            self.spot.wrong(f"exactly one of {', '.join(_WAYS)}, and a trial beside it; {there}")
            return None
        return (described or given)[0]

    def _details(self):
        """What every way takes along."""
        return {key: self.values[key] for key in _DETAILS if self.values[key] is not None}

    def _edges_mhz(self):
        """Frequencies the antenna is known at, or None if nothing is said."""
        v = self.values
        if v["freq_mhz"] is not None:
            return list(v["freq_mhz"])
        plan = channels.plan(self.region)
        ends = []
        for side in ("low", "high"):
            channel = v[f"{side}_channel"]
            if channel is not None:
                name = channels.name(channel)
                channels.centre_mhz(name, self.region)
                ends.append(float(plan.loc[name, f"{side}_mhz"]))
            elif v[f"{side}_mhz"] is not None:
                ends.append(v[f"{side}_mhz"])
        if len(ends) == 1:
            raise ValueError("it needs both ends of its band, low_mhz and high_mhz.")
        return ends or None

    def _from_gain_dbd(self, _sizes):
        v = self.values
        freq = self._edges_mhz()
        if freq is None:
            raise ValueError("it needs low_mhz and high_mhz (or low_channel and high_channel).")
        for key in ("gain_dbd", "beamwidth_deg"):
            if v[key] is not None and len(v[key]) not in (1, len(freq)):
                raise ValueError(f"{key} holds {len(v[key])} numbers for {len(freq)} of freq_mhz.")
        if v["beamwidth_deg"] is None:
            self._note("has the beamwidth usual for its gain.")
        shape = (v["gain_dbd"], v["beamwidth_deg"], v["front_to_back_db"])
        return antenna.from_numbers(v["name"], freq, *shape, **self._details())

    def _from_pattern(self, _sizes):
        v = self.values
        name = v["pattern"] if "/" in v["pattern"] else f"patterns/{v['pattern']}"
        frame = self._table(name, "receive_pattern")
        if frame is None:
            return None
        table, is_relative = _pattern(frame, name)
        if is_relative and v["gain_dbd"] is None:
            raise ValueError(f"{name} holds relative_db, so gain_dbd of the top must stand here.")
        kind, top = ("relative", v["gain_dbd"][0]) if is_relative else ("dBd", 0.0)
        return antenna.from_table(v["name"], table, kind, top, self._edges_mhz(), **self._details())

    def _table(self, name, which):
        """A CSV file the antenna names, None with problems noted."""
        return named_table(self.folder, name, TABLES[which], self.spot.problems, name)

    def _from_trial(self, _sizes, described=None):
        v = self.values
        frame = self._table(v["trial"], "trial_gains")
        if frame is None:
            return None
        if described is None:
            return antenna.from_gains(v["name"], frame, **self._details())
        return antenna.measured(described, frame)

    def _from_build(self, sizes):
        from .. import builds

        build = make_build(self.values["build"], sizes)
        freq = self._build_freq_mhz(build)
        if builds.below_its_band(build, min(freq), self.region):
            self._note(
                f"is computed below {build.band_mhz[0]:g} MHz too; there the cable becomes the "
                "antenna, and its gain is a floor."
            )
        return antenna.from_build(build, freq, self.values["name"], **self._details())

    def _build_freq_mhz(self, build):
        """Where a build is computed: as listed, or at the ends and every channel between them."""
        from .. import builds

        ends = self._edges_mhz()
        if ends is None:
            return builds.channel_freq_mhz(build, self.region)
        if self.values["freq_mhz"] is not None:
            return ends
        centres = channels.plan(self.region)["centre_mhz"]
        between = centres[(centres > ends[0]) & (centres < ends[1])]
        return np.unique([*ends, *between])


def _pattern(frame, name):
    """A pattern file as antenna.from_table takes it, and whether its levels are relative."""
    filled = [c for c in ("gain_dbd", "relative_db") if frame[c].notna().any()]
    if len(filled) != 1:
        raise ValueError(f"{name} needs one column of gain_dbd or relative_db, and no other.")
    axes = ["freq_mhz", "azimuth_deg"] if frame["freq_mhz"].notna().any() else ["azimuth_deg"]
    for title in (*filled, *axes):
        if frame[title].isna().any():
            raise ValueError(f"{name} has rows without {title}; fill every one.")
    twice = frame.duplicated(axes)
    if twice.any():
        first = frame["azimuth_deg"][twice].iloc[0]
        raise ValueError(f"{name} gives azimuth_deg {first:g} twice; keep one row of each.")
    if frame["azimuth_deg"].nunique() < 3:
        raise ValueError(f"{name} needs at least three directions.")
    table = frame[[*axes, *filled]].set_axis([*axes, "gain_db"], axis=1)
    return table, filled == ["relative_db"]


def make_build(form: str, sizes: dict) -> "Build":
    """A build of shed.builds from the name of its form and its sizes.

    Parameters: ``form`` the name of a function of shed.builds, with blanks or underscores; ``sizes`` a
    dict of its arguments, in mm, or in inches where the name ends in _in; ``leg_mm`` cuts the joining
    lines of any form that has some. Raises ValueError with the forms or the sizes there are.
    """
    from .. import builds

    if not isinstance(sizes, dict):
        raise ValueError("sizes must be a table, as sizes = { freq_mhz = 539 }.")
    sizes = in_mm(sizes)
    known = _sizes_of(form, sizes.get("of"))
    if not known:
        there = f"there are {', '.join(builds.FORMS)}{did_you_mean(form, builds.FORMS)}"
        raise ValueError(f"there is no form {form!r} to build; {there}")
    leg_mm = None if "leg_mm" in known else sizes.pop("leg_mm", None)
    needed = [key for key, p in known.items() if p.default is p.empty and key not in sizes]
    wrong = [f"{key!r} is none of them{_stray(key)}" for key in sizes if key not in known][:1]
    wrong += [f"{key!r} is missing below [antennas.sizes]" for key in needed[:1]]
    if wrong:
        raise ValueError(f"sizes of {form!r} are {', '.join(known)}; {'; '.join(wrong)}.")
    made = builds.FORMS[_spelled(form)](**sizes)
    return made if leg_mm is None else builds.with_legs(made, leg_mm)


def in_mm(sizes: dict) -> dict:
    """Sizes with every name that ends in _in turned to millimetres, a screen's too.

    Inches are numbers or texts as a tape measure shows them, "10 1/4". ValueError where both are given.

    >>> in_mm({"length_in": "10 1/4", "wire": "10 AWG"})
    {'wire': '10 AWG', 'length_mm': 260.35}
    """
    inches = {key: value for key, value in sizes.items() if key.endswith("_in")}
    rest = ((key, value) for key, value in sizes.items() if key not in inches)
    plain = {key: in_mm(value) if isinstance(value, dict) else value for key, value in rest}
    for key, value in inches.items():
        name = key.removesuffix("_in") + "_mm"
        if name in plain:
            raise ValueError(f"{name} and {key} are both given; keep one of them.")
        plain[name] = units.mm_of_inches(value, key)
    return plain


def _stray(key):
    """Where a key belongs that stands among the sizes."""
    if key in _KEYS.header():
        return ", it goes above the line [antennas.sizes]"
    return " (lengths are in mm, or in inches with names that end in _in)"


def _spelled(form):
    return form.strip().lower().replace(" ", "_")


def _sizes_of(form, of=None):
    """The sizes a form takes, by name, those of what it stacks among them; none for what is no form."""
    from .. import builds

    maker = builds.FORMS.get(_spelled(form)) if isinstance(form, str) else None
    if maker is None:
        return {}
    known = dict(inspect.signature(maker).parameters)
    if known.pop("sizes", None) is not None:
        known = {"leg_mm": known["spacing_mm"], **_sizes_of(of or known["of"].default), **known}
    return known
