"""Quotes and their revisions, the acceptance link, orders with their lines, payments. Money is stored as integer minor units."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from loft.catalogue.models import Material
from loft.common.states import stamped_in
from loft.customers.models import Customer
from loft.jobs.models import Job
from loft.orders.states import SIGNED, OrderState, RevisionState
from loft.workshop.models import Ticket


class Quote(models.Model):
    """An offer to one customer; its number is given when a revision of it is first issued.

    joins: the order whose batch a late joiner's quote belongs to.
    """

    number = models.PositiveIntegerField(null=True, unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="quotes")
    joins = models.ForeignKey("Order", null=True, on_delete=models.PROTECT, related_name="joined_by")
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.reference or f"draft {self.pk}"

    @property
    def reference(self) -> str:
        """The number as it is printed; empty for a draft."""
        return "" if self.number is None else f"Q-{self.number:04d}"


class Revision(models.Model):
    """What was offered: an immutable snapshot, its state, and the PDF that was sent.

    snapshot: canonical bytes of a PricedBatch; boats: the CSV text that it was priced from, so that a revision can start from it.
    change: it changes an order that this quote has become; non_class: a sail in it is outside the class's limits, and not sold as legal.
    """

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="revisions")
    revision = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=12, choices=RevisionState.choices, default=RevisionState.DRAFT)
    pattern_code = models.CharField(max_length=40)
    terms_code = models.CharField(max_length=40, blank=True)
    boats = models.TextField()
    sails = models.PositiveSmallIntegerField()
    currency = models.CharField(max_length=3)
    net_minor = models.BigIntegerField()
    gross_minor = models.BigIntegerField()
    margin = models.DecimalField(max_digits=16, decimal_places=8, null=True)  # null: everything in it is given away
    below_floor = models.BooleanField()
    at_list = models.BooleanField(default=False)  # sold at the loft's list price, not costed
    change = models.BooleanField(default=False)
    non_class = models.BooleanField(default=False)
    snapshot = models.BinaryField()
    drafted_at = models.DateTimeField()
    issued_at = models.DateTimeField(null=True)
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    doubts_settled_at = models.DateTimeField(null=True)
    doubts_settled_by = models.CharField(max_length=120, blank=True)  # who stands by sizes that are hard to believe
    reason = models.CharField(max_length=500, blank=True)
    valid_until = models.DateField(null=True)
    expires_at = models.DateTimeField(null=True)
    pdf = models.BinaryField(null=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    accepted_at = models.DateTimeField(null=True)
    accepted_name = models.CharField(max_length=120, blank=True)
    replaced_at = models.DateTimeField(null=True)
    declined_at = models.DateTimeField(null=True)
    expired_at = models.DateTimeField(null=True)
    superseded_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)

    EDITED: ClassVar = ("pattern_code", "terms_code", "boats")

    class Meta:
        constraints = [
            UniqueConstraint(fields=["quote", "revision"], name="revision_once"),
            UniqueConstraint(fields=["quote"], condition=Q(state="issued"), name="one_issued_revision"),
            UniqueConstraint(fields=["quote"], condition=Q(state="accepted"), name="one_accepted_revision"),
            CheckConstraint(condition=Q(state__in=RevisionState.values), name="revision_state_known"),
            CheckConstraint(condition=~Q(state="draft") | Q(issued_at__isnull=True), name="draft_is_not_issued"),
            CheckConstraint(
                condition=~Q(state__in=["issued", "accepted", "replaced", "declined", "expired"]) | Q(issued_at__isnull=False),
                name="revision_issued_stamp",
            ),
            CheckConstraint(
                condition=Q(issued_at__isnull=True)
                | (Q(valid_until__isnull=False, expires_at__isnull=False, pdf__isnull=False) & ~Q(pdf_sha256="")),
                name="issued_has_pdf_and_validity",
            ),
            CheckConstraint(condition=Q(issued_at__isnull=True) | Q(below_floor=False) | ~Q(reason=""), name="below_floor_has_reason"),
            CheckConstraint(condition=Q(issued_at__isnull=True) | Q(non_class=False) | ~Q(reason=""), name="non_class_has_reason"),
            stamped_in("accepted_at", SIGNED, name="revision_accepted_stamp"),
            stamped_in("replaced_at", [RevisionState.REPLACED], name="revision_replaced_stamp"),
            stamped_in("declined_at", [RevisionState.DECLINED], name="revision_declined_stamp"),
            stamped_in("expired_at", [RevisionState.EXPIRED], name="revision_expired_stamp"),
            stamped_in("superseded_at", [RevisionState.SUPERSEDED], name="revision_superseded_stamp"),
            stamped_in("cancelled_at", [RevisionState.CANCELLED], name="revision_cancelled_stamp"),
        ]
        indexes = [models.Index(fields=["state", "expires_at"], name="revision_expiry")]

    def __str__(self) -> str:
        return f"{self.quote} revision {self.revision}"

    @property
    def list_name(self) -> str:
        """How the sets of its list of boats are told from those of other drafts."""
        return f"quote {self.quote_id}, revision {self.revision}"

    @property
    def version(self) -> str:
        """What changes whenever the quote does: a new revision, or a new state of this one."""
        return f"{self.revision}-{self.state}"


class FrozenCost(models.Model):
    """The cost of an issued revision in minor units, so that a database can add up what a price rise does to all of them."""

    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, primary_key=True, related_name="frozen_cost")
    cost_minor = models.BigIntegerField()
    passed_minor = models.BigIntegerField()
    end_of_roll_e3 = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"cost of {self.revision_id}"


class FrozenCostLine(models.Model):
    """A bought material in one kind of sail of an issued revision; the meaning is that of costing.quote.exposure.CostRow."""

    frozen = models.ForeignKey(FrozenCost, on_delete=models.PROTECT, related_name="lines")
    kind = models.PositiveSmallIntegerField()
    sails = models.PositiveSmallIntegerField()
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    role = models.PositiveSmallIntegerField()
    quantity_e3 = models.PositiveBigIntegerField()
    together_e3 = models.PositiveBigIntegerField()
    amount_minor = models.PositiveBigIntegerField()
    colour = models.CharField(max_length=60, blank=True, default="")

    class Meta:
        constraints = [UniqueConstraint(fields=["frozen", "kind", "material", "role"], name="frozen_line_once")]
        indexes = [models.Index(fields=["frozen", "material"], condition=Q(role=1), name="frozen_laid_cloth")]

    def __str__(self) -> str:
        return f"line of {self.frozen_id}"


class WhatIfRun(models.Model):
    """What was tried on a revision, and the figures that came of it; the fields are those of costing.quote.what_if, decimals as text."""

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="what_ifs")
    asked = models.JSONField()
    figures = models.JSONField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"what if on {self.revision_id}"


class AcceptanceLink(models.Model):
    """The link of an issued revision. The token itself is never stored: it is worked out from the nonce, and found by its sha-256."""

    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="link")
    nonce = models.CharField(max_length=32)
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"link of {self.revision}"


class LetterWording(models.Model):
    """The owner's wording of a letter; a change is a new version, and the last one counts. body: paragraphs, a blank line between them."""

    name = models.CharField(max_length=40)
    version = models.PositiveSmallIntegerField()
    subject = models.CharField(max_length=150)
    body = models.TextField()
    stored_at = models.DateTimeField()
    stored_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [UniqueConstraint(fields=["name", "version"], name="letter_wording_once")]

    def __str__(self) -> str:
        return f"{self.name} wording {self.version}"


class Order(models.Model):
    """An accepted quote, to be made and delivered."""

    number = models.PositiveIntegerField(unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="order")
    state = models.CharField(max_length=12, choices=OrderState.choices, default=OrderState.OPEN)
    currency = models.CharField(max_length=3)
    gross_minor = models.BigIntegerField()
    deposit_minor = models.BigIntegerField()
    due_on = models.DateField(null=True)
    version = models.PositiveIntegerField(default=1)
    opened_at = models.DateTimeField()
    delivered_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    cancel_reason = models.CharField(max_length=300, blank=True)

    EDITED: ClassVar = ("state", "due_on")

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(state__in=OrderState.values), name="order_state_known"),
            stamped_in("delivered_at", [OrderState.DELIVERED], name="order_delivered_stamp"),
            stamped_in("cancelled_at", [OrderState.CANCELLED], name="order_cancelled_stamp"),
        ]
        indexes = [models.Index(fields=["state", "due_on"], name="order_board")]

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """The number as it is printed."""
        return f"O-{self.number:04d}"


class OrderLine(models.Model):
    """One sail of an order, with the ticket of its work."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=450)
    boat = models.CharField(max_length=200)
    owner = models.CharField(max_length=200)
    net_minor = models.BigIntegerField()
    ticket = models.OneToOneField(Ticket, on_delete=models.PROTECT, related_name="line")
    delivered_at = models.DateTimeField(null=True)
    confirmed_at = models.DateTimeField(null=True)  # by the member whose sail it is, on his own page
    confirmed_name = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [UniqueConstraint(fields=["order", "position"], name="order_line_position_once")]

    def __str__(self) -> str:
        return f"{self.order} line {self.position}"

    @property
    def state(self) -> str:
        """That of its ticket, until the sail has left."""
        return "delivered" if self.delivered_at else str(self.ticket.get_state_display())


class MemberLetter(models.Model):
    """A letter to a member of an association: line is the first of his boat's; what became of it, its job says."""

    class Kind(models.TextChoices):
        DETAILS = "details", "asked for his details"
        REMINDER = "reminder", "reminded"

    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="letters")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="member_letter")
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [CheckConstraint(condition=Q(kind__in=["details", "reminder"]), name="member_letter_kind_known")]

    def __str__(self) -> str:
        return f"{self.kind} {self.line_id}"


class Payment(models.Model):
    """Money received on an order; what was paid back is less than zero."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="payments")
    amount_minor = models.BigIntegerField()
    received_on = models.DateField()
    reference = models.CharField(max_length=120, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [CheckConstraint(condition=~Q(amount_minor=0), name="payment_is_something")]

    def __str__(self) -> str:
        return f"{self.amount_minor} on {self.order}"
