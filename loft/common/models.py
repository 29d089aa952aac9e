"""The loft itself, its running numbers, what was already answered once, who did what, and what is counted against a limit."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now


class LoftProfile(models.Model):
    """The loft as it appears on paper; one row, number 1."""

    name = models.CharField(max_length=200)
    address = models.TextField(help_text="One line of the address a line.")
    email = models.EmailField()
    phone = models.CharField(max_length=50, blank=True)
    tax_number = models.CharField(max_length=50, blank=True)
    currency = models.CharField(max_length=3, help_text="ISO 4217 letters, for example GBP.")
    date_format = models.CharField(max_length=30, default="%d %b %Y", help_text="A strftime format.")
    public_base_url = models.URLField(help_text="What stands before /accept/ in links to customers.")
    time_zone = models.CharField(max_length=60, help_text="A zone of the IANA database, for example Europe/London.")
    version = models.PositiveIntegerField(default=1)

    EDITED: ClassVar = ("name", "address", "email", "phone", "tax_number", "currency", "date_format", "public_base_url", "time_zone")

    class Meta:
        verbose_name = "loft profile"
        verbose_name_plural = "loft profile"
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="one_loft_profile")]

    def __str__(self) -> str:
        return self.name

    @property
    def address_lines(self) -> tuple[str, ...]:
        return tuple(line.strip() for line in self.address.splitlines() if line.strip())


class Counter(models.Model):
    """The last number given in a series; the row is locked until the transaction that uses the number ends."""

    series = models.CharField(max_length=40, unique=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.series} {self.last}"


class IdempotencyKey(models.Model):
    """One request that makes something: its body's hash, and its answer once there is one.

    lease_until: while in progress, until when the key is held; after that a killed request no longer blocks it.
    """

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    scope = models.CharField(max_length=200, help_text="Method and path: the same key elsewhere is another request.")
    key = models.CharField(max_length=100)
    body_sha256 = models.CharField(max_length=64)
    holder = models.CharField(max_length=32, help_text="Which attempt holds the lease.")
    lease_until = models.DateTimeField()
    status = models.PositiveSmallIntegerField(null=True)
    content_type = models.CharField(max_length=100, blank=True)
    location = models.CharField(max_length=500, blank=True)
    body = models.BinaryField(null=True)
    created_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "scope", "key"], name="one_answer_a_key")]

    def __str__(self) -> str:
        return f"{self.scope} {self.key}"


class AuditEntry(models.Model):
    """One write: who, what, when, before and after. Never changed or deleted (loft.common.append_only); nothing personal stands in it.

    subject_kind and subject_id name the row without a foreign key: an entry outlives what it is about. at: the database's own clock.
    """

    at = models.DateTimeField(db_default=Now())
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    who = models.CharField(max_length=150)
    action = models.CharField(max_length=40)
    subject_kind = models.CharField(max_length=40)
    subject_id = models.BigIntegerField()
    subject = models.CharField(max_length=120)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        indexes = [models.Index(fields=["subject_kind", "subject_id"], name="audit_by_subject")]

    def __str__(self) -> str:
        return f"{self.who}: {self.action} {self.subject}"


class AuditPersonal(models.Model):
    """What an entry says about a person: never changed, deleted when the person's data is erased."""

    entry = models.OneToOneField(AuditEntry, on_delete=models.PROTECT, related_name="personal")
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    def __str__(self) -> str:
        return f"personal part of entry {self.entry_id}"


class RateCount(models.Model):
    """How often one address or account did one thing since a moment; `who` is a keyed hash."""

    name = models.CharField(max_length=20)
    who = models.CharField(max_length=64)
    started_at = models.DateTimeField(db_index=True)
    count = models.PositiveIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["name", "who"], name="one_count_a_limit")]

    def __str__(self) -> str:
        return f"{self.name} {self.count}"
