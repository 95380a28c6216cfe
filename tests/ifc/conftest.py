from __future__ import annotations

import os
from pathlib import Path

import pytest

PUBLIC = Path(
    os.environ.get("IFCLINT_PUBLIC_MODELS", Path(__file__).parents[2] / ".." / "shared" / "models")
)


@pytest.fixture
def public():
    """The path of a public IFC file, by name; the test is skipped where it is absent."""

    def path_of(name: str) -> Path:
        path = PUBLIC / name
        if not path.exists():
            pytest.skip(f"the public file {name} is not here (set IFCLINT_PUBLIC_MODELS)")
        return path

    return path_of
