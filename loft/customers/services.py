"""Writes of customers and boats."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from costing.errors import Collector
from loft.common.errors import Conflict, NotFound
from loft.customers.boats_csv import BoatRow
from loft.customers.models import Boat, Customer, MeasuredValue, MeasurementSet


def save_customer(
    *, kind: str, name: str, email: str = "", address: str = "", buyer: str = "private", pk: int | None = None
) -> Customer:
    """Store a new customer, or change the one with this pk; InputError names every field that is wrong, NotFound an unknown pk."""
    customer = _checked(Customer(pk=pk, kind=kind, name=name.strip(), email=email.strip(), address=address.strip(), buyer=buyer))
    if pk is not None and not Customer.objects.filter(pk=pk).exists():
        raise NotFound(f"There is no customer {pk}.")
    customer.save()
    return customer


def new_customer(*, kind: str, name: str, email: str = "", address: str = "", buyer: str = "private") -> Customer:
    """A new customer, checked and not stored: that happens with the first quote. InputError names every field that is wrong."""
    return _checked(Customer(kind=kind, name=name.strip(), email=email.strip(), address=address.strip(), buyer=buyer))


def save_boats(*, class_code: str, rows: Sequence[BoatRow], taken_on: date, how: str = "") -> tuple[Boat, ...]:
    """Store the boats of a list, and a measurement set for each that gives sizes; all of them or none.

    A boat that is stored already is found by its number, or by name and owner while its number is to follow. InputError for every
    number that another boat has.
    """
    boats, new = _stored_or_new(class_code, rows)
    with transaction.atomic(savepoint=False):
        Boat.objects.bulk_create(new)
        sets = [(MeasurementSet(boat=b, taken_on=taken_on, how=how), row) for b, row in zip(boats, rows, strict=True) if row.written]
        MeasurementSet.objects.bulk_create(s for s, _ in sets)
        MeasuredValue.objects.bulk_create(
            MeasuredValue(measurement_set=kept, measurement=name, printed=length.text.strip(), unit=length.unit, mm=length.mm)
            for kept, row in sets
            for name, length in row.written.items()
        )
    return boats


def give_number(*, class_code: str, name: str, owner: str, number: str) -> None:
    """Give a boat the sail number that was to follow; Conflict when another boat of the class has it. A boat that is not stored stays so."""
    waiting = Boat.objects.filter(class_code=class_code, sail_number=None, name__iexact=name, owner__iexact=owner)
    taken = Boat.objects.filter(class_code=class_code, sail_number=number).first()
    if taken is not None and _identity(None, taken.name, taken.owner) != _identity(None, name, owner):
        raise Conflict(f"sail number {number} belongs to {taken.name} of {taken.owner}")
    if taken is None:
        waiting.update(sail_number=number)


def _checked(customer: Customer) -> Customer:
    wrong = Collector()
    try:
        customer.clean_fields()
    except ValidationError as error:
        for field, messages in error.message_dict.items():
            wrong.add(field, "invalid", " ".join(messages))
    wrong.raise_if_any()
    return customer


def _stored_or_new(class_code: str, rows: Sequence[BoatRow]) -> tuple[tuple[Boat, ...], list[Boat]]:
    """A boat for each row, two rows for one boat get the same one; and those of them that are not stored yet."""
    numbers = [row.sail.sail_number for row in rows if row.sail.sail_number]
    stored = Boat.objects.filter(Q(sail_number__in=numbers) | Q(sail_number=None), class_code=class_code)
    known = {_identity(b.sail_number, b.name, b.owner): b for b in stored}
    wrong, boats, new = Collector(), [], []
    for sail in (row.sail for row in rows):
        identity = _identity(sail.sail_number, sail.boat, sail.owner)
        boat = known.get(identity)
        if boat is None:
            boat = known[identity] = Boat(class_code=class_code, sail_number=sail.sail_number, name=sail.boat, owner=sail.owner)
            new.append(boat)
        elif boat.owner.casefold() != sail.owner.casefold():
            message = f"{sail.sail_number} is stored as {boat.name} of {boat.owner}: correct the list, or the stored boat first"
            wrong.add(f"{sail.path}.sail_number", "number_taken", message)
        boats.append(boat)
    wrong.raise_if_any()
    return tuple(boats), new


def _identity(number: str | None, name: str, owner: str) -> tuple[str, ...]:
    return (number,) if number else (name.casefold(), owner.casefold())
