"""The maker's evenings at the hill house: the ladder and the readings that the demo folder holds."""

import pandas as pd

from signalshed import survey
from signalshed.meters.log import VOID
from signalshed.simulate import DEMO_METERS, demo_site, ladder, readings, truth

LADDER_PADS_DB = (0, 3, 6, 9, 10, 13, 16, 19, 20, 23, 26, 29)
"""What a kit of pads of 3, 6, 10 and 20 dB can add up to, each at most once, dB."""

_SCREEN, _LOOP, _VHF = "double loop with screen", "wire loop", "VHF three-element Yagi"
_FIRST, _SECOND = ("2026-05-09", 19 * 60 + 10), ("2026-05-16", 20 * 60 + 5)
_OFFSET = "-03:00"


def ladder_rows():
    """The ladder of the tuner at the hill house, as meter.csv holds it: a DataFrame."""
    setup = survey.Setup(_SCREEN, "roof mast", heading_deg=38.0)
    return ladder(truth(), setup, "24", LADDER_PADS_DB, DEMO_METERS)


def reading_rows():
    """Two evenings of readings at the hill house, as readings.csv holds them: a DataFrame."""
    first = [
        *_round(_SCREEN),
        *_pads(_SCREEN, 24, 38, (6, 10, 16)),
        *_pads(_SCREEN, 21, 162, (10, 20, 30)),
    ]
    second = [*_turn(_SCREEN, 21, 30), *_turn(_SCREEN, 31, 6), *_vhf(), *_attic(), *_window()]
    plan = pd.concat([_evening(*_FIRST, first), _evening(*_SECOND, second)], ignore_index=True)
    rows = readings(truth(), plan.assign(meter=demo_site().tuner.name), DEMO_METERS, seed=5)
    return _with_a_slip(rows)


def _round(antenna):
    """All UHF channels once, each from the heading of its group, and strength for a few."""
    for heading, wanted in (
        (38, (24, 33, 17, 19, 16)),
        (162, (21, 29)),
        (300, (31, 26, 27)),
        (201, (35,)),
    ):
        for channel in wanted:
            yield ("roof mast", antenna, "quality", channel, heading, 0)
    for heading, channel in ((38, 24), (38, 33), (162, 21)):
        yield ("roof mast", antenna, "strength", channel, heading, 0)


def _pads(antenna, channel, heading, pads_db):
    return [("roof mast", antenna, "quality", channel, heading, pad) for pad in pads_db]


def _turn(antenna, channel, pad_db):
    """A rotation log: one channel, all round in steps of 15 degrees, behind a pad."""
    return [
        ("roof mast", antenna, "quality", channel, heading, pad_db) for heading in range(0, 360, 15)
    ]


def _vhf():
    return [("roof mast", _VHF, "quality", 9, 38, 0), ("roof mast", _VHF, "quality", 12, 162, 0)]


def _attic():
    pairs = ((24, 38), (33, 38), (17, 38), (21, 162), (29, 162))
    return [("attic", _LOOP, "quality", channel, heading, 0) for channel, heading in pairs]


def _window():
    return [("bench window", _LOOP, "quality", channel, 45, 0) for channel in (24, 33, 16)]


def _evening(date, minute, rows):
    """A plan with a time for every row, two minutes apart."""
    names = ["mount", "antenna", "scale", "rf_channel", "heading_deg", "pad_db"]
    plan = pd.DataFrame(rows, columns=names).astype(
        {"rf_channel": str, "heading_deg": float, "pad_db": float}
    )
    clock = [minute + 2 * k for k in range(len(plan))]
    return plan.assign(time=[f"{date}T{m // 60:02d}:{m % 60:02d}:00{_OFFSET}" for m in clock])


def _with_a_slip(rows):
    """One row typed on the wrong channel, and the row that takes it back, as the log writes it."""
    typed, undone = (f"{_FIRST[0]}T19:{clock}{_OFFSET}" for clock in ("11:00", "11:30"))
    slip = rows.iloc[[1]].assign(time=typed, rf_channel="23")
    back = slip.assign(time=undone, note=VOID + typed)
    return pd.concat([rows.iloc[:1], slip, back, rows.iloc[1:]], ignore_index=True)
