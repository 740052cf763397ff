"""Nothing lost: whatever happens while a file is written, the old one is there whole, or the new one.

The file of readings has its own tests (a row at a time) beside its module.
"""

import ast
import errno
import os
import subprocess
import sys
import textwrap
import threading
from pathlib import Path

import pandas as pd
import pytest

from signalshed import advice, builds, report, simulate, site, survey, tables
from signalshed.classroom import lesson_05

PACKAGE = Path(__file__).resolve().parents[1] / "lib" / "signalshed"

KILLED = """
    import os, sys
    from pathlib import Path
    from signalshed.tables import writing

    path, moments = Path(sys.argv[1]), 0
    old, new = b"old " * 5000, b"new " * 7000

    def die_at(moment):
        left = [moment]

        def trace(frame, event, _):
            if not frame.f_code.co_filename.endswith("writing.py"):
                return None
            left[0] -= 1
            if left[0] < 0:
                os.kill(os.getpid(), 9)
            return trace

        sys.settrace(trace)

    while True:
        path.write_bytes(old)
        child = os.fork()
        if not child:
            die_at(moments)
            writing.write_atomic(path, new)
            os._exit(0)
        ended = os.waitpid(child, 0)[1]
        found = path.read_bytes()
        assert found in (old, new), f"half a file after {moments} steps"
        if ended == 0:
            break
        moments += 1
    assert found == new
    print(moments)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_a_writer_killed_at_any_step_leaves_the_old_file_or_the_new(tmp_path):
    """A process is killed without warning before each line of the writer in turn."""
    command = [
        sys.executable,
        "-W",
        "ignore",
        "-c",
        textwrap.dedent(KILLED),
        tmp_path / "page.html",
    ]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 20, "the writer was not stopped at each of its lines"


def test_writers_at_the_same_time_leave_one_whole_file_and_readers_see_no_other(tmp_path):
    path = tmp_path / "page.html"
    pages = [f"{k} ".encode() * 40_000 for k in range(4)]
    tables.write_atomic(path, pages[0])
    seen, errors = set(), []

    def write(page):
        try:
            for _ in range(15):
                tables.write_atomic(path, page)
                seen.add(path.read_bytes())
        except Exception as error:
            errors.append(error)

    writers = [threading.Thread(target=write, args=(page,)) for page in pages]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert not errors and seen <= set(pages)
    assert [file.name for file in tmp_path.iterdir()] == ["page.html"]


# ---- every writer -------------------------------------------------------------------------------

ANSWERS = {
    "name": "roof",
    "latitude": 30.45,
    "longitude": -40.7,
    "region": "us",
    "tuner": {"standards": ["ATSC1"]},
    "mounts": [{"name": "mast", "kind": "mast", "height_agl_m": 9}],
}
ANTENNAS = [{"name": "loop", "gain_dbd": 1.5, "low_mhz": 470, "high_mhz": 608}]
GAINS = pd.DataFrame(
    {"antenna": ["a"], "freq_mhz": [473.0], "gain_dbd": [5.0], "low_dbd": [3.0], "high_dbd": [7.0]}
)


@pytest.fixture(scope="module")
def roof():
    return simulate.demo_site()


@pytest.fixture(scope="module")
def ranking(roof):
    return advice.rank(roof)


@pytest.fixture
def short_pages(monkeypatch):
    """Pages without their pictures: here only their way to the disk is asked about."""
    for module, name in (("page", "page"), ("sheet", "sheet_page")):
        place = sys.modules[f"signalshed.report.{module}"]
        monkeypatch.setattr(place, name, lambda *_, **__: "<!DOCTYPE html>" * 9)


WRITERS = {
    "report": ("r.html", lambda path, roof, ranking: report.write(roof, ranking, path)),
    "build sheet": (
        "b.html",
        lambda path, *_: report.write_sheet(builds.half_wave_dipole(539), path),
    ),
    "survey sheet": (
        "s.html",
        lambda path, roof, _: lesson_05.survey_sheet(
            roof, survey.Setup("wire loop", "roof mast"), path, "2026-05-16"
        ),
    ),
    "gains of a trial": (
        "trial_gains.csv",
        lambda path, *_: tables.write_csv(path, GAINS, tables.TRIAL_GAINS, overwrite=True),
    ),
    "site": ("site.toml", lambda path, *_: site.write_site(path.parent, ANSWERS)),
    "antennas": ("antennas.toml", lambda path, *_: site.write_antennas(path.parent, ANTENNAS)),
    "blank site": ("site.toml", lambda path, *_: site.new_site(path.parent)),
    "blank town": ("stations.csv", lambda path, *_: site.new_town(path.parent)),
}


def _full(*_arguments, **_words):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def _no_rights(*_arguments, **_words):
    raise OSError(errno.EROFS, os.strerror(errno.EROFS))


@pytest.mark.parametrize("writer", WRITERS)
def test_a_full_disk_is_told_with_what_to_do_and_leaves_all_as_it_was(
    tmp_path, monkeypatch, writer, roof, ranking, short_pages
):
    name, write = WRITERS[writer]
    path = tmp_path / "roof" / name
    if "blank" not in writer:
        site.new_site(path.parent)
        (path.parent / "trial_gains.csv").write_text("mine", encoding="utf-8")
    before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    with monkeypatch.context() as no_room:
        no_room.setattr("signalshed.tables.writing.os.fsync", _full)
        with pytest.raises(tables.CannotSave, match="the disk is full; free some space"):
            write(path, roof, ranking)
    assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before
    write(path, roof, ranking)
    assert path.stat().st_size > 50, "once there is room, the same call works"


@pytest.mark.parametrize("writer", ["blank site", "blank town"])
def test_a_blank_folder_broken_off_anywhere_can_be_finished(tmp_path, monkeypatch, writer):
    make = WRITERS[writer][1]
    make(tmp_path / "whole" / "x", None, None)
    whole = {p.name: p.is_dir() or p.read_bytes() for p in (tmp_path / "whole").iterdir()}
    left = len([content for content in whole.values() if content is not True])
    for count in range(left):
        saved, folder = tables.write_atomic, tmp_path / str(count)

        def save(path, text, overwrite, most=count, save=saved):
            if len([p for p in path.parent.iterdir() if p.is_file()]) == most:
                raise OSError("the power failed")
            save(path, text, overwrite)

        monkeypatch.setattr("signalshed.site.new.write_atomic", save)
        with pytest.raises(OSError, match="power"):
            make(folder / "x", None, None)
        (folder / ".site.toml.0123.tmp").write_text("half a", encoding="utf-8")
        monkeypatch.undo()
        make(folder / "x", None, None)
        (folder / ".site.toml.0123.tmp").unlink()
        assert {p.name: p.is_dir() or p.read_bytes() for p in folder.iterdir()} == whole


def test_a_half_made_folder_with_a_line_of_the_users_own_is_refused(tmp_path):
    folder = site.new_site(tmp_path / "roof")
    (folder / "antennas.toml").unlink()
    (folder / "site.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(ValueError, match="holds something"):
        site.new_site(folder)
    assert (folder / "site.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("writer", ["blank site", "blank town"])
def test_a_folder_that_cannot_be_made_is_told_with_what_to_do(tmp_path, monkeypatch, writer):
    monkeypatch.setattr(Path, "mkdir", _no_rights)
    with pytest.raises(tables.CannotSave, match="Choose a folder of your own"):
        WRITERS[writer][1](tmp_path / "roof" / "x", None, None)


@pytest.mark.parametrize("writer", ["gains of a trial", "survey sheet"])
def test_a_folder_without_rights_is_told_with_what_to_do(
    tmp_path, monkeypatch, writer, roof, ranking
):
    name, write = WRITERS[writer]
    monkeypatch.setattr("signalshed.tables.writing.os.open", _no_rights)
    with pytest.raises(tables.CannotSave, match="the disk is read-only; choose another folder"):
        write(tmp_path / name, roof, ranking)
    assert list(tmp_path.iterdir()) == []


# ---- one door -----------------------------------------------------------------------------------

OPENING = {"open", "fdopen", "write_text", "write_bytes", "to_csv", "tofile", "touch", "mkdir"}
OPENING |= {
    "unlink",
    "rmtree",
    "removedirs",
    "rmdir",
    "copytree",
    "copyfile",
    "copy2",
    "symlink_to",
}
OF_OS = {"replace", "rename", "remove", "truncate", "write"}
DOORS = {
    "tables/writing.py": "whole files, at once",
    "tables/appending.py": "readings, a row at a time",
    "site/new.py": "new folders",
    "site/keeping.py": "a copy of the file about to be replaced, beside it",
    "site/listed.py": "a town folder for a list",
    "advice/many.py": "an asker's site, in a temporary folder",
    "classroom/lesson_07/asking.py": "strangers, in a temporary folder",
    "simulate/demo.py": "invented land, in a temporary folder",
    "facts/__init__.py": "our own tables, to read them",
}


def _opens(path):
    """Calls that may change a file or a folder."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", None) or getattr(node.func, "attr", "")
            of_os = getattr(getattr(node.func, "value", None), "id", "") in ("os", "shutil")
            if name in OPENING or (of_os and name in OF_OS):
                yield name


def test_files_are_written_through_few_doors():
    found = {p.relative_to(PACKAGE).as_posix(): set(_opens(p)) for p in PACKAGE.rglob("*.py")}
    assert {name for name, calls in found.items() if calls} == set(DOORS)
