"""The teacher's pages: what the library knows is written into them, and the sheets made printable.

    python tests/lessons/printing.py            write what is stale
    python tests/lessons/printing.py --check    write nothing; fail if something is stale

Between ``<!-- made: KIND WORDS -->`` and ``<!-- end -->`` a page below notebooks/teaching/ holds text of
the library: cautions by their keys, signs of faults. ``to_print.html`` is made of the cards and sheets
as they then are, one sheet of paper for each entry of PAPERS.
"""

import argparse
import functools
import math
import re
from itertools import combinations
from pathlib import Path

import mistune
import print_tv

import signalshed as shed
from signalshed.report.cautions import CLOSING

TEACHING = Path(__file__).resolve().parents[2] / "notebooks" / "teaching"
PRINTED = TEACHING / "to_print.html"

PAPERS = (
    (
        "README",
        ("Two hours: what do decibels say about my roof?", "The first five minutes at the tables"),
        "plan",
        "you",
    ),
    ("room_without_signal", ("The two hours, walked through",), "plan", "you, without signal"),
    (
        "notes",
        ("Lesson 00", "Decibels by hand", "Lesson 03", "The dipole", "Lesson 07"),
        "plan",
        "you, for two hours",
    ),
    ("kit", ("For six tables",), "plan", "you"),
    ("kit", ("What to buy first", "A dipole from wire"), "plan", "you, and one a table"),
    ("kit", ("A mail to send a week before", "The last seven days"), "plan", "you"),
    (
        "paper_tv",
        ("At the page", "The hour", "The short form", "What you say when they disagree"),
        "plan",
        "you",
    ),
    ("paper_tv", ("The list of all cards",), "plan", "you alone"),
    ("cards", ("Keyboard", "If the sliders do not show"), "cut", "one a table"),
    ("cards", ("Table rules", "What the meter tells about faults"), "cut", "one a table"),
    ("cards", ("Decibels",), "cut half", "one a table"),
    ("worksheets", ("Worksheet: my guesses",), "write first", "one each"),
    ("worksheets", ("Feedback slip", "Feedback slip, again"), "write cut first", "one for two"),
    ("survey_sheet", ("Survey sheet",), "write", "one a table"),
    ("readings_sheet", ("Readings sheet",), "write wide", "two a table"),
    (print_tv.grid, ("Graph of a meter ladder",), "scale", "one a table"),
    (print_tv.strips, ("Paper TV: strips",), "scale", "half a sheet a table"),
    (
        print_tv.rail,
        ("Paper TV: rail and zero slip",),
        "scale",
        "one a table, a rail and a slip for each learner",
    ),
    (lambda: print_tv.tv_cards(1, 12), ("Paper TV: cards 1 to 12",), "cards", "one card a table"),
    (lambda: print_tv.tv_cards(13, 24), ("Paper TV: cards 13 to 24",), "cards", "one card a table"),
    (print_tv.envelopes, ("Paper TV: envelopes",), "cards", "one a table, all the same pair"),
    (print_tv.purse, ("Paper TV: purse, 120 minutes",), "cards", "without the page: one a table"),
    *(
        (
            functools.partial(print_tv.keepers, n),
            ("Paper TV: keeper's cards",),
            "scale",
            "without the page: one card a table",
        )
        for n in print_tv.KEEPER_CARDS[::2]
    ),
    (
        print_tv.slides,
        ("Paper TV: keeper's slides",),
        "scale",
        "without the page: one slide a table",
    ),
)
"""Each sheet of paper: its page or what makes it, the sections on it, its look, and for whom."""

_LINK = re.compile(r"\[([^\]]+)\]\([^)]*\)")
_MADE = re.compile(r"(<!-- made: (\w+)([^>]*?) -->\n).*?(<!-- end -->)", re.DOTALL)

STYLE = """
*{box-sizing:border-box}
body{margin:0;background:#fff;color:#1a1a1a;font:16px/1.45 sans-serif}
h2{font-size:1.25rem;margin:0 0 .4rem}
p,ul,ol{margin:.5rem 0}
li{margin:.15rem 0}
table{border-collapse:collapse;width:100%;margin:.75rem 0}
th,td{text-align:left;vertical-align:top;padding:.2rem .9rem .2rem 0;border-bottom:1px solid #ccc}
thead th{border-bottom:2px solid #1a1a1a}
.sheet{max-width:19cm;margin:1cm auto}.wide{max-width:27cm}
.cut section+section{border-top:2px dashed #666;margin-top:1.2rem;padding-top:1.2rem}
.screen td,.screen th{font-size:.9rem}
.mm{display:block;overflow:visible;font-family:sans-serif}
.pair{display:flex;gap:4mm}
.cards>section{display:flex;flex-wrap:wrap;gap:0}.cards h2{width:100%}
.folded{width:60mm;border:1px dashed #666;font-size:8.5pt;line-height:1.25}
.outside{min-height:20mm;padding-bottom:1mm;text-align:center;border-bottom:1px dashed #666}
.outside b{display:block;font-size:20pt;line-height:1}.outside .mm{margin:1mm auto}
.inside{min-height:24mm;padding:2mm;transform:rotate(180deg)}
.slip{width:45mm;height:20mm;border:1px dashed #666;padding:3mm}.slip b{font-size:18pt}
.write td,.write th{border:1px solid #666;padding:.2rem .35rem;min-width:3.2rem}
.write td:empty{height:1.6rem}
.write td:last-child{min-width:8rem}
.write:not(.first) table:first-of-type thead,.first.cut thead{display:none}
.write:not(.first) table:first-of-type td:nth-child(even),.first.cut td:nth-child(even){width:55%}
.first:not(.cut) td:nth-child(2){width:45%}
.wide table:first-of-type td:nth-child(even){width:30%}
@page{margin:10mm}
@page side{size:landscape;margin:10mm}
@media print{
  body{line-height:1.35}
  .screen{display:none}
  .sheet{margin:0;max-width:none;break-after:page}
  .sheet:last-of-type{break-after:auto}
  .wide{page:side}
  .cut{font-size:10.5pt}
  .plan{font-size:9.5pt}
  .plan td,.plan th{padding:.1rem .6rem .1rem 0}
  .first{font-size:10pt}
  .first td:empty{height:1.9rem}
  .write{font-size:8.5pt}
  .write li{margin:.05rem 0}
}
"""


def cautions(keys):
    """Cautions by their keys as one Markdown list, with the closing sentence."""
    rows = shed.report.cautions().set_index("key").loc[keys]
    lines = [
        f"- **{topic.capitalize()}.** {' '.join(of_topic['caution'])}"
        for topic, of_topic in rows.groupby("topic", sort=False)
    ]
    return "\n".join([*lines, "", CLOSING])


def faults(_):
    """Signs at the meter, likely causes and what to do, as a Markdown table."""
    rows = shed.facts.table("faults")
    lines = [f"| {r.sign} | {r.likely} | {r.then} |" for r in rows.itertuples()]
    return "\n".join(["| you see | likely | then |", "|---|---|---|", *lines])


def sums_of(pads_db):
    """What pads in a row add up to, each used at most once: a dict from the sum to its pads.

    Of two ways to one sum the one with fewer pads stays.
    """
    ways = [c for n in range(len(pads_db) + 1) for c in combinations(sorted(pads_db)[::-1], n)]
    return {s: next(w for w in ways if sum(w) == s) for s in sorted({sum(w) for w in ways})}


def sums(words):
    """The sums that one set of pads makes, each with the share of power that passes."""
    rows = [
        (s, "+".join(map(str, way)) or "none") for s, way in sums_of([*map(int, words)]).items()
    ]
    cells = [f"{s} | {way} | {_share(s)}" for s, way in rows]
    half = (len(cells) + 1) // 2
    right = [*cells[half:], " | | "][:half]
    lines = [f"| {a} | | {b} |" for a, b in zip(cells[:half], right, strict=True)]
    head = "| dB | pads | passes | | dB | pads | passes |"
    return "\n".join([head, "|---:|---|---|---|---:|---|---|", *lines])


def _share(loss_db):
    """The share of power that a loss lets through, as a fraction of two figures."""
    times = shed.units.from_db(loss_db)
    digits = max(0, math.floor(math.log10(times)) - 1)
    whole = round(times / 10**digits) * 10**digits
    return "all" if whole == 1 else f"1/{whole:,}"


def shares(words):
    """Decibels, times and shares for a card."""
    rows = [f"| {d} | {_share(d).removeprefix('1/')} | {_share(d)} |" for d in map(int, words)]
    return "\n".join(["| dB | up: times | down: share |", "|---:|---:|---|", *rows])


def splitters(_):
    """What splitters take as pads, by the facts table; alone, and with the small pads."""
    rows = shed.facts.table("splitters").itertuples()
    lines = [
        f"| {r.ways}-way | {r.ideal_db:.1f} dB | {r.practical_db:g} dB | "
        f"{r.practical_db + 3:g}, {r.practical_db + 6:g}, {r.practical_db + 9:g} | {r.status} |"
        for r in rows
    ]
    head = "| splitter | its share alone | count it as | with 3, 6, 6+3 | standing |"
    return "\n".join([head, "|---|---:|---:|---|---|", *lines])


def arms(words):
    """Arms of a dipole of wire for some RF channels of the invented town's region."""
    lines = []
    for channel in words:
        mhz = shed.channels.centre_mhz(channel)
        half = shed.builds.reference_dipole(mhz, wire="14 AWG").sizes["length_mm"] / 2
        inches = shed.units.inches_text(half)
        lines.append(f"| {channel} | {mhz:.0f} MHz | {half:.0f} mm | {inches} |")
    return "\n".join(["| RF channel (us) | middle | each arm | in |", "|---|---|---|---|", *lines])


def tv_cards(_):
    """The teacher's list of the paper TV's cards."""
    cards = [shed.simulate.tv_card(n) for n in range(1, 25)]
    lines = [f"| {c.number} | {c.stations_db['A']:g} | {c.kind}: {c.says} |" for c in cards]
    return "\n".join(["| card | A, spare dB | kind |", "|---:|---:|---|", *lines])


def tv_pairs(_):
    """The teacher's list of the paper TV's envelopes."""
    lines = [
        f"| {p.pair} | {p.x_db:g} | {p.y_db:g} | {_winner(p.y_db - p.x_db)} | {p.drift_db_per_h:+g} |"
        for p in shed.facts.table("tv_pairs").itertuples()
    ]
    head = "| pair | X, dB | Y, dB | in truth | evening, dB an hour |"
    return "\n".join([head, "|---:|---:|---:|---|---:|", *lines])


def _winner(y_over_x_db):
    if y_over_x_db == 0:
        return "equal"
    return f"{'Y' if y_over_x_db > 0 else 'X'} by {abs(y_over_x_db):g}"


KINDS = {
    f.__name__: f for f in (cautions, faults, sums, shares, splitters, arms, tv_cards, tv_pairs)
}


def filled(text):
    """A page's text with everything between its marks made anew."""
    return _MADE.sub(lambda m: f"{m[1]}{KINDS[m[2]](m[3].split())}\n{m[4]}", text)


def without_made(text):
    """A page's text without what was made: what its author wrote."""
    return _MADE.sub("", text)


def printed(texts):
    """The HTML of all sheets of paper.

    Parameters: ``texts`` Markdown by name of page.
    """
    papers = [_paper(texts, *paper[:3]) for paper in PAPERS]
    head = (
        f'<meta charset="utf-8"><title>Signalshed: cards and sheets</title><style>{STYLE}</style>'
    )
    body = "\n".join(["<body>", _contents(), *papers, "</body>"])
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n{body}</html>\n'


def _contents():
    """What stands above the sheets on the screen: which sheet is for whom."""
    say = (
        f"{len(PAPERS)} sheets of paper, A4 or Letter, one side each. Print (Ctrl+P or Cmd+P) at full "
        "size: the paper TV is a scale, four millimetres a decibel. Nothing has to be installed."
    )
    lines = (
        f"<tr><td>{k}</td><td>{', '.join(names)}</td><td>{who}</td></tr>"
        for k, (_, names, _, who) in enumerate(PAPERS, start=1)
    )
    head = "<thead><tr><th>sheet</th><th>what</th><th>for</th></tr></thead>"
    table = f"<table>{head}<tbody>{''.join(lines)}</tbody></table>"
    return f'<div class="sheet screen"><h2>To print</h2><p>{say}</p>{table}</div>'


def _sections(text):
    """Sections of a page by their headings."""
    pieces = re.split(r"^##+ (.+)\n", text, flags=re.MULTILINE)[1:]
    return dict(zip(pieces[::2], pieces[1::2], strict=True))


def _paper(texts, source, names, css):
    """One sheet: sections of the page called ``source``, or what ``source`` makes."""
    if callable(source):
        inside = f"<section><h2>{names[0]}</h2>\n{source()}</section>"
        return f'<div class="sheet {css}">\n{inside}\n</div>'
    sections = _sections(texts[source])
    to_html = mistune.create_markdown(escape=False, plugins=["table"])
    bare = (_LINK.sub(r"\1", re.sub(r"<!--.*?-->", "", sections[n])) for n in names)
    inside = (
        f"<section><h2>{n.removesuffix(', again')}</h2>\n{to_html(text).strip()}</section>"
        for n, text in zip(names, bare, strict=True)
    )
    return f'<div class="sheet {css}">\n' + "\n".join(inside) + "\n</div>"


def fresh():
    """Text that every file should have, by path."""
    pages = {p: filled(p.read_text(encoding="utf-8")) for p in sorted(TEACHING.glob("*.md"))}
    return pages | {PRINTED: printed({p.stem: text for p, text in pages.items()})}


def stale():
    """Paths of files that are not what they should be."""
    return [p for p, t in fresh().items() if not p.exists() or p.read_text(encoding="utf-8") != t]


def main(arguments=None):
    """The command line; returns the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args(arguments).check
    texts, old = fresh(), stale()
    for path in old:
        print(f"{path.name}: {'stale' if check else 'written'}")
        if not check:
            path.write_text(texts[path], encoding="utf-8")
    return 1 if check and old else 0


if __name__ == "__main__":
    raise SystemExit(main())
