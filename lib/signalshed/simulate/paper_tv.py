"""The TV of the tables that have none: cards with a truth, strips of paper as pads, and a clock.

A reading is the spare dB of the card's station through the antenna that hangs, with this mounting, at
this minute, less what the strips take in the card's own line, shown by the card's own meter. Strips,
mountings and flicker are off as those of a real table are, and the same for the same card.
"""

import functools
from dataclasses import dataclass

import numpy as np

from .. import chain, facts
from ..meters import Meter
from ..units import check, one_of, plain
from ..units import number as one_number
from .truths import normal

STRIPS_DB = {"3": 3.0, "6": 6.0, "10": 10.0, "20": 20.0, "splitter": 3.5}
"""What the strips of one set say, dB."""
STATIONS_DB = {"A": 22.0, "B": 46.0, "C": 4.0, "D": -6.0}
"""Spare dB of a card's stations, before the card's own two decibels either way on A."""
ANTENNAS = ("as it hangs", "X", "Y")
PLAIN_CARDS = 12
MOUNT_SD_DB, STRIP_SD_DB, PLUG_SD_DB = 0.7, 0.4, 0.3
PAD_MIN, TUNE_MIN, SWAP_MIN, TURN_MIN, PURSE_MIN = 1.0, 0.75, 8.0, 1.5, 120.0
CLEAN_DB, HOLDS_DB = 1.0, -1.0
"""Spare dB above which a picture is clean, and down to which one that plays holds on."""
WET_DB_PER_MIN = 0.1
_UHF_MHZ, _VHF_MHZ = 602.0, 195.0
_LOUD_DBM, _NEIGHBOURS_MHZ = -29.0, (590.0, 596.0)


@dataclass(frozen=True)
class TVCard:
    """A card: ``number``; ``kind`` and what it ``says`` in words; ``meter`` a Meter; ``trouble`` of
    its line: none, amplifier, overload, wet or house; ``stations_db`` spare dB of A to D.
    """

    number: int
    kind: str
    says: str
    meter: Meter
    trouble: str
    stations_db: dict


def tv_card(number):
    """The TVCard with a ``number``, 1 to 24: up to 12 a plain tuner, above them one of each kind.

    >>> tv_card(1).trouble, tv_card(16).kind
    ('none', 'behind a mast amplifier')
    """
    last = PLAIN_CARDS + len(facts.table("tv_cards"))
    return _card(int(one_number("number", number, low=1, high=last)))


@functools.cache
def _card(number):
    table = facts.table("tv_cards")
    rows = table[table["kind"].str.startswith("plain")] if number <= PLAIN_CARDS else table
    row = rows.iloc[(number - 1) % len(rows) if number <= PLAIN_CARDS else number - PLAIN_CARDS - 1]
    shape = {k: row[k] for k in ("scale", "bottom", "top", "span_db", "bend", "step", "flicker")}
    stations = STATIONS_DB | {"A": round(STATIONS_DB["A"] + 2 * normal(number, "station"), 1)}
    meter = Meter(f"card {number}", **shape)
    return TVCard(number, row["kind"], row["says"], meter, row["trouble"], stations)


def strip_cost_db(trouble, loss_db):
    """What a loss at the TV takes of the spare dB in a line with a ``trouble``; below 0 it brings some.

    Parameters: ``trouble`` as in TVCard; ``loss_db`` 0 or more.

    >>> [round(strip_cost_db(t, 10.0), 1) for t in ("none", "amplifier", "house")]
    [10.0, 4.0, 4.3]
    """
    if trouble == "overload":
        return _floor_dbm(loss_db) - _floor_dbm(0.0)
    amplified = chain.amplifier("mast amplifier", 16, 2), chain.pad(4)
    line = chain.Feed("line", amplified if trouble == "amplifier" else ())
    tuner = chain.Tuner("TV", ("ATSC1",), noise_figure_db=7)
    freq_mhz, around = (_VHF_MHZ, "city") if trouble == "house" else (_UHF_MHZ, "none")
    return chain.pad_cost_db(loss_db, line, tuner, freq_mhz, environment=around)


def _floor_dbm(loss_db):
    """Noise and third-order products of two loud neighbours, at the antenna, behind a loss."""
    tuner = chain.Tuner("TV", ("ATSC1",), noise_figure_db=7, input_ip3_dbm=0)
    parts = (chain.pad(loss_db), tuner.part)
    made = chain.load(parts, (*_NEIGHBOURS_MHZ, _UHF_MHZ), (_LOUD_DBM, _LOUD_DBM, -np.inf))
    both = 10 ** (np.array([chain.noise_dbm(parts, _UHF_MHZ), made.product_dbm[2]]) / 10)
    return float(10 * np.log10(both.sum()))


@dataclass(frozen=True)
class Look:
    """What one look shows: ``picture`` clean, blocks or black; ``reading`` None when black; ``old``
    the reading that stood there before; ``minute`` of the purse.
    """

    picture: str
    reading: float | None
    old: float | None
    minute: float


class PaperTV:
    """One table's TV: a card, a pair of envelopes, and what the table has spent.

    Parameters: ``number`` of the card; ``pair`` of the envelopes, 1 to 6; ``purse_min`` minutes.

    >>> tv = PaperTV(1)
    >>> tv.screw_in(["20"], "as it hangs", "A").picture, tv.spent_min
    ('clean', 1.0)
    """

    def __init__(self, number, pair=1, purse_min=PURSE_MIN):
        pairs = facts.table("tv_pairs").set_index("pair")
        check("pair", pair, low=1, high=len(pairs))
        self.card, self.pair = tv_card(number), pairs.loc[int(pair)]
        self.purse_min = float(purse_min)
        self.spent_min, self.looks, self.mountings = 0.0, [], 0
        self.listed = list(self.card.stations_db)
        self._there, self._playing = ((), ANTENNAS[0], self.listed[0]), False

    @property
    def is_dark(self):
        """Whether the purse is empty: no more looks."""
        return self.spent_min >= self.purse_min

    @property
    def clock(self):
        """The hour of the evening, which begins at 18:00.

        >>> PaperTV(1).clock
        '18:00'
        """
        hour, minute = divmod(int(18 * 60 + self.spent_min), 60)
        return f"{hour:02d}:{minute:02d}"

    def spare_db(self, strips, antenna, station):
        """True spare dB now, with the mounting and the evening, without flicker.

        Parameters: ``strips`` names of STRIPS_DB; ``antenna`` of ANTENNAS; ``station`` A to D.

        >>> round(PaperTV(1).spare_db([], "as it hangs", "C"), 1)
        4.0
        """
        card, number = self.card, self.card.number
        loss_db = sum(STRIPS_DB[s] + STRIP_SD_DB * normal(number, "strip", s) for s in strips)
        loss_db += PLUG_SD_DB * normal(number, "plug", str(len(self.looks))) * bool(strips)
        hung = MOUNT_SD_DB * normal(number, "mounting", str(self.mountings)) * bool(self.mountings)
        gain_db = {"X": self.pair["x_db"], "Y": self.pair["y_db"]}.get(antenna, 0.0)
        drift_db = self.pair["drift_db_per_h"] * self.spent_min / 60 * (antenna in ("X", "Y"))
        wet_db = WET_DB_PER_MIN * self.spent_min * (card.trouble == "wet")
        cost_db = strip_cost_db(card.trouble, max(loss_db, 0.0))
        return float(card.stations_db[station] + gain_db + hung + drift_db - wet_db - cost_db)

    def screw_in(self, strips, antenna, station):
        """One look: the minutes are spent, then the Look of it. ValueError for what is not there.

        Parameters: ``strips``, ``antenna`` and ``station`` as in ``spare_db``.

        >>> PaperTV(1).screw_in([], "as it hangs", "D").reading is None
        True
        """
        self._refuse(strips, antenna, station)
        now = (tuple(sorted(strips)), antenna, station)
        _, hung, tuned = self._there
        self.mountings += antenna != hung
        cost = PAD_MIN + TUNE_MIN * (station != tuned) + (SWAP_MIN + TURN_MIN) * (antenna != hung)
        self.spent_min = min(self.spent_min + cost, self.purse_min)
        spare = self.spare_db(strips, antenna, station)
        self._playing = spare >= (HOLDS_DB if self._playing and now == self._there else 0.0)
        self._there = now
        old = self.looks[-1].reading if self.looks else None
        picture = ("clean" if spare > CLEAN_DB else "blocks") if self._playing else "black"
        self.looks.append(Look(picture, self._shown(spare), old, self.spent_min))
        return self.looks[-1]

    def _shown(self, spare_db):
        """What the meter shows, with the flicker that belongs to card and look."""
        if not self._playing:
            return None
        rng = np.random.default_rng([self.card.number, len(self.looks)])
        return float(self.card.meter.show(max(spare_db, 0.0), rng)[0])

    def scan(self, strips, antenna):
        """Look for stations: the list that the TV keeps; with strips in, what is lost is gone from it.

        Parameters: ``strips`` and ``antenna`` as in ``spare_db``. It costs a tuning per station.

        >>> PaperTV(1).scan(["20", "10"], "as it hangs")
        ['B']
        """
        self._refuse(strips, antenna)
        all_of_them = list(self.card.stations_db)
        self.spent_min = min(self.spent_min + TUNE_MIN * len(all_of_them), self.purse_min)
        heard = [s for s in all_of_them if self.spare_db(strips, antenna, s) >= 0]
        self.listed = [s for s in self.listed if s in heard] if strips else all_of_them
        return list(self.listed)

    def _refuse(self, strips, antenna, station=None):
        if self.is_dark:
            raise ValueError("The purse is empty and the sun has set: bet on what you have.")
        unknown = [s for s in strips if s not in STRIPS_DB]
        if unknown or len(set(strips)) < len(strips):
            raise ValueError(f"strips are some of {', '.join(STRIPS_DB)}, each once.")
        one_of("antenna", antenna, ANTENNAS)
        if station is not None and station not in self.listed:
            raise ValueError(f"Station {station} is not in the list: scan without strips.")

    @property
    def truth_db(self):
        """By how many dB Y is better than X.

        >>> PaperTV(1, pair=2).truth_db
        -3.0
        """
        return float(self.pair["y_db"] - self.pair["x_db"])


def score(low_db, high_db, truth_db):
    """Score of a bet on an interval: its width and 20 times what it misses by, dB; the lowest wins.

    The interval score for 90 % (Gneiting and Raftery, 2007, Journal of the American Statistical
    Association 102, eq. 43: width and 2 / alpha times the miss). ValueError if ``low_db`` is above
    ``high_db``.
    Parameters: ``low_db``, ``high_db`` and ``truth_db``, dB, any shapes that broadcast.

    >>> score(-1, 2, 0), score(1, 3, 0)
    (3.0, 22.0)
    """
    low, high, truth = (np.asarray(v, float) for v in (low_db, high_db, truth_db))
    if np.any(low > high):
        raise ValueError("low_db must not be above high_db.")
    missed = np.maximum(low - truth, 0) + np.maximum(truth - high, 0)
    return plain(high - low + 20 * missed)
