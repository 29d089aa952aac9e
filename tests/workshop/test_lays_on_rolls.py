"""Rolls and remnants that two people reach for at once, flaws that leave no room for long sections, and remnants told without a search."""

from __future__ import annotations

import itertools

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing import cloth
from costing.errors import InputError
from loft import documents
from loft.common import selectors
from loft.common.errors import Conflict, Stale
from loft.orders.models import Order
from loft.workshop import jobs, lay_paper, lay_planning, lay_selectors, lay_stock, lays, rolls
from loft.workshop.lay_remnants import OnRemnant
from loft.workshop.models import Lay, LaySection, Roll, Ticket
from loft.workshop.states import LayState
from tests import desk
from tests.documents import reading
from tests.workshop.floor import run_planning, sections, white_roll

BOATS = "boat,owner,sail_number\n" + "".join(f"Boat {n},Owner {n},{n}\n" for n in (301, 302, 303, 304))


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager, BOATS.encode())


@pytest.fixture
def tickets(order: Order) -> list[Ticket]:
    return list(Ticket.objects.select_related("design").order_by("number"))


def planned(tickets: list[Ticket], by: User, **how: object) -> Lay:
    lay = lays.begin(tickets=tickets, steps=0, now=desk.NOW, by=by, **how)  # type: ignore[arg-type]
    run_planning(lay)
    assert lay.state == LayState.PLANNED, lay.trouble
    return lay


def remnant(by: User) -> Roll:
    return rolls.book_roll(
        name="L-0000-1-1", cloth_code="DW170", colour="white", lot="0999", length_mm=1400, usable_width_mm=700, remnant=True, now=desk.NOW,
        by=by,
    )  # fmt: skip


def test_the_page_tells_the_remnants_of_the_planning(
    tickets: list[Ticket], manager: User, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay = planned(tickets, manager)
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    laid = lay_planning.designs(lay)
    kept = {s.number: lays.section_remnants(s, laid) for s in sections(lay)}
    assert kept == {s.number: lay_planning.remnants(lay_planning.section_lay(s), lay_planning.parts(laid)) for s in sections(lay)}
    assert any(kept.values())

    def searched(*_: object) -> None:
        raise AssertionError("a view looks for remnants")

    monkeypatch.setattr(lay_planning, "remnants", searched)
    client.force_login(manager)
    page = client.get(f"/lays/{lay.pk}/").content.decode()
    for piece in (one for own in kept.values() for one in own):
        assert f"{piece.length_mm:.0f} × {piece.width_mm:.0f} mm" in page


def test_of_two_lays_offered_one_remnant_the_second_is_planned_again_without_it(tickets: list[Ticket], manager: User) -> None:
    """Both are planned before either is kept, as two workers would."""
    piece = remnant(manager)
    first = lays.begin(tickets=tickets[:1], steps=0, offered=[piece.pk], now=desk.NOW, by=manager)
    second = lays.begin(tickets=tickets[1:2], steps=0, offered=[piece.pk], now=desk.NOW, by=manager)
    found = [_planned(lay) for lay in (first, second)]
    assert lay_planning.keep(first, 1, found[0][1], found[0][0], now=desk.NOW)
    assert not lay_planning.keep(second, 1, found[1][1], found[1][0], now=desk.NOW)
    second.refresh_from_db()
    assert (second.state, second.plan) == (LayState.PLANNING, 2)
    run_planning(second)
    assert set(LaySection.objects.filter(roll=piece).values_list("lay__number", flat=True)) == {first.number}
    with pytest.raises(Conflict, match=f"the remnant L-0000-1-1 is on {first.number}"):
        lays.begin(tickets=tickets[2:], steps=0, offered=[piece.pk], now=desk.NOW, by=manager)


def _planned(lay: Lay) -> tuple[tuple[OnRemnant, ...], cloth.Lay | None]:
    """What the worker finds, before it is kept."""
    return jobs._planned(lay, jobs._Watch(lambda share: None))


def test_two_lays_are_not_put_on_the_same_cloth(tickets: list[Ticket], manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else puts a lay on the roll between reading what is free of it and writing."""
    mine, other = planned(tickets[:2], manager), planned(tickets[2:], manager)
    white_roll(manager)
    look = lay_stock.places

    def slowly(lay: Lay, *rest: object, **more: object) -> object:
        found = look(lay, *rest, **more)  # type: ignore[arg-type]
        if lay.pk == mine.pk:
            lays.put_on_rolls(lay=other, now=desk.NOW, by=manager)
        return found

    monkeypatch.setattr(lay_stock, "places", slowly)
    with pytest.raises(Stale):
        lays.put_on_rolls(lay=mine, now=desk.NOW, by=manager)
    monkeypatch.undo()
    lays.put_on_rolls(lay=mine, now=desk.NOW, by=manager)
    ends = sorted((s.start_mm, s.start_mm + s.length_mm) for s in LaySection.objects.all() if s.start_mm is not None)
    assert len(ends) == LaySection.objects.count()
    assert all(end <= start for (_, end), (start, _) in itertools.pairwise(ends))


def test_a_remnant_that_is_gone_has_the_lay_planned_again(tickets: list[Ticket], manager: User) -> None:
    piece = remnant(manager)
    lay = planned(tickets[:2], manager, offered=[piece.pk])
    white_roll(manager)
    words = reading.text(documents.lay_sheet_pdf(lay_paper.lay_document(lay_selectors.lay_row(lay), selectors.loft_profile())))
    assert "usable width 1,355 mm" in words
    assert "from 0.00 m, 700 mm wide" in words
    piece.refresh_from_db()
    rolls.put_away(row=piece, now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match=f"the remnants of sections 1 of {lay} are gone: plan what is not cut again"):
        lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    lays.plan_again(lay=lay, steps=0, by=manager)
    run_planning(lay)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    assert {s.roll.name for s in sections(lay) if s.roll} == {"R-7"}


def test_flaws_that_leave_no_room_have_the_rest_laid_in_shorter_sections(tickets: list[Ticket], manager: User) -> None:
    """Of 60 m no stretch without flaw is longer than 6.4 m, and a section of four mains is."""
    lay = planned(tickets, manager)
    assert max(s.length_mm for s in sections(lay)) > 6400
    white_roll(manager, length_mm=60_000, flaws=tuple((n * 6500, n * 6500 + 100) for n in range(9)))
    with pytest.raises(InputError, match=r"the longest stretch free of flaws is"):
        lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    lays.plan_again(lay=lay, steps=0, fit_rolls=True, by=manager)
    run_planning(lay)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    for section in sections(lay):
        assert section.roll is not None
        assert section.start_mm is not None
        for low, high in section.roll.flaws:
            assert section.start_mm >= high or section.start_mm + section.length_mm <= low
    document = lay_paper.lay_document(lay_selectors.lay_row(lay), selectors.loft_profile())
    words = reading.text(documents.lay_sheet_pdf(document))
    off_the_roll = [s.number for s in sorted(sections(lay), key=lambda s: s.start_mm or 0)]
    assert off_the_roll != sorted(off_the_roll)
    assert sorted(off_the_roll, key=lambda n: words.index(f"Section {n}")) == off_the_roll


def test_a_flaw_found_later_is_told_where_a_section_lies(tickets: list[Ticket], manager: User, client: Client) -> None:
    lay = planned(tickets[:2], manager)
    roll = white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    roll.refresh_from_db()
    rolls.note_flaws(row=roll, flaws=[(1_000, 1_200)], by=manager)
    client.force_login(manager)
    assert "lies over a flaw, 1.00 to 1.20 m" in client.get(f"/lays/{lay.pk}/").content.decode()
    lays.put_on_rolls(lay=Lay.objects.get(pk=lay.pk), now=desk.NOW, by=manager)
    assert "lies over a flaw" not in client.get(f"/lays/{lay.pk}/").content.decode()
