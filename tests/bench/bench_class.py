"""A class on one machine: JupyterHub, one server and kernel per learner, everybody at the sliders.

Run: PYTHON tests/bench/bench_class.py [LEARNERS] [LESSON ...]     (three to ten minutes; Linux)

PYTHON is one with tests/requirements.txt and `jupyterhub`; `configurable-http-proxy` (npm) is on the
PATH. Nothing else here needs these two. All is on loopback, below a temporary folder, and ends with the
run. Learners take the lessons in turn: all eight, unless some are named.

1. all servers are asked for at once; then all kernels run their whole lesson at once
2. one learner alone moves sliders, then everybody at the same time, each with a pause of half a second
   to a second and a half after every picture, as somebody who looks at it would
3. the first learner sits in a real Chromium on the same machine: milliseconds from key press to
   changed pixels, alone and with the class; all others are scripts that speak to their kernels

Printed, per learner: seconds to start and to run, CPU seconds of both; moves that changed the picture,
milliseconds from move to picture, CPU milliseconds per move; memory in MB of server and kernel (RSS
counts shared pages for everyone, PSS divides them). Then hub and proxy, everything that failed, and
what follows for larger classes: memory, and how long everybody waits where only the cores limit.
"""

import asyncio
import json
import os
import random
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat
import numpy as np
import pandas as pd
from playwright.sync_api import sync_playwright
from tornado import httpclient

REPO = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(REPO / "tests" / name) for name in ("bench", "browser", "lessons")]

import bench_panel  # noqa: E402
import lab_page  # noqa: E402
import skeleton  # noqa: E402
from learner import PATIENT, RUN_S, Learner  # noqa: E402

MOVES, ALONE_MOVES, PRESSES = 40, 20, 24
START_S, PASSWORD = 300, "a closed room"
SYSTEM_MB = 1000
TICK_S = 1 / os.sysconf("SC_CLK_TCK")

CONFIG = """
c = get_config()
c.JupyterHub.bind_url = "http://127.0.0.1:{ports[0]}"
c.JupyterHub.hub_port = {ports[1]}
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{ports[2]}"
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = "{room}/class/{{username}}"
c.Spawner.cmd = ["{python}", "-m", "jupyterhub.singleuser"]
c.Spawner.args = {arguments}
c.Spawner.start_timeout = c.Spawner.http_timeout = {start_s}
c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = "{password}"
c.Authenticator.allow_all = True
c.JupyterHub.services = [{{"name": "bench", "api_token": "{token}"}}]
c.JupyterHub.load_roles = [{{"name": "bench", "services": ["bench"],
    "scopes": ["admin:users", "admin:servers", "access:servers"]}}]
"""


class Hub:
    """A JupyterHub below ``room``, with a home that holds the lessons for each of ``names``."""

    def __init__(self, room, names):
        self.room, ports, self.token = room, _free_ports(3), secrets.token_hex(16)
        self.url, self.headers = (
            f"http://127.0.0.1:{ports[0]}",
            {"Authorization": f"token {self.token}"},
        )
        for name in names:
            for folder in ("notebooks", "demo_data"):
                shutil.copytree(REPO / folder, room / "class" / name / folder)
        arguments = ["--LabApp.news_url=None", "--LabApp.extension_manager=readonly"]
        arguments += ["--allow-root"] if os.geteuid() == 0 else []
        known = {"python": sys.executable, "start_s": START_S, "password": PASSWORD}
        text = CONFIG.format(ports=ports, room=room, arguments=arguments, token=self.token, **known)
        (room / "config.py").write_text(text)
        self.log = open(room / "hub.log", "w")  # noqa: SIM115
        command = [sys.executable, "-m", "jupyterhub", "-f", "config.py"]
        self.process = subprocess.Popen(
            command, cwd=room, stdout=self.log, stderr=self.log, start_new_session=True
        )

    async def ask(self, address, method="GET"):
        """The answer's JSON, or None; ``address`` below the hub's API."""
        answer = await httpclient.AsyncHTTPClient().fetch(
            f"{self.url}/hub/api/{address}",
            method=method,
            body="" if method == "POST" else None,
            headers=self.headers,
            **PATIENT,
        )
        return json.loads(answer.body) if answer.body else None

    async def wait(self):
        """Until the hub answers."""
        while True:
            try:
                return await self.ask("")
            except (OSError, httpclient.HTTPClientError):
                if self.process.poll() is not None:
                    raise RuntimeError((self.room / "hub.log").read_text()[-3000:]) from None
                await asyncio.sleep(0.25)

    async def start(self, name):
        """Have the server of one learner started; seconds until it is ready."""
        begin = time.monotonic()
        await self.ask(f"users/{name}", "POST")
        await self.ask(f"users/{name}/server", "POST")
        while not (await self.ask(f"users/{name}"))["servers"].get("", {}).get("ready"):
            await asyncio.sleep(0.25)
        return time.monotonic() - begin

    def stop(self):
        """End the hub, its proxy and all servers; end by force what is left of this very run."""
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(60)
        finally:
            for number in processes(str(self.room)):
                os.kill(number, signal.SIGKILL)
            self.log.close()


def _free_ports(count):
    held = [socket.socket() for _ in range(count)]
    for one in held:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in held]
    for one in held:
        one.close()
    return ports


# ---- what the system knows of processes ----------------------------------------------------------


def processes(home):
    """Ids of all processes whose home or working folder is ``home`` or lies below it."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            environment = (folder / "environ").read_bytes().decode(errors="replace").split("\0")
            places = [e[5:] for e in environment if e.startswith("HOME=")]
            places.append(os.readlink(folder / "cwd"))
        except OSError:
            continue
        if any(place == home or place.startswith(home + "/") for place in places):
            found.append(int(folder.name))
    return found


def is_kernel(number):
    """Whether a process runs cells."""
    return b"ipykernel" in Path(f"/proc/{number}/cmdline").read_bytes()


def kernel_of(name):
    """The process of the kernel of that id."""
    folders = Path("/proc").glob("[0-9]*")
    return next(int(f.name) for f in folders if name.encode() in (f / "cmdline").read_bytes())


def memory_mb(numbers, kind):
    """Memory of processes, MB; ``kind`` is Rss or Pss."""
    texts = [Path(f"/proc/{n}/smaps_rollup").read_text() for n in numbers]
    return sum(int(t.split(f"\n{kind}:")[1].split()[0]) for t in texts) / 1e3


def cpu_s(numbers):
    """CPU seconds that processes have used so far."""
    fields = [Path(f"/proc/{n}/stat").read_text().rsplit(")", 1)[1].split() for n in numbers]
    return TICK_S * sum(int(f[11]) + int(f[12]) for f in fields)


# ---- the learner in a real browser ---------------------------------------------------------------


class Reader:
    """The learner ``name``, who opens ``lesson`` in Chromium. All its calls come from one thread."""

    def __init__(self, hub, name, lesson):
        self.playwright = sync_playwright().start()
        rooms = bench_panel.browser_fixtures()
        self.browser = self.playwright.chromium.launch(
            executable_path=rooms.chromium(), args=list(rooms.CHROMIUM)
        )
        lab_page.RUN_MS = 1000 * RUN_S
        page = self.page = self.browser.new_page(viewport={"width": 1280, "height": 1000})
        page.set_default_timeout(1000 * START_S)
        page.goto(f"{hub.url}/hub/login")
        page.get_by_label("Username").fill(name)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"**/user/{name}/**")
        page.goto(f"{hub.url}/user/{name}/lab/tree/notebooks/{lesson}.ipynb?reset")
        page.locator("#jp-main-statusbar", has_text="| Idle").wait_for()
        lab_page.run_all(page)
        page.locator(".shed-panel .noUi-handle").first.scroll_into_view_if_needed()
        page.wait_for_timeout(2000)
        page.evaluate(bench_panel.WATCH)
        page.locator(".shed-panel .noUi-handle").first.focus()

    def press(self, still=lambda: False):
        """Milliseconds from key press to changed pixels, a few times, and on while ``still()``."""
        took = bench_panel.calm_ms(self.page, PRESSES)
        while still():
            took += bench_panel.calm_ms(self.page, 2)
        return took

    def close(self):
        """End the browser."""
        self.browser.close()
        self.playwright.stop()


# ---- the class -----------------------------------------------------------------------------------


def sources(lesson):
    """The code cells of a lesson."""
    cells = nbformat.read(REPO / "notebooks" / f"{lesson}.ipynb", as_version=4).cells
    return [cell.source for cell in cells if cell.cell_type == "code"]


async def moving(learner, moves, seed):
    """Milliseconds of so many moves, each followed by a pause; None where nothing had to change."""
    chance, took = random.Random(seed), []
    for _ in range(moves if learner.sliders else 0):
        took.append(await learner.move(chance))
        await asyncio.sleep(chance.uniform(0.5, 1.5))
    return took


def told(took):
    """Median and slowest of some milliseconds, and how many there were."""
    numbers = [t for t in took if t is not None]
    some = numbers or [np.nan]
    return {"moves": len(numbers), "median_ms": np.median(some), "slowest_ms": max(some)}


class Class:
    """The lesson of every learner by name, at ``hub``; the first one sits in a browser."""

    def __init__(self, hub, lessons):
        self.hub, self.lessons, self.rows = hub, lessons, {name: {} for name in lessons}
        self.first, *others = lessons
        self.scripts = [Learner(name, f"{hub.url}/user/{name}", hub.headers) for name in others]
        self.thread = ThreadPoolExecutor(1)

    def mine(self, name):
        """Ids of a learner's processes: server and kernels."""
        return processes(f"{self.hub.room}/class/{name}")

    def note(self, name, **columns):
        """Put numbers into the learner's row."""
        self.rows[name] |= columns

    async def start(self):
        """All servers at once."""
        took = await asyncio.gather(*map(self.hub.start, self.lessons))
        for name, seconds in zip(self.lessons, took, strict=True):
            self.note(name, lesson=self.lessons[name], start_s=seconds)
            self.note(name, start_cpu_s=cpu_s(self.mine(name)))

    async def run(self):
        """All lessons at once, one of them in the browser."""
        reader = asyncio.wrap_future(
            self.thread.submit(Reader, self.hub, self.first, self.lessons[self.first])
        )
        runs = [
            one.run(f"notebooks/{lesson}.ipynb", sources(lesson))
            for one in self.scripts
            for lesson in [self.lessons[one.name]]
        ]
        await asyncio.gather(*runs)
        self.reader = await reader
        for one in self.scripts:
            begun = self.rows[one.name]["start_cpu_s"]
            self.note(one.name, run_s=one.run_s, run_cpu_s=cpu_s(self.mine(one.name)) - begun)

    async def move(self):
        """One alone, then everybody; CPU time per move from the second. Returns lines to print."""
        reader_alone = await asyncio.wrap_future(self.thread.submit(self.reader.press))
        alone = await moving(self.scripts[0], ALONE_MOVES, 0) if self.scripts else []
        before = {one.name: cpu_s(self.mine(one.name)) for one in self.scripts}
        begin, going = time.monotonic(), True
        pressed = self.thread.submit(self.reader.press, lambda: going)
        took = await asyncio.gather(
            *(moving(one, MOVES, 1 + seed) for seed, one in enumerate(self.scripts))
        )
        going, seconds = False, time.monotonic() - begin
        reader_class = await asyncio.wrap_future(pressed)
        for one, numbers in zip(self.scripts, took, strict=True):
            used = cpu_s(self.mine(one.name)) - before[one.name]
            self.note(one.name, **told(numbers), cpu_ms_a_move=1e3 * used / MOVES)
        return self._lines(seconds, alone, reader_alone, reader_class)

    def _lines(self, seconds, alone, reader_alone, reader_class):
        def words(took):
            return "{moves} moves, median {median_ms:.0f} ms, slowest {slowest_ms:.0f} ms".format(
                **told(took)
            )

        yield f"all moved for {seconds:.0f} s"
        if alone:
            yield f"a script alone ({self.lessons[self.scripts[0].name]}): {words(alone)}"
        yield f"browser, alone: {words(reader_alone)}"
        yield f"browser, with the class: {words(reader_class)}"

    def weigh(self):
        """Memory of every learner; MB of what serves them all."""
        everything = set(processes(str(self.hub.room)))
        for name in self.lessons:
            numbers = self.mine(name)
            everything -= set(numbers)
            kernels = [n for n in numbers if is_kernel(n)]
            server = set(numbers) - set(kernels)
            self.note(
                name, rss_mb=memory_mb(numbers, "Rss"), server_pss_mb=memory_mb(server, "Pss")
            )
            self.note(name, kernel_pss_mb=memory_mb(kernels, "Pss"))
        return memory_mb(everything, "Pss")

    async def close(self):
        """End the browser and the sockets."""
        for one in self.scripts:
            one.close()
        await asyncio.wrap_future(self.thread.submit(self.reader.close))


def machines(table, shared_mb):
    """What the heaviest lesson of a run asks of a machine, by size of class: GB with one lesson open
    and with three (a kernel stays until it is shut down), the system's own SYSTEM_MB in it; seconds
    until everybody's server is up and all cells have run, by cores."""
    server, kernel = table["server_pss_mb"].max(), table["kernel_pss_mb"].max()
    cpu = (table["start_cpu_s"] + table["run_cpu_s"]).max()
    rows = []
    for learners in (6, 12, 20, 30):
        mb = [SYSTEM_MB + shared_mb + learners * (server + n * kernel) for n in (1, 3)]
        row = {"learners": learners, "gb_one_lesson": mb[0] / 1e3, "gb_three_lessons": mb[1] / 1e3}
        rows.append(row | {f"wait_s_{cores}_cores": learners * cpu / cores for cores in (2, 4, 8)})
    return pd.DataFrame(rows)


async def whole(room, lessons):
    """One run of everything; prints as it goes."""
    print(f"load of the last minute before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    hub = Hub(room, lessons)
    try:
        await hub.wait()
        group = Class(hub, lessons)
        await group.start()
        await group.run()
        lines = list(await group.move())
        shared_mb = group.weigh()
        await group.close()
    finally:
        hub.stop()
    table = pd.DataFrame(group.rows).T.infer_objects()
    print(table.round(1).to_string())
    troubles = [t for one in group.scripts for t in one.troubles]
    lines.append(f"hub and proxy: {shared_mb:.0f} MB PSS")
    print("\n".join([*lines, f"{len(troubles)} failures", *troubles]))
    print(machines(table, shared_mb).round(1).to_string(index=False))


def main(arguments):
    count = int(arguments[0]) if arguments else 12
    named = arguments[1:] or list(skeleton.CORE_MIN)
    httpclient.AsyncHTTPClient.configure(None, max_clients=1000)
    lessons = {f"learner{n:02d}": named[n % len(named)] for n in range(count)}
    with tempfile.TemporaryDirectory(prefix="class-", ignore_cleanup_errors=True) as room:
        asyncio.run(whole(Path(room), lessons))


if __name__ == "__main__":
    main(sys.argv[1:])
