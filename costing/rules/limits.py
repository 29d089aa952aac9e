"""What a class rule says about a sail, as data that reads like the document it cites."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from costing.errors import problem
from costing.measurements import Corner, SailKind


class Choice(StrEnum):
    """What a rule or a pattern says about an option."""

    REQUIRED = "required"
    OPTIONAL = "optional"
    FORBIDDEN = "forbidden"


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: exact value (mm, m2, g/m2 or a count, by the measurement's unit), beside it the text as printed."""

    measurement: str
    rule: str
    minimum: Decimal | None
    maximum: Decimal | None
    printed: str
    corner: Corner | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class OptionRule:
    """The class's word on an option (a window, a cunningham, a reef), with its rule number."""

    option: str
    choice: Choice
    rule: str


@dataclass(frozen=True, slots=True)
class ByEye:
    """A rule that no number expresses: a person checks it and ticks a box."""

    rule: str
    text: str


@dataclass(frozen=True, slots=True)
class RoyaltyLabel:
    """The class's label: whether a sail needs one, where it goes and the rule that says so."""

    required: bool
    place: str
    rule: str


@dataclass(frozen=True, slots=True)
class SailRule:
    """Everything that an edition says about one kind of sail."""

    kind: SailKind
    limits: tuple[Limit, ...]
    options: tuple[OptionRule, ...] = ()
    permitted_cloth: tuple[str, ...] = ()
    permitted_cloth_rule: str = ""
    royalty_label: RoyaltyLabel | None = None
    by_eye: tuple[ByEye, ...] = ()
    bolt_rope_counts: bool = True
    condition: str = "dry, flat, battens out, just enough tension across the line measured"

    def limit(self, measurement: str, corner: Corner | None = None) -> Limit | None:
        """The limit on a measurement, at a corner where the rule tells corners apart."""
        for limit in self.limits:
            if limit.measurement == measurement and limit.corner in (None, corner):
                return limit
        return None


@dataclass(frozen=True, slots=True)
class ClassRule:
    """One edition of a class's rules; both dates are inclusive, an open end is None."""

    code: str
    name: str
    edition: str
    valid_from: date
    valid_to: date | None
    hull_length_mm: Decimal
    authority: str
    sails: tuple[SailRule, ...]
    insignia: str = ""

    def sail(self, kind: SailKind) -> SailRule:
        """The rules for a kind of sail; InputError when the edition has none."""
        for sail in self.sails:
            if sail.kind == kind:
                return sail
        raise problem("sail_kind", "no_rule", f"edition {self.edition} of {self.name} says nothing about a {kind.value}")

    def in_force(self, on: date) -> bool:
        return self.valid_from <= on and (self.valid_to is None or on <= self.valid_to)
