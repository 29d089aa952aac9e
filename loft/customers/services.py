"""Writes of customers and boats."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TypeVar

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F, Q

from costing.errors import Collector
from loft.common import audit, idempotency, policies, versions
from loft.common.errors import Conflict, NotFound
from loft.customers import selectors
from loft.customers.boats_csv import BoatRow
from loft.customers.models import Boat, Customer, MeasuredValue, MeasurementSet

_Row = TypeVar("_Row", Customer, Boat)
# What letters' subjects and papers print on one line.
_ONE_LINE = ("name", "owner", "sail_number", "tax_exempt")

#: What of a customer says who that is; the audit keeps it apart, until it is erased.
PERSONAL = ("name", "email", "address")


def save_customer(
    *, kind: str, name: str, email: str = "", address: str = "", buyer: str = "private", pk: int | None = None, made_at: str = "",
    by: User | None = None, version: int | None = None, tax_exempt: str | None = None,
) -> Customer:  # fmt: skip
    """Store a new customer, or change the one with this pk; InputError names every field that is wrong, NotFound an unknown pk.

    tax_exempt: why no tax is charged, empty where it is; what is stored when left out.
    made_at: where a new customer will be found ("/api/customers/{}/"), noted for a request that is sent twice. version: the one that the
    change was decided on; Stale when there is a later one.
    """
    policies.require(by, "edit_customers")
    if tax_exempt is None:
        tax_exempt = "" if pk is None else Customer.objects.filter(pk=pk).values_list("tax_exempt", flat=True).first() or ""
    customer = _checked(
        Customer(
            pk=pk, kind=kind, name=name.strip(), email=email.strip(), address=address.strip(), buyer=buyer, tax_exempt=tax_exempt.strip()
        )
    )  # fmt: skip
    if pk is not None:
        return _change(customer, by, version)
    with transaction.atomic():
        store_new(customer, by=by)
        if made_at:
            idempotency.made(made_at.format(customer.pk))
    return customer


def store_new(customer: Customer, *, by: User | None) -> None:
    """Store a checked customer; call it inside the transaction that needs it."""
    customer.save(force_insert=True)
    audit.record("create", customer, by=by, after=audit.values(customer, *Customer.EDITED), personal=PERSONAL)


def _change(asked: Customer, by: User | None, version: int | None) -> Customer:
    stored = Customer.objects.filter(pk=asked.pk).first()
    if stored is None:
        raise NotFound(f"There is no customer {asked.pk}.")
    if stored.erased_at is not None:
        raise Conflict("this customer's data was erased: enter a new customer")
    before, after = audit.values(stored, *Customer.EDITED), audit.values(asked, *Customer.EDITED)
    with transaction.atomic():
        versions.take(stored, version)
        Customer.objects.filter(pk=asked.pk).update(**after)
        audit.record("change", stored, by=by, before=before, after=after, personal=PERSONAL)
    stored.refresh_from_db()
    return stored


def save_boat(
    *, pk: int, name: str, owner: str, sail_number: str, by: User | None, email: str | None = None, version: int | None = None
) -> Boat:
    """Correct a boat; an empty number is to follow. InputError names every field that is wrong, Conflict a number that another boat has.

    email: the owner's address, empty for none; what is stored when left out.
    """
    policies.require(by, "edit_customers")
    stored = Boat.objects.filter(pk=pk).first()
    if stored is None:
        raise NotFound(f"There is no boat {pk}.")
    mail = stored.email if email is None else email.strip()
    number = sail_number.strip() or None
    asked = _checked(Boat(pk=pk, class_code=stored.class_code, name=name.strip(), owner=owner.strip(), sail_number=number, email=mail))
    before, after = audit.values(stored, *Boat.EDITED), audit.values(asked, *Boat.EDITED)
    try:
        with transaction.atomic():
            versions.take(stored, version)
            Boat.objects.filter(pk=pk).update(**after)
            audit.record("change", stored, by=by, before=before, after=after, personal=Boat.EDITED)
    except IntegrityError as error:
        raise Conflict(f"sail number {sail_number.strip()} belongs to another boat of the class") from error
    stored.refresh_from_db()
    return stored


def new_customer(*, kind: str, name: str, email: str = "", address: str = "", buyer: str = "private") -> Customer:
    """A new customer, checked and not stored: that happens with the first quote. InputError names every field that is wrong."""
    return _checked(Customer(kind=kind, name=name.strip(), email=email.strip(), address=address.strip(), buyer=buyer))


def save_boats(
    *, class_code: str, rows: Sequence[BoatRow], taken_on: date, how: str = "", by: User | None = None,
    doubts: Mapping[str, Sequence[str]] | None = None, new_addresses: bool = True, of_list: str = "",
) -> tuple[Boat, ...]:  # fmt: skip
    """Store the boats of a list, and a measurement set for each that gives sizes; all of them or none.

    doubts: what in a row is hard to believe, by the row's path; kept with its set. new_addresses: an address in the list takes the place
    of the one that is kept; otherwise it only fills a place that is empty, as an old list does that is priced again. of_list: which draft's
    list it is: its sets are not on record before `put_on_record`.

    A boat that is stored already is found by its number, or by name and owner while its number is to follow. InputError for every
    number that another boat has.
    """
    boats, new = _stored_or_new(class_code, rows)
    with transaction.atomic(savepoint=False):
        Boat.objects.bulk_create(new)
        audit.record_all("create", new, by=by)
        _keep_addresses(_addressed(boats, rows, new_addresses), by)
        of_row, given = doubts or {}, [(b, row) for b, row in zip(boats, rows, strict=True) if row.written]
        sets = [(_measurement_set(b, row, taken_on, how, of_row.get(row.sail.path, ()), of_list), row) for b, row in given]
        MeasurementSet.objects.bulk_create(s for s, _ in sets)
        MeasuredValue.objects.bulk_create(
            MeasuredValue(measurement_set=kept, measurement=name, printed=length.text.strip(), unit=length.unit, mm=length.mm)
            for kept, row in sets
            for name, length in row.written.items()
        )
    return boats


def _addressed(boats: Sequence[Boat], rows: Sequence[BoatRow], renew: bool) -> dict[int, tuple[Boat, str]]:
    """The boats whose address a list changes, by primary key, each with the address to keep."""
    given = ((boat, row.email) for boat, row in zip(boats, rows, strict=True) if row.email)
    return {boat.pk: (boat, email) for boat, email in given if email != boat.email and (renew or not boat.email)}


def _keep_addresses(wanted: Mapping[int, tuple[Boat, str]], by: User | None) -> None:
    with audit.together():
        for boat, email in wanted.values():
            audit.record("keep_address", boat, by=by, before={"email": boat.email}, after={"email": email}, personal=["email"])
            boat.email, boat.version = email, F("version") + 1  # the form of the boat may be open meanwhile
    if wanted:
        Boat.objects.bulk_update([boat for boat, _ in wanted.values()], ["email", "version"])


def put_on_record(*, of_list: str) -> None:
    """The sets of a draft's list count as their boats' from now on; call it inside the transaction that issues the draft."""
    MeasurementSet.objects.filter(of_list=of_list, on_record=False).update(on_record=True)


def _measurement_set(boat: Boat, row: BoatRow, taken_on: date, how: str, doubts: Sequence[str], of_list: str) -> MeasurementSet:
    """The same name (a luff, say) means another size on another sail: a set says which sail's it is where the list does."""
    named = f"{how}: {row.sail.pattern}" if row.sail.pattern else how
    return MeasurementSet(boat=boat, taken_on=taken_on, how=named, doubts=list(doubts), of_list=of_list, on_record=not of_list)


def give_number(*, class_code: str, name: str, owner: str, number: str, by: User | None = None) -> None:
    """Give a boat the sail number that was to follow; Conflict when another boat of the class has it.

    A boat that is not stored stays so.
    """
    waiting = Boat.objects.filter(class_code=class_code, sail_number=None, name__iexact=name, owner__iexact=owner)
    taken = Boat.objects.filter(class_code=class_code, sail_number=number).first()
    if taken is not None and _identity(None, taken.name, taken.owner) != _identity(None, name, owner):
        raise Conflict(f"sail number {number} belongs to {taken.name} of {taken.owner}")
    if taken is None:
        found = list(waiting)
        waiting.update(sail_number=number, version=F("version") + 1)
        for boat in found:
            audit.record("give_sail_number", boat, by=by, after={"sail_number": number}, personal=["sail_number"])


def _checked(row: _Row) -> _Row:
    wrong = Collector()
    try:
        row.clean_fields()
    except ValidationError as error:
        for field, messages in error.message_dict.items():
            wrong.add(field, "invalid", " ".join(messages))
    for field in _ONE_LINE:
        if any(unicodedata.category(c) == "Cc" for c in getattr(row, field, None) or ""):
            wrong.add(field, "control_character", "has a line break, a tab or another character that cannot be printed")
    wrong.raise_if_any()
    return row


def _stored_or_new(class_code: str, rows: Sequence[BoatRow]) -> tuple[tuple[Boat, ...], list[Boat]]:
    """A boat for each row, two rows for one boat get the same one; and those of them that are not stored yet."""
    numbers = [row.sail.sail_number for row in rows if row.sail.sail_number]
    stored = Boat.objects.filter(Q(sail_number__in=numbers) | Q(sail_number=None), class_code=class_code)
    known = {_identity(b.sail_number, b.name, b.owner): b for b in stored}
    wrong, boats, new = Collector(), [], []
    for row in rows:
        sail = row.sail
        identity = _identity(sail.sail_number, sail.boat, sail.owner)
        boat = known.get(identity)
        if boat is None:
            boat = Boat(class_code=class_code, sail_number=sail.sail_number, name=sail.boat, owner=sail.owner, email=row.email)
            known[identity] = boat
            new.append(boat)
        else:
            wrong.extend(selectors.taken(sail, boat))
        boats.append(boat)
    wrong.raise_if_any()
    return tuple(boats), new


def _identity(number: str | None, name: str, owner: str) -> tuple[str, ...]:
    return (number,) if number else (name.casefold(), owner.casefold())
