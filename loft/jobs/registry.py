"""Which function does which kind of job. Apps register theirs in ready()."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from loft.jobs.models import Job


class Cancelled(Exception):
    """Raised out of a handler by Context.heartbeat() when the job was cancelled."""


class LeaseLost(Exception):
    """Another worker has taken the job over: stop at once, write nothing."""


class GiveUp(Exception):
    """Raised by a handler when trying again cannot help; the job goes to the dead list at once."""


@dataclass(frozen=True, slots=True)
class Context:
    """What a running job may ask of the worker that runs it.

    heartbeat(progress): renews the lease and stores the progress in per cent; raises Cancelled or LeaseLost. A handler
    that takes longer than half a lease calls it now and then.
    """

    now: datetime
    attempt: int
    heartbeat: Callable[[int], None]


Handler = Callable[[Job, Context], None]

_handlers: dict[str, Handler] = {}


def handler(kind: str) -> Callable[[Handler], Handler]:
    """Register the function that does jobs of this kind; ValueError if another one does already."""

    def register(function: Handler) -> Handler:
        known = _handlers.setdefault(kind, function)
        if known is not function:
            raise ValueError(f"jobs of kind {kind!r} are done by {known.__module__}.{known.__qualname__} already")
        return function

    return register


def handler_for(kind: str) -> Handler:
    """The function for this kind; GiveUp if no installed app does such jobs."""
    if kind not in _handlers:
        raise GiveUp(f"no handler for jobs of kind {kind!r}")
    return _handlers[kind]
