"""An antenna's gain against direction, on plain axes: decibels upward, degrees from the aim across."""

import numpy as np

from .. import facts
from ..antenna import Antenna
from ..builds import width_deg
from ..units import SDS_TO_90, check_type
from ..words import short, signed
from . import style
from .picture import drawn, ordered

SIZE_IN = (8.8, 4.8)
STYLES = ("-", "--", "-.", ":")
_AROUND_DEG = np.arange(-180.0, 181.0, 1.0)


def pattern(antenna, freq_mhz=None, ax=None, limits_db=None):
    """Gain against azimuth at one to four frequencies: a Picture, or a Pattern on your own ``ax``.

    Parameters: ``antenna`` an Antenna; ``freq_mhz`` one to four frequencies within its table, None for
    its lowest, middle and highest; ``ax`` an Axes, or None for a figure of its own; ``limits_db``
    (low, high) of the gain axis in dBd, None to fit. The band round the first line holds 9 of 10
    antennas of this kind.

    >>> from ..antenna import plain_dipole
    >>> pattern(plain_dipole(), 539).alt[:57]
    'Gain of half-wave dipole against azimuth. 539 MHz: 0.0 dB'
    """
    freq = np.atleast_1d(_ends_and_middle(antenna) if freq_mhz is None else freq_mhz)
    gains = [np.asarray(antenna.gain_dbd(f, _AROUND_DEG)) for f in freq]
    names = [f"{f:.0f} MHz" for f in freq]
    ends = limits_db or _limits_db(gains, antenna.spread_db)
    state = antenna.name, names, gains, antenna.spread_db
    return drawn(ax, SIZE_IN, lambda axes: Pattern(axes, ends, len(gains)), *state)


def _ends_and_middle(antenna):
    check_type("antenna", antenna, Antenna, "an Antenna, as site.antenna('wire loop')")
    ends = antenna.freq_mhz[[0, -1]]
    return np.unique([ends[0], ends.mean(), ends[1]])


def _limits_db(gains, spread_db):
    half = SDS_TO_90 * spread_db
    high = 5 * np.ceil((np.max(gains) + half + 1) / 5)
    low = 5 * np.floor(max(np.min(gains) - half, high - 45) / 5)
    return float(min(low, high - 10)), float(high)


class Pattern:
    """Patterns on an Axes; ``update`` moves them in place.

    Parameters: ``ax`` an Axes; ``limits_db`` (low, high) in dBd; ``lines`` most lines, 1 to 4.
    ``artists`` are what moves, back to front; ``alt`` says it in words.

    >>> picture = Pattern(style.new_figure(*SIZE_IN).add_subplot(), (-20, 10), 1)
    >>> picture.update("flat", ["500 MHz"], [np.zeros(361)])[:27]
    'Gain of flat against azimut'
    """

    def __init__(self, ax, limits_db=(-25.0, 15.0), lines=3):
        if not 1 <= lines <= len(STYLES):
            raise ValueError(f"lines is {lines}; it must be from 1 to {len(STYLES)}.")
        self.ax, self.alt = ax, ""
        with style.house():
            self._still(limits_db)
            colour = style.MEANING["antenna"]
            (self.band,) = ax.fill([0, 0], [0, 0], color=colour, alpha=0.22, lw=0)
            plain = {"color": colour, "lw": 2.2}
            self.lines = [ax.plot([], [], ls=s, **plain)[0] for s in STYLES[:lines]]
            self.keys = [self._key(k, s) for k, s in enumerate(STYLES[:lines])]
            self.title = ax.set_title("", weight="bold")
        samples, texts = zip(*self.keys, strict=True)
        self.artists = ordered((self.band, *self.lines, *texts, *samples, self.title))

    def _still(self, limits_db):
        self.ax.set(xlim=(-180, 180), ylim=limits_db, xticks=np.arange(-180, 181, 45))
        self.ax.set_xticklabels([f"{a:.0f}°".replace("-", "−") for a in np.arange(-180, 181, 45)])
        self.ax.set_xlabel("azimuth from the aim, clockwise positive")
        low = self.ax.figure.get_size_inches()[1] < 3.5
        self.ax.set_ylabel("gain, dBd" if low else "gain, dB over a half-wave dipole (dBd)")
        self.ax.axvline(0, color=style.MEANING["aim"], lw=2, ls=(0, (4, 3)))
        self.ax.annotate(
            "aim", (0, 0.02), xycoords=("data", "axes fraction"), xytext=(5, 0),
            textcoords="offset points", color=style.AIM_TEXT,
        )  # fmt: skip

    def _key(self, k, line_style):
        """A sample of one line and room for its name, in the upper left corner."""
        # In a low picture a name needs more of the height: 0.3 inches hold one, with its margins.
        apart = max(0.07, 0.3 / self.ax.figure.get_size_inches()[1])
        side, level = self.ax.transAxes, 0.95 - apart * k
        sample = {"transform": side, "color": style.MEANING["antenna"], "lw": 2.2}
        (line,) = self.ax.plot([0.02, 0.08], [level] * 2, ls=line_style, **sample)
        return line, self.ax.text(0.09, level, "", transform=side, va="center", bbox=style.PAPER)

    def update(self, name, names, gains_dbd, spread_db=None):
        """Move to other patterns; returns the alternative text.

        Parameters: ``name`` of the antenna; ``names`` of the lines; ``gains_dbd`` for each an array
        over -180, -179 ... 180 degrees from the aim; ``spread_db`` one standard deviation, drawn as a
        90 % band round the first line (None: none).
        """
        for k, (line, key) in enumerate(zip(self.lines, self.keys, strict=True)):
            there = k < len(names)
            line.set_data(*((_AROUND_DEG, gains_dbd[k]) if there else ([], [])))
            key[0].set_visible(there)
            key[1].set_text(short(names[k], 28) if there else "")
        half = SDS_TO_90 * (spread_db or 0.0)
        around = np.r_[_AROUND_DEG, _AROUND_DEG[::-1]]
        first = np.asarray(gains_dbd[0], float)
        self.band.set_xy(np.c_[around, np.r_[first - half, first[::-1] + half]])
        self.title.set_text(short(name, 60))
        self.alt = _alt(name, names, gains_dbd, half)
        return self.alt


def _behind_words(gain):
    """Gain behind, "at most" where mast and cable decide how little it is."""
    least = gain[180] - facts.value("judgement", "computed_floor_db")
    if gain[0] > least + 0.05:
        return f"{signed(gain[0], 1)} behind"
    return f"at most {signed(least, 1)} behind"


def _alt(name, names, gains_dbd, half_db):
    words = []
    for line, gain in zip(names, gains_dbd, strict=True):
        gain = np.asarray(gain, float)
        words.append(
            f"{line}: {signed(gain[180], 1)} dBd on the aim, {_behind_words(gain)}, "
            f"{_width_words(gain)}"
        )
    spread = f" 9 of 10 such antennas lie within {half_db:.1f} dB of it." if half_db else ""
    return f"Gain of {name} against azimuth. " + "; ".join(words) + f".{spread}"


def _width_words(gain_dbd):
    """Width of the lobe that holds the top, 3 dB down."""
    low = gain_dbd[:-1] < gain_dbd[:-1].max() - 3
    if not low.any():
        return "never 3 dB below its best"
    turned = np.roll(gain_dbd[:-1], 180 - int(np.argmax(gain_dbd[:-1])))
    return f"{width_deg(np.arange(-180, 180), turned):.0f}° wide where 3 dB are lost"
