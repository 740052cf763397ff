"""A meter ladder drawn as a ladder: places of its rungs, its break, and the small TV beside it."""

import numpy as np
import pytest

from signalshed.classroom import lesson_03
from signalshed.meters import Margin
from signalshed.plots import LadderPicture, SmallTV, style


def ladder(rungs, top_db):
    picture = LadderPicture(style.new_figure(8.8, 4.3).add_subplot())
    picture.update(rungs, top_db)
    return picture


def heights(line):
    return np.unique(np.asarray(line.get_ydata(), float)[np.isfinite(line.get_ydata())])


RUNGS = [(0, "97 %"), (3, "83 %"), (6, "60 %"), (9, None), (12, None)]


def test_spare_db_lie_even_and_the_first_loss_is_the_only_snapped_rung():
    """By hand: 7.5 dB to spare, pads of 0, 3 and 6 leave 7.5, 4.5 and 1.5; 9 break it 1.5 below 0."""
    picture = ladder(RUNGS, 7.5)
    assert heights(picture.held).tolist() == [1.5, 4.5, 7.5]
    assert heights(picture.snapped).max() == -1.5 and heights(picture.ground).tolist() == [0]
    written = [t for t in picture.read if t.get_text()]
    assert [(t.get_text(), t.get_position()[1]) for t in written] == [
        ("97 %", 7.5), ("83 %", 4.5), ("60 %", 1.5), ("breaks", -1.5)
    ]  # fmt: skip


def test_a_ladder_that_never_broke_has_no_ground():
    picture = ladder(RUNGS[:3], 6)
    assert heights(picture.ground).size == heights(picture.snapped).size == 0
    assert "no ground" in picture.words[0].get_text()


def test_a_mark_is_a_value_a_bound_or_nothing():
    picture = ladder(RUNGS, 7.5)
    picture.mark("82 %", Margin(4.5, 3.0, 6.0, "measured"))
    assert heights(picture.best).tolist() == [4.5] and heights(picture.bound).size == 0
    assert (picture.band.get_y(), picture.band.get_height()) == (3, 3)
    picture.mark("82 %", Margin(3.0, 3.0, np.inf, "at least"), true_db=5)
    assert heights(picture.best).size == 0 and heights(picture.bound).tolist() == [3]
    assert heights(picture.true).tolist() == [5]
    picture.mark("82 %", None)
    assert picture.band.get_width() == 0 and not picture.words[1].get_text()


@pytest.mark.parametrize("step_db", [1, 2, 3, 10])
@pytest.mark.parametrize("size_in", [(7.54, 3.32), (9.12, 4.8)])
def test_no_two_words_of_a_ladder_overlap(step_db, size_in):
    figure = style.new_figure(*size_in)
    figure.set_layout_engine("constrained")
    picture = LadderPicture(figure.add_subplot())
    pads = np.arange(0, 48.1, step_db)
    picture.update([(pad, "100 %" if pad < 45 else None) for pad in pads], 45.5)
    figure.canvas.draw()
    boxes = [t.get_window_extent() for t in (*picture.pads, *picture.read) if t.get_text()]
    for k, one in enumerate(boxes):
        for other in boxes[k + 1 :]:
            over = min(one.y1, other.y1) - max(one.y0, other.y0)
            beside = min(one.x1, other.x1) - max(one.x0, other.x0)
            assert over < 4.5 or beside <= 0, "digits stand in the middle of their boxes"


def test_the_small_tv_shows_whole_blocks_or_black():
    tv = SmallTV(style.new_figure(8, 4).add_subplot(), (0.7, 0.6, 0.2, 0.3))
    seen = []
    for picture in ("clean", "blocks", "black"):
        tv.update(picture)
        seen.append((tv.view.get_visible(), tv.blocks.get_visible(), tv.words.get_text()))
    assert seen == [
        (True, False, "a whole picture"), (True, True, "blocks"), (False, False, "no picture")
    ]  # fmt: skip


def test_pads_go_in_and_the_tv_follows_on_both_panels():
    """A station of 23 dB: 20 dB of pad leave 3, 23 leave 0, 24 leave none."""
    panel = lesson_03.ladder_panel()
    for most, said in ((20, "a whole picture"), (23, "blocks"), (24, "no picture")):
        panel.set(spare_db=23, step_db=1, most_db=most)
        assert f"The TV: {said}." in panel.alt
    panel = lesson_03.pads_panel()
    for pads, said in ((16, "a whole picture"), (17, "blocks"), (18, "no picture")):
        panel.set(step_db=1, pad_db=pads)
        assert f"The TV: {said}." in panel.alt
