"""How a finished sail's sizes read, on paper and on the screen: limit, target and what is left between them, reading and deviation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from costing.measurements import MEASUREMENTS
from costing.quote import finished
from costing.quote.finished import FinishedRow
from costing.rules import rounded
from loft.documents import quote_designs, wording

_THOUSANDTH = Decimal("0.001")


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
    printed: str = ""  # the limit as the class's document prints it, where that is more than the bound


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
        deviation=" / ".join(_deviations(row)),
        verdict=_verdict(row, outside=outside),
        outside=outside,
        typed=row.typed,
        printed="; ".join(filter(None, map(wording.as_printed, row.limits))),
    )


def _name(row: FinishedRow) -> str:
    return quote_designs.limited_name(row.limits[0]) if row.limits else wording.label(row.measurement)


def _target(row: FinishedRow, value: Decimal) -> str:
    printed = _printed(row, value)
    return wording.size(printed) if _in_mm(row) else wording.plain(printed)


def _printed(row: FinishedRow, value: Decimal) -> Decimal:
    """A target as the quote prints it beside its limit; between two limits to the micrometre, so that it agrees with both."""
    highest, lowest = _bounds(row)
    if highest is None or lowest is None:
        bound = lowest if highest is None else highest
        if bound is None:
            return value.quantize(rounded.quantum(row.measurement), ROUND_HALF_UP)
        beyond = value > bound if highest is not None else value < bound
        return rounded.towards(value, bound, row.measurement, outside=beyond)
    return value.quantize(_THOUSANDTH if _in_mm(row) else rounded.quantum(row.measurement), ROUND_HALF_UP)


def _tolerance(row: FinishedRow) -> str:
    """How far the sail may be off its printed target on either side and still measure: "−25.0 / +5.0"."""
    if not row.designed or not _in_mm(row):
        return wording.DASH
    highest, lowest = _bounds(row)
    targets = [_printed(row, value) for value in row.designed]
    sides = []
    if lowest is not None:
        sides.append(lowest - min(targets))
    if highest is not None:
        sides.append(highest - max(targets))
    return " / ".join(_side(side) for side in sides) or wording.DASH


def _side(value: Decimal) -> str:
    return f"{'+' if value > 0 else '−'}{wording.size(abs(value))}" if value else "0"


def _bounds(row: FinishedRow) -> tuple[Decimal | None, Decimal | None]:
    """The strictest maximum and minimum, as they are printed."""
    highest = min((high for x in row.limits if (high := rounded.maximum(x)) is not None), default=None)
    return highest, max((low for x in row.limits if (low := rounded.minimum(x)) is not None), default=None)


def _deviations(row: FinishedRow) -> Iterator[str]:
    """Each reading less its printed target; nothing where it is not known which reading belongs to which target."""
    for value, target in zip(row.measured, row.designed, strict=False) if row.deviations else ():
        yield _signed(value - _printed(row, target), row)


def _signed(value: Decimal, row: FinishedRow) -> str:
    """A difference with its sign: lengths to a tenth, what is computed to four places."""
    if row.computed or _in_mm(row):
        value = value.quantize(rounded.quantum(row.measurement), ROUND_HALF_UP)
    figure = wording.size(abs(value)) if _in_mm(row) else wording.plain(abs(value))
    return f"{'+' if value > 0 else '−'}{figure}" if value else "0"


def _verdict(row: FinishedRow, *, outside: bool) -> str:
    if row.room is None:
        return ""
    if not outside:
        return "inside"
    return f"OUTSIDE by {wording.four_places(-row.room, ROUND_CEILING) if row.computed else wording.plain(-row.room)}"


def _in_mm(row: FinishedRow) -> bool:
    return MEASUREMENTS[row.measurement].unit == "mm"
