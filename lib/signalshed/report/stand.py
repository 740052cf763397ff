"""The sheet of the stand on which antennas are changed quickly in a trial."""

from .. import builds
from ..markup import element, paragraph, section, table
from .cautions import cautions_html
from .paper import document, write_page


def write_stand(path):
    """Write the sheet of the quick-swap stand for trials: one printable HTML file.

    Parameters: ``path`` of the file, ending in .html (one that is there is replaced). Returns the Path.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write_stand(f"{room}/stand.html").name
    'stand.html'
    """
    return write_page(path, "sheet", stand_page)


def stand_page():
    """The sheet as HTML text: a low post, an index of the aim, a short lead, and what to mind.

    >>> "Look up first" in stand_page()
    True
    """
    steps = [list(row) for row in builds.workshop("stand")]
    words = (
        "A trial compares antennas, not ladders: all stand on the same low post, aimed by the same pin, "
        "on the same cable. Common practice, no source."
    )
    body = element("h1", "Quick-swap stand for trials") + paragraph(words)
    body += section("Steps", table(["part", "do this", "because"], [("", steps)]))
    return document("Quick-swap stand", body + section("Mind", cautions_html("mast")))
