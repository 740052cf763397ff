"""Every panel of every lesson, driven to each end of each control and back."""

import importlib
import inspect
import io
import random
import warnings
from pathlib import Path

import matplotlib.image
import numpy as np
import pytest

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
    return made


def ends(panel):
    return [(name, end) for name, control in panel.controls.items() for end in control.ends()]


def moved(panel, **values):
    """Drive the panel to ``values``, everything else at its default; the picture it sends."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        panel.reset()
        panel.set(**values)
    assert panel.trouble == "", f"{values}: {panel.trouble}"
    assert {name: panel.values[name] for name in values} == values
    return panel.png


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


def test_every_end_is_drawn_and_does_not_depend_on_the_way_there(panel):
    there = {end: moved(panel, **dict([end])) for end in ends(panel)}
    back = {end: moved(panel, **dict([end])) for end in reversed(ends(panel))}
    different = [end for end in there if there[end] != back[end]]
    assert not different
    start = moved(panel)
    for name in panel.controls:
        assert any(png != start for (n, _), png in there.items() if n == name), (
            f"{name} does nothing"
        )


def test_every_end_equals_the_whole_figure_drawn_anew(panel):
    for end in ends(panel):
        kept = pixels(moved(panel, **dict([end])))
        panel._canvas._still_part = None
        assert np.array_equal(kept, pixels(panel._canvas.png())), end


def test_corners_and_random_positions_hold_too(panel):
    seeded = random.Random(7)
    for _ in range(12):
        values = {name: _somewhere(seeded, c) for name, c in panel.controls.items()}
        moved(panel, **values)


def _somewhere(seeded, control):
    if isinstance(control, Slider) and seeded.random() < 0.5:
        return control.checked(control.on_slider(seeded.uniform(control.low, control.high)))
    return seeded.choice(control.ends())


def test_reset_brings_back_the_first_picture(panel):
    first = moved(panel)
    moved(panel, **dict([ends(panel)[-1]]))
    panel.reset_button.click()
    assert panel.values == {c.name: c.default for c in panel.controls.values()}
    assert panel.png == first
