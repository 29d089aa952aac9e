"""The owner's mail address on the page of the boat and over HTTP."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.customers.models import Boat

FIELDS = {"name": "Heron", "owner": "Maud Pellow", "sail_number": "214"}


@pytest.fixture
def heron(db: None) -> Boat:
    return Boat.objects.create(class_code="SK13", email="maud@skerling.example", **FIELDS)


@pytest.fixture
def client(manager: User) -> Client:
    client = Client()
    client.force_login(manager)
    return client


def test_the_page_keeps_an_address_and_shows_one_that_is_none_again(heron: Boat, client: Client) -> None:
    address = f"/boats/{heron.pk}/"
    assert 'value="maud@skerling.example"' in client.get(address).content.decode()
    wrong = client.post(address, FIELDS | {"email": "maud at home", "version": "1"})
    assert (wrong.status_code, 'value="maud at home"' in wrong.content.decode()) == (400, True)
    assert client.post(address, FIELDS | {"email": "pellow@skerling.example", "version": "1"}).status_code == 302
    assert client.post(address, FIELDS | {"email": "late@skerling.example", "version": "1"}).status_code == 409
    assert Boat.objects.get().email == "pellow@skerling.example"


@pytest.mark.parametrize(
    ("label", "sent", "status", "kept"),
    [
        ("a new one", {"email": "new@skerling.example"}, 200, "new@skerling.example"),
        ("left out", {}, 200, "maud@skerling.example"),
        ("taken away", {"email": ""}, 200, ""),
        ("none", {"email": "new@skerling.example\nBcc: all@skerling.example"}, 400, "maud@skerling.example"),
    ],
)
def test_over_http(heron: Boat, client: Client, label: str, sent: dict[str, str], status: int, kept: str) -> None:
    answer = client.put(f"/api/boats/{heron.pk}/", FIELDS | sent, "application/json", headers={"If-Match": '"1"'})
    assert (answer.status_code, Boat.objects.get().email) == (status, kept), label
    if status == 200:
        assert answer.json()["email"] == kept
