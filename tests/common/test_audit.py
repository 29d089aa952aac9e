"""The audit: written with the write, taken back with it, and never changed."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.db import DatabaseError, connection, transaction

from loft.common import audit, services
from loft.common.models import AuditEntry, AuditPersonal
from loft.customers import services as customers
from loft.customers.models import Customer

pytestmark = pytest.mark.django_db


def customer(by: User | None = None, **changed: str) -> Customer:
    fields = {"kind": "person", "name": "Maud Pellow", "email": "maud@tarn.example", "address": "1 Jetty", "buyer": "private"} | changed
    return customers.save_customer(**fields, by=by)  # type: ignore[arg-type]


def test_who_what_before_and_after_with_the_names_kept_apart(manager: User) -> None:
    made = customer(by=manager)
    customers.save_customer(pk=made.pk, kind="person", name="Maud Wray", email="maud@tarn.example", buyer="trade", by=manager)
    first, second = AuditEntry.objects.filter(subject_kind="customer").order_by("pk")
    assert (first.who, first.by, first.action, first.subject) == ("manager", manager, "create", f"customer {made.pk}")
    assert (second.action, second.before, second.after) == ("change", {"buyer": "private"}, {"buyer": "trade"})
    assert second.personal.before == {"name": "Maud Pellow", "address": "1 Jetty"}
    assert second.personal.after == {"name": "Maud Wray", "address": ""}


@pytest.mark.parametrize(
    ("what", "statement"),
    [
        ("change an entry", "UPDATE common_auditentry SET who = 'somebody else'"),
        ("delete an entry", "DELETE FROM common_auditentry"),
        ("change a personal part", "UPDATE common_auditpersonal SET after = '{}'"),
    ],
)
def test_the_database_refuses_to(manager: User, what: str, statement: str) -> None:
    customer(by=manager)
    before = list(AuditEntry.objects.values()), list(AuditPersonal.objects.values())
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert (list(AuditEntry.objects.values()), list(AuditPersonal.objects.values())) == before, what


def test_the_orm_is_refused_too(manager: User) -> None:
    customer(by=manager)
    for write in (lambda: AuditEntry.objects.update(who="x"), lambda: AuditEntry.objects.filter(personal=None).delete()):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            write()


@pytest.mark.django_db(transaction=True)
def test_truncating_is_refused_where_there_is_such_a_thing(manager: User) -> None:
    if connection.vendor != "postgresql":
        assert connection.vendor == "sqlite"  # it knows no TRUNCATE
        return
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("TRUNCATE common_auditentry CASCADE")


def test_what_is_rolled_back_was_never_noted(manager: User) -> None:
    before = AuditEntry.objects.count()
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        customer(by=manager)
        raise ZeroDivisionError
    assert (AuditEntry.objects.count(), Customer.objects.count()) == (before, 0)


@pytest.mark.django_db(transaction=True)
def test_nothing_is_noted_outside_a_transaction() -> None:
    user = User.objects.create_user("somebody", password="a-long-password")
    with pytest.raises(RuntimeError, match="inside the transaction"):
        audit.record("change", user, by=None)
    services.give_role(user=user, role="office")
    assert list(AuditEntry.objects.values_list("who", "action", "after")) == [("the service", "give_role", {"role": "office"})]


def test_erasing_the_personal_parts_leaves_the_rest(manager: User) -> None:
    made = customer(by=manager)
    other = customer(by=manager, name="Tobias Wray")
    assert audit.forget_personal({"customer": [made.pk]}) == 1
    assert [e.subject for e in AuditEntry.objects.filter(personal=None, subject_kind="customer")] == [f"customer {made.pk}"]
    assert AuditPersonal.objects.get().entry.subject == f"customer {other.pk}"
