"""Background work of the desk: a quote expires by itself; the letters register themselves."""

from __future__ import annotations

from loft.jobs import registry
from loft.jobs.models import Job
from loft.orders import letters, member_letters, services

__all__ = ["expire_quotes", "letters", "member_letters"]


@registry.handler(services.EXPIRE)
def expire_quotes(job: Job, context: registry.Context) -> None:
    """Mark the quotes whose validity is over; each issued quote leaves such a job for the second after its last."""
    services.expire_due(now=context.now)
