"""Changing an order: drafted from its list, issued as a revision, signed by the customer, and what the floor may have done meanwhile."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.common.errors import Conflict, NotFound, Stale
from loft.common.models import AuditEntry
from loft.orders import order_changes, paper, selectors, services
from loft.orders.models import Order, Revision
from loft.workshop import services as workshop
from loft.workshop.models import Requirement, Step, Ticket
from tests import desk

LATER = desk.NOW + timedelta(hours=2)


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager)


def changed_list(order: Order, old: str, new: str) -> bytes:
    text = order_changes.current_list(fresh(order)).decode()
    assert old in text
    return text.replace(old, new).encode()


def fresh(order: Order) -> Order:
    return selectors.order(order.pk)


def drafted(order: Order, by: User, old: str = "window", new: str = "window; no tell_tales") -> Revision:
    return services.draft_change(order=fresh(order), boats=changed_list(order, old, new), now=LATER, by=by)


def issued(order: Order, by: User, old: str = "window", new: str = "window; no tell_tales") -> Revision:
    return services.issue(revision=drafted(order, by, old, new), by=by, now=LATER)


def sign(revision: Revision) -> Order:
    return services.accept(token=desk.token_of(revision), name="Hester Lorne", now=LATER)


def release(order: Order, by: User, position: int = 1) -> Ticket:
    """Have one sail released to the floor: its deposit, fit and cloth are there."""
    line = order.lines.select_related("ticket").get(position=position)
    for need in ("deposit", "fit"):
        workshop.meet([line.ticket], need, by="the test", now=desk.NOW)  # type: ignore[arg-type]
    workshop.book_cloth(tickets=[line.ticket], roll="R-1", lot="L-1", by=by, now=desk.NOW)
    ticket = Ticket.objects.get(pk=line.ticket_id)
    assert ticket.state == "released"
    return ticket


def start(ticket: Ticket, operation: str, by: User) -> Step:
    step = Step.objects.get(ticket=ticket, operation=operation)
    workshop.start_step(step=step, by=by, now=desk.NOW)
    return step


def as_stored(order: Order) -> tuple[object, ...]:
    """All that a refused change must leave as it is."""
    return (
        list(Order.objects.filter(pk=order.pk).values("revision", "gross_minor", "deposit_minor", "state")),
        list(order.lines.order_by("position").values("net_minor", "label")),
        list(Ticket.objects.order_by("pk").values("design", "state", "roll", "lot", "version")),
        list(Step.objects.order_by("ticket", "position").values("ticket", "position", "operation", "minutes")),
        list(Requirement.objects.order_by("pk").values("met_at", "met_by")),
    )


def test_a_signed_change_replaces_the_contract_and_opens_no_second_order(order: Order, manager: User) -> None:
    first = order.revision
    change = issued(order, manager)
    assert (change.change, change.revision, change.gross_minor < first.gross_minor) == (True, 2, True)
    assert Revision.objects.get(pk=first.pk).state == "accepted"
    again = sign(change)
    now = fresh(order)
    assert (again.pk, Order.objects.count()) == (order.pk, 1)
    assert (now.revision_id, now.gross_minor, now.deposit_minor) == (change.pk, change.gross_minor, order.deposit_minor)
    assert list(Revision.objects.order_by("revision").values_list("state", flat=True)) == ["replaced", "accepted"]
    assert sum(now.lines.values_list("net_minor", flat=True)) == change.net_minor
    assert not Step.objects.filter(operation="tell_tales").exists()
    assert {r.met_by for r in Requirement.objects.filter(kind="options")} == {"Hester Lorne"}
    assert Requirement.objects.filter(kind="options", met_at=LATER).count() == 2


def test_signing_twice_changes_it_once(order: Order, manager: User) -> None:
    change = issued(order, manager)
    sign(change)
    before = as_stored(order)
    assert sign(change).pk == order.pk
    assert as_stored(order) == before


def test_what_a_change_leaves_alone_stays_to_the_last_figure(order: Order, manager: User) -> None:
    boats = order_changes.current_list(fresh(order)).decode().replace("214,,,window", "214,,,window; no insignia")
    change = services.draft_change(order=fresh(order), boats=boats.encode(), now=LATER, by=manager)
    old, new = paper.thaw(order.revision), paper.thaw(change)
    assert new.sails[1] == old.sails[1]
    assert new.sails[0].net < old.sails[0].net
    assert (new.totals.deposit, new.priced_on, new.change_of) == (old.totals.deposit, old.priced_on, "O-0001")


def test_free_while_held_and_charged_once_released(order: Order, manager: User) -> None:
    fee = [f.net for s in paper.thaw(drafted(order, manager)).sails for f in s.change_fees]
    assert fee == []
    release(order, manager)
    fees = [[str(f.net) for f in s.change_fees] for s in paper.thaw(drafted(order, manager)).sails]
    assert fees == [["18.00"], []]  # the first sail is on the floor, the second still held


def test_after_cutting_what_cutting_settles_stays_and_the_rest_may_change(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    start(ticket, "lay_and_cut", manager)
    before = as_stored(order)
    with pytest.raises(InputError) as refused:
        drafted(order, manager, "214,,,window", "214,,,no window")
    told = [(p.path, p.code, p.message) for p in refused.value.problems]
    when = "02 Mar 2026, 09:30"
    assert told == [
        ("row 2.options", "too_late", f"Window can no longer be changed: Load the roll, mark and cut began on {when}"),
    ]
    assert (as_stored(order), Revision.objects.count()) == (before, 1)
    assert drafted(order, manager).revision == 2  # tell-tales are put on later


def test_a_step_that_begins_before_the_customer_signs_refuses_the_change_whole(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    change = issued(order, manager, "214,,,window", "214,,,no window")
    start(ticket, "lay_and_cut", manager)
    before = as_stored(order)
    with pytest.raises(services.TooLate, match=r"Heron 214: Window can no longer be changed: Load the roll.*O-0001 stays as it was"):
        sign(change)
    assert as_stored(order) == before
    assert Revision.objects.get(pk=change.pk).state == "issued"


def test_a_draft_that_has_come_too_late_is_not_issued(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    change = drafted(order, manager, "214,,,window", "214,,,no window")
    start(ticket, "lay_and_cut", manager)
    with pytest.raises(services.TooLate):
        services.issue(revision=change, by=manager, now=LATER)
    assert Revision.objects.get(pk=change.pk).state == "draft"


def test_steps_that_have_begun_stay_and_the_others_are_planned_anew(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    begun = start(ticket, "cutting_file", manager)
    minutes = Step.objects.get(pk=begun.pk).minutes
    sign(issued(order, manager, "214,,,window", "214,,,no tell_tales"))
    steps = list(Step.objects.filter(ticket=ticket).order_by("position"))
    assert [s.position for s in steps] == list(range(1, len(steps) + 1))
    assert (steps[0].operation, steps[0].minutes, steps[0].started_at) == ("cutting_file", minutes, desk.NOW)
    operations = [s.operation for s in steps]
    assert "tell_tales" not in operations and "window" not in operations
    assert operations.index("sew_seams") < operations.index("rings") < operations.index("inspect_and_pack")


def sign_another_colour(order: Order, by: User) -> str:
    """The first sail in another colour of its cloth, signed."""
    has = paper.thaw(order.revision).sails[0]
    cloth = paper.offer(order.revision).designs[has.design_key].cloth
    colour = next(c for c in cloth.colours if c != has.colour)
    head, first, second = order_changes.current_list(fresh(order)).decode().splitlines()
    boats = "\n".join((f"{head},colour", f"{first},{colour}", f"{second},")).encode()
    change = services.draft_change(order=fresh(order), boats=boats, now=LATER, by=by)
    sign(services.issue(revision=change, by=by, now=LATER))
    return colour


def test_another_colour_gives_the_roll_back_and_holds_the_ticket(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    colour = sign_another_colour(order, manager)
    now = Ticket.objects.get(pk=ticket.pk)
    assert (now.state, now.released_at, now.roll, now.lot) == ("held", None, "", "")
    told = AuditEntry.objects.get(action="renew", subject_id=ticket.pk)
    assert (told.who, told.before) == ("the customer", {"colour": "white", "roll": "R-1", "lot": "L-1"})
    assert told.after == {"colour": colour, "roll": "", "lot": ""}
    changed = AuditEntry.objects.get(action="change", subject_kind="order")
    assert (changed.before["line 1 colour"], changed.after["line 1 colour"]) == ("white", colour)
    need = Requirement.objects.get(ticket=ticket, kind="cloth")
    assert (need.met_at, colour in need.wording) == (None, True)
    workshop.book_cloth(tickets=[now], roll="R-2", lot="L-2", by=manager, now=LATER)
    assert Ticket.objects.get(pk=ticket.pk).state == "released"


def test_a_sail_in_work_whose_cloth_was_changed_waits_for_the_other_roll(order: Order, manager: User) -> None:
    ticket = release(order, manager)
    start(ticket, "cutting_file", manager)
    colour = sign_another_colour(order, manager)
    now = Ticket.objects.get(pk=ticket.pk)
    assert (now.state, now.roll) == ("in_work", "")
    with pytest.raises(Conflict, match=r"was changed and waits again: .*roll and lot set aside, from the loft"):
        start(now, "lay_and_cut", manager)
    services.book_cloth(order=fresh(order), roll="R-2", lot="L-2", by=manager, now=LATER, colour=colour)
    start(Ticket.objects.get(pk=ticket.pk), "lay_and_cut", manager)


def test_a_number_that_came_after_the_change_was_drafted_is_kept(order: Order, manager: User) -> None:
    change = issued(order, manager)
    line = fresh(order).lines.get(position=2)
    services.give_sail_number(line=selectors.line(order_pk=order.pk, position=2), number="377", by=manager, now=LATER)
    sign(change)
    ticket = Ticket.objects.get(pk=line.ticket_id)
    assert (ticket.sail_number, ticket.sail_label) == ("377", "Linnet 377")
    assert b'"text":"377"' in bytes(ticket.sail)
    assert not Step.objects.filter(ticket=ticket, needs_number=True).exists()
    assert b"377" in order_changes.current_list(fresh(order))


@pytest.mark.parametrize("end", ["cancel", "decline", "expire"])
def test_a_change_that_ends_unsigned_leaves_the_order_as_it_was(order: Order, manager: User, end: str) -> None:
    change = issued(order, manager)
    token, before = desk.token_of(change), as_stored(order)
    if end == "cancel":
        services.cancel(revision=change, now=LATER, by=manager)
    elif end == "decline":
        services.decline(token=token, now=LATER)
    else:
        assert change.expires_at is not None
        assert services.expire_due(now=change.expires_at + timedelta(seconds=1)) == 1
    with pytest.raises(NotFound):
        services.accept(token=token, name="Hester Lorne", now=LATER + timedelta(days=60))
    assert as_stored(order) == before
    assert issued(order, manager).revision == 3  # and another one can be drafted


def test_the_old_link_shows_the_order_and_changes_nothing(order: Order, manager: User) -> None:
    old = desk.token_of(order.revision)
    sign(issued(order, manager))
    before = as_stored(order)
    assert services.accept(token=old, name="Somebody Else", now=LATER).pk == order.pk
    with pytest.raises(Conflict):
        services.decline(token=old, now=LATER)
    assert as_stored(order) == before


def test_a_second_change_counts_from_the_first_and_keeps_its_fee(order: Order, manager: User) -> None:
    release(order, manager)
    first = sign(issued(order, manager)).gross_minor
    second = sign(issued(order, manager, "no tell_tales", "no insignia"))
    sails = paper.thaw(Revision.objects.get(pk=second.revision_id)).sails
    assert [[str(f.net) for f in s.change_fees] for s in sails] == [["18.00", "18.00"], []]
    assert second.gross_minor != first
    assert list(Revision.objects.order_by("revision").values_list("state", flat=True)) == ["replaced", "replaced", "accepted"]


@pytest.mark.parametrize(
    ("label", "old", "new", "path", "code"),
    [
        ("nothing new", "Heron", "Heron", "boats", "nothing_changed"),
        ("another boat", "Heron", "Egret", "row 2.boat", "other_sail"),
        ("another owner", "Morwenna Fell", "Tam Orrell", "row 3.owner", "other_sail"),
        ("another number", "214", "215", "row 2.sail_number", "other_number"),
        ("a boat more", "214,,,window", "214,,,window\nEgret,Tam Orrell,219,,,", "boats", "other_sails"),
        ("an option that there is not", "214,,,window", "214,,,porthole", "row 2.options", "unknown_option"),
    ],
)
def test_what_is_no_change_of_these_sails_is_refused(
    order: Order, manager: User, label: str, old: str, new: str, path: str, code: str
) -> None:
    with pytest.raises(InputError) as refused:
        drafted(order, manager, old, new)
    assert (path, code) in [(p.path, p.code) for p in refused.value.problems], label
    assert Revision.objects.count() == 1


def test_an_order_that_has_ended_cannot_be_changed_and_its_open_change_ends_with_it(order: Order, manager: User) -> None:
    change = issued(order, manager)
    services.cancel_order(order=fresh(order), reason="the boat is sold", now=LATER, by=manager)
    assert Revision.objects.get(pk=change.pk).state == "cancelled"
    with pytest.raises(NotFound):
        sign(change)
    with pytest.raises(Conflict, match="O-0001 is cancelled"):
        drafted(order, manager)


def test_of_two_changes_drafted_at_once_the_later_look_is_told(order: Order, manager: User) -> None:
    seen, boats = fresh(order).version, changed_list(order, "window", "no window")
    services.draft_change(order=fresh(order), boats=boats, now=LATER, by=manager, version=seen)
    with pytest.raises(Stale):
        services.draft_change(order=fresh(order), boats=boats, now=LATER, by=manager, version=seen)
    assert Revision.objects.count() == 2


def test_a_newer_change_kills_the_link_of_the_one_before(order: Order, manager: User) -> None:
    first = issued(order, manager)
    drafted(order, manager, "214,,,window", "214,,,no window")
    with pytest.raises(NotFound):
        sign(first)
    assert fresh(order).revision.revision == 1


def test_an_accepted_quote_is_not_revised_but_its_order_changed(order: Order, manager: User) -> None:
    drafted(order, manager)
    with pytest.raises(Conflict, match="draft a change of its order"):
        services.revise(quote=order.revision.quote, on=desk.TODAY, now=LATER, by=manager)


def test_the_history_says_who_changed_what(order: Order, manager: User) -> None:
    sign(issued(order, manager))
    said = AuditEntry.objects.filter(subject_kind__in=["quote", "order", "ticket"], action__in=["draft_change", "change", "renew"])
    said = list(said.order_by("pk").values_list("action", "who"))
    assert said == [("draft_change", "manager"), *[("renew", "the customer")] * 2, ("change", "the customer")]
    entry = AuditEntry.objects.get(action="change", subject_kind="order")
    assert (entry.before["revision"], entry.after["revision"]) == (1, 2)


def test_members_keep_their_pages_through_a_change(order: Order, manager: User) -> None:
    line = selectors.line(order_pk=order.pk, position=1)
    token = selectors.member_token(line)
    sign(issued(order, manager))
    assert selectors.line_for_member(token).pk == line.pk


def test_changed_sizes_are_confirmed_anew(order: Order, manager: User) -> None:
    line = selectors.line(order_pk=order.pk, position=1)
    services.confirm_details(token=selectors.member_token(line), name="Maud Pellow", now=desk.NOW)
    sign(issued(order, manager, "Heron,Maud Pellow,214,,,", "Heron,Maud Pellow,214,5.21 m,,"))
    line = selectors.line(order_pk=order.pk, position=1)
    assert (line.confirmed_at, line.confirmed_name) == (None, "")
    need = Requirement.objects.get(ticket=line.ticket, kind="fit")
    assert (need.met_at, need.asked) == (None, "Maud Pellow")
