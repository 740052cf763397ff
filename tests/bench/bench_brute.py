"""Chances of stations that others disturb, against hundreds of thousands of roofs drawn at random.

The roofs are drawn and judged here, plainly: every level, every limit and the tuner's selectivity, no
closed form. Run: python tests/bench/bench_brute.py [sites] [roofs]
"""

import sys
from dataclasses import replace

import numpy as np

from signalshed import budget, chain, facts, site, survey
from signalshed.budget.judged import off_aim_db
from signalshed.budget.leaks import leaks

DVB = "DVB-T2 256-QAM 2/3"


def random_site(seed, stations=30):
    """An invented site: towers with channels in blocks, some loud and near, networks, an amplifier."""
    rng = np.random.default_rng(seed)
    spots = [(rng.uniform(0, 360), d) for d in (rng.uniform(4, 10), *rng.uniform(20, 110, 7))]
    free, rows = [], []
    for k in range(stations):
        at = int(rng.integers(len(spots)))
        free = free or list(rng.permutation(np.arange(21, 45)))
        rows.append(
            {
                "station": f"s{k}",
                "rf_channel": str(free.pop()),
                "standard": DVB,
                "bearing_deg": round(spots[at][0], 2),
                "distance_km": round(spots[at][1], 2),
                "erp_toward_kw": float(rng.choice([0.5, 5, 50, 200])) * (1 + k / 1e4),
                "antenna_height_m": float(rng.choice([100, 250, 400])),
            }
        )
    for name in range(3):
        first, second = (int(i) for i in rng.choice(stations, 2, replace=False))
        rows[second]["rf_channel"] = rows[first]["rf_channel"]
        for row in (rows[first], rows[second]):
            row.update(same_signal=f"n{name}", guard_us=float(rng.choice([28, 112])))
    here = site.from_tables((30.45, -40.7), rows, region="ge06")
    gain = float(rng.choice([12, 20, 28]))
    parts = (chain.amplifier("mast amplifier", gain, 3.0), chain.coax("series6", 20))
    return replace(here, feeds={"line": chain.Feed("line", parts[int(rng.integers(2)) :])})


def brute(received, roofs, seed=0):
    """Share of plainly drawn roofs on which each station comes: (stations,)."""
    rng = np.random.default_rng(seed)
    found = np.zeros(len(received.site.stations))
    for _ in range(roofs // 20_000):
        found += _some(received, rng, 20_000)
    return found / (roofs // 20_000)


def _some(received, rng, count):
    here, link = received.site, received.link
    belief = budget.prior(here, received.mount)
    n = belief.path_sd_db.size
    places = rng.standard_normal((count, belief.place_index.max() + 1))[:, belief.place_index]
    own = rng.standard_normal((count, n))[:, belief.same_as]
    sd = facts.value
    shared = belief.scale * (4 * rng.standard_normal((count, 1)) + 8 * places)
    shared = shared[:, belief.same_as]
    shared = shared + rng.standard_normal((count, 1)) * link.mount_sd_db
    shared = (
        shared + rng.standard_normal((count, 1)) * budget.antenna_taught(here, received.antenna)[1]
    )
    base = link.heard_dbm(received.gain_dbd[0]) + shared
    sends = budget.signals_of(here).is_sender
    wide = np.hypot(
        belief.station_sd_db[belief.same_as], off_aim_db(received, received.gain_dbd)[0]
    )
    field, learned = link.field, link.learned_db
    most = link.heard_dbm(received.gain_dbd[0]) + sd("judgement", "above_free_space_db")
    most = most + np.maximum(field.free_space_dbuv_m - field.median_dbuv_m - learned, 0)
    power = 10 ** (np.minimum(base + wide * own, most) / 10) * sends
    level = base + belief.station_sd_db[belief.same_as] * own
    leak = leaks(here, received.feed, link.line_gain_db)
    near = 10 ** (sd("receiver", "selectivity_sd_db") * rng.standard_normal((count, 1)) / 10)
    noise = link.noise_mw * 10 ** (link.noise_sd_db * rng.standard_normal((count, 1)) / 10)
    whole, risen = (
        noise * 10 ** (up / 10)
        + louder @ leak.sent.toarray().T
        + near * (louder @ leak.let_in.toarray().T)
        for up, louder in (
            (0.0, power),
            (link.noise_up_db, power * 10 ** (link.field.rise_db / 10)),
        )
    )
    rise = 10 * np.log10(risen / whole)
    needed = link.needs_cn_db + np.hypot(link.field.fade_db, rise)
    comes = level > needed + 10 * np.log10(whole)
    for net in budget.networks(here):
        members = power[:, net.members]
        fade = np.sqrt(((members * link.field.fade_db[net.members]) ** 2).sum(1)) / members.sum(1)
        for i in net.rows:
            ratio = 10 ** ((link.needs_cn_db[i] + np.hypot(fade, rise[:, i])) / 10)
            helps = np.stack([members @ share for share in net.useful], 1)
            hurts = members.sum(1, keepdims=True) - helps
            comes[:, i] = (helps > ratio[:, None] * (whole[:, [i]] + hurts)).any(1)
    for limit in received.others.strain.limits:
        total = 10 * np.log10(power @ 10 ** (limit.gain_db / 10))
        comes &= (total < limit.limit_dbm + limit.sd_db * rng.standard_normal(count))[:, None]
    return (comes & ~np.isnan(received.margin_db)).mean(axis=0)


def compared(sites, roofs):
    """Differences of all chances of so many sites: an array."""
    apart = []
    for seed in range(sites):
        here = random_site(seed)
        setup = survey.Setup("half-wave dipole", "mast", heading_deg=float(37 * seed % 360))
        received = budget.reception(here, setup)
        apart.append(received.chance - brute(received, roofs, seed))
    return np.concatenate(apart)


if __name__ == "__main__":
    sites, roofs = (int(x) for x in (*sys.argv[1:], 30, 400_000)[:2])
    apart = np.abs(compared(sites, roofs))
    print(f"{apart.size} stations: worst {apart.max():.4f}, rms {np.sqrt((apart**2).mean()):.4f}, ")
    print(f"above 0.015: {(apart > 0.015).sum()}")
