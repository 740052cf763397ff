"""The report as a file in a real browser: it asks for nothing, runs nothing, and all of it is named."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from signalshed import advice, report, simulate
from signalshed.site import from_tables, stations_from

HOSTILE = '"><img src="http://evil.invalid/x" onerror="alert(1)"><script>alert(2)</script>'


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A report on a site whose stations have hostile names."""
    site = simulate.demo_site()
    names = [f"{HOSTILE}{k}" for k in range(len(site.stations))]
    site = site.with_stations(site.stations.assign(station=names, note=HOSTILE))
    path = tmp_path_factory.mktemp("report") / "r.html"
    return report.write(site, advice.rank(site), path)


def test_a_report_opens_with_no_script_and_no_outside_request(browser, written):
    page = browser.new_page()
    asked, said = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.goto(written.as_uri(), wait_until="load")
    assert [url for url in asked if not url.startswith("data:image/png;base64,")] == [
        written.as_uri()
    ]
    assert said == [], "the browser had something to complain of"
    assert page.evaluate("() => document.scripts.length") == 0
    wide, broken = page.evaluate(
        """() => [document.documentElement.scrollWidth > innerWidth,
            [...document.images].filter(i => !i.naturalWidth || i.alt.length < 40).length]"""
    )
    assert not wide and not broken
    assert page.get_by_role("heading", level=1).count() == 1
    assert page.locator("table:not(:has(th[scope]))").count() == 0
    page.close()


REGISTER = Path(__file__).parents[1] / "data" / "registers" / "messy_paste.csv"


@pytest.fixture(scope="module")
def many(tmp_path_factory):
    """A report on a register's export of some hundred rows."""
    near = (39.57, -95.2)
    house = simulate.demo_site()
    listed = stations_from(REGISTER, near=near)
    site = from_tables(near, listed.table)
    site = replace(site, antennas=house.antennas, mounts=house.mounts, feeds=house.feeds)
    path = tmp_path_factory.mktemp("many") / "r.html"
    return report.write(site, advice.rank(site), path)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_answer_prints_on_one_sheet_and_all_of_it_on_five(browser, many, paper):
    """Counted in the PDF that the browser prints: the sheet alone, and a list of some hundred rows."""
    page = browser.new_page()
    page.goto(many.as_uri(), wait_until="load")
    assert 2 <= _pages(page, paper) <= 5
    others = "document.querySelectorAll('main > :not(.sheet)')"
    page.evaluate(f"{others}.forEach(each => each.remove())")
    page.add_style_tag(content="@media print { .sheet { break-after: auto !important } }")
    assert page.locator(".sheet").count() == 1 and _pages(page, paper) == 1
    page.close()


def _pages(page, paper):
    return len(re.findall(rb"/Type ?/Page\b", page.pdf(format=paper)))
