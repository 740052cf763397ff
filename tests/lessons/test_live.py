"""What live pages are made of, without their engine: what is served, and a folder for each visitor."""

import importlib.util
import io
import zipfile
from pathlib import Path

import nbformat
import pytest
import refresh
from jupyter_client.manager import KernelManager

LIVE = refresh.NOTEBOOKS / "teaching" / "live"


def _script(name):
    spec = importlib.util.spec_from_file_location(name, LIVE / f"{name}.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


@pytest.fixture(scope="module")
def serve():
    return _script("serve")


@pytest.fixture(scope="module")
def room(serve, tmp_path_factory):
    """A room laid out as the server lays it out."""
    room = tmp_path_factory.mktemp("room")
    serve.prepare(room)
    return room


def test_lessons_and_paper_tv_are_served_and_no_answer(room):
    names = sorted(p.name for p in (room / "pages").rglob("*"))
    lessons = sorted(p.name for p in refresh.NOTEBOOKS.glob("0*.ipynb"))
    assert names == [*lessons, "paper_tv.ipynb"]


def test_a_page_has_no_output_no_trying_of_code_and_no_link_to_what_is_not_served(room):
    for path in (room / "pages").glob("*.ipynb"):
        notebook = nbformat.read(path, as_version=4)
        nbformat.validate(notebook)
        text = "\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")
        assert not any(c.get("outputs") for c in notebook.cells)
        assert "Shift+Enter" not in text and "One number" not in text and ".md)" not in text
        assert "recipes.ipynb" not in text


def test_a_page_that_writes_ends_with_a_way_to_take_it_home(serve, room):
    ends = {
        path.stem[:2]: nbformat.read(path, as_version=4).cells[-1].source == serve.TAKE_HOME
        for path in (room / "pages").glob("0*.ipynb")
    }
    assert {name for name, writes in ends.items() if writes} == {"05", "06", "07"}


def test_the_class_file_adds_the_engine_and_the_tests_the_same():
    line = next(x for x in (LIVE / "requirements.txt").read_text().splitlines() if "voila" in x)
    assert line in (refresh.REPO / "tests" / "requirements.txt").read_text().splitlines()
    assert "-r ../../../requirements.txt" in (LIVE / "requirements.txt").read_text()


def test_the_first_page_and_the_page_on_it_say_the_command():
    for name in ("README.md", "live.md"):
        text = (LIVE.parent / name).read_text(encoding="utf-8")
        assert ".venv/bin/python notebooks/teaching/live/serve.py --lan" in text, name


@pytest.fixture
def kernels(room, monkeypatch):
    """Two visitors' kernels, as the server starts them."""
    monkeypatch.setenv("SHED_ROOM", str(room))
    monkeypatch.setenv("QUERY_STRING", "token=birch42")
    monkeypatch.setenv("JUPYTER_PATH", str(room / "share"))
    started = []
    for _ in range(2):
        manager = KernelManager(kernel_name="python3")
        manager.start_kernel()
        client = manager.blocking_client()
        client.start_channels()
        client.wait_for_ready(timeout=120)
        started.append((manager, client))
    yield [client for _, client in started]
    for manager, client in started:
        client.stop_channels()
        manager.shutdown_kernel()


def _says(client, code):
    said = []

    def heard(message):
        content = message["content"]
        assert message["msg_type"] != "error", content
        said.append(content.get("text", ""))

    client.execute_interactive(code, output_hook=heard, timeout=120, allow_stdin=False)
    return "".join(said).strip()


def test_two_visitors_write_apart_and_neither_touches_the_demo(kernels, room):
    one, two = kernels
    list_it = "import os; print(sorted(os.listdir('.')))"
    _says(one, "open('my_roof.txt', 'w').write('mine')")
    _says(one, "open('../demo_data/README.md', 'w').write('changed')")
    assert _says(one, list_it) == "['my_roof.txt']" and _says(two, list_it) == "[]"
    begins = "print(open('../demo_data/README.md').read()[:7])"
    assert _says(one, begins) == "changed" and _says(two, begins) != "changed"
    demo = refresh.REPO / "demo_data"
    for path in demo.rglob("*"):
        if path.is_file():
            assert (room / "demo_data" / path.relative_to(demo)).read_bytes() == path.read_bytes()
    home = "import visitor; print(sorted(p for p, _ in visitor.written()))"
    assert _says(one, home) == "['demo_data/README.md', 'notebooks/my_roof.txt']"
    assert _says(two, home) == "[]"
    secrets = "print([k for k, v in os.environ.items() if 'birch42' in v])"
    assert _says(one, f"import os; {secrets}") == "[]"


def test_what_is_taken_home_is_one_zip(monkeypatch, tmp_path):
    visitor = _script("visitor")
    with zipfile.ZipFile(io.BytesIO(visitor.packed([("notebooks/a.csv", b"1\n")]))) as bundle:
        assert bundle.read("notebooks/a.csv") == b"1\n"
    (tmp_path / "notebooks").mkdir()
    monkeypatch.chdir(tmp_path / "notebooks")
    monkeypatch.setenv(visitor.BEGUN, "0")
    button, told = visitor.take_home().children
    button.click()
    assert told.value == "Nothing has been written yet."
    Path("own.toml").write_text("x = 1\n")
    button.click()
    assert told.value.endswith("signalshed.zip</a>: notebooks/own.toml")
    assert str(tmp_path) not in told.value
