"""What all tests share: no window, and no clock in property tests."""

import os
from pathlib import Path

import hypothesis
import pytest

os.environ.setdefault("MPLBACKEND", "Agg")

# Two shared cores make a deadline per example a test of the neighbours; the same examples every
# time make a red run repeatable; no database leaves nothing in the tree.
hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")


@pytest.fixture(scope="session")
def repo():
    """The project folder."""
    return Path(__file__).resolve().parents[1]
