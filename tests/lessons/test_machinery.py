"""The checks of lessons find what they look for: each is shown a fault of its own."""

import base64
import copy
import json

import matplotlib.image
import nbformat
import numpy as np
import pytest
import quotes
import refresh
import requote
import skeleton
from clean import VIEW, clean, faults
from stale import differences

from signalshed.classroom.canvas import png_bytes

OPENING = """# Will it rain on the mast?

Two sentences stand here. This is the second.

You will be able to

- name one thing
- and another
- and a third

**Time** 15 minutes. \\
**You need** nothing. \\
**Before this** nothing.

**Contents** One section."""

SETUP = "import signalshed as shed\nprint('Signalshed', shed.__version__)"
GOOD = [
    ("markdown", OPENING),
    ("code", SETUP),
    ("markdown", "## One section\n\nA roof 5 km away."),
    ("code", "loss_db = 20 * 0.5\nprint(f'{loss_db:.1f} dB')"),
    ("markdown", "So it loses {10.0} dB.".replace("{", "").replace("}", "")),
    ("code", "shed.classroom.lesson_00.heading_panel()"),
    (
        "markdown",
        "## Try it\n\n### One slider\nPredict first.\n### One number\nx\n### One of your own",
    ),
    ("code", "loss_db = 12\nprint(loss_db)"),
    ("markdown", "## Check yourself\n\nHow much?"),
    ("code", "quiz.ask(0, 1)"),
    ("markdown", "<details><summary>Solution</summary>Ten.</details>"),
    ("markdown", "## With your own data\n\nChange one line."),
    ("code", "print('folder')"),
    ("markdown", "## Take-away\n\n- It rains."),
    ("markdown", "## Sources\n\nNone."),
    ("markdown", "Next: [channels](01_channel_plans.ipynb)"),
]


def notebook(pairs):
    make = {"markdown": nbformat.v4.new_markdown_cell, "code": nbformat.v4.new_code_cell}
    cells = [make[kind](source, id=f"c{i}") for i, (kind, source) in enumerate(pairs)]
    return nbformat.v4.new_notebook(cells=cells)


def changed(old, new):
    assert any(old in source for _, source in GOOD), "the change has to hit something"
    return notebook([(kind, source.replace(old, new)) for kind, source in GOOD])


# ---- skeleton -----------------------------------------------------------------------------------


def test_a_lesson_that_keeps_the_skeleton_has_no_fault():
    assert skeleton.faults(notebook(GOOD), "00_start_here") == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("# Will it rain on the mast?", "# Rain", "not a question"),
        ("**You need** nothing", "Bring nothing", "no line that starts with 'You need'"),
        ("- and a third\n", "", "lists 2 things"),
        ("print('Signalshed', shed.__version__)", "pass", "prints no version"),
        ("import signalshed as shed", "import signalshed", "does not import signalshed"),
        ("print('folder')", "!pip install x", "no path tricks"),
        ("## Take-away", "## In short", "the last sections are"),
        ("## One section", "### One section", "no section before 'Try it'"),
        ("loss_db = 20 * 0.5\nprint(f'{loss_db:.1f} dB')", "\n".join(["x = 1"] * 13), "12 lines"),
        (
            "shed.classroom.lesson_00.h",
            "a = 1\nb = 2\nc = 3\nshed.classroom.lesson_00.h",
            "3 lines",
        ),
        ("Predict first.", "Move it.", "asks for no prediction"),
        ("### One number", "### A number", "has no 'One number'"),
        ("<details>", "<div>", "1 questions and 0 folded"),
        ("quiz.ask(0, 1)", "quiz.number('How much?', 10, 'dB', 1)", "not asked by number alone"),
        ("(01_channel_plans.ipynb)", "(02_link_budgets.ipynb)", "no link to 01_channel_plans"),
        ("None.", "[x](gone.ipynb)", "gone.ipynb, which is not there"),
        ("A roof", "word " * 121, "words in 'One section' without a thing"),
        ("A roof", "**a**, **b**, **c** and **d**", "4 new terms in 'One section'"),
        ("A roof", "**a**, **b** and **c**", "3 new terms before the first picture"),
        ("Two sentences", "word " * 1500, "the core takes"),
    ],
)
def test_each_departure_from_the_skeleton_is_found(old, new, told):
    found = skeleton.faults(changed(old, new), "00_start_here")
    assert any(told in fault for fault in found), found


def test_a_panel_before_its_worked_example_is_found():
    swapped = [*GOOD[:3], GOOD[5], *GOOD[3:5], *GOOD[6:]]
    found = skeleton.faults(notebook(swapped), "00_start_here")
    assert found == ["'One section' shows a panel before a worked example"]


def test_reading_time_follows_its_formula_and_leaves_further_sections_out():
    lesson = skeleton.Lesson(notebook(GOOD), "00_start_here")
    minutes, told = skeleton.reading_min(lesson)
    words = int(told.split()[0])
    assert minutes == pytest.approx(words / 150 + 1 * 2 + 1 * 3 + 5 * 1)
    further = [*GOOD[:-3], ("markdown", "## Further: more\n\n" + "word " * 500), *GOOD[-3:]]
    assert skeleton.reading_min(skeleton.Lesson(notebook(further), "00_start_here"))[0] == minutes


# ---- numbers in prose ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("It is 57 km away.", ["57"]),
        ("34 mi (55 km)", ["34", "55"]),
        ("10 1/4 in (260 mm)", ["10 1/4", "260"]),
        ("from 3 to 5 dB", ["3", "5"]),
        ("between -50 and +20 dBm", ["-50", "+20"]),
        ("−27.9 dBm", ["−27.9"]),
        ("1,000 kW from 30 m", ["1,000", "30"]),
        ("41 dBµV/m, 82 % and 300-ohm cable, 5°", ["41", "82", "300", "5"]),
        ("RF channel 36, 9 of 10 roofs, lesson 3, step 2 in the list", []),
        ("3.5 dB", ["3.5"]),
        ("`12 dB` and [x](a_5_km.ipynb) <b title='5 km'>", []),
        ("5 dogs, 7 Kelvinators", []),
        ("4 in 10 roofs, 4 in long", ["4"]),
        ("6 by 9 ft and 10-20 MHz", ["6", "9", "10", "20"]),
    ],
)
def test_numbers_with_a_unit_are_found_and_no_others(text, numbers):
    seen = quotes.prose(notebook([("markdown", text)]))
    assert [seen[a:b] for a, b in quotes.numbers_with_unit(seen)] == numbers


def test_a_number_is_covered_only_by_a_phrase_that_stands_around_it():
    text = "About 57 km and 12 dB, then 57 km again."
    assert len(quotes.uncovered(text, [])) == 3
    assert quotes.uncovered(text, ["About {57} km", "and {12} dB", "then {57} km"]) == []
    assert quotes.uncovered(text, ["{57} km", "{12} dB"]) == []
    assert len(quotes.uncovered(text, ["About {57} km", "{12} dB"])) == 1
    assert len(quotes.uncovered(text, ["57 {km}"])) == 3


@pytest.mark.parametrize(
    ("number", "value"),
    [("10 1/4", 10.25), ("1,000.5", 1000.5), ("−3", -3), ("+20", 20), ("1/2", 0.5)],
)
def test_numbers_are_read_as_printed(number, value):
    assert quotes.value_of(number) == value


@pytest.mark.parametrize(
    ("value", "tolerance", "holds"),
    [
        (57.4, 0, True),
        (57.6, 0, False),
        (57.6, 0.2, True),
        (56.5, 0, True),
        (float("nan"), 9, False),
    ],
)
def test_a_quoted_number_holds_within_rounding_and_tolerance(value, tolerance, holds):
    row = {"phrase": "{57} km", "expression": "x", "digits": "0", "tolerance": str(tolerance)}
    assert (quotes.fault_of_row(row, "It is 57 km.", value) == "") is holds


def test_a_phrase_that_is_gone_or_an_expression_that_fails_is_told():
    row = {"phrase": "{57} km", "expression": "x", "digits": "0", "tolerance": "0"}
    assert "is not in the lesson" in quotes.fault_of_row(row, "58 km", 57.0)
    assert "NameError" in quotes.fault_of_row(row, "57 km", "NameError: x")
    assert "not one number" in quotes.fault_of_row(row | {"phrase": "57 km"}, "57 km", 57.0)


# ---- clean and stale ----------------------------------------------------------------------------


def png_html(width=4, alt="a picture with words", shade=0):
    rgba = np.full((3, width, 4), shade, np.uint8)
    data = base64.b64encode(png_bytes(rgba)).decode()
    return f'<img alt="{alt}" src="data:image/png;base64,{data}">'


def with_output(*outputs):
    made = notebook([("code", "x")])
    made.cells[0].outputs = list(outputs)
    return made


def shown(kind="display_data", **data):
    return nbformat.v4.new_output(kind, data={k.replace("_", "/"): v for k, v in data.items()})


def test_clean_keeps_the_still_picture_and_drops_the_widget():
    live = nbformat.v4.new_output(
        "display_data", data={VIEW: {"model_id": "f00"}, "text/plain": "Run"}
    )
    made = with_output(live, shown(text_html=png_html()))
    made.cells[0].metadata = {"execution": {"t": 1}, "collapsed": True}
    made.metadata["widgets"] = {"state": {}}
    cell = clean(made).cells[0]
    assert [list(o.data) for o in cell.outputs] == [["text/html"]]
    assert dict(cell.metadata) == {"deletable": False} and cell.execution_count == 1
    assert "widgets" not in clean(made).metadata and clean(clean(made)).cells[0].id == "c0"


@pytest.mark.parametrize(
    ("output", "told"),
    [
        (shown(text_plain="<Axes: title>"), "bare object"),
        (shown(text_plain="[<matplotlib.lines.Line2D at 0x7f553c4a5310>]"), "memory address"),
        (shown(text_html='<img src="data:image/png;base64,AAAA">'), "without alternative text"),
        (shown(text_html=png_html(alt="")), "without alternative text"),
        (shown(image_png="AAAA"), "without alternative text"),
        (shown(text_html='<a href="https://example.org">x</a>'), "from outside"),
        (shown(text_plain="saved to /tmp/lesson-1/x"), "the folder it ran in"),
        (shown(text_html='<p class="shed-still shed-trouble x">'), "in trouble"),
        (nbformat.v4.new_output("stream", name="stderr", text="Warning: x"), "stderr"),
        (nbformat.v4.new_output("error", ename="E", evalue="v", traceback=[]), "ends in E"),
    ],
)
def test_each_thing_that_may_not_be_shown_is_found(output, told):
    found = faults(with_output(output), "/tmp/lesson-1")
    assert any(told in fault for fault in found), found


def test_a_picture_saved_with_its_program_in_it_is_found(tmp_path):
    matplotlib.image.imsave(tmp_path / "a.png", np.zeros((3, 3)))
    data = base64.b64encode((tmp_path / "a.png").read_bytes()).decode()
    output = shown(text_html=f'<img alt="black, all of it" src="data:image/png;base64,{data}">')
    assert any("metadata" in fault for fault in faults(with_output(output)))


def test_what_may_be_shown_has_no_fault():
    good = (shown(text_html=png_html(), text_plain="<picture: a>"), shown(text_plain="57.1"))
    assert faults(with_output(*good)) == []


def test_pictures_are_compared_by_size_and_words_never_by_bytes():
    old = with_output(shown(text_html=png_html(shade=0)))
    assert differences(old, with_output(shown(text_html=png_html(shade=200)))) == []
    assert differences(old, with_output(shown(text_html=png_html(width=5))))
    assert differences(old, with_output(shown(text_html=png_html(alt="other words now"))))
    assert differences(old, with_output()) == ["cell 1: an output is missing"]


def test_a_changed_source_text_or_count_is_stale():
    old = notebook(GOOD)
    for change in (
        lambda n: n.cells[3].update(source="x"),
        lambda n: n.cells[2].update(source="other prose"),
        lambda n: n.cells[3].update(execution_count=9),
        lambda n: n.cells[3].outputs.append(nbformat.v4.new_output("stream", text="10.1 dB")),
        lambda n: n.cells.pop(),
    ):
        new = copy.deepcopy(old)
        change(new)
        assert len(differences(old, new)) == 1


# ---- refresh ------------------------------------------------------------------------------------

RUN = [
    ("markdown", "# A run?"),
    ("code", "import pathlib\nlength_m = 3\npathlib.Path('left behind.txt').write_text('x')"),
    ("code", "print(length_m)\nprint('metres')"),
]


@pytest.fixture
def room(tmp_path):
    (tmp_path / "notebooks").mkdir()
    return tmp_path


def written(room, pairs):
    path = room / "notebooks" / "run.ipynb"
    path.write_text(refresh.as_text(notebook(pairs)), encoding="utf-8")
    return path


def test_a_run_gives_outputs_and_values_and_leaves_nothing_behind(room):
    path = written(room, RUN)
    fresh, values = refresh.run(path, ["length_m * 2", "nothing_m"], root=room)
    assert values == [6.0, "NameError: name 'nothing_m' is not defined"]
    assert fresh.cells[2].outputs[0].text == "3\nmetres\n"
    assert [c.execution_count for c in fresh.cells[1:]] == [1, 2]
    assert [p.name for p in (room / "notebooks").iterdir()] == ["run.ipynb"]
    assert json.loads(refresh.as_text(fresh))["metadata"]["language_info"] == {"name": "python"}


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("import warnings\nwarnings.warn('look out')", "look out"),
        ("1 / 0", "ZeroDivisionError"),
        ("import os\nprint(os.getcwd())", "the folder it ran in"),
        ("object()", "bare object"),
    ],
)
def test_a_run_that_warns_fails_or_shows_too_much_is_an_error(room, source, told):
    path = written(room, [("code", source)])
    with pytest.raises(RuntimeError, match=told):
        refresh.run(path, root=room)


@pytest.mark.parametrize(
    ("phrase", "value", "digits", "new"),
    [
        ("out to {57} km", 61.4, 0, "out to {61} km"),
        ("{+2.3} dB more", -0.26, 1, "{-0.3} dB more"),
        ("{−3.5} dB", -4.04, 1, "{−4.0} dB"),
        ("of {1,250} readings", 1311.2, -1, "of {1,310} readings"),
    ],
)
def test_a_number_that_drifted_is_written_as_it_was(phrase, value, digits, new):
    row = {"phrase": phrase, "expression": "x", "digits": str(digits), "tolerance": "0"}
    assert requote.moved(row, quotes.plain(phrase), value) == (new, "")
    assert requote.moved(row, quotes.plain(phrase), quotes.quoted_value(phrase)) == (None, "")
    phrase, why = requote.moved(row, "another text", value)
    assert phrase is None and "is not in the lesson" in why
