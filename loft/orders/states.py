"""The states of a quote's revision and of an order."""

from __future__ import annotations

from django.db.models import TextChoices

from loft.common.states import StateTable


class RevisionState(TextChoices):
    DRAFT = "draft", "draft"
    ISSUED = "issued", "issued"
    ACCEPTED = "accepted", "accepted"
    REPLACED = "replaced", "replaced"  # accepted, and later changed with the customer's signature: the change is the accepted one now
    DECLINED = "declined", "declined"
    EXPIRED = "expired", "expired"
    SUPERSEDED = "superseded", "superseded"
    CANCELLED = "cancelled", "cancelled"


_R = RevisionState

REVISION = StateTable(
    "quote",
    {
        _R.DRAFT: frozenset({_R.ISSUED, _R.SUPERSEDED, _R.CANCELLED}),
        _R.ISSUED: frozenset({_R.ACCEPTED, _R.DECLINED, _R.EXPIRED, _R.SUPERSEDED, _R.CANCELLED}),
        _R.ACCEPTED: frozenset({_R.REPLACED}),
        _R.REPLACED: frozenset(),
        _R.DECLINED: frozenset(),
        _R.EXPIRED: frozenset(),
        _R.SUPERSEDED: frozenset(),
        _R.CANCELLED: frozenset(),
    },
)

#: What the customer has signed: its papers are a contract, whatever became of it later.
SIGNED = (_R.ACCEPTED, _R.REPLACED)


class OrderState(TextChoices):
    OPEN = "open", "open"
    DELIVERED = "delivered", "delivered"
    CANCELLED = "cancelled", "cancelled"


ORDER = StateTable(
    "order",
    {
        OrderState.OPEN: frozenset({OrderState.DELIVERED, OrderState.CANCELLED}),
        OrderState.DELIVERED: frozenset(),
        OrderState.CANCELLED: frozenset(),
    },
)
