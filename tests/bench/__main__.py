"""All benches, one table: python tests/bench     (about ten minutes; --quick leaves the browser out)

Each line is work, its milliseconds, and how often they hold what stands in ``against``, timed in the
same run. Milliseconds depend on the machine, ratios less. Lines of one subject with growing work show
how the cost grows.
"""

import argparse
import importlib
import os
import sys
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent))

import pandas as pd

COMPUTED = (
    *("bench_path", "bench_survey", "bench_wires", "bench_trials", "bench_registers"),
    "bench_house",
)
IN_A_BROWSER = ("bench_panel", "bench_wire_panels")


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--quick", action="store_true", help="leave the browser out")
    names = COMPUTED if asked.parse_args().quick else COMPUTED + IN_A_BROWSER
    lines = []
    for name in names:
        print(f"{name} ...", file=sys.stderr)
        lines += importlib.import_module(name).ratios()
    table = pd.DataFrame(lines)
    table["ms"] = table["ms"].map("{:.3g}".format)
    table["ratio"] = table["ratio"].map("{:.3g}".format)
    print(table.to_string(index=False))


if __name__ == "__main__":
    main()
