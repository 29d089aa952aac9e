"""Every move of a revision and of an order that the tables allow or forbid, and the database's own rules."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from loft.common.errors import Conflict
from loft.common.states import move_to
from loft.orders.models import Revision
from loft.orders.states import ORDER, REVISION, OrderState, RevisionState
from tests import desk

MOVES = [
    ("draft", {"issued", "superseded", "cancelled"}),
    ("issued", {"accepted", "declined", "expired", "superseded", "cancelled"}),
    ("accepted", {"replaced"}),
    ("replaced", set()),
    ("declined", set()),
    ("expired", set()),
    ("superseded", set()),
    ("cancelled", set()),
]


@pytest.mark.parametrize(("old", "new"), MOVES)
def test_a_revision_moves_only_where_the_table_says(old: str, new: set[str]) -> None:
    assert {state.value for state in RevisionState if REVISION.allows(old, state)} == new


@pytest.mark.parametrize(("old", "new"), [("open", {"delivered", "cancelled"}), ("delivered", set()), ("cancelled", set())])
def test_an_order_moves_only_where_the_table_says(old: str, new: set[str]) -> None:
    assert {state.value for state in OrderState if ORDER.allows(old, state)} == new


def test_the_slower_of_two_is_refused_and_changes_nothing(loft: None) -> None:
    first = desk.draft(desk.ONE_BOAT)
    second = Revision.objects.get(pk=first.pk)
    move_to(first, RevisionState.CANCELLED, REVISION, cancelled_at=desk.NOW)
    with pytest.raises(Conflict, match="no longer draft"):
        move_to(second, RevisionState.SUPERSEDED, REVISION, superseded_at=desk.NOW)
    kept = Revision.objects.get(pk=first.pk)
    assert (kept.state, kept.superseded_at, kept.cancelled_at) == ("cancelled", None, desk.NOW)


@pytest.mark.parametrize(
    ("what", "fields"),
    [
        ("a state that does not exist", {"state": "lost"}),
        ("accepted without the moment", {"state": "accepted"}),
        ("a moment of acceptance while only issued", {"accepted_at": timezone.now()}),
        ("issued without a PDF", {"pdf": None}),
        ("issued without the PDF's sha256", {"pdf_sha256": ""}),
        ("issued without an end", {"expires_at": None}),
        ("a draft that was issued", {"state": "draft"}),
        ("below the floor without a reason", {"below_floor": True}),
        ("expired without the moment", {"state": "expired"}),
    ],
)
def test_the_database_refuses_stamps_that_do_not_fit_the_state(loft: None, manager: User, what: str, fields: dict[str, object]) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    with pytest.raises(IntegrityError), transaction.atomic():
        Revision.objects.filter(pk=row.pk).update(**fields)
    assert Revision.objects.get(pk=row.pk).state == "issued", what


def test_a_quote_has_one_issued_revision_at_most(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    row.pk, row.revision = None, 2
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)
