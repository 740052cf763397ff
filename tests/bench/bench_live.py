"""Twelve browsers at the live pages at once: what a visitor takes in memory, how long a move takes.

Run: PYTHON tests/bench/bench_live.py [VISITORS] [PAGE ...]     (two to five minutes; Linux)

PYTHON is one with tests/requirements.txt. Visitors take the pages in turn: 00_start_here,
03_signal_meters and paper_tv, unless some are named. All open at the same moment, with nothing run
beforehand; when all are there, each makes MOVES moves with a pause of a second or so between them, as
somebody who looks would. Server, kernels and all browsers share this machine's cores.

Printed, per page: seconds until it can be moved, milliseconds from key to changed picture, MB of a
kernel (PSS: shared pages divided); then MB of the server, and how busy the machine was before.
"""

import asyncio
import os
import random
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd
from playwright.async_api import TimeoutError, async_playwright

REPO = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(REPO / "tests" / name) for name in ("bench", "browser", "lessons")]

import bench_class  # noqa: E402
import bench_panel  # noqa: E402

MOVES = 15
PAGES = ("00_start_here", "03_signal_meters", "paper_tv")
PATIENT_MS, COMES_MS, LOST_MS = 300_000, 60_000, 10_000
SEEN = """() => [...document.querySelectorAll('.shed-box img, .paper-tv ~ *, [role=status]')]
    .map(e => e.tagName == 'IMG' ? e.src.slice(-300) : e.textContent).join()"""
"""What of a page changes when somebody moves something."""


class Visitor:
    """A browser of its own at one page of ``server``."""

    def __init__(self, server, name, seed):
        self.server, self.name, self.chance = server, name, random.Random(seed)
        self.took_ms, self.lost = [], 0

    async def open(self, browser):
        """Come in, and wait until something can be moved."""
        begin = time.monotonic()
        context = await browser.new_context(viewport={"width": 820, "height": 1180})
        self.page = await context.new_page()
        self.page.set_default_timeout(PATIENT_MS)
        await self.page.goto(f"{self.server.url}/?token={self.server.word}")
        await self._load()
        self.opened_s = time.monotonic() - begin
        self.kernel = await asyncio.to_thread(bench_class.kernel_of, await self._kernel_name())

    async def _load(self):
        """Load the page until there is something to move; anew where nothing comes, as people do."""
        tv = self.name == "paper_tv"
        for self.reloads in range(3):
            await self.page.goto(f"{self.server.url}/voila/render/{self.name}.ipynb")
            self.hand = self.page.get_by_role("button", name="Screw in") if tv else None
            self.hand = self.hand or self.page.locator(".shed-row .noUi-handle").first
            try:
                return await self.hand.wait_for(timeout=COMES_MS)
            except TimeoutError:
                print(self.name, "did not come; loaded anew", flush=True)
        raise RuntimeError(f"{self.name} never came")

    async def _kernel_name(self):
        return await self.page.evaluate(
            "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
        )

    async def move(self):
        """Milliseconds of some moves, each followed by a pause."""
        for number in range(MOVES):
            was = await self.page.evaluate(SEEN)
            await self.hand.focus()
            begin = time.monotonic()
            key = (
                "Enter" if self.name == "paper_tv" else "ArrowRight" if number < 8 else "ArrowLeft"
            )
            await self.page.keyboard.press(key)
            try:
                await self.page.wait_for_function(
                    f"was => ({SEEN})() != was", arg=was, timeout=LOST_MS
                )
            except TimeoutError:
                self.lost += 1
                continue
            self.took_ms.append(1e3 * (time.monotonic() - begin))
            await asyncio.sleep(self.chance.uniform(0.5, 1.5))


async def whole(server, names):
    """Everybody opens, then everybody moves; the visitors."""
    async with async_playwright() as playwright:
        rooms = bench_panel.browser_fixtures()
        browser = await playwright.chromium.launch(
            executable_path=rooms.chromium(), args=list(rooms.CHROMIUM)
        )
        visitors = [Visitor(server, name, seed) for seed, name in enumerate(names)]
        await asyncio.gather(*(one.open(browser) for one in visitors))
        print("all are in", flush=True)
        await asyncio.gather(*(one.move() for one in visitors))
        for one in visitors:
            one.mb = bench_class.memory_mb([one.kernel], "Pss")
        await browser.close()
    return visitors


def table(visitors):
    """One row per page."""
    rows = []
    for name, some in pd.Series(visitors).groupby([one.name for one in visitors]):
        took = pd.Series([ms for one in some for ms in one.took_ms])
        row = {"page": name, "visitors": len(some), "open_s": max(one.opened_s for one in some)}
        row |= {"reloads": sum(one.reloads for one in some)}
        row |= {"lost": sum(one.lost for one in some)}
        row |= {"moves": len(took), "median_ms": took.median(), "slowest_ms": took.max()}
        rows.append(row | {"kernel_mb": max(one.mb for one in some)})
    return pd.DataFrame(rows)


def main(arguments):
    """The command line."""
    count, *pages = arguments or ["12"]
    names = [(pages or PAGES)[k % len(pages or PAGES)] for k in range(int(count))]
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as room:
        server = bench_panel.browser_fixtures().Live(Path(room))
        try:
            visitors = asyncio.run(whole(server, names))
            print((Path(room) / "live.log").read_text(errors="replace")[-1500:])
            server_mb = bench_class.memory_mb([server.process.pid], "Pss")
        finally:
            server.stop()
    print(
        table(visitors)
        .round({"open_s": 0, "median_ms": 0, "slowest_ms": 0, "kernel_mb": 0})
        .to_string()
    )
    print(f"server {server_mb:.0f} MB; load before {load:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main(sys.argv[1:])
