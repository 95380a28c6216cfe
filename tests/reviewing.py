"""Reviews that several tests look at, and reviews of which the findings alone are looked at."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from ifclint import review as reviewing
from ifclint.findings import Review
from ifclint.packs import Context

MODELS = Path(__file__).parents[1] / "models"


@cache
def reviewed_demo(*demos: str) -> tuple[Review, Context]:
    """A demo, its files by their names, reviewed once by the job file of the first. Whoever asks
    only looks at it."""
    files = [MODELS / f"{name}.ifc" for name in demos]
    return reviewing.review_with_context(files, files[0].with_suffix(".toml"))


def without_corrections(*given: Any, **more: Any) -> Review:
    """As `review`, but nothing is reviewed again: corrections take most of the time of a review."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reviewing, "corrections", lambda *_: ())
        return reviewing.review(*given, **more)
