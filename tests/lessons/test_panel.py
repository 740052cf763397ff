"""The one wiring of panels, without a browser: values, words, picture, trouble, stillness."""

import asyncio
import io
import re
import warnings
import weakref
from html import escape
from html.parser import HTMLParser

import demonstration
import ipywidgets
import matplotlib
import matplotlib.image
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signalshed.classroom import (
    Choice,
    Guess,
    GuessChoice,
    Panel,
    Slider,
    Words,
    guesses,
    open_all,
)
from signalshed.classroom.canvas import png_bytes
from signalshed.classroom.newest import Newest
from signalshed.plots import style


@pytest.fixture
def panel():
    return demonstration.panel()


def pixels(panel):
    return matplotlib.image.imread(io.BytesIO(panel.png))


def fresh_pixels(panel):
    """The same position drawn from nothing: what the moved picture has to equal."""
    other = demonstration.panel()
    other.set(**panel.values)
    other._canvas._still_part = None
    other._redraw()
    return pixels(other)


def slider(panel, name):
    return panel.widgets[name][1]


def box(panel, name):
    return panel.widgets[name][0]


class Tags(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def one(self, tag):
        (found,) = [attrs for name, attrs in self.tags if name == tag]
        return found


# ---- values and words ---------------------------------------------------------------------------


def test_a_panel_starts_at_its_documented_defaults(panel):
    assert panel.values == {c.name: c.default for c in demonstration.CONTROLS}
    assert panel.verdict == "loop at 210° with 1 kW and 2.5 dB of cable: -2.5 dB."
    assert panel.trouble == ""


def test_slider_box_picture_and_words_go_together(panel):
    before = panel.png
    slider(panel, "heading_deg").value = 100.0
    assert box(panel, "heading_deg").value == 100
    assert panel.values["heading_deg"] == 100 and isinstance(panel.values["heading_deg"], int)
    assert "at 100°" in panel.verdict and "at 100°" in panel.alt
    assert panel.png != before
    assert f'alt="{panel.alt}"' in panel.stage.picture.value


def test_the_control_in_the_hand_is_never_put_back(panel):
    sent = []
    moving = slider(panel, "heading_deg")
    moving.observe(lambda change: sent.append(change.new), "value")
    moving.value = 284.99999999999994
    assert sent == [284.99999999999994], "the kernel moved the slider under the hand"
    assert box(panel, "heading_deg").value == 285 and panel.values["heading_deg"] == 285


def test_a_typed_value_moves_the_slider_and_need_not_lie_on_a_step(panel):
    box(panel, "heading_deg").value = 213.5
    assert slider(panel, "heading_deg").value == 213.5
    assert "at 213.5°" in panel.verdict


def test_a_logarithmic_slider_reaches_its_ends_and_hands_over_tidy_numbers(panel):
    power = slider(panel, "erp_kw")
    for value in (10**-3.0, 10**3.0, 10**0.35):
        power.value = value
        assert panel.trouble == ""
        assert panel.values["erp_kw"] == float(f"{value:.3g}")


@given(st.floats(-1000, 2000, allow_nan=False) | st.integers(-1000, 2000))
def test_any_typed_number_is_drawn_or_refused(value):
    control = demonstration.CONTROLS[0]
    if 0 <= value <= 355:
        assert control.checked(value) == pytest.approx(value, abs=1e-6, rel=1e-9)
    else:
        with pytest.raises(ValueError, match=r"Heading, degrees true: .* not between 0 and 355\."):
            control.checked(value)


def test_choices_and_switches_move_the_picture_too(panel):
    start = panel.png
    box(panel, "bars").value = False
    assert panel.values["bars"] is False and panel.png != start
    box(panel, "antenna").value = "yagi <b>&"
    assert panel.verdict.startswith("yagi <b>& at 210°")


def test_reset_returns_to_the_defaults(panel):
    start = panel.png
    panel.set(heading_deg=5, erp_kw=20, antenna="yagi <b>&", bars=False)
    assert panel.png != start
    panel.stage.reset_button.click()
    assert panel.values == {c.name: c.default for c in demonstration.CONTROLS}
    assert [w.value for w in panel.widgets["heading_deg"]] == [210, 210]
    assert panel.png == start


def test_every_end_of_every_control_draws_what_a_new_picture_would(panel):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for control in demonstration.CONTROLS:
            for end in control.ends():
                if end in ("refused", "broken"):
                    continue
                panel.set(**{control.name: end})
                assert panel.trouble == ""
                assert np.array_equal(pixels(panel), fresh_pixels(panel))


# ---- trouble ------------------------------------------------------------------------------------


def test_a_value_beyond_the_limits_is_told_and_nothing_moves(panel):
    before = panel.png, panel.verdict, dict(panel.values)
    box(panel, "heading_deg").value = 725
    assert panel.trouble == "Heading, degrees true: 725 is not between 0 and 355."
    assert "725 is not between" in panel.stage.message.value
    assert (panel.png, panel.verdict, panel.values) == before
    box(panel, "heading_deg").value = 20
    assert panel.trouble == "" and "725" not in panel.stage.message.value


def test_reset_also_clears_a_refused_number(panel):
    box(panel, "heading_deg").value = -3
    panel.stage.reset_button.click()
    assert box(panel, "heading_deg").value == 210 and panel.trouble == ""


@pytest.mark.parametrize(
    ("antenna", "told"),
    [
        ("refused", "antenna is 'refused'; <i>this roof</i> does not take it."),
        ("broken", "KeyError"),
    ],
)
def test_what_the_drawing_refuses_is_told_and_the_last_picture_stays(panel, antenna, told):
    panel.set(heading_deg=90)
    before = panel.png, panel.stage.picture.value
    box(panel, "antenna").value = antenna
    assert told in panel.trouble and "Traceback" not in panel.trouble
    assert (panel.png, panel.stage.picture.value) == before
    box(panel, "antenna").value = "loop"
    assert panel.trouble == "" and "at 90°" in panel.verdict


def test_a_slow_drawing_leaves_the_last_picture_whole_until_the_new_one_is_there(panel):
    panel.set(heading_deg=90)
    before, sent = panel.stage.picture.value, []
    panel.stage.picture.observe(lambda change: sent.append(change.new), "value")
    during, draw = [], panel._canvas.move
    panel._canvas.move = lambda **v: (during.append(panel.stage.picture.value), draw(**v))[1]
    panel.set(antenna="slow", heading_deg=100)
    assert during == [before], "the picture changed before the new one was drawn"
    assert sent == [panel.stage.picture.value], "one message holds picture and words"
    assert "slow at 100°" in panel.alt and escape(panel.alt) in sent[0]


def test_an_unknown_name_is_an_error_that_lists_the_controls(panel):
    with pytest.raises(
        ValueError, match="No control is called heading; there are heading_deg, erp"
    ):
        panel.set(heading=3)


@pytest.mark.parametrize("value", ["east", None, float("nan"), float("inf")])
def test_what_is_no_number_is_told(panel, value):
    panel.set(heading_deg=value)
    assert "is not a number" in panel.trouble and panel.values["heading_deg"] == 210


def test_controls_that_make_no_sense_are_refused():
    with pytest.raises(ValueError, match="runs from 5 to 5"):
        Slider("a", "A", 5, 5, 5)
    with pytest.raises(ValueError, match="B: 9 is not between 0 and 5"):
        Slider("b", "B", 0, 5, 9)
    with pytest.raises(ValueError, match="Antenna: there must be something to choose"):
        Choice("antenna", "Antenna", ())


# ---- what is sent -------------------------------------------------------------------------------


def test_finding_picture_and_account_are_one_piece_of_html(panel):
    panel.stage.message.observe(lambda _: pytest.fail("told twice"), "value")
    tags = Tags(panel.stage.picture.value)
    image = tags.one("img")
    assert image["alt"] == panel.alt
    assert image["src"].startswith("data:image/png;base64,")
    status = [attrs for tag, attrs in tags.tags if tag == "p" and "role" in attrs]
    assert [(s["role"], s["aria-live"]) for s in status] == [("status", "polite")]
    assert pixels(panel).shape[:2] == (400, 800)
    assert "--shape:8/4;--rows:3;" in panel.stage._head_html()


def test_every_answer_carries_a_new_number_so_that_silence_can_be_told(panel):
    seen = set()
    for heading in (90, 90, 725, 725, 100):
        panel.set(heading_deg=heading)
        sent = panel.stage.picture.value + panel.stage.message.value
        turns = tuple(a["data-turn"] for _, a in Tags(sent).tags if "data-turn" in a)
        assert turns not in seen
        seen.add(turns)


def test_the_page_tells_the_size_and_the_picture_is_drawn_for_it(panel):
    """543 by 239 pixels of the page at 1.5 dots each; 11 points are 11 pixels of the page there."""
    panel.stage.size.value = "543 239 1.5"
    assert pixels(panel).shape[:2] == (358, 814)
    assert panel._canvas.figure.dpi == 108  # 72 pixels an inch
    panel.stage.size.value = "912 527 1"
    assert pixels(panel).shape[:2] == (527, 912)
    for nonsense in ("", "12", "0 0 1", "912 527 nan", "a b c"):
        panel.stage.size.value = nonsense
        assert pixels(panel).shape[:2] == (527, 912)


def test_a_finding_is_the_first_sentence_and_never_longer_than_two_lines():
    short = Words("Two come on 5.1 and 6.1. The rest is behind Low hill.", "")
    assert short.finding == "Two come on 5.1 and 6.1."
    assert short.account == "The rest is behind Low hill."
    long = Words("A: " + ", ".join(["thirty letters are about this"] * 6) + ".", "")
    assert len(long.finding) <= 120 and long.finding.endswith(" …")
    assert long.account == long.verdict, "what was cut off stands in the account"
    assert len(Words("x" * 300, "").finding) <= 120


def test_words_lie_on_whole_pixels_whatever_was_drawn_before(panel):
    """The same words at the same place are the same pixels, set for the first time or kept."""
    first = demonstration.panel()
    for heading in (10, 20, 30, 210):
        first.set(heading_deg=heading)
    panel.set(heading_deg=210)
    assert first.png == panel.png


# ---- made when shown, closed when shown again ---------------------------------------------------


def test_a_panel_makes_widgets_only_when_it_is_shown():
    before = len(ipywidgets.widgets.widget._instances)
    made = demonstration.panel()
    made.set(heading_deg=30)
    assert len(ipywidgets.widgets.widget._instances) == before
    assert made.widget and len(ipywidgets.widgets.widget._instances) > before
    made.close()
    assert len(ipywidgets.widgets.widget._instances) == before


def test_what_an_earlier_run_of_the_cell_showed_is_closed(monkeypatch):
    class Shell:
        run = 0

        def get_parent(self):
            return {"metadata": {"cellId": "c1"}, "header": {"msg_id": f"run {self.run}"}}

    monkeypatch.setattr("IPython.get_ipython", Shell)
    monkeypatch.setattr("IPython.display.display", lambda *_, **__: None)
    gone = []
    before = len(ipywidgets.widgets.widget._instances)
    for Shell.run in range(3):
        made = demonstration.panel()
        made._ipython_display_()
        gone.append(weakref.ref(made._canvas.figure))
    assert [ref() is None for ref in gone] == [True, True, False]
    one = len(ipywidgets.widgets.widget._instances) - before
    Shell.run = 3
    made._ipython_display_()
    assert len(ipywidgets.widgets.widget._instances) == before + one, "shown again, it is the same"
    made.close()
    assert len(ipywidgets.widgets.widget._instances) == before


def test_a_closed_panel_comes_back_as_it_was(panel):
    panel.set(heading_deg=90)
    alt, still = panel.alt, panel._still
    panel.close()
    assert panel.png == b"" and panel._canvas is None
    assert panel.widget and panel.alt == alt and f'alt="{alt}"' in panel.stage.picture.value
    assert slider(panel, "heading_deg").value == 90 and len(panel._still) > 0.5 * len(still)


# ---- what fails ---------------------------------------------------------------------------------


def test_a_failing_drawing_keeps_its_exception_and_shows_it_to_its_author(panel, capsys):
    panel.set(antenna="broken")
    assert isinstance(panel.broken, KeyError)
    assert "in move" in capsys.readouterr().err, "the demonstration is not the library's own"
    panel._draw = lambda figure: None
    panel._draw.__module__ = "signalshed.classroom.lesson_00"
    panel._canvas = None
    panel.set(antenna="loop")
    assert isinstance(panel.broken, TypeError) and "TypeError" in panel.trouble
    assert capsys.readouterr().err == "", "a lesson shows no traceback"


# ---- the guess ----------------------------------------------------------------------------------


def told(panel):
    """All that is sent of a panel and of its still part, but for the pictures' own bytes."""
    sent = panel.stage.picture.value + panel.stage.message.value + panel.verdict + panel.alt
    return re.sub(r'src="[^"]*"', "", sent)


@pytest.mark.parametrize("kind", [Guess, GuessChoice])
def test_before_the_guess_nothing_that_is_sent_holds_the_answer(kind):
    panel = demonstration.asking(kind)
    plain = panel.png
    assert "137" not in told(panel) and panel.asks.question in told(panel)
    before, after = re.sub(r'src="[^"]*"', "", panel._still).split("<details>")
    assert "137" not in before and "137" in after and panel.asks.question in before
    panel.set(offset=3)
    assert "137" not in told(panel)
    panel.show_me()
    assert "137" in told(panel) and panel.png != plain
    panel.stage.reset_button.click()
    assert "137" not in told(panel) and panel.png == plain


def test_a_guess_is_moved_or_typed_and_counts_when_it_is_placed():
    panel = demonstration.asking()
    box, rail = panel.stage.guess_widgets
    unset = "shed-unset"
    assert panel.guess is None and box.value == "" and unset in rail._dom_classes
    panel.place_typed()
    assert not panel.placed and "first type a number or move the slider" in panel.trouble
    plain = panel.png
    rail.value = 60.0
    assert box.value == "60" and panel.guess == 60 and unset not in rail._dom_classes
    assert not panel.placed and panel.png != plain and "137" not in told(panel)
    box.value = "45°"
    assert rail.value == 45
    panel.place_typed()
    assert panel.verdict == "It is 137. You said 45."
    assert "| 45 degrees true | It is 137." in guesses.card().text
    panel.reset()
    assert panel.guess is None and box.value == "" and unset in rail._dom_classes


def test_the_rail_of_a_guess_lies_along_the_picture_s_axis():
    """Axes from 10 to 90 % of the width, 0 to 355 of 360 degrees: 10 to 88.89 %."""
    panel = demonstration.asking()
    rail = panel.stage.guess_widgets[1]
    assert rail.layout.margin == "0 calc(11.11% - 9px) 0 calc(10.00% - 9px)"


def test_a_choice_is_guessed_too():
    panel = demonstration.asking(GuessChoice)
    (box, rail) = panel.stage.guess_widgets
    assert rail is None and box.value is None
    panel.place("three")
    assert "'three' is not one of one, two" in panel.trouble
    box.value = "two"
    panel.place_typed()
    assert "You said two" in panel.verdict


def test_the_teachers_switch_opens_every_answer():
    panel = demonstration.asking()
    try:
        open_all()
        assert panel.placed and demonstration.asking().placed
    finally:
        open_all(on=False)
    assert not panel.placed and not demonstration.asking().placed


def test_a_panel_asks_for_one_guess():
    two = [Guess(n, "Your guess", 0, 9, 5) for n in ("a", "b")]
    with pytest.raises(ValueError, match="controls hold 2 guesses"):
        Panel("Two", two, demonstration.draw)


def test_hostile_names_reach_html_only_escaped(panel):
    panel.set(antenna="yagi <b>&")
    sent = panel.stage.picture.value + demonstration.panel()._still
    assert "yagi &lt;b&gt;&amp;" in sent
    panel.set(antenna="refused")
    assert "&lt;i&gt;this roof" in panel.stage.message.value
    for text in (sent, panel.stage.message.value):
        assert {tag for tag, _ in Tags(text).tags} <= {
            "style", "img", "p", "div", "figure", "figcaption", "i", "b"
        }  # fmt: skip
        assert "<i>this" not in text and "yagi <b>" not in text


def test_every_number_box_has_its_name_and_every_slider_a_box(panel):
    for control in demonstration.CONTROLS:
        first = panel.widgets[control.name][0]
        assert first.description == control.label
        assert len(panel.widgets[control.name]) == (2 if isinstance(control, Slider) else 1)


def test_the_still_picture_stays_at_the_defaults_and_has_its_words(panel):
    still = Tags(panel._still)
    alt = panel.alt
    panel.set(heading_deg=0)
    assert still.one("img")["alt"] == alt and "at 210°" in alt
    assert "onload" not in still.one("img")
    assert "Run this cell (Shift+Enter) to move the sliders." in panel._still
    assert f".{still.one('div')['class'].split()[1]}" in panel.stage._head_html()


def test_a_cell_shows_the_widget_and_the_still_picture(panel, monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.display.display", lambda data, raw: shown.append(data))
    panel._ipython_display_()
    live, still = shown
    assert "application/vnd.jupyter.widget-view+json" in live and "text/html" in still
    assert {data["text/plain"] for data in shown} == {
        "Run this cell (Shift+Enter) to move the sliders."
    }


# ---- the picture --------------------------------------------------------------------------------


def test_moves_are_blitted_and_never_draw_the_whole_figure(panel):
    for heading in range(0, 355, 5):
        panel.set(heading_deg=heading)
    assert panel._canvas.full_draws == 1


def test_a_change_of_what_stands_still_is_drawn_too():
    def draw(figure):
        axes = figure.add_subplot(ylim=(0, 1))
        (line,) = axes.plot([0, 1], [0, 1])

        def move(top):
            axes.set_ylim(0, top)
            return Words("w", "a")

        return [line], move

    panel = Panel("Axis", [Slider("top", "Top", 1, 9, 1)], draw)
    before = panel.png
    panel.set(top=9)
    assert panel.png != before and panel._canvas.full_draws == 2


def test_the_style_of_the_notebook_reaches_no_panel_and_no_panel_the_notebook(panel):
    with matplotlib.rc_context({"lines.linewidth": 9, "font.size": 30, "axes.facecolor": "black"}):
        before = dict(matplotlib.rcParams)
        dressed = demonstration.panel()
        dressed.set(heading_deg=30)
        assert dict(matplotlib.rcParams) == before
    panel.set(heading_deg=30)
    assert dressed.png == panel.png


def test_no_panel_opens_a_window_figure(panel):
    import matplotlib.pyplot as plt

    panel.set(heading_deg=30)
    assert plt.get_fignums() == []


@given(st.integers(1, 9), st.integers(1, 9), st.integers(0, 255))
def test_png_comes_back_pixel_by_pixel(height, width, shade):
    """Against matplotlib's own reader (Pillow)."""
    rgba = np.full((height, width, 4), 255, np.uint8)
    rgba[..., :3] = np.arange(height * width * 3).reshape(height, width, 3) + shade
    read = matplotlib.image.imread(io.BytesIO(png_bytes(rgba)))
    assert np.array_equal(np.rint(read * 255), rgba[..., :3])
    assert b"tEXt" not in png_bytes(rgba) and b"tIME" not in png_bytes(rgba)


def test_two_panels_of_one_title_do_not_hide_each_others_picture():
    one, two = demonstration.panel(), demonstration.panel()
    keys = [re.search(r"shed-still-(\S+?)[\",]", p.stage._head_html()).group(1) for p in (one, two)]
    assert keys[0] != keys[1] and "<" not in keys[0]


# ---- newest only --------------------------------------------------------------------------------


def test_a_queue_of_moves_is_drawn_once_and_at_its_last_position(panel):
    drawn = []
    panel._newest.job = lambda: (drawn.append(panel.values["heading_deg"]), panel._redraw())

    async def moves():
        for heading in range(0, 200, 5):
            slider(panel, "heading_deg").value = heading
        await asyncio.sleep(0.2)

    asyncio.run(moves())
    assert drawn == [195]
    assert "at 195°" in panel.verdict


def test_a_queue_that_is_read_message_by_message_is_not_drawn_message_by_message():
    ran = []
    newest = Newest(lambda: ran.append(len(asked)), settle_s=0.05)
    asked = []

    async def queue():
        for number in range(30):
            asked.append(number)
            newest.ask()
            await asyncio.sleep(0)
        await asyncio.sleep(0.3)

    asyncio.run(queue())
    assert ran[-1] == 30 and len(ran) <= 3


def test_without_a_loop_a_job_runs_at_once():
    ran = []
    Newest(lambda: ran.append(1)).ask()
    assert ran == [1]


def test_the_house_style_is_the_only_style():
    assert style.RC["font.size"] >= 11 and style.RC["lines.linewidth"] >= 2
