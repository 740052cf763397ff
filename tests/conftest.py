"""What all tests share: no window, no clock in property tests, and where reference data may lie."""

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


@pytest.fixture(scope="session")
def reference(repo):
    """Folder with reference profiles beside the project; the test is skipped where it is absent."""
    folder = repo.parent / "shared" / "reference"
    if not folder.is_dir():
        pytest.skip("the reference profiles are not beside this checkout")
    return folder
