"""Lays that serve several sails: planned in the background, put on rolls, cut section by section, and what a cancellation leaves."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import override_settings

from costing import cloth
from costing.errors import InputError
from loft.common.errors import Conflict, NotAllowed
from loft.common.models import AuditEntry
from loft.jobs import running
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.jobs.states import State
from loft.orders import services as desk_writes
from loft.orders.models import Order
from loft.workshop import lay_planning, lays, rolls, services
from loft.workshop.models import Lay, LaySection, LayShare, Roll, Ticket
from loft.workshop.states import LayState, TicketState
from tests import desk
from tests.workshop.floor import all_met, run_planning, sections, white_roll


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    """Two sails of one cloth: Heron by the pattern, Linnet a variant."""
    return desk.accepted(manager)


@pytest.fixture
def tickets(order: Order) -> list[Ticket]:
    return list(Ticket.objects.select_related("design").order_by("number"))


def begun(tickets: list[Ticket], by: User, *, steps: int = 0) -> Lay:
    return lays.begin(tickets=tickets, steps=steps, now=desk.NOW, by=by)


def planned(tickets: list[Ticket], by: User) -> Lay:
    lay = begun(tickets, by)
    run_planning(lay)
    assert lay.state == LayState.PLANNED, lay.trouble
    return lay


def test_a_lay_is_planned_in_the_background_and_holds_every_body_part_once(tickets: list[Ticket], manager: User) -> None:
    lay = begun(tickets, manager)
    assert (lay.number, lay.state, lay.cloth_code, lay.colour) == ("L-0001", LayState.PLANNING, "DW170", "white")
    assert sections(lay) == []
    run_planning(lay)
    assert lay.state == LayState.PLANNED
    placed = sorted((p.sail, p.part_id) for s in sections(lay) for p in lay_planning.section_lay(s).placements)
    wanted = sorted((letter, p.id) for letter, d in lay_planning.designs(lay).items() for p in d.parts if p.material == "DW170")
    assert placed == wanted
    assert {letter for letter, _ in placed} == {"A", "B"}


def test_sails_laid_together_take_no_more_than_apart(tickets: list[Ticket], manager: User) -> None:
    lay = planned(tickets, manager)
    together = sum(s.length_mm for s in sections(lay))
    apart = sum(one.length_mm for d in lay_planning.designs(lay).values() for one in d.lays if one.material == "DW170")
    assert together <= apart + len(sections(lay))


def test_a_sail_lies_on_one_lay_at_a_time(tickets: list[Ticket], manager: User) -> None:
    begun(tickets[:1], manager)
    with pytest.raises(Conflict, match=f"{tickets[0].number} is on L-0001"):
        begun(tickets, manager)
    assert Lay.objects.count() == 1


def test_what_cannot_lie_together_is_refused_all_at_once(loft: None, manager: User) -> None:
    boats = b"boat,owner,sail_number,colour\nHeron,Maud Pellow,214,white\nLinnet,Morwenna Fell,221,red\nTern,Ada Brill,230,red\n"
    desk.accepted(manager, boats)
    tickets = list(Ticket.objects.select_related("design").order_by("number"))
    with pytest.raises(InputError) as refused:
        begun(tickets, manager)
    assert [p.code for p in refused.value.problems] == ["other_cloth", "other_cloth"]
    assert "O-0001-02 is cut from DW170 red" in refused.value.problems[0].message
    with pytest.raises(InputError, match="choose the sails"):
        begun([], manager)
    assert Lay.objects.count() == 0


def test_who_may_plan(tickets: list[Ticket], cutter: User) -> None:
    outsider = User.objects.create_user("reader")
    with pytest.raises(NotAllowed):
        begun(tickets, outsider)
    assert begun(tickets, cutter).number == "L-0001"


def test_a_planning_that_is_no_longer_awaited_is_discarded(tickets: list[Ticket], manager: User) -> None:
    lay = begun(tickets, manager)
    late = cloth.plan_lay(lay_planning.uncut(lay), next(iter(lay_planning.designs(lay).values())).cloth, cloth.Table())
    lays.plan_again(lay=lay, steps=0, by=manager)
    lay.refresh_from_db()
    assert lay.plan == 2
    assert not lay_planning.keep(lay, 1, late, now=desk.NOW)
    assert sections(lay) == []
    for job in Job.objects.filter(kind="lay").order_by("pk"):
        jobs.run_one(pk=job.pk)
    lay.refresh_from_db()
    assert lay.state == LayState.PLANNED
    assert set(Job.objects.filter(kind="lay").values_list("state", flat=True)) == {State.DONE}


@override_settings(LOFT_NESTING_SECONDS=4.0)
def test_with_steps_the_nesting_library_helps_and_the_lay_still_holds(tickets: list[Ticket], manager: User) -> None:
    lay = begun(tickets, manager)
    run_planning(lay)
    alone, whole = sum(s.length_mm for s in sections(lay)), placed(lay)
    lays.plan_again(lay=lay, steps=1, by=manager)
    run_planning(lay)
    assert sum(s.length_mm for s in sections(lay)) < alone
    assert placed(lay) == whole


def placed(lay: Lay) -> list[tuple[str, str]]:
    return sorted((p.sail, p.part_id) for s in sections(lay) for p in lay_planning.section_lay(s).placements)


def test_stopping_keeps_the_best_found(tickets: list[Ticket], manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """A million steps would take minutes: the worker is asked to stop as soon as it looks."""
    monkeypatch.setattr("loft.workshop.jobs._BEAT_S", 0.0)
    lay = begun(tickets, manager, steps=1_000_000)
    job = Job.objects.get(key=lay_planning.job_key(lay))
    claimed = running.claim(job.pk, now=job.run_after)
    assert claimed is not None
    lays.stop(lay=lay, by=manager)
    running.run(claimed, now=job.run_after)
    lay.refresh_from_db()
    assert lay.state in (LayState.PLANNED, LayState.PLANNING)
    job.refresh_from_db()
    assert job.state in (State.DONE, State.CANCELLED)


def test_sections_go_on_rolls_clear_of_flaws_and_book_the_cloth(order: Order, tickets: list[Ticket], manager: User) -> None:
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    white_roll(manager, flaws=((2_000, 2_200),))
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    for section in sections(lay):
        assert section.roll is not None
        assert section.start_mm is not None
        assert section.start_mm >= 2_200 or section.start_mm + section.length_mm <= 2_000
    for ticket in Ticket.objects.all():
        assert (ticket.roll, ticket.lot, ticket.state) == ("R-7", "1180", TicketState.RELEASED)


def test_no_place_on_any_roll_changes_nothing(order: Order, tickets: list[Ticket], manager: User) -> None:
    lay = planned(tickets, manager)
    with pytest.raises(InputError, match="no roll of DW170 white"):
        lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    white_roll(manager, length_mm=3_000)
    with pytest.raises(InputError, match=r"section 2 needs .* mm of one lot; the longest stretch free of flaws is 3,000 mm"):
        lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    assert {s.roll for s in sections(lay)} == {None}
    assert set(Ticket.objects.values_list("lot", flat=True)) == {""}


def test_cutting_shares_the_metres_to_the_millimetre_and_ends_the_lay(order: Order, tickets: list[Ticket], manager: User) -> None:
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    used = 0
    for section in sections(lay):
        used += section.length_mm + 20
        lays.cut_section(section=section, actual_mm=section.length_mm + 20, now=desk.NOW, by=manager)
    lay.refresh_from_db()
    assert lay.state == LayState.CUT
    assert sum(LayShare.objects.values_list("metres", flat=True)) == Decimal(used) / 1000
    metres = [ticket.metres_used for ticket in Ticket.objects.order_by("number")]
    assert sum(m for m in metres if m is not None) == Decimal(used) / 1000
    areas = [sum(cloth.net_area_mm2(p) for p in d.parts if p.material == "DW170") for _, d in sorted(lay_planning.designs(lay).items())]
    assert metres[0] is not None
    if len(sections(lay)) == 1:
        assert float(metres[0]) == pytest.approx(used / 1000 * areas[0] / sum(areas), abs=0.001)
    assert AuditEntry.objects.filter(action="cut_section").count() == len(sections(lay))


CUT_REFUSALS = [
    ("shorter than the section", -500, "really used cannot be right"),
    ("typed in the wrong unit", 900_000, "really used cannot be right"),
]


@pytest.mark.parametrize(("label", "more", "message"), CUT_REFUSALS, ids=[c[0] for c in CUT_REFUSALS])
def test_metres_that_cannot_be(order: Order, tickets: list[Ticket], manager: User, label: str, more: int, message: str) -> None:
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    section = sections(lay)[0]
    with pytest.raises(InputError, match=message):
        lays.cut_section(section=section, actual_mm=section.length_mm + more, now=desk.NOW, by=manager)
    assert LaySection.objects.filter(cut_at__isnull=False).count() == 0


def test_a_held_sail_is_not_cut_and_a_section_is_cut_once(order: Order, tickets: list[Ticket], manager: User) -> None:
    lay = planned(tickets, manager)
    white_roll(manager)
    section = sections(lay)[0]
    with pytest.raises(Conflict, match="on no roll yet"):
        lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    section = sections(lay)[0]
    with pytest.raises(Conflict, match=r"cannot be cut: O-0001-01.* held"):
        lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    all_met(order, tickets, manager)
    lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    with pytest.raises(Conflict):
        lays.cut_section(section=section, actual_mm=section.length_mm, now=desk.NOW, by=manager)
    assert LayShare.objects.count() == len({p.sail for p in lay_planning.section_lay(section).placements})


def test_a_cancelled_sail_leaves_and_only_what_is_not_cut_is_laid_again(loft: None, manager: User) -> None:
    """Six mains take more than one table: one section is cut, then a sail is scrapped."""
    names = ("Heron", "Linnet", "Tern", "Whimbrel", "Dunlin", "Avocet")
    boats = "boat,owner,sail_number\n" + "".join(f"{n},Owner of {n},{n_}\n" for n_, n in enumerate(names, start=301))
    order = desk.accepted(manager, boats.encode())
    tickets = list(Ticket.objects.select_related("design").order_by("number"))
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    white_roll(manager, length_mm=100_000)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    before = sections(lay)
    assert len(before) > 2
    lays.cut_section(section=before[0], actual_mm=before[0].length_mm, now=desk.NOW, by=manager)
    cut = {(p.sail, p.part_id) for p in lay_planning.section_lay(before[0]).placements}
    services.scrap(ticket=Ticket.objects.get(pk=tickets[5].pk), reason="the customer gave up", now=desk.NOW, by=manager)
    lay.refresh_from_db()
    assert lay.state == LayState.PLANNING
    run_planning(lay)
    after = sections(lay)
    assert bytes(after[0].data) == bytes(before[0].data)
    assert after[0].cut_at is not None
    laid = {(p.sail, p.part_id) for s in after[1:] for p in lay_planning.section_lay(s).placements}
    wanted = {(letter, p.id) for letter, d in lay_planning.designs(lay).items() for p in d.parts if p.material == "DW170"}
    assert laid == {one for one in wanted - cut if one[0] != "F"}
    assert sum(s.length_mm for s in after) < sum(s.length_mm for s in before)


def test_the_last_sail_taken_off_cancels_the_lay(order: Order, tickets: list[Ticket], manager: User) -> None:
    lay = planned(tickets, manager)
    desk_writes.cancel_order(order=order, reason="drowned in rain", now=desk.NOW + timedelta(hours=1), by=manager)
    lay.refresh_from_db()
    assert lay.state == LayState.CANCELLED
    assert sections(lay) == []


def test_a_lay_is_cancelled_whole_only_before_cutting(order: Order, tickets: list[Ticket], manager: User) -> None:
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    lays.cancel(lay=lay, now=desk.NOW, by=manager)
    again = planned(tickets, manager)
    white_roll(manager)
    lays.put_on_rolls(lay=again, now=desk.NOW, by=manager)
    lays.cut_section(section=sections(again)[0], actual_mm=sections(again)[0].length_mm, now=desk.NOW, by=manager)
    with pytest.raises(Conflict):
        lays.cancel(lay=Lay.objects.get(pk=again.pk), now=desk.NOW, by=manager)


def test_small_parts_come_off_an_offered_remnant_first(order: Order, tickets: list[Ticket], manager: User) -> None:
    """A remnant of another lot takes patches and tablings, no panel; the roll gives the rest, and the remnant is gone once it is cut."""
    all_met(order, tickets, manager)
    piece = rolls.book_roll(
        name="L-0000-1-1", cloth_code="DW170", colour="white", lot="0999", length_mm=1400, usable_width_mm=700, remnant=True, now=desk.NOW,
        by=manager,
    )  # fmt: skip
    lay = lays.begin(tickets=tickets, steps=0, offered=[piece.pk], now=desk.NOW, by=manager)
    run_planning(lay)
    assert lay.state == LayState.PLANNED, lay.trouble
    first, *rest = sections(lay)
    assert (first.roll, first.start_mm) == (piece, 0)
    assert first.length_mm <= 1400
    kinds = {p.id: p.kind for d in lay_planning.designs(lay).values() for p in d.parts}
    on_it = lay_planning.section_lay(first).placements
    assert len(on_it) >= 5
    assert {kinds[p.part_id] for p in on_it} <= {"patch", "pocket", "tabling"}
    placed = sorted((p.sail, p.part_id) for s in (first, *rest) for p in lay_planning.section_lay(s).placements)
    assert placed == sorted((letter, p.id) for letter, d in lay_planning.designs(lay).items() for p in d.parts if p.material == "DW170")
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    assert [s.roll.name for s in sections(lay) if s.roll] == ["L-0000-1-1", *["R-7"] * len(rest)]
    assert set(Ticket.objects.values_list("lot", flat=True)) == {"1180"}
    lays.cut_section(section=sections(lay)[0], actual_mm=first.length_mm, now=desk.NOW, by=manager)
    piece.refresh_from_db()
    assert piece.gone_at == desk.NOW
    shared = sum(LayShare.objects.values_list("metres", flat=True))
    assert float(shared) == pytest.approx(first.length_mm / 1000 * 700 / 1355, abs=0.001)


def test_remnants_go_into_stock_with_their_lot(order: Order, tickets: list[Ticket], manager: User) -> None:
    all_met(order, tickets, manager)
    lay = planned(tickets, manager)
    white_roll(manager)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=manager)
    laid = lay_planning.designs(lay)
    section = sections(lay)[0]
    found = lays.section_remnants(section, laid)
    with pytest.raises(InputError, match="there is no 99"):
        lays.cut_section(section=section, actual_mm=section.length_mm, keep=(98,), now=desk.NOW, by=manager)
    lays.cut_section(section=section, actual_mm=section.length_mm, keep=range(len(found)), now=desk.NOW, by=manager)
    kept = Roll.objects.filter(remnant=True)
    assert [(r.lot, r.length_mm, r.usable_width_mm) for r in kept] == [("1180", int(r.length_mm), int(r.width_mm)) for r in found]
