"""What every test may ask for."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

# The same cases every time, so that a red run is a change of ours; EXPLORE=1 looks for new ones.
settings.register_profile("steady", derandomize=True, database=None)
settings.register_profile("explore", max_examples=1000)
settings.load_profile("explore" if os.environ.get("EXPLORE") else "steady")

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    """Return the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def dataset():
    """Return the shipped data, read once."""
    from planner.loading import load

    return load()
