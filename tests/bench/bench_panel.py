"""A slider's key press to changed pixels: our panels beside ``interact`` with a new inline figure.

Run: python tests/bench/bench_panel.py     (about six minutes; real JupyterLab, headless Chromium)

One panel of every lesson, and the plain one of the browser tests. Both ways draw the same content at
the same size in one page each, in blocks that take turns. Presses walk through new positions and
never swing between two, since a memory of what was drawn would be flattered by that. Printed, by
panel: milliseconds from key press to the frame that shows the new picture (median of all presses,
each after a pause), what one move costs in Python alone, and the lag after 20 rapid presses from the
last press to the final picture; each beside interact in the same run. Last, how much a kernel grows
when one cell is run 50 times.
"""

import contextlib
import importlib.util
import statistics
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / name) for name in ("bench", "browser", "lessons")]

import lab_page  # noqa: E402
from yard import line  # noqa: E402

from signalshed.classroom import Slider  # noqa: E402

BLOCKS, PRESSES, RAPID = 3, 8, 20
LABEL = "Heading, degrees true"
PANELS = (
    "demonstration.panel",
    "lesson_00.pointing_panel",
    "lesson_01.sizes_panel",
    "lesson_02.account_panel",
    "lesson_03.ladder_panel",
    "lesson_04.sheet_panel",
    "lesson_05.heading_panel",
    "lesson_06.order_panel",
    "lesson_07.roof_panel",
)

OURS = """
{imported}
shown = {maker}()
shown
"""
THEIRS = """
%matplotlib inline
{imported}
import matplotlib.pyplot as plt
from ipywidgets import FloatSlider, interact
from signalshed.classroom import Slider, panel
from signalshed.plots import style

kept = []
usual = panel.Canvas
panel.Canvas = lambda draw, *size: kept.append((draw, size[0])) or usual(draw, *size)
ours = {maker}()
draw, size_in = kept[0]
more = {{"guess": None, "placed": True}} if ours.asks else {{}}
slider = next(c for c in ours.controls.values() if isinstance(c, Slider) and not c.log)

def anew(value):
    with style.house():
        figure = plt.figure(figsize=size_in, dpi=100, layout="constrained")
        _, move = draw(figure)
        move(**{{**ours.values, **more, slider.name: slider.checked(value)}})
        plt.show()

interact(anew, value=FloatSlider(slider.default, min=slider.low, max=slider.high, step=slider.step));
"""


def sources(name):
    """Cells that show the panel called ``name`` our way, and its content by interact."""
    module = name.split(".")[0]
    imported = f"import {module}"
    if module.startswith("lesson"):
        imported = f"from signalshed.classroom import {module}"
    return tuple(cell.format(imported=imported, maker=name) for cell in (OURS, THEIRS))


WATCH = """() => {
    const look = () => [...document.querySelectorAll('.jp-OutputArea img')]
        .filter(i => i.offsetParent && i.complete && i.naturalWidth > 500).map(i => i.src).join();
    window.pressed = []; window.shown = []; let last = look();
    document.addEventListener('keydown', () => window.pressed.push(performance.now()), true);
    const each = () => { const now = look();
        if (now && now !== last) { last = now; window.shown.push(performance.now()) }
        requestAnimationFrame(each) };
    requestAnimationFrame(each) }"""


def browser_fixtures():
    """The server and browser settings of the browser tests."""
    spec = importlib.util.spec_from_file_location("rooms", TESTS / "browser" / "conftest.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


def opened(browser, lab, name, source):
    """A page with one running cell, its slider in focus, watching for new pictures."""
    page = browser.new_page(viewport={"width": 1280, "height": 1000})
    lab_page.open_notebook(page, lab, lab_page.write_notebook(lab, f"{name}.ipynb", [source]))
    lab_page.run_all(page)
    page.locator(".jp-OutputArea img").first.wait_for()
    page.wait_for_timeout(1500)
    page.evaluate(WATCH)
    page.locator(".noUi-handle").first.focus()
    return page


def calm_ms(page, presses=PRESSES):
    """Milliseconds of single presses, each after the last picture has settled; a press that changes no
    picture (a decibel of pad where the meter is full) says nothing of speed and is passed over."""
    took = []
    for _ in range(presses):
        page.evaluate("() => { window.pressed = []; window.shown = [] }")
        page.keyboard.press(_key_onward(page))
        page.wait_for_function(SHOWN, timeout=20_000)
        page.wait_for_timeout(150)
        if page.evaluate("() => window.shown.length"):
            took.append(page.evaluate("() => window.shown[0] - window.pressed[0]"))
    return took


SHOWN = "() => window.shown.length > 0 || performance.now() - window.pressed[0] > 3000"


def _key_onward(page):
    """The arrow that leads on: right, until the end is reached; then left to the other end."""
    now, low, high = page.evaluate(
        "() => ['now', 'min', 'max'].map(n => +document.activeElement.getAttribute('aria-value' + n))"
    )
    page.shed_left = now >= high or (getattr(page, "shed_left", False) and now > low)
    return "ArrowLeft" if page.shed_left else "ArrowRight"


SETTLED = """() => {
    const last = Math.max(window.pressed.at(-1), window.shown.at(-1) ?? 0);
    return performance.now() - last > 3000 }"""


def rapid_ms(page):
    """Milliseconds from the last of many rapid presses to the last picture, and pictures shown."""
    page.evaluate("() => { window.pressed = []; window.shown = [] }")
    for _ in range(RAPID):
        page.keyboard.press("ArrowRight")
    page.wait_for_function(SETTLED, timeout=120_000)
    lag = page.evaluate("() => window.shown.at(-1) - window.pressed.at(-1)")
    return lag, page.evaluate("() => window.shown.length")


def python_ms(source):
    """Milliseconds of one move without browser and messages."""
    names = {}
    exec(source, names)
    panel = names["shown"]
    slider = next(c for c in panel.controls.values() if isinstance(c, Slider) and not c.log)
    took = []
    for number in range(40):
        value = slider.low + (slider.high - slider.low) * (number * 7 % 40) / 39
        begin = time.perf_counter()
        panel.set(**{slider.name: value})
        took.append(1e3 * (time.perf_counter() - begin))
    return statistics.median(took)


def lines(browser, lab, name):
    """Lines of one panel, ours beside theirs."""
    ours, theirs = sources(name)
    content = name.replace(".", "-")
    pages = {
        "panel": opened(browser, lab, f"{content}-ours", ours),
        "interact": opened(browser, lab, f"{content}-interact", theirs),
    }
    took = {way: [] for way in pages}
    for _ in range(BLOCKS):
        for way, page in pages.items():
            page.bring_to_front()
            took[way] += calm_ms(page)
    lags = {}
    for way, page in pages.items():
        page.bring_to_front()
        lags[way] = rapid_ms(page)
        page.close()
    lab.end_kernels()
    panel_ms, interact_ms = (statistics.median(took[way]) for way in ("panel", "interact"))
    (lag_ms, pictures), (their_lag_ms, _) = lags["panel"], lags["interact"]
    against = f"interact, {interact_ms:.0f} ms"
    works = {
        "key to picture": (panel_ms, against, interact_ms),
        "of that in Python": (python_ms(ours), against, interact_ms),
        f"after {RAPID} rapid keys, {pictures} pictures": (
            lag_ms,
            f"interact, {their_lag_ms:.0f} ms",
            their_lag_ms,
        ),
    }
    return [line("panel", f"{name}: {work}", *numbers) for work, numbers in works.items()]


@contextlib.contextmanager
def in_a_browser():
    """A JupyterLab with an empty folder of notebooks, and a Chromium: (browser, lab)."""
    from playwright.sync_api import sync_playwright

    rooms = browser_fixtures()
    with contextlib.ExitStack() as stack:
        room = Path(stack.enter_context(tempfile.TemporaryDirectory(ignore_cleanup_errors=True)))
        (room / "notebooks").mkdir()
        lab = rooms.Lab(room)
        stack.callback(lab.stop)
        playwright = stack.enter_context(sync_playwright())
        browser = playwright.chromium.launch(
            executable_path=rooms.chromium(), args=list(rooms.CHROMIUM)
        )
        stack.callback(browser.close)
        yield browser, lab


def grown_mb(browser, lab, runs=50):
    """Megabytes that a kernel grows by when one cell, which shows a panel, is run so many times."""
    page = opened(browser, lab, "again", sources("lesson_00.pointing_panel")[0])
    before = []
    for number in range(runs + 10):
        before += [lab.kernels_mb()] if number == 10 else []
        page.locator(".jp-Cell").first.click()
        page.keyboard.press("Control+Enter")
        page.locator("#jp-main-statusbar", has_text="| Idle").wait_for()
        page.wait_for_timeout(600)
    grown = lab.kernels_mb() - before[0]
    page.close()
    lab.end_kernels()
    return grown


def ratios():
    """All lines of this bench."""
    with in_a_browser() as (browser, lab):
        made = [one for name in PANELS for one in lines(browser, lab, name)]
        print(f"one cell run 50 times: {grown_mb(browser, lab):+.0f} MB")
        return made


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
