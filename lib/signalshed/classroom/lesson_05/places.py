"""One antenna on every mount of a roof: what the place costs each station."""

from dataclasses import replace

import numpy as np

from ... import simulate, survey
from ...plots import style
from ...words import listed, short, signed, spare_words
from .. import Choice, Panel, Slider, Words
from ..canvas import Moving, bars
from ..roof import antenna_choice

CONSTRUCTIONS = {
    "tiles or wood, plain glass": "traditional",
    "foil in the insulation, coated glass": "thermally_efficient",
    "metal roof or walls": "metal",
}
_LIMITS_DB = (-60.0, 60.0)


def place_panel(site=None, heading_deg=53):
    """Antenna, construction of the house and trees before it: spare dB of every station, place by place.

    Parameters: ``site`` a Site, None for the invented house; ``heading_deg`` where the antenna is aimed.

    >>> "attic" in place_panel().verdict
    True
    """
    site = simulate.demo_site() if site is None else site
    controls = (
        antenna_choice(site, "wire loop"),
        Choice("house", "The house is built of", tuple(CONSTRUCTIONS)),
        Slider("trees_m", "Trees in the way, metres of leaves", 0, 40, 0),
    )
    title, drawing = f"Where on the property: {site.name}", _Places.of(site, heading_deg)
    return Panel(title, controls, drawing, (8.8, 5.2))


def _tables(site, aimed, construction, trees_m):
    """Outlook by mount, each mount built and overgrown so."""
    antenna, heading_deg = aimed
    wanted = site.stations["wanted"].to_numpy(bool)
    tables = {}
    for name, mount in site.mounts.items():
        changed = replace(mount, construction=construction, trees_m=trees_m)
        setup = survey.aimed_at(site, antenna, changed, heading_deg)
        tables[name] = survey.outlook(site, setup)[wanted]
    return tables


class _Places(Moving):
    """Stations side by side, one mark per mount with its 90 % bar."""

    marks = ("o", "s", "D", "^", "v", "P", "X", "*")
    colours = (style.BLUE, style.GREY, style.GREEN, style.PURPLE)

    def draw(self, figure, site, heading_deg):
        self.site, self.heading_deg = site, heading_deg
        names = site.stations.loc[site.stations["wanted"].astype(bool), "station"]
        low = figure.get_size_inches()[1] < 4
        x, apart = np.arange(len(names)), (len(site.mounts) - 1) / 2
        ax = figure.add_subplot(ylim=_LIMITS_DB, xlim=(-0.7, len(names) - 0.3))
        ax.set(yticks=range(-60, 61, 20))
        ax.set_ylabel("spare dB" if low else "spare dB (bars hold 9 of 10 roofs)")
        ax.set_xticks(x, [short(n, 10 if low else 16) for n in names], rotation=90)
        ax.axhline(0, color=style.MEANING["limit"])
        looks = [
            (self.colours[k % len(self.colours)], self.marks[k % len(self.marks)])
            for k in range(len(site.mounts))
        ]
        self.x = [x + 0.22 * (k - apart) for k in range(len(site.mounts))]
        self.bars = [self.keep(ax.vlines(x, 0, 0, color=colour, lw=2)) for colour, _ in looks]
        self.dots = [
            self.line(ax, mark, color=colour, ms=7, label=short(mount, 24))
            for (colour, mark), mount in zip(looks, site.mounts, strict=True)
        ]
        upward = {"rotation": 90, "ha": "center", "va": "center", "color": style.GREY}
        self.none = [self.text(ax, k, 0, bbox=style.PAPER, **upward) for k in x]
        ax.legend(loc="upper right", ncols=3, frameon=False)

    def move(self, antenna, house, trees_m):
        aimed = antenna, self.heading_deg
        tables = _tables(self.site, aimed, CONSTRUCTIONS[house], float(trees_m))
        for x, lines, dots, table in zip(
            self.x, self.bars, self.dots, tables.values(), strict=True
        ):
            columns = ("spare_db", "low_db", "high_db")
            middle, *ends = (np.clip(table[c].to_numpy(float), *_LIMITS_DB) for c in columns)
            bars(lines, x, *ends)
            dots.set_data(x, np.clip(middle, _LIMITS_DB[0] + 1, _LIMITS_DB[1] - 1))
        left_out = _left_out(tables)
        for text, none in zip(self.none, table.index.isin(left_out.index), strict=True):
            text.set_text("no forecast" if none else "")
        return Words(_said(antenna, tables, left_out), _alt(tables))


def _left_out(tables):
    """Rows of stations that have no forecast on any mount."""
    none = np.all([table["spare_db"].isna() for table in tables.values()], axis=0)
    return next(iter(tables.values())).loc[none]


def _said(antenna, tables, left_out):
    counts = [f"{name} {table['chance'].sum():.1f}" for name, table in tables.items()]
    first = next(iter(tables.values()))
    costs = []
    for name, table in list(tables.items())[1:]:
        lost = np.nanmedian(first["margin_db"].to_numpy() - table["margin_db"].to_numpy())
        if np.isfinite(lost):
            costs.append(f"{name} {signed(-lost)} dB")
    text = f"{antenna}, stations on average: {', '.join(counts)}."
    if costs:
        text += f" Against the {next(iter(tables))} the middle station has: {', '.join(costs)}."
    for limit, rows in left_out.groupby("limit", sort=False):
        text += f" No forecast for {listed(list(rows['station']))}: {limit}."
    return f"{text} Walls are uncertain by several dB more than the path: measure yours with pads."


def _alt(tables):
    parts = []
    for name, table in tables.items():
        each = ", ".join(
            f"{row.station} {spare_words(row.spare_db)}"
            for row in table.itertuples()
            if not np.isnan(row.spare_db)
        )
        parts.append(f"{name}: {each or 'no station that this antenna hears'}")
    return "Spare dB by place. " + ". ".join(parts) + "."
