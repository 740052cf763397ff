"""Cards and tables that lessons show: HTML in a notebook, plain text elsewhere; everything escaped."""

import pandas as pd

from .. import advice, earth, markup
from ..plots.setups import setup_words
from ..report import cautions, cautions_html, words
from ..report.cautions import CLOSING
from ..report.matter import Matter
from ..report.page import place_table
from ..report.rounding import Wishes
from ..site import rest_words
from ..words import chance_words


def table_card(headers, groups, caption=""):
    """A table of plain text as a Card: text stands left, numbers right.

    Parameters: ``headers`` and ``groups`` as in markup.table: pairs of a heading ("" for none)
    and rows of cells, a markup.Number where a number stands; ``caption`` plain text above.

    >>> table_card(["roof", "mast"], [("", [["flat", "<3 m>"]])])
    roof | mast
    flat | <3 m>
    """
    html = markup.table(headers, groups, caption=caption, left=True)
    lines = [caption] if caption else []
    lines.append(" | ".join(headers))
    for heading, rows in groups:
        lines += [heading] if heading else []
        lines += [" | ".join(str(cell) for cell in row).rstrip(" |") for row in rows]
    return markup.Card(html, "\n".join(lines))


def station_table(site, setup):
    """What to expect of every wanted station through one setup, in the order of what is to be done.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup. Returns a Card: station, chance in words and
    as roofs out of ten, what is in the way, spare dB plus or minus one standard deviation, what would
    help. No bearings: they stand once, on the aim card.

    >>> from .. import simulate, survey
    >>> card = station_table(simulate.demo_site(), survey.Setup("wire loop", "roof mast", None, 38.0))
    >>> card.text.splitlines()[1]
    'Nothing left to do'
    """
    matter = _matter(site, setup)
    groups = []
    for number, heading in enumerate(words.GROUPS):
        here = matter.wanted[matter.wanted["group"] == number]
        rows = [_station_cells(row, site) for _, row in here.iterrows()]
        groups += [(heading, rows)] if rows else []
    numbers = (markup.Number("spare dB"),)
    return table_card(
        ["station", "chance", "roofs out of ten", "in the way", *numbers, "would help"],
        [*groups, *_rest(site)],
    )


def _rest(site):
    """The line on stations that no table speaks of, as the last group of a table."""
    return [(rest, [])] if (rest := rest_words(site)) else []


def _matter(site, setup, declination=None):
    """The report's own gathering of facts, about one setup."""
    wishes = Wishes(declination=declination)
    return Matter(site, pd.DataFrame({"setup": [setup]}), wishes)


def _station_cells(row, site):
    spare = markup.Number(words.spare(row)[0])
    chance = chance_words(row["chance"])
    name = words.station_name(row)
    return (name, chance, row["roofs"], row["limit"], spare, row["remedy"])


def ranking_table(ranking, most=6):
    """A ranking in words: what to put up, how many stations it brings, and what the best has over it.

    Parameters: ``ranking`` from shed.advice.rank; ``most`` rows shown, the best first.

    >>> from .. import advice, simulate
    >>> ranking_table(advice.rank(simulate.demo_site()), 1).text.splitlines()[0]
    ' | put up | stations | on 9 of 10 roofs | beside the best'
    """
    rows = []
    for place, row in enumerate(ranking.head(int(most)).to_dict("records"), 1):
        interval = f"{row['low']:.0f} to {row['high']:.0f}"
        counts = (markup.Number(f"{row['expected']:.1f}"), markup.Number(interval))
        name = setup_words(row).replace("\n", ", ")
        rows.append((f"{place}", name, *counts, row["against_best"]))
    counts = (markup.Number("stations"), markup.Number("on 9 of 10 roofs"))
    return table_card(["", "put up", *counts, "beside the best"], [("", rows)])


def aim_card(site, setup, date=None):
    """Where everything lies from home and from the aim, place by place: the one card with bearings.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup; ``date`` like "2026-05-01", for which a
    compass is told too (None: true bearings only).

    >>> from .. import simulate, survey
    >>> card = aim_card(simulate.demo_site(), survey.Setup("wire loop", "roof mast", None, 38.0))
    >>> card.text.splitlines()[0]
    'wire loop, roof mast, aimed at 38° true (north-east)'
    """
    where = (site.place.latitude_deg, site.place.longitude_deg)
    needle = None if date is None else earth.declination(*where, date)
    matter = _matter(site, setup, needle)
    headers, rows = place_table(matter)
    return table_card(
        headers, [("", rows), *_rest(site)], f"{setup.label}, {words.aim_words(matter)}"
    )


def changes_table(site, setup):
    """What one change would bring, best first, in words: a Card.

    Parameters: ``site`` a Site; ``setup`` a survey.Setup.

    >>> from .. import simulate, survey
    >>> changes_table(simulate.demo_site(), survey.Setup("wire loop", "roof mast")).text.splitlines()[0]
    'one change | more stations | stations then | helps most'
    """
    rows = [
        (r.change, markup.Number(f"{r.more:+.1f}"), markup.Number(f"{r.expected:.1f}"), r.helps)
        for r in advice.changes(site, setup).itertuples()
    ]
    counts = (markup.Number("more stations"), markup.Number("stations then"))
    return table_card(["one change", *counts, "helps most"], [("", rows)])


def notes_card(site):
    """What was taken for granted when a site was opened or readings were used, as a list.

    Parameters: ``site`` a Site.

    >>> from .. import simulate, survey
    >>> notes_card(simulate.demo_site()).text.splitlines()[0][:9]
    'site.toml'
    """
    notes = list(site.notes) or ["Nothing had to be taken for granted."]
    return markup.Card(markup.bullets(notes), "\n".join(notes))


def cautions_card(kinds=None):
    """What to mind where an antenna is put up, from the library's one list of cautions.

    Parameters: ``kinds`` one kind of mount or several, None for all.

    >>> cautions_card("vehicle").text.splitlines()[-1]
    'Local code and licensed practice decide.'
    """
    rows = cautions(kinds)
    pairs = zip(rows["topic"], rows["caution"], strict=True)
    lines = [f"{topic.capitalize()}: {caution}" for topic, caution in pairs]
    return markup.Card(cautions_html(kinds), "\n".join([*lines, CLOSING]))
