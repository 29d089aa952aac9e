"""The loft's pattern for one sail of one class: a version that is never edited."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costing.cloth.make import Make
from costing.errors import nearest
from costing.measurements import OTHER_KINDS, SPINNAKERS, SailKind
from costing.rules.limits import Choice
from costing.rules.targets import Margin
from costing.sail.shape import LuffCurve
from costing.takeoff.quantities import KitItem


@dataclass(frozen=True, slots=True)
class PatternOption:
    """One row of the option table: what the customer may choose, and the class rule behind it.

    made_in: the operation that makes it; once that has begun the option stays as it is (empty: read off the making and the kit).
    free_until: changed free of a fee until this operation has begun (empty: until the sail is released to the floor).
    """

    code: str
    label: str
    choice: Choice
    rule: str
    default: bool = False
    made_in: str = ""
    free_until: str = ""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Everything the loft has settled about one sail: shape, making, kit, options, order of the work.

    sizes: the pattern's own finished sizes where it stays below a limit or where no limit exists (mm); margins: what is kept back from
    each limit; relax: mm that a relaxed luff or foot stays short of the boat's bands; cloths: codes that it may be made from,
    the first by default; steps: operation codes in the order of work.
    """

    code: str
    version: int
    name: str
    class_code: str
    edition: str
    sail_kind: SailKind
    sizes: dict[str, Decimal]
    margins: tuple[Margin, ...]
    relax: dict[str, Decimal]
    luff_curve: LuffCurve
    foot_round_mm: Decimal
    make: Make
    options: tuple[PatternOption, ...]
    kit: tuple[KitItem, ...]
    cloths: tuple[str, ...]
    steps: tuple[str, ...]
    included: tuple[str, ...]  # printed on the quote
    not_included: tuple[str, ...]
    lead_time_weeks: str = ""


def kind_words(kind: SailKind) -> frozenset[str]:
    """Every word for a kind of sail in a list of boats: ``storm_jib``, ``storm jib``; ``spinnaker`` for either of the two kinds."""
    words = {kind.value, kind.value.replace("_", " ")}
    return frozenset(words | {"spinnaker"} if kind in SPINNAKERS else words)


def meant(word: str, patterns: Iterable[Pattern]) -> tuple[str, ...]:
    """The codes of the patterns for a sailor's or a misspelt word for their kind: ``jib``, ``spinaker``; empty when none is near."""
    words = defaultdict[str, list[str]](list)
    for pattern in patterns:
        kind = pattern.sail_kind
        for known in {*kind_words(kind), *(other for other, kinds in OTHER_KINDS.items() if kind in kinds)}:
            words[known].append(pattern.code)
    return tuple(words.get(nearest(word.replace("_", " "), words, alike=0.75), ()))
