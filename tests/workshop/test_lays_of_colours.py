"""A sail of several colours on the floor: it is cut by the lays of its own ticket, not together with others."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from costing.quote import snapshot
from loft.catalogue import services as catalogue
from loft.orders import services as desk_writes
from loft.workshop import lays
from loft.workshop.models import Lay, Ticket
from tests import desk, skerling

BOATS = b"boat,owner,sail_number,colour\nHeron,Maud Pellow,214,white + accent red\nDipper,Tobias Wray,187,white\n"


@pytest.fixture
def tickets(loft: None, manager: User) -> list[Ticket]:
    catalogue.load_pattern(text=skerling.text("sk13_spinnaker_v1.toml"))
    draft = desk_writes.draft_batch(
        customer=desk.association(), pattern="SK13-SPI", boats=BOATS, terms="", on=desk.TODAY, now=desk.NOW, by=manager
    )
    issued = desk_writes.issue(revision=draft, by=manager, now=desk.NOW)
    desk_writes.accept(token=desk.token_of(issued), name="Hester Lorne", now=desk.NOW)
    return list(Ticket.objects.select_related("design").order_by("number"))


def test_its_ticket_has_a_lay_for_each_colour(tickets: list[Ticket]) -> None:
    kept = [snapshot.thaw_design(bytes(t.design.data)) for t in tickets]
    assert [[lay.colour for lay in design.lays] for design in kept] == [["", "accent"], [""]]


def test_it_is_not_laid_with_others(tickets: list[Ticket], manager: User) -> None:
    with pytest.raises(InputError) as caught:
        lays.begin(tickets=tickets, steps=0, now=desk.NOW, by=manager)
    assert next((p.path, p.code) for p in caught.value.problems) == (f"tickets[{tickets[0].number}]", "several_colours")
    assert Lay.objects.count() == 0
    assert lays.begin(tickets=tickets[1:], steps=0, now=desk.NOW, by=manager).colour == "white"
