"""One antenna as the survey sees it: gain by channel and direction, and where it may live.

Gain is *realised* gain over a half-wave dipole (dBd) at the balun's output: mismatch and balun are
inside it. However an antenna came to be (numbers from a label, a pattern table, wires, a trial), the
survey sees the same table: frequencies by azimuths.
"""

import html
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from . import facts
from .units import SDS_TO_90, check, plain

AZIMUTHS_DEG = np.arange(-180.0, 180.0, 5.0)
EVERYWHERE = tuple(facts.table("mount_kinds")["kind"])
"""Every kind of mount there is."""


EDGE_MHZ = 4.0
"""So far beyond the channels of a trial, half a channel or a little more, what it measured holds."""


@dataclass(frozen=True, eq=False)
class Antenna:
    """An antenna: a table of realised gain, and what the advice needs to know beside it.

    ``name`` as tables show it; ``freq_mhz`` (F,) rising; ``azimuth_deg`` (A,) rising, within one
    turn, clockwise from the aim;
    ``gain_dbd_table`` (F, A). ``polarization`` horizontal or vertical, as built. ``spread_db`` is one
    standard deviation of the gain. ``lives`` names the kinds of mount it may live on, ``effort`` runs
    from 1 (buy or bend in an evening) to 5, ``source`` is numbers, table, build or trial;
    ``revision`` tells one state of a rebuilt antenna from the next, ``note`` is free text. ``build`` is
    the shed.builds Build behind it, or None; a notebook then shows its drawing and cut list too.
    ``measured_mhz`` and ``measured_sd_db`` (k,) are the channels a trial measured and the spread on
    each, where the antenna is described beyond them too, there with ``described_sd_db``; else empty.
    """

    name: str
    freq_mhz: np.ndarray
    azimuth_deg: np.ndarray
    gain_dbd_table: np.ndarray
    polarization: str = "horizontal"
    spread_db: float = 3.0
    lives: tuple = EVERYWHERE
    effort: int = 2
    revision: str = "1"
    source: str = "numbers"
    note: str = ""
    build: object = field(default=None, repr=False)
    measured_mhz: tuple = ()
    measured_sd_db: tuple = ()
    described_sd_db: float = np.nan

    def __post_init__(self):
        freq = np.atleast_1d(check("freq_mhz", self.freq_mhz, above=0))
        azimuth = np.atleast_1d(check("azimuth_deg", self.azimuth_deg, low=-360, high=360))
        gain = np.atleast_2d(check("gain_dbd_table", self.gain_dbd_table, low=-120, high=60))
        if gain.shape != (freq.size, azimuth.size):
            raise ValueError(
                f"Antenna {self.name!r}: gain_dbd_table has shape {gain.shape}; it must be "
                f"frequencies by azimuths, {(freq.size, azimuth.size)}."
            )
        for name, axis in (("freq_mhz", freq), ("azimuth_deg", azimuth)):
            if np.any(np.diff(axis) <= 0):
                raise ValueError(f"Antenna {self.name!r}: {name} must rise from row to row.")
        if azimuth[-1] - azimuth[0] >= 360:
            raise ValueError(f"Antenna {self.name!r}: azimuth_deg must stay within one turn.")
        if self.polarization not in ("horizontal", "vertical"):
            raise ValueError(
                f"Antenna {self.name!r}: polarization is {self.polarization!r}; it must be "
                "horizontal or vertical."
            )
        check("spread_db", self.spread_db, low=0)
        for name, array in (("freq_mhz", freq), ("azimuth_deg", azimuth), ("gain_dbd_table", gain)):
            array = array.copy()
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        object.__setattr__(self, "lives", tuple(self.lives))

    def covers(self, freq_mhz):
        """Whether the table reaches ``freq_mhz`` (any shape): a bool or an array of bools.

        >>> plain_dipole().covers([69, 473]).tolist()
        [False, True]
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        slack = 1e-3
        return plain((freq >= self.freq_mhz[0] - slack) & (freq <= self.freq_mhz[-1] + slack))

    def spread_at_db(self, freq_mhz):
        """One standard deviation of the gain at ``freq_mhz`` (any shape): measured, or as described.

        >>> known = {"measured_mhz": (470, 600), "measured_sd_db": (1.0, 2.0), "described_sd_db": 3.0}
        >>> plain_dipole().renamed("mine", **known).spread_at_db([535, 605]).tolist()
        [1.5, 3.0]
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        if not self.measured_mhz:
            return plain(np.full(freq.shape, self.spread_db))
        beyond = (freq < self.measured_mhz[0] - EDGE_MHZ) | (
            freq > self.measured_mhz[-1] + EDGE_MHZ
        )
        measured = np.interp(freq, self.measured_mhz, self.measured_sd_db)
        return plain(np.where(beyond, self.described_sd_db, measured))

    def gain_dbd(self, freq_mhz, azimuth_deg=0.0):
        """Realised gain in dBd at the balun's output.

        Parameters: ``freq_mhz`` and ``azimuth_deg`` (clockwise from the aim, any turn) broadcast.
        Linear in azimuth round the closed circle and linear in frequency. Raises ValueError beyond
        the antenna's frequencies: nothing is extrapolated.

        >>> round(plain_dipole().gain_dbd(600, 0), 2)
        0.0
        """
        freq = check("freq_mhz", freq_mhz, above=0)
        if not np.all(self.covers(freq)):
            first = freq[~np.asarray(self.covers(freq))].flat[0]
            raise ValueError(
                f"{self.name!r} is known from {self.freq_mhz[0]:g} to {self.freq_mhz[-1]:g} MHz; "
                f"{first:g} MHz is outside."
            )
        low, weight = _bracket(self.freq_mhz, freq)
        high = np.minimum(low + 1, self.freq_mhz.size - 1)
        left, share = self._around(check("azimuth_deg", azimuth_deg))
        right = (left + 1) % self.azimuth_deg.size
        table = self.gain_dbd_table
        at_low = table[low, left] * (1 - share) + table[low, right] * share
        at_high = table[high, left] * (1 - share) + table[high, right] * share
        return plain(at_low * (1 - weight) + at_high * weight)

    def _around(self, azimuth_deg):
        """Left neighbour on the closed circle, and the share of the right one."""
        start = self.azimuth_deg[0]
        turned = start + np.mod(azimuth_deg - start, 360.0)
        left = np.searchsorted(self.azimuth_deg, turned, side="right") - 1
        step = np.diff(self.azimuth_deg, append=start + 360.0)
        return left, (turned - self.azimuth_deg[left]) / step[left]

    def beamwidth_deg(self, freq_mhz):
        """Width of the main lobe 3 dB below its top, degrees; 360 if it never falls so far.

        Parameters: ``freq_mhz`` one frequency within the antenna's table.

        >>> round(plain_dipole().beamwidth_deg(600))
        78
        """
        fine = np.arange(-180.0, 180.0, 0.5)
        gain = self.gain_dbd(freq_mhz, fine)
        top = int(np.argmax(gain))
        low = np.roll(gain, -top) < gain[top] - 3.0
        if not low.any():
            return 360.0
        return float(0.5 * (np.argmax(low) + np.argmax(low[::-1])))

    def renamed(self, name, **changes):
        """The same antenna under another ``name``, with ``changes`` to other fields.

        >>> plain_dipole().renamed("mine", effort=1).name
        'mine'
        """
        return replace(self, name=name, **changes)

    def __repr__(self):
        low, high = self.freq_mhz[[0, -1]]
        return f"<antenna: {self.name}, {low:g} to {high:g} MHz, from {self.source}>"

    def _repr_html_(self):
        return card_html(self)


def card_html(antenna):
    """The card of an antenna as HTML, everything escaped: what is known of it, and how it is built.

    One that comes from a build shows drawing, cut list, weight and wind; where a trial compared it, the
    computed gain stands beside the compared one.
    Parameters: ``antenna``.

    >>> "<b>" in card_html(plain_dipole().renamed("<b>"))
    False
    """
    from . import builds

    rows = "".join(
        f'<tr><th scope="row">{k}</th><td>{html.escape(v)}</td></tr>' for k, v in _facts(antenna)
    )
    title = f"<caption>{html.escape(antenna.name)}</caption>"
    card = f"<table>{title}<tbody>{rows}</tbody></table>" + _gains_html(antenna)
    return card + (builds.parts_html(antenna.build) if antenna.build is not None else "")


def _facts(antenna):
    freq = antenna.freq_mhz
    middle = freq.mean() if freq.size == 2 else freq[freq.size // 2]
    facts_of = [
        ("revision", antenna.revision),
        ("channels", f"{antenna.freq_mhz[0]:.0f} to {antenna.freq_mhz[-1]:.0f} MHz"),
        ("gain toward the aim", f"{antenna.gain_dbd(middle):.1f} dBd at {middle:.0f} MHz"),
        ("plus or minus", _spread_words(antenna)),
        ("beamwidth", f"{antenna.beamwidth_deg(middle):.0f} degrees at {middle:.0f} MHz"),
        ("polarization", antenna.polarization),
        ("known from", antenna.source),
        ("may live", ", ".join(antenna.lives)),
        ("effort", f"{antenna.effort} of 5"),
        ("pattern", f"shed.plots.pattern(antenna, {middle:.0f})"),
    ]
    return facts_of + ([("note", antenna.note)] if antenna.note else [])


def _spread_words(antenna):
    words = f"{antenna.spread_db:.1f} dB (one standard deviation)"
    if not antenna.measured_mhz:
        return words
    low, high = antenna.measured_mhz[0], antenna.measured_mhz[-1]
    return f"{words} from {low:.0f} to {high:.0f} MHz, {antenna.described_sd_db:.1f} dB elsewhere"


def _gains_html(antenna):
    """Gain toward the aim on a few channels: computed, and compared where a trial told it."""
    from . import builds

    if antenna.build is None or antenna.build.ideal:
        return ""
    freq = np.array(builds.few(antenna.freq_mhz))
    compared = antenna.source == "trial"
    computed = from_build(antenna.build, freq) if compared else antenna
    rows = [
        [f"{f:.0f} MHz", builds.gain_words(antenna.build, f, gain)]
        for f, gain in zip(freq, np.atleast_1d(computed.gain_dbd(freq)), strict=True)
    ]
    heads = ["channel", "computed"]
    if compared:
        heads.append("compared")
        low, high = np.asarray(antenna.measured_mhz or antenna.freq_mhz)[[0, -1]]
        for row, f in zip(rows, freq, strict=True):
            row.append(f"{antenna.gain_dbd(f):+.1f} dBd" if low <= f <= high else "")
    return builds.table_html("Gain toward the aim", heads, rows)


def _bracket(axis, value):
    """Index of the lower neighbour on a rising axis, and the share of the upper one."""
    low = np.clip(np.searchsorted(axis, value, side="right") - 1, 0, max(axis.size - 2, 0))
    if axis.size == 1:
        return low, np.zeros_like(value)
    step = axis[low + 1] - axis[low]
    return low, np.clip((value - axis[low]) / step, 0.0, 1.0)


def lobe_db(azimuth_deg, beamwidth_deg, front_to_back_db):
    """Relative pattern in dB of an antenna known by two numbers only.

    A parabola in dB as the main lobe, the same lobe behind at ``-front_to_back_db``, and nothing
    believed below -16 dB beside them, the planning mask of ITU-R BT.419-3 for bands IV and V.
    Parameters: ``azimuth_deg`` from the aim, ``beamwidth_deg`` between the 3 dB points (above 0, at
    most 360), ``front_to_back_db`` (0 or more).

    >>> [round(lobe_db(a, 60, 20), 1) for a in (0, 30, 180)]
    [0.0, -3.0, -16.0]
    """
    az = np.mod(check("azimuth_deg", azimuth_deg) + 180.0, 360.0) - 180.0
    width = check("beamwidth_deg", beamwidth_deg, above=0, high=360)
    back = check("front_to_back_db", front_to_back_db, low=0)
    front_lobe = 0.0 - 12 * (az / width) ** 2
    back_lobe = -back - 12 * ((180 - np.abs(az)) / width) ** 2
    floor = -facts.value("judgement", "side_floor_db")
    return plain(np.maximum(np.maximum(front_lobe, back_lobe), floor))


def typical_beamwidth_deg(gain_dbd):
    """Azimuth beamwidth an antenna of this gain usually has: 78 degrees x 10^(-gain / 40).

    Our own fit through a dipole (0 dBd, 78 degrees) and the Yagis of NBS Technical Note 688 (9 dBd
    about 49, 14 dBd about 30 degrees). Parameters: ``gain_dbd`` in dBd. Never above 180 degrees.

    >>> round(typical_beamwidth_deg(10))
    44
    """
    return plain(np.minimum(78.0 * 10 ** (-check("gain_dbd", gain_dbd) / 40), 180.0))


def from_numbers(name, freq_mhz, gain_dbd, beamwidth_deg=None, front_to_back_db=15.0, **details):
    """An antenna from the few numbers on a label, or from a guess.

    Parameters: ``name``; ``freq_mhz`` one or more rising frequencies, two give the ends of its band;
    ``gain_dbd`` one number, or one per frequency; ``beamwidth_deg`` between the 3 dB points (None: the
    width usual for such a gain); ``front_to_back_db`` 0 for one that hears alike before and behind;
    ``details`` any other field of Antenna (polarization, spread_db, lives, effort, revision, note).

    >>> from_numbers("bought", [470, 608], 8).gain_dbd(539, 0)
    8.0
    """
    freq = np.atleast_1d(check("freq_mhz", freq_mhz, above=0))
    gain = np.broadcast_to(check("gain_dbd", gain_dbd, low=-60, high=40), freq.shape)
    width = typical_beamwidth_deg(gain) if beamwidth_deg is None else beamwidth_deg
    width = np.broadcast_to(np.asarray(width, float), freq.shape)[:, None]
    table = gain[:, None] + lobe_db(AZIMUTHS_DEG, width, front_to_back_db)
    details.setdefault("spread_db", facts.value("judgement", "antenna_typed_sd_db"))
    return Antenna(name, freq, AZIMUTHS_DEG, table, source="numbers", **details)


def from_table(name, table, reference="dBd", gain_dbd=0.0, freq_mhz=None, **details):
    """An antenna from a pattern table.

    Parameters: ``name``; ``table`` a DataFrame with azimuth_deg (clockwise from the aim) and gain_db,
    and freq_mhz where the pattern is known at several frequencies; ``reference`` "dBd" if gain_db is
    gain over a half-wave dipole, "relative" if it is below the top, then ``gain_dbd`` is the gain at
    the top; ``freq_mhz`` (low, high) if the table has no frequencies; ``details`` as in from_numbers.
    Every frequency needs the same azimuths. Raises ValueError otherwise.

    >>> t = pd.DataFrame({"azimuth_deg": [-90, 0, 90, 180], "gain_db": [-9, 0, -9, -12]})
    >>> from_table("typed", t, "relative", 6, (470, 608)).gain_dbd(500, 45)
    1.5
    """
    if reference not in ("dBd", "relative"):
        raise ValueError(f"reference is {reference!r}; it must be 'dBd' or 'relative'.")
    wide, freq = _by_frequency(name, table, freq_mhz)
    azimuth = wide.columns.to_numpy(float)
    if azimuth.size > 1 and azimuth[-1] - azimuth[0] >= 360:
        wide, azimuth = wide.iloc[:, :-1], azimuth[:-1]
    gain = wide.to_numpy(float)
    if reference == "relative":
        gain = gain - gain.max() + float(check("gain_dbd", gain_dbd))
    details.setdefault("spread_db", facts.value("judgement", "antenna_typed_sd_db"))
    return Antenna(name, freq, azimuth, gain, source="table", **details)


def _by_frequency(name, table, freq_mhz):
    """Pattern table as frequencies by azimuths, and the frequencies."""
    missing = {"azimuth_deg", "gain_db"} - set(table.columns)
    if missing:
        raise ValueError(f"Pattern of {name!r} lacks the column {', '.join(sorted(missing))}.")
    if "freq_mhz" in table.columns:
        wide = table.pivot_table(index="freq_mhz", columns="azimuth_deg", values="gain_db")
        if wide.isna().to_numpy().any():
            raise ValueError(f"Pattern of {name!r}: every frequency needs the same azimuths.")
        return wide, wide.index.to_numpy(float)
    if freq_mhz is None:
        raise ValueError(f"Pattern of {name!r} has no freq_mhz column: say freq_mhz=(low, high).")
    row = table.set_index("azimuth_deg")["gain_db"].sort_index()
    freq = np.atleast_1d(check("freq_mhz", freq_mhz, above=0))
    return pd.DataFrame([row.to_numpy()] * freq.size, columns=row.index), freq


def from_build(build, freq_mhz=None, name=None, **details):
    """An antenna from a build: gain and pattern computed from its wires, mismatch and balun inside.

    Nulls of the drawing are filled to ``computed_floor_db`` below the top of their frequency (facts
    table ``judgement``): what a cable, a mast or a wall scatter is not drawn. Below the build's band the
    cable becomes the antenna, so the figure there is a floor.
    Parameters: ``build`` from shed.builds; ``freq_mhz`` (F,) rising, None for the channels the build
    is meant for; ``name`` None for the build's own; ``details`` as in from_numbers. A build on an ideal
    infinite sheet is refused: it overstates a real screen.

    >>> from . import builds
    >>> from_build(builds.half_wave_dipole(539), [500, 539, 580]).source
    'build'
    """
    from . import builds

    freq = builds.channel_freq_mhz(build) if freq_mhz is None else freq_mhz
    freq = np.atleast_1d(check("freq_mhz", freq, above=0))
    drawn = builds.realised_gain_dbd(build, freq, AZIMUTHS_DEG)
    floor = facts.value("judgement", "computed_floor_db")
    gain = np.maximum(drawn, drawn.max(axis=1, keepdims=True) - floor)
    details.setdefault("spread_db", facts.value("judgement", "antenna_computed_sd_db"))
    details.setdefault("polarization", build.polarization)
    details.setdefault("build", build)
    return Antenna(name or build.name, freq, AZIMUTHS_DEG, gain, source="build", **details)


def from_trial(name, comparison, baseline, pattern=None, **details):
    """An antenna from a gain trial: the baseline's gain plus the difference measured on each channel.

    Parameters: ``name`` as in the table's column antenna; ``comparison`` from shed.trials.compare of a
    gain trial, with freq_mhz, difference_db, low_db, high_db; ``baseline`` the Antenna it was compared
    with; ``pattern`` an Antenna whose shape it shares (None: the baseline's), since a trial measures
    only along the aim, and if that was computed from a build the card shows both gains; ``details`` as
    in from_numbers. Raises ValueError if nothing was measured or
    the trial was of the fixed aim kind. Channels on which the antenna gave no reading are left out.

    >>> rows = pd.DataFrame({"antenna": ["mine"] * 2, "freq_mhz": [500.0, 600.0],
    ...     "difference_db": [4.0, 6.0], "low_db": [3.0, 5.0], "high_db": [5.0, 7.0]})
    >>> from_trial("mine", rows, plain_dipole()).gain_dbd(550)
    5.0
    """
    if "kind" in comparison and (comparison["kind"] != "gain").any():
        raise ValueError(
            "This comparison is of a fixed aim trial: it says which antenna to mount and becomes no "
            "gain. Aim every antenna at each station and compare again with kind='gain'."
        )
    rows = comparison[comparison["antenna"] == name].dropna(subset=["difference_db"])
    if "readings" in rows:
        rows = rows[rows["readings"] > 0]
    rows = rows.sort_values("freq_mhz")
    if rows.empty:
        raise ValueError(f"The comparison measured nothing of {name!r}; compare it on one channel.")
    shape = pattern or baseline
    details.setdefault("build", None if pattern is None else pattern.build)
    freq = rows["freq_mhz"].to_numpy(float)
    relative = shape.gain_dbd(freq[:, None], AZIMUTHS_DEG) - shape.gain_dbd(freq, 0.0)[:, None]
    on_aim = baseline.gain_dbd(freq, 0.0) + rows["difference_db"].to_numpy(float)
    halfwidth = (rows["high_db"] - rows["low_db"]).to_numpy(float) / 2
    details.setdefault(
        "spread_db", float(np.hypot(np.mean(halfwidth) / SDS_TO_90, baseline.spread_db))
    )
    return Antenna(name, freq, AZIMUTHS_DEG, on_aim[:, None] + relative, source="trial", **details)


def plain_dipole(low_mhz=470.0, high_mhz=608.0):
    """A half-wave dipole with balun for any channel from ``low_mhz`` to ``high_mhz``: 0 dBd.

    Its pattern is the closed form cos(90 sin az) / cos az; nulls are filled to -16 dB.

    >>> plain_dipole().gain_dbd(500, 180)
    0.0
    """
    az = np.deg2rad(AZIMUTHS_DEG)
    with np.errstate(divide="ignore", invalid="ignore"):
        field = np.abs(np.cos(np.pi / 2 * np.sin(az)) / np.cos(az))
    floor = 10 ** (-facts.value("judgement", "side_floor_db") / 20)
    pattern = 20 * np.log10(np.maximum(np.nan_to_num(field), floor))
    table = np.vstack([pattern, pattern])
    return Antenna(
        "half-wave dipole", [low_mhz, high_mhz], AZIMUTHS_DEG, table, spread_db=1.0, effort=1
    )
