"""A new edition of the class: what it changes, which quotes, tickets and stock sails would breach, and what is held by it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.catalogue.models import RuleEdition
from loft.common.errors import Conflict, NotAllowed
from loft.orders import new_edition, paper, services
from loft.orders.models import Order
from loft.workshop import rule_check
from loft.workshop import services as floor
from loft.workshop.models import Requirement, Step, Ticket
from loft.workshop.states import Need, TicketState
from tests import desk, skerling

#: The designed half width is 1,470 mm, its limit of 2025 less the 5 mm kept back.
TIGHT, WIDE = "1460 mm", "1480 mm"


def edition(half_width: str, *, valid_from: str = "2026-04-01", name: str = "2026") -> str:
    """The class file of 2025 as a later edition with another maximum of the half width, and without its minimum."""
    text = skerling.text("skerling_13_2025.toml")
    for old, new in (
        ('edition = "2025"', f'edition = "{name}"'),
        ("valid_from = 2025-03-01", f"valid_from = {valid_from}"),
        ('minimum = "1380 mm", maximum = "1475 mm"', f'maximum = "{half_width}"'),
        ('{ rule = "C.6.3 (d)", measurement = "foot_round", maximum = "60 mm" },', ""),
        (
            '{ rule = "C.6.3 (h)", measurement = "upper_width", maximum = "500 mm" },',
            '{ rule = "C.6.3 (h)", measurement = "upper_width", maximum = "500 mm" },\n'
            '{ rule = "C.6.3 (l)", measurement = "headboard_size", maximum = "150 mm" },',
        ),
        ('option = "window", choice = "optional"', 'option = "window", choice = "required"'),
    ):
        assert old in text
        text = text.replace(old, new, 1)  # of the mainsail, which stands first
    return text


def rule_of(text: str) -> new_edition.ClassRule:
    return catalogue.formats.read_class(text)


@pytest.fixture
def order(manager: User) -> Order:
    """Two sails to be certified by 13 April 2026, six weeks after their quote."""
    desk.load_catalogue()
    return desk.accepted(manager)


def line_ticket(order: Order, position: int) -> Ticket:
    return order.lines.get(position=position).ticket


def release(order: Order, position: int, manager: User) -> Ticket:
    """Meet everything that holds a ticket but the class rules."""
    ticket = line_ticket(order, position)
    for need in (Need.DEPOSIT, Need.FIT, Need.CLOTH):
        floor.meet([ticket], need, by="manager", now=desk.NOW)
    ticket.refresh_from_db()
    return ticket


def finish(ticket: Ticket, by: User, *, but: int = 0, now: datetime = desk.NOW) -> None:
    """Start and finish a ticket's steps in order, all but the last `but`."""
    floor.record_label(ticket=ticket, label_number="L 1", by=by, now=now)
    for step in list(Step.objects.filter(ticket=ticket).order_by("position"))[: -but or None]:
        floor.start_step(step=step, by=by, now=now)
        floor.finish_step(step=step, by=by, now=now)


# -- the load says what changes


@pytest.mark.django_db
def test_a_dry_run_shows_every_row_that_changes_and_stores_nothing() -> None:
    desk.load_catalogue()
    report = catalogue.load_class(text=edition(TIGHT), dry_run=True)
    since = report.details.index("against edition 2025:")
    assert report.details[since:] == (
        "against edition 2025:",
        "  mainsail: limit gone: Foot round, was max 60 mm (C.6.3 (d))",
        "  mainsail: limit changed: Half width, min 1380 mm, max 1475 mm (C.6.3 (f)) -> max 1460 mm (C.6.3 (f))",
        "  mainsail: limit added: Headboard, max 150 mm (C.6.3 (l))",
        "  mainsail: option changed: window, optional (C.6.2 (e)) -> required (C.6.2 (e))",
    )
    assert [r.edition for r in RuleEdition.objects.all()] == ["2025"]


@pytest.mark.django_db
def test_a_new_pattern_version_is_shown_against_the_one_before() -> None:
    desk.load_catalogue()
    text = skerling.text("sk13_main_v3.toml")
    text = text.replace("version = 3", "version = 4").replace('top_width = "132 mm"', 'top_width = "130 mm"', 1)
    text = text.replace('cloths = ["DW170", "DW185"]', 'cloths = ["DW185"]')
    report = catalogue.load_pattern(text=text, dry_run=True)
    assert report.details[report.details.index("against version 3:") :] == (
        "against version 3:", "  sizes changed: top_width, 132 -> 130", "  cloths gone: DW170",
    )  # fmt: skip


@pytest.mark.django_db
def test_an_edition_of_overlapping_days_is_refused_and_nothing_stored() -> None:
    desk.load_catalogue()
    with pytest.raises(InputError) as refused:
        catalogue.load_class(text=edition(TIGHT, valid_from="2025-03-01"))
    assert [p.code for p in refused.value.problems] == ["overlap"]
    assert [r.edition for r in RuleEdition.objects.all()] == ["2025"]


# -- who would breach


def test_open_quotes_unfinished_tickets_and_stock_sails_are_reported(order: Order, manager: User) -> None:
    release(order, 1, manager)
    first = line_ticket(order, 1)
    finish(first, manager)
    other = services.issue(revision=desk.draft(desk.ONE_BOAT), by=manager, now=desk.NOW)
    desk.draft(desk.ONE_BOAT)
    report = new_edition.would_breach(rule_of(edition(TIGHT)), now=desk.NOW)
    found = [(row.what, row.reference, row.bound) for row in report.rows]
    assert sorted(found) == [
        ("open quote", other.quote.reference, True), ("open quote", f"draft {order.revision.quote_id + 2}", True),
        ("sail in stock", "O-0001-01", True), ("unfinished ticket", "O-0001-02", True),
    ]  # fmt: skip
    assert report.looked_at == 4
    breach = "half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (f))"
    assert all(breach in row.breaches for row in report.rows)
    without = [row.what for row in report.rows if "window is required (C.6.2 (e)) and the sail has none" in row.breaches]
    assert without == ["open quote", "open quote"]
    assert next(iter(report.lines())).endswith("4 would breach")


def test_a_corrected_text_holds_what_was_designed_by_the_wrong_one_and_leaves_its_papers(order: Order, manager: User) -> None:
    before = bytes(order.revision.snapshot)
    text = edition(TIGHT, valid_from="2025-03-01", name="2025").replace("valid_from", "correction = 1\nvalid_from")
    report = new_edition.would_breach(rule_of(text), now=desk.NOW)
    assert report.under_it == ("unfinished ticket O-0001-01", "unfinished ticket O-0001-02")
    catalogue.load_class(text=text)
    ticket = release(order, 1, manager)
    held = Requirement.objects.get(ticket=ticket, kind=Need.RULES)
    assert held.met_at is None and "half width 1,470 mm is 10 mm over the maximum of 1,460 mm" in held.wording
    order.revision.refresh_from_db()
    assert bytes(order.revision.snapshot) == before


def test_what_is_certified_before_the_edition_is_told_apart(order: Order) -> None:
    report = new_edition.would_breach(rule_of(edition(TIGHT, valid_from="2026-04-14")), now=desk.NOW)
    assert [row.bound for row in report.rows] == [False, False]
    assert report.rows[0].expected_on == date(2026, 4, 13)


def test_what_expired_was_delivered_or_scrapped_is_not_looked_at(order: Order, manager: User) -> None:
    desk.issued(manager, desk.ONE_BOAT)
    floor.scrap(ticket=line_ticket(order, 1), reason="torn", now=desk.NOW)
    later = desk.NOW + timedelta(days=60)
    report = new_edition.would_breach(rule_of(edition(TIGHT)), now=later)
    assert [row.reference for row in report.rows] == ["O-0001-02"]


def test_page_and_api_say_the_same(order: Order, manager: User) -> None:
    catalogue.load_class(text=edition(TIGHT))
    client = Client()
    client.force_login(manager)
    page = client.get("/class-rules/?class=SK13&edition=2026").content.decode()
    assert "2 would breach" in page and "10 mm over the maximum of 1,460 mm (C.6.3 (f))" in page
    assert "limit gone: Foot round, was max 60 mm (C.6.3 (d))" in page
    of_2025 = client.get("/class-rules/?class=SK13&edition=2025").content.decode()
    assert '<th scope="row">Half width</th><td data-label="As printed">min 1380 mm, max 1475 mm</td>' in of_2025
    assert "Reef" in of_2025 and "forbidden" in of_2025  # options and rules that no number expresses stand with the limits
    answer = client.get("/api/would-breach/?class_code=SK13&edition=2026").json()
    assert [row["reference"] for row in answer["results"]] == ["O-0001-01", "O-0001-02"]
    assert client.get("/class-rules/?class=SK13&edition=2099").status_code == 404
    assert client.get("/api/would-breach/?class_code=SK13&edition=2099").status_code == 404


# -- the quote says so


@pytest.mark.django_db
def test_a_quote_says_what_the_edition_of_its_day_says(manager: User) -> None:
    desk.load_catalogue()
    catalogue.load_class(text=edition(TIGHT))
    boats = b"boat,owner,sail_number,certified_on\nHeron,Maud Pellow,214,2026-03-20\nWren,Ada Thwaite,215,\n"
    first, second = paper.thaw(desk.draft(boats)).sails
    assert (first.certified_on, first.edition_notes) == (date(2026, 3, 20), ())
    assert second.edition_notes[2].startswith("Expected to be certified on 2026-04-13, when edition 2026 is in force")
    assert second.edition_notes[0].endswith("10 mm over the maximum of 1,460 mm (C.6.3 (f))")
    assert second.edition_notes[1] == "OUTSIDE edition 2026: window is required (C.6.2 (e)) and the sail has none"


@pytest.mark.django_db
def test_a_day_that_is_none_is_refused_with_its_row() -> None:
    desk.load_catalogue()
    with pytest.raises(InputError) as refused:
        desk.draft(b"boat,owner,sail_number,certified_on\nHeron,Maud Pellow,214,next spring\n")
    assert [(p.path, p.code) for p in refused.value.problems] == [("row 2.certified_on", "not_a_day")]


# -- release and inspection


def test_a_breach_holds_the_release_with_what_is_wrong(order: Order, manager: User) -> None:
    catalogue.load_class(text=edition(TIGHT))
    ticket = release(order, 1, manager)
    assert ticket.state == TicketState.HELD
    need = Requirement.objects.get(ticket=ticket, kind=Need.RULES)
    assert need.wording.startswith("edition 2026, in force on 2026-04-13: half width 1,470 mm is 10 mm over the maximum of 1,460 mm")
    assert "NON-CLASS" in need.asked
    floor.meet([ticket], Need.DEPOSIT, by="manager", now=desk.NOW)
    ticket.refresh_from_db()
    assert ticket.state == TicketState.HELD


def test_an_edition_that_the_sail_keeps_holds_nothing(order: Order, manager: User) -> None:
    catalogue.load_class(text=edition(WIDE))
    assert release(order, 1, manager).state == TicketState.RELEASED
    assert not Requirement.objects.filter(kind=Need.RULES).exists()


def test_another_promised_day_may_settle_it(order: Order, manager: User, cutter: User) -> None:
    """Promised for a day before the edition begins, the sail is measured under the one that it was designed under."""
    catalogue.load_class(text=edition(TIGHT))
    ticket = release(order, 1, manager)
    assert not floor.check_rules_again(ticket=ticket, by=manager, now=desk.NOW)
    services.set_due_date(order=order, due_on=date(2026, 3, 31))
    ticket.refresh_from_db()
    with pytest.raises(NotAllowed):
        floor.check_rules_again(ticket=ticket, by=cutter, now=desk.NOW)
    assert floor.check_rules_again(ticket=ticket, by=manager, now=desk.NOW)
    ticket.refresh_from_db()
    assert ticket.state == TicketState.RELEASED
    assert Requirement.objects.get(ticket=ticket, kind=Need.RULES).met_by == "inside the class rules"


def test_at_inspection_the_sail_is_compared_with_the_edition_of_that_day(order: Order, manager: User) -> None:
    ticket = release(order, 1, manager)
    finish(ticket, manager, but=1)
    catalogue.load_class(text=edition(TIGHT))
    last = Step.objects.get(ticket=ticket, finished_at=None)
    floor.start_step(step=last, by=manager, now=desk.NOW)
    with pytest.raises(Conflict, match=r"cannot be ready: edition 2026.*10 mm over.*\(C.6.3 \(f\)\).*NON-CLASS"):
        floor.finish_step(step=last, by=manager, now=desk.NOW)
    ticket.refresh_from_db()
    last.refresh_from_db()
    assert (ticket.state, last.finished_at) == (TicketState.IN_WORK, None)
    assert Requirement.objects.get(ticket=ticket, kind=Need.RULES).met_at is None  # kept, so that desk and floor see it


def test_a_breach_that_was_settled_by_name_does_not_open_again_and_another_does(order: Order, manager: User) -> None:
    catalogue.load_class(text=edition(TIGHT))
    ticket = release(order, 1, manager)
    floor.meet([ticket], Need.RULES, by="NON-CLASS, the owner", now=desk.NOW)
    ticket.refresh_from_db()
    assert ticket.state == TicketState.RELEASED
    assert rule_check.hold_what_breaches(Ticket.objects.filter(pk=ticket.pk), now=desk.NOW) == 0
    catalogue.load_class(text=edition("1450 mm", valid_from="2026-04-10", name="2026-2"))
    assert rule_check.hold_what_breaches(Ticket.objects.filter(pk=ticket.pk), now=desk.NOW) == 1
    need = Requirement.objects.get(ticket=ticket, kind=Need.RULES)
    assert need.met_at is None and f"{Decimal(20)} mm over the maximum of 1,450 mm" in need.wording


def test_the_page_offers_to_compare_again(order: Order, manager: User) -> None:
    """Days far ahead: the page reads the clock, and a day that is over counts as today."""
    catalogue.load_class(text=edition(TIGHT, valid_from="2100-01-01"))
    services.set_due_date(order=order, due_on=date(2100, 2, 1))
    ticket = release(order, 1, manager)
    client = Client()
    client.force_login(manager)
    page = client.get(f"/tickets/{ticket.pk}/").content.decode()
    assert "10 mm over the maximum of 1,460 mm" in page and "Compare again" in page
    answer = client.post(f"/tickets/{ticket.pk}/rules/", {"version": ticket.version}, follow=True).content.decode()
    assert "It still breaches" in answer
    services.set_due_date(order=order, due_on=date(2099, 12, 31))
    ticket.refresh_from_db()
    answer = client.post(f"/tickets/{ticket.pk}/rules/", {"version": ticket.version}, follow=True).content.decode()
    assert "Nothing breaches" in answer and "is released" in answer
