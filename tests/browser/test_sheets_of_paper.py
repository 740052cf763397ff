"""Every sheet of to_print.html fits on one side of A4 and of Letter, at full size."""

import pytest
from test_pages_offline import TEACHING

MM_A_PIXEL = 25.4 / 96
PAPERS = {"A4": (190, 277), "Letter": (195.9, 259.4)}
"""Paper less the margins of 10 mm, mm."""


@pytest.mark.parametrize("paper", PAPERS)
def test_each_sheet_fits_on_one_side(browser, paper):
    wide_mm, tall_mm = PAPERS[paper]
    page = browser.new_page()
    page.emulate_media(media="print")
    page.goto((TEACHING / "to_print.html").as_uri())
    over = []
    for sheet in page.query_selector_all(".sheet:not(.screen)"):
        on_side = "wide" in sheet.get_attribute("class").split()
        across, down = (tall_mm, wide_mm) if on_side else (wide_mm, tall_mm)
        page.set_viewport_size({"width": round(across / MM_A_PIXEL), "height": 1000})
        height = sheet.bounding_box()["height"] * MM_A_PIXEL
        if height > down or sheet.evaluate("e => e.scrollWidth > e.clientWidth"):
            over.append((sheet.query_selector("h2").inner_text(), height))
    page.close()
    assert not over
