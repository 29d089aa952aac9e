"""Every address of the service x every role: who gets in, who does not, and nobody learns from a refusal whether a thing is there.

The table is written by hand and not read from the policy table. An address that is not in it fails the test: nobody adds one without saying
who may use it. Letters: M manager, O office, C cutter, S sewer, R reader; "+" everybody who signed in, "*" everybody.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import quote

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from loft.common import policies
from loft.common.services import give_role
from loft.customers.models import Boat
from loft.orders import selectors
from loft.orders.models import Order
from loft.workshop.models import Lay, LaySail, Remake, Roll, Step
from tests import desk

ROLES = {"M": policies.MANAGER, "O": policies.OFFICE, "C": policies.CUTTER, "S": policies.SEWER, "R": policies.READER}

TABLE: dict[tuple[str, str], str] = {
    ("healthz", "get"): "*", ("readyz", "get"): "*", ("login/", "get"): "*", ("logout/", "post"): "*",
    ("admin/login/", "get"): "*",
    ("accept/<str:token>/", "get"): "*", ("accept/<str:token>/", "post"): "*", ("accept/<str:token>/decline/", "post"): "*",
    ("accept/<str:token>/quote.pdf", "get"): "*",
    ("^api/", "get"): "*",  # whatever else is asked for below it: 404
    # the loft itself
    ("account/second-step/", "get"): "+", ("account/second-step/", "post"): "+",
    ("people/", "get"): "M", ("people/<int:pk>/roles/", "post"): "M", ("people/<int:pk>/second-step/off/", "post"): "M",
    ("profile/", "get"): "M", ("profile/", "post"): "M", ("history/", "get"): "M",
    ("api/profile/", "get"): "M", ("api/profile/", "put"): "M",
    ("jobs/", "get"): "M", ("jobs/<int:pk>/cancel/", "post"): "M", ("jobs/<int:pk>/run-again/", "post"): "M",
    ("api/jobs/", "get"): "M", ("api/jobs/<int:pk>/", "get"): "M", ("api/jobs/<int:pk>/cancel/", "post"): "M",
    ("api/jobs/<int:pk>/run-again/", "post"): "M",
    # the desk
    ("", "get"): "MOCSR", ("help/", "get"): "MOCSR", ("help/boats-example.csv", "get"): "MOCSR",
    ("quotes/", "get"): "MOR", ("quotes/new/", "get"): "MO", ("quotes/new/", "post"): "MO",
    ("class-rules/", "get"): "MOR", ("api/would-breach/", "get"): "MOR",
    ("quotes/exposure/buy-ahead.<str:kind>", "get"): "MOR", ("quotes/exposure/revise/", "post"): "MO",
    ("quotes/exposure/", "get"): "MOR", ("quotes/<int:pk>/ladder/", "get"): "MOR",
    ("quotes/<int:pk>/", "get"): "MOR", ("quotes/<int:pk>/issue/", "post"): "MO", ("quotes/<int:pk>/revise/", "get"): "MO",
    ("quotes/<int:pk>/revise/", "post"): "MO", ("quotes/<int:pk>/cancel/", "post"): "MO",
    ("quotes/<int:pk>/doubts/", "post"): "MO", ("api/quotes/<int:pk>/doubts/", "post"): "MO",
    ("quotes/<int:pk>/revisions/<int:revision>/quote.pdf", "get"): "MOR",
    ("quotes/<int:pk>/revisions/<int:revision>/cost-sheet.pdf", "get"): "MOR",
    ("customers/<int:pk>/", "get"): "MO", ("customers/<int:pk>/", "post"): "MO",
    ("customers/<int:pk>/data.zip", "get"): "M", ("customers/<int:pk>/erase/", "post"): "M",
    ("boats/<int:pk>/", "get"): "MO", ("boats/<int:pk>/", "post"): "MO",
    ("boats/<int:pk>/fit/", "get"): "MO", ("boats/<int:pk>/fit/", "post"): "MO",
    ("boats/<int:pk>/measurements/", "get"): "MO", ("boats/<int:pk>/measurements/", "post"): "MO",
    ("boats/<int:pk>/measure-<slug:kind>.pdf", "get"): "MOR",
    ("api/boats/<int:pk>/fit/", "post"): "MO", ("api/boats/<int:pk>/measurements/", "post"): "MO",
    ("orders/<int:pk>/", "get"): "MOCSR", ("orders/<slug:reference>/", "get"): "MOCSR",
    ("orders/<int:pk>/change/", "get"): "MO", ("orders/<int:pk>/change/", "post"): "MO",
    ("orders/<int:pk>/refunds/", "post"): "MO", ("api/orders/<int:pk>/refunds/", "post"): "MO",
    ("api/orders/<int:pk>/changes/", "get"): "MOR", ("api/orders/<int:pk>/changes/", "post"): "MO",
    ("api/orders/<int:pk>/changes/<int:revision>/cancel/", "post"): "MO",
    ("orders/<int:pk>/join/", "get"): "MO", ("orders/<int:pk>/join/", "post"): "MO",
    ("quotes/<int:pk>/drop-outs/", "post"): "MO", ("api/quotes/<int:pk>/drop-outs/", "post"): "MO",
    ("orders/<int:pk>/payments/", "post"): "MO", ("orders/<int:pk>/cloth/", "post"): "MOC", ("orders/<int:pk>/due/", "post"): "MO",
    ("orders/<int:pk>/deliver/", "post"): "MO", ("orders/<int:pk>/cancel/", "post"): "M",
    ("orders/<int:pk>/confirmation.pdf", "get"): "MOR", ("orders/<int:pk>/delivery-note.pdf", "get"): "MOCSR",
    ("orders/<int:pk>/payments/<int:payment>/receipt.pdf", "get"): "MOR",
    ("api/orders/<int:pk>/confirmation/", "get"): "MOR", ("api/orders/<int:pk>/delivery-note/", "get"): "MOCSR",
    ("api/orders/<int:pk>/payments/<int:payment>/receipt/", "get"): "MOR",
    ("letters/", "get"): "M", ("letters/<slug:name>/", "get"): "M", ("letters/<slug:name>/", "post"): "M",
    ("api/letters/", "get"): "M", ("api/letters/<slug:name>/", "get"): "M", ("api/letters/<slug:name>/", "put"): "M",
    ("orders/<int:pk>/lines/<int:position>/deliver/", "post"): "MO",
    ("api/orders/<int:pk>/lines/<int:position>/deliver/", "post"): "MO", ("api/orders/<int:pk>/cancel/", "post"): "M",
    ("quotes/<int:pk>/what-if/", "get"): "MOR", ("quotes/<int:pk>/what-if/try/", "post"): "MO",
    ("quotes/<int:pk>/cloth/", "get"): "MOR", ("quotes/<int:pk>/cloth/substitute/", "post"): "MO",
    ("gifts/", "get"): "MOR",
    ("rates/", "get"): "MOR", ("rates/type/", "post"): "M",
    ("materials/", "get"): "MOR", ("materials/<str:code>/", "get"): "MOR",
    ("retail/", "get"): "MOR", ("retail/load/", "post"): "M", ("retail/<str:code>/show-sheet.pdf", "get"): "MOR",
    ("api/retail-lists/", "get"): "MOR",
    ("supplier-lists/", "get"): "MOR", ("supplier-lists/<int:pk>/list.<str:kind>", "get"): "MOR",
    ("supplier-lists/import/", "get"): "M", ("supplier-lists/import/", "post"): "M", ("supplier-lists/store/", "post"): "M",
    ("member/<str:token>/", "get"): "*", ("member/<str:token>/", "post"): "*", ("member/<str:token>/sail.svg", "get"): "*",
    ("member/<str:token>/sail-<int:position>.svg", "get"): "*",
    ("orders/<int:pk>/members/", "get"): "MO", ("orders/<int:pk>/members/write/", "post"): "MO",
    ("api/orders/<int:pk>/members/", "get"): "MO", ("api/orders/<int:pk>/members/letters/", "post"): "MO",
    ("api/orders/<int:pk>/member-links/", "get"): "MO",
    # the floor
    ("tickets/", "get"): "MOCSR", ("tickets/<int:pk>/", "get"): "MOCSR", ("tickets/<int:pk>/<slug:station>.pdf", "get"): "MOCSR",
    ("tickets/<int:pk>/boat/", "get"): "MO",
    ("tickets/<int:pk>/non-class/", "post"): "M", ("api/tickets/<int:pk>/non-class/", "post"): "M",
    ("tickets/<int:pk>/rules/", "post"): "MO", ("api/tickets/<int:pk>/rules/", "post"): "MO",
    ("tickets/<int:pk>/fit/", "post"): "MO", ("tickets/<int:pk>/options/", "post"): "MO", ("tickets/<int:pk>/cloth/", "post"): "MOC",
    ("tickets/<int:pk>/measured/", "get"): "MOS", ("tickets/<int:pk>/measured/", "post"): "MOS",
    ("api/tickets/<int:pk>/measured/", "get"): "MOCSR", ("api/tickets/<int:pk>/measured/", "post"): "MOS",
    ("tickets/<int:pk>/label/", "post"): "MCS", ("tickets/<int:pk>/scrap/", "post"): "MO",
    ("tickets/<int:ticket_pk>/sail-number/", "post"): "MO",
    ("tickets/<int:pk>/steps/<int:position>/start/", "post"): "MC", ("tickets/<int:pk>/steps/<int:position>/finish/", "post"): "MC",
    ("tickets/<int:pk>/parts-<slug:layers>.dxf", "get"): "MOCSR",
    ("tickets/<int:pk>/lays/<int:place>/<int:number>-<slug:layers>.dxf", "get"): "MOCSR",
    ("tickets/<int:pk>/remakes/", "post"): "MOCS", ("remakes/<int:pk>/withdraw/", "post"): "MOCS",
    ("lays/", "get"): "MOCSR", ("lays/new/", "post"): "MOC", ("lays/<int:pk>/", "get"): "MOCSR",
    ("lays/<int:pk>/sheet.pdf", "get"): "MOCSR",
    ("lays/<int:pk>/stop/", "post"): "MOC", ("lays/<int:pk>/plan-again/", "post"): "MOC", ("lays/<int:pk>/cancel/", "post"): "MOC",
    ("lays/<int:pk>/rolls/", "post"): "MOC", ("lays/<int:pk>/sections/<int:number>/cut/", "post"): "MC",
    ("lays/<int:pk>/sections/<int:number>.svg", "get"): "MOCSR",
    ("lays/<int:pk>/sections/<int:number>-<slug:layers>.dxf", "get"): "MOCSR",
    ("rolls/", "get"): "MOCSR", ("rolls/new/", "post"): "MOC", ("rolls/<int:pk>/flaws/", "post"): "MOC",
    ("rolls/<int:pk>/gone/", "post"): "MOC",
    ("designs/<slug:key>/sail.svg", "get"): "MOCSR", ("designs/<slug:key>/lay.svg", "get"): "MOCSR",
    # the same over HTTP for programs
    ("api/classes/", "get"): "MOCSR", ("api/patterns/", "get"): "MOCSR", ("api/supplier-lists/", "get"): "MOR",
    ("api/customers/", "get"): "MOR", ("api/customers/", "post"): "MO", ("api/customers/<int:pk>/", "get"): "MOR",
    ("api/customers/<int:pk>/", "put"): "MO",
    ("api/boats/", "get"): "MOR", ("api/boats/<int:pk>/", "get"): "MOR", ("api/boats/<int:pk>/", "put"): "MO",
    ("api/quotes/", "get"): "MOR", ("api/quotes/", "post"): "MO", ("api/quotes/<int:pk>/", "get"): "MOR",
    ("api/quotes/<int:pk>/revise/", "post"): "MO", ("api/quotes/<int:pk>/issue/", "post"): "MO",
    ("api/quotes/<int:pk>/cancel/", "post"): "MO",
    ("api/quotes/<int:pk>/pdf/", "get"): "MOR", ("api/quotes/<int:pk>/cost-sheet/", "get"): "MOR",
    ("api/orders/", "get"): "MOCSR", ("api/orders/<int:pk>/", "get"): "MOCSR", ("api/orders/<int:pk>/payments/", "post"): "MO",
    ("api/orders/<int:pk>/cloth/", "post"): "MOC", ("api/orders/<int:pk>/due/", "post"): "MO",
    ("api/orders/<int:pk>/deliver/", "post"): "MO",
    ("api/orders/<int:pk>/lines/<int:position>/sail-number/", "post"): "MO",
    ("api/tickets/", "get"): "MOCSR", ("api/tickets/<int:pk>/", "get"): "MOCSR",
    ("api/tickets/<int:pk>/sheets/<str:station>/", "get"): "MOCSR",
    ("api/tickets/<int:pk>/steps/<int:position>/start/", "post"): "MC", ("api/tickets/<int:pk>/steps/<int:position>/finish/", "post"): "MC",
    ("api/tickets/<int:pk>/fit/", "post"): "MO", ("api/tickets/<int:pk>/options/", "post"): "MO",
    ("api/tickets/<int:pk>/label/", "post"): "MCS", ("api/tickets/<int:pk>/scrap/", "post"): "MO",
    ("api/schema/", "get"): "+", ("api/docs/", "get"): "+",
}  # fmt: skip

#: The same address for a step of the other station: own and other work differ by role.
OTHER_STATION = {key: "MS" for key in TABLE if "<int:position>/start" in key[0] or "<int:position>/finish" in key[0]}


@dataclass(frozen=True, slots=True)
class Things:
    """What the addresses are about: rows that are there, or with `missing` none."""

    order: Order
    spare: User
    lay: Lay
    roll: Roll
    remake: Remake
    station: str = "cutter"
    missing: bool = False

    def address(self, route: str) -> str:
        line = self.order.lines.select_related("ticket__design").order_by("position")[0]
        step = Step.objects.filter(ticket=line.ticket, station=self.station).order_by("position")[0]
        top = route.removeprefix("api/").split("/")[0]
        pks = {"quotes": self.order.revision.quote_id, "orders": self.order.pk, "tickets": line.ticket_id, "people": self.spare.pk}
        pks |= {"lays": self.lay.pk, "rolls": self.roll.pk, "remakes": self.remake.pk}
        pks |= {"customers": self.order.customer_id, "boats": Boat.objects.order_by("pk")[0].pk}
        pk = 987654 if self.missing else pks.get(top, 0)
        values = {
            "<int:pk>": pk, "<int:ticket_pk>": pk, "<int:revision>": 1, "<int:position>": step.position if "steps" in route else 1,
            "<str:token>": "no-such-link" if self.missing else desk.token_of(self.order.revision), "<slug:key>": line.ticket.design.key,
            "<int:place>": 1, "<int:number>": 1, "<slug:layers>": "plain", "<slug:kind>": "mainsail",
            "<int:payment>": 1, "<slug:name>": "quote_issued", "<str:kind>": "csv", "<str:code>": "SK13",
            "<slug:station>": "cutter", "<str:station>": "cutter", "<slug:reference>": self.order.reference,
        }  # fmt: skip
        for name, value in values.items():
            route = route.replace(name, str(value))
        return f"/{route.removeprefix('^')}"


@pytest.fixture
def people(db: None) -> dict[str, User]:
    found = {}
    for letter, role in ROLES.items():
        found[letter] = User.objects.create_user(f"the-{role}", password="a-long-password")
        give_role(user=found[letter], role=role)
    return found


@pytest.fixture
def things(accepted: Order) -> Things:
    lay = Lay.objects.create(number="L-0001", cloth_code="DW170", colour="white", steps=0, created_at=desk.NOW)
    ticket = accepted.lines.order_by("position")[0].ticket
    LaySail.objects.create(lay=lay, ticket=ticket, letter="A", cloth_code="DW170", colour="white")
    remake = Remake.objects.create(ticket=ticket, cloth_code="DW170", colour="white", parts=["P1"], reason="torn", asked_at=desk.NOW)
    roll = Roll.objects.create(
        name="R-7", cloth_code="DW170", colour="white", lot="1180", length_mm=40_000, usable_width_mm=1355, booked_at=desk.NOW
    )
    return Things(accepted, User.objects.create_user("spare", password="a-long-password"), lay, roll, remake)


def routes(patterns: list[URLPattern | URLResolver], before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Every address with what answers it; the administration, which Django guards for superusers, is one entry of its own."""
    for pattern in patterns:
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLPattern):
            yield route, pattern
        elif route != "admin/":
            yield from routes(pattern.url_patterns, route)


def methods(pattern: URLPattern) -> set[str]:
    """The methods that a view of the API answers; a page's are not written on it."""
    actions = getattr(pattern.callback, "actions", None)
    if actions:
        return set(actions) - {"head"}
    view = getattr(pattern.callback, "cls", None)
    return {m for m in ("get", "post", "put", "patch", "delete") if hasattr(view, m)} if view else set()


def ask(client: Client, things: Things, route: str, method: str) -> HttpResponse:
    """Ask with an empty body; whatever is written is taken back."""
    with transaction.atomic():
        kind = {"content_type": "application/json", "data": "{}"} if route.startswith("api/") and method != "get" else {}
        response: HttpResponse = getattr(client, method)(things.address(route), headers={"If-Match": "*"}, **kind)
        transaction.set_rollback(True)
    return response


def refused(response: HttpResponse) -> bool:
    """403, or a page's way of sending a stranger to sign in: back to the page that was asked for."""
    asked = f"/login/?next={quote(response.request['PATH_INFO'])}"  # type: ignore[attr-defined]
    return response.status_code in (401, 403) or (response.status_code == 302 and response["Location"] == asked)


def test_every_address_is_in_the_table_and_every_row_is_an_address() -> None:
    found = dict(routes(get_resolver().url_patterns))
    assert {route for route, _ in TABLE} == set(found)
    for route, pattern in found.items():
        assert methods(pattern) <= {method for r, method in TABLE if r == route}, route


@pytest.mark.parametrize("letter", ROLES)
def test_who_gets_in(things: Things, people: dict[str, User], letter: str) -> None:
    wrong = []
    client = Client()
    for (route, method), letters in TABLE.items():
        client.force_login(people[letter])
        response = ask(client, things, route, method)
        may = letters in "*+" or letter in letters
        if refused(response) == may or response.status_code >= 500:
            wrong.append((route, method, response.status_code))
    assert wrong == []


@pytest.mark.parametrize("letter", ROLES)
def test_work_of_the_other_station(things: Things, people: dict[str, User], letter: str) -> None:
    client, other = Client(), replace(things, station="sewer")
    client.force_login(people[letter])
    for (route, method), letters in OTHER_STATION.items():
        assert refused(ask(client, other, route, method)) != (letter in letters), (route, letter)


@pytest.mark.parametrize("letter", ROLES)
def test_a_refusal_does_not_tell_what_is_there(things: Things, people: dict[str, User], letter: str) -> None:
    """Who may not, gets the same refusal for what is there and what is not; who may, gets 404 for what is not."""
    client, missing = Client(), replace(things, missing=True)
    client.force_login(people[letter])
    for (route, method), letters in TABLE.items():
        letters = "MCS" if "/steps/" in route else letters  # whose station a step is, only its ticket tells
        if "<int:pk>" in route or "<int:ticket_pk>" in route:
            status = ask(client, missing, route, method).status_code
            assert status == (404 if letter in letters else 403) or (letter in letters and status == 400), (route, method, status)


@pytest.mark.parametrize("number", [2**15, 2**63, 10**30])
def test_a_number_that_no_row_can_have_opens_nothing(things: Things, people: dict[str, User], number: int) -> None:
    """A database's whole numbers end somewhere, those in an address do not: SQLite raises beyond 64 bits, PostgreSQL beyond a column's."""
    client, wrong = Client(raise_request_exception=False), []
    client.force_login(people["M"])
    for route, method in TABLE:
        if "<int:" in route:
            status = ask(client, things, re.sub(r"<int:\w+>", str(number), route), method).status_code
            if not (status == 404 if method == "get" else 400 <= status < 500):
                wrong.append((route, method, status))
    assert wrong == []


def test_strangers_and_people_without_a_role(things: Things) -> None:
    nobody, without = Client(), Client()
    without.force_login(things.spare)
    for (route, method), letters in TABLE.items():
        assert refused(ask(nobody, things, route, method)) == (letters != "*"), (route, method)
        assert refused(ask(without, things, route, method)) == (letters not in "*+"), (route, method)
        without.force_login(things.spare)


def test_the_administration_is_for_its_staff_alone(things: Things, people: dict[str, User]) -> None:
    for user in people.values():
        client = Client()
        client.force_login(user)
        for path in ("/admin/", "/admin/auth/user/", "/admin/customers/customer/", "/admin/axes/accessattempt/"):
            assert client.get(path)["Location"].startswith("/admin/login/"), path


_DRAWN_OVER_HTTP = ("/pdf/", "/cost-sheet/", "/confirmation/", "/delivery-note/", "/receipt/", "/sheets/<str:station>/")


def test_every_paper_drawing_and_file_is_counted(things: Things, people: dict[str, User], settings: Any) -> None:
    """With a limit that is used up at once, whatever draws answers 429, and nothing else does."""
    settings.LOFT_LIMITS = settings.LOFT_LIMITS | {"drawn": (1, 60), "link_drawn": (1, 60)}
    client = Client()
    client.force_login(people["M"])
    member = selectors.member_token(things.order.lines.order_by("position")[0])
    for (route, method), _ in TABLE.items():
        if method == "get" and route != "help/boats-example.csv":
            address = things.address(route)
            if route.startswith("member/"):
                address = address.replace(desk.token_of(things.order.revision), member)
            draws = route.endswith((".pdf", ".svg", ".dxf", ".zip", ".<str:kind>", *(_DRAWN_OVER_HTTP if route.startswith("api/") else ())))
            assert (client.get(address).status_code == 429) == draws, route


def test_every_page_for_people_who_signed_in_stays_out_of_caches(things: Things, people: dict[str, User]) -> None:
    client = Client()
    client.force_login(people["M"])
    for (route, method), _ in TABLE.items():
        if method == "get":
            kept = ask(client, things, route, method)["Cache-Control"]
            drawing = route.startswith("designs/")  # geometry under its hash: no name and no price
            assert ("private" in kept and ("no-store" in kept or drawing)) or route in ("healthz", "readyz", "admin/login/"), (route, kept)
