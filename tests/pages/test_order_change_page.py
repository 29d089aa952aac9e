"""The page on which an order is changed."""

from __future__ import annotations

import re
from decimal import Decimal
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.orders import order_changes, paper, selectors, services
from loft.orders.models import Order, Revision
from loft.workshop import services as workshop
from loft.workshop.models import Step
from loft.workshop.states import Need
from tests import desk, skerling
from tests.documents import reading


@pytest.mark.django_db
def test_it_shows_what_may_change_and_drafts_the_change(manager: User) -> None:
    desk.load_catalogue()
    order = desk.accepted(manager, desk.ONE_BOAT)
    client = Client()
    client.force_login(manager)
    shown = client.get(f"/orders/{order.pk}/change/").content.decode()
    assert "What may still be changed" in shown and "the colour" in shown
    form = {"boats": "boat,owner,sail_number,options\nHeron,Maud Pellow,214,window\n", "idempotency_key": "one-change", "version": "1"}
    assert client.post(f"/orders/{order.pk}/change/", form).status_code == 302
    assert Revision.objects.get(revision=2).change is True


def changed_now(order: Order, by: User, old: str, new: str) -> Revision:
    """A change of an order, issued a moment ago, as pages read the clock."""
    boats = order_changes.current_list(order).decode()
    assert old in boats
    now = timezone.now()
    draft = services.draft_change(order=order, boats=boats.replace(old, new).encode(), now=now, by=by)
    return services.issue(revision=draft, by=by, now=now)


def test_the_customer_sees_what_changes_and_accepts_the_change(accepted: Order, manager: User) -> None:
    change = changed_now(accepted, manager, "214,,,window", "214,,,no window")
    path, customer = f"/accept/{desk.token_of(change)}/", Client()
    page = customer.get(path).content.decode()
    assert "Change of order O-0001" in page
    assert "Accept this change" in page
    assert "By accepting you order" not in page
    was, would_be = paper.thaw(accepted.revision).totals.gross, paper.thaw(change).totals.gross
    assert f"{would_be:,.2f} with tax instead of {was:,.2f}" in page
    assert "Window" in page.split('id="differences"')[1].split("</table>")[0]
    printed = reading.text(customer.get(f"{path}quote.pdf").content)
    assert "Change of order O-0001: until it is accepted, the order stays as it is." in printed
    assert "To accept this change" in printed
    done = customer.post(path, {"name": "Hester Lorne", "agreed": "yes"}, follow=True).content.decode()
    assert "the change of your order" in done
    old = customer.get(f"/accept/{desk.token_of(accepted.revision)}/").content.decode()
    assert "The order has been changed since" in old
    assert "<form" not in old
    assert Order.objects.count() == 1


def test_a_change_that_came_too_late_says_so_and_changes_nothing(accepted: Order, manager: User) -> None:
    ticket = accepted.lines.select_related("ticket").get(position=1).ticket
    change = changed_now(accepted, manager, "214,,,window", "214,,,no window")
    for need in (Need.DEPOSIT, Need.FIT):
        workshop.meet([ticket], need, by="the test", now=timezone.now())
    workshop.book_cloth(tickets=[ticket], roll="R-1", lot="L-1", by=manager, now=timezone.now())
    workshop.start_step(step=Step.objects.get(ticket=ticket, operation="lay_and_cut"), by=manager, now=timezone.now())
    path = f"/accept/{desk.token_of(change)}/"
    answer = Client().post(path, {"name": "Hester Lorne", "agreed": "yes"})
    assert answer.status_code == 409
    assert "This change has come too late: Heron 214: Window can no longer be changed" in answer.content.decode()
    assert Revision.objects.get(pk=change.pk).state == "issued"
    assert Order.objects.get(pk=accepted.pk).revision_id == accepted.revision_id


def test_declining_a_change_leaves_the_order(accepted: Order, manager: User) -> None:
    path = f"/accept/{desk.token_of(changed_now(accepted, manager, '214,,,window', '214,,,no window'))}/"
    page = Client().post(f"{path}decline/", follow=True).content.decode()
    assert "Your order stays as it is" in page
    assert Order.objects.get(pk=accepted.pk).state == "open"


def words(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_page_of_a_change_says_what_is_to_pay_and_what_is_owed_back(accepted: Order, manager: User) -> None:
    was = Decimal(accepted.gross_minor) / 100
    services.record_payment(order=accepted, amount=was, received_on=desk.TODAY, by=manager, now=timezone.now())
    change = changed_now(selectors.order(accepted.pk), manager, "214,,,window", "214,,,no window")
    path, customer = f"/accept/{desk.token_of(change)}/", Client()
    now = Decimal(change.gross_minor) / 100
    page = words(customer.get(path).content.decode())
    assert f"Total with tax {was:,.2f} {now:,.2f} Received so far {was:,.2f} {was:,.2f} Still to pay 0.00 0.00" in page
    assert f"Owed back 0.00 {was - now:,.2f} You have paid GBP {was - now:,.2f} more than the order comes to with this change" in page
    done = words(customer.post(path, {"name": "Hester Lorne", "agreed": "yes"}, follow=True).content.decode())
    assert f"You have paid GBP {was - now:,.2f} more than the order comes to now: we pay it back." in done


def test_the_office_sees_what_is_owed_back_and_settles_it(accepted: Order, at_the_desk: Client, manager: User) -> None:
    services.record_payment(
        order=accepted, amount=Decimal(accepted.gross_minor) / 100, received_on=desk.TODAY, by=manager, now=timezone.now()
    )
    change = changed_now(selectors.order(accepted.pk), manager, "214,,,window", "214,,,no window")
    path = f"/orders/{accepted.pk}/"
    assert "Money was paid back" not in at_the_desk.get(path).content.decode()  # nothing is owed yet
    services.accept(token=desk.token_of(change), name="Hester Lorne", now=timezone.now())
    owed = Decimal(accepted.gross_minor - change.gross_minor) / 100
    page = at_the_desk.get(path).content.decode()
    assert f"Owed back to the customer {owed:,.2f}" in words(page)
    assert f"pay GBP {owed:,.2f} back, and record it here" in words(page)
    assert "Record the payment" not in page
    form = {"amount": str(owed), "paid_on": "2026-03-02", "reference": "BACS 18", "idempotency_key": "paid-back-1"}
    assert at_the_desk.post(f"{path}refunds/", form)["Location"] == f"{path}#payments"
    page = words(at_the_desk.get(path).content.decode())
    assert f"paid back BACS 18 refund +{owed:,.2f} Still open 0.00" in page
    told = at_the_desk.post(f"{path}refunds/", form | {"amount": "1.00", "idempotency_key": "paid-back-2"}, follow=True)
    assert "nothing is owed back on O-0001" in words(told.content.decode())


def test_the_list_and_the_page_of_a_quote_show_the_contract(accepted: Order, at_the_desk: Client, manager: User) -> None:
    page, total = f"/quotes/{accepted.revision.quote_id}/", f"{accepted.gross_minor / 100:,.2f}"

    def listed(query: str = "") -> str:
        return words(at_the_desk.get(f"/quotes/{query}").content.decode())

    change = changed_now(accepted, manager, "214,,,window", "214,,,no window")
    assert f"accepted a change is issued 2 GBP {total}" in listed()
    assert "Q-0001" in listed("?state=accepted") and "Q-0001" in listed("?state=issued")
    shown = words(at_the_desk.get(page).content.decode())
    assert "This is a change of order O-0001 that waits for the customer's signature. The contract is revision 1" in shown
    assert "What changes in order O-0001" in shown
    contract = words(at_the_desk.get(f"{page}?revision=1").content.decode())
    assert "This is the contract. Revision 2 is a change that is issued and not signed." in contract
    services.cancel(revision=change, now=timezone.now(), by=manager)
    assert f"accepted 2 GBP {total}" in listed()
    assert "No quote is in this state" in listed("?state=cancelled")
    shown = at_the_desk.get(page).content.decode()
    assert "Quote Q-0001 accepted" in words(shown)
    assert "Revise</a>" not in shown
    came_to_nothing = words(at_the_desk.get(f"{page}?revision=2").content.decode())
    assert "This is a change of order O-0001 that came to nothing. The contract is revision 1" in came_to_nothing
    signed = changed_now(selectors.order(accepted.pk), manager, "214,,,window", "214,,,window; no tell_tales")
    services.accept(token=desk.token_of(signed), name="Hester Lorne", now=timezone.now())
    assert f"revision 3 {skerling.CUSTOMER} accepted 2 GBP {signed.gross_minor / 100:,.2f}" in listed()
    assert "Quote Q-0001, revision 3 accepted" in words(at_the_desk.get(page).content.decode())
    assert selectors.count_by_state() == {"accepted": 1}
