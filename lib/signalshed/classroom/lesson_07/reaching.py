"""How far an antenna reaches, by kind of station: antenna, height and cable as sliders."""

from ... import advice, chain, simulate
from ...plots import reaches
from ...site import Mount
from .. import Panel, Slider, Words
from ..canvas import Moving
from ..roof import antenna_choice


def reach_panel(site=None):
    """Antenna, height and cable: the distances at which 9, 5 and 1 of 10 roofs still have a picture.

    Parameters: ``site`` a Site whose antennas are offered, None for the invented house.

    >>> "km" in reach_panel().verdict
    True
    """
    site = simulate.demo_site() if site is None else site
    controls = (
        antenna_choice(site, "wire loop"),
        Slider("height_m", "Height above ground, metres", 3, 20, 9, step=0.5),
        Slider("cable_m", "Cable, metres", 0, 50, 15, step=1),
    )
    return Panel("How far it reaches", controls, _Reach.of(site), (8.8, 4.6))


class _Reach(Moving):
    """A line per kind of station, from the distance of 9 in 10 roofs to that of 1 in 10."""

    def draw(self, figure, site):
        self.site = site
        first = _table(next(iter(site.antennas.values())), 9, 15)
        self.picture = reaches.Reach(figure.add_subplot(), first, 150)
        self.moving += self.picture.artists

    def move(self, antenna, height_m, cable_m):
        table = _table(self.site.antenna(antenna), height_m, cable_m)
        return Words(_said(antenna, height_m, cable_m, table), self.picture.update(table))


def _table(antenna, height_m, cable_m):
    mount = Mount("mast", "mast", float(height_m))
    feed = chain.Feed("cable", (chain.coax("series6", float(cable_m)),) if cable_m else ())
    return advice.reach(antenna, mount, feed)


def _said(antenna, height_m, cable_m, table):
    known = table[table["km_at_10_pct"].notna()]
    head = f"{antenna}, {height_m:g} m up, {cable_m:g} m of cable"
    if known.empty:
        return f"{head}: of these kinds of station it hears none, not even 2 km away."
    parts = [
        f"{reaches.kind(row)}: safe (9 of 10 roofs) to {reaches.both_km(row.km_at_90_pct)}, "
        f"even odds at {reaches.both_km(row.km_at_50_pct)}"
        for row in known.head(3).itertuples()
    ]
    return f"{head}; {'; '.join(parts)}.".replace(", even", ". Even", 1)
