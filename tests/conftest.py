"""What all tests share: no window, one thread each, and no clock in property tests."""

import os
import sys
from pathlib import Path

import hypothesis
import pytest

sys.path.insert(0, str(Path(__file__).parent))  # tests share hand.py
os.environ.setdefault("MPLBACKEND", "Agg")
# One thread each: as many tests as cores run at once, and threads that wait for a core only spin.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Two shared cores make a deadline per example a test of the neighbours; the same examples every
# time make a red run repeatable; no database leaves nothing in the tree.
hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")


@pytest.fixture(scope="session")
def repo():
    """The project folder."""
    return Path(__file__).resolve().parents[1]
