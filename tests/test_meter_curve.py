"""The curve through a ladder: what full rungs, unbroken channels, coarse displays and cliffs do to it.

The meters are invented and none has the form of straight pieces that the estimator draws; sixty ladders
of fourteen kinds are behind tests/bench/calibrate_curves.py, whose record is held to its promises here.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from signalshed import meters
from signalshed.meters import MeterCurve

PADS = (0, 3, 6, 10, 13, 16, 20)


def _rungs(meter, margin, channel, rng, pads=PADS):
    """A station read through larger and larger pads until the picture breaks."""
    rows = []
    for pad in pads:
        reading, locked = meter.show(margin - pad, rng)
        rows.append((meter.scale, channel, float(pad), float(reading), bool(locked)))
        if not locked:
            break
    return rows


def _table(rows):
    columns = ["scale", "rf_channel", "pad_db", "reading", "locked"]
    return pd.DataFrame(rows, columns=columns)


def _typed(readings, step=3):
    """A ladder of readings in even steps, lost behind the last pad but one."""
    return pd.DataFrame({
        "pad_db": step * np.arange(len(readings) + 1.0),
        "reading": [*readings, 0],
        "locked": [1] * len(readings) + [0],
    })  # fmt: skip


def _judged(ladders, meter, most=0.95):
    """Of fresh readings: inside, in the upper half of the meter, low ends of bounds true, error."""
    inside, upper, bounds, error = [], [], [], []
    for seed, table in enumerate(ladders):
        rng = np.random.default_rng(9000 + seed)
        curve = MeterCurve.fit(table)
        margin = rng.uniform(0, most * meter.span_db, 40)
        out = curve.to_margin_db(*meter.show(margin, rng))
        held, read = (out.low_db <= margin) & (margin <= out.high_db), out.status == "measured"
        inside += held[read].tolist()
        upper += held[read & (margin > meter.span_db / 2)].tolist()
        bounds += held[out.status == "at least"].tolist()
        error += (out.value_db - margin)[read].tolist()
    return np.mean(inside), np.mean(upper), np.mean(bounds or [1.0]), np.mean(error)


def test_a_station_that_stays_locked_behind_all_pads_makes_no_false_top():
    """One of three stations 30 to 50 dB strong, pads to 20 dB: what it says of "full" is a guess.

    Taken for sure, it made 9 of 10 hold 6 of 10, in the upper half 4, and pulled readings down.
    """
    meter = meters.meter("C/N quality")

    def ladder(seed):
        rng = np.random.default_rng(seed)
        margins = (*rng.uniform(6, 19, 2), rng.uniform(30, 50))
        return _table([
            row for k, m in enumerate(margins) for row in _rungs(meter, m, str(20 + k), rng)
        ])  # fmt: skip

    tables = [ladder(seed) for seed in range(30)]
    held, upper, bounds, error = _judged(tables, meter)
    assert held > 0.82 and upper > 0.8 and bounds > 0.85 and abs(error) < 1.0
    notes = " ".join(MeterCurve.fit(tables[0]).notes)
    assert "Channel 22: the picture held behind all pads" in notes and "add pads" in notes


def test_readings_on_the_scale_beyond_the_last_rung_are_values():
    """A ladder begun half way up: a reading of 80 is far from full, if less well known."""
    curve = MeterCurve.fit(_typed([62, 52, 41, 30]))
    out = curve.to_margin_db([41, 80, 100], True)
    assert out.status.tolist() == ["measured", "measured", "at least"]
    width = out.high_db - out.low_db
    assert width[1] > 1.5 * width[0] and out.value_db[1] > out.value_db[0] + 6
    assert 90 < curve.bound_from < 100


def test_a_ceiling_that_only_the_log_has_seen_is_one():
    """A meter that ends at 95: the ladder had weak stations, most of the trial stands there."""
    curve = MeterCurve.fit(_typed([91, 83, 72, 60, 47, 33]))
    log = np.array([95] * 40 + [94, 93, 91, 88, 86, 84, 80, 75, 71, 66])
    full, below = (log == 95), (log <= 91)
    assert (curve.linear(log[~full], True).status == "measured").all()
    told = curve.linear(log, True)
    assert np.isinf(told.high_db[full]).all() and (told.status[below] == "measured").all()
    spread = np.array([95] * 9 + [94] * 8 + [93] * 9 + [92] * 8 + [91] * 9)  # no pile: values all
    assert (curve.linear(spread, True).status == "measured").all()


def test_what_a_full_meter_shows_in_a_log_is_a_bound_and_what_it_does_not_is_a_value():
    """Of 200 full readings that flicker by 2 units 60 % are 100, below it is the bell.

    Counts by hand, 200 times the normal curve's steps about 100: 99 38, 98 35, 97 29, 96 21, 95 14.
    """
    curve = MeterCurve.fit(_typed([99, 92, 83, 72, 60, 47, 33]))
    value = [91, 88, 84, 80, 76, 71, 64]
    flickers = np.repeat([100, 99, 98, 97, 96, 95, *value], [120, 38, 35, 29, 21, 14, *[1] * 7])
    out = curve.linear(flickers, True)
    assert np.isinf(out.high_db[flickers >= 95]).all()
    assert (out.status[flickers <= 91] == "measured").all()
    steady = np.repeat([100, 97, 96, 95, *value], [120, 4, 3, 4, *[3] * 7])
    out = curve.linear(steady, True)
    assert np.isinf(out.high_db[steady == 100]).all()
    assert (out.status[steady <= 97] == "measured").all()


def test_readings_that_no_margin_shows_spoil_no_count():
    """Five bars over a cliff: below one bar lie no dB at all, and dividing by them made all a bound."""
    table = _typed([5, 5, 5, 4, 4, 3, 2, 1]).assign(scale="bars")
    drawn = MeterCurve.fit(table).shape
    cliff = replace(drawn, margin_db=drawn.margin_db - drawn.margin_db[:, :1] + 0.01)
    with np.errstate(all="raise", under="ignore"):
        below = cliff.as_noted_in(np.repeat([5.0, 4, 3, 2, 1], [30, 9, 9, 9, 9])).bound_from
    assert 2.5 <= below <= 4.5


def test_many_full_rungs_teach_what_a_full_meter_shows():
    """Six stations far above the ceiling in steps of 1.5 dB; a reading at 24 dB or more is no value."""
    meter = replace(meters.meter("C/N quality"), bend=0.0, span_db=20.0, flicker=1.0)
    pads = tuple(np.arange(0.0, 40.0, 1.5))
    for seed in range(3):
        rng = np.random.default_rng(seed)
        rows = [r for k in range(6) for r in _rungs(meter, 28.0 + k, str(30 + k), rng, pads)]
        out = MeterCurve.fit(_table(rows)).to_margin_db(*meter.show(rng.uniform(24, 40, 200), rng))
        assert (out.status == "measured").mean() < 0.08  # without it 0.17


def test_a_cliff_from_full_to_two_rungs_gives_a_wide_curve():
    """100 seven times, then 60 and 64: once a matrix without inverse."""
    curve = MeterCurve.fit(_typed([100] * 7 + [60, 64]))
    out = curve.to_margin_db([60, 80], True)
    # Lost 24 to 27 dB below no pad, full still 9 to 6 dB above that: so 80 lies between 0 and 9.
    assert (out.status == "measured").all() and (out.high_db - out.low_db > 3).all()
    assert (out.value_db > 0).all() and (out.value_db < 9).all()
    assert any("7 of 9 readings at the ceiling" in note for note in curve.notes)


@pytest.mark.parametrize("step", [5, 10])
def test_a_display_in_tens_or_fives_is_known_by_its_readings(step):
    """A reading of 60 then says 55 to 65, or 57.5 to 62.5, and no narrower interval."""
    meter = replace(meters.meter("C/N quality"), flicker=0.3, step=float(step))
    rng = np.random.default_rng(step)
    rows = [r for k in range(3) for r in _rungs(meter, 17 + k, str(20 + k), rng, range(0, 60, 2))]
    curve = MeterCurve.fit(_table(rows))
    assert curve.shape.step == step
    rise = (meter.top - meter.bottom) / meter.span_db  # 3.2 % a dB on average, less at 60 and above
    out = curve.to_margin_db(60, True)
    assert 0.8 * step / rise < out.high_db - out.low_db < 2.5 * step / rise + 1.5
    fine = replace(meter, step=1.0)
    rows = [r for k in range(3) for r in _rungs(fine, 17 + k, str(20 + k), rng, range(0, 60, 2))]
    assert MeterCurve.fit(_table(rows)).shape.step == 1


def test_a_reading_in_tens_through_a_fine_ladder_is_a_bracket():
    """The log was kept in round tens, the ladder was not: sixty is then anything from 55 to 65."""
    curve = MeterCurve.fit(_typed([96, 90, 83, 74, 64, 53, 41], step=2))
    looks = [60, 70, 60, 80, 50, 70]
    exact, round_ = (curve.linear(r, [True] * 6) for r in (np.add(looks, 1.0), looks))
    assert (round_.noise_db + round_.high_db - round_.low_db > exact.noise_db + 0.3).all()


def test_a_ladder_has_one_curve():
    """Draws are fixed: the same ladder gives the same numbers, rows in any order near the same."""
    table = _typed([95, 90, 82, 73, 62, 50, 37])
    once, again, mixed = (
        MeterCurve.fit(t).to_margin_db([50, 80], True) for t in (table, table, table.iloc[::-1])
    )
    assert once.value_db.tolist() == again.value_db.tolist()
    assert mixed.value_db == pytest.approx(once.value_db, abs=0.1)


def test_curves_rise_whatever_the_ladder():
    rng = np.random.default_rng(1)
    for _ in range(10):
        curve = MeterCurve.fit(_typed(rng.integers(20, 100, 6)[np.argsort(rng.random(6))]))
        if curve.source == "ladder":
            assert (np.diff(curve.shape.margin_db, axis=1) > 0).all()
            out = curve.to_margin_db(np.arange(0, 101.0), True)
            assert (np.diff(out.value_db) > -0.05).all() and (out.low_db <= out.value_db).all()


def test_the_ladders_on_record_keep_their_promises():
    """Sixty ladders of each kind: held beside its standard error; nothing on the scale thrown away."""
    file = Path(__file__).parent / "bench" / "calibration_curves.csv"
    table = pd.read_csv(file, index_col="kind")
    assert len(table) == 14 and (table["ladders"] >= 60).all()
    assert (table["held"] > 0.83).all() and (table["held_upper"] > 0.83).all()
    assert 0.87 < table["held"].mean() < 0.95
    fine = ~table.index.str.contains("rounded|bars")
    assert (table.loc[fine, "thrown"] < 0.03).all()
    strong = table[table.index.str.contains("strong")]
    assert (strong[["held", "held_upper", "bounds_held"]] > 0.85).to_numpy().all()


def test_a_plateau_is_drawn_where_rungs_crowd():
    """3 % a dB, but 60 for 6 dB: between 58.5 and 61.5 lie these six and one more, by hand 7 dB."""
    rows = []
    for channel, top_db in (("30", 24.0), ("31", 22.5), ("32", 23.3)):
        for pad in np.arange(0.0, 27.0, 1.5):
            left = top_db - pad
            shown = 30 + 3 * (left - np.clip(left - 10, 0, 6))
            rows.append((channel, pad, round(shown) if left >= 0 else 0, left >= 0))
    table = pd.DataFrame(rows, columns=["rf_channel", "pad_db", "reading", "locked"])
    low, high = MeterCurve.fit(table).to_margin_db([58, 62], True).value_db
    assert 5.0 <= high - low <= 9.5
