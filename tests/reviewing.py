"""Reviews of which the findings alone are looked at."""

from __future__ import annotations

from typing import Any

import pytest

from ifclint import review as reviewing
from ifclint.findings import Review


def without_corrections(*given: Any, **more: Any) -> Review:
    """As `review`, but nothing is reviewed again: corrections take most of the time of a review."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reviewing, "corrections", lambda *_: ())
        return reviewing.review(*given, **more)
