"""The order board, an order and its tickets: what is missing is on the screen, and recording it releases the work."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from loft.common import policies
from loft.common.idempotency import FIELD
from loft.common.services import give_role
from loft.orders import services
from loft.orders.models import Order, Payment, Revision
from loft.workshop.models import Step, Ticket
from tests import desk
from tests.pages.conftest import issue_now
from tests.pages.markup import words


def shown(client: Client, path: str) -> str:
    return words(client.get(path).content.decode())


def payment(amount: str, key: str = "payment-0001", **fields: str) -> dict[str, str]:
    return {FIELD: key, "amount": amount, "received_on": "2026-03-05", "reference": "bank 4711"} | fields


def deposit(order: Order) -> str:
    return f"{Decimal(order.deposit_minor).scaleb(-2)}"


def release_all(order: Order, client: Client) -> None:
    """Record on the pages everything that holds the release."""
    client.post(f"/orders/{order.pk}/payments/", payment(deposit(order)))
    client.post(f"/orders/{order.pk}/cloth/", {"roll": "R-7", "lot": "L-3"})
    desk.keep_fit_sheets(order)
    for line in order.lines.all():
        client.post(f"/tickets/{line.ticket_id}/fit/")


def tickets(order: Order) -> list[Ticket]:
    return [line.ticket for line in order.lines.select_related("ticket").order_by("position")]


def test_the_board_says_what_is_missing_and_who_is_asked(accepted: Order, at_the_desk: Client, on_the_floor: Client) -> None:
    for client in (at_the_desk, on_the_floor):
        text = shown(client, "/")
        assert f"O-0001 {accepted.customer.name} 2 not set 2 held" in text
        assert f"deposit from {accepted.customer.name}" in text
        assert "fit details confirmed (1 of 2) from Morwenna Fell" in text
        assert "cloth booked from the loft" in text
        assert "sail number (1 of 2) from Morwenna Fell" in text


def test_the_board_takes_the_same_queries_for_any_number_of_orders(accepted: Order, manager: User, at_the_desk: Client) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            at_the_desk.get("/")
        return len(seen)

    queries()
    one = queries()
    services.accept(token=desk.token_of(issue_now(manager)), name="Hester Lorne", now=timezone.now())
    services.accept(token=desk.token_of(issue_now(manager)), name="Hester Lorne", now=timezone.now())
    assert queries() <= one


def test_the_first_to_be_due_is_on_top_and_what_has_no_day_comes_last(accepted: Order, manager: User, at_the_desk: Client) -> None:
    later, sooner = (services.accept(token=desk.token_of(issue_now(manager)), name="Hester Lorne", now=timezone.now()) for _ in range(2))
    services.set_due_date(order=later, due_on=date(2099, 2, 1))
    services.set_due_date(order=sooner, due_on=date(2099, 1, 1))
    board = at_the_desk.get("/").context["board"]
    assert [row.order.reference for row, _ in board] == ["O-0003", "O-0002", "O-0001"]
    listed = [row.order_number for row, _ in at_the_desk.get("/tickets/").context["rows"]]
    assert listed == ["O-0003"] * 2 + ["O-0002"] * 2 + ["O-0001"] * 2


def test_a_manager_sees_the_quotes_that_customers_have_in_hand(issued: Revision, at_the_desk: Client, on_the_floor: Client) -> None:
    assert "Quotes that customers have in hand" in shown(at_the_desk, "/")
    assert "Q-0001" not in shown(on_the_floor, "/")


def test_an_order_is_found_by_its_printed_number(accepted: Order, on_the_floor: Client) -> None:
    assert on_the_floor.get("/orders/O-0001/")["Location"] == f"/orders/{accepted.pk}/"
    assert on_the_floor.get("/orders/o-1/")["Location"] == f"/orders/{accepted.pk}/"
    for nothing in ("O-0002", "x", "O-", "٣"):
        assert on_the_floor.get(f"/orders/{nothing}/").status_code == 404


def test_the_deposit_is_recorded_once(accepted: Order, at_the_desk: Client) -> None:
    page = f"/orders/{accepted.pk}/"
    assert f"{deposit(accepted)}" in at_the_desk.get(page).content.decode().replace(",", "")
    for _ in range(2):
        answer = at_the_desk.post(f"{page}payments/", payment(deposit(accepted)))
        assert answer["Location"] == f"{page}#payments"
    assert [(p.amount_minor, p.received_on, p.reference) for p in Payment.objects.all()] == [
        (accepted.deposit_minor, date(2026, 3, 5), "bank 4711")
    ]
    assert "deposit" not in [m for m in shown(at_the_desk, "/").split() if m == "deposit"]
    assert "paid" in shown(at_the_desk, page)


BAD_PAYMENTS = [
    ("1.250,00", "2026-03-05", "is not an amount"),
    ("", "2026-03-05", "is not an amount"),
    ("NaN", "2026-03-05", "is not an amount"),
    ("1e99", "2026-03-05", "is not an amount"),
    ("-5", "2026-03-05", "more than zero"),
    ("0", "2026-03-05", "more than zero"),
    ("1.005", "2026-03-05", "decimals"),
    ("10", "05/03/2026", "is not a day"),
]


def test_bad_payments_are_refused_in_words(accepted: Order, at_the_desk: Client) -> None:
    for number, (amount, day, said) in enumerate(BAD_PAYMENTS):
        sent = payment(amount, key=f"payment-bad-{number}", received_on=day)
        answer = at_the_desk.post(f"/orders/{accepted.pk}/payments/", sent, follow=True)
        assert said in words(answer.content.decode()), (amount, day)
    assert Payment.objects.count() == 0


def test_recording_what_is_missing_releases_the_tickets(accepted: Order, at_the_desk: Client) -> None:
    variant = tickets(accepted)[1]
    at_the_desk.post(f"/orders/{accepted.pk}/payments/", payment(deposit(accepted)))
    answer = at_the_desk.post(f"/orders/{accepted.pk}/cloth/", {"roll": "R-7", "lot": "L-3"}, follow=True)
    assert "Roll R-7, lot L-3 set aside. One ticket is released." in words(answer.content.decode())
    assert [t.state for t in tickets(accepted)] == ["released", "held"]
    answer = at_the_desk.post(f"/tickets/{variant.pk}/fit/", follow=True)
    assert answer.status_code == 409 and "There is no fit sheet of Linnet yet" in words(answer.content.decode())
    desk.keep_fit_sheets(accepted)
    answer = at_the_desk.post(f"/tickets/{variant.pk}/fit/", follow=True)
    assert "Fit details confirmed. The ticket is released." in words(answer.content.decode())
    assert [t.state for t in tickets(accepted)] == ["released", "released"]
    assert "2 released" in shown(at_the_desk, "/")


def test_a_roll_without_a_lot_is_refused(accepted: Order, on_the_floor: Client) -> None:
    ticket = tickets(accepted)[0]
    answer = on_the_floor.post(f"/tickets/{ticket.pk}/cloth/", {"roll": "R-7", "lot": " "}, follow=True)
    assert "Not done: name the roll and the dye lot that are set aside." in words(answer.content.decode())
    ticket.refresh_from_db()
    assert (ticket.roll, ticket.lot) == ("", "")


def test_a_sail_number_that_follows_reaches_order_and_ticket(accepted: Order, at_the_desk: Client) -> None:
    variant = tickets(accepted)[1]
    path = f"/tickets/{variant.pk}/sail-number/"
    taken = at_the_desk.post(path, {"number": "214"}, follow=True)
    assert "sail number 214 belongs to Heron of Maud Pellow" in words(taken.content.decode())
    answer = at_the_desk.post(path, {"number": "251"}, follow=True)
    assert "Linnet has the sail number 251." in words(answer.content.decode())
    assert "Linnet 251" in shown(at_the_desk, f"/orders/{accepted.pk}/")
    again = at_the_desk.post(path, {"number": "252"}, follow=True)
    assert "Not done: O-0001-02 already has the sail number 251." in words(again.content.decode())
    variant.refresh_from_db()
    assert variant.sail_number == "251"


def test_a_held_ticket_offers_no_start(accepted: Order, on_the_floor: Client) -> None:
    ticket = tickets(accepted)[0]
    html = on_the_floor.get(f"/tickets/{ticket.pk}/").content.decode()
    assert f"/tickets/{ticket.pk}/steps/1/start/" not in html
    assert "Held: no step can be started" in words(html)
    refused = on_the_floor.post(f"/tickets/{ticket.pk}/steps/1/start/")
    assert refused.status_code == 409
    assert "is held: no step can be started" in words(refused.content.decode())
    assert not Step.objects.filter(started_at__isnull=False).exists()


def test_the_floor_works_a_ticket_through_to_ready(accepted: Order, at_the_desk: Client, on_the_floor: Client, cutter: User) -> None:
    give_role(user=cutter, role=policies.SEWER)
    release_all(accepted, at_the_desk)
    ticket = tickets(accepted)[0]
    page = f"/tickets/{ticket.pk}/"
    steps = list(ticket.steps.order_by("position"))
    cutter_steps = [s for s in steps if s.station == "cutter"]
    on_the_floor.post(f"{page}label/", {"label_number": "SK 0815"})
    for step in steps:
        at = f"{page}steps/{step.position}/"
        assert on_the_floor.post(f"{at}start/")["Location"] == f"{page}#steps"
        if step.pk == cutter_steps[-1].pk:
            assert "Metres really used" in shown(on_the_floor, page)
            refused = on_the_floor.post(f"{at}finish/", {"metres_used": "8,60"}, follow=True)
            assert "write it like 4.85" in words(refused.content.decode())
            on_the_floor.post(f"{at}finish/", {"metres_used": "8.605"})
        else:
            on_the_floor.post(f"{at}finish/")
    ticket.refresh_from_db()
    assert (ticket.state, ticket.metres_used, ticket.label_number) == ("ready", Decimal("8.605"), "SK 0815")
    assert set(ticket.steps.values_list("finished_by", flat=True)) == {cutter.pk}
    assert "1 released" in shown(on_the_floor, "/")
    assert "1 ready" in shown(on_the_floor, "/")


def test_a_step_that_puts_the_number_on_waits_for_it(accepted: Order, at_the_desk: Client) -> None:
    release_all(accepted, at_the_desk)
    variant = tickets(accepted)[1]
    waiting = variant.steps.get(needs_number=True)
    assert shown(at_the_desk, f"/tickets/{variant.pk}/").count("waits for the sail number") == 1
    assert at_the_desk.post(f"/tickets/{variant.pk}/steps/{waiting.position}/start/").status_code == 409


FILTERS = [
    ("", ["O-0001-01", "O-0001-02"]),
    ("?state=held", ["O-0001-01", "O-0001-02"]),
    ("?state=ready", []),
    ("?state=all", ["O-0001-01", "O-0001-02"]),
    ("?waiting=fit", ["O-0001-02"]),
    ("?waiting=number&order=o-0001", ["O-0001-02"]),
    ("?order=O-0002", []),
    ("?state=nonsense&waiting=nonsense&page=zero", ["O-0001-01", "O-0001-02"]),
]


def test_tickets_by_state_order_and_what_they_wait_for(accepted: Order, on_the_floor: Client) -> None:
    for query, expected in FILTERS:
        answer = on_the_floor.get(f"/tickets/{query}")
        assert [row.number for row, _ in answer.context["rows"]] == expected, query
        assert ("No ticket fits this." in words(answer.content.decode())) == (not expected), query


def test_a_promised_day_stands_on_the_board_and_is_late_when_it_is_over(accepted: Order, at_the_desk: Client) -> None:
    page = f"/orders/{accepted.pk}/"
    assert "is not a day" in words(at_the_desk.post(f"{page}due/", {"due_on": "soon"}, follow=True).content.decode())
    ahead = timezone.now().date() + timedelta(days=30)
    at_the_desk.post(f"{page}due/", {"due_on": ahead.isoformat()})
    assert ahead.strftime("%d %b %Y") in shown(at_the_desk, "/")
    assert "late" not in shown(at_the_desk, "/").split()
    at_the_desk.post(f"{page}due/", {"due_on": "2020-01-31"})
    assert "31 Jan 2020 late" in shown(at_the_desk, "/")
    assert {t.due_on for t in tickets(accepted)} == {date(2020, 1, 31)}


def test_scrapping_and_cancelling_need_a_reason(accepted: Order, at_the_desk: Client) -> None:
    ticket, page = tickets(accepted)[0], f"/orders/{accepted.pk}/"
    at_the_desk.post(f"/tickets/{ticket.pk}/scrap/", {"reason": " "})
    assert {t.state for t in tickets(accepted)} == {"held"}
    at_the_desk.post(f"/tickets/{ticket.pk}/scrap/", {"reason": "cloth flaw across the leech"})
    assert "cloth flaw across the leech" in shown(at_the_desk, f"/tickets/{ticket.pk}/")
    assert at_the_desk.post(f"{page}deliver/").status_code == 409
    at_the_desk.post(f"{page}cancel/", {"reason": ""})
    at_the_desk.post(f"{page}cancel/", {"reason": "class folded"})
    assert "cancelled" in shown(at_the_desk, page)
    assert {t.state for t in tickets(accepted)} == {"scrapped"}
    assert "No open orders" in shown(at_the_desk, "/")


TEXTS = [
    ("/orders/{order}/cloth/", {"roll": "R" * 61, "lot": "L-3"}, "roll: 61 characters are too many, at most 60 are kept"),
    ("/tickets/{ticket}/cloth/", {"roll": "R-7", "lot": "L\x003"}, "lot: there is a character in it that cannot be printed"),
    ("/tickets/{ticket}/label/", {"label_number": "9" * 41}, "label number: 41 characters are too many"),
    ("/tickets/{ticket}/scrap/", {"reason": "x" * 301}, "reason: 301 characters are too many"),
    ("/tickets/{ticket}/sail-number/", {"number": "1" * 21}, "number: 21 characters are too many"),
    ("/orders/{order}/cancel/", {"reason": "\x07"}, "reason: there is a character in it that cannot be printed"),
    ("/orders/{order}/payments/", payment("10", reference="r" * 121), "reference: 121 characters are too many"),
]


def test_texts_that_no_table_keeps_are_refused_in_words(accepted: Order, at_the_desk: Client) -> None:
    ticket = tickets(accepted)[1]
    for path, sent, said in TEXTS:
        answer = at_the_desk.post(path.format(order=accepted.pk, ticket=ticket.pk), sent, follow=True)
        assert f"Not done: {said}" in words(answer.content.decode()), path
    ticket.refresh_from_db()
    assert (ticket.state, ticket.roll, ticket.label_number, ticket.sail_number) == ("held", "", "", None)
    assert Payment.objects.count() == 0
    assert at_the_desk.get("/tickets/?order=O%00-0001").status_code == 200


def test_unknown_things_are_not_found(accepted: Order, at_the_desk: Client) -> None:
    for path in ("/orders/999/", "/tickets/999/", "/quotes/999/", "/tickets/1/rigger.pdf", "/designs/abc/sail.svg", f"/orders/{10**30}/"):
        assert at_the_desk.get(path).status_code == 404, path
