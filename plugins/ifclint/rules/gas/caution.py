"""Rules about fuel gas: every answer that is not a pass carries the caution that goes with gas."""

from functools import partial

from ifclint.findings import Severity
from ifclint.packs import rule

CAUTION = (
    "Fuel gas burns and explodes. Have the piping altered only by licensed persons, and tested "
    "under pressure before gas is let in."
)

gas_rule = partial(rule, severity=Severity.HIGH, caution=CAUTION, asked_once=True)
