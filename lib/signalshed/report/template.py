"""A template to bend along: the element at its true size, over as many sheets of paper as it takes."""

import numpy as np

from .. import builds
from ..markup import element, paragraph, safe
from ..units import MM_PER_INCH, check_type
from .paper import document, write_page

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height of the papers it prints on, mm."""

_MARGIN_MM, _OVERLAP_MM, _HEAD_MM = 12.0, 10.0, 20.0
_FORMS = ("loop", "bow_tie")


def write_template(build, path, paper="A4"):
    """Write the template of a loop or bow-tie: one HTML file that prints at its true size.

    Parameters: ``build`` from shed.builds; ``path`` of the file, ending in .html (one that is there is
    replaced); ``paper`` "A4" or "Letter". Print at 100 %, without fitting to the page, and measure the
    check line on every sheet. Returns the Path. Raises ValueError for other forms and papers.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write_template(builds.loop(539), f"{room}/loop.html").name
    'loop.html'
    """
    check_type("build", build, builds.Build, "a build of shed.builds")
    return write_page(path, "template", template_page, build, paper)


def template_page(build, paper="A4"):
    """The template as HTML text, a page of it for each sheet.

    Parameters: ``build`` and ``paper`` as in ``write_template``.

    >>> template_page(builds.loop(539)).count("check line: ")
    2
    """
    if paper not in PAPERS_MM:
        raise ValueError(f"paper is {paper!r}; it must be {' or '.join(PAPERS_MM)}.")
    if build.form not in _FORMS:
        raise ValueError(
            f"{build.name!r} has no template: there is one for a loop and for a bow-tie, which are bent "
            "by eye. The others are cut and marked by their cut list."
        )
    lines, gap = _outline(build)
    sheets, pages = _sheets(lines, paper), []
    for (row, column), corner in sheets.items():
        label = f"{build.name}: row {row}, column {column} of {len(sheets)} sheets"
        pages.append(_page((lines, gap), corner, paper, label))
    return document(f"Template: {build.name}", _words(build) + "".join(pages), _css(paper))


def _css(paper):
    return (
        f"@page {{ size: {paper}; margin: {_MARGIN_MM:g}mm; }}\n"
        "main { max-width: none; padding: 0; }\n"
        "svg { display: block; break-before: page; break-inside: avoid; }\n"
    )


def _words(build):
    said = (
        "Print at 100 %, not fitted to the page. On every sheet the check line must measure 100 mm and "
        "4 in: if it does not, the template is wrong by as much.",
        "Lay sheets edge over edge along the grey lines.",
        "The line is the middle of the wire; leave the gap at the dot open.",
    )
    return element("h1", safe(f"Template: {build.name}")) + "".join(map(paragraph, said))


def _outline(build):
    """Lines of the element as seen from in front, mm to the right and down, and its gap."""

    def flat(points_m):
        return 1000 * np.asarray(points_m)[:, [1, 2]] * [1, -1]

    lines = [flat(w.points_m) for w in build.element]
    if build.sizes.get("shape") == "circle":
        lines = [_circle(build.sizes["circumference_mm"])]
    low = np.concatenate(lines).min(axis=0)
    gap = lines[0][:1] if len(lines) == 1 and build.form == "loop" else flat(build.terminals_m)
    return [line - low for line in lines], gap - low


def _circle(round_mm):
    """A true circle as long as the wire, where the drawing has a polygon; its lowest point first."""
    turn = np.linspace(0, 2 * np.pi, 257)
    return round_mm / (2 * np.pi) * np.column_stack([np.sin(turn), np.cos(turn)])


def _room_mm(paper):
    """Width and height on one sheet that are left for the drawing."""
    wide, high = PAPERS_MM[paper]
    return wide - 2 * _MARGIN_MM, high - 2 * _MARGIN_MM - _HEAD_MM - 4


def _sheets(lines, paper):
    """Upper left corner of each sheet, mm, by (row, column), as few as hold the drawing."""
    size = np.concatenate(lines).max(axis=0) + 6
    step = np.array(_room_mm(paper)) - _OVERLAP_MM
    count = np.maximum(np.ceil((size - _OVERLAP_MM) / step), 1).astype(int)
    return {
        (row + 1, column + 1): step * [column, row] - 3
        for row in range(count[1])
        for column in range(count[0])
    }


def _page(drawn, corner, paper, label):
    """One sheet: what of the drawing falls on it, where the next one overlaps, and the check line."""
    (lines, gap), (wide, high) = drawn, _room_mm(paper)
    shapes = "".join(
        '<polyline fill="none" stroke="#000" stroke-width="0.5" points="'
        + " ".join(f"{x:.2f},{y:.2f}" for x, y in line - corner)
        + '"/>'
        for line in lines
    )
    shapes += "".join(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.5"/>' for x, y in gap - corner)
    edges = f"M{wide - _OVERLAP_MM:.1f} 0V{high:.1f}M0 {high - _OVERLAP_MM:.1f}H{wide:.1f}"
    shapes += f'<path d="{edges}" stroke="#aaa" stroke-width="0.2"/>'
    whole = high + _HEAD_MM
    clip = f'<svg width="{wide:.1f}" height="{high:.1f}" overflow="hidden">{shapes}</svg>'
    alt = safe(f"Sheet of the template, true size: {label}")
    return (
        f'<svg role="img" aria-label="{alt}" width="{wide:.1f}mm" height="{whole:.1f}mm" '
        f'viewBox="0 0 {wide:.1f} {whole:.1f}">{clip}{_check_line(high + 6)}'
        f'<text x="0" y="{high + 18:.1f}" font-size="4">{safe(label)}</text></svg>'
    )


def _check_line(y):
    """A line of 100 mm with a mark at 100 mm and one at 4 in."""
    inches = 4 * MM_PER_INCH
    return (
        f'<path d="M0 {y - 2:.1f}v4m0-2H{inches:.1f}m0-2v4M100 {y - 2:.1f}v4" fill="none" stroke="#000" '
        f'stroke-width="0.4"/><text x="0" y="{y + 7:.1f}" font-size="4">check line: 100 mm to the first '
        "mark, 4 in to the second</text>"
    )
