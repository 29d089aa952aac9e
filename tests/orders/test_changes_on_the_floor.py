"""A change of a sail that lies on a shared lay, and two people who change one order at the same moment."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.orders import services
from loft.orders.models import Order, Revision
from loft.workshop import lay_planning, lays
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Ticket
from loft.workshop.states import LayState
from tests import desk
from tests.orders.test_changes import LATER, as_stored, drafted, issued, sign
from tests.workshop.test_lays import all_met, planned, run_planning, sections, white_roll


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager)


@pytest.fixture
def tickets(order: Order) -> list[Ticket]:
    return list(Ticket.objects.select_related("design").order_by("number"))


def on_the_lay(lay: Lay) -> list[str]:
    return list(LaySail.objects.filter(lay=lay, out=False).order_by("letter").values_list("letter", flat=True))


def test_a_sail_that_is_cut_otherwise_leaves_its_lay_and_the_others_are_laid_again(
    order: Order, tickets: list[Ticket], manager: User
) -> None:
    lay = planned(tickets, manager)
    sign(issued(order, manager, "Heron,Maud Pellow,214,,,window", "Heron,Maud Pellow,214,,,no window"))
    assert on_the_lay(lay) == ["B"]
    assert Ticket.objects.get(number="O-0001-01").design_id != tickets[0].design_id
    run_planning(lay)
    assert lay.state == LayState.PLANNED
    assert {p.sail for s in sections(lay) for p in lay_planning.section_lay(s).placements} == {"B"}


def test_what_is_put_on_after_cutting_leaves_the_lay_as_it_is(order: Order, tickets: list[Ticket], manager: User) -> None:
    lay = planned(tickets, manager)
    before = [bytes(s.data) for s in sections(lay)]
    sign(issued(order, manager))  # tell-tales: no part of the body
    assert (on_the_lay(lay), [bytes(s.data) for s in sections(lay)]) == (["A", "B"], before)
    assert Ticket.objects.get(number="O-0001-01").design_id != tickets[0].design_id


def cut_first_section(order: Order, tickets: list[Ticket], by: User) -> Lay:
    """Both sails released and on a roll, and the first section of their lay cut."""
    all_met(order, tickets, by)
    lay = planned(tickets, by)
    white_roll(by)
    lays.put_on_rolls(lay=lay, now=desk.NOW, by=by)
    first = sections(lay)[0]
    lays.cut_section(section=first, actual_mm=first.length_mm, now=desk.NOW, by=by)
    return lay


def test_a_section_that_is_cut_counts_as_cutting_begun(order: Order, tickets: list[Ticket], manager: User) -> None:
    """No step of the ticket has begun: the lay alone says that it is too late, and what is put on later may still change."""
    change = drafted(order, manager, "window", "no window")
    lay = cut_first_section(order, tickets, manager)
    assert LaySection.objects.filter(lay=lay, cut_at__isnull=False).count() == 1
    cut = set(LayShare.objects.values_list("ticket__number", flat=True))
    assert cut
    with pytest.raises(services.TooLate, match="Window can no longer be changed: Load the roll, mark and cut began on 02 Mar 2026"):
        services.issue(revision=change, by=manager, now=LATER)
    before = as_stored(order)
    with pytest.raises(InputError) as refused:
        drafted(order, manager, "window", "no window")
    late = {p.path for p in refused.value.problems if p.code == "too_late"}
    assert late == {f"row {int(number[-2:]) + 1}.options" for number in cut}
    assert as_stored(order) == before
    sign(issued(order, manager))
    assert on_the_lay(lay) == ["A", "B"]  # with what is left of them to cut


def test_two_changes_drafted_at_once_without_a_look_leave_one_open(order: Order, manager: User) -> None:
    first = drafted(order, manager)
    second = drafted(order, manager, "214,,,window", "214,,,no window")
    assert [Revision.objects.get(pk=row.pk).state for row in (first, second)] == ["superseded", "draft"]
