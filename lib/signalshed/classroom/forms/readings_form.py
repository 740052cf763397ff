"""The readings form: one press per reading, each row saved whole at once, the next one proposed."""

from pathlib import Path

import ipywidgets
import pandas as pd

from ... import meters, report, site, survey
from ...markup import bullets, paragraph
from ...registers import typed
from ...tables import lock
from ...words import counted
from ..cards import table_card
from ..showing import button
from .fields import Form, Mistakes, answers, asked

FILE = "readings.csv"
HABITS = (
    "Scan once, with the strongest set-up, and do not scan again between headings.",
    "Write a row also where there is no picture: what did not come in teaches as much.",
    "Wait until the meter settles; write down the lowest and the highest it showed as well.",
    "Stand clear of the antenna, and keep other antennas and people away from it.",
    "Put every antenna at the same spot of the mount.",
    "Come back on a second day: one evening may be a lucky one.",
)
"""What makes readings worth something."""
_SHOWN = 5
_COLUMNS = {
    "time": "when",
    "mount": "where",
    "antenna": "antenna",
    "rf_channel": "RF channel",
    "heading_deg": "heading",
    "pad_db": "pad, dB",
    "reading": "reading",
    "locked": "picture",
}


class ReadingsForm(Form):
    """Saves readings at one roof, proposes the next one, and takes the last one back.

    Parameters: ``site`` a Site that was opened from a folder; ``path`` of the file that readings go
    to, None for the site's own readings.csv; ``plan`` a trials.Plan whose rows are proposed one after
    the other, None for the reading that teaches most. The other fields keep their answers from press
    to press.

    >>> from ... import simulate
    >>> form = ReadingsForm(simulate.demo_site())
    >>> form.fields["heading_deg"].widget.value = "38"
    >>> form.fields["reading"].widget.value = "eighty"
    >>> form.save()
    >>> form.trouble
    ("What it shows now: 'eighty' is not a number.",)
    """

    def __init__(self, site, path=None, plan=None):
        if site.folder is None:
            raise ValueError("This site has no folder; open one with shed.site.open_site first.")
        self.site, self.plan = site, plan
        self.path = site.folder / FILE if path is None else Path(path)
        self.fields = _fields(site)
        self.next_words = ""
        self._own = []
        self._next, self._saved = ipywidgets.HTML(), ipywidgets.HTML()
        self.save_button = button("Save this reading", self.save, "primary")
        self.undo_button = button("Take the last one back", self.undo)
        self.propose_button = button("Propose the next", self.propose)
        buttons = [self.save_button, self.undo_button, self.propose_button]
        widgets = [
            ipywidgets.HTML(_habits_html(site)),
            *(field.widget for field in self.fields.values()),
            ipywidgets.HBox(buttons),
            self._next,
            self._saved,
        ]
        super().__init__(f"Readings at {site.name}", self.fields.values(), widgets)
        self._show_saved()
        if plan is not None:
            self._propose_quietly()

    def save(self):
        """Append what is typed as one reading; then propose the next."""
        self.attempt(self._save)
        if not self.trouble:
            for name in ("reading", "reading_low", "reading_high", "note"):
                self.fields[name].widget.value = ""
            self._propose_quietly()

    def undo(self):
        """Take back the last reading saved by this form: the file keeps it, and a row that voids it.

        With a plan the form goes back to that row, so that what is typed next is not saved under
        the antenna and channel of the row after it.
        """
        self.attempt(self._undo)
        if self.plan is not None and not self.trouble:
            self._propose_quietly()

    def propose(self):
        """Set the fields to the next row of the plan or, without one, to the reading worth most."""
        find = self._worth_most if self.plan is None else self._planned
        self.attempt(lambda: self._say_next(find()))

    # ---- what the buttons do ---------------------------------------------------------------------

    def _save(self):
        row = self._answers()
        _check(row)
        written = meters.log_reading(self.path, row)
        self._own.append(written)
        self._show_saved()
        return " ".join([f"Saved in {self.path.name}: {_shown(written)}.", *written.notes])

    def _answers(self, names=None):
        """What was typed in the fields of these names; a place that cannot be aimed needs no heading."""
        fields = {name: self.fields[name] for name in names or self.fields}
        mount = self.site.mount(fields["mount"].answer())
        if mount.aim != "never":
            return answers(fields)
        if fields["heading_deg"].widget.value.strip():
            raise Mistakes([f"{mount.name} cannot be aimed: leave the heading empty."])
        del fields["heading_deg"]
        return {**answers(fields), "heading_deg": None}

    def _undo(self):
        gone = meters.undo_last(self.path, own=self._own)
        self._show_saved()
        return f"Taken back: {_shown(gone)}."

    def _worth_most(self):
        """Set the fields to the reading that teaches most, and say which that is."""
        now = site.open_site(self.site.folder)
        row = self._answers(("antenna", "mount", "heading_deg"))
        setup = survey.Setup(row["antenna"], row["mount"], heading_deg=row["heading_deg"])
        elsewhere = self.path.resolve() != (now.folder / FILE).resolve()
        log = [meters.read_log(self.path)[0]] if elsewhere else []
        following = survey.next_reading(survey.inform(now), setup, pd.concat([now.readings, *log]))
        if following is None:
            return (
                "Nothing is worth reading with this antenna: every wanted station it covers has been "
                "read, or hardly comes in."
            )
        pad = f"{following.pad_db:g}"
        self.fields["rf_channel"].widget.value = following.rf_channel
        self.fields["pad_db"].widget.value = pad
        return (
            f"Worth reading next: {following.station}, RF {following.rf_channel}, with {pad} dB of "
            f"pads: {following.why}. {following.without_climbing}"
        ).strip()

    def _planned(self):
        """Set the fields to the next row of the plan, and say which that is."""
        step = self.plan.next_step(meters.read_log(self.path)[0])
        if step is None:
            return "The plan is done: all its readings are there."
        _check_step(step, self.site, self.fields["rf_channel"].widget.options)
        for name, value in _row_of(step, self.site, self.plan.kind).items():
            self.fields[name].widget.value = value
        last = self.plan.steps["visit"].max()
        pads = f"{step['pad_db']:g} dB of pads" if step["pad_db"] else "no pad"
        return (
            f"Next in the plan: day {step['session']}, mounting {step['visit']} of {last}: "
            f"{step['antenna']}, aim: {step['aim']}, RF {step['rf_channel']}, {pads}."
        )

    def _propose_quietly(self):
        """Propose after a save; the save has gone well whatever comes of it."""
        said = self.said
        self.propose()
        if self.trouble:
            self._say_next("No proposal: " + " ".join(self.trouble))
        self.attempt(lambda: said)

    def _say_next(self, words):
        self.next_words, self._next.value = words, paragraph(words)
        return words

    def _show_saved(self):
        table, notes = meters.read_log(self.path)
        if table.empty:
            nothing = paragraph(f"No reading yet in {self.path.name}.")
            self._saved.value = nothing + bullets(notes)
            return
        rows = table.reindex(columns=list(_COLUMNS)).tail(_SHOWN).fillna("").to_numpy().tolist()
        count = f"{counted(len(table), 'reading')} in {self.path.name}"
        card = table_card(list(_COLUMNS.values()), [("", rows)], f"{count}; the last {len(rows)}:")
        self._saved.value = card.html + bullets(notes)


def _shown(row):
    """Channel and reading of a saved row in words."""
    nothing = "no picture" if lock(row["locked"]) is False else "no reading"
    return f"RF {row['rf_channel']}, {row['reading'] or nothing}"


def _check_step(step, site, channels):
    """A ValueError for a step of antennas or channels that the site does not have."""
    if step["antenna"] not in site.antennas:
        raise ValueError(
            f"The plan names the antenna {step['antenna']!r}, which this site does not have; add "
            "it to antennas.toml, or plan with the names that stand there."
        )
    there = [channel for _, channel in channels]
    if step["rf_channel"] not in there:
        raise ValueError(
            f"The plan names RF {step['rf_channel']}, on which this site has no station; add it to "
            f"stations.csv, or plan with {', '.join(there)}."
        )


def _row_of(step, site, kind):
    """What a step of a plan fills in: a dict from field to what is typed there."""
    row = {"antenna": step["antenna"], "rf_channel": step["rf_channel"]}
    row["pad_db"] = f"{step['pad_db']:g}"
    if kind == "gain":
        stations = site.stations
        there = stations.loc[stations["rf_channel"] == step["rf_channel"], "bearing_deg"]
        row["heading_deg"] = f"{there.iloc[0]:.0f}"
    return row


def _habits_html(site):
    """The habits, and what to mind at the mounts of this site, folded."""
    kinds = sorted({mount.kind for mount in site.mounts.values()})
    mind = f"<details><summary>Before you climb</summary>{report.cautions_html(kinds)}</details>"
    return bullets(HABITS) + mind


def _fields(site):
    wanted = site.stations[site.stations["service"] == "tv"].groupby("rf_channel", sort=False)
    options = {
        "mount": [(name, name) for name in site.mounts],
        "antenna": [(name, name) for name in site.antennas],
        "scale": [(meters.scale(name).label, name) for name in meters.scales()],
        "rf_channel": [
            (f"{channel}: {', '.join(rows['station'])}", channel) for channel, rows in wanted
        ],
    }

    def bearing(said):
        return typed.bearing_deg(said, site.place.latitude_deg)

    found = asked("reading", {"bearing": bearing}, options)
    found["meter"].show(site.tuner.name)
    return found


def _check(row):
    """Mistakes for a reading outside its scale, or a picture without a reading."""
    scale = meters.scale(row["scale"])
    wrong = [
        f"{value:g} is not on the scale {scale.label}: it runs from {scale.low:g} to {scale.high:g}."
        for name in ("reading", "reading_low", "reading_high")
        if (value := row[name]) is not None and not scale.low <= value <= scale.high
    ]
    if row["locked"] and row["reading"] is None:
        wrong.append("There is a picture, so type what the meter shows.")
    known = [row[k] for k in ("reading_low", "reading", "reading_high") if row[k] is not None]
    if known != sorted(known):
        wrong.append("The lowest must not be above what it shows, nor that above the highest.")
    if wrong:
        raise Mistakes(wrong)
