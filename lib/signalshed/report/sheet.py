"""The build sheet: one printable page to take to the workshop."""

from .. import antenna, builds, facts, plots
from ..markup import Number, element, figure, paragraph, safe, section, table
from ..units import check_type
from ..words import signed
from .cautions import cautions_html
from .paper import document, write_page


def write_sheet(build, path):
    """Write the build sheet of one antenna: one printable HTML file, everything inside it.

    Parameters: ``build`` from shed.builds; ``path`` of the file, ending in .html (a sheet that is there
    is replaced, at once or not at all). Returns the Path. Raises ValueError for another ending,
    tables.CannotSave if it cannot be saved.

    >>> import tempfile
    >>> from .. import builds
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write_sheet(builds.half_wave_dipole(539), f"{room}/dipole.html").name
    'dipole.html'
    """
    how = "a build of shed.builds; an antenna keeps its own as .build"
    check_type("build", build, builds.Build, how)
    return write_page(path, "sheet", sheet_page, build)


def sheet_page(build):
    """The build sheet as HTML text: cut list, steps, what the solver expects, cautions.

    Parameters: ``build`` from shed.builds.

    >>> from .. import builds
    >>> text = sheet_page(builds.half_wave_dipole(539))
    >>> "Cut list" in text, "<script" in text
    (True, False)
    """
    title = f"Build sheet: {build.name}"
    parts = [part(build) for part in (_facts, _cut_list, _steps, _gain, _copies)]
    body = [element("h1", safe(title)) + parts[0], *parts[1:], section("Mind", cautions_html())]
    return document(title, "\n".join(body))


def _facts(build):
    notes = (*builds.screen_words(build), *build.notes)
    words = paragraph(builds.facts_words(build), "answer")
    drawing = element("figure", builds.drawing_img(build))
    return words + "".join(paragraph(note) for note in notes) + drawing


def _cut_list(build):
    rows = [
        [row.piece, Number(str(row.count)), Number(f"{row.length_mm} mm"), row.length_in, row.stock]
        for row in build.cut_list.itertuples()
    ]
    headers = ["piece", Number("count"), Number("length"), "length, inches", "stock"]
    return section("Cut list", table(headers, [("", rows)]))


def _steps(build):
    rows = [[row.part, row.step, row.why] for row in builds.build_sheet(build).itertuples()]
    return section("Steps", table(["part", "do this", "because"], [("", rows)]))


def _gain(build):
    if build.ideal:
        return section("What the solver expects", paragraph("An infinite sheet cannot be built."))
    computed = builds.by_channel(build)
    rows = [
        [
            Number(f"{row.freq_mhz:.0f} MHz"),
            Number(f"{signed(row.gain_dbd, 1)} dBd"),
            Number(f"{row.beamwidth_deg:.0f}°"),
            Number(builds.behind_words(row.front_to_back_db)),
        ]
        for row in computed.iloc[builds.few(range(len(computed)), 7)].itertuples()
    ]
    headers = [Number(h) for h in ("channel centre", "gain", "beamwidth", "front to back, roughly")]
    picture = plots.pattern(antenna.from_build(build), computed["freq_mhz"].iloc[[0, -1]].tolist())
    floor = facts.value("judgement", "computed_floor_db")
    trust = (
        "A built antenna comes within about 1.5 dB of these gains; front to back only roughly. In "
        f"the picture nothing lies more than {floor:.0f} dB below the top: cable and mast scatter."
    )
    return section(
        "What the solver expects",
        table(headers, [("", rows)]),
        figure(picture, "Gain against direction, clockwise from the aim."),
        paragraph(trust),
    )


def _copies(build):
    if build.ideal:
        return ""
    rows = [[r.cause, r.what, r.computed] for r in builds.copies_differ(build).itertuples()]
    words = "The order is common practice, no source; beside it what the solver finds."
    return section(
        "What makes copies differ",
        paragraph(words),
        table(["cause, most first", "how", "computed here"], [("", rows)]),
    )
