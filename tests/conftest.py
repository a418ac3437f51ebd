"""What every test may ask for."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

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
