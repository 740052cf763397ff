"""The page: sections in reading order, one style sheet, no script, no outside request."""

from .. import builds, earth, plots, survey, tables
from ..markup import Number, bullets, element, figure, paragraph, safe, section, table
from ..plots.setups import setup_words
from ..site import rest_words
from ..words import chance_words, distance_words, signed
from . import words
from .cautions import cautions_html
from .matter import gather
from .paper import document, html_path
from .rounding import Wishes

_ROWS = 8
"""Rows of the ranking that are shown."""


def write(site, ranking, path, *, round_home=False, notes=True, declination_deg=None, date=""):
    """Write the report for one roof: one printable HTML file, everything inside it.

    The report is about the first row of the ranking; to report on another, put it first.

    Parameters: ``site`` a Site; ``ranking`` from shed.advice.rank; ``path`` of the file, ending in
    .html (a report that is there is replaced, at once or not at all); ``round_home`` True rounds the
    home to 0.1 degree, drops its names and draws bearings and distances from there; ``notes`` False
    drops notes of site and stations; ``declination_deg`` of the compass, east positive, None to take it
    from the World Magnetic Model; ``date`` like "2026-05-01", printed, and used for the compass ("": not
    printed, today's compass). Returns the Path. Raises ValueError for another ending or date,
    tables.CannotSave if it cannot be saved.

    >>> import tempfile
    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write(site, advice.rank(site), f"{room}/my_roof.html", round_home=True).name
    'my_roof.html'
    """
    survey.check_site(site)
    path = html_path(path, "report")
    where = (site.place.latitude_deg, site.place.longitude_deg)
    needle = earth.declination(*where, date or None, typed_deg=declination_deg)
    wishes = Wishes(round_home, notes, needle, date)
    tables.write_atomic(path, page(site, ranking, wishes))
    return path


def page(site, ranking, wishes=None):
    """The report as HTML text.

    Parameters: ``site`` a Site; ``ranking`` from shed.advice.rank; ``wishes`` a Wishes, None for none.

    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> text = page(site, advice.rank(site))
    >>> text.startswith("<!DOCTYPE html>"), "<script" in text
    (True, False)
    """
    matter = gather(site, ranking, wishes or Wishes())
    sections = (
        _aim,
        _stations,
        _pictures,
        _account,
        _changes,
        _ranking,
        _antenna,
        _cautions,
        _basis,
    )
    body = _head(matter) + "\n".join(part(matter) for part in sections)
    return document(matter.title, body)


def _head(matter):
    date = f" {matter.wishes.date}." if matter.wishes.date else ""
    return "\n".join(
        [
            element("h1", safe(matter.title)),
            paragraph(f"{words.place_words(matter)}.{date}", "where"),
            paragraph(words.answer(matter), "answer"),
        ]
    )


def _aim(matter):
    antenna, mount, feed = matter.parts
    rows = [
        ("Antenna", f"{antenna.name} ({antenna.polarization})"),
        ("Mount", f"{mount.name}: {mount.kind}, {mount.height_agl_m:g} m above ground"),
        ("Line", ", ".join(p.name for p in feed.parts) or "no cable"),
        ("Aim", words.aim_words(matter)),
    ]
    arc = matter.best.get("arc_deg")
    if arc == arc and arc is not None and matter.reception.aim == "fixed":
        rows.append(("How exactly", f"an arc {arc:.0f}° wide brings as good as the same"))
    headers, places = place_table(matter)
    return section(
        "Aim card",
        table([], [("", rows)], "card", named=True),
        table(headers, [("", places)]),
    )


def place_table(matter):
    """Where everything lies from home and from the aim: headers and rows of plain text.

    Parameters: ``matter`` a Matter.
    """
    rows = [
        (
            p.name,
            Number(p.stations),
            words.toward(p.bearing_deg, matter.wishes),
            words.off_aim(p.bearing_deg, matter),
            Number(distance_words(p.distance_km)),
        )
        for p in plots.places_of(matter.shown).itertuples()
    ]
    return ["place", Number("stations"), "true bearing", "from the aim", Number("distance")], rows


def _stations(matter):
    numbers = (Number("spare dB"), Number("9 of 10 roofs"))
    headers = ["station", "chance", "roofs out of ten", "in the way", *numbers, "would help"]
    groups = []
    for k, heading in enumerate(words.GROUPS):
        rows = [_station_cells(row, matter.site) for _, row in _group(matter, k).iterrows()]
        if rows:
            groups.append((heading, rows))
    unwanted = len(matter.outlook) - len(matter.wanted)
    rest = rest_words(matter.site)
    more = f" Not wanted and not listed: {unwanted} more on the air." if unwanted else ""
    intro = (
        "Ordered by what is to be done. Spare dB: how many dB the station's own signal could fall and "
        "still come on 5 of 10 roofs like yours for nine tenths of the time, plus or minus one standard "
        f"deviation; negative, so many are missing. Then the ends between which 9 of 10 roofs lie.{more}"
        f"{rest and f' Not listed: {rest}.'}"
    )
    return section("What to expect, station by station", paragraph(intro), table(headers, groups))


def _group(matter, k):
    return matter.wanted[matter.wanted["group"] == k]


def _station_cells(row, site):
    return (
        words.station_name(row),
        chance_words(row["chance"]),
        row["roofs"],
        row["limit"],
        *map(Number, words.spare(row)),
        row["remedy"],
    )


def _pictures(matter):
    bearing = matter.shown.stations["bearing_deg"].to_numpy(float)
    strip = plots.bearing_strip(matter.site, matter.setup, bearing_deg=bearing)
    return section(
        "Where they are",
        figure(
            strip,
            "Every station at its bearing, its spare dB upward; a bar holds 9 of 10 roofs. From the "
            "top hangs the antenna's pattern: a station under a deep part of it loses that many dB.",
        ),
        figure(plots.plain_map(matter.shown), "The places, seen from home."),
    )


def _account(matter):
    if matter.account is None:
        return section(
            "Account", paragraph("There is no wanted station to draw up an account for.")
        )
    row = matter.hardest
    title = f"Account of the hardest station still worth having: {row['station']}"
    picture = plots.waterfall(
        matter.account, row["spread_db"], title=f"{row['station']} through {matter.setup.label}"
    )
    headers = [
        "term",
        Number("dB"),
        Number("sum so far"),
        *([] if matter.wishes.round_home else ["why"]),
    ]
    rows = [_account_cells(r) for _, r in matter.account.iterrows()]
    intro = (
        f"From the field at the roof to what is left: {words.spare(row)[0]} dB to spare, on 9 of 10 "
        f"roofs {words.spare(row)[1]}. In the way: {row['limit']}."
    )
    caption = "The same account as a picture: each row moves the sum."
    body = (paragraph(intro), table(headers, [("", rows)]), figure(picture, caption))
    return section(title, *body, *_land(matter))


def _land(matter):
    """What stands in the way of the hardest station, where a terrain map covers its path."""
    sight, why_not = matter.sight, matter.no_sight
    if sight is None:
        return [paragraph(why_not)] if why_not else []
    picture = plots.profile_picture(sight)
    caption = (
        "The ground from the transmitter to the roof, lifted by the Earth's curve; the straight line of "
        "sight, and round it the zone that the wave wants free."
    )
    return [paragraph(sight.obstacle.words), figure(picture, caption)]


def _account_cells(row):
    value, running = signed(row["value_db"], 1), signed(row["running_db"], 1)
    unit = row["unit"].replace("u", "µ")
    why = [row["why"]] if "why" in row else []
    return (row["term"], Number(value), Number(f"{running.lstrip('+')} {unit}"), *why)


def _changes(matter):
    if matter.changes.empty:
        text = "No single change that was tried would bring more than a twentieth of a station."
        return section("What one change would bring", paragraph(text))
    rows = [
        (r.change, Number(f"{r.more:+.1f}"), Number(f"{r.expected:.1f}"), r.helps)
        for r in matter.changes.itertuples()
    ]
    headers = ["change", Number("more stations"), Number("expected then"), "helps most"]
    return section("What one change would bring", table(headers, [("", rows)]), css="keep")


def _ranking(matter):
    picture = plots.ranking(matter.ranking, most=_ROWS, total=len(matter.wanted))
    rows = [_ranking_cells(k, r) for k, r in matter.ranking.head(_ROWS).iterrows()]
    left = len(matter.ranking) - len(rows)
    more = f" {left} more setups did worse and are not listed." if left > 0 else ""
    headers = ["", "setup", Number("stations"), Number("9 of 10 roofs"), "beside the best", "why"]
    intro = (
        "Every antenna where it may live, each on the same imagined roofs. Which is better is surer "
        f"than how many stations it brings.{more}"
    )
    caption = "Wanted stations received: on average, and between which numbers on 9 of 10 roofs."
    return section(
        "Ranking", paragraph(intro), figure(picture, caption), table(headers, [("", rows)])
    )


def _ranking_cells(k, row):
    setup = setup_words(row).replace("\n", ", ")
    interval = f"{row['low']:.0f} to {row['high']:.0f}"
    mark = f"{k + 1}{', ' + row['pick'] if row['pick'] else ''}"
    expected = Number(f"{row['expected']:.1f}")
    return (mark, setup, expected, Number(interval), row["against_best"], row["why"])


def _antenna(matter):
    """How the antenna is made, where it comes from a build."""
    antenna = matter.parts[0]
    if antenna.build is None or antenna.build.ideal:
        return ""
    return section(f"How to make it: {antenna.name}", builds.parts_html(antenna.build))


def _cautions(matter):
    return section("Before you climb", cautions_html(matter.parts[1].kind), css="keep")


def _basis(matter):
    blurred = (
        "The home is rounded to 0.1 degree, and bearings and distances run from there. Decibels are "
        "those of the real roof: many of them together could still tell roughly where it is."
    )
    noted = words.notes(matter)
    return "\n".join(
        [
            section(
                "What this rests on",
                bullets(words.assumptions(matter)),
                *([paragraph(blurred)] if matter.wishes.round_home else []),
                *([element("h3", "Notes"), bullets(noted)] if noted else []),
            ),
            section("Sources", bullets(words.sources(matter))),
        ]
    )
