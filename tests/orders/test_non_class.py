"""Selling a sail as NON-CLASS: who issues it and with what, what its ticket waits for, and that every paper says so."""

from __future__ import annotations

import io
import json
import uuid
import zipfile
from datetime import date

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from costing.errors import InputError
from loft import documents
from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.common.errors import Conflict, NotAllowed, Stale
from loft.common.models import AuditEntry
from loft.orders import new_edition, order_changes, order_papers, paper, personal_export, selectors, services
from loft.orders.models import Order, Revision
from loft.workshop import non_class, rule_check
from loft.workshop import selectors as floor_selectors
from loft.workshop import services as floor
from loft.workshop.models import Requirement, Step, Ticket
from loft.workshop.paper import ticket_document
from loft.workshop.states import Need, TicketState
from tests import desk
from tests.documents import reading
from tests.orders.test_new_edition import TIGHT, edition, finish, line_ticket, release, rule_of
from tests.pages.markup import words

MARKED = b"boat,owner,sail_number,luff_length,options,non_class\nHeron,Maud Pellow,214,,window,\nLapwing,Ada Thwaite,171,5240,window,yes\n"
OVER = "luff length 5,240 mm is 10 mm over the maximum of 5,230 mm (C.6.3 (a))"
YES = "Rowena Birkett, owner, on 1 March 2026: sell it as it is"
WROTE = non_class.WrittenYes("Maud Pellow", date(2026, 3, 1), "I race it in the handicap fleet only")


@pytest.fixture
def offered(loft: None, manager: User) -> Revision:
    return services.issue(revision=desk.draft(MARKED), by=manager, now=desk.NOW, reason=YES)


@pytest.fixture
def order(offered: Revision) -> Order:
    return services.accept(token=desk.token_of(offered), name="Hester Lorne", now=desk.NOW)


@pytest.fixture
def held(loft: None, manager: User) -> Ticket:
    """A sail that was ordered as a class sail and that the next edition does not allow."""
    order = desk.accepted(manager)
    catalogue.load_class(text=edition(TIGHT))
    return release(order, 1, manager)


# -- drafting and issuing


def test_a_draft_says_what_is_not_legal(loft: None) -> None:
    revision = desk.draft(MARKED)
    first, second = paper.thaw(revision).sails
    assert revision.non_class and (first.not_legal, second.not_legal) == ((), (OVER,))
    assert not desk.draft(customer=desk.association(name="Another")).non_class


@pytest.mark.parametrize(
    ("label", "cell", "path", "code"),
    [
        ("without the mark", "", "row 3.luff_length", "outside_maximum"),
        ("no is no mark", "no", "row 3.luff_length", "outside_maximum"),
        ("neither yes nor no", "perhaps", "row 3.non_class", "not_yes_or_no"),
    ],
)
def test_a_list_that_is_refused(loft: None, label: str, cell: str, path: str, code: str) -> None:
    with pytest.raises(InputError) as refused:
        desk.draft(MARKED.replace(b"window,yes", f"window,{cell}".encode()))
    assert [(p.path, p.code) for p in refused.value.problems] == [(path, code)], label
    assert "NON-CLASS" in refused.value.problems[0].message
    assert not Revision.objects.exists()


def test_the_manager_alone_issues_it_and_with_the_written_yes(loft: None, office: User, manager: User) -> None:
    revision = desk.draft(MARKED)
    with pytest.raises(NotAllowed):
        services.issue(revision=revision, by=office, now=desk.NOW, reason=YES)
    with pytest.raises(InputError) as refused:
        services.issue(revision=revision, by=manager, now=desk.NOW, reason=" ")
    (problem,) = refused.value.problems
    assert (problem.path, problem.code) == ("reason", "non_class")
    assert problem.message == f"Lapwing 171 is NON-CLASS ({OVER}): write down the owner's yes, who gave it, when and in which words"
    revision.refresh_from_db()
    assert (revision.state, revision.issued_at) == ("draft", None)
    services.issue(revision=revision, by=manager, now=desk.NOW, reason=YES)
    entry = AuditEntry.objects.get(action="sell_non_class")
    assert entry.by == manager and entry.after == {"revision": 1, "breaches": {"2": [OVER]}}
    assert entry.personal.after == {"reason": YES}
    revision.refresh_from_db()
    assert (revision.reason, revision.issued_by) == (YES, manager)


def test_a_batch_of_class_sails_is_issued_by_the_office_as_before(loft: None, office: User) -> None:
    services.issue(revision=desk.draft(), by=office, now=desk.NOW)
    assert not AuditEntry.objects.filter(action="sell_non_class").exists()


def test_a_revision_keeps_the_mark_and_asks_anew(offered: Revision, manager: User) -> None:
    again = services.revise(quote=offered.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    assert again.non_class
    with pytest.raises(InputError, match="NON-CLASS"):
        services.issue(revision=again, by=manager, now=desk.NOW)


# -- the ticket


def test_its_ticket_wants_no_label_and_asks_no_rules(order: Order, manager: User) -> None:
    ticket, other = line_ticket(order, 2), line_ticket(order, 1)
    assert (ticket.not_legal, ticket.label_place) == ([OVER], "")
    assert other.not_legal == [] and other.label_place
    assert not ticket.requirements.filter(kind=Need.LABEL).exists() and other.requirements.filter(kind=Need.LABEL).exists()
    assert not ticket.steps.filter(operation="royalty_label").exists() and other.steps.filter(operation="royalty_label").exists()
    catalogue.load_class(text=edition(TIGHT))
    assert release(order, 2, manager).state == TicketState.RELEASED
    assert not ticket.requirements.filter(kind=Need.RULES).exists()
    for step in Step.objects.filter(ticket=ticket).order_by("position"):
        floor.start_step(step=step, by=manager, now=desk.NOW)
        floor.finish_step(step=step, by=manager, now=desk.NOW)
    ticket.refresh_from_db()
    assert ticket.state == TicketState.READY


def test_no_edition_counts_it_among_what_would_breach(order: Order) -> None:
    report = new_edition.would_breach(rule_of(edition(TIGHT)), now=desk.NOW)
    assert (report.looked_at, [row.reference for row in report.rows]) == (1, ["O-0001-01"])
    desk.draft(MARKED)
    assert new_edition.would_breach(rule_of(edition(TIGHT)), now=desk.NOW).looked_at == 2


# -- papers


def test_the_quote_says_it_at_its_head_its_line_its_design_and_its_drawing(offered: Revision) -> None:
    pdf = bytes(offered.pdf or b"")
    text, pages = reading.text(pdf), reading.page_words(pdf)
    assert f"Line 2, Lapwing 171: {OVER}." in pages[0] and "NOT CLASS LEGAL" in pages[0]
    assert "All but line 2 designed under edition 2025" in text
    assert "goes on every sail but those that are NOT CLASS LEGAL" in text
    (design,) = (p for p in pages if "Design B" in p)
    assert design.count("NOT CLASS LEGAL") == 2 and OVER in design and "−10.0" in design
    assert "Royalty label, class association, charged on at cost 1 " in text


def test_a_quote_of_class_sails_says_nothing_of_it(loft: None, manager: User) -> None:
    assert "NOT CLASS LEGAL" not in reading.text(bytes(desk.issued(manager).pdf or b""))


def test_a_quote_of_nothing_else_names_no_label(loft: None, manager: User) -> None:
    alone = desk.draft(MARKED.replace(b"Heron,Maud Pellow,214,,window,\n", b""))
    text = reading.text(bytes(services.issue(revision=alone, by=manager, now=desk.NOW, reason=YES).pdf or b""))
    assert "Not designed under edition 2025" in text and "measurer certifies" not in text and "royalty label" not in text.casefold()


def test_the_order_s_papers_say_it_of_that_sail(order: Order) -> None:
    profile, fresh = common.loft_profile(), selectors.order(order.pk)
    assert reading.text(order_papers.confirmation_pdf(fresh, profile)).count(f"NOT CLASS LEGAL: {OVER}") == 1
    Ticket.objects.filter(order_number=order.reference).update(
        state=TicketState.READY, released_at=desk.NOW, started_at=desk.NOW, ready_at=desk.NOW
    )
    note = reading.text(order_papers.delivery_note_pdf(selectors.order(order.pk), profile))
    assert note.count(f"NOT CLASS LEGAL: {OVER}") == 1


@pytest.mark.parametrize("station", ["cutter", "sewer", "finisher"])
def test_every_page_of_its_work_sheets_says_it(order: Order, station: str) -> None:
    make = {"cutter": documents.cutter_sheet_pdf, "sewer": documents.sewer_sheet_pdf, "finisher": documents.finisher_sheet_pdf}[station]
    profile = common.loft_profile()
    pages = reading.page_words(make(ticket_document(floor_selectors.ticket(line_ticket(order, 2).pk), profile, now=desk.NOW)))
    assert all("NOT CLASS LEGAL" in page for page in pages)
    assert OVER in pages[0]
    other = make(ticket_document(floor_selectors.ticket(line_ticket(order, 1).pk), profile, now=desk.NOW))
    assert "NOT CLASS LEGAL" not in reading.text(other)
    if station == "finisher":
        text = " ".join(pages)
        assert "NO class label on it: the sail is NOT CLASS LEGAL" in text and "Royalty label on" not in text
        assert "no measurer can certify it" in text and "the class's measurer certifies" not in text


def test_the_cost_sheet_and_the_sheets_before_the_order(offered: Revision) -> None:
    profile, figures = common.loft_profile(), paper.offer(offered)
    assert "NOT CLASS LEGAL" in reading.text(paper.cost_sheet_pdf(offered, profile))
    first, second = paper.planned_tickets(figures, order_changes.patterns(figures.batch)[:1], profile, reference="draft")
    assert (first.not_legal, second.not_legal, second.royalty_label_place) == ((), (OVER,), "") and first.royalty_label_place


# -- a sail that is on the floor already


def test_a_held_sail_is_settled_with_the_customer_s_written_yes(held: Ticket, manager: User) -> None:
    need = held.requirements.get(kind=Need.RULES)
    assert held.state == TicketState.HELD and need.met_at is None
    assert non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    ticket = Ticket.objects.get(pk=held.pk)
    told = "edition 2026: half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (f))"
    assert (ticket.state, ticket.not_legal, ticket.label_place) == (TicketState.RELEASED, [told], "")
    need.refresh_from_db()
    assert need.met_by == "NON-CLASS: Maud Pellow wrote yes on 2026-03-01"
    assert not ticket.requirements.filter(kind=Need.LABEL).exists() and not ticket.steps.filter(operation="royalty_label").exists()
    entry = AuditEntry.objects.get(action="sell_non_class")
    assert entry.by == manager and entry.after == {"breaches": [told], "said_on": "2026-03-01"}
    assert entry.personal.after == {"name": "Maud Pellow", "words": WROTE.words}
    sheet = documents.sewer_sheet_pdf(ticket_document(floor_selectors.ticket(ticket.pk), common.loft_profile(), now=desk.NOW))
    assert told in reading.text(sheet)


def test_the_customer_s_data_has_the_yes_and_what_the_sail_is(held: Ticket, manager: User) -> None:
    non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    customer = Order.objects.get().customer
    with zipfile.ZipFile(io.BytesIO(personal_export.export(customer=customer, by=manager))) as file:
        tables = json.loads(file.read("data.json"))
    (sold,) = tables["sold_as_non_class"]
    assert sold["action"] == "sell_non_class" and WROTE.words in sold["after"] and WROTE.name in sold["after"]
    assert [bool(sail["ticket__not_legal"]) for sail in tables["sails"]] == [True, False]
    assert tables["sails"][0]["confirmed_at"] is None


def test_it_is_not_asked_again_even_by_a_later_edition(held: Ticket, manager: User) -> None:
    non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    catalogue.load_class(text=edition("1450 mm", valid_from="2026-04-10", name="2026-2"))
    assert rule_check.hold_what_breaches(Ticket.objects.filter(pk=held.pk), now=desk.NOW) == 0


def test_it_is_ready_without_a_label(held: Ticket, manager: User) -> None:
    non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    for step in Step.objects.filter(ticket=held).order_by("position"):
        floor.start_step(step=step, by=manager, now=desk.NOW)
        floor.finish_step(step=step, by=manager, now=desk.NOW)
    assert Ticket.objects.get(pk=held.pk).state == TicketState.READY


def as_stored(ticket: Ticket) -> tuple[object, ...]:
    rows = Ticket.objects.filter(pk=ticket.pk).values("state", "not_legal", "label_place", "label_number", "version")
    return list(rows), list(Requirement.objects.filter(ticket=ticket).order_by("pk").values("kind", "met_at"))  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("label", "yes", "paths"),
    [
        ("nobody and no words", non_class.WrittenYes(" ", date(2026, 3, 1), ""), ["name", "words"]),
        ("a day to come", non_class.WrittenYes("Maud Pellow", date(2026, 3, 3), "yes"), ["said_on"]),
        ("a name on two lines", non_class.WrittenYes("Maud\nPellow", date(2026, 3, 1), "yes"), ["name"]),
        ("too many words", non_class.WrittenYes("Maud Pellow", date(2026, 3, 1), "y" * 501), ["words"]),
    ],
)
def test_what_is_missing_in_the_yes(held: Ticket, manager: User, label: str, yes: non_class.WrittenYes, paths: list[str]) -> None:
    before = as_stored(held)
    with pytest.raises(InputError) as refused:
        non_class.sell(ticket=held, yes=yes, by=manager, now=desk.NOW)
    assert [p.path for p in refused.value.problems] == paths, label
    assert as_stored(held) == before


def test_who_may_and_when(held: Ticket, office: User, cutter: User, manager: User) -> None:
    before = as_stored(held)
    for user in (office, cutter):
        with pytest.raises(NotAllowed):
            non_class.sell(ticket=held, yes=WROTE, by=user, now=desk.NOW)
    with pytest.raises(Stale):
        non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW, version=held.version - 1)
    assert as_stored(held) == before
    catalogue.load_class(text=edition("1450 mm", valid_from="2026-04-10", name="2026-2"))
    with pytest.raises(Conflict, match="compare again"):
        non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    other = Ticket.objects.exclude(pk=held.pk).get()
    with pytest.raises(Conflict, match="stays a class sail"):
        non_class.sell(ticket=other, yes=WROTE, by=manager, now=desk.NOW)
    assert as_stored(held) == before


def test_a_label_that_is_on_comes_off_first(loft: None, manager: User) -> None:
    """The edition comes when all but the last step is done; the label's own step was the one before it."""
    order = desk.accepted(manager)
    ticket = release(order, 1, manager)
    finish(ticket, manager, but=1)
    catalogue.load_class(text=edition(TIGHT))
    floor.check_rules_again(ticket=Ticket.objects.get(pk=ticket.pk), by=manager, now=desk.NOW)
    ticket = Ticket.objects.get(pk=ticket.pk)
    with pytest.raises(InputError, match="L 1 is on the sail: take it off first"):
        non_class.sell(ticket=ticket, yes=WROTE, by=manager, now=desk.NOW)
    assert not non_class.sell(ticket=ticket, yes=WROTE, by=manager, now=desk.NOW, label_is_off=True)
    assert Ticket.objects.get(pk=ticket.pk).label_number == ""
    entry = AuditEntry.objects.get(action="sell_non_class")
    assert (entry.before, entry.after["label_number"]) == ({"label_number": "L 1"}, "")
    last = Step.objects.get(ticket=ticket, finished_at=None)
    floor.start_step(step=last, by=manager, now=desk.NOW)
    floor.finish_step(step=last, by=manager, now=desk.NOW)
    assert Ticket.objects.get(pk=ticket.pk).state == TicketState.READY


def test_where_only_the_label_s_step_is_left_the_sail_is_ready(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    ticket = release(order, 1, manager)
    for step in Step.objects.filter(ticket=ticket).exclude(operation="royalty_label").order_by("position"):
        floor.start_step(step=step, by=manager, now=desk.NOW)
        floor.finish_step(step=step, by=manager, now=desk.NOW)
    catalogue.load_class(text=edition(TIGHT))
    floor.check_rules_again(ticket=Ticket.objects.get(pk=ticket.pk), by=manager, now=desk.NOW)
    non_class.sell(ticket=Ticket.objects.get(pk=ticket.pk), yes=WROTE, by=manager, now=desk.NOW)
    assert Ticket.objects.get(pk=ticket.pk).state == TicketState.READY


# -- changes of an order


def changed(order: Order, boats: bytes, manager: User) -> Ticket:
    """The second line's ticket after a signed change to this list."""
    revision = services.draft_change(order=selectors.order(order.pk), boats=boats, now=desk.NOW, by=manager)
    services.issue(revision=revision, by=manager, now=desk.NOW, reason=YES if revision.non_class else "")
    services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW)
    return line_ticket(order, 2)


def test_a_change_makes_a_class_sail_of_it_and_asks_for_the_label(order: Order, manager: User) -> None:
    ticket = changed(order, MARKED.replace(b"5240,window,yes", b",window,"), manager)
    assert ticket.not_legal == [] and ticket.label_place
    assert ticket.requirements.get(kind=Need.LABEL).met_at is None and ticket.steps.filter(operation="royalty_label").exists()


def test_a_change_makes_a_class_sail_not_legal(loft: None, manager: User) -> None:
    order = desk.accepted(manager, MARKED.replace(b"5240,window,yes", b",window,"))
    ticket = changed(order, MARKED, manager)
    assert (ticket.not_legal, ticket.label_place) == ([OVER], "")
    assert not ticket.requirements.filter(kind=Need.LABEL).exists() and not ticket.steps.filter(operation="royalty_label").exists()
    batch = desk.paper_of(Order.objects.get(pk=order.pk))
    assert [sail.pass_through > 0 for sail in batch.sails] == [True, False]


def test_what_was_settled_on_the_floor_outlives_a_change_of_something_else(held: Ticket, manager: User) -> None:
    non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    order = Order.objects.get()
    boats = desk.TWO_BOATS.replace(b"options\n", b"options,note\n").replace(b"window\n", b"window,red bag\n")
    changed(order, boats, manager)
    ticket = Ticket.objects.get(pk=held.pk)
    assert ticket.not_legal and not ticket.requirements.filter(kind=Need.LABEL).exists()
    assert not ticket.steps.filter(operation="royalty_label").exists()
    revision = Revision.objects.get(change=True)
    text = reading.text(bytes(revision.pdf or b""))
    told = "edition 2026: half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (f))"
    assert f"Line 1, Heron 214: {told}." in text and "All but line 1 designed under edition 2025" in text
    page = Client().get(f"/accept/{desk.token_of(revision)}/").content.decode()
    assert "<strong>NOT CLASS LEGAL</strong>" in page and f": Heron 214: {told}" in words(page)


def test_no_class_label_is_recorded_on_it(order: Order, held: Ticket, manager: User) -> None:
    """Neither on a sail that was ordered as NON-CLASS, nor on one that was sold so while somebody had its page open."""
    seen = Ticket.objects.get(pk=held.pk)
    non_class.sell(ticket=held, yes=WROTE, by=manager, now=desk.NOW)
    for ticket in (line_ticket(order, 2), seen):
        with pytest.raises(Conflict, match="no class label goes on it"):
            floor.record_label(ticket=ticket, label_number="L 9", by=manager, now=desk.NOW)
        assert Ticket.objects.get(pk=ticket.pk).label_number == ""


def test_a_label_that_was_recorded_early_goes_with_the_class(loft: None, manager: User) -> None:
    order = desk.accepted(manager, MARKED.replace(b"5240,window,yes", b",window,"))
    floor.record_label(ticket=line_ticket(order, 2), label_number="L 2", by=manager, now=desk.NOW)
    ticket = changed(order, MARKED, manager)
    assert (ticket.not_legal, ticket.label_number) == ([OVER], "")
    entry = AuditEntry.objects.get(action="renew", subject=ticket.number)
    assert (entry.before["label_number"], entry.after["label_number"]) == ("L 2", "")
    again = changed(order, MARKED.replace(b"5240,window,yes", b",window,"), manager)
    assert again.not_legal == [] and again.requirements.get(kind=Need.LABEL).met_at is None


def test_it_is_sold_by_what_is_stored_not_by_what_was_read(held: Ticket, manager: User) -> None:
    """A label that was recorded and a sail that was scrapped since the ticket was read are seen, though no version is given."""
    read = Ticket.objects.get(pk=held.pk)
    floor.record_label(ticket=held, label_number="L 1", by=manager, now=desk.NOW)
    with pytest.raises(InputError, match="L 1 is on the sail"):
        non_class.sell(ticket=read, yes=WROTE, by=manager, now=desk.NOW)
    floor.scrap(ticket=held, reason="torn", now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match="scrapped"):
        non_class.sell(ticket=read, yes=WROTE, by=manager, now=desk.NOW, label_is_off=True)
    assert Ticket.objects.get(pk=held.pk).not_legal == []


# -- over HTTP


@pytest.fixture
def api(manager: User) -> APIClient:
    client = APIClient(headers={"If-Match": "*"})
    client.force_login(manager)
    return client


def test_the_api_takes_the_mark_and_tells_what_is_not_legal(loft: None, api: APIClient) -> None:
    customer = {"kind": "association", "name": "Tarn Sailors", "email": "sails@skerling.example", "buyer": "trade"}
    boat = {"boat": "Lapwing", "owner": "Ada Thwaite", "sail_number": "171", "luff_length": "5240"}
    asked = {"new_customer": customer, "pattern": desk.PATTERN, "priced_on": "2026-03-02", "boats": [boat]}

    def post(path: str, body: object) -> object:
        return api.post(path, body, format="json", headers={"Idempotency-Key": uuid.uuid4().hex})

    refused = post("/api/quotes/", asked)
    assert refused.status_code == 400  # type: ignore[attr-defined]
    (detail,) = refused.json()["details"]  # type: ignore[attr-defined]
    assert (detail["path"], detail["code"]) == ("boats[0].luff_length", "outside_maximum") and "NON-CLASS" in detail["message"]
    asked["boats"] = [boat | {"non_class": "yes"}]
    made = post("/api/quotes/", asked).json()  # type: ignore[attr-defined]
    assert made["revisions"][0]["non_class"]
    quote = f"/api/quotes/{made['id']}/"
    assert api.get(quote).json()["batch"]["sails"][0]["not_legal"] == [OVER]
    missing = post(f"{quote}issue/", {})
    assert [d["code"] for d in missing.json()["details"]] == ["non_class"]  # type: ignore[attr-defined]
    assert post(f"{quote}issue/", {"reason": YES}).status_code == 200  # type: ignore[attr-defined]


def test_the_api_settles_a_held_ticket(held: Ticket, api: APIClient) -> None:
    """Its clock is the real one, so the breach is that of today's edition all the same."""
    floor.check_rules_again(ticket=held, by=User.objects.get(username="manager"), now=desk.NOW)
    path = f"/api/tickets/{held.pk}/non-class/"
    assert [d["path"] for d in api.post(path, {}, format="json").json()["details"]] == ["name", "said_on", "words"]
    api.post(f"/api/tickets/{held.pk}/rules/", {}, format="json")  # of the day on which the request is made
    body = {"name": "Maud Pellow", "said_on": "2026-03-01", "words": "yes"}
    answer = api.post(path, body, format="json")
    assert answer.status_code == 200, answer.json()
    assert "10 mm over the maximum of 1,460 mm (C.6.3 (f))" in answer.json()["not_legal"][0]
    order = Order.objects.get()
    lines = api.get(f"/api/orders/{order.pk}/").json()["lines"]
    assert [bool(line["not_legal"]) for line in lines] == [True, False]
