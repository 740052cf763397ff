"""Time of the wire solver, beside numpy.linalg.solve of a complex matrix of the same size.

Run: python tests/bench/bench_wires.py

``rebuild``: wires typed, checked, cut, solved at one frequency, pattern at 72 azimuths, in plain solves.
``sweep``: 30 frequencies with that pattern, in thirty plain solves; ``solved`` in full, ``error`` the
relative difference at the frequencies held back. ``one_by_one``: the same without the reduced basis.
Solves and library alternate on one thread, processor time counts and the best of many turns, so that a
busy machine spoils neither.
"""

import os
import sys
import time
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent))

import numpy as np
import pandas as pd
from yard import line

from signalshed import wires
from signalshed.wires import segmented, solver, sweeps

FREQ_MHZ = 540.0
SWEEP_MHZ = np.linspace(470, 644, 30)
CASES = ((3, 8, 30), (5, 15, 30), (9, 20, 32), (17, 25, 32), (25, 33, 36))
"""Rods of the screen, segments of each, corners of the loop."""


def draw(rods, per_rod, corners):
    """A loop before a screen of rods, typed anew."""
    radius = 0.095
    turn = 2 * np.pi * np.arange(corners + 1) / corners
    ring = np.stack([0 * turn, radius * np.sin(turn), -radius * np.cos(turn)], axis=1)
    ring[-1] = ring[0]
    drawn = [wires.Wire(ring, 1e-3, corners)]
    for z in np.linspace(-0.25, 0.25, rods):
        drawn.append(wires.Wire([(-0.1, -0.3, z), (-0.1, 0.3, z)], 2e-3, per_rod))
    return wires.Structure(drawn, feed=ring[0])


def seconds(function):
    start = time.process_time()
    function()
    return time.process_time() - start


def best_of_turns(functions, turns):
    """Best time of each function, taken in turns."""
    times = [[seconds(function) for function in functions] for _ in range(turns)]
    return np.min(times, axis=0)


def plain_solve(unknowns):
    rng = np.random.default_rng(1)
    shape = (unknowns, unknowns)
    matrix = rng.standard_normal(shape) + 1j * rng.standard_normal(shape)
    right = rng.standard_normal(unknowns) + 0j
    return lambda: np.linalg.solve(matrix, right)


def rebuild(sizes):
    wires.solve(draw(*sizes), FREQ_MHZ).gain_dbi(sweeps.AZIMUTHS_DEG)


def one_by_one(structure):
    drawn = segmented.segmented_for(structure, SWEEP_MHZ.max(), segmented.MAX_UNKNOWNS)
    look = solver.directions(sweeps.AZIMUTHS_DEG, 0 * sweeps.AZIMUTHS_DEG)
    sweeps._Full(drawn, look).every(SWEEP_MHZ)


def row(sizes):
    structure = draw(*sizes)
    swept = wires.sweep(structure, SWEEP_MHZ)
    unknowns = wires.solve(structure, FREQ_MHZ).segmented.count
    solve_s, rebuild_s, sweep_s, slow_s = best_of_turns(
        [
            plain_solve(unknowns),
            lambda: rebuild(sizes),
            lambda: wires.sweep(structure, SWEEP_MHZ),
            lambda: one_by_one(structure),
        ],
        turns=40 if unknowns < 300 else 5,
    )
    return {
        "unknowns": unknowns,
        "solve_ms": 1e3 * solve_s,
        "rebuild_ms": 1e3 * rebuild_s,
        "rebuild_in_solves": rebuild_s / solve_s,
        "sweep_ms": 1e3 * sweep_s,
        "sweep_in_30_solves": sweep_s / (30 * solve_s),
        "one_by_one_in_30_solves": slow_s / (30 * solve_s),
        "solved": swept.solved,
        "error": swept.error,
    }


def ratios():
    """Lines for the table of all benches."""
    lines = []
    for of in map(row, CASES):
        size, solve_ms = f"{of['unknowns']} unknowns", of["solve_ms"]
        one, thirty = (
            f"a plain solve, {solve_ms:.2g} ms",
            f"30 plain solves, {30 * solve_ms:.2g} ms",
        )
        lines.append(line("wires", f"{size}: rebuilt and solved", of["rebuild_ms"], one, solve_ms))
        lines.append(
            line("wires", f"{size}: 30 frequencies", of["sweep_ms"], thirty, 30 * solve_ms)
        )
    return lines


if __name__ == "__main__":
    table = pd.DataFrame([row(sizes) for sizes in CASES])
    print(table.to_string(index=False, float_format=lambda x: f"{x:.3g}"))
