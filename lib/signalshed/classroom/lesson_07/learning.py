"""What readings teach: a panel on one roof, and the same tried on many invented ones."""

from dataclasses import replace

import numpy as np

from ... import advice, facts, simulate, survey
from ...markup import Number
from ...plots import style
from ...words import counted, short, spare_words
from .. import Panel, Slider, Switch, Words
from ..canvas import Moving, bars
from ..cards import table_card


def readings_panel(site=None, truth=None):
    """Readings used one after another: the forecast of the best setup narrows, or moves.

    Parameters: ``site`` a Site with readings, None for the invented house with its maker's readings;
    ``truth`` a simulate.Truth where the site is invented (that of the house for None and ``site``
    None), else None.

    >>> "give or take" in readings_panel().verdict
    True
    """
    if site is None:
        site, truth = _practice_site()
    if not len(site.readings):
        raise ValueError("This site has no readings yet; take some with the readings form first.")
    learned = _Learned(site.with_belief(None), truth)
    most = len(site.readings)
    controls = [
        Slider("count", "Readings used, in the order taken", 0, most, min(12, most)),
        *([Switch("truth", "Show what was true")] if truth is not None else []),
    ]
    return Panel("What readings teach", controls, _BeforeAndAfter.of(learned), (8.8, 5.4))


def _practice_site(antenna="double loop with screen"):
    """The invented house with a ladder and one reading of every channel, and what is true there."""
    truth = simulate.truth_of(simulate.demo_site(), simulate.DEMO_SEED)
    stations = truth.site.stations[truth.site.stations["wanted"].astype(bool)]
    each = stations.drop_duplicates("rf_channel")
    each = each[truth.site.antenna(antenna).covers(each["freq_mhz"].to_numpy(float))]
    plan = each[["rf_channel"]].assign(
        time="2031-05-01T20:00:00+00:00",
        mount="roof mast",
        antenna=antenna,
        meter=truth.site.tuner.name,
        scale="quality",
        heading_deg=each["bearing_deg"].round(),
    )
    site = simulate.with_ladder(truth, survey.Setup(antenna, "roof mast", heading_deg=38.0))
    return replace(site, readings=simulate.readings(truth, plan, simulate.METERS)), truth


class _Learned:
    """Forecasts of one setup, the best before any reading, after the first 0 to n readings."""

    def __init__(self, site, truth):
        self.site, self.truth, self.seen = site, truth, {}
        self.first = advice.rank(site).iloc[0]
        self.setup = self.first["setup"]
        table = survey.outlook(site, self.setup)
        kept = table["wanted"].astype(bool) & table["spare_db"].notna()
        self.before = table[kept].sort_values("spare_db", ascending=False)
        self.rows = self.before.index.to_numpy()

    def after(self, count):
        """Outlook of the same stations and first row of the ranking, after ``count`` readings."""
        if count not in self.seen:
            site = survey.inform(self.site, self.site.readings.iloc[:count])
            table = survey.outlook(site, self.setup).loc[self.rows]
            self.seen[count] = table, advice.rank(site).iloc[0]
        return self.seen[count]

    def true_db(self):
        """What was true of each station; nan where nobody knows it."""
        if self.truth is None:
            return np.full(len(self.rows), np.nan)
        held_db = self.truth.margin_db(self.setup) - survey.reception(self.site, self.setup).fade_db
        return held_db[self.rows]

    def said(self, count, truth):
        """The words after ``count`` readings; ``truth`` whether to tell what was true."""
        table, first = self.after(count)
        many = counted(count, "reading")
        spread = [t["spread_db"].median() for t in (self.before, table)]
        counts = f"{first['low']:.0f} to {first['high']:.0f}"
        same = all(first[k] == self.first[k] for k in ("antenna", "mount"))
        choice = "still" if same else "now"
        text = (
            f"{many}: the middle give or take goes from {spread[0]:.1f} to {spread[1]:.1f} dB. Best is "
            f"{choice} the {first['antenna']} on the {first['mount']}, with "
            f"{first['expected']:.1f} stations on average ({counts} on 9 of 10 roofs; before any "
            f"reading {self.first['expected']:.1f})."
        )
        if not truth:
            return text
        true = self.true_db()
        inside = int(((true >= table["low_db"]) & (true <= table["high_db"])).sum())
        return f"{text} What was true lies inside the bar for {inside} of {len(table)} stations."


_KEY = "squares: before any reading   dots: after   triangles: read"


class _BeforeAndAfter(Moving):
    """Stations side by side: grey the forecast before, blue after, a triangle where one was read."""

    def draw(self, figure, learned):
        self.learned, before = learned, learned.before
        self.x, self.true_db = np.arange(len(before)), learned.true_db()
        ax, colour = figure.add_subplot(), style.MEANING
        ends = before["low_db"].min(), before["high_db"].max()
        self.low, self.high = 10 * np.floor(ends[0] / 10) - 10, 10 * np.ceil(ends[1] / 10)
        ax.set(ylim=(self.low, self.high), xlim=(-0.7, len(before) - 0.3))
        low = figure.get_size_inches()[1] < 4
        ax.set_ylabel("spare dB" if low else "spare dB (bars hold 9 of 10 roofs)")
        ax.set_xticks(self.x, [short(n) for n in before["station"]], rotation=90)
        ax.axhline(0, color=colour["limit"])
        ax.vlines(self.x - 0.16, before["low_db"], before["high_db"], color=colour["other"], lw=2)
        ax.plot(self.x - 0.16, before["spare_db"], "s", color=colour["other"], mfc="white", ms=6)
        self.key = self.keep(ax.set_title("", fontsize=11))
        self.bars = self.keep(ax.vlines(self.x + 0.16, 0, 0, color=colour["forecast"], lw=3))
        self.dots = self.line(ax, "o", color=colour["forecast"], ms=7)
        self.read = self.line(ax, "^", color=colour["reading"], ms=9)
        self.true = self.line(ax, "D", color=colour["truth"], mec="black", ms=8)

    def move(self, count, truth=False):
        after, _ = self.learned.after(int(count))
        was_read = self.learned.site.readings["rf_channel"].iloc[: int(count)]
        read, x = after["rf_channel"].isin(was_read).to_numpy(), self.x + 0.16
        ends = np.clip(after[["low_db", "high_db"]].to_numpy(float), self.low, self.high)
        bars(self.bars, x, *ends.T)
        self.dots.set_data(x, np.clip(after["spare_db"], self.low + 1, self.high - 1))
        self.read.set_data(x[read], np.full(read.sum(), self.low + 4))
        true = np.clip(self.true_db, self.low + 1, self.high - 1)
        self.true.set_data(*((x, true) if truth else ([], [])))
        self.key.set_text(_KEY + truth * "   diamonds: true")
        parts = [
            f"{row.station} {spare_words(row.spare_db)}, give or take {row.spread_db:.0f}"
            for row in after.itertuples()
        ]
        verdict = self.learned.said(int(count), truth)
        return Words(verdict, f"{verdict} Spare dB after: {'; '.join(parts)}.")


# ---- the same on many invented sites -------------------------------------------------------------


def experiment(sites=6, readings=6):
    """What readings and gain trials bring where the truth is known, on average over invented sites.

    Gains are known as a label tells them, give or take 3 dB.
    For each site an antenna is chosen four times: knowing nothing more than the lists; after
    ``readings`` readings, each the one that survey.next_reading proposes; with gains measured within
    1 dB in a gain trial; with both. A DataFrame: what was known, error_db (root mean square over
    all antennas, stations within 12 dB of the edge), brier (mean squared error of the chances),
    received (by the antenna chosen, in truth), lost (against the best that this roof holds).
    Parameters: ``sites`` how many, 1 or more; ``readings`` how many, 0 or more.

    >>> experiment(sites=1, readings=1).columns.tolist()
    ['known', 'error_db', 'brier', 'received', 'lost']
    """
    typed_db = facts.value("judgement", "antenna_typed_sd_db")
    table = simulate.choices(range(int(sites)), int(readings), typed_db)
    columns = ["square_db", "brier", "received", "lost"]
    means = table.groupby("known", sort=False)[columns].mean().reset_index()
    means.insert(1, "error_db", np.sqrt(means.pop("square_db")))
    return means


def taught_card(roofs=12, readings=6):
    """By how much readings bring error and Brier score down for the antenna they are read with: a Card.

    Parameters: ``roofs`` invented ones, 1 or more; ``readings`` on each, as survey.next_reading
    proposes them.

    >>> print(taught_card(roofs=2).text.splitlines()[0])
    two-band Yagi on the mast | before | after 6 readings | left of it
    """
    tables = [_judged(seed, int(readings)) for seed in range(int(roofs))]
    found = simulate.brought(tables)
    rows = [
        (what, *(f"{found[f'{key}_{when}']:{form}}" for when in ("before", "after")),
         f"{found[f'{key}_ratio']:.2f}")
        for what, key, form in (
            ("mean squared error within 12 dB of the edge, dB²", "squared_error", ".0f"),
            ("Brier score, all stations", "brier", ".3f"),
        )
    ]  # fmt: skip
    headers = ["before", f"after {readings} readings", "left of it"]
    return table_card(["two-band Yagi on the mast", *map(Number, headers)], [("", rows)])


def _judged(seed, readings):
    roof = simulate.taught_roof(seed, readings)
    setup, _ = survey.aimed(roof.before, survey.Setup("two-band Yagi", "roof mast"))
    return roof.judged(setup)
