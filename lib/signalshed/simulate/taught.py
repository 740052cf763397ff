"""What readings bring on invented roofs, where the truth is known: one roof, or many on average."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .. import advice, meters, survey
from ..units import SDS_TO_90
from .logbook import ladder, readings
from .town import invented_site
from .truths import Truth, truth_of

NEAR_DB = 12.0
"""Stations within this many dB of the edge are those whose forecast matters."""

METERS = {"quality": meters.meter("C/N quality")}
_MAST = "roof mast"


@dataclass(frozen=True, eq=False)
class Taught:
    """One invented roof before and after readings: Sites ``before`` and ``after``, and its ``truth``."""

    before: object
    after: object
    truth: Truth

    def judged(self, setup):
        """Forecasts of one setup against the truth: a DataFrame, a row per station.

        Stations that the antenna or the set cannot have are left out. Columns: true_db, received, and
        margin_db, spread_db, chance, each with _before and _after.
        Parameters: ``setup`` a survey.Setup with a heading.

        >>> roof = taught_roof(1, count=1)
        >>> setup = survey.Setup("two-band Yagi", "roof mast", heading_deg=40.0)
        >>> bool(roof.judged(setup)["chance_after"].between(0, 1).all())
        True
        """
        columns = {"true_db": self.truth.margin_db(setup), "received": self.truth.locks(setup)}
        for when, site in (("before", self.before), ("after", self.after)):
            received = survey.reception(site, setup)
            for name in ("margin_db", "spread_db", "chance"):
                columns[f"{name}_{when}"] = getattr(received, name)
        return pd.DataFrame(columns).dropna()


def taught_roof(seed, count=6, mount=_MAST, antenna="two-band Yagi", stations=14):
    """An invented roof whose owner made a ladder and took the readings proposed: a Taught.

    The antenna is aimed where it brings most and stays so. Parameters: ``seed`` a whole number;
    ``count`` readings at most; ``mount`` where they are taken, roof mast or attic; ``antenna`` by name;
    ``stations`` in the list.

    >>> taught_roof(1, count=2).after.belief.observations.station.size
    2
    """
    truth = truth_of(invented_site(seed, stations), 5000 + seed)
    setup, _ = survey.aimed(truth.site, survey.Setup(antenna, mount))
    site = with_ladder(truth, setup)
    return Taught(site, with_readings(truth, site, setup, count), truth)


def with_ladder(truth, setup):
    """The site with a ladder as lesson 03 asks for it: a UHF station, pads until the picture breaks.

    Parameters: ``truth`` a Truth; ``setup`` a survey.Setup with a heading.

    >>> truth = truth_of(invented_site(1), 1)
    >>> with_ladder(truth, survey.Setup("long Yagi", "roof mast", heading_deg=38.0)).ladder.shape
    (13, 7)
    """
    spare = truth.margin_db(setup)
    is_uhf = (truth.site.stations["freq_mhz"] > 400).to_numpy() & np.isfinite(spare)
    spare = np.where(is_uhf if is_uhf.any() else np.isfinite(spare), spare, -np.inf)
    channel = truth.site.stations["rf_channel"].iloc[int(spare.argmax())]
    pads = np.maximum(spare.max().round() + np.arange(-30, 9, 3.0), 0)
    return replace(truth.site, ladder=ladder(truth, setup, channel, pads, METERS))


def with_readings(truth, site, setup, count):
    """``site`` informed by ``count`` readings, each the one that survey.next_reading proposes.

    Parameters: ``truth`` a Truth; ``site`` as its owner knows it; ``setup`` a survey.Setup with a
    heading, for all readings; ``count`` at most.

    >>> truth = truth_of(invented_site(1), 1)
    >>> setup = survey.Setup("long Yagi", "roof mast", heading_deg=38.0)
    >>> len(with_readings(truth, truth.site, setup, 2).readings)
    2
    """
    now, taken = site, site.readings
    for k in range(int(count)):
        following = survey.next_reading(now, setup, taken)
        if following is None:
            break
        plan = pd.DataFrame([_row(site, setup, following, k)])
        read = readings(truth, plan, METERS, seed=100 * truth.seed + k)
        taken = read if taken.empty else pd.concat([taken, read], ignore_index=True)
        now = survey.inform(site, taken)
    return replace(now, readings=taken)


def _row(site, setup, following, k):
    return {
        "time": f"2031-05-01T20:{k:02d}:00+00:00",
        "mount": setup.mount,
        "antenna": setup.antenna,
        "meter": site.tuner.name,
        "scale": "quality",
        "rf_channel": following.rf_channel,
        "heading_deg": setup.heading_deg,
        "pad_db": following.pad_db,
    }


def brought(tables, within_db=NEAR_DB):
    """What readings brought, over stations of one or more roofs: a Series of numbers.

    ``squared_error`` of stations near the edge and ``brier`` of all, each _before, _after and _ratio;
    ``held_before`` and ``held_after``: the share of 90 % intervals that hold the truth;
    ``variance_ratio``: of the squared spreads near the edge, what the forecast itself claims.
    Parameters: ``tables`` a sequence of Taught.judged; ``within_db`` of the edge is near.

    >>> setup = survey.Setup("two-band Yagi", "roof mast", heading_deg=40.0)
    >>> bool(brought([taught_roof(1, count=2).judged(setup)])["squared_error_ratio"] > 0)
    True
    """
    table = pd.concat(tables, ignore_index=True)
    near = table[table["true_db"].abs() <= within_db]
    found = {}
    for when in ("before", "after"):
        off = (table[f"margin_db_{when}"] - table["true_db"]).abs()
        found[f"held_{when}"] = (off <= SDS_TO_90 * table[f"spread_db_{when}"]).mean()
        found[f"squared_error_{when}"] = (off[near.index] ** 2).mean()
        found[f"brier_{when}"] = ((table[f"chance_{when}"] - table["received"]) ** 2).mean()
    for what in ("squared_error", "brier"):
        found[f"{what}_ratio"] = found[f"{what}_after"] / found[f"{what}_before"]
    spreads = [(near[f"spread_db_{when}"] ** 2).mean() for when in ("after", "before")]
    return pd.Series(found | {"variance_ratio": spreads[0] / spreads[1]})


# ---- does the choice of antenna change? ----------------------------------------------------------


def choices(sites, count=6, gain_sd_db=None):
    """An antenna for the mast chosen knowing more and more, on invented roofs: a DataFrame.

    For each roof it is chosen four times: from the lists alone; after ``count`` readings, each the one
    that survey.next_reading proposes, made with the antenna chosen first; with gains measured within
    1 dB in a gain trial; with both. One row per roof and choice: roof, known, square_db (mean squared
    error of the spare dB over all antennas, stations within 12 dB of the edge), brier (of their
    chances), antenna, received (in truth, by the antenna chosen), lost (against the best that this
    roof holds).
    Parameters: ``sites`` seeds; ``count`` readings, 0 or more; ``gain_sd_db`` how surely the lists
    tell the gain of every antenna (a label: 3 dB), None for as surely as each antenna's own source.

    >>> choices([1], count=1)["known"].tolist()
    ['the lists alone', 'and readings', 'and a gain trial', 'and both']
    """
    rows = [row for seed in sites for row in _chosen_four_times(int(seed), int(count), gain_sd_db)]
    columns = ["roof", "known", "square_db", "brier", "antenna", "received", "lost"]
    return pd.DataFrame(rows, columns=columns)


def _chosen_four_times(seed, count, gain_sd_db):
    site = invented_site(seed, stations=14)
    if gain_sd_db is not None:
        known = {k: replace(a, spread_db=gain_sd_db) for k, a in site.antennas.items()}
        site = replace(site, antennas=known)
    truth = truth_of(site, 5000 + seed)
    plain = with_ladder(truth, _chosen(truth.site))
    measured = replace(plain, antennas=_measured(truth, seed))
    most = _most(truth)
    asked = [(setup, truth.margin_db(setup), truth.locks(setup)) for setup in _aimed(plain)]
    for name, site, taken in (
        ("the lists alone", plain, 0),
        ("and readings", plain, count),
        ("and a gain trial", measured, 0),
        ("and both", measured, count),
    ):
        wise = with_readings(truth, site, _chosen(site), taken)
        chosen = _chosen(wise)
        received = int(truth.locks(chosen)[_wanted(plain)].sum())
        yield (seed, name, *_errors(wise, asked), chosen.antenna, received, most - received)


def _wanted(site):
    return site.stations["wanted"].to_numpy(bool)


def _mast_setups(site):
    return [s for s in advice.possible_setups(site) if s.mount == _MAST]


def _aimed(site):
    """Every antenna on the mast at its best heading."""
    return [survey.aimed(site, setup)[0] for setup in _mast_setups(site)]


def _chosen(site):
    """The antenna on the mast that is expected to bring most, aimed."""
    aimed = [survey.aimed(site, setup) for setup in _mast_setups(site)]
    return max(aimed, key=lambda pair: pair[1].expected)[0]


def _most(truth):
    """Most wanted stations that any antenna on the mast receives in truth, at its best heading."""
    headings = np.arange(0.0, 360.0, 10.0)
    setups = [survey.Setup(s.antenna, s.mount) for s in _mast_setups(truth.site)]
    grid = survey.grid(truth.site, setups, headings)
    gains = np.array([truth.antenna_db[setup.antenna] for setup in setups])[:, None, None]
    margin = grid.margin_db + truth.path_db + gains + truth.mount_db[_MAST]
    locks = np.nan_to_num(margin, nan=-np.inf) > grid.fade_db
    return int(locks[..., _wanted(truth.site)].sum(axis=2).max())


def _measured(truth, seed):
    """The antennas with their true gains, found within 1 dB as a gain trial would."""
    rng = np.random.default_rng(seed)
    return {
        name: replace(
            antenna,
            gain_dbd_table=antenna.gain_dbd_table + truth.antenna_db[name] + rng.standard_normal(),
            spread_db=1.0,
            source="trial",
        )
        for name, antenna in truth.site.antennas.items()
    }


def _errors(site, asked):
    """Mean squared error of the spare dB near the edge, and of the chances, over setups.

    ``asked`` holds (setup, its true spare dB, which stations it receives).
    """
    wanted, squares, errors = _wanted(site), [], []
    for setup, true, came in asked:
        received = survey.reception(site, setup)
        near = wanted & (np.abs(np.nan_to_num(true, nan=np.inf)) < NEAR_DB)
        squares.append((received.margin_db - true)[near] ** 2)
        errors.append((received.chance - came)[wanted] ** 2)
    joined = np.concatenate(squares)
    return joined.mean() if joined.size else np.nan, np.concatenate(errors).mean()
