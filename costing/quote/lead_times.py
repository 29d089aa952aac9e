"""How long a quote's sails take: the longest that its terms and its patterns say."""

from __future__ import annotations

import re
from collections.abc import Iterable

from costing.quote.pattern import Pattern


def weeks(lead_time: str) -> int:
    """The far end of a lead time in words, weeks: "5 to 7" is 7; 0 where it names no number."""
    return max((int(found) for found in re.findall(r"\d+", lead_time)), default=0)


def longest(terms: str, patterns: Iterable[Pattern]) -> str:
    """The lead time that a quote states: the terms' words, or the longest of the patterns' where that ends later or the terms have none.

    One for all sails of a quote, as they are promised together.
    """
    own = max((p.lead_time_weeks for p in patterns), key=weeks, default="")
    if weeks(own) <= weeks(terms):
        return terms
    _, _, since = terms.partition("weeks")
    return f"{own} weeks{since}" if own.strip()[-1:].isdigit() else own
