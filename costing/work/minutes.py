"""Minutes by operation."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from costing.errors import Collector
from costing.money import quantity_3
from costing.takeoff.kinds import DRIVERS, driver_kind, plain, spelled, unknown_driver
from costing.takeoff.quantities import TakeOff
from costing.work.standards import LabourStandard, LabourStandards, OperationMinutes, Station, Term

#: Drivers whose minutes are spent once and shared.
SHARED = ("order", "lay")


def operation_minutes(takeoff: TakeOff, standards: LabourStandards) -> tuple[OperationMinutes, ...]:
    """Minutes of each operation that the sail needs; operations whose drivers are all zero are left out.

    The set-up minutes stand beside the sail's own, whole: sharing them is the batch's business. What goes unplanned is the last
    operation. Minutes to 0.001. `check_standards` finds drivers that do not exist; here they are zero.
    """
    operations = [_operation(s, takeoff) for s in standards.operations if any(takeoff.amount(t.driver) for t in s.terms)]
    return (*operations, *_unplanned(operations, standards.unplanned_fraction))


def cost_of_minute(standards: LabourStandards) -> Decimal:
    """What a productive minute costs: rate a paid hour / productive fraction / 60, unrounded."""
    return standards.rate_per_paid_hour / standards.productive_fraction / 60


def check_standards(standards: LabourStandards, counted: Iterable[str] = ()) -> None:
    """Raise InputError with every driver of a labour standard that neither the table nor `counted` (a kit's own) knows."""
    known = DRIVERS.keys() | set(counted)
    wrong = Collector()
    for standard in standards.operations:
        for term in standard.terms:
            if term.driver not in known:
                wrong.add(f"labour.{standard.operation}", "unknown_driver", unknown_driver(term.driver, known))
    wrong.raise_if_any()


def _operation(standard: LabourStandard, takeoff: TakeOff) -> OperationMinutes:
    def minutes(terms: Sequence[Term]) -> Decimal:
        return quantity_3(sum((t.minutes * takeoff.amount(t.driver) for t in terms), Decimal(0)))

    own = minutes([t for t in standard.terms if t.driver not in SHARED])
    order, lay = (minutes([t for t in standard.terms if t.driver == shared]) for shared in SHARED)
    used = [(t, takeoff.amount(t.driver)) for t in standard.terms if takeoff.amount(t.driver)]
    how, drivers = _how([u for u in used if u[0].driver not in SHARED], own), tuple(t.driver for t, _ in used)
    return OperationMinutes(standard.operation, standard.label, standard.station, own, order, lay, how, standard.caution, drivers)


def _how(terms: Sequence[tuple[Term, Decimal]], total: Decimal) -> str:
    """The sum spelled out: "8 x 7 patches + 3 x 24 layers = 128 min"."""
    products = (f"{plain(term.minutes)} x {spelled(amount, driver_kind(term.driver))}" for term, amount in terms)
    return " + ".join(products) + f" = {plain(total)} min" if terms else ""


def _unplanned(operations: Sequence[OperationMinutes], fraction: Decimal) -> tuple[OperationMinutes, ...]:
    if not fraction or not operations:
        return ()
    own, order, lay = (sum((getattr(o, name) for o in operations), Decimal(0)) for name in ("own_min", "order_min", "lay_min"))
    planned = own
    own, order, lay = (quantity_3(part * fraction) for part in (own, order, lay))
    how = f"{plain(fraction * 100)} % of {plain(planned)} min = {plain(own)} min"
    return (OperationMinutes("unplanned", "Unplanned", Station.DESK, own, order, lay, how),)
