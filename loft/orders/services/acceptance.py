"""The customer's answer: through the link, without signing in."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Q

from costing.errors import problem
from loft.common import audit
from loft.common.errors import Conflict, NotFound
from loft.common.states import move_to
from loft.jobs import mail
from loft.orders import joining, selectors
from loft.orders.models import Order, Revision
from loft.orders.services import changing, opening
from loft.orders.states import REVISION, SIGNED, RevisionState

_LONGEST_NAME = 120


def accept(*, token: str, name: str, now: datetime) -> Order:
    """Accept the quote behind a link and open its order with all tickets held, in one transaction; or sign the change of an order.

    A second acceptance answers with the same order. TooLate when the floor has been faster than a change, TierMissed when fewer sails are
    left than the price is for. NotFound for a link that is unknown, damaged, revoked, superseded or over: nobody learns which.
    InputError when the name is missing or no name.
    """
    name = name_of(name)
    revision = selectors.revision_for_token(token, now=now)
    if revision.state not in SIGNED:
        try:
            return _sign_change(revision, name, now) if revision.change else _open(revision, name, now)
        except (changing.TooLate, joining.TierMissed):
            raise
        except Conflict:
            revision.refresh_from_db(fields=["state"])
    return _order_of(revision)


def decline(*, token: str, now: datetime) -> Revision:
    """Decline the quote behind a link; declining twice changes nothing. NotFound as for `accept`, Conflict when it was accepted."""
    revision = selectors.revision_for_token(token, now=now)
    if revision.state == RevisionState.DECLINED:
        return revision
    with transaction.atomic():
        move_to(revision, RevisionState.DECLINED, REVISION, only_if=Q(expires_at__gte=now), declined_at=now)
        audit.record("decline", revision.quote, by=None, who=audit.THE_CUSTOMER, after={"revision": revision.revision})
    return revision


def _open(revision: Revision, name: str, now: datetime) -> Order:
    work = opening.prepare(revision, accepted_by=name)
    with transaction.atomic():
        joining.refuse_missed(revision, work.batch)
        still_valid = Q(expires_at__gte=now)
        move_to(revision, RevisionState.ACCEPTED, REVISION, only_if=still_valid, accepted_at=now, accepted_name=name)
        order = opening.open_order(work, now=now)
        _audit(revision, order, name)
        mail.enqueue_letter(name="order_accepted", key=f"order_accepted:{order.pk}", payload={"order": order.pk})
    return order


def _sign_change(revision: Revision, name: str, now: datetime) -> Order:
    signing = changing.prepare(revision, name=name)
    with transaction.atomic():
        return changing.sign(signing, now=now)


def _audit(revision: Revision, order: Order, name: str) -> None:
    after = {"revision": revision.revision, "order": order.reference, "name": name}
    audit.record("accept", revision.quote, by=None, who=audit.THE_CUSTOMER, after=after, personal=["name"])
    audit.record("open", order, by=None, who=audit.THE_CUSTOMER, after={"sails": revision.sails, "gross_minor": order.gross_minor})


def _order_of(revision: Revision) -> Order:
    order = Order.objects.filter(revision__quote=revision.quote_id).first() if revision.state in SIGNED else None
    if order is None:
        raise NotFound("there is no open quote behind this link")
    return order


def name_of(text: str) -> str:
    """The name of a person who answers through a link, blanks drawn together; InputError when it is missing or no name."""
    name = " ".join(text.split())
    if not any(c.isalnum() for c in name):
        raise problem("name", "missing", "write your name")
    if len(name) > _LONGEST_NAME or not name.isprintable():
        raise problem("name", "invalid", f"a name has at most {_LONGEST_NAME} characters, and no control characters")
    return name
