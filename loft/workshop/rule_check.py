"""A sail against the class edition that is in force when it will be measured: at its release, at its inspection, and asked for.

Once the finished sail has been measured, its readings are compared in place of what was designed. What breaches holds the ticket as a need
of its own, with rule number and amount. It is never clicked away: recut it, measure it again, or let the owner sell the sail as NON-CLASS
(loft/workshop/non_class.py). A sail that is sold so is no longer compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from costing.quote import Design as ComputedDesign
from costing.quote import Pattern, editions, finished, snapshot
from costing.quote.editions import EditionCheck
from costing.rules import ClassRule, compare
from loft.catalogue import selectors as catalogue
from loft.common import audit, policies, versions
from loft.common import selectors as common
from loft.workshop import selectors
from loft.workshop.models import FinishedSet, Requirement, Ticket
from loft.workshop.states import Need

WHAT_TO_DO = compare.WAYS_OUT
_LONGEST = 600


def pattern_of(design: ComputedDesign) -> Pattern:
    """The pattern version that a design was made from."""
    code, _, version = design.pattern.rpartition(" v")
    return catalogue.pattern(code, int(version))


def day_of(ticket: Ticket, *, now: datetime) -> date:
    """The day on which a ticket's sail is expected to be certified: the promised day, else the quote's, and never one that is over."""
    today = common.local_time(now, common.loft_profile()).date()
    return max(ticket.due_on or expected_on(ticket) or today, today)


def expected_on(ticket: Ticket) -> date | None:
    """The day that the quote gave for the sail's certification; None where it gave none."""
    return snapshot.thaw_sail(bytes(ticket.sail)).certified_on


def check(ticket: Ticket, known: Sequence[ClassRule], *, on: date, measured: finished.Readings | None = None) -> EditionCheck | None:
    """The ticket's sail against the edition of a day; measured: what of it has been read off the finished sail.

    None when nobody has measured it and the edition is the one that it was designed under, not corrected and without a dated limit.
    """
    rule = editions.in_force(known, on)
    if not measured and (rule is None or (rule.edition == ticket.edition and not _differs(rule))):
        return None
    design = snapshot.thaw_design(bytes(ticket.design.data))
    return editions.against(design, pattern_of(design), rule or edition_of(ticket), on=on, measured=measured)


def rule_on(ticket: Ticket, on: date) -> ClassRule:
    """The edition that a sail is measured under on a day: the one in force; the one that it was designed under where none is loaded."""
    return editions.in_force(catalogue.editions(ticket.class_code), on) or edition_of(ticket)


def edition_of(ticket: Ticket) -> ClassRule:
    """The edition that a sail was designed under."""
    return catalogue.class_rule(code=ticket.class_code, edition=ticket.edition)


def hold_what_breaches(rows: QuerySet[Ticket], *, now: datetime) -> int:
    """Open a need on every ticket whose sail breaches, close it on those that no longer do; how many are held.

    A breach that somebody has settled (the need is met with these very words) does not open again, and a NON-CLASS sail is not asked.
    Read are the tickets of classes where an edition can say something new, and those whose finished sail was measured.
    """
    codes = rows.values_list("class_code", flat=True).distinct()
    by_class = {code: catalogue.editions(code) for code in codes}
    more = [code for code, known in by_class.items() if _can_say_more(known)]
    measured = rows.annotate(was_measured=Exists(FinishedSet.objects.filter(ticket=OuterRef("pk"))))
    held = 0
    for ticket in measured.filter(Q(class_code__in=more) | Q(was_measured=True)).select_related("design"):
        if ticket.not_legal:
            continue
        sizes = selectors.finished_sizes(ticket) if ticket.was_measured else None
        found = check(ticket, by_class[ticket.class_code], on=day_of(ticket, now=now), measured=sizes)
        held += _keep(ticket, found, now)
    return held


def found_now(ticket: Ticket, *, now: datetime) -> EditionCheck | None:
    """What holds, or would hold, one ticket: its readings where it was measured, else its design, against the edition of its day."""
    sizes = selectors.finished_sizes(ticket) if FinishedSet.objects.filter(ticket=ticket).exists() else None
    return check(ticket, catalogue.editions(ticket.class_code), on=day_of(ticket, now=now), measured=sizes)


def check_again(*, ticket: Ticket, by: User, now: datetime, version: int | None = None) -> bool:
    """Compare once more, as after a recut or another promised day; whether the ticket is free of breaches."""
    policies.require(by, "release_ticket")
    versions.expect(ticket, version)
    with transaction.atomic():
        versions.take(ticket, version)
        held = hold_what_breaches(Ticket.objects.filter(pk=ticket.pk), now=now)
        audit.record("check_class_rules", ticket, by=by, after={"held": bool(held)})
    return not held


def wording_of(found: EditionCheck) -> str:
    """What breaches, as the need of a ticket says it."""
    return f"edition {found.edition}, in force on {found.on:%Y-%m-%d}: {'; '.join(found.breaches)}"[:_LONGEST]


def _can_say_more(known: Sequence[ClassRule]) -> bool:
    return len(known) > 1 or any(_differs(rule) for rule in known)


def _keep(ticket: Ticket, found: EditionCheck | None, now: datetime) -> bool:
    stored = Requirement.objects.filter(ticket=ticket, kind=Need.RULES).first()
    if found is None or not found.breaches:
        if stored is not None and stored.met_at is None:
            Requirement.objects.filter(pk=stored.pk).update(met_at=now, met_by="inside the class rules")
        return False
    wording = wording_of(found)
    if stored is not None and stored.wording == wording:
        return stored.met_at is None
    Requirement.objects.update_or_create(
        ticket=ticket, kind=Need.RULES, defaults={"asked": f"the loft: {WHAT_TO_DO}", "wording": wording, "met_at": None, "met_by": ""}
    )
    return True


def _differs(rule: ClassRule) -> bool:
    """Whether an edition may say something else than it did when a sail was designed under it."""
    return rule.correction > 0 or any(limit.certified_from or limit.certified_to for sail in rule.sails for limit in sail.limits)
