"""What readings bring, and do 90 % intervals still hold the truth after them? A thousand invented roofs.

    python tests/bench/calibrate_inform.py               1000 roofs of each kind, about half an hour
    python tests/bench/calibrate_inform.py --roofs 100   a quick look; the table is printed, not recorded
    python tests/bench/calibrate_inform.py --choices 200   does the choice of antenna change? Lesson 07

Every roof has a ladder of its own and takes its readings with one antenna at one heading, each the
one that survey.next_reading proposes, or for comparison the strongest left, or any. Judged is every
station through that antenna on the mast: squared error within 12 dB of the edge and of all stations,
and the Brier score of all stations, as ratios of after to before. Standard errors are over roofs,
since the stations of a roof share its luck. Each row of 1000 roofs or more is recorded in
tests/bench/calibration_inform.csv; what the choices come to is written to the facts table
``simulated_choices``, which lesson 07 quotes.
"""

import argparse
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
import pandas as pd

from signalshed import facts, simulate, survey

RECORD = Path(__file__).with_name("calibration_inform.csv")
CHOICES = Path(facts.__file__).with_name("simulated_choices.csv")
ANTENNA = "two-band Yagi"
PROPOSED = survey.next_reading


def unread(site, setup, readings):
    """Channels still to be read, with what the forecast spares them, dB."""
    margin = survey.reception(site, setup).margin_db
    left = ~site.stations["rf_channel"].isin(readings["rf_channel"]) & np.isfinite(margin)
    return pd.Series(margin, site.stations["rf_channel"])[left.to_numpy()]


def strongest_first(site, setup, readings):
    """What most people would read: the strongest that is left, without a pad."""
    margin = unread(site, setup, readings)
    asked = PROPOSED(site, setup, readings)
    return asked and replace(asked, rf_channel=margin.idxmax(), pad_db=0.0)


def at_random(site, setup, readings):
    """Any channel that is left, with the pad that would be proposed for it."""
    rng = np.random.default_rng([len(readings), round(1e6 * abs(site.place.latitude_deg))])
    left = unread(site, setup, readings).index.unique()
    if not len(left):
        return None
    chosen = rng.choice(left)
    others = set(site.stations["rf_channel"]) - {chosen}
    return PROPOSED(site, setup, pd.DataFrame({"rf_channel": sorted(others)}))


KINDS = {
    "six readings on the mast": {"count": 6},
    "twelve readings on the mast": {"count": 12},
    "six readings in the attic": {"count": 6, "mount": "attic"},
    "six on the mast, the strongest first": {"count": 6, "rule": strongest_first},
    "twelve on the mast, at random": {"count": 12, "rule": at_random},
    "twelve on the mast, patterns as drawn": {"count": 12, "pattern_doubt": 0.0},
}
"""The last leaves out a doubt of the forecast that invented roofs do not deserve: their antennas have
off the aim exactly the pattern that is drawn, real ones do not.
"""


def doubting(share):
    """facts.value with another ``off_aim_share``, None for the usual one."""
    usual = facts.value

    def value(table, name):
        return share if name == "off_aim_share" and share is not None else usual(table, name)

    return mock.patch.object(facts, "value", value)


def judged(seed, rule=PROPOSED, pattern_doubt=None, **kind):
    """One roof: forecasts on the mast before and after, against the truth."""
    with mock.patch.object(survey, "next_reading", rule), doubting(pattern_doubt):
        roof = simulate.taught_roof(seed, antenna=ANTENNA, **kind)
    setup, _ = survey.aimed(roof.before, survey.Setup(ANTENNA, "roof mast"))
    return roof.judged(setup)


def ratio_error(before, after):
    """Standard error of sum(after) / sum(before), one entry per roof."""
    ratio = after.sum() / before.sum()
    return np.std(after - ratio * before, ddof=1) * np.sqrt(after.size) / before.sum()


def squares(tables, when):
    """Sum of squared errors near the edge, one number per roof."""
    near = [t[t["true_db"].abs() <= simulate.NEAR_DB] for t in tables]
    return np.array([((t[f"margin_db_{when}"] - t["true_db"]) ** 2).sum() for t in near])


def held(table, when):
    """Share of one roof's 90 % intervals that hold the truth."""
    off = (table[f"margin_db_{when}"] - table["true_db"]).abs()
    return (off <= 1.6449 * table[f"spread_db_{when}"]).mean()


def calibrate(name, count):
    """One row of the table."""
    tables = [judged(seed, **KINDS[name]) for seed in range(20_000, 20_000 + count)]
    tables = [t for t in tables if len(t)]
    near, everywhere = simulate.brought(tables), simulate.brought(tables, within_db=np.inf)
    shares = np.array([held(t, "after") for t in tables])
    row = {
        "kind": name,
        "roofs": count,
        "held_before": near["held_before"].round(3),
        "held_after": near["held_after"].round(3),
        "held_error": round(shares.std() / np.sqrt(shares.size), 4),
        "near_ratio": near["squared_error_ratio"].round(3),
        "near_error": round(ratio_error(squares(tables, "before"), squares(tables, "after")), 3),
        "claimed_ratio": near["variance_ratio"].round(3),
        "all_ratio": everywhere["squared_error_ratio"].round(3),
        "brier_before": near["brier_before"].round(4),
        "brier_ratio": near["brier_ratio"].round(3),
    }
    print(",".join(map(str, row.values())), flush=True)
    return row


def record(row):
    """The row in the recorded table, in place of the last one of its kind, in the order of kinds."""
    table = pd.read_csv(RECORD) if RECORD.exists() else pd.DataFrame(columns=list(row))
    kept = table[table["kind"] != row["kind"]].to_dict("records")
    rows = sorted([*kept, row], key=lambda r: list(KINDS).index(r["kind"]))
    pd.DataFrame(rows).to_csv(RECORD, index=False)


def choices(table):
    """The facts table of choices: what was known, and what the antenna chosen then came to.

    ``saved`` stations fewer lost than from the lists alone, and its standard error over roofs.
    """
    alone = table[table["known"] == "the lists alone"].set_index("roof")
    table["saved"] = table["roof"].map(alone["lost"]) - table["lost"]
    table["changed"] = table["antenna"] != table["roof"].map(alone["antenna"])
    groups = table.groupby("known", sort=False)
    means = groups[["square_db", "brier", "received", "lost", "changed", "saved"]].mean()
    means.insert(0, "error_db", np.sqrt(means.pop("square_db")))
    roofs = table["roof"].nunique()
    means["saved_error"] = groups["saved"].std() / np.sqrt(roofs)
    means = means.astype(float).round(4).reset_index()
    means.insert(1, "roofs", roofs)
    source = "simulated by tests/bench/calibrate_inform.py --choices"
    return means.assign(source=source, status="derived")


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--roofs", type=int, default=1000)
    options.add_argument("--only", default="", help="kinds whose name holds this text")
    options.add_argument(
        "--choices", type=int, default=0, help="roofs on which antennas are chosen"
    )
    asked = options.parse_args()
    if asked.choices:
        typed_db = facts.value("judgement", "antenna_typed_sd_db")
        table = simulate.choices(range(asked.choices), gain_sd_db=typed_db)
        choices(table).to_csv(CHOICES, index=False)
        return
    for name in KINDS:
        if asked.only in name:
            row = calibrate(name, asked.roofs)
            if asked.roofs >= 1000:
                record(row)


if __name__ == "__main__":
    main()
