"""Selling a sail as NON-CLASS that breaches the class rules when it is already on the floor: an edition that came after its order.

It is the manager's, on the written yes of the customer, who ordered a class sail. From then on every paper of the sail says NOT CLASS
LEGAL, it waits for the rules no longer, and it carries no class label. What was charged for the label stays as agreed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import Collector
from costing.quote import PricedSail, snapshot
from costing.quote.non_class import LABEL
from loft.common import audit, policies, versions
from loft.common import selectors as common
from loft.common.errors import Conflict
from loft.workshop import rule_check, services
from loft.workshop.models import Requirement, Step, Ticket
from loft.workshop.states import Need

_LONGEST_NAME, _LONGEST_WORDS = 120, 500


@dataclass(frozen=True, slots=True)
class WrittenYes:
    """A customer's written yes to a sail that is not class legal: whose, of which day, in which words."""

    name: str
    said_on: date
    words: str


def sell(
    *, ticket: Ticket, yes: WrittenYes, by: User, now: datetime, label_is_off: bool = False, version: int | None = None
) -> bool:  # fmt: skip
    """Settle the breach that holds a ticket by selling its sail as NON-CLASS; whether that released the ticket.

    label_is_off: a class label that was sewn on already has been taken off again. Raises InputError for what is missing in the yes, and
    Conflict when nothing holds the ticket, or the rules say something else by now.
    """
    policies.require(by, "sell_non_class")
    versions.expect(ticket, version)
    name, words = yes.name.strip(), yes.words.strip()
    with transaction.atomic():
        versions.take(ticket, version)  # of a sale, a label, a recut and a scrapping at once each sees the one before
        stored = Ticket.objects.select_related("design").get(pk=ticket.pk)
        services.not_over(stored)
        _check(stored, yes, label_is_off, now)
        not_legal = _breaches(stored, now)
        before = {"label_number": stored.label_number}
        after = {"breaches": not_legal, "label_number": "", "name": name, "said_on": yes.said_on, "words": words}
        Ticket.objects.filter(pk=ticket.pk).update(not_legal=not_legal, label_place="", label_number="")
        Requirement.objects.filter(ticket=ticket, kind=Need.LABEL).delete()
        label = label_steps(snapshot.thaw_sail(bytes(stored.sail)))
        Step.objects.filter(ticket=ticket, started_at__isnull=True, operation__in=label).delete()
        audit.record("sell_non_class", ticket, by=by, before=before, after=after, personal=["name", "words"])
        released = services.meet([ticket], Need.RULES, by=f"NON-CLASS: {name} wrote yes on {yes.said_on:%Y-%m-%d}", now=now)
        if not Step.objects.filter(ticket=ticket, finished_at__isnull=True).exists():
            services.make_ready(Ticket.objects.get(pk=ticket.pk), now=now)
    ticket.not_legal, ticket.label_place, ticket.label_number = not_legal, "", ""
    return bool(released)


def _check(ticket: Ticket, yes: WrittenYes, label_is_off: bool, now: datetime) -> None:
    wrong = Collector()
    for path, text, most in (("name", yes.name, _LONGEST_NAME), ("words", yes.words, _LONGEST_WORDS)):
        if not text.strip():
            what = "who wrote the yes" if path == "name" else "the words of the yes"
            wrong.add(path, "missing", f"write down {what}: the customer ordered a class sail")
        elif len(text.strip()) > most:
            wrong.add(path, "too_long", f"has {len(text.strip())} characters; at most {most} are kept")
    if not yes.name.strip().isprintable():
        wrong.add("name", "control_character", "a name is one line, without characters that cannot be printed")
    today = common.local_time(now, common.loft_profile()).date()
    if yes.said_on > today:
        wrong.add("said_on", "in_future", f"{yes.said_on:%Y-%m-%d} is still to come: the yes is there already, or the sail waits for it")
    if ticket.label_number and not label_is_off:
        wrong.add("label_is_off", "label_on", f"class label {ticket.label_number} is on the sail: take it off first, and say so")
    wrong.raise_if_any()


def _breaches(ticket: Ticket, now: datetime) -> list[str]:
    """What the edition that holds the ticket finds, sentence by sentence; Conflict when none holds it, or another one would."""
    need = Requirement.objects.filter(ticket=ticket, kind=Need.RULES, met_at__isnull=True).first()
    if need is None:
        raise Conflict(f"nothing of {ticket.number} is held by the class rules: it stays a class sail")
    found = rule_check.found_now(ticket, now=now)
    if found is None or rule_check.wording_of(found) != need.wording:
        raise Conflict(f"the class rules say something else of {ticket.number} by now: compare again first")
    return [f"edition {found.edition}: {breach}" for breach in found.breaches]


def label_steps(sail: PricedSail) -> tuple[str, ...]:
    """The operations of a sail that do nothing but sew on the class's label."""
    return tuple(o.operation for o in sail.operations if o.drivers and set(o.drivers) == {LABEL})
