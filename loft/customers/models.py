"""People and associations, their boats, and what was measured on a boat."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q


class Customer(models.Model):
    """Whoever a quote goes to. A trade buyer sees net prices, a private one prices with tax."""

    class Kind(models.TextChoices):
        ASSOCIATION = "association", "association"
        PERSON = "person", "person"

    class Buyer(models.TextChoices):
        TRADE = "trade", "trade (net prices)"
        PRIVATE = "private", "private (prices with tax)"

    kind = models.CharField(max_length=20, choices=Kind.choices)
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True, help_text="One line of the address a line.")
    buyer = models.CharField(max_length=10, choices=Buyer.choices)
    # Why no tax is charged, as papers print it; empty where it is.
    tax_exempt = models.CharField(max_length=120, blank=True, default="")
    version = models.PositiveIntegerField(default=1)
    erased_at = models.DateTimeField(null=True, blank=True)

    EDITED: ClassVar = ("kind", "name", "email", "address", "buyer", "tax_exempt")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=["association", "person"]), name="customer_kind_known"),
            models.CheckConstraint(condition=Q(buyer__in=["trade", "private"]), name="customer_buyer_known"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def address_lines(self) -> tuple[str, ...]:
        return tuple(line.strip() for line in self.address.splitlines() if line.strip())


class Boat(models.Model):
    """A boat of a class; its sail number may still be to follow (null), and no two boats of a class share one.

    email: where its owner reads his mail; letters to the members of an association go there. No part of any calculation.
    """

    class_code = models.CharField(max_length=40)
    sail_number = models.CharField(max_length=20, null=True, blank=True)
    name = models.CharField(max_length=200)
    owner = models.CharField(max_length=200)
    email = models.EmailField(blank=True, default="")
    version = models.PositiveIntegerField(default=1)

    EDITED: ClassVar = ("name", "sail_number", "owner", "email")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["class_code", "sail_number"], name="one_boat_a_number"),
            models.CheckConstraint(condition=~Q(sail_number=""), name="number_or_none"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.sail_number}" if self.sail_number else f"{self.name} (number to follow)"


class MeasurementSet(models.Model):
    """What was measured or asked for on a boat on a day, and how and by whom it was taken. Never edited: a new day is a new set.

    doubts: what in it was hard to believe, in words; confirmed_by: who stands by it all the same. on_record: it counts as the boat's, as
    a set does that was typed in; one of a customer's list (of_list: which revision's) counts from the issue of its quote on.
    """

    boat = models.ForeignKey(Boat, on_delete=models.PROTECT, related_name="measurement_sets")
    taken_on = models.DateField()
    how = models.CharField(max_length=300, blank=True)
    taken_by = models.CharField(max_length=200, blank=True)
    doubts = models.JSONField(default=list, blank=True)
    confirmed_by = models.CharField(max_length=200, blank=True)
    on_record = models.BooleanField(default=True)
    of_list = models.CharField(max_length=60, blank=True, default="", db_index=True)

    def __str__(self) -> str:
        return f"{self.boat_id} on {self.taken_on}"


class MeasuredValue(models.Model):
    """One value of a set: its text, value and unit as written, and exactly in mm."""

    measurement_set = models.ForeignKey(MeasurementSet, on_delete=models.CASCADE, related_name="values")
    measurement = models.CharField(max_length=60)
    printed = models.CharField(max_length=40)
    unit = models.CharField(max_length=10)
    mm = models.DecimalField(max_digits=14, decimal_places=6)
    readings = models.JSONField(default=list, blank=True, help_text="Every reading as it was written, where it was taken more than once.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["measurement_set", "measurement"], name="one_value_a_measurement")]

    def __str__(self) -> str:
        return f"{self.measurement} {self.printed}"


class FitSheet(models.Model):
    """What of a boat a sail must fit: mast, groove, slides, corners, battens, bands. Never edited: what changes is a new sheet."""

    boat = models.ForeignKey(Boat, on_delete=models.PROTECT, related_name="fit_sheets")
    entered_at = models.DateTimeField()
    entered_by = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"fit sheet of {self.boat_id}, {self.entered_at:%Y-%m-%d}"


class FitDetail(models.Model):
    """One row of a fit sheet: the value as it was written (exact mm beside it where it is a length), how it was taken, by whom, when."""

    fit_sheet = models.ForeignKey(FitSheet, on_delete=models.CASCADE, related_name="details")
    item = models.CharField(max_length=40)
    value = models.CharField(max_length=120)
    mm = models.DecimalField(max_digits=14, decimal_places=6, null=True)
    how = models.CharField(max_length=300)
    taken_by = models.CharField(max_length=200)
    taken_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fit_sheet", "item"], name="one_row_an_item"),
            models.CheckConstraint(condition=~Q(value="") & ~Q(how="") & ~Q(taken_by=""), name="fit_says_how_and_who"),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.value}"
