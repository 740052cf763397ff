"""Key press to changed pixels of the panels that solve wires at every move, in lesson 04.

Run: python tests/bench/bench_wire_panels.py     (two minutes; real JupyterLab, headless Chromium)

All panels stand on one page, and one beside them that solves nothing; they take turns. Each slider goes
one way, so that no position has been solved before. Median milliseconds from key press to the frame
that shows the new picture, and the frames of the whole run in which a panel had no picture at all:
none, since the last one stays until the next is there.
"""

import statistics
import sys
from pathlib import Path

import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))

import bench_panel
import lab_page
from yard import line

SOLVED = (
    ("sheet", "Sheet distance, wavelengths", "ArrowRight"),
    ("screen", "Element to screen, mm", "ArrowRight"),
    ("screen", "Width of the screen, mm", "ArrowRight"),
    ("arc", "Width of the screen, mm", "ArrowLeft"),
)
BLOCKS, PRESSES = 2, 4

SOURCES = [
    bench_panel.sources("demonstration.panel")[0],
    "from signalshed.classroom import lesson_04",
    *(f"lesson_04.{name}_panel()" for name in ("sheet", "screen", "arc")),
]
PLACE = {"plain": 0, "sheet": 1, "screen": 2, "arc": 3}

BLANK = """() => { window.blank = 0;
    const each = () => {
        for (const p of document.querySelectorAll('.shed-panel'))
            if (![...p.querySelectorAll('img')].some(i => i.complete && i.naturalWidth > 500))
                window.blank += 1;
        requestAnimationFrame(each) };
    requestAnimationFrame(each) }"""


def opened(browser, lab):
    """The page with every panel, watching for pictures."""
    page = browser.new_page(viewport={"width": 1280, "height": 1000})
    lab_page.open_notebook(page, lab, lab_page.write_notebook(lab, "panels.ipynb", SOURCES))
    lab_page.run_all(page)
    for place in PLACE.values():
        lab_page.panel(page, place)
    page.wait_for_timeout(1500)
    page.evaluate(bench_panel.WATCH)
    page.evaluate(BLANK)
    return page


def pressed_ms(page, name, label, key):
    """Milliseconds of a few presses on one slider, each after the last picture has settled."""
    slider = lab_page.handle(lab_page.panel(page, PLACE[name]), label)
    slider.scroll_into_view_if_needed()
    slider.focus()
    page.wait_for_timeout(500)
    took = []
    for _ in range(PRESSES):
        page.evaluate("() => { window.pressed = []; window.shown = [] }")
        page.keyboard.press(key)
        page.wait_for_function("() => window.shown.length > 0", timeout=20_000)
        page.wait_for_timeout(300)
        took.append(page.evaluate("() => window.shown[0] - window.pressed[0]"))
    return took


def ratios():
    """All lines of this bench."""
    took = {case: [] for case in (("plain", bench_panel.LABEL, "ArrowRight"), *SOLVED)}
    with bench_panel.in_a_browser() as (browser, lab):
        page = opened(browser, lab)
        for _ in range(BLOCKS):
            for case, times in took.items():
                times += pressed_ms(page, *case)
        blank = page.evaluate("() => window.blank")
    plain_ms, *solved_ms = (statistics.median(times) for times in took.values())
    works = [f"{name}, {label}: key to picture" for name, label, _ in SOLVED]
    against = f"a plain panel, {plain_ms:.0f} ms; {blank} frames blank"
    return [
        line("wire panel", work, ms, against, plain_ms)
        for work, ms in zip(works, solved_ms, strict=True)
    ]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).round(2).to_string(index=False))
