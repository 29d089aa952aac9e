"""The page of an association's member: his own sail, no price, and a link that opens nothing else."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from loft.common import logs
from loft.common.models import AuditEntry
from loft.orders import links, paper, selectors, services
from loft.orders.models import Order, OrderLine
from loft.workshop.models import Requirement
from tests import desk
from tests.pages.conftest import issue_now
from tests.pages.markup import words


@pytest.fixture(autouse=True)
def _enough_guesses(settings: object) -> None:
    """These tests guess more than a person does."""
    settings.LOFT_LIMITS = {**settings.LOFT_LIMITS, "wrong_link": (1000, 60)}  # type: ignore[attr-defined]


def _tokens(order: Order) -> list[str]:
    """Heron's and Linnet's."""
    found = selectors.member_links(selectors.order(order.pk), base_url="http://loft")
    return [address.removeprefix("http://loft/member/").rstrip("/") for _, address in found]


def test_a_member_sees_his_own_sail_and_no_price(accepted: Order, client: Client) -> None:
    _, linnet = _tokens(accepted)
    response = client.get(f"/member/{linnet}/")
    html = response.content.decode()
    assert (response.status_code, response["Referrer-Policy"], "no-store" in response["Cache-Control"]) == (200, "no-referrer", True)
    text = words(html)
    for word in ("Linnet (number to follow)", "Morwenna Fell", "to your boat's own measurements", "Are these your boat's details?"):
        assert word in text, word
    assert ("Heron" in text, "Maud Pellow" in text) == (False, False)
    batch = paper.thaw(accepted.revision)
    for amount in (batch.totals.gross, batch.totals.net, batch.totals.deposit, *(sail.net for sail in batch.sails)):
        assert f"{amount:,}" not in text, amount
    drawing = client.get(f"/member/{linnet}/sail.svg")
    assert (drawing["Content-Type"], drawing.content[:4]) == ("image/svg+xml", b"<svg")


def test_confirming_meets_the_fit_once(accepted: Order, client: Client) -> None:
    _, linnet = _tokens(accepted)
    desk.keep_fit_sheets(accepted)
    line = OrderLine.objects.get(order=accepted, position=2)
    need = Requirement.objects.filter(ticket=line.ticket_id, kind="fit")
    assert need.get().met_at is None
    nameless = client.post(f"/member/{linnet}/", {"name": " "})
    assert (nameless.status_code, need.get().met_at) == (400, None)
    for name in ("Morwenna Fell", "Somebody Else"):
        assert client.post(f"/member/{linnet}/", {"name": name}).status_code == 302
    line.refresh_from_db()
    assert (line.confirmed_name, need.get().met_by) == ("Morwenna Fell", "Morwenna Fell")
    (entry,) = AuditEntry.objects.filter(action="confirm_details")
    assert (entry.who, "Morwenna" in str(entry.after)) == ("the member", False)
    assert "Morwenna Fell confirmed them" in words(client.get(f"/member/{linnet}/").content.decode())


def test_without_a_fit_sheet_the_need_stays_when_the_member_confirms(accepted: Order, client: Client) -> None:
    _, linnet = _tokens(accepted)
    assert client.post(f"/member/{linnet}/", {"name": "Morwenna Fell"}).status_code == 302
    line = OrderLine.objects.get(order=accepted, position=2)
    assert line.confirmed_name == "Morwenna Fell"
    assert Requirement.objects.get(ticket=line.ticket_id, kind="fit").met_at is None


@pytest.mark.parametrize("name", ["Maud\r\nBcc: all@example.org", "x" * 121, "\x00Maud", "…"])
def test_a_name_that_is_none_confirms_nothing(accepted: Order, client: Client, name: str) -> None:
    heron, _ = _tokens(accepted)
    answer = client.post(f"/member/{heron}/", {"name": name})
    stored = OrderLine.objects.get(order=accepted, position=1).confirmed_name
    assert (answer.status_code, stored) == ((302, "Maud Bcc: all@example.org") if "Bcc" in name else (400, ""))


def test_every_other_link_is_the_same_404(accepted: Order, manager: User, client: Client) -> None:
    heron, linnet = _tokens(accepted)
    boats = desk.ONE_BOAT.replace(b"Heron,Maud Pellow,214", b"Plover,Ines Tarn,88")
    customer = desk.association(kind="person", name="Ines Tarn", email="ines@example.org")
    draft = desk.draft(boats, customer=customer, by=manager)
    private = services.accept(
        token=desk.token_of(services.issue(revision=draft, by=manager, now=timezone.now())), name="Ines", now=timezone.now()
    )
    own = private.lines.get()
    nonce = private.revision.link.nonce
    mac = {token: token.partition("-")[2] for token in (heron, linnet)}
    pk = {token: token.partition("-")[0] for token in (heron, linnet)}
    wrong = [
        f"{pk[linnet]}-{mac[heron]}",  # the sail of another member
        f"{own.pk}-{mac[heron]}",  # a sail of another batch
        links.member_token(line=own.pk, order=private.pk, nonce=nonce),  # a customer who is no association
        links.member_token(line=int(pk[heron]), order=accepted.pk, nonce=nonce),  # the nonce of another batch
        heron[:-1], heron + "A", heron[1:], f"0{heron}", f"987654-{mac[heron]}", "9" * 40, f"-{mac[heron]}",
        f"{heron}é", desk.token_of(accepted.revision),
    ]  # fmt: skip
    bodies = set()
    for token in wrong:
        for address in (f"/member/{token}/", f"/member/{token}/sail.svg"):
            answer = client.get(address)
            assert answer.status_code == 404, token
            bodies.add(answer.content)
        assert client.post(f"/member/{token}/", {"name": "Maud"}).status_code == 404, token
    assert len(bodies) == 1
    assert not OrderLine.objects.exclude(confirmed_at=None).exists()
    assert client.get(f"/accept/{heron}/").status_code == 404


def test_nothing_is_confirmed_once_the_order_is_over(accepted: Order, manager: User, client: Client) -> None:
    heron, _ = _tokens(accepted)
    services.cancel_order(order=accepted, reason="the fleet was sold", now=timezone.now(), by=manager)
    assert "there is nothing to confirm" in words(client.get(f"/member/{heron}/").content.decode())
    assert client.post(f"/member/{heron}/", {"name": "Maud"}).status_code == 400
    assert not OrderLine.objects.exclude(confirmed_at=None).exists()


def test_the_desk_passes_the_links_on(accepted: Order, manager: User, at_the_desk: Client, on_the_floor: Client) -> None:
    page = f"/orders/{accepted.pk}/members/"
    html = at_the_desk.get(page).content.decode()
    found = re.findall(r"http://\S+?/member/([^/\s]+)/", html)
    assert found == _tokens(accepted)
    assert "/member/" not in on_the_floor.get(page).content.decode()
    api = APIClient()
    api.force_login(manager)
    rows = api.get(f"/api/orders/{accepted.pk}/member-links/").json()
    assert [(row["owner"], row["confirmed_at"]) for row in rows] == [("Maud Pellow", None), ("Morwenna Fell", None)]
    assert [row["address"].rstrip("/").rpartition("/")[2] for row in rows] == found


def test_the_link_is_in_no_log(accepted: Order) -> None:
    heron, _ = _tokens(accepted)
    assert heron not in logs.masked(f'GET /member/{heron}/ "Mozilla"')


def test_the_link_of_a_new_quote_is_a_new_one(loft: None, manager: User) -> None:
    first, second = issue_now(manager), issue_now(manager, desk.ONE_BOAT.replace(b"214", b"7"))
    nonces = {first.link.nonce, second.link.nonce}
    assert len({links.member_token(line=1, order=1, nonce=nonce) for nonce in nonces}) == 2
