"""Standing by sizes that are hard to believe: a name, before the quote may be issued."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import problem
from loft.common import audit, policies
from loft.common.errors import Conflict
from loft.customers.models import MeasurementSet
from loft.orders import paper, personal
from loft.orders.models import Revision
from loft.orders.services.acceptance import name_of
from loft.orders.states import RevisionState


def settle_doubts(*, revision: Revision, name: str, by: User, now: datetime) -> None:
    """Somebody has looked at the doubts of a draft and stands by its sizes by name.

    InputError when the name is missing or there is no doubt, Conflict when it is no draft or somebody has done so.
    """
    policies.require(by, "draft_quote")
    name = name_of(name)
    if revision.state != RevisionState.DRAFT:
        raise Conflict(f"{revision} is {revision.get_state_display()}: its sizes stay as they are")
    doubts = paper.thaw(revision).doubts
    if not doubts:
        raise problem("name", "no_doubt", "nothing in this quote is in doubt")
    boats = personal.boats_of([revision])
    with transaction.atomic():
        rows = Revision.objects.filter(pk=revision.pk, state=RevisionState.DRAFT, doubts_settled_at=None)
        if not rows.update(doubts_settled_at=now, doubts_settled_by=name):
            raise Conflict("somebody else has settled these doubts, or the quote has moved on: load the page again")
        drafted = ("", revision.list_name)  # sets of earlier releases name no list
        for kept in MeasurementSet.objects.filter(boat__in=boats, of_list__in=drafted, confirmed_by=""):
            if kept.doubts:
                MeasurementSet.objects.filter(pk=kept.pk).update(confirmed_by=name)
        after = {"revision": revision.revision, "doubts": len(doubts), "name": name}
        audit.record("settle_doubts", revision.quote, by=by, after=after, personal=["name"])
    revision.refresh_from_db(fields=["doubts_settled_at", "doubts_settled_by"])
