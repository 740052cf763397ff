"""The club's log: one number a maker and band, joined to what a copy of that antenna does.

Evenings of one maker are joined first, since they share hands, wire and house. Makers are then joined
as a random sample of those who could have built it: tau is what copies differ by beyond their own
trials. The interval of the mean has the small-sample correction of Hartung and Knapp (2001). The
interval for the next copy averages over tau, with a prior that is said, since three makers alone hardly
tell a spread.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import optimize, stats

from ..belief.normals import quantiles
from ..meters.ladder import numbers
from ..units import SDS_TO_90, check_type
from ..words import counted, listed, signed
from .comparison import Comparison
from .logged import note
from .model import prior

SAME = ("antenna", "revision", "reference", "band")
DETAILS = ("balun", "lead_mm", "screen", "age")
COLUMNS = (
    "maker", "house", "date", "antenna", "revision", *DETAILS, "reference", "band", "difference_db",
    "sd_db", "readings",
)  # fmt: skip
FEWEST = 3
TAU_DB = np.linspace(0.0, 12.0, 241)
"""The spreads between copies that are weighed."""


@dataclass(frozen=True, eq=False)
class Pooled:
    """What a club's trials of one build say together.

    ``table`` one row an antenna, revision, reference and band: makers, difference_db, low_db, high_db
    (90 % interval of the mean), tau_db with tau_low_db and tau_high_db (what copies differ by, one sd),
    next_low_db and next_high_db (90 % interval of the next copy, NaN with fewer than three makers),
    says; ``makers``
    one row a maker of each, evenings joined: difference_db, sd_db, evenings, and what was noted;
    ``differ`` what was built differently: column, kind, makers, difference_db; ``prior_db`` of tau;
    ``notes`` sentences on rows left out, and on the prior.
    """

    table: pd.DataFrame
    makers: pd.DataFrame
    differ: pd.DataFrame
    prior_db: float
    notes: tuple


def club_rows(comparison: Comparison, maker: str, **details: object) -> pd.DataFrame:
    """What a trial hands to the club: one row an antenna and band, in the columns ``pooled`` takes.

    Of the declared question of a trial that might stop early the sd is that of the repeated interval.

    Parameters
    ----------
    comparison
    maker
        A name.
    details
        Any of house, date, revision, balun, lead_mm, screen, age, reference (the baseline's name
        without one).

    Returns
    -------
    DataFrame

    Raises
    ------
    ValueError
        For details of another name.

    Examples
    --------
    >>> import pandas as pd
    >>> from signalshed.meters import MeterCurve
    >>> from signalshed.trials import study
    >>> log = pd.DataFrame({"antenna": ["dipole", "loop"] * 4, "rf_channel": "20", "locked": True,
    ...                     "reading": [20.1, 23, 19.8, 23.3, 20, 22.9, 20.2, 23.2], "scale": "cn_db"})
    >>> rows = club_rows(study(log, "dipole", MeterCurve.exact("cn_db", 15.2)), "Ines", balun="ferrite")
    >>> rows[["maker", "antenna", "band", "readings"]].values.tolist()
    [['Ines', 'loop', 'UHF', 4]]
    """
    strange = set(details) - set(COLUMNS)
    if strange:
        raise ValueError(f"details are {', '.join(COLUMNS)}; {min(strange)!r} is none of them.")
    bands = comparison.bands
    count = comparison.table.groupby(["antenna", "band"])["readings"].sum()
    rows = pd.DataFrame({
        "maker": maker,
        "antenna": bands["antenna"],
        "reference": comparison.baseline,
        "band": bands["band"],
        "difference_db": bands["difference_db"].round(2),
        "sd_db": ((bands["high_db"] - bands["low_db"]) / 2 / SDS_TO_90).round(2),
        "readings": [int(count[key]) for key in zip(bands["antenna"], bands["band"], strict=True)],
    }).assign(**details)  # fmt: skip
    rows = rows[rows["readings"] > 0]
    return rows.reindex(columns=[c for c in COLUMNS if c in rows]).reset_index(drop=True)


def pooled(results: pd.DataFrame) -> Pooled:
    """Trials of many makers joined.

    Only rows of the same antenna, revision, reference and band are joined.

    Parameters
    ----------
    results
        One row a trial's antenna and band, with maker, antenna, band, difference_db and sd_db (one
        standard deviation), and if known house, date, revision, balun, lead_mm, screen, age, reference,
        readings.

    Returns
    -------
    Pooled
        Rows that cannot be used are left out and named in its ``notes``.

    Raises
    ------
    ValueError
        When no row is left.

    Examples
    --------
    >>> log = pd.DataFrame({"maker": ["Ines", "Olu", "Mia", "Mia"], "antenna": "loop", "band": "UHF",
    ...     "difference_db": [2.0, 3.5, 1.0, 1.4], "sd_db": [0.6, 0.5, 0.6, 0.6]})
    >>> row = pooled(log).table.iloc[0]
    >>> int(row.makers), round(float(row.difference_db), 1)
    (3, 2.2)
    """
    notes = []
    usable = _usable(results, notes)
    makers = pd.concat(
        [_maker(key, part) for key, part in usable.groupby([*SAME, "maker"], sort=False)]
    )
    makers = makers.reset_index(drop=True)
    groups = list(makers.groupby(list(SAME), sort=False))
    table = pd.DataFrame(
        [{**dict(zip(SAME, key, strict=True)), **_joined(part)} for key, part in groups]
    )
    if len(groups) > len(makers["antenna"].unique()):
        notes.append(
            "Another revision, reference or band is another question: they are not joined."
        )
    scale = prior("copies_prior_db")
    notes.append(
        f"What copies differ by is thought, before any is tried, to be some {scale:g} dB (half a normal "
        f"bell of that sd); with few makers the interval of the next copy leans on it."
    )
    differ = pd.concat([_differ(key, part) for key, part in groups], ignore_index=True)
    return Pooled(table, makers, differ, scale, tuple(notes))


def _usable(results, notes):
    """Rows with a maker, an antenna, a band, a difference and its sd; what is missing beside filled."""
    check_type("results", results, pd.DataFrame, "a DataFrame, one row a trial's antenna and band")
    results = results.rename(columns=lambda c: str(c).strip().lower().replace(" ", "_"))
    missing = {"maker", "antenna", "band", "difference_db", "sd_db"} - set(results)
    if missing:
        raise ValueError(f"results has no column {', '.join(sorted(missing))}; it is needed.")
    table = results.reset_index(drop=True)
    table = table.assign(row=np.arange(1, len(table) + 1))
    for name in ("maker", *SAME):
        given = table[name] if name in table else pd.Series("", table.index)
        table[name] = _spelled(given.fillna("").astype(str).str.strip().str.removesuffix(".0"))
    for name in ("difference_db", "sd_db"):
        text = table[name].astype(str).str.replace("\N{MINUS SIGN}", "-").str.replace(",", ".")
        text = text.str.strip().str.replace(r"\s*dB$", "", regex=True, case=False)
        table[name] = numbers(text)
    bad = (table[["maker", "antenna", "band"]] == "").any(axis=1)
    note(notes, table[bad], "no maker, antenna or band")
    odd = ~bad & ~(
        table["difference_db"].abs().le(60) & table["sd_db"].gt(0) & table["sd_db"].le(30)
    )
    note(notes, table[odd], "difference_db or sd_db is no number in dB (sd above 0)")
    table = table[~bad & ~odd]
    if table.empty:
        raise ValueError("No row could be used. " + " ".join(notes))
    return table


def _spelled(names):
    """Names that differ only in capitals or blanks, all as the first of them was written."""
    key = names.str.casefold().str.split().str.join(" ")
    return names.groupby(key).transform("first")


def _maker(key, part):
    """The evenings of one maker as one row, wider where they disagree by more than their sds."""
    mean, total, off = _weighted(part["difference_db"].to_numpy(), part["sd_db"].to_numpy() ** 2)
    row = dict(zip((*SAME, "maker"), key, strict=True))
    row |= {c: part[c].iloc[-1] for c in ("house", *DETAILS) if c in part}
    sd = np.sqrt(max(1.0, off / max(len(part) - 1, 1)) / total)
    return pd.DataFrame([row | {"difference_db": mean, "sd_db": sd, "evenings": len(part)}])


def _weighted(value, variance):
    """Mean by weights 1 / ``variance`` along the last axis, their sum, weighted square about it."""
    weight = 1 / variance
    total = weight.sum(axis=-1)
    mean = (weight * value).sum(axis=-1) / total
    return mean, total, (weight * (value - mean[..., None]) ** 2).sum(axis=-1)


def tau_squared(value, sd):
    """Variance between makers by the method of Paule and Mandel (1982), 0 where nothing calls for any.

    Parameters: ``value`` (n,) dB, n at least 2; ``sd`` (n,) of each.

    >>> round(float(tau_squared(np.array([1.0, 3.0]), np.array([0.5, 0.5]))), 2)
    1.75
    """

    def excess(square):
        return _weighted(value, sd**2 + square)[2] - (len(value) - 1)

    if excess(0.0) <= 0:
        return 0.0
    return optimize.brentq(excess, 0.0, 10 * np.ptp(value) ** 2 + 1.0, xtol=1e-10)


def mean_of(value, sd, confidence=0.9):
    """Mean of random effects and the ends of its interval, Hartung and Knapp's, by Student's t.

    Parameters: ``value`` (n,) dB and ``sd`` (n,), n at least 2; ``confidence`` of the interval. The
    interval is never narrower than the one of independent makers. Returns mean, low, high.

    >>> ends = mean_of(np.array([1.0, 3.0, 2.0]), np.array([0.5, 0.5, 0.5]))
    >>> [round(float(x), 2) for x in ends]
    [2.0, 0.31, 3.69]
    """
    mean, total, off = _weighted(value, sd**2 + tau_squared(value, sd))
    square, free = off / (len(value) - 1), len(value) - 1
    half = stats.t.ppf((1 + confidence) / 2, free) * np.sqrt(max(square, 1.0) / total)
    return mean, mean - half, mean + half


def _joined(part):
    """One row of the table from the makers of one antenna, revision, reference and band."""
    value, sd = part["difference_db"].to_numpy(float), part["sd_db"].to_numpy(float)
    taus, following = (np.nan,) * 3, (np.nan,) * 2
    if len(part) == 1:
        ends = value[0], value[0] - SDS_TO_90 * sd[0], value[0] + SDS_TO_90 * sd[0]
    else:
        ends = mean_of(value, sd)
        chance, means, variances = _by_tau(value, sd)
        taus = np.interp([0.5, 0.05, 0.95], np.cumsum(chance), TAU_DB)
    if len(part) >= FEWEST:
        following = _next_copy(chance, means, variances)
    row = dict(zip(_NUMBERS, (*ends, *taus, *following), strict=True))
    return {"makers": len(part), "confidence": 0.9} | row | {"says": _says(part, row)}


_NUMBERS = tuple(
    f"{name}_db"
    for name in ("difference", "low", "high", "tau", "tau_low", "tau_high", "next_low", "next_high")
)


def _next_copy(chance, means, variances):
    """Ends of the 90 % interval of a copy not yet built: a mixture of normals over tau."""
    spread = np.sqrt(variances + TAU_DB**2)
    return tuple(map(float, quantiles(means, spread, (0.05, 0.95), weight=chance, rounds=40)))


def _by_tau(value, sd):
    """Chance of each tau, and mean and variance of the mean given it: (k,) three times."""
    variance = sd**2 + TAU_DB[:, None] ** 2
    mean, total, off = _weighted(value, variance)
    log = 0.5 * (np.log(1 / variance).sum(axis=1) - np.log(total) - off)
    log = log - 0.5 * (TAU_DB / prior("copies_prior_db")) ** 2
    chance = np.exp(log - log.max())
    return chance / chance.sum(), mean, 1 / total


def _says(part, row):
    if len(part) < FEWEST:
        return f"{counted(len(part), 'maker')}: what the next copy will do is told from three on"
    low, high = (signed(row[f"next_{end}_db"], 1) for end in ("low", "high"))
    return f"the next copy: {low} to {high} dB on 9 of 10"


def _differ(key, part):
    """What was built differently, kind by kind: makers and their mean; why is not told by that."""
    rows = []
    for column in DETAILS:
        if column not in part:
            continue
        noted = part[part[column].notna() & (part[column].astype(str).str.strip() != "")]
        kinds = noted.groupby(noted[column].astype(str), sort=True)
        if kinds.ngroups < 2:
            continue
        for kind, some in kinds:
            mean = _weighted(some["difference_db"].to_numpy(), some["sd_db"].to_numpy() ** 2)[0]
            rows.append((*key, column, kind, listed(some["maker"]), mean))
    return pd.DataFrame(rows, columns=[*SAME, "column", "kind", "makers", "difference_db"])
