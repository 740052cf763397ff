"""What one change would help most: each tried in turn, and the survey done again."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import budget, chain, channels, facts, survey
from ..site import Site
from ..units import turn_deg
from .joining import joined_antenna

HIGHER_M = 4.0
MAST_AMPLIFIER = chain.amplifier("mast amplifier", 16.0, 2.0)
"""The amplifier tried: 16 dB, noise figure 2 dB, the usual worked case; of no make, so a usual limit."""
SET_AMPLIFIER = chain.amplifier("amplifier at the TV", 16.0, 4.0)
"""The same behind the cable, where amplifiers are noisier: 4 dB."""
SECOND, JOINED = "a second antenna on its own line", "a second antenna joined to the first"


def changes(site: Site, setup: survey.Setup) -> pd.DataFrame:
    """What one change would bring, best first.

    Tried, where it applies: higher, outdoors, no cable loss, an amplifier at the mast or at the TV or
    none, a filter against FM or mobile telephone, or against a whole band of the plan that fills the
    line, a pad, a rotator with its play, a second antenna of the same kind on its own line or joined,
    the other side of the house. The antenna is aimed anew after each, and every change is judged by the
    reception it gives, overload included.

    Parameters
    ----------
    site
    setup
        Aimed or not.

    Returns
    -------
    DataFrame
        change, expected (wanted stations received on average), more (over the setup as it is), helps
        (the stations whose chance rises most), effort (1 to 5), price (hours and money in words: our
        judgement), caution (of power on the cable, else empty).

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> changes(site, survey.Setup(next(iter(site.antennas)), "roof mast")).columns.tolist()
    ['change', 'expected', 'more', 'helps', 'effort', 'price', 'caution']
    """
    now, _ = survey.aimed(site, setup)
    wanted = site.stations["wanted"].to_numpy(bool)
    received = survey.reception(site, now)
    before = received.chance
    rows = [(*names, _after(site, changed)) for names, changed in _tries(received, now)]
    if site.mount(now.mount).aim == "fixed":
        rows += _with_second(site, now, before, wanted)
    known = facts.table("changes").set_index("change")
    table = pd.DataFrame(
        {
            "change": [name for _, name, _ in rows],
            "expected": [after[wanted].sum() for *_, after in rows],
            "more": [(after - before)[wanted].sum() for *_, after in rows],
            "helps": [_helped(site, before, after, wanted) for *_, after in rows],
            "effort": [int(known.loc[kind, "effort"]) for kind, *_ in rows],
            "price": [_price(known.loc[kind]) for kind, *_ in rows],
            "caution": [_caution(known.loc[kind, "power"]) for kind, *_ in rows],
        }
    )
    return table.sort_values("more", ascending=False, ignore_index=True)


def _price(row):
    """What a change asks for, in words: hours, and money."""
    hours = float(row["hours"])
    time = "minutes" if hours < 1 else f"about {hours:g} h"
    return f"{time}, {row['price']}"


def _caution(power):
    """The caution of a change that puts power on the cable, else ""."""
    known = facts.table("cautions").set_index("key")["caution"]
    return known["supply"] if power == "yes" else ""


def _after(site, changed):
    """Chances after a change, aimed anew; of a rotator within its play of each station's bearing."""
    aimed = survey.aimed(site, changed)[0]
    received = survey.reception(site, aimed)
    if received.aim != "rotator":
        return received.chance
    play = facts.value("judgement", "rotator_play_deg")
    grid = survey.grid(site, [aimed])
    bearing = site.stations["bearing_deg"].to_numpy(float)
    step = 360 / grid.headings_deg.size
    rows = [
        np.rint((bearing + off) % 360 / step).astype(int) % grid.headings_deg.size
        for off in (-play, play)
    ]
    beside = [grid.chance[0, row, np.arange(row.size)] for row in rows]
    return np.minimum(received.chance, np.mean([received.chance, *beside], axis=0))


def _tries(received, setup):
    """Pairs of a change, as the table and people call it, and the setup after it."""
    antenna, mount, feed = received.antenna, received.mount, received.feed

    def moved(**changes):
        return survey.Setup(
            antenna, replace(mount, **changes), feed=feed, heading_deg=setup.heading_deg
        )

    def rewired(parts):
        return survey.Setup(
            antenna, mount, feed=chain.Feed("changed", parts), heading_deg=setup.heading_deg
        )

    yield from _other_places(mount, moved)
    if mount.aim == "fixed":
        yield ("rotator", "a rotator"), moved(aim="rotator")
    yield from _other_lines(received, feed.parts, rewired)


def _other_places(mount, moved):
    if mount.kind in ("mast", "roof", "balcony"):
        yield (
            ("higher", f"{HIGHER_M:g} m higher"),
            moved(height_agl_m=mount.height_agl_m + HIGHER_M),
        )
    if mount.kind in ("attic", "room", "window"):
        # Under another name: what readings taught of these walls does not hold outdoors.
        bare = {"name": f"outside of {mount.name}", "extra_loss_db": 0.0, "extra_sd_db": 0.0}
        yield ("outdoors", "outdoors, same height"), moved(kind="mast", **bare)
    if mount.trees_m > 0:
        yield ("clear", "clear of the trees"), moved(trees_m=0.0)
    if _sees_part(mount):
        yield ("other_side", "on the other side of the house"), moved(**_other_side(mount))


def _other_lines(received, parts, rewired):
    cables = [k for k, part in enumerate(parts) if part.is_cable]
    if cables:
        rest = tuple(part for part in parts if not part.is_cable)
        name = "no cable at all (the most a shorter or thicker one can bring)"
        yield ("no_cable", name), rewired(rest)
    active = [k for k, part in enumerate(parts) if not part.is_passive]
    if active:
        yield ("no_amplifier", "without the amplifier"), rewired(_passive(parts))
        if cables and cables[0] < active[0]:
            name = "the amplifier at the mast, not at the TV"
            yield ("moved_amplifier", name), rewired(_at_the_mast(parts))
    else:
        yield ("mast_amplifier", "an amplifier at the mast"), rewired((MAST_AMPLIFIER, *parts))
        yield ("set_amplifier", "an amplifier at the TV"), rewired((*parts, SET_AMPLIFIER))
    for name, low, high in _bands_to_stop(received):
        yield ("filter", name), rewired((chain.stop_filter(name, low, high), *parts))
    pad_db = facts.value("judgement", "pad_tried_db")
    yield ("pad", f"a pad of {pad_db:g} dB at the TV"), rewired((*parts, chain.pad(pad_db)))


def _passive(parts):
    return tuple(part for part in parts if part.is_passive)


def _bands_to_stop(received):
    """What a filter may stop: (name, low, high) of each.

    Bands of neighbours in the list that hold no television; and where the line is full on some roofs,
    those bands of the plan that put a tenth or more of all power on it, others being left.
    """
    s, sends = received.site.stations, budget.signals_of(received.site).is_sender
    tv = (s["service"] == "tv").to_numpy()
    for service, name in (("fm", "an FM filter"), ("mobile", "a filter against mobile telephone")):
        low, high = _edges(s[s["service"] == service])
        if low < high and not s.loc[tv, "freq_mhz"].between(low - 3, high + 3).any():
            yield name, low, high
    if received.holds[received.link.decoded].min(initial=1.0) > _HOLDS:
        return
    power = 10 ** (received.link.heard_dbm(received.used(received.gain_dbd)) / 10) * sends
    bands = np.searchsorted(channels.borders_mhz(), s["freq_mhz"])
    for k, band in enumerate(("low VHF", "high VHF", "UHF")):
        inside = tv & (bands == k)
        if power[inside].sum() > 0.1 * power.sum() and (tv & ~inside).any():
            yield f"a filter against {band}", *_edges(s[inside])


def _edges(rows):
    """Lowest and highest MHz of the channels of some rows; for none nan."""
    edge = rows["bandwidth_mhz"] / 2
    return float((rows["freq_mhz"] - edge).min()), float((rows["freq_mhz"] + edge).max())


_HOLDS = 0.99
"""Where the line holds on more roofs than this it is not full."""


def _at_the_mast(parts):
    """The parts with their first amplifier moved before the first cable."""
    first = next(k for k, part in enumerate(parts) if not part.is_passive)
    rest = parts[:first] + parts[first + 1 :]
    cable = next(k for k, part in enumerate(rest) if part.is_cable)
    return (*rest[:cable], parts[first], *rest[cable:])


def _sees_part(mount):
    return (mount.open_to_deg - mount.open_from_deg) % 360 != 0


def _other_side(mount):
    return {
        "open_from_deg": (mount.open_from_deg + 180) % 360,
        "open_to_deg": (mount.open_to_deg + 180) % 360,
    }


def _with_second(site, setup, before, wanted):
    """Chances with a second antenna of the same kind at the heading that adds most to the first."""
    grid = survey.grid(site, [setup])
    joint = np.maximum(grid.chance[0], before)
    heading = float(grid.headings_deg[int(joint[:, wanted].sum(axis=1).argmax())])
    second = survey.reception(site, replace(setup, heading_deg=heading))
    antenna, mount, feed = survey.parts_of(site, setup)
    both = joined_antenna(antenna, turn_deg(setup.heading_deg, heading))
    joined = survey.reception(
        site, survey.Setup(both, mount, feed=feed, heading_deg=setup.heading_deg)
    )
    yield "second_own", SECOND, np.maximum(second.chance, before)
    yield "second_joined", JOINED, joined.chance


def _helped(site, before, after, wanted, most=3):
    """Names of the stations whose chance rises most, by a tenth or more."""
    rise = np.where(wanted, after - before, 0.0).round(3)
    order = np.argsort(-rise, kind="stable")[:most]
    order = [i for i in order if rise[i] >= 0.1]
    rows = site.stations.iloc[order]
    again = site.stations["station"].duplicated(keep=False).to_numpy()[order]
    several = rows["station"] + " (RF " + rows["rf_channel"] + ")"
    names = rows["station"].where(~again, several)
    return ", ".join(names) or "none by much"
