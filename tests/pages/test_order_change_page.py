"""The page on which an order is changed."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.orders.models import Revision
from tests import desk


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
