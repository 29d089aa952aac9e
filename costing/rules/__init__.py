"""Class rules: limits in, breaches, headroom and design targets out.

In: a `ClassRule` (an edition as data), sizes and areas as values. Out: `breaches`, `headroom`, `assess` (with what cannot be
determined), and `design_target`, which says for each size what decided it. Knows nothing of outlines.
"""

from costing.rules.believable import doubts, swapped_limits
from costing.rules.compare import Assessment, Breach, Headroom, Undetermined, assess, breach_in_words, breaches, headroom, limits_for
from costing.rules.limits import (
    ByEye,
    Choice,
    ClassRule,
    LeechPoint,
    Limit,
    Measured,
    NumberStyle,
    OptionRule,
    RoyaltyLabel,
    SailRule,
    Station,
)
from costing.rules.storm import storm_checked, storm_rule
from costing.rules.targets import Margin, Target, design_target

__all__ = [
    "Assessment",
    "Breach",
    "ByEye",
    "Choice",
    "ClassRule",
    "Headroom",
    "LeechPoint",
    "Limit",
    "Margin",
    "Measured",
    "NumberStyle",
    "OptionRule",
    "RoyaltyLabel",
    "SailRule",
    "Station",
    "Target",
    "Undetermined",
    "assess",
    "breach_in_words",
    "breaches",
    "design_target",
    "doubts",
    "headroom",
    "limits_for",
    "storm_checked",
    "storm_rule",
    "swapped_limits",
]
