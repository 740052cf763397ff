"""A slider's key press to changed pixels: our panel beside ``interact`` with a new inline figure.

Run: python tests/bench/bench_panel.py     (a minute and a half; real JupyterLab, headless Chromium)

Both draw the same content at the same size in one page each, in blocks that take turns. Printed, by
content: milliseconds from key press to the frame that shows the new picture (median of all presses, each
after a pause), what one move costs in Python alone, and the lag after 20 rapid presses from the last
press to the final picture; each beside interact in the same run.
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

import demonstration  # noqa: E402
import lab_page  # noqa: E402
from yard import line  # noqa: E402

BLOCKS, PRESSES, RAPID = 3, 12, 20
LABEL = "Heading, degrees true"

STRIP = """
import signalshed as shed
from signalshed.classroom import Panel, Slider, Words
site = shed.simulate.demo_site()

def strip_panel():
    def draw(figure):
        strip = shed.plots.BearingStrip(figure.add_subplot(), site)
        def move(heading_deg):
            setup = shed.survey.Setup("wire loop", "roof mast", heading_deg=heading_deg)
            return Words(f"at {heading_deg}", f"at {heading_deg}° " + strip.update(setup))
        return strip.artists, move
    heading = Slider("heading_deg", "Heading, degrees true", 0, 355, 210, step=5)
    return Panel("Strip", [heading], draw, size_in=shed.plots.strip.SIZE_IN)
"""
SHOW_STRIP = STRIP + "\nstrip_panel()"
SHOW_DEMONSTRATION = "import demonstration\ndemonstration.panel()"

INTERACT = """
%matplotlib inline
import matplotlib.pyplot as plt
from ipywidgets import FloatSlider, interact
slider = FloatSlider(value=210, min=0, max=355, step=5, description="Heading")
"""
INTERACT_STRIP = (
    STRIP
    + INTERACT
    + """
def shown(heading_deg):
    figure = plt.figure(figsize=shed.plots.strip.SIZE_IN, dpi=100)
    strip = shed.plots.BearingStrip(figure.add_subplot(), site)
    strip.update(shed.survey.Setup("wire loop", "roof mast", heading_deg=heading_deg))
    plt.show()
interact(shown, heading_deg=slider);
"""
)
INTERACT_DEMONSTRATION = (
    "import demonstration\n"
    + INTERACT
    + """
def shown(heading_deg):
    figure = plt.figure(figsize=(8, 4), dpi=100)
    artists, move = demonstration.draw(figure)
    move(heading_deg, 1.0, 2.5, "loop", True)
    plt.show()
interact(shown, heading_deg=slider);
"""
)

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
    """Milliseconds of single presses, each after the last picture has settled."""
    took = []
    for number in range(presses):
        page.evaluate("() => { window.pressed = []; window.shown = [] }")
        page.keyboard.press("ArrowLeft" if number % 2 else "ArrowRight")
        page.wait_for_function("() => window.shown.length > 0", timeout=20_000)
        page.wait_for_timeout(150)
        took.append(page.evaluate("() => window.shown[0] - window.pressed[0]"))
    return took


def rapid_ms(page):
    """Milliseconds from the last of many rapid presses to the last picture, and pictures shown."""
    page.evaluate("() => { window.pressed = []; window.shown = [] }")
    for _ in range(RAPID):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(6000)
    lag = page.evaluate("() => window.shown.at(-1) - window.pressed.at(-1)")
    pictures = page.evaluate("() => window.shown.length")
    for _ in range(RAPID):
        page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(6000)
    return lag, pictures


def python_ms(source):
    """Milliseconds of one move without browser and messages."""
    names = {}
    exec(source, names)
    panel = names["strip_panel"]() if "strip_panel" in names else demonstration.panel()
    took = []
    for heading in range(0, 200, 5):
        begin = time.perf_counter()
        panel.set(heading_deg=heading)
        took.append(1e3 * (time.perf_counter() - begin))
    return statistics.median(took)


def lines(browser, lab, content, ours, theirs):
    """Lines of one content, ours beside theirs."""
    pages = {
        "panel": opened(browser, lab, f"{content}-panel", ours),
        "interact": opened(browser, lab, f"{content}-interact", theirs),
    }
    took = {name: [] for name in pages}
    for _ in range(BLOCKS):
        for name, page in pages.items():
            page.bring_to_front()
            took[name] += calm_ms(page)
    lags = {}
    for name, page in pages.items():
        page.bring_to_front()
        lags[name] = rapid_ms(page)
        page.close()
    panel_ms, interact_ms = (statistics.median(took[name]) for name in ("panel", "interact"))
    pictures = f"{lags['panel'][1]} pictures of {RAPID}"
    in_python = python_ms(STRIP if content == "strip" else "")
    against = f"interact, {interact_ms:.0f} ms"
    works = {
        "key to picture": (panel_ms, against, interact_ms),
        "of that in Python": (in_python, against, interact_ms),
        f"after {RAPID} rapid keys, {pictures}": (
            lags["panel"][0],
            f"interact, {lags['interact'][0]:.0f} ms",
            lags["interact"][0],
        ),
    }
    return [line("panel", f"{content}: {work}", *numbers) for work, numbers in works.items()]


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


def ratios():
    """All lines of this bench."""
    cases = (
        ("demonstration", SHOW_DEMONSTRATION, INTERACT_DEMONSTRATION),
        ("strip", SHOW_STRIP, INTERACT_STRIP),
    )
    with in_a_browser() as (browser, lab):
        return [made for case in cases for made in lines(browser, lab, *case)]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
