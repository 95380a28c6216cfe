"""Model readiness: what the model must tell before its plumbing can be judged, element by element.

Nothing here rests on a code. A fact that is missing is unverified, what is told but cannot be
right is an advisory; both name the element and what a BIM author does about it.
"""

from collections.abc import Iterable

from ifclint.packs import Rule, hookimpl, rules_in


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(__name__, "facts", "shape")
