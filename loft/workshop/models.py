"""Designs, tickets and their steps. A ticket copies from the order what the floor needs to read and points at no order."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from loft.common.states import stamped_in
from loft.workshop.states import LayState, Need, Occasion, TicketState


class Design(models.Model):
    """A computed sail's geometry as canonical bytes, shared by every sail with the same inputs (key = their sha256)."""

    key = models.CharField(max_length=64, unique=True)
    pattern_code = models.CharField(max_length=40)
    variant = models.BooleanField()
    data = models.BinaryField()
    created_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["pattern_code", "-created_at"], name="design_by_pattern")]

    def __str__(self) -> str:
        return self.key[:12]


class Ticket(models.Model):
    """The work on one sail. `sail` holds the frozen PricedSail without any price or cost; the words are copied for the sheet."""

    number = models.CharField(max_length=40, unique=True)
    order_number = models.CharField(max_length=40, db_index=True)
    due_on = models.DateField(null=True)
    sail_label = models.CharField(max_length=450)
    boat = models.CharField(max_length=200)
    owner = models.CharField(max_length=200)
    sail_number = models.CharField(max_length=200, null=True)  # null: to follow
    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="tickets")
    sail = models.BinaryField()
    class_code = models.CharField(max_length=40)
    class_name = models.CharField(max_length=200)
    edition = models.CharField(max_length=40)
    pattern_label = models.CharField(max_length=300)
    insignia = models.TextField(blank=True)
    label_place = models.TextField(blank=True)
    not_legal = models.JSONField(default=list, blank=True, help_text="NON-CLASS: a sentence for each limit that it is outside of.")
    fit = models.JSONField(default=list, blank=True, help_text="The fit sheet as it was confirmed: [[what, value, how, by, day], ...].")
    roll = models.CharField(max_length=60, blank=True)
    lot = models.CharField(max_length=60, blank=True)
    metres_used = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    label_number = models.CharField(max_length=40, blank=True)
    state = models.CharField(max_length=12, choices=TicketState.choices, default=TicketState.HELD)
    opened_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    ready_at = models.DateTimeField(null=True)
    scrapped_at = models.DateTimeField(null=True)
    scrap_reason = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    EDITED: ClassVar = ("state", "sail_number", "roll", "lot", "label_number", "metres_used")

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(state__in=TicketState.values), name="ticket_state_known"),
            CheckConstraint(
                condition=Q(state=TicketState.SCRAPPED)
                | Q(state=TicketState.HELD, released_at__isnull=True)
                | (~Q(state=TicketState.HELD) & Q(released_at__isnull=False)),
                name="ticket_released_stamp",
            ),
            CheckConstraint(
                condition=Q(state=TicketState.SCRAPPED)
                | Q(state__in=[TicketState.IN_WORK, TicketState.READY], started_at__isnull=False)
                | Q(state__in=[TicketState.HELD, TicketState.RELEASED], started_at__isnull=True),
                name="ticket_started_stamp",
            ),
            CheckConstraint(
                condition=Q(state__in=[TicketState.READY, TicketState.SCRAPPED]) | Q(ready_at__isnull=True),
                name="ticket_ready_stamp_only_late",
            ),
            CheckConstraint(condition=~Q(state=TicketState.READY) | Q(ready_at__isnull=False), name="ticket_ready_stamp"),
            stamped_in("scrapped_at", [TicketState.SCRAPPED], name="ticket_scrapped_stamp"),
        ]
        indexes = [models.Index(fields=["state", "due_on"], name="ticket_board")]

    def __str__(self) -> str:
        return self.number


class Step(models.Model):
    """One step of a ticket, as planned when the order was opened, and when it was really started and finished."""

    ticket = models.ForeignKey(Ticket, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    station = models.CharField(max_length=20)
    operation = models.CharField(max_length=60)
    label = models.CharField(max_length=200)
    minutes = models.DecimalField(max_digits=8, decimal_places=2)
    how = models.TextField(blank=True)
    caution = models.TextField(blank=True)
    needs_number = models.BooleanField(default=False)
    started_at = models.DateTimeField(null=True)
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    finished_at = models.DateTimeField(null=True)
    finished_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            UniqueConstraint(fields=["ticket", "position"], name="step_position_once"),
            CheckConstraint(condition=Q(finished_at__isnull=True) | Q(started_at__isnull=False), name="step_finished_after_start"),
        ]

    def __str__(self) -> str:
        return f"{self.position} {self.label}"


class Requirement(models.Model):
    """Something a ticket waits for, who is asked for it, and when it was met."""

    ticket = models.ForeignKey(Ticket, on_delete=models.CASCADE, related_name="requirements")
    kind = models.CharField(max_length=12, choices=Need.choices)
    asked = models.CharField(max_length=200)
    wording = models.CharField(max_length=600)
    met_at = models.DateTimeField(null=True)
    met_by = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["ticket", "kind"], name="requirement_once"),
            CheckConstraint(condition=Q(kind__in=Need.values), name="requirement_kind_known"),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()


class FinishedSet(models.Model):
    """What a finished sail measured on one occasion, by whom, how and when. Never edited: what is measured again is a further set.

    doubts: what in it was hard to believe, in words; confirmed_by: who stands by it all the same.
    """

    ticket = models.ForeignKey(Ticket, on_delete=models.CASCADE, related_name="finished_sets")
    number = models.PositiveSmallIntegerField()
    occasion = models.CharField(max_length=8, choices=Occasion.choices)
    taken_on = models.DateField()
    how = models.CharField(max_length=300)
    taken_by = models.CharField(max_length=200)
    doubts = models.JSONField(default=list, blank=True)
    confirmed_by = models.CharField(max_length=200, blank=True)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            UniqueConstraint(fields=["ticket", "number"], name="finished_set_number_once"),
            CheckConstraint(condition=Q(occasion__in=Occasion.values), name="finished_occasion_known"),
            CheckConstraint(
                condition=Q(number=1, occasion=Occasion.FIRST) | (Q(number__gt=1) & ~Q(occasion=Occasion.FIRST)),
                name="finished_first_is_first",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.ticket_id}, {self.get_occasion_display()}"


class FinishedValue(models.Model):
    """One reading that counts: as it was written, and exactly in the measurement's unit (mm, m2, g/m2, a count).

    place tells several of one name apart (pockets); readings: every reading as written, where it was taken more than once.
    """

    finished_set = models.ForeignKey(FinishedSet, on_delete=models.CASCADE, related_name="values")
    measurement = models.CharField(max_length=100, help_text="With its station where it has one.")
    corner = models.CharField(max_length=8, blank=True)
    place = models.PositiveSmallIntegerField(default=1)
    printed = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=16, decimal_places=8)
    readings = models.JSONField(default=list, blank=True)

    class Meta:
        constraints = [UniqueConstraint(fields=["finished_set", "measurement", "corner", "place"], name="finished_value_once")]

    def __str__(self) -> str:
        return f"{self.measurement} {self.printed}"


class Roll(models.Model):
    """Cloth in hand: a roll of one dye lot, or a rectangle that a lay left over. Lengths mm, flaws from the roll's start.

    What lays have taken of it stands in their sections.
    """

    name = models.CharField(max_length=60, unique=True)
    cloth_code = models.CharField(max_length=60)
    colour = models.CharField(max_length=60, blank=True)
    lot = models.CharField(max_length=60)
    length_mm = models.PositiveIntegerField()
    usable_width_mm = models.PositiveIntegerField()
    flaws = models.JSONField(default=list, help_text="Stretches to keep clear: [[from, to], ...].")
    remnant = models.BooleanField(default=False)
    booked_at = models.DateTimeField()
    gone_at = models.DateTimeField(null=True, help_text="Used up, sent back or thrown away.")
    version = models.PositiveIntegerField(default=1)

    EDITED: ClassVar = ("length_mm", "flaws", "gone_at")

    class Meta:
        constraints = [CheckConstraint(condition=Q(length_mm__gt=0) & Q(usable_width_mm__gt=0), name="roll_has_a_size")]
        indexes = [models.Index(fields=["cloth_code", "colour"], name="roll_by_cloth")]

    def __str__(self) -> str:
        return self.name


def in_the_body() -> list[str]:
    """The colour slots of a sail that has none of its own."""
    return [""]


class Lay(models.Model):
    """One lay of a cloth in one colour, or of a film, for several sails, of one order or of many.

    colour is empty for a film: any will do. plan counts the plannings that were asked for: a result belongs to one of them and is
    discarded when another is awaited by then.
    """

    number = models.CharField(max_length=40, unique=True)
    cloth_code = models.CharField(max_length=60)
    colour = models.CharField(max_length=60, blank=True)
    state = models.CharField(max_length=10, choices=LayState.choices, default=LayState.PLANNING)
    steps = models.PositiveIntegerField()
    neighbours = models.BooleanField(default=False, help_text="No sail in more than two sections, which follow each other.")
    offered = models.JSONField(default=list, help_text="Remnants that small parts may come off: primary keys of rolls.")
    fit_rolls = models.BooleanField(default=False, help_text="Sections short enough for the stretches that are free on rolls in hand.")
    plan = models.PositiveIntegerField(default=1)
    trouble = models.TextField(blank=True, help_text="Why no lay could be planned.")
    created_at = models.DateTimeField()
    planned_at = models.DateTimeField(null=True)
    cut_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    EDITED: ClassVar = ("state", "plan")

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(state__in=LayState.values), name="lay_state_known"),
            stamped_in("cut_at", [LayState.CUT], name="lay_cut_stamp"),
            stamped_in("cancelled_at", [LayState.CANCELLED], name="lay_cancelled_stamp"),
        ]

    def __str__(self) -> str:
        return self.number


class Remake(models.Model):
    """Parts of a sail that were spoiled and are cut again, on a new lay of their cloth and colour."""

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="remakes")
    cloth_code = models.CharField(max_length=60)
    colour = models.CharField(max_length=60, blank=True)
    parts = models.JSONField(help_text="Ids of the parts.")
    reason = models.CharField(max_length=300)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"remake of {', '.join(self.parts)}"


class LaySail(models.Model):
    """A sail on a lay, under the letter that its parts carry there; out once it was taken off or the lay was cancelled.

    cloth_code, colour: the lay's. remake: only its parts are cut here; without, all of the sail's parts of these colour slots.
    """

    lay = models.ForeignKey(Lay, on_delete=models.CASCADE, related_name="sails")
    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="lays")
    letter = models.CharField(max_length=3)
    cloth_code = models.CharField(max_length=60)
    colour = models.CharField(max_length=60, blank=True)
    slots = models.JSONField(default=in_the_body, help_text="Colour slots of the sail that are cut here.")
    remake = models.ForeignKey(Remake, null=True, on_delete=models.PROTECT, related_name="lays")
    out = models.BooleanField(default=False)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["lay", "letter"], name="lay_letter_once"),
            UniqueConstraint(
                fields=["ticket", "cloth_code", "colour"], condition=Q(out=False, remake__isnull=True), name="ticket_once_by_cloth"
            ),
            UniqueConstraint(fields=["remake"], condition=Q(out=False), name="remake_on_one_lay"),
        ]

    def __str__(self) -> str:
        return f"{self.letter}: {self.ticket_id}"


class LaySection(models.Model):
    """What is cut at once: a lay of its own as canonical bytes, and where it comes off the roll. Frozen once it is cut."""

    lay = models.ForeignKey(Lay, on_delete=models.CASCADE, related_name="sections")
    number = models.PositiveSmallIntegerField()
    data = models.BinaryField()
    length_mm = models.PositiveIntegerField(help_text="To pull: rounded up.")
    bound_mm = models.PositiveIntegerField(help_text="No lay of these parts can be shorter: rounded down.")
    remnants = models.JSONField(null=True, help_text="Rectangles left over: [[x, y, length, width], ...]; null: not looked for yet.")
    roll = models.ForeignKey(Roll, null=True, on_delete=models.PROTECT, related_name="sections")
    start_mm = models.PositiveIntegerField(null=True)
    actual_mm = models.PositiveIntegerField(null=True)
    cut_at = models.DateTimeField(null=True)
    cut_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            UniqueConstraint(fields=["lay", "number"], name="section_number_once"),
            CheckConstraint(
                condition=Q(roll__isnull=True, start_mm__isnull=True) | Q(roll__isnull=False, start_mm__isnull=False),
                name="section_starts_on_a_roll",
            ),
            CheckConstraint(
                condition=Q(cut_at__isnull=True, actual_mm__isnull=True)
                | Q(cut_at__isnull=False, actual_mm__isnull=False, roll__isnull=False),
                name="section_cut_is_measured",
            ),
        ]

    def __str__(self) -> str:
        return f"section {self.number}"


class LayShare(models.Model):
    """A sail's share, by net area, of the cloth that a cut section really took."""

    section = models.ForeignKey(LaySection, on_delete=models.CASCADE, related_name="shares")
    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="lay_shares")
    metres = models.DecimalField(max_digits=8, decimal_places=3)

    class Meta:
        constraints = [UniqueConstraint(fields=["section", "ticket"], name="share_once")]

    def __str__(self) -> str:
        return f"{self.metres} m"
