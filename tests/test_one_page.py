"""Would yours do? The page of one antenna; the still; what is said while a report takes long."""

import importlib
import re

import pytest
from test_report import Reader

from signalshed import advice, report, simulate

pages = importlib.import_module("signalshed.report.page")


@pytest.fixture(scope="module")
def site():
    return simulate.demo_site("balcony")


def test_one_antenna_is_answered_with_what_would_do_better(site, tmp_path):
    path = report.write_one(site, "wire loop", tmp_path / "mine.html", date="2026-05-16")
    words = Reader(path.read_text(encoding="utf-8")).words
    mine = advice.rank(site, [s for s in advice.possible_setups(site) if s.antenna == "wire loop"])
    best = advice.rank(site).iloc[0]
    assert "Would the wire loop do?" in words and "Hang the wire loop on “balcony rail”" in words
    assert f"expect about {mine['expected'].iloc[0]:.0f}." in words
    better = words[words.index("What would do better") :]
    assert better.index(best["antenna"]) < better.index("Station by station")
    assert f"{best['expected']:.1f}" in better and "better on " in better
    assert "Local code and licensed practice decide." in words


def test_of_the_best_antenna_nothing_does_better_but_a_change(site):
    best = advice.rank(site).iloc[0]
    words = Reader(report.one.one_page(site, best["antenna"])).words
    assert "instead stations beside yours" not in words
    change = advice.changes(site, best["setup"]).iloc[0]["change"]
    assert change in words[words.index("What would do better") :]


def test_an_antenna_that_may_live_nowhere_here_is_refused(site):
    nowhere = site.with_antenna(site.antenna("wire loop").renamed("dish", lives=("boat",)))
    with pytest.raises(ValueError, match="may live on none of the mounts"):
        report.one.one_page(nowhere, "dish")


def test_the_still_is_sixteen_to_nine_and_carries_the_answer(site, tmp_path):
    picture = report.still(site, advice.rank(site))
    path = picture.save(tmp_path / "answer.png", (1920, 1080))
    assert path.read_bytes()[16:24] == (1920).to_bytes(4, "big") + (1080).to_bytes(4, "big")
    assert picture.alt.startswith("Hang the bow-tie with screen on “balcony rail”")
    assert len(re.findall(r"\d+ of 10|comes|lacks", picture.alt)) >= 10


def test_what_is_being_written_is_said_once_it_takes_long(site, monkeypatch):
    ranking, told = advice.rank(site), []
    monkeypatch.setattr(pages, "SAY_AFTER_S", 1e9)
    quick = report.page(site, ranking, tell=told.append)
    assert told == []
    monkeypatch.setattr(pages, "SAY_AFTER_S", -1.0)
    assert report.page(site, ranking, tell=told.append) == quick
    assert len(told) == len(pages.PARTS) and told[1].startswith("Writing the report: station by")
