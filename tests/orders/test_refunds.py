"""Money owed back: a change that leaves less to pay than was paid, and what the office records as paid back."""

from __future__ import annotations

import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from rest_framework.test import APIClient

from costing.errors import InputError
from loft.common import selectors as common
from loft.common.errors import Conflict
from loft.common.models import AuditEntry
from loft.orders import order_papers, paper, selectors, services
from loft.orders.models import Order, Payment
from loft.workshop.models import Requirement
from tests import desk
from tests.documents import reading
from tests.orders.test_changes import LATER, changed_list, fresh, issued, sign


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager)


def paid_in_full(order: Order, by: User) -> Order:
    services.record_payment(order=order, amount=Decimal(order.gross_minor) / 100, received_on=desk.TODAY, by=by, now=desk.NOW)
    return fresh(order)


def overpaid(order: Order, by: User) -> tuple[Order, Decimal]:
    """The order, paid in full and then changed to less; and what is owed back."""
    paid_in_full(order, by)
    sign(issued(order, by))
    changed = fresh(order)
    owed = Decimal(order.gross_minor - changed.gross_minor) / 100
    assert owed > 0
    return changed, owed


def back(order: Order, amount: Decimal, by: User) -> Payment:
    return services.record_refund(order=order, amount=amount, paid_on=desk.TODAY, by=by, now=LATER, reference="BACS 18")


def test_the_paper_of_a_change_says_what_is_owed_back(order: Order, manager: User) -> None:
    paid_in_full(order, manager)
    change = issued(order, manager)
    was, now = Decimal(order.gross_minor) / 100, Decimal(change.gross_minor) / 100
    text = reading.text(bytes(change.pdf or b""))
    assert "What changes" in text
    assert f"total with tax {was:,.2f} {now:,.2f}" in text
    assert f"received so far {was:,.2f} {was:,.2f}" in text
    assert "still to pay 0.00 0.00" in text
    assert f"owed back 0.00 {was - now:,.2f}" in text
    assert f"You have paid GBP {was - now:,.2f} more than the order comes to with this change: we pay it back once" in text
    assert "Deposit, as it was asked for with the order" in text
    assert "due on acceptance" not in text


def test_the_paper_of_a_charged_change_names_the_fee_and_what_is_left(order: Order, manager: User) -> None:
    from tests.orders.test_changes import release

    services.record_payment(order=order, amount=Decimal("100.00"), received_on=desk.TODAY, by=manager, now=desk.NOW)
    release(order, manager)
    change = issued(order, manager, "214,,,window", "214,,,window; no tell_tales")
    text = reading.text(bytes(change.pdf or b""))
    assert "Heron 214 fee for the change – net 18.00" in text
    was, now = (Decimal(minor) / 100 for minor in (order.gross_minor, change.gross_minor))
    assert f"still to pay {was - 100:,.2f} {now - 100:,.2f}" in text
    assert "owed back" not in text
    assert paper.balance(change) == paper.Balance(was, now, Decimal("100.00"))


def test_a_reprint_counts_what_was_received_when_it_was_issued(order: Order, manager: User) -> None:
    first = issued(order, manager)
    services.record_payment(order=order, amount=Decimal("50.00"), received_on=desk.TODAY, by=manager, now=LATER.replace(hour=20))
    services.cancel(revision=first, now=LATER, by=manager)
    assert "received so far 0.00 0.00" in reading.text(paper.quote_pdf(first, common.loft_profile()))


def test_it_is_paid_back_with_a_paper_a_letter_and_an_entry(order: Order, manager: User) -> None:
    changed, owed = overpaid(order, manager)
    refund = back(changed, owed, manager)
    assert (refund.amount_minor, fresh(order).paid_minor) == (-int(owed * 100), changed.gross_minor)  # type: ignore[attr-defined]
    text = reading.text(order_papers.receipt_pdf(selectors.payment(order_pk=order.pk, pk=refund.pk), common.loft_profile()))
    for words in (
        "Refund O-0001-P2", f"Paid back to you: GBP {owed:,.2f}, which was paid beyond what order O-0001 comes to.", "no credit note",
        f"Paid so far {changed.gross_minor / 100:,.2f} of {changed.gross_minor / 100:,.2f}; still open GBP 0.00.", f"{owed / 6:,.2f}",
    ):  # fmt: skip
        assert words in text, words
    letter = desk.sent(f"refund_paid:{refund.pk}")
    assert letter["Subject"] == "Refund O-0001-P2 from Larkfield Sail Loft"
    assert [part.get_filename() for part in letter.iter_attachments()] == ["refund-O-0001-P2.pdf"]
    entry = AuditEntry.objects.get(action="record_refund")
    assert (entry.who, entry.after["amount_minor"], entry.personal.after) == ("manager", refund.amount_minor, {"reference": "BACS 18"})


@pytest.mark.parametrize(("label", "more"), [("a penny too much", "0.01"), ("not a whole penny", "-0.001")])
def test_no_more_is_paid_back_than_is_owed(order: Order, manager: User, label: str, more: str) -> None:
    changed, owed = overpaid(order, manager)
    with pytest.raises(InputError) as refused:
        back(changed, owed + Decimal(more), manager)
    assert [p.path for p in refused.value.problems] == ["amount"], label
    assert Payment.objects.count() == 1


def test_where_nothing_is_owed_nothing_is_paid_back(order: Order, manager: User) -> None:
    changed, owed = overpaid(order, manager)
    back(changed, owed, manager)
    with pytest.raises(InputError, match="nothing is owed back on O-0001"):
        back(changed, Decimal("0.01"), manager)
    with pytest.raises(InputError, match="nothing is still open"):
        services.record_payment(order=fresh(order), amount=Decimal("0.01"), received_on=desk.TODAY, by=manager, now=LATER)


def test_what_was_paid_on_a_cancelled_order_may_be_paid_back(order: Order, manager: User) -> None:
    services.record_payment(order=order, amount=Decimal("100.00"), received_on=desk.TODAY, by=manager, now=desk.NOW)
    services.cancel_order(order=fresh(order), reason="the boat is sold", now=LATER, by=manager)
    with pytest.raises(InputError, match=r"at most GBP 100\.00 is owed back"):
        back(fresh(order), Decimal("100.01"), manager)
    back(fresh(order), Decimal("100.00"), manager)
    assert fresh(order).paid_minor == 0  # type: ignore[attr-defined]


def test_a_payment_of_nothing_is_refused_by_the_database(order: Order) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Payment.objects.create(order=order, amount_minor=0, received_on=desk.TODAY, recorded_at=desk.NOW)


def test_a_deposit_is_never_more_than_its_order_and_what_is_there_counts(order: Order, manager: User) -> None:
    """A deposit of the whole order, paid but for a pound; the change takes more than that off, and no ticket waits for it any longer."""
    Order.objects.filter(pk=order.pk).update(deposit_minor=order.gross_minor)
    services.record_payment(
        order=fresh(order), amount=Decimal(order.gross_minor - 100) / 100, received_on=desk.TODAY, by=manager, now=desk.NOW
    )
    assert Requirement.objects.filter(kind="deposit", met_at=None).count() == 2
    change = services.draft_change(order=fresh(order), boats=changed_list(order, "window", "no window"), now=LATER, by=manager)
    sign(services.issue(revision=change, by=manager, now=LATER))
    now = fresh(order)
    assert now.deposit_minor == now.gross_minor < order.gross_minor - 100
    assert not Requirement.objects.filter(kind="deposit", met_at=None).exists()


@pytest.fixture
def api(manager: User) -> APIClient:
    client = APIClient()
    client.force_login(manager)
    return client


def test_the_api_shows_a_negative_balance_and_settles_it_once(order: Order, manager: User, api: APIClient) -> None:
    _, owed = overpaid(order, manager)
    path, key = f"/api/orders/{order.pk}/", uuid.uuid4().hex
    assert api.get(path).json()["money"]["open"] == f"{-owed:.2f}"

    def send(amount: str, key: str) -> Any:
        return api.post(f"{path}refunds/", {"amount": amount, "paid_on": "2026-03-02"}, format="json", headers={"Idempotency-Key": key})

    made, again = send(str(owed), key), send(str(owed), key)
    assert (made.status_code, made.json()["amount"], again["Idempotent-Replay"]) == (201, f"{-owed:.2f}", "true")
    assert api.get(path).json()["money"]["open"] == "0.00"
    assert send("1.00", uuid.uuid4().hex).status_code == 400
    assert Payment.objects.count() == 2


def test_a_payment_counts_against_the_order_as_it_is_stored(order: Order, manager: User) -> None:
    """Read before a change was signed that leaves less to pay, and before the order was cancelled."""
    read = fresh(order)
    sign(issued(order, manager))
    with pytest.raises(InputError, match="that is more than O-0001 comes to"):
        paid_in_full(read, manager)
    services.cancel_order(order=fresh(order), reason="no boat", now=LATER, by=manager)
    with pytest.raises(Conflict, match="cancelled"):
        services.record_payment(order=read, amount=Decimal("1.00"), received_on=desk.TODAY, by=manager, now=LATER)
    assert not Payment.objects.exists()
