"""How long a quote's sails take: the longest that its terms and its patterns say."""

from __future__ import annotations

import re
from collections.abc import Iterable

from costing.quote.pattern import Pattern

_IN_WEEKS = re.compile(r"(\d+)[ -]*weeks?\b")
_BARE = re.compile(r"\d+(?: *(?:to|-|–) *(\d+))?")


def weeks(lead_time: str) -> int:
    """The far end of a lead time in words, weeks: "5 to 7" and "5 to 7 weeks from release" are 7; 0 where it names no weeks."""
    if bare := _BARE.fullmatch(lead_time.strip()):
        return int(bare[1] or bare[0])
    return max((int(found) for found in _IN_WEEKS.findall(lead_time)), default=0)


def longest(terms: str, patterns: Iterable[Pattern]) -> str:
    """The lead time that a quote states: the terms' words, or the longest of the patterns' where that ends later or the terms have none.

    One for all sails of a quote, as they are promised together. Terms that name no weeks are said with the patterns'.
    """
    own = max((p.lead_time_weeks for p in patterns), key=weeks, default="")
    if weeks(own) <= weeks(terms):
        return terms or own
    own = f"{own} weeks" if _BARE.fullmatch(own.strip()) else own
    if terms and not weeks(terms):
        return f"{own}; {terms}"
    return own + terms.partition("weeks")[2]
