"""The page on which an order is changed."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.orders import order_changes, paper, services
from loft.orders.models import Order, Revision
from loft.workshop import services as workshop
from loft.workshop.models import Step
from loft.workshop.states import Need
from tests import desk
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
