"""Every panel of every lesson, driven to each end of each control and back."""

import base64
import importlib
import inspect
import io
import random
import warnings
from html import escape
from pathlib import Path

import matplotlib.image
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.text import Text

import signalshed
from signalshed.classroom import Panel, Slider

ROOM = Path(signalshed.__file__).parent / "classroom"


def makers():
    """Every function NAME_panel of every lesson file; each works without arguments."""
    for path in sorted(ROOM.glob("lesson_[0-9][0-9]*")):
        module = importlib.import_module(f"signalshed.classroom.{path.stem}")
        for name, made in sorted(inspect.getmembers(module, inspect.isfunction)):
            if name.endswith("_panel") and made.__module__.startswith(module.__name__):
                yield pytest.param(made, id=f"{path.stem}.{name}")


@pytest.fixture(scope="module", params=list(makers()))
def panel(request):
    """One panel per lesson function, with whatever it warns of an error."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        made = request.param()
    assert isinstance(made, Panel)
    made.show_me()
    return made


def ends(panel):
    return [(name, end) for name, control in panel.controls.items() for end in control.ends()]


def moved(panel, **values):
    """Drive the panel to ``values``, all else at its default: picture, words and all that is sent."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        panel.set(**{name: control.default for name, control in panel.controls.items()} | values)
    assert panel.trouble == "", f"{values}: {panel.trouble}"
    assert {name: panel.values[name] for name in values} == values
    sent = panel.stage.picture.value
    assert f'alt="{escape(panel.alt)}"' in sent
    assert f"<b>{escape(panel.words.finding)}</b>" in sent
    assert f">{escape(panel.words.account)}</p>" in sent
    finding = panel.words.finding
    assert len(finding) <= 120 and not finding.endswith("…"), f"cut: {panel.verdict}"
    assert base64.b64encode(panel.png).decode() in sent
    return panel.png, panel.alt, panel.verdict


def pixels(png):
    return matplotlib.image.imread(io.BytesIO(png))


def test_a_panel_starts_without_trouble_and_with_words(panel):
    assert panel.trouble == "" and len(panel.alt) > 40 and len(panel.verdict) > 20
    assert any(letter.isdigit() for letter in panel.verdict), "a verdict carries its numbers"


def test_labels_name_the_quantity_and_fit(panel):
    for control in panel.controls.values():
        assert 3 <= len(control.label) <= 40
        if isinstance(control, Slider):
            widget = panel.widgets[control.name][1]
            assert widget.max - widget.min >= 2 * widget.step, "a slider has somewhere to go"


def test_every_end_is_drawn_whole_and_does_not_depend_on_the_way_there(panel):
    there = {}
    for end in ends(panel):
        there[end] = moved(panel, **dict([end]))
        kept = pixels(panel.png)
        panel._canvas._still_part = None
        assert np.array_equal(kept, pixels(panel._canvas.png())), f"{end}: not as drawn anew"
    back = {end: moved(panel, **dict([end])) for end in reversed(ends(panel))}
    different = [end for end in there if there[end] != back[end]]
    assert not different
    start = moved(panel)
    for name in panel.controls:
        assert any(png != start[0] for (n, _), (png, *_) in there.items() if n == name), (
            f"{name} does nothing"
        )


def test_corners_and_random_positions_hold_too(panel):
    seeded = random.Random(7)
    before = len(panel._canvas.figure.findobj())
    for _ in range(6):
        values = {name: _somewhere(seeded, c) for name, c in panel.controls.items()}
        moved(panel, **values)
    moved(panel)
    assert len(panel._canvas.figure.findobj()) == before, "the figure grows with its moves"


def _somewhere(seeded, control):
    if isinstance(control, Slider) and seeded.random() < 0.5:
        return control.checked(control.on_slider(seeded.uniform(control.low, control.high)))
    return seeded.choice(control.ends())


def test_words_in_the_picture_are_dark_and_large_enough(panel):
    """Contrast by W3C, Web Content Accessibility Guidelines 2.1: 1.4.3 asks for 4.5 to 1."""
    for text in panel._canvas.figure.findobj(Text):
        if text.get_visible() and text.get_text().strip():
            on_white = 1.05 / (0.05 + luminance(text.get_color()))
            assert on_white >= 4.5, f"{text.get_text()!r} has a contrast of {on_white:.2f}"
            assert text.get_size() >= 11, f"{text.get_text()!r} is small"


@pytest.mark.parametrize("box", ["543 239 1.5", "656 402 1", "912 480 1"])
def test_a_panel_is_drawn_for_every_window(panel, box):
    """The smallest pane at 150 %, a tablet and a projector; nothing is drawn beyond the picture."""
    try:
        panel.sized(box)
        moved(panel)
        width, height, scale = map(float, box.split())
        assert pixels(panel.png).shape[1::-1] == (int(width * scale), int(height * scale))
        drawn = panel._canvas.figure.get_tightbbox().get_points() * panel._canvas.figure.dpi
        over = np.maximum(-drawn[0], drawn[1] - [width * scale, height * scale]) / scale
        assert over.max() < 6, f"{over.round()} pixels beyond the picture"
    finally:
        panel._box = panel._canvas = None
        panel._redraw()


def test_no_two_lines_differ_by_colour_alone(panel):
    """Straight lines across a picture are told by their place: zero, a limit, the aim."""
    for axes in panel._canvas.figure.axes:
        looks = {}
        for line in axes.lines:
            points = np.column_stack([np.asarray(d, float) for d in line.get_data()])
            if line.get_visible() and len(points) and (np.ptp(points, axis=0) > 0).all():
                hollow = to_rgb(line.get_markerfacecolor()) == (1, 1, 1)
                look = (line.get_linestyle(), line.get_linewidth(), line.get_marker(), hollow)
                looks.setdefault(str(look), set()).add(to_rgb(line.get_color()))
        assert all(len(colours) == 1 for colours in looks.values()), looks


def luminance(colour):
    """Relative luminance as the guidelines define it, from the sRGB transfer curve."""
    parts = np.array(to_rgb(colour))
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_reset_brings_back_the_first_picture(panel):
    first = moved(panel)
    moved(panel, **dict(ends(panel)[-1:]))
    panel.stage.reset_button.click()
    panel.show_me()
    assert panel.values == {c.name: c.default for c in panel.controls.values()}
    assert (panel.png, panel.alt, panel.verdict) == first
