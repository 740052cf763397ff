"""Cards and tables that lessons show: HTML in a notebook, plain text elsewhere; everything escaped."""

import pandas as pd

from .. import advice, budget, builds, earth, markup
from ..report import cautions, cautions_html, words
from ..report.cautions import CLOSING, first_cautions
from ..report.matter import Matter
from ..report.page import station_groups
from ..report.rounding import Wishes
from ..site import rest_words
from ..words import counted, distance_words, setup_words


def table_card(headers, groups, caption=""):
    """A table of plain text as a Card: text stands left, numbers right.

    Parameters: ``headers``, a markup.Number over numbers, and ``groups`` as in markup.table: pairs of a
    heading ("" for none) and rows of cells; ``caption`` plain text above.

    >>> table_card(["roof", "mast"], [("", [["flat", "<3 m>"]])])
    roof | mast
    flat | <3 m>
    """
    groups = [(heading, [_under(headers, row) for row in rows]) for heading, rows in groups]
    html = markup.table(headers, groups, caption=caption, left=True)
    lines = [caption] if caption else []
    lines.append(" | ".join(headers))
    for heading, rows in groups:
        lines += [heading] if heading else []
        lines += [_row_text(row) for row in rows]
    return markup.Card(html, "\n".join(lines))


def _under(headers, row):
    """The cells of a row, those under a number numbers too."""
    if isinstance(row, markup.Line):
        return row
    numbers = {k for k, header in enumerate(headers) if isinstance(header, markup.Number)}
    drawn = {k for k, cell in enumerate(row) if isinstance(cell, markup.Drawn)}
    return [markup.Number(c) if k in numbers - drawn else c for k, c in enumerate(row)]


def _row_text(row):
    return str(row) if isinstance(row, markup.Line) else " | ".join(map(str, row)).rstrip(" |")


def station_table(site, setup, date=None):
    """What to expect of every wanted station through one setup: what comes, what may, what does not.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``date`` like "2026-05-01", for which a
    compass is told too (None: true bearings only). Returns a Card: tower by tower from north, with
    bearing, distance and how far off the aim; of each station the roofs out of ten, spare dB plus or
    minus one standard deviation, what is in the way, what would help.

    >>> from .. import simulate, survey
    >>> setup = survey.Setup("wire loop", "roof mast", heading_deg=38.0)
    >>> card = station_table(simulate.demo_site(), setup)
    >>> card.text.splitlines()[1]
    'Comes (on 9 of 10 roofs like yours)'
    """
    return table_card(*station_groups(_matter(site, setup, date)))


def _matter(site, setup, date=None):
    """The report's own gathering of facts, about one setup."""
    where = (site.place.latitude_deg, site.place.longitude_deg)
    needle = None if date is None else earth.declination(*where, date)
    return Matter(site, pd.DataFrame({"setup": [setup]}), Wishes(declination=needle))


def ranking_table(ranking, most=6, site=None):
    """A ranking in words: what to put up, how many stations it brings, and what the best has over it.

    Parameters: ``ranking`` from shed.advice.rank; ``most`` rows shown, the best first; ``site`` whose
    antennas are drawn beside their names where a build tells their shape, None for words alone.

    >>> from .. import advice, simulate
    >>> ranking_table(advice.rank(simulate.demo_site()), 1).text.splitlines()[0]
    ' | put up | stations | on 9 of 10 roofs | beside the best'
    """
    rows = []
    for place, row in enumerate(ranking.head(int(most)).to_dict("records"), 1):
        counts = f"{row['expected']:.1f}", f"{row['low']:.0f} to {row['high']:.0f}"
        name = _drawn(setup_words(row), site and site.antenna(row["antenna"]))
        rows.append((f"{place}", name, *counts, row["against_best"]))
    numbers = map(markup.Number, ("stations", "on 9 of 10 roofs"))
    return table_card(["", "put up", *numbers, "beside the best"], [("", rows)])


def _drawn(words, antenna):
    if antenna is None or antenna.build is None:
        return words
    return markup.Drawn(words, f"{builds.icon_img(antenna.build)}<br>{markup.safe(words)}")


def aim_card(site, setup, date=None):
    """Where everything lies from home and from the aim, place by place: the one card with bearings.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``date`` like "2026-05-01", for which a
    compass is told too (None: true bearings only).

    >>> from .. import simulate, survey
    >>> card = aim_card(simulate.demo_site(), survey.Setup("wire loop", "roof mast", heading_deg=38.0))
    >>> card.text.splitlines()[0]
    'wire loop, roof mast, aimed at 38° true (north-east)'
    """
    matter = _matter(site, setup, date)
    rows = [
        (
            tower.name,
            tower.members.size,
            words.toward(tower.bearing_deg, matter.wishes),
            words.off_aim(tower.bearing_deg, matter),
            distance_words(tower.distance_km),
        )
        for tower in sorted(matter.towers, key=lambda t: t.distance_km)
    ]
    stations, distance = map(markup.Number, ("stations", "distance"))
    headers = ["place", stations, "true bearing", "from the aim", distance]
    rest = rest_words(site)
    groups = [("", rows), *([(rest, [])] if rest else [])]
    caption = f"{setup.label}, {words.aim_words(matter)}"
    if budget.scattered_share(site.mount(setup.mount)):
        caption += "; indoors an aim is only where a search begins"
    return table_card(headers, groups, caption)


def changes_table(site, setup):
    """What one change would bring, best first, in words: a Card.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup.

    >>> from .. import simulate, survey
    >>> changes_table(simulate.demo_site(), survey.Setup("wire loop", "roof mast")).text.splitlines()[0]
    'one change | more stations | stations then | helps most | asks for'
    """
    rows = [
        (r.change, f"{r.more:+.1f}", f"{r.expected:.1f}", r.helps, r.price)
        for r in advice.changes(site, setup).itertuples()
    ]
    numbers = map(markup.Number, ("more stations", "stations then"))
    return table_card(["one change", *numbers, "helps most", "asks for"], [("", rows)])


def notes_card(site):
    """What was taken for granted when a site was opened or readings were used: counted, and folded.

    Parameters: ``site`` a Site.

    >>> from .. import simulate, survey
    >>> notes_card(simulate.demo_site()).text.splitlines()[0]
    'Taken for granted or noted in the files: 14 things.'
    """
    head = f"Taken for granted or noted in the files: {counted(len(site.notes), 'thing')}."
    folded = markup.element("summary", markup.safe(head)) + markup.bullets(site.notes)
    return markup.Card(markup.element("details", folded), "\n".join([head, *site.notes]))


def cautions_card(kinds=None, most=None):
    """What to mind where an antenna is put up, from the library's one list of cautions.

    Parameters: ``kinds`` one kind of mount or several, None for all; ``most`` to show the first so many,
    one of a topic, and count the rest; None for all.

    >>> cautions_card("vehicle").text.splitlines()[-1]
    'Local code and licensed practice decide.'
    """
    if most is None:
        rows, html, closing = cautions(kinds), cautions_html(kinds), CLOSING
    else:
        rows, left = first_cautions(kinds, most)
        closing = f"{left} more stand on the page of your roof. {CLOSING}"
        html = markup.bullets(rows["caution"]) + markup.paragraph(closing)
    pairs = zip(rows["topic"], rows["caution"], strict=True)
    lines = [f"{topic.capitalize()}: {caution}" for topic, caution in pairs]
    return markup.Card(html, "\n".join([*lines, closing]))
