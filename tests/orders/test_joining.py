"""Boats that join a batch late: the tier that they reach together, and the number that is counted again on each day that matters."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.common.errors import NotAllowed
from loft.common.models import AuditEntry
from loft.orders import joining, paper, selectors, services
from loft.orders.models import Order, Quote, Revision
from loft.orders.services.revising_many import revise_many
from loft.workshop import services as workshop
from tests import desk, skerling
from tests.documents import reading

LATER = desk.NOW + timedelta(days=3)
THEN = desk.TODAY + timedelta(days=3)
LATE = b"boat,owner,sail_number,options\nPlover,Isolde Marr,301,window\n"


def boats(count: int, first: int = 400) -> bytes:
    """A list of so many boats, made as the pattern is."""
    return b"boat,owner,sail_number\n" + b"".join(f"Boat {n},Owner {n},{n}\n".encode() for n in range(first, first + count))


def ordered(by: User, count: int, first: int = 400) -> Order:
    """The order of an association's batch."""
    row = services.issue(revision=desk.draft(boats(count, first), terms=skerling.TERMS, by=by), by=by, now=desk.NOW)
    return services.accept(token=desk.token_of(row), name="Hester Lorne", now=desk.NOW)


def fresh(order: Order) -> Order:
    return selectors.order(order.pk)


def drafted(order: Order, by: User | None, rows: bytes = LATE, *, on: date = THEN, now: datetime = LATER, terms: str = "") -> Revision:
    customer = desk.association(name="Isolde Marr", kind="person")
    return services.draft_batch(
        customer=customer, pattern=desk.PATTERN, boats=rows, terms=terms, on=on, now=now, by=by, joins=fresh(order)
    )  # fmt: skip


def give_up(order: Order, by: User, *positions: int) -> None:
    for line in order.lines.select_related("ticket").filter(position__in=positions):
        workshop.scrap(ticket=line.ticket, reason="dropped out", now=LATER, by=by)


def house_with(old: str, new: str) -> None:
    """The loft's file with something else in it, from the day before yesterday on."""
    text = re.sub(r"(?m)^version = .*$", 'version = "2026-otherwise"', skerling.text("larkfield_2026.toml"), count=1)
    text = text.replace("valid_from = 2026-01-01", "valid_from = 2026-02-01", 1)
    assert text.count(old) == 1
    catalogue.load_house(text=text.replace(old, new))


def problems(refused: pytest.ExceptionInfo[InputError]) -> list[tuple[str, str]]:
    return [(p.path, p.code) for p in refused.value.problems]


def test_a_late_joiner_pays_the_tier_that_the_batch_has_reached(loft: None, manager: User) -> None:
    """Nine ordered sails and one: the tenth has 10 %, where alone it would have none. 912.05 - 91.21 = 820.84."""
    order = ordered(manager, 9)
    row = drafted(order, manager)
    batch = paper.thaw(row)
    assert (batch.joins, batch.joined, batch.counted, batch.terms_code) == ("O-0001", 9, 10, skerling.TERMS)
    assert (batch.discount, batch.tier_from) == (Decimal("0.10"), 10)
    assert batch.discount_reason == "batch of 10 sails, 9 of them in the batch of order O-0001: 10 % from 10"
    item = batch.sails[0].items[0]
    assert (item.unit_price, item.discount, item.net) == (Decimal("912.05"), Decimal("91.21"), Decimal("820.84"))
    assert Quote.objects.get(pk=row.quote_id).joins_id == order.pk
    assert not any("at least" in told for told in batch.warnings)
    drafting = AuditEntry.objects.filter(action="draft").order_by("-pk")[0]
    assert drafting.after["joins"] == "O-0001"
    alone = desk.draft(LATE, terms=skerling.TERMS, customer=desk.association(name="Alone"))
    assert paper.thaw(alone).discount == 0


def test_it_is_issued_accepted_and_counts_for_the_next_one(loft: None, manager: User) -> None:
    order = ordered(manager, 8)
    first = services.issue(revision=drafted(order, manager), by=manager, now=LATER)
    joined = services.accept(token=desk.token_of(first), name="Isolde Marr", now=LATER)
    assert (joined.reference, joining.sails_of(order)) == ("O-0002", 9)
    assert joining.batch_order(fresh(joined)).pk == order.pk
    next_one = drafted(joined, manager, b"boat,owner,sail_number\nWhimbrel,Odo Kerr,302\n")  # asked for at the joiner's own order
    batch = paper.thaw(next_one)
    assert (next_one.quote.joins_id, batch.joins, batch.joined, batch.discount) == (order.pk, "O-0001", 9, Decimal("0.10"))


def test_a_revision_keeps_what_it_joins_and_counts_again(loft: None, manager: User) -> None:
    order = ordered(manager, 9)
    row = drafted(order, manager)
    give_up(order, manager, 1)
    again = services.revise(quote=row.quote, on=THEN, now=LATER, by=manager)
    batch = paper.thaw(again)
    assert (again.quote.joins_id, batch.joins, batch.joined, batch.discount) == (order.pk, "O-0001", 8, Decimal("0.05"))
    many = revise_many(chosen={row.quote_id: again.revision}, on=THEN, now=LATER, by=manager)
    assert paper.thaw(many[0]).joined == 8
    with pytest.raises(InputError) as refused:
        services.revise(quote=row.quote, terms="STANDARD", on=THEN, now=LATER, by=manager)
    assert problems(refused) == [("terms", "other_terms")]


def test_an_order_that_has_ended_or_its_terms_let_nobody_join(loft: None, manager: User) -> None:
    single = services.accept(token=desk.token_of(desk.issued(manager, desk.ONE_BOAT)), name="Hester Lorne", now=desk.NOW)
    before = Revision.objects.count()
    with pytest.raises(InputError, match="terms STANDARD of O-0001 let no boat join late: a further boat gets a quote of its own"):
        drafted(single, manager)
    order = ordered(manager, 5)
    with pytest.raises(InputError) as refused:
        drafted(order, manager, terms="STANDARD")
    assert problems(refused) == [("terms", "other_terms")]
    services.cancel_order(order=fresh(order), reason="no fleet this year", now=LATER, by=manager)
    with pytest.raises(InputError, match="O-0002 is cancelled: a further boat gets a quote of its own"):
        drafted(order, manager)
    assert (Revision.objects.count(), joining.may_be_joined(fresh(order), on=THEN)) == (before + 1, False)


@pytest.mark.parametrize(
    ("label", "old", "new", "told"),
    [
        ("no joiners", "late_joiners = true", "late_joiners = false", "terms ASSOC-2026 of O-0001 let no boat join late"),
        ("cut-off", "late_joiners = true", "cut_off = 2026-03-04", "took orders until the end of 04 Mar 2026"),
    ],
)
def test_the_terms_say_whether_and_until_when(loft: None, manager: User, label: str, old: str, new: str, told: str) -> None:
    house_with(old, new)
    order = ordered(manager, 5)
    with pytest.raises(InputError, match=told):
        drafted(order, manager)
    if label == "cut-off":
        in_time = drafted(order, manager, on=date(2026, 3, 4))
        with pytest.raises(InputError, match="the batch terms took orders until the end of 04 Mar 2026"):
            services.issue(revision=in_time, by=manager, now=LATER)


def test_the_number_is_counted_again_on_the_day_of_issue(loft: None, manager: User) -> None:
    order = ordered(manager, 9)
    row = drafted(order, manager)
    give_up(order, manager, 1, 2)
    with pytest.raises(InputError) as refused:
        services.issue(revision=row, by=manager, now=LATER)
    assert problems(refused) == [("joins", "other_number")]
    assert "has 7 sails by now and this quote was priced for 9: re-price it" in str(refused.value)
    assert Revision.objects.get(pk=row.pk).state == "draft"
    again = services.reprice_left(quote=row.quote, lines=(), today=THEN, now=LATER, by=manager)
    assert paper.thaw(again).discount == Decimal("0.05")
    assert services.issue(revision=again, by=manager, now=LATER).state == "issued"


def test_the_number_is_counted_again_on_the_day_of_acceptance(loft: None, manager: User) -> None:
    order = ordered(manager, 9)
    row = services.issue(revision=drafted(order, manager), by=manager, now=LATER)
    give_up(order, manager, 1)
    told = "the batch of order O-0001 with this quote has 9 sails left, and its price holds from 10"
    with pytest.raises(services.TierMissed, match=told):
        services.accept(token=desk.token_of(row), name="Isolde Marr", now=LATER)
    assert (Revision.objects.get(pk=row.pk).state, Order.objects.count()) == ("issued", 1)


def test_sails_more_than_priced_do_not_stop_an_acceptance(loft: None, manager: User) -> None:
    order = ordered(manager, 8)
    first, second = (
        services.issue(revision=drafted(order, manager, f"boat,owner,sail_number\nLate {n},Owner,{n}\n".encode()), by=manager, now=LATER)
        for n in (501, 502)
    )
    services.accept(token=desk.token_of(first), name="Owner", now=LATER)
    assert services.accept(token=desk.token_of(second), name="Owner", now=LATER).reference == "O-0003"


def test_a_cancelled_batch_takes_nobody_at_its_price(loft: None, manager: User) -> None:
    order = ordered(manager, 9)
    row, issued_one = drafted(order, manager), drafted(order, manager, b"boat,owner,sail_number\nKnot,Odo Kerr,303\n")
    issued_one = services.issue(revision=issued_one, by=manager, now=LATER)
    services.cancel_order(order=fresh(order), reason="no fleet this year", now=LATER, by=manager)
    with pytest.raises(InputError, match="O-0001 is cancelled: a further boat gets a quote of its own"):
        services.issue(revision=row, by=manager, now=LATER)
    with pytest.raises(services.TierMissed, match="has 1 sail left, and its price holds from 10"):
        services.accept(token=desk.token_of(issued_one), name="Odo Kerr", now=LATER)


def test_a_change_of_a_joiners_order_keeps_its_tier(loft: None, manager: User) -> None:
    order = ordered(manager, 9)
    row = services.issue(revision=drafted(order, manager), by=manager, now=LATER)
    joined = services.accept(token=desk.token_of(row), name="Isolde Marr", now=LATER)
    give_up(order, manager, 1, 2, 3)
    rows = LATE.replace(b"window", b"window; no tell_tales")
    change = services.draft_change(order=fresh(joined), boats=rows, now=LATER, by=manager)
    batch = paper.thaw(change)
    item = batch.sails[0].items[0]
    assert (batch.discount, batch.joined, item.discount) == (Decimal("0.10"), 9, round(item.unit_price * Decimal("0.10"), 2))
    assert services.issue(revision=change, by=manager, now=LATER).state == "issued"


def test_below_the_minimum_nothing_is_issued(loft: None, manager: User) -> None:
    row = desk.draft(boats(4), terms=skerling.TERMS, by=manager)
    assert (paper.thaw(row).minimum_sails, paper.thaw(row).below_minimum) == (5, "STANDARD")
    told = "terms ASSOC-2026 ask for at least 5 sails and there are 4: re-price at the number that is left, on terms STANDARD"
    with pytest.raises(InputError, match=told):
        services.issue(revision=row, by=manager, now=desk.NOW)
    assert Revision.objects.get(pk=row.pk).state == "draft"
    again = services.reprice_left(quote=row.quote, lines=(), today=THEN, now=LATER, by=manager)
    assert (again.terms_code, again.sails, paper.thaw(again).discount) == ("STANDARD", 4, 0)
    assert services.issue(revision=again, by=manager, now=LATER).state == "issued"


def test_drop_outs_leave_a_quote_at_the_tier_of_the_rest(loft: None, manager: User) -> None:
    """Eleven at 10 %; two drop out, nine are left at 5 % and the prices of the same day; the old link is dead."""
    row = services.issue(revision=desk.draft(boats(11), terms=skerling.TERMS, by=manager), by=manager, now=desk.NOW)
    again = services.reprice_left(quote=row.quote, lines=(2, 11), today=THEN, now=LATER, by=manager, seen=1)
    was, batch = paper.thaw(row), paper.thaw(again)
    assert [s.boat for s in batch.sails] == [f"Boat {n}" for n in range(400, 411) if n not in (401, 410)]
    assert (was.discount, batch.discount, batch.priced_on) == (Decimal("0.10"), Decimal("0.05"), desk.TODAY)
    assert (Revision.objects.get(pk=row.pk).state, again.revision, again.state) == ("superseded", 2, "draft")
    services.issue(revision=again, by=manager, now=LATER)
    printed = reading.text(bytes(again.pdf or b""))
    assert "no longer in it" in printed and "Boat 401" in printed
    order = services.accept(token=desk.token_of(again), name="Hester Lorne", now=LATER)
    assert order.lines.count() == 9


def test_below_the_minimum_the_rest_is_priced_on_the_terms_for_that(loft: None, manager: User) -> None:
    row = services.issue(revision=desk.draft(boats(6), terms=skerling.TERMS, by=manager), by=manager, now=desk.NOW)
    again = services.reprice_left(quote=row.quote, lines=(1, 2), today=THEN, now=LATER, by=manager)
    assert (again.terms_code, paper.thaw(again).discount, again.sails) == ("STANDARD", 0, 4)
    services.issue(revision=again, by=manager, now=LATER)
    assert "ASSOC-2026" in reading.text(bytes(again.pdf or b"")).split("What is new since revision 1")[1]


def test_once_the_offer_is_over_the_lists_of_the_day_count(loft: None, manager: User) -> None:
    row = services.issue(revision=desk.draft(boats(6), terms=skerling.TERMS, by=manager), by=manager, now=desk.NOW)
    assert row.expires_at is not None
    after = row.expires_at + timedelta(days=1)
    again = services.reprice_left(quote=row.quote, lines=(1,), today=after.date(), now=after, by=manager)
    assert paper.thaw(again).priced_on == after.date()


def test_a_boat_drops_out_with_its_whole_suit(loft: None, manager: User) -> None:
    catalogue.load_pattern(text=skerling.second_main_text())
    rows = b"boat,owner,sail_number,pattern\nA,Ann,1,\nB,Bo,2,\nA,Ann,1,SK13-FLAT\nC,Cas,3,\n"
    row = desk.draft(rows, by=manager)
    assert [s.boat for s in paper.thaw(row).sails] == ["A", "A", "B", "C"]
    again = services.reprice_left(quote=row.quote, lines=(2,), today=THEN, now=LATER, by=manager)
    assert [s.boat for s in paper.thaw(again).sails] == ["B", "C"]


@pytest.mark.parametrize(
    ("label", "lines", "found"),
    [("a line that is not there", (7,), ("lines", "unknown_line")), ("nobody left", (1, 2), ("lines", "nobody_left"))],
)
def test_drop_outs_that_cannot_be(loft: None, manager: User, label: str, lines: tuple[int, ...], found: tuple[str, str]) -> None:
    row = desk.draft(by=manager)
    with pytest.raises(InputError) as refused:
        services.reprice_left(quote=row.quote, lines=lines, today=THEN, now=LATER, by=manager)
    assert problems(refused) == [found], label
    assert Revision.objects.count() == 1


def test_terms_that_name_none_for_that_leave_the_choice_to_the_desk(loft: None, manager: User) -> None:
    house_with('below_minimum = "STANDARD"\n', "")
    row = desk.draft(boats(4), terms=skerling.TERMS, by=manager)
    with pytest.raises(InputError, match="there are 4: revise it on other terms"):
        services.issue(revision=row, by=manager, now=desk.NOW)
    with pytest.raises(InputError, match="4 would be left: revise the quote on other terms"):
        services.reprice_left(quote=row.quote, lines=(), today=THEN, now=LATER, by=manager)


def test_the_floor_neither_joins_nor_drops_out(loft: None, manager: User, cutter: User) -> None:
    order = ordered(manager, 5)
    with pytest.raises(NotAllowed):
        drafted(order, cutter)
    with pytest.raises(NotAllowed):
        services.reprice_left(quote=desk.draft().quote, lines=(1,), today=THEN, now=LATER, by=cutter)
