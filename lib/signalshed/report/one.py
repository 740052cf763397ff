"""A page for one antenna: would yours do, where, and what would do better?"""

import functools

from .. import advice, survey
from ..markup import Number, bullets, element, paragraph, section, table
from ..site import check_site
from ..words import setup_words, signed
from . import basis, words
from .cautions import cautions_html
from .front import came, head, pictures, titled
from .matter import gather
from .page import station_groups
from .paper import document, write_page
from .rounding import Wishes

MOST = 3
"""So many setups that do better are named."""


def write_one(site, antenna, path, *, date=""):
    """Write the page of one antenna at one roof: would it do, where, and what would do better.

    Parameters: ``site`` a Site; ``antenna`` the name of one of its antennas; ``path`` of the file,
    ending in .html (a page that is there is replaced, at once or not at all); ``date`` printed as it is.
    Returns the Path. Raises ValueError for another ending, and for an antenna that the site does not
    have or that may live on none of its mounts.

    >>> import tempfile
    >>> from .. import simulate
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write_one(simulate.demo_site(), "wire loop", f"{room}/mine.html").name
    'mine.html'
    """
    check_site(site)
    return write_page(path, "page", functools.partial(one_page, site, antenna, date=date))


def one_page(site, antenna, *, date=""):
    """The page of one antenna as HTML; ``site``, ``antenna`` and ``date`` as in ``write_one``.

    >>> from .. import simulate
    >>> "What would do better" in one_page(simulate.demo_site(), "wire loop")
    True
    """
    check_site(site)
    lives = site.antenna(antenna).lives
    setups = [survey.Setup(antenna, m.name) for m in site.mounts.values() if m.kind in lives]
    if not setups:
        raise ValueError(
            f"{antenna} may live on none of the mounts of this site: see `lives` in antennas.toml."
        )
    mine = advice.rank(site, setups).iloc[0]
    every = advice.rank(site)
    matter = gather(site, mine.to_frame().T, Wishes(date=date))
    title = f"Would the {antenna} do? {site.name}"
    parts = [
        *head(matter, _answer(matter, mine), title),
        paragraph(words.exactly(matter)),
        paragraph(words.line_words(matter)),
        pictures(matter),
        came(matter),
        _better(matter, every),
        titled("Is it hung right?", words.hung(matter)),
        paragraph(basis.in_one_line(matter), "where"),
    ]
    behind = section("Station by station", table(*station_groups(matter), "stations"))
    cautions = section("Before you climb", cautions_html(matter.parts[1].kind))
    body = element("section", "\n".join(parts), "sheet") + behind + cautions
    return document(title, body)


def _answer(matter, mine):
    """Would it do: how much of what is wanted, and where to hang it for that."""
    comes, maybe = (len(matter.group(k)[0]) for k in range(2))
    of = len(matter.wanted)
    said = "Yes" if comes >= of / 2 else "In part" if comes + maybe else "No"
    return (
        f"{said}: {words.reached_words(matter)}; expect about {mine['expected']:.0f}. "
        f"{words.answer(matter)}"
    )


def _better(matter, every):
    """What would do better than this: other setups on the same roofs, then one change to this one."""
    mine = matter.best
    draws = {
        k: advice.imagine(matter.site, [row["setup"], matter.setup]).locked
        for k, row in every.head(MOST).iterrows()
        if row["expected"] > mine["expected"] + 0.05
    }
    rows = [
        (
            setup_words(every.loc[k]),
            Number(f"{every.loc[k, 'expected']:.1f}"),
            advice.compare_words(*locked),
        )
        for k, locked in draws.items()
    ]
    change = matter.changes.head(MOST)
    one = [f"{r.change}: {signed(r.more, 1)} stations" for r in change.itertuples()]
    if not rows and not one:
        return titled("What would do better", "Nothing that was tried.")
    headers = ["instead", Number("stations"), "beside yours"]
    listed = table(headers, [("", rows)]) if rows else ""
    changed = titled("One change to this one", "") + bullets(one) if one else ""
    return section("What would do better", listed, changed)
