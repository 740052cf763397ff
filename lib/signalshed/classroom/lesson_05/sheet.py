"""A page to print, take outdoors and write on: bearings by the compass, and empty boxes."""

from ... import earth, plots, report, survey, tables
from ...markup import element, paragraph, safe, table
from ...report.paper import document, html_path
from ...words import distance_words
from ..cards import table_card

HEADS = ("heading", "pad, dB", "reading", "locked?", "what I saw")
"""Empty columns, one row per station."""
_ASK = (
    "Date, weather, who was there",
    "Height of the antenna above ground",
    "Cable: kind and length; splitter; amplifier on or off",
    "Landmark sighted, and its bearing from the map",
    "Compass at the mast's foot against compass ten steps away",
    "Power lines seen, and how far",
)
_BOXES = """
.blank td{height:1.6em;min-width:5em;border:1px solid #888}
.blank td:only-of-type{width:60%}
@media print{.back{break-before:page} h1{font-size:1.4rem} h2{margin-top:.5rem;font-size:1.1rem}}
"""
"""Room to write, most beside the questions; the cautions on the back of the paper."""


def survey_sheet(site, setup, path, date):
    """Write the survey sheet of a roof: one printable HTML file; the bearings on it as a Card.

    On paper it takes both sides of one sheet, bearings and boxes in front, the cautions behind.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup, aimed here; ``path`` of the file, ending in
    .html; ``date`` like "2026-05-16", for the compass. Raises ValueError for another ending or date.

    >>> import tempfile
    >>> from ... import simulate
    >>> setup = survey.Setup("wire loop", "roof mast")
    >>> with tempfile.TemporaryDirectory() as room:
    ...     card = survey_sheet(simulate.demo_site(), setup, f"{room}/sheet.html", "2026-05-16")
    >>> card.text.splitlines()[1]
    'place | true | compass | distance | RF channels'
    """
    path = html_path(path, "sheet")
    needle = earth.declination(site.place.latitude_deg, site.place.longitude_deg, date)
    aimed, _ = survey.aimed(site, setup)
    card = _bearings(site, aimed, needle)
    tables.write_atomic(path, _page(site, card, date))
    return card


def _bearings(site, setup, needle):
    rows = []
    for place in plots.places_of(site).itertuples():
        far = distance_words(place.distance_km)
        compass = _whole(needle.compass_from_true(place.bearing_deg))
        rows.append((place.name, _whole(place.bearing_deg), compass, far, place.rf_channels))
    aim = "cannot be aimed"
    if setup.heading_deg is not None:
        by_needle = _whole(needle.compass_from_true(setup.heading_deg))
        aim = f"aimed at {_whole(setup.heading_deg)} true, {by_needle} by the compass"
    caption = f"{setup.label}, {aim}"
    heads = ["place", "true", "compass", "distance", "RF channels"]
    return table_card(heads, [("", rows)], caption)


def _whole(bearing_deg):
    """A bearing to the whole degree; north is 0, never 360."""
    return f"{round(bearing_deg) % 360}°"


def _page(site, card, date):
    title = f"Survey sheet: {site.name}"
    wanted = site.stations[site.stations["wanted"].astype(bool)]
    names = [f"{r.station}, RF {r.rf_channel}" for r in wanted.itertuples()]
    body = [
        element("h1", safe(title)),
        paragraph(
            f"Bearings for {date}. Stay clear of steel with the compass, or sight a landmark."
        ),
        card.html,
        element("h2", "Before you turn anything"),
        _blank(("question", "answer"), _ASK),
        element("h2", "Readings"),
        _blank(("station", *HEADS), names),
        element("h2", "Mind", "back"),
        report.cautions_html(sorted({m.kind for m in site.mounts.values()})),
    ]
    return document(title, "\n".join(body), _BOXES)


def _blank(heads, names):
    """A table with a name in each row and nothing beside it."""
    empty = [""] * (len(heads) - 1)
    return table(heads, [("", [(name, *empty) for name in names])], "blank", named=True)
