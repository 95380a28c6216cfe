"""For the authors of rule packs: tiny networks as text, and cases that say what rules answer.

`run_cases(pack, folder)` puts the rules of a pack to the cases in a folder of TOML files and raises
AssertionError with all that is wrong:

    [[case]]
    rule = "acme-lining"
    name = "a lined drain passes"
    code = "upc-2021"
    subject = "P1"                  # the first element of the subject
    answer = "pass"                 # pass, violation, advisory, unverified or not-applicable
    network = '''
    lavatory L   0 0 0
    pipe 2 P1    0 0 0 > 10 0 -0.25
    '''

A case may also state `measured`, `required`, a part of the `remedy`, the element to be `clicked`
first, and a `job` (as in a job file). Networks that several cases share stand under [networks]; a
case takes one with `from`, and says what to `change` (old, new) and to `add`. `networks` describes
the notation.
"""

from ifclint.testing.cases import Case, read_cases, run_cases, wrong_with
from ifclint.testing.networks import read_network
from ifclint.testing.questions import ask, context_of

__all__ = [
    "Case", "ask", "context_of", "read_cases", "read_network", "run_cases", "wrong_with",
]  # fmt: skip
