"""What makes two copies of one build differ: the trade's order, beside what the solver says of each."""

import pandas as pd

from .. import facts
from .finer import remade, tolerance, worst_dbd, wrong_balun
from .gain import joint_cost
from .screens import SCREENS

SMALLER = 0.9
"""How much smaller a screen is cut, each way, to see what that changes."""

NOT_COMPUTED = "not computed"


def copies_differ(build):
    """What makes copies of a build differ, most first: DataFrame of cause, what, computed.

    The order is common practice, without a source, millimetres last; ``computed`` says in words what
    the solver finds of it on the worst channel.
    Parameters: ``build``, not before an infinite sheet.

    >>> from . import half_wave_dipole
    >>> copies_differ(half_wave_dipole(539)).cause.tolist()[::6]
    ['joint and balun', 'millimetres']
    """
    rows = facts.table("workshop")
    rows = rows[rows["what"] == "copies"]
    table = tolerance(build).set_index("change")["difference_db"]
    behind = table[[change for change in table.index if change.startswith("behind_mm")]]
    sizes = table[[change for change in table.index if not change.startswith("behind_mm")]]
    error = facts.value("builds", "size_error_mm")
    known = {
        "joint and balun": _joint_words(build),
        "distance to the screen": _worst(behind, f"{error:g} mm", "no screen"),
        "screen size": _smaller_words(build),
        "millimetres": _worst(
            sizes, f"{error:g} mm on the size that matters most, or all bent", ""
        ),
    }
    computed = [known.get(cause, NOT_COMPUTED) for cause in rows["part"]]
    return pd.DataFrame(
        {"cause": rows["part"], "what": rows["step"], "computed": computed}
    ).reset_index(drop=True)


def _joint_words(build):
    lead = max(joint_cost(build, pigtails_mm=(50.0,)).iloc[:, 1].max(), 0.0)
    other = wrong_balun(build).query("balun != @build.balun")["cost_db"].max()
    words = f"50 mm of lead: up to {-lead:+.1f} dB"
    return words + (f"; the wrong balun: {-other:+.1f} dB" if other > 0 else "")


def _worst(differences, by, none):
    return f"{by}: {differences.min():+.1f} dB" if len(differences) else none


def _smaller_words(build):
    """What a screen cut a tenth smaller costs."""
    if build.screen is None:
        return "no screen"
    cut = {
        key: value * SMALLER if key in ("width_mm", "height_mm", "side_mm") else value
        for key, value in build.screen.sizes.items()
    }
    screen = SCREENS[build.screen.kind](**cut)
    smaller = remade(build).with_screen(screen, build.screen.behind_mm)
    return f"a tenth smaller each way: {worst_dbd(smaller) - worst_dbd(build):+.1f} dB"
