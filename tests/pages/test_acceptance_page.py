"""The customer's page behind the link: it shows, it accepts once, and it tells a stranger nothing."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from loft.jobs.models import Job
from loft.orders import paper, services
from loft.orders.models import Order, Revision
from loft.workshop.models import Ticket
from tests import desk
from tests.pages.conftest import issue_now
from tests.pages.markup import words

YES = {"name": "Hester Lorne", "agreed": "yes"}


def link(revision: Revision) -> str:
    return f"/accept/{desk.token_of(revision)}/"


def test_the_page_shows_what_is_offered_and_what_it_costs(issued: Revision, client: Client) -> None:
    batch = paper.thaw(issued)
    text = words(client.get(link(issued)).content.decode())
    for expected in ("Quote Q-0001", "Heron 214", "Linnet (number to follow)", f"Total {batch.totals.gross:,.2f}", *batch.terms_text):
        assert " ".join(expected.split()) in text
    assert f"Deposit 50 %, due on acceptance {batch.totals.deposit:,.2f}" in text
    assert "Margin" not in text
    assert f"{batch.cost:,.2f}" not in text


def test_the_customer_reads_what_each_of_his_sizes_became(loft: None, manager: User, client: Client) -> None:
    boats = b"boat,owner,sail_number,luff_length,mast_band_distance\nHeron,Maud Pellow,214,5215,5220 mm\n"
    text = words(client.get(link(issue_now(manager, boats))).content.decode())
    short = "mast band distance (P) of 5,220 mm less 40 mm that the relaxed edge stays short of it"
    assert f"You gave: luff length 5,215 mm: it is made 5,180 mm by the {short}; mast band distance (P) 5,220 mm: it decides" in text


def test_nothing_is_kept_indexed_or_passed_on(issued: Revision, client: Client) -> None:
    for path in (link(issued), f"{link(issued)}quote.pdf", "/accept/nothing/"):
        response = client.get(path)
        assert response["Cache-Control"] == "no-store, private", path
        assert response["Referrer-Policy"] == "no-referrer", path
        assert response["X-Robots-Tag"] == "noindex, nofollow", path
        assert not response.cookies, path


def test_opening_the_link_never_accepts(issued: Revision, client: Client) -> None:
    for _ in range(3):
        assert client.get(link(issued)).status_code == 200
        assert client.head(link(issued)).status_code == 200
        assert client.get(f"{link(issued)}?name=Hester&agreed=yes").status_code == 200
    issued.refresh_from_db()
    assert (issued.state, Order.objects.count(), Ticket.objects.count()) == ("issued", 0, 0)


REFUSED = [
    ("no tick", {"name": "Hester Lorne"}, "Tick the box"),
    ("no name", {"name": "  ", "agreed": "yes"}, "Write your name"),
    ("no letters in the name", {"name": "!!", "agreed": "yes"}, "Write your name"),
    ("a very long name", {"name": "x" * 121, "agreed": "yes"}, "at most 120"),
    ("nothing", {}, "Write your name. Also tick the box"),
    ("a bad name and no tick", {"name": "x" * 121}, "at most 120 characters, and no control characters. Also tick the box"),
]


def test_half_a_yes_accepts_nothing_and_keeps_what_was_typed(issued: Revision, client: Client) -> None:
    for what, sent, said in REFUSED:
        answer = client.post(link(issued), sent)
        text = words(answer.content.decode())
        assert (answer.status_code, said in text, "Nothing has been accepted." in text) == (400, True, True), what
    assert 'value="Hester Lorne"' in client.post(link(issued), {"name": "Hester Lorne"}).content.decode()
    issued.refresh_from_db()
    assert (issued.state, Order.objects.count()) == ("issued", 0)


def test_yes_opens_the_order_once_and_every_later_look_shows_its_number(issued: Revision, client: Client) -> None:
    first = client.post(link(issued), YES)
    assert (first.status_code, first["Location"]) == (302, link(issued))
    assert "Thank you: your order is O-0001" in words(client.get(link(issued)).content.decode())
    again = client.post(link(issued), YES | {"name": "Somebody Else"})
    text = words(again.content.decode())
    assert "your order is O-0001" in text
    assert "Hester Lorne accepted quote Q-0001" in text
    assert "Accept and order" not in text
    assert (Order.objects.count(), Ticket.objects.count()) == (1, 2)
    assert Job.objects.filter(key__startswith="order_accepted").count() == 1


def test_a_form_from_a_page_without_referrer_is_taken(issued: Revision) -> None:
    """A browser that was told no-referrer sends "Origin: null" with a form (Fetch standard, "append a request Origin header")."""
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(link(issued), YES, headers={"Origin": "null"}).status_code == 302
    assert Order.objects.count() == 1


def test_declining_is_final_until_a_new_revision(issued: Revision, client: Client) -> None:
    assert client.post(f"{link(issued)}decline/").status_code == 302
    text = words(client.get(link(issued)).content.decode())
    assert "Quote Q-0001 is declined" in text
    assert "Quote Q-0001 is declined" in words(client.post(link(issued), YES).content.decode())
    assert Order.objects.count() == 0


def test_declining_after_acceptance_changes_nothing(accepted: Order, client: Client) -> None:
    assert client.post(f"{link(accepted.revision)}decline/", follow=True).status_code == 200
    assert "your order is O-0001" in words(client.get(link(accepted.revision)).content.decode())
    accepted.revision.refresh_from_db()
    assert accepted.revision.state == "accepted"


def test_declining_needs_a_post(issued: Revision, client: Client) -> None:
    assert client.get(f"{link(issued)}decline/").status_code == 405
    issued.refresh_from_db()
    assert issued.state == "issued"


def test_every_link_that_does_not_open_answers_the_same(loft: None, manager: User, client: Client, settings: Settings) -> None:
    settings.LOFT_LIMITS = settings.LOFT_LIMITS | {"wrong_link": (1000, 600)}  # the guesses below are not what is tested here
    expired = issue_now(manager, now=timezone.now() - timedelta(days=60))
    cancelled = issue_now(manager)
    services.cancel(revision=cancelled, now=timezone.now())
    superseded = issue_now(manager)
    services.revise(quote=superseded.quote, on=desk.TODAY, now=timezone.now())
    cut_short = f"{link(issue_now(manager))[:-2]}/"
    dead = [link(expired), link(cancelled), link(superseded), cut_short, "/accept/x/", f"/accept/{'A' * 43}/", "/accept/%00%ff/"]
    pages = set()
    for path in dead:
        for response in (client.get(path), client.post(path, YES), client.get(f"{path}quote.pdf"), client.post(f"{path}decline/")):
            assert response.status_code == 404, path
            pages.add(response.content)
    assert len(pages) == 1
    assert "This link opens nothing" in words(pages.pop().decode())
    assert Order.objects.count() == 0


def test_the_pdf_is_the_one_that_was_sent(issued: Revision, client: Client) -> None:
    assert client.get(f"{link(issued)}quote.pdf").content == bytes(issued.pdf or b"")


def test_a_private_buyer_sees_prices_with_tax(loft: None, manager: User, client: Client) -> None:
    customer = desk.association(kind="person", buyer="private", name="Maud Pellow")
    revision = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=customer, by=manager), by=manager, now=timezone.now())
    item = paper.thaw(revision).sails[0].items[0]
    assert item.shown_unit_price > item.unit_price
    text = words(client.get(link(revision)).content.decode())
    assert f"{item.shown_unit_price:,.2f} {item.unit_price:,.2f}" in text
