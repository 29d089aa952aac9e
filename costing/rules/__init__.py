"""Class rules: limits in, breaches, headroom and design targets out.

In: a `ClassRule` (an edition as data), sizes and areas as values. Out: `breaches`, `headroom`, and
`design_target`, which says for each size what decided it. Knows nothing of outlines.
"""

from costing.rules.compare import Breach, Headroom, breach_in_words, breaches, headroom
from costing.rules.limits import (
    ByEye,
    Choice,
    ClassRule,
    Limit,
    OptionRule,
    RoyaltyLabel,
    SailRule,
)
from costing.rules.targets import Margin, Target, design_target

__all__ = [
    "Breach",
    "ByEye",
    "Choice",
    "ClassRule",
    "Headroom",
    "Limit",
    "Margin",
    "OptionRule",
    "RoyaltyLabel",
    "SailRule",
    "Target",
    "breach_in_words",
    "breaches",
    "design_target",
    "headroom",
]
