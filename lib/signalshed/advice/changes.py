"""What one change would help most: each tried in turn, and the survey done again."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import chain, survey
from ..site import Mount

HIGHER_M = 4.0
MAST_AMPLIFIER = chain.amplifier("mast amplifier", 16.0, 2.0)
"""The amplifier tried: 16 dB, noise figure 2 dB, the usual worked case."""


def changes(site, setup):
    """What one change would bring, best first.

    Tried, where it applies: higher, outdoors, no cable loss, an amplifier at the mast, a rotator, a
    second antenna of the same kind on its own line, the other side of the house. The antenna is aimed
    anew after each. Columns: change, expected (wanted stations received on average), more (over the
    setup as it is), helps (the stations whose chance rises most).
    Parameters: ``site`` a Site; ``setup`` a survey.Setup, aimed or not.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> changes(site, survey.Setup(next(iter(site.antennas)), "roof mast")).columns.tolist()
    ['change', 'expected', 'more', 'helps']
    """
    now, _ = survey.aimed(site, setup)
    wanted = site.stations["wanted"].to_numpy(bool)
    before = survey.reception(site, now).chance
    rows = []
    for name, changed in _tries(site, now):
        after = survey.reception(site, survey.aimed(site, changed)[0]).chance
        rows.append((name, after))
    if site.mount(now.mount).aim == "fixed":
        rows.append(("a second antenna on its own line", _with_second(site, now, before, wanted)))
    table = pd.DataFrame(
        {
            "change": [name for name, _ in rows],
            "expected": [after[wanted].sum() for _, after in rows],
            "more": [(after - before)[wanted].sum() for _, after in rows],
            "helps": [_helped(site, before, after, wanted) for _, after in rows],
        }
    )
    return table.sort_values("more", ascending=False, ignore_index=True)


def _tries(site, setup):
    """Pairs of a change in words and the setup after it."""
    antenna, mount, feed = survey.parts_of(site, setup)

    def moved(**changes):
        return survey.Setup(antenna, replace(mount, **changes), feed, setup.heading_deg)

    def rewired(parts):
        return survey.Setup(antenna, mount, chain.Feed("changed", parts), setup.heading_deg)

    if mount.kind in ("mast", "roof", "balcony"):
        yield f"{HIGHER_M:g} m higher", moved(height_agl_m=mount.height_agl_m + HIGHER_M)
    if mount.kind in ("attic", "room", "window"):
        # Under another name: what readings taught of these walls does not hold outdoors.
        bare = {"name": f"outside of {mount.name}", "extra_loss_db": 0.0, "extra_sd_db": 0.0}
        yield "outdoors, same height", moved(kind="mast", **bare)
    if mount.trees_m > 0:
        yield "clear of the trees", moved(trees_m=0.0)
    if _sees_part(mount):
        yield "on the other side of the house", moved(**_other_side(mount))
    if mount.aim == "fixed":
        yield "a rotator", moved(aim="rotator")
    cables = [k for k, part in enumerate(feed.parts) if part.is_cable]
    if cables:
        rest = tuple(part for part in feed.parts if not part.is_cable)
        yield "no cable at all (the most a shorter or thicker one can bring)", rewired(rest)
    active = [k for k, part in enumerate(feed.parts) if not part.is_passive]
    if not active:
        yield "an amplifier at the mast", rewired((MAST_AMPLIFIER, *feed.parts))
    elif cables and cables[0] < active[0]:
        yield "the amplifier at the mast, not at the TV", rewired(_at_the_mast(feed.parts))


def _at_the_mast(parts):
    """The parts with their first amplifier moved before the first cable."""
    first = next(k for k, part in enumerate(parts) if not part.is_passive)
    rest = parts[:first] + parts[first + 1 :]
    cable = next(k for k, part in enumerate(rest) if part.is_cable)
    return (*rest[:cable], parts[first], *rest[cable:])


def _sees_part(mount: Mount):
    return (mount.open_to_deg - mount.open_from_deg) % 360 != 0


def _other_side(mount):
    return {
        "open_from_deg": (mount.open_from_deg + 180) % 360,
        "open_to_deg": (mount.open_to_deg + 180) % 360,
    }


def _with_second(site, setup, before, wanted):
    """Chances with a second antenna of the same kind at the heading that adds most to the first."""
    chance = survey.grid(site, [setup]).chance[0]
    joint = np.maximum(chance, before)
    return joint[int(joint[:, wanted].sum(axis=1).argmax())]


def _helped(site, before, after, wanted, most=3):
    """Names of the stations whose chance rises most, by a tenth or more."""
    rise = np.where(wanted, after - before, 0.0)
    order = np.argsort(-rise)[:most]
    names = [site.stations["station"].iloc[i] for i in order if rise[i] >= 0.1]
    return ", ".join(names) or "none by much"
