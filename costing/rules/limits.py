"""What a class rule says about a sail, as data that reads like the document it cites."""

from __future__ import annotations

from dataclasses import dataclass, field
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


class Measured(StrEnum):
    """Which measurement of a sail a limit is for: its first, or a later one when it has stretched."""

    FIRST = "first"
    AGAIN = "again"


class LeechPoint(StrEnum):
    """A point of the leech that the ERS name: its ends, and those of the folds."""

    AFT_HEAD = "aft_head"
    UPPER = "upper"
    THREE_QUARTER = "three_quarter"
    HALF = "half"
    QUARTER = "quarter"
    CLEW = "clew"

    @property
    def called(self) -> str:
        """The point in words: "three-quarter leech point"."""
        name = self.value.replace("_", "-" if self is LeechPoint.THREE_QUARTER else " ")
        return f"{name} point" if self in (LeechPoint.AFT_HEAD, LeechPoint.CLEW) else f"{name} leech point"


@dataclass(frozen=True, slots=True)
class Station:
    """Where along the leech a size is taken, if not at the point of a fold; with none of the three the rule does not say.

    distance_mm: straight line from the corner point; part: (1, 3) is a third of the leech's edge from the corner; between: the two points
    that a straight line joins, outside which the leech may lie so far.
    """

    start: Corner | None = None
    distance_mm: Decimal | None = None
    part: tuple[int, int] | None = None
    between: tuple[LeechPoint, LeechPoint] | None = None

    @property
    def stated(self) -> bool:
        return self.between is not None or (self.start is not None and (self.distance_mm is not None or self.part is not None))

    def __str__(self) -> str:
        if self.between is not None:
            return " to ".join(point.called for point in self.between)
        if self.start is None or not self.stated:
            return "a station that the rule does not state"
        if self.part is not None:
            return f"{self.part[0]}/{self.part[1]} of the leech from the {self.start.value}"
        return f"{self.distance_mm:f} mm from the {self.start.value}"


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: exact value (mm, m2, g/m2 or a count, by the measurement's unit), beside it the text as printed.

    minimum_formula, maximum_formula: a bound that depends on other values (costing/rules/formula.py); permitted: the only values allowed;
    formula: the limited quantity itself where it is computed (a ratio, an area), called `name` on paper; station: where a width is taken;
    measured: at the first measurement or a later one only; certified_from, certified_to: for sails certified on these days (inclusive);
    open: why the document as we have it gives no bound.
    """

    measurement: str
    rule: str
    minimum: Decimal | None
    maximum: Decimal | None
    printed: str
    corner: Corner | None = None
    note: str = ""
    minimum_formula: str = ""
    maximum_formula: str = ""
    permitted: tuple[Decimal, ...] = ()
    formula: str = ""
    name: str = ""
    station: Station | None = None
    measured: Measured | None = None
    certified_from: date | None = None
    certified_to: date | None = None
    open: str = ""
    #: Whether it is a fixed minimum or maximum on one measurement, always in force: settled once, as it is asked for every sail.
    plain: bool = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        special = (
            self.formula or self.maximum_formula or self.minimum_formula or self.permitted or self.open
            or self.station or self.measured or self.certified_from or self.certified_to
        )  # fmt: skip
        object.__setattr__(self, "plain", not special)

    def exactly(self, value: float) -> Decimal:
        """A value that was kept as a float, exact: the bound itself where the float is that of a bound (7 oz is 299.798188... g/m2)."""
        bounds = (bound for bound in (self.minimum, self.maximum, *self.permitted) if bound is not None)
        return next((bound for bound in bounds if float(bound) == value), Decimal(str(value)))

    @property
    def value_name(self) -> str:
        """The name of the value that it limits: the measurement, with its station where it has one ("width@1250 mm from the head")."""
        return self.measurement if self.station is None else f"{self.measurement}@{self.station}"


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
class NumberStyle:
    """How a class wants its numbers on one kind of sail, in place of the Racing Rules' least sizes; mm.

    back_to_back: both sides' figures at one place, else starboard uppermost; colours: the only ones allowed, empty: any that can be read.
    """

    kind: SailKind
    rule: str
    height_mm: float
    gap_mm: float
    edge_mm: float
    back_to_back: bool = False
    colours: tuple[str, ...] = ()


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
        """The limit on a measurement, at a corner where the rule tells corners apart; not one for re-measured sails or at a station."""
        for limit in self.limits:
            if limit.measurement == measurement and limit.corner in (None, corner) and (limit.plain or _first(limit)):
                return limit
        return None


@dataclass(frozen=True, slots=True)
class ClassRule:
    """One edition of a class's rules; both dates are inclusive, an open end is None. correction: how often its text has been set right."""

    code: str
    name: str
    edition: str
    valid_from: date
    valid_to: date | None
    hull_length_mm: Decimal
    authority: str
    sails: tuple[SailRule, ...]
    insignia: str = ""
    numbers: tuple[NumberStyle, ...] = ()
    insignia_colours: tuple[str, ...] = ()
    correction: int = 0

    def number_style(self, kind: SailKind) -> NumberStyle | None:
        """How the class wants its numbers on a kind of sail; None where it leaves that to the Racing Rules."""
        return next((style for style in self.numbers if style.kind == kind), None)

    def sail(self, kind: SailKind) -> SailRule:
        """The rules for a kind of sail; InputError when the edition has none."""
        for sail in self.sails:
            if sail.kind == kind:
                return sail
        raise problem("sail_kind", "no_rule", f"edition {self.edition} of {self.name} says nothing about a {kind.value}")

    def sail_or_none(self, kind: SailKind) -> SailRule:
        """The rules for a kind of sail; where the edition has none, a rule without any limit."""
        return next((sail for sail in self.sails if sail.kind == kind), SailRule(kind, ()))

    def says_of(self, kind: SailKind) -> bool:
        """Whether the edition says anything about a kind of sail."""
        return any(sail.kind == kind for sail in self.sails)

    def in_force(self, on: date) -> bool:
        return self.valid_from <= on and (self.valid_to is None or on <= self.valid_to)


def _first(limit: Limit) -> bool:
    """Whether a limit that is not plain bounds a measurement as it is named when a sail is first measured."""
    return not limit.formula and limit.station is None and not limit.open and limit.measured is not Measured.AGAIN
