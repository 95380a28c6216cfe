# tests/test_acme.py
from pathlib import Path

import acme_linings
from ifclint.testing import run_cases


def test_the_rules_answer_as_their_cases_expect() -> None:
    assert run_cases(acme_linings, Path(__file__).parent / "cases", name="acme") == 3
