"""Background work as rows."""

from __future__ import annotations

from django.db import models

from loft.common.states import stamped_in
from loft.jobs.states import State


class Job(models.Model):
    """One piece of background work. The key says what it is: a second job with the same key is the same work.

    lease_until and holder are set while a worker runs it; a lease that has run out is free to take again.
    """

    class Lane(models.TextChoices):
        MAIL = "mail"
        COMPUTE = "compute"

    kind = models.CharField(max_length=60)
    lane = models.CharField(max_length=10, choices=Lane.choices)
    key = models.CharField(max_length=200, unique=True)
    payload = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.READY)
    run_after = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    holder = models.CharField(max_length=32, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    progress = models.PositiveSmallIntegerField(default=0, help_text="Per cent.")
    cancel_requested = models.BooleanField(default=False)
    last_error = models.TextField(blank=True)
    sent_to = models.CharField(max_length=254, blank=True, help_text="The address that the mail server took a letter for.")
    created_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["state", "lane", "run_after"], name="job_due")]
        constraints = [
            stamped_in("lease_until", [State.RUNNING], name="job_running_has_lease"),
            stamped_in("finished_at", State.final(), name="job_finished_is_stamped"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
