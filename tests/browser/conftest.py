"""A real JupyterLab on loopback and a real Chromium, for tests that move real sliders.

The server gets a copy of the notebooks and a home folder of its own: it neither reads nor changes any
setting of the machine, and asks nothing outside. Without Chromium or playwright the tests are skipped.
"""

import contextlib
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

HERE = Path(__file__).parent
REPO = HERE.parents[1]
sys.path[:0] = [str(HERE), str(HERE.parent / "lessons")]

NO_OUTSIDE = (
    "--LabApp.news_url=None",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    "--LabApp.extension_manager=readonly",
)
OPEN_ON_LOOPBACK = (
    "--ServerApp.ip=127.0.0.1",
    "--ServerApp.open_browser=False",
    "--ServerApp.allow_root=True",
    "--IdentityProvider.token=",
    "--ServerApp.password=",
    "--ServerApp.disable_check_xsrf=True",
)
SETTINGS = {
    "apputils-extension/notification": '{"fetchNews": "false", "checkForUpdates": false}',
    "notebook-extension/tracker": '{"windowingMode": "none"}',
}
"""Nothing fetched; every cell in the page's tree, also those scrolled away, so that tests find them."""

CHROMIUM = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def chromium():
    """The Chromium of this machine, or None."""
    names = ("chromium", "chromium-browser", "google-chrome")
    return next(filter(None, map(shutil.which, names)), None)


def pytest_collection_modifyitems(items):
    """Everything in this folder needs the browser."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


class Lab:
    """A JupyterLab server over ``folder``; ``url`` without a slash at the end."""

    def __init__(self, room):
        self.folder = room / "notebooks"
        self.port = _free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = open(room / "lab.log", "w")  # noqa: SIM115
        command = [sys.executable, "-m", "jupyterlab", *NO_OUTSIDE, *OPEN_ON_LOOPBACK]
        command += [f"--ServerApp.port={self.port}", f"--ServerApp.root_dir={room}"]
        self.process = subprocess.Popen(
            command,
            env=_own_home(room),
            cwd=room,
            stdout=self.log,
            stderr=self.log,
            start_new_session=True,
        )
        self._wait()

    def _wait(self):
        for _ in range(960):
            if self.process.poll() is not None:
                raise RuntimeError(f"JupyterLab ended: {Path(self.log.name).read_text()[-2000:]}")
            try:
                urllib.request.urlopen(f"{self.url}/api/status", timeout=5)
                return
            except (urllib.error.URLError, OSError):
                time.sleep(0.25)
        raise RuntimeError("JupyterLab does not answer.")

    def address(self, notebook, workspace="auto"):
        """Where a notebook of the folder opens alone, in a workspace of that name."""
        return f"{self.url}/lab/workspaces/{workspace}/tree/notebooks/{notebook}?reset"

    def set(self, plugin, settings):
        """Change a setting of JupyterLab, as its settings editor does."""
        self._ask(f"lab/api/settings/@jupyterlab/{plugin}", "PUT", {"raw": json.dumps(settings)})

    def end_kernels(self):
        """End every kernel and its session."""
        for session in self._ask("api/sessions", "GET"):
            self._ask(f"api/sessions/{session['id']}", "DELETE")

    def kernels_mb(self):
        """Resident memory of this server's kernels, MB; the test is skipped without /proc."""
        tasks = Path(f"/proc/{self.process.pid}/task")
        if not tasks.is_dir():
            pytest.skip("process memory is read from /proc")
        numbers = " ".join(path.read_text() for path in tasks.glob("*/children")).split()
        status = [Path(f"/proc/{number}/status").read_text() for number in numbers]
        return sum(int(re.search(r"VmRSS:\s+(\d+) kB", text).group(1)) for text in status) / 1e3

    def _ask(self, address, method, data=None):
        body = None if data is None else json.dumps(data).encode()
        head = {"Content-Type": "application/json"}
        asked = urllib.request.Request(f"{self.url}/{address}", body, head, method=method)
        with urllib.request.urlopen(asked, timeout=30) as answer:
            text = answer.read()
        return json.loads(text) if text else None

    def stop(self):
        """End the server and its kernels."""
        os.killpg(self.process.pid, signal.SIGTERM)
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.log.close()


class Live:
    """The server of live pages; ``url`` without a slash at the end, ``word`` lets a visitor in."""

    word = "birch42"

    def __init__(self, room):
        self.port = _free_port()
        self.url, self.room = f"http://127.0.0.1:{self.port}", room
        words = ["--port", str(self.port), "--word", self.word, "--ready", "0"]
        self.log = open(room / "live.log", "w")  # noqa: SIM115
        environment = _own_home(room) | {"TMPDIR": str(room)}
        self.process = subprocess.Popen(
            [sys.executable, str(REPO / "notebooks" / "teaching" / "live" / "serve.py"), *words],
            env=environment,
            stdout=self.log,
            stderr=self.log,
            start_new_session=True,
        )
        for _ in range(480):
            with contextlib.suppress(OSError):
                return self._answers()
            time.sleep(0.25)
        raise RuntimeError((room / "live.log").read_text())

    def _answers(self):
        urllib.request.urlopen(self.url, timeout=5).close()

    def get(self, address, word=word):
        """Status and text of an address, asked with the word or without."""
        asked = urllib.request.Request(f"{self.url}/{address}")
        if word:
            asked.add_header("Authorization", f"token {word}")
        try:
            with urllib.request.urlopen(asked, timeout=180) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as refused:
            return refused.code, refused.read().decode()

    def kernel(self, page):
        """The process that runs a page."""
        name = page.evaluate(
            "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
        )
        for folder in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                if name.encode() in (folder / "cmdline").read_bytes():
                    return int(folder.name)
        pytest.skip("processes are found in /proc")

    def stop(self):
        """End the server and its kernels."""
        os.killpg(self.process.pid, signal.SIGTERM)
        self.process.wait(60)
        self.log.close()


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _own_home(room):
    """Environment in which Jupyter, IPython and matplotlib keep to ``room``."""
    home = room / "home"
    ours = {
        "HOME": home,
        "USERPROFILE": home,
        "JUPYTER_CONFIG_DIR": home / "config",
        "JUPYTER_DATA_DIR": home / "data",
        "JUPYTER_RUNTIME_DIR": home / "runtime",
        "JUPYTERLAB_SETTINGS_DIR": home / "settings",
        "JUPYTERLAB_WORKSPACES_DIR": home / "workspaces",
        "IPYTHONDIR": home / "ipython",
        "MPLCONFIGDIR": home / "matplotlib",
    }
    for folder in ours.values():
        Path(folder).mkdir(parents=True, exist_ok=True)
    ours["PYTHONPATH"] = os.pathsep.join([str(HERE.parent / "lessons"), str(REPO / "lib")])
    for plugin, settings in SETTINGS.items():
        path = home / "settings" / "@jupyterlab" / f"{plugin}.jupyterlab-settings"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(settings)
    return os.environ | {name: str(folder) for name, folder in ours.items()}


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    """JupyterLab over a copy of the notebooks and the demo data."""
    room = tmp_path_factory.mktemp("lab")
    for name in ("notebooks", "demo_data"):
        shutil.copytree(REPO / name, room / name) if (REPO / name).is_dir() else None
    (room / "notebooks").mkdir(exist_ok=True)
    server = Lab(room)
    yield server
    server.stop()


@pytest.fixture(scope="module")
def live(tmp_path_factory):
    """The server of live pages, with nothing run beforehand."""
    pytest.importorskip("voila", reason="the engine of live pages is not installed")
    server = Live(tmp_path_factory.mktemp("class"))
    yield server
    server.stop()


@pytest.fixture(scope="module")
def browser():
    """One Chromium for all tests of a file; its event loop must not outlive them in other tests."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if chromium() is None:
        pytest.skip("there is no Chromium on this machine")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=list(CHROMIUM))
        yield started
        started.close()


@contextlib.contextmanager
def new_page(browser, lab):
    """A page of 1280 by 900; at its end nothing was asked outside, no error is on its console."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    made = context.new_page()
    outside, made.console_errors = [], []
    made.on("request", lambda r: outside.append(r.url) if _is_outside(r.url, lab) else None)
    made.on("console", lambda m: made.console_errors.append(m.text) if m.type == "error" else None)
    made.on("pageerror", lambda e: made.console_errors.append(str(e)))
    yield made
    context.close()
    assert not outside
    assert not made.console_errors


def _is_outside(url, lab):
    return url.startswith("http") and not url.startswith(lab.url)


@pytest.fixture
def page(browser, lab):
    """A page for one test."""
    with new_page(browser, lab) as made:
        yield made


@pytest.fixture(scope="module")
def shared_page(browser, lab):
    """A page for all tests of a file."""
    with new_page(browser, lab) as made:
        yield made
