"""Live pages: a real server of the class, real browsers; what is asked, shown, kept apart and told."""

import contextlib
import os
import re
import signal
import sys
from pathlib import Path

import pytest
from lab_page import picture, until_sharp

REPO = Path(__file__).resolve().parents[2]
PATIENT_MS = 180_000
WINDOWS = {
    "a phone": (390, 844, 1),
    "a tablet": (820, 1180, 1),
    "a laptop at 150 %": (911, 512, 1.5),
}
"""Width and height in CSS pixels, and dots a pixel."""
PHONE = dict(zip(("width", "height"), WINDOWS["a phone"], strict=False))
FITS = """x => { const panel = x.getBoundingClientRect();
    const end = x.querySelector('.shed-fold').getBoundingClientRect();
    const over = [...x.querySelectorAll('.shed-row:not(:empty) label, .shed-words')]
        .filter(e => e.offsetParent && e.scrollHeight > e.clientHeight + 4).map(e => e.textContent);
    const small = [...x.querySelectorAll('select')].filter(e => e.offsetParent && e.clientWidth < 90);
    return [panel.height <= innerHeight, document.body.scrollWidth <= innerWidth,
        end.bottom <= panel.bottom + 1, over.join(), small.length] }"""


@contextlib.contextmanager
def visitor(browser, live, name, sockets=None, **window):
    """A browser of its own that opens a page; at its end nothing was asked of anybody else.

    Parameters: ``sockets`` a list that gets every socket of the page to its kernel, None to leave them.
    """
    context = browser.new_context(**window)
    if sockets is not None:
        take = lambda one: (one.connect_to_server(), sockets.append(one))  # noqa: E731
        context.route_web_socket(re.compile("/channels"), take)
    page = context.new_page()
    page.set_default_timeout(PATIENT_MS)
    asked, page.complaints = [], []
    page.on("request", lambda r: asked.append(r.url))
    page.on("websocket", lambda w: asked.append(w.url.replace("ws:", "http:")))
    page.on("pageerror", lambda e: page.complaints.append(str(e)))
    page.goto(f"{live.url}/?token={live.word}")
    assert _faults(page.goto(f"{live.url}/voila/render/{name}.ipynb").text(), live) == []
    page.locator(".shed-live").first.wait_for()
    yield page
    context.close()
    assert [url for url in asked if not url.startswith((live.url, "data:", "blob:"))] == []


def test_a_lesson_opens_asks_and_moves_in_every_window(browser, live):
    """The page opens on a phone; the same page fits a tablet and a laptop."""
    with visitor(browser, live, "00_start_here", viewport=PHONE, has_touch=True) as page:
        places, pointing = (page.locator(".shed-panel").nth(k) for k in (0, 1))
        screen = page.context.new_cdp_session(page)
        for width, height, dots in WINDOWS.values():
            size = {"width": width, "height": height, "deviceScaleFactor": dots, "mobile": False}
            screen.send("Emulation.setDeviceMetricsOverride", size)
            for found in (places, pointing):
                found.scroll_into_view_if_needed()
                until_sharp(page, found)
                assert found.evaluate(FITS) == [True, True, True, "", 0]
        assert "still empty" in picture(places)[0]
        places.get_by_label("Your guess: more come at").select_option(index=1)
        places.get_by_role("button", name="Place my guess").click()
        page.wait_for_function(
            "p => p.querySelector('img').alt.includes('from the worst heading')",
            arg=places.element_handle(),
        )
        _a_slider_moves(page, pointing)
        answer = page.get_by_label("Your answer, times")
        answer.fill("20")
        answer.press("Enter")
        page.get_by_text("Right: 20 times.").wait_for()
        assert page.locator(".cm-editor, .highlight, .shed-still").count() == 0
        assert "Shift+Enter" not in page.locator("#rendered_cells").inner_text()
        assert not page.complaints


def _a_slider_moves(page, panel):
    before = picture(panel)
    handle = panel.locator(".noUi-handle").first
    handle.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function(
        "([p, was]) => p.querySelector('img').alt != was",
        arg=[panel.element_handle(), before[0]],
    )
    assert picture(panel)[1] != before[1]


def _faults(html, live):
    """What no page may hold: an error, a source, what stays for want of a kernel, the host's things."""
    shown = re.sub(r"data:image/[^\"\\]+", "", html)
    never = ["ExecutionError", "shed-still", "import signalshed", "quiz.ask", live.word]
    never += [str(live.room), str(REPO), sys.prefix, str(Path.home()) + "/", "https://"]
    return [words for words in never if words in shown]


LESSONS = sorted(p.name for p in (REPO / "notebooks").glob("0*.ipynb"))
SOON = ("06_fair_trials.ipynb",)
"""One with a form; visitors open lesson 00 above, and the others stand behind the slow mark."""


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=() if n in SOON else pytest.mark.slow) for n in LESSONS]
)
def test_every_lesson_runs_and_shows_no_source_no_answer_and_nothing_of_the_host(live, name):
    status, html = live.get(f"voila/render/{name}")
    assert status == 200 and "window.voila_finish();" in html
    assert _faults(html, live) == []
    kernel = re.search(r'"kernelId": "([^"]+)"', html).group(1)
    assert live.get(f"api/kernels/{kernel}", word="")[0] == 403


def test_without_the_word_nobody_comes_in_and_answers_are_not_served(live):
    page = "voila/render/00_start_here.ipynb"
    assert "Preparing part" not in live.get(page, word="")[1]
    assert live.get(page, word="oak")[1].count("jupyter-config-data") == 0
    index = live.get("")[1]
    assert len(re.findall("voila/render/", index)) == 9 and not _faults(index, live)
    for other in (
        "answers/00_start_here.ipynb",
        "teaching/README.md",
        "../answers/00_start_here.ipynb",
    ):
        assert live.get(f"voila/render/{other}")[0] in (403, 404, 500), other
    for file in ("00_start_here.ipynb", "../kernel.json", "..%2F..%2Fvisitors"):
        assert live.get(f"voila/files/{file}")[0] in (403, 404), file


@pytest.fixture(scope="module")
def tables(browser, live):
    """Two tables with a paper TV each, opened once, and the sockets of the second one."""
    sockets = []
    with (
        visitor(browser, live, "paper_tv") as one,
        visitor(browser, live, "paper_tv", sockets) as two,
    ):
        for page in (one, two):
            page.get_by_text("18:00, sun sets 20:00. The TV is off.").wait_for()
        yield one, two, sockets


def clock(page):
    return page.get_by_text(", sun sets 20:00.")


def screw_in(page):
    """Press a button of the paper TV, and wait until its evening has gone on, not begun anew."""
    before = clock(page).inner_text()
    page.get_by_role("button", name="Screw in").click()
    clock(page).filter(has_not_text=before[:5]).wait_for()
    assert clock(page).inner_text() > before


def test_two_tables_have_a_paper_tv_each(live, tables):
    one, two, _ = tables
    before = clock(two).inner_text()
    screw_in(one)
    two.wait_for_timeout(1000)
    assert clock(two).inner_text() == before
    assert live.kernel(one) != live.kernel(two)


def test_a_machine_asleep_is_told_and_then_the_page_goes_on(live, tables):
    _, page, _ = tables
    told = page.get_by_role("alert").filter(has_text="does not answer. Wait")
    os.kill(live.process.pid, signal.SIGSTOP)
    told.wait_for()
    os.kill(live.process.pid, signal.SIGCONT)
    told.wait_for(state="hidden")
    screw_in(page)


def test_a_lid_that_was_closed_comes_back_to_the_same_evening(tables):
    """The socket is cut, as a closed lid does; the page opens another one by itself."""
    _, page, sockets = tables
    screw_in(page)
    opened = len(sockets)
    sockets[-1].close()
    while len(sockets) == opened:
        page.wait_for_timeout(200)
    screw_in(page)


def test_a_kernel_that_dies_is_told_and_the_neighbour_goes_on(live, tables):
    """The last one with these tables: the first of them is dead after it."""
    one, two, _ = tables
    os.kill(live.kernel(one), signal.SIGKILL)
    one.get_by_role("alert").filter(has_text="What ran this page has ended").wait_for()
    screw_in(two)
    assert not two.locator(".shed-host").is_visible()


def test_a_page_whose_controls_never_come_loads_itself_anew_once_and_then_says_so(browser, live):
    """No socket to the kernel is let through; a minute of the page's own clock goes by, twice."""
    context = browser.new_context(extra_http_headers={"Authorization": f"token {live.word}"})
    context.route_web_socket(re.compile("/channels"), lambda one: one.close())
    page = context.new_page()
    page.set_default_timeout(PATIENT_MS)
    page.clock.install()
    page.goto(f"{live.url}/voila/render/paper_tv.ipynb")
    with page.expect_navigation():
        page.clock.fast_forward(70_000)
    page.clock.fast_forward(70_000)
    page.get_by_role("alert").filter(has_text="did not come. Load it anew").wait_for()
    context.close()
