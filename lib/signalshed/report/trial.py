"""The page of one trial: what was asked, how it was read, what it says, and what it cannot tell."""

from .. import plots, tables
from ..antenna import Antenna
from ..antenna.card import card_html
from ..markup import Number, bullets, element, figure, paragraph, safe, section, table
from ..plots.compared import finding_row
from ..trials import Comparison
from ..trials.evening import LOW_STAND
from ..units import check_type
from ..words import counted, listed, signed
from .cautions import cautions_html
from .paper import document, html_path

STILL_PX = (1920, 1080)


def write_trial(comparison, path, *, antennas=(), conditions="", date="", still=None):
    """Write the page of one trial: one printable HTML file, everything inside it.

    Parameters: ``comparison`` from shed.trials.study, with its plan where there was one; ``path`` of
    the file, ending in .html (a page that is there is replaced, at once or not at all); ``antennas``
    Antennas whose cards are shown; ``conditions`` your own words on place, weather and people;
    ``date`` printed as it is; ``still`` path of a picture of 1920 by 1080 with the one finding, ending
    in .png, None for none. Returns the Path. Raises ValueError for another ending, tables.CannotSave if
    it cannot be saved.

    >>> import tempfile
    >>> from .. import simulate, trials
    >>> from ..meters import MeterCurve
    >>> trial = simulate.invented_trial(3, simulate.TrialWorld(antennas=1, channels=3))
    >>> found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    >>> with tempfile.TemporaryDirectory() as room:
    ...     write_trial(found, f"{room}/trial.html", conditions="dry, no wind").name
    'trial.html'
    """
    path = html_path(path, "trial")
    text = trial_page(comparison, antennas=antennas, conditions=conditions, date=date)
    if still is not None:
        plots.finding(comparison).save(still, STILL_PX)
    tables.write_atomic(path, text)
    return path


def trial_page(comparison, *, antennas=(), conditions="", date=""):
    """The page of one trial as HTML; ``comparison``, ``antennas``, ``conditions``, ``date`` as above.

    >>> from .. import simulate, trials
    >>> from ..meters import MeterCurve
    >>> trial = simulate.invented_trial(3, simulate.TrialWorld(antennas=1, channels=3))
    >>> found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    >>> text = trial_page(found)
    >>> "What this trial cannot tell" in text, "<script" in text
    (True, False)
    """
    how = "a Comparison, as shed.trials.study returns it"
    check_type("comparison", comparison, Comparison, how)
    antennas = list(antennas.values() if isinstance(antennas, dict) else antennas)
    for one in antennas:
        check_type("antennas", one, Antenna, "Antennas, as [site.antenna('loop')]")
    parts = [
        _head(comparison, date),
        _question(comparison),
        _conditions(comparison, conditions),
        _by_channel(comparison),
        _percents(comparison),
        section("The antennas", *map(card_html, antennas)) if antennas else "",
        _cannot(comparison),
        section("Mind", paragraph(LOW_STAND), cautions_html("mast")),
    ]
    return document(plots.finding_words(comparison), "\n".join(parts))


def _head(comparison, date):
    row = finding_row(comparison)
    ends = f"{signed(row.low_db, 1)} to {signed(row.high_db, 1)} dB"
    answer = (
        f"{row.antenna} against {comparison.baseline} at {row.band}: {signed(row.difference_db, 1)} dB, "
        f"on 9 of 10 such trials {ends}: {row.says}."
    )
    where = f"{comparison.kind.capitalize()} trial.{f' {date}.' if date else ''}"
    title = element("h1", safe(plots.finding_words(comparison)))
    return title + paragraph(where, "where") + paragraph(answer, "answer")


def _question(comparison):
    """What was asked and planned beforehand, and what became of it."""
    plan = comparison.plan
    names = listed(dict.fromkeys(comparison.table["antenna"]))
    if plan is None:
        asked = f"Is any of {names} better or worse than {comparison.baseline}?"
        none = "No plan was handed in, so no single question was declared beforehand."
        return section("The question", paragraph(f"{asked} {none}"))
    lines = bullets(filter(None, plan.summary().split("\n")))
    return section("The question and the plan", lines, paragraph(comparison.may_stop.says))


def _conditions(comparison, words):
    frame, sds = comparison.table, comparison.sds
    looks = counted(frame["readings"].sum(), "measured look")
    rows = [
        ("Read", f"{looks} of the antennas beside the baseline"),
        ("Channels", f"RF {listed(dict.fromkeys(frame['rf_channel']), 12)}"),
        ("Putting one up again", f"changed all channels by some {sds['remount']:.1f} dB"),
        ("One channel of one mounting", f"scattered by some {sds['residual']:.1f} dB beyond that"),
        ("All levels together", f"wandered some {sds['drift']:.1f} dB in an hour"),
        ("Taken for wild", counted(len(comparison.wild), "reading")),
    ]
    own = [("In the maker's words", words)] if words else []
    return section("Conditions", table([], [("", own + rows)], "card", named=True))


def _by_channel(comparison):
    groups = []
    for name, rows in comparison.table.groupby("antenna", sort=False):
        cells = [
            (
                f"RF {r.rf_channel}, {r.band}",
                Number(signed(r.difference_db, 1)),
                Number(f"{signed(r.low_db, 1)} to {signed(r.high_db, 1)}"),
                r.says if r.readings else "never measured here",
                Number(r.readings),
            )
            for r in rows.itertuples()
        ]
        groups.append((name, cells))
    headers = ["channel", Number("dB"), Number("9 of 10"), "says", Number("mountings measured")]
    picture = figure(
        plots.differences(comparison),
        "Filled marks are clear of zero, open ones cannot tell; a pale bar was never measured.",
    )
    return section("Difference by channel", picture, table(headers, groups))


def _percents(comparison):
    both = comparison.naive.merge(comparison.bands, on="antenna")
    points = (Number(signed(value, 1)) for value in both["percent_points"])
    names = both["antenna"] + ", " + both["band"]
    rows = list(zip(names, points, both["says_x"], both["says_y"], strict=True))
    headers = ["antenna", Number("percent points"), "percents would have claimed", "the trial says"]
    said = paragraph("A plain table of percents always names a winner, and never says how surely.")
    return section("What percents would have claimed", said, table(headers, [("", rows)]))


def _cannot(comparison):
    aim = {
        "gain": "Every antenna was aimed at each station: how it does at one fixed heading, and how "
        "sharp it is, was not asked.",
        "fixed aim": "Every antenna kept its own heading: which to mount here, and no gain for another "
        "roof.",
    }[comparison.kind]
    never = comparison.table[comparison.table["readings"] == 0]
    gaps = [f"RF {r.rf_channel} of {r.antenna}: never measured there." for r in never.itertuples()]
    if len(gaps) > 6:
        more = f"And {len(gaps) - 5} more channels where an antenna was never measured."
        gaps = [*gaps[:5], more]
    other = "Beyond the channels read, and at another place, nothing was measured."
    parts = [bullets([*comparison.unseen, aim, other, *gaps])]
    if len(comparison.misfit):
        parts = [element("h3", "What does not fit"), bullets(comparison.misfit["says"]), *parts]
    rest = comparison.notes[len(comparison.misfit) :]
    if rest:
        parts += [element("h3", "Notes"), bullets(rest)]
    return section("What this trial cannot tell", *parts)
