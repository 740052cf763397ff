"""Ten lines of a notebook, from what lies in the shed to a sheet on the bench and a rank on a roof."""

import signalshed as shed
from signalshed import builds


def test_from_the_shed_to_the_roof(tmp_path):
    house = shed.simulate.demo_site()
    there = builds.Shed(wire_m=0.45)
    best = builds.best_from_the_shed(there, [24])
    path = shed.report.write_sheet(best.build, tmp_path / "mine.html")
    mine = shed.antenna.from_build(best.build, [470, 539, 608], "mine")
    ranked = shed.advice.rank(house.with_antenna(mine))
    assert there.short_of(best.build) == ""
    page = path.read_text(encoding="utf-8")
    assert all(f"{mm} mm" in page for mm in best.build.cut_list.length_mm)
    row = ranked[ranked["antenna"] == "mine"].iloc[0]
    assert row.expected > 1 and row["mount"] in house.mounts
