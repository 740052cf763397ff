"""The first sheet: all that somebody who hangs the antenna has to know, on one page."""

from .. import plots
from ..markup import Drawn, bullets, element, paragraph, safe, table
from ..plots.strip import limits_of
from ..words import roofs_words, screen_name
from . import basis, words
from .cautions import CLOSING, first_cautions


def front(matter):
    """The first sheet of a report as HTML; ``matter`` a Matter."""
    parts = [
        *head(matter, words.answer(matter)),
        paragraph(words.exactly(matter)),
        paragraph(words.counts(matter)),
        pictures(matter),
        came(matter),
        titled("Is it hung right?", words.hung(matter)),
        titled("First thing to buy", words.to_buy(matter)),
        _cautions(matter),
        paragraph(basis.in_one_line(matter), "where"),
    ]
    return element("section", "\n".join(parts), "sheet")


def head(matter, answer, title=None):
    """Title (None: the report's own), place, date, the one sentence ``answer``: a list of HTML."""
    date = f" {matter.wishes.date}." if matter.wishes.date else ""
    where = paragraph(f"{words.place_words(matter)}.{date}", "where")
    return [element("h1", safe(title or matter.title)), where, paragraph(answer, "answer")]


def titled(title, text):
    """A paragraph of plain ``text`` after its ``title`` in bold."""
    return element("p", f"<strong>{safe(title)}</strong> {safe(text)}")


def pictures(matter):
    """Strip and ropes as one figure; of a rounded home the strip alone: ropes would tell distances."""
    here = matter.site, matter.setup
    limits_db = limits_of(matter.outlook["spare_db"], matter.outlook["spread_db"])
    if matter.wishes.round_home:
        bearing = matter.shown.stations["bearing_deg"].to_numpy(float)
        strip = plots.bearing_strip(*here, limits_db=limits_db, bearing_deg=bearing)
        return element("figure", strip.img(160))
    pair = plots.compact_strip(*here, limits_db=limits_db), plots.tower_ropes(*here)
    return element("figure", "".join(each.img(160) for each in pair))


def came(matter):
    """What comes, may come and does not, by the names on the screen, as a table of three rows."""
    comes, maybe, not_here = (matter.group(k) for k in range(3))
    rows = [
        ("comes", _names(comes[0], words.MOST_COME)),
        ("maybe", _with_roofs(maybe[0])),
        ("not from here", _names(not_here[0], len(not_here[0]), not_here[1])),
    ]
    return table([], [("", rows)], "came", named=True)


def _names(rows, most, more=0):
    named = [screen_name(row) for _, row in rows.head(most).iterrows()]
    more += len(rows) - len(named)
    return ", ".join(named) + (f" and {more} more" if more else "") or "none"


def _with_roofs(rows):
    """Names with their ten roofs, those with most to spare first."""
    rows = rows.sort_values("chance", ascending=False)
    texts, drawn = [], []
    for _, row in rows.head(words.MOST_MAYBE).iterrows():
        name = screen_name(row)
        texts.append(f"{name} {roofs_words(row['chance'])}")
        house = plots.ten_roofs_svg(row["chance"], 15)
        drawn.append(f'<span class="one">{safe(name)} {house}</span>')
    more = len(rows) - len(texts)
    after = f" and {more} more" if more else ""
    return Drawn(", ".join(texts) + after or "none", " ".join(drawn) + after or "none")


def _cautions(matter):
    rows, left = first_cautions(matter.parts[1].kind)
    rest = f"{left} more stand behind this sheet. {CLOSING}"
    text = "<strong>Before you climb</strong> " if matter.parts[1].kind in ("mast", "roof") else ""
    said = bullets(rows["caution"])
    return element("div", f"{text}{said}{element('p', safe(rest))}", "cautions")
