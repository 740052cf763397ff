"""What lesson 06 computes beside its panels: two tables, many evenings, the ends of a trial."""

import re

import numpy as np
import pytest

from signalshed import trials
from signalshed.classroom import lesson_06
from signalshed.classroom.lesson_06 import order, tables


def test_each_table_proves_the_one_it_put_up_first():
    for fall_db_h in (1.5, 2, 3, 4.0):
        for mean, half in lesson_06.reports(fall_db_h, 4):
            assert trials.verdict(mean - half, mean + half) == "better"
            # By hand: four mountings of nine minutes lie between the turns of an antenna.
            assert mean == pytest.approx(fall_db_h * 4 * 9 / 60, abs=0.5)


def test_without_a_fall_no_table_proves_anything():
    assert all(abs(mean) < half for mean, half in lesson_06.reports(0, 4))


def test_a_table_is_read_as_it_is_drawn():
    panel = lesson_06.tables_panel()
    assert "better" not in panel.alt and "names" not in panel.alt
    panel.place(tables.ASKS.options[0])
    assert "each table names the one it put up first" in panel.words.finding
    assert "You said: both: cannot tell." in panel.verdict
    panel.set(fall_db_h=0)
    assert "neither table can tell" in panel.words.finding


def test_a_steady_fall_costs_what_the_hand_finds_and_nothing_when_pairs_are_turned():
    # By hand: a fall of 2 dB an hour between turns 0.6 h apart, 0.15 h apart, and none.
    level = -2 * order.SLOT_H * np.arange(8.0)
    found = [order.judged(lesson_06.order.who(o, 4), level[None])[0][0] for o in lesson_06.ORDERS]
    assert found == pytest.approx([-1.2, -0.3, 0.0], abs=1e-9)


def test_the_shaded_side_is_where_the_worse_one_stands_in_front():
    panel = lesson_06.order_panel()
    assert not re.search(r"\d+ %", panel.alt), "the answer before the guess"
    panel.place(50)
    wrong = order._many(
        order=lesson_06.ORDERS[0], pairs=4, better_db=1, drift_db_h=2, remount_db=0.7
    )
    assert (wrong.mean[wrong.wrong] < 0).all() and (wrong.mean[~wrong.wrong] >= 0).all()
    assert (
        f"{100 * wrong.wrong.mean():.0f} % put the worse one in front; you said 50 %"
        in panel.verdict
    )
    # Normal sums, worked by hand: drift 1.2 z, mountings 0.7 sqrt(2 / 4): sd 1.298; P(z < -1 / 1.298).
    assert wrong.wrong.mean() == pytest.approx(0.2205, abs=0.03)


def test_equal_antennas_are_called_unequal_by_one_evening_in_ten_in_a_good_order():
    # A 90 % interval misses one in ten, by definition; with drift the turned order stays near it.
    many = order._many(
        order=lesson_06.ORDERS[2], pairs=4, better_db=0, drift_db_h=0, remount_db=0.7
    )
    assert many.wrong.mean() == pytest.approx(0.10, abs=0.02)


def test_the_intervals_are_the_trials_own_and_the_truth_comes_when_asked():
    panel = lesson_06.intervals_panel()
    assert "rue" not in panel.verdict + panel.alt
    panel.set(truth=True)
    assert "what was true lies inside" in panel.words.finding
