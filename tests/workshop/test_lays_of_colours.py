"""Sails of several colours and windows on the floor: each cloth and colour of a batch is a lay of its own, of whichever sails have it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from costing.quote import snapshot
from loft.catalogue import services as catalogue
from loft.common.errors import Conflict
from loft.orders import services as desk_writes
from loft.orders.models import Order
from loft.workshop import lay_planning, lay_selectors, lays, rolls, services
from loft.workshop.models import Lay, LaySection, LayShare, Ticket
from loft.workshop.states import LayState
from tests import desk, skerling
from tests.workshop.floor import all_met, run_planning

BOATS = b"boat,owner,sail_number,colour\nHeron,Maud Pellow,214,white + accent red\nDipper,Tobias Wray,187,white\nTern,Ada Brill,193,red\n"


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    catalogue.load_pattern(text=skerling.text("sk13_spinnaker_v1.toml"))
    draft = desk_writes.draft_batch(
        customer=desk.association(), pattern="SK13-SPI", boats=BOATS, terms="", on=desk.TODAY, now=desk.NOW, by=manager
    )
    issued = desk_writes.issue(revision=draft, by=manager, now=desk.NOW)
    return desk_writes.accept(token=desk.token_of(issued), name="Hester Lorne", now=desk.NOW)


@pytest.fixture
def tickets(order: Order) -> list[Ticket]:
    return list(Ticket.objects.select_related("design").order_by("number"))


def test_its_ticket_has_a_lay_for_each_colour(tickets: list[Ticket]) -> None:
    kept = [snapshot.thaw_design(bytes(t.design.data)) for t in tickets]
    assert [[lay.colour for lay in design.lays] for design in kept] == [["", "accent"], [""], [""]]


def test_each_colour_of_the_batch_is_one_lay(tickets: list[Ticket], manager: User) -> None:
    """White is Heron's body and Dipper's, red Heron's accent and Tern's body; every part is placed once, on the roll of its colour."""
    waiting = {str(group): [t.sail_label for t in group.tickets] for group in lay_selectors.waiting_sails()}
    assert waiting == {"NR41 red": ["Tern 193", "Heron 214"], "NR41 white": ["Heron 214", "Dipper 187"]}
    white = planned(tickets[:2], ("NR41", "white"), manager)
    red = planned([tickets[0], tickets[2]], ("NR41", "red"), manager)
    assert lay_selectors.waiting_sails() == ()
    designs = [snapshot.thaw_design(bytes(t.design.data)) for t in tickets]
    heron, dipper, tern = ({(p.id, p.colour) for p in d.parts} for d in designs)
    assert on(white) == {("A", p) for p, slot in heron if slot == ""} | {("B", p) for p, _ in dipper}
    assert on(red) == {("A", p) for p, slot in heron if slot == "accent"} | {("B", p) for p, _ in tern}


def test_a_lay_takes_no_sail_without_its_cloth_and_none_twice(tickets: list[Ticket], manager: User) -> None:
    with pytest.raises(InputError) as caught:
        lays.begin(tickets=tickets, steps=0, cut_from=("NR41", "red"), now=desk.NOW, by=manager)
    assert [(p.path, p.code) for p in caught.value.problems] == [(f"tickets[{tickets[1].number}]", "other_cloth")]
    assert "is cut from NR41 white, not from NR41 red" in caught.value.problems[0].message
    lays.begin(tickets=tickets[:1], steps=0, cut_from=("NR41", "red"), now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match=f"{tickets[0].number} is on L-0001"):
        lays.begin(tickets=[tickets[0], tickets[2]], steps=0, cut_from=("NR41", "red"), now=desk.NOW, by=manager)
    assert lays.begin(tickets=tickets[:2], steps=0, cut_from=("NR41", "white"), now=desk.NOW, by=manager).number == "L-0002"


def test_a_colours_lot_is_its_own_and_the_body_books_the_cloth(tickets: list[Ticket], order: Order, manager: User) -> None:
    """The red accent lies on a roll of another lot than the white body: only the body's is the sail's cloth."""
    all_met(order, tickets, manager)
    red = planned([tickets[0]], ("NR41", "red"), manager)
    roll(manager, "R-RED", "red", "77")
    lays.put_on_rolls(lay=red, now=desk.NOW, by=manager)
    heron = Ticket.objects.get(pk=tickets[0].pk)
    assert (heron.roll, heron.lot) == ("", "")
    white = planned(tickets[:2], ("NR41", "white"), manager)
    roll(manager, "R-WHITE", "white", "12")
    lays.put_on_rolls(lay=white, now=desk.NOW, by=manager)
    heron.refresh_from_db()
    assert (heron.roll, heron.lot) == ("R-WHITE", "12")
    used = Decimal(0)
    for lay in (red, white):
        for section in LaySection.objects.filter(lay=lay):
            lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
        used += sum(LayShare.objects.filter(section__lay=lay, ticket=heron).values_list("metres", flat=True))
    heron.refresh_from_db()
    assert heron.metres_used == used
    total = sum(LaySection.objects.values_list("actual_mm", flat=True))
    assert sum(LayShare.objects.values_list("metres", flat=True)) == Decimal(total) / 1000


def test_a_scrapped_sail_leaves_the_lays_of_all_its_colours(tickets: list[Ticket], manager: User) -> None:
    white = planned(tickets[:2], ("NR41", "white"), manager)
    red = planned([tickets[0], tickets[2]], ("NR41", "red"), manager)
    services.scrap(ticket=Ticket.objects.get(pk=tickets[0].pk), reason="given up", now=desk.NOW, by=manager)
    for lay in (white, red):
        run_planning(lay)
        assert {sail for sail, _ in on(lay)} == {"B"}


def test_windows_of_a_batch_are_laid_together_and_are_not_cloth(loft: None, manager: User) -> None:
    """Panes may turn by 90 degrees; the film's metres are shared, and are not the sails' metres of cloth."""
    mains = desk.accepted(manager)
    tickets = list(Ticket.objects.select_related("design").order_by("number"))
    all_met(mains, tickets, manager)
    film = planned(tickets, ("FILM-05", ""), manager)
    assert {part for _, part in on(film)} == {p.id for p in snapshot.thaw_design(bytes(tickets[0].design.data)).parts if p.kind == "window"}
    rolls.book_roll(
        name="F-1", cloth_code="FILM-05", colour="clear", lot="5", length_mm=20_000, usable_width_mm=900, now=desk.NOW, by=manager
    )  # fmt: skip
    services.book_cloth(tickets=tickets, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    lays.put_on_rolls(lay=film, now=desk.NOW, by=manager)
    for section in LaySection.objects.filter(lay=film):
        lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    assert LayShare.objects.count() == 2
    assert set(Ticket.objects.values_list("metres_used", "lot")) == {(None, "1180")}
    assert [str(group) for group in lay_selectors.waiting_sails()] == ["DW170 white"]


def planned(tickets: list[Ticket], cut_from: tuple[str, str], by: User) -> Lay:
    lay = lays.begin(tickets=tickets, steps=0, cut_from=cut_from, now=desk.NOW, by=by)
    run_planning(lay)
    assert lay.state == LayState.PLANNED, lay.trouble
    return lay


def on(lay: Lay) -> set[tuple[str, str]]:
    """What is placed on a lay, by letter and part; each once."""
    placed = [(p.sail, p.part_id) for s in LaySection.objects.filter(lay=lay) for p in lay_planning.section_lay(s).placements]
    assert len(placed) == len(set(placed))
    return set(placed)


def roll(by: User, name: str, colour: str, lot: str) -> None:
    rolls.book_roll(
        name=name, cloth_code="NR41", colour=colour, lot=lot, length_mm=60_000, usable_width_mm=1485, now=desk.NOW, by=by
    )  # fmt: skip
