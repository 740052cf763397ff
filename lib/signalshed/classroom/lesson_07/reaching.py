"""How far an antenna reaches, by kind of station: antenna, height and cable as sliders."""

import numpy as np

from ... import advice, chain, facts, simulate
from ...plots import style
from ...plots.picture import ordered
from ...site import Mount
from ...units import KM_PER_MILE, miles_from_km
from .. import Choice, Panel, Slider, Words

HEIGHT_M = (3, 20, 9)
"""Lowest, highest and first height of the antenna above the ground, metres."""
CABLE_M = (0, 50, 15)
"""Shortest, longest and first cable, metres."""
FARTHEST_KM = 150.0
_PERCENT = (90, 50, 10)


def reach_panel(site=None):
    """Antenna, height and cable: the distances at which 9, 5 and 1 of 10 roofs still have a picture.

    Parameters: ``site`` a Site whose antennas are offered, None for the invented house.

    >>> "km" in reach_panel().verdict
    True
    """
    site = simulate.demo_site() if site is None else site
    start = "wire loop" if "wire loop" in site.antennas else None
    controls = (
        Choice("antenna", "Antenna", tuple(site.antennas), start),
        Slider("height_m", "Height above ground, metres", *HEIGHT_M, step=0.5),
        Slider("cable_m", "Cable, metres", *CABLE_M, step=1),
    )

    def draw(figure):
        picture = _Reach(figure, _table(site.antenna(controls[0].default), 9, 15))

        def move(antenna, height_m, cable_m):
            table = _table(site.antenna(antenna), height_m, cable_m)
            picture.update(table)
            return Words(_said(antenna, height_m, cable_m, table), _alt(table))

        return picture.artists, move

    return Panel("How far it reaches", controls, draw, (8.8, 4.6), 4)


def _table(antenna, height_m, cable_m):
    mount = Mount("mast", "mast", float(height_m))
    feed = chain.Feed("cable", (chain.coax("series6", float(cable_m)),) if cable_m else ())
    kinds = facts.table("station_classes")
    known = np.asarray(antenna.covers(kinds["freq_mhz"].to_numpy(float)))
    return advice.reach(antenna, mount, feed).assign(known=known)


def _kind(row):
    return f"{row.station}, {row.band.replace('uhf', 'UHF').replace('vhf', 'VHF')}"


class _Reach:
    """One line per kind of station, from the distance of 9 in 10 roofs to that of 1 in 10."""

    def __init__(self, figure, table):
        self.y = np.arange(len(table))
        with style.house():
            ax = figure.add_subplot()
            labels = [f"{_kind(r)}\n{r.erp_kw:g} kW, {r.haat_m:g} m up" for r in table.itertuples()]
            ax.set_yticks(self.y, labels)
            ax.set(xlim=(0, FARTHEST_KM), ylim=(len(table) - 0.4, -0.7))
            ax.set_xlabel("km: left end 9 of 10 roofs, dot 5 of 10, right end 1 of 10")
            miles = (lambda km: km / KM_PER_MILE, lambda mi: mi * KM_PER_MILE)
            ax.secondary_xaxis("top", functions=miles).set_xlabel("miles")
            colour = style.MEANING["forecast"]
            self.bars = ax.hlines(self.y, 0, 0, color=colour, lw=3)
            self.marks = [
                ax.plot([], [], m, color=colour, ms=s, mew=2, clip_on=False)[0]
                for m, s in zip("|o|", (12, 9, 12), strict=True)
            ]
            side = {"va": "center", "bbox": style.PAPER}
            self.none = [ax.text(2, k, "", **side) for k in self.y]
        self.artists = ordered((self.bars, *self.marks, *self.none))

    def update(self, table):
        """Move to another ``table`` of shed.advice.reach."""
        km = np.stack([table[f"km_at_{p}_pct"].to_numpy(float) for p in _PERCENT])
        ends = np.clip(np.nan_to_num(km), 0, FARTHEST_KM)
        self.bars.set_segments(
            [[(a, y), (b, y)] for a, b, y in zip(ends[0], ends[2], self.y, strict=True)]
        )
        for mark, x in zip(self.marks, km, strict=True):
            mark.set_data(np.minimum(x, FARTHEST_KM), self.y)
        for text, row in zip(self.none, table.itertuples(), strict=True):
            text.set_text(_nowhere(row))


def _nowhere(row):
    """Why a kind of station has no line; "" if it has one."""
    if not row.known:
        return "this antenna is not known on these channels"
    return "not even 2 km (1 mi) away" if np.isnan(row.km_at_10_pct) else ""


def _both(km):
    if np.isnan(km):
        return "not even 2 km (1 mi)"
    return f"{km:.0f} km ({miles_from_km(km):.0f} mi)"


def _said(antenna, height_m, cable_m, table):
    known = table[table["km_at_10_pct"].notna()]
    head = f"{antenna}, {height_m:g} m up, {cable_m:g} m of cable"
    if known.empty:
        return f"{head}: of these kinds of station it hears none, not even 2 km away."
    parts = [
        f"{_kind(row)}: safe (9 of 10 roofs) to {_both(row.km_at_90_pct)}, even odds at "
        f"{_both(row.km_at_50_pct)}"
        for row in known.head(3).itertuples()
    ]
    return f"{head}. {'; '.join(parts)}."


def _alt(table):
    parts = [
        f"{_kind(row)}: "
        + (
            _nowhere(row)
            or f"9 of 10 roofs to {_both(row.km_at_90_pct)}, 5 of 10 to {_both(row.km_at_50_pct)}, "
            f"1 of 10 to {_both(row.km_at_10_pct)}"
        )
        for row in table.itertuples()
    ]
    return "Reach by kind of station, antenna aimed at it. " + "; ".join(parts) + "."
