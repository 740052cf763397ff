"""Arguments of the wrong kind: one sentence that names the argument and says what to give."""

import pandas as pd
import pytest

from signalshed import advice, builds, meters, report, simulate, survey, trials

HOUSE = simulate.demo_site()
MESH = builds.loop(539)
WRONG_KINDS = {
    "a folder's name for a site": (lambda: advice.rank("my_roof"), "open site"),
    "no setups": (lambda: advice.rank(HOUSE, []), "setups is empty"),
    "one setup": (lambda: advice.rank(HOUSE, survey.Setup("wire loop", "roof mast")), "a list of"),
    "an antenna's name for a setup": (lambda: survey.outlook(HOUSE, "wire loop"), "survey.Setup"),
    "names for reach": (lambda: advice.reach("wire loop", "roof mast"), "site.antenna"),
    "a mount's name for reach": (
        lambda: advice.reach(HOUSE.antenna("wire loop"), "roof mast"),
        "site.mount",
    ),
    "a file's name for readings": (lambda: survey.inform(HOUSE, "readings.csv"), "DataFrame"),
    "a build for an antenna": (lambda: HOUSE.with_antenna(MESH), "antenna.from_build"),
    "a ranking for a site": (lambda: report.write(pd.DataFrame(), HOUSE, "a.html"), "open site"),
    "an antenna for a build": (
        lambda: report.write_sheet(HOUSE.antenna("wire loop"), "a.html"),
        ".build",
    ),
    "a file's name for a ladder": (lambda: meters.MeterCurve.fit("meter.csv"), "DataFrame"),
    "a file's name for a trial": (lambda: trials.compare("readings.csv", "dipole"), "DataFrame"),
    "a ladder for a curve": (
        lambda: trials.compare(pd.DataFrame(), "dipole", pd.DataFrame()),
        "MeterCurve.fit",
    ),
    "a name for a baseline": (lambda: trials.gains(pd.DataFrame(), "dipole"), "site.antenna"),
}


@pytest.mark.parametrize("case", WRONG_KINDS)
def test_an_argument_of_the_wrong_kind_is_told_with_what_to_give(case):
    call, words = WRONG_KINDS[case]
    with pytest.raises(ValueError) as caught:
        call()
    assert words in str(caught.value) and str(caught.value).endswith(".")
