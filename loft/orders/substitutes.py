"""Reads for replacing a cloth: what could stand in for it in a quote and why not, and where it is used."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Count, F, Q, Sum

from costing import quote
from costing.cloth import Cloth
from costing.errors import Problem, problem
from costing.quote import colours
from costing.quote.cloth_rules import reasons_against
from loft.catalogue import selectors as catalogue
from loft.customers import boats_csv
from loft.orders import paper, supply
from loft.orders.models import FrozenCostLine, Revision
from loft.orders.states import OrderState, RevisionState


@dataclass(frozen=True, slots=True)
class Choice:
    """One cloth in place of another in a quote's sails: what speaks against it.

    default: the cloth of a boat that names none; defaults: that of one which names a pattern, by the pattern's word.
    """

    old: Cloth
    new: Cloth
    reasons: tuple[Problem, ...]
    default: str
    defaults: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Use:
    """Metres of a cloth in what was promised: `what` is "open quote" or "open order"."""

    what: str
    quotes: int
    metres: Decimal


def choice(revision: Revision, *, old: str, new: str, on: date) -> Choice:
    """Whether `new` can stand in for `old` in a revision's sails; InputError when the house knows one of them not."""
    return next(one for one in choices(revision, on=on, only=(old, new)))


def choices(revision: Revision, *, on: date, only: tuple[str, str] | None = None) -> Iterator[Choice]:
    """Every other sailcloth of the house for every sailcloth that the revision's sails have."""
    batch = paper.thaw(revision)
    house = catalogue.house(pattern=revision.pattern_code, on=on, terms=revision.terms_code)
    used = _used(batch, house)
    if only is not None:
        for field, code, known in (("old", only[0], used), ("new", only[1], house.cloths)):
            if code not in known:
                raise problem(field, "unknown_cloth", f"{code!r} is not one of {', '.join(sorted(known))}")
    words = boats_csv.pattern_words(house.patterns)
    defaults = {word: house.making(code).pattern.cloths[0] for word, code in words.items()}
    for old, sails in used.items():
        for new in house.cloths.values():
            if new.code != old and new.role == "body" and only in (None, (old, new.code)):
                reasons = _reasons(house.cloths[old], new, house, sails)
                yield Choice(house.cloths[old], new, reasons, house.pattern.cloths[0], defaults)


def _reasons(old: Cloth, new: Cloth, house: quote.House, sails: Mapping[str, frozenset[str]]) -> tuple[Problem, ...]:
    """What speaks against a cloth in any of the patterns that have the old one, each with the colours that its sails want."""
    found = [p for code, colours in sails.items() for p in reasons_against(old, new, house.making(code), colours=colours)]
    found += supply.no_longer_sold(new, frozenset().union(*sails.values()), house)
    return tuple(dict.fromkeys(found))


def _used(batch: quote.PricedBatch, house: quote.House) -> dict[str, dict[str, frozenset[str]]]:
    """The body cloths of a batch's sails, for each the patterns that have it with the colours that their sails want."""
    found: dict[str, dict[str, set[str]]] = {}
    bodies = {c.code for c in house.cloths.values() if c.role == "body"}
    for sail in batch.sails:
        for line in sail.cost_lines:
            if line.group == "cloth" and line.code in bodies:
                found.setdefault(line.code, {}).setdefault(batch.pattern_of(sail).code, set()).update(colours.all_in(sail.colour))
    return {cloth: {code: frozenset(c for c in colours if c) for code, colours in by.items()} for cloth, by in found.items()}


def where_used(code: str, *, now: datetime) -> tuple[Use, ...]:
    """How much of a cloth is promised: in quotes that customers may still accept, and in orders that are open."""
    lines = FrozenCostLine.objects.filter(material__code=code)
    quoted = Q(frozen__revision__state=RevisionState.ISSUED, frozen__revision__change=False, frozen__revision__expires_at__gte=now)
    ordered = Q(frozen__revision__order__state=OrderState.OPEN)
    return tuple(
        Use(what, found["quotes"], Decimal(found["metres"] or 0).scaleb(-3))
        for what, which in (("open quote", quoted), ("open order", ordered))
        for found in (lines.filter(which).aggregate(metres=Sum(F("sails") * F("quantity_e3")), quotes=Count("frozen", distinct=True)),)
    )
