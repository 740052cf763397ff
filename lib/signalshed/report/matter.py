"""Everything a report speaks of, computed once."""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import advice, budget, plots, survey
from ..plots.strip import drawn_rows
from .rounding import Wishes, shown_site

WORTH_CHANCE = 0.1
"""A wanted station with a smaller chance is not counted as worth an effort."""


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
        """What to expect of the stations a strip would draw, with the station's row in the site's list
        (``row``)."""
        table = self.reception.table
        extra = self.site.stations[["shown_channels", "standard", "freq_mhz", "place"]]
        table = table.assign(row=np.arange(len(table)), **{c: extra[c] for c in extra})
        return table.iloc[drawn_rows(self.site)]

    @functools.cached_property
    def wanted(self):
        """The wanted stations, in the order of what to do about them: a column ``group`` says what."""
        table = self.outlook[self.outlook["wanted"].astype(bool)]
        worth = np.where(table["chance"] >= WORTH_CHANCE, 1, 2)
        group = np.where(table["chance"] >= self.site.certainty, 0, worth)
        return table.assign(group=group).sort_values(
            ["group", "chance"], ascending=[True, False], kind="stable"
        )

    @functools.cached_property
    def hardest(self):
        """The row of ``wanted`` with the smallest chance that is still worth having, or None."""
        table = self.wanted[self.wanted["spare_db"].notna()]
        worth = table[table["chance"] >= WORTH_CHANCE]
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
    def _sight(self):
        if self.hardest is None or self.wishes.round_home:
            return None, ""
        return plots.sight_of(self.site, int(self.hardest["row"]), self.parts[1])

    @property
    def sight(self):
        """The ground under the path of the hardest station, a plots.Sight; None where no map covers
        it, and on a page whose home is rounded, since it would tell where the roof is."""
        return self._sight[0]

    @property
    def no_sight(self):
        """Why there is no Sight, "" if nobody asked for one."""
        return self._sight[1]

    @functools.cached_property
    def changes(self):
        """What one change would bring, those that bring something."""
        table = advice.changes(self.site, self.setup)
        return table[table["more"] >= 0.05].head(5)

    @property
    def title(self):
        """What the report is called."""
        if self.wishes.round_home:
            return "Which antenna for this roof"
        return f"Which antenna for {self.site.name}"


def _without_the_way(rows):
    """An account whose first rows, which would tell the distance to the tower, are one."""
    air = rows["unit"] == "dBµV/m"
    whole = (
        rows[air].tail(1).assign(term="field at the roof", value_db=rows.loc[air, "value_db"].sum())
    )
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
