"""How a finished sail's sizes read, on paper and on the screen: limit, target and what is left between them, reading and deviation."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from costing.measurements import MEASUREMENTS
from costing.quote import finished
from costing.quote.finished import FinishedRow
from loft.documents import quote_designs, wording

_TENTH = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class SizeText:
    """A row in words. verdict: inside, OUTSIDE by how much, or empty while it is not measured or not limited."""

    path: str
    rule: str
    name: str
    limit: str
    target: str
    tolerance: str
    measured: str
    deviation: str
    verdict: str
    outside: bool
    typed: bool


def texts(rows: Iterable[FinishedRow]) -> tuple[SizeText, ...]:
    """Every row in words."""
    return tuple(text(row) for row in rows)


def text(row: FinishedRow) -> SizeText:
    """A row in words."""
    outside = row.room is not None and row.room < 0
    return SizeText(
        path=finished.path(row.key),
        rule=", ".join(dict.fromkeys(x.rule for x in row.limits)) or "no limit",
        name=_name(row),
        limit="; ".join(quote_designs.open_bound(x) for x in row.limits) or wording.DASH,
        target=" / ".join(dict.fromkeys(_target(row, value) for value in row.designed)) or wording.DASH,
        tolerance=_tolerance(row),
        measured=" / ".join(wording.four_places(value) if row.computed else wording.plain(value) for value in row.measured),
        deviation=" / ".join(_signed(value, row) for value in row.deviations),
        verdict=_verdict(row, outside=outside),
        outside=outside,
        typed=row.typed,
    )


def _name(row: FinishedRow) -> str:
    return quote_designs.limited_name(row.limits[0]) if row.limits else wording.label(row.measurement)


def _target(row: FinishedRow, value: Decimal) -> str:
    """Never rounded up where there is a maximum, never down where there is only a minimum."""
    highest, lowest = _bounds(row)
    rounding = ROUND_FLOOR if highest is not None else ROUND_CEILING if lowest is not None else ROUND_HALF_UP
    return f"{value.quantize(_TENTH, rounding):,f}" if _in_mm(row) else wording.four_places(value, rounding)


def _tolerance(row: FinishedRow) -> str:
    """How far the sail may be off its target on either side and still measure, rounded towards less: "−25.0 / +5.0"."""
    if not row.designed or not _in_mm(row):
        return wording.DASH
    highest, lowest = _bounds(row)
    sides = []
    if lowest is not None:
        sides.append(-(min(row.designed) - lowest).quantize(_TENTH, ROUND_FLOOR))
    if highest is not None:
        sides.append((highest - max(row.designed)).quantize(_TENTH, ROUND_FLOOR))
    return " / ".join(_plus(side) for side in sides) or wording.DASH


def _bounds(row: FinishedRow) -> tuple[Decimal | None, Decimal | None]:
    """The strictest maximum and minimum."""
    highest = min((x.maximum for x in row.limits if x.maximum is not None), default=None)
    return highest, max((x.minimum for x in row.limits if x.minimum is not None), default=None)


def _signed(value: Decimal, row: FinishedRow) -> str:
    if row.computed:
        value = value.quantize(Decimal("0.0001"), ROUND_HALF_UP)
    return _plus(value.quantize(_TENTH, ROUND_HALF_UP) if _in_mm(row) else value.normalize())


def _plus(value: Decimal) -> str:
    return f"{value:+,f}".replace("-", "−") if value else "0"


def _verdict(row: FinishedRow, *, outside: bool) -> str:
    if row.room is None:
        return ""
    if not outside:
        return "inside"
    return f"OUTSIDE by {wording.four_places(-row.room, ROUND_CEILING) if row.computed else wording.plain(-row.room)}"


def _in_mm(row: FinishedRow) -> bool:
    return MEASUREMENTS[row.measurement].unit == "mm"
