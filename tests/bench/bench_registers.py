"""How fast a public list of 3000 rows is read, joined and cut: python tests/bench/bench_registers.py"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import pandas as pd
from yard import best_ms, line

from signalshed import site

LIST = Path(__file__).parents[1] / "data" / "registers" / "masts_two_line_heading.csv"
NEAR = (-51.606, -43.824)


def ratios():
    """The list whole, cut for one roof, against pandas reading the file."""
    plain = best_ms(lambda: pd.read_csv(LIST, skiprows=1, encoding="utf-8-sig"), 7)
    whole = best_ms(lambda: site.stations_from(LIST, NEAR, region="ge06"), 3)
    return [line("registers", "3000 rows read, joined, cut", whole, "pandas.read_csv of it", plain)]


if __name__ == "__main__":
    print(pd.DataFrame(ratios()).to_string(index=False))
