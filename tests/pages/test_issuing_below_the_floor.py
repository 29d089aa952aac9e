"""Below the margin floor it takes a reason and a manager, on the page, over HTTP and in the service."""

from __future__ import annotations

import uuid

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from loft.common.errors import NotAllowed
from loft.orders import services
from loft.orders.models import Quote, Revision
from tests import desk

REASON = "prize for the open meeting"


@pytest.fixture
def below(loft: None, manager: User) -> Revision:
    row = desk.draft(desk.ONE_BOAT, by=manager)
    Revision.objects.filter(pk=row.pk).update(below_floor=True)
    return Revision.objects.select_related("quote__customer").get(pk=row.pk)


def test_the_office_is_sent_to_a_manager(below: Revision, office: User) -> None:
    page, api = Client(), APIClient()
    page.force_login(office)
    api.force_login(office)
    place = f"/quotes/{below.quote_id}/"
    assert "a manager issues it, with a reason" in page.get(place).content.decode()
    assert page.post(f"{place}issue/", {"reason": REASON, "revision": "1"}).status_code == 403
    refused = api.post(
        f"/api{place}issue/", {"reason": REASON}, format="json", headers={"If-Match": "*", "Idempotency-Key": uuid.uuid4().hex}
    )
    assert (refused.status_code, refused.json()["code"]) == (403, "not_allowed")
    with pytest.raises(NotAllowed):
        services.issue(revision=below, by=office, now=desk.NOW, reason=REASON)
    assert (Revision.objects.get().state, Quote.objects.get().number) == ("draft", None)


def test_a_manager_needs_the_reason(below: Revision, manager: User) -> None:
    page = Client()
    page.force_login(manager)
    place = f"/quotes/{below.quote_id}/"
    assert 'name="reason"' in page.get(place).content.decode()
    assert page.post(f"{place}issue/", {"reason": " ", "revision": "1"}).status_code == 400
    assert page.post(f"{place}issue/", {"reason": REASON, "revision": "1"}).status_code == 302
    row = Revision.objects.get()
    assert (row.state, row.reason) == ("issued", REASON)


def test_above_the_floor_the_office_issues(loft: None, office: User) -> None:
    row = desk.draft(desk.ONE_BOAT, by=office)
    assert services.issue(revision=row, by=office, now=desk.NOW).state == "issued"
