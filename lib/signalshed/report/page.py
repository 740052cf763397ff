"""The page: sections in reading order, one style sheet, no script, no outside request."""

import time

from .. import builds, earth, plots, tables
from ..markup import Drawn, Line, Number, bullets, element, figure, paragraph, safe, section, table
from ..site import check_site, rest_words
from ..words import counted, roofs_words, setup_words, signed
from . import basis, words
from .cautions import cautions_html
from .front import front
from .matter import gather
from .paper import document, html_path
from .rounding import Wishes

ROWS = 6
"""Rows of the ranking that are shown."""
SAY_AFTER_S = 2.0
"""What is being written is said from so many seconds on."""


def write(
    site, ranking, path, *, round_home=False, notes=True, declination_deg=None, date="", tell=print
):
    """Write the report for one roof: one printable HTML file, everything inside it.

    The report is about the first row of the ranking; to report on another, put it first.

    Parameters: ``site`` a Site; ``ranking`` from shed.advice.rank; ``path`` of the file, ending in
    .html (a report that is there is replaced, at once or not at all); ``round_home`` True rounds the
    home to 0.1 degree, drops its names and draws bearings and distances from there; ``notes`` False
    drops notes of site and stations; ``declination_deg`` of the compass, east positive, None to take it
    from the World Magnetic Model; ``date`` like "2026-05-01", printed, and used for the compass ("": not
    printed, today's compass); ``tell`` a function that is told what is being written once that takes
    more than 2 s, None for nobody. Returns the Path. Raises ValueError for another ending or date,
    tables.CannotSave if it cannot be saved.

    >>> import tempfile
    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write(site, advice.rank(site), f"{room}/my_roof.html", round_home=True, tell=None).name
    'my_roof.html'
    """
    check_site(site)
    path = html_path(path, "report")
    where = (site.place.latitude_deg, site.place.longitude_deg)
    needle = earth.declination(*where, date or None, typed_deg=declination_deg)
    wishes = Wishes(round_home, notes, needle, date)
    tables.write_atomic(path, page(site, ranking, wishes, tell=tell))
    return path


def page(site, ranking, wishes=None, *, tell=None):
    """The report as HTML text.

    Parameters: ``site`` a Site; ``ranking`` from shed.advice.rank; ``wishes`` a Wishes, None for none;
    ``tell`` a function that is told what is being written once that takes more than 2 s, None for
    nobody.

    >>> from .. import advice, simulate
    >>> site = simulate.demo_site()
    >>> text = page(site, advice.rank(site))
    >>> text.startswith("<!DOCTYPE html>"), "<script" in text
    (True, False)
    """
    check_site(site)
    matter, since = gather(site, ranking, wishes or Wishes()), time.monotonic()
    body = [doing(f"Writing the report: {name}", tell, since, part, matter) for name, part in PARTS]
    return document(matter.title, "\n".join(body))


def doing(what, tell, since, work, *arguments):
    """What ``work`` gives, said to ``tell`` first if it is more than 2 s since ``since``."""
    seconds = time.monotonic() - since
    if tell is not None and seconds > SAY_AFTER_S:
        tell(f"{what} ({seconds:.0f} s)")
    return work(*arguments)


def station_groups(matter):
    """Headers and groups of the table of stations: what comes, may, does not, tower by tower from north.

    Parameters: ``matter`` a Matter.
    """
    headers = ["station", "roofs", Number("spare dB"), "in the way", "would help"]
    groups = []
    for k, heading in enumerate(words.GROUPS):
        rows, more = matter.group(k)
        cells = [] if rows.empty else _by_tower(matter, rows)
        if more:
            cells.append(Line(f"and {more} more that would not come, and lack still more"))
        groups += [(heading, cells)] if cells else []
    rest = rest_words(matter.site)
    return headers, [*groups, *([(rest, [])] if rest else [])]


def _by_tower(matter, rows):
    cells = []
    for k, here in rows.groupby("tower", sort=False):
        cells.append(Line(words.tower_words(matter, matter.towers[int(k)])))
        cells += [_station_cells(row) for _, row in here.iterrows()]
    return cells


def _station_cells(row):
    roofs = Drawn(roofs_words(row["chance"]), plots.ten_roofs_svg(row["chance"], 15))
    spare = Number(words.spare(row))
    return (words.station_name(row), roofs, spare, row["limit"], row["remedy"])


def _stations(matter):
    unwanted = len(matter.outlook) - len(matter.wanted)
    more = f" Not wanted and not listed: {unwanted} more on the air." if unwanted else ""
    intro = (
        "Towers from north clockwise. Spare dB: how many dB the station's own signal could fall and "
        "still come on 5 of 10 roofs like yours for nine tenths of the time, plus or minus one standard "
        f"deviation; negative, so many are missing.{more}"
    )
    rows = table(*station_groups(matter), "stations")
    return section("Station by station", paragraph(intro), rows)


def _account(matter):
    row = matter.hardest
    if row is None:
        none = "There is no wanted station to draw up an account for."
        return section("Account", paragraph(none))
    why = [] if matter.wishes.round_home else ["why"]
    rows = [_account_cells(r) for _, r in matter.account.iterrows()]
    where = words.tower_words(matter, matter.towers[int(row["tower"])])
    intro = (
        f"{where}. From the field at the roof to what is left, {words.spare(row)} dB to spare. In the "
        f"way: {row['limit']}."
    )
    return section(
        f"Account of the hardest station still worth having: {row['station']}",
        paragraph(intro),
        table(["term", Number("dB"), Number("sum so far"), *why], [("", rows)]),
    )


def _account_cells(row):
    value, running = signed(row["value_db"], 1), signed(row["running_db"], 1)
    unit = row["unit"].replace("u", "µ")
    why = [row["why"]] if "why" in row else []
    return (row["term"], Number(value), Number(f"{running.lstrip('+')} {unit}"), *why)


def _map(matter):
    """The places from home, and the land under the path of the hardest station where it is known."""
    seen, rest = matter.on_the_map
    more = f" {rest} more towers, of which nothing comes, are not drawn." if rest else ""
    parts = [figure(plots.plain_map(seen), f"The towers, seen from home.{more}")]
    sight, why_not = matter.sight
    if sight is not None:
        caption = (
            f"{sight.obstacle.words} The land from the transmitter to the roof, lifted by the Earth's "
            "curve; the straight line of sight, and round it the zone that the wave wants free."
        )
        parts.append(figure(plots.profile_picture(sight), caption))
    return section("Map", element("div", "".join([*parts, paragraph(why_not)]), "pair"))


def _changes(matter):
    if matter.changes.empty:
        text = "No single change that was tried would bring more than a twentieth of a station."
        return section("What one change would bring", paragraph(text))
    rows = [
        (r.change, Number(f"{r.more:+.1f}"), Number(f"{r.expected:.1f}"), r.helps, r.price)
        for r in matter.changes.itertuples()
    ]
    headers = ["change", Number("more stations"), Number("expected then"), "helps most", "asks for"]
    return section("What one change would bring", table(headers, [("", rows)]), css="keep")


def _ranking(matter):
    rows = [_ranking_cells(k, r) for k, r in matter.ranking.head(ROWS).iterrows()]
    left = len(matter.ranking) - len(rows)
    more = f" {left} more setups did worse and are not listed." if left > 0 else ""
    headers = ["", "setup", Number("stations"), Number("9 of 10 roofs"), "beside the best", "why"]
    intro = (
        "Every antenna where it may live, each on the same imagined roofs. Which is better is surer "
        f"than how many stations it brings.{more}"
    )
    return section("Ranking", paragraph(intro), table(headers, [("", rows)]))


def _ranking_cells(k, row):
    setup = setup_words(row)
    interval = Number(f"{row['low']:.0f} to {row['high']:.0f}")
    mark = f"{k + 1}{', ' + row['pick'] if row['pick'] else ''}"
    expected = Number(f"{row['expected']:.1f}")
    return (mark, setup, expected, interval, row["against_best"], row["why"])


def _antenna(matter):
    """How the antenna is made, where it comes from a build."""
    antenna = matter.parts[0]
    if antenna.build is None or antenna.build.ideal:
        return ""
    return section(f"How to make it: {antenna.name}", builds.parts_html(antenna.build), css="make")


def _cautions(matter):
    return section("Before you climb", cautions_html(matter.parts[1].kind))


def _basis(matter):
    blurred = (
        "The home is rounded to 0.1 degree, and bearings and distances run from there. Decibels are "
        "those of the real roof: many of them together could still tell roughly where it is."
    )
    rounded = [blurred] if matter.wishes.round_home else []
    assumed = folded("What this rests on", [*basis.assumptions(matter), *rounded])
    noted = folded("Notes: what the files left open", basis.notes(matter))
    return f"{assumed}{noted}{folded('Sources', basis.sources(matter))}"


def folded(title, sentences):
    """Plain ``sentences`` under a ``title`` with their count, folded on a screen, open on paper."""
    if not sentences:
        return ""
    head = element("summary", f"{safe(title)} ({counted(len(sentences), 'sentence')})")
    return element("details", head + bullets(sentences))


PARTS = (
    ("the first sheet", front),
    ("station by station", _stations),
    ("the account", _account),
    ("changes", _changes),
    ("the ranking", _ranking),
    ("the map", _map),
    ("how to make it", _antenna),
    ("cautions", _cautions),
    ("what it rests on", _basis),
)
"""What a report is made of, in order: what is said while it is made, and a function of the Matter."""
