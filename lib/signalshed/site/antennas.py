"""The antennas of antennas.toml: from numbers, a pattern file, a trial or a build."""

import inspect

import numpy as np
import pandas as pd

from .. import antenna, channels
from ..tables import ANTENNA, RECEIVE_PATTERN, TRIAL_GAINS, check_csv, check_keys, read_toml
from ..tables.cells import did_you_mean
from ..units import SDS_TO_90
from .folders import inside
from .outline import tables_of

FILE = "antennas.toml"
_WAYS = ("gain_dbd", "pattern", "trial", "build")
_DETAILS = ("polarization", "lives", "effort", "revision")


def read_antennas(folder, region, problems, data=None):
    """All antennas of a site folder as a dict by name, and notes.

    Parameters: ``folder`` of the site; ``region`` of the channel plan; ``problems`` gathers what is
    wrong; ``data`` the content of antennas.toml, None to read it.
    """
    data = read_toml(folder / FILE, problems) if data is None else data
    if data is None:
        return {}, ()
    for key in data.keys() - {"antennas"}:
        hint = "; sizes stand below their antenna, under [antennas.sizes]" if key == "sizes" else ""
        problems.add(FILE, f"tables [[antennas]] only{hint}", column=key)
    rows = tables_of(data, "antennas", problems, FILE)
    if not data:
        problems.add(FILE, "at least one table [[antennas]]")
    found, notes = {}, []
    for count, row in enumerate(rows, start=1):
        one, more = _Reader(row, count, folder, region, problems).read()
        notes += more
        if one is not None and one.name in found:
            problems.add(FILE, "a name no other antenna has", column=f'antenna "{one.name}"')
        if one is not None:
            found[one.name] = one
    return found, tuple(notes)


class _Reader:
    """One table [[antennas]] on its way to an Antenna."""

    def __init__(self, row, count, folder, region, problems):
        name = row.get("name")
        self.where = f'antenna "{name}"' if isinstance(name, str) else f"antenna {count}"
        self.row, self.folder, self.region, self.problems = dict(row), folder, region, problems
        self.notes = []

    def read(self):
        """The Antenna, or None with problems noted, and notes."""
        before = len(self.problems)
        sizes = self.row.pop("sizes", {})
        self._stray_sizes()
        self.values, _ = check_keys(self.row, ANTENNA, self.problems, FILE, self.where)
        way = self._way()
        if len(self.problems) > before:
            return None, ()
        try:
            made = getattr(self, f"_from_{way}")(sizes)
            if made is not None and way != "trial" and self.values["trial"] is not None:
                made = self._from_trial(sizes, made)
            return made, self.notes
        except (ValueError, TypeError) as error:
            self._wrong(f"other values; {str(error).rstrip('.')}")
            return None, ()

    def _stray_sizes(self):
        """Sizes of the build that were typed beside its name: one sentence, whatever their number."""
        sizes = _sizes_of(self.row.get("build")).keys() - ANTENNA.known().keys()
        stray = [key for key in self.row if key in sizes]
        for key in stray:
            del self.row[key]
        if stray:
            self._wrong(
                f"sizes of the build below the line [antennas.sizes], freq_mhz among them; "
                f"{' and '.join(stray)} stood above it"
            )

    def _wrong(self, expected):
        self.problems.add(FILE, expected, column=self.where)

    def _way(self):
        """Which of the ways describes the antenna; a trial may measure what another describes."""
        given = [way for way in _WAYS if self.values[way] is not None]
        described = [way for way in given if way != "trial"]
        if described == ["gain_dbd", "pattern"]:
            return "pattern"
        if len(described) > 1 or not given:
            there = f"there are {' and '.join(described)}" if given else "there is none"
            self._wrong(f"exactly one of {', '.join(_WAYS)}, and a trial beside it; {there}")
            return None
        return (described or given)[0]

    def _details(self):
        """What every way takes along."""
        details = {key: self.values[key] for key in _DETAILS}
        details["note"] = self.values["note"] or ""
        if self.values["spread_db"] is not None:
            details["spread_db"] = self.values["spread_db"]
        return details

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
            self.notes.append(f"{FILE}: {self.where} has the beamwidth usual for its gain.")
        return antenna.from_numbers(
            v["name"],
            freq,
            _one_or_all(v["gain_dbd"]),
            None if v["beamwidth_deg"] is None else _one_or_all(v["beamwidth_deg"]),
            v["front_to_back_db"],
            **self._details(),
        )

    def _table(self, name, spec):
        """The frame of a CSV file the antenna names; ValueError with its problems otherwise."""
        before = len(self.problems)
        found = check_csv(inside(self.folder, name), spec, self.problems, name=name)
        return None if len(self.problems) > before else found.frame

    def _from_pattern(self, _sizes):
        v = self.values
        name = v["pattern"] if "/" in v["pattern"] else f"patterns/{v['pattern']}"
        frame = self._table(name, RECEIVE_PATTERN)
        if frame is None:
            return None
        kind, column = _pattern_kind(frame, name)
        if kind == "relative" and v["gain_dbd"] is None:
            raise ValueError(f"{name} holds relative_db, so gain_dbd of the top must stand here.")
        table = pd.DataFrame({"azimuth_deg": frame["azimuth_deg"], "gain_db": frame[column]})
        if frame["freq_mhz"].notna().any():
            table["freq_mhz"] = _all_filled(frame["freq_mhz"], name, "freq_mhz")
        _check_pattern(table, name)
        top = 0.0 if v["gain_dbd"] is None else v["gain_dbd"][0]
        return antenna.from_table(v["name"], table, kind, top, self._edges_mhz(), **self._details())

    def _from_trial(self, _sizes, described=None):
        v = self.values
        frame = self._table(v["trial"], TRIAL_GAINS)
        if frame is None:
            return None
        if described is None:
            return from_gains(v["name"], frame, **self._details())
        return measured(described, frame)

    def _from_build(self, sizes):
        from .. import builds

        build = make_build(self.values["build"], sizes)
        freq = self._build_freq_mhz(build)
        if builds.below_its_band(build, min(freq), self.region):
            self.notes.append(
                f"{FILE}: {self.where} is computed below {build.band_mhz[0]:g} MHz too; there the cable "
                "becomes the antenna, and its gain is a floor."
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


def _one_or_all(numbers):
    return numbers[0] if len(numbers) == 1 else list(numbers)


def _pattern_kind(frame, name):
    """Whether a pattern file holds gain or relative levels, and in which column."""
    filled = [c for c in ("gain_dbd", "relative_db") if frame[c].notna().any()]
    if len(filled) != 1:
        raise ValueError(f"{name} needs one column of gain_dbd or relative_db, and no other.")
    _all_filled(frame[filled[0]], name, filled[0])
    return ("dBd" if filled[0] == "gain_dbd" else "relative"), filled[0]


def _all_filled(column, name, title):
    if column.isna().any():
        raise ValueError(f"{name} has rows without {title}; fill every one.")
    return column


def _check_pattern(table, name):
    """Raise ValueError for a pattern with two values for one direction, or too few directions."""
    axes = [c for c in ("freq_mhz", "azimuth_deg") if c in table]
    if table.duplicated(axes).any():
        first = table.loc[table.duplicated(axes), "azimuth_deg"].iloc[0]
        raise ValueError(f"{name} gives azimuth_deg {first:g} twice; keep one row of each.")
    if table["azimuth_deg"].nunique() < 3:
        raise ValueError(f"{name} needs at least three directions.")


def from_gains(name, frame, **details):
    """An Antenna from the table of gains a trial wrote, with the pattern usual for such a gain.

    Parameters: ``name``; ``frame`` with freq_mhz, gain_dbd, low_dbd and high_dbd, whose column antenna
    names ``name`` in at least one row; ``details`` as in antenna.from_numbers.

    >>> rows = pd.DataFrame({"antenna": ["mesh"], "freq_mhz": [539.0], "gain_dbd": [7.0],
    ...     "low_dbd": [5.0], "high_dbd": [9.0]})
    >>> round(from_gains("mesh", rows).spread_db, 2)
    1.22
    """
    freq, gain, sd = _gains_of(name, frame)
    details.setdefault("spread_db", float(np.mean(sd)))
    return antenna.from_numbers(name, freq, gain, **details).renamed(name, source="trial")


def measured(described, frame):
    """A described antenna with the gains of a trial where there are any, its pattern kept.

    From the lowest channel of the trial to the highest the measured gain holds, with the trial's
    spread; beyond them the described one, with its own.
    Parameters: ``described`` an Antenna; ``frame`` as in ``from_gains``, naming it.

    >>> rows = pd.DataFrame({"antenna": ["wire"] * 2, "freq_mhz": [500.0, 540.0],
    ...     "gain_dbd": [2.0, 3.0], "low_dbd": [1.0, 2.0], "high_dbd": [3.0, 4.0]})
    >>> known = measured(antenna.plain_dipole().renamed("wire"), rows)
    >>> known.gain_dbd([470, 494, 520, 546, 608]).tolist()
    [0.0, 0.0, 2.5, 0.0, 0.0]
    """
    freq, gain, sd = _gains_of(described.name, frame)
    own, edge = described.freq_mhz, antenna.EDGE_MHZ
    low, high = freq[0] - edge, freq[-1] + edge
    inside = np.union1d(freq, own[(own > low) & (own < high)])
    # Just beyond the edges the description begins anew; between, two of its points would join wrongly.
    outer = np.array([low - 1e-3, high + 1e-3])
    outer = outer[(outer > own[0]) & (outer < own[-1])]
    beyond = np.union1d(outer, own[(own <= low) | (own >= high)])
    inside = np.union1d(inside, [f for f in (low, high) if own[0] < f < own[-1]])
    rows = [_shape(described, beyond)]
    rows.append(_shape(described, inside, on_aim=np.interp(inside, freq, gain)))
    order = np.argsort(np.concatenate([beyond, inside]), kind="stable")
    return described.renamed(
        described.name,
        freq_mhz=np.concatenate([beyond, inside])[order],
        gain_dbd_table=np.concatenate(rows)[order],
        spread_db=float(np.mean(sd)),
        source="trial",
        measured_mhz=tuple(map(float, freq)),
        measured_sd_db=tuple(map(float, sd)),
        described_sd_db=described.spread_db,
    )


def _shape(described, freq_mhz, on_aim=None):
    """Gain (freq, azimuth) of a described antenna, moved as a whole to ``on_aim`` (freq,) if given."""
    known = np.clip(freq_mhz, *described.freq_mhz[[0, -1]])
    gain = described.gain_dbd(known[:, None], described.azimuth_deg)
    if on_aim is None:
        return gain
    return gain + (on_aim - np.atleast_1d(described.gain_dbd(known)))[:, None]


def _gains_of(name, frame):
    """Frequencies and gains (n,) a trial measured of one antenna, and one sd of each, dB."""
    rows = frame[frame["antenna"] == name].sort_values("freq_mhz")
    if rows.empty:
        names = ", ".join(repr(n) for n in frame["antenna"].unique())
        raise ValueError(f"the trial measured no antenna {name!r}; it measured {names}.")
    half = (rows["high_dbd"] - rows["low_dbd"]).to_numpy() / 2
    freq, gain = rows["freq_mhz"].to_numpy(float), rows["gain_dbd"].to_numpy(float)
    return freq, gain, half / SDS_TO_90


def make_build(form, sizes):
    """A build of shed.builds from the name of its form and its sizes.

    Parameters: ``form`` the name of a function of shed.builds, with blanks or underscores; ``sizes`` a
    dict of its arguments. Raises ValueError with the forms or the sizes there are.
    """
    from .. import builds

    known = _sizes_of(form)
    if not known:
        near = did_you_mean(form, builds.FORMS)
        raise ValueError(
            f"there is no form {form!r} to build; there are {', '.join(builds.FORMS)}{near}"
        )
    if not isinstance(sizes, dict):
        raise ValueError("sizes must be a table, as sizes = { freq_mhz = 539 }.")
    strange = [key for key in sizes if key not in known]
    needed = [k for k, p in known.items() if p.default is p.empty and k not in sizes]
    if strange or needed:
        raise ValueError(
            f"sizes of {form!r} are {', '.join(known)}"
            + (f"; {strange[0]!r} is none of them{_stray(strange[0])}" if strange else "")
            + (f"; {needed[0]!r} is missing below [antennas.sizes]" if needed else "")
            + "."
        )
    return builds.FORMS[_spelled(form)](**sizes)


def _stray(key):
    """Where a key belongs that stands among the sizes."""
    if key in ANTENNA.header():
        return ", it goes above the line [antennas.sizes]"
    return " (lengths are in mm)"


def _spelled(form):
    return form.strip().lower().replace(" ", "_")


def _sizes_of(form):
    """The sizes a form takes, by name; none for what is no form."""
    from .. import builds

    maker = builds.FORMS.get(_spelled(form)) if isinstance(form, str) else None
    return {} if maker is None else inspect.signature(maker).parameters
