"""The report as a file in a real browser: it asks for nothing, runs nothing, and all of it is named."""

import pytest

from signalshed import advice, report, simulate

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
