"""What lesson 03 computes beside its panels: five tuners at one reading, and at one pad."""

import numpy as np
import pytest

from signalshed import meters
from signalshed.classroom import lesson_03


def test_what_a_reading_means_is_where_the_tuner_shows_it():
    for row in lesson_03.what_it_means(82).itertuples():
        model = meters.meter(row.follows)
        below, above = (model.show(row.spare_db + step)[0] for step in (-0.6, 0.6))
        assert below <= 82 <= above, row.tuner


@pytest.mark.parametrize(
    "maker", [lesson_03.five_panel, lesson_03.black_panel, lesson_03.fault_panel]
)
def test_before_the_guess_nothing_on_the_stage_tells(maker):
    panel = maker()
    before = panel.png
    assert panel.verdict == panel.asks.question
    for told in ("30", "29", "all five", "99", "it was"):
        assert told not in panel.alt, "the alternative text keeps the answer too"
    panel.place(panel.asks.options[0] if maker is not lesson_03.five_panel else 12)
    assert panel.png != before and "you said" in panel.verdict.casefold()
    panel.reset()
    assert panel.png == before and panel.verdict == panel.asks.question


def test_moving_the_pad_before_the_guess_shows_no_more_than_its_start():
    panel = lesson_03.black_panel()
    words, start = panel.verdict, panel.values["pad_db"]
    panel.set(pad_db=40)
    curves = [line for line in panel._canvas.figure.axes[0].lines if len(line.get_xdata()) > 2]
    assert len(curves) == 5 and panel.verdict == words
    assert max(np.max(line.get_xdata()) for line in curves) <= start + 0.01


def test_five_tuners_go_black_at_one_pad_with_the_percent_full_until_then():
    # 20 dB are a factor of 100: 1 % is left. Lock by the meters themselves, not by the panel's curves.
    spare = lesson_03.hidden._STRENGTH_DB
    for name in lesson_03.TUNERS.values():
        model = meters.meter(name)
        assert model.show(spare - 29.0)[1] and not model.show(spare - 29.5)[1]
    panel = lesson_03.black_panel()
    panel.show_me()
    assert panel.words.finding.startswith(
        "20 dB of pad throw 99 % of the power away and tuner C shows 100 %"
    )
    panel.set(pad_db=33)
    assert "all five are black" in panel.words.finding


def test_a_finer_ladder_leaves_less_open():
    widths = [lesson_03.climbing.halfwidth_db("tuner A", 23, step, 30) for step in (1, 3, 8)]
    assert widths[0] < widths[1] < widths[2]
    # The break alone leaves a step open: half of it to either side, at the least of nine in ten.
    assert widths[2] > 0.9 * 8 / 2
