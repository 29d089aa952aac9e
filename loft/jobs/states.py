"""The states of a job, and the moves between them."""

from __future__ import annotations

from django.db import models

from loft.common.states import StateTable


class State(models.TextChoices):
    """Where a job is. DEAD: given up after the last attempt, for a person to look at."""

    READY = "ready"
    RUNNING = "running"
    DONE = "done"
    DEAD = "dead"
    CANCELLED = "cancelled"

    @classmethod
    def final(cls) -> tuple[str, ...]:
        return (cls.DONE.value, cls.DEAD.value, cls.CANCELLED.value)


# A running job whose lease ran out is taken again: running -> running.
TABLE = StateTable(
    what="job",
    moves={
        State.READY: frozenset({State.RUNNING, State.CANCELLED}),
        State.RUNNING: frozenset({State.RUNNING, State.READY, State.DONE, State.DEAD, State.CANCELLED}),
        State.DEAD: frozenset({State.READY}),
        State.DONE: frozenset(),
        State.CANCELLED: frozenset(),
    },
)
