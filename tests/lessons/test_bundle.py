"""The folder for the stick: what is in it, and a lock that pip itself takes or refuses."""

import importlib.util
import re
import subprocess
import sys
import zipfile

import pytest
import refresh

TEACHING = refresh.NOTEBOOKS / "teaching"


@pytest.fixture(scope="module")
def bundle():
    """The script, as it finds its neighbour when a teacher runs it."""
    sys.path.insert(0, str(TEACHING))
    try:
        spec = importlib.util.spec_from_file_location("bundle", TEACHING / "bundle.py")
        made = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(made)
    finally:
        sys.path.remove(str(TEACHING))
    return made


def wheel(folder, name="small_thing", version="1.2.post3"):
    """A wheel of one module, as PyPA's binary distribution format wants it."""
    folder.mkdir(parents=True, exist_ok=True)
    path, info = folder / f"{name}-{version}-py3-none-any.whl", f"{name}-{version}.dist-info"
    with zipfile.ZipFile(path, "w") as made:
        made.writestr(f"{name}.py", "x = 1\n")
        made.writestr(
            f"{info}/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
        )
        made.writestr(
            f"{info}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        made.writestr(f"{info}/RECORD", f"{name}.py,,\n")
    return path


@pytest.fixture
def stick(bundle, tmp_path, monkeypatch):
    """A bundle of a small project, its wheels made here instead of fetched."""
    project = tmp_path / "a project"
    for file in ("notebooks/00_one.md", "notebooks/my_roof/site.toml", "demo_data/README.md"):
        (project / file).parent.mkdir(parents=True, exist_ok=True)
        (project / file).write_text("# One\n")
    monkeypatch.setattr(bundle, "PROJECT", project)

    def fetched(command, cwd, check):
        assert command[1:4] == ["-m", "pip", "wheel"] and command[-2:] == ["-r", "requirements.txt"]
        assert cwd == project and check
        wheel(tmp_path / "stick" / "wheels")

    monkeypatch.setattr(bundle.subprocess, "run", fetched)
    bundle.make(tmp_path / "stick")
    monkeypatch.undo()
    return tmp_path / "stick"


def test_the_stick_holds_all_that_its_page_speaks_of_and_no_roof_of_anybody(stick):
    files = {str(p.relative_to(stick)) for p in stick.rglob("*") if p.is_file()}
    assert files == {
        "README.md",
        "lock.txt",
        "wheels/small_thing-1.2.post3-py3-none-any.whl",
        "notebooks/00_one.md",
        "demo_data/README.md",
        "pages/index.html",
        "pages/teacher/index.html",
        "pages/00_one.html",
    }
    page = (stick / "README.md").read_text(encoding="utf-8")
    assert "{" not in page and "names 1 packages" in page
    assert "Python {}.{}".format(*sys.version_info) in page


def install(stick, target):
    """What the page says to install with, into a folder; pip's status and words."""
    said = re.search(r"-m (pip install .*?) && ", (stick / "README.md").read_text()).group(1)
    command = [sys.executable, "-m", *said.split(), "--target", str(target)]
    done = subprocess.run(command, cwd=stick, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def test_pip_installs_from_the_stick_and_refuses_a_damaged_copy(stick, tmp_path):
    status, words = install(stick, tmp_path / "installed")
    assert status == 0, words
    assert (tmp_path / "installed" / "small_thing.py").read_text() == "x = 1\n"
    path = next((stick / "wheels").iterdir())
    with zipfile.ZipFile(path, "a") as damaged:
        damaged.writestr("more.py", "")
    status, words = install(stick, tmp_path / "again")
    assert status != 0
    table = (stick / "README.md").read_text()
    assert "THESE PACKAGES DO NOT MATCH THE HASHES" in words and "DO NOT MATCH THE HASHES" in table


def test_a_folder_inside_the_project_or_in_use_is_refused_with_what_to_do(bundle, tmp_path, capsys):
    assert bundle.main([str(refresh.REPO / "stick")]) == 1
    assert "outside it" in capsys.readouterr().out
    (tmp_path / "mine.txt").write_text("kept")
    assert bundle.main([str(tmp_path)]) == 1
    assert "choose a new folder" in capsys.readouterr().out
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_the_teachers_page_says_the_same_commands(bundle):
    page = (TEACHING / "room_without_network.md").read_text(encoding="utf-8")
    line = re.search(r"```bash\n(.*?)\n```", bundle.README, re.DOTALL).group(1)
    assert [part for part in line.split(" && ") if part not in page] == []
    assert "notebooks/teaching/bundle.py" in page and "notebooks/teaching/pages.py" in page
