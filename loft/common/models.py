"""The loft itself, its running numbers, and what was already answered once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


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
