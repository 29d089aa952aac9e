"""Parts that were spoiled: cut again on a new lay, from the sail's own lot, and shared like any other cloth."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.common.errors import Conflict
from loft.orders.models import Order
from loft.workshop import lay_planning, lay_selectors, lays, remakes, services
from loft.workshop.models import Lay, LayShare, Remake, Ticket
from loft.workshop.states import LayState
from tests import desk
from tests.workshop.floor import all_met, run_planning, sections, white_roll


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager)


@pytest.fixture
def cut(order: Order, manager: User) -> list[Ticket]:
    """Two sails whose bodies were cut on one lay from lot 1180."""
    tickets = list(Ticket.objects.select_related("design").order_by("number"))
    all_met(order, tickets, manager)
    lay = lays.begin(tickets=tickets, steps=0, now=desk.NOW, by=manager)
    run_planning(lay)
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    for section in sections(lay):
        lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    return list(Ticket.objects.select_related("design").order_by("number"))


def asked(ticket: Ticket, by: User, *parts: str) -> Remake:
    (made,) = remakes.ask(ticket=ticket, parts=parts, reason="scorched by the hot knife", now=desk.NOW, by=by)
    return made


def laid(again: list[Remake], by: User) -> Lay:
    lay = lays.begin(again=again, steps=0, cut_from=("DW170", "white"), now=desk.NOW, by=by)
    run_planning(lay)
    assert lay.state == LayState.PLANNED, lay.trouble
    return lay


def test_a_spoiled_panel_goes_on_a_new_lay_and_what_was_cut_stays(cut: list[Ticket], manager: User) -> None:
    before = [bytes(s.data) for s in sections(Lay.objects.get())]
    own = asked(cut[0], manager, "P3", "CLEW-2")
    others = asked(cut[1], manager, "P1")
    (group,) = [g for g in lay_selectors.waiting_sails() if str(g) == "DW170 white"]
    assert (group.tickets, group.again) == ((), (own, others))
    lay = laid([own, others], manager)
    placed = {(p.sail, p.part_id) for s in sections(lay) for p in lay_planning.section_lay(s).placements}
    assert placed == {("A", "P3"), ("A", "CLEW-2"), ("B", "P1")}
    assert [bytes(s.data) for s in sections(Lay.objects.get(number="L-0001"))] == before


def test_it_comes_from_the_sails_own_lot_and_its_metres_are_added(cut: list[Ticket], manager: User) -> None:
    first = [ticket.metres_used for ticket in cut]
    lay = laid([asked(cut[0], manager, "P3")], manager)
    (section,) = sections(lay)
    roll = white_roll(manager, "R-8", lot="1181")
    with pytest.raises(InputError, match=r"has DW170 white of lot 1180 already; no roll of that lot is in hand"):
        lays.put_on_rolls(lay=lay, only=[roll.pk], now=desk.NOW, by=manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    (section,) = sections(lay)
    assert section.roll is not None
    assert section.roll.lot == "1180"
    lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    more = Decimal(section.length_mm) / 1000
    assert LayShare.objects.get(section=section).metres == more
    after = list(Ticket.objects.order_by("number").values_list("metres_used", flat=True))
    assert after == [first[0] + more if first[0] is not None else None, first[1]]


def test_what_cannot_be_cut_again_is_told(cut: list[Ticket], manager: User) -> None:
    ticket = cut[0]
    with pytest.raises(InputError) as caught:
        remakes.ask(ticket=ticket, parts=["P3", "P99"], reason=" ", now=desk.NOW, by=manager)
    assert [(p.path, p.code) for p in caught.value.problems] == [("reason", "missing"), ("parts[P99]", "unknown_part")]
    window = next(p.id for p in lay_selectors.lay_cloths.design_of(ticket).parts if p.kind == "window")
    with pytest.raises(Conflict, match=f"{window} is not cut yet: cutting by the own lay of the sail has not begun"):
        asked(ticket, manager, window)
    asked(ticket, manager, "P3")
    with pytest.raises(Conflict, match=f"P3 of {ticket.number} waits to be cut again already"):
        asked(Ticket.objects.select_related("design").get(pk=ticket.pk), manager, "P3")
    assert Remake.objects.count() == 1


def test_a_part_that_lies_uncut_on_a_lay_is_not_cut_again(order: Order, manager: User) -> None:
    tickets = list(Ticket.objects.select_related("design").order_by("number"))
    all_met(order, tickets, manager)
    white_roll(manager)
    lay = lays.begin(tickets=tickets, steps=0, now=desk.NOW, by=manager)
    run_planning(lay)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match=r"P3 is not cut yet: it lies in section \d of L-0001"):
        asked(Ticket.objects.select_related("design").get(pk=tickets[0].pk), manager, "P3")


def test_a_cancelled_lay_gives_the_remake_back_and_a_scrapped_sail_ends_it(cut: list[Ticket], manager: User) -> None:
    own = asked(cut[0], manager, "P3")
    lay = laid([own], manager)
    with pytest.raises(Conflict, match="O-0001-01 is on L-0002"):
        lays.begin(again=[own], steps=0, now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match="it is on L-0002"):
        remakes.withdraw(remake=own, now=desk.NOW, by=manager)
    lays.cancel(lay=lay, now=desk.NOW, by=manager)
    assert list(remakes.waiting()) == [own]
    again = laid([own], manager)
    services.scrap(ticket=Ticket.objects.get(pk=cut[0].pk), reason="torn", now=desk.NOW, by=manager)
    again.refresh_from_db()
    assert again.state == LayState.CANCELLED
    assert list(remakes.waiting()) == []


def test_a_remake_that_is_not_needed_waits_no_more(cut: list[Ticket], manager: User) -> None:
    own = asked(cut[0], manager, "P3")
    remakes.withdraw(remake=own, now=desk.NOW, by=manager)
    assert list(remakes.waiting()) == []
    with pytest.raises(Conflict, match="withdrawn already"):
        remakes.withdraw(remake=own, now=desk.NOW, by=manager)
    assert asked(Ticket.objects.select_related("design").get(pk=cut[0].pk), manager, "P3") in remakes.waiting()
