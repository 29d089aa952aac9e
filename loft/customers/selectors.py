"""Reads of customers and boats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from django.db.models import Q, QuerySet

from costing.errors import Problem
from costing.quote import SailRequest
from loft.common.errors import NotFound
from loft.customers.models import Boat, Customer, MeasurementSet


def customers() -> QuerySet[Customer]:
    """Every customer by name."""
    return Customer.objects.order_by("name", "pk")


def customer(pk: int) -> Customer:
    """One customer; NotFound when there is none."""
    found = Customer.objects.filter(pk=pk).first()
    if found is None:
        raise NotFound(f"There is no customer {pk}.")
    return found


def boats(*, class_code: str = "") -> QuerySet[Boat]:
    """Every boat, or those of a class, by class, number and name, with its measurement sets."""
    found = Boat.objects.order_by("class_code", "sail_number", "name", "pk")
    found = found.prefetch_related("measurement_sets__values", "fit_sheets__details")
    return found.filter(class_code=class_code) if class_code else found


def boat(pk: int) -> Boat:
    """One boat with its measurement sets; NotFound when there is none."""
    found = boats().filter(pk=pk).first()
    if found is None:
        raise NotFound(f"There is no boat {pk}.")
    return found


def boats_of(*, class_code: str, sails: Sequence[tuple[str | None, str, str]]) -> tuple[Boat | None, ...]:
    """The stored boat of each sail's (number, boat, owner): by number, else by name and owner; None where there is none. One query."""
    numbers, names = [number for number, _, _ in sails if number], [name for _, name, _ in sails]
    stored = Boat.objects.filter(Q(sail_number__in=numbers) | Q(name__in=names), class_code=class_code)
    by_number, by_name = {}, {}
    for boat in stored.order_by("pk"):
        by_number[boat.sail_number] = boat
        by_name[boat.name.casefold(), boat.owner.casefold()] = boat
    return tuple(
        (by_number.get(number) if number else None) or by_name.get((name.casefold(), owner.casefold())) for number, name, owner in sails
    )


def numbers_taken(*, class_code: str, sails: Sequence[SailRequest]) -> Iterator[Problem]:
    """A problem for each sail whose number is stored as another owner's; one query."""
    numbers = [s.sail_number for s in sails if s.sail_number]
    stored = {b.sail_number: b for b in Boat.objects.filter(class_code=class_code, sail_number__in=numbers)}
    for sail in sails:
        if sail.sail_number in stored:
            yield from taken(sail, stored[sail.sail_number])


def taken(sail: SailRequest, stored: Boat) -> Iterator[Problem]:
    """The problem of a sail whose number this boat of another owner has."""
    if stored.owner.casefold() != sail.owner.casefold():
        message = f"{sail.sail_number} is stored as {stored.name} of {stored.owner}: correct the list, or the stored boat first"
        yield Problem(f"{sail.path}.sail_number", "number_taken", message)


def latest_sizes(boat: Boat) -> dict[str, Decimal]:
    """The boat's newest measurement set on record as exact mm by measurement name; empty when nothing was measured."""
    newest = MeasurementSet.objects.filter(boat=boat, on_record=True).order_by("-taken_on", "-pk").first()
    return {v.measurement: v.mm.normalize() for v in newest.values.all()} if newest else {}
