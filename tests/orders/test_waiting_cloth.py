"""A roll holds one cloth in one colour: what may be set aside together."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from costing.errors import InputError
from loft.common.errors import Conflict
from loft.orders import selectors, services
from loft.orders.models import Order
from loft.orders.waiting_cloth import cloth_groups
from tests import desk

MIXED = (
    b"boat,owner,sail_number,cloth,colour\n"
    b"Heron,Maud Pellow,214,DW170,white\nSiskin,Gil Ashby,215,DW170,red\nDipper,Jory Thwaite,187,DW170,white\n"
)


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return selectors.order(desk.accepted(manager, MIXED).pk)


def _lots(order: Order) -> list[str]:
    return [line.ticket.lot for line in selectors.order(order.pk).lines.all()]


def test_sails_wait_by_cloth_and_colour_with_the_metres_of_their_lays(order: Order) -> None:
    white, red = cloth_groups(order)
    assert (str(white), white.sails) == ("DW170 white", ("Heron 214", "Dipper 187"))
    assert (str(red), red.sails) == ("DW170 red", ("Siskin 215",))
    laid = [line.quantity for s in desk.paper_of(order).sails for line in s.cost_lines if line.code == "DW170"]
    assert (white.metres, red.metres) == (laid[0] + laid[2], laid[1])


def test_one_roll_is_refused_for_two_colours_until_one_is_named(order: Order, manager: User) -> None:
    with pytest.raises(InputError) as refused:
        services.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    (told,) = refused.value.problems
    assert (told.path, told.code) == ("colour", "several_groups")
    assert "DW170 white (Heron 214, Dipper 187: " in told.message
    assert "DW170 red (Siskin 215: " in told.message
    assert _lots(order) == ["", "", ""]
    services.book_cloth(order=order, roll="R-7", lot="1180", colour="Red", by=manager, now=desk.NOW)
    assert _lots(order) == ["", "1180", ""]
    services.book_cloth(order=order, roll="R-8", lot="1181", by=manager, now=desk.NOW)  # one group is left
    assert _lots(order) == ["1181", "1180", "1181"]
    with pytest.raises(Conflict, match="every sail of"):
        services.book_cloth(order=order, roll="R-9", lot="1182", by=manager, now=desk.NOW)


def test_a_colour_that_no_sail_waits_for_is_refused_over_http(order: Order, manager: User) -> None:
    api = APIClient(headers={"If-Match": "*"})
    api.force_login(manager)
    answer = api.post(f"/api/orders/{order.pk}/cloth/", {"roll": "R-7", "lot": "1180", "cloth": "DW170", "colour": "tan"}, format="json")
    assert (answer.status_code, [d["path"] for d in answer.json()["details"]]) == (400, ["colour"])
    answer = api.post(f"/api/orders/{order.pk}/cloth/", {"roll": "R-7", "lot": "1180", "colour": "white"}, format="json")
    assert (answer.status_code, _lots(order)) == (200, ["1180", "", "1180"])


def test_the_page_has_one_form_for_each_group(order: Order, manager: User, client: Client) -> None:
    client.force_login(manager)
    page = client.get(f"/orders/{order.pk}/").content.decode()
    assert page.count(f'action="/orders/{order.pk}/cloth/"') == 2
    assert f"<b>DW170 red</b>, {cloth_groups(order)[1].metres} m: Siskin 215" in page
    client.post(f"/orders/{order.pk}/cloth/", {"roll": "R-7", "lot": "1180", "cloth": "DW170", "colour": "red"})
    assert _lots(order) == ["", "1180", ""]
