"""Everything a report speaks of, computed once."""

import functools
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import advice, budget, plots, survey
from ..plots.rope_lines import towers_of
from ..plots.strip import drawn_rows
from ..words import tenths
from .rounding import Wishes, shown_site

MOST_HOPELESS = 10
"""So many of the wanted stations that do not come are named; the rest are counted."""
MOST_ON_MAP = 20
"""So many towers are all drawn; of more only those of stations that are named."""
WORTH_MORE = 0.5
"""A change that brings fewer stations than this is not worth buying."""


@dataclass(frozen=True, eq=False)
class Matter:
    """What a report is made of: a ``site``, its ``ranking``, and the ``wishes`` for the page.

    The first row of the ranking is the setup the report is about.
    """

    site: object
    ranking: pd.DataFrame
    wishes: Wishes

    @functools.cached_property
    def shown(self):
        """The site whose names, places and bearings may be shown."""
        return shown_site(self.site, self.wishes)

    @property
    def best(self):
        """The first row of the ranking."""
        return self.ranking.iloc[0]

    @property
    def setup(self):
        """The setup the report is about."""
        return self.best["setup"]

    @property
    def reception(self):
        """The survey.Reception of that setup."""
        return survey.reception(self.site, self.setup)

    @property
    def parts(self):
        """Its antenna, mount and feed."""
        return self.reception.antenna, self.reception.mount, self.reception.feed

    @functools.cached_property
    def outlook(self):
        """What to expect of the stations a strip would draw: the table of the reception with the
        station's row in the site's list (``row``), its tower (``tower``, from north) and what stands
        in stations.csv."""
        table = self.reception.table
        extra = self.site.stations[["shown_channels", "standard", "freq_mhz"]]
        table = table.assign(row=np.arange(len(table)), **{c: extra[c] for c in extra})
        table = table.iloc[drawn_rows(self.site)].reset_index(drop=True)
        for k, tower in enumerate(self.towers):
            table.loc[tower.members, "tower"] = k
        return table

    @functools.cached_property
    def towers(self):
        """The towers of what a strip would draw, from north, where they may be shown: a list."""
        return towers_of(self.shown)

    @functools.cached_property
    def wanted(self):
        """The wanted stations: what comes (``group`` 0: on 9 of 10 roofs), what may (1), what does not
        (2); in each tower by tower from north, and there the one with most to spare first."""
        table = self.outlook[self.outlook["wanted"].astype(bool)]
        tenth = np.array([tenths(chance) for chance in table["chance"]], int)
        group = np.select([tenth >= 9, tenth >= 1], [0, 1], 2)
        order = ["group", "tower", "spare_db"]
        return table.assign(group=group).sort_values(order, ascending=[True, True, False])

    @property
    def on_the_map(self):
        """The site with the towers of the stations that are named, and how many more there are."""
        named = pd.concat([self.group(k)[0] for k in range(3)])["tower"].unique()
        if not len(named) or len(self.towers) <= MOST_ON_MAP:
            return self.shown, 0
        rows = self.outlook.loc[self.outlook["tower"].isin(named), "row"].to_numpy(int)
        seen = replace(self.shown, stations=self.shown.stations.iloc[rows].reset_index(drop=True))
        return seen, len(self.towers) - len(named)

    def group(self, number):
        """The wanted stations of a group (0, 1, 2) that are named, and how many more there are."""
        rows = self.wanted[self.wanted["group"] == number]
        if number < 2:
            return rows, 0
        near = rows["spare_db"].nlargest(MOST_HOPELESS).index
        return rows.loc[rows.index.isin(near)], len(rows) - len(near)

    @functools.cached_property
    def hardest(self):
        """The row of ``wanted`` with the smallest chance that is still worth having, or None."""
        table = self.wanted[self.wanted["spare_db"].notna()].sort_values("chance", ascending=False)
        worth = table[table["group"] < 2]
        table = worth if len(worth) else table.head(1)
        return None if table.empty else table.iloc[-1]

    @functools.cached_property
    def account(self):
        """The account of the hardest station; None if there is none."""
        if self.hardest is None:
            return None
        rows = budget.account(int(self.hardest["row"]), self.setup, self.site)
        return _without_the_way(rows) if self.wishes.round_home else rows

    @functools.cached_property
    def sight(self):
        """The ground under the path of the hardest station, a plots.Sight, or None, and why: no map
        covers it; of a rounded home nobody asks, since it would tell where the roof is ("")."""
        if self.hardest is None or self.wishes.round_home:
            return None, ""
        return plots.sight_of(self.site, int(self.hardest["row"]), self.parts[1])

    @functools.cached_property
    def changes(self):
        """What one change would bring, those that bring something."""
        table = advice.changes(self.site, self.setup)
        return table[table["more"] >= 0.05].head(5)

    @property
    def to_buy(self):
        """The row of ``changes`` to begin with, or None: the least effort among those that bring at
        least half of what the best one does."""
        table = self.changes[self.changes["more"] >= WORTH_MORE]
        table = table[table["more"] >= table["more"].max() / 2]
        return None if table.empty else table.sort_values("effort", kind="stable").iloc[0]

    @property
    def title(self):
        """What the report is called."""
        if self.wishes.round_home:
            return "Which antenna for this roof"
        return f"Which antenna for {self.site.name}"


def _without_the_way(rows):
    """An account whose first rows, which would tell the distance to the tower, are one."""
    air = rows["unit"] == "dBµV/m"
    total = rows.loc[air, "value_db"].sum()
    whole = rows[air].tail(1).assign(term="field at the roof", value_db=total)
    return pd.concat([whole, rows[~air]], ignore_index=True).drop(columns="why")


def gather(site, ranking, wishes):
    """The matter of a report. Raises ValueError for a ranking that holds nothing.

    Parameters: ``site`` a Site; ``ranking`` from shed.advice.rank; ``wishes`` a Wishes.
    """
    missing = {"setup", "expected", "low", "high", "against_best"} - set(ranking.columns)
    if missing or ranking.empty:
        raise ValueError(
            "ranking must be the table that shed.advice.rank(site) gives, with at least one row; "
            + (f"it lacks {', '.join(sorted(missing))}." if missing else "it is empty.")
        )
    return Matter(site, ranking.reset_index(drop=True), wishes)
