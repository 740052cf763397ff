"""One build: its wires for the solver, its pieces for the saw, and what follows from both."""

import functools
import hashlib
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from .. import channels, facts, wires
from ..units import LIGHT_M_MHZ, check, check_type, inches_text, plain
from .joining import check_lines
from .mesh import drag_area_m2, wind_pressure_pa
from .stock import Stock


@dataclass(frozen=True, eq=False)
class Piece:
    """``count`` pieces of ``stock`` to cut, each ``length_mm`` long, called ``label``; ``bends_mm``
    marks from one end.
    """

    label: str
    count: int
    length_mm: float
    stock: Stock
    bends_mm: tuple = ()


@dataclass(frozen=True, eq=False)
class Screen:
    """What stands behind an element: see rod_screen, mesh_screen, solid_screen, corner_screen.

    ``kind``; ``sizes`` in mm; ``behind_mm`` from the element to it (None: a start value);
    ``pieces`` to cut; ``drag_m2`` and ``weight_kg`` beside the pieces' own; ``draw`` a function of the
    build's top frequency, its polarization and behind_mm that gives wires; ``note``.
    """

    kind: str
    sizes: dict
    behind_mm: float | None
    draw: object
    pieces: tuple = ()
    drag_m2: float = 0.0
    weight_kg: float = 0.0
    note: str = ""


@dataclass(frozen=True, eq=False)
class Build:
    """An antenna to make.

    ``form`` the function that made it; ``name``; ``band_mhz`` (low, high) it is meant for; ``sizes``
    the arguments that make it again, in mm; ``pieces`` to cut; ``element`` its wires; ``terminals_m``
    (n, 3); ``balun`` a row of the facts table ``baluns``; ``polarization``; ``gap_mm`` between its
    terminals; ``screen`` or None; ``notes`` sentences; ``lines`` a wires.Line from each of
    several terminals to the joint, or none.
    """

    form: str
    name: str
    band_mhz: tuple
    sizes: dict
    pieces: tuple
    element: tuple
    terminals_m: np.ndarray = field(default_factory=lambda: np.zeros((1, 3)))
    balun: str = "1:1"
    polarization: str = "horizontal"
    gap_mm: float = field(default_factory=lambda: facts.value("builds", "feed_gap_mm"))
    screen: Screen | None = None
    notes: tuple = field(default=())
    lines: tuple = ()

    def __post_init__(self):
        if self.balun not in _baluns():
            raise ValueError(f"balun is {self.balun!r}; it must be {' or '.join(_baluns())}.")
        check_lines(self)

    @functools.cached_property
    def all_wires(self):
        """Wires of the element, then those of the screen."""
        if self.screen is None or self.ideal:
            return tuple(self.element)
        behind_m = self.screen.behind_mm / 1000
        return (*self.element, *self.screen.draw(self.band_mhz[1], self.polarization, behind_m))

    @property
    def sheet_m(self):
        """The x of the ideal sheet, metres, or None."""
        return -self.screen.behind_mm / 1000 if self.ideal else None

    @functools.cached_property
    def structure(self):
        """The wires as a wires.Structure, screen and all."""
        return wires.Structure(self.all_wires, self.terminals_m, self.sheet_m, self.lines)

    @functools.cached_property
    def identity(self):
        """What a build is to whoever computes: wires and metal, terminals, sheet, balun, polarization.

        Builds of equal identity have equal gains; names, forms and typed sizes do not count.
        """
        metal = [(w.points_m.tobytes(), w.radius_m, w.segments, w.metal) for w in self.all_wires]
        placed = tuple(metal), self.terminals_m.tobytes(), self.sheet_m, self.lines
        return *placed, self.balun, self.polarization

    @functools.cached_property
    def kept_key(self):
        """The identity as one short word, its wires to the ten-thousandth of a millimetre."""
        metal = [
            (_shown(w.points_m), _shown(w.radius_m), w.segments, w.metal) for w in self.all_wires
        ]
        ends = [self.sheet_m, self.lines, self.line_ohm, self.balun, self.polarization]
        text = repr([metal, _shown(self.terminals_m), ends])
        return hashlib.sha256(text.encode()).hexdigest()[:20]

    @property
    def ideal(self):
        """Whether an infinite sheet stands behind: for learning, never for ranking."""
        return self.screen is not None and self.screen.kind == "infinite_sheet"

    @property
    def all_pieces(self):
        """Pieces of the element, then of the screen."""
        return self.pieces + (self.screen.pieces if self.screen else ())

    @property
    def cut_list(self):
        """What to cut: DataFrame of piece, count, length_mm (whole), length_in (sixteenths), stock."""
        rows = [
            (p.label, p.count, round(p.length_mm), inches_text(p.length_mm), p.stock.text)
            for p in self.all_pieces
        ]
        rows += [
            ("joining line", len(self.lines), round(mm), inches_text(mm), self.line_kind)
            for mm in self.lines_mm[:1]
        ]
        return pd.DataFrame(rows, columns=["piece", "count", "length_mm", "length_in", "stock"])

    @property
    def lines_mm(self):
        """Length of each joining line, mm."""
        return tuple(1000 * line.length_m for line in self.lines)

    @property
    def line_kind(self):
        """What the joining lines are made of, in words; empty without any."""
        if not self.lines:
            return ""
        one = self.lines[0]
        kind = "open line" if one.velocity > 0.95 else "cable"
        return f"{one.ohm:.0f} ohm {kind}, velocity {one.velocity:.2f}"

    @property
    def wire_m(self):
        """Length of everything on the cut list together, metres."""
        return sum(p.count * p.length_mm for p in self.all_pieces) / 1000

    @property
    def weight_kg(self):
        """Weight of metal in kg, without boom, frame and clamps."""
        own = sum(p.count * p.length_mm / 1000 * p.stock.kg_per_m for p in self.all_pieces)
        return float(own + (self.screen.weight_kg if self.screen else 0.0))

    def wind_load_n(self, speed_m_s=None):
        """Push of the wind from in front, newton, element and screen together, without ice.

        Parameters: ``speed_m_s`` from 0 to 120, None for the storm figure of the facts table ``builds``.
        """
        return sum(self.wind_parts_n(speed_m_s))

    def wind_parts_n(self, speed_m_s=None):
        """Push of the wind on the element and on the screen, newton, as ``wind_load_n``.

        Parameters: ``speed_m_s`` as there.
        """
        speed = facts.value("builds", "wind_speed_m_s") if speed_m_s is None else speed_m_s
        pressure = wind_pressure_pa(speed)
        element = drag_area_m2("rod", _seen_m2(self.pieces))
        if self.screen is None:
            return float(pressure * element), 0.0
        screen = drag_area_m2("rod", _seen_m2(self.screen.pieces)) + self.screen.drag_m2
        return float(pressure * element), float(pressure * screen)

    @property
    def line_ohm(self):
        """Impedance the balun offers the antenna, ohm."""
        return float(_baluns()[self.balun]["antenna_ohm"])

    @property
    def balun_loss_db(self):
        """What the balun itself keeps, dB."""
        return float(_baluns()[self.balun]["loss_db"])

    def renamed(self, name):
        """The same build under another ``name``."""
        return replace(self, name=str(name))

    def with_balun(self, balun):
        """The same build with another ``balun`` of the facts table ``baluns``."""
        return replace(self, balun=balun)

    def joined_by(self, *lines):
        """The same build with other joining ``lines``, one wires.Line a terminal; one stands for all.

        No line at all: the terminals are joined over no distance, which nobody can build.
        """
        many = lines * len(self.terminals_m) if len(lines) == 1 else lines
        return replace(self, lines=tuple(many))

    def with_screen(self, screen, behind_mm=None):
        """The same element in front of ``screen``, ``behind_mm`` from it (None: the screen's own)."""
        distance = screen.behind_mm if behind_mm is None else behind_mm
        if distance is None:
            middle = np.sqrt(self.band_mhz[0] * self.band_mhz[1])
            start = "corner_wavelengths" if screen.kind == "corner_screen" else "behind_wavelengths"
            distance = round(facts.value("builds", start) * 1000 * LIGHT_M_MHZ / middle)
        check("behind_mm", distance, above=0)
        plain_name = self.name.split(" before ")[0]
        return replace(
            self,
            name=f"{plain_name} before {_ARTICLE[screen.kind]}",
            screen=replace(screen, behind_mm=float(distance)),
        )

    def __repr__(self):
        low, high = self.band_mhz
        return f"<build: {self.name}, {low:g} to {high:g} MHz, {self.wire_m:.2f} m of wire and rod>"


_ARTICLE = {
    "rod_screen": "a screen of rods",
    "mesh_screen": "a mesh screen",
    "solid_screen": "a solid sheet",
    "corner_screen": "a corner of rods",
    "infinite_sheet": "an infinite sheet (ideal)",
}


def _seen_m2(pieces):
    """Area of rods and wires as the wind sees it, m2."""
    return sum(p.count * p.length_mm * p.stock.width_mm * 1e-6 for p in pieces)


def _shown(lengths_m):
    """Lengths in whole ten-thousandths of a millimetre."""
    return np.rint(np.asarray(lengths_m, float) * 1e7).astype(int).tolist()


@functools.cache
def _baluns():
    return facts.table("baluns").set_index("balun").to_dict("index")


def check_build(build):
    """A ValueError that says how a Build is got, unless ``build`` is one.

    >>> check_build("loop")
    Traceback (most recent call last):
    ValueError: build is of type str; it must be a Build, as shed.builds.loop(539).
    """
    check_type("build", build, Build, "a Build, as shed.builds.loop(539)")


def band(freq_mhz):
    """(low, high) MHz a build is meant for, from one frequency or two.

    Parameters: ``freq_mhz`` one frequency, then low and high are the same, or (low, high), rising.

    >>> band(539), band((470, 608))
    ((539.0, 539.0), (470.0, 608.0))
    """
    pair = np.atleast_1d(check("freq_mhz", freq_mhz, low=30, high=3000))
    if pair.ndim != 1 or pair.size not in (1, 2) or pair[-1] < pair[0]:
        raise ValueError(f"freq_mhz is {freq_mhz!r}; it must be one frequency or (low, high).")
    return float(pair[0]), float(pair[-1])


def few(freq_mhz, most=6):
    """A few of many frequencies, the first and the last among them.

    Parameters: ``freq_mhz`` (F,); ``most`` how many, 2 or more.

    >>> few([470, 500, 539, 608], 3)
    [470, 539, 608]
    """
    picks = np.unique(np.linspace(0, len(freq_mhz) - 1, most).round().astype(int))
    return [freq_mhz[k] for k in picks]


def channel_freq_mhz(build, region="us"):
    """Centre frequencies (F,) of the channels a build is meant for.

    Between the two ends of its band; for one frequency, the whole band of the plan around it; where
    the plan has no such band, the build's own ends.
    Parameters: ``build``; ``region`` of shed.channels.

    >>> from . import half_wave_dipole
    >>> len(channel_freq_mhz(half_wave_dipole(539))), len(channel_freq_mhz(half_wave_dipole((174, 192))))
    (23, 3)
    """
    check_build(build)
    return _centres_mhz(*build.band_mhz, region).copy()


@functools.lru_cache(maxsize=256)
def _centres_mhz(low, high, region):
    plan = channels.plan(region)
    if low == high:
        here = plan.loc[(plan.low_mhz <= low) & (low <= plan.high_mhz), "band"]
        chosen = plan[plan["band"].isin(here)]
    else:
        chosen = plan[(plan.centre_mhz >= low) & (plan.centre_mhz <= high)]
    return chosen.centre_mhz.to_numpy() if len(chosen) else np.unique([low, high])


def below_its_band(build, freq_mhz, region="us"):
    """Whether a frequency lies so far below a build's channels that its cable becomes the antenna.

    A computed gain is a floor there. Parameters: ``build``; ``freq_mhz`` any shape; ``region`` of
    shed.channels. Returns a bool or an array of bools.

    >>> from . import half_wave_dipole
    >>> below_its_band(half_wave_dipole(539), [189, 473]).tolist()
    [True, False]
    """
    check_build(build)
    lowest = min(build.band_mhz[0], channel_freq_mhz(build, region)[0])
    share = facts.value("builds", "still_itself_share")
    return plain(check("freq_mhz", freq_mhz, above=0) < share * lowest)
