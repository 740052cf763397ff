"""The teacher's pages: what the library knows is written into them, and the sheets made printable.

    python tests/lessons/printing.py            write what is stale
    python tests/lessons/printing.py --check    write nothing; fail if something is stale

Between ``<!-- made: KIND WORDS -->`` and ``<!-- end -->`` a page below notebooks/teaching/ holds text of
the library: cautions by their keys, signs of faults. ``to_print.html`` is made of the cards and sheets
as they then are, one sheet of paper for each entry of PAPERS.
"""

import argparse
import re
from pathlib import Path

import mistune

import signalshed as shed
from signalshed.report.cautions import CLOSING

TEACHING = Path(__file__).resolve().parents[2] / "notebooks" / "teaching"
PRINTED = TEACHING / "to_print.html"

PAPERS = (
    ("cards", ("Keyboard", "If the sliders do not show"), "cut"),
    ("cards", ("Table rules", "What the meter tells about faults"), "cut"),
    ("survey_sheet", ("Survey sheet",), "write"),
    ("readings_sheet", ("Readings sheet",), "write wide"),
)
"""Each sheet of paper: its page, the sections on it, and how it is to look."""

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
.write td,.write th{border:1px solid #666;padding:.2rem .35rem;min-width:3.2rem}
.write td:empty{height:1.6rem}
.write td:last-child{min-width:8rem}
.write table:first-of-type thead{display:none}
.write table:first-of-type td:nth-child(even){width:55%}
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


KINDS = {"cautions": cautions, "faults": faults}


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
    papers = "\n".join(_paper(_sections(texts[page]), names, css) for page, names, css in PAPERS)
    head = (
        f'<meta charset="utf-8"><title>Signalshed: cards and sheets</title><style>{STYLE}</style>'
    )
    say = f"{len(PAPERS)} sheets of paper, A4 or Letter, one side each. Print (Ctrl+P or Cmd+P)."
    body = f'<body><p class="sheet screen">{say}</p>\n{papers}</body>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n{body}</html>\n'


def _sections(text):
    """Sections of a page by their headings."""
    pieces = re.split(r"^## (.+)\n", text, flags=re.MULTILINE)[1:]
    return dict(zip(pieces[::2], pieces[1::2], strict=True))


def _paper(sections, names, css):
    to_html = mistune.create_markdown(escape=False, plugins=["table"])
    bare = (re.sub(r"<!--.*?-->", "", sections[n]) for n in names)
    inside = (
        f"<section><h2>{n}</h2>\n{to_html(text).strip()}</section>"
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
