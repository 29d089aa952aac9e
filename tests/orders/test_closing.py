"""How an order ends: delivered sail by sail, or cancelled with a reason."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from costing.errors import InputError
from loft.common import selectors as common
from loft.common.errors import Conflict, NotAllowed, Stale
from loft.orders import order_papers, selectors, services
from loft.orders.models import Order, OrderLine
from loft.workshop.models import Ticket
from tests import desk
from tests.documents import reading

LATER = desk.NOW + timedelta(days=1)


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    """Two sails, Heron 214 and Linnet."""
    return selectors.order(desk.accepted(manager).pk)


def _line(order: Order, position: int) -> OrderLine:
    return selectors.line(order_pk=order.pk, position=position)


def _make(order: Order, *positions: int) -> None:
    """Ready, as if every step had been done."""
    done = {"state": "ready", "released_at": desk.NOW, "started_at": desk.NOW, "ready_at": desk.NOW}
    Ticket.objects.filter(line__order=order, line__position__in=positions).update(**done)


def _states(order: Order) -> list[str]:
    row = selectors.order(order.pk)
    return [row.state, *(line.state for line in row.lines.all())]


def test_the_order_is_delivered_with_its_last_sail(order: Order, manager: User) -> None:
    _make(order, 1)
    with pytest.raises(Conflict, match="O-0001-02 cannot leave: it is held"):
        services.deliver_line(line=_line(order, 2), now=desk.NOW, by=manager)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    assert _states(order) == ["open", "delivered", "held"]
    with pytest.raises(Conflict, match="O-0001-01 has left already"):
        services.deliver_line(line=_line(order, 1), now=LATER, by=manager)
    _make(order, 2)
    services.deliver_line(line=_line(order, 2), now=LATER, by=manager)
    assert _states(order) == ["delivered", "delivered", "delivered"]
    row = Order.objects.get(pk=order.pk)
    assert (row.delivered_at, _line(order, 1).delivered_at) == (LATER, desk.NOW)
    with pytest.raises(Conflict):
        services.deliver_line(line=_line(order, 2), now=LATER, by=manager)


def test_the_rest_leaves_together_and_keeps_the_day_of_what_left_before(order: Order, manager: User) -> None:
    _make(order, 1, 2)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    services.deliver(order=order, now=LATER, by=manager)
    assert [_line(order, n).delivered_at for n in (1, 2)] == [desk.NOW, LATER]
    assert _states(order)[0] == "delivered"


def test_a_scrapped_sail_does_not_hold_the_order_open(order: Order, manager: User) -> None:
    services.set_due_date(order=order, due_on=desk.TODAY, by=manager)
    _make(order, 1)
    Ticket.objects.filter(line__order=order, line__position=2).update(state="scrapped", scrapped_at=desk.NOW)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    assert _states(order) == ["delivered", "delivered", "scrapped"]


def test_an_order_of_which_nothing_was_made_cannot_be_delivered(order: Order, manager: User) -> None:
    Ticket.objects.filter(line__order=order).update(state="scrapped", scrapped_at=desk.NOW)
    with pytest.raises(Conflict, match="no sail of O-0001 was made"):
        services.deliver(order=order, now=desk.NOW, by=manager)
    assert _states(order)[0] == "open"


def test_a_cancelled_order_keeps_its_reason_and_its_finished_sail(order: Order, manager: User, cutter: User) -> None:
    _make(order, 1)
    with pytest.raises(InputError):
        services.cancel_order(order=order, reason="  ", now=desk.NOW, by=manager)
    with pytest.raises(NotAllowed):
        services.cancel_order(order=order, reason="the fleet was sold", now=desk.NOW, by=cutter)
    services.cancel_order(order=order, reason=" the fleet was sold ", now=desk.NOW, by=manager)
    assert _states(order) == ["cancelled", "ready", "scrapped"]
    assert Order.objects.get(pk=order.pk).cancel_reason == "the fleet was sold"
    for again in (services.deliver, lambda **more: services.cancel_order(reason="again", **more)):
        with pytest.raises(Conflict):
            again(order=selectors.order(order.pk), now=LATER, by=manager)


def test_what_left_cannot_be_cancelled(order: Order, manager: User) -> None:
    _make(order, 1)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match="O-0001-01 left already"):
        services.cancel_order(order=selectors.order(order.pk), reason="too late", now=desk.NOW, by=manager)
    assert _states(order) == ["open", "delivered", "held"]


def test_the_delivery_note_is_of_what_leaves_now(order: Order, manager: User) -> None:
    _make(order, 1, 2)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    profile = common.loft_profile()
    rest = reading.text(order_papers.delivery_note_pdf(selectors.order(order.pk), profile))
    assert ("Heron 214" in rest, "Linnet" in rest, "1 of 2" in rest) == (False, True, True)
    services.deliver_line(line=_line(order, 2), now=LATER, by=manager)
    after = reading.text(order_papers.delivery_note_pdf(selectors.order(order.pk), profile))
    assert ("Heron 214" in after, "Linnet" in after, "03 Mar 2026" in after) == (False, True, True)


def test_the_page_and_the_api_deliver_one_sail(order: Order, manager: User) -> None:
    _make(order, 1, 2)
    page, api = Client(), APIClient()
    page.force_login(manager)
    api.force_login(manager)
    place = f"/api/orders/{order.pk}/"
    tag = api.get(place)["ETag"]
    seen = tag.strip('"')
    assert page.get(f"/orders/{order.pk}/").content.decode().count("It has left") == 2
    done = page.post(f"/orders/{order.pk}/lines/1/deliver/", {"version": seen}, follow=True).content.decode()
    assert "Heron 214 is delivered." in done
    assert done.count("It has left") == 1
    assert api.post(f"{place}lines/2/deliver/").status_code == 428
    assert api.post(f"{place}lines/2/deliver/", headers={"If-Match": tag}).status_code == 412
    left = api.post(f"{place}lines/2/deliver/", headers={"If-Match": "*"}).json()
    assert (left["state"], [line["state"] for line in left["lines"]]) == ("delivered", ["delivered", "delivered"])
    assert api.post(f"{place}cancel/", {"reason": "no"}, format="json", headers={"If-Match": "*"}).status_code == 409


def test_the_api_cancels_with_a_reason(order: Order, manager: User) -> None:
    api = APIClient()
    api.force_login(manager)
    assert api.post(f"/api/orders/{order.pk}/cancel/", {}, format="json", headers={"If-Match": "*"}).status_code == 400
    done = api.post(f"/api/orders/{order.pk}/cancel/", {"reason": "sold"}, format="json", headers={"If-Match": "*"}).json()
    assert (done["state"], done["cancel_reason"], {line["state"] for line in done["lines"]}) == ("cancelled", "sold", {"scrapped"})
    with pytest.raises(Stale):
        services.deliver(order=selectors.order(order.pk), now=LATER, by=manager, version=1)


def test_several_sails_of_one_boat_are_lines_of_their_own(loft: None, manager: User) -> None:
    two = b"boat,owner,sail_number,options\nHeron,Maud Pellow,to follow,window\nHeron,Maud Pellow,to follow,\n"
    order = selectors.order(desk.accepted(manager, two).pk)
    lines = list(order.lines.all())
    assert [(line.boat, line.owner) for line in lines] == [("Heron", "Maud Pellow")] * 2
    assert len({line.ticket.number for line in lines}) == 2
    _make(order, 1)
    services.deliver_line(line=_line(order, 1), now=desk.NOW, by=manager)
    assert _states(order) == ["open", "delivered", "held"]
