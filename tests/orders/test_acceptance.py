"""The customer's answer through the link."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costing.errors import InputError
from loft.common.errors import Conflict, NotFound
from loft.jobs.models import Job
from loft.orders import selectors, services
from loft.orders.models import Order, OrderLine, Revision
from loft.orders.services import acceptance
from loft.workshop.models import Step, Ticket
from tests import desk


def test_acceptance_opens_one_order_with_a_held_ticket_a_sail(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    revision = Revision.objects.get(pk=order.revision_id)
    assert (revision.state, revision.accepted_name, revision.accepted_at) == ("accepted", "Hester Lorne", desk.NOW)
    assert (order.reference, order.state, order.gross_minor) == ("O-0001", "open", revision.gross_minor)
    tickets = list(Ticket.objects.order_by("number"))
    assert [(t.number, t.sail_label, t.state, t.sail_number) for t in tickets] == [
        ("O-0001-01", "Heron 214", "held", "214"),
        ("O-0001-02", "Linnet (number to follow)", "held", None),
    ]
    assert [(line.position, line.label, line.ticket_id) for line in order.lines.order_by("position")] == [
        (1, "Heron 214", tickets[0].pk),
        (2, "Linnet (number to follow)", tickets[1].pk),
    ]
    assert sum(order.lines.values_list("net_minor", flat=True)) == revision.net_minor
    assert {s.station for s in Step.objects.filter(ticket=tickets[0])} == {"cutter", "sewer", "finisher"}


def test_a_ticket_carries_no_price(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    line = order.lines.get()
    kept = bytes(line.ticket.sail).decode()
    batch = desk.paper_of(order).sails[0]
    assert batch.cost_lines and batch.items
    for amount in {str(batch.net), str(batch.cost), *(str(c.amount) for c in batch.cost_lines if c.amount > 9)}:
        assert f'"{amount}"' not in kept


def test_a_second_acceptance_answers_with_the_same_order(loft: None, manager: User) -> None:
    revision = desk.issued(manager)
    token = desk.token_of(revision)
    first = services.accept(token=token, name="Hester Lorne", now=desk.NOW)
    second = services.accept(token=token, name="Somebody Else", now=desk.NOW + timedelta(days=400))
    assert first.pk == second.pk
    assert (Order.objects.count(), Ticket.objects.count(), OrderLine.objects.count()) == (1, 2, 2)
    assert Revision.objects.get(pk=revision.pk).accepted_name == "Hester Lorne"
    assert Job.objects.filter(key__startswith="order_accepted:").count() == 1


def test_the_slower_of_two_acceptances_gets_the_order_of_the_faster(loft: None, manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    token = desk.token_of(desk.issued(manager))
    prepare = acceptance.opening.prepare
    orders: list[Order] = []

    def overtaken(revision: Revision, *, accepted_by: str) -> object:
        if not orders:
            orders.append(None)  # type: ignore[arg-type]  # only the first one is overtaken
            orders[0] = services.accept(token=token, name="Faster", now=desk.NOW)
        return prepare(revision, accepted_by=accepted_by)

    monkeypatch.setattr(acceptance.opening, "prepare", overtaken)
    slower = services.accept(token=token, name="Slower", now=desk.NOW)
    assert slower.pk == orders[0].pk
    assert (Order.objects.count(), Ticket.objects.count()) == (1, 2)


def test_the_last_instant_counts_and_the_next_does_not(loft: None, manager: User) -> None:
    in_time, late = desk.issued(manager, desk.ONE_BOAT), desk.issued(manager, desk.ONE_BOAT)
    assert in_time.expires_at is not None and late.expires_at is not None
    assert services.accept(token=desk.token_of(in_time), name="Hester Lorne", now=in_time.expires_at).number == 1
    with pytest.raises(NotFound):
        services.accept(token=desk.token_of(late), name="Hester Lorne", now=late.expires_at + timedelta(microseconds=1))
    assert Revision.objects.get(pk=late.pk).state == "issued"
    assert Order.objects.count() == 1


def test_validity_is_checked_in_the_update_itself(loft: None, manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """A link that was still valid when it was read is refused when its time ends before the write."""
    revision = desk.issued(manager, desk.ONE_BOAT)
    assert revision.expires_at is not None
    monkeypatch.setattr(selectors, "_may_be_shown", lambda row, now: True)
    with pytest.raises(NotFound):
        services.accept(token=desk.token_of(revision), name="Hester Lorne", now=revision.expires_at + timedelta(seconds=1))
    assert (Order.objects.count(), Revision.objects.get(pk=revision.pk).state) == (0, "issued")


def test_every_link_that_does_not_open_answers_alike(loft: None, manager: User) -> None:
    live = desk.issued(manager, desk.ONE_BOAT)
    expired, cancelled, revised = (desk.issued(manager, desk.ONE_BOAT) for _ in range(3))
    services.cancel(revision=cancelled, now=desk.NOW)
    services.revise(quote=revised.quote, on=desk.TODAY, now=desk.NOW)
    token = desk.token_of(live)
    after = desk.NOW + timedelta(days=60)
    tokens = [
        ("unknown", "A" * 43, desk.NOW),
        ("truncated", token[:-1], desk.NOW),
        ("lengthened", token + "A", desk.NOW),
        ("empty", "", desk.NOW),
        ("not ASCII", "ü" * 43, desk.NOW),
        ("a lone surrogate", "\ud800", desk.NOW),
        ("expired", desk.token_of(expired), after),
        ("cancelled", desk.token_of(cancelled), desk.NOW),
        ("superseded", desk.token_of(revised), desk.NOW),
    ]
    said, before, work = set(), list(Revision.objects.order_by("pk").values()), Job.objects.count()
    for label, given, now in tokens:
        with pytest.raises(NotFound) as refused:
            services.accept(token=given, name="Hester Lorne", now=now)
        said.add(str(refused.value))
        with pytest.raises(NotFound):
            selectors.revision_for_token(given, now=now)
        assert (Order.objects.count(), Ticket.objects.count(), Job.objects.count()) == (0, 0, work), label
        assert list(Revision.objects.order_by("pk").values()) == before, label
    assert len(said) == 1


@pytest.mark.parametrize("name", ["", "   ", "...", "x" * 121, "Hester\x07Lorne", "\u202eenroL"])
def test_a_name_that_is_no_name_accepts_nothing(loft: None, manager: User, name: str) -> None:
    revision = desk.issued(manager, desk.ONE_BOAT)
    with pytest.raises(InputError) as refused:
        services.accept(token=desk.token_of(revision), name=name, now=desk.NOW)
    assert [p.path for p in refused.value.problems] == ["name"]
    assert Revision.objects.get(pk=revision.pk).state == "issued"


def test_declining_ends_it_and_accepting_afterwards_opens_nothing(loft: None, manager: User) -> None:
    token = desk.token_of(desk.issued(manager, desk.ONE_BOAT))
    assert services.decline(token=token, now=desk.NOW).state == "declined"
    assert services.decline(token=token, now=desk.NOW + timedelta(hours=1)).declined_at == desk.NOW
    with pytest.raises(NotFound):
        services.accept(token=token, name="Hester Lorne", now=desk.NOW)
    assert Order.objects.count() == 0


def test_an_accepted_quote_cannot_be_declined(loft: None, manager: User) -> None:
    revision = desk.issued(manager, desk.ONE_BOAT)
    services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW)
    with pytest.raises(Conflict):
        services.decline(token=desk.token_of(revision), now=desk.NOW)
    assert Revision.objects.get(pk=revision.pk).state == "accepted"


def test_a_failure_while_opening_leaves_the_quote_issued(loft: None, manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    revision = desk.issued(manager)

    def no_room(**_: object) -> None:
        raise OSError("no room left")

    with monkeypatch.context() as broken:
        broken.setattr(acceptance.mail, "enqueue_letter", no_room)
        with pytest.raises(OSError, match="no room"):
            services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW)
    assert (Order.objects.count(), Ticket.objects.count(), Revision.objects.get(pk=revision.pk).state) == (0, 0, "issued")
    assert services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW).number == 1


def test_the_statements_of_an_acceptance_do_not_grow_with_each_sail(loft: None, manager: User) -> None:
    many = desk.ONE_BOAT + b"".join(f"Boat {i},Owner {i},{300 + i}\n".encode() for i in range(39))
    counts = []
    for boats in (desk.ONE_BOAT, many):
        token = desk.token_of(desk.issued(manager, boats))
        with CaptureQueriesContext(connection) as queries:
            services.accept(token=token, name="Hester Lorne", now=desk.NOW)
        counts.append(len(queries))
    # 39 more sails with some 25 steps each; only the bulk inserts are cut up (SQLite takes 999 values a statement)
    assert counts[1] - counts[0] <= 15, counts
