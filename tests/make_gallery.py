"""Write the facts table ``gallery``: the builds of lesson 04, their start sizes improved by the solver.

    python tests/make_gallery.py

Each is drawn at its start sizes for 470 to 608 MHz and handed to builds.tune, all its sizes and the
distance to its screen together. A minute or two. After a change to the forms, to tuning or to the
solver, run it, look at what changed, and refresh lesson 04.
"""

import json
from pathlib import Path

import pandas as pd

from signalshed import builds

TABLE = Path(__file__).resolve().parents[1] / "lib" / "signalshed" / "facts" / "gallery.csv"
BAND_MHZ = (470, 608)
MESH = builds.mesh_screen(500, 500)
STARTS = {
    "half-wave dipole": builds.half_wave_dipole(BAND_MHZ),
    "folded dipole": builds.folded_dipole(BAND_MHZ),
    "wire loop": builds.loop(BAND_MHZ),
    "bow-tie": builds.bow_tie(BAND_MHZ),
    "wire loop before mesh": builds.loop(BAND_MHZ, screen=MESH),
    "bow-tie before mesh": builds.bow_tie(BAND_MHZ, screen=MESH),
    "biquad before mesh": builds.biquad(BAND_MHZ, screen=MESH),
    "bow-tie in a corner": builds.bow_tie(BAND_MHZ, screen=builds.corner_screen(400, 400, 6)),
    "two bow-tie bays before mesh": builds.bays(BAND_MHZ, screen=builds.mesh_screen(500, 700)),
    "two loops side by side before mesh": builds.two_loops(
        BAND_MHZ, arrangement="side by side", screen=builds.mesh_screen(900, 450)
    ),
    "Yagi on a boom of 0.8 wavelengths": builds.yagi(BAND_MHZ),
}
TUNED = "start sizes improved by builds.tune for 470 to 608 MHz"


def row(name, build):
    """One row of the table for a ``build`` called ``name``."""
    return {
        "name": name,
        "form": build.form,
        "sizes": json.dumps(build.sizes | _legs(build)),
        "screen": json.dumps(_screen(build)),
        "source": TUNED,
        "status": "derived",
    }


def _legs(build):
    return {"leg_mm": round(build.lines_mm[0])} if build.lines else {}


def _screen(build):
    if build.screen is None:
        return {}
    cut = {"form": build.screen.kind, **build.screen.sizes}
    return {**cut, "behind_mm": build.screen.behind_mm}


def table(starts=None):
    """The whole table, tuned afresh from ``starts`` (None: those of the gallery)."""
    rows = [row(name, builds.tune(start)) for name, start in (starts or STARTS).items()]
    return pd.DataFrame(rows)


if __name__ == "__main__":
    TABLE.write_text(table().to_csv(index=False, lineterminator="\n"), encoding="utf-8")
