"""The ten lines of lesson 04 that go from what lies in the shed to a sheet and a rank on a roof."""

import json
from pathlib import Path

LESSON = Path(__file__).parents[1] / "notebooks" / "04_reflectors.ipynb"


def ten_lines():
    """The lines as the lesson prints them."""
    cells = json.loads(LESSON.read_text(encoding="utf-8"))["cells"]
    texts = ["".join(cell["source"]) for cell in cells]
    (text,) = [t for t in texts if t.startswith("## Further: from the shed to the roof")]
    return text.split("```")[1].removeprefix("python\n").strip().splitlines()


def test_from_the_shed_to_the_roof(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    named, lines = {}, ten_lines()
    assert len(lines) == 10
    exec("\n".join(lines), named)
    best, there, house, ranking = (named[n] for n in ("best", "there", "house", "ranking"))
    assert there.short_of(best.build) == "" and best.build.screen is not None
    page = Path("mine.html").read_text(encoding="utf-8")
    assert all(f"{mm} mm" in page for mm in best.build.cut_list.length_mm)
    row = ranking[ranking["antenna"] == "mine"].iloc[0]
    assert row.expected > 1 and row["mount"] in house.mounts
